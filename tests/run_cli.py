"""The command line as a user meets it, in this process or in a fresh one."""

import contextlib
import io
import json
import os
import shlex
import signal
import subprocess
import sys
import threading
from dataclasses import dataclass
from pathlib import Path

import jsonschema

import barbwright
from barbwright.cli import main

PACKAGE = Path(barbwright.__file__).parent
SCHEMA = json.loads((PACKAGE / "jobs" / "schemas" / "document.json").read_text())
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)

TUBE = ("--tube-id", "0.170in", "--tube-od", "0.250in", "--tube-material", "LLDPE")
THREE = ("--tube-id", "0.170in", "--bit", "15/64", "--pressure", "45psi")
DEMO = (*TUBE, "--bit", "15/64", "--pressure", "45psi", "--wood", "oak northern red")
MODELS = ("--formats", "step,stl,3mf")
KINDS = ("barb", "tip", "elbow", "tee")


@dataclass(frozen=True)
class Run:
    code: int
    out: str
    err: str

    @property
    def document(self):
        body = json.loads(self.out)
        VALIDATOR.validate(body)
        return body


@contextlib.contextmanager
def own_signals():
    """Give back what this process does when it is asked to end: a command ignores it at its end."""
    numbers = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)
    main_thread = threading.current_thread() is threading.main_thread()
    before = [(number, signal.getsignal(number)) for number in numbers if main_thread]
    try:
        yield
    finally:
        for number, handler in before:
            signal.signal(number, handler)


def run(*arguments):
    """Run a command in this process."""
    before, out, err = sys.argv, io.StringIO(), io.StringIO()
    sys.argv = ["barbwright", *map(str, arguments)]
    code = 0
    try:
        with own_signals(), contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            main()
    except SystemExit as ended:
        code = ended.code if isinstance(ended.code, int) else 0 if ended.code is None else 1
    finally:
        sys.argv = before
    return Run(code, out.getvalue(), err.getvalue())


def shell(*arguments):
    """The words that a shell reads as a command of ours, from this checkout."""
    path = os.pathsep.join([str(PACKAGE.parent), *filter(None, sys.path)])
    words = [sys.executable, "-m", "barbwright", *map(str, arguments)]
    return f"PYTHONPATH={shlex.quote(path)} " + " ".join(map(shlex.quote, words))


def run_fresh(*arguments, python="", environment=None, folder=None):
    """Run a command in a process of its own; ``python`` runs behind it, with its exit code kept."""
    code = (
        "import sys\nfrom barbwright.cli import main\n"
        "try:\n    main()\nexcept SystemExit as ended:\n    code = ended.code or 0\n"
        "else:\n    code = 0\n" + python + "\nsys.exit(code)"
    )
    path = os.pathsep.join([str(PACKAGE.parent), *filter(None, sys.path)])
    done = subprocess.run(
        [sys.executable, "-c", code, *map(str, arguments)],
        env={**os.environ, "PYTHONPATH": path, **(environment or {})},
        capture_output=True,
        text=True,
        cwd=folder,
        timeout=300,
        check=False,
    )
    return Run(done.returncode, done.stdout, done.stderr)
