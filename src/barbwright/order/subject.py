"""What is ordered, as its own record tells it: a part, or a fit gauge."""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from barbwright.catalog import Material
from barbwright.design.compensate import compensated
from barbwright.design.coupon import coupon_shape, coupon_sizes
from barbwright.design.draw import shape_of
from barbwright.design.grades import grade_words
from barbwright.design.laying import AS_DRAWN, Laying
from barbwright.design.limits import Limited, critical_limits
from barbwright.design.part import dimensions
from barbwright.design.shape import Shape
from barbwright.errors import BarbwrightError, BuildError, Fault, InputError, quoted
from barbwright.job.record import Job
from barbwright.jobs.coupon import (
    COUPON,
    coupon_again,
    coupon_document,
    is_coupon,
    load_coupon,
    plan_coupon,
)
from barbwright.jobs.make import made_again
from barbwright.jobs.plan import plan_part
from barbwright.jobs.record import encode, laying_of, load_record, part_record, versions
from barbwright.jobs.resize import said_otherwise
from barbwright.order.again import record_differences

if TYPE_CHECKING:
    from barbwright.export.part import WrittenPart

# Held to the files themselves; and what finite elements found, of which no order speaks.
_NOT_COMPARED = frozenset({"files", "finite_elements"})
REMAKE = "make it anew, with --force"
# A gauge shows what a process does by itself; help would spoil it.
_GAUGE_FILES = (
    "a fit gauge, which shows what your process gives: print it as it is, with the same settings "
    "and finish as the parts that follow, and compensate nothing; that its smallest bores, gaps, "
    "walls and letters may fail is what it is for"
)


Again = Callable[[Path, Collection[str]], "WrittenPart"]


@dataclass(frozen=True, kw_only=True)
class Subject:
    """A made thing in the words and numbers of an order.

    Attributes
    ----------
    kind, number, revision, title : str
        Kind's name, part number, revision letter, and what it is, its grade included.
    failing : tuple of str
        Ids of the checks it fails; empty where it passed.
    carries : bool
        Whether it holds pressure in use; a tool and a fit gauge do not.
    judged : bool
        Whether it has checks at all; a fit gauge has none.
    proved : bool
        Whether it passes on what is proved in the field.
    mark : str
        What is engraved on it.
    grade : int
        Which of three graded leads; 0 for none [-].
    material : Material
        As recorded with it.
    models : str
        How its models differ from drawing and limits on purpose; empty where they do not.
    drawn_off : dict or None
        The same as numbers, by feature, with the service's name [mm].
    sizes : tuple of Limited
        Critical dimensions; none of a gauge, whose sizes are what is to be found out [mm].
    dimensions : mapping
        Drawn sizes by name, as in its record [mm].
    shape : Shape
        What its model files must hold.
    laying : Laying
        How STL and 3MF lie.
    again : callable
        Makes given formats of it anew in a given folder.
    record : Path
        Its own record.
    body : dict
        The record's content.
    own_figures : tuple of str
        A sentence for each of its records that is not as shipped.
    """

    kind: str
    number: str
    revision: str
    title: str
    failing: tuple[str, ...]
    carries: bool
    judged: bool
    mark: str
    grade: int
    material: Material
    models: str
    drawn_off: dict[str, Any] | None
    sizes: tuple[Limited, ...]
    dimensions: Mapping[str, float]
    shape: Shape
    laying: Laying
    again: Again
    record: Path
    body: dict[str, Any]
    own_figures: tuple[str, ...] = ()
    proved: bool = False

    @property
    def passed(self) -> bool:
        """Whether no check of it fails."""
        return not self.failing


def name_of(folder: Path) -> str:
    """Return which kind of thing a folder holds.

    Parameters
    ----------
    folder : Path
        Of a made part, or of a fit gauge.

    Raises
    ------
    InputError
        When it holds neither.
    """
    return COUPON if is_coupon(folder) else load_record(folder)[0].name


def subject_of(folder: Path) -> Subject:
    """Return what a folder holds, designed anew from its own record.

    Parameters
    ----------
    folder : Path
        Of a made part, or of a fit gauge; or its record.

    Raises
    ------
    InputError
        When it holds neither.
    BuildError
        When its record does not say what its own job gives.
    """
    return _gauge(folder) if is_coupon(folder) else _part(folder)


def _part(folder: Path) -> Subject:
    kind, job, revision, body = load_record(folder)
    record = sorted(folder.glob("part*.json"))[0] if folder.is_dir() else folder
    if job.fit_only:
        do = "print it yourself from its STL or 3MF, or make the part without --use fit"
        raise InputError(Fault(f"{record}: for fit at the bench only, and not ordered", do=do))
    _require_our_versions(record, body)
    try:
        plan = plan_part(kind, job, revision)
        given = json.loads(part_record(plan, []))
        if _warned_alike(body["warnings"], job):
            given["warnings"] = body["warnings"]
        differ = _differing(body, given)
        differ += said_otherwise(kind, job)
    except (BarbwrightError, KeyError, TypeError, ValueError, AttributeError) as error:
        raise _gives_none(record, error) from None
    if differ or plan.design is None:
        raise _told_otherwise(record, differ)
    design, service = plan.design, job.service
    grade = job.grade if kind.tip else 0
    return Subject(
        kind=kind.name,
        number=plan.number,
        revision=revision,
        title=", ".join(filter(None, [kind.title, grade_words(grade)])),
        failing=tuple(one.info.id for one in plan.results if one.verdict == "fail"),
        proved=bool(plan.proved_in_field),
        carries=kind.carries,
        judged=True,
        mark=design.mark.text,
        grade=grade,
        material=job.material,
        models=service.models_sentence if service is not None else "",
        drawn_off=_drawn_off(job),
        sizes=critical_limits(design),
        dimensions=dimensions(design),
        shape=shape_of(compensated(design), record.parent.name),
        laying=laying_of(plan),
        again=partial(made_again, plan),
        record=record,
        body=body,
        own_figures=(*job.own_figures, *_own_numbers(job)),
    )


def _gauge(folder: Path) -> Subject:
    job, body, record = load_coupon(folder)
    _require_our_versions(record, body)
    try:
        number, coupon = plan_coupon(job)
        drawn = coupon_sizes(coupon)
        given = {**coupon_document(job, number, coupon), "job": encode(job), "versions": versions()}
        # Where no picture could be drawn, its page says why.
        given["warnings"] = body["warnings"]
        differ = _differing(body, json.loads(json.dumps(given)))
    except (BarbwrightError, KeyError, TypeError, ValueError, AttributeError) as error:
        raise _gives_none(record, error) from None
    if differ:
        raise _told_otherwise(record, differ)
    return Subject(
        kind=COUPON,
        number=number,
        revision="a",
        title=f"Fit gauge for tube {coupon.tube_name} and bit {coupon.bit_name}",
        failing=(),
        carries=False,
        judged=False,
        mark="numbers and letters of its rows",
        grade=0,
        material=job.material,
        models=_GAUGE_FILES,
        drawn_off=None,
        sizes=(),
        dimensions=drawn,
        shape=coupon_shape(coupon, number),
        laying=AS_DRAWN,
        again=partial(coupon_again, job),
        record=record,
        body=body,
        own_figures=job.own_figures,
    )


def _differing(body: Mapping[str, Any], given: Mapping[str, Any]) -> list[str]:
    """Return what a record says otherwise than its own job, by name."""
    told, ours = (
        {name: value for name, value in one.items() if name not in _NOT_COMPARED}
        for one in (body, given)
    )
    return record_differences(told, ours)


def _own_numbers(job: Job) -> tuple[str, ...]:
    named = ", ".join(f"{name} {job.rules[name]:g}" for name in sorted(job.user_rules))
    return (f"judgement numbers of the user's own: {named}",) if named else ()


def _warned_alike(told: list[str], job: Job) -> bool:
    """Return whether a record warns as its job does; a profile is named only where it is."""
    own = job.own_figures
    return (
        len(told) == len(own) + len(job.warnings)
        and told[len(own) :] == list(job.warnings)
        and all(a.partition(":")[0] == b.partition(":")[0] for a, b in zip(told, own, strict=False))
    )


def _require_our_versions(record: Path, body: Mapping[str, Any]) -> None:
    """Refuse what other versions made: only the same ones give the same files again."""
    told, ours = body.get("versions"), versions()
    if told == ours:
        return
    told = told if isinstance(told, Mapping) else {}
    given = ", ".join(
        f"{name} {quoted(str(told.get(name, '?')))}"
        for name in ours
        if told.get(name) != ours[name]
    )
    limit = ", ".join(f"{name} {ours[name]}" for name in ours if told.get(name) != ours[name])
    what = f"{record}: made with other versions, so its files cannot be held to its job"
    raise BuildError(Fault(what, given, limit, REMAKE))


def _drawn_off(job: Job) -> dict[str, Any] | None:
    service = job.service
    if service is None or not service.drawn_off_mm:
        return None
    off = {f"{feature}_mm": round(by, 6) for feature, by in service.drawn_off_mm.items()}
    return {"service": service.name, "models_drawn_off": off}


def _gives_none(record: Path, error: Exception) -> BuildError:
    what = f"{record}: its job gives no part: {str(error)[:200]}"
    return BuildError(Fault(what, do=REMAKE))


def _told_otherwise(record: Path, differ: list[str]) -> BuildError:
    what = f"{record}: its numbers are not those its own job gives"
    return BuildError(Fault(what, given=", ".join(differ[:5]), do=REMAKE))
