"""Cards in plain words: cautions, what to do in the field, what to measure, the proof test."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import isnan

from barbwright.checks.proof import PROOFED, ProofTest, largest_twist, thrusts, tube_holds_mpa
from barbwright.checks.result import CHECKS
from barbwright.design.compensate import graded
from barbwright.design.grades import how_to_choose
from barbwright.design.part import Design, limits_of, sizes_of
from barbwright.design.sizes import in_words
from barbwright.design.tapping import how_to_use, tap_window
from barbwright.rating.warmest import Warmest
from barbwright.report.words import PartReport, hammer
from barbwright.say import IMPERIAL, Voice, millimetres, warmth

CAUTIONS = (
    "Wear a face shield over impact-rated (Z87-type) safety glasses when you drill or hammer.",
    "A printed part is not pressure rated. Proof-test every batch with water, never with air.",
    "The vessel needs a relief valve and a pressure rating of its own, with no valve between.",
    "Vent the line to zero before you take a tip out or a tube off.",
    "Stand out of the line of the tip while there is pressure behind it.",
    "The product's label is the law. Work for hire needs a licence where the law says so, and "
    "local codes prevail.",
    "Drilling wounds a tree: as few and as small holes as will do, into sound wood. Ask a "
    "qualified arborist.",
    "On plugging the holes afterwards practice differs, and one field comparison found more open "
    "wounds on plugged ash than on open ones. This sheet states both and recommends neither.",
    "No product, mix or dose is suggested anywhere in these pages.",
)

BEFORE = (
    "Push the tubes on before the tip is tapped in. Where one must go on afterwards, hold the "
    "connector by its body with the other hand: the push would bend the tip.",
    "Flush the line before you tap, so that no chips go into the tree.",
)
IN_USE = (
    "Tap in cool tips. If the part cools by 6 °C (11 °F) afterwards, tap 1 mm more.",
    "Keep the tube straight for three of its diameters next to a barb, and tie the line to the "
    "trunk, so that nothing pulls on an arm.",
    "Open and close valves slowly.",
    "Look again after an hour: a tube that creeps off a barb shows by then.",
)


def hot_day(parts: Iterable[Warmest | None]) -> tuple[str, ...]:
    """Return up to which temperature the parts of a line stay good, in a sentence.

    Parameters
    ----------
    parts : iterable of Warmest or None
        Of one part, or of those of a kit; the first that gives up speaks for all [degree C].

    Returns
    -------
    tuple of str
        None where no part of them passes, or none gives up.

    Source: own_derivation
    """
    found = [one for one in parts if one is not None and one.check]
    if not found:
        return ()
    first = min(found, key=lambda one: one.highest_c)
    return (
        f"Hot day: good up to {warmth(first.highest_c)}; first to give up above it: "
        f"{CHECKS[first.check].title}. What lies in the sun is warmer than the air.",
    )


AFTERWARDS = (
    "Vent the line to zero before you free a tip or pull a tube off, and stand out of its line.",
)
# Uses of a tip before it is retired (judgement).
RETIRE_AFTER_USES = 10
STORING = (
    "Drain the chain before frost.",
    f"Retire a tip after {RETIRE_AFTER_USES} uses, or at once when it turns white anywhere (our "
    "judgement).",
)


@dataclass(frozen=True)
class BetweenTrees:
    """One thing to do between two trees.

    Attributes
    ----------
    title : str
        In a word or two.
    lines : tuple of str
        What to do.
    sources : tuple of str
        Keys of who says so; none where it is our judgement.
    """

    title: str
    lines: tuple[str, ...]
    sources: tuple[str, ...] = ()


BETWEEN_TREES = (
    BetweenTrees(
        "Vent and take apart",
        (
            "Vent the line to zero and see the gauge there before a tip is freed or a tube pulled.",
            "A tube comes off more easily when its end is held in hot water. Push it from the "
            "shoulder with two thumbs; never pull at the tip.",
            "A tube that must be cut is cut beyond the barb and slit from there, the blade away "
            "from the crests: a scratched crest leaks. Cut back an end that was on a barb before "
            "it goes on again.",
        ),
    ),
    BetweenTrees(
        "Clean",
        (
            "Brush chips from the bit's flutes and from the tips, rinse tips, line and driver with "
            "water inside and out, and look through every bore against the light.",
            "What was in the line before goes where its label says, not onto the ground.",
        ),
    ),
    BetweenTrees(
        "Disinfect",
        (
            "Bit, tips, and whatever else touched the inside of a tree, carry bacteria, fungi and "
            "viruses to the next one unless they are cleaned and disinfected between trees.",
            "Cleaning comes first: dirt, sap and chips come off before anything is disinfected.",
            "With what, and for how long, see a qualified arborist: it depends on what ails the "
            "trees, not everything works on every disease, some of it eats tools, and none is "
            "named here. Ask as well whether it harms the printed plastic and the tube, rinse it "
            "off, and let the tips dry.",
        ),
        ("uc_ipm_injection", "iowa_state_pruners"),
    ),
    BetweenTrees(
        "Look",
        (
            "Retire a part that is white anywhere, has a crack at its neck, behind a barb or at a "
            "tick, a nick across a crest, an oval bore, or a tip that stops elsewhere than before.",
            f"Retire a tip after {RETIRE_AFTER_USES} uses: write each into the log, and "
            "`barbwright log` counts them.",
            "A sharp bit cuts curls, a dull one dust: change it.",
        ),
    ),
    BetweenTrees(
        "The tree",
        (
            "How often one tree may be drilled, where, and what becomes of its holes: see a "
            "qualified arborist.",
        ),
    ),
)
# When each handling rule is wanted, in the order of work.
_WHILE_TAPPING = ("drive_squash", "drive_buckle", "drive_offset")
_WHILE_FREEING = ("twist_out", "pull_out")


def field_card(report: PartReport) -> tuple[str, ...]:
    """Return what to do with one part in the field, in order.

    Parameters
    ----------
    report : PartReport
        The part.

    Returns
    -------
    tuple of str
        Sentences.
    """
    design, job = report.design, report.job
    rules = {
        outcome.info.id: _sentence(outcome.rule) for outcome in report.outcomes if outcome.rule
    }

    def said(*names: str) -> list[str]:
        return [rules[name] for name in names if name in rules]

    if not design.kind.carries:
        # A tool: how it is used, and what it takes.
        return tuple([*(_sentence(note) for note in how_to_use(design)), *rules.values()])
    lines = [*filter(None, [how_to_choose(design)]), *said("push_on")]
    tip = design.tip
    if tip is not None:
        depth = float(tip.hole_depth_mm)
        window = tap_window(design)
        assert window is not None
        lines += [
            *BEFORE,
            f"Drill with the {job.bit.name} bit ({millimetres(float(job.bit.diameter_mm))} mm), "
            f"{IMPERIAL.plain(depth, 'length')} deep from the bark's surface, straight and "
            "in one pass; clear the chips.",
            window.sentence,
            *filter(None, [window.steeper]),
            *said(*_WHILE_TAPPING),
            # Where no hammer is too heavy there is no rule, and still something to say.
            *([] if "drive_buckle" in rules else filter(None, [hammer(report)])),
        ]
    others = [name for name in rules if name not in {"push_on", *_WHILE_TAPPING, *_WHILE_FREEING}]
    lines += [
        *said(*others),
        *hot_day([report.warmest]),
        *(IN_USE if tip is not None else IN_USE[1:]),
        *AFTERWARDS,
    ]
    if tip is not None:
        twist = largest_twist(report.outcomes)
        lines += said(*_WHILE_FREEING)
        if twist and "twist_out" not in rules:
            lines.append(f"Free the tip by turning its body, with no more than {twist}.")
    lines += STORING if tip is not None else STORING[:1]
    return tuple(lines)


def _sentence(rule: str) -> str:
    return rule[:1].upper() + rule[1:].rstrip(".") + "."


def closing(design: Design, test: ProofTest, voice: Voice) -> tuple[str, ...]:
    """Return how each open end of a part is closed for the proof test, and held.

    Parameters
    ----------
    design : Design
        A single part.
    test : ProofTest
        Its pressures.
    voice : Voice
        Which units lead.

    Returns
    -------
    tuple of str
        Sentences; none for a tool.

    Source: own_derivation, judgement
    """
    lines = []
    for thrust in thrusts(design, test):
        carries = voice.demand(thrust.hold_n, "force")
        pushed = (
            f"{voice.demand(thrust.at_proof_n, 'force')} at the proof, "
            f"{voice.demand(thrust.at_breaking_n, 'force')} at the breaking pressure"
        )
        if thrust.end == "tip":
            over = "the strike pad" if design.hub is not None else "the shoulder ring"
            slot = "" if design.hub is not None else ", with a slot for the tube,"
            lines.append(
                "Tip: tap it into a dry hardwood block, in a hole of the part's own bit that stops "
                "short of the far side, across the grain; three hole diameters of wood all round. "
                f"The water pushes it out with {pushed}: alone it leaves like a bullet."
            )
            lines.append(f"Held: a strap or a bolted plate over {over}{slot} carries {carries}.")
        else:
            feed = (
                "Tubes: feed one; put a short stub on each other barb and close it with a cap "
                "(barbwright make cap)."
                if design.kind.arms > 1
                else "Tube: its only one is the feed."
            )
            lines.append(
                f"{feed} The water pushes a tube off with {pushed}: {_stop(design)} carries "
                f"{carries}."
            )
    if lines:
        lines.append(
            "Face and hands stay out of the line of the tip and of every tube, until the gauge "
            "stands at zero."
        )
    return tuple(lines)


def _stop(design: Design) -> str:
    """Return what keeps a part's tubes on during the test."""
    if design.kind.arms > 1:
        return "a stop screwed to the board behind every stub, and behind the feed's connector,"
    if design.hub is not None:
        return "a stop screwed to the board behind the feed's connector"
    if design.tip is not None:
        return "a bar bolted over the feed's connector"
    return "a stop screwed to the board behind the cap's head, and another behind the feed's,"


def on_which_tube(design: Design, test: ProofTest, voice: Voice = IMPERIAL) -> str:
    """Return which pressures of the test a part's own tube holds, in a sentence.

    Parameters
    ----------
    design : Design
        A single part.
    test : ProofTest
        Its pressures.
    voice : Voice
        Which units lead.

    Returns
    -------
    str
        Empty for a part without a tube.

    Source: judgement
    """
    if not design.barbs:
        return ""
    holds = tube_holds_mpa(design)
    proof, breaking = voice.gauge(test.proof_mpa), voice.gauge(test.breaking_mpa)
    other = "of the same inner diameter, material and hardness, whose rating says so"
    if isnan(holds):
        return (
            f"The tube states no rating: take one {other} for {proof}, and for {breaking} in the "
            "breaking test, or stop where its maker says."
        )
    rated = f"The tube is rated {voice.limit(holds)} at the hottest in service"
    if holds >= test.breaking_mpa:
        return f"{rated}: it holds every pressure of this test."
    if holds >= test.proof_mpa:
        return (
            f"{rated}: it holds the proof, {proof}, and not the {breaking} of the breaking test. "
            "Do that on a thicker tube of the same bore, clamped, or stop at the tube's rating "
            "and write down that the part held it. A tube that bursts says nothing of the part."
        )
    return (
        f"{rated}, under the proof, {proof}: it must not be taken there. Do the whole test on a "
        "thicker tube of the same bore, clamped; this tube's own seal is then not proved."
    )


def proof_steps(
    test: ProofTest, temperature_c: float, voice: Voice = IMPERIAL, design: Design | None = None
) -> tuple[str, ...]:
    """Return the proof and leak test of a batch, step by step.

    Parameters
    ----------
    test : ProofTest
        Its pressures, for the highest that the regulator or relief can give [MPa].
    temperature_c : float
        Hottest service temperature [degree C].
    voice : Voice
        Which unit of pressure leads.
    design : Design, optional
        A single part, whose open ends are to be closed and held.

    Returns
    -------
    tuple of str
        Sentences.

    Source: b31_3, judgement
    """
    steps = ", ".join(map(voice.gauge, test.steps_mpa))
    own = () if design is None else (*closing(design, test, voice),)
    tube = "" if design is None else on_which_tube(design, test, voice)
    return (
        *own,
        "Use water only. Bleed all air out, and stand behind a shield.",
        f"Raise the pressure in steps and wait a minute at each: {steps}.",
        f"Hold {voice.gauge(test.proof_mpa)} for 10 minutes: no drop on a dry cloth, no "
        "whitening, no creep of the tube.",
        "A gauge that falls on a soft line is mostly the line stretching: top up, wait, read.",
        f"Test {PROOFED} pieces of each part number of every batch so, or all where there are "
        "fewer.",
        f"Of a first batch, soak the one piece more of each part number, ordered for it, for 24 "
        f"hours at {voice.gauge(test.highest_mpa)} and {temperature_c:g} °C; then take it to "
        f"{voice.gauge(test.breaking_mpa)} or until it breaks.",
        *([tube] if tube else []),
        "Vent to zero before you pull a tip. A part that was taken beyond the proof pressure is "
        "never used.",
    )


@dataclass(frozen=True, kw_only=True)
class MeasuredRow:
    """One thing to measure on arrival.

    Attributes
    ----------
    title, how : str
        What, and with what.
    drawn_mm, low_mm, high_mm : float
        As drawn and its limits [mm].
    """

    title: str
    how: str
    drawn_mm: float
    low_mm: float
    high_mm: float


def arrival(design: Design) -> tuple[MeasuredRow, ...]:
    """Return what to measure on arrival, with limits.

    Parameters
    ----------
    design : Design
        A single part.

    Returns
    -------
    tuple of Measured
        In the order of work [mm].
    """
    rows, design = [], graded(design)
    for name, (size, value) in sizes_of(design).items():
        # A tool's own sizes say where they are measured, not with what.
        if how := size.tool or size.where:
            drawn = float(value)
            least, most = limits_of(design, size, drawn)
            title = in_words(name, size)
            rows.append(
                MeasuredRow(
                    title=title,
                    how=how,
                    drawn_mm=drawn,
                    low_mm=least,
                    high_mm=most,
                )
            )
    return tuple(rows)
