"""A kit asked for one question at a time: every road ends in a file that the kit's reader takes."""

import pytest

from barbwright.design.part import KINDS
from barbwright.errors import InputError
from barbwright.job.reading import read_job
from barbwright.jobs.interview import Interview, kit_text, sample_kit
from barbwright.jobs.kitfile import load_kit
from barbwright.jobs.plan import plan_part
from barbwright.jobs.questions import QUESTIONS
from barbwright.rating import remedy

INCHES = {
    "tube": ".170", "which": "LLDPE 0.170 x 0.250 in", "bit": '15/64"', "pressure": "45",
    "relief": "55 pounds", "tree": "maple", "bark": "half an inch", "ports": "119 cm",
    "drinks": "sugar maple", "language": "es", "name": "Elm street",
}  # fmt: skip
MILLIMETRES = {
    "tube": "4,3 mm", "which": "another", "outside": "6,4 mm", "material": "LLDPE", "bit": "6",
    "pressure": "3 bar", "relief": "don't know", "tree": "don't know", "bark": "?",
    "ports": "don't know", "language": "en", "name": "lindens.toml",
}  # fmt: skip


def told(answers):
    interview = Interview()
    said = {}
    while (question := interview.question) is not None:
        said[question.name] = interview.answer(answers[question.name])
    return interview, said


@pytest.fixture(scope="module")
def inches():
    return told(INCHES)


def test_the_trades_words_end_in_a_kit_file(inches, tmp_path):
    path = tmp_path / "elm_street.toml"
    path.write_text(kit_text(inches[0]), encoding="utf-8")
    kit = load_kit(path)
    assert (kit.name, kit.language) == ("elm_street", "es")
    assert kit.job["tube"] == "LLDPE 0.170 x 0.250 in"
    assert (kit.job["relief"], kit.job["wood"], kit.job["bark"]) == ("55 psi", "maple", "1/2 in")
    assert kit.chain == {"girth": "119 cm", "species": "sugar maple"}


def test_each_answer_says_what_it_changes(inches):
    said = inches[1]
    assert "4.32 mm" in said["tube"]
    assert "150 psi" in said["which"]
    assert "drills 5.95 mm" in said["bit"]
    assert "An elbow is a" in said["pressure"]
    assert "PASS" in said["tree"]
    assert "still a PASS, once proved;" in said["bark"]
    # Thicker bark, longer tip: the change stands beside what it was.
    assert "(was " in said["bark"]
    assert said["ports"].endswith("7 tees and an elbow")


def test_only_an_answer_that_a_part_depends_on_says_how_it_stands(inches):
    for name in ("ports", "drinks", "language", "name"):
        assert "An elbow" not in inches[1][name]


def test_an_elbow_that_stands_as_before_is_not_told_at_length_again():
    interview = Interview()
    for text in ("clear PVC 0.187 x 0.313 in", "no", "9/32", "40 psi"):
        said = interview.answer(text)
    assert "barb_grip fails" in said
    assert "An elbow" not in interview.answer("don't know")
    interview.answer("don't know")
    said = interview.answer("8 mm")  # what is taken where nobody knows
    assert "still a FAIL" in said
    assert "barb_grip" not in said
    assert "as before" in said


def test_a_soft_tube_is_asked_for_its_clamp_and_a_stiff_one_is_not():
    interview = Interview()
    interview.answer("clear PVC 0.187 x 0.313 in")
    assert interview.question.name == "clamp"
    interview.answer("yes")
    assert interview.inputs["clamp"] == "yes"
    interview = Interview()
    interview.answer("LLDPE 4 x 6 mm")
    assert interview.question.name == "bit"


def test_a_kit_with_clamps_says_so_in_its_file(tmp_path):
    interview, _ = told({**MILLIMETRES, "tube": "clear PVC 0.187 x 0.313 in", "clamp": "yes"})
    path = tmp_path / "lindens.toml"
    path.write_text(kit_text(interview), encoding="utf-8")
    assert load_kit(path).job["clamp"] == "yes"


@pytest.mark.parametrize(("name", "text"), [("relief", "20 psi"), ("bark", "half a mile")])
def test_a_refusal_names_no_option_to_who_was_asked_a_question(name, text):
    question = next(one for one in QUESTIONS if one.name == name)
    interview = Interview()
    while interview.question.name != name:
        one = interview.question
        interview.answers[one.name] = one.take(INCHES[one.name], interview.settled)
    with pytest.raises(InputError) as error:
        question.take(text, interview.settled)
    assert "--" in str(error.value)
    with pytest.raises(InputError) as error:
        interview.answer(text)
    assert "--" not in str(error.value)
    assert name in str(error.value)


def test_not_knowing_is_an_answer_and_the_file_says_what_stands_in(tmp_path):
    interview, said = told(MILLIMETRES)
    assert "8 mm is taken" in said["bark"]
    text = kit_text(interview)
    assert "# Where the vessel's relief valve opens.\n# Not known" in text
    assert max(map(len, text.splitlines())) <= 80
    path = tmp_path / "lindens.toml"
    path.write_text(text, encoding="utf-8")
    kit = load_kit(path)
    assert (kit.chain, kit.language) == ({}, "")
    assert {part.kind: part.quantity for part in kit.parts} == {"tee": 1, "elbow": 1}


def test_enter_alone_picks_no_tree_that_nobody_named():
    """Who does not know the tree and presses Enter was given basswood's uptake."""
    drinks = next(one for one in QUESTIONS if one.name == "drinks")
    assert drinks.offers({"ports": "6", "wood": "unknown"})[0].text == "?"
    offers = drinks.offers({"ports": "6", "wood": "sugar maple"})
    assert (offers[0].text, offers[-1].text) == ("sugar maple", "?")


def test_enter_alone_picks_no_tube_and_no_material_that_nobody_named():
    """Who measured 4.3 mm and pressed Enter was given a drip tube of 2 bar."""
    for name, settled in (("which", {"tube_id": "4.3 mm"}), ("material", {})):
        question = next(one for one in QUESTIONS if one.name == name)
        first = question.offers(settled)[0].text
        assert question.take(first, settled) == {}


def test_what_was_picked_is_not_called_left_open():
    interview, said = told({**MILLIMETRES, "tube": "clear PVC 0.187 x 0.313 in", "clamp": "no"})
    assert said["clamp"] == "no clamp"
    assert said["language"] == "English alone"
    assert said["relief"].startswith("left open: ")
    assert "language" not in interview.settled


def test_inputs_are_said_in_the_words_of_the_questions():
    interview = Interview()
    assert interview.answer("4,3 mm").startswith("bore: 4.3 mm")
    interview.answer("another")
    assert interview.answer("6 mm") == "outside: 6 mm"
    with pytest.raises(InputError, match="bore is no small tubing"):
        Interview().answer("40 mm")


def failing():
    """A kit of a drip tube at twice what it is rated for."""
    answers = {**MILLIMETRES, "which": "PE drip 0.170 x 0.250 in", "pressure": "3 bar",
               "relief": "4 bar", "tree": "elm"}  # fmt: skip
    interview, said = told(answers)
    assert "the end says what helps" not in said["tube"]
    assert not interview.judged("tee")[1]
    return interview


@pytest.fixture
def with_cures():
    interview = failing()
    interview.cures("tee")
    return interview


@pytest.mark.slow
def test_each_cure_that_is_offered_makes_a_kit_pass(with_cures, tmp_path):
    offers = with_cures.mending.offers({})
    cures = [one.text for one in offers if one.text.startswith("cure")]
    assert len(cures) >= 2
    changed = []
    for cure in cures:
        interview = Interview(dict(with_cures.answers), with_cures.helps)
        said = interview.mend(cure)
        assert said
        assert interview.question is None
        assert [interview.judged(kind)[1] for kind in ("tee", "elbow")] == [True, True]
        path = tmp_path / "lindens.toml"
        path.write_text(kit_text(interview), encoding="utf-8")
        changed.append(load_kit(path).job)
    assert changed[0]["tube"] == "PE drip 0.170 x 0.250 in"
    assert changed[0]["relief"] != "4 bar"
    # Another tube is drawn for its own bore, not for what was measured of the first.
    assert changed[1]["tube"] != changed[0]["tube"]
    assert "tube_id" not in changed[1]


def test_a_cure_of_what_nobody_was_asked_reaches_the_file(tmp_path):
    interview = failing()
    change = remedy.Change("temperature", "20 C", "say 20 C", (remedy.Change("clamp", "yes", ""),))
    interview.helps = remedy.Cures((change,))
    assert interview.mend(interview.mending.offers({})[0].text) == "say 20 C"
    path = tmp_path / "lindens.toml"
    path.write_text(kit_text(interview), encoding="utf-8")
    job = load_kit(path).job
    assert (job["temperature"], job["clamp"]) == ("20 C", "yes")


def test_any_answer_a_part_hangs_on_can_be_given_anew_and_left_as_it_was():
    interview = failing()
    before = {name: dict(one) for name, one in interview.answers.items()}
    offers = {one.text: one.says for one in interview.mending.offers({})}
    assert offers["anew bit"] == "answer anew: bit (6 mm)"
    assert offers["anew bark"] == "answer anew: bark (left open)"
    assert "anew name" not in offers
    assert "anew which" not in offers
    for name in ("tube", "bit", "pressure", "relief", "tree", "bark"):
        interview.mend(f"anew {name}")
        assert interview.question.name == name
        assert interview.back()
        assert interview.answers == before
        assert interview.question is None
    # A new tube is asked for what is known of it; a new pressure for the valve above it.
    interview.mend("anew tube")
    interview.answer("LLDPE 4 x 6 mm")
    assert interview.question is None
    interview.mend("anew pressure")
    interview.answer("2 bar")
    assert interview.question.name == "relief"
    # Back past the new answer, and past the opening.
    assert interview.back()
    assert interview.question.name == "pressure"
    assert interview.back()
    assert interview.settled["pressure"] == "3 bar"
    assert interview.settled["relief"] == "4 bar"
    assert interview.mend("write") == ""


def test_a_tube_that_fits_is_offered_in_both_units_on_one_line():
    which = next(one for one in QUESTIONS if one.name == "which")
    rows = [one.says for one in which.offers({"tube_id": "4.3 mm"})]
    assert "LLDPE 0.170 x 0.250 in (4.32 x 6.35 mm): 150 psi (10.3 bar)" in rows
    assert "LLDPE 4 x 6 mm: 145 psi (10 bar)" in rows
    assert max(map(len, rows)) <= 76


def test_a_measured_bore_stays_what_the_barb_is_drawn_for():
    interview = Interview()
    interview.answer("4,3 mm")
    said = interview.answer("LLDPE 4 x 6 mm")
    assert "drawn for the 4.30 mm you measured" in said
    assert (
        read_job({**interview.inputs, "pressure": "3 bar"}, needs_tip=False).tubes[0].inner_mm
        == 4.3
    )


def test_back_takes_the_last_answer_back_to_the_first():
    interview = Interview()
    interview.answer(".170")
    assert interview.question.name == "which"
    interview.answer("another")
    assert interview.question.name == "outside"
    assert interview.back()
    assert interview.question.name == "which"
    interview.answer("LLDPE 0.170 x 0.250 in")
    # A named tube needs neither its outside nor its material.
    assert interview.question.name == "bit"
    assert interview.back()
    assert interview.back()
    assert not interview.back()


@pytest.mark.parametrize(
    ("name", "text", "says"),
    [
        ("tube", "don't know", "bit that just slides in"),
        ("tube", "40 mm", "no small tubing"),
        ("tube", "1.5", "inches or millimetres"),
        ("tube", "no such hose", "unknown"),
        ("which", "silicone 0.250 x 0.375 in", "not one of those that fit"),
        ("bit", "?", "drill gauge"),
        ("bit", "17/99", "no drill fraction"),
        ("pressure", "4000 psi", "far beyond"),
        ("relief", "20 psi", "below"),
        ("tree", "granite", "unknown"),
        ("bark", "half a mile", "not understood"),
        ("ports", "9999", "such as 9999 mm"),
        ("ports", "1.5", "needs its unit"),
        ("drinks", "baobab", "measured"),
        ("name", "///", "no name for a file"),
    ],
)
def test_an_answer_that_cannot_be_used_says_why_and_the_question_stands(name, text, says):
    interview = Interview()
    while interview.question.name != name:
        interview.answers[interview.question.name] = next(
            one for one in QUESTIONS if one.name == interview.question.name
        ).take(INCHES[interview.question.name], interview.settled)
    with pytest.raises(InputError, match=says):
        interview.answer(text)
    assert interview.question.name == name


def test_every_question_has_a_why_and_an_example_that_is_understood():
    assert len({one.name for one in QUESTIONS}) == len(QUESTIONS)
    for question in QUESTIONS:
        assert question.why.endswith(".")
        assert question.asks.endswith(("?", "."))
        assert question.example


def test_the_example_of_what_to_write_is_a_kit(tmp_path):
    path = tmp_path / "my_kit.toml"
    path.write_text(sample_kit(), encoding="utf-8")
    assert load_kit(path).chain["ports"] == "6"


@pytest.mark.slow
def test_what_cures_one_part_of_a_kit_is_looked_for_once_where_it_cures_both(monkeypatch):
    """A tube that fails took its seconds for the tee, and again for the elbow."""
    looked = []
    find = remedy.cures
    monkeypatch.setattr(remedy, "cures", lambda job, kind: looked.append(kind) or find(job, kind))
    interview = Interview()
    for text in (
        "1/4 in x 3/8", "another", "PVC", "yes", "5/16", "60 psi", "?", "hickory shagbark",
    ):  # fmt: skip
        interview.answer(text)
    tee, elbow = (interview.cures(kind) for kind in ("tee", "elbow"))
    assert len(looked) == 1
    assert tee
    assert elbow == tee
    # Each that is told of the elbow passes there, by the elbow's own judgement.
    for change in interview.helps.changes:
        job = remedy.apply(read_job(interview.inputs), change)
        assert plan_part(KINDS["elbow"], job).passed
    # Another answer asks anew.
    interview.back()
    interview.answer("softwood")
    assert interview.helps is None
