"""Nodes along a line that is straight between them."""

import numpy as np

from terrain.arrays import Floats

SAME_NODE = 1e-9
"""Stations closer than this [m] are one node."""


def with_nodes(station: Floats, values: Floats, extra: Floats) -> tuple[Floats, Floats]:
    """Return `station` (n,) and `values` (n, ...) metres with straight-line nodes inserted at `extra` (k,) metres.

    Extra stations that are nodes already, or off the line, add nothing.

    >>> with_nodes(np.array([0.0, 10.0]), np.array([1.0, 3.0]), np.array([5.0, 5.0, 10.0]))[1].tolist()
    [1.0, 2.0, 3.0]
    """
    wanted = np.unique(extra)
    wanted = wanted[(wanted > station[0] + SAME_NODE) & (wanted < station[-1] - SAME_NODE)]
    if len(wanted):
        wanted = wanted[np.concatenate([[True], np.diff(wanted) > SAME_NODE])]
    after = np.searchsorted(station, wanted)
    near = np.minimum(wanted - station[after - 1], station[after] - wanted)
    wanted, after = wanted[near > SAME_NODE], after[near > SAME_NODE]
    share = (wanted - station[after - 1]) / (station[after] - station[after - 1])
    share = share.reshape((-1,) + (1,) * (values.ndim - 1))
    between = values[after - 1] + share * (values[after] - values[after - 1])
    return np.insert(station, after, wanted), np.insert(values, after, between, axis=0)
