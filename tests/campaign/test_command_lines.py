"""5,000 command lines: each ends in an answer or a refusal, none with exit 1, none hangs."""

import subprocess
import sys

from lines import line
from reach import FIRST, drawn, many
from runs import Tally, timed

from run_cli import PACKAGE, shell


def test_command_lines_end_in_an_answer_or_a_refusal(place):
    tally = Tally("command lines")
    for number in range(FIRST, FIRST + many(5000)):
        words = line(drawn("lines", number))
        done = timed(*words)
        tally.add((number, words), done, done.fault)
    # --force and -o were among the words, and -n beside them.
    assert list((place / "here").iterdir()) == []
    tally.end()


def test_some_of_them_end_so_in_processes_of_their_own(place):
    fell = []
    for number in range(many(100, 0.04)):
        words = line(drawn("processes", number))
        done = subprocess.run(
            ["bash", "-c", shell(*words)], capture_output=True, timeout=300, check=False
        )
        if done.returncode not in {0, 2, 3, 4} or b"unexpected:" in done.stderr:
            fell.append((number, done.returncode, words, done.stderr[-300:]))
    assert fell == []


def test_what_is_drawn_is_the_same_at_every_run():
    code = (
        "import sys; sys.path[:0] = ['tests', 'tests/campaign']; "
        "from lines import line; from reach import drawn; "
        "print([ascii(line(drawn('lines', n))) for n in range(5)])"
    )
    root = PACKAGE.parents[1]
    told = {
        subprocess.run(
            [sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=True,
            env={"PYTHONPATH": f"{root / 'src'}:" + ":".join(sys.path), "PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "2")
    }  # fmt: skip
    assert len(told) == 1
