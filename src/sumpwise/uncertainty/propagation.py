"""Propagation: the uncertainty of arguments carried through a kernel of plain arithmetic, to first order (GUM clause 5.1)."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sumpwise.errors import RangeError
from sumpwise.uncertainty.sources import caution, combine, nominals, standard, standards

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

CURVED = "bends too much over one standard uncertainty for first order: let monte_carlo answer"
BEND = 0.3
"""Curvature over one standard uncertainty, as a share of what the slope moves, from which first order is doubtful."""
AT_BOUND = "a share within two standard uncertainties of 0 or 1: first order may overstep the bound; let monte_carlo answer"


def propagate(
    kernel: Callable[..., Any], arguments: Sequence[Any], uncertain: Sequence[int], shares: Sequence[bool], together: bool = False
) -> Any:
    """Run an elementwise kernel on nominal values and carry the uncertainty of its arguments to first order.

    Parameters
    ----------
    kernel : callable
        Float (or float array) in, float (array) or tuple of them out.
    arguments : sequence
        Values in the kernel's units, some of them uncertain (or object arrays of uncertain numbers).
    uncertain : sequence of int
        Positions of the uncertain ones.
    shares : sequence of bool
        For each answer, whether it is a share of one, bounded by 0 and 1.
    together : bool
        Single values are moved as columns in one call of the kernel: for kernels that take long.

    Notes
    -----
    Sensitivities are five-point differences of the kernel, with a relative step of 2.5e-4 (truncation and cancellation both near
    1e-12); one-sided where a neighbour lies outside the kernel's domain; zero where the difference is no more than rounding, so that
    a contribution below 1e-10 of the answer is none. A term that bends by `BEND` of its change over one standard uncertainty marks the
    result (GUM 5.1.2, note: first order is not enough there), and so does an argument that is marked already.
    """
    import numpy

    values = [nominals(a) if i in uncertain else a for i, a in enumerate(arguments)]
    centre = kernel(*values)
    single = not isinstance(centre, tuple)
    answers = [numpy.asarray(c, dtype=float) for c in ((centre,) if single else centre)]
    shape = numpy.broadcast_shapes(*(a.shape for a in answers))

    spreads = {position: standards(arguments[position]) for position in uncertain}
    steps = {position: _step(values[position], spread) for position, spread in spreads.items()}
    known: dict[tuple[int, Any], list[Any] | None] = {}
    if together and not any(getattr(value, "ndim", 0) for value in values):
        known = _columns(kernel, values, [(p, n * steps[p]) for p in uncertain for n, _ in _CENTRAL] + [
            (p, sign * spreads[p]) for p in uncertain for sign in (1, -1)
        ])

    def at(position: int, shift: Any) -> list[Any] | None:
        if known and (position, shift) in known:
            return known[position, shift]
        moved = list(values)
        moved[position] = values[position] + shift
        try:
            with numpy.errstate(all="ignore"):
                got = kernel(*moved)
        except (ArithmeticError, ValueError):
            return None
        parts = [numpy.asarray(g) for g in ((got,) if single else got)]
        return parts if all(p.dtype.kind == "f" and numpy.isfinite(p).all() for p in parts) else None

    slopes: list[list[Any]] = []
    curved = [numpy.zeros(a.shape, dtype=bool) for a in answers]
    for position in uncertain:
        slope = _slopes(at, position, steps[position], answers)
        slopes.append(slope)
        _mark_curved(at, position, spreads[position], slope, answers, curved)
    results = []
    for k, answer in enumerate(answers):
        full = numpy.broadcast_to(answer, shape) if shape else answer
        out = numpy.empty(full.shape, dtype=object)
        spreadable = [numpy.broadcast_to(numpy.asarray(arguments[p], dtype=object), full.shape) for p in uncertain]
        sloped = [numpy.broadcast_to(s[k], full.shape) for s in slopes]
        bent = numpy.broadcast_to(curved[k], full.shape)
        for index in numpy.ndindex(full.shape):
            terms = [(float(s[index]), x[index]) for s, x in zip(sloped, spreadable, strict=True)]
            value = float(full[index])
            doubt = CURVED if bent[index] else next((c for c in (caution(x) for s, x in terms if s) if c), "")
            result = combine(value, terms, doubt)
            if shares[k] and not doubt:
                u = standard(result)
                if u and (value < 2 * u or 1 - value < 2 * u):
                    result = combine(value, [(1.0, result)], AT_BOUND)
            out[index] = result
        results.append(out[()] if full.shape == () else out)
    return results[0] if single else tuple(results)


_CENTRAL = ((-2, 1.0), (-1, -8.0), (1, 8.0), (2, -1.0))
_FORWARD = ((0, -25.0), (1, 48.0), (2, -36.0), (3, 16.0), (4, -3.0))
_ROUNDING = 1e-14
"""What a kernel's answer may be off by rounding alone, as a share of it."""


def _step(value: Any, spread: Any) -> Any:
    """The step of the differences."""
    import numpy

    step = 2.5e-4 * numpy.maximum(numpy.abs(value), spread)
    step = numpy.where(step == 0, 1e-6, step)
    return step if step.ndim else float(step)


def _columns(kernel: Callable[..., Any], values: Sequence[Any], moves: Sequence[tuple[int, float]]) -> dict[Any, list[Any] | None]:
    """What the kernel says where one value at a time is moved, all in one call; nothing where it has no answer for all of them."""
    import numpy

    moved = list(values)
    for row, (position, shift) in enumerate(moves):
        if not getattr(moved[position], "ndim", 0):
            moved[position] = numpy.full(len(moves), values[position])
        moved[position][row] += shift
    try:
        with numpy.errstate(all="ignore"):
            got = kernel(*moved)
    except (ArithmeticError, ValueError):
        return {}
    table = [numpy.broadcast_to(numpy.asarray(g, dtype=float), (len(moves),)) for g in (got if isinstance(got, tuple) else (got,))]
    rows = numpy.stack(table, axis=1)
    fine = numpy.isfinite(rows).all(axis=1)
    return {move: list(rows[i]) if fine[i] else None for i, move in enumerate(moves)}


def _slopes(at: Callable[[int, Any], list[Any] | None], position: int, step: Any, answers: list[Any]) -> list[Any]:
    """Derivative of every answer to one argument: central where both neighbours exist, else one-sided."""
    for rule, sign in ((_CENTRAL, 1), (_FORWARD, 1), (_FORWARD, -1)):
        points = [p for n, _ in rule if (p := at(position, sign * n * step)) is not None]
        if len(points) == len(rule):
            return [_slope([p[k] for p in points], rule, sign * step) for k in range(len(answers))]
    raise RangeError("the uncertainty cannot be carried here: the answer exists at this very value only", hint="let monte_carlo answer")


def _slope(points: list[Any], rule: tuple[tuple[int, float], ...], step: Any) -> Any:
    rise = sum(weight * point for (_, weight), point in zip(rule, points, strict=True)) / 12
    noise = _ROUNDING * sum(abs(point) for point in points) / len(points)
    return (abs(rise) > noise) * rise / step


def _mark_curved(at: Any, position: int, spread: Any, slope: list[Any], answers: list[Any], curved: list[Any]) -> None:
    up, down = at(position, spread), at(position, -spread)
    for k, answer in enumerate(answers):
        first = abs(slope[k] * spread)
        bends = [abs(side[k] - answer - sign * slope[k] * spread) for side, sign in ((up, 1), (down, -1)) if side is not None]
        floor = 1e-9 * abs(answer) + 1e-300
        for bend in bends:
            curved[k] |= (bend > BEND * first) & (bend > floor)
