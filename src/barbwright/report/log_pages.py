"""Pages of logs: a bench day's form, and what a log says, each self-contained HTML."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from barbwright.report import cards
from barbwright.report.notices import NOT_RATED
from barbwright.report.pages import inline_svg, page

TONES = {"pass": "pass", "fail": "fail", "cannot_tell": "caution"}
WORDS = {"pass": "PASS", "fail": "FAIL", "cannot_tell": "CANNOT TELL"}


@dataclass(frozen=True, kw_only=True)
class LogTable:
    """One table of a log's page."""

    title: str
    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, kw_only=True)
class LogFigure:
    """One figure of a log's page: an SVG with what it shows."""

    label: str
    caption: str
    svg: bytes


@dataclass(frozen=True, kw_only=True)
class LogReport:
    """What a log's page says.

    Attributes
    ----------
    title, under : str
        Heading, and what the log is.
    verdict, word, because : str
        Verdict's key, its word and its reason.
    facts : tuple of (str, str)
        Few numbers in large letters.
    figures : tuple of LogFigure
        Plots.
    tables : tuple of LogTable
        Tables.
    said : tuple of str
        What must be known beside the verdict.
    """

    title: str
    under: str
    verdict: str
    word: str
    because: str
    facts: tuple[tuple[str, str], ...] = ()
    figures: tuple[LogFigure, ...] = ()
    tables: tuple[LogTable, ...] = ()
    said: tuple[str, ...] = ()


def log_page(report: LogReport) -> bytes:
    """Return a log's page.

    Parameters
    ----------
    report : LogReport
        What it says.
    """
    figures = [
        {"label": one.label, "caption": one.caption, "svg": inline_svg(one.svg, f"plot{index}-")}
        for index, one in enumerate(report.figures)
    ]
    return page(
        "log.html",
        {},
        title=report.title,
        under=report.under,
        tone=TONES.get(report.verdict, "caution"),
        word=report.word,
        because=report.because,
        facts=report.facts,
        figures=figures,
        tables=report.tables,
        said=report.said,
        cautions=cards.CAUTIONS,
        not_rated=NOT_RATED,
    )


def bench_form(rows: Sequence[Any], tests: Sequence[dict[str, str]], **words: Any) -> bytes:
    """Return a bench day's form for paper.

    Parameters
    ----------
    rows : sequence
        Its rows, the readings left open.
    tests : sequence of dict
        Each test once: ``test``, ``title``, ``how``, ``changes``.
    **words
        What else the form names.
    """
    return page(
        "bench_form.html",
        {},
        rows=rows,
        tests=tests,
        cautions=cards.CAUTIONS,
        not_rated=NOT_RATED,
        **words,
    )
