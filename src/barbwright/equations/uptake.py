"""What a hole takes up, against what another hole was measured to: two ends of geometry.

Sap conducts along the stem some hundreds of times better than across it, so a hole drinks through
the vessels it cuts: as its open length times its diameter. Were wood alike all ways, it would
drink as a line does in a half space. The truth lies between.
"""

from __future__ import annotations

import numpy as np

from barbwright.equations import Number


def cut_area_share(
    hole_mm: Number, open_mm: Number, reference_hole_mm: Number, reference_open_mm: Number
) -> Number:
    """Return a hole's conductance over another's by the vessels both cut.

    Parameters
    ----------
    hole_mm, open_mm : float or array
        Diameter of the hole and its length in open sapwood [mm].
    reference_hole_mm, reference_open_mm : float or array
        The same of the hole that was measured [mm].

    Returns
    -------
    float or array
        d L/(d0 L0) [-].

    Notes
    -----
    Equation: none: own; flow along the stem alone, in proportion to the area a hole cuts.
    Valid: Axial conductance far above tangential; sapwood alike along the hole.

    Examples
    --------
    >>> round(float(cut_area_share(6.2, 23.0, 11.0, 40.0)), 3)
    0.324

    Source: own_derivation, comstock1970
    """
    return hole_mm * open_mm / (reference_hole_mm * reference_open_mm)


def line_source_share(
    hole_mm: Number, open_mm: Number, reference_hole_mm: Number, reference_open_mm: Number
) -> Number:
    """Return a hole's conductance over another's as lines in wood that conducts alike all ways.

    Parameters
    ----------
    hole_mm, open_mm : float or array
        Diameter of the hole and its length in open sapwood [mm].
    reference_hole_mm, reference_open_mm : float or array
        The same of the hole that was measured [mm].

    Returns
    -------
    float or array
        (L/asinh(2L/d))/(L0/asinh(2L0/d0)) [-].

    Notes
    -----
    Equation: slender line source that begins at a wall, L/asinh(2L/d): Hvorslev (1951), case 7, a
    hole extended at a tight boundary (from memory, number not seen); as of a driven ground rod,
    rho ln(2 L/r)/(2 pi L).
    Valid: A hole several times longer than wide; the upper end for wood.

    Examples
    --------
    >>> round(float(line_source_share(6.2, 23.0, 11.0, 27.0)), 3)
    0.723

    Source: own_derivation
    """
    own = open_mm / np.arcsinh(2.0 * open_mm / hole_mm)
    return own / (reference_open_mm / np.arcsinh(2.0 * reference_open_mm / reference_hole_mm))
