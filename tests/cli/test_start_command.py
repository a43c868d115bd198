"""`start` on a real terminal, and without one; every command that was given nothing leads to it."""

import os
import pty
import select
import subprocess
import sys
import time

import pytest

from barbwright.cli.commands import COMMANDS
from barbwright.cli.start import converse
from barbwright.jobs.kitfile import load_kit
from run_cli import PACKAGE, run

ANSWERS = {
    "tube": "LLDPE 4 x 6 mm", "bit": "6", "pressure": "3 bar", "relief": "?",
    "tree": "hardwood 0.5", "bark": "10 mm", "ports": "3", "drinks": "red oak", "language": "es",
    "name": "yard",
}  # fmt: skip


def test_without_a_terminal_it_says_what_to_write(tmp_path):
    done = run("start", tmp_path)
    assert done.code == 2
    assert "no terminal" in done.err
    sample = done.err.partition("barbwright: start")[0]
    (tmp_path / "kit.toml").write_text(sample)
    assert load_kit(tmp_path / "kit.toml").job["bit"] == "6 mm"


@pytest.mark.parametrize("words", [[name] for name, one in COMMANDS.items() if one.needs] +
                         [["check", "elbow"], ["rate", "tee"], ["make", "tip"]])  # fmt: skip
def test_a_command_with_nothing_to_work_on_says_where_to_begin(words):
    done = run(*words)
    assert done.code == 2
    assert done.out == ""
    assert "barbwright start" in done.err


def test_a_command_that_was_told_something_does_not():
    assert "barbwright start" not in run("check", "elbow", "--bit", "15/64").err


def test_a_part_in_place_of_a_command_is_told_which_command_makes_it():
    done = run("Elbow")
    assert done.code == 2
    assert "a part is made by a command (given: Elbow)" in done.err
    assert "`barbwright make elbow`" in done.err
    assert "barbwright start" in done.err
    # With sizes beside it the way is known but for a word; what is no part is no command.
    assert "barbwright start" not in run("elbow", "--bit", "15/64", "--pressure", "3bar").err
    assert "barbwright make" not in run("elbw").err


def talk(folder, answers, agrees=lambda _: False):
    given = dict(answers)

    def asking(question, _offers):
        return given[question.name].pop(0)

    given = {name: [text] if isinstance(text, str) else list(text) for name, text in given.items()}
    return converse(folder, asking, agrees)


def test_a_wrong_answer_is_asked_again_and_back_goes_back(tmp_path, capsys):
    answers = {**ANSWERS, "tube": ["back", "40 mm", *[ANSWERS["tube"]] * 2],
               "bit": ["back", ANSWERS["bit"]]}  # fmt: skip
    talk(tmp_path, answers)
    said = capsys.readouterr()
    assert "this is the first question" in said.out
    # A conversation goes on in its own words, not as a command that has failed.
    assert "  not taken: bore is no small tubing" in said.out
    assert said.err == ""
    assert load_kit(tmp_path / "yard.toml").chain["ports"] == "3"


def test_nobodys_kit_is_written_over(tmp_path, capsys):
    (tmp_path / "yard.toml").write_text("mine")
    talk(tmp_path, {**ANSWERS, "name": ["yard", "yard_2"]})
    assert (tmp_path / "yard.toml").read_text() == "mine"
    assert "choose another name" in " ".join(capsys.readouterr().out.split())
    assert load_kit(tmp_path / "yard_2.toml").name == "yard_2"


@pytest.mark.slow
def test_a_kit_that_fails_is_said_to_before_it_is_written(tmp_path, capsys):
    asked = []
    failing = {**ANSWERS, "tube": "aquarium PVC 4 x 6 mm", "clamp": "no", "pressure": ["60 psi"],
               "mend": "write"}  # fmt: skip
    path = talk(tmp_path, failing, lambda what: asked.append(what) or True)
    # Nobody is asked whether to build what would not be built.
    assert (path, asked) == (None, [])
    said = capsys.readouterr().out
    assert "FAIL" in said
    assert "looking for what helps" in said
    assert "yard.toml --anyway" in " ".join(said.split())
    assert (tmp_path / "yard.toml").exists()


@pytest.mark.slow
def test_a_kit_that_fails_asks_what_to_change_until_it_passes(tmp_path, capsys):
    answers = {**ANSWERS, "tube": "PE drip 0.170 x 0.250 in",
               "mend": ["anew bit", "anew pressure", "cure 0"],
               "bit": ["6", "back"], "pressure": ["3 bar", "2,5 bar"], "relief": ["4 bar", "?"],
               }  # fmt: skip
    path = talk(tmp_path, answers, lambda _: True)
    assert path == tmp_path / "yard.toml"
    said = capsys.readouterr().out
    assert "bit is asked again; back keeps the answer that was there" in said
    assert "what helps: the same" in said
    assert float(load_kit(path).job["pressure"].removesuffix("bar")) < 2.5


def test_a_kit_without_a_size_is_not_said_to_be_built_anyway(tmp_path, capsys):
    path = talk(tmp_path, {**ANSWERS, "bit": "1/8", "mend": "write"}, lambda _: True)
    said = " ".join(capsys.readouterr().out.split())
    assert path is None
    assert "no size" in said
    assert "looking for what helps" not in said
    assert "--anyway" not in said
    assert (tmp_path / "yard.toml").exists()


def test_a_word_is_explained_where_an_answer_is_awaited(tmp_path, capsys):
    talk(tmp_path, {**ANSWERS, "bit": ["explain taper", "explain sprocket", "6"]})
    said = capsys.readouterr().out
    assert "taper: How much a tip grows" in said
    assert "not taken: no such check, and no word of the output" in said


def test_whoever_leaves_at_the_last_question_knows_what_stays(tmp_path, capsys):
    def leaves(_):
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        talk(tmp_path, ANSWERS, leaves)
    assert f"barbwright build {tmp_path / 'yard.toml'}" in " ".join(capsys.readouterr().out.split())


def typed_on_a_terminal(folder, steps):
    """Return the exit code and what was shown; of each step what is waited for, and the keys."""
    master, slave = pty.openpty()
    command = [sys.executable, "-m", "barbwright", "start", str(folder)]
    path = os.pathsep.join([str(PACKAGE.parent), *filter(None, sys.path)])
    child = subprocess.Popen(
        command, stdin=slave, stdout=slave, stderr=slave, close_fds=True,
        env={**os.environ, "PYTHONPATH": path, "TERM": "xterm", "PROMPT_TOOLKIT_NO_CPR": "1"},
    )  # fmt: skip
    os.close(slave)
    said = b""
    deadline = time.monotonic() + 120
    for wanted, sent in steps:
        start = len(said)
        while wanted not in said[start:]:
            assert time.monotonic() < deadline, said.decode(errors="replace")
            if select.select([master], [], [], 1.0)[0]:
                said += os.read(master, 65536)
        os.write(master, sent.encode())
    while child.poll() is None and time.monotonic() < deadline:
        if select.select([master], [], [], 0.2)[0]:
            try:
                said += os.read(master, 65536)
            except OSError:
                break
    if child.poll() is None:
        child.terminate()
    code = child.wait(30)
    os.close(master)
    return code, said


def test_on_a_terminal_a_person_types_it(tmp_path):
    """Keys go in as from a keyboard; what is answered by picking is picked with Enter."""
    typed = ("tube", "bit", "pressure", "relief", "tree", "bark", "ports")
    keys = [ANSWERS[name] for name in typed]
    waits_for = [
        b"Which tube", b"Which drill", b"How hard", b"relief valve open", b"Which tree?",
        b"its bark", b"How many holes", b"like yours", b"the crew read", b"called", b"Build it now",
    ]  # fmt: skip
    down = "\x1b[B"  # past "none of these", which Enter alone takes where no tree was named
    sends = [*(f"{key}\r" for key in keys), f"{down}\r", "\r", "yard\r", "n"]
    code, said = typed_on_a_terminal(tmp_path, zip(waits_for, sends, strict=True))
    assert code == 0, said.decode(errors="replace")
    assert load_kit(tmp_path / "yard.toml").chain["species"]
    assert b"barbwright build" in said


def test_the_end_of_input_ends_it_at_a_list_too(tmp_path):
    """Ctrl-D did nothing there, and start waited for ever."""
    steps = [(b"Which tube", "4,3 mm\r"), (b"Which of these", "\x04")]
    code, said = typed_on_a_terminal(tmp_path, steps)
    assert code == 130, said.decode(errors="replace")
    assert b"stopped" in said
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("wood", "first"),
    [
        ("oak northern red", "red oak"),
        ("maple", "?"),
        ("maple red", "?"),
        ("cherry", "?"),
        ("", "?"),
    ],
)
def test_enter_alone_picks_no_tree_but_the_one_that_was_named(wood, first):
    from barbwright.jobs.questions import _measured_trees

    assert _measured_trees({"wood": wood})[0].text == first


def test_a_rating_that_no_print_was_seen_of_says_so():
    from barbwright import catalog
    from barbwright.jobs.questions import _held

    marked = {"from memory" in _held(one) for one in catalog.tubes().values() if one.rating_mpa}
    assert marked == {True, False}
    for one in catalog.tubes().values():
        if one.rating_mpa is not None:
            assert ("from memory" in _held(one)) == ("from memory" in one.stated_rating)
