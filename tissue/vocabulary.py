"""Words and types that every room uses, each written once."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Floats = float | Array  # one eye or a column of eyes
Flags = bool | NDArray[np.bool_]
Words = str | NDArray[np.str_]

NOT_GIVEN: Any = None  # of an input; the arithmetic makes it NaN
