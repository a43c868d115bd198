"""Random parts: the same digits for a seed, never worse than the corners, the right culprit."""

from dataclasses import replace

import numpy as np
import pytest

from barbwright.checks.table import judge_all
from barbwright.design.part import KINDS, design_part
from barbwright.errors import NoSizeError
from barbwright.job import numbers
from barbwright.rating import scatter as subject
from barbwright.rating.scatter import SPREADS, scatter, summary
from barbwright.report import rate_plots
from barbwright.sources import SOURCES
from example_job import job_of

ELBOW = KINDS["elbow"]


@pytest.mark.slow
def test_a_seed_gives_the_same_digits_and_another_seed_others():
    job = job_of("elbow")
    first, again, other = (scatter(ELBOW, job, 3000, seed) for seed in (7, 7, 8))
    assert first == again
    assert first.margin_percentiles != other.margin_percentiles


def test_the_draws_are_what_they_were_when_this_was_written():
    # A named generator's own stream: not ours to change, and not to change unseen.
    draws = subject._draws(2, 3)
    assert list(draws) == [one.id for one in SPREADS]
    stream = np.random.Generator(np.random.PCG64(3)).random(4)
    assert list(draws["print_outside"]) == list(stream[:2])
    assert list(draws["print_bore"]) == list(stream[2:])


@pytest.mark.slow
def test_the_chunk_does_not_change_the_result(monkeypatch):
    job = job_of("tee")
    whole = scatter(KINDS["tee"], job, 900, 1)
    monkeypatch.setattr(subject, "CHUNK", 64)
    assert scatter(KINDS["tee"], job, 900, 1) == whole


def test_a_sample_in_the_middle_of_every_spread_is_the_drawn_part():
    design = design_part(ELBOW, numbers.conditions(job_of("elbow")))
    middle = {one.id: np.array([0.5]) for one in SPREADS}
    ids, _, margins, _ = subject._judged(design, middle)
    material = replace(design.conditions.material, tolerance_mm=0.0, tolerance_pct=0.0)
    tube = design.conditions.tubes[0]
    mean = (tube.modulus_low_mpa + tube.modulus_high_mpa) / 2.0
    mean_yield = (tube.yield_low_mpa + tube.yield_high_mpa) / 2.0
    exact = replace(
        tube, inner_tolerance_mm=0.0, modulus_low_mpa=mean, modulus_high_mpa=mean,
        yield_low_mpa=mean_yield, yield_high_mpa=mean_yield,
    )  # fmt: skip
    hole = (design.conditions.hole_low_mm + design.conditions.hole_high_mm) / 2.0
    conditions = replace(
        design.conditions, material=material, tubes=(exact,), hole_low_mm=hole, hole_high_mm=hole
    )
    judged = judge_all(replace(design, conditions=conditions))
    for name in ("barb_seal", "barb_grip", "wood_hold", "barb_wall", "side_load"):
        one = judged[name]
        want = one.capacity_expected / (one.demand * one.design_factor)
        assert margins[ids.index(name), 0] == pytest.approx(np.ravel(want)[0], rel=1e-9)


def test_no_sample_within_the_tolerances_is_worse_than_the_corners_say():
    job = job_of("elbow", pressure="60psi")
    design = design_part(ELBOW, numbers.conditions(job))
    random = np.random.Generator(np.random.PCG64(11))
    inside = {one.id: random.uniform(0.023, 0.977, 4000) for one in SPREADS}
    inside["wood_strength"][:] = 0.5
    ids, _, margins, _ = subject._judged(design, inside)
    judged = judge_all(design)
    for name in ("barb_seal", "barb_grip", "barb_wall", "tip_wall", "crossing_bores"):
        one = judged[name]
        lower = np.ravel(one.capacity / (one.demand * one.design_factor))[0]
        assert margins[ids.index(name)].min() >= lower - 1e-9, name


@pytest.mark.parametrize(
    ("kind", "more"),
    [
        ("elbow", {}),
        pytest.param(
            "elbow", {"pressure": "110psi", "wood": "yellow-poplar"}, marks=pytest.mark.slow
        ),
        ("barb", {"tube_material": "PE", "pressure": "110psi"}),
        ("barb", {"tube_material": "nylon", "pressure": "60psi", "temperature": "40C"}),
    ],
)
def test_what_matters_most_is_what_stills_the_margin_most_when_it_stands_still(kind, more):
    job = job_of(kind, **more)
    found = scatter(KINDS[kind], job, 4000, 2)
    design = design_part(KINDS[kind], numbers.conditions(job))
    draws = subject._draws(4000, 2)
    _, verdicts, margins, _ = subject._judged(design, draws)
    tight = subject._tight(verdicts, margins)

    def spread_without(name):
        still = {**draws, name: np.full(4000, 0.5)}
        return subject._judged(design, still)[2][tight].min(axis=0).std()

    without = {one.spread.id: spread_without(one.spread.id) for one in found.influences}
    assert min(without, key=without.get) == found.matters_most.spread.id


def test_shares_are_shares_and_stillness_never_beats_the_sum():
    found = scatter(ELBOW, job_of("elbow", wood="yellow-poplar"), 3000)
    assert sum(one.share for one in found.influences) == pytest.approx(1.0)
    assert [one.share for one in found.influences] == sorted(
        (one.share for one in found.influences), reverse=True
    )
    assert 0.0 < found.share_not_fail < 1.0
    assert found.share_not_fail <= found.share_hold
    most = found.matters_most
    assert most.share_fail_without < 1.0 - found.share_not_fail
    text = summary(found)
    assert most.spread.title in text
    assert f"{1.0 - found.share_not_fail:.2%}" in text


def test_every_spread_says_how_it_is_drawn_and_how_well_that_is_known():
    for one in SPREADS:
        assert one.distribution
        assert one.status in {"judgement", "seen"}
        assert one.source in SOURCES
        assert one.advice


def test_the_tree_varies_as_its_fifth_percentile_says():
    conditions = numbers.conditions(job_of("elbow"))
    shares = {one.id: np.full(1, 0.05) for one in SPREADS}
    sampled = subject._sampled(conditions, shares)
    assert float(sampled.wood.crush_mpa[0]) == pytest.approx(0.54 * conditions.wood.crush_mpa)


def test_a_part_without_a_size_cannot_scatter():
    with pytest.raises(NoSizeError):
        scatter(ELBOW, job_of("elbow", bit="1/8"), 10)


def test_a_tool_of_yes_or_no_checks_scatters_without_a_margin_and_says_so():
    result = scatter(KINDS["driver"], job_of("driver"), 50)
    assert result.margin_percentiles == {}
    assert "yes or no" in summary(result)
    assert "nan" not in summary(result)


def test_the_legend_of_bars_that_fill_their_axes_stands_outside(monkeypatch):
    """It lay on the last check's bar."""
    drawn = []
    monkeypatch.setattr(rate_plots, "_bytes", lambda figure, *_: drawn.append(figure) or b"")
    rate_plots.scatter_plot(scatter(ELBOW, job_of("elbow"), 300))
    drawn[0].draw_without_rendering()
    bars = drawn[0].axes[0]
    assert bars.get_legend().get_window_extent().y0 >= bars.get_window_extent().y1 - 1.0
