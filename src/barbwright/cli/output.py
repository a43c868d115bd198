"""A part in words on the terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Callable
from functools import partial

from barbwright.checks.field import derating
from barbwright.checks.fit import FIT_ONLY
from barbwright.checks.layers import advise_direction, rate_directions
from barbwright.checks.reasons import ONCE_PROVED, least_margin, verdict_reason
from barbwright.checks.table import Outcome
from barbwright.cli.door import echo
from barbwright.cli.terminal import WORDS, colour, paragraph, width
from barbwright.job.numbers import printed_inputs
from barbwright.jobs.plan import Plan
from barbwright.report.notices import NOT_PASSED, NOT_RATED
from barbwright.report.words import pulls_in_words
from barbwright.say import Way, beside, figure, leading, voice_of


def verdict_line(plan: Plan) -> str:
    """Return the verdict with its reason."""
    word = colour(WORDS[plan.verdict], plan.verdict)
    reason = verdict_reason(plan.results)
    if not reason:
        return word
    return f"{word}, {reason}" if plan.verdict == "pass" else f"{word}: {reason}"


def may_be_written(plan: Plan, anyway: bool) -> bool:
    """Return whether a part has a size, and may be made or was asked for all the same."""
    return (plan.may_be_made or anyway) and plan.design is not None


def print_mark(plan: Plan) -> None:
    """Print, of a part that was written, that it is not for a tree, or did not pass."""
    if plan.fit_verdict is not None:
        echo(colour("FIT ONLY: not for a tree, not for the field", "fail"))
    elif not plan.passed:
        echo(colour(NOT_PASSED, "fail"))


def print_own_figures(plan: Plan) -> None:
    """Print, under a verdict, that it rests on figures that are not the shipped ones."""
    if own := plan.job.own_figures:
        named = "; ".join(text.replace(": judged with figures", ": figures") for text in own)
        echo(paragraph(f"not by shipped figures alone: {named}", "", "  "))


def margin_line(plan: Plan) -> str:
    """Return which check leaves the least to spare; empty where none has a factor."""
    least = least_margin(plan.results)
    if least is None:
        return ""
    there, wanted = _factor(least.safety_factor, "down"), _factor(least.design_factor, "up")
    said = f"least to spare: {least.info.id}, {there} of {wanted}"
    rules = plan.handling_rules
    if least.rule and plan.passed and least in rules:
        said += f", which rule {rules.index(least) + 1} settles"
    if least.proved:
        said += ", which is proved in the field"
    return said


def ordered(plan: Plan) -> list[Outcome]:
    """Return the checks with the governing one first, then the worst, then the least margin."""
    rank = {"fail": 0, "caution": 1, "not_checked": 2, "pass": 3}
    governing = plan.governing
    return sorted(
        plan.results,
        key=lambda result: (result is not governing, rank[result.verdict], result.use),
    )


def check_table(results: list[Outcome]) -> str:
    """Return checks as a table a person can read."""
    rows: list[tuple[str, ...]] = [
        ("check", "verdict", "there", "asked", "at worst", "unit", "SF", "of", "remedy")
    ]
    for result in results:
        if result.verdict == "not_checked":
            continue
        yes_no = result.info.yes_no
        first, *second = _counted(result)
        rows.append(
            (
                result.info.id,
                WORDS[result.verdict],
                *first,
                _factor(result.safety_factor, "down"),
                "" if yes_no else _factor(result.design_factor, "up"),
                "" if second else _remark(result),
            )
        )
        rows += [("", "", *cells, "", "", _remark(result)) for cells in second]
    if not any(row[8] for row in rows[1:]):
        rows[0] = (*rows[0][:8], "")
    widths = [max(len(row[column]) for row in rows) for column in range(8)]
    lines = []
    for index, row in enumerate(rows):
        cells = [
            cell.rjust(size) if column in {2, 3, 4, 6, 7} else cell.ljust(size)
            for column, (cell, size) in enumerate(zip(row, widths, strict=False))
        ]
        head = "  ".join(cells)
        if index and row[0]:
            verdict = next(k for k, v in WORDS.items() if v == row[1])
            head = head.replace(
                row[1].ljust(widths[1]), colour(row[1].ljust(widths[1]), verdict), 1
            )
        used = sum(widths) + 2 * len(widths)
        room = width() - used
        remedy = row[8]
        if not remedy or room >= 24:
            tail = textwrap.wrap(remedy, max(room, 24)) or [""]
            lines.append(f"  {head}  {tail[0]}".rstrip())
            lines += [" " * (used + 2) + more for more in tail[1:]]
        else:
            lines.append(f"  {head}".rstrip())
            lines += [f"      {more}" for more in textwrap.wrap(remedy, width() - 6)]
    return "\n".join(lines)


def _counted(result: Outcome) -> list[tuple[str, ...]]:
    """Return what is there, asked and asked at worst with its unit: once, or once in each unit.

    A pressure of the liquid is told as its reader counts it, a force with pounds beside it.
    """
    info = result.info
    if info.yes_no and info.unit == "-":
        return [("", "", "", "")]
    upper = result.demand_upper if _differs(result) and not info.yes_no else None
    values = (result.capacity, result.demand, upper)
    ways: tuple[Way, ...] = ("down", "up", "up")

    def row(word: Callable[[float, Way], str], unit: str) -> tuple[str, ...]:
        pairs = zip(values, ways, strict=True)
        return (*("" if value is None else word(value, way) for value, way in pairs), unit)

    if info.of_line:
        return [row(partial(_in_unit, unit), unit) for unit in result.voice.pair("pressure")]
    rows = [row(leading, "" if info.unit == "-" else info.unit)]
    if other := beside(result.capacity or 0.0, info.unit)[1]:
        rows.append(row(lambda value, way: beside(value, info.unit, way)[0], other))
    return rows


def _in_unit(unit: str, pressure_mpa: float, way: Way) -> str:
    return figure(pressure_mpa, "pressure", unit, way)


def _factor(value: float | None, way: Way) -> str:
    return "" if value is None else leading(value, way)


def _differs(result: Outcome) -> bool:
    return (
        result.demand_upper is not None
        and result.demand is not None
        and abs(result.demand_upper - result.demand) > 1e-9
    )


def _remark(result: Outcome) -> str:
    """Return what stands behind a row: what mends it, or what its pass hangs on."""
    if result.proved:
        return f"PASS {ONCE_PROVED}"
    return result.info.remedy if result.verdict in {"fail", "caution"} else ""


def print_plan(plan: Plan, *, full: bool = True) -> None:
    """Print verdict, handling rules, the table of checks and what could not be checked."""
    echo(f"{plan.number}: {plan.kind.title}")
    echo(paragraph(verdict_line(plan), "", "  "))
    print_own_figures(plan)
    if plan.fit_verdict is not None:
        fits = colour(WORDS[plan.fit_verdict], plan.fit_verdict)
        echo(paragraph(f"FIT ONLY, {fits} as such: {FIT_ONLY}", "", "  "))
    if margin := margin_line(plan):
        echo(margin)
    # A part that fails is not for a tree: nothing to prove there.
    if plan.proved_in_field and plan.passed:
        echo("\nProve it in the field, before anything else")
        for result in plan.proved_in_field:
            text = f"{result.info.id}: {result.observation}. If not: {result.otherwise}"
            echo(paragraph(text, "  ", "     "))
        print_derating(plan)
    if plan.measured:
        echo("\nMeasured by you, in place of judgement (`--without measured` leaves it out)")
        for one in plan.measured:
            echo(paragraph(one.sentence, "  ", "     "))
    if plan.handling_rules:
        echo("\nHandling rules")
        for index, result in enumerate(plan.handling_rules, 1):
            echo(paragraph(f"{index}. {result.rule}", "  ", "     "))
    if plan.job.fit_only:
        echo(
            "\n" + paragraph("Rules of tapping, freeing and the line are not told: not for a tree.")
        )
    if full:
        echo("\nChecks (governing first; SF lower capacity over expected demand, of: asked)")
        echo(check_table(ordered(plan)))
    if plan.not_checked:
        echo("\nNot checked")
        reasons: dict[str, list[str]] = {}
        for result in plan.not_checked:
            reasons.setdefault(result.because, []).append(result.info.id)
        for because, ids in reasons.items():
            echo(paragraph(f"{', '.join(ids)}: {because}", "  ", "     "))
    if bounded := [one for one in plan.results if one.because and one not in plan.not_checked]:
        echo("\nJudged on a lower bound")
        names = ", ".join(one.info.id for one in bounded)
        echo(paragraph(f"{names}: {bounded[0].because}", "  ", "     "))
    for fault in plan.refusals:
        echo(paragraph(f"no size exists: {fault}", "  ", "     "))
    if full and plan.design is not None:
        print_sizing(plan)
    echo("\n" + paragraph(NOT_RATED))


def print_derating(plan: Plan) -> None:
    """Print at which pressure the line may run when a seat held less than the proving pull."""
    assert plan.design is not None
    if not any(result.info.id == "wood_hold" for result in plan.proved_in_field):
        return
    voice = voice_of(plan.job.inputs)
    rows = pulls_in_words(derating(plan.design), voice)
    told = f"least pull that held, and the whole line's highest pressure: {rows}"
    echo(paragraph(told, "     ", "     "))


def print_tapers(plan: Plan) -> None:
    """Print what each taper would have given, and why it was not taken."""
    for row in plan.tapers:
        size = "no size" if row.seat_mm is None else f"seat {row.seat_mm:.1f} mm"
        lost = f": {row.lost}" if row.lost and row.seat_mm is not None else ""
        echo(f"    taper 1:{1.0 / row.taper:.0f}  {size}{lost}" + ("" if row.lost else "  <"))


def print_sizing(plan: Plan) -> None:
    """Print the main sizes, and what sets the long ones."""
    from barbwright.design.tapping import how_to_use, tap_window
    from barbwright.report.stackup import stack_up
    from barbwright.say import millimetres

    design = plan.design
    assert design is not None
    echo("\nSizes")
    if design.barbs:
        barb = design.barbs[0]
        sizes = (
            f"bore {float(design.bore_mm):.2f}, barb root {float(barb.root_mm):.2f}, crest "
            f"{float(barb.crest_mm):.2f} mm (stretches the tube by {float(barb.expansion):.0%})"
        )
        echo(paragraph(sizes, "  ", "  "))
    if design.own is not None:
        named = [
            f"{name.removesuffix('_mm').replace('_', ' ')} {float(size):.2f}"
            + (" mm" if name.endswith("_mm") else "")
            for name, size in design.own.dimensions().items()
        ]
        echo(paragraph(", ".join(named), "  ", "  "))
    for note in how_to_use(design):
        echo(paragraph(note, "  ", "  "))
    stack, window = stack_up(design), tap_window(design)
    if stack.seat:
        parts = " + ".join(f"{part.length_mm:.1f} {part.title}" for part in stack.seat)
        echo(paragraph(f"seat {sum(p.length_mm for p in stack.seat):.1f} mm = {parts}",
                             "  ", "    "))  # fmt: skip
    print_tapers(plan)
    for shorter in stack.shorter:
        echo(
            paragraph(f"with {shorter.title}: {millimetres(shorter.saved_mm)} mm shorter",
                      "    ", "    ")
        )  # fmt: skip
    if window is not None and not plan.job.fit_only:
        echo(paragraph(window.sentence, "  ", "  "))
    material = plan.job.material
    ratings = rate_directions(plan.results, material.strength_z_mpa, material.strength_xy_mpa)
    if ratings:
        echo(paragraph(advise_direction(ratings), "  ", "  "))
    if design.mark.left_off:
        echo(paragraph(f"mark: no room for {', '.join(design.mark.left_off)}", "  ", "  "))
    given = [
        f"{name} {i.text} ({i.origin})"
        for name, i in printed_inputs(plan.job).items()
        if i.origin != "option"
    ]
    if given:
        echo(paragraph("taken: " + "; ".join(given), "  ", "  "))
    if plan.job.user_rules:
        mine = [f"{name} {plan.job.rules[name]:g}" for name in plan.job.user_rules]
        echo(paragraph("your own figures: " + ", ".join(mine), "  ", "  "))
