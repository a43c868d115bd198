"""Nothing gets better by getting worse, through the door that `make` draws by: the whole search.

Asked of pressure, temperature, tolerance, strength, softer wood and a thinner wall of the part. A
harder wood may fail where a softer one passes, for it must be driven into: so a softer wood is
asked to hold and to seal no better, not to be driven. Thicker bark and a thinner tube may help.
"""

from dataclasses import replace
from random import Random

import numpy as np
import pytest

from barbwright.checks.result import CHECKS, FAIL
from barbwright.design.part import KINDS
from barbwright.job import numbers
from barbwright.rating.limits import at_pressure
from barbwright.rating.search import designed, grade
from example_job import job_of
from random_jobs import random_job

pytestmark = pytest.mark.usefixtures("no_cures")

COUNT = 25


def jobs(seed):
    random = Random(seed)
    for _ in range(COUNT):
        kind, job = random_job(random, random.choice(("tip", "elbow", "tee", "barb")), sound=True)
        yield KINDS[kind], job


def fails(kind, conditions, forced):
    return int(grade(kind, conditions, forced).code)


@pytest.mark.parametrize("seed", ["pressure one", "pressure two"])
def test_more_pressure_is_never_better(seed):
    for kind, job in jobs(seed):
        conditions = numbers.conditions(job)
        rising = np.linspace(0.4, 1.6, 9) * float(conditions.highest_mpa)
        code = grade(kind, at_pressure(conditions, rising), job.forced, rising.shape).code
        assert np.all(np.diff(np.minimum(code, FAIL)) >= 0), (job.inputs, code)


@pytest.mark.slow
def test_a_bare_barb_is_never_better_than_a_clamped_one():
    for kind, job in jobs("clamp"):
        if kind.arms:
            clamped, bare = (
                min(fails(kind, numbers.conditions(replace(job, clamp=clamp)), job.forced), FAIL)
                for clamp in (True, False)
            )
            assert clamped <= bare, job.inputs


@pytest.mark.slow
def test_hotter_is_never_better():
    for kind, job in jobs("heat"):
        codes = []
        for temperature in (23.0, 30.0, 40.0, 50.0, 55.0, 55.5, 60.0, 60.5):
            hot = numbers.conditions(replace(job, temperature_c=temperature))
            codes.append(min(fails(kind, hot, job.forced), FAIL))
        assert codes == sorted(codes), (job.inputs, codes)


@pytest.mark.slow
def test_a_looser_print_is_never_better():
    for kind, job in jobs("tolerance"):
        conditions = numbers.conditions(job)
        codes = [
            min(
                fails(
                    kind,
                    replace(
                        conditions, material=replace(conditions.material, tolerance_mm=tolerance)
                    ),
                    job.forced,
                ),
                FAIL,
            )
            for tolerance in (0.1, 0.2, 0.3, 0.4)
        ]
        assert codes == sorted(codes), (job.inputs, codes)


@pytest.mark.slow
def test_a_weaker_material_is_never_better():
    names = (
        "allowable_mpa", "short_z_mpa", "short_xy_mpa", "handling_short_z_mpa",
        "handling_short_xy_mpa",
    )  # fmt: skip
    for kind, job in jobs("strength"):
        conditions = numbers.conditions(job)
        codes = []
        for share in (1.0, 0.8, 0.6, 0.4):
            material = replace(
                conditions.material,
                **{name: share * getattr(conditions.material, name) for name in names},
            )
            weak = replace(conditions, material=material)
            codes.append(min(fails(kind, weak, job.forced), FAIL))
        assert codes == sorted(codes), (job.inputs, codes)


def in_softer_wood(kind, job):
    """The worse verdict of seal and hold, from the wood that is named to one 0.4 as strong."""
    conditions = numbers.conditions(job)
    worst = []
    for share in (1.0, 0.8, 0.6, 0.4):
        wood = conditions.wood
        softer = replace(
            wood, crush_mpa=share * wood.crush_mpa, splitting_mpa=share * wood.splitting_mpa
        )
        graded = grade(kind, replace(conditions, wood=softer), job.forced)
        rows = [graded.ids.index(name) for name in ("wood_seal", "wood_hold")]
        worst.append(int(np.max(graded.verdicts[rows])))
    return worst


@pytest.mark.slow
def test_softer_wood_seals_and_holds_no_better():
    for kind, job in jobs("wood"):
        if kind.tip and job.wood is not None:
            worst = in_softer_wood(kind, job)
            assert worst == sorted(worst), (job.inputs, worst)


@pytest.mark.parametrize("kind", ["tip", "elbow"])
def test_where_nothing_passes_a_seat_that_holds_is_not_given_up_for_one_easier_to_drive(kind):
    """At 162 psi the seat failed to hold in red oak, and held in a wood 0.8 as strong."""
    job = job_of(
        kind, tube_id="5mm", tube_od="8mm", tube_material="PU", shore="95", bit="F",
        pressure="100.88psi", relief="161.9psi", material="sls_pa12", temperature="36C",
    )  # fmt: skip
    worst = in_softer_wood(KINDS[kind], job)
    assert worst == sorted(worst)
    assert worst[0] < FAIL == worst[-1]


@pytest.mark.slow
def test_a_thinner_wall_of_the_part_is_never_better():
    """A wider bore through arms and tip of the very same outside."""
    for kind, job in jobs("wall"):
        design = designed(kind, numbers.conditions(job), job.forced)
        outside = {"root": design.barbs[0].root_mm, "crest": design.barbs[0].crest_mm,
                   "neck": design.barbs[0].neck_mm}  # fmt: skip
        tip = design.tip
        if tip is not None:
            outside |= {"lead": tip.lead_mm, "taper": tip.taper, "contact": tip.contact_mm,
                        "seat": tip.seat_mm}  # fmt: skip
        if design.hub is not None:
            outside |= {"hub_ball": design.hub.ball_mm, "relief_ball": design.hub.relief_mm}
        codes = []
        for wider in (0.0, 0.15, 0.3, 0.6):
            bores = {"bore": design.bore_mm + wider}
            if tip is not None:
                bores["tip_bore"] = tip.bore_mm + wider
            codes.append(
                min(fails(kind, design.conditions, {**job.forced, **outside, **bores}), FAIL)
            )
        assert codes == sorted(codes), (job.inputs, codes)


def test_the_handling_that_softer_wood_may_help_is_handling_alone():
    """What is not asked of softer wood above: driving and freeing, and nothing in service."""
    helped = {"drive_squash", "drive_buckle", "drive_offset", "twist_out", "pull_out"}
    assert all(CHECKS[name].stage == "handling" for name in helped)
