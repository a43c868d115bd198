"""A grid's points say what `check` says, in any chunk, without a loop over them."""

import csv
import io

import numpy as np
import pytest

from barbwright import catalog
from barbwright.design.part import KINDS
from barbwright.errors import InputError
from barbwright.job import numbers
from barbwright.jobs.rate import read_axes, table_csv
from barbwright.rating import judging
from barbwright.rating import sweep as subject
from barbwright.rating.choices import with_bit, with_material, with_pressure
from barbwright.rating.spans import read_bits, read_names, read_pressures
from barbwright.rating.sweep import sweep
from example_job import job_of
from random_jobs import passes

pytestmark = pytest.mark.usefixtures("no_cures")

TEXTS = {"bits": "3/16..5/16", "materials": "mjf_pa12, pa11, fff_pla", "pressures": "30psi..150psi"}


def test_points_of_a_grid_are_what_check_says():
    job = job_of("elbow")
    axes = read_axes(job, KINDS["elbow"], TEXTS, 5)
    found = sweep(KINDS["elbow"], job, axes)
    assert found.shape == (9, 3, 5)
    bits = read_bits(TEXTS["bits"])
    materials = [catalog.find_material(name) for name in ("mjf_pa12", "pa11", "fff_pla")]
    pressures, _ = read_pressures(TEXTS["pressures"], 5)
    code = found.code.reshape(found.shape)
    for place in np.ndindex(found.shape):
        if sum(place) % 3:
            continue
        bit, material, pressure = bits[place[0]], materials[place[1]], pressures[place[2]]
        one = with_pressure(with_material(with_bit(job, bit), material), pressure)
        assert passes("elbow", one) is bool(code[place] < 2)


@pytest.mark.slow
def test_the_chunk_does_not_change_the_result():
    job = job_of("tee")
    axes = read_axes(job, KINDS["tee"], {"bits": "all", "pressures": "20psi..90psi"}, 5)
    whole, small = (sweep(KINDS["tee"], job, axes, chunk=size) for size in (10_000, 97))
    np.testing.assert_array_equal(whole.code, small.code)
    np.testing.assert_array_equal(whole.governing, small.governing)
    np.testing.assert_array_equal(whole.use, small.use)
    np.testing.assert_array_equal(whole.leans, small.leans)
    assert whole.proofs == small.proofs


@pytest.mark.slow
def test_memory_and_calls_go_with_the_chunk_and_not_with_the_points(monkeypatch):
    sizes = []
    real = subject.grade

    def counted(kind, conditions, forced, shape):
        sizes.append(shape[0])
        return real(kind, conditions, forced, shape)

    monkeypatch.setattr(subject, "grade", counted)
    job = job_of("elbow")
    axes = read_axes(job, KINDS["elbow"], {"pressures": "20psi..90psi", "woods": "all"}, 60)
    found = sweep(KINDS["elbow"], job, axes, chunk=700)
    assert found.code.size == 60 * len(catalog.woods())
    assert len(sizes) == -(-found.code.size // 700) > 1
    assert max(sizes) == 700


def test_columns_have_units_in_their_headers_and_come_back_from_csv():
    job = job_of("elbow")
    axes = read_axes(job, KINDS["elbow"], {"bits": "15/64, 1/4", "pressures": "30psi, 300kPa"})
    columns = sweep(KINDS["elbow"], job, axes).columns()
    assert list(columns) == [
        "bit", "bit_diameter_mm", "pressure", "pressure_kpa", "verdict",
        "pass_once_proved_in_field", "governing_check", "safety_factor_over_design_factor",
    ]  # fmt: skip
    rows = list(csv.DictReader(io.StringIO(table_csv(columns).decode())))
    assert [row["bit"] for row in rows] == ["15/64 in"] * 2 + ["1/4 in"] * 2
    assert [float(row["pressure_kpa"]) for row in rows] == [206.8427, 300.0] * 2
    assert {row["verdict"] for row in rows} == {"pass"}
    assert "wood_hold" in {row["pass_once_proved_in_field"] for row in rows}


def test_a_grid_too_large_to_be_meant_is_refused():
    job = job_of("elbow")
    axes = read_axes(
        job, KINDS["elbow"],
        {"bits": "all", "woods": "all", "pressures": "20psi..90psi"}, 1000,
    )  # fmt: skip
    with pytest.raises(InputError, match="too large"):
        sweep(KINDS["elbow"], job, axes)


def test_ranges_and_lists_are_read():
    assert [bit.name for bit in read_bits("3/16..1/4")] == [
        "3/16 in", "13/64 in", "7/32 in", "15/64 in", "1/4 in",
    ]  # fmt: skip
    assert [bit.name for bit in read_bits("1/4..3/16")] == [
        bit.name for bit in read_bits("3/16..1/4")
    ]
    values, labels = read_pressures("30psi..90psi", 5)
    assert labels == ["30 psi", "45 psi", "60 psi", "75 psi", "90 psi"]
    assert values == pytest.approx([0.006894757293168 * psi for psi in (30, 45, 60, 75, 90)])
    assert read_pressures("2bar, 45psi")[1] == ["2bar", "45psi"]
    assert len(read_names("all", catalog.woods(), catalog.find_wood, "--woods")) == len(
        catalog.woods()
    )


@pytest.mark.parametrize(
    ("texts", "words"),
    [
        ({"bits": "3..8"}, "no unit"),
        ({"bits": ""}, "--bits is empty"),
        ({"pressures": "30..90"}, "unit"),
        ({"pressures": "30psi..60psi..90psi"}, "no range"),
        ({"materials": "unobtainium"}, "unobtainium"),
        ({"bits": "3..8", "woods": "plastic tree"}, "plastic tree"),
    ],
)
def test_what_cannot_be_swept_is_refused_all_at_once(texts, words):
    with pytest.raises(InputError) as refused:
        read_axes(job_of("elbow"), KINDS["elbow"], texts)
    assert words in str(refused.value)
    assert len(refused.value.faults) == len(texts)


def test_a_part_without_a_tip_has_no_bit_to_sweep():
    with pytest.raises(InputError, match="no tip"):
        read_axes(job_of("barb"), KINDS["barb"], {"bits": "3/16..1/4"})


def test_many_points_are_judged_in_as_few_runs_as_few_points(monkeypatch):
    """A loop over points would judge each by itself; arrays judge a chunk in one run."""
    job, runs = job_of("elbow"), []
    real = judging.judge_all
    monkeypatch.setattr(
        judging, "judge_all", lambda design, **told: runs.append(1) or real(design, **told)
    )
    counts = []
    for steps in (2, 400):
        axes = read_axes(job, KINDS["elbow"], {"pressures": "20psi..90psi"}, steps)
        runs.clear()
        sweep(KINDS["elbow"], job, axes)
        counts.append(len(runs))
    # A stretch, three rounds of a shortlist and what they leave: never a run a point.
    assert 0 < counts[0] <= counts[1] <= 6
    assert numbers.conditions(job).highest_mpa < 1.0
