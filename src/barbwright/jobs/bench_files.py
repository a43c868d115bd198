"""A bench day's form and empty CSV, written."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from barbwright.jobs.bench import BenchPlan, form_csv, form_rows
from barbwright.jobs.log_files import write_all
from barbwright.report.log_pages import bench_form

CSV_NAME, FORM_NAME = "bench.csv", "bench.html"


def bench_files(day: BenchPlan, folder: Path, *, force: bool) -> list[dict[str, Any]]:
    """Write the form and the empty CSV of a bench day.

    Parameters
    ----------
    day : BenchPlan
        The plan.
    folder : Path
        Made if it is not there.
    force : bool
        Write over files that are there.
    """
    rows = form_rows(day)
    tests = {}
    for one in day.sessions:
        tests[one.product.test] = {
            "test": one.product.test,
            "title": one.product.title,
            "how": one.product.how,
            "changes": ", ".join(one.changes),
        }

    def form() -> bytes:
        return bench_form(
            rows,
            list(tests.values()),
            number=day.plan.number,
            title=day.plan.kind.title,
            parts=day.parts,
            gauges=", ".join(day.gauges),
            hours=f"{day.hours:g}",
            minutes=f"{day.minutes:.0f}",
            csv=CSV_NAME,
            idle=day.idle,
            untold=day.untold,
        )

    return write_all(
        folder, {CSV_NAME: lambda: form_csv(rows, day.plan.number), FORM_NAME: form}, force=force
    )
