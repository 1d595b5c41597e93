"""Sources of uncertainty and what rests on them: the only module that imports uncertainties.

A *source* is one independent cause of uncertainty with a name, a shape and degrees of freedom. It keeps its identity through copies and
pickles, so correlation is never lost by accident. Functions of sources carry first-order contributions (GUM clause 5.1).
"""

from __future__ import annotations

import itertools
import math
import os
import threading
import weakref
from operator import attrgetter
from typing import TYPE_CHECKING, Any

from uncertainties.core import AffineScalarFunc, LinearCombination, Variable  # type: ignore[import-untyped]

from sumpwise._math import WIDEST
from sumpwise._record import Unchanging
from sumpwise.errors import RangeError, expect_choice

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

SHAPES = ("normal", "rectangular", "triangular", "arcsine")

_known: weakref.WeakValueDictionary[str, Source] = weakref.WeakValueDictionary()
_claims: dict[str, tuple[str, float]] = {}
"""Names of shared errors with their shape and degrees of freedom."""
_count = itertools.count()
_process = ""
_entry = threading.RLock()


def _begin() -> None:
    """Draw the part of all identities that is unique to this process: at the start, and again in every forked child."""
    global _process, _entry
    _process = os.urandom(8).hex()
    _entry = threading.RLock()


_begin()
if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_begin)


class Source(Unchanging, Variable):  # type: ignore[misc]
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
        Identity; two sources with the same identity are one source. It has no other meaning.
    role : str
        What the error is in: "reading", "scale", "tilt", "thermometer" …; "" for a value that a caller measured.
    vessel : str
        The name of the vessel or other instrument whose error it is.
    """

    __slots__ = ("__weakref__", "dof", "role", "shape", "uid", "vessel")

    def __init__(
        self, value: float, standard: float, shape: str, dof: float, name: str, uid: str, role: str = "", vessel: str = ""
    ) -> None:
        self._nominal_value = float(value)  # type: ignore[misc]
        self._std_dev = standard  # type: ignore[misc]
        self.tag = name or None  # type: ignore[misc]
        self.shape = shape
        self.dof = dof
        self.uid = uid
        self.role = role
        self.vessel = vessel

    __hash__ = object.__hash__  # as that of `Variable`, its identity, without a call
    std_dev = property(attrgetter("_std_dev"))  # the same; it never changes, so that what rests on it need not be worked out again

    @property
    def _linear_part(self) -> Any:
        """Its derivative by itself; built when needed, since kept it would be a reference cycle, which only garbage collection frees."""
        return LinearCombination({self: 1.0})

    def __reduce__(self) -> tuple[object, ...]:
        told = (self.nominal_value, self.std_dev, self.shape, self.dof, self.tag or "", self.uid, self.role, self.vessel)
        return (_restore, told)


class Combined(AffineScalarFunc):  # type: ignore[misc]
    """An uncertain result with its sensitivity to each source; its standard uncertainty is worked out once, unless it is known already."""

    __slots__ = ("_spread",)

    def __init__(self, value: float, linear: Any, spread: float | None = None) -> None:
        super().__init__(value, linear)
        self._spread = spread

    @property
    def std_dev(self) -> float:
        """Standard uncertainty."""
        if self._spread is None:
            self._spread = spread(_expanded(self))
        return self._spread

    s = std_dev

    def __reduce__(self) -> tuple[object, ...]:
        return (Combined, (self._nominal_value, self._linear_part, self._spread))


class Doubtful(Combined):
    """An uncertain result whose first-order uncertainty cannot be trusted.

    The doubt is the caution itself, or a function that works it out when it is first needed, and may return an empty text.
    """

    __slots__ = ("doubt",)

    def __init__(self, value: float, linear: Any, doubt: str | Callable[[], str], spread: float | None = None) -> None:
        super().__init__(value, linear, spread)
        self.doubt = doubt

    @property
    def caution(self) -> str:
        """Why the uncertainty cannot be trusted, or an empty text."""
        if not isinstance(self.doubt, str):
            self.doubt = self.doubt()
        return self.doubt

    def __reduce__(self) -> tuple[object, ...]:
        return (Doubtful, (self._nominal_value, self._linear_part, self.caution, self._spread))


class Deferred(AffineScalarFunc):  # type: ignore[misc]
    """An uncertain number whose standard uncertainty is known, and whose contributions are worked out when first needed.

    The function given returns source -> signed contribution c·u; that must agree with the standard uncertainty.
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


def _restore(
    value: float, standard: float, shape: str, dof: float, name: str, uid: str, role: str = "", vessel: str = ""
) -> Source:
    """The source with an identity: the known one, or a new one; refused if the known one has other properties."""
    with _entry:
        found = _known.get(uid)
        if found is None:
            found = _known[uid] = Source(value, standard, shape, dof, name, uid, role, vessel)
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
            f"was given before with another {word}", code="uncertainty.source", argument=name or uid, value=one, allowed=f"{other}",
            hint="a source has one value, one uncertainty and one shape: give a different error a different name",
        )  # fmt: skip
    return found


def source(
    value: float, standard: float, *, shape: str = "normal", dof: float = math.inf, name: str = "", uid: str = "", role: str = "",
    vessel: str = "",
) -> Any:  # fmt: skip
    """Return a new independent uncertain number, or the plain number when `standard` is zero.

    An identity `uid` makes sharing explicit: asking for it again returns the same source. `role` and `vessel` say what it is.
    """
    expect_choice(shape, SHAPES, "shape", "distribution shape")
    if not (math.isfinite(value) and 0 <= standard < WIDEST):
        raise RangeError("must be finite and not negative", code="uncertainty.not_finite", argument="standard uncertainty", value=standard)
    if not dof > 0:
        raise RangeError("must be greater than 0", code="range.outside", argument="degrees of freedom", value=dof)
    if standard == 0:
        return float(value)
    if uid:
        return _restore(value, standard, shape, dof, name, uid, role, vessel)
    found = Source(value, standard, shape, dof, name, new_uid(), role, vessel)
    with _entry:
        _known[found.uid] = found
    return found


def shared(name: str, *, shape: str = "normal", dof: float = math.inf) -> Any:
    """The error, with standard uncertainty 1 around zero, that is common to everything that shares `name`.

    It has one shape and one number of degrees of freedom, fixed the first time the name is used and kept for good, whether or not any
    value of it is still in use.
    """
    with _entry:
        claimed = _claims.get(name) or next((c for c in _live(name) if c != (shape, dof)), (shape, dof))
        if claimed == (shape, dof):
            found = _common(name, shape, dof)
            _claims[name] = claimed
            return found
    raise RangeError(
        "was given before with another distribution", code="uncertainty.source", argument=name, value=_distribution(shape, dof),
        allowed=_distribution(*claimed),
        hint="an error has one shape and one number of degrees of freedom: give a different error a different name",
    )  # fmt: skip


def common(name: str, shape: str) -> Any:
    """As `shared`, for a reading that says nothing about its instrument: a shape known for the name overrides that of the reading."""
    with _entry:
        return _common(name, *_claims.get(name, (shape, math.inf)))


def _common(name: str, shape: str, dof: float, role: str = "") -> Any:
    return source(0.0, 1.0, shape=shape, dof=dof, name=name, uid=f"shared:{name}:{shape}:{dof!r}", role=role)


def _live(name: str) -> list[tuple[str, float]]:
    """The distributions that readings in use give for a name."""
    return [(shape, math.inf) for shape in SHAPES if f"shared:{name}:{shape}:inf" in _known]


def _distribution(shape: str, dof: float) -> str:
    return shape if dof == math.inf else f"{shape}, {dof:g} degrees of freedom"


def new_uid() -> str:
    """An identity that no other source has, in this process or another."""
    return f"{_process}-{next(_count)}"


def alone(x: Any) -> Any:
    """The element of a zero-dimensional array, which some registries make of every number; anything else unchanged."""
    return x[()] if getattr(x, "shape", None) == () else x


def is_uncertain(x: object) -> bool:
    """Whether `x` is one uncertain number."""
    return x.__class__ is not float and (isinstance(x, AffineScalarFunc) or isinstance(alone(x), AffineScalarFunc))


def nominal(x: Any) -> float:
    """The best value of a plain or uncertain number."""
    if x.__class__ is float:
        return x
    if not isinstance(x, AffineScalarFunc):
        x = alone(x)
    best: float = x._nominal_value if isinstance(x, AffineScalarFunc) else float(x)  # the property would only return it
    return best


def standard(x: Any) -> float:
    """The standard uncertainty of a plain or uncertain number."""
    if x.__class__ is float:
        return 0.0
    if not isinstance(x, AffineScalarFunc):
        x = alone(x)
    if x.__class__ is AffineScalarFunc:  # like `std_dev`, but without building a table of the parts
        return spread(_expanded(x))
    return float(x.std_dev) if isinstance(x, AffineScalarFunc) else 0.0


def caution(x: Any) -> str:
    """Why the first-order uncertainty of `x` is doubtful, or an empty text."""
    if not isinstance(x, AffineScalarFunc):
        x = alone(x)
    return x.caution if isinstance(x, Doubtful) else ""


def shape_of(cause: Any) -> str:
    """How a cause of uncertainty is distributed; a variable of another library counts as normal."""
    return getattr(cause, "shape", "normal")


def dof_of(cause: Any) -> float:
    """The degrees of freedom of a cause of uncertainty; a variable of another library has infinitely many."""
    return getattr(cause, "dof", math.inf)


def derivatives(x: Any) -> dict[Any, float]:
    """The sensitivity of `x` to each of its sources."""
    return dict(_slopes(x))


def _slopes(x: Any) -> Mapping[Any, float]:
    """The same, not to be changed."""
    if x.__class__ is Source:
        return {x: 1.0}
    if not isinstance(x, AffineScalarFunc):
        x = alone(x)
    return _expanded(x) if isinstance(x, AffineScalarFunc) else {}


def _expanded(x: Any) -> Any:
    """The derivatives of an uncertain number, which uncertainties works out from a list that it empties: one thread alone may do so."""
    linear = x._linear_part.linear_combo
    if isinstance(linear, dict):
        return linear
    with _entry:
        return x.derivatives


def contributions(x: Any) -> list[tuple[Any, float]]:
    """Sources of `x` with their signed contributions c·u, in the unit of `x`."""
    return [(s, c * s.std_dev) for s, c in _slopes(x).items()]


def by_source(values: Sequence[Any]) -> tuple[list[Any], Any]:
    """All sources of several values, and an array of their signed contributions: a row for each value, a column for each source."""
    import numpy

    rows = [dict(contributions(x)) for x in values]
    causes = list(dict.fromkeys(cause for row in rows for cause in row))
    table = numpy.array([[row.get(cause, 0.0) for cause in causes] for row in rows], dtype=float)
    return causes, table.reshape(len(rows), len(causes))


def contributed(value: float, parts: Mapping[Any, float]) -> Any:
    """The number to whose uncertainty sources contribute so much: source -> signed contribution, c·u."""
    return resting_on({cause: size / cause.std_dev for cause, size in parts.items() if size}, value)


CANCELLED = 1e-12
"""When two opposite effects of one source cancel, a remainder up to this share of them is rounding."""


def combine(value: float, terms: Sequence[tuple[float, Any]], doubt: str | Callable[[], str] = "") -> Any:
    """The uncertain number `value + Σ cᵢ·(xᵢ − nominal of xᵢ)`; a plain float when nothing uncertain is left."""
    return resting_on(effects(terms), value, doubt)


def effects(terms: Sequence[tuple[float, Any]]) -> dict[Any, float]:
    """The sensitivity of Σ cᵢ·xᵢ to each source."""
    linear: dict[Any, float] = {}
    for coefficient, x in terms:
        causes = ((x, 1.0),) if x.__class__ is Source or x.__class__ is Variable else _slopes(x).items()
        if not linear:
            linear = {cause: coefficient * c for cause, c in causes}
            continue
        for cause, c in causes:
            part = coefficient * c
            before = linear.setdefault(cause, part)
            if before is not part:
                linear[cause] = before + part if abs(before + part) > CANCELLED * abs(part) else 0.0 * part
    return linear


def spread(linear: Mapping[Any, float]) -> float:
    """The standard uncertainty that results from these sensitivities to sources."""
    return math.hypot(*[c * s.std_dev for s, c in linear.items()])


def resting_on(linear: dict[Any, float], value: float, doubt: str | Callable[[], str] = "", known: float | None = None) -> Any:
    """The uncertain number with these sensitivities to its sources; a plain float when there are none. Its spread may be `known`."""
    if doubt and not isinstance(doubt, str) and not any(linear.values()):
        doubt = doubt()
    if doubt:
        return Doubtful(value, LinearCombination(linear), doubt, known)
    for c in linear.values():
        if c:
            return Combined(value, LinearCombination(linear), known)
    return float(value)


def converted(x: Any, to: Callable[[Any], Any]) -> Any:
    """An uncertain number, a column or an array of them, through a linear conversion of plain numbers; cautions are kept."""
    if hasattr(x, "converted"):
        return x.converted(to)
    import numpy

    if isinstance(x, numpy.ma.MaskedArray):
        return numpy.ma.array(converted(x.data, to), mask=x.mask)
    slope = to(1.0) - to(0.0)
    if not isinstance(x, numpy.ndarray):
        return combine(to(nominal(x)), [(slope, x)], getattr(alone(x), "doubt", ""))
    out = numpy.empty(x.shape, dtype=object)
    for index in numpy.ndindex(x.shape):
        out[index] = converted(x[index], to)
    return out


def nominals(x: Any) -> Any:
    """`x` without its uncertainties: a float, or a float array for an object array or a column."""
    if getattr(x, "ndim", 0):
        import numpy

        if hasattr(x, "nominal_value"):
            return x.nominal_value
        return x if x.dtype.kind != "O" else numpy.array([nominal(e) for e in x.flat], dtype=float).reshape(x.shape)
    return nominal(x)


def standards(x: Any) -> Any:
    """The standard uncertainties of `x`, in its shape."""
    if getattr(x, "ndim", 0):
        import numpy

        if hasattr(x, "nominal_value"):
            return x.std_dev
        return numpy.array([standard(e) for e in x.flat], dtype=float).reshape(x.shape)
    return standard(x)
