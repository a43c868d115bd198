"""Made parts for the tests of order/: small ones, with their drawings, made once."""

import atexit
import json
import shutil
from functools import cache
from pathlib import Path
from tempfile import mkdtemp

from barbwright.design.part import KINDS
from barbwright.jobs.make import make_part
from barbwright.jobs.plan import plan_part
from barbwright.order.verify import VerifiedPart, verify_parts
from example_job import job_of

FORMATS = ("step", "stl", "3mf", "pdf", "dxf")


@cache
def made(kind: str = "barb", fluid: str = "water") -> Path:
    """Folder of a made part; a fluid that the material refuses gives one that did not pass."""
    plan = plan_part(KINDS[kind], job_of(kind, fluid=fluid))
    place = Path(mkdtemp(prefix="barbwright-test-"))
    atexit.register(shutil.rmtree, place, ignore_errors=True)
    return make_part(plan, place, FORMATS, anyway=True)[0]


@cache
def verified(folder: Path) -> VerifiedPart:
    """A part verified once, for tests of what comes after."""
    return verify_parts([folder])[0]


def copy_of(folder: Path, target: Path) -> Path:
    """A copy that a test may spoil."""
    return Path(shutil.copytree(folder, target / folder.name))


def record_of(folder: Path) -> dict:
    return json.loads(next(folder.glob("part*.json")).read_text())


def write_record(folder: Path, body: dict) -> None:
    next(folder.glob("part*.json")).write_text(json.dumps(body))
