"""Nothing stands in src that src does not use."""

import ast
import functools
import re
from pathlib import Path

import barbwright
from barbwright.catalog.folders import shipped_folder
from barbwright.sources import SOURCES

SRC = Path(barbwright.__file__).parent
# Called from outside: by a library that finds them by name, or as a door a script may use.
FROM_OUTSIDE = {
    "draw_text": "ezdxf's pipeline calls it",
    "_repr_html_": "a notebook looks for it",
    "check_part": "a door for scripts: `import barbwright` hands it out",
    **dict.fromkeys(
        (
            "handle_starttag",
            "handle_startendtag",
            "handle_endtag",
            "handle_data",
            "handle_decl",
            "handle_entityref",
            "handle_charref",
        ),
        "html.parser calls it",
    ),
    "write_stl": "a door for scripts, beside write_step and write_3mf",
}


@functools.cache
def defined_and_named():
    """Every function with where it stands, and every name that is read anywhere in src.

    A name in quotes counts, since attributes are looked up by name; so does a decorated function,
    which its decorator registers. What is only imported, listed in `__all__` or called by itself
    does not count.
    """
    defined, named = {}, set()
    for path in sorted(SRC.rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        listed = {
            id(constant)
            for node in tree.body
            if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__all__"
            for constant in ast.walk(node)
        }
        inside = own_names(tree)
        for node in ast.walk(tree):
            if isinstance(node, ast.FunctionDef) and not node.decorator_list:
                defined.setdefault(node.name, f"{path.relative_to(SRC)}:{node.lineno}")
            elif id(node) in listed or id(node) in inside:
                continue
            elif isinstance(node, ast.Name):
                named.add(node.id)
            elif isinstance(node, ast.Attribute):
                named.add(node.attr)
            elif isinstance(node, ast.Constant) and isinstance(node.value, str):
                named.add(node.value)
    return defined, named


def own_names(tree):
    """Where a function names itself, which is no use of it."""
    return {
        id(node)
        for function in ast.walk(tree)
        if isinstance(function, ast.FunctionDef)
        for node in ast.walk(function)
        if isinstance(node, ast.Name) and node.id == function.name
    }


def test_every_function_is_used_somewhere_in_src():
    defined, named = defined_and_named()
    unused = {
        f"{where} {name}"
        for name, where in defined.items()
        if name not in named | FROM_OUTSIDE.keys() and not name.startswith("__")
    }
    assert unused == set(), "delete it, or move it to tests/ if only tests need it"


def test_the_exceptions_are_still_needed():
    defined, named = defined_and_named()
    assert {name for name in FROM_OUTSIDE if name not in defined or name in named} == set()


# No figure of ours is from there; a profile of one's own may name it.
FOR_OWN_PROFILES = {"common_practice", "sap_tapping_practice", "wet_wood_friction"}


def test_every_source_is_named_by_an_equation_a_check_or_a_profile():
    places = [path for path in SRC.rglob("*.py") if path.name != "sources.py"]
    places += shipped_folder().rglob("*.toml")
    named = {word for path in places for word in re.findall(r"\w+", path.read_text("utf-8"))}
    assert set(SOURCES) - named == FOR_OWN_PROFILES
