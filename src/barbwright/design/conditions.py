"""What a part is designed for, as plain numbers (floats or arrays)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from barbwright.equations import Number


@dataclass(frozen=True, eq=False)
class TubeConditions:
    """One tube as the checks see it.

    Attributes
    ----------
    inner_mm : float or array
        Free inner diameter [mm].
    outer_mm : float or array
        Free outer diameter; NaN when unknown [mm].
    inner_tolerance_mm : float or array
        How far the inner diameter may be off [mm].
    modulus_low_mpa, modulus_high_mpa : float or array
        Range of Young's modulus at 23 C; NaN when unknown [MPa].
    yield_low_mpa, yield_high_mpa : float or array
        Range of yield strength at 23 C; NaN for elastomers and unknowns [MPa].
    elastomer : bool or array
        Whether the modulus comes from hardness and no yield caps the contact.
    temperature_factor : float or array
        Modulus, yield and rating at service temperature over those at 23 C;
        NaN beyond the known range [-].
    rating_mpa : float or array
        Stated rating, already at service temperature; NaN when none [MPa].
    burst_strength_mpa : float or array
        Lower yield of a matched row, for Barlow, at service temperature; NaN
        when none [MPa].
    expansion : float or array
        Default expansion of the bore on a barb [-].
    """

    inner_mm: Number
    outer_mm: Number
    inner_tolerance_mm: Number
    modulus_low_mpa: Number
    modulus_high_mpa: Number
    yield_low_mpa: Number
    yield_high_mpa: Number
    elastomer: Number
    temperature_factor: Number
    rating_mpa: Number
    burst_strength_mpa: Number
    expansion: Number


@dataclass(frozen=True, eq=False)
class WoodConditions:
    """Green wood as the checks see it.

    Attributes
    ----------
    crush_mpa : float or array
        Green compression strength across the grain [MPa].
    splitting_mpa : float or array
        Pressure on the hole at which a check starts [MPa].
    known : bool
        False when nobody named a wood: the tip is sized for a default, and the
        wood checks are not judged.
    """

    crush_mpa: Number
    splitting_mpa: Number
    known: bool


@dataclass(frozen=True, eq=False)
class MaterialConditions:
    """Printed material as the sizing and the checks see it, at temperature.

    Attributes
    ----------
    allowable_mpa : float or array
        Long-term allowable at service temperature, weakest direction [MPa].
    short_z_mpa, short_xy_mpa : float or array
        Short-term strength across and along layers at service temperature;
        along layers is used for compression [MPa].
    handling_short_z_mpa, handling_short_xy_mpa, handling_modulus_mpa : float or array
        The same, and the modulus, at the worse of 23 C and min(service, 40 C),
        where driving and freeing are judged [MPa].
    long_term_factor : float or array
        Long-term over short-term strength [-].
    tolerance_mm, tolerance_pct : float or array
        Process tolerance: the larger of the two counts [mm], [%].
    min_wall_exposed_mm, min_wall_covered_mm, min_wall_mm : float or array
        Least walls: wet and open to air; inside tube, wood or bark; any [mm].
    min_bore_mm, min_gap_mm, min_text_line_mm : float or array
        Least bore, detail and engraved stroke [mm].
    build_box_mm : tuple of float or array
        Build volume, largest side first [mm].
    max_temperature_c : float or array
        Highest service temperature [degree C].
    """

    allowable_mpa: Number
    short_z_mpa: Number
    short_xy_mpa: Number
    handling_short_z_mpa: Number
    handling_short_xy_mpa: Number
    handling_modulus_mpa: Number
    long_term_factor: Number
    tolerance_mm: Number
    tolerance_pct: Number
    min_wall_exposed_mm: Number
    min_wall_covered_mm: Number
    min_wall_mm: Number
    min_bore_mm: Number
    min_gap_mm: Number
    min_text_line_mm: Number
    build_box_mm: tuple[Number, Number, Number]
    max_temperature_c: Number

    def tolerance_at(self, size_mm: Number) -> Number:
        """Return how far a drawn size may come out off [mm]."""
        return np.maximum(self.tolerance_mm, self.tolerance_pct / 100.0 * size_mm)


@dataclass(frozen=True)
class Suitability:
    """Yes/no answers about material against fluid, use and heat.

    Attributes
    ----------
    fluid : int or array
        0 allowed, 1 cautioned, 2 refused, 3 unknown [-].
    tapping, pressure, field : bool or array
        What the record allows the material to be used for.
    """

    fluid: Number
    tapping: Number
    pressure: Number
    field: Number


@dataclass(frozen=True, eq=False)
class Conditions:
    """All numbers behind a design.

    Attributes
    ----------
    highest_mpa : float or array
        Highest pressure the regulator or relief can give, gauge [MPa].
    temperature_c : float or array
        Service temperature [degree C].
    tubes : tuple of TubeConditions
        One tube, or two for the ends of a `barb` of two sizes.
    bit_mm : float or array
        Bit diameter [mm].
    hole_low_mm, hole_high_mm : float or array
        Smallest and largest hole the bit may leave [mm].
    bark_mm : float or array
        Bark over sound wood [mm].
    clamp : bool or array
        Whether each barb carries a clamp.
    rules : mapping
        Judgement numbers by name, as printed in every report.
    outside_offset_mm, bore_offset_mm : float or array
        What the calibrated service prints less what is drawn [mm].
    """

    highest_mpa: Number
    temperature_c: Number
    tubes: tuple[TubeConditions, ...]
    bit_mm: Number
    hole_low_mm: Number
    hole_high_mm: Number
    bark_mm: Number
    wood: WoodConditions
    material: MaterialConditions
    suitability: Suitability
    clamp: Number
    rules: Mapping[str, float]
    outside_offset_mm: Number = 0.0
    bore_offset_mm: Number = 0.0

    @property
    def wanted_limits(self) -> MaterialConditions:
        """The material, its process limits moved to wanted sizes, by which parts are sized.

        Limits hold for what is drawn: where a service's offset draws a wall or a bore
        smaller than is wanted, that much more must be wanted. An offset the other way
        gives nothing back: the part that arrives would be under the limit.
        """
        outside, bore = self.outside_offset_mm, self.bore_offset_mm
        # Drawn wall = wanted wall - (outside - bore)/2; drawn bore = wanted bore - bore.
        thinner = np.maximum((outside - bore) / 2.0, 0.0)
        narrower = np.maximum(bore, 0.0)
        if np.all(thinner == 0.0) and np.all(narrower == 0.0):
            return self.material
        material = self.material
        return replace(
            material,
            min_wall_exposed_mm=material.min_wall_exposed_mm + thinner,
            min_wall_covered_mm=material.min_wall_covered_mm + thinner,
            min_wall_mm=material.min_wall_mm + thinner,
            min_bore_mm=material.min_bore_mm + narrower,
        )
