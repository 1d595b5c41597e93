"""Columns of uncertain values: best values, and the contribution of each source to every row, as arrays.

A hundred thousand rows are a few arrays, not a hundred thousand uncertain numbers. A single row is an uncertain number like any other,
with the same sources, so no correlation is lost between the two forms.
"""

from __future__ import annotations

import math
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy

from sumpwise._blocks import ROWS
from sumpwise._record import Unchanging
from sumpwise.uncertainty.sources import caution, combine, contributions, new_uid, nominals, source, standard, standards

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator, Mapping, Sequence


class Measurements:
    """The source of a measured column: one independent error in each row, with best values and standard uncertainties of one shape.

    `shape` is how each row is distributed when it is sampled, and `name` what a budget calls it. Two objects with the same identity `uid`
    are the same source.
    """

    __slots__ = ("dof", "name", "shape", "standards", "uid", "values")

    def __init__(self, values: Any, standards: Any, shape: str, dof: float, name: str, uid: str) -> None:
        self.values, self.standards = values, standards
        self.shape, self.dof, self.name, self.uid = shape, dof, name, uid

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Measurements) and self.uid == other.uid

    def __hash__(self) -> int:
        return hash(self.uid)

    def called(self, name: str) -> Measurements:
        """The same source with this name, unless it has one already."""
        return self if self.name else Measurements(self.values, self.standards, self.shape, self.dof, name, self.uid)

    def row(self, index: tuple[int, ...]) -> Any:
        """The source of one row of a column that this one was broadcast to."""
        own = tuple(0 if size == 1 else i for i, size in zip(index[len(index) - self.values.ndim :], self.values.shape, strict=True))
        name = f"{self.name or 'row'}[{', '.join(map(str, own))}]"
        value, u = float(self.values[own]), float(self.standards[own])
        return source(value, u, shape=self.shape, dof=self.dof, name=name, uid=f"{self.uid}:{own}")


class Column(Unchanging):
    """A column of uncertain values.

    Rows are independent of one another, except for errors they share by name. Two columns that rest on the same measurements are
    correlated row by row, and results computed from both take that into account. A row `column[i]` is an uncertain number with the same
    sources.

    Attributes
    ----------
    nominal_value : ndarray
        Best values.
    std_dev : ndarray
        Standard uncertainties.
    parts : dict
        Name of a source -> its contribution to the standard uncertainty, as an array.
    cautions : dict
        Why the first-order uncertainty of some rows cannot be trusted -> which rows, as a boolean array.
    """

    __array_ufunc__ = None
    """Makes numpy leave arithmetic with a column to the column."""

    def __init__(self, value: Any, effects: Mapping[Any, Any], cautions: Mapping[str, Any] | None = None) -> None:
        self.nominal_value = _fixed(value)
        self._effects = {cause: _fixed(effect) for cause, effect in effects.items()}
        self.cautions = {text: _fixed(rows) for text, rows in (cautions or {}).items()}

    @cached_property
    def std_dev(self) -> Any:
        """Standard uncertainties."""
        [only, *others] = self._effects.values() or [numpy.zeros(self.shape)]
        return only if not others and not numpy.any(only < 0) else _fixed(_spread(self._effects.values(), self.shape))

    @property
    def parts(self) -> dict[str, Any]:
        """Contributions to the standard uncertainty by name; those with the same name are added in quadrature."""
        named: dict[str, list[Any]] = {}
        for cause, effect in self._effects.items():
            named.setdefault(cause.name if isinstance(cause, Measurements) else cause.tag or "", []).append(effect)
        return {name: _spread(effects, self.shape) for name, effects in named.items()}

    # -- rows

    @property
    def shape(self) -> tuple[int, ...]:
        """As that of an array."""
        return tuple(self.nominal_value.shape)

    @property
    def ndim(self) -> int:
        """As that of an array."""
        return int(self.nominal_value.ndim)

    @property
    def size(self) -> int:
        """As that of an array."""
        return int(self.nominal_value.size)

    def __len__(self) -> int:
        return len(self.nominal_value)

    def __iter__(self) -> Iterator[Any]:
        return (self[i] for i in range(len(self)))

    def __getitem__(self, index: Any) -> Any:
        if self.ndim == 1 and hasattr(index, "__index__"):
            return self._row((range(len(self))[index],))
        return numpy.asarray(self)[index]

    def __array__(self, dtype: Any = None, copy: Any = None) -> Any:
        """An array of uncertain numbers, one object a row, for code that knows nothing of columns."""
        out = numpy.empty(self.shape, dtype=object)
        for index in numpy.ndindex(self.shape):
            out[index] = self._row(index)
        return out

    def _row(self, index: tuple[int, ...]) -> Any:
        terms: list[tuple[float, Any]] = []
        if math.isnan(value := float(self.nominal_value[index])):
            return value
        for cause, effect in self._effects.items():
            if size := float(effect[index]):
                one = cause.row(index) if isinstance(cause, Measurements) else cause
                terms.append((size / standard(one), one))
        return combine(value, terms, next((text for text, rows in self.cautions.items() if rows[index]), ""))

    # -- linear arithmetic, as a change of unit needs it

    def __add__(self, other: Any) -> Column:
        if has_objects(other):
            return NotImplemented
        return total(self.nominal_value + nominals(other), [(1.0, self), (1.0, other)])

    __radd__ = __add__

    def __neg__(self) -> Column:
        return self * -1.0

    def __sub__(self, other: Any) -> Column:
        if has_objects(other):
            return NotImplemented
        return total(self.nominal_value - nominals(other), [(1.0, self), (-1.0, other)])

    def __rsub__(self, other: Any) -> Column:
        if has_objects(other):
            return NotImplemented
        return total(nominals(other) - self.nominal_value, [(-1.0, self), (1.0, other)])

    def __mul__(self, factor: Any) -> Column:
        if hasattr(factor, "nominal_value"):
            return NotImplemented
        return total(self.nominal_value * factor, [(factor, self)])

    __rmul__ = __mul__

    def __truediv__(self, divisor: Any) -> Column:
        if hasattr(divisor, "nominal_value"):
            return NotImplemented
        return total(self.nominal_value / divisor, [(1.0 / divisor, self)])

    # -- derived columns, and how a column shows itself

    def called(self, name: str) -> Column:
        """The same column, with this name for measurements that have none."""
        called = object.__new__(Column)
        called.__dict__.update(self.__dict__)
        called._effects = {c.called(name) if isinstance(c, Measurements) else c: effect for c, effect in self._effects.items()}
        return called

    def converted(self, to: Callable[[Any], Any]) -> Column:
        """The column through a linear conversion of plain numbers."""
        return total(to(self.nominal_value), [(to(1.0) - to(0.0), self)])

    def moved_to(self, values: Any) -> Column:
        """The same uncertainties around other best values, of a shape that the column broadcasts to."""
        shape = numpy.shape(values)
        effects = {cause: numpy.broadcast_to(effect, shape) for cause, effect in self._effects.items()}
        return Column(values, effects, {text: numpy.broadcast_to(rows, shape) for text, rows in self.cautions.items()})

    def without(self, blank: Any) -> Column:
        """The column with nan in some rows."""
        effects = {cause: numpy.where(blank, numpy.nan, effect) for cause, effect in self._effects.items()}
        left = {text: rows & ~blank for text, rows in self.cautions.items()}
        return Column(numpy.where(blank, numpy.nan, self.nominal_value), effects, {text: rows for text, rows in left.items() if rows.any()})

    def copy(self) -> Column:
        """The column itself: it cannot be changed."""
        return self

    def __repr__(self) -> str:
        return f"Column({self})"

    def __str__(self) -> str:
        return format(self, "")

    def __format__(self, spec: str) -> str:
        rows = range(len(self)) if self.size <= SHOWN else (*range(SHOWN // 2), *range(len(self) - SHOWN // 2, len(self)))
        shown = [format(self[i], spec) for i in rows] if self.ndim == 1 else [f"shape {self.shape}"]
        if self.ndim == 1 and self.size > SHOWN:
            shown.insert(SHOWN // 2, "...")
        return f"[{' '.join(shown)}]"


CANCELLED = 1e-9
"""When two opposite effects of one source cancel, a remainder up to this share of them is an artefact of the finite differences."""
SHOWN = 6
"""How many rows the text form of a column shows."""


def measurements(
    values: Any, standards: Any, *, shape: str = "normal", dof: float = math.inf, name: str = "", shared: Any = None
) -> Column:  # fmt: skip
    """A column measured row by row; or, with a `shared` source of standard uncertainty 1, a column whose rows share their error."""
    values, standards = numpy.broadcast_arrays(numpy.asarray(values, dtype=float), numpy.asarray(standards, dtype=float))
    values, standards = _fixed(values.copy()), _fixed(standards.copy())
    return Column(values, {shared or Measurements(values, standards, shape, dof, name, new_uid()): standards})


def is_column(x: object) -> bool:
    """Whether `x` is a column of uncertain values."""
    return isinstance(x, Column)


def has_objects(x: Any) -> bool:
    """Whether `x` is an array of objects rather than a column."""
    return hasattr(x, "dtype") and x.dtype == object


def total(value: Any, terms: Sequence[tuple[Any, Any]]) -> Column:
    """The column `value + Σ cᵢ·(xᵢ − best of xᵢ)`, with arrays for coefficients; a caution of xᵢ is kept where cᵢ is not zero."""
    return _joined(value, [(c, x, [(cause, c * effect) for cause, effect in _contributed(x).items()]) for c, x in terms], {})


def carried(value: Any, terms: Sequence[tuple[Any, Any]], doubts: Mapping[str, Any]) -> Column:
    """The column `value`, where each term is an uncertain xᵢ and, before it, what one standard uncertainty of it adds, as an array."""
    return _joined(value, [(shift, x, list(_shared_out(shift, x))) for shift, x in terms], doubts)


def _contributed(x: Any) -> Mapping[Any, Any]:
    """What each source contributes to a column, or to one uncertain number; a plain number has none."""
    return x._effects if isinstance(x, Column) else dict(contributions(x)) if hasattr(x, "nominal_value") else {}


def _shared_out(shift: Any, x: Any) -> Iterator[tuple[Any, Any]]:
    """What one standard uncertainty of x adds, shared out to its sources."""
    parts = _contributed(x)
    for cause, effect in parts.items():
        u = standards(x)
        yield cause, shift if effect is u else shift * numpy.divide(effect, u, out=numpy.zeros(numpy.shape(u)), where=u > 0)


def _joined(value: Any, terms: Sequence[tuple[Any, Any, Sequence[tuple[Any, Any]]]], doubts: Mapping[str, Any]) -> Column:
    """A column of what several terms contribute: where it is not zero the cautions of x are kept."""
    value = numpy.asarray(value, dtype=float)
    effects: dict[Any, Any] = {}
    cautions = dict(doubts)
    for moved, x, parts in terms:
        column = isinstance(x, Column)
        told = x.cautions.items() if column else [(caution(x), True)] if hasattr(x, "nominal_value") and caution(x) else ()
        for text, rows in told:
            cautions[text] = cautions.get(text, False) | (rows & (numpy.asarray(moved) != 0))
        for cause, part in parts:
            before = effects.setdefault(cause, part)
            if before is not part:
                both = before + part
                effects[cause] = numpy.where(abs(both) > CANCELLED * abs(part), both, 0.0)
    shape = value.shape
    return Column(
        value,
        {cause: numpy.broadcast_to(effect, shape) for cause, effect in effects.items()},
        {text: numpy.broadcast_to(rows, shape) for text, rows in cautions.items() if numpy.any(rows)},
    )


def _spread(effects: Collection[Any], shape: tuple[int, ...]) -> Any:
    """Root of the sum of squares."""
    if len(effects) == 1:
        return abs(next(iter(effects)))
    out = numpy.empty(shape) if effects else numpy.zeros(shape)
    for start in range(0, len(out), ROWS):
        part = out[start : start + ROWS]
        for number, effect in enumerate(effects):
            piece = effect[start : start + ROWS]
            if number:
                part += piece * piece
            else:
                numpy.multiply(piece, piece, out=part)
        numpy.sqrt(part, out=part)
    return out


def _fixed(array: Any) -> Any:
    """The array, made read-only."""
    array = numpy.asarray(array)
    view = array.view()
    view.flags.writeable = False
    return view
