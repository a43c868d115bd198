"""The commands put together, and the one place where errors become exit codes."""

from __future__ import annotations

import errno
import inspect
import io
import os
import signal
import sys
import threading
import traceback
from collections.abc import Sequence
from importlib import import_module
from typing import Annotated

import typer

from barbwright import __version__
from barbwright.cli.commands import COMMANDS
from barbwright.cli.complaints import complain
from barbwright.cli.door import echo, mute_stalled, open_closed_streams, settle
from barbwright.errors import BarbwrightError, BuildError, Fault, InputError

# Set by a shell that completes a word.
COMPLETING = "_BARBWRIGHT_COMPLETE"
# Which signal asked for the end, where one did.
_ended_by: list[int] = []
_INTERRUPTED = 128 + signal.SIGINT
_ENDING = [
    getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)
]
# What the machine lacks; none of it is a fault of ours, or of what was typed.
_OF_THE_MACHINE = {errno.ENOSPC, errno.EDQUOT, errno.EIO, errno.EFBIG, errno.EROFS, errno.ENOMEM,
                   errno.EMFILE, errno.ENFILE}  # fmt: skip
_BEGIN = "`barbwright start` asks for all of it, one question at a time"


def _version(wanted: bool) -> None:
    if wanted:
        echo(f"barbwright {__version__}")
        raise typer.Exit


def _root(
    version: Annotated[
        bool,
        typer.Option("--version", callback=_version, is_eager=True, help="Print the version."),
    ] = False,
) -> None:
    """Size, check and make printed barbed connectors for pressurised trunk watering.

    Parts can hurt people: stored pressure, hammering, drilling, chemicals. Printed parts are not
    pressure rated; proof-test each batch with water. Product labels, local codes and licensed
    practice prevail.
    """


def application(words: Sequence[str] = ()) -> typer.Typer:
    """Return the command line for some words; only the command they name is imported.

    Parameters
    ----------
    words : sequence of str
        What was typed. Where no command is named (--help, completion), all are there.
    """
    app = typer.Typer(
        name="barbwright",
        help="Printed barbed connectors for pressurised trunk watering: sized, checked, drawn, "
        "verified. Not pressure rated: proof-test with water.",
        context_settings={"help_option_names": ["-h", "--help"]},
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
        no_args_is_help=True,
    )
    app.callback()(_root)
    named = words[0] if words else ""
    for name in [named] if named in COMMANDS else COMMANDS:
        # The list of all says a line of each; completion asks for their options too.
        if name == named or COMPLETING in os.environ:
            _register(app, name)
        else:
            app.command(name, help=COMMANDS[name].short, short_help=COMMANDS[name].short)(_unnamed)
    return app


def _unnamed() -> None:
    """Stand for a command that nobody named: it is listed, and cannot be run."""
    raise AssertionError


def _register(app: typer.Typer, name: str) -> None:
    """Add a command; its help begins with an example, which must not be wrapped."""
    command = COMMANDS[name]
    import_module(f"barbwright.cli.{command.module}").register(app)
    added = app.registered_commands[-1]
    words = added.help or inspect.getdoc(added.callback) or ""
    example = "\n".join(["\b", *(f"  {line}" for line in command.example)])
    added.help, added.short_help = f"{example}\n\n{words}", command.short


def _need_something(words: Sequence[str]) -> None:
    """Refuse a command by itself: whoever types one needs to hear where to begin."""
    if len(words) == 1 and words[0] in COMMANDS and COMMANDS[words[0]].needs:
        command = COMMANDS[words[0]]
        example = " ".join(line.rstrip("\\").strip() for line in command.example)
        raise InputError(Fault(f"{words[0]} needs {command.needs}", do=f"such as `{example}`"))
    if _part_alone(words):
        raise InputError(
            Fault(
                "a part is made by a command",
                given=words[0],
                do=f"write `barbwright make {words[0].casefold()}` and its sizes",
            )
        )


def _part_alone(words: Sequence[str]) -> bool:
    """Return whether a kind of part stands where a command does."""
    # --help and --version pay for no kinds.
    if not words or words[0] in COMMANDS or words[0].startswith("-"):
        return False
    from barbwright.design.part import KINDS

    return words[0].casefold() in KINDS


def _told_nothing(words: Sequence[str]) -> bool:
    """Return whether a command was given nothing, or a kind of part and nothing else."""
    if not words or len(words) > 2:
        return False
    if words[0] not in COMMANDS or not COMMANDS[words[0]].needs:
        return _part_alone(words)
    return len(words) == 1 or _part_alone(words[1:])


def _end_as_interrupted() -> None:
    """Let an interrupt, a request to end or a closed terminal clean up, and be remembered.

    One that meets a library while it loads may come back as that library's own error.
    """

    def stop(number: int, _frame: object) -> None:
        # Asked twice, it is still tidying up: what is half made must not stay.
        if _ended_by:
            return
        _ended_by.append(number)
        raise KeyboardInterrupt

    if threading.current_thread() is not threading.main_thread():
        return
    # Where nohup has it ignored, a closed terminal stays ignored.
    for number in _ENDING:
        if signal.getsignal(number) in (signal.SIG_DFL, signal.default_int_handler):
            signal.signal(number, stop)


def _let_end() -> None:
    """Ignore what would end a command that has done its work, or has said why not.

    An interrupt that meets the interpreter on its way out would be told as one that met the work.
    """
    if threading.current_thread() is threading.main_thread():
        for number in _ENDING:
            signal.signal(number, signal.SIG_IGN)


def main() -> None:
    """Run the command line; exit 0 done, 1 unexpected, 2 input, 3 check fails, 4 not built."""
    open_closed_streams()
    code = None
    while True:
        try:
            if code is None:
                code = _run(sys.argv[1:])
            code = settle(code)
            break
        except KeyboardInterrupt:
            if mute_stalled() or code is None:
                code = _stopped()
            else:
                # Its work is done, and what is left to tell of it goes through at once.
                _let_end()
    _let_end()
    sys.exit(code)


def _stopped() -> int:
    """Say that a command was ended from outside; return the code by which a shell knows it."""
    # For a reader that stands still what is half said would be waited for, and for ever.
    mute_stalled()
    echo("stopped: nothing is half made", err=True)
    return 128 + _ended_by[0] if _ended_by else _INTERRUPTED


def _run(words: Sequence[str]) -> int:
    """Run one command and return its exit code."""
    debug = "--debug" in words
    _end_as_interrupted()
    try:
        _need_something(words)
        # By itself typer prints what was typed as it stands, and takes a reader that left ill.
        code = application(words)(standalone_mode=False)
        if code == _INTERRUPTED:
            return _stopped()
        return code if isinstance(code, int) else 0
    except SystemExit as ended:
        if ended.code == 1 and type(sys.stdout).__name__ == "PacifyFlushWrapper":
            # The reader of --help has gone (`| head`), which typer takes for a failure.
            return 0
        return ended.code if isinstance(ended.code, int) else int(ended.code is not None)
    except (KeyboardInterrupt, typer.Abort):
        return _stopped()
    except BarbwrightError as error:
        if _ended_by:
            # Cut off while it loaded, the kernel says it is not installed, which is not so.
            return _stopped()
        complain(error)
        if error.exit_code == InputError.exit_code and _told_nothing(words):
            echo(f"new here? {_BEGIN}", err=True)
        if debug:
            echo(traceback.format_exc(), err=True, nl=False)
        return error.exit_code
    except Exception as error:
        if _ended_by:
            return _stopped()
        if callable(show := getattr(error, "show", None)):
            # A word that is no option or no command, as typer says it.
            said = io.StringIO()
            show(file=said)
            echo(said.getvalue(), err=True, nl=False)
            return int(getattr(error, "exit_code", 2))
        if debug:
            echo(traceback.format_exc(), err=True, nl=False)
        if isinstance(error, MemoryError):
            complain(BuildError(Fault("the memory is used up", do="end other programs")))
            return BuildError.exit_code
        if isinstance(error, OSError) and error.errno in _OF_THE_MACHINE:
            where = f": {error.filename}" if error.filename else ""
            fault = Fault(
                "cannot write what is needed",
                given=f"{error.strerror}{where}",
                do="make room, or choose a place that can be written",
            )
            complain(BuildError(fault))
            return BuildError.exit_code
        echo(
            f"unexpected: {type(error).__name__}: {error}; --debug shows where. Please report it.",
            err=True,
        )
        return 1
    return 0
