"""L10: Faupel's burst pressure (formula seen), Hearn's collapse (from memory); numbers own."""

from barbwright.equations.cylinder import collapse_pressure, faupel_burst
from barbwright.equations.grip import plastic_contact_cap
from printed import printed


def test_burst_and_collapse_at_k_2():
    assert printed(faupel_burst(30.0, 45.0, 2.0), "32.0")
    assert printed(collapse_pressure(30.0, 2.0, mises=False), "20.79")
    assert printed(collapse_pressure(30.0, 2.0, mises=True), "24.01")


def test_the_cap_on_a_tubes_contact_is_its_von_mises_collapse():
    assert printed(plastic_contact_cap(30.0, 5.0, 10.0), "24.01")
