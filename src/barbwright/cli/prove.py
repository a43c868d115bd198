"""`barbwright prove`: finite elements on the part as drawn."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from barbwright.cli import flags
from barbwright.cli import options as shared
from barbwright.cli.door import echo
from barbwright.cli.terminal import paragraph, print_json, warn
from barbwright.design.part import KINDS, find_kind
from barbwright.errors import Fault, InputError, quoted
from barbwright.jobs.plan import plan_part
from barbwright.jobs.prove import (
    contact_document,
    contact_lines,
    made_part,
    prove_contact,
    prove_document,
    prove_part,
    prove_seated,
    require_contact_picture,
    require_picture,
    require_provable,
    seated_document,
    seated_lines,
    write_contact_picture,
    write_picture,
)
from barbwright.report.notices import NOT_RATED
from barbwright.say import factor, with_beside

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from barbwright.jobs.plan import Plan
    from barbwright.prove import ContactResult, ProveResult

SEAL, SEATED = "seal", "seat_in_wood"


@shared.with_job_options
def prove(
    part: Annotated[str, typer.Argument(help="A kind of part, or the folder of a made one.")],
    png: Annotated[
        Path | None,
        flags.text(
            "--png",
            "Draw the part coloured by stress, or with --case seal the tube on its barb, into "
            "this file.",
            "FILE",
        ),
    ] = None,
    case: Annotated[
        str | None,
        flags.text(
            "--case",
            "Load case that --png draws: working, proof, let_go, side, driving or twist; or "
            "seal, which solves the tube on its barb alone; or seat_in_wood, which solves a "
            "hub's tip in its hole alone and has no picture.",
            "CASE",
        ),
    ] = None,
    json_: Annotated[bool, flags.JSON] = False,
    quiet: Annotated[bool, flags.QUIET] = False,
    debug: Annotated[bool, flags.DEBUG] = False,
    *,
    options: dict[str, Any],
) -> None:
    """Judge the drawn part by finite elements, beside the formulas. Needs the extra `fe`.

    With --png it also draws the part coloured by stress, whole and cut open. A barb is also
    solved with its tube on it; `--case seal` does that alone, on any part with a barb, and
    needs no extra. `--case seat_in_wood` solves a hub's tip in a block of wood.
    """
    del debug
    if case is not None and png is None and case not in (SEAL, SEATED):
        raise InputError(
            Fault("--case chooses what --png draws", given=quoted(case), do="add --png FILE")
        )
    where = Path(part)
    # A kind's name is the kind, whatever stands in this folder.
    is_kind = not part or part.casefold() in KINDS
    if not is_kind and where.exists() and (where.is_dir() or where.suffix == ".json"):
        shared.refuse_inputs(
            options, "a made part is judged as its record says",
            "leave these out, or name a kind of part instead of the folder",
        )  # fmt: skip
        plan, step = made_part(where)
    else:
        kind = find_kind(part)
        plan, step = plan_part(kind, shared.read_options(kind, options)), None
        if not quiet:
            warn(plan.job.said)
    # A line a step: the whole takes about a minute.
    say = None if quiet else lambda words: echo(words, err=True)
    if case == SEAL:
        _prove_seal(plan, png, say, json_=json_)
        return
    if case == SEATED:
        _prove_seated(plan, png, say, json_=json_)
        return
    shown = case or "working"
    require_provable(plan.kind)
    if png is not None:
        require_picture(plan, png, shown)
    pictured = None if png is None else lambda _cases: (shown,)
    result = prove_part(plan, step, pictured=pictured, progress=say)
    files = [] if png is None else [write_picture(plan, result, shown, png)]
    contacts = prove_contact(plan, progress=say) if plan.kind.name == "barb" else ()
    if json_:
        print_json(prove_document(plan, result, files, contacts))
        return
    echo(f"{plan.number}: {plan.kind.title}, as drawn")
    _print(result)
    _print_contacts(plan, contacts)
    if png is not None:
        echo(f"\nwritten and verified: {png}")


def _prove_seal(
    plan: Plan, png: Path | None, say: Callable[[str], None] | None, *, json_: bool
) -> None:
    """Solve the tube on the barb alone, and tell or draw it."""
    if png is not None:
        require_contact_picture(png)
    contacts = prove_contact(plan, progress=say)
    files = [] if png is None else [write_contact_picture(plan, contacts[0], png)]
    if json_:
        print_json(contact_document(plan, contacts, files))
        return
    echo(f"{plan.number}: {plan.kind.title}, the tube on its barb")
    _print_contacts(plan, contacts)
    echo(paragraph(NOT_RATED, "\n", ""))
    if png is not None:
        echo(f"\nwritten and verified: {png}")


def _prove_seated(
    plan: Plan, png: Path | None, say: Callable[[str], None] | None, *, json_: bool
) -> None:
    """Solve the tip in its hole alone, and tell it."""
    if png is not None:
        raise InputError(
            Fault("--case seat_in_wood has no picture", given=str(png), do="leave --png out")
        )
    found = prove_seated(plan, progress=say)
    if json_:
        print_json(seated_document(plan, found))
        return
    echo(f"{plan.number}: {plan.kind.title}, its tip in its hole")
    for line in seated_lines(found):
        echo(paragraph(line))
    echo(paragraph(NOT_RATED, "\n", ""))


def _print_contacts(plan: Plan, contacts: Sequence[ContactResult]) -> None:
    for found in contacts:
        for line in contact_lines(plan, found):
            echo(paragraph(line, "\n", "") if line.startswith("Tube") else paragraph(line))


def _print(result: ProveResult) -> None:
    upper = [
        f"{case.id} {factor(case.safety_factor * case.load / case.load_upper)} at "
        f"{with_beside(f'{case.load_upper:.0f}', case.load_upper, case.load_unit)}"
        for case in result.cases
        if case.load_upper > case.load > 0.0
    ]
    rows = [("case", "peak MPa", "formula", "ratio", "allowable", "SF", "converged", "where")]
    for case in result.cases:
        rows.append(
            (
                case.id, f"{case.peak_mpa:.2f}", f"{case.closed_form_mpa:.2f}", f"{case.ratio:.2f}",
                f"{case.allowable_mpa:.1f}", factor(case.safety_factor),
                "yes" if case.converged else "NO", case.place,
            )
        )  # fmt: skip
    widths = [max(len(row[column]) for row in rows) for column in range(7)]
    for row in rows:
        cells = [cell.rjust(size) for cell, size in zip(row[1:7], widths[1:], strict=False)]
        echo(f"  {row[0].ljust(widths[0])}  {'  '.join(cells)}  {row[7]}".rstrip())
    echo(
        paragraph(
            f"Plain barb's Lame von Mises, same pressure: {result.lame_von_mises_mpa:.3f} MPa."
        )
    )
    if upper:
        words = f"SF at the upper loads, at the least: {'; '.join(upper)}."
        echo(paragraph(words))
    if result.sharp_edges:
        echo("\nSharp re-entrant edges, kept out of the peaks")
        for edge in result.sharp_edges:
            words = f"{edge.name}, {edge.from_wetted_mm:.2f} mm from the nearest wetted face"
            echo(paragraph(words, "  ", "      "))
    for note in (*result.notes, NOT_RATED):
        echo(paragraph(note, "\n", ""))


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("prove")(prove)
