"""What a chain is made of: its volume, and the bill of parts to print and cut."""

from __future__ import annotations

import math
from typing import Any

from barbwright.chain.plan import ChainPlan
from barbwright.equations import square


def purge_volume_ml(plan: ChainPlan) -> float:
    """Volume of the supply, the tubes and the fittings' bores.

    Parameters
    ----------
    plan : ChainPlan
        The inputs.

    Returns
    -------
    float
        Volume [mL].
    """
    bores = [(plan.supply_bore_mm, plan.supply_length_mm)]
    bores += [(plan.tube_id_mm, plan.tube_length_mm(port)) for port in range(1, plan.ports)]
    for part in plan.printed_parts:
        bores += [(part.run_bore_mm, part.run_length_mm), (part.tip_bore_mm, part.tip_length_mm)]
    return sum(math.pi / 4.0 * square(bore) * length for bore, length in bores) / 1000.0


def bill_of_parts(plan: ChainPlan) -> tuple[dict[str, Any], ...]:
    """List what to print and what to cut.

    Parameters
    ----------
    plan : ChainPlan
        The inputs.

    Returns
    -------
    tuple of dict
        ``item``, ``quantity`` needed, ``spare`` on top; for tube ``length_mm`` and ``bore_mm``.
    """
    tees = plan.ports - 1
    spare_tees = plan.spare_tees
    if spare_tees is None:
        spare_tees = max(1, math.ceil(tees / 10)) if tees else 0
    spare_elbows = 1 if plan.spare_elbows is None else plan.spare_elbows
    parts: list[dict[str, Any]] = []
    if tees:
        parts.append({"item": "tee", "quantity": tees, "spare": spare_tees})
    parts.append({"item": "elbow", "quantity": 1, "spare": spare_elbows})

    def add_tube(item: str, quantity: int, length_mm: float, bore_mm: float) -> None:
        if quantity:
            cut = {"length_mm": length_mm, "bore_mm": bore_mm}
            parts.append({"item": item, "quantity": quantity, "spare": 0, **cut})

    add_tube("supply tube", 1, plan.supply_length_mm, plan.supply_bore_mm)
    pitch = plan.spacing_mm * (1.0 + plan.tube_slack)
    tee_stop, elbow_stop = (one.stop_mm or one.arm_length_mm for one in (plan.tee, plan.elbow))
    add_tube("tube, tee to tee", max(tees - 1, 0), pitch - 2.0 * tee_stop, plan.tube_id_mm)
    add_tube("tube, tee to elbow", min(tees, 1), pitch - tee_stop - elbow_stop, plan.tube_id_mm)
    return tuple(parts)
