"""A damaged record is refused by its file and the field, before anything is worked with."""

import json

import pytest

from barbwright.errors import InputError
from barbwright.jobs.record import load_record
from run_cli import PACKAGE, run

RECORD = next((PACKAGE.parents[1] / "out/demo").glob("tee-*/part.json")).read_text("utf-8")

# Where something else stands, what, and how the refusal names the place.
DAMAGES = [
    (("revision",), "/../../evil", "revision: no revision"),
    (("revision",), 7, "revision: of the wrong type"),
    (("part",), "spigot", "part: no such part"),
    (("dimensions",), [], "dimensions: of the wrong type"),
    (("checks", 0, "id"), None, r"checks\[1\].id"),
    (("job",), [], "job: of the wrong type"),
    (("job", "inputs"), 5, "job.inputs: of the wrong type"),
    (("job", "tubes"), [], "job.tubes: of the wrong length"),
    (("job", "tubes", 0, "inner_mm"), 0.0, r"job.tubes\[1\].inner_mm: must be above zero"),
    (("job", "tubes", 0, "inner_mm"), 1e308, "no number that means anything"),
    (("job", "tubes", 0, "inner_mm"), 10**400, r"job.tubes\[1\].inner_mm"),
    (("job", "tubes", 0, "row", "kind", "temperature_factor"), [], "temperature_factor"),
    (("job", "temperature_c"), 999.0, "job.temperature_c: no service temperature"),
    (("job", "material", "strength_z_mpa"), 0.0, "job.material.strength_z_mpa: must be above"),
    (("job", "material", "strength_z_mpa"), 1e9, "job.material.strength_z_mpa: outside sense"),
    (("job", "material", "name"), "x\x1b[2J", "job.material.name: a control character"),
    (("job", "material", "name"), "x" * 20_000, "job.material.name: too long"),
    (("job", "bit", "series"), "secret", "job.bit.series: unknown"),
    (("job", "fluid"), "juice", "job.fluid: unknown"),
    (("job", "grade"), 4, "job.grade: unknown"),
    (("job", "forced"), {"nosuch": 1.0}, "job.forced.nosuch"),
    (("job", "forced"), {"land": 1e6}, "job.forced.land: outside sense"),
    (("job", "user_rules"), {"nosuch": "x"}, "job.user_rules.nosuch"),
    (("job", "rules", "burst_ratio"), 1e6, "job.rules.burst_ratio: outside sense"),
]


@pytest.mark.parametrize(("where", "what", "told"), DAMAGES, ids=lambda one: str(one)[:28])
def test_a_damaged_field_is_named(tmp_path, where, what, told):
    body = json.loads(RECORD)
    holder = body
    for key in where[:-1]:
        holder = holder[key]
    holder[where[-1]] = what
    path = tmp_path / "part.json"
    path.write_text(json.dumps(body), encoding="utf-8")
    with pytest.raises(InputError, match=told) as caught:
        load_record(path)
    assert str(path) in str(caught.value)
    done = run("resize", path, "--bark", "5mm", "-n")
    assert (done.code, done.out) == (2, "")


def test_a_field_that_is_gone_is_named(tmp_path):
    path = tmp_path / "part.json"
    for where in (("part",), ("checks",), ("job", "material"), ("job", "bit", "diameter_mm")):
        body = json.loads(RECORD)
        holder = body
        for key in where[:-1]:
            holder = holder[key]
        del holder[where[-1]]
        path.write_text(json.dumps(body), encoding="utf-8")
        with pytest.raises(InputError, match=".".join(where) + ": missing"):
            load_record(path)


def test_the_record_itself_is_read(tmp_path):
    (tmp_path / "part.json").write_text(RECORD, encoding="utf-8")
    assert load_record(tmp_path)[0].name == "tee"
