"""A tool's job, from the part it is made for."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from barbwright.design.kinds.hosts import HOSTS
from barbwright.design.part import Kind
from barbwright.errors import Fault, InputError, quoted
from barbwright.job.record import Job
from barbwright.jobs.record import load_record

_ARMS = {kind.name: arms for arms, kind in HOSTS.items()}


def require_tool(kind: Kind) -> None:
    """Refuse a kind that is made for no other part.

    Parameters
    ----------
    kind : Kind
        What is to be made.

    Raises
    ------
    InputError
        When it is no tool.
    """
    if kind.host is None:
        raise InputError(
            Fault(
                "--for names the part a tool is made for, and this is no tool",
                given=kind.name,
                limit="driver, fork, collar",
                do="leave it out",
            )
        )


def for_kind(job: Job, host: str) -> Job:
    """Return a tool's job for a kind of part made from the same inputs.

    Parameters
    ----------
    job : Job
        What both are made from.
    host : str
        Name of the kind of part: tip, elbow or tee.
    """
    forced = {name: size for name, size in job.forced.items() if name != "arms"}
    if _ARMS[host]:
        forced["arms"] = float(_ARMS[host])
    return replace(job, forced=forced)


def served(kinds: Iterable[str]) -> tuple[str, ...]:
    """Return for which of a kit's parts tools are made, one for each kind of tip.

    A tee's driver fits its elbow as well, an in-line tip's fits nothing else.

    Parameters
    ----------
    kinds : iterable of str
        Names of the kit's parts.
    """
    found = set(kinds)
    on_a_hub = [name for name in ("tee", "elbow") if name in found][:1]
    return (*on_a_hub, *(["tip"] if "tip" in found else []))


def names_kind(text: str) -> bool:
    """Return whether a text of --for is the name of a kind, not of a written part."""
    return text in _ARMS


def tool_for(record: Path) -> tuple[Job, str]:
    """Return a tool's job and revision for a part that was written.

    Parameters
    ----------
    record : Path
        The part's part.json, or the folder that holds it.

    Raises
    ------
    InputError
        When there is none, or the part is none that a tool serves.
    """
    host, job, revision, _ = load_record(record)
    if host.name not in _ARMS:
        raise InputError(
            Fault(
                "--for: no tool serves this part",
                given=f"{quoted(str(record))}, a {host.name}",
                limit=", ".join(_ARMS),
                do="name a part with a tip",
            )
        )
    return for_kind(job, host.name), revision
