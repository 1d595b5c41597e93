"""Columns row by row: bad rows are told apart from the rest, and columns of other libraries are returned as columns of that library.

A function of arrays reads, validates and computes whole columns at once, so one bad row spoils them all. Here the bad rows are found
first: by checking the limits of all rows at once, then by halving whatever a check or the kernel refuses. The answer of a bad row is nan.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy

from sumpwise.errors import RangeError, SumpwiseError, expect_choice
from sumpwise.quantities.containers import Opened, bare, is_contained, is_lazy, opened_up, put_back, same_rows
from sumpwise.quantities.expected import ALMOST, over
from sumpwise.quantities.magnitudes import NUMBERS, has_objects, inward
from sumpwise.quantities.reading import NOTHING, the_door_to_pint
from sumpwise.quantities.telling import as_given
from sumpwise.quantities.units import by_symbol

if TYPE_CHECKING:
    from sumpwise.quantities.arguments import Argument
    from sumpwise.quantities.reading import Taken

ERRORS = ("raise", "mask", "collect")
FEW = 64
"""This many rows are worked out one by one when some of them are refused."""


class Problem(NamedTuple):
    """What is wrong with one row."""

    row: Any
    """Its number, from 0; a tuple of numbers in a table."""
    code: str
    """The stable code of the error."""
    error: SumpwiseError
    """The error itself, as the row would have raised it on its own."""


class Collected(NamedTuple):
    """An answer with nan in the bad rows, and what is wrong with them."""

    answer: Any
    problems: list[Problem]


class Recipe(NamedTuple):
    """How a unit-aware function is made: what its arguments may be, its kernel, and how its answers are given back."""

    name: str
    call: Callable[..., Any]
    names: tuple[str, ...]
    specs: tuple[Argument, ...]
    start: list[Any]
    run: Callable[..., Any]
    judged: Callable[..., Any]
    bounds: tuple[tuple[int, int], ...]
    counted: bool
    several: int
    """How many answers the kernel gives if more than one, else 0."""
    given_back: Callable[..., Any]


class _Read(NamedTuple):
    """A column in internal units with nan in its bad rows; which rows are bad, and why, if the caller asked for that."""

    value: Any
    taken: Taken
    wrong: Any
    why: dict[int, SumpwiseError]


def by_rows(recipe: Recipe, args: Sequence[Any], kwargs: dict[str, Any]) -> Any:
    """Answer a call, with or without `errors`, that has an argument in a container, or that says what to do with bad rows."""
    kwargs = dict(kwargs)
    errors = kwargs.pop("errors", "raise")
    expect_choice(errors, ERRORS, "errors", "way to treat errors")
    given = {**dict(zip(recipe.names, args, strict=False)), **kwargs}
    opened = {name: opened_up(value, name) for name, value in given.items()}
    if not any(_is_column(one.value) for one in opened.values()):
        answer = recipe.call(**{name: bare(one, name) if is_contained(given[name]) else given[name] for name, one in opened.items()})
        return Collected(answer, []) if errors == "collect" else answer
    if any(is_lazy(one.value) for one in opened.values()):
        return _lazily(recipe, opened, errors)
    parts, taken, problems, blank = _answers(recipe, opened, errors)
    shells = [one.shell for one in opened.values() if one.shell is not None]
    same_rows(shells)
    hidden = [one.hidden for one in opened.values() if one.hidden is not None]
    if hidden:
        shape = numpy.shape(blank)
        mask = numpy.logical_or.reduce([numpy.broadcast_to(one, shape) for one in hidden]) | (blank if errors == "mask" else False)
        parts = [numpy.ma.array(part, mask=mask) if isinstance(part, numpy.ndarray) else part for part in parts]
    answer = recipe.given_back(tuple(parts) if recipe.several else parts[0], taken)
    if shells:
        answer = type(answer)(*(put_back(shells[0], one) for one in answer)) if recipe.several else put_back(shells[0], answer)
    return Collected(answer, problems) if errors == "collect" else answer


# -- the rows


def _answers(recipe: Recipe, opened: dict[str, Opened], errors: str) -> tuple[list[Any], list[Taken], list[Problem], Any]:
    """Internal answers with nan where a row is wrong or hidden, what was read, what is wrong, and which rows are blank."""
    tell = errors != "mask"
    values = recipe.start[:]
    taken: list[Taken] = [NOTHING] * len(recipe.names)
    columns: dict[int, _Read] = {}
    hidden: dict[int, Any] = {}
    for name, one in opened.items():
        i = recipe.names.index(name)
        spec = recipe.specs[i]
        if _is_column(one.value) and not spec.scalar:
            columns[i] = read = _read(spec, one, name, tell)
            values[i], taken[i] = read.value, read.taken
            hidden[i] = one.hidden
        else:
            values[i], *_ = taken[i] = spec.plainly(bare(one, name), name)
    try:
        shape = numpy.broadcast_shapes(*map(numpy.shape, (_best(value) for value in values)))
    except ValueError:
        raise RangeError(
            "do not have the same shape", code="list.length", argument=" and ".join(recipe.names[i] for i in columns),
            hint="arrays of one length",
        ) from None  # fmt: skip
    sheet = _Rows(recipe, values, shape, tell)
    for i, read in columns.items():
        sheet.enter(read, hidden[i])
    parts = sheet.computed()
    problems = [Problem(sheet.row(k), sheet.why[k].code, sheet.why[k]) for k in sorted(sheet.why)]
    for k, error in sheet.why.items():
        if getattr(error, "bound", ("",))[0]:
            as_given(error, {name: _element(one, k) for name, one in opened.items()})
    if errors == "raise" and problems:
        raise problems[0].error
    return parts, taken, problems, ~sheet.fine.reshape(shape)


def _is_column(value: Any) -> bool:
    return isinstance(value, (list, tuple)) or bool(getattr(value, "ndim", 0))


def _best(value: Any) -> Any:
    """A value without its uncertainty."""
    if getattr(value, "ndim", 0) and (hasattr(value, "nominal_value") or has_objects(value)):
        from sumpwise import uncertainty

        return uncertainty.nominals(value)
    return value.nominal_value if hasattr(value, "nominal_value") else value


def _read(spec: Argument, one: Opened, name: str, tell: bool) -> _Read:
    """Read a column; a mistake that concerns all its rows, such as a wrong unit, is raised as usual."""
    value, unit = one.value, one.unit
    kind = getattr(getattr(value, "dtype", None), "kind", "")
    if isinstance(value, (list, tuple)) or kind in ("U", "O"):
        return _elements(spec, one, name)
    if unit is None:
        if spec.needs_unit:
            raise spec.no_unit(value, name)
        unit = by_symbol("1")
    else:
        unit = spec.fitting(unit, value, name)
    if hasattr(value, "nominal_value"):
        carried = inward(value.called(name), unit)
        best = carried.nominal_value
    elif value.dtype.kind not in NUMBERS:
        raise spec.unlike(value, name, "holds what is not")
    else:
        with numpy.errstate(all="ignore"):
            carried = best = inward(value.astype(float), unit)
    wrong = ~spec.fits(best)
    if one.hidden is not None:
        wrong &= ~one.hidden
    why: dict[int, SumpwiseError] = {}
    if tell:
        for k in numpy.flatnonzero(wrong).tolist():
            shown = f"{_best(value).flat[k]:.6g} {'' if unit.symbol == '1' else unit.symbol}".strip()
            try:
                spec.validated(float(best.flat[k]), shown, _place(name, k, best.shape))
            except SumpwiseError as error:
                why[k] = error
    return _Read(carried, (carried, one.unit, one.registry, None), wrong, why)


def _elements(spec: Argument, column: Opened, name: str) -> _Read:
    """Read a list, or an array of objects, one by one."""
    value, hidden = column.value, column.hidden
    shape = value.shape if hasattr(value, "shape") else (len(value),)
    elements = value.ravel().tolist() if hasattr(value, "shape") else value
    skipped = numpy.zeros(shape, dtype=bool).ravel() if hidden is None else hidden.ravel()
    read: list[Any] = []
    why: dict[int, SumpwiseError] = {}
    first: Taken | None = None
    for k, element in enumerate(elements):
        got: Any = numpy.nan
        if not skipped[k]:
            try:
                if column.unit is not None:
                    element = the_door_to_pint().build(element, column.unit, column.registry)
                one = spec.plainly(element, _place(name, k, shape))
                if getattr(one[0], "ndim", 0):
                    raise RangeError("is not one value", code="list.mixed", argument=_place(name, k, shape), value=element)
                got, first = one[0], first or one
            except SumpwiseError as error:
                why[k] = error
        read.append(got)
    wrong = numpy.zeros(len(read), dtype=bool)
    wrong[list(why)] = True
    out = numpy.empty(len(read), dtype=object if any(hasattr(x, "nominal_value") for x in read) else float)
    out[:] = read
    first = first or NOTHING
    return _Read(out.reshape(shape), (None, first[1], first[2], None), wrong.reshape(shape), why)


def _element(one: Opened, k: int) -> Any:
    """What was given in one row, a number with its unit; a single value is that of every row."""
    value = one.value
    if isinstance(value, (list, tuple)):
        value = value[k]
    elif getattr(value, "ndim", 0) == 1:
        value = value[k].item() if hasattr(value[k], "item") else value[k]
    return f"{_best(value):.6g} {one.unit.symbol}" if one.unit is not None and not getattr(value, "ndim", 0) else value


def _place(name: str, k: int, shape: tuple[int, ...]) -> str:
    return f"{name}[{', '.join(str(i) for i in numpy.unravel_index(k, shape))}]"


class _Rows:
    """All rows of a call: which are good so far, and what is wrong with the others."""

    def __init__(self, recipe: Recipe, values: list[Any], shape: tuple[int, ...], tell: bool) -> None:
        self.recipe = recipe
        self.values = values
        self.shape = shape
        self.tell = tell
        self.best = [self._flat(_best(value)) for value in values]
        self.fine = numpy.ones(int(numpy.prod(shape, dtype=int)), dtype=bool)
        self.why: dict[int, SumpwiseError] = {}

    def _flat(self, x: Any) -> Any:
        return numpy.broadcast_to(x, self.shape).reshape(-1) if getattr(x, "ndim", 0) else x

    def row(self, k: int) -> Any:
        """The number of a row; a tuple of numbers in a table."""
        place = tuple(int(i) for i in numpy.unravel_index(k, self.shape))
        return place[0] if len(place) == 1 else place

    def enter(self, read: _Read, hidden: Any) -> None:
        """What is wrong with the rows of one argument."""
        wrong = self._flat(read.wrong)
        own = self._flat(numpy.arange(read.wrong.size).reshape(read.wrong.shape))
        for k in numpy.flatnonzero(wrong & self.fine).tolist() if read.why else ():
            self.why[k] = read.why[int(own[k])]
        self.fine &= ~wrong
        if hidden is not None:
            self.fine &= ~self._flat(hidden)

    def refuse(self, k: int, error: Exception) -> None:
        """One row is wrong."""
        self.fine[k] = False
        if self.tell:
            if not isinstance(error, SumpwiseError):
                error = RangeError(f"{self.recipe.name} has no answer for this row: {error}", code="answer.none")
            self.why[k] = error

    def at(self, rows: Any) -> list[Any]:
        """The best values of some rows, or of one row as plain numbers."""
        one = isinstance(rows, int)
        picked = [(_item(x, rows) if one else x[rows]) if getattr(x, "ndim", 0) else x for x in self.best]
        return [_whole(x) if spec.whole else x for x, spec in zip(picked, self.recipe.specs, strict=True)]

    def bounded(self) -> None:
        """Check values that another argument limits: equal but for rounding is allowed, more is not."""
        names, specs = self.recipe.names, self.recipe.specs
        for i, j in self.recipe.bounds:
            if self.values[i] is None or not (getattr(self.best[i], "ndim", 0) or getattr(self.best[j], "ndim", 0)):
                continue
            more = numpy.broadcast_to(self.best[i] > self.best[j] * ALMOST, self.fine.shape) & self.fine
            shift = numpy.zeros(len(self.fine))
            for k in numpy.flatnonzero(more).tolist():
                one, other = _item(self.best[i], k), _item(self.best[j], k)
                try:
                    shift[k] = over(names[i], names[j], one, other, specs[i].kind)
                except SumpwiseError as error:
                    error.argument = _place(names[i], k, self.shape)
                    self.refuse(k, error)
            if shift.any():
                self.best[i] = self.best[i] + shift
                self.values[i] = self.values[i] + shift.reshape(self.shape)

    def solve(self, rows: Any, out: list[Any]) -> None:
        """Compute some rows; if they are refused, try each half, and a few rows one by one."""
        if not len(rows):
            return
        try:
            found = self.recipe.judged(*self.at(rows))
        except (SumpwiseError, ArithmeticError, ValueError):
            if len(rows) > FEW:
                half = len(rows) // 2
                self.solve(rows[:half], out)
                self.solve(rows[half:], out)
            else:
                for k in rows.tolist():
                    self._solve_one(k, out)
            return
        self._keep(rows, found, out)

    def _solve_one(self, k: int, out: list[Any]) -> None:
        try:
            self._keep(numpy.array([k]), self.recipe.judged(*self.at(k)), out)
        except (SumpwiseError, ArithmeticError, ValueError) as error:
            self.refuse(k, error)

    def _keep(self, rows: Any, found: Any, out: list[Any]) -> None:
        parts = found if isinstance(found, tuple) else (found,)
        if not out:
            out += [numpy.full(len(self.fine), numpy.nan) for _ in parts]
        for whole, part in zip(out, parts, strict=True):
            whole[rows] = part
            for k in rows[~numpy.isfinite(whole[rows])].tolist():
                self.refuse(k, ArithmeticError("it is not finite"))

    def computed(self) -> list[Any]:
        """The answers, with nan in bad rows."""
        out: list[Any] = []
        with numpy.errstate(all="ignore"):
            self.bounded()
            self.solve(numpy.flatnonzero(self.fine), out)
            uncertain = [i for i, value in enumerate(self.values) if value is not _best(value)]
            if uncertain and self.fine.any() and not self.recipe.counted:
                out = self._carried(uncertain)
        if not out:
            out = [numpy.full(len(self.fine), numpy.nan)]
        if self.recipe.counted and self.fine.all():
            out = [part.astype(int) for part in out]
        return [part.reshape(self.shape) if isinstance(part, numpy.ndarray) else part for part in out]

    def _carried(self, uncertain: list[int]) -> list[Any]:
        """With uncertainty: bad rows are computed with the values of a good one, then blanked."""
        blank = ~self.fine.reshape(self.shape)
        seed = int(numpy.flatnonzero(self.fine)[0])
        best = [numpy.where(self.fine, x, x[seed]).astype(x.dtype).reshape(self.shape) if getattr(x, "ndim", 0) else x for x in self.best]
        best = [_whole(x) if spec.whole else x for x, spec in zip(best, self.recipe.specs, strict=True)]
        values = [_filled(value, x, blank, seed) for value, x in zip(self.values, best, strict=True)]
        found = self.recipe.run(values, best, uncertain)
        return [_blanked(part, blank) for part in (found if isinstance(found, tuple) else (found,))]


def _item(x: Any, k: int) -> Any:
    return x[k].item() if getattr(x, "ndim", 0) else x


def _whole(x: Any) -> Any:
    return x if x is None else x.astype(int) if getattr(x, "ndim", 0) else int(x)


def _filled(value: Any, best: Any, blank: Any, seed: int) -> Any:
    """A column with other nominal values; in an array of uncertain numbers, blanks are filled with one of its own."""
    if has_objects(value):
        whole = numpy.broadcast_to(value, blank.shape).copy()
        whole[blank] = whole.flat[seed]
        return whole
    return value.moved_to(best) if hasattr(value, "moved_to") else best if getattr(value, "ndim", 0) else value


def _blanked(part: Any, blank: Any) -> Any:
    if hasattr(part, "moved_to"):
        return part.without(blank)
    part = numpy.broadcast_to(part, blank.shape).copy()
    part[blank] = numpy.nan
    return part


# -- arrays that are not computed yet


def _lazily(recipe: Recipe, opened: dict[str, Opened], errors: str) -> Any:
    """The answer for arrays that are not computed yet: just as lazy; errors in a block are raised when it is computed."""
    if errors == "collect":
        raise RangeError(
            "is not possible for an array that is not computed yet", code="value.choice", argument="errors", value=errors,
            allowed="'raise' or 'mask'", hint="mask the rows, or compute the array first",
        )  # fmt: skip
    for name, one in opened.items():
        if is_lazy(one.value) and not hasattr(one.value, "chunks"):
            raise RangeError(
                "is not computed yet, and it is not an array", code="list.lazy", argument=name, value=one.value,
                hint="map the function over its partitions",
            )  # fmt: skip
    dask = sys.modules["dask.array"]
    arrays = {name: one for name, one in opened.items() if getattr(one.value, "ndim", 0)}
    taken: list[Taken] = [NOTHING] * len(recipe.names)
    for name, one in opened.items():
        i = recipe.names.index(name)
        if name not in arrays:
            taken[i] = recipe.specs[i].plainly(one.value, name)
            if hasattr(taken[i][0], "nominal_value"):
                raise RangeError(
                    "is uncertain beside an array that is not computed yet", code="uncertainty.unexpected", argument=name, value=one.value,
                    hint="map the function over blocks of values and standard uncertainties",
                )  # fmt: skip
        else:
            if one.unit is not None:
                recipe.specs[i].fitting(one.unit, one.value, name)
            elif recipe.specs[i].needs_unit:
                raise recipe.specs[i].no_unit(one.value, name)
            taken[i] = (None, one.unit, one.registry, None)
    rank = max(one.value.ndim for one in arrays.values())
    blocks: list[Any] = []
    for one in arrays.values():
        blocks += [one.value, tuple(range(rank - one.value.ndim, rank))]
    rest = {name: one for name, one in opened.items() if name not in arrays}
    shells = {name: one._replace(value=None, registry=None) for name, one in arrays.items()}

    def part(number: int) -> Any:
        def block(*values: Any) -> Any:
            some = {name: shells[name]._replace(value=value) for name, value in zip(shells, values, strict=True)}
            return _answers(recipe, {**some, **rest}, errors)[0][number]

        return dask.blockwise(block, tuple(range(rank)), *blocks, dtype=float, meta=numpy.empty((0,) * rank))

    parts = [part(number) for number in range(recipe.several or 1)]
    return recipe.given_back(tuple(parts) if recipe.several else parts[0], taken)
