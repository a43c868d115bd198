"""Standing here, this file puts tests/ on the path, so that tests can import example_shapes.

Random tests draw the same examples every time, so that a green suite stays green: what a wider
search finds becomes an example of its own. BARBWRIGHT_RANDOM=1 searches anew at every run.
"""

import contextlib
import hashlib
import math
import os
import pickle
import shutil
import subprocess
import tempfile
import time
import zlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import asdict, fields
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

settings.register_profile("same", derandomize=True, deadline=None)
settings.register_profile("searching", derandomize=False, deadline=None)
settings.load_profile("searching" if os.environ.get("BARBWRIGHT_RANDOM") else "same")

# Where time is bounded the slow set begins elsewhere at each commit, so that in turn all of it
# is run, and leaves out what would begin later than so many seconds after its start.
SLOW_SECONDS = float(os.environ.get("BARBWRIGHT_SLOW_SECONDS", "inf"))
_BEGAN = time.monotonic()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    if math.isinf(SLOW_SECONDS):
        return
    here = Path(__file__).parent
    told = subprocess.run(
        ["git", "rev-parse", "HEAD"], cwd=here, capture_output=True, text=True, check=False
    ).stdout
    # A file stays together: its tests share what its first one makes.
    items.sort(key=lambda item: zlib.crc32(f"{item.path.relative_to(here)} {told}".encode()))


def pytest_runtest_setup(item: pytest.Item) -> None:
    if time.monotonic() - _BEGAN > SLOW_SECONDS and item.get_closest_marker("slow"):
        pytest.skip(f"not begun within {SLOW_SECONDS:.0f} s")


_remade: dict[tuple[str, ...], Any] = {}


@pytest.fixture(scope="module")
def remade_once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """`order` makes each part again to compare: here once for all folders that hold one job.

    The same job gives the same bytes, which tests of `make` hold; a run in a process of its own
    takes the whole way.
    """
    from barbwright.jobs.make import made_again

    def again(plan: Any, _place: Path, formats: Any) -> Any:
        key = (plan.kind.name, plan.number, repr(asdict(plan.job)), *formats)
        if key not in _remade:
            _remade[key] = made_again(plan, tmp_path_factory.mktemp("again"), formats)
        return _remade[key]

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr("barbwright.order.subject.made_again", again)
        yield


@pytest.fixture(scope="module")
def models_once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Models and drawings of equal parts are written, re-read and measured once in a whole run.

    That a shape gives the same bytes whenever it is made is for tests/export and for the tests of
    `make` to say, which do without this. Where an order or a kit is looked at, copies do.
    """
    from barbwright.export import part
    from barbwright.jobs import ahead, make

    own = tmp_path_factory.getbasetemp()
    # Workers of one run have a folder each in one that is the run's.
    shared = (own.parent if "PYTEST_XDIST_WORKER" in os.environ else own) / "models"
    shared.mkdir(exist_ok=True)
    write = part._Models.write

    def once(models: Any, reader: Any) -> Any:
        told = (
            models.built.shape, sorted(models.formats), models.suffix, models.laying,
            models.material, models.sizes, models.again,
        )  # fmt: skip
        place = shared / hashlib.sha256(pickle.dumps(told)).hexdigest()
        if not place.exists():
            found = write(models, reader)
            made = Path(tempfile.mkdtemp(dir=shared))
            for name, _ in found[0]:
                shutil.copy2(models.staged / name, made)
            (made / "found").write_bytes(pickle.dumps(found))
            # The other worker may have been faster.
            with contextlib.suppress(OSError):
                made.rename(place)
            return found
        written, report = pickle.loads((place / "found").read_bytes())
        for name, _ in written:
            shutil.copy2(place / name, models.staged)
        return written, report

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(part._Models, "write", once)
        patched.setattr(part, "build", _Unbuilt)
        patched.setattr(make, "papers", _drawn_once(make.papers))
        # Drawings are drawn once anyway; a process for each would only load what draws.
        patched.setattr(make, "Ahead", lambda plan, _formats: ahead.Ahead(plan, ()))
        yield


_drawn: dict[tuple[str, str], bytes] = {}


def _drawn_once(papers: Callable[..., dict[str, Any]]) -> Callable[..., dict[str, Any]]:
    """Return the papers of a part, of which equal drawings are drawn once by a worker."""
    from barbwright.jobs.drawing import PartDrawing

    def once(name: str, paper: Any, told: str) -> Any:
        def drawn(*given: Any) -> bytes:
            if (told, name) not in _drawn:
                _drawn[told, name] = paper(*given)
            return _drawn[told, name]

        return drawn

    def wanted(plan: Any, *rest: Any) -> dict[str, Any]:
        told = repr(PartDrawing(plan)._subject)
        return {
            name: once(name, paper, told) if name.startswith("drawing") else paper
            for name, paper in papers(plan, *rest).items()
        }

    return wanted


class _Unbuilt:
    """A solid that is built when something of it is asked for."""

    def __init__(self, shape: Any) -> None:
        self.shape = shape

    def __getattr__(self, name: str) -> Any:
        from barbwright.solid.build import build

        built = build(self.shape)
        self.__dict__ |= {one.name: getattr(built, one.name) for one in fields(built)}
        return getattr(built, name)


_rated: dict[tuple[str, ...], Any] = {}


def _found_once(find: Callable[..., Any]) -> Callable[..., Any]:
    """Return a search that looks once for all equal parts, whatever the chain's own figures are."""
    from barbwright.job.record import Job

    def told(value: Any) -> str:
        if isinstance(value, Job):
            own = {field.name: getattr(value, field.name) for field in fields(value)}
            return repr({name: without_chain(one) for name, one in own.items()})
        return str([one.name for one in value]) if isinstance(value, list) else repr(value)

    def without_chain(own: Any) -> Any:
        if not isinstance(own, Mapping):
            return own
        return {name: one for name, one in own.items() if not str(name).startswith("chain_")}

    def found(kind: Any, *rest: Any, **options: Any) -> Any:
        key = (find.__name__, getattr(kind, "name", told(kind)), *map(told, rest), repr(options))
        if key not in _rated:
            _rated[key] = find(kind, *rest, **options)
        return _rated[key]

    return found


@pytest.fixture(scope="module")
def rated_once() -> Iterator[None]:
    """`rate` and a chain search a part's limits and the next larger tube: once for equal jobs.

    Of the same kind and job these give the same. For files whose tests add no records of tubes.
    """
    from barbwright.jobs import chain
    from barbwright.rating import rating

    searches = [(chain, name) for name in ("rate_drawn", "next_larger_tube", "widest_bore")]
    with pytest.MonkeyPatch.context() as patched:
        for module, name in (*searches, (rating, "rate_part")):
            patched.setattr(module, name, _found_once(getattr(module, name)))
        yield


@pytest.fixture(scope="module")
def no_cures() -> Iterator[None]:
    """What would cure a failing part is a long search: left out where verdicts alone are read."""
    from barbwright.rating import remedy

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(remedy, "cures", lambda *_job_and_kind: remedy.Cures(()))
        yield


@pytest.fixture(scope="module")
def one_process() -> Iterator[None]:
    """Make and measure in this process, which has kernel and readers loaded already.

    A process beside starts them anew for each part; that it measures the same is
    tests/reread's to say, and that two make the same kit as one is in the slow set.
    """
    from barbwright.jobs import build
    from barbwright.reread import worker

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(worker, "_start", lambda: None)
        patched.setitem(build.build_kit.__kwdefaults__, "processes", 1)
        yield
