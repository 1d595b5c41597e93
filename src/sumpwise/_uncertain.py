"""Uncertain numbers: the only module that imports uncertainties.

A *source* is one independent cause of doubt with a name, a shape and degrees of freedom. It keeps its identity through copies and
pickles, so correlation is never lost by accident. Functions of sources carry first-order contributions (GUM clause 5.1).
"""

from __future__ import annotations

import itertools
import math
import os
import threading
import weakref
from typing import TYPE_CHECKING, Any

from uncertainties.core import AffineScalarFunc, LinearCombination, Variable  # type: ignore[import-untyped]

from sumpwise.errors import RangeError

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

SHAPES = ("normal", "rectangular", "triangular", "arcsine")

WIDEST = 1e150
"""Standard uncertainties from here on cannot be squared."""

_known: weakref.WeakValueDictionary[str, Source] = weakref.WeakValueDictionary()
_claims: dict[str, tuple[str, float]] = {}
"""Names of shared errors with their shape and degrees of freedom."""
_count = itertools.count()
_process = ""
_entry = threading.Lock()


def _begin() -> None:
    """A part of all identities that no other process has: drawn at the start, and again in every child that is forked."""
    global _process, _entry
    _process = os.urandom(8).hex()
    _entry = threading.Lock()


_begin()
if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_begin)


class Source(Variable):  # type: ignore[misc]
    """One independent cause of uncertainty.

    Parameters
    ----------
    value, standard : float
        Best value and standard uncertainty.
    shape : str
        One of `SHAPES`: how the value is distributed when it is sampled.
    dof : float
        Degrees of freedom of the standard uncertainty.
    name : str
        What a budget calls it.
    uid : str
        Identity; two sources with one identity are one source.
    """

    __slots__ = ("__weakref__", "dof", "shape", "uid")

    def __init__(self, value: float, standard: float, shape: str, dof: float, name: str, uid: str) -> None:
        super().__init__(value, standard, name or None)
        self.shape = shape
        self.dof = dof
        self.uid = uid

    def __copy__(self) -> Source:
        return self

    def __deepcopy__(self, memo: object) -> Source:
        return self

    def __reduce__(self) -> tuple[object, ...]:
        return (_restore, (self.nominal_value, self.std_dev, self.shape, self.dof, self.tag or "", self.uid))


class Doubtful(AffineScalarFunc):  # type: ignore[misc]
    """An uncertain result whose first-order uncertainty is not to be trusted; `caution` says why."""

    __slots__ = ("caution",)

    def __init__(self, value: float, linear: Any, caution: str) -> None:
        super().__init__(value, linear)
        self.caution = caution


class Deferred(AffineScalarFunc):  # type: ignore[misc]
    """An uncertain number whose standard uncertainty is known, and whose contributions are put together when first asked for.

    Parameters
    ----------
    value, standard : float
        Best value and standard uncertainty, which must be that of the contributions.
    contributions : callable
        Returns source -> signed contribution c·u.
    """

    __slots__ = ("_known", "_linear", "_terms")

    def __init__(self, value: float, standard: float, contributions: Callable[[], Mapping[Any, float]]) -> None:
        self._nominal_value = float(value)  # type: ignore[misc]
        self._known = standard
        self._terms = contributions
        self._linear: Any = None

    @property
    def _linear_part(self) -> Any:
        if self._linear is None:
            self._linear = LinearCombination({s: size / s.std_dev for s, size in self._terms().items()})
        return self._linear

    @property
    def std_dev(self) -> float:
        """Standard uncertainty."""
        return self._known

    s = std_dev

    def __reduce__(self) -> tuple[object, ...]:
        return (AffineScalarFunc, (self._nominal_value, self._linear_part))


def _restore(value: float, standard: float, shape: str, dof: float, name: str, uid: str) -> Source:
    """The source of an identity: the one that is known, or a new one; never one that says something else."""
    with _entry:
        found = _known.get(uid)
        if found is None:
            found = _known[uid] = Source(value, standard, shape, dof, name, uid)
            return found
    told = (value, standard, shape, dof)
    known = (found.nominal_value, found.std_dev, found.shape, found.dof)
    if told != known:
        word, one, other = next(
            (word, one, other)
            for word, one, other in zip(("value", "standard uncertainty", "shape", "degrees of freedom"), told, known, strict=True)
            if one != other
        )
        raise RangeError(
            f"is known already with another {word}", argument=name or uid, value=one, allowed=f"{other}",
            hint="one source has one value, one uncertainty, one shape: give another error another name",
        )  # fmt: skip
    return found


def source(value: float, standard: float, *, shape: str = "normal", dof: float = math.inf, name: str = "", uid: str = "") -> Any:
    """Return a new independent uncertain number, or the plain number when `standard` is zero.

    An identity `uid` makes sharing explicit: whoever asks for it again gets the same source.
    """
    if shape not in SHAPES:
        raise RangeError("is no shape of a distribution", argument="shape", value=shape, allowed=", ".join(SHAPES))
    if not (math.isfinite(value) and 0 <= standard < WIDEST):
        raise RangeError("must be finite and not negative", argument="standard uncertainty", value=standard)
    if not dof > 0:
        raise RangeError("must be greater than 0", argument="degrees of freedom", value=dof)
    if standard == 0:
        return float(value)
    return _restore(value, standard, shape, dof, name, uid or new_uid())


def shared(name: str, *, shape: str = "normal", dof: float = math.inf) -> Any:
    """The error, of standard uncertainty 1 around zero, that everything said to share `name` has in common.

    It has one shape and one number of degrees of freedom, said with the name for the first time and kept for good: who still
    holds a value of it makes no difference.
    """
    claimed = _claims.get(name) or next((c for c in _live(name) if c != (shape, dof)), (shape, dof))
    if claimed != (shape, dof):
        raise RangeError(
            "is known already with another distribution", argument=name, value=_distribution(shape, dof), allowed=_distribution(*claimed),
            hint="one error has one shape and one number of degrees of freedom: give another error another name",
        )  # fmt: skip
    found = _common(name, shape, dof)
    _claims[name] = claimed
    return found


def common(name: str, shape: str) -> Any:
    """As `shared`, for a reading that says nothing of its instrument: what is known of the name goes before the shape of the reading."""
    return _common(name, *_claims.get(name, (shape, math.inf)))


def _common(name: str, shape: str, dof: float) -> Any:
    return source(0.0, 1.0, shape=shape, dof=dof, name=name, uid=f"shared:{name}:{shape}:{dof!r}")


def _live(name: str) -> list[tuple[str, float]]:
    """What readings in use say of a name."""
    return [(shape, math.inf) for shape in SHAPES if f"shared:{name}:{shape}:inf" in _known]


def _distribution(shape: str, dof: float) -> str:
    return shape if dof == math.inf else f"{shape}, {dof:g} degrees of freedom"


def new_uid() -> str:
    """An identity that no other source has, in this process or another."""
    return f"{_process}-{next(_count)}"


def alone(x: Any) -> Any:
    """What an array of no dimension holds, as a registry keeps it that makes an array of everything; anything else is itself."""
    return x[()] if getattr(x, "shape", None) == () else x


def is_uncertain(x: object) -> bool:
    """Whether `x` is one uncertain number."""
    return isinstance(x, AffineScalarFunc) or isinstance(alone(x), AffineScalarFunc)


def nominal(x: Any) -> float:
    """The best value of a plain or uncertain number."""
    if not isinstance(x, AffineScalarFunc):
        x = alone(x)
    return float(x.nominal_value) if isinstance(x, AffineScalarFunc) else float(x)


def standard(x: Any) -> float:
    """The standard uncertainty of a plain or uncertain number."""
    if not isinstance(x, AffineScalarFunc):
        x = alone(x)
    return float(x.std_dev) if isinstance(x, AffineScalarFunc) else 0.0


def caution(x: Any) -> str:
    """Why the first-order uncertainty of `x` is doubtful, or an empty text."""
    x = alone(x)
    return x.caution if isinstance(x, Doubtful) else ""


def derivatives(x: Any) -> dict[Any, float]:
    """The sensitivity of `x` to each of its sources."""
    x = alone(x)
    return dict(x.derivatives) if isinstance(x, AffineScalarFunc) else {}


def contributions(x: Any) -> list[tuple[Any, float]]:
    """Sources of `x` with their signed contributions c·u, in the unit of `x`."""
    return [(s, c * s.std_dev) for s, c in derivatives(x).items()]


CANCELLED = 1e-12
"""Share of two opposite effects of one source that may be left by rounding alone."""


def combine(value: float, terms: Sequence[tuple[float, Any]], doubt: str = "") -> Any:
    """The uncertain number `value + Σ cᵢ·(xᵢ − nominal of xᵢ)`; a plain float when nothing uncertain is left."""
    linear: dict[Any, float] = {}
    for coefficient, x in terms:
        for cause, c in derivatives(x).items():
            before, part = linear.get(cause, 0.0), coefficient * c
            linear[cause] = before + part if abs(before + part) > CANCELLED * abs(part) else 0.0 * part
    if not (doubt or any(linear.values())):
        return float(value)
    if doubt:
        return Doubtful(value, LinearCombination(linear), doubt)
    return AffineScalarFunc(value, LinearCombination(linear))


def converted(x: Any, to: Callable[[Any], Any]) -> Any:
    """An uncertain number, or an object array of them, through a linear conversion of plain numbers; a caution stays with it."""
    import numpy

    slope = to(1.0) - to(0.0)
    if not isinstance(x, numpy.ndarray):
        return combine(to(nominal(x)), [(slope, x)], caution(x))
    out = numpy.empty(x.shape, dtype=object)
    for index in numpy.ndindex(x.shape):
        out[index] = converted(x[index], to)
    return out


def nominals(x: Any) -> Any:
    """`x` without its uncertainties: a float, or a float array for an object array."""
    import numpy

    if isinstance(x, numpy.ndarray):
        if x.dtype != object:
            return x
        return numpy.array([nominal(e) for e in x.flat], dtype=float).reshape(x.shape)
    return nominal(x)


def standards(x: Any) -> Any:
    """The standard uncertainties of `x`, in its shape."""
    import numpy

    if isinstance(x, numpy.ndarray):
        return numpy.array([standard(e) for e in x.flat], dtype=float).reshape(x.shape)
    return standard(x)


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
