"""One command in this process, with a stop-watch: what it said, and whether that is an answer."""

import resource
import signal
import time
from contextlib import contextmanager
from dataclasses import dataclass

from reach import figures

from barbwright.errors import has_odd_letters
from run_cli import Run, run

LONGEST_S = 30.0


class HungError(BaseException):
    """A command that did not end; no handler of ours may take it for something else."""


@contextmanager
def alarm(seconds):
    """Raise `HungError` when what stands inside takes too long, or waits for what never comes.

    Too long is meant of the processor, which a busy machine shares out; waiting of the clock.
    """

    def rung(_number, _frame):
        raise HungError

    timers = ((signal.SIGPROF, signal.ITIMER_PROF, 1.0), (signal.SIGALRM, signal.ITIMER_REAL, 20.0))
    before = [signal.signal(number, rung) for number, _, _ in timers]
    for _, timer, times in timers:
        signal.setitimer(timer, times * seconds)
    try:
        yield
    finally:
        for (number, timer, _), old in zip(timers, before, strict=True):
            signal.setitimer(timer, 0.0)
            signal.signal(number, old)


@dataclass(frozen=True)
class Timed:
    run: Run
    seconds: float
    hung: bool

    @property
    def fault(self):
        """What is wrong with how it ended; empty where nothing is."""
        said = self.run.out + self.run.err
        if self.hung:
            return "hangs"
        if self.run.code not in {0, 2, 3, 4}:
            return f"exit {self.run.code}"
        if self.run.err.startswith("unexpected:") or "\nunexpected:" in self.run.err:
            return "unexpected"
        if has_odd_letters(said):
            return "odd letters"
        if self.run.code == 2 and not self.run.err.strip():
            return "no word"
        return ""


def timed(*arguments):
    """Run a command in this process."""
    begun = time.process_time()
    try:
        with alarm(LONGEST_S):
            done, hung = run(*arguments), False
    except HungError:
        done, hung = Run(-1, "", ""), True
    return Timed(done, time.process_time() - begun, hung)


def peak_mb():
    """The most memory this process has had [MB]."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


class Tally:
    """What a part of the campaign counted, and what fell."""

    def __init__(self, name):
        self.name, self.fell, self.codes, self.seconds = name, [], {}, []

    def add(self, case, done, fault):
        self.codes[done.run.code] = self.codes.get(done.run.code, 0) + 1
        self.seconds.append(done.seconds)
        if fault:
            self.fell.append(f"{fault}: {case}: {done.run.err[-300:]!r}")

    def end(self):
        """Print the figures; fail where anything fell."""
        from barbwright.errors import escaped

        ranked = sorted(self.seconds)
        median, most = ranked[len(ranked) // 2], ranked[-1]
        figures(
            f"\ncampaign {self.name}: {len(ranked)} cases, "
            f"exit codes {dict(sorted(self.codes.items()))}, "
            f"processor {median * 1000:.0f} ms in the middle and {most * 1000:.0f} at most, "
            f"memory at most {peak_mb():.0f} MB, fell {len(self.fell)}"
        )
        assert not self.fell, "\n".join(escaped(one) for one in self.fell[:40])
