import json
import math
from dataclasses import fields, replace
from pathlib import Path

import jsonschema
import pytest

import barbwright
from barbwright import catalog
from barbwright.chain import what_if
from barbwright.chain.plan import DEFAULT_SPACING_MM, ChainPlan, VesselPlan
from barbwright.chain.result import rating_document
from barbwright.chain.run_down import DEFAULT_RECHARGE_SHARE
from barbwright.design.part import KINDS
from barbwright.equations.water import water_density_kg_m3, water_viscosity_mpa_s
from barbwright.errors import CheckFailedError, InputError, NoSizeError
from barbwright.job.reading import read_job
from barbwright.jobs import chain as chain_module
from barbwright.jobs.chain import conductance_range, fitting_of, plan_chain
from barbwright.jobs.chain_document import chain_document
from barbwright.jobs.rate import rate_document
from barbwright.rating.rating import rate_part
from example_kit import CHAIN, JOB, chain_of

pytestmark = pytest.mark.usefixtures("rated_once")

SCHEMA = json.loads(
    (Path(barbwright.__file__).parent / "jobs" / "schemas" / "chain.json").read_text()
)


def test_the_demo_kit_s_ports_follow_from_its_girth():
    chain = chain_of()
    assert chain.plan.ports == 8
    assert chain.plan.spacing_mm == pytest.approx(1190 / 8)
    assert chain.inputs["ports"].origin == "girth over spacing, rounded up"


def test_a_diameter_is_a_girth():
    by_girth, by_diameter = chain_of(), chain_of({"girth": None, "trunk_diameter": "37.88 cm"})
    assert by_diameter.plan.ports == by_girth.plan.ports
    assert by_diameter.girth_mm == pytest.approx(math.pi * 378.8)


def test_ports_alone_stand_at_the_spacing():
    chain = chain_of({"girth": None, "ports": "5"})
    assert (chain.plan.ports, chain.plan.spacing_mm, chain.girth_mm) == (5, 150.0, 750.0)
    assert not chain.girth_given


def test_ports_too_few_for_the_girth_are_said():
    chain = chain_of({"ports": 4})
    assert chain.plan.spacing_mm == pytest.approx(1190 / 4)
    assert any("wider than the 150 mm (5.9 in) asked" in text for text in chain.warnings)


def test_one_port_keeps_its_girth_and_has_no_tee():
    chain = chain_of(options={"ports": "1"})
    assert chain.girth_mm == pytest.approx(1190.0)
    assert chain.plan.spacing_mm == 150.0
    assert not any("wider than" in text for text in chain.warnings)
    assert not any(one.name.startswith("tee") for one in chain.plan.ratings)
    body = chain_document(chain, chain.solve(), None)
    jsonschema.Draft202012Validator(SCHEMA).validate(body)
    assert set(body["part_numbers"]) == {"elbow"}
    assert not any("tee" in row["item"] for row in body["parts"])


def test_a_vessel_rated_under_the_working_pressure_is_refused_naming_both():
    with pytest.raises(InputError) as caught:
        chain_of({"vessel_rating": "40 psi"})
    text = str(caught.value)
    for words in ("vessel's rating", "40 psi (276 kPa)", "45 psi (310 kPa)"):
        assert words in text


def test_a_vessel_rated_under_the_relief_is_said_once():
    chain = chain_of({"vessel_rating": "50 psi"})
    (text,) = [text for text in chain.warnings if "vessel is rated" in text]
    assert "50 psi (344 kPa)" in text
    assert "55 psi (379 kPa)" in text
    assert chain_document(chain, chain.solve(), None)["warnings"].count(text) == 1
    assert not any("rated" in text for text in chain_of({"vessel_rating": "55 psi"}).warnings)


@pytest.mark.slow
def test_ports_too_high_have_no_time_and_are_named_in_the_document():
    chain = chain_of({"heights": "20 m"}, job={"pressure": "15psi", "relief": "40psi"})
    body = chain_document(chain, chain.solve(), None)
    jsonschema.Draft202012Validator(SCHEMA).validate(body)
    assert body["dose_minutes"] is None
    assert body["limited_by"] == "line"
    # 20 m of water is 195.8 kPa, 28.4 psi.
    said = (
        "Nothing flows at ports 1-8: they stand too high for 15 psi (103 kPa); raise the pressure "
        "to 29 psi (196 kPa) or lower them."
    )
    assert body["advice"] == said
    assert said in body["warnings"]


def test_a_girth_for_more_ports_than_a_chain_can_have_is_refused():
    with pytest.raises(InputError, match="several chains"):
        chain_of({"girth": "29 m"})


def test_fittings_are_those_of_the_drawn_parts():
    chain = chain_of()
    for plan, part in ((chain.tee, chain.plan.tee), (chain.elbow, chain.plan.elbow)):
        design = plan.design
        assert part.run_bore_mm == float(design.bore_mm)
        assert part.tip_bore_mm == float(design.tip.bore_mm)
        assert part.relief_mm == float(design.hub.relief_mm)
        assert part.arm_length_mm == pytest.approx(float(design.arm_length_mm))
        # The shoulder lies one insertion inside the barb's end.
        assert part.arm_length_mm - part.stop_mm == pytest.approx(
            float(design.barbs[0].insertion_mm)
        )
        low = float(design.envelope_mm[2]) - float(design.hub.pad_height_mm)
        assert part.tip_length_mm == pytest.approx(low)


@pytest.mark.slow
def test_a_wider_bore_shows_at_once():
    narrow, wide = chain_of(), chain_of(settings=("bore=2.8mm",))
    flows = [chain.solve().ports[-1].flow_ml_min for chain in (narrow, wide)]
    assert (narrow.plan.tee.run_bore_mm, wide.plan.tee.run_bore_mm) == (2.3, 2.8)
    assert flows[1] > 1.05 * flows[0]


def test_cut_tube_and_slack_agree():
    chain = chain_of({"line_length": "160 mm"})
    cut = next(row for row in chain.solve().parts if row["item"] == "tube, tee to tee")
    assert cut["length_mm"] == pytest.approx(160.0)
    with pytest.raises(InputError, match="too short"):
        chain_of({"line_length": "100 mm"})


@pytest.mark.parametrize("row", catalog.uptakes().values(), ids=lambda row: row.name)
def test_every_species_has_a_range_that_holds_its_mean(row):
    low, expected, high = conductance_range(row, 6.0)
    assert low <= expected <= high
    assert expected == pytest.approx(row.mean_ml_min_per_hole / row.pressure_kpa)
    assert expected == pytest.approx(row.conductance_ml_min_per_kpa, rel=2e-4, abs=6e-5)
    assert low >= expected / 6.0 - 1e-12


def test_red_oak_s_range_by_hand():
    # Seasons 116 (56) and 45 (43): variance (56^2 + 43^2)/2 + 35.5^2 = 3752.75, deviation 61.26.
    low, _, high = conductance_range(catalog.uptakes()["Quercus rubra"], 6.0)
    assert low * 68.65 == pytest.approx(80.5 - math.sqrt(3752.75))
    assert high * 68.65 == pytest.approx(80.5 + math.sqrt(3752.75))


def test_a_measured_tree_wins_over_a_species_and_has_a_narrow_range():
    chain = chain_of({"species": None, "measured": "450 mL, 6 min, 40 psi"})
    plan = chain.plan
    assert plan.conductance_ml_min_kpa == pytest.approx(75 / (40 * 6.89475729))
    assert plan.conductance_low_ml_min_kpa == pytest.approx(0.7 * plan.conductance_ml_min_kpa)
    assert plan.conductance_viscosity_mpa_s == pytest.approx(float(water_viscosity_mpa_s(20.0)))


def test_water_at_a_temperature_and_another_liquid():
    cold = chain_of({"water_temperature": "5C"}).plan
    assert cold.viscosity_mpa_s == pytest.approx(float(water_viscosity_mpa_s(5.0)))
    assert cold.density_kg_m3 == pytest.approx(float(water_density_kg_m3(5.0)))
    thick = chain_of({"viscosity": "2.5 mPas", "density": "1.1 kg/L"}).plan
    assert (thick.viscosity_mpa_s, thick.density_kg_m3) == (2.5, pytest.approx(1100.0))
    assert thick.conductances_ml_min_kpa["expected"] < cold.conductances_ml_min_kpa["expected"]


def test_the_vessel_is_read_from_its_fill_or_its_air():
    filled = chain_of({"air_head": None, "fill": "5 L"}).plan.vessel
    assert filled.air_head_ml == 7000.0
    assert filled.relief_mpa == pytest.approx(55 * 0.00689475729)
    assert filled.recharge_at_mpa == pytest.approx(0.75 * 45 * 0.00689475729)
    assert not filled.regulated
    assert chain_of({"regulated": True}).plan.vessel.regulated
    assert chain_of({"vessel_volume": None, "air_head": None}).plan.vessel is None


def test_the_weakest_rating_is_named():
    chain = chain_of({"vessel_rating": "60 psi"})
    ratings = {one.name: one.mpa for one in chain.plan.ratings}
    # 150 psi at 70 F for polyethylene, falling to half at 55 C; what the part's own check says.
    check = next(o for o in chain.tee.results if o.info.id == "tube_rating")
    assert ratings["tube at 30 C"] == pytest.approx(check.capacity, rel=1e-6)
    assert 0.5 * 1.0342 < ratings["tube at 30 C"] < 1.0342
    weakest = chain.solve().weakest_rating
    assert (weakest.name, weakest.mpa) == ("vessel", pytest.approx(60 * 0.00689475729))


@pytest.mark.slow
@pytest.mark.parametrize("kind", [pytest.param("tee", marks=pytest.mark.slow), "elbow"])
def test_a_part_holds_to_the_digit_what_rate_finds_for_the_part_as_drawn(kind):
    chain = chain_of()
    document = rating_document(next(r for r in chain.plan.ratings if r.name.startswith(kind)))
    rating = rate_document(KINDS[kind], chain.job, rate_part(KINDS[kind], chain.job, ()))
    assert document["rating_kpa"] == rating["drawn_max_pressure_kpa"]
    assert document["name"] == f"{kind} ({rating['drawn_governing_check']})"
    assert document["because"] == rating["drawn_because"]


UNKNOWN = {
    "three measurements": {"tube_od": None, "tube_material": None, "wood": None},
    "no wood": {"wood": None},
    "no tube material": {"tube_material": None},
}


@pytest.mark.slow
@pytest.mark.parametrize(
    "case",
    ["three measurements", *(pytest.param(c, marks=pytest.mark.slow) for c in [*UNKNOWN][1:])],
)
def test_the_weakest_is_not_known_wherever_rate_does_not_know_it(case):
    # Three measurements named a tee of 1130 kPa, with the wood told it was 590: the checks that
    # happened to be makeable, of the same part.
    given = {name: value for name, value in {**JOB, **UNKNOWN[case]}.items() if value is not None}
    job = read_job({}, given)
    chain = plan_chain(job, {}, CHAIN)
    body = chain_document(chain, chain.solve(), None)
    jsonschema.Draft202012Validator(SCHEMA).validate(body)
    weakest = body["weakest_rating"]
    assert (weakest["known"], weakest["rating_kpa"]) == (False, None)
    found = rate_document(KINDS["elbow"], job, rate_part(KINDS["elbow"], job, ()))
    assert found["drawn_max_pressure_kpa"] is None
    assert weakest["at_most_kpa"] == found["drawn_judged_max_pressure_kpa"]
    assert weakest["because"] == f"tee and elbow: {found['drawn_because']}"
    known = chain_document(chain_of(), chain_of().solve(), None)["weakest_rating"]
    assert known["known"]
    assert known["rating_kpa"] <= weakest["at_most_kpa"]


@pytest.mark.slow
def test_suggested_bores_can_be_drawn_and_one_step_more_cannot_or_is_judged_worse():
    chain = chain_of()
    widest = chain.plan.largest_run_bore_mm
    rank = {"pass": 0, "caution": 1, "fail": 2}

    def worst(bore):
        try:
            other = chain_of(settings=(f"bore={bore:.1f}mm",))
        except NoSizeError:
            return 9
        return max(rank[part.verdict] for part in (other.tee, other.elbow))

    now = max(rank[part.verdict] for part in (chain.tee, chain.elbow))
    assert worst(widest) <= now
    assert worst(widest + 0.1) > now
    assert chain.plan.largest_tip_bore_mm >= chain.plan.tee.tip_bore_mm


@pytest.mark.slow
def test_advice_never_goes_beyond_what_the_parts_were_checked_for():
    chain = chain_of(job={"relief": None})
    assert chain.plan.checked_mpa == pytest.approx(45 * 0.00689475729)
    changes = [item.change for item in chain.solve().improvements]
    assert not any("pressure" in change for change in changes)
    raised = [c.change for c in chain_of().solve().improvements if "pressure" in c.change]
    assert raised == ["raising the pressure to 49.5 psi (341 kPa), 90% of the relief"]


def test_the_next_tube_comes_with_fittings_drawn_for_it(monkeypatch):
    drawn = chain_of()
    plan = drawn.plan
    assert plan.next_tube_id_mm > plan.tube_id_mm
    tubes = catalog.tubes().values()
    assert plan.next_tube_id_mm in {tube.id_mm for tube in tubes if tube.kind.name == "PE"}
    if plan.next_tube_fits:
        assert plan.next_tee.run_bore_mm >= plan.tee.run_bore_mm
        assert any("drawn for it" in i.change for i in drawn.solve().improvements)
    # Where no fitting can be drawn for any larger tube, only the supply may use one.
    bare = chain_module.next_larger_tube
    monkeypatch.setattr(
        chain_module, "next_larger_tube", lambda *given: replace(bare(*given), designs=())
    )
    unfit = chain_of()
    assert not unfit.plan.next_tube_fits
    changes = [i.change for i in unfit.solve().improvements]
    assert not any("next larger tube" in change for change in changes)
    assert any("supply tube of" in change for change in changes)


def test_the_document_is_what_the_schema_says():
    for chain in (
        chain_of(),
        chain_of({"regulated": True}),
        chain_of({"vessel_volume": None, "air_head": None, "volume_per_tree": None}),
        chain_of({"species": "shagbark hickory"}),
        chain_of({"girth": None, "ports": "1"}),
    ):
        body = chain_document(chain, chain.solve(), None)
        jsonschema.Draft202012Validator(SCHEMA).validate(body)
        json.dumps(body, allow_nan=False)


def test_a_tree_that_takes_nothing_is_said_and_has_no_time():
    result = chain_of({"species": "shagbark hickory"}).solve()
    assert result.total_flow_ml_min == 0.0
    assert result.to_json_dict()["dose_minutes"] == {"low": None, "expected": None, "high": None}


@pytest.mark.slow
def test_a_failing_part_is_said_loudly_and_a_refused_material_ends_it():
    chain = chain_of(job={"tube_id": "4mm", "tube_od": "6mm", "tube_material": "PVC"})
    assert any("must not be used" in text for text in chain.warnings)
    with pytest.raises((CheckFailedError, NoSizeError)):
        chain_of(job={"material": "fff_pla", "bit": "11/64"})


def test_figures_of_judgement_stand_in_the_profile_and_agree_with_the_defaults():
    rules = {name: j.value for name, j in catalog.judgements().items()}
    plan = {field.name: field.default for field in fields(ChainPlan)}
    vessel = {field.name: field.default for field in fields(VesselPlan)}
    assert rules["chain_spacing_mm"] == DEFAULT_SPACING_MM
    assert rules["chain_tube_slack"] == plan["tube_slack"]
    assert rules["chain_supply_length_mm"] == plan["supply_length_mm"]
    assert rules["chain_leaking_factor"] == plan["leaking_factor"]
    assert rules["chain_relief_margin"] == plan["relief_margin"]
    assert rules["chain_recharge_share"] == DEFAULT_RECHARGE_SHARE
    assert rules["chain_expected_exponent"] == vessel["expected_exponent"]
    assert (
        VesselPlan(volume_ml=10000.0, liquid_ml=5000.0).kept_ml
        == rules["chain_reserve_share"] * 10000.0
    )
    assert VesselPlan(volume_ml=500.0, liquid_ml=300.0).kept_ml == rules["chain_reserve_least_ml"]
    assert what_if.LEAST_GAIN > 0.0


def test_a_figure_of_judgement_can_be_set():
    chain = chain_of(settings=("chain_recharge_share=0.9", "chain_spare_share=0.5"))
    assert chain.plan.vessel.recharge_at_mpa == pytest.approx(0.9 * 45 * 0.00689475729)
    assert chain.plan.spare_tees == 4


def test_fitting_of_needs_nothing_but_the_design():
    assert fitting_of(chain_of().tee.design) == chain_of().plan.tee


def test_pages_of_other_orders_are_named_with_their_zips(tmp_path, monkeypatch):
    from barbwright.order import pack

    part = tmp_path / "part"

    def packs(_parts, folder, **_more):
        (folder / "inspection-new.html").write_text("new")
        (folder / "order-new.zip").write_bytes(b"")
        return folder / "order-new.zip"

    monkeypatch.setattr(pack, "pack_order", packs)
    for name in ("order-old.zip", "inspection-old.html", "inspection-lost.html"):
        (tmp_path / name).write_text("old")
    path, kept, older = pack.pack_kit([(part, 1, 0, "")], tmp_path, anyway=False, title="")
    assert (path.name, kept) == ("order-new.zip", False)
    assert sorted(old.name for old in older) == [
        "inspection-lost.html",
        "inspection-old.html",
        "order-old.zip",
    ]
