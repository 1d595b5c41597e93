"""The boundary: units, validation and uncertainty around a kernel of plain arithmetic.

A kernel computes on plain numbers in the units of `units.INTERNAL`. `unit_aware` makes the public function from it: every argument is
read and validated first (texts, Quantities of any registry, uncertain numbers, arrays, lists), then the kernel runs once, then the answer
goes back in the unit and registry that asked. Only nominal values are validated.
"""

from __future__ import annotations

from math import inf, isfinite

from sumpwise._math import every, where
from sumpwise.errors import RangeError, SumpwiseError, shown
from sumpwise.quantities import notation
from sumpwise.quantities.arguments import PLAIN as PLAIN
from sumpwise.quantities.arguments import Argument as Argument
from sumpwise.quantities.arguments import argument as argument
from sumpwise.quantities.arguments import has_objects, outward, the_door_to_pint
from sumpwise.quantities.units import INTERNAL, Unit, internal_unit

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any, Generic, NoReturn, ParamSpec, Protocol, TypeVar

    P = ParamSpec("P")
    R = TypeVar("R", covariant=True)

    class UnitAware(Protocol, Generic[P, R]):
        """A public function with the kernel it was made from."""

        __name__: str
        kernel: Callable[P, Any]
        arguments: dict[str, Argument]

        def __call__(self, *args: P.args, **kwargs: P.kwargs) -> R:
            """Read, validate, compute, answer."""
            raise NotImplementedError


ALMOST = 1 - 1e-12
"""Share of a limit from which on a value may be the limit itself, but for rounding."""
WRITTEN = 512
"""Texts whose unit is remembered."""
DEEPEST = 32
"""Lists within lists that are looked into."""
_written: dict[tuple[str, tuple[str, ...]], Unit | None] = {}


def asker(values: Any, kinds: str | tuple[str, ...]) -> tuple[Unit | None, Any]:
    """The unit of the first value of one of the kinds, and the registry of the first Quantity."""
    return _unit_asked(values, (kinds,) if isinstance(kinds, str) else kinds), _registry_asked(values)


def _unit_asked(values: Any, kinds: tuple[str, ...]) -> Unit | None:
    for value in values:
        first = _first(value)
        if first.__class__ is str:
            unit = _unit_written(first, kinds)
            if unit is not None:
                return unit
        elif hasattr(first, "_REGISTRY"):
            found: Unit = the_door_to_pint().unit_of(first)
            if found.kind in kinds:
                return found
    return None


def _registry_asked(values: Any) -> Any:
    for value in values:
        first = _first(value)
        if hasattr(first, "_REGISTRY"):
            return first._REGISTRY
    return None


def _first(value: Any) -> Any:
    """The first element of a list or column, however deep; a Quantity, a number, anything else is itself."""
    for _ in range(DEEPEST):
        if value.__class__ is str or hasattr(value, "_REGISTRY"):
            break
        if isinstance(value, (list, tuple)):
            if not value:
                return None
            value = value[0]
        elif hasattr(value, "__array__"):
            import numpy

            array = numpy.asarray(value)
            if array.dtype.kind in "fiu" or not array.size:
                return None
            value = array.ravel()[:1].tolist()[0]
        else:
            break
    return str.__str__(value) if isinstance(value, str) else value


def _unit_written(text: str, kinds: tuple[str, ...]) -> Unit | None:
    """The unit of a text, or None when it is of no such kind."""
    try:
        return _written[text, kinds]
    except KeyError:
        pass
    try:
        unit = notation.read(text, kinds).unit
        found = unit if unit.kind in kinds else None
    except SumpwiseError:
        found = None
    if len(_written) >= WRITTEN:
        _written.clear()
    _written[text, kinds] = found
    return found


def answer(magnitude: Any, kind: str, *askers: Any, unit: Unit | None = None, registry: Any = None) -> Any:
    """Build the answer from an internal magnitude.

    Parameters
    ----------
    magnitude : float, ndarray, uncertain number or object ndarray
        In the internal unit of `kind`.
    kind : str
        Kind of quantity; a "fraction", "number" or "count" comes back plain.
    *askers : object
        The caller's arguments: the first of that kind gives the unit, the first Quantity the registry.
    unit, registry : optional
        Taken instead, when given.

    Returns
    -------
    Quantity, float, int, ndarray or uncertain number
    """
    if kind in PLAIN:
        if not _finite(magnitude):
            raise RangeError("there is no finite answer for these arguments")
        return magnitude
    if unit is None or registry is None:
        asked, where = asker(askers, kind)
        unit = unit or asked or internal_unit(kind)
        registry = where if registry is None else registry
    return built(magnitude, unit, registry)


def built(magnitude: Any, unit: Unit, registry: Any) -> Any:
    """The Quantity of an internal magnitude, which must be finite in its unit too: by what its registry holds that unit to be."""
    door = the_door_to_pint()
    registry, container, own = door.home(unit, registry)
    if getattr(magnitude, "ndim", 0):
        import numpy

        with numpy.errstate(all="ignore"):
            shown = outward(magnitude, own)
    else:
        shown = outward(magnitude, own)
    if not _finite(shown):
        raise RangeError(f"the answer is too large to be written in {unit.symbol}")
    return door.made(shown, container, registry)


def unit_aware(
    returns: Any, check: Callable[..., None] | None = None, **arguments: Argument
) -> Callable[[Callable[P, Any]], UnitAware[P, Any]]:
    """Make a unit-aware public function from a kernel.

    Parameters
    ----------
    returns : str or tuple
        The kind of the answer; the name of an argument (the same kind as it); or `(constructor, kind, kind, ...)` for a kernel
        that returns a tuple.
    check : callable
        Called with the nominal internal arguments; raises `RangeError` for what single limits cannot say.
    **arguments : Argument
        One for each parameter of the kernel.

    Returns
    -------
    callable
        The decorator. The function it makes has `.kernel`.
    """

    def decorate(kernel: Callable[P, Any]) -> UnitAware[P, Any]:
        made: UnitAware[P, Any] = _wrap(kernel, returns, check, arguments)
        return made

    return decorate


def _wrap(kernel: Any, returns: Any, check: Any, arguments: dict[str, Argument]) -> Any:
    code = kernel.__code__
    names: tuple[str, ...] = code.co_varnames[: code.co_argcount]
    if set(names) != set(arguments):
        raise TypeError(f"{kernel.__name__}: arguments described and taken differ: {sorted(set(names) ^ set(arguments))}")
    defaults: tuple[Any, ...] = kernel.__defaults__ or ()
    required = len(names) - len(defaults)
    specs = tuple(arguments[name] for name in names)
    index = {name: i for i, name in enumerate(names)}
    start = [None] * required + [specs[required + i].read(d, names[required + i]) for i, d in enumerate(defaults)]
    bounds = tuple((i, index[s.at_most]) for i, s in enumerate(specs) if s.at_most)
    readers = tuple(s.read for s in specs)
    kinds = (returns,) if isinstance(returns, str) else tuple(returns[1:])
    simple = isinstance(returns, str) and returns in PLAIN
    askers = tuple(_askers(kind, names, specs) for kind in kinds)
    shares = tuple(k == "fraction" for k in kinds)

    def public(*args: Any, **kwargs: Any) -> Any:
        given = len(args)
        values: list[Any] = start[:]
        plain = True
        try:
            for i in range(given):
                value = values[i] = readers[i](args[i], names[i])
                if value.__class__ is not float and value.__class__ is not int and value is not None:
                    plain = False
            missing = required - given
            for name in kwargs:
                i = index[name]
                if i < given:
                    return _wrong_call(kernel, args, kwargs)
                if i < required:
                    missing -= 1
                value = values[i] = readers[i](kwargs[name], name)
                if value.__class__ is not float and value.__class__ is not int and value is not None:
                    plain = False
        except (IndexError, KeyError):
            return _wrong_call(kernel, args, kwargs)
        if missing > 0:
            return _wrong_call(kernel, args, kwargs)
        try:
            if plain:
                for i, j in bounds:
                    if values[i] is not None and values[i] > values[j] * ALMOST:
                        values[i] = _within(names[i], names[j], values[i], values[j], specs[i].kind)
                if check is not None:
                    check(*values)
                try:
                    result = kernel(*values)
                except (ArithmeticError, ValueError) as error:
                    _failed(kernel, error)
                if simple and result.__class__ is float and -inf < result < inf:
                    return result
            else:
                for i, j in bounds:
                    if values[i] is not None:
                        values[i] = _within(names[i], names[j], values[i], values[j], specs[i].kind)
                result = evaluate(kernel, values, shares, check, returns == "count")
        except RangeError as error:
            _as_written(error, names, args, kwargs)
            raise
        return _finish(result, args, kwargs)

    def _finish(result: Any, args: Any, kwargs: Any) -> Any:
        parts = (result,) if isinstance(returns, str) else tuple(result)
        for part in parts:
            if not _finite(part):
                raise RangeError(f"{kernel.__name__} has no finite answer for these arguments")
        if simple:
            return result
        raw = [*args, *[None] * (len(names) - len(args))]
        for name in kwargs:
            raw[index[name]] = kwargs[name]
        registry = _registry_asked(raw)
        answers = []
        for part, (positions, asked, usual) in zip(parts, askers, strict=True):
            unit = _unit_asked([raw[i] for i in positions], asked) or usual
            answers.append(part if unit is None else built(part, unit, registry))
        return answers[0] if isinstance(returns, str) else returns[0](*answers)

    public.__name__ = kernel.__name__
    public.__qualname__ = kernel.__qualname__
    public.__module__ = kernel.__module__
    public.__doc__ = kernel.__doc__
    public.__annotations__ = kernel.__annotations__
    if any(isinstance(d, str) for d in defaults):  # the signature shows defaults as written; the kernel gets them in its own units
        public.__wrapped__ = type(kernel)(code, kernel.__globals__, kernel.__name__, defaults, kernel.__closure__)  # type: ignore[attr-defined]
        kernel.__defaults__ = tuple(start[required:])
    else:
        public.__wrapped__ = kernel  # type: ignore[attr-defined]
    public.kernel = kernel  # type: ignore[attr-defined]
    public.arguments = arguments  # type: ignore[attr-defined]
    return public


def _askers(kind: str, names: tuple[str, ...], specs: tuple[Argument, ...]) -> tuple[tuple[int, ...], tuple[str, ...], Unit | None]:
    """Positions of the arguments that give an answer its unit, the kinds it may be of, and its usual unit (None: a plain number)."""
    if kind in PLAIN:
        return (), (), None
    if kind in names:
        spec = specs[names.index(kind)]
        return (names.index(kind),), spec.kinds, internal_unit(spec.kinds[0]) if spec.needs_unit else None
    return tuple(i for i, spec in enumerate(specs) if kind in spec.kinds), (kind,), internal_unit(kind)


def _finite(part: Any) -> bool:
    if part.__class__ is float or part.__class__ is int:
        return -inf < part < inf
    if hasattr(part, "nominal_value"):
        try:
            return isfinite(part.nominal_value) and isfinite(part.std_dev)
        except OverflowError:  # contributions too large to be squared
            return False
    if isinstance(part, (float, int, complex)):
        return not isinstance(part, complex) and isfinite(part)
    if has_objects(part):
        return all(_finite(e) for e in part.flat)
    return isfinite(part.min()) and isfinite(part.max())


def _at_most(value: Any, limit: Any) -> bool:
    """Whether a value is at most its limit everywhere; the largest says so against one limit, without an array of answers."""
    if limit.__class__ is float and value.__class__ is not float:
        return bool(value.max() <= limit)
    return every(value <= limit)


def _wrong_call(kernel: Any, args: Any, kwargs: Any) -> Any:
    """Raise the TypeError that Python itself would raise for this call of the kernel."""
    import inspect

    inspect.signature(kernel).bind(*args, **kwargs)
    raise TypeError(f"{kernel.__name__}: the arguments do not fit")


def _as_written(error: RangeError, names: tuple[str, ...], args: Any, kwargs: Any) -> None:
    """Let an error show a text as it was typed, not the number that it became."""
    given = dict(zip(names, args, strict=False)) | kwargs
    typed = given.get(error.argument)
    if isinstance(typed, str):
        error.value = shown(typed)


def _plain(value: Any) -> Any:
    """A value without its uncertainty."""
    if hasattr(value, "nominal_value") or has_objects(value):
        from sumpwise import _uncertain

        return _uncertain.nominals(value)
    return value


def _within(name: str, bound: str, value: Any, limit: Any, kind: str | tuple[str, ...]) -> Any:
    """A value that may be as large as its limit: one that differs by rounding alone, as a change of unit leaves it, is the limit itself."""
    best, most = _plain(value), _plain(limit)
    try:
        if _at_most(best, most * ALMOST):
            return value
        if _at_most(best * ALMOST, most):
            return value + where(best > most * ALMOST, most - best, 0.0)
    except ValueError:  # shapes that do not go together: the kernel says so
        return value
    _out_of_bound(name, bound, best, most, kind)


def _out_of_bound(name: str, bound: str, value: Any, limit: Any, kind: str | tuple[str, ...]) -> NoReturn:
    symbol = INTERNAL.get(kind, "") if isinstance(kind, str) else ""
    raise RangeError(f"must be at most the {bound}", argument=name, value=f"{value} {symbol}", allowed=f"at most {limit} {symbol}")


def evaluate(
    kernel: Callable[..., Any], values: list[Any], shares: tuple[bool, ...], judge: Callable[..., None] | None = None,
    counted: bool = False, together: bool = False,
) -> Any:  # fmt: skip
    """Run a kernel on internal values that may be arrays or uncertain.

    Parameters
    ----------
    kernel : callable
        Elementwise, of as many positional arguments as there are values.
    values : list
        In internal units, as `Argument.read` returns them.
    shares : tuple of bool
        For each answer, whether it is a share of one.
    judge : callable, optional
        Called with the nominal values before the kernel; raises what it finds.
    counted : bool
        The answer is a count, which has no uncertainty: that of the nominal values.
    together : bool
        For kernels that take long: single values are moved as columns in one call.

    Returns
    -------
    object
        What the kernel returns, with the uncertainty of the values carried.
    """
    import numpy

    uncertain = [i for i, v in enumerate(values) if hasattr(v, "nominal_value") or has_objects(v)]
    best = values
    if uncertain:
        from sumpwise import _uncertain

        best = [_uncertain.nominals(v) if i in uncertain else v for i, v in enumerate(values)]
    try:
        with numpy.errstate(all="ignore"):
            if judge is not None:
                judge(*best)
            if uncertain and not counted:
                from sumpwise._uncertain import propagate

                return propagate(kernel, values, uncertain, shares, together)
            result = kernel(*best)
            if isinstance(result, tuple):
                return tuple(_own_memory(part, best) for part in result)
            return _own_memory(result, best)
    except SumpwiseError:
        raise
    except (ArithmeticError, ValueError) as error:
        _failed(kernel, error)


def _own_memory(answer: Any, values: list[Any]) -> Any:
    """An answer that is not, or a part of, an array that the caller holds."""
    if getattr(answer, "ndim", 0):
        import numpy

        if any(getattr(v, "ndim", 0) and numpy.may_share_memory(answer, v) for v in values):
            return answer.copy()
    return answer


def _failed(kernel: Any, error: Exception) -> NoReturn:
    raise RangeError(f"{kernel.__name__} has no answer for these arguments: {error}") from error
