"""How far a rubber tube is stretched over its barb."""

import numpy as np
import pytest

from barbwright.checks.result import FAIL
from barbwright.design.part import KINDS
from barbwright.job import numbers
from barbwright.jobs.plan import plan_part
from barbwright.rating.choices import with_pressure
from barbwright.rating.rating import rate_drawn
from barbwright.rating.search import designed, grade
from barbwright.rating.stack import stack
from barbwright.rating.stretch import stretched
from example_job import job_of

PSI = 0.006894757293168
TEE = KINDS["tee"]
PU = {"tube_id": None, "tube_od": None, "tube_material": None, "relief": None}


def job(tube="PU 5.5 x 8 mm", pressure="60psi", **more):
    return job_of("tee", **PU, tube=tube, pressure=pressure, **more)


def stretch_of(one, **more):
    return stretched(TEE, numbers.conditions(one), one.forced, **more).tubes[0].expansion


def test_a_hard_rubber_is_stretched_until_it_holds_and_no_further():
    """Polyurethane failed its grip at the 12 % of its kind, where 20 % hold it."""
    plan = plan_part(TEE, job())
    assert plan.verdict == "pass"
    assert stretch_of(job()) == pytest.approx(0.20)
    forced = plan_part(TEE, job_of("tee", ("expansion=0.12",), **PU, tube="PU 5.5 x 8 mm",
                                   pressure="60psi"))  # fmt: skip
    assert "barb_grip" in {one.info.id for one in forced.results if one.verdict == "fail"}
    # At a pressure that the kind's own stretch holds there is nothing to gain.
    assert stretch_of(job(pressure="30psi")) == pytest.approx(0.12)


def test_it_never_goes_beyond_the_most_of_an_arm():
    one = job(pressure="90psi")
    assert stretch_of(one) <= one.rules["arm_expansion_limit"] + 1e-9


def test_more_pressure_never_asks_for_less_stretch_and_arrays_say_what_singles_say():
    pressures = np.arange(20.0, 91.0, 5.0) * PSI
    jobs = [with_pressure(job(), float(pressure)) for pressure in pressures]
    many = stack([numbers.conditions(one) for one in jobs])
    found = stretched(TEE, many, {}, pressures.shape).tubes[0].expansion
    holds = np.diff(found) >= -1e-12
    # Where nothing within the limit holds any more, the kind's own is as good as the rest.
    assert np.all(holds | (found[1:] == found[0]))
    assert [stretch_of(one) for one in jobs] == pytest.approx(list(found))
    assert len(set(found)) > 2


@pytest.mark.parametrize("tube", ["LLDPE 0.170 x 0.250 in", "nylon 6 x 8 mm"])
def test_a_tube_that_yields_keeps_the_stretch_of_its_kind(tube):
    one = job(tube, pressure="110psi")
    conditions = numbers.conditions(one)
    assert stretched(TEE, conditions, one.forced) is conditions


def test_a_crest_of_the_users_own_is_kept():
    one = job_of("tee", ("crest=6.2mm",), **PU, tube="PU 5.5 x 8 mm", pressure="60psi")
    assert designed(TEE, numbers.conditions(one), one.forced).barbs[0].crest_mm == 6.2


def test_each_end_of_a_barb_is_stretched_by_itself():
    one = job_of("barb", **PU, tube="PU 5.5 x 8 mm", pressure="60psi", tube2_id="0.170in",
                 tube2_od="0.250in", tube2_material="LLDPE")  # fmt: skip
    first, second = stretched(KINDS["barb"], numbers.conditions(one), {}).tubes
    assert first.expansion > 0.15
    assert second.expansion == numbers.conditions(one).tubes[1].expansion


def test_a_part_once_drawn_keeps_its_crest_at_other_pressures():
    """Rated, the drawn part must not be stretched anew at each pressure it is asked about."""
    one = job(pressure="45psi")
    settled = stretched(TEE, numbers.conditions(one), one.forced)
    assert stretched(TEE, settled, one.forced) is settled
    drawn = rate_drawn(TEE, one, full=False).limit.max_mpa
    design = designed(TEE, numbers.conditions(one), one.forced)
    sizes = {"crest": design.barbs[0].crest_mm, "taper": design.tip.taper,
             "contact": design.tip.contact_mm, "seat": design.tip.seat_mm}  # fmt: skip
    code = [
        int(grade(TEE, numbers.conditions(with_pressure(one, drawn * share)), sizes).code)
        for share in (0.99, 1.02)
    ]
    assert code[0] < FAIL <= code[1]
    # Drawn anew for it, a part stands more.
    assert grade(TEE, numbers.conditions(with_pressure(one, drawn * 1.02)), {}).code < FAIL
