"""A request to end: nothing is left, and nothing false is said."""

import signal
import subprocess
import sys

import pytest

from barbwright.cli import app
from barbwright.errors import BuildError
from run_cli import run


@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM", "SIGHUP"])
def test_a_kernel_cut_off_while_it_loads_is_not_called_missing(monkeypatch, name):
    number = getattr(signal, name)
    before = signal.signal(number, signal.SIG_DFL)

    def loading(_words):
        try:
            signal.raise_signal(number)
        except KeyboardInterrupt:
            said = "the kernel is not installed"
            raise BuildError(said) from None

    monkeypatch.setattr(app, "_ended_by", [])
    monkeypatch.setattr(app, "_need_something", loading)
    try:
        done = run("make", "elbow")
    finally:
        signal.signal(number, before)
    assert done.code == 128 + number
    assert "stopped" in done.err
    assert "installed" not in done.err


@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM", "SIGHUP"])
def test_a_request_that_comes_when_all_is_done_changes_nothing(name):
    """On its way out the interpreter would end as interrupted, whichever signal it was."""
    code = (
        "import signal, sys; from barbwright.cli import app; settle = app.settle\n"
        "def late(code):\n"
        f"    signal.raise_signal(signal.{name})\n"
        "    return settle(code)\n"
        "app.settle = late; sys.argv = ['barbwright', '--version']; app.main()\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
