"""A whole kit: its chain, every part in its quantity, its pages, in one folder.

What is there and unchanged is kept: the same inputs, the same versions, every file as it was
written. Parts are made by two processes; each part's folder is put in place whole and each page
is renamed into place, so an interrupt leaves nothing half made.
"""

from __future__ import annotations

import hashlib
import json
import queue
import shutil
import threading
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from barbwright.design.conditions import GRADES
from barbwright.design.part import KINDS
from barbwright.errors import BarbwrightError, CheckFailedError, Fault, InputError, NoSizeError
from barbwright.job.reading import read_job, read_job_for
from barbwright.job.texts import FromFile
from barbwright.jobs.chain import ChainJob, plan_chain
from barbwright.jobs.grades import graded_set
from barbwright.jobs.kitfile import CHAIN_PARTS, KitFile, PartOrder
from barbwright.jobs.made_for import for_kind, served
from barbwright.jobs.make import ALL_FORMATS, NOT_PASSED, folder_name, in_language, make_part
from barbwright.jobs.plan import Plan, plan_part
from barbwright.jobs.record import document, failure, part_record

if TYPE_CHECKING:
    from barbwright.report.chain_pages import FrontPart, KitReport

PROCESSES = 2
# Folder, quantity, spares and note of a part.
OrderLine = tuple[Path, int, int, str]
State = Literal["made", "remade", "kept"]
_TICK_S = 0.2

# One comes with every kit that has a tip, unless the kit says another number.
KIT_TOOLS = ("driver", "fork")


@dataclass(frozen=True)
class KitPlan:
    """Every part of a kit, designed and judged.

    Attributes
    ----------
    kit : KitFile
        The kit.
    parts : tuple of (PartOrder, Plan)
        What to print, with quantities from the chain where the kit leaves them to it.
    chain : ChainJob or None
        Its chain, not yet solved.
    warnings : tuple of str
        What must be said loudly.
    """

    kit: KitFile
    parts: tuple[tuple[PartOrder, Plan], ...]
    chain: ChainJob | None = None
    warnings: tuple[str, ...] = ()

    @property
    def passed(self) -> bool:
        """Whether no check of any part fails."""
        return all(part.passed for _, part in self.parts)


@dataclass(frozen=True, kw_only=True)
class BuiltPart:
    """One part of a kit on disk.

    Attributes
    ----------
    order : PartOrder
        How many.
    plan : Plan
        Design and verdict.
    folder : Path
        Its folder.
    body : dict
        Its document, with ``quantity``, ``spares`` and ``state``.
    state : {"made", "remade", "kept"}
        What was done.
    because : str
        Why it was made again.
    """

    order: PartOrder
    plan: Plan
    folder: Path
    body: dict[str, Any]
    state: State
    because: str = ""


@dataclass(frozen=True)
class BuiltPage:
    """One page of a kit on disk: its path and what was done."""

    path: Path
    state: State
    bytes: int
    sha256: str

    def as_dict(self) -> dict[str, Any]:
        """Return it as it stands in the JSON document."""
        kind = self.path.suffix.lstrip(".")
        return {
            "path": str(self.path), "format": kind, "unit": "", "bytes": self.bytes,
            "sha256": self.sha256, "state": self.state,
        }  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class BuiltKit:
    """A kit on disk.

    Attributes
    ----------
    folder : Path
        The kit's folder.
    parts : tuple of BuiltPart
        In the kit's order.
    pages : tuple of BuiltPage
        The chain's page, its plots, the cards.
    chain : dict or None
        The chain's document.
    left_over : tuple of Path
        Part folders that are no longer part of this kit; they are left alone.
    """

    folder: Path
    parts: tuple[BuiltPart, ...]
    pages: tuple[BuiltPage, ...]
    chain: dict[str, Any] | None
    left_over: tuple[Path, ...]


def plan_kit(
    kit_file: KitFile, options: Mapping[str, Any], settings: tuple[str, ...] = ()
) -> KitPlan:
    """Return every part of a kit designed and judged, all faults at once.

    Parameters
    ----------
    kit_file : KitFile
        The kit.
    options : mapping
        Inputs that win over the kit's.
    settings : tuple of str
        ``name=value`` texts of --set.

    Raises
    ------
    InputError, NoSizeError
        When an input is wrong, or a part has no size.
    """
    faults: list[Fault] = []
    if str(options.get("use") or kit_file.job.get("use", "")).casefold() == "fit":
        what = "a kit is for trees: none is built for fit alone"
        raise InputError(Fault(what, "use fit", do="make its parts one by one, with --use fit"))
    chain = None
    kinds: set[type[BarbwrightError]] = set()
    if kit_file.chain:
        try:
            job = read_job(options, _chain_table(kit_file), settings=settings)
            spares = {row.kind: row.spares for row in kit_file.parts}
            chain = plan_chain(job, {}, kit_file.chain, spares=spares)
        except CheckFailedError:
            # Without a size there is no chain either; the part says so below, with its remedy.
            chain = None
        except BarbwrightError as error:
            faults += error.faults
            kinds.add(type(error))
    orders, warnings = _orders(kit_file, chain)
    hosts = served(order.kind for order in orders)
    ours = {order.kind for order in kit_file.parts}
    parts: list[tuple[PartOrder, Plan]] = []
    for order in orders:
        kind = KINDS[order.kind]
        try:
            job = read_job_for(
                kind,
                options,
                # A tool is made for the graded part as well.
                _table(kit_file, order) if kind.host is None else _chain_table(kit_file),
                settings=settings,
            )
            made = graded_set(kind, job) if order.grades else [job]
            if kind.host is not None and hosts:
                # A drill stop follows from the bit alone; what meets the part, from each of them.
                each = hosts if order.kind in KIT_TOOLS else hosts[:1]
                made = [for_kind(job, host) for host in each]
            for one in made:
                plan = plan_part(kind, one)
                # A tool that came unasked may be left out; a part of the chain never is.
                if not plan.passed and order.kind not in ours and kind.host is not None:
                    warnings.append(_without(order.kind, "it does not pass its checks"))
                    continue
                parts.append((order, plan))
        except NoSizeError as error:
            if order.kind not in ours and kind.host is not None:
                # The part it is for says why; alone it must not stop the kit.
                warnings.append(_without(order.kind, "no size of it works"))
                continue
            faults += [fault.at(order.kind) for fault in error.faults]
            kinds.add(NoSizeError)
        except BarbwrightError as error:
            faults += error.faults
            kinds.add(type(error))
    if faults:
        raise _worst(kinds)(dict.fromkeys(faults))
    said = dict.fromkeys(text for _, part in parts for text in part.job.said)
    if chain is not None:
        said |= dict.fromkeys(chain.warnings)
    return KitPlan(kit_file, tuple(parts), chain, (*said, *warnings))


def _table(kit_file: KitFile, order: PartOrder) -> FromFile:
    """Return the kit's inputs for one of its parts: the grade that its row says wins."""
    return kit_file.job.having(grade=str(order.grade)) if order.grade else kit_file.job


def _chain_table(kit_file: KitFile) -> FromFile:
    """Return the kit's inputs for its chain, whose cards speak for a graded part's shorter seat.

    All grades are judged on one size, so any of them speaks for a set.
    """
    named = {order.kind: order for order in kit_file.parts}
    for order in (named[kind] for kind in reversed(CHAIN_PARTS) if kind in named):
        if order.grade or order.grades:
            return _table(kit_file, replace(order, grade=order.grade or GRADES // 2 + 1))
    return kit_file.job


def _without(tool: str, why: str) -> str:
    """Return the warning that a kit goes without a tool of its own."""
    return f"no {tool} in this kit: {why}; `barbwright check {tool} --for PART` says more"


def _worst(kinds: set[type[BarbwrightError]]) -> type[BarbwrightError]:
    return InputError if InputError in kinds else next(iter(kinds))


def _orders(kit_file: KitFile, chain: ChainJob | None) -> tuple[list[PartOrder], list[str]]:
    """Return what to print: the kit's own numbers, else those of its chain."""
    needed: dict[str, tuple[int, int]] = {}
    if chain is not None:
        plan = chain.plan
        tees = plan.ports - 1
        needed = {"tee": (tees, plan.spare_tees or 0), "elbow": (1, plan.spare_elbows or 0)}
    elif kit_file.chain:
        needed = {"tee": (1, 0), "elbow": (1, 0)}
    named = {order.kind: order for order in kit_file.parts}
    rows = [named.get(kind) or PartOrder(kind=kind) for kind in CHAIN_PARTS if kind in needed]
    rows += [order for order in kit_file.parts if order.kind not in needed]
    orders, warnings = [], []
    for row in rows:
        asked, spares = needed.get(row.kind, (0, 0))
        quantity = asked if row.quantity is None else row.quantity
        spares = spares if row.quantity is None and row.spares is None else row.spares or 0
        if chain is not None and quantity + spares < asked:
            warnings.append(
                f"the chain needs {asked} of {row.kind}, and the kit prints {quantity + spares}"
            )
        if quantity + spares > 0:
            orders.append(replace(row, quantity=quantity, spares=spares))
            if row.grades:
                warnings.append(
                    f"{row.kind}: {quantity + spares} of each of {GRADES} grades are printed; one "
                    "of each tells which fits, and `grade` in the kit then prints that one alone"
                )
    if served(order.kind for order in orders):
        # What is tapped in is tapped and freed with something.
        orders += [
            PartOrder(kind=tool, quantity=1, spares=0) for tool in KIT_TOOLS if tool not in named
        ]
    return orders, warnings


def failed_parts(plan: KitPlan) -> CheckFailedError:
    """Return the error that says, part by part, which checks of a kit fail.

    Parameters
    ----------
    plan : KitPlan
        The kit, designed and judged.
    """
    told: dict[str, tuple[list[str], Fault]] = {}
    for _, part in plan.parts:
        if part.passed:
            continue
        for fault in failure(part).faults:
            told.setdefault(str(fault), ([], fault))[0].append(part.kind.name)
    return CheckFailedError(
        fault.at(", ".join(dict.fromkeys(kinds))) for kinds, fault in told.values()
    )


def build_kit(
    plan: KitPlan,
    output: Path,
    formats: Collection[str] = ALL_FORMATS,
    *,
    force: bool = False,
    anyway: bool = False,
    language: str = "",
    processes: int = PROCESSES,
    progress: Callable[[str], None] = lambda _: None,
    finished: Callable[[str, State], None] = lambda _name, _state: None,
    pack: Callable[[Sequence[BuiltPart]], Sequence[str]] = lambda _parts: (),
) -> BuiltKit:
    """Make what of a kit is missing or has changed.

    Parameters
    ----------
    plan : KitPlan
        The kit, designed and judged.
    output : Path
        Folder that holds the kit's own folder.
    formats : collection of str
        Which files to write.
    force : bool
        Make every part again, whatever is there.
    anyway : bool
        Write parts that fail a check, marked as not passed.
    language : str
        In which cards and sheets are written beside English, one of `catalog.languages()`.
    processes : int
        How many parts are made at the same time; 1 makes them in this process [-].
    progress : callable
        Told the part number when a part is begun.
    finished : callable
        Told the part number, or a page's name, and what was done.
    pack : callable
        Given the parts as they stand, packs the order and
        returns the names of its files; the front page, which is written last, leads to them.

    Returns
    -------
    BuiltKit
        Parts and pages, each with what was done.

    Raises
    ------
    CheckFailedError
        When any part fails a check and ``anyway`` was not given; nothing is
        written then.
    BuildError
        When a part cannot be built, written or verified; parts that were
        finished stay.
    """
    failed = [part for _, part in plan.parts if not part.passed]
    if failed and (not anyway or any(part.design is None for part in failed)):
        raise failed_parts(plan)
    folder = Path(output) / plan.kit.name
    formats = in_language(formats, language)
    reasons = [_why(part, folder / folder_name(part), formats, force) for _, part in plan.parts]
    found: dict[int, tuple[Path, dict[str, Any]]] = {}
    for index, reason in enumerate(reasons):
        if reason == "":
            _, part = plan.parts[index]
            found[index] = folder / folder_name(part), _kept_body(part, folder)
            finished(part.number, "kept")
    to_make = [index for index, reason in enumerate(reasons) if reason != ""]

    def state(index: int) -> State:
        return "kept" if reasons[index] == "" else "made" if reasons[index] == NEW else "remade"

    def done(index: int, result: tuple[Path, dict[str, Any]]) -> None:
        found[index] = result
        finished(plan.parts[index][1].number, state(index))

    jobs = {index: plan.parts[index][1] for index in to_make}
    pages = _Pages(plan, formats, language)
    if len(jobs) > 1 and processes > 1:
        _make_together(jobs, folder, formats, anyway, min(processes, len(jobs)), progress, done,
                       pages.prepare)  # fmt: skip
    else:
        _make_here(jobs, folder, formats, anyway, progress, done)
    pages.prepare()
    written = [
        _write_page(folder / name, content, finished) for name, content in pages.contents.items()
    ]
    parts = []
    for index, (order, part) in enumerate(plan.parts):
        place, body = found[index]
        more = {"quantity": order.quantity, "spares": order.spares, "state": state(index)}
        because = reasons[index] if state(index) == "remade" else ""
        parts.append(
            BuiltPart(
                order=order,
                plan=part,
                folder=place,
                body={**body, **more},
                state=state(index),
                because=because,
            )
        )
    packed = pack(parts)
    for name, content in pages.crew(parts, packed).items():
        written.append(_write_page(folder / name, content, finished))
    ours = {part.folder.name for part in parts}
    left_over = sorted({path.parent for path in folder.glob("[!.]*/part*.json")})
    return BuiltKit(
        folder=folder,
        parts=tuple(parts),
        pages=tuple(written),
        chain=pages.document,
        left_over=tuple(path for path in left_over if path.name not in ours),
    )


# --- what is there already -------------------------------------------------------------------

NEW = "it was not there"


def _why(plan: Plan, folder: Path, formats: Collection[str], force: bool) -> str:
    """Return why a part must be made; empty where it is there and unchanged."""
    if not folder.is_dir() or not any(folder.iterdir()):
        return NEW
    record = _record_of(plan, folder)
    if record is None:
        if force:
            return "there was no part.json of ours"
        raise InputError(
            Fault(
                "the part's folder is there, but no part.json of ours is in it",
                given=str(folder),
                do="--force to remake it, or another folder with -o",
            )
        )
    if force:
        return "--force was given"
    now = json.loads(part_record(plan, []))
    changed = [key for key in now if key != "files" and record.get(key) != now[key]]
    if "versions" in changed:
        return "it was made with other versions"
    # What finite elements found is the user's own addition, and follows from all the rest.
    if changed or set(record) - {"finite_elements"} != set(now):
        return f"its {', '.join(changed) or 'record'} changed"
    files = record["files"]
    there = {file.get("format") for file in files}
    there |= {part for file in files for part in str(file.get("path")).split(".")[1:-1]}
    missing = set(formats) - there
    if missing:
        return f"{', '.join(sorted(missing))} was not written"
    for file in files:
        path = folder / Path(str(file.get("path"))).name
        if not path.is_file():
            return f"{path.name} is missing"
        content = path.read_bytes()
        if (len(content), _sha256(content)) != (file.get("bytes"), file.get("sha256")):
            return f"{path.name} is not as it was written"
    return ""


def _record_of(plan: Plan, folder: Path) -> dict[str, Any] | None:
    try:
        body = json.loads(_record_path(plan, folder).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    good = isinstance(body, dict) and isinstance(body.get("files"), list)
    good = good and all(isinstance(file, dict) for file in body["files"]) and "job" in body
    return body if good else None


def _record_path(plan: Plan, folder: Path) -> Path:
    suffix = folder_name(plan).removeprefix(plan.number)
    return folder / f"part{suffix}.json"


def _kept_body(plan: Plan, kit_folder: Path) -> dict[str, Any]:
    """Return the document of a part that was kept, as its making would have."""
    folder = kit_folder / folder_name(plan)
    path = _record_path(plan, folder)
    content = path.read_bytes()
    files = [
        {**file, "path": str(folder / Path(file["path"]).name)}
        for file in json.loads(content)["files"]
    ]
    own = {"path": str(path), "format": "json", "unit": "", "bytes": len(content),
           "sha256": _sha256(content)}  # fmt: skip
    return document(plan, "make", [*files, own])


def _sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


# --- making ----------------------------------------------------------------------------------


def _named(part: Plan, error: BarbwrightError) -> BarbwrightError:
    return type(error)(fault.at(part.kind.name) for fault in error.faults)


Done = Callable[[int, tuple[Path, dict[str, Any]]], None]


def _make_here(
    jobs: Mapping[int, Plan],
    folder: Path,
    formats: Collection[str],
    anyway: bool,
    progress: Callable[[str], None],
    done: Done,
) -> None:
    if not jobs:
        return
    from barbwright.reread.worker import Rereader

    with Rereader() as rereader:
        for index, part in jobs.items():
            progress(part.number)
            try:
                result = make_part(
                    part, folder, formats, force=True, anyway=anyway, rereader=rereader
                )
            except BarbwrightError as error:
                raise _named(part, error) from error
            done(index, result)


def _make_together(
    jobs: Mapping[int, Plan],
    folder: Path,
    formats: Collection[str],
    anyway: bool,
    processes: int,
    progress: Callable[[str], None],
    done: Done,
    meanwhile: Callable[[], None],
) -> None:
    """Make parts in worker processes; each is served by a thread that waits for its answers."""
    from barbwright.jobs.worker import PartWorker

    waiting: queue.SimpleQueue[int] = queue.SimpleQueue()
    events: queue.SimpleQueue[tuple[str, int, Any]] = queue.SimpleQueue()
    stop = threading.Event()
    for index in jobs:
        waiting.put(index)
    # The folder is made here once, so that a bad place is one clear fault and not one a part.
    workers = [PartWorker() for _ in range(processes)]

    def serve(worker: PartWorker) -> None:
        while not stop.is_set():
            try:
                index = waiting.get_nowait()
            except queue.Empty:
                break
            events.put(("begun", index, None))
            try:
                result = worker.make(jobs[index], folder, formats, force=True, anyway=anyway)
                events.put(("done", index, result))
            except BaseException as error:
                stop.set()
                events.put(("failed", index, error))
        events.put(("idle", -1, None))

    threads = [threading.Thread(target=serve, args=(w,), daemon=True) for w in workers]
    failures: list[tuple[int, BaseException]] = []
    try:
        for thread in threads:
            thread.start()
        meanwhile()
        running = len(threads)
        while running:
            try:
                event, index, value = events.get(timeout=_TICK_S)
            except queue.Empty:
                continue
            if event == "begun":
                progress(jobs[index].number)
            elif event == "done":
                done(index, value)
            elif event == "failed":
                failures.append((index, value))
            else:
                running -= 1
    except BaseException:
        stop.set()
        for worker in workers:
            worker.interrupt()
        raise
    finally:
        for worker in workers:
            worker.close()
        if stop.is_set():
            _sweep(folder, jobs.values())
    if failures:
        _raise_failures(jobs, failures)


def _raise_failures(jobs: Mapping[int, Plan], failures: list[tuple[int, BaseException]]) -> None:
    known = [
        _named(jobs[index], error)
        for index, error in failures
        if isinstance(error, BarbwrightError)
    ]
    if not known:
        raise failures[0][1]
    raise type(known[0])(dict.fromkeys(fault for error in known for fault in error.faults))


def _sweep(folder: Path, parts: Iterable[Plan]) -> None:
    """Remove what a process that had to be killed could not: its folder that is not in place."""
    for part in parts:
        for left in folder.glob(f".{folder_name(part)}-new-*"):
            shutil.rmtree(left, ignore_errors=True)


# --- pages -----------------------------------------------------------------------------------


class _Pages:
    """The kit's pages as bytes, made while the parts are; written once all parts stand."""

    def __init__(self, plan: KitPlan, formats: Collection[str], language: str) -> None:
        self._plan = plan
        self._formats = formats
        self._language = language
        self._report: KitReport | None = None
        self.contents: dict[str, bytes] = {}
        self.document: dict[str, Any] | None = None

    @property
    def _suffix(self) -> str:
        return "" if self._plan.passed else NOT_PASSED

    def prepare(self) -> None:
        """Solve the chain and lay out the pages, once."""
        chain = self._plan.chain
        if self._report is not None or chain is None:
            return
        from barbwright.jobs.chain_document import chain_document
        from barbwright.jobs.chain_report import kit_report
        from barbwright.report import chain_pages, chain_plots

        result = chain.solve()
        suffix = self._suffix
        others = [part for _, part in self._plan.parts if part.kind.name not in CHAIN_PARTS]
        pieces = {
            part.number: (order.quantity or 0) + (order.spares or 0)
            for order, part in self._plan.parts
        }
        report = kit_report(self._plan.kit, chain, result, others, self._plan.warnings, pieces)
        found = {
            f"chain{suffix}.html": chain_pages.chain_page(report),
            f"chain{suffix}.svg": chain_plots.pressure_and_flow_svg(result),
        }
        vessel = chain_plots.vessel_pressure_svg(result)
        if vessel is not None:
            found[f"chain_vessel{suffix}.svg"] = vessel
        self.contents, self._report = found, report
        self.document = chain_document(chain, result, self._plan.kit.name)

    def crew(self, parts: Sequence[BuiltPart], packed: Sequence[str]) -> dict[str, bytes]:
        """Return cards and front page by their names; none for a kit without a chain."""
        if self._report is None:
            return {}
        from barbwright.report import chain_pages

        language = self._language
        kit = chain_pages.CrewKit(
            report=self._report,
            parts=tuple(self._shown(part, self._report) for part in parts),
            packed=tuple(packed),
            suffix=self._suffix,
        )
        found = chain_pages.crew_pages(kit, language)
        return found | (chain_pages.crew_pages_in(language, kit) if language else {})

    def _shown(self, part: BuiltPart, report: KitReport) -> FrontPart:
        from barbwright.report.chain_pages import FrontPart

        return FrontPart(
            title=part.plan.kind.title[:1].upper() + part.plan.kind.title[1:],
            kind=part.plan.kind.name,
            number=part.plan.number,
            verdict=part.plan.verdict if part.plan.passed else "not_passed",
            pieces=report.pieces[part.plan.number],
            proved=bool(part.plan.proved_in_field),
            files=tuple(
                f"{part.folder.name}/{Path(file['path']).name}" for file in part.body["files"]
            ),
        )


def _write_page(path: Path, content: bytes, finished: Callable[[str, State], None]) -> BuiltPage:
    """Write a page aside and rename it into place; one that is the same is left alone."""
    from barbwright.export.door import write_bytes

    state: State = "made"
    if path.is_file():
        state = "kept" if path.read_bytes() == content else "remade"
    if state != "kept":
        write_bytes(path, content)
    finished(path.name, state)
    return BuiltPage(path, state, len(content), _sha256(content))


def order_lines(parts: Iterable[BuiltPart]) -> Sequence[OrderLine]:
    """Return folder, quantity, spares and note of each part, as an order wants them.

    Parameters
    ----------
    parts : iterable of BuiltPart
        Of a kit on disk.
    """
    return [
        (part.folder, part.order.quantity or 0, part.order.spares or 0, part.order.note)
        for part in parts
    ]
