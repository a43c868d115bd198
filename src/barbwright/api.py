"""The few functions a script needs. `import barbwright` has them; they are loaded when first used.

Texts go in as on the command line ("1/4in", "7mm", "3 bar"), numbers come out as floats in mm,
N and MPa (gauge), angles in degrees and temperatures in degrees C. Errors are `BarbwrightError`:
`InputError` and `NoSizeError` (exit code 2), `CheckFailedError` (3), `BuildError` (4); each has all
its faults at once in ``faults``.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, fields
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

from barbwright.checks.reasons import verdict_reason
from barbwright.design.part import Design, find_kind
from barbwright.errors import Fault, NoSizeError
from barbwright.job import reading
from barbwright.job.record import Job
from barbwright.jobs import chain as chains
from barbwright.jobs import make as making
from barbwright.jobs.plan import Plan, plan_part
from barbwright.report.notices import NOT_RATED

if TYPE_CHECKING:
    from barbwright.jobs.chain import ChainJob
    from barbwright.prove.result import ProveResult
    from barbwright.rating.rating import Rating


@dataclass(frozen=True, kw_only=True)
class CheckedPart(Plan):
    """A part in numbers with its verdict; a notebook shows its drawing and checks.

    Beside `Plan`'s: ``verdict`` ("pass", "caution" or "fail"), ``passed``, ``design`` (sizes in
    mm), ``results`` (each check with ``capacity``, ``demand``, ``safety_factor``),
    ``handling_rules``, ``proved_in_field``, ``not_checked``.
    """

    def _repr_html_(self) -> str:
        """Return verdict, drawing and table of checks as HTML; nothing is written."""
        from barbwright.report.words import verdict_word

        picture, proved = "" if self.design is None else _drawing_of(self), self.proved_in_field
        rows = "".join(
            f'<tr><th scope="row">{escape(one.info.id)}</th><td>{escape(one.info.title)}</td>'
            f"<td>{verdict_word(one.verdict, proved=one in proved)}</td>"
            f"<td>{_factor(one.safety_factor)}</td></tr>"
            for one in self.results
        )
        heads = "".join(
            f'<th scope="col">{head}</th>'
            for head in ("check", "what it is", "verdict", "safety factor")
        )
        return (
            f"<h3>{escape(self.number)}: {escape(self.kind.title)}</h3>"
            f"<p><strong>{self.verdict.upper()}</strong>{escape(self._because)}</p>"
            f"{picture}<table><tr>{heads}</tr>{rows}</table><p>{escape(NOT_RATED)}</p>"
        )

    def __repr__(self) -> str:
        """Return what it is in a line: its record in full is sixty thousand letters."""
        return f"<{self.number}: {self.kind.title}, {self.verdict.upper()}{self._because}>"

    @property
    def _because(self) -> str:
        reason = verdict_reason(self.results, "handled by its rules")
        return f", {reason}" if reason else ""


@dataclass(frozen=True)
class MadePart:
    """A part that was written and verified; a notebook shows its picture.

    Attributes
    ----------
    folder : Path
        Its folder.
    document : dict
        What `barbwright make --json` prints: number, verdict, checks, files with checksums.
    """

    folder: Path
    document: dict[str, Any]

    @property
    def files(self) -> tuple[Path, ...]:
        """Every file of the part."""
        return tuple(Path(row["path"]) for row in self.document["files"])

    def __repr__(self) -> str:
        """Return folder and count of files; the document in full is long."""
        return f"<{self.folder}: {len(self.files)} files>"

    def _repr_html_(self) -> str:
        """Return its picture and what it is, as HTML."""
        import base64

        number = escape(self.folder.name)
        shown = next((path for path in self.files if path.match("part*.png")), None)
        if shown is None:
            return f"<p>{number}</p>"
        data = base64.b64encode(shown.read_bytes()).decode()
        says = f"{self.document['part']}, from outside and cut open"
        image = f'<img alt="{says}" style="max-width:100%" src="data:image/png;base64,{data}">'
        return f"<figure>{image}<figcaption>{number}. {escape(NOT_RATED)}</figcaption></figure>"


def read_job(
    part: str = "elbow", *, settings: Mapping[str, str | float] | None = None, **inputs: str | bool
) -> Job:
    """Return what a part is made from, every fault of the texts at once.

    Parameters
    ----------
    part : str
        Kind of part: barb, tip, elbow, tee, cap, driver, fork or collar.
    settings : mapping, optional
        Sizes or judgement numbers to force, as ``--set`` does, such as ``{"bark_mm": "12mm"}``.
    **inputs : str
        As the options of `barbwright check`, with ``_`` for ``-``: ``tube_id``, ``tube_od``,
        ``tube_material``, ``bit``, ``pressure``, ``relief``, ``wood``, ``material`` and so on.

    Returns
    -------
    Job
        Records and numbers [mm, MPa gauge, degrees C].

    Raises
    ------
    InputError
        When anything is missing, unknown or out of range.

    Examples
    --------
    >>> job = read_job("elbow", tube_id="4mm", bit="6mm", pressure="3bar", wood="sugar maple")
    >>> round(job.tubes[0].inner_mm, 3), round(job.pressure_mpa, 3)
    (4.0, 0.3)
    """
    kind = find_kind(part)
    return reading.read_job_for(
        kind, inputs, settings=tuple(f"{name}={value}" for name, value in (settings or {}).items())
    )


def design_part(part: str, job: Job) -> Design:
    """Return a part's sizes, checked or not.

    Parameters
    ----------
    part : str
        Kind of part.
    job : Job
        What it is made from.

    Returns
    -------
    Design
        Sizes in mm.

    Raises
    ------
    NoSizeError
        When no size satisfies all limits.

    Examples
    --------
    >>> job = read_job("barb", tube_id="4mm", bit="6mm", pressure="3bar")
    >>> design = design_part("barb", job)
    >>> float(design.barbs[0].crest_mm) > 4.0
    True
    """
    plan = plan_part(find_kind(part), job)
    if plan.design is None:
        raise NoSizeError(plan.refusals or (Fault("no size", do="choose another material"),))
    return plan.design


def check_part(part: str, job: Job, *, revision: str = "a") -> CheckedPart:
    """Return a part sized and judged; the CAD kernel is not loaded.

    Parameters
    ----------
    part : str
        Kind of part.
    job : Job
        What it is made from.
    revision : str
        Revision letter.

    Returns
    -------
    CheckedPart
        Verdict, every check and the design. A part that fails is returned, not raised.

    Raises
    ------
    NoSizeError
        When no size satisfies all limits.

    Examples
    --------
    >>> job = read_job("tee", tube="LLDPE 4 x 6 mm", bit="6mm", pressure="3bar", wood="sugar maple")
    >>> tee = check_part("tee", job)
    >>> tee.verdict
    'pass'
    >>> [one.info.id for one in tee.results if one.verdict == "fail"]
    []
    """
    plan = plan_part(find_kind(part), job, revision)
    return CheckedPart(**{one.name: getattr(plan, one.name) for one in fields(Plan)})


def make_part(
    part: str,
    job: Job,
    folder: Path | str = "out",
    *,
    formats: Collection[str] = making.ALL_FORMATS,
    force: bool = False,
    anyway: bool = False,
) -> MadePart:
    """Build, write and verify a part: the bytes of `barbwright make`.

    Parameters
    ----------
    part : str
        Kind of part.
    job : Job
        What it is made from.
    folder : Path or str
        Folder that holds the part's own folder.
    formats : collection of str
        Of step, stl, 3mf, dxf, svg, pdf, png, html.
    force : bool
        Remake a folder that is there.
    anyway : bool
        Write a part that fails a check, marked as not passed.

    Returns
    -------
    MadePart
        Folder and files.

    Raises
    ------
    CheckFailedError
        When a check fails and ``anyway`` was not given; nothing is written.
    BuildError
        When it cannot be built, written or verified.
    """
    plan = plan_part(find_kind(part), job)
    wanted = making.read_formats(",".join(formats), making.ALL_FORMATS)
    return MadePart(*making.make_part(plan, Path(folder), wanted, force=force, anyway=anyway))


def plan_chain(job: Job, **chain: str | int) -> ChainJob:
    """Return the chain of a job's tees and elbow; its ``solve()`` gives what each port gets.

    Parameters
    ----------
    job : Job
        What the parts are made for.
    **chain : str
        As the options of `barbwright chain`: ``ports`` or ``girth``, ``species`` or ``measured``,
        ``supply_length``, ``vessel_volume`` and so on.

    Returns
    -------
    ChainJob
        The chain in numbers [mm, MPa gauge, mL, s].

    Raises
    ------
    InputError
        With every fault of the inputs.
    NoSizeError, CheckFailedError
        When the tee or the elbow has no size, or no material for it.

    Examples
    --------
    >>> job = read_job("tee", tube="LLDPE 4 x 6 mm", bit="6mm", pressure="3bar", wood="sugar maple")
    >>> chain = plan_chain(job, ports="6", species="sugar maple")
    >>> chain.plan.ports
    6
    """
    return chains.plan_chain(job, {name: str(value) for name, value in chain.items()})


def prove_part(part: str, job: Job) -> ProveResult:
    """Return what finite elements find on a part as drawn; needs the extra ``fe``.

    Parameters
    ----------
    part : str
        Kind of part with a bore: barb, tip, elbow, tee or cap.
    job : Job
        What it is made from.

    Returns
    -------
    ProveResult
        Each load case with its peak stress [MPa], converged or not.

    Raises
    ------
    InputError
        When the engine is not installed, or the kind carries no pressure.
    """
    from barbwright.jobs import prove

    return prove.prove_part(plan_part(find_kind(part), job))


def rate_part(part: str, job: Job, temperatures_c: Sequence[float] | None = None) -> Rating:
    """Return how far a part goes: the highest pressure at which no check fails, and the smallest.

    Parameters
    ----------
    part : str
        Kind of part.
    job : Job
        What it is made from.
    temperatures_c : sequence of float, optional
        Temperatures to rate at, beside the job's own [degrees C].

    Returns
    -------
    Rating
        By service, check and temperature [MPa gauge].

    Examples
    --------
    >>> job = read_job("barb", tube="LLDPE 4 x 6 mm", pressure="3bar")
    >>> rating = rate_part("barb", job, temperatures_c=[30.0])
    >>> rating.service.max_mpa > 0.3
    True
    """
    from barbwright.rating import rating

    if temperatures_c is None:
        return rating.rate_part(find_kind(part), job)
    return rating.rate_part(find_kind(part), job, temperatures_c)


def _drawing_of(plan: Plan) -> str:
    from barbwright.jobs.papers import drawing_svg

    says = f"Half section of the {plan.kind.title} with all dimensions"
    return f'<figure role="img" aria-label="{escape(says)}">{drawing_svg(plan)}</figure>'


def _factor(value: float | None) -> str:
    from barbwright.say import factor

    return "" if value is None else factor(value)
