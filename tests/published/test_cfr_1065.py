"""40 CFR 1065.644, vacuum-decay leak rate: example inputs seen; its result recomputed (own)."""

import pytest

from barbwright.equations.vessel import gas_leak_mol_s


def test_vacuum_decay_example():
    """V 2 L, 50.6 to 25.3 kPa in 70 s at 293.15 K: the sign follows first less second reading."""
    leak = gas_leak_mol_s(0.002, 50600.0, 25300.0, 293.15, 293.15, 70.0)
    assert leak == pytest.approx(0.00029657, rel=1e-4)
