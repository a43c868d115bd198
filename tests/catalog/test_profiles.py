"""Profile files: schemas, faults all at once with their path, and where files are found."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import jsonschema
import pytest

from barbwright import catalog
from barbwright.catalog.folders import USER_FOLDER_VARIABLE, profile_files, shipped_folder
from barbwright.catalog.validate import faults_in, load_schema
from barbwright.errors import InputError
from barbwright.job.reading import read_job

TABLES = [
    "materials", "tubing", "woods", "bits", "uptake", "crossing_bores", "hub_crossing",
    "tube_contact", "judgement",
]  # fmt: skip


@pytest.mark.parametrize("table", TABLES)
def test_shipped_files_hold_to_their_json_schema(table: str) -> None:
    schema = load_schema(table)
    jsonschema.Draft202012Validator.check_schema(schema)
    files = profile_files(table, shipped_folder())
    assert files
    for path in files:
        data = tomllib.loads(path.read_text(encoding="utf-8"))
        jsonschema.Draft202012Validator(schema).validate(data)
        assert faults_in(data, schema, str(path)) == []


def broken(file: str, *changes: tuple[str, str]) -> dict[str, object]:
    text = (shipped_folder() / file).read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return tomllib.loads(text)


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("materials/pa11.toml", "_xy_mpa = { value = 40.0", "_xy_mpa = { value = -1.0"),
        ("materials/pa11.toml", "wet_factor = { value = 0.85", "wet_factor = { value = 1.85"),
        ("materials/pa11.toml", "tapping = true", "tapping = 1"),
        ("materials/pa11.toml", 'name = "SLS/MJF PA11"', ""),
        ("materials/pa11.toml", "tapping = true", "taping = true"),
        ("materials/pa11.toml", '"alcohol", "strong', '"beer", "strong'),
        ("tubing/pe.toml", "id_mm = 3.175", 'id_mm = "3.175"'),
        ("woods/hardwoods.toml", 'group = "hardwood"', 'group = "palm"'),
        ("bits.toml", '"1/64" = 0.396875', '"1/64" = 0'),
        ("crossing_bores.toml", "elbow_inner_scf = 3.62", "elbow_inner_scf = 0.5"),
        ("hub_crossing.toml", "relief_over_bore = 1.6", "relief_over_bore = 0.6"),
        ("hub_crossing.toml", "von_mises = [5.92", "von_mises = [0"),
        ("hub_crossing.toml", "principal = [5.01", "principals = [5.01"),
        ("judgement.toml", 'unit = "mm"', 'units = "mm"'),
        ("uptake.toml", "[35.0, 70.0]", "[35.0]"),
    ],
)
def test_own_validation_and_the_json_schema_refuse_alike(file: str, old: str, new: str) -> None:
    table = file.split("/")[0].removesuffix(".toml")
    data = broken(file, (old, new))
    schema = load_schema(table)
    assert list(jsonschema.Draft202012Validator(schema).iter_errors(data))
    assert faults_in(data, schema, "x")


def user_file(folder: Path, name: str, text: str) -> Path:
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


@pytest.fixture
def user(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(USER_FOLDER_VARIABLE, str(tmp_path))
    return tmp_path


def test_all_faults_of_all_files_come_at_once_with_their_path(user: Path) -> None:
    text = (shipped_folder() / "materials/pa11.toml").read_text(encoding="utf-8")
    text = text.replace('id = "pa11"', 'id = "mine"')
    for old, new in [
        ("tapping = true", "taping = true"),
        ("strength_z_mpa = { value = 36.0", "strength_z_mpa = { value = nan"),
        ("modulus_mpa = { value = 1100.0", "modulus_mpa = { value = -5.0"),
        ('source = "design_record"', 'source = "desing_record"'),
        ('status = "quoted second-hand"', 'status = "trust me"'),
        ("poisson = { value = 0.4", 'poisson = { value = "soft"'),
    ]:
        assert old in text
        text = text.replace(old, new, 1)
    first = user_file(user, "materials/mine.toml", text)
    second = user_file(user, "materials/worse.toml", "id = [")
    with pytest.raises(InputError) as caught:
        catalog.materials()
    whats = [str(fault) for fault in caught.value.faults]
    assert all(str(first) in what or str(second) in what for what in whats)
    joined = "\n".join(whats)
    for wanted in [
        "tapping is missing",
        "taping is not a known key; do: write tapping",
        r"strength_z_mpa.value: not a finite number \(given: nan\)",
        "modulus_mpa.value: too small",
        "nearest: design_record",
        "published.1..status: does not say how far",
        "poisson.value: of the wrong type",
        "not readable as TOML",
    ]:
        assert re.search(wanted, joined), wanted
    assert len(whats) == 8


def test_a_dropped_in_tube_is_found_and_may_name_its_kind(user: Path) -> None:
    user_file(
        user,
        "tubing/mine.toml",
        """
        [[tube]]
        id = "my-hose"
        name = "my hose"
        material = "HDPE from the shed"
        kind = "PE"
        basis = "metric"
        id_mm = 5.0
        od_mm = 7.0
        rating_psi = 100.0
        modulus_low_mpa = 600.0
        modulus_high_mpa = 900.0
        status = "own"
        source = "user_profile"
        """,
    )
    assert catalog.find_tube("My Hose").kind.name == "PE"
    assert [tube.id for tube in catalog.match_tube(5.0, 7.0, "HDPE", 0.05)] == ["my-hose"]
    hdpe = catalog.find_tube_material("HDPE")
    assert hdpe.modulus_high_mpa == 900.0
    assert not hdpe.is_grade_without_rows
    assert len(catalog.tubes()) == 47


def test_impossible_tubes_are_refused_together(user: Path) -> None:
    row = (
        '[[tube]]\nid = "{}"\nname = "x"\nmaterial = "PE"\nkind = "{}"\nbasis = "inch"\n'
        'status = "own"\nsource = "user_profile"\nid_mm = 5.0\n{}\n'
    )
    text = (
        row.format("a", "PE", "od_mm = 4.0")
        + row.format("b", "lead", "")
        + row.format("c", "PE", "od_mm = 7.0\nwall_mm = 2.0")
        + row.format("d", "PE", "modulus_low_mpa = 9.0\nmodulus_high_mpa = 5.0")
    )
    user_file(user, "tubing/bad.toml", text)
    with pytest.raises(InputError) as caught:
        catalog.tubes()
    assert len(caught.value.faults) == 4


def test_the_users_own_record_overrides_the_shipped_one(user: Path) -> None:
    user_file(
        user,
        "woods/mine.toml",
        'group = "hardwood"\n[[wood]]\nname = "oak white"\nspecific_gravity_green = 0.7\n'
        'status = "own"\nsource = "user_profile"\n',
    )
    assert catalog.find_wood("white oak").specific_gravity_green == 0.7
    assert len(catalog.woods()) == 32


def test_the_same_name_twice_in_one_folder_is_a_fault(user: Path) -> None:
    wood = (
        '[[wood]]\nname = "oak bur"\nspecific_gravity_green = 0.58\n'
        'status = "own"\nsource = "user_profile"\n'
    )
    user_file(user, "woods/one.toml", 'group = "hardwood"\n' + wood + wood)
    user_file(user, "woods/two.toml", 'group = "hardwood"\n' + wood)
    with pytest.raises(InputError) as caught:
        catalog.woods()
    assert len(caught.value.faults) == 2
    assert "twice" in str(caught.value)
    assert "one.toml" in str(caught.value.faults[1])


def test_a_judgement_outside_its_own_range_is_refused(user: Path) -> None:
    user_file(
        user,
        "judgement.toml",
        'tip_taper = { value = 0.9, unit = "-", least = 0.01, most = 0.2, status = "own", '
        'source = "user_profile", meaning = "too steep" }\n',
    )
    with pytest.raises(InputError, match=r"tip_taper: outside its own range"):
        catalog.judgements()


def test_temperatures_must_rise(user: Path) -> None:
    text = (shipped_folder() / "materials/pa11.toml").read_text(encoding="utf-8")
    text = text.replace("[[23.0, 1.0], [40.0, 0.7]", "[[40.0, 1.0], [23.0, 0.7]")
    user_file(user, "materials/mine.toml", text)
    with pytest.raises(InputError, match="temperatures do not rise"):
        catalog.materials()


def test_a_hub_table_of_ones_own_must_rise_in_ratio_and_fall_with_the_hub(user: Path) -> None:
    text = (shipped_folder() / "hub_crossing.toml").read_text(encoding="utf-8")
    for old, new in [
        ("[1.4, 1.6,", "[1.6, 1.4,"),
        ("relief_over_bore = 1.5\n", "relief_over_bore = 1.7\n"),
        ("von_mises = [5.92, 4.47", "von_mises = [4.47, 5.92"),
        ("principal = [5.01, ", "principal = ["),
    ]:
        assert text.count(old) == 1
        text = text.replace(old, new)
    user_file(user, "hub_crossing.toml", text)
    with pytest.raises(InputError) as caught:
        catalog.hub_crossing()
    said = [str(fault) for fault in caught.value.faults]
    for fault, wanted in zip(
        said,
        [
            "hub_over_relief: ratios do not rise",
            "row: ratios do not rise",
            r"row\[3\].von_mises: rises with a thicker hub",
            r"row\[3\].principal: has the wrong length \(given: 6\); limit: 7, one a hub",
        ],
        strict=True,
    ):
        assert re.search(wanted, fault), fault


COUNT = (
    "import barbwright.catalog as c; "
    "print(len(c.materials()), len(c.tubes()), len(c.woods()), len(c.bits()), c.shipped_folder())"
)


def run(code: str, source: Path, cwd: Path) -> str:
    environment = {**os.environ, "PYTHONPATH": str(source), USER_FOLDER_VARIABLE: str(cwd / "none")}
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=cwd, env=environment, capture_output=True, text=True, check=True,
    )  # fmt: skip
    return done.stdout


def test_profiles_are_found_from_the_checkout_in_any_folder(tmp_path: Path) -> None:
    package = Path(catalog.__file__).parents[1]
    assert run(COUNT, package.parent, tmp_path).startswith("14 46 32 397 ")


def test_profiles_are_found_inside_the_installed_package(tmp_path: Path) -> None:
    # What the wheel's force-include does: profiles/ beside the package's modules.
    package = Path(catalog.__file__).parents[1]
    installed = tmp_path / "site" / "barbwright"
    skip = shutil.ignore_patterns("__pycache__", "profiles")
    shutil.copytree(package, installed, ignore=skip)
    shutil.copytree(shipped_folder(), installed / "profiles")
    out = run(COUNT, installed.parent, tmp_path)
    assert out.startswith("14 46 32 397 ")
    assert out.split()[-1] == str(installed / "profiles")


def test_reading_profiles_loads_nothing_heavy(tmp_path: Path) -> None:
    heavy = "{'scipy.optimize', 'cadquery', 'OCP', 'vtk', 'trimesh', 'jsonschema'}"
    code = f"{COUNT}; import sys; print(sorted({heavy} & set(sys.modules)))"
    out = run(code, Path(catalog.__file__).parents[2], tmp_path)
    assert out.splitlines()[-1] == "[]"


def test_a_verdict_on_a_record_of_the_users_own_says_so(user: Path) -> None:
    text = (shipped_folder() / "materials/mjf_pa12.toml").read_text(encoding="utf-8")
    # With the mark that some editors put at the start.
    user_file(user, "materials/mjf_pa12.toml", "\ufeff" + text)
    said = read_job({"tube_id": "0.17in", "bit": "15/64", "pressure": "45psi"}).own_figures
    assert any("your own (mjf_pa12.toml)" in one for one in said)


def test_a_named_folder_that_is_not_there_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(USER_FOLDER_VARIABLE, str(tmp_path / "typo"))
    said = read_job({"tube_id": "0.17in", "bit": "15/64", "pressure": "45psi"}).warnings
    assert any("names no folder" in one for one in said)


def test_a_profile_nested_too_deep_is_refused_by_name(user: Path) -> None:
    user_file(user, "woods/deep.toml", "a = " + "[" * 5000)
    with pytest.raises(InputError, match=r"deep\.toml.*nested"):
        catalog.woods()
