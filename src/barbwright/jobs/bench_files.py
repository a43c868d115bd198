"""A bench day's form and empty CSV, written."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from barbwright.jobs.bench import BenchPlan, form_csv, form_rows
from barbwright.jobs.written import write_all
from barbwright.report.log_pages import bench_form
from barbwright.report.translated import Translator, own_words, translated

CSV_NAME, FORM_NAME = "bench.csv", "bench.html"


def bench_files(
    day: BenchPlan, folder: Path, *, force: bool, language: str = ""
) -> list[dict[str, Any]]:
    """Write the form and the empty CSV of a bench day.

    Parameters
    ----------
    day : BenchPlan
        The plan.
    folder : Path
        Made if it is not there.
    force : bool
        Write over files that are there.
    language : str
        In which the form is written beside English, one of `catalog.languages()`; empty for none.
    """
    files = {
        CSV_NAME: lambda: form_csv(form_rows(day), day.plan.number),
        FORM_NAME: lambda: form_page(day),
    }
    if language:
        files[FORM_NAME.replace(".html", f".{language}.html")] = lambda: bench_form_in(
            language, day
        )
    return write_all(folder, files, force=force)


def bench_form_in(language: str, day: BenchPlan, by: Translator | None = None) -> bytes:
    """Return what a crew needs of a bench day's form in another language.

    Parameters
    ----------
    language : str
        One of `catalog.languages()`.
    day : BenchPlan
        The plan.
    by : Translator, optional
        Whose list of sentences without a line is wanted.
    """
    return translated(form_page(day, own_words, crew=True), language, by=by)


def form_page(day: BenchPlan, kept: Callable[[str], str] = str, *, crew: bool = False) -> bytes:
    """Return the form of a bench day as a page.

    Parameters
    ----------
    day : BenchPlan
        The plan.
    kept : callable
        What words of the CSV file go through, which its reader must find again: `own_words`
        where the page is to be translated.
    crew : bool
        Whether what no test tells is left out.
    """
    tests = {
        one.product.test: {
            "test": kept(one.product.test),
            "title": one.product.title,
            "how": one.product.how,
            "changes": kept(", ".join(one.changes)),
        }
        for one in day.sessions
    }
    return bench_form(
        [
            replace(row, test=kept(row.test), unit=kept(row.unit or "kg lb N"))
            for row in form_rows(day)
        ],
        list(tests.values()),
        crew=crew,
        number=day.plan.number,
        title=day.plan.kind.title,
        parts=day.parts,
        gauges=", ".join(day.gauges),
        hours=f"{day.hours:g}",
        minutes=f"{day.minutes:.0f}",
        csv=kept(CSV_NAME),
        idle=day.idle,
        untold=day.untold,
    )
