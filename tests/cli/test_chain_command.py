import json
from pathlib import Path

import jsonschema
import pytest

import barbwright
from run_cli import run, run_fresh

SCHEMA = json.loads(
    (Path(barbwright.__file__).parent / "jobs" / "schemas" / "chain.json").read_text()
)
PARTS = ("--tube-id", "0.170in", "--tube-od", "0.250in", "--tube-material", "LLDPE", "--bit",
         "15/64", "--pressure", "45psi", "--wood", "oak northern red")  # fmt: skip
TREE = ("--girth", "119cm", "--species", "red oak")
KERNEL = ("cadquery", "OCP", "vtk", "vtkmodules", "trimesh", "ngsolve", "netgen", "lib3mf",
          "matplotlib", "ezdxf", "jinja2")  # fmt: skip


def document(*arguments):
    done = run("chain", *arguments, "--json")
    assert done.code == 0, done.err
    body = json.loads(done.out)
    jsonschema.Draft202012Validator(SCHEMA).validate(body)
    return body


def test_the_demo_kit_conserves_flow_and_falls_along_the_line():
    body = document("park_oaks")
    flows = [port["flow_ml_min"] for port in body["ports"]]
    nodes = [port["node_pressure_kpa"] for port in body["ports"]]
    assert len(flows) == 8
    assert sum(flows) == pytest.approx(body["total_flow_ml_min"], rel=1e-9)
    assert nodes == sorted(nodes, reverse=True)
    assert all(p["hole_pressure_kpa"] < p["node_pressure_kpa"] for p in body["ports"])
    assert body["last_to_first"] == pytest.approx(flows[-1] / flows[0])
    assert sum(p["dose_ml"] for p in body["ports"]) == pytest.approx(4000.0, rel=1e-6)
    assert body["kit"] == "park_oaks"


def test_a_chain_needs_no_kit():
    body = document(*PARTS, *TREE)
    assert body["kit"] is None
    assert len(body["ports"]) == 8
    assert body["vessel"] is None
    assert body["dose_minutes"] is None


def test_options_win_over_the_kit():
    body = document("park_oaks", "--ports", "4", "--pressure", "30psi", "--bit", "1/4in")
    assert len(body["ports"]) == 4
    assert body["inputs"]["ports"] == {"value": "4", "from": "option"}
    assert "girth" in body["inputs"]
    assert body["girth_mm"] / body["spacing_mm"] == pytest.approx(4)
    assert body["supply_kpa"] == pytest.approx(30 * 6.894757293168)
    assert body["tapping"]["bit"] == "1/4 in"


def test_a_regulator_holds_the_pressure():
    body = document("park_oaks", "--regulated")
    assert body["vessel"]["regulated"]
    assert "run_down" not in body["vessel"]
    slow = document("park_oaks", "--unregulated")
    assert slow["dose_minutes"]["expected"] > body["dose_minutes"]["expected"]


def test_a_thicker_liquid_is_slower_in_proportion_and_a_calibration_counts():
    water = document("park_oaks", "--regulated")
    thick = document("park_oaks", "--regulated", "--viscosity", "3mPas", "--density", "1kg/L")
    assert thick["total_flow_ml_min"] < 0.6 * water["total_flow_ml_min"]
    mine = document("park_oaks", "--measured", "30 mL, 6 min, 40 psi")
    assert mine["total_flow_ml_min"] == pytest.approx(8 * 5 * 45 / 40, rel=0.15)
    assert mine["limited_by"] == "tree"


def test_read_out_order():
    done = run("chain", "park_oaks")
    assert done.code == 0
    words = ("Last port", "Limited by the", "Time for 4.00 L", "mL of volume", "Purge",
             "Vessel", "Bit 15/64", "ticks", "Weakest in the assembly", "Proof-test",
             "Print and cut", "What if", "Not pressure rated")  # fmt: skip
    places = [done.out.index(word) for word in words]
    assert places == sorted(places)
    assert "7 + 1 spare  tee" in done.out
    assert "WATCH OUT" in done.err


def test_how_far_ports_stand_apart_is_told_in_both_units_by_every_command():
    said = run("chain", "park_oaks").out.split("\n\n")[0]
    assert "8 ports 149 mm (5.86 in) apart round 1190 mm (46.85 in), red oak" in " ".join(
        said.split()
    )
    assert "Chain: 8 ports 149 mm (5.86 in) apart (" in run("build", "park_oaks", "-n").out
    one = run("chain", "park_oaks", "--ports", "1").out
    assert "1 port round 1190 mm" in one
    assert "apart" not in one.partition("Last port")[0]


def test_quiet_is_short_and_keeps_the_results():
    full, quiet = run("chain", "park_oaks"), run("chain", "park_oaks", "-q")
    assert quiet.err == ""
    assert "Last port" in quiet.out
    assert len(quiet.out) < len(full.out)


def test_all_faults_of_the_chain_at_once():
    done = run("chain", "park_oaks", "--girth", "119", "--supply-length", "3 kg", "--species", "x")
    assert done.code == 2
    assert "119 mm or 119 in" in done.err
    assert "unit of mass" in done.err
    assert "--species" in done.err
    assert done.out == ""


def test_a_spacing_too_narrow_for_the_arms_is_refused():
    done = run("chain", "park_oaks", "--spacing", "30 mm")
    assert done.code == 2
    assert "arms must fit" in done.err


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        ((), "needs a kit file"),
        (PARTS, "number of ports"),
        ((*PARTS, "--ports", "3"), "takes up"),
        (("no_such_kit",), "no such kit file"),
        (("park_oaks", "--kit", "park_oaks"), "two kits"),
    ],
)
def test_what_is_missing_is_asked_for(arguments, word):
    done = run("chain", *arguments)
    assert done.code == 2
    assert word in done.err


@pytest.mark.parametrize("command", [("chain",), ("build", "-n")])
def test_what_a_kit_s_chain_lacks_is_told_with_its_file(tmp_path, command):
    kit = tmp_path / "trunk.toml"
    job = dict(zip((word[2:].replace("-", "_") for word in PARTS[::2]), PARTS[1::2], strict=True))
    head = 'name = "trunk"\n[job]\n' + "".join(f'{name} = "{text}"\n' for name, text in job.items())
    for chain, said in (
        ('ports = 3\nfill = "1 L"', "chain.fill needs the vessel"),
        ("ports = 3", "what the tree takes up is not known"),
        ('species = "red oak"', "the number of ports is not known"),
        ('ports = 3\nspecies = "red oak"\nline_length = "20mm"', "chain.line_length is too short"),
    ):
        kit.write_text(f"{head}[chain]\n{chain}\n")
        done = run(command[0], kit, *command[1:])
        assert done.code == 2
        assert f"{kit}: {said}" in done.err


@pytest.mark.slow
def test_the_kernel_is_never_loaded():
    show = "import json\nsys.stderr.write('\\n' + json.dumps(sorted(sys.modules)))"
    done = run_fresh("chain", "park_oaks", "--json", python=show)
    assert done.code == 0
    modules = set(json.loads(done.err.splitlines()[-1]))
    assert "barbwright.chain.result" in modules, "nothing was solved"
    assert {name for name in KERNEL if name in modules} == set()


@pytest.mark.slow
def test_ports_too_high_are_led_with_and_have_no_limit_and_no_time():
    done = run("chain", "park_oaks", "--heights", "19 m", "--pressure", "15 psi")
    assert done.code == 0, done.err
    assert "Nothing flows at ports 1-8: they stand too high for 15 psi" in " ".join(
        done.out.split()
    )
    assert done.out.index("Nothing flows") < done.out.index("Last port")
    assert "Limited by" not in done.out
    assert "Time for" not in done.out


def test_a_vessel_rated_under_the_pressure_is_bad_input():
    done = run("chain", "park_oaks", "--vessel-rating", "20 psi")
    assert done.code == 2
    assert "20 psi (138 kPa)" in done.err
