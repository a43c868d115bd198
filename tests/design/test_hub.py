"""Sizing rules of hub ball, relief ball and strike pad; the in-line tip's ring."""

from math import hypot, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barbwright.design.hub import least_ball
from example_job import NYLON_68, design_of


@pytest.mark.parametrize("kind", ["elbow", "tee"])
@pytest.mark.parametrize(("tube", "ball"), [({}, 11.8), (NYLON_68, 15.4)])
def test_hub_balls_of_engineering_md(kind, tube, ball):
    """Where two blends touch (10.4 mm), 0.4 mm more for what driving asks beside the arms' bores;
    it was 0.1 more, 10.5 mm. A fork asks for 1.7 mm over its slot of 8.4 mm on either side, 11.8
    mm; the bore of the nylon tube for more than that.
    """
    assert float(design_of(kind, **tube).hub.ball_mm) == pytest.approx(ball)


@pytest.mark.parametrize("more", [{}, NYLON_68, {"bit": "8mm"}, {"bark": "20mm"}])
def test_hub_rules(more):
    design = design_of("tee", **more)
    hub, barb, tip = design.hub, design.barbs[0], design.tip
    bore, ball, relief = float(design.bore_mm), float(hub.ball_mm), float(hub.relief_mm)
    assert relief == pytest.approx(1.6 * bore, abs=0.05)
    assert relief >= 1.6 * bore - 1e-9
    # Two bores meet in an edge at sqrt 2 x the bore: the relief ball takes it away.
    assert relief > sqrt(2.0) * bore
    assert ball >= relief + 2 * 2.0 - 1e-6
    assert ball >= 2.4 * relief - 1e-6
    f = float(hub.blend_mm)
    assert f >= 0.5
    necks = [float(barb.neck_mm) / 2.0, float(tip.root_mm) / 2.0]
    for first in necks:
        assert (ball / 2.0 + f) ** 2 > (first + f) ** 2 + (necks[0] + f) ** 2
    assert float(hub.pad_mm) >= 1.5 * design.conditions.bit_mm - 1e-6
    # A hexagon's width may have to pass a spanner's: by two margins and a 1/16 in at most.
    assert float(hub.pad_mm) <= max(14.0, 1.5 * design.conditions.bit_mm + 0.6 + 25.4 / 16.0)
    assert float(hub.stem_mm) <= float(tip.root_mm)
    face = float(hub.pad_height_mm)
    assert face - ball / 2.0 <= 2.0 + 1e-6
    assert face - float(barb.tube_on_crest_mm) / 2.0 >= 3.0 - 1e-6
    # The whole top is one plane: the crown is the driver's.
    assert 0.0 < float(hub.chamfer_mm) <= 0.5
    # An arm is at most 12 mm from barb root to the ball's surface.
    assert float(design.neck_length_mm) <= 12.0


@given(st.floats(2.0, 12.0), st.floats(2.0, 12.0), st.floats(0.5, 2.0))
def test_least_ball_keeps_two_blends_just_apart(first, other, blend):
    """Blend centres lie at R + f on rays whose angles to their necks add up to 90 degrees."""
    ball = least_ball(first, other, blend)
    centre = ball / 2.0 + blend
    assert centre == pytest.approx(hypot(first / 2.0 + blend, other / 2.0 + blend))


def test_ring_of_an_in_line_tip():
    design = design_of("tip")
    ring = design.ring
    assert float(ring.ring_mm) == pytest.approx(float(design.tip.root_mm) + 4.0, abs=0.1)
    assert float(ring.thickness_mm) == 3.0
    assert float(ring.driver_bore_mm) == pytest.approx(5.10 + 2 * 0.3 + 0.5)


def test_kinds_have_the_features_of_the_table():
    elbow, tee, tip, barb = (design_of(kind) for kind in ("elbow", "tee", "tip", "barb"))
    assert [len(d.barbs) for d in (elbow, tee, tip, barb)] == [1, 1, 1, 1]
    assert [d.kind.arms for d in (elbow, tee, tip, barb)] == [1, 2, 1, 2]
    assert [d.kind.openings for d in (elbow, tee, tip, barb)] == [2, 3, 2, 2]
    assert [d.hub is not None for d in (elbow, tee, tip, barb)] == [True, True, False, False]
    assert [d.ring is not None for d in (elbow, tee, tip, barb)] == [False, False, True, False]
