"""`barbwright chain`: pressure and flow at every port, times, what to print and cut."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any

import typer

from barbwright.chain.plan import ChainPlan, Rated
from barbwright.chain.result import ChainResult
from barbwright.cli import flags
from barbwright.cli import options as shared
from barbwright.cli.door import echo
from barbwright.cli.terminal import paragraph, print_json, warn
from barbwright.design.tapping import tap_window
from barbwright.errors import Fault, InputError
from barbwright.job.reading import read_job
from barbwright.jobs.chain import ChainJob, plan_chain
from barbwright.jobs.chain_document import chain_document
from barbwright.jobs.chain_inputs import CHAIN_INPUTS, ChainInput
from barbwright.jobs.kitfile import KitFile, load_kit
from barbwright.report.notices import NOT_RATED
from barbwright.say import cell, minutes, volume


def _option(one: ChainInput) -> inspect.Parameter:
    """Return an input as the parameter typer makes an option of."""
    flag = "--" + one.name.replace("_", "-")
    if one.yes_or_no:
        option = typer.Option(f"{flag}/--un{one.name}", help=one.help, show_default=False)
    else:
        option = flags.text(flag, one.help)
    kind: Any = (bool if one.yes_or_no else str) | None
    return shared.option_parameter(one.name, kind, None, option)


def with_chain_options(command: Callable[..., None]) -> Callable[..., None]:
    """Give a command the chain's options; they reach it as one ``chain_options`` mapping.

    Parameters
    ----------
    command : callable
        Its own parameters first; it must take ``chain_options`` by keyword.
    """
    return shared.gathered(command, "chain_options", [_option(one) for one in CHAIN_INPUTS])


@shared.with_job_options
@with_chain_options
def chain(
    kit_: Annotated[
        str | None,
        typer.Argument(
            metavar="[KIT]", help="A kit file, or the name of a kit.", show_default=False
        ),
    ] = None,
    json_: Annotated[bool, flags.JSON] = False,
    quiet: Annotated[bool, flags.QUIET] = False,
    debug: Annotated[bool, flags.DEBUG] = False,
    *,
    options: dict[str, Any],
    chain_options: dict[str, Any],
) -> None:
    """Work out a chain: ports, flow and pressure at each, times, vessel, what to print and cut.

    Give a kit, or tube, bit, pressure and wood as for `check`, and the trunk's girth and the tree's
    species, or what you measured on it.
    """
    del debug
    file = options.pop("kit_file")
    settings = tuple(options.pop("settings") or ())
    if kit_ is not None and file is not None:
        raise InputError(
            Fault("two kits are named", given=f"{kit_}; {file}", do="leave one of them out")
        )
    where: str | Path | None = kit_ if kit_ is not None else file
    loaded = None if where is None else load_kit(where)
    planned = read_chain(loaded, options, chain_options, settings)
    result = planned.solve()
    if json_:
        print_json(chain_document(planned, result, None if loaded is None else loaded.name))
        return
    if not quiet:
        warn((*planned.job.said, *planned.warnings))
    print_chain(planned, result, loaded, full=not quiet)


def read_chain(
    loaded: KitFile | None,
    options: dict[str, Any],
    chain_options: dict[str, Any],
    settings: tuple[str, ...],
) -> ChainJob:
    """Return the chain that a kit and options describe."""
    job = read_job(options, None if loaded is None else loaded.job, settings=settings)
    spares = None if loaded is None else {row.kind: row.spares for row in loaded.parts}
    return plan_chain(job, chain_options, None if loaded is None else loaded.chain, spares=spares)


def print_chain(
    planned: ChainJob, result: ChainResult, loaded: KitFile | None, *, full: bool = True
) -> None:
    """Print a chain in the order it is needed."""
    plan, last = result.plan, result.ports[-1]
    voice = plan.voice

    def say(text: str, indent: str = "  ") -> None:
        echo(paragraph(text, indent, indent + "  "))

    if loaded is not None:
        echo(loaded.title + (" (invented, for demonstration)" if loaded.invented else ""))
    tree = planned.tree_words or "a tree as measured"
    around = f"{plan.ports_apart} round {voice.plain(planned.girth_mm, 'length')}, {tree}"
    say(f"{around}, {voice.plain(plan.supply_mpa)} at the vessel", "")
    echo()
    if result.dry_ports:
        say(result.advice, "")
    even = "" if result.last_to_first is None else f"; last over first {result.last_to_first:.2f}"
    say(
        f"Last port: {voice.plain(last.hole_pressure_mpa)} in the hole, "
        f"{last.flow_ml_min:.0f} mL/min{even}; all ports {result.total_flow_ml_min:.0f} mL/min",
        "",
    )
    if not result.dry_ports:
        echo(f"Limited by the {result.limited_by}")
        say(result.advice)
    if result.dose_minutes is not None and plan.dose_ml is not None:
        low, expected, high = (
            minutes(result.dose_minutes[name]) for name in ("low", "expected", "high")
        )
        how = "at constant pressure" if _steady(plan) else "with the vessel running down"
        echo(f"Time for {volume(plan.dose_ml)}: {low} to {high} min, expected {expected} min")
        say(f"{how}; pumping up and refilling not counted")
    if full:
        _print_ports(result)
    echo(f"Purge: {volume(result.purge_ml)} fill line and fittings, at low pressure")
    _print_vessel(result)
    design = planned.elbow.design
    assert design is not None
    assert design.tip is not None
    window = tap_window(design)
    assert window is not None
    bit, tip = planned.job.bit, design.tip
    echo(
        f"Bit {bit.name} ({bit.diameter_mm:.2f} mm), hole {float(tip.hole_depth_mm):.0f} mm deep "
        "from the bark's surface"
    )
    say(window.sentence)
    if result.weakest_rating is not None:
        _print_ratings(result.weakest_rating, plan)
    proof = voice.gauge(planned.proof.proof_mpa)
    echo(f"Proof-test each batch with water: {proof} for 10 minutes")
    echo("Print and cut")
    for item in result.parts:
        spare = f" + {item['spare']} spare" if item["spare"] else ""
        cut = (
            f", {item['length_mm']:.0f} mm of {item['bore_mm']:.2f} mm bore"
            if "length_mm" in item
            else ""
        )
        say(f"{item['quantity']}{spare}  {item['item']}{cut}")
    if full:
        echo("What if")
        for case in result.cases:
            say(case.sentence)
        echo("Mind")
        for warning in result.warnings:
            say(warning)
    echo("\n" + paragraph(NOT_RATED))


def _print_ratings(weakest: Rated, plan: ChainPlan) -> None:
    """Print what holds least, or why that is not known, and what all else holds."""
    name, held = weakest.name, weakest.say(plan.voice)
    if weakest.known:
        echo(f"Weakest in the assembly: {name}, {held}")
    else:
        by = f" ({name})" if weakest.at_most_mpa is not None else ""
        text = f"Weakest in the assembly: {held}{by}; {weakest.because}"
        echo(paragraph(text, "", "  "))
    others = [
        f"{one.name} {plan.voice.limit(one.mpa)}"
        for one in plan.ratings
        if one.mpa is not None and one.name != name
    ]
    if others:
        text = f"{'then' if weakest.known else 'known:'} {', '.join(others)}. A part's is a limit "
        echo(paragraph(f"{text}of these rules, no rating.", "  ", "    "))


def _steady(plan: ChainPlan) -> bool:
    return plan.vessel is None or plan.vessel.regulated


def _print_ports(result: ChainResult) -> None:
    unit, _ = result.plan.voice.pair("pressure")

    echo(f"Port   crossing {unit}   in the hole {unit}   mL/min (low to high)      mL of volume")
    for port in result.ports:
        spread = f"({port.flow_low_ml_min:.0f} to {port.flow_high_ml_min:.0f})"
        dose = "" if port.dose_ml is None else f"{port.dose_ml:.0f}"
        echo(
            f"{port.index:4d} {cell(port.node_pressure_mpa, unit):>14} "
            f"{cell(port.hole_pressure_mpa, unit):>17} "
            f"{port.flow_ml_min:8.0f} {spread:18} {dose:>13}".rstrip()
        )


def _print_vessel(result: ChainResult) -> None:
    vessel = result.vessel
    if vessel is None:
        return
    text = (
        f"Vessel: {volume(vessel['volume_ml'])} with {volume(vessel['liquid_ml'])} of liquid under "
        f"{volume(vessel['air_head_ml'])} of air; stop after {volume(vessel['stop_after_ml'])}, "
        "while liquid remains"
    )
    echo(paragraph(text, "", "  "))
    if "recharge_at_mpa" in vessel:
        after = vessel["recharge_after_ml"]
        echo(
            f"  pump up again at {result.plan.voice.demand(vessel['recharge_at_mpa'])}, after "
            f"{volume(after['low'])} to {volume(after['high'])}"
        )
        if "air_head_without_recharge_ml" in vessel:
            need = volume(vessel["air_head_without_recharge_ml"])
            echo(f"  {need} of air would do without pumping up")
    echo(
        f"  its air holds {vessel['stored_energy_j']:.0f} J, as much water "
        f"{vessel['water_energy_j']:.1f} J"
    )


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("chain")(chain)
