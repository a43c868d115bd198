"""A kit's pages: the chain, the field card and the proof-test card, each self-contained HTML."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from barbwright import say
from barbwright.catalog import languages
from barbwright.chain.plan import ChainPlan
from barbwright.chain.result import ChainResult, rating_warnings
from barbwright.checks.field import Derated
from barbwright.checks.proof import PROOF_STEPS, PROOFED, ProofTest, largest_twist
from barbwright.checks.result import N_MM_PER_N_M
from barbwright.design.tapping import TapWindow, tap_window
from barbwright.job import numbers
from barbwright.report import cards
from barbwright.report.acts import acts_of
from barbwright.report.chain_plots import pressure_and_flow_svg, vessel_pressure_svg
from barbwright.report.in_use import on_the_rig
from barbwright.report.notices import NOT_RATED
from barbwright.report.pages import Filters, inline_svg, page
from barbwright.report.translated import Translator, own_words, translated, translator
from barbwright.report.words import PartReport, hammer, pulls_in_words, verdict_word
from barbwright.say import Voice
from barbwright.sources import SOURCES

# A seal with less to spare than this over what is asked of it may weep at the proof pressure.
WEEP_MARGIN = 1.25
# Trunk and ports are drawn at one of these, so that a ruler reads whole numbers.
SCALES = (1, 2, 2.5, 4, 5, 7.5, 10, 15, 20, 25, 40, 50, 75, 100, 150, 200, 500, 1000)
RING_MM = 58.0
FULL_SIZE_LIMIT_MM = 165.0
CHAIN_SOURCES = (
    "churchill1977", "silverberg_darby1999", "borda_carnot", "sinclair_larsen1981", "reil1979",
    "boyle", "pcc2_501", "brode", "iapws_short", "tanaka2001", "b31_3",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class KitReport:
    """Everything that a kit's pages say.

    Attributes
    ----------
    title, note : str
        The kit's own words.
    invented : bool
        Whether the scenario is a demonstration.
    result : ChainResult
        The solved chain.
    tee, elbow : PartReport
        Its printed parts.
    others : tuple of PartReport
        The kit's other parts.
    girth_mm : float
        Girth that the ports go round [mm].
    girth_given : bool
        False where it is only ports times spacing.
    tree : str
        The tree in words; empty where it was measured.
    inputs : mapping of str to (str, str)
        Name to text and origin.
    warnings : tuple of str
        What must be said loudly.
    proof : ProofTest
        The proof test for the highest pressure the regulator or relief can give [MPa].
    relief_mpa : float or None
        Setting of the relief [MPa].
    pieces : mapping of str to int
        Pieces of each part number, spares among them [-].
    first_batch : bool
        Whether a piece more of each connector is ordered, to be soaked and broken.
    """

    title: str
    note: str
    invented: bool
    result: ChainResult
    tee: PartReport
    elbow: PartReport
    others: tuple[PartReport, ...]
    girth_mm: float
    girth_given: bool
    tree: str
    inputs: Mapping[str, tuple[str, str]]
    warnings: tuple[str, ...]
    proof: ProofTest
    relief_mpa: float | None
    pieces: Mapping[str, int] = field(default_factory=dict)
    first_batch: bool = True

    @property
    def has_fork(self) -> bool:
        """Whether the kit has the fork that its card would have people use."""
        return any(part.design.kind.name == "fork" for part in self.others)

    @property
    def voice(self) -> Voice:
        """How to speak to whoever gave the inputs."""
        return self.result.plan.voice

    @property
    def twist(self) -> str:
        """The largest safe twist in words; empty where it is not known."""
        return largest_twist(self.elbow.outcomes)

    @property
    def wings(self) -> str:
        """The torque at which a driver's wings give way, in words; empty in a kit without one."""
        own = [part for part in self.others if part.design.kind.name == "driver"]
        gives = [
            check.advice["wings_nm"]
            for part in own
            for check in part.outcomes
            if "wings_nm" in check.advice
        ]
        return self.voice.limit(min(gives) * N_MM_PER_N_M, "torque") if gives else ""

    @property
    def plan(self) -> ChainPlan:
        """The chain's inputs as numbers."""
        return self.result.plan

    @property
    def parts(self) -> tuple[PartReport, ...]:
        """Every printed part; a chain of one port has no tee."""
        first = (self.tee, self.elbow) if self.plan.ports > 1 else (self.elbow,)
        return (*first, *self.others)

    @property
    def passed(self) -> bool:
        """Whether no check of any part fails."""
        return all(part.passed and part.verdict != "fail" for part in self.parts)

    @property
    def proved_in_field(self) -> list[str]:
        """What is proved in the field before the line is used, each said once."""
        found: dict[str, None] = {}
        for part in self.parts:
            for check in part.proved_in_field:
                found[f"{check.observation}. If not: {check.otherwise}."] = None
        return list(found)

    @property
    def pull_n(self) -> float:
        """The pull that proves every seat, the most of any part; 0 where none leans on it [N]."""
        pulls = [
            check.proof_force_n or 0.0 for part in self.parts for check in part.proved_in_field
        ]
        return max(pulls, default=0.0)

    @property
    def derating(self) -> tuple[Derated, ...]:
        """What the line may run at where a seat held less, by the part that asks for the most."""
        tables = [part.derating for part in self.parts if part.derating]
        return max(tables, key=lambda table: table[0].pull_n, default=())

    @property
    def least_pulls(self) -> str:
        """The table of `derating` in one line; empty without it."""
        return pulls_in_words(self.derating, self.voice)

    @property
    def window(self) -> TapWindow:
        """The tap-depth window, the same for tee and elbow."""
        window = tap_window(self.elbow.design)
        assert window is not None
        return window


@dataclass(frozen=True)
class Step:
    """One step of the work: a word to remember, what to do, and the files it takes."""

    word: str
    text: str
    files: tuple[str, ...] = ()


def times(report: KitReport) -> str:
    """Return the time to deliver the volume, as a range; empty without a volume."""
    found = report.result.dose_minutes
    if found is None or report.plan.dose_ml is None:
        return ""
    low, expected, high = (say.minutes(found[name]) for name in ("low", "expected", "high"))
    return f"{low} to {high} min for {say.volume(report.plan.dose_ml)}, expected {expected} min"


def order_of_work(report: KitReport) -> tuple[Step, ...]:
    """Return the work at the tree, step by step.

    Parameters
    ----------
    report : KitReport
        The kit.

    Returns
    -------
    tuple of Step
        In order.
    """
    plan, vessel, job = report.plan, report.result.vessel, report.elbow.job
    tip = report.elbow.design.tip
    assert tip is not None
    depth = float(tip.hole_depth_mm)
    if plan.ports == 1:
        tees = "The one tip is the elbow's: it goes in after the purge"
    elif plan.ports == 2:
        tees = "The tee's tip at port 1, not the elbow's yet"
    else:
        tees = f"All tees' tips at ports 1 to {plan.ports - 1}, not the elbow's yet"
    holes = "1 hole" if plan.ports == 1 else f"{plan.ports} holes"
    apart = "" if plan.ports == 1 else f", {report.voice.plain(plan.spacing_mm, 'length')} apart"
    last = "" if plan.ports == 1 else ", the last"
    stop = "Close the supply as soon as your volume is in, while liquid remains"
    if vessel is not None:
        stop += f": at the latest after {say.volume(vessel['stop_after_ml'])}"
    stop += ". Air must never enter the tree."
    watch = "Look at every seat and barb for drips and for tips that creep, and again after an hour"
    if vessel is not None and "recharge_at_mpa" in vessel:
        after = vessel["recharge_after_ml"]
        watch += (
            ". Pump up again when the gauge has fallen to "
            f"{report.voice.demand(vessel['recharge_at_mpa'])}, after about "
            f"{say.volume(after['low'])} to {say.volume(after['high'])}"
        )
    free = "Turn each connector free, with two fingertips on the wings of its driver"
    if report.wings:
        free += f" and no tool: at about {report.wings} the wings give way, so that the tip "
        free += "does not"
    elif report.twist:
        free += f", no more than {report.twist}"
    count = ""
    if report.has_fork:
        free += "; where one does not turn, lift it: push the fork in flat on the bark, tap lightly"
        count = (
            f" The fork counts the same from outside: {report.window.ticks} fewer of its steps go "
            "under."
        )
    pulling = []
    if report.pull_n:
        how = " by the fork hooked under its ball," if report.has_fork else ""
        pulling = [
            Step("Pull", f"Before any pressure, valve shut and line vented, pull every seat once"
                 f"{how} with {report.voice.demand(report.pull_n, 'force')}, slowly, in line with "
                 f"the tip; tick its box below. One that moves {report.window.further}.")
        ]  # fmt: skip
    return (
        Step("Wear", "A face shield over impact-rated (Z87-type) glasses, from the first hole to "
             "the last tip."),
        Step("Join", "Push every tube on, before the tips go in: the ends warmed in hot water, the "
             "connector held by its body, never by its tip. Never push a tube onto a connector "
             "that is tapped in: the push would bend its tip. Flush the line with water."),
        Step("Drill", f"{holes} with the {job.bit.name} bit, "
             f"{report.voice.plain(depth, 'length')} deep from the bark's surface, straight, into "
             f"sound wood{apart}. Fewest and smallest holes that do."),
        Step("Blow clear", "Blow the chips out of each hole with a hand bulb, shield down, face "
             "turned away."),
        Step("Tap", f"{tees}. {hammer(report.elbow)} {report.window.sentence}{count}"),
        Step("Purge", "Through the elbow's own open tip, held low: let the liquid in at low "
             "pressure until nothing but clear liquid leaves it; "
             f"{say.volume(report.result.purge_ml)} fill line and fittings. Close, then tap the "
             f"elbow in at port {plan.ports}{last}, the same way."),
        *pulling,
        Step("Open slowly",
             f"Up to {report.voice.plain(plan.supply_mpa)}, out of the line of the tips."),
        Step("Watch", watch + "."),
        Step("Stop", stop),
        Step("Vent", "Let the pressure out until the gauge stands at zero, line and vessel."),
        Step("Free", free + ". Never under pressure, never with your face in its line."),
        Step("Tidy", "Drain the chain, rinse, count the parts. On plugging holes see below."),
    )  # fmt: skip


@dataclass(frozen=True)
class ProofStep:
    """One pressure of the proof test: share of the proof [-], pressure [MPa], time [min]."""

    share: float
    pressure_mpa: float
    minutes: int


def proof_steps(report: KitReport) -> tuple[ProofStep, ...]:
    """Return the pressures of the proof test.

    Parameters
    ----------
    report : KitReport
        The kit.

    Returns
    -------
    tuple of ProofStep
        A minute each, the last held ten minutes more.
    """
    test = report.proof
    steps = [ProofStep(share, share * test.proof_mpa, 1) for share in PROOF_STEPS]
    return (*steps, ProofStep(1.0, test.proof_mpa, 10))


def proof_notes(report: KitReport) -> tuple[str, ...]:
    """Return what is special about this kit's proof test.

    Parameters
    ----------
    report : KitReport
        The kit.

    Returns
    -------
    tuple of str
        Sentences; none where nothing is.
    """
    proof = report.proof.proof_mpa
    found = []
    for part in report.parts:
        seal = next((o for o in part.outcomes if o.info.id == "barb_seal"), None)
        if seal is None or seal.safety_factor is None or seal.design_factor is None:
            continue
        if seal.safety_factor < WEEP_MARGIN * seal.design_factor:
            found.append(
                f"The {part.design.kind.name}'s seal on the tube has "
                f"{say.factor(seal.safety_factor)} of the "
                f"{say.leading(seal.design_factor, 'up')} asked: a barb may weep at the proof "
                "pressure. That alone is no failure, if it is dry at the working pressure."
            )
    for one in report.plan.ratings:
        if one.mpa is not None and one.mpa < proof and not one.name.startswith(("tee", "elbow")):
            found.append(
                f"The {one.name} holds {report.voice.limit(one.mpa)}, under the proof pressure: "
                "keep it out of the test, with a hand pump for water and a line that holds it."
            )
    return tuple(found)


def ring_svg(report: KitReport) -> str:
    """Return the trunk in section with its ports, drawn to scale in millimetres.

    Parameters
    ----------
    report : KitReport
        The kit.

    Returns
    -------
    str
        One SVG element; its size in mm is true when printed at 100 %.
    """
    ports = report.plan.ports
    diameter = report.girth_mm / math.pi
    scale = next((s for s in SCALES if diameter / s <= RING_MM), SCALES[-1])
    radius = diameter / scale / 2.0
    side = 2.0 * (radius + 13.0)
    middle = side / 2.0
    dot = min(1.9, 0.42 * report.girth_mm / ports / scale)

    def at(reach: float, port: float) -> tuple[float, float]:
        # Port 1 at the top, the others clockwise, as one walks round.
        angle = 2.0 * math.pi * port / ports
        return middle + reach * math.sin(angle), middle - reach * math.cos(angle)

    def number(value: float) -> str:
        return f"{value:.3f}".rstrip("0").rstrip(".")

    def pair(point: tuple[float, float]) -> str:
        return f"{number(point[0])} {number(point[1])}"

    tall = side + 12.0
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{number(side)}mm" '
        f'height="{number(tall)}mm" viewBox="0 0 {number(side)} {number(tall)}" role="img" '
        f'aria-label="Trunk in section with {ports} ports, scale 1 to {scale:g}">',
        f'<circle class="trunk" cx="{number(middle)}" cy="{number(middle)}" r="{number(radius)}" '
        'fill="none" stroke="currentColor" stroke-width="0.5"/>',
    ]
    if ports > 1:
        reach = radius + 3.0
        large = 1 if (ports - 1) / ports > 0.5 else 0
        lines.append(
            f'<path class="tube" d="M {pair(at(reach, 0))} A {number(reach)} {number(reach)} 0 '
            f'{large} 1 {pair(at(reach, ports - 1))}" fill="none" stroke="currentColor" '
            'stroke-width="0.35" stroke-dasharray="1.2 0.7"/>'
        )
    size = 3.0 if ports <= 24 else 2.0
    for port in range(ports):
        end = port == ports - 1
        foot, seat, label = at(radius - 4.0, port), at(radius, port), at(radius + 7.5, port)
        lines.append(
            f'<line x1="{number(foot[0])}" y1="{number(foot[1])}" x2="{number(seat[0])}" '
            f'y2="{number(seat[1])}" stroke="currentColor" stroke-width="0.7"/>'
        )
        x, y = seat
        lines.append(
            f'<rect class="port elbow" x="{number(x - dot)}" y="{number(y - dot)}" '
            f'width="{number(2 * dot)}" height="{number(2 * dot)}" fill="currentColor"/>'
            if end
            else f'<circle class="port tee" cx="{number(x)}" cy="{number(y)}" r="{number(dot)}" '
            'fill="currentColor"/>'
        )
        # Past thirty ports every fifth number is enough, and legible.
        if ports <= 30 or end or (port + 1) % 5 == 0 or port == 0:
            lines.append(
                f'<text x="{number(label[0])}" y="{number(label[1] + size * 0.36)}" '
                f'font-size="{number(size)}" text-anchor="middle" fill="currentColor">{port + 1}'
                "</text>"
            )
    bar = 100.0 if 100.0 / scale <= 0.8 * side else 10.0
    if 100.0 / scale < 6.0:
        bar = 1000.0
    left, foot_y = middle - bar / scale / 2.0, side + 3.0
    lines += [
        f'<path class="bar" d="M {number(left)} {number(foot_y - 1)} v 2 m 0 -1 h '
        f'{number(bar / scale)} m 0 -1 v 2" fill="none" stroke="currentColor" stroke-width="0.3"/>',
        f'<text x="{number(middle)}" y="{number(foot_y + 5)}" font-size="3" text-anchor="middle" '
        f'fill="currentColor">{bar:g} mm, scale 1 : {scale:g}</text>',
        "</svg>",
    ]
    return "\n".join(lines)


def spacing_svg(report: KitReport) -> str:
    """Return one spacing in full size, to lay on the bark; empty where it is too long to print.

    Parameters
    ----------
    report : KitReport
        The kit.

    Returns
    -------
    str
        One SVG element; its size in mm is true when printed at 100 %.
    """
    spacing = report.plan.spacing_mm
    if report.plan.ports < 2 or spacing > FULL_SIZE_LIMIT_MM:
        return ""
    wide = spacing + 8.0
    marks = "".join(
        f"M {4 + step:g} 9 v {-3.5 if step % 50 == 0 else -2} "
        for step in range(0, int(spacing) + 1, 10)
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.3f}mm" height="14mm" '
        f'viewBox="0 0 {wide:.3f} 14" role="img" aria-label="One spacing of {spacing:.0f} mm in '
        'full size">'
        f'<path d="{marks}M 4 9 h {spacing:.3f}" fill="none" stroke="currentColor" '
        'stroke-width="0.25"/>'
        f'<path class="spacing" d="M 4 2 v 8 M {4 + spacing:.3f} 2 v 8" fill="none" '
        'stroke="currentColor" stroke-width="0.6"/>'
        f'<text x="{wide / 2:.3f}" y="4" font-size="3.2" text-anchor="middle" '
        f'fill="currentColor">one spacing, hole to hole: {spacing:.0f} mm</text></svg>'
    )


def chain_page(report: KitReport, *, crew: bool = False) -> bytes:
    """Return the chain's page, its plots inside.

    Parameters
    ----------
    report : KitReport
        The kit.
    crew : bool
        Whether only what a crew needs of it is wanted: ports, vessel and cautions.

    Returns
    -------
    bytes
        One self-contained HTML document; the same for the same input.
    """
    vessel = vessel_pressure_svg(report.result)
    return _render(
        "chain.html",
        report,
        crew=crew,
        flow_svg=inline_svg(pressure_and_flow_svg(report.result), "flow-"),
        vessel_svg="" if vessel is None else inline_svg(vessel, "vessel-"),
        sources=[SOURCES[key] for key in CHAIN_SOURCES],
    )


def field_card_page(report: KitReport) -> bytes:
    """Return the card for the field, for A4 or Letter paper.

    Parameters
    ----------
    report : KitReport
        The kit.

    Returns
    -------
    bytes
        One self-contained HTML document.
    """
    return _render(
        "field_card.html",
        report,
        steps=order_of_work(report),
        ring=ring_svg(report),
        # A scale's dial shows what its buyer's country weighs in.
        pull_unit=report.voice.pair("force")[0 if report.voice.metric else 1],
        ruler=spacing_svg(report),
        acts=acts_of(report.parts, report.voice),
        ratings=rating_warnings(report.plan),
        mind=(
            *filter(None, [report.window.steeper]),
            *cards.hot_day(part.warmest for part in report.parts),
            *cards.IN_USE,
            *cards.STORING,
        ),
    )


def front_steps(
    report: KitReport, packed: Sequence[str] = (), suffix: str = ""
) -> tuple[Step, ...]:
    """Return what to do with a built kit, from the first gauge to the log.

    Parameters
    ----------
    report : KitReport
        The kit.
    packed : sequence of str
        Names of the order's zip and of its inspection page; none where it is not packed [-].
    suffix : str
        What stands in the names of pages of a kit that did not pass [-].

    Returns
    -------
    tuple of Step
        In the order of work.
    """
    test = report.proof
    return (
        Step(
            "Gauge",
            "Print a fit gauge first (`barbwright coupon`), push the tube on each barb and the "
            "nose in the drilled hole, and write down what fits.",
        ),
        Step(
            "Calibrate",
            "Tell it what fitted (`barbwright calibrate`) and build again: a calibrated print "
            "needs less length.",
        ),
        Step(
            "Order",
            "Send the order's zip in this folder to the print service, quote card first."
            if packed
            else "Pack the order for a print service (`barbwright order` with this folder).",
            tuple(packed[:1]),
        ),
        Step(
            "Inspect",
            "Measure what arrives by the inspection page beside the zip.",
            tuple(packed[1:]),
        ),
        Step(
            "Proof-test",
            f"Test a share of the batch with water to {report.voice.gauge(test.proof_mpa)}, "
            "held down and without a face in line.",
            (f"proof_card{suffix}.html",),
        ),
        Step(
            "Field",
            "Take the card to the tree; the chain's page says what each port gets.",
            (f"field_card{suffix}.html", f"chain{suffix}.html"),
        ),
        Step(
            "Log",
            "Write down pulls and readings, clean between trees, and let `barbwright log` read it.",
            (f"between_trees{suffix}.html",),
        ),
    )


@dataclass(frozen=True, kw_only=True)
class FrontPart:
    """A made part as the front page shows it.

    Attributes
    ----------
    title, kind, number, verdict : str
        What it is, its kind, part number and verdict; `not_passed` for one that was made all the
        same.
    files : tuple of str
        Its files, from where the page lies.
    pieces : int
        Pieces to order, spares among them [-].
    proved : bool
        Whether it passes on what is proved in the field.
    sheet_ending : str
        How the name of the sheet that is linked ends [-].
    """

    title: str
    kind: str
    number: str
    verdict: str
    files: tuple[str, ...]
    pieces: int
    proved: bool = False
    sheet_ending: str = ".html"

    def _ending(self, stem: str, ending: str) -> str:
        names = [one for one in self.files if one.rsplit("/", 1)[-1].startswith(stem)]
        # The shortest: `sheet.html` and not that of another language.
        return min((one for one in names if one.endswith(ending)), key=len, default="")

    @property
    def sheet(self) -> str:
        """Its sheet, from where the page lies; empty where there is none."""
        return self._ending("sheet", self.sheet_ending)

    def with_sheet(self, ending: str) -> FrontPart:
        """Return the same with a link to the sheet of another language."""
        return replace(self, sheet_ending=ending) if self._ending("sheet", ending) else self

    @property
    def picture(self) -> str:
        """Its picture, from where the page lies; empty where there is none."""
        return self._ending("part", ".png")


@dataclass(frozen=True, kw_only=True)
class CrewKit:
    """A kit as its crew's pages show it.

    Attributes
    ----------
    report : KitReport
        The kit.
    parts : tuple of FrontPart
        Those that are made, in the kit's order.
    packed : tuple of str
        Names of the order's zip and of its inspection page; none where it is not packed [-].
    suffix : str
        What stands in the names of pages of a kit that did not pass [-].
    """

    report: KitReport
    parts: tuple[FrontPart, ...]
    packed: tuple[str, ...] = ()
    suffix: str = ""


def crew_pages(kit: CrewKit, other: str = "") -> dict[str, bytes]:
    """Return what a crew takes along, by file name: cards, and the front page last.

    Parameters
    ----------
    kit : CrewKit
        The kit.
    other : str
        Another language that they are written in, which the front page links to [-].
    """
    return {
        f"field_card{kit.suffix}.html": field_card_page(kit.report),
        f"between_trees{kit.suffix}.html": between_trees_page(kit.report),
        f"proof_card{kit.suffix}.html": proof_card_page(kit.report),
        f"index{kit.suffix}.html": front_page(kit, other),
    }


def crew_pages_in(language: str, kit: CrewKit, by: Translator | None = None) -> dict[str, bytes]:
    """Return the crew's pages in another language, and what it reads of the chain's, by file name.

    Parameters
    ----------
    language : str
        One of `catalog.languages()`.
    kit : CrewKit
        The kit; its parts' sheets in this language are linked.
    by : Translator, optional
        Whose list of sentences without a line is wanted.
    """
    by = by or translator(language)
    report = replace(
        kit.report,
        title=own_words(kit.report.title),
        note=own_words(kit.report.note),
        tree=own_words(by.text(kit.report.tree) or kit.report.tree),
    )
    shown = tuple(part.with_sheet(f".{language}.html") for part in kit.parts)
    english = {
        f"chain{kit.suffix}.html": chain_page(report, crew=True),
        **crew_pages(replace(kit, report=report, parts=shown)),
    }
    return {
        name.replace(".html", f".{language}.html"): translated(page, language, english, by)
        for name, page in english.items()
    }


def front_page(kit: CrewKit, other: str = "") -> bytes:
    """Return the kit's front page: the tree, the parts, the next steps in order.

    Parameters
    ----------
    kit : CrewKit
        The kit.
    other : str
        Another language that the page is written in; empty for none [-].

    Returns
    -------
    bytes
        HTML beside the kit's files; pictures are those of the parts' folders.
    """
    return _render(
        "index.html",
        kit.report,
        steps=front_steps(kit.report, kit.packed, kit.suffix),
        other=(other, f"index{kit.suffix}.{other}.html", languages().get(other, "")),
        ring=ring_svg(kit.report),
        parts=kit.parts,
        word_of=verdict_word,
        acts=acts_of(kit.report.parts, kit.report.voice),
    )


def between_trees_page(report: KitReport) -> bytes:
    """Return what to do between two trees, with who says so.

    Parameters
    ----------
    report : KitReport
        The kit.

    Returns
    -------
    bytes
        One self-contained HTML document.
    """
    return _render("between_trees.html", report, between=cards.BETWEEN_TREES, sources=SOURCES)


def proof_card_page(report: KitReport) -> bytes:
    """Return the card for the proof and leak test of a batch, with lines to fill in.

    Parameters
    ----------
    report : KitReport
        The kit.

    Returns
    -------
    bytes
        One self-contained HTML document.
    """
    tested = [part for part in report.parts if part.design.kind.carries]
    return _render(
        "proof_card.html",
        report,
        steps=proof_steps(report),
        notes=proof_notes(report),
        tested=[
            {
                "number": part.part_number,
                "pieces": _to_test(report.pieces.get(part.part_number)),
            }
            for part in tested
        ],
        closing=_closing(report, tested),
        rig=on_the_rig(part.design for part in tested),
        tubes=list(
            dict.fromkeys(
                cards.on_which_tube(part.design, report.proof, report.voice) for part in tested
            )
        ),
    )


def _closing(report: KitReport, tested: Sequence[PartReport]) -> list[tuple[str, str]]:
    """Return how open ends are closed and held, each said once, with the parts it is for."""
    said: dict[str, list[str]] = {}
    for part in tested:
        for line in cards.closing(part.design, report.proof, report.voice):
            said.setdefault(line, []).append(part.design.kind.name)
    # What holds for most stands last: face and hands.
    rows = sorted(said.items(), key=lambda row: row[0].startswith("Face"))
    return [(", ".join(kinds), line) for line, kinds in rows]


def _to_test(ordered: int | None) -> int:
    """Return how many pieces of a part number go to the proof pressure."""
    return PROOFED if ordered is None else min(PROOFED, max(ordered, 1))


def _render(template: str, report: KitReport, **more: Any) -> bytes:
    voice = report.voice
    filters: Filters = {
        "mm": say.millimetres,
        "pressure": voice.plain,
        "limit": voice.limit,
        "demand": voice.demand,
        "length_words": lambda value_mm: voice.plain(value_mm, "length"),
        "whole": lambda value, way: say.bare(value, way, 0),
        "gauge": voice.gauge,
        "cell": say.cell,
        "to_set": say.to_set,
        "volume": say.volume,
        "minutes": say.minutes,
    }
    return page(
        template,
        filters,
        kit=report,
        plan=report.plan,
        result=report.result,
        vessel=report.result.vessel,
        units=voice.pair("pressure"),
        tip=report.elbow.design.tip,
        bit=report.elbow.job.bit,
        times=times(report),
        twist=report.twist,
        cautions=cards.CAUTIONS,
        not_rated=NOT_RATED,
        temperature_c=numbers.temperature_c(report.elbow.job),
        **more,
    )
