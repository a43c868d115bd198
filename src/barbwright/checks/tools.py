"""Checks of the small parts: a cap's end, and the tools that drive and free a tip."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np

from barbwright.checks.corners import Array, WorstCase, seated, worst_case
from barbwright.checks.driving import drive_forces, freeing_forces, torque_capacity
from barbwright.checks.freed import ends, fork_bears, fork_spreads, tapped, untapped, wings_pass
from barbwright.checks.result import CAUTION, Finding, check, not_checked, single, together
from barbwright.checks.wood import NO_WOOD
from barbwright.design.foot import foot_of, hook_lever
from barbwright.design.kind import Design, Own
from barbwright.design.tip import proving_pull
from barbwright.equations import Number, square
from barbwright.equations.column import column_load
from barbwright.equations.cylinder import thick_sphere_hoop


def _own(case: WorstCase) -> Own:
    """Return what only this kind of part has; `needs` lets in a kind that answers the check."""
    own = case.design.own
    assert own is not None
    return own


def _host(case: WorstCase) -> Design:
    """Return the part a tool is made for."""
    host = _own(case).made_for
    assert host is not None
    return host


def _ends(case: WorstCase, size_mm: Number) -> tuple[Array, Array]:
    """Return a drawn size lean and fat, each with an axis for the cases in front [mm]."""
    return ends(case.conditions, size_mm)


def _each(value: Number) -> Array:
    """Return what holds for every case, with an axis for them in front."""
    return np.asarray(value)[None, ...]


@check(
    title="end wall of a cap under pressure",
    meaning="The stress the printed material may carry for a long time, against the stress in "
    "a cap's closed end.",
    stage="service",
    unit="MPa",
    needs="cap",
    equation="p (2 + k3)/(2 (k3 - 1)), k = (bore + 2 end wall)/bore: the largest ball of wall "
    "about the round bottom",
    sources=("roark", "own_derivation"),
    basis="judgement",
    remedy="a thicker end (--set end_wall=...), a smaller bore, a stronger material or less "
    "pressure",
)
def end_wall(case: WorstCase) -> Finding:
    """Return the hoop stress at the round bottom of a cap's bore against the allowable.

    Only the ball of wall that reaches to the nearest surface is counted: the
    end face under its mark, or the head's rim. What lies outside it helps.

    Source: roark, own_derivation
    """
    end, material = _own(case).closed_end, case.conditions.material
    assert end is not None
    wide = _ends(case, case.design.bore_mm)[1]
    wall, rim = _ends(case, end.wall_mm)[0], _ends(case, end.rim_mm)[0]
    outer = np.minimum(wide + 2.0 * wall, rim)
    stress = thick_sphere_hoop(case.conditions.highest_mpa, wide, outer)
    stress = np.where(outer > wide, stress, np.inf)
    return single(_each(material.allowable_mpa), stress, case.rules["design_factor_wall"])


@check(
    title="tool over what it fits",
    meaning="The room drawn between a tool and what goes through it, against what both may "
    "print too large or too small.",
    stage="making",
    unit="mm",
    needs="tool",
    equation="drawn clearance >= tolerance of the hole + tolerance of what goes through it",
    sources=("design_record",),
    basis="judgement",
    remedy="leave the sizes to the rules, or force a wider socket, slot or bore (--set)",
)
def tool_fit(case: WorstCase) -> Finding:
    """Return the drawn clearance of each fit against what both parts may print off.

    A fat barb must still go through a lean driver. A bit is taken as drawn.

    Source: design_record
    """
    tolerance = case.conditions.material.tolerance_at
    return together(
        *(
            single(
                _each(fit.hole_mm - fit.through_mm),
                _each(tolerance(fit.hole_mm) + (tolerance(fit.through_mm) if fit.printed else 0.0)),
                case.rules["design_factor_tool_fit"],
            )
            for fit in _own(case).fits
        )
    )


def _struck(case: WorstCase, capacity: Number, factor: Number, advised: str) -> Finding:
    """Return what a driver carries against the force that drives the tip, at its worst."""
    theirs = worst_case(_host(case))
    forces = drive_forces(theirs, seated(theirs)[1].travel_mm, theirs.hole_mm)
    expected, upper = (_each(np.max(force, axis=0)) for force in forces)
    return single(capacity, expected, factor, upper=upper, advice={advised: capacity})


def _freeing(host: Design, by: Literal["torque", "pull"]) -> tuple[Array, Array]:
    """Return the expected and the upper torque [N mm] or pull [N] that frees a tip, at its worst.

    The worst hole is in front.
    """
    theirs, which = worst_case(host), ("torque", "pull").index(by)
    expected, upper = (
        _each(np.max(freeing_forces(theirs, name)[which], axis=0)) for name in ("expected", "upper")
    )
    return expected, upper


@check(
    title="driver's foot under the blow",
    meaning="The force the driver's foot can press with, against the force that drives the tip.",
    stage="handling",
    unit="N",
    needs="driver",
    equation="A s_c >= 1.5 F, A the ring between socket and shoulder ring, or the pad's stem",
    sources=("wedge_friction", "wood_handbook", "design_record"),
    basis="judgement",
    judgement=("drive_crush_upper", "drive_friction_upper"),
    remedy="a wider sleeve (--set sleeve=...), or a stronger material",
    rule="tap with light blows: the driver's foot is squashed at {foot_n:force}",
    rule_value="foot_n",
    rule_unit="N",
)
def driver_bearing(case: WorstCase) -> Finding:
    """Return the force the driver's foot can press with against the driving force.

    At the lean sleeve with the wide socket on a lean shoulder ring. On a strike
    pad the blow goes through the pad's stem, whose section counts.

    Source: wedge_friction, wood_handbook
    """
    if not case.conditions.wood.known:
        return not_checked(NO_WOOD)
    sleeve = _own(case).sleeve
    assert sleeve is not None
    lean, wide = _ends(case, sleeve.outer_mm)[0], _ends(case, sleeve.socket_mm)[1]
    area = sleeve.pressed_mm2(lean, wide, _ends(case, sleeve.bearing_mm)[0])
    capacity = case.conditions.material.handling_short_xy_mpa * area
    return _struck(case, capacity, case.rules["design_factor_driver_bearing"], "foot_n")


@check(
    title="driver's sleeve as a column",
    meaning="The force under which the driver's sleeve folds, against the force that drives "
    "the tip.",
    stage="handling",
    unit="N",
    needs="driver",
    equation="Johnson or Euler with K 2.0 over its whole length, section of the lean sleeve or of "
    "the lean head",
    sources=("euler_johnson", "wedge_friction"),
    basis="judgement",
    judgement=("column_free_factor", "drive_friction_upper"),
    remedy="a wider sleeve (--set sleeve=...) or a shorter driver (--set driver_length=...)",
    rule="hold the driver upright: it folds at {column_n:force}",
    rule_value="column_n",
    rule_unit="N",
)
def driver_buckle(case: WorstCase) -> Finding:
    """Return the buckling load of the sleeve against the driving force.

    Taken as hollow all the way up, then as slim as its head all the way down; its
    struck end free.

    Source: euler_johnson, wedge_friction
    """
    if not case.conditions.wood.known:
        return not_checked(NO_WOOD)
    sleeve, material = _own(case).sleeve, case.conditions.material
    assert sleeve is not None
    wide = _ends(case, sleeve.socket_mm)[1]
    sections = [(wide, sleeve.outer_mm), (np.zeros_like(wide), sleeve.head_mm)]
    hollow, solid = (
        column_load(
            material.handling_modulus_mpa,
            material.handling_short_xy_mpa,
            inner,
            _ends(case, outer)[0],
            case.rules["column_free_factor"] * sleeve.length_mm,
        )
        for inner, outer in sections
    )
    capacity = np.asarray(np.minimum(hollow, solid))
    return _struck(case, capacity, case.rules["design_factor_driver_buckle"], "column_n")


@check(
    title="driver's wings before the tip",
    meaning="Nine tenths of the torque that breaks the weakest tip, against the most that the "
    "wings of its driver pass on before their necks bend off.",
    stage="handling",
    unit="N mm",
    needs="wings",
    equation="0.9 x torque that breaks the weakest tip >= 2 r s a3/6/(r - r0), a the fat neck, s "
    "its most strength, r where fingers lie on the paddle",
    sources=("beam_theory", "own_derivation", "shigley"),
    basis="judgement",
    judgement=(
        "wing_gives_way",
        "wing_strength_upper",
        "wing_strength_expected",
        "shear_over_tension",
    ),
    remedy="leave the wings to the rules, or free the tip with the fork",
    rule="turn the driver with two fingertips on its wings, and with no tool: at about "
    "{wings_nm:torque} (judgement: no printed wing was broken) the wings give way, so that the "
    "tip does not; if it does not turn, stop and use the fork",
    rule_value="wings_nm",
    rule_unit="N m",
    rule_always=True,
)
def driver_wings(case: WorstCase) -> Finding:
    """Return the torque that breaks the weakest tip against what wings of its driver pass on.

    A finger near the neck turns hardest before the neck bends; both ends of the
    paddle are tried. The tip's torque is that of its weakest corner.

    Source: beam_theory, own_derivation, shigley
    """
    wings, rules = _own(case).wings, case.rules
    assert wings is not None
    passed = wings_pass(wings, case.conditions)
    breaks = np.min(torque_capacity(worst_case(_host(case))), axis=0)
    capacity = _each(rules["wing_gives_way"] * breaks)
    return single(
        capacity,
        passed.at_most_nmm,
        rules["design_factor_driver_wings"],
        advice={"wings_nm": passed.expected_nmm / 1000.0},
    )


@check(
    title="driver's wings against the wood",
    meaning="The torque at which the wings of a driver give way, against the torque that frees "
    "the tip from the wood.",
    stage="handling",
    unit="N mm",
    needs="wings",
    equation="2 r s a3/6/(r - r0) >= 1.25 mu q Ac D/2, with 1.4 s and the drawn neck (expected), "
    "with s and the lean neck (lower)",
    sources=("beam_theory", "own_derivation", "wedge_friction"),
    basis="judgement",
    judgement=(
        "wing_strength_expected",
        "removal_crush_expected",
        "removal_crush_upper",
        "removal_friction_expected",
        "removal_friction_upper",
    ),
    remedy="free the tip with its fork",
    rule="turning frees most tips, not all: about {frees_nm:torque} is expected to; where the "
    "wings give way first, lift the tip with the fork",
    rule_value="frees_nm",
    rule_unit="N m",
    rule_rounds="up",
)
def driver_turns(case: WorstCase) -> Finding:
    """Return the torque at which wings give way against the torque that frees the tip.

    A neck that must give way before the tip breaks cannot be as stout as one likes. Its
    lower bound is a lean neck that cracks as soon as its skin is at its strength.

    Source: beam_theory, own_derivation, wedge_friction
    """
    if not case.conditions.wood.known:
        return not_checked(NO_WOOD)
    wings = _own(case).wings
    assert wings is not None
    passed = wings_pass(wings, case.conditions)
    expected, upper = _freeing(_host(case), "torque")
    return Finding(
        capacity=passed.at_least_nmm,
        capacity_expected=passed.expected_nmm,
        demand=expected,
        demand_upper=upper,
        design_factor=case.rules["design_factor_driver_turns"],
        at_worst=CAUTION,
        advice={"frees_nm": expected / 1000.0},
    )


@check(
    title="driver's hexagon on a lean pad",
    meaning="A lean pad over its corners, against the flats of a wide socket, which must not "
    "slip round it.",
    stage="making",
    unit="mm",
    needs="wings",
    equation="lean pad over its corners >= 1.02 x wide hexagon over its flats",
    sources=("own_derivation",),
    basis="judgement",
    remedy="leave the hexagon to the rules",
)
def driver_grip(case: WorstCase) -> Finding:
    """Return a lean pad's corners against the flats of a wide socket, which must not slip by.

    Source: own_derivation
    """
    wings, hub = _own(case).wings, _host(case).hub
    assert wings is not None
    assert hub is not None
    corners = 2.0 / np.sqrt(3.0) * _ends(case, hub.pad_mm)[0]
    return single(corners, _ends(case, wings.flats_mm)[1], case.rules["design_factor_driver_grip"])


@check(
    title="fork under the part",
    meaning="The gap between bark and part that the fork finds, against the thickness of what "
    "must go under; and the fork's tallest step, against the largest gap.",
    stage="handling",
    unit="mm",
    needs="fork",
    equation="least gap, tapped home (a tick more at worst), >= fat hook end; tallest step and one "
    "rise more >= largest gap before tapping; gap = seat - hand-tight - travel - bark + foot over "
    "the root",
    sources=("own_derivation", "design_record"),
    basis="judgement",
    judgement=("fork_tallest_mm", "fork_hook_mm", "hand_push_n"),
    remedy="graded leads or a measured hole, which leave less to chance; a thinner hook end "
    "(--set hook=...), a taller stair (--set tallest=...)",
    rule="where more than {tallest_mm:.0f} mm stand free before tapping, read the ticks; where "
    "less than {hook_mm:.1f} mm do afterwards, pull by a cord round the plain neck instead",
    rule_value="hook_mm",
    rule_unit="mm",
    rule_rounds="up",
)
def fork_reach(case: WorstCase) -> Finding:
    """Return the gaps between bark and part against the hook end and the tallest step.

    From a lean part in the largest hole, tapped a tick too far, to a fat one in the
    smallest before it is tapped.

    Source: own_derivation
    """
    if not case.conditions.wood.known:
        return not_checked(NO_WOOD)
    tines, hook, host = _own(case).tines, _own(case).hook, _host(case)
    assert tines is not None
    assert hook is not None
    assert host.tip is not None
    after = tapped(host, tines.slot_mm)
    free = untapped(host, tines.slot_mm) - case.conditions.bark_least_mm
    _, fat, tallest = np.broadcast_arrays(
        after, _ends(case, hook.thick_mm)[1], tines.steps * tines.rise_mm
    )
    advice = {"tallest_mm": tallest, "hook_mm": fat}
    under = Finding(
        capacity=after,
        capacity_expected=after + host.tip.tick_pitch_mm,
        demand=fat,
        demand_upper=fat,
        design_factor=case.rules["design_factor_fork_reach"],
        at_worst=CAUTION,
    )
    gauge = replace(
        under,
        capacity=tallest + tines.rise_mm,
        capacity_expected=tallest + tines.rise_mm,
        demand=free,
        demand_upper=free,
    )
    both = together(under, gauge)
    return replace(both, advice={name: np.concatenate([one] * 2) for name, one in advice.items()})


@check(
    title="fork's hook end under the pull",
    meaning="The stress that breaks the hook end at once, against the pull that proves a seat, "
    "from eye to eye.",
    stage="handling",
    unit="MPa",
    needs="fork",
    equation="(P/2) lever/(foot t2/6) from where the part presses to the eye, t under the cup; "
    "(P/2)/(2 wall t) beside an eye in shear; P three thrusts, factor 2",
    sources=("beam_theory", "own_derivation"),
    basis="judgement",
    judgement=("pull_proof_thrusts", "shear_over_tension"),
    remedy="a thicker hook end (--set hook=...), a stronger material or less pressure",
    rule="pull by the hook end with at most {hook_n:force}, from both eyes, slowly and in line "
    "with the tip",
    rule_value="hook_n",
    rule_unit="N",
    rule_always=True,
)
def fork_pull(case: WorstCase) -> Finding:
    """Return the stress in a lean hook end under the pull that proves a seat.

    Either tine is a cantilever from the cup to its eye, as wide as what sits in the
    cup. Beside an eye the cord tears two walls out in shear.

    Source: beam_theory, own_derivation
    """
    hook, host = _own(case).hook, _host(case)
    material, rules = case.conditions.material, case.rules
    assert hook is not None
    assert host.tip is not None
    pull = proving_pull(host.conditions, host.tip)
    lean, foot = _ends(case, hook.thick_mm)[0], _ends(case, foot_of(host))[0]
    thick = np.maximum(lean - hook.cup_mm, 1e-3)
    lever = hook_lever(host, foot, _ends(case, hook.slot_mm)[0], hook.eyes_mm)
    bent = 6.0 * pull / 2.0 * lever / (foot * square(thick))
    wall = np.maximum(_ends(case, hook.wall_mm)[0], 1e-3)
    shear = pull / 2.0 / (2.0 * wall * lean)
    strength, factor = material.handling_short_z_mpa, rules["design_factor_fork_pull"]
    both = together(
        single(_each(strength), bent, factor),
        single(_each(rules["shear_over_tension"] * strength), shear, factor),
    )
    return replace(both, advice={"hook_n": pull / factor * both.capacity / both.demand})


def _lifting(case: WorstCase, capacity: Array, factor: Number, advised: str) -> Finding:
    """Return what a fork carries against the pull that frees the tip; a caution at worst."""
    expected, upper = _freeing(_host(case), "pull")
    return single(
        capacity,
        expected,
        factor,
        upper=upper,
        at_worst=CAUTION,
        advice={advised: capacity / factor},
    )


@check(
    title="fork's steps under the part",
    meaning="The force the edges of the steps can carry under ball or ring, against the pull "
    "that frees the tip.",
    stage="handling",
    unit="N",
    needs="fork",
    equation="A s_c >= 1.5 F, A outside the slot: a ring whole, a ball sunk 1 mm into the "
    "edges; F the freeing pull",
    sources=("wedge_friction", "own_derivation"),
    basis="judgement",
    judgement=(
        "fork_under_ball_mm",
        "fork_sinks_mm",
        "removal_friction_expected",
        "removal_friction_upper",
    ),
    remedy="a larger hub ball (--set hub_ball=...), a narrower slot (--set slot=...), a stronger "
    "material",
    rule="the fork lifts with at most {face_n:force} before its steps or tines give way: tap it in "
    "lightly, and where the tip does not follow, leave it in the tree and cut its line off",
    rule_value="face_n",
    rule_unit="N",
)
def fork_bearing(case: WorstCase) -> Finding:
    """Return the force ball or ring can press on the steps' edges against the freeing pull.

    At the lean part over a wide slot; both tines share the load.

    Source: wedge_friction, own_derivation
    """
    if not case.conditions.wood.known:
        return not_checked(NO_WOOD)
    tines, host = _own(case).tines, _host(case)
    assert tines is not None
    factor = case.rules["design_factor_fork_bearing"]
    return _lifting(case, fork_bears(tines, host), factor, "face_n")


@check(
    title="fork's tines spread and bent",
    meaning="The force that spreads the tines or breaks them over uneven bark, against the pull "
    "that frees the tip.",
    stage="handling",
    unit="N",
    needs="fork",
    equation="4 strength Z/L over a hollow; a ball spreads either tine by F/2 d/(2 below): bent "
    "sideways as a cantilever that grows thicker, to half of what holds the ball or to its "
    "strength; >= 1.5 F",
    sources=("beam_theory", "own_derivation", "wedge_friction"),
    basis="judgement",
    judgement=(
        "fork_span_over_foot",
        "fork_tine_width_mm",
        "removal_friction_expected",
        "removal_friction_upper",
    ),
    remedy="wider tines (--set tine=...), a stronger material",
    rule="the fork lifts with at most {tine_n:force} before its steps or tines give way: tap it in "
    "lightly, and where the tip does not follow, leave it in the tree and cut its line off",
    rule_value="tine_n",
    rule_unit="N",
    said_by="fork_bearing",
)
def fork_bend(case: WorstCase) -> Finding:
    """Return the force that spreads the tines, or breaks them where bark leaves them hollow.

    At the step that goes under the least gap, which is thinnest and farthest from the
    block. On flat bark the tines are only squeezed; on rough bark they bridge a hollow
    as wide as what they lift. A ball also presses them apart, without friction. Across
    layers, because nobody says how it is laid.

    Source: beam_theory, own_derivation, wedge_friction
    """
    if not case.conditions.wood.known:
        return not_checked(NO_WOOD)
    tines, host = _own(case).tines, _host(case)
    assert tines is not None
    factor = case.rules["design_factor_fork_bend"]
    return _lifting(case, fork_spreads(tines, host), factor, "tine_n")
