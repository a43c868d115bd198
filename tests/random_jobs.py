"""Random jobs as a user might type them, for the tests of rating/: all read by the kit's door."""

from random import Random

from barbwright import catalog
from barbwright.design.part import KINDS
from barbwright.errors import BarbwrightError
from barbwright.job.reading import read_job
from barbwright.job.record import Job
from barbwright.jobs.plan import plan_part

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


def random_job(random: Random, kind: str | None = None, *, sound: bool = False) -> tuple[str, Job]:
    """A job; `sound` ones are of the sort that usually passes at some pressure."""
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
        if sound or random.random() < 0.9:
            options["wood"] = random.choice(WOODS[:4] if sound else WOODS)
        options["bark"] = f"{random.uniform(0.0, 14.0):.1f}mm"
    if random.random() < 0.15:
        options["relief"] = f"{float(options['pressure'][:-3]) * random.uniform(1.05, 2.0):.2f}psi"
    settings = ("crest=7.5mm",) if not sound and random.random() < 0.05 else ()
    job = read_job(options, settings=settings, needs_tip=KINDS[kind].tip, two_ends=kind == "barb")
    return kind, job


def passes(kind: str, job: Job) -> bool:
    """What the command line says, by its own road: whether `check` would end with 0."""
    try:
        return plan_part(KINDS[kind], job).passed
    except BarbwrightError:
        return False
