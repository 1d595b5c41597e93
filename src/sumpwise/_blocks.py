"""Arrays processed in blocks of rows, to stay in the processor's cache and use no more memory than the answer takes."""

from __future__ import annotations

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from typing import Any

ROWS = 12288
"""Rows in a block."""
UNSHARED = 250_000
"""A product of so many multiplications is not shared out among processors: OpenBLAS does so from 2¹⁸ on."""


def cut(values: Sequence[Any], shape: tuple[int, ...]) -> Iterator[tuple[slice, list[Any]]]:
    """The rows of each block, and the values in them; arrays are broadcast to one shape, single values stay as they are."""
    import numpy

    flat = [numpy.broadcast_to(x, shape).reshape(-1) if getattr(x, "ndim", 0) else x for x in values]
    size = numpy.prod(shape, dtype=int)
    for start in range(0, size, ROWS):
        rows = slice(start, min(start + ROWS, size))
        yield rows, [wide(x[rows]) if getattr(x, "ndim", 0) else x for x in flat]


def wide(x: Any) -> Any:
    """Widen whole numbers so that arithmetic does not overflow; anything else stays as it is."""
    return x.astype(int, copy=False) if getattr(x, "dtype", None) is not None and x.dtype.kind in "iu" else x


def alike(values: Sequence[Any]) -> tuple[int, ...] | None:
    """The common shape of the arrays among some values, if they have one and it has many rows."""
    shapes = {x.shape for x in values if getattr(x, "ndim", 0)}
    if len(shapes) != 1:
        return None
    [shape] = shapes
    rows = 1
    for length in shape:
        rows *= length
    return shape if rows > ROWS else None


def elementwise(kernel: Callable[..., Any], values: Sequence[Any], shape: tuple[int, ...]) -> Any:
    """Run an elementwise kernel, with one or several answers, on arrays of one shape."""
    import numpy

    out: list[Any] = []
    several = False
    for rows, block in cut(values, shape):
        got = kernel(*block)
        several = isinstance(got, tuple)
        parts = got if several else (got,)
        if not out:
            out = [numpy.empty(numpy.prod(shape, dtype=int), dtype=numpy.asarray(part).dtype) for part in parts]
        for whole, part in zip(out, parts, strict=True):
            whole[rows] = part
    shaped = tuple(whole.reshape(shape) for whole in out)
    return shaped if several else shaped[0]


def product(one: Any, other: Any) -> Any:
    """`one @ other`, piece by piece along the longest axis of `other`, which may be several matrices.

    Each piece is worked out by one processor: sharing out what takes so short costs more than it saves.
    """
    (rows, inner), columns = one.shape, other.shape[-1]
    if rows * inner * columns <= UNSHARED:
        return one @ other
    if inner > columns:
        step = max(1, UNSHARED // (rows * columns))
        return sum(one[:, i : i + step] @ other[..., i : i + step, :] for i in range(0, inner, step))
    import numpy

    step, found = max(1, UNSHARED // (rows * inner)), numpy.empty((*other.shape[:-2], rows, columns))
    for i in range(0, columns, step):
        found[..., i : i + step] = one @ other[..., i : i + step]
    return found
