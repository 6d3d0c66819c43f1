"""Names of the array types used throughout, said once, and the view of one that cannot be written."""

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Kind = TypeVar("Kind", bound=np.generic)

Floats = NDArray[np.float64]
"""Any array of 64-bit floats; its shape and unit stand in the docstring that uses it."""

Indices = NDArray[np.int32]
"""Any array of 32-bit indices, such as triangles or neighbours; -1 stands for "none"."""

Longs = NDArray[np.int64]
"""Any array of 64-bit integers."""

Flags = NDArray[np.bool_]
"""Any array of true and false."""


def frozen(array: NDArray[Kind]) -> NDArray[Kind]:
    """Return a view of `array`, (n,) or of more axes in any unit, that cannot be written; its own stays as it was.

    >>> frozen(np.zeros(3)).flags.writeable
    False
    """
    view = array.view()
    view.flags.writeable = False
    return view
