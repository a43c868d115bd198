"""`barbwright rate` as a user meets it: exit codes, documents, files, and agreement with check."""

import csv
import json
from functools import cache

import jsonschema
import pytest

from barbwright import catalog
from barbwright.say import IMPERIAL
from run_cli import DEMO, PACKAGE, THREE, run, run_fresh

pytestmark = pytest.mark.usefixtures("no_cures", "rated_once")

VALIDATOR = jsonschema.Draft202012Validator(
    json.loads((PACKAGE / "jobs" / "schemas" / "rate.json").read_text())
)
WITHOUT_PRESSURE = tuple(
    word for word, before in zip(DEMO, ("", *DEMO), strict=False)
    if "--pressure" not in {word, before}
)  # fmt: skip


@cache
def rate(*arguments):
    """Run `rate` once for all tests that ask the same of it."""
    return run("rate", *arguments)


@cache
def rated(*arguments, code=0):
    """The document of a run, validated; shared, so no test may change it."""
    done = rate(*arguments, "--json")
    assert done.code == code, done.err
    body = json.loads(done.out)
    VALIDATOR.validate(body)
    return body


@pytest.mark.parametrize(
    "kind", ["barb", *(pytest.param(k, marks=pytest.mark.slow) for k in ("elbow", "tee", "tip"))]
)
def test_check_agrees_with_the_rating_on_both_sides(kind):
    body = rated(kind, *DEMO)
    highest = body["max_pressure_kpa"]
    for factor, code in ((0.98, 0), (1.0, 0), (1.03, 3)):
        done = run("check", kind, *WITHOUT_PRESSURE, "--pressure", f"{factor * highest:.4f}kPa")
        assert done.code == code, (factor, done.err)
    # The elbow stands for all at other temperatures: it has every check the others have.
    for row in body["by_temperature"] if kind == "elbow" else []:
        if row["max_pressure_kpa"] is None:
            continue
        # Just above the limit what fails is what was named; further up, where no seat passes,
        # another seat may fail least, and by another check.
        for factor, code in ((0.98, 0), (1.002, 3), (1.03, 3)):
            pressure = f"{factor * row['max_pressure_kpa']:.4f}kPa"
            heat = ("--temperature", f"{row['temperature_c']}C")
            done = run("check", kind, *WITHOUT_PRESSURE, "--pressure", pressure, *heat, "--json")
            assert done.code == code
            if factor == 1.002:
                assert done.document["governing_check"] == row["governing_check"]


@pytest.mark.slow
def test_each_check_fails_above_its_own_limit_and_not_below():
    for row in rated("elbow", *DEMO)["by_check"]:
        if row["max_pressure_kpa"] is None:
            assert row["because"]
            continue
        for factor, fails in ((0.98, False), (1.03, True)):
            pressure = f"{factor * row['max_pressure_kpa']:.4f}kPa"
            done = run("check", "elbow", *WITHOUT_PRESSURE, "--pressure", pressure, "--json")
            (own,) = [one for one in done.document["checks"] if one["id"] == row["id"]]
            assert (own["verdict"] == "fail") is fails


@pytest.mark.slow
def test_the_smallest_that_is_named_passes_when_it_is_typed():
    body = rated("elbow", *DEMO)
    bit = [body["smallest_bit"] if word == "15/64" else word for word in DEMO]
    assert run("check", "elbow", *bit).code == 0
    wood = [body["softest_wood"] if word == "oak northern red" else word for word in DEMO]
    assert run("check", "elbow", *wood).code == 0
    tube = ("--tube", body["softest_tube"], *DEMO[6:])
    assert run("check", "elbow", *tube).code == 0
    wall = body["least_walls"][0]
    assert body["least_wall_mm"] == wall["least_wall_mm"] <= wall["drawn_wall_mm"]


@pytest.mark.slow
def test_without_a_pressure_there_are_limits_and_no_smallest():
    body = rated("elbow", *WITHOUT_PRESSURE)
    assert body["max_pressure_kpa"] == rated("elbow", *DEMO)["max_pressure_kpa"]
    assert body["smallest_bit"] is None
    assert body["drawn_max_pressure_kpa"] is None
    assert "--pressure" in body["drawn_because"]
    assert "--pressure" in body["null_because"]["smallest_bit"]
    assert "pressure" not in body["inputs"]


# The demo's seat is the same at every pressure, and wood has no caution once proved in the field:
# a wider tube's seat follows the pressure, and a long, weak clamp on soft tube has a caution.
FOLLOWS = (
    "--tube-id", "0.250in", "--tube-od", "0.375in", "--tube-material", "LLDPE", "--bit", "5/16",
    "--wood", "maple red",
)  # fmt: skip
CAUTIOUS = (
    "--tube-id", "0.250in", "--tube-od", "0.375in", "--tube-material", "PVC", "--shore", "70",
    "--tube-rating", "200psi", "--clamp", "--bit", "5/16", "--wood", "oak white",
    "--set", "clamp_length_mm=20mm", "--set", "clamp_pressure_mpa=0.4MPa",
    # A crest that grows with the pressure would leave no band between pass and fail.
    "--set", "expansion=0.12",
)  # fmt: skip


@pytest.mark.slow
def test_the_drawn_part_is_told_from_the_part_drawn_anew():
    asked = (*FOLLOWS, "--pressure", "40psi")
    body = rated("elbow", *asked)
    highest = body["drawn_max_pressure_kpa"]
    assert highest < body["max_pressure_kpa"]
    drawn = run("check", "elbow", *asked, "--json").document["dimensions"]
    held = [
        "--set",
        f"contact={body['drawn_contact_mm']}mm",
        "--set",
        f"seat={body['drawn_seat_mm']}mm",
        "--set",
        f"taper={drawn['taper']}",
    ]
    for pressure, code in ((highest, 0), (highest + 0.02, 3)):
        done = run("check", "elbow", *FOLLOWS, "--pressure", f"{pressure}kPa", *held)
        assert done.code == code, done.err
    out = " ".join(rate("elbow", *asked).out.split())
    low, high = body["contact_range_mm"]
    assert f"each pressure has its own drawn part (contact {low:.1f} to {high:.1f} mm)" in out
    assert f"as drawn for 40 psi (276 kPa): {IMPERIAL.limit(highest / 1000.0)}" in out
    assert f"governed by {body['drawn_governing_check']}" in out


@pytest.mark.slow
def test_a_full_pass_is_told_from_no_fail():
    asked = (*CAUTIOUS, "--pressure", "20psi")
    body = rated("elbow", *asked)
    full = body["pass_max_pressure_kpa"]
    assert full < body["max_pressure_kpa"]
    for pressure, verdict in ((full, "pass"), (full + 0.02, "caution")):
        done = run("check", "elbow", *CAUTIOUS, "--pressure", f"{pressure}kPa", "--json")
        assert done.document["verdict"] == verdict
    out = rate("elbow", *asked).out
    assert "does not fail (caution)" in " ".join(out.split())
    assert f"full pass: {IMPERIAL.limit(full / 1000.0)}" in out


@pytest.mark.slow
def test_the_softest_wood_shows_its_strength_across_the_grain():
    body = rated("elbow", *DEMO)
    wood = catalog.find_wood(body["softest_wood"])
    assert body["softest_wood_c90_mpa"] == pytest.approx(wood.compression_perpendicular_mpa)
    said = " ".join(rate("elbow", *DEMO).out.split())
    assert f"C90 {wood.compression_perpendicular_mpa:.2f} MPa" in said


def test_a_refused_material_is_a_fail_in_every_row_of_a_sweep():
    body = rated("elbow", *DEMO, "--bits", "1/8, 15/64", "--materials", "fff_pla, mjf_pa12")
    columns = body["sweep"]["columns"]
    assert columns["material"] == ["fff_pla", "mjf_pa12"] * 2
    assert columns["verdict"] == ["fail", "no_size", "fail", "pass"]
    assert columns["governing_check"][0] == "use"


def test_a_caution_is_drawn_in_amber_and_not_in_green(tmp_path):
    options = ("--pressures", "60psi, 200psi", "--formats", "svg", "-o", tmp_path)
    assert run("rate", "elbow", *CAUTIOUS, "--pressure", "60psi", *options).code == 0
    drawn = (tmp_path / "sweep.svg").read_text().lower()
    assert "#a87400" in drawn
    assert "#009e73" not in drawn


@pytest.mark.slow
def test_what_is_not_known_leaves_no_limit_and_is_said():
    body = rated("elbow", *THREE)
    for row in (body, *body["by_temperature"]):
        assert row["max_pressure_kpa"] is None
        # Too hot for the print itself is a fail, whatever the tube.
        hot = row is not body and row["because"] == "side_load fails at every pressure"
        assert "cannot be judged" in row["because"] or (hot and row["temperature_c"] > 40.0)
        assert row["pass_max_pressure_kpa"] is None
    assert body["drawn_max_pressure_kpa"] is None
    assert body["drawn_because"]
    limits = [one["max_pressure_kpa"] for one in body["by_check"]]
    assert body["judged_max_pressure_kpa"] == min(one for one in limits if one is not None)
    said = " ".join(rate("elbow", *THREE).out.split())
    most = IMPERIAL.limit(body["judged_max_pressure_kpa"] / 1000.0)
    assert f"not known; at most {most}" in said
    assert "by what could be judged" in said
    (seal,) = [one for one in body["by_check"] if one["id"] == "barb_seal"]
    assert seal["max_pressure_kpa"] is None
    assert "--tube-od" in seal["because"]
    for row in body["by_temperature"]:
        assert {"barb_seal", "wood_hold"} <= set(row["not_checked"])
    assert "not judged, so they set no limit" in rate("elbow", *THREE).out


def test_a_sweep_needs_no_bit_and_no_pressure_of_its_own():
    options = ("--tube-id", "0.170in", "--bits", "3/16..1/4", "--pressures", "30psi..60psi")
    body = rated("elbow", *options, "--points", "4")
    assert body["sweep"]["points"] == 5 * 4
    assert set(body["sweep"]["columns"]["verdict"]) <= {"pass", "caution", "fail", "no_size"}
    assert "max_pressure_kpa" not in body


@pytest.mark.slow
def test_tables_and_plots_are_written_and_not_written_over(tmp_path):
    options = ("tee", *DEMO, "--materials", "all", "--pressures", "30psi..90psi")
    done = run("rate", *options, "-o", tmp_path, "--scatter", "400")
    assert done.code == 0, done.err
    names = {path.name for path in tmp_path.iterdir()}
    kinds = {f"{name}.{kind}" for name in ("sweep", "scatter") for kind in ("csv", "svg", "png")}
    assert names == {"rate.json", *kinds}
    VALIDATOR.validate(json.loads((tmp_path / "rate.json").read_text()))
    rows = list(csv.DictReader((tmp_path / "sweep.csv").open()))
    assert len(rows) == len(catalog.materials()) * 13
    assert "pressure_kpa" in rows[0]
    again = run("rate", *options, "-o", tmp_path)
    assert again.code == 2
    assert "--force" in again.err
    assert run("rate", *options, "-o", tmp_path, "--force", "--formats", "csv").code == 0


@pytest.mark.slow
def test_plots_are_equal_bytes_in_two_processes_with_two_hash_seeds(tmp_path):
    made = []
    for seed in ("1", "2"):
        folder = tmp_path / seed
        options = ("--pressures", "30psi..90psi", "--woods", "all", "--scatter", "300")
        done = run_fresh(
            "rate", "elbow", *DEMO, *options, "-o", folder, environment={"PYTHONHASHSEED": seed}
        )
        assert done.code == 0, done.err
        made.append({path.name: path.read_bytes() for path in sorted(folder.iterdir())})
    assert made[0].keys() == made[1].keys()
    assert {name for name in made[0] if made[0][name] != made[1][name]} == set()


def test_the_terminal_says_verdicts_in_words():
    out = run("rate", "elbow", *DEMO, "--bits", "3/16..1/4", "--pressures", "30psi..200psi").out
    assert {"pass", "FAIL", "none"} <= set(out.split())
    assert "what fails most" in out
    assert "is the first to fail" in rate("elbow", *DEMO).out
    said = run("rate", "elbow", *DEMO, "--scatter", "500", "--seed", "3").out
    assert "What matters most" in said
    assert said == run("rate", "elbow", *DEMO, "--scatter", "500", "--seed", "3").out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("wedge", *DEMO), "no such part"),
        (("elbow", *DEMO, "--bits", "3..8"), "no unit"),
        (("elbow", *DEMO, "--woods", "plastic"), "plastic"),
        (("barb", *DEMO, "--bits", "3/16..1/4"), "no tip"),
        (("elbow", *WITHOUT_PRESSURE, "--scatter", "10"), "--pressure"),
        (("elbow", *DEMO, "--formats", "pdf"), "pdf"),
        (("elbow", *DEMO, "--points", "5"), "--pressures"),
        (("elbow", *DEMO, "--bits", "all", "--points", "5"), "--pressures"),
        (("elbow", *DEMO, "--seed", "0"), "--scatter"),
    ],
)
def test_what_cannot_be_rated_ends_with_2(arguments, words):
    done = run("rate", *arguments)
    assert done.code == 2
    assert words in done.err


@pytest.mark.slow
def test_no_solver_is_loaded_and_what_would_cure_a_part_only_when_a_check_fails():
    heavy = "print('scipy.optimize' in sys.modules, 'barbwright.rating.remedy' in sys.modules)"
    passing = run_fresh("check", "elbow", *DEMO, "-q", python=heavy)
    assert passing.out.splitlines()[-1] == "False False"
    failing = run_fresh("check", "barb", *DEMO, "--material", "fff_pla", "-q", python=heavy)
    assert failing.code == 3
    assert failing.out.splitlines()[-1].split()[1] == "True"
    rating = run_fresh("rate", "barb", *DEMO, "-q", python=heavy)
    # Brackets are divided here since `build -n` rates its parts too: no solver of scipy's.
    assert rating.out.splitlines()[-1].split()[0] == "False"


@pytest.mark.parametrize("below", ["file/below", "l" * 300])
def test_a_place_where_no_folder_can_be_is_told_in_one_line(tmp_path, below):
    (tmp_path / "file").write_text("")
    done = run("rate", "barb", "--tube-id", "4mm", "--pressure", "3bar", "-o", tmp_path / below)
    assert done.code == 4
    assert done.err.splitlines()[-1].startswith("barbwright: cannot make the folder")
