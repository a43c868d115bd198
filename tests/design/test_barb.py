"""Sizing rules of the barb (engineering.md, section 2)."""

import numpy as np
import pytest

from barbwright.job import numbers
from example_job import NYLON_68, SOFT_PVC, design_of

DEMO_INNER = 4.318


def test_demo_barb():
    barb = design_of("barb").barbs[0]
    assert float(design_of("barb").bore_mm) == pytest.approx(2.3)
    # On the grid: the root up, for its wall, and a step that stretches the tube no further.
    # (4.32, 5.12 and 18.6 % before sizes lay on 0.05 mm.)
    assert float(barb.root_mm) == pytest.approx(4.35)
    assert float(barb.crest_mm) == pytest.approx(5.10)
    assert float(barb.expansion) == pytest.approx(0.181, abs=0.001)
    assert float(barb.nose_mm) == pytest.approx(DEMO_INNER - 0.3, abs=0.05)
    assert float(barb.neck_mm) == pytest.approx(2.3 + 2 * 2.0)
    assert (barb.barb_count, float(barb.land_mm)) == (3, 0.8)
    assert float(barb.insertion_mm) >= max(2.5 * DEMO_INNER, 9.0)
    assert float(barb.pitch_mm) >= 3.0


@pytest.mark.parametrize("inner", np.arange(3.8, 12.1, 0.37))
@pytest.mark.parametrize("material", ["mjf_pa12", "pa11"])
def test_rules_hold_for_any_tube(inner, material):
    outer = inner + 2.0
    design = design_of(
        "barb", tube_id=f"{inner:.3f}mm", tube_od=f"{outer:.3f}mm", tube_material="PE",
        material=material,
    )  # fmt: skip
    barb, limits = design.barbs[0], design.conditions.material
    bore, root, crest = (float(v) for v in (design.bore_mm, barb.root_mm, barb.crest_mm))
    stretched = 1.2 * inner - 0.8
    widest = max(limits.min_bore_mm, min(inner, stretched) - 2 * limits.min_wall_covered_mm)
    assert widest - 0.1 < bore <= widest + 1e-6
    assert bore >= limits.min_bore_mm - 1e-9
    assert bore * 10 == pytest.approx(round(bore * 10))
    assert root >= max(round(inner, 3), bore + 2 * limits.min_wall_covered_mm) - 1e-6
    # A full step, or what the narrowest tube is stretched 20 % by; 0.6 mm at the least.
    step = min(0.8, np.floor((1.2 * (inner - 0.05) - root) * 10.0 + 1e-6) / 10.0)
    assert crest >= root + max(step, 0.6) - 1e-6
    assert crest >= 1.12 * inner - 1e-3
    assert crest - float(limits.tolerance_at(crest)) >= 1.03 * inner - 1e-3
    # The tube starts by hand even when the nose prints fat.
    assert float(barb.nose_mm) + limits.tolerance_mm <= inner + 1e-3
    # Three barbs and their roots fit before the shoulder, and no ramp runs into the next land.
    assert float(barb.insertion_mm) >= 3.5 * float(barb.pitch_mm) - 1e-6
    assert float(barb.pitch_mm) >= float(barb.ramp_mm) + float(barb.land_mm) - 1e-6
    assert float(barb.nose_ramp_mm) + float(barb.land_mm) <= float(barb.insertion_mm)
    # The tube stops: at the neck, or at a collar.
    assert float(barb.shoulder_mm) >= inner + 1.0 - 1e-3


@pytest.mark.parametrize(
    ("kind", "shore", "expansion"),
    [
        ("PVC", 65, 0.20),
        ("PVC", 80, 0.20),
        ("PU", 87.5, 0.16),
        ("PU", 95, 0.12),
        ("PE", None, 0.12),
        ("nylon", None, 0.10),
        (None, None, 0.12),
    ],
)
def test_default_expansion(kind, shore, expansion):
    rules = design_of("barb").conditions.rules
    assert numbers.default_expansion(kind, shore, rules) == pytest.approx(expansion)


def test_nylon_takes_its_own_expansion_where_no_other_rule_forces_more():
    barb = design_of("barb", **NYLON_68).barbs[0]
    # In a 6 mm tube the step of 0.8 mm asks for more; in a 9 mm one nylon's own is enough.
    assert float(barb.expansion) == pytest.approx(0.8 / 6.0, abs=0.002)
    wide = design_of("barb", tube_id="9mm", tube_od="12mm", tube_material="nylon").barbs[0]
    assert float(wide.expansion) == pytest.approx(0.10, abs=0.002)
    # A 4 mm tube takes a step of 0.7, unless it is as soft as to be stretched further by itself.
    hard = design_of("barb", tube_id="4mm", tube_od="6mm", tube_material="nylon").barbs[0]
    assert float(hard.crest_mm - hard.root_mm) == pytest.approx(0.7)
    assert float(design_of("barb", **SOFT_PVC).barbs[0].expansion) == pytest.approx(0.20)


def test_two_sizes_share_the_smaller_bore():
    design = design_of(
        "barb", tube2_id="6mm", tube2_od="8mm", tube2_material="PE"
    )  # fmt: skip
    assert float(design.bore_mm) == pytest.approx(2.3)
    assert float(design.barbs[1].root_mm) >= 6.0
    swapped = design_of(
        "barb", tube_id="6mm", tube_od="8mm", tube_material="PE",
        tube2_id="0.170in", tube2_od="0.250in", tube2_material="LLDPE",
    )  # fmt: skip
    assert float(swapped.bore_mm) == pytest.approx(2.3)


@pytest.mark.parametrize(
    ("setting", "attribute", "value"),
    [("root=4.6mm", "root_mm", 4.6), ("crest=5.4mm", "crest_mm", 5.4), ("land=1mm", "land_mm", 1.0),
     ("nose=3.9mm", "nose_mm", 3.9), ("pitch=4mm", "pitch_mm", 4.0)],
)  # fmt: skip
def test_a_forced_size_is_drawn(setting, attribute, value):
    barb = design_of("barb", settings=(setting,)).barbs[0]
    assert float(getattr(barb, attribute)) == pytest.approx(value)
