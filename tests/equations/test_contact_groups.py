"""A full cylinder that yields, and the surfaces read over it."""

import numpy as np
import pytest
from scipy.integrate import quad

from barbwright.equations.contact import (
    Surface,
    bending_length,
    cylinder_force,
    land_scale,
    read_surface,
    tube_groups,
    yielding_contact,
)
from barbwright.equations.grip import neo_hookean_contact


def by_quadrature(modulus, stress, hardening, inner, outer, expansion):
    """Written out anew: 2/sqrt 3 times true stress over the radius, in the radius as it is."""
    a0, a = inner / 2.0, inner / 2.0 * (1.0 + expansion)
    b = np.sqrt(a * a + (outer**2 - inner**2) / 4.0)

    def slope(r):
        strain = 2.0 / np.sqrt(3.0) * np.log(r / np.sqrt(r * r - a * a + a0 * a0))
        plastic = max(strain - stress / modulus, 0.0) / (1.0 + hardening * stress / modulus)
        return 2.0 / np.sqrt(3.0) * min(modulus * strain, stress * (1 + hardening * plastic)) / r

    return quad(slope, a, b, limit=200)[0]


@pytest.mark.parametrize("expansion", [0.03, 0.1, 0.2, 0.3])
@pytest.mark.parametrize("hardening", [0.3, 1.0, 3.0])
def test_a_yielding_cylinder_is_the_integral_over_its_wall(expansion, hardening):
    ours = yielding_contact(250.0, 9.5, hardening, 4.318, 6.35, expansion)
    assert ours == pytest.approx(
        by_quadrature(250.0, 9.5, hardening, 4.318, 6.35, expansion), rel=5e-3
    )


def test_without_a_yield_it_is_the_neo_hookean_closed_form():
    assert yielding_contact(5.5, np.nan, 1.0, 6.35, 9.525, 0.2) == neo_hookean_contact(
        5.5, 6.35, 9.525, 0.2
    )


def test_a_yield_out_of_reach_is_the_elastic_cylinder_at_small_strain():
    """The neo-Hookean and the log-strain wall have one modulus."""
    assert yielding_contact(5.5, 1e9, 1.0, 6.35, 9.525, 1e-4) == pytest.approx(
        neo_hookean_contact(5.5, 6.35, 9.525, 1e-4), rel=1e-3
    )


def groups(**more):
    given = {
        "inner_mm": 4.318, "outer_mm": 6.35, "crest_mm": 5.12, "root_mm": 4.32, "land_mm": 0.8,
        "pitch_mm": 3.09, "modulus_mpa": 250.0, "yield_mpa": 9.5, "hardening_over_yield": 1.0,
        "friction": 0.2,
    }  # fmt: skip
    return tube_groups(**{**given, **more})


def test_groups_have_no_unit():
    """A barb, a tube and a stiffness twice as large are the same point of the table."""
    small = groups()
    lengths = {
        "inner_mm": 8.636, "outer_mm": 12.7, "crest_mm": 10.24, "root_mm": 8.64, "land_mm": 1.6,
        "pitch_mm": 6.18,
    }  # fmt: skip
    large = groups(**lengths, modulus_mpa=500.0, yield_mpa=19.0)
    for name, value in small.items():
        assert large[name] == pytest.approx(value, abs=1e-12), name
    assert large.pressure_mpa == pytest.approx(2.0 * small.pressure_mpa)
    assert cylinder_force(large) == pytest.approx(8.0 * cylinder_force(small))
    assert land_scale(large) == pytest.approx(2.0 * land_scale(small))


def test_bending_length_is_of_mean_radius_and_wall():
    assert bending_length(4.0, 6.0) == pytest.approx(np.sqrt(2.5 * 1.0))


def flat_surface(**more):
    names = ("expansion", "friction")
    given = {
        "names": names, "middle": (0.0, 0.0), "spread": (1.0, 1.0), "least": (-3.0, -2.0),
        "most": (-1.0, 0.0), "terms": (0.5, 1.0, 2.0), "lengths": (2.0, 0.5),
        "centres": ((-2.0, -1.0), (-1.5, -1.6)), "weights": (0.3, -0.2), "error": 0.1,
    }  # fmt: skip
    return Surface(**{**given, **more})


def test_a_surface_is_a_plane_and_hills():
    at = groups()
    x, y = float(at["expansion"]), float(at["friction"])
    asked = 0.5 + x + 2.0 * y
    for weight, (a, b) in ((0.3, (-2.0, -1.0)), (-0.2, (-1.5, -1.6))):
        asked += weight * np.exp(-(((x - a) / 2.0) ** 2 + ((y - b) / 0.5) ** 2) / 2.0)
    assert read_surface(flat_surface(), at) == pytest.approx(np.exp(asked))


def test_one_place_alone_reads_the_same_as_among_many():
    crests = np.linspace(4.7, 5.3, 9000)
    many = read_surface(flat_surface(), groups(crest_mm=crests))
    for index in (0, 4095, 4096, 8999):
        assert read_surface(flat_surface(), groups(crest_mm=crests[index])) == many[index]


def test_outside_its_range_a_surface_is_not_a_number():
    assert np.isnan(read_surface(flat_surface(), groups(friction=0.1)))
    assert np.isnan(read_surface(flat_surface(), groups(crest_mm=6.5)))
    assert np.isnan(read_surface(flat_surface(), groups(inner_mm=np.nan)))


def test_a_tube_that_is_hardly_stretched_takes_the_least_ratio_and_no_pressure():
    at = groups(crest_mm=np.array([4.318, 4.33, 4.40, 4.6]))
    found = read_surface(flat_surface(), at) * at.pressure_mpa
    assert found[0] == 0.0
    assert np.all(np.diff(found) > 0.0)


def test_each_group_by_hand():
    """Wall 1 and mean radius 2.5: a bending length of sqrt 2.5. A crest a quarter over the bore."""
    at = groups(
        inner_mm=4.0, outer_mm=6.0, crest_mm=5.0, root_mm=4.5, land_mm=0.8, pitch_mm=3.0,
        modulus_mpa=250.0, yield_mpa=10.0, hardening_over_yield=1.5, friction=0.3,
    )  # fmt: skip
    by_hand = {
        "expansion": 0.25, "wall": 1.5, "span": 2.2 / np.sqrt(2.5), "land": 0.8 / np.sqrt(2.5),
        "friction": 0.3, "yield": 0.04, "hardening": 1.5,
    }  # fmt: skip
    assert {name: float(np.exp(at[name])) for name in by_hand} == pytest.approx(by_hand)
    # The root keeps an eighth of the bore, half of what the crest stretches.
    assert float(at["root"]) == pytest.approx(0.5)
    assert at.pressure_mpa == yielding_contact(250.0, 10.0, 1.5, 4.0, 6.0, 0.25)
    # Three barbs, each as if it pressed over a bending length; a land gathers one barb's.
    area = np.pi * 5.0 * np.sqrt(2.5)
    assert cylinder_force(at) == pytest.approx(3.0 * at.pressure_mpa * area)
    assert land_scale(at) * 0.8 == pytest.approx(at.pressure_mpa * np.sqrt(2.5))


def test_a_root_under_the_bore_keeps_nothing_and_a_small_crest_counts_as_a_fiftieth():
    assert float(groups(root_mm=3.9)["root"]) == 0.0
    small = groups(inner_mm=4.0, crest_mm=4.04, root_mm=4.02)
    assert np.exp(small["expansion"]) == pytest.approx(0.02)
    assert float(small["root"]) == pytest.approx(0.005 / 0.02)
    slack = groups(crest_mm=4.0)
    assert np.exp(slack["expansion"]) == pytest.approx(0.02)
    assert slack.pressure_mpa == 0.0


def test_a_yielding_wall_all_elastic_is_summed_to_six_digits():
    """Without the yield's corner the wall is smooth, and four points are many."""
    ours = yielding_contact(250.0, 1e6, 0.0, 4.318, 6.35, 0.2)
    assert ours == pytest.approx(by_quadrature(250.0, 1e6, 0.0, 4.318, 6.35, 0.2), rel=2e-6)


def test_a_range_is_read_a_fiftieth_over_its_ends_as_at_its_ends():
    """Friction from exp(-2) to 1, two wide: 0.04 over is the limit, in logarithms."""
    surface = flat_surface(terms=(0.5, 0.0, 2.0), weights=(0.0, 0.0))

    def read(friction):
        return float(read_surface(surface, groups(friction=np.exp(friction))))

    for end, out in ((0.0, 1.0), (-2.0, -1.0)):
        assert read(end) == pytest.approx(np.exp(0.5 + 2.0 * end))
        assert read(end + 0.039 * out) == read(end)
        assert np.isnan(read(end + 0.041 * out))
    # A small stretch or a low root is no fault; too large a one is.
    stretch = flat_surface(terms=(0.5, 1.0, 0.0), weights=(0.0, 0.0), least=(-1.5, -2.0))
    assert read_surface(stretch, groups(crest_mm=4.4)) == pytest.approx(np.exp(0.5 - 1.5))
    low = flat_surface(names=("root", "friction"), least=(0.1, -2.0), most=(0.9, 0.0))
    roots = [float(read_surface(low, groups(root_mm=root))) for root in (3.0, 4.0, 4.3)]
    assert roots == [roots[0]] * 3
    assert np.isfinite(roots[0])
    assert np.isnan(read_surface(low, groups(root_mm=5.11)))


def test_what_is_unknown_of_a_tube_is_unknown_of_its_surface():
    for lost in ("crest_mm", "root_mm", "friction"):
        surface = flat_surface(names=("expansion", "root", "friction"), middle=(0.0,) * 3,
                               spread=(1.0,) * 3, least=(-3.0, 0.0, -2.0), most=(-1.0, 1.0, 0.0),
                               terms=(0.5, 1.0, 1.0, 2.0), lengths=(1.0,) * 3,
                               centres=((0.0,) * 3,), weights=(0.1,))  # fmt: skip
        assert np.isfinite(read_surface(surface, groups()))
        assert np.isnan(read_surface(surface, groups(**{lost: np.nan})))


def test_a_surface_moves_and_scales_each_group_before_it_is_a_plane():
    """Middle and spread: one spread over the middle is one step along the plane."""
    surface = flat_surface(middle=(-2.0, -1.2), spread=(0.5, 0.25), weights=(0.0, 0.0))
    at = groups(inner_mm=4.0, crest_mm=4.0 * (1.0 + np.exp(-1.5)), friction=np.exp(-1.7))
    assert read_surface(surface, at) == pytest.approx(np.exp(0.5 + 1.0 * 1.0 + 2.0 * -2.0))
