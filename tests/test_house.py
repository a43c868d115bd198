"""The house: what stands at the top, what must not be in it, and what must be written down."""

import ast
import re
import subprocess
import tomllib
from pathlib import Path

import pytest

from barbwright.cli.app import COMMANDS
from run_cli import run

TOP = Path(__file__).parents[1]
ALLOWED = {"README.md", "DEVELOPERS.md", "pyproject.toml", "src", "profiles", "tests", "out",
           ".ci", ".gitignore"}  # fmt: skip
# Written in pieces, so that this file does not hold what it looks for.
MACHINE = re.compile(
    "(?<![\\w.])/(" + "|".join(["wo" + "rk/", "ro" + "ot/", "tm" + "p/", "ho" + "me/"]) + ")"
)
HOSTS = ("pypi." + "org", "pythonhosted." + "org", "crates." + "io", "npmjs." + "com",
         "artifact" + "ory")  # fmt: skip


def committed():
    """Every file under version control, or (without it) every source file."""
    listed = subprocess.run(
        ["git", "ls-files", "-z"], cwd=TOP, capture_output=True, text=True, check=False
    )
    if listed.returncode == 0 and listed.stdout:
        return [TOP / name for name in listed.stdout.split("\0") if name and (TOP / name).is_file()]
    return [
        path
        for name in ALLOWED
        for path in [TOP / name, *(TOP / name).rglob("*")]
        if path.is_file() and "__pycache__" not in path.parts
    ]


FILES = committed()


def test_only_the_allowed_names_stand_at_the_top():
    assert {path.relative_to(TOP).parts[0] for path in FILES} <= ALLOWED


def test_no_file_holds_a_path_of_a_machine_or_the_host_of_a_registry():
    found = []
    for path in FILES:
        try:
            text = path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue
        if MACHINE.search(text) or any(host in text for host in HOSTS):
            found.append(str(path.relative_to(TOP)))
    assert found == []
    assert len(FILES) > 100


def test_the_terminal_is_written_through_its_door_alone():
    """A letter that a terminal obeys, a reader who left and a full disk are met there."""
    written = re.compile(r"\b(typer\.echo|print|sys\.stdout\.write)\(")
    found = [
        str(path.relative_to(TOP))
        for path in FILES
        if path.is_relative_to(TOP / "src" / "barbwright" / "cli")
        and path.suffix == ".py"
        and written.search(path.read_text(encoding="utf-8"))
    ]
    assert found == ["src/barbwright/cli/door.py"]


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_and_is_written_down(name):
    done = run(name, "--help")
    assert done.code == 0
    assert len(done.out.splitlines()) > 5
    pages = (TOP / "README.md").read_text() + (TOP / "DEVELOPERS.md").read_text()
    assert re.search(rf"barbwright {name}\b", pages), f"`barbwright {name}` is not written down"


@pytest.mark.parametrize("name", COMMANDS)
def test_every_option_says_what_it_is(name):
    """A line that starts with an option and ends with it has no words."""
    out = run(name, "--help").out
    bare = re.findall(r"^  (-\S+(?:, --\S+)?(?: [A-Z.=]+)?)$\n(?!\s{10})", out, re.M)
    assert bare == []


def test_every_dependency_has_a_reason():
    project = tomllib.loads((TOP / "pyproject.toml").read_text())["project"]
    wanted = list(project["dependencies"])
    for more in project["optional-dependencies"].values():
        wanted += more
    names = {re.split(r"[<>=\[ ]", name)[0] for name in wanted} - {"barbwright"}
    pages = (TOP / "DEVELOPERS.md").read_text()
    missing = {name for name in names if not re.search(rf"\b{re.escape(name)}\b", pages)}
    assert missing == set()


def test_what_writes_bytes_is_pinned_exactly():
    from barbwright.jobs.record import PINNED

    project = tomllib.loads((TOP / "pyproject.toml").read_text())["project"]
    exact = {name.split("==")[0] for name in project["dependencies"] if "==" in name}
    assert exact == set(PINNED)


# Where a power is no whole number and cannot be written out: regressions, gases, water's viscosity.
# One of these may differ in the last bit from one kind of processor to another.
BROKEN_POWERS = {"energy.py", "fittings.py", "friction.py", "grip.py", "seat.py", "vessel.py",
                 "water.py"}  # fmt: skip


def powers(source):
    """Powers of what is not a constant, with whether the exponent is a written whole number."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Pow):
            base, exponent = node.left, node.right
        elif isinstance(node, ast.Call) and ast.unparse(node.func) in {"np.power", "pow"}:
            base, exponent = node.args[:2]
        else:
            continue
        if not isinstance(base, ast.Constant) and ast.unparse(base) not in {"pi", "np.pi"}:
            whole = isinstance(exponent, ast.Constant) and float(exponent.value).is_integer()
            yield ast.unparse(node), whole


@pytest.mark.parametrize("folder", ["equations", "job", "design", "checks", "chain", "rating"])
def test_what_runs_on_arrays_and_on_numbers_writes_its_powers_as_products(folder):
    """numpy takes `x**3` of an array by the processor's widest registers, of a number not."""
    found = set()
    for path in sorted((TOP / "src" / "barbwright" / folder).rglob("*.py")):
        broken_allowed = folder == "equations" and path.name in BROKEN_POWERS
        for text, whole in powers(path.read_text(encoding="utf-8")):
            # Water's four terms come with 40 and 1.9 alike, and stand as they are printed.
            if not (broken_allowed and (not whole or path.name == "water.py")):
                found.add(f"{path.relative_to(TOP)}: {text}")
    assert found == set()


def test_that_search_finds_powers_and_leaves_constants():
    assert list(powers("y = x**3 + (a + b) ** 2.0")) == [("x ** 3", True), ("(a + b) ** 2.0", True)]
    assert list(powers("y = np.power(g, 2.48)")) == [("np.power(g, 2.48)", False)]
    assert not list(powers("y = np.pi**2 * 10**3 * square(x)"))


def records_by_place(source):
    """Records of more than four fields that can be made by place: not keyword-only, or tuples."""
    for node in ast.walk(ast.parse(source)):
        if not isinstance(node, ast.ClassDef):
            continue
        told = "".join(ast.unparse(one) for one in node.decorator_list)
        tuple_of_names = any("NamedTuple" in ast.unparse(base) for base in node.bases)
        fields = [
            one
            for one in node.body
            if isinstance(one, ast.AnnAssign) and "ClassVar" not in ast.unparse(one.annotation)
        ]
        by_place = tuple_of_names or ("dataclass" in told and "kw_only=True" not in told)
        if len(fields) > 4 and by_place:
            yield node.name


def test_a_record_of_more_than_four_fields_takes_them_by_name():
    """Five numbers in a row are read by nobody, and two of them change places unseen."""
    found = {
        f"{path.relative_to(TOP)}: {name}"
        for path in sorted((TOP / "src").rglob("*.py"))
        for name in records_by_place(path.read_text(encoding="utf-8"))
    }
    assert found == set()


def test_that_search_finds_a_record_and_a_named_tuple():
    five = "".join(f"    f{number}: float\n" for number in range(5))
    four = five.replace("    f4: float\n", "")
    assert list(records_by_place("@dataclass(frozen=True)\nclass A:\n" + five)) == ["A"]
    assert list(records_by_place("class A(NamedTuple):\n" + five)) == ["A"]
    assert not list(records_by_place("@dataclass(frozen=True, kw_only=True)\nclass A:\n" + five))
    assert not list(records_by_place("@dataclass\nclass A:\n" + four))
