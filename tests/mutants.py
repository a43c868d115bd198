"""Mutation of equations/ and checks/: cosmic-ray's operators, one mutant a site, drawn by a seed.

    .venv/bin/pip install cosmic-ray && .venv/bin/python tests/mutants.py

All sites of the equations that decide a verdict, and BARBWRIGHT_MUTANTS (400) of the other ones;
words after the command name files instead, of which all sites are taken. What lives is printed
with its line. cosmic-ray starts a suite for each mutant, minutes of it; here the tests of the two
rooms and of the books are collected once, and run once to note which functions each of them calls
and how long it takes. Then each mutant is a fork of that process with the code of one function
exchanged, in which the tests that call it run, the quickest first.
What a module does while it is imported (defaults, decorators, constants) is mutated in a fork that
has not imported us yet.
"""

import ast
import gc
import importlib.abc
import importlib.util
import json
import os
import resource
import signal
import sys
import time
from pathlib import Path
from random import Random
from types import CodeType, FunctionType

import pytest

ROOT = Path(__file__).parents[1]
SOURCE = ROOT / "src" / "barbwright"
TESTS = ("tests/equations", "tests/published", "tests/checks")
DECIDING = ("blow", "column", "contact", "crossing", "cylinder", "energy", "grip", "seat", "vessel")
SEED = os.environ.get("BARBWRIGHT_CAMPAIGN_SEED", "19")
OTHERS = int(os.environ.get("BARBWRIGHT_MUTANTS", "400"))
# Processor seconds of one mutant that no test has killed: it lives, or never ends, which is said.
MOST_S = int(os.environ.get("BARBWRIGHT_MUTANT_SECONDS", "120"))
QUIET = ("-q", "-n0", "-p", "no:cacheprovider", "-x")


def sites(path):
    """Of one file, the mutants of each place that a test could tell, cosmic-ray's own count."""
    from cosmic_ray.commands.init import _all_work_items

    text = path.read_text(encoding="utf-8")
    lines = text.splitlines()
    # An annotation is never evaluated here.
    silent = [
        one
        for node in ast.walk(ast.parse(text))
        for one in (getattr(node, "annotation", None), getattr(node, "returns", None))
        if one is not None
    ]
    found = {}
    for work in _all_work_items([path], {}):
        mutant = work.mutations[0]
        if any(
            (one.lineno, one.col_offset) <= mutant.start_pos < (one.end_lineno, one.end_col_offset)
            for one in silent
        ) or lines[mutant.start_pos[0] - 1].startswith("from __future__"):
            continue
        place = (mutant.start_pos, mutant.end_pos)
        found.setdefault(place, []).append((mutant.operator_name, mutant.occurrence))
    return found


def drawn(path):
    """The one mutant of each place, ``(file, line, column, operator, which)``."""
    name = str(path.relative_to(SOURCE))
    return [
        (name, *start, *Random(f"{SEED}-{name}-{start}-{end}").choice(sorted(kinds)))
        for (start, end), kinds in sorted(sites(path).items())
    ]


def chosen(names):
    files = [*sorted(SOURCE.glob("equations/*.py")), *sorted(SOURCE.glob("checks/*.py"))]
    if names:
        return [one for path in files if str(path.relative_to(SOURCE)) in names
                for one in drawn(path)]  # fmt: skip
    deciding = {SOURCE / "equations" / f"{name}.py" for name in DECIDING}
    all_of = [one for path in sorted(deciding) for one in drawn(path)]
    others = [one for path in files if path not in deciding for one in drawn(path)]
    picked = Random(SEED).sample(others, min(OTHERS, len(others)))
    # In a drawn order, so that a run that is broken off has sampled them all.
    return Random(SEED).sample([*all_of, *picked], len(all_of) + len(picked))


def mutated(mutant):
    """The file's text with one change."""
    from cosmic_ray.mutating import mutate_code
    from cosmic_ray.plugins import get_operator

    name, _, _, operator, which = mutant
    text = (SOURCE / name).read_text(encoding="utf-8")
    return text, mutate_code(text, get_operator(operator)(), which)


def functions(code, inside=""):
    """The functions of a module and of its classes, by name; and what stands outside them."""
    found, outside = {}, [code.co_code, code.co_names]
    for place, one in enumerate(code.co_consts):
        if not isinstance(one, CodeType):
            outside.append(repr(one))
        elif one.co_flags & 2:  # a function's own names; a class body has none
            found[one.co_qualname, place if "<" in one.co_name else 0] = one
        else:
            deeper, more = functions(one, one.co_qualname)
            found |= deeper
            outside += [more]
    return found, outside


def difference(path, before, after):
    """Functions whose code differs, and whether anything outside them does."""
    old, outside = functions(compile(before, str(path), "exec"))
    new, outside_now = functions(compile(after, str(path), "exec"))
    if outside != outside_now or old.keys() != new.keys():
        return {}, True
    return {key[0]: new[key] for key in new if new[key] != old[key]}, False


def exchange(path, new):
    """Give every live function its mutated code; tell whether each was found."""
    met = set()
    for one in gc.get_objects():
        if isinstance(one, FunctionType):
            code = one.__code__
            if code.co_qualname in new and code.co_filename == str(path):
                one.__code__ = new[code.co_qualname]
                met.add(code.co_qualname)
    return met == set(new)


def forked(work, most_s=MOST_S):
    """Run `work` in a fork; its exit code, a signal as a negative one."""
    child = os.fork()
    if child:
        return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    code = 99
    try:
        resource.setrlimit(resource.RLIMIT_CPU, (most_s, most_s + 5))
        null = os.open(os.devnull, os.O_WRONLY)
        os.dup2(null, 1)
        os.dup2(null, 2)
        code = work()
    finally:
        os._exit(code)


class Warm:
    """Collects once; then each mutant is a fork that runs the tests which call what it changes."""

    def __init__(self, mutants, told):
        self.mutants, self.told, self.in_child = mutants, told, False

    @pytest.hookimpl
    def pytest_collection(self):
        from hypothesis import Phase, settings

        # That it fails is enough: no smaller example is looked for.
        few = (Phase.explicit, Phase.generate)
        settings.register_profile("mutants", derandomize=True, deadline=None, phases=few)
        settings.load_profile("mutants")

    def pytest_runtest_logreport(self, report):
        if self.in_child and report.failed:
            os._exit(1)

    def run(self, items):
        self.in_child = True
        for item, after in zip(items, [*items[1:], None], strict=True):
            item.ihook.pytest_runtest_protocol(item=item, nextitem=after)
        return 0

    def look(self, items):
        """Of each test the functions of ours that it calls, and its processor seconds."""
        noted = ROOT / ".mutants-calls.json"

        def work():
            # What is kept from call to call would hide a later test's calls: the first test that
            # fills a store is the only one seen to call what fills it. So each test is a fork.
            rows = []
            for item in items:
                read, write = os.pipe()
                child = os.fork()
                if not child:
                    self.one(item, write)
                os.close(write)
                with os.fdopen(read) as pipe:
                    rows.append(json.loads(pipe.read() or "null"))
                os.waitpid(child, 0)
            noted.write_text(json.dumps(rows))
            return 0

        if forked(work, 24 * 3600):
            sys.exit("the tests cannot be run")
        rows = json.loads(noted.read_text())
        noted.unlink()
        # What falls unmutated would kill every mutant.
        fallen = [item.nodeid for item, row in zip(items, rows, strict=True) if row is None]
        if fallen:
            sys.exit("these fall as they are:\n" + "\n".join(fallen))
        return [(item, {*calls}, seconds) for item, (calls, seconds) in
                zip(items, rows, strict=True)]  # fmt: skip

    def one(self, item, write):
        calls, inside = set(), str(SOURCE)

        def called(frame, event, _):
            if event == "call" and frame.f_code.co_filename.startswith(inside):
                calls.add(f"{Path(frame.f_code.co_filename).stem}.{frame.f_code.co_qualname}")

        begun = time.process_time()
        # One that falls ends the fork, which then has told nothing.
        self.in_child = True
        sys.setprofile(called)
        item.ihook.pytest_runtest_protocol(item=item, nextitem=None)
        sys.setprofile(None)
        with os.fdopen(write, "w") as pipe:
            json.dump([sorted(calls), time.process_time() - begun], pipe)
        os._exit(0)

    def pytest_runtestloop(self, session):
        seen = sorted(self.look(session.items), key=lambda row: row[2])
        for mutant in self.mutants:
            path = SOURCE / mutant[0]
            before, after = mutated(mutant)
            if after is None or before == after:
                self.told(mutant, "no change")
                continue
            try:
                new, outside = difference(path, before, after)
            except SyntaxError:
                self.told(mutant, "no change")
                continue
            if outside:
                self.told(mutant, "outside")
                continue
            if not new:
                self.told(mutant, "no change")
                continue
            names = {f"{path.stem}.{name}" for name in new}
            ranked = [item for item, calls, _ in seen if calls & names]
            if not ranked:
                # Called while something is imported, if at all.
                self.told(mutant, "outside")
                continue

            def work(ranked=ranked, path=path, new=new):
                if not exchange(path, new):
                    return 98
                return self.run(ranked)

            code = forked(work)
            how = {0: "LIVES", 1: "killed", -signal.SIGXCPU: "too long"}.get(code, "not found")
            self.told(mutant, how, code, len(ranked))
        return True


class Changed(importlib.abc.MetaPathFinder, importlib.abc.SourceLoader):
    """Imports one module of ours with a mutated text."""

    def __init__(self, path, text):
        self.path, self.text = str(path), text
        self.name = "barbwright." + str(path.relative_to(SOURCE))[:-3].replace("/", ".")

    def find_spec(self, name, _path, _target=None):
        if name != self.name:
            return None
        return importlib.util.spec_from_loader(name, self, origin=self.path)

    def get_filename(self, _name):
        return self.path

    def get_data(self, _path):
        return self.text.encode()


def cold(mutant, files):
    """One mutant of what happens on import: the files that may see it, in a fork."""
    path = SOURCE / mutant[0]
    _, after = mutated(mutant)

    def work():
        sys.meta_path.insert(0, Changed(path, after))
        return int(pytest.main([*QUIET, *files]) != 0)

    return forked(work)


def main(names):
    import hypothesis  # noqa: F401
    import numpy  # noqa: F401
    import scipy.integrate
    import scipy.interpolate
    import scipy.optimize
    import scipy.special  # noqa: F401

    os.chdir(ROOT)
    mutants, rows = chosen(names), {}
    log = (ROOT / ".mutants.jsonl").open("w")

    def told(mutant, how, *more):
        log.write(json.dumps([mutant, how, *map(str, more)]) + "\n")
        log.flush()

    begun = time.monotonic()
    child = os.fork()
    if not child:
        code = pytest.main([*QUIET, *TESTS], plugins=[Warm(mutants, told)])
        os._exit(0 if code in {0, 5} else int(code))
    if os.waitpid(child, 0)[1]:
        sys.exit("the tests cannot be collected")
    for line in (ROOT / ".mutants.jsonl").read_text().splitlines():
        mutant, how, *_ = json.loads(line)
        rows[tuple(mutant)] = how
    for mutant in [mutant for mutant in mutants if rows[mutant] == "outside"]:
        name = Path(mutant[0]).stem
        # Its own room's tests first, those that say its name before the others.
        files = sorted(
            (path for room in TESTS for path in Path(room).glob("test_*.py")),
            key=lambda path: (name not in path.read_text(), path.stat().st_size),
        )
        rows[mutant] = "LIVES" if cold(mutant, [str(path) for path in files]) == 0 else "killed"
        told(mutant, rows[mutant])
    living = [mutant for mutant, how in rows.items() if how in {"LIVES", "not found", "too long"}]
    for mutant in living:
        before, after = mutated(mutant)
        pairs = zip(before.splitlines(), after.splitlines(), strict=False)
        old, new = next((pair for pair in pairs if pair[0] != pair[1]), ("", "a line is gone"))
        sys.stdout.write(f"{rows[mutant]} {mutant[0]}:{mutant[1]}\n  - {old.strip()}\n"
                         f"  + {new.strip()}\n")  # fmt: skip
    judged = [how for how in rows.values() if how != "no change"]
    sys.stdout.write(f"mutants {len(judged)}, living {len(living)}, killed "
                     f"{100 * (1 - len(living) / max(len(judged), 1)):.1f} %, "
                     f"{time.monotonic() - begun:.0f} s\n")  # fmt: skip


if __name__ == "__main__":
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    main(sys.argv[1:])
