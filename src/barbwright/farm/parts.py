"""A catalogue's parts on their way: what is wanted, what stands on disk, what became of one."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """One part that is to be made.

    Attributes
    ----------
    index : int
        Its number among all combinations [-].
    kind : str
        Kind of part.
    options : dict of str to str or bool
        As `make` takes them.
    settings : tuple of str
        ``name=value`` texts of --set.
    verdict : str
        What it was judged to be.
    proofs : tuple of str
        Checks that a pass leaves to be proved in the field.
    """

    index: int
    kind: str
    options: dict[str, str | bool]
    settings: tuple[str, ...]
    verdict: str
    proofs: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Made:
    """One part that stands on disk, verified.

    Attributes
    ----------
    number : str
        Part number.
    folder : str
        Its folder, from the catalogue's own.
    verdict : str
        As its own `check` says.
    files : dict of str to (int, str)
        Bytes and SHA-256 of each file.
    """

    number: str
    folder: str
    verdict: str
    files: dict[str, tuple[int, str]]


@dataclass(frozen=True, kw_only=True)
class Done:
    """What became of one part.

    Attributes
    ----------
    index : int
        The combination's number [-].
    made : Made or None
        What stands on disk.
    because : str
        Why it does not; empty where it does.
    kept : bool
        Whether it was there already.
    elsewhere : bool
        Whether another worker may have more luck: this one's disk or memory failed.
    stop : bool
        Whether no part can be made where this one was asked of.
    peak_kib : int
        Most memory the process ever had [KiB].
    """

    index: int
    made: Made | None = None
    because: str = ""
    kept: bool = False
    elsewhere: bool = False
    stop: bool = False
    peak_kib: int = 0
