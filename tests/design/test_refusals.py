"""No size exists, or a forced one makes no sense: which limits, by how much, and what works."""

from __future__ import annotations

import re

import numpy as np
import pytest

from barbwright.design.part import KINDS
from barbwright.errors import NoSizeError
from barbwright.jobs.plan import plan_part
from example_job import job_of


def refusal(kind: str = "elbow", settings: tuple[str, ...] = (), **more: str) -> str:
    with pytest.raises(NoSizeError) as refused:
        plan_part(KINDS[kind], job_of(kind, settings, **more))
    return str(refused.value)


@pytest.mark.parametrize("bit", ["11/64", "3/16"])
def test_too_small_a_bit_is_refused_with_the_nearest_that_works(bit: str) -> None:
    said = refusal(bit=bit)
    assert "print_bore" in said
    assert "print_wall" in said or "exposed_wall" in said
    named = re.search(r"use bit (.+?) \(", said)
    assert named is not None
    plan = plan_part(KINDS["elbow"], job_of(bit=named[1]))
    assert plan.verdict != "fail"


def test_a_bit_over_a_sixteenth_larger_is_told_and_not_advised() -> None:
    said = refusal(bit="1/8")
    assert "use bit" not in said
    told = re.search(r"for information alone: the smallest bit that passes is (.+?) \(", said)
    assert told is not None
    assert plan_part(KINDS["elbow"], job_of(bit=told[1])).verdict != "fail"


@pytest.mark.parametrize(("bit", "bark"), [("13/64", "5mm"), ("no7", "8mm"), ("7/32", "2mm")])
def test_small_bits_have_a_tip_with_a_bore_of_its_own(bit: str, bark: str) -> None:
    """First generation: no size under 15/64 in, because a bore of 2.5 mm left no proud wall."""
    plan = plan_part(KINDS["elbow"], job_of(bit=bit, bark=bark))
    assert plan.verdict == "pass"
    assert plan.design is not None
    assert plan.design.tip is not None
    assert plan.design.tip.bore_mm == 2.0
    assert plan.design.bore_mm == 2.3


def test_a_bit_is_not_called_working_when_the_material_is_refused_anyway() -> None:
    plan = plan_part(KINDS["elbow"], job_of(material="fff_pla", temperature="50C", bit="11/64"))
    assert plan.design is None
    assert plan.verdict == "fail"
    assert all("choose a material that suits the use first" in str(f) for f in plan.refusals)


@pytest.mark.parametrize(
    ("setting", "what", "limit"),
    [
        ("crest=6mm", "stretches the tube's 4.32 mm by 39%", "30%"),
        ("root=6mm", "stretches", "30%"),
        ("expansion=0.5", "stretches", "30%"),
        ("nose=4.9mm", "does not start in a tube", "4.32 mm"),
        ("pad=40mm", "wider than any mark or hammer needs", "14.00 mm"),
        ("relief_ball=3.3mm", "edge standing", "at least 3.33 mm"),
        ("hub_ball=6mm", "run into each other", "over 10."),
        ("bore=4.2mm", "no wall at the nose", "over 4.30 mm"),
        ("crest=4.6mm", "no barb on a root", "at least 4.75 mm"),
        ("lead=6.1mm", "does not enter the smallest hole", "6.05 mm"),
        ("lead=2.1mm", "leaves no wall at its lead end", "over 2.20 mm"),
    ],
)  # fmt: skip
def test_a_forced_size_outside_sense_is_refused_with_its_limit_and_the_way_out(
    setting: str, what: str, limit: str
) -> None:
    said = refusal(settings=(setting,))
    assert what in said
    assert limit in said
    assert f"leave out --set {setting.partition('=')[0]}" in said


def test_what_the_limit_says_then_builds() -> None:
    said = refusal(settings=("hub_ball=6mm",))
    least = float(re.search(r"limit: over ([0-9.]+) mm", said)[1])  # type: ignore[index]
    # On a pad-bearing ball other limits may ask for more; this one is met just above.
    again = plan_part(KINDS["elbow"], job_of(settings=(f"hub_ball={least + 0.02:.2f}mm",)))
    assert again.design is not None


def test_an_own_figure_that_stands_in_the_way_is_named() -> None:
    said = refusal(settings=("interference_limit=0.05",))
    assert "leave out --set interference_limit" in said


def test_a_tube_too_narrow_names_bore_wall_and_a_tube_that_works() -> None:
    said = refusal(tube_id="3mm", tube_od="5mm", tube_material="nylon")
    assert "bore of 2.00 mm" in said
    assert "walls of 1.00 mm" in said
    # 1.6 of 3 mm: what is too much is told no smaller than it is.
    assert "54%" in said
    assert "use tube" in said


def test_side_ports_stand_below_all_contact() -> None:
    from barbwright.checks.corners import worst_case
    from barbwright.design.draw import side_port_from_lead_mm

    plan = plan_part(KINDS["elbow"], job_of(settings=("side_ports=1",)))
    assert plan.design is not None
    assert plan.design.tip is not None
    case = worst_case(plan.design)
    assert case.tip is not None
    top = side_port_from_lead_mm(plan.design.tip) + float(plan.design.tip.bore_mm) / 2.0
    assert np.min(case.tip.start_mm) >= top


def test_what_cannot_be_built_is_refused_for_the_bench_too() -> None:
    """Wood without a window is not asked of a part for the bench, and once hid all the rest."""
    wanted = {"tube": "clear PVC 0.375 x 0.500 in", "tube_id": None, "tube_od": None}
    wanted |= {"tube_material": None, "bit": "9.0 mm", "wood": "maple-silver", "grade": "2"}
    wanted |= {"bark": "2..15mm", "material": "sla_general", "pressure": "4.82psi"}
    wanted |= {"temperature": "150C", "fluid": "alkali"}

    def said(settings: tuple[str, ...] = (), **more: str) -> str:
        plan = plan_part(KINDS["elbow"], job_of(settings=settings, **{**wanted, **more}))
        return " ".join(str(fault) for fault in plan.refusals)

    assert "no tap-depth window" in said()
    assert said(use="fit") == ""
    broken = said(("hub_ball=0.1mm",), use="fit")
    assert "a hub of 0.10 mm leaves no wall" in broken
    assert "window" not in broken


def test_a_fork_out_of_what_nobody_publishes_the_strength_of_is_drawn_and_not_judged() -> None:
    plan = plan_part(KINDS["fork"], job_of("fork", material="sla_general", use="fit"))
    assert plan.refusals == ()
    assert plan.design is not None
    # As thick as the stair's rules have it, and no number without a ground.
    assert 0.5 < float(plan.design.own.hook.thick_mm) <= 3.0
    lacking = {one.info.id: one.because for one in plan.not_checked}
    assert {"fork_pull", "fork_bearing", "fork_bend"} <= lacking.keys()
    assert "no public source gives SLA general resin" in lacking["fork_pull"]


def test_a_driver_s_wings_need_no_strength_that_nobody_publishes() -> None:
    """They give way before the tip of the same print does: whatever its strength, it cancels."""
    wanted = {"tube": "nylon 8 x 10 mm", "tube_id": None, "tube_od": None, "tube_material": None}
    wanted |= {"bit": "13/32", "pressure": "22.48psi", "wood": "oak-white", "temperature": "60C"}
    wanted |= {"relief": "37.02psi", "grade": "2", "use": "fit"}
    plan = plan_part(KINDS["driver"], job_of("driver", ("arms=2",), material="sla_tough", **wanted))
    assert plan.refusals == ()
    assert plan.design is not None
    assert float(plan.design.own.neck_mm) > 1.0
    lacking = {one.info.id for one in plan.not_checked}
    assert {"driver_wings", "driver_turns"} <= lacking
