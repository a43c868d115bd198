"""Every command: where it lives, what it does in a line, what it looks like, what it needs."""

from __future__ import annotations

from typing import NamedTuple


class Command(NamedTuple):
    """One command.

    Attributes
    ----------
    module : str
        Its module in this folder.
    short : str
        What it does, in one line that an 80-column terminal does not cut.
    example : tuple of str
        What to type, line by line; its help shows it first.
    needs : str
        What it works on; empty where it needs nothing.
    """

    module: str
    short: str
    example: tuple[str, ...]
    needs: str = ""


# In the order in which --help lists them; the examples are of different tubes, bits and pressures.
COMMANDS = {
    "start": Command(
        "start",
        "Begin here: a few questions, a kit file, built if you like.",
        ("barbwright start",),
    ),
    "make": Command(
        "make",
        "Size, check and write a part: STEP, STL, 3MF, drawing, sheet.",
        ("barbwright make tee --tube-id 5mm --bit 17/64 --pressure 2.5bar",),
        "a part and its inputs",
    ),
    "check": Command(
        "check",
        "Size and check a part without building it.",
        (
            'barbwright check tee --tube "LLDPE 4 x 6 mm" --bit 6mm --pressure 3bar \\',
            '    --wood "sugar maple"',
        ),
        "a part and its inputs",
    ),
    "rate": Command(
        "rate",
        "Find the highest pressure of a part, and the smallest that works.",
        (
            "barbwright rate tee --tube-id 1/4in --tube-od 3/8in --tube-material LLDPE \\",
            "    --bit 5/16 --pressure 50psi --wood oak",
        ),
        "a part and its inputs",
    ),
    "prove": Command(
        "prove",
        "Judge the drawn part by finite elements, beside the formulas.",
        (
            "barbwright prove elbow --tube-id 4mm --tube-od 6mm --tube-material PU \\",
            "    --bit 6mm --pressure 2.5bar --png stress.png",
        ),
        "a part and its inputs, or the folder of one that was made",
    ),
    "resize": Command(
        "resize",
        "Remake an earlier part with what changes, one revision on.",
        ("barbwright resize out/elbow-.../part.json --bit 1/4in",),
        "the folder of a part that was made, and what is to change",
    ),
    "build": Command(
        "build",
        "Make a whole kit: its chain, its parts, its cards and its order.",
        ("barbwright build park_oaks",),
        "a kit file, or the name of a kit",
    ),
    "chain": Command(
        "chain",
        "Work out a chain: pressure and flow at each hole, and times.",
        ("barbwright chain park_oaks",),
        "a kit file, or inputs",
    ),
    "catalogue": Command(
        "catalogue",
        "Judge all parts, tubes, bits and pressures of a list; make what passes.",
        ("barbwright catalogue small_catalogue -o out/catalogue",),
        "a catalogue file, or the name of one",
    ),
    "order": Command(
        "order",
        "Verify made parts again and pack them for a print service.",
        ("barbwright order out/elbow-.../ out/tee-.../",),
        "the folders of parts that were made",
    ),
    "coupon": Command(
        "coupon",
        "Make a fit gauge that measures what your print service does.",
        ("barbwright coupon --tube-id 1/4in --bit 5/16 --pressure 30psi",),
    ),
    "calibrate": Command(
        "calibrate",
        "Keep what a coupon told of a print service, for later parts.",
        ("barbwright calibrate --service my_service --barb 3 --tip 4 --bore 3mm:2.8mm",),
        "the print service, and what its coupon showed",
    ),
    "bench": Command(
        "bench",
        "Plan a bench day: which readings change your verdicts most.",
        (
            'barbwright bench tip --tube "nylon 4 x 6 mm" --bit 7mm --pressure 3.5bar \\',
            '    --wood "oak white" --hours 3',
        ),
        "inputs, as check does",
    ),
    "log": Command(
        "log",
        "Judge a log of a bench day, a proof test or a day at a tree.",
        ("barbwright log field.csv",),
        "a CSV of what was read at the bench, at proof or on a tree",
    ),
    "list": Command(
        "list_",
        "List bits, tubes, materials, woods, species or kits.",
        ("barbwright list tubes nylon", "barbwright list woods maple"),
    ),
    "explain": Command(
        "explain",
        "Explain a check, or a word of the output.",
        ("barbwright explain wood_hold", "barbwright explain safety factor"),
    ),
}
