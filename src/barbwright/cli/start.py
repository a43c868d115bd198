"""`barbwright start`: a kit file, asked for one question at a time."""

from __future__ import annotations

import sys
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from barbwright.cli import flags
from barbwright.cli.door import echo
from barbwright.cli.explain import explain
from barbwright.cli.terminal import paragraph, width
from barbwright.errors import Fault, InputError
from barbwright.export.door import write_bytes
from barbwright.jobs.interview import Interview, kit_text, sample_kit
from barbwright.jobs.kitfile import load_kit
from barbwright.jobs.questions import Question
from barbwright.report.notices import NOT_RATED

if TYPE_CHECKING:
    from collections.abc import Callable

    from prompt_toolkit.key_binding.key_processor import KeyPressEvent
    from questionary import Question as Prompt

    Ask = Callable[[Question, tuple[tuple[str, str], ...]], str]

_BACK = "back"
_EXPLAIN = "explain "
_HOW = (
    "Rough answers do, such as .170 or quarter inch. `back` takes the last one back; where you "
    "type, `explain relief` tells what a word or a check means; Ctrl-C leaves, and nothing is "
    "written."
)


def start(
    folder: Annotated[Path, typer.Argument(help="Where the kit file goes.")] = Path(),
    debug: Annotated[bool, flags.DEBUG] = False,
) -> None:
    """Begin here: answer a few questions, get a kit file, build it.

    An answer may be rough (.170, quarter inch, 4,3 mm, maple) or "don't know"; `back` takes
    the last one back, Ctrl-C leaves without writing.
    """
    del debug
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        echo(sample_kit(), err=True)
        raise InputError(
            Fault(
                "start asks questions, and there is no terminal to ask on",
                do="write a kit file such as the one above and run `barbwright build FILE`",
            )
        )
    if not folder.is_dir():
        raise InputError(Fault("no such folder", given=str(folder), do="make it, or name another"))
    path = converse(folder, ask, confirm)
    if path is not None:
        from barbwright.cli.build import build

        build(str(path), folder / "out")


def converse(folder: Path, asking: Ask, agreeing: Callable[[str], bool]) -> Path | None:
    """Ask everything, write the kit file, and offer to build it.

    Parameters
    ----------
    folder : Path
        Where the file goes.
    asking : callable
        Question, and answers to pick as (text, words), to the answer.
    agreeing : callable
        What may be done next to whether it shall be.

    Returns
    -------
    Path or None
        The kit file if it is to be built now.
    """
    echo(paragraph(NOT_RATED))
    echo("\n" + paragraph(_HOW) + "\n")
    interview = Interview()
    while True:
        while (question := interview.question) is not None:
            _ask_one(interview, question, folder, asking)
        fails = _say_verdicts(interview)
        if not fails or _stands(interview, asking):
            break
    path = folder / f"{interview.settled['name']}.toml"
    write_bytes(path, kit_text(interview).encode())
    load_kit(path)
    echo(f"written and read back: {path}")
    # Before the question: whoever leaves at it knows what stays and how to go on.
    anyway = " --anyway" if fails and interview.buildable else ""
    echo(f"change what you like in it, then: barbwright build {path}{anyway}")
    if not fails and agreeing("Build it now? It takes one to five minutes."):
        return path
    return None


def _stands(interview: Interview, asking: Ask) -> bool:
    """Ask what shall change of a kit that does not pass; return whether it stands as it is."""
    mending = interview.mending
    echo("\n" + paragraph(mending.why, "  ", "  "))
    picked = asking(mending, tuple((one.text, one.says) for one in mending.offers({})))
    if picked == _BACK:
        interview.back()
        return False
    said = interview.mend(picked)
    if said:
        echo(paragraph(f"> {said}", "  ", "    ") + "\n")
    return not said


def _ask_one(interview: Interview, question: Question, folder: Path, asking: Ask) -> None:
    """Ask until the answer can be used, or the one before is taken back."""
    offers = tuple((one.text, one.says) for one in question.offers(interview.settled))
    if question.picture:
        echo(question.picture.rstrip("\n"))
    echo(paragraph(question.why, "  ", "  "))
    if not offers:
        echo(paragraph(f"Such as: {question.example}", "  ", "    "))
    while True:
        text = asking(question, offers)
        word = text.strip().casefold()
        if word == _BACK:
            if not interview.back():
                echo("  this is the first question")
                continue
            return
        try:
            if word.startswith(_EXPLAIN):
                explain([word.removeprefix(_EXPLAIN).strip()])
                continue
            said = interview.answer(text)
            _refuse_existing(interview, folder)
        except InputError as error:
            for fault in error.faults:
                echo(paragraph(f"not taken: {fault}", "  ", "    "))
            continue
        echo(paragraph(f"> {said}", "  ", "    ") + "\n")
        return


def _refuse_existing(interview: Interview, folder: Path) -> None:
    """Take a name back under which a file stands: nobody's kit is written over."""
    name = interview.settled.get("name")
    if name is not None and (folder / f"{name}.toml").exists():
        interview.back()
        raise InputError(
            Fault("a file of this name is there", f"{name}.toml", do="choose another name")
        )


def _say_verdicts(interview: Interview) -> bool:
    """Say how the kit's parts stand; return whether one fails."""
    fails, told = False, ""
    for kind in ("tee", "elbow"):
        says, passes = interview.judged(kind)
        echo(paragraph(f"{kind}: {says}", "", "  "))
        if not passes:
            fails = True
            if not interview.has_size(kind):
                # Its refusal has said why.
                continue
            # Thousands of parts are judged for it: nobody shall wait and not know for what.
            echo("  looking for what helps ...")
            helps = interview.cures(kind)
            if helps:
                says = "the same" if helps == told else helps
                echo(paragraph(f"what helps: {says}", "  ", "    "))
            told = helps
    return fails


def ask(question: Question, offers: tuple[tuple[str, str], ...]) -> str:
    """Ask on the terminal; Ctrl-C raises KeyboardInterrupt."""
    # A terminal's own library, which nothing but this command needs.
    import questionary

    if offers:
        # Wider than the terminal, the list would be cut in the middle of a word.
        room = width() - 4
        choices = [
            questionary.Choice(textwrap.shorten(says, room, placeholder=" ..."), value=text)
            for text, says in offers
        ]
        choices.append(questionary.Choice("go back one question", value=_BACK))
        how = "(arrow keys, Enter)"
        # It would leave its answer on a line that the terminal cuts.
        select = questionary.select(
            question.asks, choices=choices, instruction=how, erase_when_done=True
        )
        picked: str = _left_by_ctrl_d(select).unsafe_ask()
        says = dict(offers).get(picked, picked)
        echo(paragraph(f"? {question.asks} {says}", "", "  "))
        return picked
    typed: str = questionary.text(question.asks).unsafe_ask()
    return typed


def confirm(what: str) -> bool:
    """Ask whether to do something; Ctrl-C raises KeyboardInterrupt."""
    import questionary

    agreed: bool = _left_by_ctrl_d(questionary.confirm(what, default=True)).unsafe_ask()
    return agreed


def _left_by_ctrl_d(asked: Prompt) -> Prompt:
    """Return a prompt that ends where the input does, as one that is typed at ends by itself."""
    from prompt_toolkit.key_binding import KeyBindings, merge_key_bindings

    keys = KeyBindings()

    @keys.add("c-d", eager=True)
    def _(event: KeyPressEvent) -> None:
        event.app.exit(exception=EOFError, style="class:aborting")

    own = asked.application.key_bindings
    asked.application.key_bindings = merge_key_bindings([own, keys] if own else [keys])
    return asked


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("start")(start)
