"""Command lines as they are mistyped, pasted, and typed to do harm."""

import functools

from typer.main import get_command

from barbwright import catalog
from barbwright.cli.app import application
from barbwright.cli.commands import COMMANDS
from barbwright.design.part import FORCED_SIZES, KINDS
from barbwright.job.record import INPUT_NAMES, YES_OR_NO

TEXTS = ("", " ", "nan mm", "inf psi", "1e309 mm", "../..", "/etc/passwd", "4,3 mm", '0.17"', "1/0",
         "15/64", "-15/64", "１５／６４", "4.3 мм", "٤ mm", "5 in in", "1" * 5000, "9" * 400 + "mm",
         "psi", "45 psi abs", "35C", "-300C", "#", "no", "no999999999999", "\u202e4 mm", "{bit}",
         "%s", "x" * 10000, "True", "-1 mm", "1e-300 mm", "1e12 mm", "\x1b[2J", "0", "=", "--",
         "-n",
         "oak", "hardwood 99", "softwood -1", "LLDPE\x1b[31m", "a\nb", "\udcff", "0x10 mm",
         "1_000 mm",
         "30..psi", "..", "5..12mm", "12..5mm", "π mm", "½ in", "1 1/2 in")  # fmt: skip
UNITS = ("mm", "in", "psi", " bar", "C", "F", "kPa", "", " m", " kg", "deg", "%")
SOUND = {
    "tube_id": ("0.170in", "4mm", "1/4in", "3mm", "6mm"), "tube_od": ("0.250in", "6mm", "8mm"),
    "tube_material": ("LLDPE", "PE", "nylon", "PU", "PVC", "silicone"),
    "bit": ("15/64", "6mm", "no7", "F", "1/4", "5/16"), "pressure": ("45psi", "3bar", "310kPa",
    "20psi"),
    "relief": ("55psi", "5bar"), "temperature": ("30C", "95F", "5C"), "bark": ("8mm",
    "5..12mm", "0mm"),
    "grade": ("1", "2", "3"), "use": ("fit", "field"), "shore": ("65", "80A"),
    "fluid": tuple(catalog.FLUID_CLASSES), "wood": ("oak northern red", "maple", "hardwood 0.55"),
    "hole": ("6.1mm",), "tube_rating": ("150psi", "150psi@70F"), "without": ("measured",),
    "material": tuple(catalog.materials()), "service": ("none",),
}  # fmt: skip
BASE = {"tube_id": "0.170in", "tube_od": "0.250in", "tube_material": "LLDPE", "bit": "15/64",
        "pressure": "45psi"}  # fmt: skip
# None of these builds: what writes is killed and looked at elsewhere.
FLAGS = ("--json", "-q", "--debug", "--help", "-n", "--force", "--anyway", "--nosuch", "--full")
OTHER = ("--set", "--formats", "-o", "--kit", "--from", "--for", "--scatter", "--seed", "--points",
         "--pressures", "--bits", "--girth", "--ports", "--species", "--measured",
         "--heights")  # fmt: skip

NUMBERS = ("0", "1", "2", "7", "-1", "0.5", "1e9", "1000000000", "nan", "inf", "1e309", "٣", "es",
           "en", "scale", "tee=3", "tee=nan", "seal", "working", "1=2mm")  # fmt: skip


@functools.cache
def own_options(command):
    """The options of a command itself, with whether each stands alone; none that names an output.

    What every part is asked for is drawn as inputs.
    """
    known = get_command(application((command,))).commands[command].params
    return sorted(
        (one.opts[0], one.is_flag)
        for one in known
        if one.param_type_name == "option" and one.name not in INPUT_NAMES
        and not {"-o", "--png", "--prove"} & set(one.opts)
    )  # fmt: skip


def value(random, name):
    """A text for an option: often sound, often not."""
    if random.random() < 0.5 and name in SOUND:
        return random.choice(SOUND[name])
    if random.random() < 0.4:
        size = random.choice((random.uniform(0, 60), 10 ** random.uniform(-9, 12), -1.0))
        return f"{size:.4g}{random.choice(UNITS)}"
    if random.random() < 0.3:
        return "".join(
            random.choices('0123456789./- minpscbarLDPE#"é\x1b\u202e', k=random.randint(1, 12))
        )
    return random.choice(TEXTS)


def setting(random):
    names = [*FORCED_SIZES, *catalog.judgements(), "nosuch", ""]
    sized = random.choice(("1mm", "0.1", "99", "-1", "nan", "1e9mm", "", "5mm=3", "0.5 mm", "20"))
    return f"{random.choice(names)}={sized}"


def line(random):
    """One command line that ends without building anything."""
    command = random.choices(
        ("check", "make", "rate", "chain", "coupon", "list", "explain", "build", "resize", "order",
         "calibrate", "log", "bench", "prove", random.choice(TEXTS)),
        (40, 12, 6, 8, 5, 6, 6, 3, 3, 3, 4, 2, 1, 1, 1))[0]  # fmt: skip
    words = [command]
    if command in {"check", "make", "rate", "prove"}:
        words.append(random.choice((*KINDS, *KINDS, "spigot", random.choice(TEXTS))))
    elif command in {"list", "explain", "build", "order", "resize", "log", "chain"}:
        words.append(random.choice((*KINDS, "bits", "tubes", "woods", "materials", "kits",
        "park_oaks",
                                    "barb_seal", "seat", "log", random.choice(TEXTS))))  # fmt: skip
    elif command == "calibrate":
        for name, sound in (("--service", "mine"), ("--material", "mjf_pa12"), ("--barb", "3"),
                            ("--tip", "4"), ("--bore", "3mm:2.9mm"), ("--post",
                            "8mm:7.95mm")):  # fmt: skip
            if random.random() < 0.8:
                words += [name, sound if random.random() < 0.6 else random.choice(TEXTS)]
    if command in {"check", "make", "rate", "coupon", "chain", "prove", "bench"}:
        given = dict(BASE)
        for name in random.sample(INPUT_NAMES, random.choice((0, 0, 1, 1, 2, 4))):
            given[name] = value(random, name)
        if random.random() < 0.1:
            given.pop(random.choice(list(given)))
        for name, text in given.items():
            option = "--" + name.replace("_", "-")
            words += [option] if name in YES_OR_NO else [f"{option}={text}"]
    for _ in range(random.choice((0, 0, 0, 1, 2))):
        words += ["--set", setting(random)]
    for _ in range(random.choice((0, 0, 1, 2))):
        words += [random.choice(OTHER), random.choice(TEXTS)]
    words += random.sample(FLAGS, random.choice((0, 0, 1, 2)))
    # Nothing may be written by chance: these commands would.
    if command in {"make", "build", "coupon", "order", "resize", "calibrate", "bench", "prove"}:
        words.append("--help" if command in {"calibrate", "prove"} else "-n")
    # Last, so that what was drawn before stays what it was.
    for _ in range(random.choice((0, 0, 1, 2)) if command in COMMANDS else 0):
        option, alone = random.choice(own_options(command))
        words += [option] if alone else [option, random.choice((*NUMBERS, *TEXTS))]
    return [word for word in words if "\x00" not in word]
