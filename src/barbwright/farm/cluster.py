"""Parts made by many processes: an existing engine, dask.distributed, hands them out.

By itself it starts a process a core on this machine; `--scheduler` takes a cluster that is
there. What is finished stands on disk and in no worker's memory, so nothing is lost with one.
"""

from __future__ import annotations

import logging
import os
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any

from barbwright.errors import BuildError, Fault, InputError
from barbwright.farm.make import make_one, misfit, own_stamp
from barbwright.farm.parts import Done, Wanted

# Parts that wait at each worker beside the one it makes: enough that none is ever idle.
_AHEAD = 2
# So often a part is given to another worker, where a worker's own disk or end was the reason.
_TRIES = 3
# How long a scheduler may be away before the run ends, resumable [s].
_PATIENCE_S = 60.0
_NO_DASK = Fault(
    "making a catalogue needs dask.distributed",
    do="pip install 'barbwright[farm]', or judge alone with --dry-run",
)


class SchedulerGoneError(Exception):
    """The scheduler answers no more; what is finished stands on disk."""


def _import() -> Any:
    try:
        import dask
        import distributed
    except ImportError:
        raise InputError(_NO_DASK) from None
    # Its own words about a worker that ended are long and alarming; ours are short.
    logging.getLogger("distributed").setLevel(logging.CRITICAL)
    for name in ("distributed.nanny", "distributed.scheduler", "distributed.worker",
                 "distributed.client", "distributed.core", "distributed.comm"):  # fmt: skip
        logging.getLogger(name).setLevel(logging.CRITICAL)
    # A worker's profiler looks at every frame of it a hundred times a second: a third more
    # processor time a part. The workers that we start are told too.
    dask.config.set(
        {"distributed.comm.timeouts.connect": "10s", "distributed.worker.profile.enabled": False}
    )
    return distributed


def make_all(
    parts: Sequence[Wanted],
    home: Path,
    formats: tuple[str, ...],
    *,
    scheduler: str | None,
    workers: int | None,
    said: Callable[[str], None],
) -> Iterator[Done]:
    """Make parts on a cluster, in whatever order they are finished.

    Parameters
    ----------
    parts : sequence of Wanted
        What to make.
    home : Path
        The catalogue's folder, which every worker sees under this path.
    formats : tuple of str
        Which files.
    scheduler : str or None
        Address of one that is there, ``tcp://host:8786``; None starts one here.
    workers : int or None
        Processes to start here; None is one a core [-].
    said : callable
        Told what the user should know while it goes on.

    Yields
    ------
    Done
        Each part once.

    Raises
    ------
    InputError
        When there is no such cluster, or its workers don't fit.
    BuildError
        When it can't go on; what is finished stays.
    """
    distributed = _import()
    left = {part.index: part for part in parts}
    while left:
        try:
            with _client(distributed, scheduler, workers) as client:
                for done in _round(distributed, client, list(left.values()), home, formats):
                    del left[done.index]
                    yield done
        except SchedulerGoneError:
            if scheduler is None:
                raise BuildError(
                    Fault("the local cluster ended by itself", do="run it again")
                ) from None
            said(f"{scheduler} has gone; waiting up to {_PATIENCE_S:.0f} s for it to come back")


@contextmanager
def _client(distributed: Any, scheduler: str | None, workers: int | None) -> Iterator[Any]:
    """Lend a client of the cluster, its workers looked at."""
    with ExitStack() as stack:
        if scheduler is None:
            aside = stack.enter_context(tempfile.TemporaryDirectory(prefix="barbwright-farm-"))
            cluster = stack.enter_context(
                distributed.LocalCluster(
                    n_workers=workers or os.cpu_count() or 1,
                    threads_per_worker=1,
                    processes=True,
                    host="127.0.0.1",
                    dashboard_address=None,
                    local_directory=aside,
                    silence_logs=logging.CRITICAL,
                )
            )
            client = distributed.Client(cluster, set_as_default=False)
        else:
            client = _connected(distributed, scheduler)
        stack.callback(client.close)
        yield client


def _connected(distributed: Any, address: str) -> Any:
    """Return a client of a scheduler that is there, or may be restarting."""
    end, error = time.monotonic() + _PATIENCE_S, ""
    while True:
        try:
            return distributed.Client(address, timeout=10, set_as_default=False)
        except (OSError, TimeoutError) as found:
            error = str(found) or type(found).__name__
        except ValueError as found:
            raise InputError(
                Fault("--scheduler is no address", given=str(found), do="such as tcp://host:8786")
            ) from None
        if time.monotonic() > end:
            do = "start it (`dask scheduler`), then run the same again: what is finished is kept"
            raise BuildError(Fault("no scheduler answers", f"{address}: {error}", do=do))
        time.sleep(1.0)


def _require_fit(client: Any, home: Path) -> None:
    """Refuse workers that would make other bytes, or could not put them anywhere."""
    end = time.monotonic() + _PATIENCE_S
    while not (known := client.scheduler_info(n_workers=-1)["workers"]):
        if time.monotonic() > end:
            do = "start some: dask worker ADDRESS --nthreads 1"
            raise BuildError(Fault("the scheduler has no workers", do=do))
        time.sleep(0.5)
    faults = [
        Fault(
            "a worker has more than one thread",
            given=f"{one.get('name', address)}: {one['nthreads']}",
            limit="1: the CAD kernel shares state between threads",
            do="start it with --nthreads 1, and more workers in its place",
        )
        for address, one in known.items()
        if one["nthreads"] != 1
    ]
    if not faults:
        try:
            answers = client.run(misfit, home, own_stamp(), on_error="return")
        except ModuleNotFoundError as error:
            answers = {"": error}
        for address, answer in answers.items():
            if isinstance(answer, BaseException):
                answer = f"{type(answer).__name__}: {answer}"
            if answer:
                do = "give every worker this installation, these profiles and this folder"
                faults.append(Fault(answer, given=address, do=do))
    if faults:
        raise InputError(faults)


def _task(home: Path, part: Wanted, formats: tuple[str, ...], stamp: str) -> Done:
    """Make one part, in a worker."""
    from distributed import get_worker

    # A worker that came later was not looked at when the run began.
    if get_worker().state.nthreads != 1:
        because = "a worker with more than one thread came: start it with --nthreads 1"
        return Done(index=part.index, because=because, stop=True)
    return make_one(home, part, formats, stamp)


def _round(
    distributed: Any, client: Any, parts: list[Wanted], home: Path, formats: tuple[str, ...]
) -> Iterator[Done]:
    """Hand parts out, a few ahead, until all are told or the scheduler has gone."""
    _require_fit(client, home)
    stamp, tried = own_stamp(), dict.fromkeys((part.index for part in parts), 0)
    waiting, under_way = list(reversed(parts)), {}
    pool = distributed.as_completed([], loop=client.loop)

    def hand_out(part: Wanted) -> None:
        tried[part.index] += 1
        name = f"barbwright-{part.index}-{tried[part.index]}-{time.monotonic_ns()}"
        future = client.submit(_task, home, part, formats, stamp, key=name, pure=False)
        under_way[future.key] = part
        pool.add(future)

    def fill() -> None:
        room = (1 + _AHEAD) * max(len(client.scheduler_info(n_workers=-1)["workers"]), 1)
        while waiting and len(under_way) < room:
            hand_out(waiting.pop())

    fill()
    while under_way:
        future = next(pool)
        part = under_way.pop(future.key)
        done = _answer(distributed, client, future, part)
        if done.stop:
            raise BuildError(Fault(done.because, do="mend it, then run the same again"))
        if done.elsewhere and tried[part.index] < _TRIES:
            hand_out(part)
        elif done.elsewhere:
            do = "make room on its disk, then run the same again: what is finished is kept"
            raise BuildError(Fault(f"a part failed {_TRIES} times", done.because, do=do))
        else:
            yield done
        fill()


def _answer(distributed: Any, client: Any, future: Any, part: Wanted) -> Done:
    """Return what became of a part that is no longer under way."""
    if future.status == "finished":
        try:
            done: Done = future.result(timeout=30)
        except (OSError, TimeoutError, distributed.client.FutureCancelledError) as error:
            raise SchedulerGoneError from error
        return done
    if future.status == "error":
        failed = future.exception(timeout=30)
        if isinstance(failed, distributed.KilledWorker):
            because = "each worker that was at it ended without a word (memory, or a crash)"
            return Done(index=part.index, because=because)
        return Done(
            index=part.index, because=f"{type(failed).__name__}: {failed}; please report it"
        )
    raise SchedulerGoneError
