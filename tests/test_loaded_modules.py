"""What only tells numbers must not wait for the CAD kernel, nor for anything else slow."""

import json

import pytest

from run_cli import DEMO, run_fresh

SLOW = ("cadquery", "OCP", "vtk", "vtkmodules", "trimesh", "ngsolve", "netgen", "lib3mf",
        "matplotlib", "ezdxf", "scipy.optimize", "scipy.spatial", "fluids", "jinja2")  # fmt: skip
SHOW = "import json\nsys.stderr.write('\\n' + json.dumps(sorted(sys.modules)))"


def loaded(*arguments):
    done = run_fresh(*arguments, python=SHOW)
    assert done.code == 0, done.err
    return set(json.loads(done.err.splitlines()[-1]))


@pytest.mark.parametrize(
    "arguments",
    [
        ("--help",),
        ("--version",),
        ("make", "--help"),
        ("check", "tee", *DEMO),
        ("check", "tip", *DEMO, "--json"),
        ("list", "bits", "15/64"),
        ("list", "kits"),
        ("explain",),
        ("explain", "barb_seal"),
        ("build", "park_oaks", "-n"),
        ("make", "elbow", *DEMO, "-n"),
    ],
    ids=lambda arguments: " ".join(arguments[:2]),
)
def test_no_slow_library_is_loaded(arguments):
    modules = loaded(*arguments)
    assert "barbwright.cli" in modules, "nothing was run"
    assert {name for name in SLOW if name in modules} == set()


def test_check_leaves_rich_and_the_chain_out():
    modules = loaded("check", "elbow", *DEMO)
    assert {"rich", "jsonschema", "scipy.integrate", "scipy.linalg"} & modules == set()
    assert "barbwright.checks.table" in modules


def test_chain_leaves_the_kernel_and_pictures_out():
    # Its fittings' losses come from a library that brings scipy.
    modules = loaded("chain", "park_oaks")
    may = {"fluids", "scipy.optimize", "scipy.spatial"}
    assert {name for name in SLOW if name in modules} - may == set()


@pytest.mark.parametrize("table", ["bits", "tubes", "woods"])
def test_a_list_of_names_leaves_numpy_and_the_table_library_out(table):
    modules = loaded("list", table)
    assert {"numpy", "rich", "barbwright.design.part"} & modules == set()
    assert "barbwright.catalog" in modules


@pytest.mark.parametrize("option", ["--help", "-h", "--version"])
def test_help_and_version_leave_numpy_and_the_parts_out(option):
    """A part typed for a command is looked for among the kinds: an option is none."""
    assert {"numpy", "pint", "barbwright.design.part"} & loaded(option) == set()
