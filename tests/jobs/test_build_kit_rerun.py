"""A kit on disk: made once, kept while nothing changes, never half made."""

import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

import barbwright
from barbwright.errors import BuildError, CheckFailedError, Fault, InputError
from barbwright.jobs.build import _why, build_kit, failed_parts, order_lines, plan_kit
from barbwright.jobs.kitfile import load_kit
from barbwright.jobs.make import folder_name
from barbwright.jobs.record import part_record
from barbwright.order.choose import choose_parts
from example_kit import CHAIN, JOB, write_kit

pytestmark = pytest.mark.usefixtures("rated_once", "models_once", "one_process")

SRC = Path(barbwright.__file__).parents[1]
SMALL = {"tee": "{ quantity = 0 }", "elbow": "{ quantity = 0 }", "barb": "{ quantity = 2 }"}
STL = ("stl",)


def plan_of(folder, **more):
    return plan_kit(load_kit(write_kit(folder, **more)), {})


def tree(folder):
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


# --- quantities ------------------------------------------------------------------------------


def quantities(plan):
    return {order.kind: (order.quantity, order.spares) for order, _ in plan.parts}


def test_quantities_follow_from_the_chain_where_the_kit_does_not_say(tmp_path):
    assert quantities(plan_of(tmp_path)) == {"tee": (7, 1), "elbow": (1, 1)}
    longer = {**CHAIN, "girth": "300 cm"}
    assert quantities(plan_of(tmp_path, chain=longer)) == {"tee": (19, 2), "elbow": (1, 1)}
    one = {**{k: v for k, v in CHAIN.items() if k != "girth"}, "ports": "1"}
    assert quantities(plan_of(tmp_path, chain=one)) == {"elbow": (1, 1)}


def numbers_of(plan, kind):
    return [part.number for order, part in plan.parts if order.kind == kind]


@pytest.mark.slow
def test_a_part_of_a_kit_is_made_in_one_grade(tmp_path):
    plan = plan_of(tmp_path, parts={"tee": "{ grade = 2 }"}, tools=True)
    (tee,) = numbers_of(plan, "tee")
    assert tee.endswith("-g2")
    assert quantities(plan)["tee"] == (7, 1)
    # Its elbow is ungraded, as the kit says nothing of it.
    assert not numbers_of(plan, "elbow")[0].endswith("-g2")
    # The chain's cards speak for the graded part's shorter seat.
    plain = plan_of(tmp_path)
    seats = [float(one.chain.tee.design.tip.seat_mm) for one in (plan, plain)]
    assert seats[0] < seats[1] - 2.0


def test_a_part_of_a_kit_is_made_in_all_three_grades_and_that_is_said(tmp_path):
    plan = plan_of(tmp_path, parts={"elbow": "{ grades = true, quantity = 1 }"})
    numbers = numbers_of(plan, "elbow")
    assert [number[-3:] for number in numbers] == ["-g1", "-g2", "-g3"]
    assert len({number[:-3] for number in numbers}) == 1
    assert [order.quantity for order, _ in plan.parts if order.kind == "elbow"] == [1, 1, 1]
    assert any("1 of each of 3 grades" in text for text in plan.warnings)


def test_what_fails_in_all_grades_is_told_once(tmp_path, monkeypatch):
    told = Fault("FAIL drive_buckle", given="one", do="another")
    monkeypatch.setattr("barbwright.jobs.build.failure", lambda _: CheckFailedError([told]))
    job = {**JOB, "fluid": "chloride_brine"}
    parts = {"tip": "{ grades = true, quantity = 1 }", "barb": "{ quantity = 1 }"}
    (fault,) = failed_parts(plan_of(tmp_path, chain={}, job=job, parts=parts)).faults
    assert fault.what == "tip, barb: FAIL drive_buckle"


def test_a_kit_s_grades_are_ordered_each_by_its_own_folder(tmp_path):
    path = write_kit(tmp_path, chain={}, parts={"tip": "{ grades = true, quantity = 1 }"})
    plan = plan_kit(load_kit(path), {})
    for _, part in plan.parts:
        folder = tmp_path / "made" / plan.kit.name / folder_name(part)
        folder.mkdir(parents=True)
        (folder / "part.json").write_bytes(part_record(part, []))
    chosen = choose_parts([str(path)], tmp_path / "made")
    assert [line[0].name[-3:] for line in chosen.lines] == ["-g1", "-g2", "-g3"]
    # The kit's folder by itself holds the same three.
    held = choose_parts([str(tmp_path / "made" / plan.kit.name)], tmp_path / "made")
    assert {line[0] for line in held.lines} == {line[0] for line in chosen.lines}


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("{ quantity = 1, grade = 4 }", "grade"),
        ("{ quantity = 1, grade = 2, grades = true }", "grades makes all three"),
    ],
)
def test_a_grade_that_makes_no_sense_is_refused(tmp_path, row, said):
    with pytest.raises(InputError, match=said):
        load_kit(write_kit(tmp_path, parts={"tip": row}))


def test_a_part_without_a_tip_has_no_grade(tmp_path):
    with pytest.raises(InputError, match=r"parts\.barb: grade: this part has no tip"):
        load_kit(write_kit(tmp_path, parts={"barb": "{ quantity = 1, grade = 2 }"}))


def test_the_kit_s_own_quantities_win_and_too_few_are_said(tmp_path):
    plan = plan_of(tmp_path, parts={"tee": "{ quantity = 3 }", "tip": "{ quantity = 1 }"})
    assert quantities(plan) == {"tee": (3, 0), "elbow": (1, 1), "tip": (1, 0)}
    assert any("the chain needs 7 of tee, and the kit prints 3" in w for w in plan.warnings)
    plan = plan_of(tmp_path, parts={"tee": "{ spares = 4 }"})
    assert quantities(plan)["tee"] == (7, 4)
    assert next(row for row in plan.chain.solve().parts if row["item"] == "tee")["spare"] == 4


def test_nothing_of_a_part_is_not_made(tmp_path):
    assert quantities(plan_of(tmp_path, parts=SMALL)) == {"barb": (2, 0)}


def test_faults_of_chain_and_parts_come_together(tmp_path):
    path = write_kit(tmp_path, job={**JOB, "bark": "8"}, chain={**CHAIN, "girth": "119"})
    with pytest.raises(InputError) as caught:
        plan_kit(load_kit(path), {})
    assert "8 mm or 8 in" in str(caught.value)


def test_a_failing_part_stops_the_kit_before_anything_is_written(tmp_path):
    soft = {**JOB, "tube_id": "4mm", "tube_od": "6mm", "tube_material": "PVC", "shore": "65"}
    plan = plan_of(tmp_path, job=soft)
    with pytest.raises(CheckFailedError) as caught:
        build_kit(plan, tmp_path / "out", STL)
    # What fails for several parts in the same numbers is said once, with their names.
    assert "tee, elbow: FAIL barb_seal" in str(caught.value)
    assert not (tmp_path / "out").exists()


# --- kept, made again -----------------------------------------------------------------------


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    folder = tmp_path_factory.mktemp("made")
    plan = plan_of(folder, parts=SMALL)
    built = build_kit(plan, folder / "out", STL)
    return folder, plan, built


@pytest.fixture
def kit_there(made, tmp_path):
    """A copy of the made kit, to be spoilt."""
    shutil.copytree(made[0] / "out", tmp_path / "out")
    return made[1], tmp_path / "out", tmp_path / "out" / "test_kit"


def test_a_kit_has_its_parts_and_pages(made):
    _, _, built = made
    assert [part.state for part in built.parts] == ["made"]
    names = {page.path.name for page in built.pages}
    assert names == {
        "between_trees.html", "chain.html", "chain.svg", "chain_vessel.svg", "field_card.html",
        "index.html", "proof_card.html",
    }  # fmt: skip
    assert all(page.state == "made" for page in built.pages)
    assert built.chain["total_flow_ml_min"] > 0
    assert order_lines(built.parts) == [(built.parts[0].folder, 2, 0, "")]
    assert built.parts[0].body["quantity"] == 2
    assert not list(built.folder.rglob(".*"))


def test_the_front_page_leads_to_every_part_and_page_and_to_nothing_that_is_not_there(made):
    _, _, built = made
    text = (built.folder / "index.html").read_text(encoding="utf-8")
    links = set(re.findall(r'(?:href|src)="([^"#]+)"', text)) - {"data:,"}
    assert {link for link in links if not (built.folder / link).is_file()} == set()
    assert all(part.folder.name in text for part in built.parts)
    pages = {page.path.name for page in built.pages if page.path.suffix == ".html"}
    assert pages - {"index.html"} <= links


def test_a_second_run_keeps_everything_and_touches_nothing(made):
    folder, plan, first = made
    before = {path: path.stat().st_mtime_ns for path in (folder / "out").rglob("*")}
    said = []
    built = build_kit(plan, folder / "out", STL, finished=lambda name, state: said.append(state))
    assert {part.state for part in built.parts} == {"kept"}
    assert {page.state for page in built.pages} == {"kept"}
    assert set(said) == {"kept"}
    assert {path: path.stat().st_mtime_ns for path in (folder / "out").rglob("*")} == before
    same = {key: value for key, value in built.parts[0].body.items() if key != "state"}
    assert same == {k: v for k, v in first.parts[0].body.items() if k != "state"}


@pytest.mark.slow
def test_keeping_loads_no_kernel(made, kit_there):
    folder, out = made[0], kit_there[1]
    code = (
        "import sys\nfrom pathlib import Path\n"
        "from barbwright.jobs.build import build_kit, plan_kit\n"
        "from barbwright.jobs.kitfile import load_kit\n"
        f"plan = plan_kit(load_kit({str(folder / 'kit.toml')!r}), {{}})\n"
        f"built = build_kit(plan, Path({str(out)!r}), ('stl',))\n"
        "assert {p.state for p in built.parts} == {'kept'}\n"
        "bad = {'cadquery', 'OCP', 'vtk', 'trimesh', 'ngsolve'} & set(sys.modules)\n"
        "assert not bad, bad\n"
    )
    environment = {**os.environ, "PYTHONPATH": str(SRC)}
    done = subprocess.run([sys.executable, "-c", code], env=environment, capture_output=True,
                          text=True, check=False)  # fmt: skip
    assert done.returncode == 0, done.stderr


def test_a_spoilt_file_is_made_again_and_the_reason_said(kit_there):
    plan, out, folder = kit_there
    stl = next(folder.glob("*/part_mm.stl"))
    good = stl.read_bytes()
    stl.write_bytes(good[:-1] + b"\x01")
    built = build_kit(plan, out, STL)
    assert built.parts[0].state == "remade"
    assert "part_mm.stl is not as it was written" in built.parts[0].because
    assert stl.read_bytes() == good


def spoil_record(change):
    def spoil(folder):
        path = next(folder.glob("*/part.json"))
        body = json.loads(path.read_text())
        change(body)
        path.write_text(json.dumps(body))

    return spoil


REASONS = [
    (lambda folder: next(folder.glob("*/part_mm.stl")).unlink(), "is missing"),
    (spoil_record(lambda body: body["versions"].update(vtk="0")), "other versions"),
    (spoil_record(lambda body: body["job"].update(pressure_mpa=0.1)), "job changed"),
    (spoil_record(lambda body: body["dimensions"].update(bore_diameter_mm=1)), "dimensions"),
    (spoil_record(lambda body: body.update(files=[])), "stl was not written"),
    (spoil_record(lambda body: body.update(extra=1)), "record changed"),
]


@pytest.mark.parametrize(("spoil", "reason"), REASONS, ids=[reason for _, reason in REASONS])
def test_each_reason_is_seen(kit_there, spoil, reason):
    plan, _, folder = kit_there
    part = plan.parts[0][1]
    assert _why(part, folder / folder_name(part), STL, False) == ""
    spoil(folder)
    assert reason in _why(part, folder / folder_name(part), STL, False)


def test_more_formats_and_force_make_it_again(kit_there):
    plan, _, folder = kit_there
    part = plan.parts[0][1]
    assert "3mf was not written" in _why(part, folder / folder_name(part), ("stl", "3mf"), False)
    assert "--force" in _why(part, folder / folder_name(part), STL, True)


def test_a_stranger_s_folder_is_not_overwritten(kit_there):
    plan, out, folder = kit_there
    record = next(folder.glob("*/part.json"))
    record.write_text("not ours")
    with pytest.raises(InputError, match="of ours is in it"):
        build_kit(plan, out, STL)
    assert record.read_text() == "not ours"


@pytest.mark.slow
def test_a_spoilt_page_is_made_again_and_notes_of_the_user_stay(kit_there):
    plan, out, folder = kit_there
    card = folder / "field_card.html"
    good = card.read_bytes()
    card.write_text("spoilt")
    (folder / "my notes.txt").write_text("mine")
    built = build_kit(plan, out, STL)
    states = {page.path.name: page.state for page in built.pages}
    assert states["field_card.html"] == "remade"
    assert states["proof_card.html"] == "kept"
    assert card.read_bytes() == good
    assert (folder / "my notes.txt").read_text() == "mine"


@pytest.mark.slow
def test_a_change_of_the_chain_alone_leaves_the_parts(kit_there, tmp_path):
    _, out, _ = kit_there
    plan = plan_of(tmp_path, parts=SMALL, chain={**CHAIN, "volume_per_tree": "5 L"})
    built = build_kit(plan, out, STL)
    assert {part.state for part in built.parts} == {"kept"}
    states = {page.path.name: page.state for page in built.pages}
    assert states["chain.html"] == "remade"


@pytest.mark.slow
def test_a_part_of_an_earlier_kit_is_named_and_left(kit_there, tmp_path):
    _, out, folder = kit_there
    old = next(folder.glob("*/part.json")).parent
    plan = plan_of(tmp_path, parts=SMALL, job={**JOB, "pressure": "40psi"})
    built = build_kit(plan, out, STL)
    assert built.left_over == (old,)
    assert old.is_dir()
    assert built.parts[0].state == "made"


# --- two processes --------------------------------------------------------------------------


@pytest.mark.slow
def test_two_processes_write_the_same_bytes_as_one(tmp_path):
    plan = plan_of(tmp_path, parts={**SMALL, "tip": "{ quantity = 1 }"})
    begun = []
    two = build_kit(plan, tmp_path / "two", ("step", "stl"), progress=begun.append)
    one = build_kit(plan, tmp_path / "one", ("step", "stl"), processes=1)
    assert sorted(begun) == sorted(part.number for _, part in plan.parts)
    assert [part.state for part in (*two.parts, *one.parts)] == ["made"] * 4
    assert tree(two.folder) == tree(one.folder)
    assert len(tree(two.folder)) == 2 * 4 + 7
    assert not list(tmp_path.rglob(".*"))


def test_a_place_that_cannot_be_written_is_one_error_of_its_own(tmp_path):
    (tmp_path / "out").write_text("a file stands here")
    plan = plan_of(tmp_path, parts={**SMALL, "tip": "{ quantity = 1 }"})
    with pytest.raises(BuildError) as caught:
        build_kit(plan, tmp_path / "out", STL)
    assert "cannot write" in str(caught.value)


@pytest.mark.slow
def test_a_part_written_anyway_is_marked_everywhere(tmp_path):
    soft = {**JOB, "tube_id": "4mm", "tube_od": "6mm", "tube_material": "PVC", "shore": "65"}
    plan = plan_of(tmp_path, job=soft, parts=SMALL)
    assert not plan.passed
    built = build_kit(plan, tmp_path / "out", STL, anyway=True)
    names = tree(built.folder)
    assert all("_not_passed" in name for name in names)
    assert b"NOT PASSED" in names["field_card_not_passed.html"]
    again = build_kit(plan, tmp_path / "out", STL, anyway=True)
    assert {part.state for part in again.parts} == {"kept"}


# --- interrupts -----------------------------------------------------------------------------


def start(kit, out):
    code = "from barbwright.cli import main\nmain()"
    return subprocess.Popen(
        [sys.executable, "-c", code, "build", str(kit), "-o", str(out), "--formats", "stl,3mf"],
        env={**os.environ, "PYTHONPATH": str(SRC)}, stdout=subprocess.PIPE,
        stderr=subprocess.PIPE, text=True, start_new_session=True,
    )  # fmt: skip


def wait_for(condition, process, seconds=120.0):
    end = time.monotonic() + seconds
    while time.monotonic() < end and process.poll() is None:
        if condition():
            return
        time.sleep(0.02)
    raise AssertionError(process.communicate())


@pytest.mark.slow
@pytest.mark.parametrize(
    "signum",
    [signal.SIGINT, pytest.param(signal.SIGTERM, marks=pytest.mark.slow)],
    ids=["SIGINT", "SIGTERM"],
)
def test_an_interrupt_leaves_nothing_half_made_and_a_rerun_goes_on(tmp_path, signum):
    kit = write_kit(tmp_path, parts={"barb": "{ quantity = 1 }", "tip": "{ quantity = 1 }"})
    plan = plan_kit(load_kit(kit), {})
    folder = tmp_path / "out" / "test_kit"
    process = start(kit, tmp_path / "out")
    # The second staged folder shows that both processes are at work.
    wait_for(lambda: len(list(folder.glob(".*-new-*"))) >= 2, process)
    os.kill(process.pid, signum)
    _, said = process.communicate(timeout=60)
    assert process.returncode not in (0, None)
    assert "nothing is half made" in said
    assert "Traceback" not in said
    assert not list(folder.rglob(".*")), "a staged folder or file was left"
    finished = [part for _, part in plan.parts if (folder / folder_name(part)).exists()]
    assert len(finished) < len(plan.parts)
    for part in finished:
        assert _why(part, folder / folder_name(part), ("stl", "3mf"), False) == ""
    # In this process: two more of them would only load the kernel twice again.
    built = build_kit(plan, tmp_path / "out", ("stl", "3mf"), processes=1)
    kept = [part.plan.number for part in built.parts if part.state == "kept"]
    assert kept == [part.number for part in finished]
    assert all(_why(p.plan, p.folder, ("stl", "3mf"), False) == "" for p in built.parts)


@pytest.mark.slow
def test_the_workers_end_when_the_first_process_is_killed(tmp_path):
    kit = write_kit(tmp_path, parts={"barb": "{ quantity = 1 }", "tip": "{ quantity = 1 }"})
    folder = tmp_path / "out" / "test_kit"
    process = start(kit, tmp_path / "out")
    wait_for(lambda: len(list(folder.glob(".*-new-*"))) >= 2, process)
    children = workers_of(process.pid)
    assert len(children) == 2
    process.kill()
    process.communicate(timeout=60)
    end = time.monotonic() + 120
    while any(map(alive, children)) and time.monotonic() < end:
        time.sleep(0.1)
    assert not any(map(alive, children))
    # What they were at is finished whole; nothing is half made.
    assert not list(folder.glob(".*-new-*"))


def workers_of(parent):
    found = []
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = path.read_text().rsplit(")", 1)[1].split()
            line = (path.parent / "cmdline").read_bytes()
        except OSError:
            continue
        if int(fields[1]) == parent and b"barbwright.jobs.worker" in line:
            found.append(int(path.parent.name))
    return found


def alive(pid):
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0]
    except OSError:
        return False
    return state != "Z"


def test_a_kit_with_a_tip_gets_one_driver_and_one_fork_for_its_tee_unless_it_says_otherwise(
    tmp_path,
):
    folders = [tmp_path / name for name in ("plain", "none", "two", "barbs")]
    for folder in folders:
        folder.mkdir()
    plain = plan_kit(load_kit(write_kit(folders[0], tools=True)), {})
    found = {order.kind: (order.quantity, part) for order, part in plain.parts}
    assert {"collar"} & set(found) == set()
    for tool in ("driver", "fork"):
        assert found[tool][0] == 1
        assert found[tool][1].design.own.made_for.kind.name == "tee"
    assert plain.passed
    parts = {"driver": "{ quantity = 0 }", "fork": "{ quantity = 0 }"}
    none = plan_kit(load_kit(write_kit(folders[1], tools=True, parts=parts)), {})
    assert {"driver", "fork"} & {order.kind for order, _ in none.parts} == set()
    parts = {"driver": "{ quantity = 2 }", "collar": "{ quantity = 1 }"}
    two = plan_kit(load_kit(write_kit(folders[2], tools=True, parts=parts)), {})
    numbers = {order.kind: order.quantity for order, _ in two.parts}
    assert [numbers[tool] for tool in ("driver", "fork", "collar")] == [2, 1, 1]
    parts = {"barb": "{ quantity = 2 }"}
    barbs = plan_kit(load_kit(write_kit(folders[3], tools=True, parts=parts, chain={})), {})
    assert [order.kind for order, _ in barbs.parts] == ["barb"]
