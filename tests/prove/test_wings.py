"""The necks of a driver's wings by finite elements, beside the beam that judges them."""

from importlib.util import find_spec

import numpy as np
import pytest
from bodies import Support, Traction, flat, meshed, solve

from barbwright.design.kinds.driver import WING_LONG_MM, WING_TALL_MM, WING_THICK_MM
from barbwright.prove import require_engine
from barbwright.prove.mesh import MeshSize
from example_job import design_of

if find_spec("ngsolve") is None:
    pytest.skip("needs the extra fe", allow_module_level=True)
require_engine()  # before netgen: it loads our CAD kernel first

PRESS_N = 20.0


@pytest.mark.slow
def test_half_way_along_its_neck_a_wing_is_bent_as_the_beam_says():
    """One wing on its head, a fingertip's push spread over the paddle's face.

    The inner corners of the neck are sharp, so that no mesh ends their peak: how strong a neck is
    over its beam stays a judgement number. That the push bends it no less than the beam says, so
    that no other way for the load is left out, is what elements can tell.
    """
    from netgen.occ import Box, Cylinder, Pnt, Z

    own = design_of("driver", ("arms=2",)).own
    wings = own.wings
    root, near, far, side = (
        float(one) for one in (wings.root_mm, wings.near_mm, wings.far_mm, wings.neck_mm)
    )
    half, tall, thick = side / 2.0, WING_TALL_MM / 2.0, WING_THICK_MM / 2.0
    assert far - near == WING_LONG_MM
    solid = (
        Cylinder(Pnt(0, 0, -6), Z, r=root, h=12)
        + Box(Pnt(-half, root / 2, -half), Pnt(half, near + 1.0, half))
        + Box(Pnt(-thick, near, -tall), Pnt(thick, far, tall))
    )
    names = {"held": [flat(2, -6.0), flat(2, 6.0)], "pressed": [flat(0, -thick)]}
    middle = (root + near) / 2.0
    sizes = [
        MeshSize((x, middle, z), side / 8.0) for x in (-half, 0.0, half) for z in (-half, 0.0, half)
    ]
    mesh = meshed(solid, names, 2.0, 3, sizes)
    area = WING_LONG_MM * WING_TALL_MM
    model, moved = solve(
        mesh,
        3,
        [Traction(boundary="pressed", vector_mpa=(PRESS_N / area, 0.0, 0.0))],
        supports=[Support(boundary="held", stiffness_n_mm3=1e6)],
    )
    place, stress = model.points().position_mm, model.stresses(moved)
    # All points of the neck near its middle: bending along it, by x, is a straight line.
    inside = (np.abs(place[:, 1] - middle) < 0.3) & (np.abs(place[:, 2]) < half)
    along, across = stress[inside, 1], place[inside, 0]
    assert inside.sum() > 100
    slope = np.polyfit(across, along, 1)[0]
    lever = (near + far) / 2.0 - middle
    beam = PRESS_N * lever / (side**4 / 12.0)
    assert abs(slope) == pytest.approx(beam, rel=0.05)
    # What bends it also twists nothing away: the rest of the section carries no more.
    assert np.abs(along).max() < 1.15 * beam * half
