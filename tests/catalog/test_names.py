"""The room's door: each name in the file that type checkers are told it lives in."""

import ast
import inspect
import subprocess
import sys

import pytest

from barbwright import catalog


def test_each_name_is_where_type_checkers_are_told_it_is():
    told = {
        alias.name: node.module.rpartition(".")[2]
        for node in ast.walk(ast.parse(inspect.getsource(catalog)))
        if isinstance(node, ast.ImportFrom) and node.module.startswith("barbwright.catalog.")
        for alias in node.names
    }
    assert told == catalog._HOME
    assert sorted(told) == sorted(catalog.__all__)
    assert all(hasattr(catalog, name) for name in told)


def test_a_name_that_is_not_there_is_an_attribute_error():
    with pytest.raises(AttributeError, match="no attribute 'rubbers'"):
        _ = catalog.rubbers


def test_drill_bits_are_looked_up_without_the_records_of_all_else():
    code = (
        "import sys; from barbwright import catalog; catalog.bits();"
        "print(*(name for name in sys.modules if name.startswith('barbwright.catalog.')))"
    )
    loaded = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    ).stdout
    assert "barbwright.catalog.bit" in loaded.split()
    assert not {"barbwright.catalog.material", "barbwright.catalog.tables"} & {*loaded.split()}
