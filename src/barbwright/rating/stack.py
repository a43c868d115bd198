"""Many conditions as one: records of several choices become arrays of numbers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from barbwright.equations import Number

Record = TypeVar("Record")


def stack(many: Sequence[Record]) -> Record:
    """Return several records as one whose differing numbers are arrays.

    A number that is the same in all of them stays a plain number, so that what
    does not vary costs nothing.

    Parameters
    ----------
    many : sequence of records
        Frozen dataclasses of one type: conditions, or parts of them [any unit].

    Returns
    -------
    record
        Of the same type; arrays have the length of ``many``.
    """
    first: Any = many[0]
    merged = {
        field.name: _merge([getattr(one, field.name) for one in many]) for field in fields(first)
    }
    out: Record = replace(first, **merged)
    return out


def _merge(values: list[Any]) -> Any:
    first = values[0]
    if first is None or isinstance(first, Mapping):
        return first
    if is_dataclass(first):
        return stack(values)
    if isinstance(first, tuple):
        return tuple(_merge(list(column)) for column in zip(*values, strict=True))
    numbers = np.array(values)
    if np.array_equal(numbers, np.full_like(numbers, numbers[0]), equal_nan=True):
        return first
    return numbers


def take(record: Record, index: NDArray[np.int64]) -> Record:
    """Return the rows of a stacked record that an index names.

    Parameters
    ----------
    record : record
        From `stack` [any unit].
    index : ndarray of int
        Any shape; the arrays take it [-].

    Returns
    -------
    record
        Of the same type.
    """
    out: Record = _taken(record, index)
    return out


def take_sizes(sizes: Mapping[str, Number], index: NDArray[np.int64]) -> dict[str, Number]:
    """Return the rows of sizes by name; a plain number stays as it is.

    Parameters
    ----------
    sizes : mapping
        Numbers, or arrays of one length [any unit].
    index : ndarray of int
        Any shape [-].
    """
    return {
        name: np.asarray(value)[index] if np.ndim(value) else value for name, value in sizes.items()
    }


def _taken(value: Any, index: NDArray[np.int64]) -> Any:
    if isinstance(value, Mapping):
        return value
    if is_dataclass(value) and not isinstance(value, type):
        return replace(
            value,
            **{field.name: _taken(getattr(value, field.name), index) for field in fields(value)},
        )
    if isinstance(value, tuple):
        return tuple(_taken(item, index) for item in value)
    if np.ndim(value):
        return value[index]
    return value
