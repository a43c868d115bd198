"""What a bench day measured of a job's wood, material and tube, and where it stands in."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from barbwright import catalog
from barbwright.catalog import Material, Measured
from barbwright.design.measured import PRODUCTS, Product
from barbwright.errors import quoted
from barbwright.job.record import Job, TubeInput, WoodInput
from barbwright.job.settings import Settings
from barbwright.job.texts import Texts

# What can be left out by --without.
_LEFT_OUT = "measured"
# Products that are lengths: they stand in for judgement numbers one by one.
_AS_RULES = {
    "step": {"step_loss_mm": "upper"},
    "oversize": {"hole_oversize_low_mm": "lower", "hole_oversize_high_mm": "upper"},
}


def tube_word(tube: TubeInput) -> str:
    """Return the kind of a tube, as measurements on it are kept; empty where it is not known.

    Parameters
    ----------
    tube : TubeInput
        What is known of it.
    """
    record = tube.row if tube.row is not None else tube.material
    return "" if record is None else record.kind.name


@dataclass(frozen=True, kw_only=True)
class MeasuredShare:
    """A measured product over what judgement says, at a part's own taper.

    Attributes
    ----------
    product : Product
        Which.
    record : Measured
        As kept.
    lower, expected, upper : float
        Over judgement [-].
    checks : tuple of str
        The checks of the part that take it.
    """

    product: Product
    record: Measured
    lower: float
    expected: float
    upper: float
    checks: tuple[str, ...]

    @property
    def sentence(self) -> str:
        """What it is and which checks take it, in words."""
        names = ", ".join(self.checks)
        if self.product.unit == "length":
            return (
                f"{self.product.title}: {self.record.lower:.2f} to {self.record.upper:.2f} mm "
                f"({self.record.status}; taken by {names})"
            )
        worse = "lower" if self.product.rises else "upper"
        share = self.lower if self.product.rises else self.upper
        return (
            f"{self.product.title}: expected {self.expected:.2f}, {worse} {share:.2f} of what "
            f"judgement expects ({self.record.status}; taken by {names})"
        )


def measured_shares(
    job: Job, checks: Collection[str], taper: float = 0.0
) -> tuple[MeasuredShare, ...]:
    """Return what a job's checks take from measurement.

    Parameters
    ----------
    job : Job
        With what was measured.
    checks : collection of str
        The checks the part is asked [-].
    taper : float
        Of its tip, or of the tip its tool is for; 0 for a part without one [-].
    """
    found, names = [], {one.product for one in job.measured}
    for one in job.measured:
        product = PRODUCTS[one.product]
        if product.on != "tube" and product.slope and not taper:
            continue
        takers = tuple(name for name in product.taken_by(names) if name in checks)
        if not takers:
            continue
        low, middle, high = (
            float(product.share(value, one.taper, job.rules, taper))
            for value in (one.lower, one.expected, one.upper)
        )
        found.append(
            MeasuredShare(
                product=product,
                record=one,
                lower=low,
                expected=middle,
                upper=high,
                checks=takers,
            )
        )
    return tuple(found)


def read_measured(
    texts: Texts,
    settings: Settings,
    wood: WoodInput | None,
    material: Material | None,
    tubes: Sequence[TubeInput],
    *,
    as_recorded: bool = False,
) -> tuple[Measured, ...]:
    """Return what was measured on a job's own wood, material and tube.

    What somebody sets by hand wins: a product whose judgement number is set is not taken, and that
    is said.

    Parameters
    ----------
    texts : Texts
        For --without, and to keep faults and warnings.
    settings : Settings
        Judgement numbers; lengths that were measured are written into them.
    wood : WoodInput or None
        The wood.
    material : Material or None
        The print material.
    tubes : sequence of TubeInput
        The tubes.
    as_recorded : bool
        Whether the judgement numbers are those of an earlier part, which stay.
    """
    text = texts.given("without")
    if text is not None and text.casefold() != _LEFT_OUT:
        texts.refuse("--without leaves out nothing of this name", quoted(text), _LEFT_OUT,
                     "such as --without measured")  # fmt: skip
    if text is not None or material is None:
        return ()
    return found_for(settings, wood, material, tubes, texts, as_recorded=as_recorded)


def with_measured(job: Job) -> Job:
    """Return a job that was read without measurements with them.

    Parameters
    ----------
    job : Job
        As read with --without measured.
    """
    inputs = {name: text for name, text in job.inputs.items() if name != "without"}
    settings = Settings(dict(job.rules), dict(job.user_rules), dict(job.forced))
    texts = Texts({})
    measured = found_for(settings, job.wood, job.material, job.tubes, texts)
    return replace(
        job,
        inputs=inputs,
        measured=measured,
        rules=settings.rules,
        user_rules=settings.user_rules,
    )


def found_for(
    settings: Settings,
    wood: WoodInput | None,
    material: Material,
    tubes: Sequence[TubeInput],
    texts: Texts,
    *,
    as_recorded: bool = False,
) -> tuple[Measured, ...]:
    """Return what was measured on a wood, material and tubes, as `read_measured` does.

    Parameters
    ----------
    settings : Settings
        Judgement numbers; lengths that were measured are written into them.
    wood : WoodInput or None
        The wood.
    material : Material
        The print material.
    tubes : sequence of TubeInput
        The tubes.
    texts : Texts
        To keep faults and warnings.
    as_recorded : bool
        Whether the judgement numbers are those of an earlier part, which stay.
    """
    places = {"wood": {wood.name} if wood else set(), "part": {""},
              "tube": {tube_word(tube) for tube in tubes[:1]} - {""}}  # fmt: skip
    best: dict[str, Measured] = {}
    records = texts.collect.read(_all) or ()
    for one in records:
        product = PRODUCTS.get(one.product)
        if product is None or one.material != material.id:
            continue
        if (one.wood or one.tube) not in places[product.on]:
            continue
        if one.product not in best or one.n > best[one.product].n:
            best[one.product] = one
    taken = []
    for name, one in sorted(best.items()):
        by_hand = [
            rule for rule in PRODUCTS[name].rules if settings.user_rules.get(rule) in _BY_HAND
        ]
        if by_hand:
            texts.warnings.append(
                f"{PRODUCTS[name].title} was measured, but {by_hand[0]} is set by hand, which wins"
            )
            continue
        taken.append(one)
        for rule, end in ({} if as_recorded else _AS_RULES.get(name, {})).items():
            settings.rules[rule] = getattr(one, end)
            settings.user_rules[rule] = one.status
    return tuple(taken)


_BY_HAND = {"option", "kit"}


def _all(_text: str = "") -> tuple[Measured, ...]:
    return tuple(record.measured for record in catalog.measured_records().values())
