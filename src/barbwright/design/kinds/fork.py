"""Fork: one flat piece that is gauge, pull hook and wedge.

Its stepped end tells how far a connector still stands off the bark, a step a tick of
the tip: tapped home, so many steps fewer go under it. Driven in further, the same steps
lift it. Its hook end goes under the hub or the ring, which sits in a cup there; a cord
from eye to eye pulls it straight out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import cos, pi, sqrt
from typing import cast

import numpy as np

from barbwright.design.conditions import Conditions
from barbwright.design.draw import OVERSHOOT_MM, assembled, face_mark
from barbwright.design.foot import below_ball, foot_height, foot_of, hook_lever
from barbwright.design.forced import ForcedSize, by_name
from barbwright.design.half_section import mark_paths, text_paths
from barbwright.design.hub import fork_slot
from barbwright.design.kind import Design, Fit, Hook, Impossible, Kind, Own, Tines
from barbwright.design.kinds.hosts import host_kind, host_of
from barbwright.design.mark import Mark, fit_mark
from barbwright.design.outline import QUARTER, Outline, Vertex, half_ball, outline, rectangle
from barbwright.design.paths import circle, closed
from barbwright.design.rounding import round_down, round_up
from barbwright.design.shape import (
    MINUS_X,
    MINUS_Y,
    X_AXIS,
    Y_AXIS,
    Z_AXIS,
    Engraving,
    Extruded,
    Point,
    Probe,
    Revolved,
    Shape,
    WallProbe,
)
from barbwright.design.sizes import Size
from barbwright.design.tip import hand_travel, proving_pull
from barbwright.design.view import DIAMETER, Along, Angle, Line, Path, Stack, Tier, View, two
from barbwright.equations import N, Number, square
from barbwright.say import millimetres

_CORNER_MM = 3.0
_ENTRY_MM = 1.5
# Over what two prints may be off, so that nothing has to be pressed on.
_OVER_MM = 0.1
# A seat's cup ends this far from the tines' ends.
_BEYOND_SEAT_MM = 4.0
# Chamfer of the eyes' edges, so that they do not cut their cord.
_EYE_EDGE_MM = 0.5
# Half a hexagon 15 degrees beside the middle of a flat, over half its width there: where the eyes
# stand while the arms lie halfway between fork and eyes.
_PAD_ASLANT = 1.0 / cos(pi / 12.0)
# Under its step and over the flat side a step's number keeps so far [mm].
_NUMBER_UNDER_MM = 0.6
_OWN_SIZES = by_name(
    (
        ForcedSize(name="slot"),
        ForcedSize(name="tine"),
        ForcedSize(name="tallest"),
        ForcedSize(name="fork_back"),
        ForcedSize(name="hook"),
        ForcedSize(name="eye"),
    )
)


@dataclass(frozen=True, kw_only=True, eq=False)
class Fork(Own[N]):
    """A fork's own sizes.

    Attributes
    ----------
    host : Design
        The part it gauges, pulls and frees.
    slot_mm, tine_mm : float or array
        Width of both slots and of each stepped tine [mm].
    rise_mm : float
        Rise of a step over the one before, and thickness of the first: a tick [mm].
    steps : float or array
        Steps of the stepped end [-].
    step_mm : float
        From step to step along a tine [mm].
    slope : float
        Rise of the ramp from step to step over its length [-].
    back_mm : float or array
        Block behind the stepped slot [mm].
    hook_mm, cup_mm : float or array
        Thickness of the hook end, and how deep its cup is sunk [mm].
    eye_mm, eyes_mm : float or array
        Diameter of an eye, and from eye to eye [mm].
    wide_mm : float or array
        Width of the hook end [mm].
    reach_mm, end_mm : float or array
        From the block to the cup's middle, and from there to the hook's ends [mm].
    foot_mm : float or array
        Diameter of the ball or ring that sits in the cup [mm].
    numbered : bool
        Whether every second step carries its number on the side, beside the mark.
    """

    host: Design[N]
    slot_mm: N
    tine_mm: N
    rise_mm: float
    steps: N
    step_mm: float
    slope: float
    back_mm: N
    hook_mm: N
    cup_mm: N
    eye_mm: N
    eyes_mm: N
    wide_mm: N
    reach_mm: N
    end_mm: N
    foot_mm: N
    numbered: bool = False

    @property
    def width_mm(self) -> N:
        """Width over both stepped tines [mm]."""
        return self.slot_mm + 2.0 * self.tine_mm

    @property
    def thick_mm(self) -> N:
        """Thickness of the tallest step, and of the block [mm]."""
        return self.steps * self.rise_mm

    @property
    def tines_mm(self) -> N:
        """From the stepped tines' ends to the slot's round end [mm]."""
        return self.steps * self.step_mm

    @property
    def block_end_mm(self) -> N:
        """From the stepped slot's round end to the block's back, which a hammer meets [mm]."""
        return self.slot_mm / 2.0 + self.back_mm

    @property
    def seat_at_mm(self) -> N:
        """From the stepped slot's round end to the cup's middle [mm]."""
        return self.block_end_mm + self.reach_mm

    @property
    def length_mm(self) -> N:
        """From end to end [mm]."""
        return self.tines_mm + self.seat_at_mm + self.end_mm

    @property
    def envelope_mm(self) -> tuple[N, N, N]:
        """Bounding box of the drawn part [mm]."""
        wide: N = np.maximum(self.width_mm, self.wide_mm)
        return self.length_mm, wide, self.thick_mm

    @property
    def walls_mm(self) -> tuple[Number, ...]:
        """The thinnest step, a tine's width, what the cup leaves, and beside an eye [mm]."""
        return self.rise_mm, self.tine_mm, self.hook_mm - self.cup_mm, self.hook.wall_mm

    @property
    def bores_mm(self) -> tuple[Number, ...]:
        """The eyes [mm]."""
        return (self.eye_mm,)

    @property
    def tines(self) -> Tines[N]:
        """Its two stepped tines, and the slot between them."""
        return Tines(
            slot_mm=self.slot_mm,
            tine_mm=self.tine_mm,
            rise_mm=self.rise_mm,
            step_mm=self.step_mm,
            steps=self.steps,
        )

    @property
    def hook(self) -> Hook[N]:
        """Its hook end."""
        return Hook(
            thick_mm=self.hook_mm,
            cup_mm=self.cup_mm,
            slot_mm=self.slot_mm,
            eyes_mm=self.eyes_mm,
            wall_mm=(self.wide_mm - self.eyes_mm - self.eye_mm) / 2.0,
        )

    @property
    def fits(self) -> tuple[Fit, ...]:
        """Its slots pass the plain neck."""
        tip = self.host.tip
        assert tip is not None
        return (Fit("tip's plain neck", self.slot_mm, tip.root_mm),)

    @property
    def in_words(self) -> str:
        """How high its steps are, by number from the thin end."""
        last = int(np.max(self.steps))
        high = [millimetres(step * self.rise_mm) for step in (1, 2, last)]
        return f"step 1 = {high[0]} mm, step 2 = {high[1]} mm, up to step {last} = {high[2]} mm"

    @property
    def notes(self) -> tuple[str, ...]:
        """How it is used, in sentences with their numbers."""
        tip, rise = self.host.tip, millimetres(self.rise_mm)
        assert tip is not None
        # Past the window no tick is counted: what is left of the travel is measured.
        by_rule = f", and the rest to {millimetres(float(tip.contact_mm))} mm by a rule"
        under = "hub" if self.host.hub is not None else "ring"
        first = (
            "free: line vented, tubes off; first turn the tip by its driver. Then"
            if self.host.hub is not None
            else "free: line vented, tube off; no driver turns it. So"
        )
        numbered = "; every second one is numbered on its side" if self.numbered else ""
        between = ", both strands between the arms" if self.host.hub is not None else ""
        return (
            f"gauge: before tapping, slide the stepped end under the {under}, flat on the bark, as "
            f"far as it goes, and count the steps that go under; each is {rise} mm, as far as two "
            f"ticks stand apart: {self.in_words}{numbered}. Tap until {tip.ticks:.0f} fewer go "
            f"under{'' if tip.in_ticks else by_rule}",
            f"pull: line vented, tube slack; hook the cupped end under the {under}, tie a cord of "
            f"up to {millimetres(float(self.eye_mm) - 1.0)} mm from eye to eye over the "
            f"connector{between}, and pull by a scale in line with the tip",
            f"{first} push the stepped end in flat on the bark, under the {under}, and tap the "
            f"block's back lightly: each step lifts it by {rise} mm",
        )

    @property
    def made_for(self) -> Design[N] | None:
        """The part it is made for."""
        return self.host

    @property
    def impossible(self) -> tuple[Impossible, ...]:
        """What of its sizes cannot be built."""
        return (
            Impossible(
                "tine",
                np.logical_not(self.tine_mm >= 3.0),
                "a tine of {tine:.2f} mm is none: at least 3 mm",
                {"tine": self.tine_mm},
            ),
            Impossible(
                "slot",
                np.logical_not(self.slot_mm < self.foot_mm),
                "a slot of {slot:.2f} mm lets hub or ring of {foot:.2f} mm through",
                {"slot": self.slot_mm, "foot": self.foot_mm},
            ),
            Impossible(
                "tallest",
                np.logical_not(self.steps >= 2.0),
                "a fork with {steps:.0f} step tells nothing: --set tallest at least {least:.0f} mm",
                {"steps": self.steps, "least": 2.0 * self.rise_mm},
            ),
            Impossible(
                "hook",
                np.logical_not(
                    (self.hook_mm > self.cup_mm + 0.2)
                    & (self.hook_mm <= np.maximum(self.thick_mm, 2.0 * self.rise_mm))
                ),
                "a hook end of {hook:.2f} mm is thinner than its cup or thicker than the fork's "
                "{thick:.1f} mm",
                {"hook": self.hook_mm, "thick": self.thick_mm},
            ),
            Impossible(
                "eye",
                np.logical_not(self.eye_mm >= 1.0),
                "an eye of {eye:.2f} mm takes no cord: at least 1 mm",
                {"eye": self.eye_mm},
            ),
        )

    def compensated(self, outside_mm: N, bore_mm: N) -> Fork[N]:
        """Return its sizes drawn off the other way from what a service prints off [mm]."""
        return replace(
            self,
            slot_mm=self.slot_mm - bore_mm,
            # Over both tines an outside, between them a bore.
            tine_mm=self.tine_mm + (bore_mm - outside_mm) / 2.0,
            hook_mm=self.hook_mm - outside_mm,
            eye_mm=self.eye_mm - bore_mm,
            wide_mm=self.wide_mm - outside_mm,
        )

    @property
    def sizes(self) -> tuple[Size, ...]:
        """Its rows of the table of sizes."""
        return (
            Size(
                name="fork_slot_mm",
                title="fork's slots",
                reads="slot_mm",
                feature="length",
                where="between the faces of each, inside jaws",
            ),
            Size(name="tine_width_mm", title="width of a tine", reads="tine_mm", feature="length"),
            Size(
                name="fork_rise_mm",
                title="rise of a step, and the thinnest step",
                reads="rise_mm",
                feature="length",
            ),
            Size(name="fork_steps", title="steps of the fork", reads="steps", feature="number"),
            Size(
                name="fork_step_mm",
                title="from step to step",
                reads="step_mm",
                feature="length",
            ),
            Size(
                name="fork_thickness_mm",
                title="fork's tallest step",
                reads="thick_mm",
                feature="length",
            ),
            Size(name="fork_slope", title="slope of its ramps", reads="slope", feature="number"),
            Size(
                name="tine_length_mm",
                title="length of the tines",
                reads="tines_mm",
                feature="length",
            ),
            Size(
                name="block_length_mm",
                title="block, from the slot's round end",
                reads="block_end_mm",
                feature="length",
            ),
            Size(
                name="hook_thickness_mm",
                title="hook end's thickness",
                reads="hook_mm",
                feature="length",
                where="on the hook end's flat, beside an eye",
            ),
            Size(name="cup_depth_mm", title="depth of the cup", reads="cup_mm", feature="length"),
            Size(
                name="cup_from_block_mm",
                title="cup's middle from the block",
                reads="reach_mm",
                feature="length",
            ),
            Size(
                name="hook_end_mm",
                title="hook's ends from the cup's middle",
                reads="end_mm",
                feature="length",
            ),
            Size(name="eye_diameter_mm", title="eye for a cord", reads="eye_mm", feature="bore"),
            Size(name="eye_spacing_mm", title="from eye to eye", reads="eyes_mm", feature="length"),
            Size(
                name="hook_width_mm",
                title="width of the hook end",
                reads="wide_mm",
                feature="length",
            ),
        )


@dataclass(frozen=True, eq=False, kw_only=True)
class ForkPart(Design[float]):
    """A single fork."""

    own: Fork[float]


def size_fork(
    kind: Kind, conditions: Conditions, forced: Mapping[str, Number], words: tuple[str, ...]
) -> Design:
    """Return a fork's drawn sizes, from those of the part it is for [mm].

    Source: own_derivation, judgement
    """
    own = fit_fork(host_of(kind, conditions, forced, words), forced)
    mark = Mark.none(words)
    if np.ndim(own.thick_mm) == 0:
        room = min(float(own.block_end_mm + own.step_mm), float(own.thick_mm))
        mark = fit_mark(words, conditions, largest_mm=room)
        own = replace(own, numbered=bool(step_numbers(cast("Fork[float]", own), mark)))
    return Design(
        kind=kind,
        conditions=conditions,
        forced=forced,
        bore_mm=own.slot_mm,
        neck_length_mm=0.0,
        mark=mark,
        own=own,
    )


def fit_fork(host: Design, forced: Mapping[str, Number]) -> Fork:
    """Return the fork that belongs to a part.

    Parameters
    ----------
    host : Design
        The tip or connector it is for [mm].
    forced : mapping
        Sizes of the fork that the user forces [mm].

    Source: own_derivation, judgement
    """
    rules, tip, tolerance = host.conditions.rules, host.tip, host.conditions.material.tolerance_at
    assert tip is not None
    root, rise = tip.root_mm, tip.tick_pitch_mm
    slot = forced.get("slot", fork_slot(root, tolerance(root)))
    tine = forced.get("tine", rules["fork_tine_width_mm"])
    least, most = _gaps(host, slot)
    tallest = np.minimum(most, rules["fork_tallest_mm"])
    steps = np.maximum(round_down(forced.get("tallest", tallest) / rise, 1.0), 1.0)
    eye = forced.get(
        "eye", np.maximum(rules["fork_eye_mm"], round_up(host.conditions.material.min_bore_mm, 0.1))
    )
    half: Number = slot / 2.0 + tine
    reach: Number = 0.0
    foot = foot_of(host)
    if host.hub is not None:
        # A cord up from each eye passes the pad between two of its corners.
        beside = np.maximum(foot, host.hub.pad_mm * _PAD_ASLANT)
        # An arm that lies aslant over the fork passes the block's corner.
        reach = half + host.tube_on_crest_mm / sqrt(2.0)
    else:
        beside = foot
    end = round_up(foot / 2.0 + _BEYOND_SEAT_MM, 0.5)
    eyes = round_up(beside + eye, 0.1)
    cup = rules["fork_cup_mm"] * np.ones_like(slot)
    # As thick as goes under the lowest part, but strong enough for the pull in any case.
    thin = round_down(least - tolerance(rules["fork_hook_mm"]) - _OVER_MM, 0.1)
    # Where nobody publishes a strength it gives no thickness: its checks are then not made.
    left = np.nan_to_num(_hook_thickness(host, foot, slot, eyes), nan=0.0)
    strong = round_up(cup + tolerance(rules["fork_hook_mm"]) + left, 0.1)
    hook = np.maximum(np.minimum(rules["fork_hook_mm"], thin), strong)
    return Fork(
        host=host,
        slot_mm=slot,
        tine_mm=tine,
        rise_mm=rise,
        steps=steps,
        step_mm=rules["fork_step_mm"],
        slope=rules["fork_slope"],
        back_mm=forced.get("fork_back", rules["fork_back_mm"]),
        hook_mm=forced.get("hook", hook),
        cup_mm=cup,
        eye_mm=eye,
        eyes_mm=eyes,
        wide_mm=round_up(eyes + eye + 2.0 * rules["fork_eye_wall_mm"], 0.1),
        reach_mm=round_up(np.maximum(reach, end), 0.5),
        end_mm=end,
        foot_mm=foot,
    )


def _gaps(host: Design, slot_mm: Number) -> tuple[Number, Number]:
    """Return the least gap a fork finds, tapped home and a tick more, and the most before [mm]."""
    tip, conditions = host.tip, host.conditions
    assert tip is not None
    off, stands = conditions.tip_tolerance_mm, tip.seat_mm + foot_height(host, slot_mm)
    late = (conditions.hole_high_mm - tip.lead_mm + off) / tip.taper
    late = np.clip(late, 0.0, tip.scatter_mm)
    early = np.maximum((conditions.hole_low_mm - tip.lead_mm - off) / tip.taper, 0.0)
    # Where nobody names a wood it gives no more than it must.
    hand = np.nan_to_num(hand_travel(conditions, tip.taper, conditions.hole_low_mm), nan=0.0)
    tapped = tip.contact_mm + tip.tick_pitch_mm + hand
    return (
        stands - late - tapped - conditions.bark_mm,
        stands - early - conditions.bark_least_mm,
    )


def _hook_thickness(host: Design, foot_mm: Number, slot_mm: Number, eyes_mm: Number) -> Number:
    """Return what must be left under the cup for the pull that proves a seat [mm]."""
    rules, material, tip = host.conditions.rules, host.conditions.material, host.tip
    assert tip is not None
    wide = material.tolerance_at(slot_mm)
    # The lean part of the worst print, as the check of it sees it.
    lever = hook_lever(host, foot_mm - wide, slot_mm - wide, eyes_mm)
    pull = rules["design_factor_fork_pull"] * proving_pull(host.conditions, tip)
    moment = pull / 2.0 * lever
    return np.sqrt(6.0 * moment / (material.handling_short_z_mpa * (foot_mm - wide)))


def _stairs(own: Fork[float]) -> list[tuple[float, float]]:
    """Return the stepped side from the thin ends up to the block: along, and how thick [mm]."""
    ramp, points = own.rise_mm / own.slope, []
    for index in range(int(own.steps)):
        start, high = -own.tines_mm + index * own.step_mm, (index + 1) * own.rise_mm
        last = index + 1 == int(own.steps)
        points += [(start, high)]
        if not last:
            points += [(start + own.step_mm - ramp, high)]
    return points


def stepped_side(own: Fork[float]) -> list[tuple[float, float]]:
    """Return a fork as it is seen from its side: along from the slot's round end, and up [mm].

    Parameters
    ----------
    own : Fork
        A single fork's sizes [mm].

    Source: own_derivation
    """
    end, block = own.seat_at_mm + own.end_mm, own.block_end_mm
    around = [(-own.tines_mm, 0.0), (end, 0.0), (end, own.hook_mm), (block, own.hook_mm)]
    return [*around, (block, own.thick_mm), *_stairs(own)[::-1]]


def _stepped_plan(own: Fork[float]) -> Outline:
    """Return the stepped end and its block from above [mm]."""
    slot, half, tines, back = own.slot_mm / 2.0, own.width_mm / 2.0, own.tines_mm, own.block_end_mm
    corner, entry = _corners_mm(own, half)
    plan: list[Vertex] = [
        (-tines, -half + corner, QUARTER),
        (-tines + corner, -half, 0.0),
        (back - corner, -half, QUARTER),
        (back, -half + corner, 0.0),
        (back, half - corner, QUARTER),
        (back - corner, half, 0.0),
        (-tines + corner, half, QUARTER),
        (-tines, half - corner, 0.0),
        (-tines, slot + entry, 0.0),
        (-tines + entry, slot, 0.0),
        (0.0, slot, -1.0),
        (0.0, -slot, 0.0),
        (-tines + entry, -slot, 0.0),
        (-tines, -slot - entry, 0.0),
    ]
    return outline(plan, turned=False)


def _hook_plan(own: Fork[float], start_mm: float) -> Outline:
    """Return the hook end from above, from inside the block or from its back on [mm]."""
    slot, half, at = own.slot_mm / 2.0, own.wide_mm / 2.0, own.seat_at_mm
    end = at + own.end_mm
    corner, entry = _corners_mm(own, half)
    plan: list[Vertex] = [
        (start_mm, -half, 0.0),
        (end - corner, -half, QUARTER),
        (end, -half + corner, 0.0),
        (end, -slot - entry, 0.0),
        (end - entry, -slot, 0.0),
        (at, -slot, -1.0),
        (at, slot, 0.0),
        (end - entry, slot, 0.0),
        (end, slot + entry, 0.0),
        (end, half - corner, QUARTER),
        (end - corner, half, 0.0),
        (start_mm, half, 0.0),
    ]
    return outline(plan, turned=False)


def _cup_wide(own: Fork[float]) -> float:
    """Return the diameter of what the cup takes: a fat hub's ball or a fat ring [mm]."""
    fat = own.host.conditions.material.tolerance_at(own.foot_mm)
    return own.foot_mm + float(fat) + _OVER_MM


def _cup(own: Fork[float]) -> Revolved:
    """Return what is cut for the cup: a ball as wide as a fat hub, or a fat ring's disc."""
    wide, floor = _cup_wide(own), own.hook_mm - own.cup_mm
    if own.host.hub is not None:
        centre = floor + float(below_ball(wide, own.slot_mm))
        return Revolved(name="cup", outline=half_ball(wide), origin=(own.seat_at_mm, 0.0, centre))
    return Revolved(
        name="cup",
        outline=rectangle(floor, own.hook_mm + OVERSHOOT_MM, 0.0, wide),
        origin=(own.seat_at_mm, 0.0, 0.0),
    )


def cup_rim(own: Fork[float]) -> float:
    """Return the diameter of a fork's cup at the face it is sunk in [mm].

    Parameters
    ----------
    own : Fork
        A single fork's sizes [mm].

    Source: own_derivation
    """
    wide = _cup_wide(own)
    if own.host.hub is None:
        return wide
    above = float(below_ball(wide, own.slot_mm)) - own.cup_mm
    return 2.0 * sqrt(max(square(wide) / 4.0 - square(max(above, 0.0)), 0.0))


def _eyes(own: Fork[float]) -> list[Revolved]:
    """Return what is cut for both eyes, their edges broken on either face."""
    radius, edge, high = own.eye_mm / 2.0, _EYE_EDGE_MM, own.hook_mm
    profile: list[Vertex] = [
        (-OVERSHOOT_MM, 0.0, 0.0),
        (-OVERSHOOT_MM, radius + edge + OVERSHOOT_MM, 0.0),
        (edge, radius, 0.0),
        (high - edge, radius, 0.0),
        (high + OVERSHOOT_MM, radius + edge + OVERSHOOT_MM, 0.0),
        (high + OVERSHOOT_MM, 0.0, 0.0),
    ]
    return [
        Revolved(
            name=f"eye {side}",
            outline=outline(profile),
            origin=(own.seat_at_mm, way * own.eyes_mm / 2.0, 0.0),
        )
        for side, way in (("right", -1.0), ("left", 1.0))
    ]


def draw_fork(design: ForkPart, name: str) -> Shape:
    """Return a fork, flat side down: its stepped slot's round end about Z, the hook towards +X."""
    own = design.own
    half, tines, thick, slope = own.width_mm / 2.0, own.tines_mm, own.thick_mm, own.slope
    stairs = _stairs(own)
    far = OVERSHOOT_MM
    above: list[Vertex] = [
        (-tines - far, own.rise_mm, 0.0),
        *((u, v, 0.0) for u, v in stairs[1:]),
        (stairs[-1][0] + far, thick + slope * far, 0.0),
        (-tines - far, thick + slope * far, 0.0),
    ]
    wide = half + OVERSHOOT_MM
    low = own.block_end_mm - min(2.0, own.back_mm / 2.0)
    cuts: list[Revolved | Extruded] = [
        Extruded(
            name="steps",
            outline=outline(above, turned=False),
            depth_mm=2.0 * wide,
            origin=(0.0, wide, 0.0),
            normal=MINUS_Y,
            x_direction=X_AXIS,
        ),
        _cup(own),
        *_eyes(own),
    ]
    return assembled(
        name,
        [
            Extruded(name="stepped end", outline=_stepped_plan(own), depth_mm=thick),
            Extruded(name="hook end", outline=_hook_plan(own, low), depth_mm=own.hook_mm),
        ],
        cuts,
        # On the side, which lies on nothing and is struck by nothing.
        (
            *face_mark(design, (_mark_at(own), -half, thick / 2.0), MINUS_Y, X_AXIS),
            *(
                Engraving(
                    text=text,
                    letters=design.mark.letters,
                    origin=(u, design.mark.depth_mm - half, v),
                    normal=MINUS_Y,
                    x_direction=X_AXIS,
                    depth_mm=design.mark.depth_mm + 0.5,
                )
                for text, u, v in step_numbers(own, design.mark)
            ),
        ),
        _probes(own),
        _walls(own),
        design,
    )


def _mark_at(own: Fork[float]) -> float:
    """Return where the mark's middle stands along the block [mm]."""
    return (own.block_end_mm - own.step_mm) / 2.0


def step_numbers(own: Fork[float], mark: Mark) -> list[tuple[str, float, float]]:
    """Return every second step's number, and where its middle stands on the side.

    Parameters
    ----------
    own : Fork
        A single fork's sizes [mm].
    mark : Mark
        Its mark, whose letters the numbers share and keep clear of [mm].

    Returns
    -------
    list of (str, float, float)
        Text, along from the slot's round end and up from the flat side [mm].

    Source: own_derivation, judgement
    """
    cap, found = mark.letters.cap_mm, []
    for number in range(2, int(own.steps) + 1, 2) if mark.lines else ():
        start, high = -own.tines_mm + (number - 1) * own.step_mm, number * own.rise_mm
        wide = mark.letters.width(str(number))
        # From its step's beginning on, where the side only grows higher.
        along, up = start + wide / 2.0, high - _NUMBER_UNDER_MM - cap / 2.0
        has_room = up - cap / 2.0 >= _NUMBER_UNDER_MM and wide <= 2.0 * own.step_mm - 1.0
        apart = abs(along - _mark_at(own)) - wide / 2.0, abs(up - own.thick_mm / 2.0) - cap / 2.0
        if has_room and max(apart) >= mark.span_mm / 2.0:
            found.append((str(number), along, up))
    return found


def _probes(own: Fork[float]) -> list[Probe]:
    """Return where its slots and an eye are measured."""
    slots = [
        # Only a slot's closed end is round: a fan of a third of a turn towards the block.
        Probe(
            name=f"{which}_slot_mm",
            origin=(at, 0.0, 0.0),
            axis=Z_AXIS,
            at_mm=high,
            diameter_mm=own.slot_mm,
            side="inner",
            reach_mm=50.0,
            towards=towards,
            fan_deg=120.0,
        )
        for which, at, high, towards in (
            ("fork", 0.0, own.thick_mm / 4.0, X_AXIS),
            ("hook", own.seat_at_mm, (own.hook_mm - own.cup_mm) / 2.0, MINUS_X),
        )
    ]
    eye = Probe(
        name="eye_diameter_mm",
        origin=(own.seat_at_mm, own.eyes_mm / 2.0, 0.0),
        axis=Z_AXIS,
        at_mm=own.hook_mm / 2.0,
        diameter_mm=own.eye_mm,
        side="inner",
    )
    return [*slots, eye]


def _walls(own: Fork[float]) -> list[WallProbe]:
    """Return where steps, block, hook end and a tine are measured."""
    middle = own.slot_mm / 2.0 + own.tine_mm / 2.0
    flat = (own.step_mm - own.rise_mm / own.slope) / 2.0

    def thick(name: str, at: Point, size: float, towards: Point = Z_AXIS) -> WallProbe:
        return WallProbe(
            name=name,
            origin=at,
            axis=Y_AXIS if towards is Z_AXIS else Z_AXIS,
            at_mm=0.0,
            wall_mm=size,
            towards=towards,
            fan_deg=0.2,
        )

    steps = [
        thick(
            f"step_{index + 1}_mm",
            (-own.tines_mm + index * own.step_mm + flat, middle, -1.0),
            (index + 1) * own.rise_mm,
        )
        for index in range(int(own.steps))
    ]
    # Half way from the block to the cup, which a wide ring brings near.
    before = own.block_end_mm + (own.reach_mm - cup_rim(own) / 2.0) / 2.0
    return [
        *steps,
        thick("hook_thickness_mm", (before, 0.0, -1.0), own.hook_mm),
        thick(
            "tine_width_mm",
            (-own.tines_mm + own.step_mm * 1.2, 0.0, own.rise_mm / 2.0),
            own.tine_mm,
            Y_AXIS,
        ),
    ]


def views_of_fork(part: ForkPart) -> tuple[View, ...]:
    """Return the fork from above, the stepped slot's round end at the origin, and its side."""
    return _plan(part.own), _side(part)


def _corners_mm(own: Fork[float], half_mm: float) -> tuple[float, float]:
    """Return the corner radius of an end as wide as told, and its slot's chamfer [mm]."""
    tine = half_mm - own.slot_mm / 2.0
    return min(_CORNER_MM, tine / 3.0), min(_ENTRY_MM, tine / 3.0)


def _rim(own: Fork[float]) -> Path:
    """Return the cup's rim, open where the slot is, in arcs that meet on its axes [mm]."""
    at, slot, rim = own.seat_at_mm, own.slot_mm / 2.0, cup_rim(own) / 2.0
    ahead = sqrt(max(square(rim) - square(slot), 0.0))
    opening = float(np.tan((pi / 2.0 - np.arctan2(min(slot, rim), ahead)) / 4.0))
    return np.array([
        (at + ahead, slot, opening), (at, rim, QUARTER), (at - rim, 0.0, QUARTER),
        (at, -rim, opening), (at + ahead, -slot, 0.0),
    ])  # fmt: skip


def _plan(own: Fork[float]) -> View:
    half, hook, slot = own.width_mm / 2.0, own.wide_mm / 2.0, own.slot_mm / 2.0
    tines, block, at = own.tines_mm, own.block_end_mm, own.seat_at_mm
    end, eye, hole = at + own.end_mm, own.eyes_mm / 2.0, own.eye_mm / 2.0
    rim = cup_rim(own) / 2.0
    corner, entry = _corners_mm(own, half)
    hook_corner, hook_entry = _corners_mm(own, hook)
    steps: list[Line] = []
    for u, _ in _stairs(own)[1:]:
        # A step that reaches the slot's round end stands beside it.
        clear = slot if u <= 0.0 else sqrt(max(square(slot) - square(u), 0.0))
        steps += [(u, clear, u, half), (u, -half, u, -clear)]
    wider = max(half, hook)
    mouths = (
        Along(name="slot_mouth_mm", start=(-tines, slot + entry), end=(-tines + entry, slot),
              before=True, chamfer=True),
        Along(name="hook_mouth_mm", start=(end - hook_entry, slot), end=(end, slot + hook_entry),
              chamfer=True),
    )  # fmt: skip
    above = (
        Along(name="tine_length_mm", start=(-tines, half - corner), end=(0.0, slot)),
        Along(name="cup_from_block_mm", start=(block, hook), end=(at, slot)),
        Along(name="hook_end_mm", start=(at, slot), end=(end, hook - hook_corner)),
    )
    whole = Along(name="envelope_x_mm", start=(-tines, corner - half),
                  end=(end, hook_corner - hook), reference=True)  # fmt: skip
    long = Along(name="block_length_mm", start=(0.0, -slot), end=(block, corner - half))
    left: tuple[Tier, ...] = (
        (Along(name="fork_slot_mm", start=(-tines + entry, -slot), end=(-tines + entry, slot)),),
        (Along(name="tine_width_mm", start=(-tines + corner, -half), end=(-tines + entry, -slot),
               before=True),),
    )  # fmt: skip
    if half >= hook:
        edge = corner - tines
        left = (*left, (Along(name="envelope_y_mm", start=(edge, -half), end=(edge, half),
                              reference=True),))  # fmt: skip
    edge = end - hook_corner
    right: tuple[Tier, ...] = (
        (Along(name="eye_diameter_mm", start=(at, eye - hole), end=(at, eye + hole),
               sign=DIAMETER),),
        (Along(name="cup_rim_diameter_mm", start=(at, -rim), end=(at, rim), sign=DIAMETER),),
        (Along(name="eye_spacing_mm", start=(at, -eye), end=(at, eye)),),
        (Along(name="hook_width_mm", start=(edge, -hook), end=(edge, hook)),),
    )  # fmt: skip
    return View(
        title="from above",
        plane=("x", "y"),
        left_out=f"corners R{two(corner)} at block and tines, R{two(hook_corner)} at the hook; "
        f"edges of the eyes {two(_EYE_EDGE_MM)}x45°",
        visible=(
            closed(_stepped_plan(own)),
            closed(_hook_plan(own, block)),
            circle(hole, (at, eye)),
            circle(hole, (at, -eye)),
            _rim(own),
        ),
        edges=tuple(steps),
        axes=(
            (-tines, 0.0, end, 0.0), (at, -hook, at, hook),
            (at - hole, eye, at + hole, eye), (at - hole, -eye, at + hole, -eye),
        ),
        stacks=(
            Stack(side=1, clear_mm=wider, tiers=(mouths, above)),
            Stack(clear_mm=wider, tiers=((long,), (whole,))),
            Stack(axis="v", side=-1, clear_mm=tines, tiers=left),
            Stack(axis="v", side=1, clear_mm=end, tiers=right),
        ),
    )  # fmt: skip


def _side(part: ForkPart) -> View:
    own = part.own
    tines, thick, hook, block = own.tines_mm, own.thick_mm, own.hook_mm, own.block_end_mm
    end, at, floor = own.seat_at_mm + own.end_mm, own.seat_at_mm, own.hook_mm - own.cup_mm
    stairs, times = _stairs(own), int(own.steps) - 1
    second = (own.step_mm - tines, 2.0 * own.rise_mm)
    first = Along(name="fork_rise_mm", start=(-tines, 0.0), end=(-tines, own.rise_mm), before=True)
    rises = Along(name="step_rise_mm", start=(-tines, own.rise_mm), end=second, times=times)
    apart = Along(name="fork_step_mm", start=(-tines, own.rise_mm), end=second, times=times)
    flat = Along(
        name="hook_thickness_mm", start=(end, 0.0), end=(end, hook), level=True, before=True
    )
    deep = Along(name="cup_depth_mm", start=(at, floor), end=(end, hook), level=True)
    whole = Along(name="fork_thickness_mm", start=(block, 0.0), end=(block, thick), level=True,
                  reference=True)  # fmt: skip
    ray = 0.25 * tines
    cup = (at - cup_rim(own) / 2.0, floor, at, floor)
    ball = ""
    if own.host.hub is not None:
        ball = f"; the cup part of a ball S{DIAMETER}{two(_cup_wide(own))}"
    middle, numbers = _mark_at(own), step_numbers(own, part.mark)
    told = "; numbers of steps begin where their step does, " if numbers else ""
    if numbers:
        told += f"their tops {two(_NUMBER_UNDER_MM)} under it, in the mark's letters and depth"
    return View(
        title=f"from the side; {own.in_words}{ball}",
        plane=("x", "z"),
        below=True,
        left_out=f"middle of the mark {two(block - middle)} from the block's end{told}",
        visible=(closed(np.array([(u, v, 0.0) for u, v in stepped_side(own)])),),
        hidden=(cup,),
        mark=(
            *mark_paths(part, (middle, thick / 2.0), (1.0, 0.0)),
            *text_paths(part.mark.letters, numbers, (1.0, 0.0)),
        ),
        stacks=(
            Stack(side=1, clear_mm=thick, tiers=((apart,),)),
            Stack(axis="v", side=-1, clear_mm=tines, tiers=((first,), (rises,))),
            Stack(axis="v", side=1, clear_mm=end, tiers=((deep,), (flat,), (whole,))),
        ),
        # The ramp against the flat of its step, beside it where nothing else stands.
        angles=(
            Angle(
                name="fork_slope_deg",
                corner=stairs[-2],
                along=(ray, 0.0),
                aslant=(ray, ray * own.slope),
                times=times,
            ),
        ),
    )


FORK = Kind(
    name="fork",
    title="stepped fork: gauge, pull hook and wedge",
    letter="F",
    mark="face",
    openings=3,
    size=size_fork,
    draw=draw_fork,
    views=views_of_fork,
    single=ForkPart,
    carries=False,
    needs=frozenset({"tool", "fork"}),
    sizes=_OWN_SIZES,
    needs_bit=True,
    host=host_kind,
)
