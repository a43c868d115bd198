"""`barbwright prove`: finite elements on the part as drawn."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from barbwright.cli import options as shared
from barbwright.cli.output import paragraph, print_json, warn
from barbwright.jobs.plan import plan_part
from barbwright.jobs.prove import made_part, prove_document, prove_part

if TYPE_CHECKING:
    from barbwright.prove import ProveResult


@shared.with_job_options
def prove(
    part: Annotated[str, typer.Argument(help="A kind of part, or the folder of a made one.")],
    json_: Annotated[bool, shared.JSON] = False,
    quiet: Annotated[bool, shared.QUIET] = False,
    debug: Annotated[bool, shared.DEBUG] = False,
    *,
    options: dict[str, Any],
) -> None:
    """Judge the drawn part by finite elements, beside the formulas. Needs the extra `fe`."""
    del debug
    where = Path(part)
    if where.exists() and (where.is_dir() or where.suffix == ".json"):
        plan, step = made_part(where)
    else:
        kind = shared.read_kind(part)
        plan, step = plan_part(kind, shared.read_options(kind, options)), None
        if not quiet:
            warn(plan.job.warnings)
    # A line a step: the whole takes about a minute.
    say = None if quiet else lambda words: typer.echo(words, err=True)
    result = prove_part(plan, step, progress=say)
    if json_:
        print_json(prove_document(plan, result))
        return
    typer.echo(f"{plan.number}: {plan.kind.title}, as drawn")
    _print(result)


def _print(result: ProveResult) -> None:
    rows = [("case", "peak MPa", "formula", "ratio", "allowable", "SF", "converged", "where")]
    for case in result.cases:
        peak = max(case.peak_von_mises_mpa, case.peak_principal_mpa)
        rows.append(
            (
                case.id, f"{peak:.2f}", f"{case.closed_form_mpa:.2f}", f"{case.ratio:.2f}",
                f"{case.allowable_mpa:.1f}", f"{case.safety_factor:.2f}",
                "yes" if case.converged else "NO", case.place,
            )
        )  # fmt: skip
    widths = [max(len(row[column]) for row in rows) for column in range(7)]
    for row in rows:
        cells = [cell.rjust(size) for cell, size in zip(row[1:7], widths[1:], strict=False)]
        typer.echo(f"  {row[0].ljust(widths[0])}  {'  '.join(cells)}  {row[7]}".rstrip())
    typer.echo(
        paragraph(
            f"Plain barb's Lame von Mises, same pressure: {result.lame_von_mises_mpa:.3f} MPa."
        )
    )
    if result.sharp_edges:
        typer.echo("\nSharp re-entrant edges, kept out of the peaks")
        for edge in result.sharp_edges:
            words = f"{edge.name}, {edge.from_wetted_mm:.2f} mm from the nearest wetted face"
            typer.echo(paragraph(words, "  ", "      "))
    for note in result.notes:
        typer.echo(paragraph(note, "\n", ""))


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("prove")(prove)
