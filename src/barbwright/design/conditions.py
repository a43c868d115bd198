"""What a part is designed for, as plain numbers (floats or arrays)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from barbwright.design.measured import Figures
from barbwright.equations import Number

# How far a hole may come out larger and smaller, where nobody publishes it.
UNPUBLISHED = (float("nan"), float("nan"))


@dataclass(frozen=True, eq=False, kw_only=True)
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
        Expansion of the bore on a barb: its kind's own, or what was found for it [-].
    expansion_most : float or array
        To which a search may stretch it; nothing is left to search where that is no more
        than `expansion` [-].
    max_temperature_c : float or array
        Hottest temperature its kind is known for; infinite when no kind is named [degree C].
    hardening_over_yield : float or array
        Slope of true stress over log strain past yield, over the yield [-].
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
    max_temperature_c: Number = float("inf")
    hardening_over_yield: Number = 1.0
    expansion_most: Number = 0.0


@dataclass(frozen=True, eq=False, kw_only=True)
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
    hardest, softest : float
        Crush strength of the hardest and the softest wood of a common name over this one's, 1 for
        a species [-].
    splits : float
        Splitting over crushing of the wood of that name that splits soonest, over this one's [-].
    worst : WoodConditions or None
        Where nobody named a wood, the worst it may be of all on file: what rules for the hands
        are told by.
    """

    crush_mpa: Number
    splitting_mpa: Number
    known: bool
    hardest: float = 1.0
    softest: float = 1.0
    splits: float = 1.0
    worst: WoodConditions | None = None

    @property
    def hard_mpa(self) -> Number:
        """Crush strength of the wood that resists driving, squeezing and freeing most [MPa]."""
        return self.hardest * self.crush_mpa

    @property
    def soft_mpa(self) -> Number:
        """Crush strength of the wood that gives way soonest to what leans on it [MPa]."""
        return self.softest * self.crush_mpa


@dataclass(frozen=True, eq=False, kw_only=True)
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
    density_g_cm3 : float or array
        Density of the printed material [g/cm3].
    hole_tolerance_mm : tuple of float or array
        How far a hole may come out larger, and smaller; NaN where that is not published [mm].
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
    density_g_cm3: Number
    hole_tolerance_mm: tuple[Number, Number] = UNPUBLISHED

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


# Leads of a graded set, two thirds of a tolerance apart.
GRADES = 3


@dataclass(frozen=True, eq=False)
class SeatChoice:
    """Taper and contact that a search has settled on.

    Attributes
    ----------
    taper : float or array
        Growth of the diameter per length [-].
    contact_mm : float or array
        Travel from hand-tight [mm].
    """

    taper: Number
    contact_mm: Number


@dataclass(frozen=True, eq=False, kw_only=True)
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
    bark_mm, bark_least_mm : float or array
        Most and least bark over sound wood: the most governs length and column,
        the least the wall that stands proud [mm].
    clamp : bool or array
        Whether each barb carries a clamp.
    rules : mapping
        Judgement numbers by name, as printed in every report.
    outside_offset_mm, bore_offset_mm : float or array
        What the calibrated service prints less what is drawn [mm].
    grade : int
        Which of three graded leads the tip has, 1 to 3 dots; 0 for an ungraded tip.
    chosen : SeatChoice or None
        Taper and contact that the search has settled on; None takes the default.
    measured : mapping of str to Figures
        Products that a bench day measured, which stand in for judgement numbers.
    """

    highest_mpa: Number
    temperature_c: Number
    tubes: tuple[TubeConditions, ...]
    bit_mm: Number
    hole_low_mm: Number
    hole_high_mm: Number
    bark_mm: Number
    bark_least_mm: Number
    wood: WoodConditions
    material: MaterialConditions
    suitability: Suitability
    clamp: Number
    rules: Mapping[str, float]
    outside_offset_mm: Number = 0.0
    bore_offset_mm: Number = 0.0
    grade: int = 0
    chosen: SeatChoice | None = None
    measured: Mapping[str, Figures] = field(default_factory=dict)

    @property
    def tip_tolerance_mm(self) -> Number:
        """How far the tip's outside may be off in the hole it is used in [mm].

        Of a graded set the grade that fits is chosen in a drilled board: what is left
        of the print's spread is a third of it.
        """
        off = self.material.tolerance_at(self.hole_low_mm)
        return off / GRADES if self.grade else off

    @property
    def grade_shift_mm(self) -> Number:
        """How far a graded lead is drawn off the middle one [mm]."""
        step = 2.0 * self.material.tolerance_at(self.hole_low_mm) / GRADES
        return (self.grade - 2) * step if self.grade else 0.0
