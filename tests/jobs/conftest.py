"""Standing here, this file lets the page tests use the headless browser of tests/report.

And it lets the tests of this folder share what is found once of one part: most of them change the
chain around the same two parts. The first one that asks has it truly worked out.
"""

import sys
from dataclasses import asdict
from pathlib import Path

import pytest

from barbwright.jobs import chain

sys.path.append(str(Path(__file__).parents[1] / "report"))


def once(function):
    """Return a function of a kind, a job and plain arguments that is asked once for each."""
    found = {}

    def shared(kind, job, *arguments, **more):
        # The job's own record tells all that it was made from: inputs, records and figures.
        key = (kind.name, repr(asdict(job)), arguments, tuple(more.items()))
        if key not in found:
            found[key] = function(kind, job, *arguments, **more)
        return found[key]

    return shared


@pytest.fixture(scope="session", autouse=True)
def _parts_rated_once():
    with pytest.MonkeyPatch.context() as patch:
        for name in ("rate_drawn", "widest_bore"):
            patch.setattr(chain, name, once(getattr(chain, name)))
        yield
