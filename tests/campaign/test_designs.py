"""10,000 designs over the whole input space: each ends in a verdict or a refusal with a way out."""

import re
import shutil
import subprocess
import time
import warnings
from collections import Counter
from contextlib import contextmanager
from statistics import mean
from unittest.mock import patch

from reach import FIRST, drawn, figures, many, only_full
from runs import HungError, alarm

from barbwright import catalog
from barbwright.design.part import FORCED_SIZES, KINDS
from barbwright.errors import BarbwrightError, NoSizeError
from barbwright.job.reading import read_job
from barbwright.jobs.make import make_part
from barbwright.jobs.plan import plan_part
from barbwright.jobs.record import document, dump
from barbwright.rating.remedy import Cures, cures
from barbwright.reread.worker import Rereader
from random_jobs import passes, retyped

NO_KIND_ALONE = {"driver", "fork", "collar"}


def design(random):
    """A kind, its inputs and its --set texts, up to and past sense."""
    kind = random.choice(sorted(KINDS))
    tube = random.choice([*catalog.tubes().values(), None, None, None])
    if tube is not None:
        options = {"tube": tube.name}
    else:
        inner = random.uniform(1.0, 20.0)
        options = {"tube_id": f"{inner:.2f}mm"}
        if random.random() < 0.7:
            options["tube_od"] = f"{inner + 2 * random.uniform(0.2, inner):.2f}mm"
            words = ["PE", "LLDPE", "HDPE", "nylon", "PU", "PVC", "silicone"]
            options["tube_material"] = random.choice(words)
            if random.random() < 0.3:
                options["shore"] = str(random.randint(20, 95))
    bits = [bit for bit in catalog.bits().values() if 0.5 <= bit.diameter_mm <= 30.0]
    psi = 10 ** random.uniform(-1, 3.2)
    options |= {
        "bit": random.choice(bits).name,
        "pressure": f"{psi:.2f}psi",
        "material": random.choice(sorted(catalog.materials())),
        "wood": random.choice([*catalog.woods(), "maple", "hardwood", "hardwood 0.9", None]),
        "bark": random.choice([None, "0mm", "3mm", "20mm", "2..15mm", "80mm"]),
        "temperature": random.choice([None, "-30C", "5C", "38C", "60C", "150C"]),
        "fluid": random.choice([None, *catalog.FLUID_CLASSES]),
        "relief": random.choice([None, None, f"{psi * random.uniform(0.9, 3):.2f}psi"]),
        "grade": random.choice([None, None, "1", "2", "3"]),
        "use": random.choice([None, None, None, "fit"]),
        "clamp": random.random() < 0.2,
    }
    texts = []
    for name in random.sample(sorted(FORCED_SIZES), random.choice((0, 0, 0, 1, 2, 4))):
        one = FORCED_SIZES[name]
        size = random.choice((one.least, one.most, random.uniform(one.least, one.most)))
        size = round(size) if one.whole else size
        texts.append(f"{name}={size:.4g}{'mm' if one.unit == 'mm' else ''}")
    return kind, options, tuple(texts)


def ended(kind, options, texts):
    """How a design ends: its plan, or the faults of its refusal; and the job where it was read."""
    job = None
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            job = read_job(options, settings=texts, needs_tip=KINDS[kind].needs_bit,
                           two_ends=KINDS[kind].two_ends)  # fmt: skip
            plan = plan_part(KINDS[kind], job)
            dump(document(plan, "check"))
            # A part for which no size exists either is told so beside its verdict.
            return plan, (plan.refusals, type(plan)) if plan.refusals else (), job
    except BarbwrightError as error:
        return None, (error.faults, type(error)), job


def fault_of(faults):
    """What a refusal lacks; empty where it has what, value or limit, and a way out."""
    for fault in faults:
        if not fault.what or not fault.do:
            return f"no way out: {fault}"
        if not fault.given and not fault.limit and not re.search(r"\d|missing", fault.what):
            return f"neither value nor limit: {fault}"
        if {"nan", "inf"} & set(re.findall(r"\w+", str(fault))):
            return f"no number: {fault}"
    return ""


# A remedy is a search of its own, a hundred times as long as a verdict: of so many designs one
# looks for it, and types back what it is told.
CURED = 25


@contextmanager
def cures_looked_for(number):
    if number % CURED == 0:
        yield
        return
    with patch("barbwright.rating.remedy.cures", lambda *_job_and_kind: Cures(())):
        yield


def test_any_design_ends_in_a_verdict_or_a_refusal_with_a_way_out():
    fell, counts, tried, cured = [], {}, 0, 0
    lasts = {True: [], False: []}
    for number in range(FIRST, FIRST + many(10_000)):
        case = design(drawn("designs", number))
        begun = time.process_time()
        try:
            with alarm(60.0), cures_looked_for(number):
                plan, refusal, job = ended(*case)
        except HungError:
            fell.append(f"hangs: {number} {case}")
            continue
        except Exception as error:
            fell.append(f"{type(error).__name__}: {error}: {number} {case}")
            continue
        lasts[number % CURED == 0].append(time.process_time() - begun)
        word = plan.verdict if plan is not None else refusal[1].__name__
        counts[word] = counts.get(word, 0) + 1
        if refusal and (lacks := fault_of(refusal[0])):
            fell.append(f"{lacks}: {number} {case}")
        # What it says would help must help, by the road a user takes.
        stuck = (plan is not None and not plan.passed) or (refusal and refusal[1] is NoSizeError)
        if job is not None and stuck and number % CURED == 0 and not job.fit_only:
            kind = case[0]
            for change in cures(job, KINDS[kind]).changes[:1]:
                tried += 1
                if kind not in NO_KIND_ALONE and passes(kind, retyped(kind, job, change)):
                    cured += 1
                elif kind not in NO_KIND_ALONE:
                    fell.append(f"remedy {change} does not help: {number} {case}")
    told = ", ".join(
        f"{'with' if looked else 'without'} remedies {len(times)} at {1000 * mean(times):.0f} ms "
        f"and {1000 * max(times):.0f} at most"
        for looked, times in lasts.items()
        if times
    )
    figures(f"\ncampaign designs: {sum(counts.values())} from {FIRST}, {counts}, {told} of "
          f"processor, remedies typed back {tried}, of which {cured} pass, fell {len(fell)}"
            )  # fmt: skip
    assert fell == [], "\n".join(fell[:30])


DEFECTS = ("Edges fixed", "Facets removed", "Facets added", "Facets reversed", "Backwards edges",
           "Normals fixed", "Degenerate facets")  # fmt: skip


def admesh_finds(stl):
    """What admesh would mend in a mesh; None where it is not installed."""
    if shutil.which("admesh") is None:
        return None
    # It prints a binary file's head with what follows it.
    said = subprocess.run(["admesh", str(stl)], capture_output=True, check=True)
    said = said.stdout.decode("ascii", errors="replace")
    found = {name: int(re.search(rf"{name}\s*:\s*(\d+)", said)[1]) for name in DEFECTS}
    found["parts"] = int(re.search(r"Number of parts\s*:\s*(\d+)", said)[1]) - 1
    return {name: count for name, count in found.items() if count}


def vtk_finds(stl):
    """Edges of a mesh that VTK counts as open, or as shared by more than two facets."""
    from vtkmodules.vtkFiltersCore import vtkFeatureEdges
    from vtkmodules.vtkIOGeometry import vtkSTLReader

    reader, edges = vtkSTLReader(), vtkFeatureEdges()
    reader.SetFileName(str(stl))
    edges.SetInputConnection(reader.GetOutputPort())
    edges.FeatureEdgesOff()
    edges.ManifoldEdgesOff()
    edges.Update()
    assert reader.GetOutput().GetNumberOfCells() > 100
    count = edges.GetOutput().GetNumberOfCells()
    return {"edges": count} if count else {}


def test_both_programs_find_a_hole_in_a_mesh(tmp_path):
    import trimesh

    ball = trimesh.creation.icosphere(subdivisions=2)
    ball.export(tmp_path / "whole.stl")
    ball.update_faces([place != 7 for place in range(len(ball.faces))])
    ball.export(tmp_path / "torn.stl")
    assert vtk_finds(tmp_path / "whole.stl") == {}
    assert vtk_finds(tmp_path / "torn.stl") == {"edges": 3}
    assert admesh_finds(tmp_path / "whole.stl") in ({}, None)
    assert admesh_finds(tmp_path / "torn.stl") != {}


@only_full
def test_what_is_built_is_verified_and_other_programs_find_it_sound(tmp_path):
    fell, kinds, judged, tried = [], Counter(), 0, FIRST
    asked = many(500, 0.016)
    with Rereader() as rereader:
        while kinds.total() < asked:
            random = drawn("built", tried)
            tried += 1
            case = design(random)
            plan, _, _ = ended(*case)
            if plan is None or plan.design is None:
                continue
            if {*plan.job.forced} - {*KINDS[case[0]].usable_sizes}:
                continue  # a size that this part has not: who makes it is told so
            folder = tmp_path / str(tried)
            try:
                made, _ = make_part(plan, folder, ("stl",), anyway=True, rereader=rereader)
            except BarbwrightError as error:
                if error.exit_code == 4:
                    fell.append(f"not built: {tried} {case}: {error}")
                    kinds[case[0]] += 1
                continue
            kinds[case[0]] += 1
            stl = next(made.glob("*.stl"))
            found = admesh_finds(stl)
            judged += found is not None
            if found or (found := vtk_finds(stl)):
                fell.append(f"{found}: {tried} {case}")
            shutil.rmtree(folder)
    figures(f"\ncampaign built from {FIRST} to {tried}: {dict(kinds)}, judged by VTK, "
            f"{judged} by admesh too, fell {len(fell)}")  # fmt: skip
    assert fell == [], "\n".join(fell[:20])
