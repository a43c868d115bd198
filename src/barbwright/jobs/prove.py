"""A part, made or only asked for, judged by finite elements on its unmarked STEP."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from barbwright.aside import scratch_folder
from barbwright.design.part import Kind
from barbwright.errors import Fault, InputError, quoted
from barbwright.jobs.papers import titled_number
from barbwright.jobs.plan import Plan, plan_recorded
from barbwright.jobs.record import SCHEMA_VERSION, failure, file_row, inputs, load_record
from barbwright.report.notices import NOT_RATED
from barbwright.say import bare, newtons, voice_of, with_beside

if TYPE_CHECKING:
    from barbwright.export.door import WrittenFile
    from barbwright.prove import CaseResult, ContactResult, Pictured, ProveResult, SeatedResult


def made_part(folder: Path) -> tuple[Plan, Path | None]:
    """Return a made part's plan and its unmarked STEP.

    A part drawn off its sizes for a calibrated print service is judged as wanted,
    not as sent: there is no file to read then.

    Parameters
    ----------
    folder : Path
        The part's folder, or its part.json.

    Raises
    ------
    InputError
        When it holds no part, or the unmarked STEP is gone or changed.
    """
    import hashlib

    folder = folder if folder.is_dir() else folder.parent
    kind, job, revision, body = load_record(folder)
    if job.service is not None:
        return plan_recorded(folder, kind, job, revision), None
    found = sorted(folder.glob("part*_unmarked.step"))
    if not found:
        raise InputError(
            Fault("no unmarked STEP there", given=str(folder), do="make the part again")
        )
    known = {file["path"]: file["sha256"] for file in body["files"]}
    if hashlib.sha256(found[0].read_bytes()).hexdigest() != known.get(found[0].name):
        raise InputError(
            Fault(f"{found[0].name} is not the file that part.json records",
                  given=str(folder), do="make the part again")
        )  # fmt: skip
    return plan_recorded(folder, kind, job, revision), found[0]


def require_provable(kind: Kind) -> None:
    """Fail before anything is begun where a part cannot be proved.

    Parameters
    ----------
    kind : Kind
        The kind of part.

    Raises
    ------
    InputError
        When the engine is not installed, or the kind carries no pressure.
    """
    # Looked for, not imported: the engine's own CAD kernel must come after ours has drawn.
    if find_spec("ngsolve") is None:
        from barbwright.prove import require_engine

        require_engine()
    if not kind.carries:
        raise InputError(
            Fault("prove judges parts that carry pressure", given=kind.name,
                  do="name a barb, tip, elbow, tee or cap")
        )  # fmt: skip


def prove_part(
    plan: Plan,
    step: Path | None = None,
    *,
    pictured: Pictured | None = None,
    progress: Callable[[str], None] | None = None,
) -> ProveResult:
    """Return what finite elements find on a part as drawn.

    Parameters
    ----------
    plan : Plan
        A designed part.
    step : Path, optional
        Its unmarked STEP; drawn into a temporary folder when not given.
    pictured : callable, optional
        Told the cases' results; returns the ids of those to be drawn.
    progress : callable, optional
        Told in one line what is being done.

    Raises
    ------
    InputError
        When the engine is not installed, or the kind carries no pressure.
    CheckFailedError
        When no size exists because the material is refused.
    """
    require_provable(plan.kind)
    if plan.design is None:
        raise failure(plan)
    if step is None:
        if progress is not None:
            progress("drawing the part")
        with scratch_folder("prove") as folder:
            return _run(plan, _drawn(plan, folder), pictured, progress)
    return _run(plan, step, pictured, progress)


def prove_contact(
    plan: Plan, *, progress: Callable[[str], None] | None = None
) -> tuple[ContactResult, ...]:
    """Return what the tube does on each different barb of a part.

    Parameters
    ----------
    plan : Plan
        A designed part.
    progress : callable, optional
        Told in one line what is being done.

    Raises
    ------
    InputError
        When the part has no barb, or nothing is known of its tube.
    CheckFailedError
        When no size exists because the material is refused.
    """
    from barbwright.prove import contact_of

    if plan.design is None:
        raise failure(plan)
    return contact_of(plan.design, progress=progress)


def sealed(
    plan: Plan, *, progress: Callable[[str], None] | None = None
) -> tuple[tuple[ContactResult, ...], str]:
    """Return what the tube does on each barb of a part that is made, or why it is not known.

    Parameters
    ----------
    plan : Plan
        A designed part.
    progress : callable, optional
        Told in one line what is being done.
    """
    if plan.design is None or not plan.design.barbs:
        return (), ""
    try:
        return prove_contact(plan, progress=progress), ""
    except InputError as error:
        # The part itself is proved; its sheet says what is not.
        return (), str(error)


def _head(plan: Plan) -> dict[str, Any]:
    """Return what every document of `prove` begins with."""
    return {
        "schema_version": SCHEMA_VERSION,
        "command": "prove",
        "part": plan.kind.name,
        "part_number": plan.number,
        "notice": NOT_RATED,
        "inputs": inputs(plan.job),
    }


def contact_document(
    plan: Plan, contacts: Sequence[ContactResult], files: Sequence[WrittenFile] = ()
) -> dict[str, Any]:
    """Return the contact alone as one JSON document.

    Parameters
    ----------
    plan : Plan
        The part.
    contacts : sequence of ContactResult
        One a different barb.
    files : sequence of WrittenFile
        Pictures that were written.
    """
    return {
        **_head(plan),
        **_contact_rows(plan, contacts),
        "files": [file_row(file, str(file.path)) for file in files],
    }


def prove_seated(plan: Plan, *, progress: Callable[[str], None] | None = None) -> SeatedResult:
    """Return what loads do to a part's tip in its hole.

    Parameters
    ----------
    plan : Plan
        A designed part.
    progress : callable, optional
        Told in one line what is being done.

    Raises
    ------
    InputError
        When the part has no tip below a hub, no wood is named, or the engine is missing.
    CheckFailedError
        When no size exists because the material is refused.
    """
    from barbwright.prove import seated_of

    if plan.design is None:
        raise failure(plan)
    return seated_of(plan.design, plan.job.wood, progress=progress)


def seated_document(plan: Plan, found: SeatedResult) -> dict[str, Any]:
    """Return a tip in its hole as one JSON document.

    Parameters
    ----------
    plan : Plan
        The part.
    found : SeatedResult
        What was found.
    """
    from barbwright.prove import seated_json

    return {
        **_head(plan),
        "seat_contact": seated_json(found),
        "files": [],
    }


def seated_lines(found: SeatedResult) -> list[str]:
    """Return what elements find of a tip in its hole, in words.

    Parameters
    ----------
    found : SeatedResult
        What was found.
    """
    lines = [
        f"Tip in its hole, {'converged' if found.converged else 'NOT converged'}: contact "
        f"{found.seat.rest_mpa:.2f} MPa at rest, crush at {found.seat.cap_mpa:.2f} MPa, friction "
        f"{found.seat.friction:g}."
    ]
    if not found.converged:
        from barbwright.prove.seated import CONVERGED_SHARE

        solved = [load for load in found.loads if load.answer.solved]
        moved = max([*(load.change for load in solved), found.pull_change])
        over = max((load.answer.peak_mpa / load.beam_mpa for load in solved), default=float("nan"))
        lines.append(
            f"NO: a finer mesh still moves a figure by {100.0 * moved:.1f} %, where under "
            f"{100.0 * CONVERGED_SHARE:.0f} % is asked. Take the peaks as rough, up to {over:.2f} "
            "of the beam's; what passes or fails is the checks' to say, which take more than the "
            "beam's there (mouth_spot_factor)."
        )
    for load in found.loads:
        answer = load.answer
        if answer.solved:
            lines.append(
                f"{load.title}: peak {answer.peak_mpa:.1f} MPa (beam {load.beam_mpa:.1f}) "
                f"{-answer.position_mm[2]:.1f} mm below the wood's surface, moved by "
                f"{100.0 * load.change:.1f} % with the mesh, tilt "
                f"{answer.tilt_deg:.2f} degree, open by {answer.opening_mm:.3f} mm, "
                f"{100.0 * answer.crushed_share:.0f} % of the seat crushes."
            )
        else:
            lines.append(
                f"{load.title}: no balance found: more than the seat holds, or not solved."
            )
    lines.append(
        f"Drawn out at {newtons(found.pull_out_n, 'down')}; closed form "
        f"{newtons(found.pull_closed_n, 'down')}, proving pull "
        f"{newtons(found.field_proof_n, 'up')}. Tipped at {newtons(found.tilting_n, 'down')} along "
        f"the line; closed form, without friction, {newtons(found.tilting_closed_n, 'down')}."
    )
    return [*lines, *found.notes]


def _contact_rows(plan: Plan, contacts: Sequence[ContactResult]) -> dict[str, Any]:
    """Return the first barb's contact, and the second's where the ends differ."""
    from barbwright.prove import contact_json

    names = ("contact", "contact_second")
    return {
        name: {
            **contact_json(found),
            "check": checked_contact(plan, found),
            "would": would_have_to_be(found),
            "varied": [
                {
                    "name": row.name or None,
                    "value": _known(row.value),
                    "barb_seal": _known(row.seal),
                    "barb_grip": _known(row.grip),
                }
                for row in varied(plan)
            ],
        }
        for name, found in zip(names, contacts, strict=False)
    }


def _known(value: float) -> float | None:
    return round(value, 3) if np.isfinite(value) else None


def checked_contact(plan: Plan, found: ContactResult) -> dict[str, float | None]:
    """Return what the checks' table says of the same barb, and the elements over it.

    Parameters
    ----------
    plan : Plan
        The part, judged.
    found : ContactResult
        What elements found.
    """
    said = {outcome.info.id: outcome for outcome in plan.results}
    push = said.get("push_on")
    demand = float("nan") if push is None or push.demand is None else float(push.demand)
    rows: dict[str, float | None] = {"push_on_n": _known(demand)}
    for row in agreement(found):
        rows[row.key] = _known(row.table)
        rows[f"elements_over_{row.key.rsplit('_', 1)[0]}"] = _known(row.elements / row.table)
    return rows


@dataclass(frozen=True, kw_only=True)
class Agreement:
    """One figure by elements and by the checks' table, at the same corner and conditions.

    Attributes
    ----------
    key, words : str
        In JSON, and for a reader.
    elements, table : float
        By either, unit as the key ends; a table's nan is outside it.
    unit : str
        For a reader.
    """

    key: str
    words: str
    elements: float
    table: float
    unit: str


def agreement(found: ContactResult) -> tuple[Agreement, ...]:
    """Return push, normal force, pull-off and best land by elements and by the checks' table.

    Parameters
    ----------
    found : ContactResult
        What elements found.
    """
    hold, table = found.hold, found.table
    rows = (
        ("table_push_n", "push", found.push.peak_n, table.push_n, "N"),
        ("table_normal_n", "normal force", hold.released.normal_n, table.normal_n, "N"),
        ("table_pull_off_n", "pull-off", hold.pull_off_n, table.pull_off_n, "N"),
        ("table_land_mpa", "best land", found.best_land_mpa, table.land_mpa, "MPa"),
    )
    return tuple(
        Agreement(key=key, words=words, elements=elements, table=read, unit=unit)
        for key, words, elements, read, unit in rows
    )


def _agreement_words(found: ContactResult) -> str:
    """Return the same in one line, with which of either is the lower."""
    rows = [row for row in agreement(found) if row.table == row.table and row.table > 0.0]
    if not rows:
        return "The checks' table does not reach this tube on this barb: nothing to compare with."
    told = "; ".join(
        f"{row.words} {with_beside(f'{row.elements:.3g}', row.elements, row.unit)} and "
        f"{with_beside(f'{row.table:.3g}', row.table, row.unit)}, ratio "
        f"{row.elements / row.table:.2f}"
        for row in rows
    )
    lower = [row.words for row in rows if row.table < row.elements]
    others = [row.words for row in rows if row.table >= row.elements]
    words = "in all" if not others else f"in {', '.join(lower)}" if lower else "in none"
    return (
        f"Elements and the checks' table at the same corner and conditions, fresh: {told}. The "
        f"table is the lower {words}; what holds is judged by the table less its error, and its "
        "pull-off has that taken off already."
    )


# What nobody has measured, and between what it may lie: what stays of the contact, wet friction.
VARIED = (("relaxation_tube", (0.3, 0.7)), ("grip_friction", (0.15, 0.3)))
# Over the friction that was worked with, how much further a proportion is told.
FURTHEST_SHARE = 1.5


class Varied(NamedTuple):
    """Seal and grip by the checks with one judgement number changed.

    Attributes
    ----------
    name : str
        Of the number; empty as judged.
    value : float
        What it is set to [-].
    seal, grip : float
        Safety factors; nan where a check is not made [-].
    """

    name: str
    value: float
    seal: float
    grip: float


def varied(plan: Plan) -> tuple[Varied, ...]:
    """Return seal and grip read again with relaxation and friction at either end.

    Parameters
    ----------
    plan : Plan
        A designed part with a barb.
    """
    from barbwright.checks.table import judge_all, outcomes

    design = plan.design
    assert design is not None

    def read(name: str, value: float) -> Varied:
        rules = {**design.conditions.rules, **({name: value} if name else {})}
        judged = judge_all(replace(design, conditions=replace(design.conditions, rules=rules)))
        told = {outcome.info.id: outcome.safety_factor for outcome in outcomes(judged)}
        factors = (told.get(check) for check in ("barb_seal", "barb_grip"))
        seal, grip = (float("nan") if one is None else one for one in factors)
        return Varied(name, value, seal, grip)

    rows = [read("", float("nan"))]
    rows += [read(name, value) for name, values in VARIED for value in values]
    return tuple(rows)


def _varied_words(rows: Sequence[Varied]) -> str:
    """Return the same in one sentence."""
    words = {"": "as judged", "relaxation_tube": "if {:g} stays", "grip_friction": "friction {:g}"}
    if all(row.seal != row.seal and row.grip != row.grip for row in rows):
        return "Relaxation and friction were not varied: the checks judge neither seal nor grip."
    told = "; ".join(
        f"{words[row.name].format(row.value)} {_factor(row.seal)} and {_factor(row.grip)}"
        for row in rows
    )
    return (
        f"Seal and grip by the checks at their own worst corner, safety factors (under 1 it leaks, "
        f"or comes off at the grip's own rule): {told}."
    )


def _factor(value: float) -> str:
    return f"{value:.2f}" if value == value else "not judged"


def contact_lines(plan: Plan, found: ContactResult) -> list[str]:
    """Return what elements find on a barb, a paragraph a thing, in words.

    Parameters
    ----------
    plan : Plan
        The part, judged.
    found : ContactResult
        What was found.
    """
    push, hold = found.push, found.hold
    lands = ", ".join(f"{value:.2f}" for value in hold.released.lands_mpa)
    rubber = found.over_yield != found.over_yield
    share = "" if rubber else f", {found.over_yield:.2f} x yield x the wall's section"
    pressure = found.hold_fit.pressure_mpa
    left = found.relaxation * found.best_land_mpa
    lines = [
        _converged_words(found),
        f"Pushed on warm (fat barb, narrow tube, E {found.push_fit.modulus_mpa:.3g} MPa, friction "
        f"{found.push_fit.friction:g}): at most {newtons(push.peak_n, 'up', 1)}{share}; the tube "
        f"shortens {push.shortening_mm:.1f} mm, so its end stands {push.end_mm[-1]:.1f} mm on when "
        f"it was pushed {push.travel_mm[-1]:.1f} mm.",
        f"Held (lean barb, wide tube, E {found.hold_fit.modulus_mpa:.3g} MPa, friction "
        f"{found.hold_fit.friction:g}): mean pressure on the lands from the nose {lands} MPa, "
        f"fresh; the best behind the first relaxed to {bare(left, 'down', 2)} MPa "
        f"({found.relaxation:g} of it, "
        f"judgement) against water at {voice_of(plan.job.inputs).plain(pressure)}.",
        f"Pulled under pressure it holds {newtons(hold.pull_off_n, 'down', 1)} fresh against a "
        f"thrust of {newtons(found.thrust_n, 'up', 1)}.",
        _would_words(found),
        _decides_words(found),
        _varied_words(varied(plan)),
        _agreement_words(found),
        _table_words(found),
    ]
    return [*filter(None, lines), *found.notes]


def _table_words(found: ContactResult) -> str:
    """Return how well the table that the checks read is known for such a tube."""
    table = found.table
    if table.push_error != table.push_error:
        return ""
    told = (
        f"push {100.0 * table.push_error:.0f} %, normal force {100.0 * table.normal_error:.0f} %, "
        f"best land {100.0 * table.land_error:.0f} %"
    )
    return (
        f"Nine of ten cases left out of the checks' table lie within: {told}. The checks take it "
        "off what holds and add it to the most that pushing takes."
    )


def _converged_words(found: ContactResult) -> str:
    """Return by how much halving moved each figure: which are held to 3 %, and which only told."""
    from barbwright.prove.contact.refine import CONVERGED_SHARE

    words = {
        "push_on_peak_n": "largest push", "land_pressure_mpa": "best land's pressure",
        "pull_off_n": "pull-off",
    }  # fmt: skip

    def told(names: Sequence[str]) -> str:
        moved = {name: found.changes[name] for name in names}
        return " and ".join(
            f"{words[name]} by {100.0 * change:.1f} %" if change == change
            else f"{words[name]} without an answer at one mesh"
            for name, change in moved.items()
        )  # fmt: skip

    rest = [name for name in found.changes if name not in found.held_to]
    return (
        f"Tube on its barb, {'converged' if found.converged else 'NOT converged'}: mesh, step and "
        f"penalty halved move {told(found.held_to)}, the two figures held to "
        f"{100.0 * CONVERGED_SHARE:.0f} %; {told(rest)}, which is only told: a pull ends in a jump."
    )


def would_have_to_be(found: ContactResult) -> dict[str, float | str | None]:
    """Return what would have to be true for the tube to leak, come off or be held by friction.

    Parameters
    ----------
    found : ContactResult
        What elements found.
    """
    pressure, table = found.hold_fit.pressure_mpa, found.table
    if pressure <= 0.0:
        return {}
    pull_off, friction = max(found.hold.pull_off_n, 1e-9), found.hold_fit.friction
    lets_go = found.thrust_n / pull_off
    over_bite = (table.pull_off_n - table.bite_n) / table.rubs_n if table.rubs_n > 0.0 else np.nan
    decides = "pull_off" if over_bite < found.relaxation else "friction_and_bite"
    return {
        "leaks_under_share": _known(pressure / found.best_land_mpa),
        "lets_go_under_share": _known(lets_go),
        "friction_that_holds_thrust": _known(friction * lets_go),
        "grip_decided_by": decides if over_bite == over_bite else None,
        "relaxation_decides_under_share": _known(max(over_bite, 0.0)),
    }


def _would_words(found: ContactResult) -> str:
    """Return what would have to be true for it to leak or come off, by elements."""
    pressure, friction = found.hold_fit.pressure_mpa, found.hold_fit.friction
    if pressure <= 0.0:
        return "No pressure, nothing to hold."
    seal = pressure / found.best_land_mpa
    share = found.thrust_n / max(found.hold.pull_off_n, 1e-9)
    leak = (
        f"it leaks where less than {seal:.2f} of the fresh contact stays"
        if seal < 1.0
        else "it leaks even fresh"
    )
    at = f"friction {friction * share:.2g} in place of {friction:g} (in proportion)"
    if share > FURTHEST_SHARE:
        # More friction takes normal force away: no proportion reaches so far.
        at = f"no friction near the {friction:g} that was worked with"
    slips = (
        f"it comes off where the pull-off relaxes with the contact and less than {share:.2f} "
        f"stays, or at {at}"
        if share < 1.0
        else f"it comes off even fresh, and would be held against the thrust by {at}"
    )
    held = ", ".join(
        f"{stays * found.hold.pull_off_n / found.thrust_n:.2f} if {stays:g} stays"
        for stays in (1.0, 0.7, found.relaxation, 0.3)
    )
    return (
        f"What would have to be true of the lean barb in the wide tube: {leak}; {slips}. Pull-off "
        f"over thrust, if it relaxes with the contact: {held} (square backs left out). The checks "
        "judge the worst of all corners, which may be another: their factors follow."
    )


def _decides_words(found: ContactResult) -> str:
    """Return which of the check's two limits decides its grip, and where the other would."""
    would, table = would_have_to_be(found), found.table
    if would.get("grip_decided_by") is None:
        return "What decides the grip is not known: the checks' table does not reach this tube."
    under, relaxed = would["relaxation_decides_under_share"], found.relaxation * table.rubs_n
    parts = (
        f"friction relaxed and bite {newtons(relaxed, decimals=1)} + "
        f"{newtons(table.bite_n, decimals=1)}, fresh pull-off "
        f"{newtons(table.pull_off_n, decimals=1)}"
    )
    if would["grip_decided_by"] == "friction_and_bite":
        return f"The check's grip ({parts}) is friction and bite, and falls as the contact relaxes."
    if not under:
        where = "the bite alone holds more, so relaxation moves it nowhere"
    else:
        where = f"relaxation would where less than {under:.2f} of the contact stays"
    return f"The check's grip ({parts}) is the pull-off; {where}."


def worst_cases(cases: Sequence[CaseResult]) -> tuple[str, ...]:
    """Return the cases that a made part is drawn in: at work, and with the least safety factor.

    Parameters
    ----------
    cases : sequence of CaseResult
        All of a part.
    """
    least = min(cases, key=lambda case: case.safety_factor)
    return tuple(dict.fromkeys(("working", least.id)))


def require_picture(plan: Plan, png_path: Path, case_id: str) -> None:
    """Fail with all faults at once where a stress picture could not be drawn or written.

    Parameters
    ----------
    plan : Plan
        A designed part that carries pressure.
    png_path : Path
        The picture that is asked for.
    case_id : str
        The load case that is asked for.

    Raises
    ------
    InputError
        When the part has no such case, or the file cannot stand there.
    """
    from barbwright.prove.cases import cases_of

    faults = []
    if plan.design is not None:
        known = [case.id for case in cases_of(plan.design)]
        if case_id not in known:
            faults.append(
                Fault(f"--case: a {plan.kind.name} has no such load case", given=quoted(case_id),
                      limit=", ".join(known), do="name one of these")
            )  # fmt: skip
    faults += _picture_faults(png_path)
    if faults:
        raise InputError(faults)


def _picture_faults(png_path: Path) -> list[Fault]:
    """Return why a picture cannot stand under a name."""
    faults: list[Fault] = []
    given, folder = str(png_path), png_path.parent
    if png_path.suffix.casefold() != ".png":
        do = "end the name in .png"
        faults.append(Fault("--png: the picture is a PNG file", given=given, do=do))
    elif png_path.is_dir():
        faults.append(Fault("--png: that is a folder", given=given, do="name a file in it"))
    elif not folder.is_dir() or not os.access(folder, os.W_OK | os.X_OK):
        what = "is not there" if not folder.is_dir() else "cannot be written"
        do = "name a file in a folder that exists and can be written"
        faults.append(Fault(f"--png: the folder {what}", given=given, do=do))
    elif _is_recorded(png_path):
        faults.append(
            Fault("--png: that is a made part's own file", given=given, do="choose another name")
        )
    return faults


def _is_recorded(path: Path) -> bool:
    """Return whether a part's record beside a file names it: its checksum would be false."""
    import json

    for record in path.parent.glob("part*.json"):
        try:
            files = json.loads(record.read_text(encoding="utf-8"))["files"]
            if path.name in {Path(file["path"]).name for file in files}:
                return True
        except (OSError, ValueError, KeyError, TypeError):
            continue
    return False


def require_contact_picture(png_path: Path) -> None:
    """Fail with all faults at once where a picture of the contact could not be written.

    Parameters
    ----------
    png_path : Path
        The picture that is asked for.

    Raises
    ------
    InputError
        When the file cannot stand there.
    """
    if faults := _picture_faults(png_path):
        raise InputError(faults)


def write_contact_picture(plan: Plan, found: ContactResult, png_path: Path) -> WrittenFile:
    """Draw the tube on its barb and the force over its travel, verify it, put it in its place.

    Parameters
    ----------
    plan : Plan
        The part.
    found : ContactResult
        What was found.
    png_path : Path
        The picture; a file of that name is replaced once the new one is complete.

    Raises
    ------
    BuildError
        When it cannot be drawn or written.
    """
    from barbwright.export.door import record, verified_file
    from barbwright.report.contact_plot import contact_picture

    with verified_file(png_path) as temporary:
        contact_picture(found, titled_number(plan), temporary)
    return record(png_path, "png", "")


def write_picture(plan: Plan, result: ProveResult, case_id: str, png_path: Path) -> WrittenFile:
    """Draw a case's stress picture, verify it, and put it in its place.

    Parameters
    ----------
    plan : Plan
        The part.
    result : ProveResult
        With a surface that holds the case.
    case_id : str
        Which load case.
    png_path : Path
        The picture; a file of that name is replaced once the new one is complete.

    Raises
    ------
    BuildError
        When it cannot be drawn or written.
    """
    from barbwright.export.door import record, verified_file
    from barbwright.report.stress import stress_picture

    with verified_file(png_path) as temporary:
        stress_picture(result, case_id, titled_number(plan), temporary)
    return record(png_path, "png", "")


def _drawn(plan: Plan, folder: Path) -> Path:
    """Return the unmarked STEP of a part, drawn into a folder."""
    from barbwright.design.draw import shape_of
    from barbwright.export.step import write_step
    from barbwright.solid.build import build

    assert plan.design is not None
    built = build(shape_of(plan.design, plan.number))
    path = folder / "part_unmarked.step"
    write_step(path, built.unmarked, plan.number, built.unmarked_volume_mm3)
    return path


def _run(
    plan: Plan,
    step: Path,
    pictured: Pictured | None,
    progress: Callable[[str], None] | None,
) -> ProveResult:
    from barbwright.prove import run

    assert plan.design is not None
    poisson = float(plan.job.material.poisson)
    return run(plan.design, step, poisson=poisson, pictured=pictured, progress=progress)


def finite_elements(
    plan: Plan, result: ProveResult, contacts: Sequence[ContactResult] = ()
) -> dict[str, Any]:
    """Return what part.json keeps of a result: no times, so that bytes can be the same.

    Parameters
    ----------
    plan : Plan
        The part.
    result : ProveResult
        What was found.
    contacts : sequence of ContactResult
        The tube on each different barb, where it was solved.
    """
    from barbwright.prove import to_json

    body = to_json(result)
    del body["seconds"]
    for case in body["cases"]:
        del case["seconds"]
    rows = _contact_rows(plan, contacts)
    for row in rows.values():
        del row["seconds"]
    # It brings an e-mail reader and sockets along.
    from importlib import metadata

    return {"engine": f"ngsolve {metadata.version('ngsolve')}", **body, **rows}


def prove_document(
    plan: Plan,
    result: ProveResult,
    files: Sequence[WrittenFile] = (),
    contacts: Sequence[ContactResult] = (),
) -> dict[str, Any]:
    """Return a result as one JSON document.

    Parameters
    ----------
    plan : Plan
        The part.
    result : ProveResult
        What was found.
    files : sequence of WrittenFile
        Pictures that were written.
    contacts : sequence of ContactResult
        The tube on each different barb, where it was solved.
    """
    from barbwright.prove import to_json

    return {
        **_head(plan),
        **to_json(result),
        **_contact_rows(plan, contacts),
        "files": [file_row(file, str(file.path)) for file in files],
    }
