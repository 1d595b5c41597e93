"""The boundary: units, validation and uncertainty around a kernel of plain arithmetic.

A kernel computes with plain numbers in the units of `units.INTERNAL`. `unit_aware` makes the public function from it: every argument is
read and validated first (texts, Quantities of any registry, uncertain numbers, arrays, lists), then the kernel runs once, and the answer
comes back in the caller's unit and registry. Only nominal values are validated.
"""

from __future__ import annotations

from math import inf

from sumpwise.errors import RangeError, SumpwiseError
from sumpwise.quantities.arguments import Argument as Argument
from sumpwise.quantities.arguments import argument as argument
from sumpwise.quantities.expected import ALMOST, over
from sumpwise.quantities.kernels import apart, failed, judged, run
from sumpwise.quantities.kernels import evaluate as evaluate
from sumpwise.quantities.magnitudes import finite
from sumpwise.quantities.reading import NOTHING, Contained, Read, built
from sumpwise.quantities.reading import PLAIN as PLAIN
from sumpwise.quantities.reading import answer as answer
from sumpwise.quantities.reading import inside as inside
from sumpwise.quantities.units import Unit, internal_unit

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from typing import Any, Generic, Literal, NoReturn, ParamSpec, Protocol, TypeVar, overload

    from sumpwise.quantities.reading import Taken

    P = ParamSpec("P")
    R = TypeVar("R", covariant=True)

    class UnitAware(Protocol, Generic[P, R]):
        """A public function with the kernel it was made from."""

        __name__: str
        kernel: Callable[..., Any]
        arguments: dict[str, Argument]

        @overload
        def __call__(self, *args: P.args, **kwargs: P.kwargs) -> R: ...
        @overload
        def __call__(self, *args: Any, errors: Literal["raise", "mask", "collect"], **kwargs: Any) -> Any: ...


def unit_aware(
    returns: Any, check: Callable[..., None] | None = None, **arguments: Argument
) -> Callable[[Callable[P, Any]], UnitAware[P, Any]]:
    """Make a unit-aware public function from a kernel.

    Parameters
    ----------
    returns : str or tuple
        The kind of the answer; the name of an argument whose kind it shares; or `(constructor, kind, kind, ...)` for a kernel that
        returns a tuple.
    check : callable
        Called with the nominal internal arguments; raises `RangeError` for conditions that limits of single arguments cannot express.
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
    start = [None] * required + [specs[required + i].value(d, names[required + i]) for i, d in enumerate(defaults)]
    nothing: list[Any] = [NOTHING] * len(names)
    bounds = tuple((i, index[s.at_most]) for i, s in enumerate(specs) if s.at_most)
    takers = tuple(s.take for s in specs)
    kinds = (returns,) if isinstance(returns, str) else tuple(returns[1:])
    simple = isinstance(returns, str) and returns in PLAIN
    askers = tuple(_askers(kind, names, specs) for kind in kinds)
    shares = tuple(k == "fraction" for k in kinds)
    described = _described(kernel, defaults)

    def public(*args: Any, **kwargs: Any) -> Any:
        given = len(args)
        values: list[Any] = start[:]
        taken = nothing[:]
        unplain = []
        try:
            for i in range(given):
                one = taken[i] = takers[i](args[i], names[i])
                value = values[i] = one[0]
                if value.__class__ is not float and value.__class__ is not int and value is not None:
                    unplain.append(i)
            missing = required - given
            for name in kwargs:
                i = index[name]
                if i < given:
                    return described(*args, **kwargs)
                if i < required:
                    missing -= 1
                one = taken[i] = takers[i](kwargs[name], name)
                value = values[i] = one[0]
                if value.__class__ is not float and value.__class__ is not int and value is not None:
                    unplain.append(i)
        except Contained:
            return _by_rows(args, kwargs)
        except SumpwiseError as error:
            if "errors" not in kwargs:
                raise error.with_traceback(None)  # how a text is read says nothing to the one who wrote it  # noqa: B904
            return _by_rows(args, kwargs)
        except (IndexError, KeyError):
            if "errors" in kwargs:
                return _by_rows(args, kwargs)
            missing = 1
        if missing > 0:
            return described(*args, **kwargs)
        try:
            if not unplain:
                for i, j in bounds:
                    if values[i] is not None and values[i] > values[j] * ALMOST:
                        values[i] += over(names[i], names[j], values[i], values[j], specs[i].kind) or 0.0
                if check is not None:
                    check(*values)
                try:
                    result = kernel(*values)
                except (ArithmeticError, ValueError) as error:
                    failed(kernel, error)
                if simple and result.__class__ is float and -inf < result < inf:
                    return result
            else:
                best, uncertain, arrays = apart(values, unplain)
                for i, j in bounds:
                    if best[i] is not None and (excess := over(names[i], names[j], best[i], best[j], specs[i].kind)) is not None:
                        values[i], best[i] = values[i] + excess, best[i] + excess
                if returns == "count":
                    uncertain = []
                result = run(kernel, values, best, uncertain, arrays, shares, check)
                if simple and uncertain:
                    return result
        except RangeError as error:
            _as_given(error, dict(zip(names, args, strict=False)) | kwargs)
            raise
        return _finish(result, taken)

    def _finish(result: Any, taken: list[Taken]) -> Any:
        parts = (result,) if isinstance(returns, str) else tuple(result)
        for part in parts:
            if not finite(part):
                raise RangeError(f"{kernel.__name__} has no finite answer for these arguments", code="answer.none")
        return result if simple else _given_back(result, taken)

    def _given_back(result: Any, taken: list[Taken], gaps: bool = False) -> Any:
        parts = (result,) if isinstance(returns, str) else tuple(result)
        registry = None
        for one in taken:
            if one[2] is not None:
                registry = one[2]
                break
        answers = []
        for part, (positions, kinds, usual) in zip(parts, askers, strict=True):
            unit = usual
            for i in positions:
                told = taken[i][1]
                if told is not None and told.kind in kinds:
                    unit = told
                    break
            answers.append(part if unit is None else built(part, unit, registry, gaps))
        return answers[0] if isinstance(returns, str) else returns[0](*answers)

    def _by_rows(args: Any, kwargs: Any) -> Any:
        """The way for columns of other libraries, and for callers who ask what is wrong with each row."""
        from sumpwise.quantities import rows

        plain = {name: value for name, value in kwargs.items() if name != "errors"}
        told = [*names[: len(args)], *plain]
        if len(args) > len(names) or len(set(told)) < len(told) or not set(names[:required]) <= set(told) <= set(names):
            return described(*args, **plain)
        recipe = rows.Recipe(
            kernel.__name__, public, names, specs, start,
            lambda values, best, uncertain: run(kernel, values, best, uncertain, True, shares), judged(kernel, check), bounds,
            returns == "count", 0 if isinstance(returns, str) else len(returns) - 1,
            lambda parts, taken: _given_back(parts, taken, gaps=True),
        )  # fmt: skip
        return rows.by_rows(recipe, args, kwargs)

    public.__name__ = kernel.__name__
    public.__qualname__ = kernel.__qualname__
    public.__module__ = kernel.__module__
    public.__doc__ = _told_of_errors(kernel.__doc__)
    public.__wrapped__ = described  # type: ignore[attr-defined]
    public.__annotations__ = described.__annotations__
    if any(isinstance(d, str) for d in defaults):  # the signature shows defaults as written; the kernel gets them in its own units
        kernel.__defaults__ = tuple(start[required:])
    public.kernel = kernel  # type: ignore[attr-defined]
    public.arguments = arguments  # type: ignore[attr-defined]
    return public


def _described(kernel: Any, defaults: tuple[Any, ...]) -> Any:
    """The public call of a kernel, for `inspect.signature`; called wrongly, it raises what Python says of a wrong call."""

    def call() -> NoReturn:
        raise TypeError("describes a function, and computes nothing")

    code = kernel.__code__
    names = (*code.co_varnames[: code.co_argcount], "errors")
    code = call.__code__.replace(
        co_argcount=code.co_argcount, co_kwonlyargcount=1, co_nlocals=len(names), co_varnames=names, co_name=code.co_name,
        co_qualname=code.co_qualname, co_filename=code.co_filename, co_firstlineno=code.co_firstlineno,
    )  # fmt: skip
    function: Any = type(call)
    described = function(code, kernel.__globals__, code.co_name, defaults)
    described.__kwdefaults__ = {"errors": "raise"}
    described.__annotations__ = {**kernel.__annotations__, "errors": "str"}
    described.__module__ = kernel.__module__
    return described


def _told_of_errors(doc: str | None) -> str | None:
    """A docstring with `errors` at the end of its parameters."""
    before, returns, after = (doc or "").partition("Returns\n")
    margin = before[before.rfind("\n") + 1 :]
    if not returns:
        return doc
    return before.rstrip() + "".join(f"\n{margin}{line}" for line in TOLD_OF_ERRORS) + f"\n\n{margin}{returns}{after}"


TOLD_OF_ERRORS = (
    "errors : str",
    '    What to do with bad rows of an array or a list: "raise" the first error, "mask" the rows with nan, or "collect" the errors',
    "    beside the answer, as `.answer` and `.problems`: row, code and error of each.",
)
"""How the docstring of every function that takes arrays explains `errors`."""


def _askers(kind: str, names: tuple[str, ...], specs: tuple[Argument, ...]) -> tuple[tuple[int, ...], tuple[str, ...], Unit | None]:
    """Positions of the arguments that give an answer its unit, the kinds it may have, and its usual unit (None: a plain number)."""
    if kind in PLAIN:
        return (), (), None
    if kind in names:
        spec = specs[names.index(kind)]
        return (names.index(kind),), spec.kinds, internal_unit(spec.kinds[0]) if spec.needs_unit else None
    return tuple(i for i, spec in enumerate(specs) if kind in spec.kinds), (kind,), internal_unit(kind)


def _as_given(error: SumpwiseError, given: dict[str, Any]) -> None:
    """Make an error show what was given, not the numbers it became."""
    from sumpwise.quantities.telling import as_given

    as_given(error, given)


def worked_out(
    name: str, kernel: Callable[..., Any], given: dict[str, tuple[Argument, Any]], back: Callable[[Any, list[Read], bool], Any],
    errors: str, held: Sequence[Any] = (), judge: Callable[..., None] | None = None, shares: tuple[bool, ...] = (False,),
    counted: bool = False,
) -> Any:  # fmt: skip
    """What a function made by `unit_aware` does, for arguments that are only described when they come: read, compute, give back.

    Parameters
    ----------
    name : str
        Of the function, for messages.
    kernel : callable
        Elementwise; takes the values of `given` in their order, then those that are held.
    given : dict
        Argument -> what it may be, and what was given.
    back : callable
        Makes the answer of what the kernel returned, of what was read, and of whether there may be nan in it.
    errors : str
        What to do with bad rows.
    held : sequence
        More values, in internal units.
    judge, shares, counted
        As `evaluate` takes them.

    Returns
    -------
    object
        What `back` makes; with errors to "collect" beside what is wrong with its rows.
    """
    if errors == "raise":
        try:
            reads = [Read(*spec.take(value, argument), value) for argument, (spec, value) in given.items()]
        except Contained:
            pass
        else:
            try:
                found = evaluate(kernel, [*(read.value for read in reads), *held], shares, judge, counted)
            except RangeError as error:
                _as_given(error, {argument: value for argument, (_, value) in given.items()})
                raise
            return back(found, reads, False)
    from sumpwise.quantities import rows

    def whole(**values: Any) -> Any:
        plain = {argument: (given[argument][0], value) for argument, value in values.items()}
        return worked_out(name, kernel, plain, back, "raise", held, judge, shares, counted)

    names = (*given, *(f"held {i}" for i in range(len(held))))
    specs = (*(spec for spec, _ in given.values()), *(ANYTHING for _ in held))
    recipe = rows.Recipe(
        name, whole, names, specs, [*(None for _ in given), *held],
        lambda values, best, uncertain: run(kernel, values, best, () if counted else uncertain, True, shares), judged(kernel, judge),
        (), False, 0, lambda found, taken: back(found, [Read(*one) for one in taken], True),
    )  # fmt: skip
    return rows.by_rows(recipe, (), {**{argument: value for argument, (_, value) in given.items()}, "errors": errors})


ANYTHING = argument("number")
