"""What a part is made from: the inputs as given, and the records and figures they name."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from barbwright.catalog import Bit, Material, Measured, Service, Tube, TubeKind, TubeMaterial, Wood
from barbwright.catalog.own import own_figures


@dataclass(frozen=True)
class Asked:
    """One input a part can be asked for.

    Attributes
    ----------
    name : str
        In a kit file and in part.json; with dashes, the option.
    fills : tuple of str
        Fields of a `Job` that it settles.
    help : str
        What `--help` says of it.
    end : str
        Whose tube it measures: "" the first's, "2" the second's; None of anything else.
    """

    name: str
    fills: tuple[str, ...]
    help: str
    end: str | None = None


_TUBES = ("tubes", "warnings", "measured")
# Every input, in the order in which they are printed.
INPUTS = (
    Asked("tube", _TUBES, "A tube of the table, by name (`barbwright list tubes`).", ""),
    Asked("tube_id", _TUBES, "Tube's inner diameter, such as 0.170in, 1/4in or 4mm.", ""),
    Asked("tube_od", _TUBES, "Tube's outer diameter.", ""),
    Asked("tube_material", _TUBES, "Tube's material, such as LLDPE, nylon, PU, PVC.", ""),
    Asked("tube_rating", _TUBES, "Tube's stated rating, such as 150psi, or 150psi@70F.", ""),
    Asked("shore", _TUBES, "Tube's hardness, Shore A.", ""),
    Asked("tube2", _TUBES, "The other end of a `barb`: a tube of the table.", "2"),
    Asked("tube2_id", _TUBES, "The other end of a `barb`: inner diameter.", "2"),
    Asked("tube2_od", _TUBES, "The other end of a `barb`: outer diameter.", "2"),
    Asked("tube2_material", _TUBES, "The other end of a `barb`: material.", "2"),
    Asked("tube2_rating", _TUBES, "The other end of a `barb`: stated rating.", "2"),
    Asked("shore2", _TUBES, "The other end of a `barb`: hardness, Shore A.", "2"),
    # A measured hole belongs to its bit.
    Asked("bit", ("bit", "hole_mm"), 'Drill bit: 15/64, 5/16, no7 or "#7", F, 6mm.'),
    Asked("hole", ("hole_mm",), "Measured hole diameter; shortens the tip."),
    Asked("pressure", ("pressure_mpa",), "Working pressure, gauge, such as 45psi, 3bar, 310kPa."),
    Asked(
        "relief",
        ("relief_mpa",),
        "Setting of the relief valve; without it --pressure is the highest.",
    ),
    Asked(
        "material",
        ("material", "measured"),
        "Print material (`barbwright list materials`); default mjf_pa12.",
    ),
    Asked(
        "wood",
        ("wood", "measured"),
        "Species (`barbwright list woods`), a common name (each check takes its worst), "
        "`hardwood 0.55` (green specific gravity) or `unknown`.",
    ),
    Asked(
        "bark",
        ("bark_mm", "bark_least_mm"),
        "Thickness of the bark, or its range such as 5..12mm; default 8 mm.",
    ),
    Asked(
        "temperature",
        ("temperature_c",),
        "Service temperature, such as 35C or 95F; default 30C.",
    ),
    Asked("fluid", ("fluid",), "Class of the liquid; default water."),
    Asked("clamp", ("clamp",), "Each barb has a clamp."),
    Asked(
        "service",
        ("service",),
        "Print service that was calibrated; `none` for the record's tolerance.",
    ),
    Asked("grade", ("grade",), "One of three graded leads: 1 (thinnest), 2 or 3."),
    Asked(
        "use",
        ("fit_only",),
        "`fit`: a part for fit, seal and water proof at the bench alone, of any material; marked.",
    ),
    Asked(
        "without",
        ("measured",),
        "`measured`: judge without what your bench days measured, and show the difference.",
    ),
)
INPUT_NAMES = tuple(one.name for one in INPUTS)
# Inputs of the first tube, and of the second: what is measured of one belongs together.
TUBE_INPUTS = {end: tuple(one.name for one in INPUTS if one.end == end) for end in ("", "2")}
# All that is told by yes or no; every other input is a text.
YES_OR_NO = frozenset({"clamp"})

# Bits for a trunk: any other can only be a slip of the unit.
BIT_RANGE_MM = (1.0, 25.0)
# Highest pressure that may be asked about: more only a slipped unit explains.
MOST_MPA = 2.0


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


@dataclass(frozen=True, kw_only=True)
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

    @property
    def kind(self) -> TubeKind | None:
        """Kind of tubing, by its row, else by its material word."""
        known = self.row or self.material
        return None if known is None else known.kind


@dataclass(frozen=True, kw_only=True)
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
    also : tuple of WoodInput
        The other woods of a common name, of which this one holds least.
    """

    name: str
    specific_gravity: float
    hardwood: bool
    record: Wood | None = None
    also: tuple[WoodInput, ...] = ()

    @classmethod
    def species(cls, record: Wood) -> WoodInput:
        """Return a wood of the table as an input."""
        return cls(
            name=record.name,
            specific_gravity=record.specific_gravity_green,
            hardwood=record.is_hardwood,
            record=record,
        )


@dataclass(frozen=True, kw_only=True)
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
        What reading it found that must be said loudly; `said` has that and more.
    service : Service or None
        The calibrated print service.
    bark_least_mm : float or None
        The thinnest bark; None where `bark_mm` is both ends [mm].
    grade : int
        Which of three graded leads, 1 to 3; 0 for an ungraded tip.
    measured : tuple of Measured
        Products that were measured on this wood, material and tube.
    fit_only : bool
        Whether the part is for the bench alone.
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
    measured: tuple[Measured, ...] = ()
    fit_only: bool = False

    def __repr__(self) -> str:
        """Return what was typed, in a line or two; with its records it is very long."""
        typed = [
            f"{name} {one.text}"
            for name, one in self.inputs.items()
            if one.origin in {"option", "kit"}
        ]
        typed += [f"set {name}" for name in (*self.forced, *self.user_rules)]
        return f"<Job: {', '.join(typed)}>"

    @cached_property
    def own_figures(self) -> tuple[str, ...]:
        """A sentence for each record it rests on that is not as shipped."""
        return own_figures(
            self.material,
            None if self.wood is None else self.wood.record,
            tuple(tube.row for tube in self.tubes),
            tuple(tube.material for tube in self.tubes),
            self.bit,
        )

    @property
    def said(self) -> tuple[str, ...]:
        """All that must be said loudly: whose figures these are, then what reading them found."""
        return (*self.own_figures, *self.warnings)

    @property
    def highest_mpa(self) -> float:
        """The highest pressure there may be: the relief's if there is one, gauge [MPa]."""
        return self.pressure_mpa if self.relief_mpa is None else self.relief_mpa
