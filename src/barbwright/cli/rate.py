"""`barbwright rate`: how far a part goes, what is smallest, sweeps and scatter."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from barbwright.cli import flags
from barbwright.cli import options as shared
from barbwright.cli.door import echo
from barbwright.cli.terminal import paragraph, print_json, print_rows, progress_of, warn, width
from barbwright.design.part import find_kind
from barbwright.errors import Fault, InputError
from barbwright.jobs.make import read_formats
from barbwright.report.notices import NOT_RATED
from barbwright.say import Voice, bare, voice_of

if TYPE_CHECKING:
    from barbwright.rating.rating import Rating, TemperatureLimit
    from barbwright.rating.scatter import Scatter
    from barbwright.rating.sweep import Sweep

_SWEPT = ("bits", "materials", "tubes", "woods", "pressures")
# A terminal shows this many rows; the rest is in the files.
_MOST_ROWS = 40
Row = tuple[str, ...]


@shared.with_job_options
def rate(
    part: Annotated[str, typer.Argument(help=shared.PART_WORDS)],
    bits: Annotated[
        str | None, flags.text("--bits", "Sweep bits: 3/16..3/8, a list, or all.")
    ] = None,
    pressures: Annotated[
        str | None, flags.text("--pressures", "Sweep pressures: 30psi..90psi, or a list.")
    ] = None,
    materials: Annotated[
        str | None, flags.text("--materials", "Sweep print materials: all, or a list.")
    ] = None,
    tubes: Annotated[
        str | None, flags.text("--tubes", "Sweep tubes of the table: all, or a list.")
    ] = None,
    woods: Annotated[str | None, flags.text("--woods", "Sweep woods: all, or a list.")] = None,
    points: Annotated[
        int | None,
        typer.Option(
            "--points",
            help="Pressures that a range of --pressures becomes; 13 unless given.",
            min=2,
            max=100_000,
            show_default=False,
        ),
    ] = None,
    scatter: Annotated[
        int,
        typer.Option(
            "--scatter",
            help="Draw so many parts, tubes, holes and trees at random.",
            min=0,
            max=2_000_000,
            show_default=False,
        ),
    ] = 0,
    seed: Annotated[
        int | None,
        typer.Option(
            "--seed",
            help="Of the random draws of --scatter; 0 unless given.",
            min=0,
            show_default=False,
        ),
    ] = None,
    output: Annotated[
        Path | None,
        flags.text("-o --output", "Folder for CSV, JSON and plots.", "DIR"),
    ] = None,
    formats: Annotated[str | None, flags.FORMATS] = None,
    force: Annotated[bool, flags.FORCE] = False,
    json_: Annotated[bool, flags.JSON] = False,
    quiet: Annotated[bool, flags.QUIET] = False,
    debug: Annotated[bool, flags.DEBUG] = False,
    *,
    options: dict[str, Any],
) -> None:
    """Find the highest pressure at which no check fails, and the smallest that works.

    With --bits, --pressures, --materials, --tubes or --woods: judge every combination instead.
    With --scatter: judge random parts instead of the worst case.
    """
    from barbwright.jobs.rate import FORMATS, rate_document, read_axes, write_rate

    del debug
    kind = find_kind(part)
    wanted = read_formats(formats, FORMATS)
    _no_idle_options(points, seed, pressures, scatter)
    texts = dict(zip(_SWEPT, (bits, materials, tubes, woods, pressures), strict=True))
    asked = _complete(options, texts)
    job = shared.read_options(kind, options)
    if not asked:
        job = replace(job, inputs={n: i for n, i in job.inputs.items() if n != "pressure"})
    if not quiet:
        warn(job.said)
    axes = read_axes(job, kind, texts, 13 if points is None else points)
    rating, swept, scattered = None, None, None
    if axes:
        from barbwright.rating.sweep import sweep as run_sweep

        swept = run_sweep(kind, job, axes, progress=None if quiet else progress_of("sweep"))
    if scatter:
        from barbwright.rating.scatter import scatter as run_scatter

        if not asked:
            raise InputError(Fault("--scatter needs --pressure", do="such as --pressure 40psi"))
        scattered = run_scatter(kind, job, scatter, seed or 0)
    if not axes and not scatter:
        from barbwright.rating.rating import rate_part

        rating = rate_part(kind, job, with_smallest=asked)
    body = rate_document(kind, job, rating, swept, scattered)
    if json_:
        print_json(body)
    else:
        if rating is not None:
            _print_rating(rating, body)
        if swept is not None:
            _print_sweep(swept)
        if scattered is not None:
            _print_scatter(scattered)
        echo("\n" + paragraph(NOT_RATED))
    if output is not None:
        for path in write_rate(output, body, rating, swept, scattered, wanted, force=force):
            if not quiet:
                echo(f"written: {path}", err=True)


def _no_idle_options(
    points: int | None, seed: int | None, pressures: str | None, scatter: int
) -> None:
    """Refuse an option that would do nothing."""
    faults = []
    if points is not None and pressures is None:
        faults.append(Fault("--points needs --pressures", do="such as --pressures 30psi..90psi"))
    if seed is not None and not scatter:
        faults.append(Fault("--seed needs --scatter", do="such as --scatter 20000"))
    if faults:
        raise InputError(faults)


def _complete(options: dict[str, Any], texts: dict[str, str | None]) -> bool:
    """Let a swept bit or pressure stand for the one that was not given; say if one was asked."""
    from barbwright.jobs.kitfile import load_kit

    kit = load_kit(options["kit_file"]).job if options["kit_file"] is not None else {}
    asked = bool(options["pressure"] or options["relief"] or kit.get("pressure"))
    if not options["bit"] and not kit.get("bit") and texts["bits"] is not None:
        from barbwright.rating.spans import read_bits

        options["bit"] = read_bits(texts["bits"])[0].name
    if not options["pressure"] and not kit.get("pressure"):
        # Limits do not depend on it; whatever does is left out.
        options["pressure"] = options["relief"] or "1 kPa"
    return asked


def _highest(voice: Voice, pressure_mpa: float | None) -> str:
    return "none" if pressure_mpa is None else voice.limit(pressure_mpa)


def _print_rating(rating: Rating, body: dict[str, Any]) -> None:
    service, voice = rating.service, voice_of(rating.job.inputs)
    word = f"at {service.temperature_c:g} C"
    said, full = _limit(voice, service), _highest(voice, service.pass_mpa)
    # Told to what a gauge shows, both may be one pressure: then it is no caution.
    alike = service.max_mpa is not None and _highest(voice, service.max_mpa) == full
    if alike:
        said += ", with a full pass"
    elif service.max_mpa is not None:
        said += ", which does not fail (caution)"
    echo(paragraph(f"{rating.kind.title}: highest pressure {word}: {said}", "", "  "))
    if service.governing:
        echo(f"  {service.governing} is the first to fail")
    if service.because:
        echo(paragraph(service.because, "  "))
    if not alike:
        said = f"highest pressure with a full pass: {full}; {service.pass_because}"
        echo(paragraph(said, "  ", "    "))
    _print_drawn(rating, voice)
    if service.not_checked:
        said = ", ".join(service.not_checked)
        echo(paragraph(f"not judged, so they set no limit: {said}", "  ", "    "))
    echo(f"\nBy check, {word}")
    limited = [one for one in rating.by_check if one.max_mpa is not None]
    rows: list[Row] = [("check", "does not fail up to", "note")]
    rows += [(one.id, _highest(voice, one.max_mpa), one.because) for one in limited]
    print_rows(rows)
    reasons: dict[str, list[str]] = {}
    for one in rating.by_check:
        if one.max_mpa is None:
            reasons.setdefault(one.because, []).append(one.id)
    for because, ids in reasons.items():
        echo(paragraph(f"{because}: {', '.join(ids)}", "  ", "    "))
    echo("\nBy temperature")
    rows = [("temperature", "does not fail up to", "full pass up to", "first to fail", "note")]
    rows += [
        (
            f"{row.temperature_c:g} C",
            _limit(voice, row, short=True),
            _highest(voice, row.pass_mpa),
            row.governing,
            row.because,
        )
        for row in rating.by_temperature
    ]
    print_rows(rows)
    if rating.smallest is None:
        return
    echo("\nWhat still passes at the pressure asked, all else as asked")
    rows = []
    for words, key, number, unit in (
        ("smallest bit", "smallest_bit", "smallest_bit_diameter_mm", "mm"),
        ("softest tube of the table", "softest_tube", "softest_tube_modulus_mpa", "MPa"),
        ("softest rubber of this size", "softest_shore", None, ""),
        ("softest wood of the table", "softest_wood", "softest_wood_specific_gravity", "green"),
    ):
        value = body[key] or f"none: {body['null_because'].get(key, '')}"
        # A metric bit's name is its diameter.
        if number and body[number] is not None and not value.endswith(" mm"):
            value += f" ({body[number]:.4g} {unit}"
            if key == "softest_wood":
                value += f", C90 {body['softest_wood_c90_mpa']:.2f} MPa"
            value += ")"
        rows.append((words, value))
    for group in ("hardwood", "softwood"):
        least = body[f"least_{group}_specific_gravity"]
        if least is not None:
            rows.append((f"least green specific gravity, {group}", bare(least, "up", 3)))
    for wall in body["least_walls"]:
        value = "none: " + wall["because"]
        if wall["least_wall_mm"] is not None:
            value = f"{bare(wall['least_wall_mm'], 'up', 2)} mm ({wall['governing_check']})"
        stripped = wall["least_wall_without_process_limits_mm"]
        if stripped is not None:
            check = wall["governing_check_without_process_limits"]
            value += f"; process limits apart {bare(stripped, 'up', 2)} mm ({check})"
        rows.append((f"least wall, {wall['where']}", value))
    print_rows(rows)


def _limit(voice: Voice, limit: TemperatureLimit, *, short: bool = False) -> str:
    """Return a limit in words; where something could not be judged, what is left of it."""
    if limit.max_mpa is not None or limit.judged_mpa is None:
        return _highest(voice, limit.max_mpa)
    most = voice.limit(limit.judged_mpa)
    return (
        f"not known, <= {most}" if short else (f"not known; at most {most} by what could be judged")
    )


def _print_drawn(rating: Rating, voice: Voice) -> None:
    span = rating.contact_range_mm
    if span is not None and span[0] != span[1]:
        echo(
            paragraph(
                f"each pressure has its own drawn part (contact {span[0]:.1f} to {span[1]:.1f} mm)",
                "  ",
                "    ",
            )
        )
    if rating.drawn is None:
        return
    limit, drawn_for = rating.drawn.limit, voice.plain(rating.drawn.pressure_mpa)
    said = f"this part, as drawn for {drawn_for}: {_limit(voice, limit)}"
    if limit.governing:
        said += f", governed by {limit.governing}"
    if limit.because and limit.because != rating.service.because:
        said += f"; {limit.because}"
    echo(paragraph(said, "  ", "    "))


# A verdict in a cell, and in the count below the table.
_CELLS = {
    "pass": ("pass", "pass"),
    "proved": ("prov", "pass"),
    "caution": ("caut", "caution"),
    "fail": ("FAIL", "fail"),
    "no_size": ("none", "have no size"),
}


def _print_sweep(sweep: Sweep) -> None:
    """Print one row for all but the last input, one word a verdict across."""
    import numpy as np

    from barbwright.checks.reasons import ONCE_PROVED
    from barbwright.checks.result import FAIL, VERDICTS

    across, others = sweep.axes[-1], sweep.axes[:-1]
    code = sweep.code.reshape(-1, len(across))
    leans = sweep.leans.reshape(code.shape)
    head = [" / ".join(one.name for one in others) or sweep.kind.name]
    shown_rows = min(code.shape[0], _MOST_ROWS)
    names = []
    for row in range(shown_rows):
        place = np.unravel_index(row, tuple(len(one) for one in others)) if others else ()
        parts = [one.labels[int(at)] for one, at in zip(others, place, strict=True)]
        names.append(", ".join(parts) or "all")
    size = max(len(text) for text in (*head, *names))
    cell = max(5, *(len(text) + 1 for text in across.labels))
    most = max(1, (width() - size - 4) // cell)
    step = max(1, -(-len(across) // most))
    columns = list(range(0, len(across), step))
    said = (
        f"{sweep.kind.title}: {sweep.code.size:,} combinations; across: {across.name} "
        f"(prov: pass {ONCE_PROVED}, caut: caution, none: no size exists)"
    )
    echo(paragraph(said, "", "  "))
    labels = "".join(across.labels[column].rjust(cell) for column in columns)
    echo("  " + head[0].ljust(size) + labels)
    for row, name in enumerate(names):
        words = ("proved" if leans[row, at] else VERDICTS[code[row, at]] for at in columns)
        cells = "".join(_CELLS[word][0].rjust(cell) for word in words)
        echo("  " + name.ljust(size) + cells)
    if shown_rows < code.shape[0] or step > 1:
        echo("  ... more: --output DIR writes all of them as CSV")
    counts = np.bincount(sweep.code, minlength=len(VERDICTS))
    told = [
        f"{counts[at]:,} {_CELLS[word][1]}" for at, word in enumerate(VERDICTS) if word in _CELLS
    ]
    if leaning := np.count_nonzero(sweep.leans):
        told[0] += f" ({leaning:,} of them {ONCE_PROVED})"
    echo("\n" + ", ".join(told))
    failing = sweep.governing[sweep.code == FAIL]
    if failing.size:
        ranked = np.bincount(failing, minlength=len(sweep.ids))
        top = [int(index) for index in np.argsort(-ranked, kind="stable")[:4] if ranked[index]]
        said = ", ".join(f"{sweep.ids[index]} ({ranked[index]:,})" for index in top)
        echo(paragraph(f"what fails most: {said}"))


def _print_scatter(result: Scatter) -> None:
    from barbwright.rating.scatter import summary

    echo(paragraph(summary(result)))
    echo(f"\nShare of {result.count:,} samples (seed {result.seed})")
    rows: list[Row] = [("check", "pass", "keep the design factor", "hold")]
    for one in result.checks:
        if one.share_pass is None or one.share_not_fail is None or one.share_hold is None:
            continue
        if one.share_pass < 1.0:
            shares = (one.share_pass, one.share_not_fail, one.share_hold)
            rows.append((one.id, *(f"{share:.2%}" for share in shares)))
    print_rows(rows)
    echo("  all others: every sample passes")
    echo("\nWhat matters most")
    rows = [("spread", "share", "fail without it", "status")]
    for influence in result.influences:
        rows.append(
            (
                influence.spread.title,
                f"{influence.share:.1%}",
                f"{influence.share_fail_without:.2%}",
                influence.spread.status,
            )
        )
    print_rows(rows)
    echo("\nHow they are drawn")
    for influence in result.influences:
        spread = influence.spread
        echo(paragraph(f"{spread.title}: {spread.distribution}", "  ", "    "))


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("rate")(rate)
