"""A kit asked for one question at a time, in the trade's words; the terminal stands elsewhere."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from barbwright import catalog, units
from barbwright.catalog.folders import toml_text
from barbwright.checks.reasons import marked, verdict_reason
from barbwright.design.part import KINDS
from barbwright.errors import BarbwrightError, Fault, InputError
from barbwright.job.reading import read_job
from barbwright.job.record import INPUT_NAMES
from barbwright.job.tube import stated
from barbwright.jobs.plan import Plan, plan_part
from barbwright.jobs.questions import QUESTIONS, Offer, Question, Settled, count_of, with_figures

if TYPE_CHECKING:
    from barbwright.rating.remedy import Change, Cures

# What answers settle that is no input of a part or a chain.
_OWN = ("name", "language")
# Inputs in the words of the questions; any other goes by its name.
_SPOKEN = {
    "tube_id": "bore", "tube_od": "outside", "tube_material": "made of", "wood": "tree",
    "species": "drinks like",
}  # fmt: skip
# Where a change of an input that is no question of ours is kept.
_MENDED = "mended"
_WRITE = "write"
_ANEW = "anew "
_CURE = "cure "


@dataclass
class Interview:
    """Questions in order; each answer is kept, and the last can be taken back.

    Attributes
    ----------
    answers : dict
        Question name to what its answer settled, in the order given.
    helps : Cures or None
        What was found to cure one of the kit's parts, as long as no answer changes.
    helped : tuple of str
        The kinds of part that it was computed to cure.
    opened : tuple or None
        All answers as they stood before one was opened again, and how many were left then.
    """

    answers: dict[str, Settled] = field(default_factory=dict)
    helps: Cures | None = None
    helped: tuple[str, ...] = ()
    opened: tuple[dict[str, Settled], int] | None = None

    @property
    def settled(self) -> Settled:
        """All that is settled so far."""
        return {name: text for answer in self.answers.values() for name, text in answer.items()}

    @property
    def question(self) -> Question | None:
        """The next thing to ask; None when all is."""
        settled = self.settled
        return next(
            (one for one in QUESTIONS if one.name not in self.answers and one.asked(settled)), None
        )

    def answer(self, text: str) -> str:
        """Take an answer to the question that stands; return what it changes.

        Parameters
        ----------
        text : str
            As typed.

        Raises
        ------
        InputError
            When it cannot be used: the question stands.
        """
        question = self.question
        assert question is not None
        before = self.settled
        try:
            settled = question.take(text.strip(), before)
        except InputError as error:
            raise InputError(map(_without_options, error.faults)) from error
        self.answers[question.name] = settled
        self.helps = None
        return changes(before, self.settled, question.name)

    def back(self) -> bool:
        """Take the last answer back; False where there is none.

        Where an answer was opened again and nothing said since, it is as it was before.
        """
        if self.opened is not None and len(self.answers) <= self.opened[1]:
            self.answers, self.opened = self.opened[0], None
            return True
        if not self.answers:
            return False
        self.answers.popitem()
        self.helps = None
        return True

    def open_again(self, name: str) -> None:
        """Ask a question anew, and what hangs on its answer; the rest stands.

        Parameters
        ----------
        name : str
            Of a question that was answered.
        """
        before = dict(self.answers)
        question = next(one for one in QUESTIONS if one.name == name)
        for one in (name, *question.leads_to):
            self.answers.pop(one, None)
        self.opened = (before, len(self.answers))
        self.helps = None

    @property
    def mending(self) -> Question:
        """What may be done about a kit that does not pass: a cure, an answer anew, or nothing."""
        cures = () if self.helps is None else self.helps.changes
        passes = " and ".join(self.helped) + (" pass" if len(self.helped) > 1 else " passes")
        offers = [
            Offer(f"{_CURE}{number}", f"{change.text} (computed: {passes})")
            for number, change in enumerate(cures)
        ]
        for question in QUESTIONS:
            settled = self.answers.get(question.name)
            if settled is not None and question.of_a_part:
                now = self.settled.get(question.settles) or "left open"
                if question.name == "tube":
                    now = ", ".join(settled.values())
                offers.append(Offer(_ANEW + question.name, f"answer anew: {question.name} ({now})"))
        why = "A part that does not pass is not built, unless you ask for it by --anyway."
        as_it_is = "its parts are marked NOT PASSED"
        if not self.buildable:
            why = "A part that has no size cannot be built by any means."
            as_it_is = "it cannot be built until something in it changes"
        offers.append(Offer(_WRITE, f"write the kit as it is: {as_it_is}"))
        return Question(
            name="mend",
            asks="What do you want to change?",
            why=why,
            example="pick one",
            take=lambda _text, _settled: {},
            offers=lambda _: tuple(offers),
        )

    def mend(self, text: str) -> str:
        """Do what was picked of `mending`; return what it changes, empty where all may stand.

        Parameters
        ----------
        text : str
            Which offer.
        """
        if text == _WRITE:
            return ""
        if text.startswith(_ANEW):
            name = text.removeprefix(_ANEW)
            self.open_again(name)
            return f"{name} is asked again; back keeps the answer that was there"
        assert self.helps is not None
        change = self.helps.changes[int(text.removeprefix(_CURE))]
        self._make(change)
        return change.text

    def _make(self, change: Change) -> None:
        """Make a change of inputs where the answers keep them."""
        for one in (change, *change.also):
            if one.option == "tube":
                # What was measured of another tube, or told of it, falls.
                for question in QUESTIONS:
                    if question.settles.startswith("tube"):
                        self.answers.pop(question.name, None)
            asked = next((own.name for own in QUESTIONS if own.settles == one.option), _MENDED)
            others = self.answers.get(asked, {})
            self.answers[asked] = {**others, one.option: one.value}
        self.opened = self.helps = None

    @property
    def inputs(self) -> Settled:
        """What a part is asked for by name, as text."""
        return {name: text for name, text in self.settled.items() if name in INPUT_NAMES}

    @property
    def chain(self) -> Settled:
        """What its chain is asked for by name, as text."""
        return {
            name: text
            for name, text in self.settled.items()
            if name not in INPUT_NAMES and name not in _OWN
        }

    def judged(self, kind: str) -> tuple[str, bool]:
        """Return the verdict on one of the kit's parts in words, and whether it passes.

        Parameters
        ----------
        kind : str
            Kind of part.
        """
        found = _judged(self.settled, kind)
        if isinstance(found, BarbwrightError):
            return f"no size: {_without_options(found.faults[0])}", False
        return f"{found.verdict.upper()}{_because(found)}", found.passed

    def has_size(self, kind: str) -> bool:
        """Return whether one of the kit's parts can be drawn at all."""
        return not isinstance(_judged(self.settled, kind), BarbwrightError)

    @property
    def buildable(self) -> bool:
        """Whether the kit's parts can be drawn, whatever their verdict."""
        return self.has_size("tee") and self.has_size("elbow")

    def cures(self, kind: str) -> str:
        """Return what helps a part that fails; empty where it has no size, whose refusal says so.

        Parameters
        ----------
        kind : str
            Kind of part.
        """
        # Late: who passes must not pay for what would cure it.
        from barbwright.rating.remedy import cured_too

        plan = _judged(self.settled, kind)
        if isinstance(plan, BarbwrightError):
            return ""
        # What cures the kit's other part, where it cures both.
        if self.helps is None or not cured_too(plan.job, plan.kind, self.helps):
            self.helps, self.helped = plan.cures, ()
        self.helped = (*self.helped, kind)
        return re.sub(r" \(--[a-z-]+\)", "", str(self.helps))


def changes(before: Settled, after: Settled, name: str) -> str:
    """Return what an answer changes, in a sentence or two.

    Parameters
    ----------
    before, after : dict
        What was settled without it and with it.
    name : str
        The question it answers.
    """
    told = [f"{_spoken(key)}: {text}" for key, text in after.items() if key not in before]
    question = next(one for one in QUESTIONS if one.name == name)
    said = ", ".join(told) or with_figures(question.stands_in)
    asks_anew = any(key in INPUT_NAMES for key in after.keys() - before.keys())
    if asks_anew and {"bit", "pressure"} <= after.keys():
        moved = _moved(_judged(before, "elbow"), _judged(after, "elbow"))
        return f"{said}. {moved}"
    return ". ".join(filter(None, [said, _follows(after, name)]))


def _follows(settled: Settled, name: str) -> str:
    """Return what follows from an answer by itself."""
    if name == "bit":
        return f"It drills {catalog.parse_bit(settled['bit']).diameter_mm:.2f} mm"
    if name in {"tube", "which"} and "tube" in settled:
        tube = catalog.find_tube(settled["tube"])
        rated = "no rating is stated for it"
        if tube.stated_rating:
            rated = f"its maker states {stated(tube)}"
        if "tube_id" in settled:
            measured = units.parse_length(settled["tube_id"])
            return f"The barb is drawn for the {measured:.2f} mm you measured; {rated}"
        return f"Its bore is {tube.id_mm:.2f} mm; {rated}"
    if name == "tube":
        return f"The barb is drawn for {units.parse_length(settled['tube_id']):.2f} mm"
    if name == "ports" and (count := count_of(settled)) is not None:
        return f"{_tees(count - 1)} and an elbow"
    return ""


def _tees(count: int) -> str:
    return "no tee" if count == 0 else "a tee" if count == 1 else f"{count} tees"


def _without_options(fault: Fault) -> Fault:
    """Return a fault as who answers questions knows it: the readers name a command's options."""
    option = re.compile(r"--([a-z]+(?:-[a-z]+)*)")
    texts = {
        name: option.sub(lambda found: _spoken(found[1].replace("-", "_")), text)
        for name, text in vars(fault).items()
    }
    return replace(fault, **texts)


def _spoken(name: str) -> str:
    """Return an input's name as the questions say it."""
    return _SPOKEN.get(name, name.replace("_", " "))


_Judged = Plan | BarbwrightError


def _judged(settled: Settled, kind: str) -> _Judged:
    """Return a part judged on what is settled so far; the refusal where it has no size."""
    inputs = {name: text for name, text in settled.items() if name in INPUT_NAMES}
    try:
        return plan_part(KINDS[kind], read_job(inputs))
    except BarbwrightError as error:
        return error


def _moved(was: _Judged, now: _Judged) -> str:
    """Return how an elbow stands now, with what it was where that has changed."""
    if isinstance(now, BarbwrightError):
        return f"An elbow has no size yet: {_without_options(now.faults[0])}"
    verdict, length = f"a {now.verdict.upper()}{_because(now)}", _seat(now)
    if isinstance(was, BarbwrightError):
        return f"An elbow is {verdict}" + (f"; its tip goes {length} mm in" if length else "")
    stays = verdict == f"a {was.verdict.upper()}{_because(was)}"
    # No pass stands anywhere without what it leans on.
    short = marked(now.verdict.upper(), proved=now.passed and bool(now.proved_in_field))
    says = f"An elbow is still a {short}" if stays else f"An elbow is {verdict}"
    if not (now.passed or stays):
        says += " (the end says what helps; `back` changes an answer now)"
    if length is None:
        return says
    old = _seat(was)
    as_before = ", as before" if old == length else f" (was {old})" if old else ""
    return f"{says}; its tip goes {length} mm in{as_before}"


def _because(plan: Plan) -> str:
    # No rules stand below: the sheet and the build say them.
    reason = verdict_reason(plan.results, "handled by its rules")
    return f", {reason}" if reason else ""


def _seat(plan: Plan) -> str | None:
    tip = None if plan.design is None else plan.design.tip
    return None if tip is None else f"{float(tip.seat_mm):.1f}"


def kit_text(interview: Interview) -> str:
    """Return the kit as a file with its comments.

    Parameters
    ----------
    interview : Interview
        With every question answered.
    """
    name = interview.settled["name"]
    lines = [
        "# A kit, written by `barbwright start`. Change what you like, then",
        f"# `barbwright build {name}.toml`. Lines that begin with # are notes.",
        f"name = {toml_text(name)}",
        *_language_lines(interview.settled),
        "",
        "# What every part is made for.",
        "[job]",
    ]
    settled = interview.inputs
    for key, note in _JOB_NOTES.items():
        if key in settled:
            lines += [f"# {note}", f"{key} = {toml_text(settled[key])}"]
        elif key in _LEFT_OPEN and not (key.startswith("tube") and "tube" in settled):
            lines += [f"# {note}", f"# {with_figures(_LEFT_OPEN[key])}"]
    chain, count = interview.chain, count_of(interview.settled)
    lines += ["", "# How many to print, with spares."]
    if "species" in chain:
        lines += ["# Tees and the elbow follow from the chain.", "[parts]", "", "# The chain."]
        lines += ["[chain]", *(f"{key} = {toml_text(text)}" for key, text in chain.items())]
        lines += [f"# {with_figures(note)}" for note in _CHAIN_NOTES]
    else:
        lines += ["[parts]", f"tee = {{ quantity = {(count or 2) - 1}, spares = 1 }}"]
        lines += ["elbow = { quantity = 1, spares = 1 }", f"# {_NO_CHAIN}"]
    return "\n".join(lines) + "\n"


def _language_lines(settled: Settled) -> list[str]:
    if "language" not in settled:
        return []
    note = "# Cards and rules for the hands are written in this language as well as in English."
    return [note, f"language = {toml_text(settled['language'])}"]


_JOB_NOTES = {
    "tube": "The tube, by its name in `barbwright list tubes`.",
    "tube_id": "The tube's bore.",
    "tube_od": "The tube's outside.",
    "tube_material": "What the tube is made of.",
    "clamp": "Whether each barb carries a clamp.",
    "bit": "The drill bit.",
    "material": "The print material, by its name in `barbwright list materials`.",
    "temperature": "How warm the line gets.",
    "pressure": "Working pressure, at the gauge.",
    "relief": "Where the vessel's relief valve opens.",
    "wood": "The tree, as `barbwright list woods` has it; unknown is an answer.",
    "bark": "The bark, down to the wood.",
}
# Said in the file where nobody answered.
_LEFT_OPEN = {
    "tube_od": 'Not known: write tube_od = "...".',
    "tube_material": 'Not known: write tube_material = "...".',
    "relief": 'Not known: the working pressure stands in. When it is: relief = "55psi".',
    "bark": 'Not known: {bark_mm:g} mm stands in. When it is: bark = "10 mm".',
}
_CHAIN_NOTES = (
    'spacing = "{chain_spacing_mm:g} mm"        # hole to hole along the bark, at most',
    'supply_length = "{chain_supply_length_mm:g} mm" # tube from the vessel to the first tee',
    'vessel_volume = "12 L"    # with air_head: how long a tree takes, as a range',
)
_NO_CHAIN = (
    "For what each hole gets, add a table [chain] with ports, and species or\n"
    "# measured (`barbwright chain --help`)."
)


def sample_kit() -> str:
    """Return a small kit file as an example of what to write [-]."""
    interview = Interview()
    for name, settled in {
        "tube": {"tube": catalog.find_tube("LLDPE 4 x 6 mm").name},
        "bit": {"bit": "6 mm"},
        "pressure": {"pressure": "3 bar"},
        "tree": {"wood": "unknown"},
        "ports": {"ports": "6"},
        "drinks": {"species": next(iter(catalog.uptakes().values())).name},
        "name": {"name": "my_kit"},
    }.items():
        interview.answers[name] = settled
    return kit_text(interview)
