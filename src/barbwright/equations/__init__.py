"""One published equation per function, on floats or arrays, in N, mm, MPa.

Published symbols live only in here. Every function says where it comes from in
the last line of its docstring; the keys are those of `barbwright.sources`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

# A number or an array of numbers: every equation broadcasts over its arguments.
Number = float | NDArray[np.float64]

__all__ = ["Number"]
