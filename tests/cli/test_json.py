"""The JSON document of check and make, held to the schema that ships in the package."""

import json
from itertools import pairwise

import jsonschema
import pytest

from barbwright.checks.result import CHECKS
from barbwright.sources import SOURCES
from run_cli import DEMO, KINDS, PACKAGE, SCHEMA, THREE, VALIDATOR, run

pytestmark = pytest.mark.usefixtures("one_process")

# What product.md promises; the schema may hold more, never less.
PROMISED = {
    "schema_version", "command", "part", "part_number", "inputs", "dimensions", "checks",
    "verdict", "handling_rules", "governing_check", "not_checked", "files", "warnings",
}  # fmt: skip
PROMISED_OF_A_CHECK = {
    "id", "title", "stage", "verdict", "capacity", "capacity_expected", "demand", "demand_upper",
    "unit", "safety_factor", "design_factor", "governing", "equation", "sources", "basis", "remedy",
}  # fmt: skip
CASES = {
    "demo": (DEMO, 0),
    "three measurements": (THREE, 0),
    "warm": ((*DEMO, "--temperature", "38C"), 0),
    # The spot at the relief ball's lip is held against the strength at 40 C since finite elements
    # found it: 3 with the ball of 10.5 mm, 0 again with the one of 10.8 mm that eases it.
    "warmer": ((*DEMO, "--temperature", "40C"), 0),
    "bare soft tube": (
        ("--tube-id", "6mm", "--tube-od", "9mm", "--tube-material", "PVC", "--shore", "65",
         "--bit", "15/64", "--pressure", "30psi", "--wood", "oak northern red"), 3,
    ),
    "prototype material": ((*DEMO, "--material", "fff_pla"), 3),
    "too hot": ((*THREE, "--temperature", "70C"), 3),
}  # fmt: skip


def test_the_schema_is_one_and_asks_for_what_is_promised():
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    assert set(SCHEMA["required"]) >= PROMISED
    assert set(SCHEMA["$defs"]["check"]["required"]) >= PROMISED_OF_A_CHECK


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("command", [("check",), ("make", "-n")], ids=["check", "make -n"])
def test_the_document_holds_to_the_schema(kind, case, command):
    options, _ = CASES[case]
    done = run(command[0], kind, *options, "--json", *command[1:])
    body = done.document
    assert (body["command"], body["part"], body["files"]) == (command[0], kind, [])
    assert done.code == (3 if body["verdict"] == "fail" else 0)
    assert body["passed"] is (body["verdict"] != "fail")
    ids = [check["id"] for check in body["checks"]]
    assert len(set(ids)) == len(ids)
    assert set(ids) <= set(CHECKS)
    assert all(set(check["sources"]) <= set(SOURCES) for check in body["checks"])
    governing = [check["id"] for check in body["checks"] if check["governing"]]
    assert governing == ([body["governing_check"]] if body["governing_check"] else [])
    unknown = {check["id"] for check in body["checks"] if check["verdict"] == "not_checked"}
    assert unknown == {row["id"] for row in body["not_checked"]}
    cautions = {
        check["id"]
        for check in body["checks"]
        if (check["stage"], check["verdict"]) == ("handling", "caution")
    }
    ruled = {rule["check"] for rule in body["handling_rules"]}
    # What a wood decides and none was told: its rule is that of the worst on file.
    told = {name for name in unknown if CHECKS[name].stage == "handling"}
    wood = body["inputs"].get("wood", {"from": "given"})
    assert ruled <= (cautions | told if "for sizing alone" in wood["from"] else cautions)
    # Every caution has its rule, but one force only one: the check that says both numbers.
    said_by = {name: CHECKS[name].said_by for name in cautions}
    assert ruled & cautions == {name for name in cautions if said_by[name] not in ruled}
    verdicts = {check["verdict"] for check in body["checks"] if check["stage"] != "handling"}
    fails = any(check["verdict"] == "fail" for check in body["checks"])
    expected = "fail" if fails else "caution" if verdicts - {"pass"} else "pass"
    assert body["verdict"] == expected


@pytest.mark.parametrize("case", CASES)
def test_a_chains_elbow_ends_with_the_expected_code(case):
    options, code = CASES[case]
    assert run("check", "elbow", *options).code == code


def test_all_four_verdicts_of_a_check_are_met():
    seen = set()
    for options, _ in CASES.values():
        seen |= {c["verdict"] for c in run("check", "elbow", *options, "--json").document["checks"]}
    assert seen == {"pass", "caution", "fail", "not_checked"}


@pytest.mark.parametrize("kind", KINDS)
def test_numbers_agree_with_their_own_verdict(kind):
    for check in run("check", kind, *DEMO, "--json").document["checks"]:
        if check["safety_factor"] is not None and check["demand"]:
            ratio = check["capacity"] / check["demand"]
            assert check["safety_factor"] == pytest.approx(ratio, rel=1e-4), check["id"]


@pytest.mark.parametrize(
    "spoil",
    [
        lambda body: body.pop("verdict"),
        lambda body: body.update(verdict="PASS"),
        lambda body: body.update(part_number="Elbow 1"),
        lambda body: body["dimensions"].update(bore_diameter=2.5),
        lambda body: body["checks"][0].update(verdict="ok"),
        lambda body: body["checks"][0].pop("unit"),
        lambda body: body.update(job={}),
    ],
)
def test_the_schema_refuses_a_spoilt_document(spoil):
    body = json.loads(run("check", "tip", *DEMO, "--json").out)
    VALIDATOR.validate(body)
    spoil(body)
    with pytest.raises(jsonschema.ValidationError):
        VALIDATOR.validate(body)


def test_every_input_says_where_it_came_from():
    inputs = run("check", "elbow", *DEMO, "--json").document["inputs"]
    assert inputs["bit"] == {"value": "15/64", "from": "option"}
    assert inputs["tube"]["from"] == "matched in the tubing table within 0.05 mm"
    assert inputs["material"] == {"value": "mjf_pa12", "from": "default"}


def test_a_graded_set_holds_to_its_schema_and_each_part_to_its_own():
    schema = json.loads((PACKAGE / "jobs" / "schemas" / "grades.json").read_text())
    done = run("make", "tip", *DEMO, "--grades", "-n", "--json")
    assert done.code == 0
    body = json.loads(done.out)
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.Draft202012Validator(schema).validate(body)
    for part in body["grades"]:
        VALIDATOR.validate(part)
    assert [part["grade"] for part in body["grades"]] == [1, 2, 3]
    # Judged on one size, drawn in three: two thirds of a tolerance of 0.3 mm apart.
    drawn = [part["dimensions"].get("compensated_lead_diameter_mm",
                                    part["dimensions"]["lead_diameter_mm"])
             for part in body["grades"]]  # fmt: skip
    assert [later - one for one, later in pairwise(drawn)] == pytest.approx([0.2, 0.2])
    for part in body["grades"]:
        choose, batch = part["instructions"][-2:]
        assert choose.startswith(f"Grade {part['grade']} of 3")
        assert batch.startswith("Measure one lead of each batch on arrival")
