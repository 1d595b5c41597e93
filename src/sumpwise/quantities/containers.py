"""Columns of other libraries: out of their containers, and back into them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy

from sumpwise.errors import RangeError
from sumpwise.quantities.reading import the_door_to_pint

if TYPE_CHECKING:
    from sumpwise.quantities.units import Unit


class Opened(NamedTuple):
    """A column out of its container: an array, list or column of uncertain values, its unit, what its mask hides, and the way back."""

    value: Any
    unit: Unit | None
    registry: Any
    hidden: Any
    shell: Any


def is_lazy(value: Any) -> bool:
    """Whether an array is not computed yet, like those of dask; a Quantity passes the question on to its magnitude."""
    return (
        hasattr(value, "__dask_graph__") and not hasattr(value, "_REGISTRY") and not isinstance(value, type) and not _is_labelled(value)
    )


def _is_labelled(value: Any) -> bool:
    """Whether something has names besides its values: a column of a data frame, its index, a whole table."""
    return hasattr(value, "columns") or (hasattr(value, "to_numpy") and hasattr(value, "name"))


def is_contained(value: Any) -> bool:
    """Whether a value, or the magnitude of a Quantity, is a column of a data frame, a masked array or a dask array."""
    value = getattr(value, "_magnitude", value)
    return value.__class__ is not numpy.ndarray and (isinstance(value, numpy.ma.MaskedArray) or is_lazy(value) or _is_labelled(value))


def _has_index(column: Any) -> bool:
    """Whether a column has labels of its rows, which belong to its answer too."""
    return hasattr(getattr(column, "index", None), "equals")


def _can_come_back(column: Any) -> bool:
    """Whether an answer can be made into such a column: one of rows with an index, or one that is made of a name and values."""
    try:
        return _has_index(column) or len(type(column)(column.name, numpy.zeros(0))) == 0
    except (TypeError, ValueError):
        return False


def opened_up(value: Any, name: str) -> Opened:
    """Take a value out of its container; a single value stays as it is.

    Raises
    ------
    RangeError
        For a table, an index, or anything else with labels that its answer could not keep.
    """
    unit = registry = hidden = shell = None
    if hasattr(value, "_REGISTRY") and (is_contained(value) or getattr(getattr(value, "_magnitude", None), "ndim", False)):
        door = the_door_to_pint()
        unit, registry, value = door.unit_of(value), value._REGISTRY, door.magnitude(value)
    if isinstance(value, numpy.ma.MaskedArray):
        value, hidden = value.data, numpy.ma.getmaskarray(value)
    elif not is_lazy(value) and is_contained(value):
        shell, value = value, None if hasattr(value, "columns") else value.to_numpy()
        if numpy.ndim(value) != 1 or not _can_come_back(shell):
            raise RangeError(
                "is neither an array nor a column, and an answer would lose its labels", code="list.type", argument=name, value=shell,
                hint="give one column, or the values alone: x.to_numpy()",
            )  # fmt: skip
    return Opened(value, unit, registry, hidden, shell)


def bare(one: Opened, name: str) -> Any:
    """The opened value as an array or a single value; refused if part of it is masked or it is not computed yet."""
    if is_lazy(one.value):
        raise RangeError(
            "is not computed yet, and its values are needed now", code="list.lazy", argument=name, value=one.value,
            hint="compute it first: x.compute()",
        )  # fmt: skip
    if one.hidden is not None and one.hidden.any():
        raise RangeError(
            "is masked, and a masked element has no value", code="list.masked", argument=name,
            value=numpy.ma.array(one.value, mask=one.hidden), hint="give the unmasked values: x.compressed()",
        )  # fmt: skip
    value = one.value[()] if isinstance(one.value, numpy.ndarray) and not one.value.ndim else one.value
    return value if one.unit is None else the_door_to_pint().build(value, one.unit, one.registry)


def put_back(shell: Any, part: Any) -> Any:
    """A plain answer as a column of the library that the rows came from; a Quantity cannot hold one."""
    if not isinstance(part, numpy.ndarray) or part.ndim != 1 or len(part) != len(shell):
        return part
    return type(shell)(part, index=shell.index) if _has_index(shell) else type(shell)(shell.name, part)


def same_rows(shells: Sequence[Any]) -> None:
    """Refuse columns with different indexes: rows that do not belong together would be computed side by side."""
    for one in shells[1:]:
        if _has_index(one) and _has_index(shells[0]) and not one.index.equals(shells[0].index):
            raise RangeError(
                "has a different index from the column before it", code="list.order", argument=str(one.name or "column"),
                hint="give both the same index, for example with reindex",
            )  # fmt: skip
