"""S. W. Churchill, friction factor equation spans all fluid flow regimes, Chem. Eng. 84 (1977) 91.

Values recomputed from the printed formula (status own), not printed by the source.
"""

import pytest

from barbwright.equations.friction import darcy_friction_factor


def test_laminar():
    """64/Re at Reynolds 1000 (status own)."""
    assert darcy_friction_factor(1000.0) == pytest.approx(0.064, rel=1e-12)


@pytest.mark.parametrize(
    ("reynolds", "roughness", "expected"),
    [(1e5, 1e-4, 0.0184626246), (2500.0, 0.0, 0.0351450916)],
)
def test_formula(reynolds, roughness, expected):
    """Recomputed (status own)."""
    assert darcy_friction_factor(reynolds, roughness) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(
    ("name", "expected"), [("Colebrook", 0.018513866077), ("Haaland", 0.018265053)]
)
def test_agrees_with_other_formulas_for_turbulent_flow(name, expected):
    """Reynolds 1e5, roughness 1e-4; other authors' formulas, recomputed: within 1.5 %."""
    assert darcy_friction_factor(1e5, 1e-4) == pytest.approx(expected, rel=0.015), name
