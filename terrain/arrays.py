"""Names of the array types used throughout, said once."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
"""Any array of 64-bit floats; its shape and unit stand in the docstring that uses it."""

Indices = NDArray[np.int32]
"""Any array of 32-bit indices, such as triangles or neighbours; -1 stands for "none"."""

Longs = NDArray[np.int64]
"""Any array of 64-bit integers."""

Flags = NDArray[np.bool_]
"""Any array of true and false."""
