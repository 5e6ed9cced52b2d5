"""What physics and the published methods say about belt drives: pure functions, numbers in, numbers out.

Every float is coherent SI. A function takes scalars or arrays alike and broadcasts; it never takes a record. Outside
a table's or formula's range it refuses (`OutOfRange`, `Infeasible`); callers with arrays ask for the mask first.
Imports `tables`, `units` and `errors` only.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
import numpy.typing as npt

# a number or an array of numbers: every function of mechanics takes either, by the same expression
Numbers: TypeAlias = "float | np.float64 | npt.NDArray[np.float64]"
Mask: TypeAlias = "bool | np.bool_ | npt.NDArray[np.bool_]"
