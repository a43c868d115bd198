"""Loss coefficients of fittings: three-constant form, entrance, steps in bore, exit.

Every coefficient multiplies the velocity pressure in the bore named in its docstring. All are
good to about +-50 % at these bores and Reynolds numbers; a report shows the doubled case.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barbwright.equations import Number, square

BLEND_FROM_REYNOLDS = 1000.0
BLEND_TO_REYNOLDS = 5000.0
# Loss goes with K Re^2: over a five-fold Reynolds number K may fall 25-fold before the loss falls.
LEAST_TURBULENT_SHARE = 1.0 / 20.0


@dataclass(frozen=True)
class ThreeConstants:
    """The constants of one kind of fitting in the three-constant form.

    Parameters
    ----------
    name : str
        Kind of fitting in the source's words [-].
    k_laminar : float
        K1, over the Reynolds number [-].
    k_infinite : float
        Ki, in a very large and turbulent fitting [-].
    k_diameter : float
        Kd, growth with small size [in^0.3].
    """

    name: str
    k_laminar: float
    k_infinite: float
    k_diameter: float


TEE_RUN = ThreeConstants("tee, run-through, flanged", 150.0, 0.05, 4.0)
TEE_BRANCH = ThreeConstants("tee, through-branch (as elbow), flanged", 800.0, 0.28, 4.0)
MITRED_ELBOW = ThreeConstants("elbow, 90 degrees, mitred, 1 weld", 1000.0, 0.27, 4.0)


@dataclass(frozen=True, kw_only=True)
class FittingGeometry:
    """What the flow sees of one printed fitting; a design fills it in.

    Parameters
    ----------
    kind : str
        ``tee`` (run through two barbs, branch into the tip) or ``elbow`` (one barb, tip) [-].
    run_bore_mm : float
        Bore of the barbed arms [mm].
    tip_bore_mm : float
        Bore of the tip [mm].
    run_length_mm : float
        From barb end to barb end of a tee, or barb end to crossing of an elbow [mm].
    tip_length_mm : float
        Crossing to the tip's outlet [mm].
    relief_mm : float
        Relief ball at the crossing; 0 for none. The tip's bore is entered from it [mm].
    stop_mm : float
        Crossing to the shoulder where the tube stops; 0 takes the barb's end [mm].
    """

    kind: str
    run_bore_mm: float
    tip_bore_mm: float
    run_length_mm: float
    tip_length_mm: float
    relief_mm: float = 0.0
    stop_mm: float = 0.0

    @property
    def arm_length_mm(self) -> float:
        """Crossing to the end of one barb [mm]."""
        return self.run_length_mm / 2.0 if self.kind == "tee" else self.run_length_mm


def three_constant_limit(constants: ThreeConstants, bore_mm: float) -> float:
    """Part of the three-constant loss that does not depend on flow, Ki (1 + Kd / D^0.3), D in inch.

    Parameters
    ----------
    constants : ThreeConstants
        The kind of fitting [-].
    bore_mm : float
        Bore of the fitting [mm].

    Returns
    -------
    float
        Loss coefficient at a very high Reynolds number, on the fitting's own bore [-].

    Notes
    -----
    Equation: Darby, eq. 7-38 (number from memory), at an endless Reynolds number.
    Valid: As `three_constant_loss`.

    Examples
    --------
    >>> round(three_constant_limit(TEE_RUN, 25.4), 3)
    0.25

    Source: silverberg_darby1999
    """
    return float(three_constant_loss(constants, np.inf, bore_mm))


def three_constant_loss(constants: ThreeConstants, reynolds: Number, bore_mm: Number) -> Number:
    """Loss coefficient K1/Re + Ki (1 + Kd / D^0.3), Silverberg and Darby.

    The arithmetic is the fluids library's `Darby3K`, handed the bore in inches as its size. Its
    own way from a bore to a nominal size is not used: it extrapolates the schedule-40 table, and
    below the smallest pipe (6.8 mm) that runs into negative sizes and a complex loss (at 4 mm).
    Using a bore where the source used nominal pipe sizes of 1/2 in and more is an extrapolation.

    Parameters
    ----------
    constants : ThreeConstants
        The kind of fitting [-].
    reynolds : float or array
        Reynolds number in the fitting's bore, above 0 [-].
    bore_mm : float or array
        Bore of the fitting [mm].

    Returns
    -------
    float or array
        Loss coefficient on the velocity in the fitting's own bore [-].

    Notes
    -----
    Equation: Darby, Chemical Engineering Fluid Mechanics, eq. 7-38 (number from memory), with
    the constants of Silverberg and Darby 1999.
    Valid: Pipes of 1/2 in and more by its source, any Reynolds number; smaller bores are an
    extrapolation, told as +-50 %.

    Examples
    --------
    >>> round(float(three_constant_loss(TEE_RUN, 1000.0, 25.4)), 3)
    0.4

    Source: silverberg_darby1999
    """
    from fluids.fittings import Darby3K

    value: Number = Darby3K(
        NPS=np.asarray(bore_mm, float)[()] / 25.4,
        Re=np.asarray(reynolds, float)[()],
        K1=constants.k_laminar,
        Ki=constants.k_infinite,
        Kd=constants.k_diameter,
    )
    return value


def entrance_loss() -> float:
    """Loss coefficient of a sharp entrance from a vessel, 0.5, on the tube's velocity.

    Returns
    -------
    float
        Loss coefficient [-].

    Notes
    -----
    Equation: Crane TP-410, page A-29, flush and sharp-edged (from memory).
    Valid: Turbulent flow; a slow one is told as +-50 %.

    Examples
    --------
    >>> entrance_loss()
    0.5

    Source: crane_tp410
    """
    from fluids.fittings import entrance_sharp

    return float(entrance_sharp(method="Crane"))


def contraction_loss(wide_bore_mm: float, narrow_bore_mm: float) -> float:
    """Loss coefficient of a sudden contraction, 0.5 (1 - s), s the ratio of areas.

    Parameters
    ----------
    wide_bore_mm : float
        Bore upstream [mm].
    narrow_bore_mm : float
        Bore downstream, not wider [mm].

    Returns
    -------
    float
        Loss coefficient on the velocity in the narrow bore [-].

    Notes
    -----
    Equation: Crane TP-410, page A-26, formula 2 at 180 degrees (from memory).
    Valid: Turbulent flow; a slow one is told as +-50 %.

    Examples
    --------
    >>> contraction_loss(4.0, 2.0)
    0.375

    Source: crane_tp410
    """
    from fluids.fittings import contraction_sharp

    return float(contraction_sharp(Di1=wide_bore_mm, Di2=narrow_bore_mm, method="Crane"))


def expansion_loss_laminar(area_ratio: Number) -> Number:
    """Loss coefficient of a sudden expansion in laminar flow, 2 - 8s/3 + 2 s^2/3.

    Momentum and energy with a parabolic profile on both sides (momentum factor 4/3, energy factor
    2): K = 2 - 2 (4/3) s + (2 (4/3) - 2) s^2. The fluids library has only Hooper's 2 (1 - s^2)
    here, which ignores the pressure regained behind the step: 50 % more at s = 1/3.

    Parameters
    ----------
    area_ratio : float or array
        Narrow over wide area, 0 for an exit [-].

    Returns
    -------
    float or array
        Loss coefficient on the velocity in the narrow bore [-].

    Notes
    -----
    Equation: none: own balance of momentum and energy, its factors in any text on laminar
    flow.
    Valid: Reynolds up to 1000, a parabolic profile on both sides.

    Examples
    --------
    >>> float(expansion_loss_laminar(0.0))
    2.0

    Source: borda_carnot, own_derivation
    """
    s = np.asarray(area_ratio, float)
    return (2.0 - 8.0 * s / 3.0 + 2.0 * square(s) / 3.0)[()]


def expansion_loss(reynolds: Number, area_ratio: Number) -> Number:
    """Loss coefficient of a sudden expansion, laminar to turbulent; area ratio 0 is an exit.

    Laminar up to Reynolds 1000, turbulent from 5000, between them the logarithm of K goes
    linearly with that of Re (judgement). The pressure lost always rises with the flow: blending K
    itself would make it fall for s above 0.62, and at s above 0.93 the turbulent value is held at
    1/20 of the laminar one (which is then under 0.1) for the same reason.

    Parameters
    ----------
    reynolds : float or array
        Reynolds number in the narrow bore [-].
    area_ratio : float or array
        Narrow over wide area [-].

    Returns
    -------
    float or array
        Loss coefficient on the velocity in the narrow bore [-].

    Notes
    -----
    Equation: Borda-Carnot, (1 - s)2, where turbulent; no number.
    Valid: Area ratios from 0 to 1, any Reynolds number; between 1000 and 5000 judgement.

    Examples
    --------
    >>> round(float(expansion_loss(6000.0, 0.5)), 3)
    0.25

    Source: borda_carnot, judgement
    """
    share = _turbulent_share(area_ratio)
    return expansion_loss_laminar(area_ratio) * share ** _blend(reynolds)


def expansion_exponent(reynolds: Number, area_ratio: Number) -> Number:
    """Logarithmic slope of `expansion_loss`, d ln K / d ln Re, always above -2.

    Parameters
    ----------
    reynolds : float or array
        Reynolds number in the narrow bore [-].
    area_ratio : float or array
        Narrow over wide area [-].

    Returns
    -------
    float or array
        Exponent [-].

    Notes
    -----
    Equation: none: own derivative of `expansion_loss`.
    Valid: As `expansion_loss`; at both ends of the blend the slope of its outside.

    Examples
    --------
    >>> float(expansion_exponent(500.0, 0.5))
    0.0

    Source: own_derivation
    """
    weight = _blend(reynolds)
    inside = (weight > 0.0) & (weight < 1.0)
    slope = np.log(_turbulent_share(area_ratio)) / np.log(BLEND_TO_REYNOLDS / BLEND_FROM_REYNOLDS)
    return np.where(inside, slope, 0.0)[()]


def _turbulent_share(area_ratio: Number) -> Number:
    s = np.asarray(area_ratio, float)
    # (1 - s)^2 over the laminar 2/3 (1 - s)(3 - s), the common factor taken out: finite at s = 1.
    return np.maximum(1.5 * (1.0 - s) / (3.0 - s), LEAST_TURBULENT_SHARE)


def _blend(reynolds: Number) -> Number:
    with np.errstate(divide="ignore"):
        part = np.log(np.asarray(reynolds, float) / BLEND_FROM_REYNOLDS)
    value: Number = np.clip(part / np.log(BLEND_TO_REYNOLDS / BLEND_FROM_REYNOLDS), 0.0, 1.0)
    return value
