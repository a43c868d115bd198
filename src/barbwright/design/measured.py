"""What a bench day can measure: products of judgement numbers, and how checks use them.

Friction twice as high with half the contact is the same hold: a pull cannot tell one from the
other, and the seal, which knows no friction, would be another. So only products are measured, each
by its own test, and each replaces its numbers only where they stand together.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np

from barbwright.equations import Number
from barbwright.equations.seat import taper_half_angle

Rules = Mapping[str, float]


@dataclass(frozen=True, kw_only=True)
class Figures:
    """A measured product as checks use it.

    Attributes
    ----------
    lower, expected, upper : float
        The product at 5, 50 and 95 % of new trees and holes [-].
    taper : float
        Taper it was measured at; 0 where that does not matter [-].
    """

    lower: float
    expected: float
    upper: float
    taper: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Product:
    """One product that a test can tell.

    Attributes
    ----------
    id, title : str
        Key and words.
    formula : str
        What is multiplied, in the symbols of `explain`.
    test, how : str
        Word of the bench form, and what is done.
    unit : str
        Kind of quantity that is read; empty for a ratio.
    contact, friction : str
        The judgement numbers; one may be empty.
    slope : int
        -1 where the taper's slope is taken off the friction, +1 where it is added, 0 neither.
    on : str
        What it belongs to: ``wood`` or ``tube``.
    rises : bool
        Whether more of it is safer: a capacity, not a demand.
    checks : tuple of str
        The checks that take it.
    else_checks : tuple of str
        Those that take it where the hold was not measured, which says more of them.
    minutes : float
        Time for one reading, its share of the waiting included [min].
    """

    id: str
    title: str
    formula: str
    test: str
    how: str
    unit: str
    contact: str
    friction: str
    slope: int
    on: str
    rises: bool
    checks: tuple[str, ...]
    minutes: float
    else_checks: tuple[str, ...] = ()

    @property
    def rules(self) -> tuple[str, ...]:
        """The judgement numbers it stands in for together."""
        return tuple(name for name in (self.contact, self.friction) if name)

    def taken_by(self, measured: Collection[str]) -> tuple[str, ...]:
        """Return the checks that take it.

        Parameters
        ----------
        measured : collection of str
            The products that were measured [-].
        """
        return self.checks if "hold" in measured else (*self.checks, *self.else_checks)

    def value(self, rules: Rules, taper: Number = 0.0) -> Number:
        """Return the product by judgement numbers at a taper [-]."""
        contact = rules[self.contact] if self.contact else 1.0
        if not self.friction:
            return contact
        return contact * self._rub(rules[self.friction], taper)

    def _rub(self, friction: Number, taper: Number) -> Number:
        if not self.slope:
            return friction
        a = taper_half_angle(taper)
        return np.asarray(friction * np.cos(a) + self.slope * np.sin(a))

    def share(self, measured: float, at_taper: float, rules: Rules, taper: Number) -> Number:
        """Return a measured product over that of the judgement numbers, at a part's own taper.

        At another taper than it was measured at it depends on which of the two differs from
        judgement: both are tried, and the worse for the part is taken.

        Parameters
        ----------
        measured : float
            The product [-].
        at_taper : float
            Taper it was measured at; 0 where that does not matter [-].
        rules : mapping
            Judgement numbers.
        taper : float or array
            Of the part [-].
        """
        if not self.slope or not at_taper:
            return np.asarray(measured / self.value(rules, taper)) + 0.0 * taper
        all_contact = measured / self.value(rules, at_taper)
        contact, a = rules[self.contact] if self.contact else 1.0, taper_half_angle(at_taper)
        friction = (measured / contact - self.slope * np.sin(a)) / np.cos(a)
        all_friction = contact * self._rub(friction, taper) / self.value(rules, taper)
        worse = np.minimum if self.rises else np.maximum
        return np.maximum(worse(all_contact, all_friction), 0.0)


PRODUCTS: dict[str, Product] = {
    one.id: one
    for one in (
        Product(
            id="hold",
            title="hold of a seat",
            formula="relaxed contact x (mu cos a - sin a)",
            test="pull",
            how="10 minutes after driving, pull the tip straight out by a scale; write the most "
            "it showed. Where the part must stay whole, stop and write `no` under moved",
            unit="force",
            contact="wood_relaxation",
            friction="wood_friction_hold",
            slope=-1,
            on="wood",
            rises=True,
            checks=("wood_hold", "line_pull", "side_turn"),
            minutes=6.0,
        ),
        Product(
            id="relaxation",
            title="contact that stays",
            formula="contact after 10 minutes over fresh contact",
            test="weep",
            how="raise the water until the fresh seat weeps, and the same seat again 10 minutes "
            "after driving: two rows with wait_min 0 and 10, same log and hole",
            unit="pressure",
            contact="wood_relaxation",
            friction="",
            slope=0,
            on="wood",
            rises=True,
            checks=("wood_seal",),
            else_checks=("wood_hold", "line_pull", "side_turn"),
            minutes=14.0,
        ),
        Product(
            id="drive",
            title="force of driving",
            formula="crush x (mu cos a + sin a)",
            test="drive",
            how="press the tip in through a scale and write the force as a tick passes the bark; "
            "two numbers with `..` between for a driver that clicks",
            unit="force",
            contact="drive_crush_expected",
            friction="drive_friction_expected",
            slope=1,
            on="wood",
            rises=False,
            checks=(
                "drive_squash",
                "drive_buckle",
                "drive_offset",
                "driver_bearing",
                "driver_buckle",
            ),
            minutes=3.0,
        ),
        Product(
            id="twist",
            title="torque that frees a seat",
            formula="contact x mu while freeing",
            test="twist",
            how="turn the connector by a lever and a scale until it first slips; write force "
            "times lever, such as 0.4 N m",
            unit="torque",
            contact="removal_crush_expected",
            friction="removal_friction_expected",
            slope=0,
            on="wood",
            rises=False,
            checks=("twist_out", "pull_out"),
            minutes=5.0,
        ),
        Product(
            id="push",
            title="pushing a tube on",
            formula="softened modulus x mu while pushing",
            test="push",
            how="warm the tube's end in hot water and push it on by a scale; write the most",
            unit="force",
            contact="",
            friction="push_on_friction_expected",
            slope=0,
            on="tube",
            rises=False,
            checks=("push_on",),
            minutes=4.0,
        ),
        Product(
            id="grip",
            title="grip of a tube",
            formula="relaxed contact x mu, and the bite of the crests",
            test="pull_off",
            how="an hour after pushing it on, wet, pull the tube off its barb by a scale; write "
            "the most",
            unit="force",
            contact="relaxation_tube",
            friction="grip_friction",
            slope=0,
            on="tube",
            rises=True,
            checks=("barb_grip", "barb_tug"),
            minutes=5.0,
        ),
        Product(
            id="step",
            title="step lost in printing",
            formula="drawn step less measured step, in mm",
            test="step",
            how="measure crest and root of a barb by calipers; write drawn crest - root less "
            "measured crest - root",
            unit="length",
            contact="step_loss_mm",
            friction="",
            slope=0,
            on="part",
            rises=False,
            checks=("barb_grip", "barb_tug"),
            minutes=2.0,
        ),
        Product(
            id="oversize",
            title="hole over its bit",
            formula="hole less bit, in mm",
            test="hole",
            how="drill, find the widest drill shank or stepped plug that enters, and write its "
            "diameter less the bit's",
            unit="length",
            contact="hole_oversize_low_mm",
            friction="",
            slope=0,
            on="wood",
            rises=False,
            checks=("interference", "wood_hold"),
            minutes=2.0,
        ),
    )
}
# What no test of the list tells, by the checks that lean on it, so that nobody waits for it.
UNTOLD: tuple[tuple[tuple[str, ...], str], ...] = (
    (
        ("line_pull",),
        "of an elbow or tee it bends the tip and rocks it in crushed wood, which no scale tells "
        "without breaking a part; of a tip in line the pull tells it",
    ),
    (
        ("barb_seal", "root_crush"),
        "lean on a tube's contact or its friction alone: telling them apart would take a plain "
        "post to pull off as well, which is not drawn; their sum with the bite, the grip, is told",
    ),
    (
        ("self_holding", "tip_crush", "wood_split"),
        "lean on the wood's friction or its squeeze alone; pull and drive tell their product",
    ),
    (
        ("fork_bearing", "fork_bend"),
        "lean on the pull that frees a tip, contact x (mu cos a - sin a) while it slips; a twist "
        "tells contact x mu there, and a pull tells what held before it slipped",
    ),
    (
        ("drive_buckle", "drive_offset", "driver_buckle"),
        "take the force of driving as measured, but not a hammer's speed, how far the wood gives "
        "and how far from the middle it hits: that takes more than a scale; the step a blow made "
        "can be counted in ticks",
    ),
    (
        ("side_load", "crossing_bores", "tube_rating", "driver_wings", "driver_turns", "fork_pull"),
        "lean on what breaks or bursts a part or a tube, which is no test for a bench",
    ),
    (
        ("pull_check", "fork_reach"),
        "lean on what a hand does and how a tool is held, not on wood, tube or print",
    ),
    (
        ("exposed_wall", "print_bore"),
        "lean on the print service; `barbwright coupon` and `calibrate` tell what it makes",
    ),
)


def untold_of(checks: Collection[str]) -> tuple[str, ...]:
    """Return what no test tells of a part, in sentences.

    Parameters
    ----------
    checks : collection of str
        The checks it is asked [-].
    """
    found = []
    for names, why in UNTOLD:
        mine = [name for name in names if name in checks]
        if mine:
            found.append(f"{', '.join(mine)}: {why}")
    return tuple(found)


TESTS = {product.test: product for product in PRODUCTS.values()}


def shares(
    measured: Mapping[str, Figures], name: str, rules: Rules, taper: Number = 0.0
) -> tuple[Number, Number, Number] | None:
    """Return a measured product over judgement's, at 5, 50 and 95 %; None where none is.

    Parameters
    ----------
    measured : mapping of str to Figures
        What was measured, by product [-].
    name : str
        The product [-].
    rules : mapping
        Judgement numbers [-].
    taper : float or array
        Of the part [-].

    Source: own_derivation
    """
    found = measured.get(name)
    if found is None:
        return None
    low, middle, high = (
        PRODUCTS[name].share(value, found.taper, rules, taper)
        for value in (found.lower, found.expected, found.upper)
    )
    return low, middle, high
