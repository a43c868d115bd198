"""What stands in the numbers a part is sized from."""

import numpy as np
import pytest

from barbwright.job import numbers
from example_job import job_of


def test_a_print_s_tolerance_is_the_larger_of_fixed_and_share():
    """The record of mjf_pp: 0.7 mm or 1.75 %."""
    material = numbers.conditions(job_of("barb", material="mjf_pp")).material
    assert material.tolerance_at(10.0) == 0.7
    assert material.tolerance_at(100.0) == pytest.approx(1.75)
    assert material.tolerance_at(np.array([10.0, 100.0])) == pytest.approx([0.7, 1.75])
