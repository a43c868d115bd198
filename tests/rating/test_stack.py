"""Many conditions as one: the same numbers back, plain where they do not differ."""

from random import Random

import numpy as np
import pytest

from barbwright.job import numbers
from barbwright.job.reading import read_job
from barbwright.rating.choices import bit_axis, combined, material_axis, tube_axis, with_tube
from barbwright.rating.stack import stack, take
from random_jobs import random_job


def flat(record):
    """Every number of a record by its path."""
    for name, value in vars(record).items():
        if name == "rules":
            continue
        for place, one in enumerate(value if isinstance(value, tuple) else (value,)):
            if hasattr(one, "__dataclass_fields__"):
                for path, number in flat(one):
                    yield f"{name}{place}.{path}", number
            else:
                yield f"{name}{place}", one


def test_each_row_of_a_stack_is_the_record_it_came_from():
    random = Random("stack")
    many = [numbers.conditions(random_job(random, "elbow", sound=True)[1]) for _ in range(30)]
    stacked = stack(many)
    assert np.shape(stacked.highest_mpa) == (30,)
    for row, one in enumerate(many):
        taken = dict(flat(take(stacked, np.array([row]))))
        for path, number in flat(one):
            np.testing.assert_array_equal(np.ravel(taken[path])[0], np.ravel(number)[0], path)


def test_what_is_the_same_in_all_stays_a_plain_number():
    job = random_job(Random(1), "tee", sound=True)[1]
    stacked = stack([numbers.conditions(job)] * 3)
    assert all(np.ndim(number) == 0 for _, number in flat(stacked))


def test_an_axis_of_bits_is_what_the_kit_reads_bit_by_bit():
    from barbwright import catalog
    from barbwright.rating.choices import with_bit

    job = random_job(Random(2), "elbow", sound=True)[1]
    bits = list(catalog.bits().values())[::37]
    slow = stack([numbers.conditions(with_bit(job, bit)) for bit in bits])
    fast = bit_axis(job, bits).stacked
    for name in ("bit_mm", "hole_low_mm", "hole_high_mm"):
        np.testing.assert_array_equal(getattr(fast, name), getattr(slow, name))


def test_an_axis_of_tubes_sets_its_own_end_alone():
    from barbwright import catalog

    tubes = [tube for tube in catalog.tubes().values() if tube.od_mm is not None][::9]
    job = read_job(
        {"tube_id": "4mm", "tube2_id": "6mm", "pressure": "40psi"}, needs_tip=False, two_ends=True
    )
    first, second = tube_axis(job, tubes), tube_axis(job, tubes[::-1], 1)
    rows = np.arange(len(tubes))
    both = combined(numbers.conditions(job), [first, second], [rows, rows])
    for row, (one, other) in enumerate(zip(tubes, tubes[::-1], strict=True)):
        want = numbers.conditions(with_tube(with_tube(job, one), other, 1))
        assert np.ravel(both.tubes[0].inner_mm)[row] == want.tubes[0].inner_mm
        assert np.ravel(both.tubes[1].inner_mm)[row] == want.tubes[1].inner_mm
        got = np.ravel(both.tubes[1].modulus_high_mpa)[row]
        assert got == pytest.approx(want.tubes[1].modulus_high_mpa, nan_ok=True)


def test_points_of_a_grid_take_each_input_from_its_axis():
    from barbwright import catalog

    job = random_job(Random(3), "elbow", sound=True)[1]
    bits, materials = list(catalog.bits().values())[:5], list(catalog.materials().values())
    axes = [bit_axis(job, bits), material_axis(job, materials)]
    rows = [index.ravel() for index in np.indices((len(bits), len(materials)))]
    points = combined(numbers.conditions(job), axes, rows)
    assert list(points.bit_mm) == [bit.diameter_mm for bit in bits for _ in materials]
    assert list(points.material.tolerance_mm) == [one.tolerance_mm for one in materials] * len(bits)
