"""Pages from templates: one way to fill them, escaped, and a missing value is a fault."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

Filters = Mapping[str, Callable[..., Any]]


def page(template: str, filters: Filters, **values: Any) -> bytes:
    """Return one page.

    Parameters
    ----------
    template : str
        File in `report/templates` [-].
    filters : mapping of str to callable
        What the template calls after a bar [-].
    **values
        What it names [-].

    Returns
    -------
    bytes
        UTF-8; equal values give equal bytes.
    """
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("barbwright.report", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters |= filters
    return environment.get_template(template).render(**values).encode()
