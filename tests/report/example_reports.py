"""Whole parts in numbers, and a small mesh, for the report tests."""

import numpy as np

from barbwright.checks.table import judge_all, outcomes
from barbwright.design.part import KINDS, design_part
from barbwright.job import numbers
from barbwright.job.reading import read_job
from barbwright.report.chain_pages import (
    CrewKit,
    FrontPart,
    between_trees_page,
    chain_page,
    field_card_page,
    front_page,
    proof_card_page,
)
from barbwright.report.drawing import DrawingInfo
from barbwright.report.words import PartReport
from barbwright.say import voice_of

DEMO = {
    "tube_id": "0.170in", "tube_od": "0.250in", "tube_material": "LLDPE", "bit": "15/64",
    "pressure": "45psi", "material": "mjf_pa12", "wood": "oak northern red",
}  # fmt: skip


def make_report(kind="elbow", settings=(), *, passed=True, notes=(), **options):
    given = {name: text for name, text in (DEMO | options).items() if text is not None}
    job = read_job(given, settings=settings, two_ends=kind == "barb", needs_tip=KINDS[kind].tip)
    design = design_part(
        KINDS[kind],
        numbers.conditions(job),
        job.forced,
        words=("15/64", "E-A", "T.170"),
        passed=passed,
    )
    found = tuple(outcomes(judge_all(design), voice_of(job.inputs)))
    return PartReport(
        job=job,
        design=design,
        outcomes=found,
        part_number=f"{kind}-t0170in-b15_64-mjf_pa12-a",
        revision="A",
        passed=passed,
        notes=notes,
    )


def info_of(report):
    material = report.job.material
    return DrawingInfo(
        part_number=report.part_number,
        revision=report.revision,
        title=report.design.kind.title,
        material=material.name,
        process=material.process_52900,
        mark=report.design.mark.text,
        passed=report.passed,
    )


def tube_stl(outer_mm=8.0, inner_mm=4.0, length_mm=20.0, sides=48):
    """Return a plain tube along Z as a binary STL, facing outward."""
    angle = np.linspace(0.0, 2.0 * np.pi, sides + 1)[:-1]
    ring = np.column_stack([np.cos(angle), np.sin(angle), np.zeros(sides)])
    profile = [(outer_mm / 2, 0.0), (outer_mm / 2, length_mm), (inner_mm / 2, length_mm),
               (inner_mm / 2, 0.0)]  # fmt: skip
    facets = []
    for (r0, z0), (r1, z1) in zip(profile, profile[1:] + profile[:1], strict=True):
        low, high = ring * r0 + (0, 0, z0), ring * r1 + (0, 0, z1)
        for k in range(sides):
            n = (k + 1) % sides
            facets += [(low[k], low[n], high[n]), (low[k], high[n], high[k])]
    kind = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("rest", "<u2")])
    data = np.zeros(len(facets), kind)
    data["corners"] = np.array(facets)
    return b"tube".ljust(80) + len(facets).to_bytes(4, "little") + data.tobytes()


def crew_kit(report):
    """Return what the crew's pages hold, as after a build with all its files."""
    parts = [
        FrontPart(
            title=part.design.kind.title,
            kind=part.design.kind.name,
            number=f"{part.design.kind.name}-t0170in-b15_64-mjf_pa12-a-df54b7",
            verdict=part.verdict,
            pieces=2,
            files=tuple(
                f"{part.part_number}/{name}"
                for name in ("part.step", "part_mm.stl", "part.3mf", "drawing.pdf", "sheet.html")
            ),
        )
        for part in report.parts
    ]
    return CrewKit(
        report=report,
        parts=tuple(parts),
        packed=("order-48817b12.zip", "inspection-48817b12.html"),
    )


def kit_pages(report):
    """Every page of a kit by its name; the front page as after a build with all its files."""
    return {
        "index": front_page(crew_kit(report)),
        "chain": chain_page(report),
        "field_card": field_card_page(report),
        "proof_card": proof_card_page(report),
        "between_trees": between_trees_page(report),
    }
