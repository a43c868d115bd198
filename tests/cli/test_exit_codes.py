"""0 done, 2 bad input or no size, 3 a check fails, 4 not built; results on stdout only."""

import os
import subprocess
import sys

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from run_cli import DEMO, KINDS, PACKAGE, THREE, run, run_fresh

pytestmark = pytest.mark.usefixtures("one_process")

PVC = ("--tube-id", "6mm", "--tube-od", "9mm", "--tube-material", "PVC", "--shore", "65",
       "--bit", "15/64", "--pressure", "30psi")  # fmt: skip


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (("--help",), 0),
        (("-h",), 0),
        (("--version",), 0),
        (("list", "bits"), 0),
        (("explain",), 0),
        (("check", "elbow", *DEMO), 0),
        (("make", "elbow", *DEMO, "-n"), 0),
        (("build", "park_oaks", "-n"), 0),
        (("nosuch",), 2),
        (("check",), 2),
        (("check", "spigot", *DEMO), 2),
        (("check", "elbow"), 2),
        (("check", "elbow", *DEMO, "--nosuch"), 2),
        (("list", "nosuch"), 2),
        (("explain", "nosuch"), 2),
        (("build", "nosuch"), 2),
        (("make", "--from", "nosuch.json"), 2),
        (("make", "elbow", *DEMO, "--formats", "obj"), 2),
        (("make", "elbow", *DEMO, "--formats", ""), 2),
        (("check", "barb", *PVC), 3),
        (("make", "barb", *PVC, "-n"), 3),
    ],
)
def test_exit_code(arguments, code):
    done = run(*arguments)
    assert done.code == code, done.err
    assert "Traceback" not in done.out + done.err
    if code == 2:
        assert done.out == ""
        assert done.err


def test_python_m_barbwright_is_the_command():
    path = os.pathsep.join([str(PACKAGE.parent), *filter(None, sys.path)])
    done = subprocess.run(
        [sys.executable, "-m", "barbwright", "check", "spigot", *DEMO],
        env={**os.environ, "PYTHONPATH": path},
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == run("check", "spigot", *DEMO).err


def test_a_small_bit_has_no_size_and_the_message_names_limits_and_the_smallest_bit():
    for kind in ("tip", "elbow"):
        done = run("check", kind, "--tube-id", "0.170in", "--bit", "1/8", "--pressure", "45psi")
        assert done.code == 2
        assert "print_wall" in done.err
        assert "print_bore" in done.err
        # 7/64 in larger: no advice any more, a hole in a tree is no place for it.
        assert "use bit" not in done.err
        assert "the smallest bit that passes is 13/64 in" in done.err
        assert done.out == ""


@pytest.mark.slow
def test_an_11_64_bit_is_refused_and_forced_sizes_fail_their_checks():
    options = ("--tube-id", "0.170in", "--bit", "11/64", "--pressure", "45psi")
    assert run("check", "elbow", *options).code == 2
    forced = ("--set", "tip_bore=1.5mm", "--set", "lead=3.9mm", "--set", "contact=8mm")
    done = run("check", "elbow", *options, *forced, "--json")
    assert done.code == 3
    failed = {c["id"] for c in done.document["checks"] if c["verdict"] == "fail"}
    assert "print_bore" in failed


def test_a_forced_bore_for_a_1_8_bit_fails_print_bore_and_writes_nothing(tmp_path):
    done = run("make", "tip", "--tube-id", "0.170in", "--bit", "1/8", "--pressure", "45psi",
               "--set", "tip_bore=1mm", "--set", "lead=2.9mm", "--set", "contact=5mm",
               "-o", tmp_path)  # fmt: skip
    assert done.code == 3
    assert "FAIL print_bore" in done.err
    assert list(tmp_path.iterdir()) == []


def test_all_faults_come_at_once():
    done = run("check", "elbow", "--tube-id", "4.3", "--bit", "7", "--pressure", "45",
               "--material", "mjf_pa13", "--wood", "oack", "--temperature", "hot",
               "--fluid", "juice", "--set", "nosuch=1", "--set", "land")  # fmt: skip
    assert done.code == 2
    lines = done.err.splitlines()
    assert len(lines) == 9
    for word in ("--tube-id", "--bit", "--pressure", "mjf_pa13", "oack", "--temperature",
                 "--fluid", "nosuch", "name=value"):  # fmt: skip
        assert sum(word in line for line in lines) >= 1, word
    assert "MJF PA12" in done.err


def test_a_bare_number_is_refused_with_its_two_readings():
    done = run("check", "elbow", "--tube-id", "0.170in", "--bit", "7", "--pressure", "45psi")
    assert done.code == 2
    assert "7 mm" in done.err
    assert "#7" in done.err or "no7" in done.err


@pytest.mark.parametrize(
    "setting",
    ["taper=0", "taper=nan", "bore=0mm", "bore=-1mm", "bore=inf mm", "bore=3", "side_ports=0.5",
     "barb_angle=89", "expansion=9", "land_mm=99mm", "=3mm", "bore", "bore=", "nosuch=1mm",
     "seat=1e9mm", "bore=3mm=4mm"],
)  # fmt: skip
def test_a_setting_outside_sense_is_refused(setting):
    done = run("check", "elbow", *DEMO, "--set", setting)
    assert done.code == 2
    assert "--set" in done.err
    assert "Traceback" not in done.err


def test_a_size_of_the_tip_is_refused_on_a_part_without_one():
    done = run("check", "barb", *DEMO, "--set", "side_ports=1")
    assert done.code == 2
    assert "this part has no such size" in done.err


def test_the_second_tube_is_for_a_barb_alone():
    assert run("check", "barb", *THREE, "--tube2-id", "4mm").code == 0
    done = run("check", "tee", *THREE, "--tube2-id", "4mm")
    assert done.code == 2
    assert "--tube2" in done.err


def test_quiet_says_nothing_on_stderr():
    loud, quiet = run("check", "elbow", *THREE), run("check", "elbow", *THREE, "-q")
    assert "WATCH OUT" in loud.err
    assert quiet.err == ""
    assert 0 < len(quiet.out) < len(loud.out)


def test_verdicts_stand_in_words_and_no_colour_reaches_a_pipe():
    done = run_fresh("check", "elbow", *THREE, environment={"NO_COLOR": "1"})
    assert "CAUTION" in done.out
    assert "PASS" in done.out
    assert "\x1b" not in done.out + done.err


def test_no_color_is_honoured_on_a_terminal(monkeypatch):
    from barbwright.cli.terminal import colour

    class Terminal:
        def isatty(self):
            return True

    monkeypatch.delenv("NO_COLOR", raising=False)
    assert "\x1b" in colour("FAIL", "fail", Terminal())
    monkeypatch.setenv("NO_COLOR", "1")
    assert colour("FAIL", "fail", Terminal()) == "FAIL"


def test_a_reader_that_leaves_early_is_no_error():
    import subprocess
    import sys

    code = "from barbwright.cli import main; main()"
    path = os.pathsep.join(filter(None, sys.path))
    first = subprocess.Popen(
        [sys.executable, "-c", code, "list", "woods"],
        env={**os.environ, "PYTHONPATH": path},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    first.stdout.close()
    err = first.stderr.read()
    first.stderr.close()
    assert first.wait() == 0
    assert err == ""


TEXTS = st.one_of(
    st.text(max_size=40).filter(lambda text: "\x00" not in text),
    st.sampled_from(["", " ", "nan mm", "inf psi", "1e309 mm", "../..", "/etc/passwd", "4,3 mm",
                     "0.17\"", "1/0", "15/64", "-15/64", "１５／６４", "4.3 мм", "٤ mm", "5 in in",
                     "1" * 5000, "9" * 400 + "mm", "psi", "45 psi abs", "35C", "-300C", "#", "no",
                     "no999999999999", "\u202e4 mm", "{bit}", "%s", "x" * 10000, "True"]),
    st.builds("{}{}".format, st.floats(allow_nan=True), st.sampled_from(
        ["mm", "in", "psi", " bar", "C", "F", "kPa", "", " m", " kg"])),
)  # fmt: skip
OPTIONS = ("tube-id", "tube-od", "tube", "tube-material", "tube-rating", "shore", "bit", "hole",
           "pressure", "relief", "material", "wood", "bark", "temperature", "fluid",
           "set", "kit")  # fmt: skip


@settings(max_examples=60, suppress_health_check=list(HealthCheck))
@given(
    kind=st.sampled_from(KINDS),
    given_texts=st.dictionaries(st.sampled_from(OPTIONS), TEXTS, min_size=1, max_size=4),
)
@example(kind="elbow", given_texts={"bit": "1" * 5000})
@example(kind="elbow", given_texts={"wood": "1" * 3000})
@example(kind="tee", given_texts={"kit": "/dev/null"})
@example(kind="barb", given_texts={"tube": "\ud800"})
def test_whatever_is_typed_ends_in_a_verdict_or_a_clear_refusal(kind, given_texts):
    options = dict(zip(("tube-id", "bit", "pressure"), ("0.170in", "15/64", "45psi"), strict=True))
    arguments = [f"--{name}={text}" for name, text in {**options, **given_texts}.items()]
    done = run("check", kind, *arguments)
    assert done.code in {0, 2, 3}, done.err
    assert "Traceback" not in done.err
    assert "unexpected" not in done.err
    if done.code == 2:
        assert done.out == ""
        # An unknown tube is answered by all there are, which is the longest line a message has.
        assert all(len(line) < 2000 for line in done.err.splitlines())
    else:
        assert done.out
