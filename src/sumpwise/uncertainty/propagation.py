"""Propagation: the uncertainty of arguments through a kernel of plain arithmetic, to first order (GUM clause 5.1)."""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING, Any

from sumpwise import _blocks
from sumpwise._math import WIDEST, largest
from sumpwise.errors import RangeError
from sumpwise.uncertainty import columns
from sumpwise.uncertainty.sources import caution, effects, resting_on, spread, standard, standards

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from typing import TypeAlias

    _Sensitive: TypeAlias = tuple[Sequence[Any], Sequence[Any], Sequence[Any]]
    """The answers; their slopes for each uncertain value; whether they curve within a standard uncertainty."""

CURVED = "the function is too curved within one standard uncertainty for first order: use monte_carlo"
BEND = 0.3
"""First order is doubtful if the curvature within one standard uncertainty reaches this share of the change from the slope."""
AT_BOUND = "a share within two standard uncertainties of 0 or 1: a first-order interval may go beyond it; use monte_carlo"


def propagate(
    kernel: Callable[..., Any], arguments: Sequence[Any], best: Sequence[Any], uncertain: Sequence[int], shares: Sequence[bool]
) -> Any:  # fmt: skip
    """Run an elementwise kernel on nominal values and propagate the uncertainty of its arguments to first order.

    The arguments are in the kernel's units, some of them uncertain, or columns, or object arrays of uncertain numbers: those at the
    positions `uncertain`; `best` are all of them without their uncertainties. `shares` says of each answer whether it is a share, bounded
    by 0 and 1.

    Notes
    -----
    Sensitivities are five-point differences of the kernel, with a relative step of 2.5e-4 (truncation and cancellation both near
    1e-12). They are one-sided if a neighbour is outside the kernel's domain, and zero if the difference is no more than rounding, so a
    contribution below 1e-10 of the answer is dropped. A term whose curvature within one standard uncertainty reaches `BEND` of its change
    marks the result with a caution (GUM 5.1.2, note: first order is not enough there), and so does an argument that already has one.
    """
    if (found := _single(kernel, arguments, best, uncertain, shares)) is not None:
        return found
    spreads = {position: standards(arguments[position]) for position in uncertain}
    doubtful = [arguments[position] for position in uncertain]
    whole = any(map(columns.is_column, doubtful)) and not any(map(columns.has_objects, doubtful))
    if any(getattr(value, "ndim", 0) for value in best):
        answers, slopes, curved = _by_rows(kernel, best, spreads, _swiftly if whole else _block)
    else:
        answers, slopes, curved = _here(kernel, best, spreads, kernel(*best))
    carried = columns_over if whole else spread_over
    if not isinstance(answers, tuple):
        return carried(answers, [slope[0] for slope in slopes], doubtful, curved[0], shares[0])
    return tuple(
        carried(answer, [slope[k] for slope in slopes], doubtful, curved[k], shares[k]) for k, answer in enumerate(answers)
    )


def _here(kernel: Callable[..., Any], best: Sequence[Any], spreads: dict[int, Any], answers: Any) -> _Sensitive:
    """The answers for plain numbers, their slopes for each uncertain one, and whether they are too curved."""
    count = len(_each(answers))
    if not all(map(_real, _each(answers))):
        raise RangeError("there is no finite answer for these arguments", code="answer.none")

    def at(position: int, shift: Any) -> Any:
        moved = list(best)
        moved[position] = best[position] + shift
        try:
            got = kernel(*moved)
        except (ArithmeticError, ValueError):
            return None
        return _each(got) if all(map(_real, _each(got))) else None

    slopes: list[Any] = []
    curved: list[Any] = [False] * count
    for position, u in spreads.items():
        slope = _slopes(at, position, stride(best[position], u), count)
        slopes.append(slope)
        _mark_curved(at, position, u, slope, _each(answers), curved)
    return answers, slopes, curved


def _each(got: Any) -> Any:
    """The answers of a kernel, one or several, as a list."""
    return got if isinstance(got, tuple) else (got,)


def _by_rows(
    kernel: Callable[..., Any], best: Sequence[Any], spreads: dict[int, Any], block: Callable[..., _Sensitive]
) -> _Sensitive:  # fmt: skip
    """The same for arrays, a block of rows at a time."""
    import numpy

    full = numpy.broadcast_shapes(*map(numpy.shape, best))
    answers: list[Any] = []
    slopes: list[list[Any]] = []
    curved: list[Any] = []
    several = False
    for rows, values in _blocks.cut([*best, *spreads.values()], full):
        near, wide = values[: len(best)], dict(zip(spreads, values[len(best) :], strict=True))
        got, steep, bent = block(kernel, near, wide, rows.stop - rows.start)
        several = isinstance(got, tuple)
        if not answers:
            answers, *slopes = ([numpy.empty(full) for _ in _each(got)] for _ in (got, *steep))
            curved = [numpy.zeros(full, dtype=bool) for _ in bent]
        for whole, piece in zip(
            (*answers, *curved, *(one for each in slopes for one in each)), (*_each(got), *bent, *(one for each in steep for one in each)),
            strict=True,
        ):  # fmt: skip
            whole.reshape(-1)[rows] = piece  # at once, so that a block's own memory is used again by the next
    return tuple(answers) if several else answers[0], slopes, [bends if bends.any() else False for bends in curved]


def _parts(got: Any, rows: int) -> Any:
    """The answers of a kernel, one or several, each as an array of this many rows."""
    if isinstance(got, tuple):
        return tuple(_parts(one, rows) for one in got)
    if getattr(got, "shape", None) == (rows,) and got.dtype == float:
        return got
    import numpy

    return numpy.broadcast_to(numpy.asarray(got, dtype=float), (rows,))


SHORT = 2e-5
"""The step of the short differences, as a share of the value: truncation and cancellation both near 1e-10."""
NARROW = 0.1
"""An uncertainty up to this share of the value is narrow."""
STRAIGHT = 1 / 3
"""A second difference at the value itself below this share of `BEND` is far from too curved."""


def _swiftly(kernel: Callable[..., Any], best: Sequence[Any], spreads: dict[int, Any], rows: int) -> _Sensitive:
    """One block, with one neighbour on either side, and slopes for one standard uncertainty instead of one unit.

    Rows that are very uncertain or curved are left to `_block`.
    """
    import numpy

    answers = _parts(kernel(*best), rows)
    twice = [2.0 * answer for answer in _each(answers)]
    shifts: list[Any] = []
    straight: list[Any] = []
    most = 0.5 * NARROW / SHORT
    try:
        for position, u in spreads.items():
            x = best[position]
            moved = list(best)
            moved[position] = x * (1 + SHORT)
            above = _each(_parts(kernel(*moved), rows))
            moved[position] = x * (1 - SHORT)
            below = _each(_parts(kernel(*moved), rows))
            apart = x * (2 * SHORT)
            width = u / apart
            if not largest(size := abs(width)) <= most:
                straight.append(size <= most)
            shifts.append([])
            for both, up, down in zip(twice, above, below, strict=True):
                shift = up - down
                bend = up + down
                bend -= both
                bend *= width
                # half of f''·u² against the curvature allowed, a share of f'·u: both over u, times the distance of the neighbours
                allowed = abs(shift)
                allowed *= 0.5 * STRAIGHT * BEND
                straight.append(numpy.abs(bend, out=bend) <= allowed)
                shift *= width
                shifts[-1].append(shift)
    except (ArithmeticError, ValueError):
        straight, shifts = [numpy.zeros(rows, dtype=bool)], [[numpy.empty(rows) for _ in twice] for _ in spreads]
    fine = straight[0]
    for one in straight[1:]:
        fine = fine & one
    curved: list[Any] = [False] * len(twice)
    if not fine.all():
        again = numpy.flatnonzero(~fine)

        def some(x: Any) -> Any:
            return x[again] if getattr(x, "ndim", 0) else x

        wide = {position: some(u) for position, u in spreads.items()}
        _, thorough, bent = _block(kernel, list(map(some, best)), wide, len(again))
        for k, found in enumerate(bent):
            curved[k] = numpy.zeros(rows, dtype=bool)
            curved[k][again] = found
            for shift, slope, u in zip(shifts, thorough, wide.values(), strict=True):
                shift[k][again] = slope[k] * u
    return answers, shifts, curved


def _block(kernel: Callable[..., Any], best: Sequence[Any], spreads: dict[int, Any], rows: int) -> _Sensitive:
    """One block; a row whose neighbours are not all in the domain is worked out on its own."""
    import numpy

    answers = _parts(kernel(*best), rows)
    count = len(_each(answers))
    fine = numpy.ones(rows, dtype=bool)

    def at(position: int, shift: Any) -> Any:
        moved = list(best)
        moved[position] = best[position] + shift
        try:
            found = _each(_parts(kernel(*moved), rows))
        except (ArithmeticError, ValueError):
            found = [numpy.full(rows, numpy.nan)] * count
        for one in found:
            numpy.logical_and(fine, numpy.isfinite(one), out=fine)
        return found

    slopes: list[Any] = []
    curved: list[Any] = [numpy.zeros(rows, dtype=bool)] * count
    for position, u in spreads.items():
        slope = _slopes(at, position, stride(best[position], u), count)
        slopes.append(slope)
        _mark_curved(at, position, u, slope, _each(answers), curved)
    for row in numpy.flatnonzero(~fine):
        def own(x: Any, row: Any = row) -> Any:
            return x[row].item() if getattr(x, "ndim", 0) else x

        _, own_slopes, own_curved = _here(
            kernel, list(map(own, best)), {position: own(u) for position, u in spreads.items()}, tuple(map(own, _each(answers)))
        )
        for k in range(count):
            curved[k][row] = own_curved[k]
            for slope, found in zip(slopes, own_slopes, strict=True):
                slope[k][row] = found[k]
    return answers, slopes, curved


def _single(
    kernel: Callable[..., Any], arguments: Sequence[Any], best: Sequence[Any], uncertain: Sequence[int], shares: Sequence[bool]
) -> Any:  # fmt: skip
    """A shortcut for plain answers whose neighbours are all in the domain, one by one; None if they are not."""
    values = list(best)
    for position in uncertain:
        if values[position].__class__ is not float:
            return None
    centre = kernel(*values)
    if centre.__class__ is not float:
        if not (isinstance(centre, tuple) and all(one.__class__ is float for one in centre)):
            return None
        each = [_single(_only(kernel, k), arguments, best, uncertain, (share,)) for k, share in enumerate(shares)]
        return None if any(one is None for one in each) else tuple(each)
    terms, bent = [], False
    for position in uncertain:
        doubtful = arguments[position]
        slope, curved = _beside(kernel, values, position, standard(doubtful), centre)
        if slope is None:
            return None
        terms.append((slope, doubtful))
        bent = bent or curved
    return resulting(centre, terms, bent, shares[0])


def _only(kernel: Callable[..., Any], place: int) -> Callable[..., Any]:
    """A kernel for one of its answers."""
    return lambda *values: kernel(*values)[place]


def _beside(kernel: Callable[..., Any], values: list[Any], position: int, spread: float, centre: float) -> tuple[float | None, bool]:
    """What `_slopes` and `_mark_curved` find for one plain number."""
    x = values[position]
    step = 2.5e-4 * max(abs(x), spread) or 1e-6
    try:
        values[position] = x - 2 * step
        a = kernel(*values)
        values[position] = x - step
        b = kernel(*values)
        values[position] = x + step
        c = kernel(*values)
        values[position] = x + 2 * step
        d = kernel(*values)
        values[position] = x + spread
        up = kernel(*values)
        values[position] = x - spread
        down = kernel(*values)
        values[position] = x
        rise = (a - 8.0 * b + 8.0 * c - d) / 12
        total = abs(a) + abs(b) + abs(c) + abs(d)
        slope = rise / step if abs(rise) > _ROUNDING * total / 4 else 0.0
        first = slope * spread
        bend = max(abs(up - centre - first), abs(down - centre + first))
        if (rise + up + down).__class__ is not float or not bend + total < inf:
            return None, False
    except (ArithmeticError, ValueError, TypeError):
        return None, False
    return slope, bend > BEND * abs(first) and bend > 1e-9 * abs(centre) + 1e-300


def resulting(value: float, terms: Sequence[tuple[float, Any]], bent: Any, share: bool) -> Any:
    """One answer with its uncertainty; if there are several cautions, the first is kept. `bent` may be a function, called when needed."""
    linear = effects(terms)
    u = spread(linear)
    if not (-inf < value < inf and u < WIDEST):
        raise RangeError("there is no finite answer for these arguments", code="answer.none")
    bounded = share and u and (value < 2 * u or 1 - value < 2 * u)
    if callable(bent):
        return resting_on(linear, value, lambda: _doubt(terms, bent(), bounded), u)
    return resting_on(linear, value, _doubt(terms, bent, bounded), u)


def _doubt(terms: Sequence[tuple[float, Any]], bent: Any, bounded: Any) -> str:
    """Why first order cannot be trusted, or an empty text."""
    if bent:
        return CURVED
    for slope, x in terms:
        if slope and (doubt := caution(x)):
            return doubt
    return AT_BOUND if bounded else ""


def spread_over(answer: Any, slopes: Sequence[Any], doubtful: Sequence[Any], bent: Any, share: bool) -> Any:
    """An answer, or an array of them, with its uncertainty.

    There is a derivative, or an array of them, for each of the uncertain values, which are uncertain numbers or object arrays of them.
    `bent` says where first order is doubtful, `share` whether the answer is bounded by 0 and 1.
    """
    import numpy

    doubtful = [numpy.asarray(x, dtype=object) for x in doubtful]
    full = numpy.broadcast_shapes(*(numpy.shape(x) for x in (answer, bent, *slopes, *doubtful)))
    values, curves = numpy.broadcast_to(answer, full), numpy.broadcast_to(bent, full)
    sloped, spread = ([numpy.broadcast_to(x, full) for x in several] for several in (slopes, doubtful))
    out = numpy.empty(full, dtype=object)
    for index in numpy.ndindex(full):
        terms = [(float(slope[index]), x[index]) for slope, x in zip(sloped, spread, strict=True)]
        out[index] = resulting(float(values[index]), terms, curves[index], share)
    return out[()] if full == () else out


def columns_over(answer: Any, shifts: Sequence[Any], doubtful: Sequence[Any], bent: Any, share: bool) -> Any:
    """As `spread_over`, but with columns among the uncertain values, and slopes for one standard uncertainty; the answer is a column."""
    found = columns.carried(answer, list(zip(shifts, doubtful, strict=True)), {CURVED: bent})
    value, u = found.nominal_value, found.std_dev
    low, high, widest = value.min(), value.max(), 2 * u.max()
    if not (-inf < low and high < inf and widest < 2 * WIDEST):
        raise RangeError("there is no finite answer for these arguments", code="answer.none")
    if share and (low < widest or 1 - high < widest):
        near = (u > 0) & ((value < 2 * u) | (1 - value < 2 * u))
        for rows in found.cautions.values():
            near &= ~rows
        if near.any():
            found.cautions[AT_BOUND] = near
    return found


def _real(part: Any) -> bool:
    """Whether an answer is a real number, or an array of them, and finite."""
    if part.__class__ is float:
        return bool(part - part == 0)
    import numpy

    array = numpy.asarray(part)
    return array.dtype.kind == "f" and bool(numpy.isfinite(array).all())


STENCIL = ((-2, 1.0), (-1, -8.0), (1, 8.0), (2, -1.0))
_FORWARD = ((0, -25.0), (1, 48.0), (2, -36.0), (3, 16.0), (4, -3.0))
_ROUNDING = 1e-14
"""How far rounding alone may put a kernel's answer off, as a share of it."""


def stride(value: Any, spread: Any) -> Any:
    """The step of the differences."""
    import numpy

    step = 2.5e-4 * numpy.maximum(numpy.abs(value), spread)
    step = numpy.where(step == 0, 1e-6, step)
    return step if step.ndim else float(step)


def _slopes(at: Callable[[int, Any], Any], position: int, step: Any, count: int) -> list[Any]:
    """Derivative of every answer with respect to one argument: central if both neighbours exist, else one-sided."""
    for rule, sign in ((STENCIL, 1), (_FORWARD, 1), (_FORWARD, -1)):
        points = [p for n, _ in rule if (p := at(position, sign * n * step)) is not None]
        if len(points) == len(rule):
            return [derivative([p[k] for p in points], rule, sign * step) for k in range(count)]
    raise RangeError(
        "the uncertainty cannot be propagated: the answer exists only at exactly this value", code="uncertainty.first_order",
        hint="use monte_carlo",
    )  # fmt: skip


def derivative(points: list[Any], rule: tuple[tuple[int, float], ...], step: Any) -> Any:
    """A derivative from the points of a difference rule; zero if they differ by no more than rounding."""
    rise = sum(weight * point for (_, weight), point in zip(rule, points, strict=True)) / 12
    noise = _ROUNDING * sum(abs(point) for point in points) / len(points)
    return (abs(rise) > noise) * rise / step


def _mark_curved(at: Any, position: int, spread: Any, slope: list[Any], answers: Sequence[Any], curved: list[Any]) -> None:
    up, down = at(position, spread), at(position, -spread)
    for k, answer in enumerate(answers):
        first = slope[k] * spread
        curved[k] = curved[k] | bends(answer, first, *(None if side is None else side[k] for side in (up, down)))


def bends(answer: Any, first: Any, up: Any, down: Any) -> Any:
    """Whether the curvature within one standard uncertainty, either way, exceeds `BEND` times the change from the slope, `first`."""
    found: Any = False
    for side, foreseen in ((up, first), (down, -first)):
        if side is not None:
            bend = abs(side - answer - foreseen)
            found = found | ((bend > BEND * abs(first)) & (bend > 1e-9 * abs(answer) + 1e-300))
    return found
