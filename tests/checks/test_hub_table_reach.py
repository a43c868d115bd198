"""No hub we size ourselves, of any shipped tube, material and bit, is outside the hub's table."""

import numpy as np
import pytest

from barbwright import catalog
from barbwright.checks.corners import worst_case
from barbwright.checks.strength import crossing_bores
from barbwright.design.part import KINDS, design_part
from barbwright.design.refusals import refused
from barbwright.job.reading import read_job
from barbwright.rating.choices import bit_axis

BITS = [bit for bit in catalog.bits().values() if 1.0 <= bit.diameter_mm <= 25.0]


@pytest.mark.parametrize("material", sorted(catalog.materials()))
def test_every_default_hub_stays_inside_the_table(material):
    built = 0
    for tube in catalog.tubes():
        given = {"tube": tube, "bit": "15/64", "pressure": "45psi", "material": material}
        job = read_job(given, needs_tip=True, two_ends=False)
        design = design_part(KINDS["tee"], bit_axis(job, BITS).stacked, {})
        sound = np.broadcast_to(~refused(design), (len(BITS),))
        demand = crossing_bores(worst_case(design)).demand
        assert demand.shape == (4, len(BITS))
        assert np.all(np.isfinite(demand[:, sound])), tube
        built += int(sound.sum())
    assert built > 1000
