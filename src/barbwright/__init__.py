"""Printed barbed connectors for pressurised trunk watering: sized, checked, drawn, verified.

A part in four lines; texts are written as on the command line, numbers are in mm, N and MPa:

    import barbwright
    job = barbwright.read_job("elbow", tube="LLDPE 4 x 6 mm", bit="6mm", pressure="3bar",
                              wood="sugar maple")
    elbow = barbwright.check_part("elbow", job)          # elbow.verdict, elbow.results
    made = barbwright.make_part("elbow", job, "out")     # made.folder, made.files

Printed parts are not pressure rated: proof-test each batch with water. Local codes, product labels
and licensed practice prevail.
"""

from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

__all__ = [
    "check_part",
    "design_part",
    "make_part",
    "plan_chain",
    "prove_part",
    "rate_part",
    "read_job",
]

if TYPE_CHECKING:
    from barbwright.api import (
        check_part,
        design_part,
        make_part,
        plan_chain,
        prove_part,
        rate_part,
        read_job,
    )


def __getattr__(name: str) -> Any:
    """Load the functions when one is first asked for: the command line needs none of them."""
    if name in __all__:
        from barbwright import api

        return getattr(api, name)
    message = f"module {__name__!r} has no attribute {name!r}"
    raise AttributeError(message)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
