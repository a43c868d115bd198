"""A line in wood that conducts alike all ways, against the field of a slender spheroid."""

from math import atanh, sqrt

import pytest

from barbwright.equations.uptake import line_source_share


def spheroid(length, width):
    """Conductance of half a prolate spheroid on a wall over that of wood, by its confocal field.

    The capacitance of a whole one of half axes L and d/2: C = 4 pi e c/atanh(c/L), c the focal
    half length (from memory, any text on potential theory); a wall through its middle halves it.
    """
    focal = sqrt(length**2 - (width / 2.0) ** 2)
    return focal / atanh(focal / length)


@pytest.mark.parametrize(
    ("hole", "length", "other", "other_length"),
    [(6.2, 230.0, 11.0, 270.0), (0.5, 40.0, 1.0, 90.0), (3.0, 600.0, 11.0, 200.0)],
)
def test_a_slender_hole_is_a_spheroid_of_its_length_and_width(hole, length, other, other_length):
    expected = spheroid(length, hole) / spheroid(other_length, other)
    found = line_source_share(hole, length, other, other_length)
    assert found == pytest.approx(expected, rel=1e-3)


def test_a_hole_that_is_not_slender_is_the_line_by_hand():
    # asinh(x) = ln(x + root(x2 + 1)): 46/6.2 gives ln 14.906, 54/11 gives ln 9.919.
    assert line_source_share(6.2, 23.0, 11.0, 27.0) == pytest.approx(
        (23.0 / 2.7018) / (27.0 / 2.2945), rel=1e-4
    )
