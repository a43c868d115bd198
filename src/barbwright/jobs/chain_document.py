"""A solved chain as one JSON document."""

from __future__ import annotations

from typing import Any

from barbwright.chain.result import ChainResult, rating_document
from barbwright.design.tapping import tap_window
from barbwright.jobs.chain import ChainJob, drawn
from barbwright.jobs.record import SCHEMA_VERSION, inputs
from barbwright.report.notices import NOT_RATED
from barbwright.say import number


def chain_document(chain: ChainJob, result: ChainResult, kit_name: str | None) -> dict[str, Any]:
    """Return everything about a chain as one JSON document.

    Parameters
    ----------
    chain : ChainJob
        The inputs.
    result : ChainResult
        The answers.
    kit_name : str or None
        The kit's name.

    Returns
    -------
    dict
        As the schema `schemas/chain.json` says; units stand in the key names.
    """
    design = drawn(chain.elbow)
    assert design.tip is not None
    window = tap_window(design)
    assert window is not None
    given = {**inputs(chain.job), **{
        name: {"value": i.text, "from": i.origin} for name, i in chain.inputs.items()
    }}  # fmt: skip
    plan = chain.plan
    body = result.to_json_dict()
    body["warnings"] = list(dict.fromkeys([*chain.job.said, *chain.warnings, *body["warnings"]]))
    return {
        "schema_version": SCHEMA_VERSION,
        "command": "chain",
        "kit": kit_name,
        "notice": NOT_RATED,
        "inputs": given,
        "supply_kpa": number(plan.supply_mpa, "pressure", "kPa", "nearest", 6),
        "girth_mm": chain.girth_mm,
        "spacing_mm": plan.spacing_mm,
        **body,
        "ratings": [rating_document(one) for one in plan.ratings],
        "tapping": {
            "bit": chain.job.bit.name,
            "bit_diameter_mm": chain.job.bit.diameter_mm,
            "hole_depth_mm": float(design.tip.hole_depth_mm),
            "tick_spacing_mm": float(design.tip.tick_pitch_mm),
            "ticks": window.ticks,
            "most_ticks": window.most_ticks,
            "travel_mm": window.wanted_mm,
        },
        "proof_kpa": number(chain.proof.proof_mpa, "pressure", "kPa", "up"),
        "part_numbers": {part.kind.name: part.number for part in chain.parts},
    }
