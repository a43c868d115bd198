"""`barbwright make`: size, check, build, verify, write."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from barbwright.catalog import read_language
from barbwright.cli import flags
from barbwright.cli import options as shared
from barbwright.cli.door import echo
from barbwright.cli.output import may_be_written, print_mark, print_plan
from barbwright.cli.terminal import paragraph, print_json, warn
from barbwright.design.compensate import graded
from barbwright.design.grades import grade_words
from barbwright.design.part import find_kind, sizes_of
from barbwright.jobs.grades import grade_set, graded_set
from barbwright.jobs.make import (
    ALL_FORMATS,
    folder_name,
    in_language,
    make_part,
    read_formats,
)
from barbwright.jobs.plan import Plan, plan_recorded
from barbwright.jobs.proofs import proof_sentences
from barbwright.jobs.prove import require_provable
from barbwright.jobs.record import document, failure, load_record
from barbwright.say import millimetres, voice_of


@shared.with_job_options
def make(
    part: Annotated[str | None, typer.Argument(help=shared.PART_WORDS, show_default=False)] = None,
    from_file: Annotated[
        Path | None,
        flags.text("--from", "Remake a part from its part.json.", "PART.json"),
    ] = None,
    for_part: Annotated[str | None, flags.FOR_PART] = None,
    output: Annotated[Path, flags.OUTPUT] = Path("out"),
    formats: Annotated[str | None, flags.FORMATS] = None,
    force: Annotated[bool, flags.FORCE] = False,
    dry_run: Annotated[bool, flags.DRY_RUN] = False,
    anyway: Annotated[bool, flags.ANYWAY] = False,
    prove: Annotated[
        bool,
        typer.Option(
            "--prove",
            help="Judge the written part by finite elements as well (extra `fe`, about a minute): "
            "pictures of stress, and a section in the sheet.",
        ),
    ] = False,
    grades: Annotated[
        bool,
        typer.Option(
            "--grades",
            help="Three leads of a tip, elbow or tee, of which the one that fits is chosen by "
            "hand: three folders ending in -g1 to -g3.",
        ),
    ] = False,
    language: Annotated[str | None, flags.LANGUAGE] = None,
    json_: Annotated[bool, flags.JSON] = False,
    quiet: Annotated[bool, flags.QUIET] = False,
    debug: Annotated[bool, flags.DEBUG] = False,
    *,
    options: dict[str, Any],
) -> None:
    """Size, check, build and write a part: STEP, STL, 3MF, verified.

    Three measurements make a part: --tube-id, --bit, --pressure. Name tube and wood as well and
    all checks are made. With --prove the sheet shows the stress in the part as drawn. A driver,
    fork or collar is made for its part: --for out/tee-...
    """
    del debug
    wanted = read_formats(formats, ALL_FORMATS, prove=prove)
    wanted = in_language(wanted, read_language(language))
    if from_file is not None:
        shared.refuse_inputs(
            options,
            "--from remakes a part as its record says",
            "leave these out, or use `barbwright resize` to change the part",
            *filter(None, [part, "--for" if for_part else None]),
        )
        kind, job, revision, _ = load_record(from_file)
    else:
        kind = find_kind(part or "")
        job, revision = shared.read_options_for(kind, options, for_part)
    if prove:
        require_provable(kind)
    if not quiet:
        warn(job.said)
    jobs = graded_set(kind, job) if grades else [job]
    record = from_file if from_file is not None else shared.record_of(for_part)
    plans = [plan_recorded(record, kind, one, revision) for one in jobs]
    # All or none: a set of which one cannot be made, or stops at a folder that is there, is no set.
    dry_run = dry_run or not all(may_be_written(plan, anyway) for plan in plans)
    if not (dry_run or force):
        from barbwright.export.part import require_free

        require_free(*(output / folder_name(plan) for plan in plans))
    bodies = []
    for plan in plans:
        folder, body = _write(plan, output, wanted, force, dry_run, anyway, prove, quiet)
        bodies.append(body)
        if not json_:
            if plan is not plans[0] and _judged_alike(plan, plans[0]):
                _print_grade(plan)
            else:
                _print(plan, full=not plan.passed or dry_run, quiet=quiet)
            _print_written(plan, folder, body)
    if json_:
        print_json(grade_set(bodies) if grades else bodies[0])
    for plan in plans:
        if not plan.may_be_made:
            raise failure(plan)


def _write(
    plan: Plan,
    output: Path,
    wanted: tuple[str, ...],
    force: bool,
    dry_run: bool,
    anyway: bool,
    prove: bool,
    quiet: bool,
) -> tuple[Path | None, dict[str, Any]]:
    """Return the folder that was written, if one was, and the document of the part."""
    if dry_run or not may_be_written(plan, anyway):
        return None, document(plan, "make")
    say = None if quiet else lambda words: echo(words, err=True)
    return make_part(plan, output, wanted, force=force, anyway=anyway, prove=prove, progress=say)


def _hot_day(plan: Plan) -> tuple[str, ...]:
    """Return up to which temperature a part that is made stays good; nothing where it fails."""
    # Late: what is only listed or refused must not pay for it.
    from barbwright.rating.warmest import warmest
    from barbwright.report.cards import hot_day

    if plan.design is None or not plan.passed:
        return ()
    return hot_day([warmest(plan.job, plan.design)])


def _judged_alike(plan: Plan, first: Plan) -> bool:
    """Return whether another grade of a set says what the first has said."""
    return plan.passed == first.passed and plan.results == first.results


def _print_grade(plan: Plan) -> None:
    """Print what is another grade's own, after all that is common to its set."""
    alike = "all"
    # Where the material is refused and no size exists, none of the set has a lead to tell.
    if plan.design is not None:
        _, lead = sizes_of(graded(plan.design))["lead_diameter_mm"]
        alike = f"lead {millimetres(float(lead))} mm, all else"
    echo(f"\n{plan.number}: {plan.kind.title}")
    echo(paragraph(f"{grade_words(plan.job.grade)}: {alike} as above", "  ", "  "))


def _print(plan: Plan, *, full: bool, quiet: bool) -> None:
    if not quiet or not plan.passed:
        print_plan(plan, full=full)
        for line in _hot_day(plan):
            echo("\n" + paragraph(f"{line} Where it gets hotter, make it with --temperature."))


def _print_written(plan: Plan, folder: Path | None, body: dict[str, Any]) -> None:
    if folder is None:
        return
    print_mark(plan)
    for sentence in proof_sentences(plan.number, voice_of(plan.job.inputs)):
        echo(paragraph(sentence, "", "  "))
    echo(f"\nwritten and verified: {folder}")
    for file in body["files"]:
        echo(f"  {Path(file['path']).name}  {file['bytes']} bytes")


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("make")(make)
