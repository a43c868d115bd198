"""Can the process make it, and is the material fit for the use. Sizes count as wanted here.

A calibrated service prints what is wanted, and of a graded set the grade that fits is taken: both
are judged on the sizes they print, not on those they draw.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from barbwright.checks.corners import BeforeSizing, WorstCase
from barbwright.checks.result import (
    CAUTION,
    FAIL,
    PASS,
    Finding,
    check,
    not_checked,
    outright_or_proved,
    single,
    together,
)
from barbwright.design.tip import Tip
from barbwright.equations import Number


def _drawn(sizes: list[tuple[Number, Number]]) -> Finding:
    """Return drawn sizes against their process limits, as one finding."""
    return together(
        *(
            single(np.asarray(size)[None, ...], np.asarray(limit)[None, ...])
            for size, limit in sizes
        )
    )


@check(
    title="wall that is wet and open to air",
    meaning="The drawn wall that drips if it leaks, against the least the print service calls "
    "watertight.",
    stage="making",
    unit="mm",
    needs="open",
    equation="wall >= least watertight wall: neck, hub, taper that stands proud of the bark (there "
    "0.9 of it where the batch's proof test is watched; 0.75 under a tick)",
    sources=("design_record",),
    basis="judgement",
    judgement=(
        "proved_share_exposed_wall",
        "tick_wall_share",
        "tick_depth_mm",
        "proof_ratio",
    ),
    remedy="a wider neck (--set neck=...) or hub, a smaller bore, or a measured hole (--hole)",
    observation="the batch's proof test at {proof_mpa:pressure}: wiped dry, no tip sweats where it "
    "stands proud of the bark",
    otherwise="a batch that sweats is not used",
    proof_pressure="proof_mpa",
)
def exposed_wall(case: WorstCase) -> Finding:
    """Return the walls that drip when they leak against the process limit.

    Where the taper stands proud a little less passes on the proof test of the
    batch: wiped dry, it sweats nowhere.

    Source: design_record
    """
    design, limit = case.design, case.conditions.material.min_wall_exposed_mm
    sizes: list[tuple[Number, Number]] = []
    if design.own is not None:
        sizes += [(wall, limit) for wall in design.own.exposed_walls_mm]
    if design.ring is None:
        sizes += [((barb.neck_mm - design.bore_mm) / 2.0, limit) for barb in design.barbs]
    if design.hub is not None:
        sizes.append(((design.hub.ball_mm - design.hub.relief_mm) / 2.0, limit))
    if design.ring is not None:
        widest = np.maximum(design.bore_mm, design.tip.bore_mm if design.tip else 0.0)
        sizes.append(((design.ring.ring_mm - widest) / 2.0, limit))
    found = _drawn(sizes) if sizes else None
    if design.tip is None or case.tip is None:
        return found or not_checked("no wall of it is wet and open to air")
    proud = _proud_taper(case, design.tip)
    every = together(found, *proud) if found is not None else together(*proud)
    proof = case.rules["proof_ratio"] * case.conditions.highest_mpa
    return replace(every, advice={"proof_mpa": proof})


def _proud_taper(case: WorstCase, tip: Tip) -> tuple[Finding, Finding]:
    """Return the taper's wall at the bark, between ticks and under one."""
    assert case.tip is not None
    limit = case.conditions.material.min_wall_exposed_mm
    # The fat part in the smallest hole, under the thinnest bark, stands proudest.
    at_bark = tip.root_mm - tip.taper * np.max(case.tip.proud_mm, axis=0)
    wall = np.asarray((at_bark - tip.bore_mm) / 2.0)[None, ...]
    asked = limit * np.ones_like(wall)
    share = case.rules["proved_share_exposed_wall"]
    between = outright_or_proved(single(wall, asked), wall, share)
    under = single(wall - tip.tick_depth_mm, case.rules["tick_wall_share"] * asked)
    return between, under


@check(
    title="wall inside tube, wood or bark",
    meaning="The drawn wall inside tube or wood, against the least that prints sound.",
    stage="making",
    unit="mm",
    equation="drawn wall >= least covered wall: barb root, tip between and under ticks; a tool's "
    "against the least of any",
    sources=("design_record",),
    basis="judgement",
    remedy="a larger bit or tube, or a smaller bore where the process allows it",
)
def print_wall(case: WorstCase) -> Finding:
    """Return the walls that a tube or wood covers against the process limit.

    Source: design_record
    """
    design, limit = case.design, case.conditions.material.min_wall_covered_mm
    sizes = [((barb.root_mm - design.bore_mm) / 2.0, limit) for barb in design.barbs]
    if design.own is not None:
        least = case.conditions.material.min_wall_mm
        sizes += [(wall, least) for wall in design.own.walls_mm]
    if design.tip is not None and case.tip is not None:
        tip = design.tip
        sizes.append(((tip.lead_mm - tip.bore_mm) / 2.0, limit))
        # The lowest tick stands where the bark can first be, on the fat part.
        fat = np.min(case.tip.start_mm, axis=0)
        lowest = tip.lead_mm + tip.taper * (fat + case.conditions.bark_least_mm)
        under = np.minimum(lowest, tip.root_mm - tip.taper * tip.tick_mm)
        sizes.append(((under - tip.bore_mm) / 2.0 - tip.tick_depth_mm, limit))
    return _drawn(sizes)


@check(
    title="wall at the barb's nose",
    meaning="The drawn wall at the barb's nose, against the least that prints at all.",
    stage="making",
    unit="mm",
    needs="barb",
    equation="(nose - bore)/2 >= least printable wall",
    sources=("design_record",),
    basis="judgement",
    remedy="a smaller bore (--set bore=...) or a tube of wider bore",
)
def print_nose(case: WorstCase) -> Finding:
    """Return the nose's wall against the least the process prints at all.

    Source: design_record
    """
    design, limit = case.design, case.conditions.material.min_wall_mm
    return _drawn([((barb.nose_mm - design.bore_mm) / 2.0, limit) for barb in design.barbs])


@check(
    title="bores the process can clear",
    meaning="The drawn bore, against the narrowest channel that can be cleared of powder.",
    stage="making",
    unit="mm",
    equation="bore >= least bore, and >= the depth to its nearest opening/12",
    sources=("design_record",),
    basis="judgement",
    judgement=("bore_length_over_diameter",),
    remedy="a wider bore, hence a larger tube or bit; or a process with finer channels",
)
def print_bore(case: WorstCase) -> Finding:
    """Return the bores against the least channel the process can clear.

    A long thin bore keeps its powder: from its middle it is half its length to
    the nearest end, the lead end or the wider room it opens into.

    Source: mjf_guide_tempus, design_record, judgement
    """
    design, limit = case.design, case.conditions.material.min_bore_mm
    deep = case.rules["bore_length_over_diameter"]
    sizes = [(design.bore_mm, limit)]
    if design.own is not None:
        sizes += [(bore, limit) for bore in design.own.bores_mm]
    if design.tip is not None:
        room = design.hub.relief_mm / 2.0 if design.hub is not None else 0.0
        length = design.tip.seat_mm + design.seat_root_mm - room
        sizes.append((design.tip.bore_mm, np.maximum(limit, length / 2.0 / deep)))
    return _drawn(sizes)


@check(
    title="smallest details",
    meaning="The smallest drawn detail, against the smallest the process can show.",
    stage="making",
    unit="mm",
    equation="land and tick >= smallest detail; mark's stroke >= engraved stroke",
    sources=("design_record",),
    basis="judgement",
    remedy="a wider land (--set land=...)",
)
def print_detail(case: WorstCase) -> Finding:
    """Return lands, ticks and strokes against the smallest detail of the process.

    Source: design_record
    """
    design, material = case.design, case.conditions.material
    sizes = [(barb.land_mm, material.min_gap_mm) for barb in design.barbs]
    if design.tip is not None:
        sizes.append((design.tip.tick_mm, material.min_gap_mm))
    if design.mark.lines:
        sizes.append((design.mark.stroke_mm, material.min_text_line_mm))
    if not sizes:
        return not_checked("no detail and no mark is drawn on it")
    return _drawn(sizes)


@check(
    title="fits the build volume",
    meaning="The machine's room, against the part's size.",
    stage="making",
    unit="mm",
    equation="sorted part sizes <= sorted build volume",
    sources=("design_record",),
    basis="judgement",
    remedy="a shorter part, or a larger machine",
)
def build_box(case: WorstCase) -> Finding:
    """Return the machine's build volume against the part, each side with its own.

    Source: design_record
    """
    shape = np.shape(case.bore_mm)[1:]
    sides = [np.broadcast_to(side, shape) for side in case.drawn.envelope_mm]
    part = np.sort(np.stack(sides), axis=0)
    box = np.sort(
        np.stack([np.broadcast_to(side, shape) for side in case.conditions.material.build_box_mm]),
        axis=0,
    )
    return single(box, part)


@check(
    title="material and tube against heat",
    meaning="The warmest the material's record allows, against the temperature in use.",
    stage="making",
    unit="degC",
    equation="service temperature <= the maximum of the material's and the tube's record; below "
    "5 C nothing is known",
    sources=("design_record",),
    basis="judgement",
    remedy="a material or a tube for more heat, or a cooler day",
    before_sizing=True,
    yes_no=True,
)
def heat(case: BeforeSizing) -> Finding:
    """Return the service temperature against what material's and tubes' records cover.

    Above a record's last temperature nothing is known, and what is not known does
    not pass: hotter is never better.

    Source: design_record
    """
    temperature = np.atleast_1d(np.asarray(case.conditions.temperature_c, dtype=float))[None, ...]
    limit = case.conditions.material.max_temperature_c * np.ones_like(temperature)
    for tube in case.conditions.tubes if case.kind.arms else ():
        limit = np.minimum(limit, tube.max_temperature_c)
    cold = np.all(temperature < case.rules["temperature_least_c"])
    if cold:
        return not_checked(
            f"below {case.rules['temperature_least_c']:g} C the material's strength is not known"
        )
    known = np.where(temperature < case.rules["temperature_least_c"], np.nan, limit)
    verdict = np.where(temperature <= limit + 1e-9, PASS, FAIL)
    return Finding(
        capacity=known,
        capacity_expected=known,
        demand=temperature,
        demand_upper=temperature,
        verdict=verdict,
    )


@check(
    title="material against the liquid",
    meaning="Whether the material's record allows this class of liquid.",
    stage="making",
    unit="-",
    needs="open",
    equation="the liquid's class is not among those the record refuses or cautions",
    sources=("design_record",),
    basis="judgement",
    remedy="a material whose record allows this class of liquid",
    before_sizing=True,
    yes_no=True,
)
def fluid(case: BeforeSizing) -> Finding:
    """Return whether the material's record allows the liquid's class.

    Source: design_record
    """
    answer = np.atleast_1d(np.asarray(case.conditions.suitability.fluid))[None, ...]
    if np.all(answer == 3):
        return not_checked("the liquid's class is unknown: --fluid with a class of the record")
    verdict = np.where(answer == 2, FAIL, np.where(answer == 1, CAUTION, PASS))
    allowed = np.where(answer == 3, np.nan, np.where(answer == 2, 0.0, 1.0))
    return Finding(
        capacity=allowed,
        capacity_expected=allowed,
        demand=np.ones(answer.shape),
        demand_upper=np.ones(answer.shape),
        verdict=verdict,
    )


@check(
    title="material against the use",
    meaning="Whether the material's record allows tapping, pressure and work in the field.",
    stage="making",
    unit="-",
    equation="the record allows tapping (tips and drivers), pressure (not tools) and field use",
    sources=("design_record", "mireles2011"),
    basis="judgement",
    remedy="a material whose record allows tapping, pressure and field use, such as mjf_pa12",
    before_sizing=True,
    yes_no=True,
)
def use(case: BeforeSizing) -> Finding:
    """Return whether the material's record allows what this part is for.

    FFF parts are prototypes: sealed FFF held 20-40 psi in the one paper found.

    Source: design_record, mireles2011
    """
    suitability = case.conditions.suitability
    allowed = np.asarray(suitability.field, dtype=bool)
    if case.kind.carries:
        allowed = allowed & np.asarray(suitability.pressure, dtype=bool)
    if case.kind.tip or "driver" in case.kind.needs:
        allowed = allowed & np.asarray(suitability.tapping, dtype=bool)
    allowed = np.atleast_1d(allowed)[None, ...]
    number = allowed.astype(float)
    return Finding(
        capacity=number,
        capacity_expected=number,
        demand=np.ones(number.shape),
        demand_upper=np.ones(number.shape),
        verdict=np.where(allowed, PASS, FAIL),
    )
