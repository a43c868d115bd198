"""A million design-load points in one run: time a point, and the memory it needs."""

import resource
import sys
import time

import pytest

from barbwright.design.part import KINDS
from barbwright.jobs.rate import read_axes
from barbwright.rating.sweep import sweep
from example_job import job_of


@pytest.mark.bench
def test_a_million_points_in_one_run_within_bounded_memory():
    job = job_of("elbow")
    texts = {"bits": "3/16..3/8", "materials": "all", "woods": "all", "pressures": "20psi..120psi"}
    axes = read_axes(job, KINDS["elbow"], texts, 301)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    begin = time.perf_counter()
    found = sweep(KINDS["elbow"], job, axes)
    taken = time.perf_counter() - begin
    grown = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024.0
    count = found.code.size
    sys.stdout.write(
        f"{count:,} points in {taken:.1f} s: {1e6 * taken / count:.1f} us a point, "
        f"{grown:.0f} MB more at most\n"
    )
    assert count > 1_000_000
    assert grown < 400.0
    assert taken < 300.0
