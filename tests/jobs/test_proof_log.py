"""A proof test's record judged: steps, hold, creep or leak, what the batch may be used at."""

import json

import numpy as np
import pytest

from barbwright import catalog
from barbwright.catalog.folders import USER_FOLDER_VARIABLE
from barbwright.errors import InputError
from barbwright.jobs.proof_log import judge_proof, proof_document
from barbwright.jobs.proofs import keep_proof, proof_sentences
from barbwright.logs.proof import read_proof
from barbwright.logs.table import read_table
from barbwright.say import IMPERIAL

RULES = {name: float(one.value) for name, one in catalog.judgements().items()}
PSI = 0.00689475729


@pytest.fixture
def judge(tmp_path):
    def judged(rows, head="time [min],pressure [psi],temperature [C],pumped [mL]", **more):
        path = tmp_path / "proof.csv"
        path.write_text(head + "\n" + "\n".join(",".join(map(str, row)) for row in rows) + "\n")
        return judge_proof(read_proof(read_table(path)), RULES, **more)

    return judged


def hold(minutes, leak=0.0, creep=2.0, step=0.1, start=67.5, warm=20.0, seed=5, from_min=0.0):
    draw = np.random.default_rng(seed)
    t = np.arange(0.0, minutes + 1e-9, 0.25)
    p = start - creep * -np.expm1(-t / 3.0) - leak * t + 0.05 * draw.standard_normal(len(t))
    p = np.round(p / step) * step
    return [(round(a + from_min, 3), round(b, 2), warm, "") for a, b in zip(t, p, strict=True)]


def way_up(highest=67.5, millilitres_a_psi=0.2):
    """A minute at each quarter, read every quarter of a minute, pumped in two strokes a step."""
    rows, minute = [(0.0, 0.0, 20.0, 0.0)], 0.25
    for share in (0.25, 0.5, 0.75, 1.0):
        for part in (0.5, 1.0):
            psi = highest * (share - 0.25 * (1.0 - part))
            rows.append((minute, round(psi, 2), 20.0, round(millilitres_a_psi * psi, 2)))
            minute += 0.25
        if share < 1.0:
            for _ in range(4):
                rows.append((minute, round(highest * share, 2), 20.0, ""))
                minute += 0.25
    return rows, minute


def test_a_tight_hold_passes_at_two_thirds_of_its_lowest_pressure(judge):
    found = judge(hold(30.0))
    assert found.verdict == "pass"
    lowest = min(row[1] for row in hold(30.0)) * PSI
    assert found.usable_mpa == pytest.approx(lowest / 1.5)


def test_a_leak_fails_and_gives_no_pressure(judge):
    found = judge(hold(30.0, leak=0.4))
    assert found.verdict == "fail"
    assert found.usable_mpa is None
    assert found.fall.low < 0.4 * PSI < found.fall.high


def test_a_short_coarse_record_cannot_tell_and_says_until_when_to_go_on(judge):
    found = judge(hold(8.0, leak=0.1, creep=3.0, step=0.5))
    assert found.verdict == "cannot_tell"
    assert 10.0 <= found.until_min <= 30.0
    assert f"go on until {found.until_min:.0f} min" in found.because


def test_a_tight_hold_of_eight_minutes_is_asked_to_go_on_to_ten(judge):
    found = judge(hold(8.0, creep=0.3))
    assert (found.verdict, found.until_min) == ("cannot_tell", 10.0)


def test_the_whole_way_up_is_seen_with_its_steps_and_its_compliance(judge):
    rows, minute = way_up()
    found = judge([*rows, *hold(15.0, creep=1.0, from_min=minute)], highest_mpa=45.0 * PSI)
    assert found.record.whole_way
    assert [held for _, held in found.steps] == [True] * 4
    assert found.verdict == "pass"
    assert found.compliance_ml_mpa * PSI == pytest.approx(0.2, rel=0.03)
    assert found.leak_ml_min is not None
    assert found.usable_mpa <= 45.0 * PSI


def test_a_step_that_was_skipped_is_said(judge):
    rows, minute = way_up()
    skipped = [row for row in rows if not 1.9 < row[0] < 3.2]
    found = judge([*skipped, *hold(15.0, creep=1.0, from_min=minute)], highest_mpa=45.0 * PSI)
    assert [held for _, held in found.steps].count(False) == 1
    # What the card asks for was not done: no plain pass, no pressure, and told once.
    assert found.verdict == "cannot_tell"
    assert found.usable_mpa is None
    assert "step on the way up was not held for a minute" in found.because
    assert not any("not held" in line for line in found.said)


def test_a_leak_is_a_leak_whether_steps_were_held_or_not(judge):
    rows, minute = way_up()
    skipped = [row for row in rows if not 1.9 < row[0] < 3.2]
    found = judge([*skipped, *hold(30.0, leak=0.4, from_min=minute)], highest_mpa=45.0 * PSI)
    assert found.verdict == "fail"


def test_a_hold_under_the_proof_pressure_proves_nothing_of_the_part(judge):
    found = judge(hold(30.0, start=50.0), highest_mpa=45.0 * PSI)
    assert found.verdict == "cannot_tell"
    assert "proof pressure" in found.because


def test_a_topped_up_line_is_judged_on_its_last_hold(judge):
    rows = [*hold(10.0, creep=6.0), *hold(20.0, creep=0.5, from_min=10.5, seed=6)]
    found = judge(rows)
    assert found.record.hold_min == pytest.approx(20.0, abs=1.0)
    assert found.verdict == "pass"


def test_a_pressure_that_falls_away_at_once_is_no_rate(judge):
    early = judge([*hold(4.0, creep=0.3), (4.25, 20.0, 20, ""), (4.5, 0.0, 20, "")])
    assert early.verdict == "cannot_tell"
    assert "fell away at once" in early.because
    vented = judge([*hold(20.0), (20.25, 5.0, 20, ""), (20.5, 0.0, 20, "")])
    assert vented.verdict == "pass"


def test_a_unit_that_changed_unsaid_is_no_verdict(judge):
    """A logger set to kPa after ten minutes: 7 times the proof pressure is a unit, not a leak."""
    rows = hold(30.0, start=67.5)
    changed = [(t, round(p * 6.894757, 1) if t > 10.0 else p, c, m) for t, p, c, m in rows]
    found = judge(changed, highest_mpa=45.0 * PSI)
    assert found.verdict == "cannot_tell"
    assert "is the unit the header's" in found.because
    unknown = judge(changed)
    assert any("6.89 times at once" in line for line in unknown.said)
    assert not any("at once" in line for line in judge(rows).said)
    vented = judge([*rows, (30.25, 4.5, 20, ""), (30.5, 0.0, 20, "")])
    assert not any("at once, as" in line for line in vented.said)


def test_a_gauge_that_begins_above_nothing_is_asked_about(judge):
    rows, minute = way_up()
    rows = [(t, p + 3.0, c, m) for t, p, c, m in [*rows, *hold(30.0, from_min=minute)]]
    assert any("give it as --zero" in line for line in judge(rows).said)
    level, minute = way_up()
    assert not any("--zero" in line for line in judge([*level, *hold(30.0, from_min=minute)]).said)


def test_why_a_batch_may_be_used_at_no_more_is_said(judge):
    found = judge(hold(30.0), highest_mpa=45.0 * PSI)
    assert found.usable_mpa < 45.0 * PSI
    assert "the lowest the hold fell to" in found.usable_because
    assert "no batch is named" in " ".join(found.said)
    higher = judge(hold(30.0, start=72.0), highest_mpa=45.0 * PSI, batch="B7")
    assert higher.usable_because == ", the highest it was made for"
    assert "no batch is named" not in " ".join(higher.said)


def test_two_batches_of_like_names_keep_their_own_tests(judge, tmp_path, monkeypatch):
    monkeypatch.setenv(USER_FOLDER_VARIABLE, str(tmp_path / "profiles"))
    for batch in ("B7", "b-7", "b 7"):
        keep_proof(proof_document(judge(hold(30.0), part_number="tee-x-1", batch=batch), "p.csv"))
    said = proof_sentences("tee-x-1", IMPERIAL)
    assert {one.split("batch ")[1].split(":")[0] for one in said} == {"B7", "b-7", "b 7"}


def test_temperature_is_asked_for_and_a_change_is_said(judge):
    bare = judge([row[:2] for row in hold(30.0)], head="time [min],pressure [psi]")
    assert any("temperature is not in the record" in line for line in bare.said)
    warmed = judge([(t, p, 20.0 + t / 10.0, m) for t, p, _, m in hold(30.0)])
    assert any("moved by 3.0 C" in line for line in warmed.said)
    assert warmed.fall.high > judge(hold(30.0)).fall.high


def test_what_a_degree_does_is_said_by_the_judgement_that_is_set(tmp_path):
    """The figure can be set: no fixed share of it stands beside it."""
    path = tmp_path / "proof.csv"
    rows = [row[:2] for row in hold(30.0)]
    path.write_text(
        "time [min],pressure [psi]\n" + "".join(f"{time},{psi}\n" for time, psi in rows)
    )
    for most_mpa in (0.0103, 0.05):
        found = judge_proof(
            read_proof(read_table(path)), {**RULES, "log_warmth_most_mpa": most_mpa}
        )
        (line,) = [one for one in found.said if "temperature is not in the record" in one]
        assert f"by up to {IMPERIAL.plain(most_mpa)}, of soft tube by less" in line


def test_a_record_without_a_hold_is_refused(judge):
    with pytest.raises(InputError, match="no hold"):
        judge([(n, 5.0 * n, 20, "") for n in range(12)])


def test_what_is_kept_is_told_to_the_part_and_to_no_other(judge, tmp_path, monkeypatch):
    monkeypatch.setenv(USER_FOLDER_VARIABLE, str(tmp_path / "profiles"))
    found = judge(hold(30.0), part_number="tee-x-1", batch="B 7", highest_mpa=45.0 * PSI)
    kept = proof_document(found, "proof.csv")
    keep_proof(kept)
    assert proof_sentences("tee-x", IMPERIAL) == []
    (sentence,) = proof_sentences("tee-x-1", IMPERIAL)
    assert "batch B 7" in sentence
    assert "PASS" in sentence
    # Rounded down: what a batch may be used at is a limit.
    assert kept["usable_kpa"] <= found.usable_mpa * 1000.0


@pytest.mark.parametrize(
    "spoilt",
    [b"", b"[]", b"{}", b"\xff", {"verdict": "PASS"}, {"because": 7}, {"batch": ["B"]},
     {"usable_kpa": "all"}, {"usable_kpa": -1.0}, {"usable_kpa": 1e9}, {"because": "\x1b[2J"}],
)  # fmt: skip
def test_a_kept_proof_that_is_damaged_is_said_and_counts_for_nothing(
    judge, tmp_path, monkeypatch, spoilt
):
    monkeypatch.setenv(USER_FOLDER_VARIABLE, str(tmp_path / "profiles"))
    path = keep_proof(proof_document(judge(hold(30.0), part_number="tee-x-1", batch="7"), "p.csv"))
    if isinstance(spoilt, dict):
        spoilt = json.dumps(json.loads(path.read_text()) | spoilt).encode()
    path.write_bytes(spoilt)
    (sentence,) = proof_sentences("tee-x-1", IMPERIAL)
    assert path.name in sentence
    assert "counts for nothing" in sentence
