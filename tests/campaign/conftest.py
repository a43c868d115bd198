"""All of this folder is slow; each case gets a folder and a profile of its own."""

from pathlib import Path

import pytest

from barbwright.catalog.folders import USER_FOLDER_VARIABLE


def pytest_collection_modifyitems(items):
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.slow)


@pytest.fixture
def place(tmp_path, monkeypatch):
    """A folder to run in, with an empty profile."""
    (tmp_path / "profiles").mkdir()
    (tmp_path / "here").mkdir()
    monkeypatch.setenv(USER_FOLDER_VARIABLE, str(tmp_path / "profiles"))
    monkeypatch.chdir(tmp_path / "here")
    return tmp_path
