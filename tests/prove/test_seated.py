"""A hub's tip in its hole: refused where there is none, told with its numbers where there is."""

import json

import pytest

from barbwright.design.part import KINDS
from barbwright.errors import InputError
from barbwright.jobs.plan import plan_part
from barbwright.jobs.prove import prove_seated, seated_document, seated_lines
from example_job import job_of
from newtons import alone


@pytest.mark.parametrize(
    ("kind", "wood", "words"),
    [("barb", "oak northern red", "below a hub"), ("elbow", None, "needs a wood")],
)
def test_no_tip_below_a_hub_or_no_wood_is_refused_in_a_line(kind, wood, words):
    pytest.importorskip("ngsolve")
    with pytest.raises(InputError, match=words):
        prove_seated(plan_part(KINDS[kind], job_of(kind, wood=wood)))


@pytest.mark.slow
def test_what_a_seated_tip_does_is_told_and_a_load_that_tips_it_has_no_peak():
    pytest.importorskip("ngsolve")
    plan = plan_part(KINDS["elbow"], job_of("elbow"))
    found = prove_seated(plan)
    body = json.loads(json.dumps(seated_document(plan, found)))["seat_contact"]
    assert body["holds"] == {"tug_20_n": True, "tug_50_n": False, "let_go": True, "side": True}
    assert body["peaks_mpa"]["tug_50_n"] is None
    assert 0.1 < body["tilt_deg"]["tug_20_n"] < 1.0
    assert max(value for value in body["balance"].values() if value is not None) < 0.01
    assert body["tilting_n"] is None or body["tilting_n"] > 20.0
    assert body["pull_out_n"] == pytest.approx(body["pull_out_closed_n"], rel=0.25)
    assert body["converged"] is found.converged
    text = " ".join(seated_lines(found))
    assert ("NOT converged" in text) is not found.converged
    assert "more than the seat holds" in text
    assert alone(text) == []
    assert ("NO: a finer mesh still moves" in text) is not found.converged
    # The words say that the checks lie above what was found here: so they do.
    most = max(load.answer.peak_mpa / load.beam_mpa for load in found.loads if load.answer.solved)
    assert most < plan.design.conditions.rules["mouth_spot_factor"]
