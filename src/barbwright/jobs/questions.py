"""What `start` asks, in order, and how rough answers are read."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from barbwright import catalog, units
from barbwright.chain.plan import ports_for_girth
from barbwright.errors import Fault, InputError, quoted
from barbwright.job.reading import read_job
from barbwright.job.tube import rated
from barbwright.jobs.chain_inputs import read_chain_inputs
from barbwright.jobs.spoken import (
    SIZE_WORDS,
    spoken_bit,
    spoken_length,
    spoken_pressure,
    spoken_range,
    spoken_sizes,
    tidy,
    unsure,
)

if TYPE_CHECKING:
    from barbwright.catalog import Tube, Uptake

Settled = dict[str, str]
# How far a tube held against a scale may be from its row: wider than a caliper, for a choice only.
_FITS_WITHIN_MM = 0.35


@dataclass(frozen=True)
class Offer:
    """One answer to pick.

    Attributes
    ----------
    text : str
        What answers the question.
    says : str
        What a person reads.
    """

    text: str
    says: str


@dataclass(frozen=True, kw_only=True)
class Question:
    """One thing to ask.

    Attributes
    ----------
    name : str
        A word for it.
    asks : str
        The question.
    why : str
        What hangs on the answer.
    example : str
        Answers that are understood.
    take : callable
        Answer, and what is settled so far, to what this answer settles.
    offers : callable
        What is settled so far to answers to pick; none where it is typed.
    asked : callable
        What is settled so far to whether there is anything to ask.
    picture : str
        A small drawing in letters.
    stands_in : str
        What is said where it settles nothing; empty where it must settle something. Read it
        through `with_figures`.
    leads_to : tuple of str
        Questions whose answers fall where this one is answered anew.
    settles : str
        The input it settles, where it is one alone; else empty.
    of_a_part : bool
        Whether a part may pass or fail by its answer, so that it is offered to be answered anew.
    """

    name: str
    asks: str
    why: str
    example: str
    take: Callable[[str, Settled], Settled]
    offers: Callable[[Settled], tuple[Offer, ...]] = lambda _: ()
    asked: Callable[[Settled], bool] = lambda _: True
    picture: str = ""
    stands_in: str = ""
    leads_to: tuple[str, ...] = ()
    settles: str = ""
    of_a_part: bool = True


def with_figures(text: str) -> str:
    """Return a text with the figures it names, which `profiles/judgement.toml` owns.

    Parameters
    ----------
    text : str
        Such as "{bark_mm:g} mm is taken" [-].
    """
    return text.format_map({name: one.value for name, one in catalog.judgements().items()})


def _tube(text: str, _: Settled) -> Settled:
    """Read a tube's size, both sizes, or its name."""
    if unsure(text):
        raise InputError(
            Fault(
                "a barb cannot be sized without the tube's bore",
                do="measure it: the shank of the largest drill bit that just slides in is its size",
            )
        )
    if _names_a_tube(text):
        return {"tube": catalog.find_tube(text).name}
    sizes = spoken_sizes(text)
    lengths = [units.parse_length(one, name="the tube") for one in sizes]
    if len(sizes) > 2:
        raise InputError(Fault("more than two sizes", quoted(text), do="say bore x outside"))
    if len(sizes) == 1:
        return _sensible({"tube_id": sizes[0]})
    small, large = (size for _mm, size in sorted(zip(lengths, sizes, strict=True)))
    return _sensible({"tube_id": small, "tube_od": large})


def _names_a_tube(text: str) -> bool:
    """Return whether a text is more than sizes: it has a word that is no unit and no count."""
    words = re.findall(r"[a-z]{2,}", text.casefold())
    return any(word not in SIZE_WORDS for word in words)


def _sensible(settled: Settled) -> Settled:
    """Return what was settled, if a job takes it: its own reader knows what a tube can be."""
    read_job({**settled, "pressure": "1 psi"}, needs_tip=False)
    return settled


def _fitting(settled: Settled) -> tuple[Offer, ...]:
    """Offer the tubes of the table that a measured one may be, likeliest first."""
    inner = units.parse_length(settled["tube_id"])
    outer = units.parse_length(settled["tube_od"]) if "tube_od" in settled else None
    fitting = [
        tube for tube in catalog.tubes().values() if tube.measures(inner, outer, _FITS_WITHIN_MM)
    ]
    fitting.sort(key=lambda one: (round(abs(one.id_mm - inner), 2), one.rating_mpa is None))
    rows = [Offer(one.name, f"{_sized(one)}: {_held(one)}") for one in fitting]
    # At the top, and so taken by whoever only presses Enter: no tube that nobody named.
    return (Offer("another", "none of these, or I don't know"), *rows) if rows else ()


def _sized(tube: Tube) -> str:
    """Return a tube's name, with its sizes in millimetres where the name has inches."""
    if tube.od_mm is None or not tube.name.endswith(" in"):
        return tube.name
    return f"{tube.name} ({tube.id_mm:.2f} x {tube.od_mm:.2f} mm)"


def _held(tube: Tube) -> str:
    """Return a tube's rating, marked where no print was seen."""
    mark = ", from memory" if "from memory" in tube.stated_rating else ""
    return f"{rated(tube)}{mark}" if tube.stated_rating else "no stated rating"


def _which(text: str, settled: Settled) -> Settled:
    if unsure(text) or text == "another":
        return {}
    name = catalog.find_tube(text).name
    if name not in {offer.text for offer in _fitting(settled)}:
        raise InputError(Fault("this is not one of those that fit", quoted(text), do="pick one"))
    return {"tube": name}


def _outside(text: str, settled: Settled) -> Settled:
    if unsure(text):
        return {}
    return _only_new(_sensible({**settled, "tube_od": spoken_length(text)}), settled)


def _only_new(all_: Settled, settled: Settled) -> Settled:
    return {name: text for name, text in all_.items() if name not in settled}


def _made_of(_: Settled) -> tuple[Offer, ...]:
    # At the top, as of the tubes: Enter alone takes no material that nobody named.
    offers = [Offer("?", "I don't know")]
    for kind in catalog.tube_kinds().values():
        offers += [Offer(grade, f"{grade} ({kind.name})") for grade in kind.grades]
        others = ", ".join(kind.words[1:])
        offers.append(Offer(kind.words[0], kind.words[0] + (f" ({others})" if others else "")))
    return tuple(offers)


def _material(text: str, _: Settled) -> Settled:
    if unsure(text):
        return {}
    catalog.find_tube_material(text)
    return {"tube_material": tidy(text)}


def _soft(settled: Settled) -> bool:
    """Return whether a tube is a rubber, which a barb may not hold without a clamp."""
    if "tube" in settled:
        return catalog.find_tube(settled["tube"]).shore_a is not None
    if "tube_material" in settled:
        return catalog.find_tube_material(settled["tube_material"]).shore_a_low is not None
    return False


def _clamped(text: str, _: Settled) -> Settled:
    return {"clamp": "yes"} if tidy(text).casefold() in {"yes", "y", "clamp"} else {}


def _bit(text: str, _: Settled) -> Settled:
    if unsure(text):
        raise InputError(
            Fault(
                "a tip cannot be sized without the bit",
                do="read its shank, or hold it in a drill gauge",
            )
        )
    said = spoken_bit(text)
    catalog.parse_bit(said, name="the bit")
    return {"bit": said}


def _pressure(text: str, _: Settled) -> Settled:
    if unsure(text):
        raise InputError(
            Fault(
                "walls and grip cannot be judged without the pressure",
                do="read the vessel's gauge while it runs",
            )
        )
    said = spoken_pressure(text)
    read_job({"tube_id": "4 mm", "pressure": said}, needs_tip=False)
    return {"pressure": said}


def _relief(text: str, settled: Settled) -> Settled:
    if unsure(text):
        return {}
    said = spoken_pressure(text)
    job = {"tube_id": "4 mm", "pressure": settled["pressure"], "relief": said}
    read_job(job, needs_tip=False)
    return {"relief": said}


def _tree(text: str, _: Settled) -> Settled:
    word = "unknown" if unsure(text) else tidy(text)
    read_job({"tube_id": "4 mm", "pressure": "1 psi", "wood": word}, needs_tip=False)
    return {"wood": word}


def _bark(text: str, _: Settled) -> Settled:
    if unsure(text) and text.strip() != "none":
        return {}
    said = "0 mm" if text.strip() == "none" else spoken_range(text)
    read_job({"tube_id": "4 mm", "pressure": "1 psi", "bark": said}, needs_tip=False)
    return {"bark": said}


def _ports(text: str, _: Settled) -> Settled:
    if unsure(text):
        return {}
    plain = tidy(text)
    if re.fullmatch(r"\d{1,3}( ports?| holes?)?", plain):
        said = {"ports": re.split(" ", plain)[0]}
    elif re.fullmatch(r"[\d.,]+", plain):
        raise InputError(
            Fault("no number of holes", quoted(text), "1 to 999",
                  f"a girth needs its unit, such as {plain} mm")
        )  # fmt: skip
    else:
        said = {"girth": spoken_length(re.sub(r"(?i) ?(round|girth|around)$", "", plain))}
    read_chain_inputs(said, {})
    return said


def _measured_trees(settled: Settled) -> tuple[Offer, ...]:
    """Offer the trees whose uptake was published, first those that share the wood's words."""

    def words_of(name: str) -> set[str]:
        return set(re.findall(r"[a-z]+", name.casefold()))

    wood = words_of(settled.get("wood", ""))

    def shared(row: Uptake) -> int:
        return len(wood & words_of(row.name))

    rows = sorted(catalog.uptakes().values(), key=shared, reverse=True)
    offers = [Offer(row.name, row.name) for row in rows]
    neither = Offer("?", "none of these, or I don't know")
    # The one at the top is taken by whoever only presses Enter: the wood's own tree, or none.
    return (*offers, neither) if words_of(rows[0].name) <= wood else (neither, *offers)


def _drinks(text: str, _: Settled) -> Settled:
    if unsure(text):
        return {}
    read_chain_inputs({"species": text})
    return {"species": tidy(text)}


def count_of(settled: Settled) -> int | None:
    """Return how many holes there are; None where nobody said."""
    if "ports" in settled:
        return int(settled["ports"])
    if "girth" in settled:
        spacing = catalog.judgements()["chain_spacing_mm"].value
        return ports_for_girth(units.parse_length(settled["girth"]), spacing)
    return None


def _spoken(_: Settled) -> tuple[Offer, ...]:
    """Offer the languages that cards can be written in, English alone first."""
    others = (Offer(code, f"English and {name}") for code, name in catalog.languages().items())
    return (Offer("en", "English"), *others)


def _language(text: str, _: Settled) -> Settled:
    code = "" if unsure(text) else catalog.read_language(text)
    return {"language": code} if code else {}


def _name(text: str, _: Settled) -> Settled:
    plain = re.sub(r"[^a-z0-9_-]+", "_", tidy(text).casefold().removesuffix(".toml")).strip("_")
    if not plain or len(plain) > 40:
        raise InputError(
            Fault("this is no name for a file", quoted(text), "letters and digits, up to 40",
                  "such as elm_street")
        )  # fmt: skip
    return {"name": plain}


QUESTIONS = (
    Question(
        name="tube",
        asks="Which tube goes on the barbs?",
        why="The barb is made for its bore: a tenth of a millimetre is a leak or a tube that "
        "will not go on.",
        picture="    ___________\n"
        "   |###########   outside\n"
        "   |              bore: a bit's shank that just slides in tells it\n"
        "   |###########\n",
        example='.160, 4,3 mm, bore x outside as 1/4 x 3/8", or the name printed on it',
        take=_tube,
        leads_to=("which", "outside", "material", "clamp"),
        settles="tube",
    ),
    Question(
        name="which",
        asks="Which of these is it?",
        why="They fit what you measured; the print on the tube tells. Tubes of one size hold from "
        "30 to 360 psi (2 to 25 bar).",
        example="pick one",
        take=_which,
        stands_in="left open: the next questions tell",
        leads_to=("outside", "material", "clamp"),
        settles="tube",
        of_a_part=False,
        offers=_fitting,
        asked=lambda settled: "tube_id" in settled and bool(_fitting(settled)),
    ),
    Question(
        name="outside",
        asks="How wide is the tube outside?",
        why="Its wall is what squeezes the barb.",
        example='1/4", 6 mm, or: don\'t know',
        take=_outside,
        stands_in="left open: what its wall does cannot be checked",
        settles="tube_od",
        asked=lambda settled: not {"tube", "tube_od"} & settled.keys(),
    ),
    Question(
        name="material",
        asks="What is the tube made of?",
        why="A stiff tube grips hard and goes on hot; a soft one may need a clamp.",
        example="pick one",
        take=_material,
        stands_in="left open: how it grips and seals cannot be checked",
        leads_to=("clamp",),
        settles="tube_material",
        offers=_made_of,
        asked=lambda settled: "tube" not in settled,
    ),
    Question(
        name="clamp",
        asks="Does a clamp go round each barb?",
        why="A soft tube may leak or slide off without one.",
        example="pick one",
        take=_clamped,
        stands_in="no clamp",
        settles="clamp",
        offers=lambda _: (Offer("no", "no clamp"), Offer("yes", "a clamp on each")),
        asked=_soft,
    ),
    Question(
        name="bit",
        asks="Which drill bit makes the hole?",
        why="The tip wedges in the hole it drills.",
        example='9/32", quarter inch, 6 mm, no 7, F',
        take=_bit,
        settles="bit",
    ),
    Question(
        name="pressure",
        asks="How hard do you pump?",
        why="Walls, grip and seal are judged at it.",
        example="40 psi, 3 bar",
        take=_pressure,
        leads_to=("relief",),
        settles="pressure",
    ),
    Question(
        name="relief",
        asks="At what pressure does the vessel's relief valve open?",
        why="Everything is judged at the highest pressure there can be, not at the usual one.",
        example="50 psi, or: don't know",
        take=_relief,
        stands_in="left open: the pressure you pump to counts as the highest",
        settles="relief",
    ),
    Question(
        name="tree",
        asks="Which tree?",
        why="Hard wood splits sooner, soft wood lets go sooner; it sets how far the tip is tapped.",
        example="sugar maple, oak, hardwood, or: don't know",
        take=_tree,
        settles="wood",
    ),
    Question(
        name="bark",
        asks="How thick is its bark, down to the wood?",
        why="The tip is so much longer: bark does not hold it.",
        picture="    bark | wood\n   =======>      the tip grips in the wood alone\n",
        example="10 mm, half an inch, 5 to 12 mm, or: don't know",
        take=_bark,
        stands_in="left open: {bark_mm:g} mm is taken",
        settles="bark",
    ),
    Question(
        name="ports",
        asks="How many holes round one tree?",
        why="One tee a hole, an elbow at the last. The chain is planned from it.",
        example="8, or the trunk's girth as 119 cm, or: don't know",
        take=_ports,
        stands_in="left open: one tee and one elbow, no chain",
        of_a_part=False,
    ),
    Question(
        name="drinks",
        asks="Which of these trees is yours, or like yours?",
        why="What they take up was measured. With it, what each hole gets and how long a tree "
        "takes are told, as a range.",
        example="pick one",
        take=_drinks,
        offers=_measured_trees,
        asked=lambda settled: bool({"ports", "girth"} & settled.keys()),
        stands_in="left open: the parts are counted, the chain is not planned",
        of_a_part=False,
    ),
    Question(
        name="language",
        asks="Which languages does the crew read?",
        why="Cards and rules for the hands are written in each.",
        example="pick one",
        take=_language,
        offers=_spoken,
        stands_in="English alone",
        of_a_part=False,
    ),
    Question(
        name="name",
        asks="What shall the kit be called?",
        why="It names the file and the folder of its parts.",
        example="elm_street",
        take=_name,
        of_a_part=False,
    ),
)  # fmt: skip
