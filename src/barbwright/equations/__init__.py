"""One published equation per function, on floats or arrays, in N, mm, MPa.

Published symbols live only in here. Every function says where it comes from in
the last line of its docstring; the keys are those of `barbwright.sources`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

# A number or an array of numbers: every equation broadcasts over its arguments.
Number = float | NDArray[np.float64]

# What a record holds: plain numbers (a single part), or numbers and arrays (many at once).
if TYPE_CHECKING:
    from typing_extensions import TypeVar

    N = TypeVar("N", float, Number, default=Number)
else:
    from typing import TypeVar

    N = TypeVar("N")

__all__ = ["N", "Number", "cube", "spread_to", "square"]


def spread_to(value: ArrayLike, shape: tuple[int, ...]) -> NDArray[Any]:
    """Return a value at every place of a shape; as it is where it has that shape already."""
    array = np.asarray(value)
    return array if array.shape == shape else np.broadcast_to(array, shape)


def square(value: N) -> N:
    """Return a square, written as a product: the same bits for a number and in an array.

    numpy takes a power of an array by its widest registers, of a single number by the C library.
    """
    return value * value


def cube(value: N) -> N:
    """Return a cube, written as products: the same bits for a number and in an array."""
    return value * value * value
