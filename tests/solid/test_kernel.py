import sys

import pytest

from barbwright.errors import BuildError
from barbwright.solid.kernel import explain_import_error, load_kernel


class Refuse:
    """An import finder that meets the kernel the way a bare system does."""

    def __init__(self, message: str) -> None:
        self.message = message

    def find_spec(self, name, path=None, target=None):
        if name == "OCP":
            raise ImportError(self.message)


@pytest.mark.parametrize("library", ["libGL.so.1", "libX11.so.6", "libEGL.so.1", "libstdc++.so.6"])
def test_a_missing_system_library_is_named_with_its_packages(monkeypatch, library):
    message = f"{library}: cannot open shared object file: No such file or directory"
    monkeypatch.delitem(sys.modules, "OCP", raising=False)
    monkeypatch.setattr(sys, "meta_path", [Refuse(message), *sys.meta_path])
    with pytest.raises(BuildError) as caught:
        load_kernel()
    assert library in str(caught.value)
    assert "libgl1 libx11-6 libegl1" in str(caught.value)
    assert caught.value.exit_code == 4


def test_another_import_error_is_told_as_it_is():
    assert "No module named" in explain_import_error(ImportError("No module named 'OCP'")).given
