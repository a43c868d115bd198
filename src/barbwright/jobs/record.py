"""The one document of a part: what --json prints and part.json keeps.

The job is kept whole, records and all, so that a part can be remade from its
own record years later, whatever the profiles say by then.
"""

from __future__ import annotations

import dataclasses
import json
import re
from collections.abc import Mapping
from math import isfinite, isnan
from pathlib import Path
from typing import TYPE_CHECKING, Any

from barbwright import __version__, say
from barbwright.catalog.folders import read_text
from barbwright.checks.layers import DirectionRating, advise_direction, rate_directions
from barbwright.checks.table import Outcome, shortfall
from barbwright.design.grades import batch_words, how_to_choose
from barbwright.design.laying import AS_DRAWN, LAYINGS, Laying
from barbwright.design.part import KINDS, Kind, dimensions
from barbwright.design.tapping import how_to_use
from barbwright.errors import CheckFailedError, Fault, InputError, quoted
from barbwright.job.measured import MeasuredShare
from barbwright.job.numbers import printed_inputs
from barbwright.job.record import Job
from barbwright.jobs.plan import Plan
from barbwright.jobs.read_back import (
    DamagedError,
    damage,
    decode,
    member,
    require_plain,
    require_sense,
    wrong,
)
from barbwright.report.notices import NOT_RATED
from barbwright.say import Way, bare

if TYPE_CHECKING:
    from barbwright.export.door import WrittenFile

SCHEMA_VERSION = 1
# A revision stands in the name of a folder: letters, as `next_revision` counts them.
_REVISION = re.compile(r"[A-Za-z]{1,3}")
# What writes bytes; a part remade under other versions may differ in them.
PINNED = ("cadquery", "cadquery-ocp", "lib3mf", "ezdxf", "matplotlib", "vtk", "trimesh")


def versions() -> dict[str, str]:
    """Return the versions of what writes bytes, and our own."""
    # It brings an e-mail reader and sockets along.
    from importlib import metadata

    return {"barbwright": __version__, **{name: metadata.version(name) for name in PINNED}}


def failure(plan: Plan) -> CheckFailedError:
    """Return the error that says which checks fail and what would cure them."""
    faults = []
    for result in plan.results:
        if result.verdict != "fail":
            continue
        faults.append(
            Fault(
                f"FAIL {result.info.id}: {result.info.title}",
                given=shortfall(result),
                do=plan.remedy(result),
            )
        )
    return CheckFailedError((*faults, *plan.refusals))


def file_row(file: WrittenFile, path: str) -> dict[str, Any]:
    """Return a written file as documents list it, under a given path."""
    return {
        "path": path,
        "format": file.format,
        "unit": file.unit,
        "bytes": file.bytes,
        "sha256": file.sha256,
    }


def document(plan: Plan, command: str, files: list[dict[str, Any]] | None = None) -> dict[str, Any]:
    """Return everything about a part as one JSON document.

    Parameters
    ----------
    plan : Plan
        Design and verdict.
    command : str
        The command that asked for it.
    files : list of dict, optional
        Files that were written: path, format, unit, bytes, sha256.

    Returns
    -------
    dict
        As the schema `document.json` says.
    """
    governing = plan.governing
    return {
        "schema_version": SCHEMA_VERSION,
        "command": command,
        "part": plan.kind.name,
        "part_number": plan.number,
        "revision": plan.revision,
        "passed": plan.passed,
        "notice": NOT_RATED,
        "inputs": inputs(plan.job),
        "dimensions": dimensions(plan.design) if plan.design is not None else {},
        "mark": _mark(plan),
        "instructions": [*(how_to_use(plan.design) if plan.design else ()), *_choosing(plan)],
        "checks": [_check(result, governing, plan.remedy(result)) for result in plan.results],
        "verdict": plan.verdict,
        "fit_verdict": plan.fit_verdict,
        "handling_rules": [
            {
                "check": result.info.id,
                "rule": result.rule,
                "value": _ruled(result),
                "unit": result.info.rule_unit,
            }
            for result in plan.handling_rules
        ],
        "governing_check": governing.info.id if governing is not None else None,
        "proved_in_field": [_proof(result) for result in plan.proved_in_field],
        "measured": [_measured(one) for one in plan.measured],
        "grade": plan.job.grade or None,
        "tapers": [
            {
                "taper": _rounded(row.taper),
                "seat_length_mm": _rounded(row.seat_mm),
                "contact_length_mm": _rounded(row.contact_mm),
                "outcome": row.outcome,
                "check": row.check,
                "lost": row.lost,
            }
            for row in plan.tapers
        ],
        "not_checked": [
            {"id": result.info.id, "because": result.because} for result in plan.not_checked
        ],
        "build_direction": _direction(plan),
        "no_size": [str(fault) for fault in plan.refusals],
        "files": files or [],
        "warnings": list(plan.job.said),
    }


def inputs(job: Job) -> dict[str, dict[str, str]]:
    """Return every input as given, with where it came from."""
    out = {name: {"value": i.text, "from": i.origin} for name, i in printed_inputs(job).items()}
    for name, value in sorted(job.forced.items()):
        out[f"set {name}"] = {"value": f"{value:g}", "from": "set by the user"}
    for name, origin in sorted(job.user_rules.items()):
        out[f"set {name}"] = {
            "value": f"{job.rules[name]:g}",
            "from": f"set by the user ({origin})",
        }
    return out


def _choosing(plan: Plan) -> list[str]:
    if plan.design is None:
        return []
    return [text for text in (how_to_choose(plan.design), batch_words(plan.design)) if text]


def _mark(plan: Plan) -> dict[str, Any]:
    if plan.design is None:
        return {"text": "", "left_off": []}
    return {"text": plan.design.mark.text, "left_off": list(plan.design.mark.left_off)}


def _ratings(plan: Plan) -> tuple[DirectionRating, ...]:
    material = plan.job.material
    return rate_directions(plan.results, material.strength_z_mpa, material.strength_xy_mpa)


def laying_of(plan: Plan) -> Laying:
    """Return how a part's STL and 3MF lie: the way up that its checks advise.

    Parameters
    ----------
    plan : Plan
        Design and verdict.

    Returns
    -------
    Laying
        As drawn where nothing depends on it.
    """
    ratings = _ratings(plan)
    return LAYINGS[ratings[0].direction.id] if ratings else AS_DRAWN


def _direction(plan: Plan) -> dict[str, Any]:
    ratings = _ratings(plan)
    return {
        "models": laying_of(plan).id,
        "advice": advise_direction(ratings),
        "ratings": [
            {
                "direction": rating.direction.id,
                "title": rating.direction.title,
                "least_margin": _rounded(rating.least_margin),
                "governing": rating.governing,
            }
            for rating in ratings
        ],
    }


def _ruled(result: Outcome) -> float | None:
    """Return the number of a handling rule, rounded the way the rule's words are, only finer."""
    value = result.advice.get(result.info.rule_for(result.advice)[1])
    if value is None or not isfinite(value):
        return None
    return float(bare(value, result.info.rule_rounds, 4))


def _proof(result: Outcome) -> dict[str, Any]:
    pressure = result.proof_pressure_mpa
    return {
        "check": result.info.id,
        "observation": result.observation,
        "force_n": _rounded(result.proof_force_n),
        "pressure_kpa": None if pressure is None else _rounded(pressure * 1000.0),
        "then": result.otherwise,
    }


def _measured(one: MeasuredShare) -> dict[str, Any]:
    return {
        "product": one.product.id,
        "status": one.record.status,
        "lower_over_judged": _rounded(one.lower),
        "expected_over_judged": _rounded(one.expected),
        "upper_over_judged": _rounded(one.upper),
        "checks": list(one.checks),
        "sentence": one.sentence,
    }


def _rounded(value: float | None, way: Way = "nearest") -> float | None:
    return None if value is None else say.digits(value, way)


def _check(result: Outcome, governing: Outcome | None, remedy: str) -> dict[str, Any]:
    info = result.info
    return {
        "id": info.id,
        "title": info.title,
        "stage": info.stage,
        "verdict": result.verdict,
        "capacity": _rounded(result.capacity, "down"),
        "capacity_expected": _rounded(result.capacity_expected, "down"),
        "demand": _rounded(result.demand, "up"),
        "demand_upper": _rounded(result.demand_upper, "up"),
        "unit": info.unit,
        "safety_factor": _rounded(result.safety_factor, "down"),
        "design_factor": _rounded(result.design_factor, "up"),
        "proved_in_field": result.proved,
        "governing": result is governing,
        "equation": info.equation,
        "sources": list(info.sources),
        "basis": info.basis,
        "corner": result.corner,
        "because": result.because,
        "rule": result.rule,
        "figures": {
            name: _rounded(value) for name, value in result.advice.items() if isfinite(value)
        },
        "remedy": remedy,
    }


def part_record(
    plan: Plan, files: list[dict[str, Any]], proved: Mapping[str, Any] | None = None
) -> bytes:
    """Return part.json: the document, the whole job, and the versions that wrote it.

    Parameters
    ----------
    plan : Plan
        Design and verdict.
    files : list of dict
        Files beside it, with paths relative to its folder.
    proved : mapping, optional
        ``finite_elements``, where the part was proved.

    Returns
    -------
    bytes
        The same for the same input, under the same versions.
    """
    body = {**document(plan, "make", files), **(proved or {})}
    body["job"] = encode(plan.job)
    body["versions"] = versions()
    return dump(body)


def dump(body: Mapping[str, Any]) -> bytes:
    """Return a document as JSON text that a person can read."""
    return (json.dumps(body, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()


def load_record(path: Path) -> tuple[Kind, Job, str, dict[str, Any]]:
    """Read a part.json back.

    Parameters
    ----------
    path : Path
        The file, or the folder that holds it.

    Returns
    -------
    tuple
        Kind, job, revision, and the whole document.

    Raises
    ------
    InputError
        When it is missing, not ours, or damaged.
    """
    path = Path(path)
    try:
        if path.is_dir():
            found = sorted(path.glob("part*.json"))
            path = found[0] if found else path / "part.json"
        body = json.loads(read_text(path))
        require_plain(body)
        part = member(body, "part", str, "")
        if part not in KINDS:
            raise DamagedError(wrong("part", "no such part", part, ", ".join(KINDS)))
        kind = KINDS[part]
        job = job_in(body)
        revision = member(body, "revision", str, "")
        if not _REVISION.fullmatch(revision):
            raise DamagedError(wrong("revision", "no revision", revision, "one to three letters"))
        for name, rows in (("dimensions", dict), ("checks", list), ("part_number", str)):
            member(body, name, rows, "")
        for place, row in enumerate(body["checks"], 1):
            for name in ("id", "verdict"):
                member(row, name, str, f"checks[{place}]")
    except FileNotFoundError:
        fault = Fault("no part.json there", given=str(path), do="name a part.json that make wrote")
        raise InputError(fault) from None
    except OSError as error:
        fault = Fault(
            f"cannot read the record: {error.strerror}",
            given=quoted(str(path)),
            do="name a part.json that make wrote",
        )
        raise InputError(fault) from None
    except (ValueError, RecursionError) as error:
        raise InputError(damage(path, error)) from None
    return kind, job, revision, body


def job_in(body: Mapping[str, Any]) -> Job:
    """Return the job that a record keeps.

    Parameters
    ----------
    body : mapping
        The document of a made part, or of a fit gauge.

    Raises
    ------
    DamagedError
        When there is none, or a field of it is not what it must be.
    """
    given = member(body, "job", dict, "")
    for name, text in member(given, "inputs", dict, "job").items():
        member(text, "origin", str, f"job.inputs.{name}")
    for place, tube in enumerate(member(given, "tubes", list, "job"), 1):
        member(tube, "inner_mm", object, f"job.tubes[{place}]")
    job: Job = decode(Job, _only_given(given), "job")
    require_sense(job)
    return job


def _only_given(job: dict[str, Any]) -> dict[str, Any]:
    """Return a job as an older version of ours wrote it, less the defaults it held as given."""
    origins = {name: text["origin"] for name, text in job["inputs"].items()}
    taken = {name for name, origin in origins.items() if origin.startswith("default")}
    fields = {"bark": "bark_mm", "temperature": "temperature_c"}
    tubes = [
        {**tube, "inner_tolerance_mm": None} if origins.get(name) in {"option", "kit"} else tube
        for name, tube in zip(("tube_id", "tube2_id"), job["tubes"], strict=False)
    ]
    return {
        **job,
        **{field: None for name, field in fields.items() if name in taken},
        "inputs": {name: text for name, text in job["inputs"].items() if name not in taken},
        "tubes": tubes,
    }


# --- records to JSON and back ----------------------------------------------------------------


def encode(value: Any) -> Any:
    """Return a record as plain JSON values; a profile's place on this machine is left out."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {
            field.name: Path(text).name if field.name == "path" else encode(text)
            for field in dataclasses.fields(value)
            for text in [getattr(value, field.name)]
        }
    if isinstance(value, Mapping):
        return {str(key): encode(item) for key, item in value.items()}
    if isinstance(value, (tuple, list)):
        return [encode(item) for item in value]
    # JSON has no word for a figure that nobody publishes.
    return None if isinstance(value, float) and isnan(value) else value
