"""A barb's sizes from the tube that goes on it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Generic

import numpy as np

from barbwright.design.conditions import Conditions, MaterialConditions, TubeConditions
from barbwright.design.rounding import GRID_MM, round_down, round_up
from barbwright.equations import N, Number
from barbwright.equations.grip import stretched_outer


@dataclass(frozen=True, eq=False, kw_only=True)
class Barb(Generic[N]):
    """Drawn sizes of one barbed arm, from the nose to where the tube stops.

    Attributes
    ----------
    root_mm, crest_mm, nose_mm, neck_mm, shoulder_mm : float or array
        Diameters [mm]. The neck is the arm between shoulder and hub.
    land_mm, pitch_mm, ramp_mm, nose_ramp_mm : float or array
        Lengths along the axis [mm].
    shoulder_radius_mm : float or array
        Radius of the root into the shoulder's face, where a side force peaks [mm].
    insertion_mm : float or array
        From the nose's end to the shoulder [mm].
    barb_count : int
        Number of barbs [-].
    expansion : float or array
        Drawn crest over the tube's bore, less one [-].
    tube_on_crest_mm : float or array
        Outer diameter of the tube on the crest, for a clamp [mm].
    """

    root_mm: N
    crest_mm: N
    nose_mm: N
    neck_mm: N
    shoulder_mm: N
    land_mm: N
    pitch_mm: N
    ramp_mm: N
    nose_ramp_mm: N
    shoulder_radius_mm: N
    insertion_mm: N
    barb_count: int
    expansion: N
    tube_on_crest_mm: N

    @property
    def step_mm(self) -> N:
        """Step of crest over root, on the diameter [mm]."""
        step: N = self.crest_mm - self.root_mm
        return step


def run_bore(
    tube: TubeConditions,
    material: MaterialConditions,
    rules: Mapping[str, float],
    given: Mapping[str, Number],
) -> Number:
    """Return the bore through the arms that a tube allows.

    As wide as the wall under the tube and its stretch over a full step permit,
    because flow and evenness along the chain depend on it more than on anything
    else that is drawn.

    Parameters
    ----------
    tube : TubeConditions
        The tube [mm].
    material : MaterialConditions
        The printed material [mm].
    rules : mapping
        Judgement numbers [-].
    given : mapping
        Sizes forced by the user [mm].

    Returns
    -------
    float or array
        Bore diameter, a multiple of 0.1 unless forced [mm].

    Source: judgement
    """
    if "bore" in given:
        return given["bore"]
    stretched = tube.inner_mm * (1.0 + rules["arm_expansion_limit"]) - rules["crest_over_root_mm"]
    widest = np.minimum(tube.inner_mm, stretched) - 2.0 * material.min_wall_covered_mm
    return round_down(np.maximum(material.min_bore_mm, widest), 0.1)


def barb_step(tube: TubeConditions, root_mm: Number, rules: Mapping[str, float]) -> Number:
    """Return the step of crest over root, on the diameter, on the grid of drawn sizes.

    The full step, or as much of it as stretches the narrowest tube of the size no
    further than an arm may; never under the least that is worth drawing.

    Parameters
    ----------
    tube : TubeConditions
        The tube [mm].
    root_mm : float or array
        The barb's root [mm].
    rules : mapping
        Judgement numbers [mm].

    Returns
    -------
    float or array
        Step as drawn [mm].

    Source: judgement
    """
    narrowest = tube.inner_mm - rules["measured_tube_tolerance_mm"]
    room = narrowest * (1.0 + rules["arm_expansion_limit"]) - root_mm
    full = rules["crest_over_root_mm"]
    return np.clip(round_down(room, GRID_MM), np.minimum(rules["step_least_mm"], full), full)


def size_barb(
    tube: TubeConditions,
    bore_mm: Number,
    material: MaterialConditions,
    rules: Mapping[str, float],
    given: Mapping[str, Number],
) -> Barb:
    """Return the barb for a tube.

    Parameters
    ----------
    tube : TubeConditions
        The tube [mm].
    bore_mm : float or array
        Bore through the arm [mm].
    material : MaterialConditions
        The printed material [mm].
    rules : mapping
        Judgement numbers [-].
    given : mapping
        Sizes forced by the user [mm].

    Returns
    -------
    Barb
        Drawn sizes [mm].

    Source: judgement
    """
    inner = tube.inner_mm
    t_crest = material.tolerance_at(inner)
    root = given.get("root")
    if root is None:
        root = round_up(np.maximum(inner, bore_mm + 2.0 * material.min_wall_covered_mm), GRID_MM)
    crest = given.get("crest")
    if crest is None:
        wanted = inner * (1.0 + given.get("expansion", tube.expansion))
        step = barb_step(tube, root, rules)
        # The process may print the crest thin: it must still stretch the tube.
        lean = inner * rules["lean_crest_over_bore"] + t_crest
        crest = round_up(np.maximum(np.maximum(wanted, root + step), lean), GRID_MM)
    # A nose wider than the root would be no nose; the tube must start by hand even when fat.
    nose = given.get(
        "nose", np.minimum(round_down(inner - material.tolerance_at(inner), GRID_MM), root)
    )
    neck = given.get("neck", round_up(bore_mm + 2.0 * material.min_wall_exposed_mm, GRID_MM))
    shoulder = np.maximum(neck, round_up(inner + rules["shoulder_over_bore_mm"], GRID_MM))
    land = given.get("land", round_up(np.maximum(rules["land_mm"], material.min_gap_mm), GRID_MM))
    slope = np.tan(np.radians(given.get("barb_angle", rules["barb_angle_deg"])))
    ramp = (crest - root) / 2.0 / slope
    nose_ramp = (crest - nose) / 2.0 / slope
    count = int(rules["barb_count"])
    insertion = np.maximum(rules["insertion_over_bore"] * inner, rules["insertion_least_mm"])
    # Half a pitch of plain root stays behind the last back face, for the bite to act on.
    pitch = given.get("pitch")
    if pitch is None:
        pitch = np.maximum(rules["pitch_least_mm"], insertion / (count + 0.5))
        pitch = np.maximum(
            pitch, np.maximum(nose_ramp, ramp + 2.0 * rules["back_face_radius_mm"]) + land
        )
        pitch = round_up(pitch, GRID_MM)
    insertion = np.maximum(insertion, round_up((count + 0.5) * pitch, GRID_MM))
    # A tube needs no bite at its stop, so the radius there is as large as leaves it a face.
    face = (np.maximum(shoulder, neck) - root) / 2.0 - rules["shoulder_face_mm"]
    round_ = np.minimum(np.minimum(rules["shoulder_radius_mm"], face), pitch / 4.0)
    round_ = np.maximum(round_down(round_, GRID_MM), rules["back_face_radius_mm"])
    outer = np.where(
        np.isnan(tube.outer_mm), rules["tube_outer_over_inner_default"] * inner, tube.outer_mm
    )
    expansion = crest / inner - 1.0
    return Barb(
        root_mm=root,
        crest_mm=crest,
        nose_mm=nose,
        neck_mm=neck,
        shoulder_mm=shoulder,
        land_mm=land,
        pitch_mm=pitch,
        ramp_mm=ramp,
        nose_ramp_mm=nose_ramp,
        shoulder_radius_mm=round_,
        insertion_mm=insertion,
        barb_count=count,
        expansion=expansion,
        tube_on_crest_mm=stretched_outer(inner, outer, expansion),
    )


def size_arms(
    conditions: Conditions, given: Mapping[str, Number]
) -> tuple[Number, tuple[Barb, ...]]:
    """Return the bore through all arms, and a barb for each tube.

    Parameters
    ----------
    conditions : Conditions
        What the part is designed for [mm].
    given : mapping
        Sizes forced by the user [mm].

    Returns
    -------
    tuple
        Bore [mm], and one barb, or two where the ends differ.

    Source: judgement
    """
    material, rules = conditions.material, conditions.rules
    bores = [run_bore(tube, material, rules, given) for tube in conditions.tubes]
    bore = np.minimum(bores[0], bores[-1])
    barbs = tuple(size_barb(tube, bore, material, rules, given) for tube in conditions.tubes)
    return bore, barbs
