"""A request to end: nothing is left, and nothing false is said."""

import contextlib
import os
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


@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM", "SIGHUP"])
def test_a_command_whose_reader_stands_still_can_be_ended(name):
    """Its pipe is full before it begins, so that not a word of it goes through."""
    reader, writer = os.pipe()
    os.set_blocking(writer, False)
    with contextlib.suppress(BlockingIOError):
        while True:
            os.write(writer, bytes(4096))
    os.set_blocking(writer, True)
    code = (
        "import sys; from barbwright.cli import app; need = app._need_something\n"
        "def told(words):\n"
        "    sys.stderr.write('begun\\n'); sys.stderr.flush()\n"
        "    need(words)\n"
        "app._need_something = told; sys.argv = ['barbwright', '--version']; app.main()\n"
    )
    number = getattr(signal, name)
    command = subprocess.Popen(
        [sys.executable, "-c", code], stdout=writer, stderr=subprocess.PIPE,
        # Tests under nohup or in the background hand some on as ignored.
        preexec_fn=lambda: signal.signal(number, signal.SIG_DFL),
    )  # fmt: skip
    try:
        assert command.stderr.readline() == b"begun\n"
        with pytest.raises(subprocess.TimeoutExpired):
            command.wait(0.5)
        command.send_signal(number)
        assert command.wait(30) == 128 + number
        assert b"stopped" in command.stderr.read()
    finally:
        command.kill()
        command.wait()
        command.stderr.close()
        os.close(reader)
        os.close(writer)


def test_an_interrupt_while_the_command_line_loads_ends_it_without_a_traceback():
    code = (
        "import sys\n"
        "class Interrupted:\n"
        "    @staticmethod\n"
        "    def find_spec(name, *_):\n"
        "        if name == 'typer': raise KeyboardInterrupt\n"
        "sys.meta_path.insert(0, Interrupted)\n"
        "from barbwright.cli import main; main()\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (130, "stopped: nothing is half made\n")
