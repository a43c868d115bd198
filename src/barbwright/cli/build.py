"""`barbwright build`: a whole kit."""

from __future__ import annotations

import sys
from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

import typer

from barbwright.catalog import read_language
from barbwright.cli import flags
from barbwright.cli.door import echo
from barbwright.cli.output import print_own_figures, verdict_line
from barbwright.cli.terminal import colour, kept_where_stopped, paragraph, print_json, warn
from barbwright.design.grades import grade_words
from barbwright.jobs.build import (
    BuiltKit,
    BuiltPart,
    KitPlan,
    State,
    build_kit,
    failed_parts,
    order_lines,
    plan_kit,
)
from barbwright.jobs.kitfile import load_kit
from barbwright.jobs.make import ALL_FORMATS, read_formats
from barbwright.jobs.record import SCHEMA_VERSION
from barbwright.report.notices import NOT_PASSED, NOT_RATED
from barbwright.report.rules import said_once
from barbwright.say import one_of, voice_of


def build(
    kit: Annotated[str, typer.Argument(help="A kit file, or the name of a kit (`list kits`).")],
    output: Annotated[Path, flags.OUTPUT] = Path("out"),
    formats: Annotated[str | None, flags.FORMATS] = None,
    settings: Annotated[
        list[str] | None,
        flags.SET,
    ] = None,
    force: Annotated[bool, flags.FORCE] = False,
    anyway: Annotated[bool, flags.ANYWAY] = False,
    dry_run: Annotated[bool, flags.DRY_RUN] = False,
    language: Annotated[str | None, flags.LANGUAGE] = None,
    json_: Annotated[bool, flags.JSON] = False,
    quiet: Annotated[bool, flags.QUIET] = False,
    debug: Annotated[bool, flags.DEBUG] = False,
) -> None:
    """Make a whole kit: its chain, every part built and verified, its cards.

    Run again, it makes only what is missing or has changed, and says so.
    """
    del debug
    wanted = read_formats(formats, ALL_FORMATS)
    loaded = load_kit(kit)
    spoken = read_language(loaded.language if language is None else language)
    plan = plan_kit(loaded, {}, tuple(settings or ()))
    if not quiet:
        warn(plan.warnings)
    built = packed = None
    if not dry_run:
        numbers = [part.number for _, part in plan.parts]

        def pack(parts: Sequence[BuiltPart]) -> Sequence[str]:
            nonlocal packed
            packed = _pack(parts, wanted, plan, output, anyway=anyway, quiet=quiet)
            return packed.names if packed is not None else ()

        with kept_where_stopped(), _progress(numbers, quiet) as (begun, finished):
            built = build_kit(
                plan, output, wanted, force=force, anyway=anyway, language=spoken,
                progress=begun, finished=finished, pack=pack,
            )  # fmt: skip
    if json_:
        print_json(_document(plan, built, packed))
    else:
        _print_kit(plan)
        if built is not None:
            _print_built(built, packed)
    if not plan.passed:
        raise failed_parts(plan)


@dataclass(frozen=True)
class _PackedOrder:
    """The order beside a kit: its zip and inspection page, whether it was kept, older ones."""

    path: Path
    inspection: str
    kept: bool
    older: tuple[Path, ...]

    @property
    def names(self) -> tuple[str, str]:
        """The zip and its inspection page beside it."""
        return self.path.name, self.inspection


def _pack(
    parts: Sequence[BuiltPart],
    formats: Collection[str],
    plan: KitPlan,
    output: Path,
    *,
    anyway: bool,
    quiet: bool,
) -> _PackedOrder | None:
    """Pack the print service's order, the last step of a build."""
    if not set(ALL_FORMATS) - {"html", "png", "dxf", "svg"} <= set(formats):
        if not quiet:
            echo("no order: it needs step, stl, 3mf and pdf of each part", err=True)
        return None
    from barbwright.order.pack import inspection_name, pack_kit

    if not quiet:
        echo("checking the order", err=True)
    path, kept, older = pack_kit(
        order_lines(parts),
        output / plan.kit.name,
        anyway=anyway,
        title=plan.kit.title,
        buyer=plan.kit.buyer,
        just_made={
            part.folder: {Path(row["path"]).name: row["sha256"] for row in part.body["files"]}
            for part in parts
            if part.state != "kept"
        },
    )
    return _PackedOrder(path, inspection_name(path.name), kept, older)


def _document(plan: KitPlan, built: BuiltKit | None, packed: _PackedOrder | None) -> dict[str, Any]:
    parts = [
        {
            "part": part.kind.name,
            "part_number": part.number,
            "verdict": part.verdict,
            "quantity": order.quantity,
            "spares": order.spares,
        }
        for order, part in plan.parts
    ]
    return {
        "schema_version": SCHEMA_VERSION,
        "command": "build",
        "kit": plan.kit.name,
        "notice": NOT_RATED,
        "folder": None if built is None else str(built.folder),
        "parts": parts if built is None else [part.body for part in built.parts],
        "chain": None if built is None else built.chain,
        "files": [] if built is None else [page.as_dict() for page in built.pages],
        "order": None if packed is None else str(packed.path),
        "warnings": list(plan.warnings),
    }


def _print_kit(plan: KitPlan) -> None:
    echo(plan.kit.title)
    if plan.kit.invented:
        echo("(an invented scenario, for demonstration)")
    for order, part in plan.parts:
        grade = grade_words(part.job.grade) if part.kind.tip else ""
        named = "  ".join(filter(None, [part.number, grade]))
        echo(f"\n{order.quantity} + {order.spares} spare  {named}")
        echo(paragraph(verdict_line(part), "  ", "    "))
        print_own_figures(part)
        if not part.passed:
            echo("  " + colour(NOT_PASSED, "fail"))
    rules = said_once((part.kind.name, part.results) for _, part in plan.parts)
    if rules:
        echo("\nHandling rules")
        for index, rule in enumerate(rules, 1):
            named = ", ".join(rule.kinds)
            echo(paragraph(f"{index}. {named}: {rule.text}", "  ", "     "))
    if plan.chain is not None:
        apart = plan.chain.plan.ports_apart
        text = f"Chain: {apart} (`barbwright chain` says what each of them gets)"
        echo("\n" + paragraph(text, "", "  "))
    echo("\n" + paragraph(NOT_RATED))


def _print_built(built: BuiltKit, packed: _PackedOrder | None) -> None:
    states = [part.state for part in built.parts] + [page.state for page in built.pages]
    if built.chain is not None:
        last, ports = built.chain["ports"][-1], len(built.chain["ports"])
        voice = voice_of(built.parts[0].plan.job.inputs)
        hole_mpa = last["hole_pressure_kpa"] * one_of("pressure", "kPa")
        # Where ports stay dry the advice says that, and alone.
        if built.chain["advice"] in built.chain["warnings"]:
            echo("\n" + paragraph(f"Chain: {built.chain['advice']}", "", "  "))
        else:
            text = (
                f"Chain: port {ports} of {ports} has {voice.plain(hole_mpa)} in "
                f"its hole and takes {last['flow_ml_min']:.0f} mL/min; limited by the "
                f"{built.chain['limited_by']}"
            )
            echo("\n" + paragraph(text, "", "  "))
            echo(paragraph(built.chain["advice"], "  ", "  "))
    echo(f"\nwritten and verified: {built.folder}")
    for part in built.parts:
        because = f", because {part.because}" if part.because else ""
        word = "kept, unchanged" if part.state == "kept" else f"{part.state}{because}"
        echo(f"  {part.folder.name}: {word}")
    for page in built.pages:
        word = "kept, unchanged" if page.state == "kept" else page.state
        echo(f"  {page.path.name}: {word}")
    if packed is not None:
        echo(f"  {packed.path.name}: {'kept, unchanged' if packed.kept else 'packed'}")
        for old in packed.older:
            echo(f"  {old.name}: of an older order, left as it is; do not use it")
    if set(states) == {"kept"}:
        echo("  nothing had changed")
    for folder in built.left_over:
        echo(f"  {folder.name}: no longer of this kit, left as it is")
    fronts = [page.path for page in built.pages if page.path.stem.startswith("index")]
    # Without a chain a kit has no front page: the first part's sheet tells what to do.
    sheets = [part.folder / "sheet.html" for part in built.parts]
    for path in fronts or [sheet for sheet in sheets if sheet.is_file()][:1]:
        echo(f"open first: {path}")


Begun = Callable[[str], None]
Finished = Callable[[str, State], None]


@contextmanager
def _progress(numbers: list[str], quiet: bool) -> Iterator[tuple[Begun, Finished]]:
    """Show a bar on a terminal, a line a part elsewhere, nothing when quiet."""
    if quiet:
        yield (lambda _: None), (lambda _name, _state: None)
        return
    if not sys.stderr.isatty():
        yield (lambda number: echo(f"making {number}", err=True)), (lambda _n, _s: None)
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("making", total=len(numbers))

        def begun(number: str) -> None:
            bar.update(task, description=number)

        def finished(name: str, _state: State) -> None:
            # Pages take no time worth a part of the bar.
            bar.update(task, advance=1 if name in numbers else 0)

        yield begun, finished


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("build")(build)
