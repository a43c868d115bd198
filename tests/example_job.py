"""Jobs, designs and outcomes for the tests of design/ and checks/: the demo and its cousins."""

from dataclasses import replace

from barbwright.checks.table import Outcome, judge_all, outcomes
from barbwright.design.conditions import Conditions
from barbwright.design.part import KINDS, Design, design_part
from barbwright.job import numbers
from barbwright.job.reading import read_job

PSI = 0.006894757293168
DEMO = {
    "tube_id": "0.170in",
    "tube_od": "0.250in",
    "tube_material": "LLDPE",
    "bit": "15/64",
    "pressure": "45psi",
    "material": "mjf_pa12",
    "wood": "oak northern red",
}
SOFT_PVC = {"tube_id": "4mm", "tube_od": "6mm", "tube_material": "PVC", "shore": "65"}
PU_95 = {"tube_id": "4mm", "tube_od": "6mm", "tube_material": "PU", "shore": "95"}
NYLON_68 = {"tube_id": "6mm", "tube_od": "8mm", "tube_material": "nylon"}
DRIP = {
    "tube": "PE drip 0.170 x 0.250 in",
    "tube_id": None,
    "tube_od": None,
    "tube_material": None,
}
MARK = ("15/64", "E-A", "T.170")


class Watched(dict):
    """Rules that remember which of them were asked for."""

    def __init__(self, rules):
        super().__init__(rules)
        self.asked = set()

    def __getitem__(self, name):
        self.asked.add(name)
        return super().__getitem__(name)


def job_of(kind: str = "elbow", settings: tuple[str, ...] = (), **more: str | bool | None):
    given = {name: value for name, value in {**DEMO, **more}.items() if value is not None}
    return read_job(given, settings=settings, needs_tip=KINDS[kind].tip, two_ends=kind == "barb")


def design_of(kind: str = "elbow", settings: tuple[str, ...] = (), **more) -> Design:
    job = job_of(kind, settings, **more)
    return design_part(KINDS[kind], numbers.conditions(job), job.forced, words=MARK)


def outcomes_of(kind: str = "elbow", settings: tuple[str, ...] = (), **more) -> dict[str, Outcome]:
    return {one.info.id: one for one in outcomes(judge_all(design_of(kind, settings, **more)))}


def with_material(design: Design, **numbers) -> Design:
    """The same drawn part out of another process: sizes stay, the material's numbers change."""
    conditions = design.conditions
    material = replace(conditions.material, **numbers)
    return replace(design, conditions=replace(conditions, material=material))


def with_tube(design: Design, **numbers) -> Design:
    conditions = design.conditions
    tubes = tuple(replace(tube, **numbers) for tube in conditions.tubes)
    return replace(design, conditions=replace(conditions, tubes=tubes))


def with_conditions(design: Design, **numbers) -> Design:
    return replace(design, conditions=replace(design.conditions, **numbers))


def conditions_of(**more) -> Conditions:
    return numbers.conditions(job_of(**more))
