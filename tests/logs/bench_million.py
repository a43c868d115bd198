"""A million rows: read and made ready in at most three times the library's own reading.

Run: pytest -n0 -m bench -s tests/logs/bench_million.py
"""

import sys
import time

import numpy as np
import polars as pl
import pytest

from barbwright.logs.proof import read_proof
from barbwright.logs.table import read_table

ROWS = 1_000_000


def best(function, times=5):
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        function()
        taken.append(time.perf_counter() - start)
    return min(taken)


@pytest.mark.bench
@pytest.mark.parametrize("comma", [False, True], ids=["decimal point", "decimal comma"])
def test_a_million_rows_take_three_times_the_librarys_reading_at_most(tmp_path, comma):
    draw = np.random.default_rng(0)
    t = np.arange(ROWS) / 60_000.0
    p = 67.0 - 2.0 * -np.expm1(-t / 3.0) + 0.05 * draw.standard_normal(ROWS)
    text = "time [min],pressure [psi],temperature [C]\n"
    text += "".join(f"{a:.4f},{b:.2f},20.0\n" for a, b in zip(t, p, strict=True))
    if comma:
        text = text.replace(",", ";").replace(".", ",")
    path = tmp_path / "million.csv"
    path.write_text(text)
    options = {"separator": ";", "decimal_comma": True} if comma else {}
    library = best(lambda: pl.read_csv(path, **options))
    ours = best(lambda: read_proof(read_table(path)))
    sys.stdout.write(f"\nlibrary {library:.3f} s, ours {ours:.3f} s, {ours / library:.2f} x\n")
    assert ours <= 3.0 * library
