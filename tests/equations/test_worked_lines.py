"""Every equation says where it stands, where it holds, and a worked line that is true."""

import ast
import doctest
import importlib
import inspect
import pkgutil
import re
from pathlib import Path

import pytest

import barbwright
from barbwright import equations

SRC = Path(barbwright.__file__).parent
MODULES = [
    importlib.import_module(f"{equations.__name__}.{info.name}")
    for info in pkgutil.iter_modules(equations.__path__)
]
EQUATIONS = {
    name: function
    for module in MODULES
    for name, function in vars(module).items()
    if inspect.isfunction(function)
    and function.__module__ == module.__name__
    and not name.startswith("_")
}
# An equation, table or page number; or the plain word that there is none, or that it was not seen.
NUMBERED = re.compile(
    r"(eq\.|table|page|section|appendix|ISO) [A-Z]?-?\d|no number|number not seen|none: "
    r"|any text on|appendix II"
)


def called_from_outside():
    """Names of `equations` that another folder calls: what decides, draws or prints."""
    for path in sorted(SRC.rglob("*.py")):
        if path.is_relative_to(SRC / "equations"):
            continue
        source = path.read_text(encoding="utf-8")
        modules = set()
        for node in ast.walk(ast.parse(source)):
            if isinstance(node, ast.ImportFrom) and node.module == equations.__name__:
                modules |= {alias.name for alias in node.names} - {"N", "Number"}
            elif isinstance(node, ast.ImportFrom) and (node.module or "").startswith(
                f"{equations.__name__}."
            ):
                yield from (alias.name for alias in node.names if alias.name[0].islower())
        yield from (name for name in EQUATIONS for one in modules if f"{one}.{name}" in source)


@pytest.mark.parametrize("name", EQUATIONS)
def test_equation_range_and_example_are_there(name):
    text = " ".join(inspect.getdoc(EQUATIONS[name]).split())
    equation = re.search(r"Equation: (.*?) Valid: ", text)
    assert equation
    assert NUMBERED.search(equation[1]), equation[1]
    assert re.search(r"Valid: \S.* Examples -+ >>> ", text)


def test_every_equation_that_another_folder_calls_is_among_them():
    called = set(called_from_outside())
    assert called <= set(EQUATIONS)
    assert len(called) > 40


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__.rsplit(".", 1)[-1])
def test_worked_lines_are_true(module):
    result = doctest.testmod(module)
    assert result.failed == 0
    assert result.attempted > 0
