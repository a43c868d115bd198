"""A tool made for its part by itself: from the part's record, from a word, in a kit."""

import json

import pytest

from barbwright.design.part import KINDS
from barbwright.errors import InputError
from barbwright.jobs.made_for import require_tool, served, tool_for
from barbwright.jobs.plan import plan_part
from barbwright.jobs.record import load_record, part_record
from example_job import job_of
from run_cli import run

ARGUMENTS = ["--tube-id", "0.170in", "--bit", "15/64", "--pressure", "45psi"]


def written(folder, kind, **more):
    folder.mkdir()
    plan = plan_part(KINDS[kind], job_of(kind, **more), "c")
    (folder / "part.json").write_bytes(part_record(plan, []))
    return plan


@pytest.mark.parametrize(
    ("tool", "host"),
    [("driver", "tee"), ("driver", "elbow"), ("driver", "tip"), ("fork", "elbow"), ("fork", "tip")],
)
def test_a_tool_follows_the_record_of_its_part(tool, host, tmp_path):
    written(tmp_path / "part", host, bit="1/4", wood="maple sugar")
    job, revision = tool_for(tmp_path / "part")
    assert revision == "c"
    plan = plan_part(KINDS[tool], job, revision)
    made_for = plan.design.own.made_for
    assert made_for.kind.name == host
    assert job.bit.name == "1/4 in"
    assert (host in plan.number) == (host != "tip")
    # Its own record makes it again.
    own = tmp_path / tool
    own.mkdir()
    (own / "part.json").write_bytes(part_record(plan, []))
    kind, again, _, _ = load_record(own)
    assert (kind.name, plan_part(kind, again, revision).number) == (tool, plan.number)


def test_what_has_no_tip_has_no_tool(tmp_path):
    written(tmp_path / "part", "barb")
    with pytest.raises(InputError, match="no tool serves this part"):
        tool_for(tmp_path / "part")
    with pytest.raises(InputError, match="this is no tool"):
        require_tool(KINDS["tee"])


def test_a_kits_tools_are_for_its_tee_first():
    assert served(["barb", "tip", "elbow", "tee"]) == ("tee", "tip")
    assert served(["tip", "elbow"]) == ("elbow", "tip")
    assert served(["tip", "cap"]) == ("tip",)
    assert served(["barb", "cap"]) == ()


def test_the_command_takes_a_word_or_a_record_and_nothing_twice(tmp_path):
    done = run("check", "driver", "--for", "tee", *ARGUMENTS, "--json")
    assert done.code == 0
    assert "-tee-" in json.loads(done.out)["part_number"]
    written(tmp_path / "part", "elbow")
    done = run("check", "driver", "--for", str(tmp_path / "part"), "--bit", "1/4")
    assert done.code == 2
    assert "--for takes all inputs from the part's record" in done.err
    assert run("check", "tee", "--for", "tee", *ARGUMENTS).code == 2
    done = run("check", "fork", "--for", "elbow", *ARGUMENTS, "--json")
    assert done.code == 0
    assert "-elbow-" in json.loads(done.out)["part_number"]
    missing = run("check", "driver", "--for", str(tmp_path / "none"))
    assert missing.code == 2
    assert "part.json" in missing.err
