import hashlib
import io
import re
import zipfile

import pypdf
import pytest
from example_parts import copy_of, made, record_of, write_record

from barbwright.design.part import KINDS
from barbwright.errors import BuildError, CheckFailedError, InputError
from barbwright.jobs.make import make_part
from barbwright.jobs.plan import plan_part
from barbwright.jobs.record import part_record
from barbwright.order.pack import order_files
from barbwright.order.record import plan_order
from barbwright.order.subject import subject_of
from barbwright.order.verify import verify_parts
from example_job import job_of

pytestmark = pytest.mark.usefixtures("remade_once", "models_once", "one_process")


def resum(folder, name):
    """Write a changed file's new size and sum into the record, as a forger would."""
    body = record_of(folder)
    content = (folder / name).read_bytes()
    for row in body["files"]:
        if row["path"] == name:
            row["bytes"], row["sha256"] = len(content), hashlib.sha256(content).hexdigest()
    write_record(folder, body)


def said(error) -> str:
    return "\n".join(str(fault) for fault in error.value.faults)


def test_a_made_part_verifies_and_its_unmarked_solid_is_not_taken():
    (part,) = verify_parts([made()])
    assert sorted(part.files) == ["3mf", "dxf", "pdf", "step", "stl"]
    assert part.files["step"] == (made() / "part.step").read_bytes()
    assert part.measured.watertight
    assert part.volume_mm3 == pytest.approx(part.measured.volume_mm3, rel=5e-3)


@pytest.mark.parametrize("name", ["part.step", "part_mm.stl", "part.3mf", "drawing.pdf"])
def test_a_missing_or_changed_file_is_refused_by_name(tmp_path, name):
    folder = copy_of(made(), tmp_path)
    content = bytearray((folder / name).read_bytes())
    content[len(content) // 2] ^= 1
    (folder / name).write_bytes(content)
    with pytest.raises(BuildError, match=f"{name}: changed"):
        verify_parts([folder])
    (folder / name).unlink()
    with pytest.raises(BuildError, match=f"{name}: missing"):
        verify_parts([folder])


@pytest.mark.slow
def test_all_faults_of_all_parts_are_told_at_once(tmp_path):
    first, second = copy_of(made(), tmp_path / "1"), copy_of(made("elbow"), tmp_path / "2")
    (first / "part.step").unlink()
    (first / "part.3mf").write_bytes(b"")
    (second / "part_mm.stl").unlink()
    with pytest.raises(BuildError) as error:
        verify_parts([first, second])
    assert len(error.value.faults) == 3
    assert all(name in said(error) for name in ("part.step", "part.3mf", "part_mm.stl"))


def test_a_link_in_a_files_place_is_refused(tmp_path):
    folder = copy_of(made(), tmp_path)
    (folder / "part.step").rename(tmp_path / "elsewhere.step")
    (folder / "part.step").symlink_to(tmp_path / "elsewhere.step")
    with pytest.raises(BuildError, match=r"part\.step: a link"):
        verify_parts([folder])


@pytest.mark.slow
def test_another_parts_mesh_with_matching_sums_is_measured_and_refused(tmp_path):
    folder = copy_of(made(), tmp_path)
    for name in ("part_mm.stl", "part.3mf"):
        (folder / name).write_bytes((made("elbow") / name).read_bytes())
        resum(folder, name)
    with pytest.raises(BuildError) as error:
        verify_parts([folder])
    assert "STL: " in said(error)
    assert "3MF: " in said(error)


@pytest.mark.slow
def test_a_step_file_that_holds_another_part_is_refused(tmp_path):
    folder = copy_of(made(), tmp_path)
    (folder / "part.step").write_bytes((made("elbow") / "part.step").read_bytes())
    resum(folder, "part.step")
    with pytest.raises(BuildError, match="volume"):
        verify_parts([folder])


@pytest.mark.parametrize(
    "content",
    [b"", b"solid\nendsolid\n", b"no file of this kind " * 20],
    ids=["empty", "none", "?"],
)
@pytest.mark.parametrize("name", ["part.step", "part_mm.stl", "part.3mf", "drawing.pdf"])
def test_rubbish_with_matching_sums_is_refused(tmp_path, name, content):
    folder = copy_of(made(), tmp_path)
    (folder / name).write_bytes(content)
    resum(folder, name)
    with pytest.raises(BuildError):
        verify_parts([folder])


def test_a_record_whose_numbers_were_edited_is_refused(tmp_path):
    folder = copy_of(made(), tmp_path)
    body = record_of(folder)
    body["dimensions"]["bore_diameter_mm"] += 0.1
    write_record(folder, body)
    with pytest.raises(BuildError, match="bore_diameter_mm"):
        verify_parts([folder])


@pytest.mark.slow
def test_a_failed_part_cannot_be_talked_into_a_passed_one(tmp_path):
    folder = copy_of(made("barb", "chloride_brine"), tmp_path)
    with pytest.raises(CheckFailedError, match="fluid"):
        plan_order([(folder, 1, 0, "")])
    body = record_of(folder)
    body["passed"] = True
    write_record(folder, body)
    with pytest.raises(BuildError, match="its own job"):
        plan_order([(folder, 1, 0, "")])


@pytest.mark.parametrize("path", ["../secret.step", "/etc/passwd", "sub/part.step", "", None, 7])
def test_a_path_out_of_the_folder_is_never_opened(tmp_path, path):
    folder = copy_of(made(), tmp_path)
    (tmp_path / "secret.step").write_text("secret")
    body = record_of(folder)
    body["files"][0]["path"] = path
    write_record(folder, body)
    with pytest.raises(InputError, match="made without step"):
        verify_parts([folder])


def test_a_part_made_without_a_format_is_refused_with_what_to_do(tmp_path):
    folder = copy_of(made(), tmp_path)
    body = record_of(folder)
    body["files"] = [row for row in body["files"] if row["format"] not in {"stl", "3mf"}]
    write_record(folder, body)
    with pytest.raises(InputError, match="made without stl, 3mf"):
        verify_parts([folder])


@pytest.mark.parametrize("spoil", ["files", "dimensions", "part_number", "passed"])
@pytest.mark.parametrize("value", [None, 5, "x", [3], {"a": 1}])
def test_a_damaged_record_is_a_message_and_no_crash(tmp_path, spoil, value):
    folder = copy_of(made(), tmp_path)
    body = record_of(folder)
    body[spoil] = value
    write_record(folder, body)
    with pytest.raises((BuildError, InputError)):
        verify_parts([folder])


def graded(kind, place, formats=()):
    """A graded part's folder: its record alone, or with its models."""
    plan = plan_part(KINDS[kind], job_of(kind, grade="2"))
    if formats:
        return make_part(plan, place, formats)[0]
    folder = place / plan.number
    folder.mkdir()
    (folder / "part.json").write_bytes(part_record(plan, []))
    return folder


def test_a_graded_part_is_told_as_such_and_others_are_not(tmp_path):
    subject = subject_of(graded("elbow", tmp_path))
    assert subject.grade == 2
    assert subject.title.endswith("grade 2 of 3 (middle lead, two dots)")
    # A barb of a graded job has no lead.
    assert subject_of(graded("barb", tmp_path)).grade == 0


@pytest.mark.slow
def test_an_order_says_the_grade_in_words_wherever_a_part_is_named(tmp_path):
    order = plan_order([(graded("tip", tmp_path, ("step", "stl", "3mf")), 1, 0, "")])
    files = order_files(order)
    words = "grade 2 of 3 (middle lead, two dots)"
    for name in ("order.html", "inspection.html", "order.csv", "README.txt", "manifest.json"):
        text = " ".join(files[name].decode("utf-8-sig").split())
        assert words in text, name
    book = pypdf.PdfReader(io.BytesIO(files["order.pdf"]))
    for leaf in book.pages[:2]:
        assert "grade 2 of 3" in " ".join(leaf.extract_text().split())


@pytest.mark.parametrize("scale", [25.4, -1.0, 0.9])
def test_a_3mf_whose_item_is_scaled_or_mirrored_is_refused(tmp_path, scale):
    folder = copy_of(made(), tmp_path)
    path, aside = folder / "part.3mf", tmp_path / "aside.3mf"
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(aside, "w") as new:
        for name in old.namelist():
            text = old.read(name)
            if name.endswith(".model"):
                item = f'<item transform="{scale} 0 0 0 {scale} 0 0 0 {scale} 0 0 0" '
                text = re.sub(rb'<item (?:transform="[^"]*" )?', item.encode(), text)
                text = re.sub(rb'(<item transform="[^"]*"[^>]*) transform="[^"]*"', rb"\1", text)
            new.writestr(name, text)
    path.write_bytes(aside.read_bytes())
    resum(folder, "part.3mf")
    with pytest.raises(BuildError, match="scaled, turned or mirrored"):
        verify_parts([folder])
