"""What a part is made from: the inputs as given, and the records and figures they name."""

from __future__ import annotations

from dataclasses import dataclass, field

from barbwright.catalog import Bit, Material, Service, Tube, TubeMaterial, Wood

# Every input a part can be asked for, by its name in a kit file and in part.json.
INPUT_NAMES = (
    "tube", "tube_id", "tube_od", "tube_material", "tube_rating", "shore",
    "tube2", "tube2_id", "tube2_od", "tube2_material", "tube2_rating", "shore2",
    "bit", "hole", "pressure", "relief", "material", "wood", "bark", "temperature",
    "fluid", "clamp", "service", "grade",
)  # fmt: skip

# Bits for a trunk: any other can only be a slip of the unit.
BIT_RANGE_MM = (1.0, 25.0)


@dataclass(frozen=True)
class Input:
    """One input as it was given and where it came from.

    Attributes
    ----------
    text : str
        As given, or the default in words.
    origin : str
        option, kit, default, or the table it was matched in.
    """

    text: str
    origin: str


@dataclass(frozen=True)
class TubeInput:
    """What is known of one tube.

    Attributes
    ----------
    inner_mm : float
        Inner diameter [mm].
    outer_mm : float or None
        Outer diameter [mm].
    inner_tolerance_mm : float or None
        How far the inner diameter may be off [mm]; None where it was measured.
    row : Tube or None
        The row of the tubing table it is, or matches.
    material : TubeMaterial or None
        What its material word alone says.
    shore_a : float or None
        Hardness [Shore A].
    rating_mpa, rating_c : float or None
        Stated rating and its temperature [MPa], [degree C].
    """

    inner_mm: float
    outer_mm: float | None
    inner_tolerance_mm: float | None
    row: Tube | None
    material: TubeMaterial | None
    shore_a: float | None
    rating_mpa: float | None
    rating_c: float


@dataclass(frozen=True)
class WoodInput:
    """Green wood by name or by density.

    Attributes
    ----------
    name : str
        Species, or the density in words.
    specific_gravity : float
        Green [-].
    hardwood : bool
        Group.
    record : Wood or None
        The species' record.
    """

    name: str
    specific_gravity: float
    hardwood: bool
    record: Wood | None


@dataclass(frozen=True)
class Job:
    """All that was given for a part; what was not is None, and `numbers` says what stands in.

    Attributes
    ----------
    inputs : dict of str to Input
        Every input that was given, or found in a table, with its origin.
    tubes : tuple of TubeInput
        One, or two for a barb of two sizes.
    bit : Bit
        Drill bit.
    hole_mm : float or None
        Measured hole [mm].
    pressure_mpa, relief_mpa : float, float or None
        Working pressure and relief setting, gauge [MPa].
    material : Material
        Print material.
    wood : WoodInput or None
        None when nobody named one.
    bark_mm, temperature_c : float or None
        Bark, the thickest where a range is given [mm], and service temperature [degree C].
    fluid : str
        Fluid class.
    clamp : bool
        Whether each barb carries a clamp.
    forced : dict of str to float
        Sizes forced with --set, by name.
    rules : dict of str to float
        Judgement numbers.
    user_rules : dict of str to str
        Those the user has overridden, with their origin.
    warnings : tuple of str
        What must be said loudly.
    service : Service or None
        The calibrated print service.
    bark_least_mm : float or None
        The thinnest bark; None where `bark_mm` is both ends [mm].
    grade : int
        Which of three graded leads, 1 to 3; 0 for an ungraded tip.
    """

    inputs: dict[str, Input]
    tubes: tuple[TubeInput, ...]
    bit: Bit
    hole_mm: float | None
    pressure_mpa: float
    relief_mpa: float | None
    material: Material
    wood: WoodInput | None
    bark_mm: float | None
    temperature_c: float | None
    fluid: str
    clamp: bool
    forced: dict[str, float] = field(default_factory=dict)
    rules: dict[str, float] = field(default_factory=dict)
    user_rules: dict[str, str] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()
    service: Service | None = None
    bark_least_mm: float | None = None
    grade: int = 0

    @property
    def highest_mpa(self) -> float:
        """The highest pressure there may be: the relief's if there is one, gauge [MPa]."""
        return self.pressure_mpa if self.relief_mpa is None else self.relief_mpa
