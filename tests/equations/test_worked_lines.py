"""The equations that decide verdicts say where they stand, where they hold, and a worked line."""

import doctest
import inspect

import pytest

from barbwright.equations import column, crossing, cylinder, grip, seat

MODULES = (column, crossing, cylinder, grip, seat)
# Helpers of geometry and what stands beside a verdict without deciding one.
WITHOUT = {
    "crossing_factor", "unequal_bores_factor", "ruess_modulus", "hammer_energy", "segment_area",
}  # fmt: skip
DECIDING = {
    name: function
    for module in MODULES
    for name, function in vars(module).items()
    if inspect.isfunction(function)
    and function.__module__ == module.__name__
    and not name.startswith("_")
    and name not in WITHOUT
}


@pytest.mark.parametrize("name", DECIDING)
def test_equation_range_and_example_are_there(name):
    text = " ".join(inspect.getdoc(DECIDING[name]).split())
    assert "Equation: " in text
    assert "Valid: " in text
    assert ">>> " in text


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__.rsplit(".", 1)[-1])
def test_worked_lines_are_true(module):
    result = doctest.testmod(module)
    assert result.failed == 0
    assert result.attempted > 0
