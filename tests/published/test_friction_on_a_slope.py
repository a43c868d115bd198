"""Two forces on a slope add as they do on a tip's flank: F (sin a + mu cos a), and less to hold.

No print of a barb pushed into a tube or of a tip driven into wood was found. These hold the two
terms and their signs; the cone itself stands in `test_cone_clutch.py`.
"""

import numpy as np
import pytest

from barbwright.equations.seat import driving_force, holding_force
from printed import printed


def test_100_lb_on_a_slope_of_4_in_3():
    """Statics and Strength of Materials, example 6.2, public companion (seen): 104 and 56 lb."""
    taper = 2.0 * 4.0 / 3.0
    assert printed(driving_force(1.0, 100.0, taper, 0.40), "104")
    # It slides down by itself: what holds it back is the same force with the other sign.
    assert printed(-holding_force(1.0, 100.0, taper, 0.40), "56")


@pytest.mark.parametrize(("angle_deg", "effort"), [(12.0, 1500.0), (15.0, 1720.0)])
def test_a_body_of_4462_n_moved_up_two_slopes(angle_deg, effort):
    """Public companion of a text on machines, example 10.2 (seen): friction 0.131, 4462 N."""
    taper = 2.0 * np.tan(np.radians(angle_deg))
    # Friction is printed with three digits: half of the last is 2 N.
    assert driving_force(1.0, 4462.0, taper, 0.131) == pytest.approx(effort, abs=2.5)
