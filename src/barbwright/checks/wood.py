"""Does the tip seal and stay in green wood, and does the wood stay whole."""

from __future__ import annotations

import numpy as np

from barbwright.checks.corners import Array, WorstCase, seated
from barbwright.checks.result import (
    Finding,
    check,
    not_checked,
    outright_or_proved,
    single,
    together,
)
from barbwright.design.measured import shares
from barbwright.design.tip import proving_pull
from barbwright.equations import Number
from barbwright.equations.cylinder import end_thrust, external_hoop_at_bore
from barbwright.equations.seat import holding_force, seat_area, taper_half_angle

NO_WOOD = "no wood is named: --wood, or --wood with a specific gravity"
# The same of a check whose rule for the hands is told all the same.
ANY_WOOD = f"{NO_WOOD}; its rule is the strictest of all woods on file"


def relaxed_contacts(case: WorstCase) -> tuple[Array, Array]:
    """Return the lower and the expected contact of relaxed wood on the tip [MPa].

    Crush-limited and capped where a check would start; the lower is the 5th
    percentile of the species.

    Parameters
    ----------
    case : WorstCase
        For wood and judgement numbers [MPa].

    Source: wood_handbook, astm_d2555, judgement
    """
    mean, found = _relaxed(case), shares(case.conditions.measured, "relaxation", case.rules)
    if found is not None:
        # The measured spread of new trees holds the wood's own: its percentile is not taken twice.
        return found[0] * mean, found[1] * mean
    return case.rules["wood_fifth_percentile"] * mean, mean


def holding_contacts(case: WorstCase, taper: Number) -> tuple[Array, Array]:
    """Return the contacts that hold, lower and expected; measured as hold where it was [MPa].

    Parameters
    ----------
    case : WorstCase
        For wood and judgement numbers [MPa].
    taper : float or array
        Slope the tip slides along: its taper where it is pulled, none where it is turned [-].

    Source: wood_handbook, astm_d2555, judgement
    """
    found = shares(case.conditions.measured, "hold", case.rules, taper)
    if found is None:
        return relaxed_contacts(case)
    mean = _relaxed(case)
    return np.asarray(found[0] * mean), np.asarray(found[1] * mean)


def _relaxed(case: WorstCase) -> Array:
    """Return the contact of relaxed wood by the species' mean and judgement [MPa]."""
    wood = case.conditions.wood
    mean = case.rules["wood_relaxation"] * np.minimum(wood.crush_mpa, wood.splitting_mpa)
    return np.asarray(mean * np.ones_like(case.hole_mm))


@check(
    title="seal of tip in wood",
    of_line=True,
    meaning="How hard the wood still squeezes the tip after it has relaxed, against the "
    "liquid's pressure.",
    stage="service",
    unit="MPa",
    needs="tip",
    equation="0.5 min(C90, q_split) over p; lower 0.54 of it",
    sources=("wood_handbook", "astm_d2555", "orthotropic_hole"),
    basis="judgement",
    judgement=("wood_relaxation", "wood_fifth_percentile"),
    remedy="less pressure, or a harder wood",
    observation="look at every seat at {first_look_mpa:pressure}, at {full_mpa:pressure}, and "
    "again after 10 minutes",
    otherwise="a seat that drips is tapped one tick deeper, never past the depth at which the wood "
    "may split, and looked at again; where it drips again, leave that port out and cap it",
    proof_pressure="full_mpa",
)
def wood_seal(case: WorstCase) -> Finding:
    """Return the contact of relaxed wood on the tip against the pressure.

    Passes outright by the weakest twentieth of the species; by the expected
    contact where every seat is then looked at under pressure. How hard the wood
    squeezes is limited by its crushing, not by how far the tip is driven. One tick
    more seals a seat that drips by a longer contact past a scored spot; past the
    depth at which the wood may split it leaks for good.

    Source: wood_handbook, astm_d2555, orthotropic_hole
    """
    if not case.conditions.wood.known:
        return not_checked(NO_WOOD)
    lower, expected = relaxed_contacts(case)
    pressure = case.conditions.highest_mpa * np.ones_like(lower)
    factor = case.rules["design_factor_wood_seal"]
    return outright_or_proved(
        Finding(
            capacity=lower,
            capacity_expected=expected,
            demand=pressure,
            demand_upper=pressure,
            design_factor=factor,
            advice={"first_look_mpa": pressure / 3.0, "full_mpa": pressure},
        ),
        expected,
        factor,
    )


@check(
    title="hold of tip in wood",
    meaning="What the wood's friction holds, against the pressure that pushes the tip out.",
    stage="service",
    unit="N",
    needs="tip",
    equation="pc Ac (mu cos a - sin a) on contact - 1 mm over p pi/4 (hole + taper contact)2: "
    "lower >= 3, or expected >= 2 and a pull of 3",
    sources=("wedge_friction", "wood_handbook", "astm_d2555"),
    basis="judgement",
    judgement=(
        "wood_friction_hold",
        "wood_relaxation",
        "tap_reading_mm",
        "proved_factor_wood_hold",
        "pull_proof_thrusts",
        "wood_fifth_percentile",
    ),
    remedy="less pressure, a harder wood, or a bit that allows more contact",
    observation="pull every seat once with {pull_n:force}, slowly and in line with the tip: by the "
    "fork hooked under hub or ring, or by a cord round the plain neck, a strand up either side, "
    "clear of arms and tube; never by an arm or the tube. Valve shut, line vented, tube slack, "
    "glasses on, face and scale to the side. Look again after 10 minutes at full pressure",
    otherwise="a seat that moves is tapped one tick deeper, never past the depth at which the wood "
    "may split, and pulled again; where one moves again, run the whole line at no more than the "
    "table allows for the least pull that held, or leave that port out and cap it, or drill the "
    "same hole 1/32 in larger for the next tip",
    proof_force="pull_n",
)
def wood_hold(case: WorstCase) -> Finding:
    """Return the friction that holds the tip against the thrust that ejects it.

    Passes outright by the weakest twentieth of the species; by the expected hold
    where each seat is pulled before it is used, with one tick more to tap where
    it moves.

    Source: wedge_friction, wood_handbook, astm_d2555
    """
    if not case.conditions.wood.known:
        return not_checked(NO_WOOD)
    (tip, corner), rules = seated(case), case.rules
    length = np.maximum(tip.contact_mm - rules["tap_reading_mm"], 0.0)
    area = seat_area(case.hole_mm, tip.taper, length)
    lower, expected = (
        np.maximum(holding_force(contact, area, tip.taper, rules["wood_friction_hold"]), 0.0)
        for contact in holding_contacts(case, tip.taper)
    )
    thrust = end_thrust(case.conditions.highest_mpa, corner.mouth_mm)
    # A seat that moves is tapped one tick deeper: the window must reach that far.
    deeper = tip.contact_mm + tip.tick_pitch_mm <= tip.window_high_mm + 1e-6
    pull = proving_pull(case.conditions, tip) * np.ones_like(thrust)
    return outright_or_proved(
        Finding(
            capacity=lower,
            capacity_expected=expected,
            demand=thrust,
            demand_upper=thrust,
            design_factor=rules["design_factor_wood_hold"],
            advice={"pull_n": pull, "proved_factor": rules["proved_factor_wood_hold"]},
        ),
        np.where(deeper, expected, 0.0),
        rules["proved_factor_wood_hold"],
    )


@check(
    title="start of a split in the wood",
    meaning="The pressure on the hole at which the wood starts to split, against the pressure "
    "of driving.",
    stage="service",
    unit="MPa",
    needs="tip",
    equation="C90 (expected), 1.3 C90 (upper) against q_split = T90 k/(n - 1)",
    sources=("orthotropic_hole", "wood_handbook"),
    basis="judgement",
    judgement=("split_crush_expected", "split_crush_upper"),
    remedy="stop where the tapping suddenly goes easy; drill where the wood is sound and the bit "
    "is sharp",
    observation="the tapping stays hard to the last blow, the pull moves no tip, and none weeps "
    "along the bark",
    otherwise="where it suddenly goes easy, moves or weeps the wood has begun to split: stop, and "
    "leave that hole",
)
def wood_split(case: WorstCase) -> Finding:
    """Return the pressure that starts a check at the hole's edge against the wood's crushing.

    A short check at the edge is seldom the end of a seal: where one may start, the
    tapping shows it, and the hole is left. So this check cannot fail.

    Source: orthotropic_hole, wood_handbook
    """
    wood = case.conditions.wood
    if not wood.known:
        return not_checked(NO_WOOD)
    ones = np.ones_like(case.hole_mm)
    return outright_or_proved(
        single(
            wood.splits * wood.splitting_mpa * ones,
            case.rules["split_crush_expected"] * wood.crush_mpa * ones,
            case.rules["design_factor_wood_split"],
            upper=case.rules["split_crush_upper"] * wood.crush_mpa * ones,
        ),
        np.full_like(ones, np.inf),
        1.0,
    )


@check(
    title="interference of tip in wood",
    meaning="How much wider than its hole a tip may be driven, against how much it is. More "
    "splits wood.",
    stage="service",
    unit="-",
    needs="tip",
    equation="taper (contact + one tick + the hand's own travel)/hole <= 0.12",
    sources=("judgement",),
    basis="judgement",
    judgement=(
        "interference_limit",
        "tick_spacing_mm",
        "hand_push_n",
        "drive_crush_expected",
        "drive_friction_expected",
    ),
    remedy="less contact (--set contact=...) or a smaller taper",
)
def interference(case: WorstCase) -> Finding:
    """Return how far the tip widens the hole against what wood takes.

    The taper counts as drawn. What it measures on arrival, plain neck less tip's end on one
    piece, decides: a batch that measures steeper is tapped no further than its sheet says.

    Source: judgement
    """
    tip, corner = seated(case)
    spread = tip.taper * corner.travel_mm / case.hole_mm
    return single(
        case.rules["interference_limit"] * np.ones_like(spread),
        spread,
        case.rules["design_factor_interference"],
    )


@check(
    title="taper holds itself",
    meaning="The wood's friction against the slope of the taper: above it, a tip does not "
    "slide out by itself.",
    stage="service",
    unit="-",
    needs="tip",
    equation="mu/tan(a) >= 3, a half the taper's angle",
    sources=("taper_pins", "wedge_friction"),
    basis="judgement",
    judgement=("wood_friction_hold",),
    remedy="a slimmer taper (--set taper=0.05)",
)
def self_holding(case: WorstCase) -> Finding:
    """Return friction over the taper's slope: a steep taper backs out by itself.

    Source: taper_pins, wedge_friction
    """
    slope = np.tan(taper_half_angle(seated(case)[0].taper)) * np.ones_like(case.hole_mm)
    return single(
        case.rules["wood_friction_hold"] * np.ones_like(slope),
        slope,
        case.rules["design_factor_self_holding"],
    )


@check(
    title="tip squeezed by the wood",
    meaning="What crushes the material, against the wood's squeeze on the tip.",
    stage="service",
    unit="MPa",
    needs="tip",
    equation="2 q b2/(b2 - a2) at the smallest section in sound wood; q 1.3 and 2 C90 driving, "
    "0.5 C90 staying",
    sources=("lame", "wood_handbook", "design_record"),
    basis="judgement",
    judgement=("drive_crush_expected", "drive_crush_upper", "staying_crush"),
    remedy="a larger bit, or a stronger material",
)
def tip_crush(case: WorstCase) -> Finding:
    """Return the hoop compression of the tip in wood, while driven and for good.

    Driving against short-term strength, staying against long-term strength.

    Source: lame, wood_handbook
    """
    conditions, rules = case.conditions, case.rules
    if not conditions.wood.known:
        return not_checked(NO_WOOD)
    crush, bore = conditions.wood.hard_mpa, seated(case)[1].bore_mm
    strength = conditions.material.short_xy_mpa

    def squeeze(share: float) -> Array:
        stress = -external_hoop_at_bore(share * crush, bore, case.hole_mm)
        return np.asarray(np.where(case.hole_mm > bore, stress, np.inf))

    factor = rules["design_factor_tip_crush"]
    driving = squeeze(rules["drive_crush_expected"])
    short = strength * np.ones_like(driving)
    staying = squeeze(rules["staying_crush"])
    return together(
        single(short, driving, factor, upper=squeeze(rules["drive_crush_upper"])),
        single(short * conditions.material.long_term_factor, staying, factor),
    )
