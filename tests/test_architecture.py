"""Imports point down only, and each heavy library has one home."""

import ast
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "src" / "barbwright"

# Top to bottom: a folder (or module) may import itself and what stands below it, nothing above.
# `job` stands on `design` because it hands over the conditions that `design` sizes for.
ORDER = (
    "__main__",
    "cli",
    "api",
    "farm",
    "order",
    "jobs",
    "report",
    "rating",
    "prove",
    "export",
    "reread",
    "chain",
    "solid",
    "checks",
    "logs",
    "job",
    "design",
    "catalog",
    "inference",
    "equations",
    "say",
    "units",
    "sources",
    "aside",
    "errors",
    "__version__",
)
# They judge the numbers and the file, not the model: no arrow to `solid`, though it points down.
FORBIDDEN = {("checks", "solid"), ("reread", "solid"), ("report", "solid"), ("rating", "solid")}
HOMES = {
    "cadquery": {"solid", "export"},
    "OCP": {"solid", "export"},
    "trimesh": {"reread"},
    "rtree": {"reread"},
    "ngsolve": {"prove"},
    "netgen": {"prove"},
    "typer": {"cli"},
    "click": set(),
    "rich": {"cli"},
    "questionary": {"cli"},
    "vtk": {"report"},
    "vtkmodules": {"report"},
    "ezdxf": {"report"},
    "lib3mf": {"export", "reread"},
    "pint": {"units"},
    "jinja2": {"report", "order"},
    "polars": {"logs", "farm"},
    "dask": {"farm"},
    "distributed": {"farm"},
}
# Slow to import, so only inside the function that needs them.
LATE = {*HOMES, "scipy", "fluids", "matplotlib", "platformdirs"} - {"typer", "click"}


def part_of(path):
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imported(node):
    if isinstance(node, ast.Import):
        return [alias.name for alias in node.names]
    if isinstance(node, ast.ImportFrom):
        assert node.level == 0, "relative imports hide the arrow"
        if node.module == "barbwright":
            return [f"barbwright.{alias.name}" for alias in node.names]
        return [node.module]
    return []


def all_imports(source):
    """Every import, wherever it stands: late ones and those for type checking too."""
    return [name for node in ast.walk(ast.parse(source)) for name in imported(node)]


def imports_on_loading(source):
    """Imports that run when the module is imported."""

    def walk(nodes):
        for node in nodes:
            if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef, ast.Lambda)):
                continue
            if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
                yield from walk(node.orelse)
                continue
            yield from imported(node)
            yield from walk(ast.iter_child_nodes(node))

    return list(walk(ast.parse(source).body))


def wrong_arrows(part, source):
    wrong = []
    for name in all_imports(source):
        root, *rest = name.split(".")
        if root == "barbwright" and rest:
            down = ORDER.index(rest[0]) >= ORDER.index(part)
            if not down or (part, rest[0]) in FORBIDDEN:
                wrong.append(f"{part} > {name}")
        elif part not in HOMES.get(root, {part}):
            wrong.append(f"{part} > {root}")
    return wrong


MODULES = sorted(PACKAGE.rglob("*.py"))


def test_every_folder_has_its_place_in_the_order():
    parts = {part_of(path) for path in MODULES} - {"__init__"}
    assert parts <= set(ORDER)
    assert len(MODULES) > 60


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_point_down(path):
    if part_of(path) == "__init__":
        # The package's own door: it hands out what `api` has, and only when asked.
        source = path.read_text()
        if path.parent == PACKAGE:
            assert {name.partition(".api")[0] for name in all_imports(source)} <= {
                "typing",
                "barbwright",
            }
            assert imports_on_loading(source) == ["typing"]
        else:
            assert not all_imports(source)
        return
    assert wrong_arrows(part_of(path), path.read_text()) == []


# Beside the folders of src: one file a book, whole uses, speed, and the reliability campaign.
OF_THEIR_OWN = {"published", "uses", "bench", "campaign"}
# Held to all equations at once.
OF_ALL = {"test_worked_lines.py", "test_mechanics_arrays.py"}


def test_tests_stand_in_the_folders_of_src():
    tests = Path(__file__).parent
    folders = {path.parent.relative_to(tests).parts[0] for path in tests.rglob("*/test_*.py")}
    assert folders - OF_THEIR_OWN <= {part_of(path) for path in MODULES}


def test_a_test_of_an_equation_is_named_after_its_file():
    tests = Path(__file__).parent / "equations"
    modules = tuple(f"test_{path.stem}" for path in (PACKAGE / "equations").glob("[a-z]*.py"))
    names = {path.name for path in tests.glob("test_*.py")} - OF_ALL
    assert {name for name in names if not name.startswith(modules)} == set()


def module_name(path):
    return ".".join((PACKAGE.name, *path.relative_to(PACKAGE).with_suffix("").parts)).removesuffix(
        ".__init__"
    )


def files_imported(source, known):
    """Files of ours that one imports: late ones count, they only hide a circle until it is run."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names if alias.name in known)
        elif isinstance(node, ast.ImportFrom):
            for alias in node.names:
                file = f"{node.module}.{alias.name}"
                yield from [name for name in (file, node.module) if name in known][:1]


def circle(sources):
    """Files that import each other, first and last the same; empty where none do."""
    arrows = {name: set(files_imported(text, sources)) - {name} for name, text in sources.items()}
    try:
        TopologicalSorter(arrows).prepare()
    except CycleError as error:
        return error.args[1]
    return []


def test_no_files_import_each_other_in_a_circle():
    # The package's own door is no file that others import from, but for its version.
    sources = {module_name(path): path.read_text() for path in MODULES}
    assert circle({name: text for name, text in sources.items() if name != "barbwright"}) == []


def test_a_circle_of_files_is_seen_through_late_imports():
    sources = {
        "barbwright.jobs.make": "def f():\n    from barbwright.jobs.prove import run",
        "barbwright.jobs.prove": "from barbwright.jobs import plan",
        "barbwright.jobs.plan": "if TYPE_CHECKING:\n    import barbwright.jobs.make",
    }
    assert set(circle(sources)) == set(sources)
    assert circle(sources | {"barbwright.jobs.plan": "from barbwright.jobs import naming"}) == []


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_slow_libraries_are_imported_late(path):
    early = {name.split(".")[0] for name in imports_on_loading(path.read_text())} & LATE
    # The registry is what `units` is for; it is small and every command needs it.
    assert early - ({"pint"} if part_of(path) == "units" else set()) == set()


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_only_the_command_line_prints_or_exits(path):
    tree = ast.parse(path.read_text())
    # A file run as a child process of its own ends with an exit status.
    run_alone = [
        node
        for node in tree.body
        if isinstance(node, ast.If) and "__name__" in ast.unparse(node.test)
    ]
    tree.body = [node for node in tree.body if node not in run_alone]
    calls = {ast.unparse(node.func) for node in ast.walk(tree) if isinstance(node, ast.Call)}
    if part_of(path) != "cli":
        assert not calls & {"print", "sys.exit", "exit", "quit", "os._exit"}


@pytest.mark.parametrize(
    ("part", "source"),
    [
        ("equations", "from barbwright.design.part import KINDS"),
        ("design", "def f():\n    from barbwright.job import numbers"),
        ("checks", "from barbwright.solid.build import build"),
        ("reread", "def f():\n    from barbwright.solid import mesh"),
        ("jobs", "if TYPE_CHECKING:\n    from barbwright.cli.app import app"),
        ("report", "import trimesh"),
        ("jobs", "def f():\n    import OCP.gp"),
        ("cli", "import click"),
    ],
)
def test_a_wrong_arrow_is_seen(part, source):
    assert wrong_arrows(part, source)


def names_in(source):
    """Every name, attribute and imported name of a source, without its strings."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Name):
            yield node.id
        elif isinstance(node, ast.Attribute):
            yield node.attr
        elif isinstance(node, (ast.Import, ast.ImportFrom)):
            yield from imported(node)
            yield from (alias.name for alias in node.names)


def test_one_name_is_one_record():
    """A record's name stands for one thing: what it is called is never asked of its folder."""
    homes = {}
    for path in MODULES:
        for node in ast.parse(path.read_text()).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                homes.setdefault(node.name, []).append(str(path.relative_to(PACKAGE)))
    assert {name: files for name, files in homes.items() if len(files) > 1} == {}


def kinds_named(source):
    """What of a source knows one kind of part: its record, its file, or the test for it."""
    own = {"Cap", "Collar", "Driver", "Fork", "Inline", "HubPart", "InlinePart"}
    return {
        name
        for name in names_in(source)
        if name in own or name.startswith("barbwright.design.kinds.")
    }


# They ask a part what it has; which kind it is they need not know.
BLIND = ("checks", "rating", "solid", "export", "reread", "report", "order")
# A blow goes through the tool that belongs to the judged part, whatever kind that part is, and
# its own tools free it.
NAMED = {
    "checks/blows.py": {"barbwright.design.kinds.driver"},
    "checks/freed.py": {"barbwright.design.kinds.driver", "barbwright.design.kinds.fork"},
}


@pytest.mark.parametrize(
    "path", [path for path in MODULES if part_of(path) in BLIND],
    ids=lambda path: str(path.relative_to(PACKAGE)),
)  # fmt: skip
def test_who_judges_builds_reads_or_reports_knows_no_kind_of_part(path):
    named = NAMED.get(str(path.relative_to(PACKAGE)), set())
    assert kinds_named(path.read_text()) == named


def test_that_search_finds_a_kind_in_an_import_and_in_a_question():
    assert kinds_named("from barbwright.design.kinds.cap import Cap")
    assert kinds_named("def f(own):\n    return isinstance(own, Fork)")
    assert not kinds_named("def f(own):\n    return own.made_for")
