"""Hundreds of parts in one process: memory does not grow with their number."""

import gc

import numpy as np
from reach import drawn, figures, many, only_full

from barbwright.design.part import KINDS
from barbwright.errors import BarbwrightError
from barbwright.jobs.make import make_part
from barbwright.jobs.plan import plan_part
from barbwright.reread.worker import Rereader
from random_jobs import random_job

pytestmark = only_full
PAGE_MB = 4096 / 1e6
# What a part may leave behind: three hundred of them a tenth of what the kernel itself takes.
MOST_MB_A_PART = 0.3


def resident_mb():
    with open("/proc/self/statm") as file:
        return int(file.read().split()[1]) * PAGE_MB


def test_memory_does_not_grow_with_the_number_of_parts(tmp_path):
    asked, seen, tried = many(300, 0.08), [], 0
    with Rereader() as rereader:
        while len(seen) < asked:
            kind, job = random_job(drawn("memory", tried), sound=True)
            tried += 1
            try:
                plan = plan_part(KINDS[kind], job)
                make_part(plan, tmp_path, ("stl",), force=True, anyway=True, rereader=rereader)
            except BarbwrightError:
                continue
            gc.collect()
            seen.append(resident_mb())
    # The first parts load what all need.
    late = np.array(seen[len(seen) // 3 :])
    place = np.arange(late.size)
    (slope, _), covered = np.polyfit(place, late, 1, cov=True)
    off = 1.96 * float(np.sqrt(covered[0, 0]))
    figures(f"\ncampaign memory: {asked} parts, {seen[0]:.0f} to {seen[-1]:.0f} MB, slope "
          f"{slope * 1000:.1f} +- {off * 1000:.1f} kB a part (95 %)")  # fmt: skip
    assert slope - off < MOST_MB_A_PART
