"""An earlier part remade with what changed, old and new side by side."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from barbwright import catalog
from barbwright.design.part import Kind
from barbwright.errors import Fault, InputError
from barbwright.job.reading import read_job_for
from barbwright.job.record import INPUT_NAMES, INPUTS, TUBE_INPUTS, Job
from barbwright.job.settings import Settings
from barbwright.job.texts import FromFile
from barbwright.jobs.naming import next_revision
from barbwright.jobs.plan import Plan, plan_recorded
from barbwright.jobs.record import document, load_record


@dataclass(frozen=True)
class Resized:
    """An old part's document beside the new part's plan.

    Attributes
    ----------
    old : dict
        The old part.json.
    old_folder : Path
        Where it stands; it is never touched.
    plan : Plan
        The new part.
    """

    old: dict[str, Any]
    old_folder: Path
    plan: Plan


def resize_part(
    record: Path, options: Mapping[str, Any], settings: tuple[str, ...] = ()
) -> Resized:
    """Return an earlier part designed anew with what changed, one revision on.

    Parameters
    ----------
    record : Path
        A part.json, or the folder that holds it.
    options : mapping
        Inputs that change, as text.
    settings : tuple of str
        ``name=value`` texts of --set.

    Returns
    -------
    Resized
        Old document and new plan.

    Raises
    ------
    InputError, NoSizeError
        When the record or an input is wrong, nothing changes, or no size exists.
    """
    kind, old, revision, body = load_record(record)
    job = changed_job(kind, old, options, settings, str(record))
    folder = Path(record) if Path(record).is_dir() else Path(record).parent
    plan = plan_recorded(Path(record), kind, job, next_revision(revision))
    return Resized(body, folder, plan)


def said_otherwise(kind: Kind, job: Job) -> list[str]:
    """Return the inputs whose words, read again, give other figures than a job holds.

    Parameters
    ----------
    kind : Kind
        Kind of part.
    job : Job
        As recorded.

    Returns
    -------
    list of str
        As ``inputs.pressure``; records are compared by name, for their figures may be the
        user's own, and be told as such.

    Raises
    ------
    InputError
        When the words cannot be read any more, as where a profile of the user's is gone.
    """
    given = {
        name: text.text
        for name, text in job.inputs.items()
        if text.origin in {"option", "kit"} and name not in {"service", "without"}
    }
    read = read_job_for(kind, {}, given, recorded=Settings(job.rules, job.user_rules, job.forced))
    now, then = _as_said(read), _as_said(job)
    usual = catalog.shipped_judgements()
    # A number of the user's own is named as such, or it is nobody's.
    silent = [
        name for name, value in job.rules.items()
        if name not in job.user_rules and (name not in usual or usual[name].value != value)
    ]  # fmt: skip
    differ = [f"inputs.{name}" for name in now if now[name] != then[name]]
    return [*differ, *(f"rules.{name}" for name in silent)]


def _as_said(job: Job) -> dict[str, Any]:
    wood = job.wood
    species = wood.record if wood is not None else None
    return {
        "tube": [
            (tube.inner_mm, tube.outer_mm, tube.shore_a, tube.rating_mpa, tube.rating_c,
             tube.row and tube.row.id, tube.material and tube.material.word)
            for tube in job.tubes
        ],
        "bit": (job.bit.designation, job.bit.series, job.bit.diameter_mm),
        "hole": job.hole_mm,
        "pressure": job.pressure_mpa,
        "relief": job.relief_mpa,
        # Of a finish there is no figure in the number; an order asks for it in these words.
        "material": (job.material.id, job.material.finish),
        "wood": species.id if species else wood and (wood.hardwood, wood.specific_gravity),
        "bark": (job.bark_least_mm, job.bark_mm),
        "temperature": job.temperature_c,
        "fluid": job.fluid,
        "clamp": job.clamp,
        "grade": job.grade,
        "use": job.fit_only,
    }  # fmt: skip


def changed_job(
    kind: Kind,
    old: Job,
    options: Mapping[str, Any],
    settings: tuple[str, ...],
    source: str = "the record",
) -> Job:
    """Return a job with some inputs replaced and all others as they were recorded.

    A measured hole belongs to its bit, and a tube's sizes belong together: a new
    bit drops the old hole, a newly named tube the old tube's measurements.

    Parameters
    ----------
    kind : Kind
        Kind of part.
    old : Job
        As recorded.
    options : mapping
        Inputs that change, as text.
    settings : tuple of str
        ``name=value`` texts of --set.
    source : str
        The record's file, for messages.

    Raises
    ------
    InputError
        When nothing changes, or an input is wrong.
    """
    given = {name for name, value in options.items() if value not in (None, False)}
    if not given and not settings:
        raise InputError(
            Fault("nothing to change", do="give what is new, such as --bit 1/4in or --tube NAME")
        )
    kept = {
        name: text.text
        for name, text in old.inputs.items()
        # The record holds the service itself; this machine may not know it.
        if text.origin in {"option", "kit"} and name != "service"
    }
    for end, names in TUBE_INPUTS.items():
        if f"tube{end}" in given:
            for name in names:
                kept.pop(name, None)
    if "bit" in given:
        kept.pop("hole", None)
    new = read_job_for(
        kind,
        options,
        FromFile(kept, source, "job.inputs"),
        settings=settings,
        recorded=Settings(old.rules, old.user_rules, old.forced),
    )
    fills = {name for one in INPUTS if one.name in given for name in one.fills}
    touched = set(given)
    if "bit" in given:
        touched.add("hole")
    # Which row a measured tube is, is settled on reading; all other figures act later.
    if "tubes" in fills or new.rules["tube_match_mm"] != old.rules["tube_match_mm"]:
        fills |= {"tubes", "warnings"}
        touched |= {name for names in TUBE_INPUTS.values() for name in names}
    fields: dict[str, Any] = {name: getattr(new, name) for name in fills}
    fields |= {"rules": new.rules, "user_rules": new.user_rules, "forced": new.forced}
    # What was read from the record again came from where the record says.
    now = {n: old.inputs[n] if text.origin == "kit" else text for n, text in new.inputs.items()}
    inputs = {
        name: texts[name]
        for name in INPUT_NAMES
        if name in (texts := now if name in touched else old.inputs)
    }
    return replace(old, **fields, inputs=inputs)


def side_by_side(resized: Resized) -> dict[str, Any]:
    """Return what changed: dimensions and checks, old and new, and what stayed.

    Parameters
    ----------
    resized : Resized
        Old document and new plan.

    Returns
    -------
    dict
        ``dimensions``: name, old, new; ``unchanged``: names; ``checks``: id, old
        and new verdict, safety factor and whether the field proves it.
    """
    new = document(resized.plan, "resize")
    old_sizes, new_sizes = resized.old["dimensions"], new["dimensions"]
    names = [*old_sizes, *(name for name in new_sizes if name not in old_sizes)]
    changed = [
        {"name": name, "old": old_sizes.get(name), "new": new_sizes.get(name)}
        for name in names
        if old_sizes.get(name) != new_sizes.get(name)
    ]
    old_checks = {check["id"]: check for check in resized.old["checks"]}
    checks = [
        {
            "id": check["id"],
            "old_verdict": old_checks.get(check["id"], {}).get("verdict"),
            "new_verdict": check["verdict"],
            "old_proved": old_checks.get(check["id"], {}).get("proved_in_field", False),
            "new_proved": check["proved_in_field"],
            "old_safety_factor": old_checks.get(check["id"], {}).get("safety_factor"),
            "new_safety_factor": check["safety_factor"],
        }
        for check in new["checks"]
    ]
    return {
        "old_part_number": resized.old["part_number"],
        "new_part_number": resized.plan.number,
        "dimensions": changed,
        "unchanged": [name for name in names if old_sizes.get(name) == new_sizes.get(name)],
        "checks": checks,
    }


@dataclass(frozen=True)
class Held:
    """What a folder of parts gives, and what it holds besides.

    Attributes
    ----------
    taken : tuple of Path
        Folders of parts: of each kind and grade the highest revision.
    left_out : tuple of (Path, str)
        What else is there, and why it is not taken.
    said : tuple of str
        What the user should read of those taken.
    """

    taken: tuple[Path, ...]
    left_out: tuple[tuple[Path, str], ...]
    said: tuple[str, ...] = ()

    def __add__(self, other: Held) -> Held:
        """Return both together."""
        return Held(
            self.taken + other.taken, self.left_out + other.left_out, self.said + other.said
        )

    def words(self) -> tuple[str, ...]:
        """Return all that the user should read, a line a folder left out."""
        left = (f"left out: {path}: {because}" for path, because in self.left_out)
        return (*self.said, *left)

    def without(self, folder: Path) -> str:
        """Return a folder that gives no part, with why each thing in it is none."""
        why = (f"{path.relative_to(folder)}: {because}" for path, because in self.left_out)
        return "; ".join((str(folder), *why))


# Deeper than any kit's folder stands, and soon at its end where folders hold each other.
_DEEPEST = 12


def parts_in(folder: Path) -> Held:
    """Return the parts that stand below a folder, at any depth, each in a folder of its own.

    Parameters
    ----------
    folder : Path
        A kit's folder, one that holds such folders, or any other that make wrote parts into.

    Returns
    -------
    Held
        Every part of the highest revision of its kind and grade among those beside it; older
        ones, and folders that hold no part, are named as left out. Nothing is taken where no
        part is there.
    """
    if not folder.is_dir():
        return Held((), ())
    try:
        places, left = _below(folder, _DEEPEST, {folder.resolve()})
    except OSError as error:
        do = "make it readable, or name another"
        raise InputError(Fault.of_system("cannot read the folder", folder, error, do)) from None
    found: dict[tuple[Path, str, int], list[tuple[tuple[int, str], Path]]] = {}
    for place in places:
        kind, job, revision, _ = load_record(place)
        rank = (len(revision), revision)
        found.setdefault((place.parent, kind.name, job.grade), []).append((rank, place))
    taken: list[Path] = []
    alike: dict[tuple[str, int], list[Path]] = {}
    for (_, name, grade), parts in found.items():
        highest = max(rank for rank, _ in parts)
        newest = [place for rank, place in parts if rank == highest]
        taken += newest
        alike.setdefault((name, grade), []).extend(newest)
        left += [
            (place, f"revision {rank[1].upper()}, older than revision {highest[1].upper()}")
            for rank, place in parts
            if rank != highest
        ]
    said = tuple(
        f"{name}: {' and '.join(str(place.relative_to(folder)) for place in several)} are all "
        "taken; name one folder where you mean one"
        for (name, _), several in alike.items()
        if len(several) > 1
    )
    return Held(tuple(taken), tuple(left), said)


def _below(folder: Path, levels: int, seen: set[Path]) -> tuple[list[Path], list[tuple[Path, str]]]:
    """Return folders of parts below one, and each branch that holds none, with why not."""
    places: list[Path] = []
    left: list[tuple[Path, str]] = []
    for place in sorted(path for path in folder.iterdir() if path.name[0] != "."):
        if not place.is_dir():
            continue
        try:
            found, without = _in_branch(place, levels, seen)
        except OSError as error:
            found, without = [], [(place, f"cannot be read: {error.strerror or error}")]
        places += found
        left += without
    return places, left


def _in_branch(
    place: Path, levels: int, seen: set[Path]
) -> tuple[list[Path], list[tuple[Path, str]]]:
    real = place.resolve()
    if real in seen:
        return [], [(place, f"a link to {real.name}, which is looked at already")]
    seen.add(real)
    if list(place.glob("part*.json")):
        inner, _ = _below(place, levels - 1, seen) if levels else ([], [])
        return [place], [(deeper, "stands in a part's own folder; name it") for deeper in inner]
    if (place / "coupon.json").is_file():
        return [], [(place, "a fit gauge; name its folder")]
    if not levels:
        return [], [(place, f"more than {_DEEPEST} folders down; name it")]
    places, left = _below(place, levels - 1, seen)
    if not places and all(because == _NOTHING for _, because in left):
        return [], [(place, _NOTHING)]
    return places, left


_NOTHING = "no part of ours in it"


def made_as(folder: Path) -> tuple[str, int]:
    """Return which kind of part a folder or record holds, and which grade of it.

    Parameters
    ----------
    folder : Path
        Of a made part, or its record.
    """
    kind, job, _, _ = load_record(folder)
    return kind.name, job.grade


def concerns(kind: Kind, options: Mapping[str, Any], settings: tuple[str, ...]) -> bool:
    """Return whether a change concerns a kind: a new bit leaves a plain barb alone."""
    given = {name for name, value in options.items() if value not in (None, False)}
    return bool(settings) or kind.needs_bit or not given <= {"bit", "hole", "wood", "bark"}
