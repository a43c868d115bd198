"""Random jobs as a user might type them, for the tests of rating/: all read by the kit's door."""

from random import Random
from unittest.mock import patch

from barbwright import catalog
from barbwright.catalog import parse_bit
from barbwright.design.part import FORCED_SIZES, KINDS
from barbwright.errors import BarbwrightError
from barbwright.job.reading import read_job
from barbwright.job.record import Job
from barbwright.jobs.plan import Plan, plan_part
from barbwright.rating.remedy import Change, Cures

PART_KINDS = ("elbow", "tee", "tip", "barb")
SIZES = (
    ("0.170in", "0.250in"),
    ("4mm", "6mm"),
    ("6mm", "8mm"),
    ("5mm", "8mm"),
    ("3/16in", "5/16in"),
)
TUBE_MATERIALS = ("LLDPE", "PE", "PU", "PVC", "nylon", "silicone")
WOODS = (
    "oak northern red", "yellow-poplar", "balsam fir", "hardwood 0.55", "softwood 0.45",
    "hardwood 0.7", "softwood 0.33",
)  # fmt: skip


SOUND = ("mjf_pa12", "mjf_pa12", "sls_pa12", "pa11", "pa12_gf")


# What only a rare job has: bits that fit no tube, or only just are bits for a trunk.
ODD_BITS = ("1/8", "9/64", "3/16", "3mm", "no30", "3/8", "1/2", "61/64", "31/32", "24.5mm")


def random_job(
    random: Random, kind: str | None = None, *, sound: bool = False, odd: bool = False
) -> tuple[str, Job]:
    """A job; `sound` ones usually pass at some pressure, `odd` ones often have no size."""
    kind = kind or random.choice(PART_KINDS)
    inner, outer = random.choice(SIZES)
    options: dict[str, str | bool | None] = {
        "pressure": f"{random.uniform(8.0, 140.0):.2f}psi",
        "temperature": f"{random.uniform(8.0, 42.0 if sound else 58.0):.1f}C",
        "material": random.choice(SOUND if sound else sorted(catalog.materials())),
        "clamp": random.random() < 0.25,
    }
    if not sound and random.random() < 0.4:
        tubes = [tube.name for tube in catalog.tubes().values() if tube.od_mm is not None]
        options["tube"] = random.choice(tubes)
    else:
        options |= {
            "tube_id": inner,
            "tube_od": outer,
            "tube_material": random.choice(TUBE_MATERIALS),
        }
        if sound:
            options["tube_material"] = random.choice(("LLDPE", "LLDPE", "PE", "nylon", "PU"))
        if options["tube_material"] in {"PU", "PVC"}:
            options["shore"] = str(random.randint(90 if sound else 55, 95))
    if kind != "barb":
        options["bit"] = random.choice(("15/64", "1/4", "17/64", "5/16", "6mm", "7.5mm", "F"))
        if not sound and random.random() < 0.2:
            options["bit"] = random.choice(("7/32", "no1", "5mm"))
        if odd and random.random() < 0.4:
            options["bit"] = random.choice(ODD_BITS)
        if odd and random.random() < 0.2:
            options["hole"] = f"{parse_bit(options['bit']).diameter_mm + 0.1:.2f}mm"
        if sound or random.random() < 0.9:
            options["wood"] = random.choice(WOODS[:4] if sound else WOODS)
        options["bark"] = f"{random.uniform(0.0, 14.0):.1f}mm"
    if random.random() < 0.15:
        options["relief"] = f"{float(options['pressure'][:-3]) * random.uniform(1.05, 2.0):.2f}psi"
    settings = ("crest=7.5mm",) if not sound and random.random() < 0.05 else ()
    if odd and random.random() < 0.2:
        settings = (random.choice(("expansion=0.4", "interference_limit=0.03", "root=7mm")),)
    job = read_job(options, settings=settings, needs_tip=KINDS[kind].tip, two_ends=kind == "barb")
    return kind, job


def passes(kind: str, job: Job) -> bool:
    """What the command line says, by its own road: whether `check` would end with 0."""
    try:
        return plan_alone(kind, job).passed
    except BarbwrightError:
        return False


def plan_alone(kind: str, job: Job) -> Plan:
    """The plan of a part; where no size exists, no cure is looked for, which costs far more."""
    with patch("barbwright.rating.remedy.cures", lambda *_args: Cures(())):
        return plan_part(KINDS[kind], job)


def retyped(kind: str, job: Job, change: Change) -> Job:
    """The job as it reads once what a change says is typed in place of what was typed."""
    typed = {name: one.text for name, one in job.inputs.items() if one.origin == "option"}
    settings = {
        name: f"{size}{FORCED_SIZES[name].unit.strip('-')}" for name, size in job.forced.items()
    }
    settings |= {
        name: f"{job.rules[name]}{catalog.judgements()[name].unit.strip('-')}"
        for name in job.user_rules
    }
    for one in (change, *change.also):
        if one.option == "set":
            settings.pop(one.value)
            continue
        if one.option == "bit":
            typed.pop("hole", None)
        for measured in ("id", "od", "material", "rating"):
            if one.option in {"tube", "tube2"}:
                typed.pop(f"{one.option}_{measured}", None)
                typed.pop(one.option.replace("tube", "shore"), None)
        typed[one.option] = one.value
    return read_job(
        typed,
        settings=tuple(f"{name}={text}" for name, text in settings.items()),
        needs_tip=KINDS[kind].needs_bit,
        two_ends=KINDS[kind].two_ends,
    )
