"""Every public function says its arguments' units, and where it comes from."""

import importlib
import inspect
import pkgutil
import re

import pytest

from barbwright.sources import SOURCES

# Arguments that are whole records: their fields carry the units, in their class's docstring.
RECORDS = re.compile(
    r"WorstCase|BeforeSizing|Design|Kind|Conditions|TubeConditions|MaterialConditions|Barb|Tip|"
    r"Finding|Judged|Outcome|Mark|Shape|list\[Vertex\]|Outline|Mapping|dict|tuple\[str|bool|str"
)
STRICT = ("equations", "checks")
# Drawing takes points and lists of bodies, and sizes whose names end in their unit.
DRAWN = re.compile(r"Point|list|tuple|int|Revolved|Engraving")
UNIT_IN_NAME = re.compile(r".*_(mm|mm2|mpa|deg|n|em)")


def public_functions(package):
    root = importlib.import_module(f"barbwright.{package}")
    for info in pkgutil.iter_modules(root.__path__):
        module = importlib.import_module(f"{root.__name__}.{info.name}")
        for name, function in vars(module).items():
            own = inspect.isfunction(function) and function.__module__ == module.__name__
            if own and not name.startswith("_"):
                yield pytest.param(function, id=f"{package}.{info.name}.{name}")


def documented(docstring):
    """Argument name to its type line and text, from a numpydoc Parameters section."""
    found = re.search(r"Parameters\n-+\n(.*?)(?:\n\n[A-Z]\w+\n-+|\nSource:|\Z)", docstring, re.S)
    entries = {}
    if found:
        for entry in re.split(r"\n(?=\S)", found[1]):
            head, _, text = entry.partition("\n")
            names, _, kind = head.partition(" : ")
            for name in names.replace("*", "").split(", "):
                entries[name.strip()] = (kind, text)
    return entries


STRICT_FUNCTIONS = [one for package in STRICT for one in public_functions(package)]
ALL_FUNCTIONS = STRICT_FUNCTIONS + list(public_functions("design"))


def test_there_are_functions_to_look_at():
    assert len(STRICT_FUNCTIONS) > 90
    assert len(ALL_FUNCTIONS) > len(STRICT_FUNCTIONS) + 15


@pytest.mark.parametrize("function", STRICT_FUNCTIONS)
def test_last_line_names_its_sources(function):
    last = inspect.getdoc(function).strip().splitlines()[-1]
    found = re.fullmatch(r"Source: (\w+(?:, \w+)*)", last)
    assert found, last
    unknown = set(found[1].split(", ")) - set(SOURCES)
    assert not unknown


@pytest.mark.parametrize("function", ALL_FUNCTIONS)
def test_a_source_that_is_named_exists(function):
    for keys in re.findall(r"^Source: (.*)$", inspect.getdoc(function) or "", re.M):
        assert set(keys.split(", ")) <= set(SOURCES)


@pytest.mark.parametrize("function", ALL_FUNCTIONS)
def test_every_argument_carries_its_unit(function):
    docstring = inspect.getdoc(function)
    assert docstring
    entries = documented(docstring)
    for name, argument in inspect.signature(function).parameters.items():
        annotation = str(argument.annotation)
        record = RECORDS.fullmatch(annotation.split("[")[0]) or RECORDS.match(annotation)
        if name not in entries:
            # A check's one argument is its case; a one-line function names its unit in the line.
            one_line = "\n\n" not in docstring.replace("\n\nSource:", "") and "[" in docstring
            drawn = ".design." in function.__module__ and (
                DRAWN.match(annotation) or UNIT_IN_NAME.fullmatch(name)
            )
            assert record or one_line or drawn, f"{name} is not documented"
            continue
        _, text = entries[name]
        assert record or re.search(r"\[[^\]]+\]", text), f"{name} has no unit: {text!r}"


def test_the_reader_of_docstrings_sees_a_missing_unit():
    entries = documented("X.\n\nParameters\n----------\na_mm : float\n    Size.\n\nSource: lame")
    assert list(entries) == ["a_mm"]
    kind, text = entries["a_mm"]
    assert (kind, text.strip()) == ("float", "Size.")
