"""The options that make, check, rate and prove share, declared once."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from barbwright.cli import flags
from barbwright.design.part import KINDS, Kind
from barbwright.errors import Fault, InputError
from barbwright.job.reading import read_job_for
from barbwright.job.record import INPUTS, YES_OR_NO, Asked, Job
from barbwright.jobs.made_for import for_kind, names_kind, require_tool, tool_for

if TYPE_CHECKING:
    from barbwright.jobs.kitfile import KitFile


def option_parameter(name: str, kind: Any, default: Any, option: Any) -> inspect.Parameter:
    """Return an input as the parameter that typer makes an option of."""
    return inspect.Parameter(
        name, inspect.Parameter.KEYWORD_ONLY, default=default, annotation=Annotated[kind, option]
    )


def _input(one: Asked) -> inspect.Parameter:
    option = "--" + one.name.replace("_", "-")
    if one.name in YES_OR_NO:
        return option_parameter(one.name, bool, False, typer.Option(option, help=one.help))
    return option_parameter(one.name, str | None, None, flags.text(option, one.help))


def _shared() -> list[inspect.Parameter]:
    parameters = [_input(one) for one in INPUTS]
    parameters.append(
        option_parameter(
            "kit_file",
            Path | None,
            None,
            flags.text("--kit", "Kit file whose [job] is the default.", "FILE"),
        )
    )
    parameters.append(
        option_parameter(
            "settings",
            list[str] | None,
            None,
            flags.SET,
        )
    )
    return parameters


PART_WORDS = f"One of {', '.join(KINDS)}."


def with_job_options(command: Callable[..., None]) -> Callable[..., None]:
    """Give a command the shared options; they reach it as one ``options`` mapping.

    Parameters
    ----------
    command : callable
        Its own parameters first; it must take ``options`` by keyword.
    """
    return gathered(command, "options", _shared())


def gathered(
    command: Callable[..., None], name: str, more: Sequence[inspect.Parameter]
) -> Callable[..., None]:
    """Give a command more options, which reach it as one mapping.

    Parameters
    ----------
    command : callable
        Its own parameters first.
    name : str
        Of the keyword that takes the mapping.
    more : sequence of inspect.Parameter
        An option each.
    """
    own = inspect.signature(command, eval_str=True)

    def wrapped(**given: Any) -> None:
        chosen = {one.name: given.pop(one.name) for one in more}
        command(**given, **{name: chosen})

    mine = [
        parameter.replace(kind=inspect.Parameter.KEYWORD_ONLY)
        for parameter in own.parameters.values()
        if parameter.name != name
    ]
    parameters = [*mine, *more]
    wrapped.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    wrapped.__annotations__ = {p.name: p.annotation for p in parameters}
    wrapped.__name__, wrapped.__doc__ = command.__name__, command.__doc__
    return wrapped


def read_options(kind: Kind, options: dict[str, Any]) -> Job:
    """Return the job that options and a kit file describe."""
    kit, settings = kit_and_settings(options)
    return read_job_for(kind, options, None if kit is None else kit.job, settings=settings)


def kit_and_settings(options: dict[str, Any]) -> tuple[KitFile | None, tuple[str, ...]]:
    """Take --kit and --set out of the shared options, the kit read."""
    file, settings = options.pop("kit_file"), tuple(options.pop("settings") or ())
    if file is None:
        return None, settings
    from barbwright.jobs.kitfile import load_kit

    return load_kit(file), settings


def read_options_for(kind: Kind, options: dict[str, Any], for_part: str | None) -> tuple[Job, str]:
    """Return the job and the revision of a part, or of a tool for the part --for names."""
    record = record_of(for_part)
    if for_part is None:
        return read_options(kind, options), "a"
    require_tool(kind)
    if record is None:
        return for_kind(read_options(kind, options), for_part), "a"
    refuse_inputs(
        options,
        "--for takes all inputs from the part's record",
        "leave these out, or say --for tip, elbow or tee beside them",
    )
    return tool_for(record)


def record_of(for_part: str | None) -> Path | None:
    """Return the record that --for names; None where it names a kind, or was not given."""
    return None if for_part is None or names_kind(for_part) else Path(for_part)


def refuse_inputs(options: dict[str, Any], what: str, do: str, *also: str) -> None:
    """Refuse inputs beside a record, which holds them all: none may be dropped unseen."""
    given = [name.replace("_", "-") for name, value in options.items() if value]
    names = {"kit-file": "--kit", "settings": "--set"}
    words = [*also, *(names.get(name, f"--{name}") for name in given)]
    if words:
        raise InputError(Fault(what, given=", ".join(words), do=do))
