"""What `rate` prints is typed into `check` and holds: each figure, in text, document and plot."""

import json
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from run_cli import run

pytestmark = pytest.mark.usefixtures("no_cures", "rated_once")

WEAK = ("--tube-id", "0.170in", "--tube-od", "0.250in", "--tube-material", "LLDPE",
        "--bit", "15/64", "--wood", "hardwood 0.55")  # fmt: skip


def limits_in(text):
    """Return the highest pressure as printed, in each of its units, ready to be typed."""
    line = " ".join(text.split())
    found = re.search(r"highest pressure at [^:]*: ([\d.]+) (\w+) \(([\d.]+) (psi|kPa)\)", line)
    return [] if found is None else [found[1] + found[2], found[3] + found[4]]


def must_not_fail(part, given_, pressures):
    for pressure in pressures:
        done = run("check", part, *given_, "--pressure", pressure)
        assert done.code == 0, (part, given_, pressure, done.out.splitlines()[1])


@pytest.mark.slow
@pytest.mark.parametrize("asked", ["45psi", "3.1 bar"])
def test_the_highest_pressure_passes_when_it_is_typed_in_either_unit(asked):
    # To the nearest, this elbow's limit of 826.58 kPa was printed as 827 kPa (120 psi): both fail.
    text = run("rate", "elbow", *WEAK, "--pressure", asked).out
    typed = limits_in(text)
    assert [re.sub(r"[\d.]+", "", one) for one in typed] == (
        ["psi", "kPa"] if asked == "45psi" else ["bar", "psi"]
    )
    must_not_fail("elbow", WEAK, typed)


def test_every_figure_of_the_table_is_at_or_under_the_documents():
    given_ = ("elbow", *WEAK, "--pressure", "45psi")
    body = json.loads(run("rate", *given_, "--json").out)
    text = run("rate", *given_).out
    limited = [one for one in body["by_check"] if one["max_pressure_kpa"] is not None]
    assert len(limited) > 5
    for one in limited:
        psi, kpa = re.search(rf"{one['id']} +([\d.]+) psi \(([\d.]+) kPa\)", text).groups()
        assert one["max_pressure_kpa"] - 1.0 < float(kpa) <= one["max_pressure_kpa"]
        assert float(psi) * 6.894757293168 <= one["max_pressure_kpa"] + 0.01


def test_the_figures_on_the_plot_are_those_of_the_table(tmp_path):
    text = run("rate", "elbow", *WEAK, "--pressure", "45psi", "-o", tmp_path).out
    drawn = (tmp_path / "rating.svg").read_text()
    assert "<!-- highest pressure [psi] -->" in drawn
    for name in ("wood_hold", "barb_grip", "tube_rating"):
        psi = re.search(rf"  {name} +([\d.]+) psi", text)[1]
        assert f"<!--  {psi} -->" in drawn


@pytest.mark.slow
@settings(max_examples=12)
@given(
    st.sampled_from(("elbow", "tee", "tip", "barb")),
    st.sampled_from(("3/16", "13/64", "7/32", "15/64", "1/4")),
    st.sampled_from(("hardwood 0.45", "hardwood 0.55", "softwood 0.40", "oak northern red")),
    st.integers(15, 45),
    st.sampled_from(("30psi", "200kPa", "2bar")),
)
def test_of_any_job_the_printed_limit_passes(part, bit, wood, temperature_c, asked):
    given_ = ("--tube-id", "0.170in", "--tube-od", "0.250in", "--tube-material", "LLDPE",
              "--bit", bit, "--wood", wood, "--temperature", f"{temperature_c}C")  # fmt: skip
    done = run("rate", part, *given_, "--pressure", asked)
    assert done.code == 0, done.err
    typed = limits_in(done.out)
    # Where no size exists or a check cannot be judged, no figure is printed that could fail.
    assert typed or re.search(r"highest pressure at [^:]*: (none|not known)", done.out)
    must_not_fail(part, given_, typed)
