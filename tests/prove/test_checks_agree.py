"""What the checks say of driving, freeing and side force, beside finite elements."""

from importlib.util import find_spec

import pytest
from made import made

from barbwright import prove
from barbwright.checks.table import judge_all
from barbwright.prove import require_engine
from slow_bound import some_of

if find_spec("ngsolve") is None:
    pytest.skip("needs the extra fe", allow_module_level=True)
require_engine()  # before netgen: it loads our CAD kernel first

# Load case of `prove`: the check of the same load. Freeing by hand (pull_out) takes the better of
# twist, up to the largest safe torque, and a pull that no case of `prove` has.
SAME_LOAD = {"side": "side_load", "driving": "drive_squash", "twist": "twist_out"}


@pytest.mark.slow
@pytest.mark.parametrize("kind", some_of(["tee", "elbow", "tip"], 0, 2))
def test_no_check_is_a_fifth_above_the_factor_that_elements_find(kind):
    design, _, path = made(kind)
    cases = {case.id: case for case in prove.run(design, path, only=tuple(SAME_LOAD)).cases}
    judged = judge_all(design)
    for case, check in SAME_LOAD.items():
        factor = float(judged[check].safety_factor)
        found = cases[case].safety_factor
        assert cases[case].converged, case
        assert factor <= 1.2 * found, (check, factor, found)
        # Nor is it so far below that nothing could pass which stands: corners cost up to a half.
        assert factor >= 0.4 * found, (check, factor, found)
