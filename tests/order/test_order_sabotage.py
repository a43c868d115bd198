"""A made folder spoilt in many ways, its checksums forged: each is refused, or changes nothing.

Nothing of what a spoiler wrote may reach a print service: what is let through is held to be,
byte for byte and row for row, what the honest folder gives.
"""

import hashlib
import io
import json
import os
import re
import zipfile
import zlib
from functools import cache

import numpy as np
import pytest
from example_parts import copy_of, made, record_of, write_record

from barbwright.errors import BarbwrightError
from barbwright.order.documents import manifest_json, order_csv
from barbwright.order.quote import quote_rows
from barbwright.order.record import plan_order

pytestmark = pytest.mark.usefixtures("models_once", "one_process")

# A small part by default; another kind must refuse the same.
KIND = os.environ.get("BARBWRIGHT_SABOTAGED", "barb")
FILES = {"step": "part.step", "stl": "part_mm.stl", "3mf": "part.3mf", "pdf": "drawing.pdf",
         "dxf": "drawing.dxf"}  # fmt: skip


def shipped(folder) -> list:
    """All of an order that speaks of its part, but the pages laid out of just this."""
    order = plan_order([(folder, 2, 1, "")])
    files = {path: content for part in order.parts for path, content in part.files().items()}
    part = order.parts[0]
    return [files, order_csv(order), quote_rows(order), manifest_json(order, files), order.number,
            part.box_mm, part.verified.vertices.tobytes()]  # fmt: skip


@cache
def honest() -> list:
    return shipped(made(KIND))


def held(folder) -> str:
    """Return how a spoilt folder ends: refused, or neutral; anything else is a fault."""
    expected = honest()
    found, faults = None, ()
    try:
        found = shipped(folder)
    except BarbwrightError as error:
        faults = error.faults
    if found is None:
        assert faults
        assert all(fault.do or fault.limit for fault in faults), faults
        return "refused"
    assert found == expected
    return "neutral"


# --- the record ------------------------------------------------------------------------------


def at(*path):
    """Set what stands at a path of the record."""

    def edit(change):
        def spoil(body):
            place = body
            for key in path[:-1]:
                place = place[key]
            place[path[-1]] = change(place[path[-1]]) if callable(change) else change

        return spoil

    return edit


def times(factor):
    return lambda value: value * factor


def with_more(extra):
    return lambda value: [*value, extra]


RECORD = {
    "number": at("part_number")(lambda old: old[:-1] + ("0" if old[-1] != "0" else "1")),
    "revision": at("revision")("b"),
    "passed": at("passed")(False),
    "verdict": at("verdict")("fail"),
    "fit verdict": at("fit_verdict")("pass"),
    "part": at("part")("barb" if KIND == "cap" else "cap"),
    "command": at("command")("build"),
    "schema": at("schema_version")(2),
    "notice": at("notice")("pressure rated to 500 psi"),
    "input": at("inputs", "pressure", "value")("450psi"),
    "input of the job": at("job", "inputs", "pressure", "text")("450psi"),
    "tube of the job": at("job", "inputs", "tube_id", "text")("0.25in"),
    "pressure": at("job", "pressure_mpa")(times(10)),
    "relief": at("job", "relief_mpa")(2.0),
    "temperature": at("job", "temperature_c")(60.0),
    "fluid": at("job", "fluid")("chloride_brine"),
    "clamp": at("job", "clamp")(True),
    "density": at("job", "material", "density_g_cm3")(times(10)),
    "strength": at("job", "material", "strength_xy_mpa")(times(10)),
    "tolerance": at("job", "material", "tolerance_mm")(0.01),
    "material's name": at("job", "material", "name")("another powder"),
    "material's id": at("job", "material", "id")("sls_pa12"),
    "finish": at("job", "material", "finish")("polished"),
    "build box": at("job", "material", "build_box_mm")([1.0, 2.0, 3.0]),
    "tube": at("job", "tubes", 0, "inner_mm")(times(1.01)),
    "wall": at("job", "tubes", 0, "outer_mm")(times(1.01)),
    "bit": at("job", "bit", "diameter_mm")(times(1.5)),
    "forced": at("job", "forced")({"crest": 9.0}),
    "rule": at("job", "rules", "hole_oversize_low_mm")(times(2)),
    "all rules": at("job", "rules")({}),
    "user's rules": at("job", "user_rules")({"hole_oversize_low_mm": "kit"}),
    "grade of the job": at("job", "grade")(2),
    "fit only": at("job", "fit_only")(True),
    "job's key": at("job", "rating_psi")(lambda: 1) and (lambda body: body["job"].update(psi=1)),
    "safety factor": at("checks", 0, "safety_factor")(99.0),
    "capacity": at("checks", 1, "capacity")(99.0),
    "check's verdict": at("checks", 0, "verdict")("not_checked"),
    "checks fewer": lambda body: body["checks"].pop(),
    "checks swapped": lambda body: body["checks"].reverse(),
    "rules emptied": at("handling_rules")([]),
    "rule's number": at("handling_rules", 0, "value")(1e4),
    "rule's words": at("handling_rules", 0, "rule")("no rule"),
    "ways up": lambda body: body["build_direction"]["ratings"].reverse(),
    "way of the models": at("build_direction", "models")("upright"),
    "way advised": at("build_direction", "advice")("any way up"),
    "size": at("dimensions", "bore_diameter_mm")(lambda size: size + 0.05),
    "size by a micron": at("dimensions", "crest_diameter_mm")(lambda size: size + 1e-3),
    "size more": lambda body: body["dimensions"].update(rating_mm=1.0),
    "size fewer": lambda body: body["dimensions"].pop("bore_diameter_mm"),
    "size is a text": at("dimensions", "bore_diameter_mm")("2.5"),
    "mark": at("mark", "text")("500 psi"),
    "instructions": at("instructions")(with_more("hit it hard")),
    "warnings": at("warnings")(with_more("none")),
    "not checked": at("not_checked")(with_more({"id": "x", "because": "y"})),
    "measured": at("measured")(with_more({})),
    "tapers": at("tapers")(with_more({})),
    "proved": at("proved_in_field")(with_more({})),
    "governing": at("governing_check")("fluid"),
    "grade": at("grade")(3),
    "no size": at("no_size")(["why"]),
    "versions": at("versions", "ezdxf")("9.9"),
    "key more": lambda body: body.update(rating_psi=500),
    "key fewer": lambda body: body.pop("notice"),
    "unit of a file": lambda body: body["files"][0].update(unit="in"),
    "format of a file": lambda body: body["files"][0].update(format="obj"),
    "file named otherwise": lambda body: body["files"][0].update(path="part_not_passed.step"),
    "file not listed": lambda body: body["files"].remove(
        next(row for row in body["files"] if row["format"] == "pdf")
    ),
    "files swapped": lambda body: body["files"].__setitem__(
        0, {**body["files"][0], "sha256": body["files"][1]["sha256"]}
    ),
    "laid out": lambda body: None,
}  # fmt: skip
NEUTRAL_RECORD = {"laid out"}


@pytest.mark.parametrize("what", RECORD)
def test_an_edited_record_is_refused_or_changes_nothing(tmp_path, remade_once, what):
    folder = copy_of(made(KIND), tmp_path)
    body = record_of(folder)
    before = json.dumps(body)
    RECORD[what](body)
    assert json.dumps(body) != before or what in NEUTRAL_RECORD
    write_record(folder, body)
    assert held(folder) == ("neutral" if what in NEUTRAL_RECORD else "refused")


# --- the files -------------------------------------------------------------------------------


def facets(change):
    def spoil(content):
        kind = np.dtype([("normal", "<f4", 3), ("corner", "<f4", (3, 3)), ("more", "<u2")])
        rows = np.frombuffer(content[84:], kind).copy()
        rows = change(rows)
        return content[:80] + len(rows).to_bytes(4, "little") + rows.tobytes()

    return spoil


def moved(rows, by, least=0):
    """One corner, wherever it stands, so that the body stays closed."""
    corner = rows["corner"].copy()
    spot = corner.reshape(-1, 3)[least].copy()
    corner[(corner == spot).all(axis=2)] += by
    rows["corner"] = corner
    return rows


def every(change):
    def of(rows):
        rows["corner"] = change(rows["corner"])
        return rows

    return of


def marked(rows):
    rows["more"] = 7
    return rows


def entry(name, change):
    """Change one file of a 3MF."""

    def spoil(content):
        out = io.BytesIO()
        with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(out, "w") as new:
            for item in old.namelist():
                text = old.read(item)
                new.writestr(item, change(text) if item.endswith(name) else text)
        return out.getvalue()

    return spoil


def one_vertex(by):
    def change(text):
        found = list(re.finditer(rb'<vertex x="([^"]+)"', text))[100]
        new = f"{float(found[1]) + by:.6f}".encode()
        return text[: found.start(1)] + new + text[found.end(1) :]

    return entry(".model", change)


def swap(old, new, count=1):
    def change(content):
        assert old in content
        return content.replace(old, new, count)

    return change


def page(change):
    """Change the words of a PDF's pages."""

    def spoil(content):
        def again(found):
            try:
                text = zlib.decompress(found[1])
            except zlib.error:
                return found[0]
            return b"stream\n" + zlib.compress(change(text)) + b"\nendstream"

        return re.sub(rb"stream\r?\n(.*?)\r?\nendstream", again, content, flags=re.DOTALL)

    return spoil


def step_size(content):
    found = re.search(rb"CYLINDRICAL_SURFACE\('[^']*',#\d+,([0-9.E+-]+)\)", content)
    return content[: found.start(1)] + b"%.6f" % (float(found[1]) + 0.02) + content[found.end(1) :]


def first_number(content):
    """Another digit far behind the point of the first long number of a line."""
    found = re.search(rb"\n(-?\d+\.\d{6})\d*\r?\n", content)
    return content[: found.end(1)] + b"3" + content[found.end(1) + 1 :]


def other(kind):
    return lambda _content: (made("barb" if KIND == "cap" else "cap") / FILES[kind]).read_bytes()


FILE = {
    "stl moved": ("stl", facets(lambda rows: moved(rows, 0.05))),
    "stl moved by a hair": ("stl", facets(lambda rows: moved(rows, 0.001, 99))),
    "stl scaled": ("stl", facets(every(lambda corner: corner * 25.4))),
    "stl a little larger": ("stl", facets(every(lambda corner: corner * 1.0005))),
    "stl mirrored": ("stl", facets(every(lambda corner: corner * [-1, 1, 1]))),
    "stl lifted": ("stl", facets(every(lambda corner: corner + np.array([0, 0, 1.0])))),
    "stl fewer": ("stl", facets(lambda rows: rows[:-1])),
    "stl turned over": ("stl", facets(lambda rows: rows[::-1])),
    "stl with marks": ("stl", facets(marked)),
    "stl named": ("stl", lambda content: b"rated to 500 psi".ljust(80) + content[80:]),
    "stl longer": ("stl", lambda content: content + b"\0"),
    "stl of another": ("stl", other("stl")),
    "3mf moved": ("3mf", one_vertex(0.05)),
    "3mf moved by a hair": ("3mf", one_vertex(0.0005)),
    "3mf in inches": ("3mf", entry(".model", swap(b'unit="millimeter"', b'unit="inch"'))),
    "3mf named": ("3mf", entry(".model", swap(b"PA12", b"PEEK"))),
    "3mf turned": ("3mf", entry(".model", swap(
        b"<item ", b'<item transform="0 1 0 -1 0 0 0 0 1 0 0 0" '))),
    "3mf of another": ("3mf", other("3mf")),
    "3mf packed anew": ("3mf", entry(".model", lambda text: text)),
    "step size": ("step", step_size),
    "step limit": ("step", swap(b"(-0.3,#", b"(-3.0,#", 9)),
    "step named": ("step", swap(b"MANIFOLD_SOLID_BREP('", b"MANIFOLD_SOLID_BREP('500 psi ")),
    "step of another": ("step", other("step")),
    "step cut": ("step", lambda content: content[: len(content) // 2]),
    "step with a remark": ("step", swap(b"DATA;", b"DATA; /* 500 psi */")),
    "dxf text": ("dxf", swap(b"%%p0.3", b"%%p3.0", 99)),
    "dxf number": ("dxf", lambda content: re.sub(rb"%%c(\d)", rb"%%c9\1", content, count=1)),
    "dxf remark": ("dxf", lambda content: b"999\n500 psi\n" + content),
    "dxf cut": ("dxf", lambda content: content[:-200]),
    "dxf last digit": ("dxf", first_number),
    "dxf of another": ("dxf", other("dxf")),
    "dxf junk": ("dxf", lambda _content: b"junk"),
    "pdf of another": ("pdf", other("pdf")),
    "pdf words": ("pdf", page(lambda text: text.replace(b"ET\n", b"ET\n0 0 m 9 9 l S\n", 1))),
    "pdf title": ("pdf", lambda content: re.sub(rb"/Title \([^)]", b"/Title (9", content)),
    "pdf junk": ("pdf", lambda _content: b"%PDF-1.4\njunk"),
    "pdf longer": ("pdf", lambda content: content + b"\n% 500 psi\n"),
}  # fmt: skip
NEUTRAL_FILES = {"3mf packed anew", "pdf longer", "dxf last digit"}
# One of each kind of file on every run; the rest with the long ones.
ALWAYS = {"stl moved", "3mf moved by a hair", "step size", "dxf text", "pdf of another",
          "3mf packed anew"}  # fmt: skip


@pytest.mark.parametrize(
    "what", [pytest.param(one, marks=() if one in ALWAYS else pytest.mark.slow) for one in FILE]
)
def test_an_edited_file_with_forged_sums_is_refused_or_changes_nothing(tmp_path, remade_once, what):
    kind, change = FILE[what]
    folder = copy_of(made(KIND), tmp_path)
    path = folder / FILES[kind]
    old = path.read_bytes()
    new = change(old)
    assert new != old
    path.write_bytes(new)
    body = record_of(folder)
    for row in body["files"]:
        if row["path"] == path.name:
            row["bytes"], row["sha256"] = len(new), hashlib.sha256(new).hexdigest()
    write_record(folder, body)
    if what not in NEUTRAL_FILES:
        assert held(folder) == "refused"
        return
    # The forged checksum stands in the record, whose own is told; nothing else of it is.
    files, *_ = shipped(folder)
    assert files == honest()[0]


@pytest.mark.slow
@pytest.mark.parametrize("name", ["sheet.html", "part.png", "drawing.svg", "notes.txt"])
def test_what_is_not_ordered_may_say_anything(tmp_path, remade_once, name):
    folder = copy_of(made(KIND), tmp_path)
    (folder / name).write_text("PASS, rated to 500 psi")
    assert held(folder) == "neutral"


def test_a_file_that_stands_there_and_is_in_no_record_is_refused(tmp_path, remade_once):
    folder = copy_of(made(KIND), tmp_path)
    (folder / "part_not_passed.step").write_bytes((folder / "part.step").read_bytes())
    assert held(folder) == "refused"
