"""Products of matrices in pieces that one processor works out: sharing out what takes so short costs more than it saves."""

from __future__ import annotations

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

UNSHARED = 250_000
"""A product of so many multiplications is not shared out among processors: OpenBLAS does so from 2¹⁸ on."""


def product(one: Any, other: Any) -> Any:
    """`one @ other`, piece by piece along the longest axis of `other`."""
    (rows, inner), columns = one.shape, other.shape[1]
    if rows * inner * columns <= UNSHARED:
        return one @ other
    if inner > columns:
        step = max(1, UNSHARED // (rows * columns))
        return sum(one[:, i : i + step] @ other[i : i + step] for i in range(0, inner, step))
    import numpy

    step, found = max(1, UNSHARED // (rows * inner)), numpy.empty((rows, columns))
    for i in range(0, columns, step):
        found[:, i : i + step] = one @ other[:, i : i + step]
    return found
