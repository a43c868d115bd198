"""The terminal is a door: nothing odd goes out, and who leaves it ends us as a shell expects."""

import json
import subprocess

import pytest

from barbwright.cli import door
from barbwright.errors import escaped, has_odd_letters
from run_cli import DEMO, run, shell

ODD = ("\x1b[2J", "\x1b]0;x\x07", "\x9b31m", "\u202e", "\u2066", "\x00", "\x7f", "\udcff", "\u200b")


@pytest.mark.parametrize("letters", ODD, ids=ascii)
def test_odd_letters_are_seen_and_written_out_as_json_reads_them(letters):
    assert has_odd_letters(f"a{letters}b")
    shown = escaped(f"a{letters}b")
    assert shown.isascii()
    assert shown.isprintable()
    assert json.loads(f'"{shown}"') == f"a{letters}b"


def test_plain_texts_of_any_tongue_pass_as_they_are():
    for text in ("Ø 4.3 mm", "дуб", "a\nb\tc", "6\u00a0mm", "15⁄64″"):
        assert escaped(text) is text


def test_what_is_printed_is_plain_but_for_our_own_colours(capsys):
    door.echo("\x1b[32m\x1b[1mPASS\x1b[0m \x1b[2J\u202e")
    out = capsys.readouterr().out
    # A pipe gets no colours at all.
    assert out == "PASS \\u001b[2J\\u202e\n"


@pytest.mark.parametrize("letters", [odd for odd in ODD if "\x00" not in odd], ids=ascii)
@pytest.mark.parametrize(
    "typed",
    [("check", "el{}bow"), ("check", "tee", "--no{}such"), ("explain", "{}"), ("list", "{}"),
     ("build", "{}"), ("make", "--from", "{}"), ("order", "{}"),
     ("check", "tee", *DEMO, "--material", "{}"),
     ("check", "tee", *DEMO, "--tube-material", "PE{}"),
     ("check", "tee", *DEMO, "--wood", "oak{}"), ("check", "tee", *DEMO, "--set", "{}=1"),
     ("chain", "park_oaks", "--species", "bass{}wood"), ("{}",)],
    ids=lambda words: words[0],
)  # fmt: skip
def test_nothing_odd_that_was_typed_comes_back(typed, letters):
    done = run(*(word.format(letters) for word in typed))
    assert done.code == 2
    assert not has_odd_letters(done.out + done.err)


ENDS = [
    # What is done with the command's streams, and how it ends.
    ("{} | true; exit ${{PIPESTATUS[0]}}", 0, ""),
    ("{} >&-", 0, ""),
    ("{} 2>&-", 0, ""),
    ("{} 2>/dev/full", 0, ""),
    ("{} > /dev/full", 4, "No space left on device"),
]


@pytest.mark.parametrize(("line", "code", "said"), ENDS, ids=lambda text: str(text)[:14])
@pytest.mark.parametrize("command", [("list", "woods"), ("--help",), ("check", "tee", *DEMO)],
                         ids=lambda words: words[0])  # fmt: skip
def test_a_stream_that_is_closed_or_full_ends_as_a_shell_expects(command, line, code, said):
    done = subprocess.run(
        ["bash", "-c", line.format(shell(*command))], capture_output=True, text=True, check=False
    )
    assert done.returncode == code, done.stderr
    assert said in done.stderr
    for word in ("unexpected", "Traceback", "Exception ignored"):
        assert word not in done.stderr
