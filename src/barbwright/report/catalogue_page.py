"""A catalogue as one page to browse: every combination's verdict, and what was made of them."""

from __future__ import annotations

import base64
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from barbwright.checks.reasons import ONCE_PROVED
from barbwright.checks.result import CHECKS, VERDICTS
from barbwright.design.part import Kind
from barbwright.report.notices import NOT_RATED
from barbwright.report.pages import page
from barbwright.report.words import VERDICT_WORDS

# Words of an axis as a person reads them, in the order of the filters.
AXES = {
    "tube": "Tube",
    "bit": "Bit",
    "pressure": "Pressure",
    "material": "Print material",
    "wood": "Wood",
}
_WORDS = {**VERDICT_WORDS, "no_size": "NO SIZE"}
# More than this and the page itself would be slow to open: then it holds what was made alone.
MOST_ROWS = 1_500_000


@dataclass(frozen=True, kw_only=True)
class Block:
    """All combinations of one kind of part.

    Attributes
    ----------
    kind : Kind
        Kind of part.
    axes : tuple of (str, tuple of str)
        What varies and its choices, the last one fastest.
    code, governing : ndarray of int
        Verdict of each combination, and the check that governs it; -1 for none [-].
    leans : ndarray of int
        Index into ``proofs``; 0 for what is no pass, or an outright one [-].
    ids : tuple of str
        Checks.
    proofs : tuple of tuple of str
        Sets of checks that a pass leaves to be proved in the field; the first is empty.
    """

    kind: Kind
    axes: tuple[tuple[str, tuple[str, ...]], ...]
    code: NDArray[np.int8]
    governing: NDArray[np.int16]
    leans: NDArray[np.uint8]
    ids: tuple[str, ...]
    proofs: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, kw_only=True)
class CataloguePage:
    """What the page says.

    Attributes
    ----------
    title, note : str
        The catalogue's own words.
    invented : bool
        Whether the scenario is a demonstration.
    shared : mapping of str to str
        What all parts share.
    blocks : sequence of Block
        The combinations.
    made : mapping of int to (str, str)
        Part number and folder by a combination's number.
    refused : mapping of int to str
        Why a part that was to be made is not there.
    files : sequence of str
        What each folder holds.
    warnings : sequence of str
        What must be said loudly.
    """

    title: str
    note: str
    invented: bool
    shared: Mapping[str, str]
    blocks: Sequence[Block]
    made: Mapping[int, tuple[str, str]]
    refused: Mapping[int, str]
    files: Sequence[str]
    warnings: Sequence[str]


def catalogue_page(told: CataloguePage) -> bytes:
    """Return the page; equal catalogues give equal bytes.

    Parameters
    ----------
    told : CataloguePage
        What it says.
    """
    count = sum(block.code.size for block in told.blocks)
    counts = np.sum([np.bincount(b.code, minlength=len(VERDICTS)) for b in told.blocks], axis=0)
    return page(
        "catalogue.html",
        {},
        told=told,
        count=count,
        counts=[
            (word, _WORDS[word], int(number))
            for word, number in zip(VERDICTS, counts, strict=True)
            if number
        ],
        leaning=sum(int(np.count_nonzero(block.leans)) for block in told.blocks),
        once_proved=ONCE_PROVED,
        data=_data(told, whole=count <= MOST_ROWS),
        whole=count <= MOST_ROWS,
        not_rated=NOT_RATED,
    )


def _data(told: CataloguePage, *, whole: bool) -> str:
    """Return what the page's script reads, safe inside a script element."""
    # What `check` says of a pass that leans on a proof in the field is a verdict of its own here,
    # one for each set of checks, so that a row still takes one byte.
    proofs = list(dict.fromkeys(names for block in told.blocks for names in block.proofs[1:]))
    body: dict[str, Any] = {
        "verdicts": [[word, _WORDS[word], ""] for word in VERDICTS]
        + [["pass", f"{_WORDS['pass']}, {ONCE_PROVED}", ", ".join(names)] for names in proofs],
        "axes": list(AXES.items()),
        "files": list(told.files),
        "blocks": [_block(block, proofs, whole=whole) for block in told.blocks],
        "made": [[index, *told.made[index]] for index in sorted(told.made)],
        "refused": [[index, told.refused[index]] for index in sorted(told.refused)],
    }
    text = json.dumps(body, ensure_ascii=True, separators=(",", ":"))
    # A name of a user's own must not end the script.
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _block(block: Block, proofs: list[tuple[str, ...]], *, whole: bool) -> dict[str, Any]:
    checks = [[name, CHECKS[name].title] for name in block.ids]
    body: dict[str, Any] = {
        "kind": block.kind.name,
        "title": block.kind.title[:1].upper() + block.kind.title[1:],
        "axes": [[name, list(labels)] for name, labels in block.axes],
        "checks": checks,
        "count": int(block.code.size),
    }
    if whole:
        # One byte each: a million combinations are 2.7 MB of text.
        own = np.array([0, *(len(VERDICTS) + proofs.index(names) for names in block.proofs[1:])])
        code = np.where(block.leans > 0, own[block.leans], block.code)
        body["code"] = base64.b64encode(code.astype(np.uint8).tobytes()).decode()
        governing = np.where(block.governing < 0, 255, block.governing)
        body["governing"] = base64.b64encode(governing.astype(np.uint8).tobytes()).decode()
    return body
