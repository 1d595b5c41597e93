"""For the tests of apps that embed the library: assertions that understand units and uncertainty, and Hypothesis strategies.

The assertions need only the library. The strategies import hypothesis when they are called.
"""

from __future__ import annotations

from typing import Any

from sumpwise import uncertainty
from sumpwise.errors import UnitError, expect_choice
from sumpwise.quantities.arguments import unlimited
from sumpwise.quantities.boundary import answer, argument
from sumpwise.quantities.units import INTERNAL, SYMBOLS, Unit

__all__ = ["assert_agrees", "assert_close", "assert_refuses", "notations", "quantities", "shares", "uncertain_quantities"]

RANGES: dict[str, tuple[float, float]] = {
    "volume": (0.01, 100.0), "temperature": (-40.0, 150.0), "interval": (0.1, 150.0), "heating rate": (0.1, 20.0), "torque": (1.0, 400.0),
    "length": (0.1, 2e9), "pressure": (1.0, 2e4), "viscosity": (1.0, 1e4), "density": (801.0, 1163.0), "flow": (0.1, 20.0),
    "mass": (0.01, 100.0), "force": (1.0, 1e5), "time": (0.1, 2e7), "angle": (-180.0, 180.0), "fraction": (0.0, 1.0),
}  # fmt: skip
"""Kind -> the range, typical of a garage, that the strategies draw from, in the internal unit."""


_ANY = argument((*INTERNAL, "number"))


def _number(value: Any, kind: str, name: str) -> Any:
    return unlimited(kind).value(value, name)


def _kind(value: Any) -> str:
    unit = _ANY.read(value, "value").unit
    if unit is None and (isinstance(value, (int, float)) or hasattr(value, "nominal_value") or hasattr(value, "dtype")):
        return "fraction"
    if unit is None:
        raise UnitError("is not a value of a known kind", code="value.type", argument="expected", value=value)
    return unit.kind


def assert_close(actual: Any, expected: Any, *, relative: float = 1e-9, absolute: Any = 0) -> None:
    """Assert that two values are equal within a tolerance, whatever their units and registries.

    Parameters
    ----------
    actual, expected : str, Quantity, number, uncertain number or array
        Values of the same kind; nominal values are compared, elementwise for arrays.
    relative : float
        Accepted difference as a share of the expected value.
    absolute : value of the same kind, or 0
        Accepted difference; a temperature difference for temperatures.

    Raises
    ------
    AssertionError
        With both values in the internal unit and their difference.

    Examples
    --------
    >>> from sumpwise import convert
    >>> from sumpwise.testing import assert_close
    >>> assert_close(convert("1 US gal", "L"), "3.785411784 L")
    """
    import numpy

    kind = _kind(expected)
    a, e = (uncertainty.nominals(_number(v, kind, n)) for v, n in ((actual, "actual"), (expected, "expected")))
    slack = absolute if isinstance(absolute, (int, float)) else _number(absolute, "interval" if kind == "temperature" else kind, "absolute")
    if not numpy.all(numpy.abs(a - e) <= uncertainty.nominals(slack) + relative * numpy.abs(e)):
        raise AssertionError(f"{a} and {e} {INTERNAL[kind]} differ by {a - e}, more than {relative} relative and {absolute}")


def assert_agrees(actual: Any, expected: Any, *, sigmas: float = 2.0) -> None:
    """Assert that two uncertain values agree within their uncertainty. Errors they share cancel in the difference.

    Parameters
    ----------
    actual, expected : str, Quantity, number or uncertain number
        Values of the same kind.
    sigmas : float
        Accepted difference, in standard uncertainties of the difference.

    Raises
    ------
    AssertionError
        With the difference, its standard uncertainty and their ratio.

    Examples
    --------
    >>> from sumpwise.testing import assert_agrees
    >>> assert_agrees("3.24(4) L", "3.30 ± 0.15 L")
    """
    kind = _kind(expected)
    a, e = _number(actual, kind, "actual"), _number(expected, kind, "expected")
    off = uncertainty.nominal(a) - uncertainty.nominal(e)
    u = uncertainty.standard(uncertainty.combine(off, [(1.0, a), (-1.0, e)]))
    if not abs(off) <= sigmas * u:
        ratio = abs(off) / u if u else float("inf")
        raise AssertionError(f"the values differ by {off:g} ± {u:g} {INTERNAL[kind]}: {ratio:.3g} standard uncertainties")


def assert_refuses(call: Any, *arguments: Any, argument: str = "", **keywords: Any) -> Any:
    """Assert that a call is refused with one of the library's errors, and return the error.

    Parameters
    ----------
    call : callable
        The function to call.
    *arguments, **keywords
        Its arguments.
    argument : str
        The argument that the error must name, if given.

    Returns
    -------
    SumpwiseError

    Raises
    ------
    AssertionError
        If the call returns, or the error names another argument.

    Examples
    --------
    >>> from sumpwise import drain_refill
    >>> from sumpwise.testing import assert_refuses
    >>> assert_refuses(drain_refill, 3, 8, argument="drained").hint
    'write the number with its unit, as text or as a Quantity'
    """
    from sumpwise.errors import SumpwiseError

    try:
        answered = call(*arguments, **keywords)
    except SumpwiseError as error:
        if argument and error.argument.partition("[")[0] != argument:
            raise AssertionError(f"the error names {error.argument!r}, not {argument!r}: {error}") from error
        return error
    raise AssertionError(f"returned {answered!r} instead of refusing")


_LEAST = 1e-100
"""The smallest size of a value with an uncertainty in proportion: the variance of a much smaller one is 0 in floats."""


def _units(kind: str) -> list[Unit]:
    return [unit for unit in SYMBOLS.values() if unit.kind == kind]


def _limits(kind: str, minimum: Any, maximum: Any) -> tuple[float, float]:
    expect_choice(kind, RANGES, "kind", "kind of quantity", UnitError)
    low, high = RANGES[kind]
    if minimum is not None:
        low = uncertainty.nominal(_number(minimum, kind, "minimum"))
    if maximum is not None:
        high = uncertainty.nominal(_number(maximum, kind, "maximum"))
    return low, high


def shares(minimum: float = 0.0, maximum: float = 1.0) -> Any:
    """Hypothesis strategy: shares of one as plain floats."""
    from hypothesis import strategies as st

    return st.floats(minimum, maximum, allow_nan=False)


def quantities(kind: str, minimum: Any = None, maximum: Any = None, registry: Any = None) -> Any:
    """Hypothesis strategy: Quantities of a kind in any of its units.

    Parameters
    ----------
    kind : str
        Such as "volume", "temperature", "torque".
    minimum, maximum : value of that kind, optional
        Limits; by default a range typical of a garage.
    registry : pint registry, optional
        Registry of the Quantities; the application registry by default.

    Returns
    -------
    SearchStrategy

    Examples
    --------
    >>> from hypothesis import given, settings
    >>> from sumpwise import drain_refill
    >>> from sumpwise.testing import quantities
    >>> @given(quantities("volume", "0.1 L", "8 L"))
    ... def check(drained):
    ...     assert 0 < drain_refill(drained, "8.001 L") < 1
    >>> check()
    """
    from hypothesis import strategies as st

    low, high = _limits(kind, minimum, maximum)
    return st.builds(
        lambda x, unit: answer(x, kind, unit=unit, registry=registry), st.floats(low, high, allow_nan=False), st.sampled_from(_units(kind))
    )


def uncertain_quantities(kind: str, minimum: Any = None, maximum: Any = None, relative: float = 0.05) -> Any:
    """Hypothesis strategy: Quantities with uncertain magnitudes, each an independent source.

    Parameters
    ----------
    kind : str
        Such as "volume"; any kind except temperature, which has no relative uncertainty. Never exactly 0, which has none either.
    minimum, maximum : value of that kind, optional
        Limits of the best value.
    relative : float
        Largest standard uncertainty as a share of the value.

    Returns
    -------
    SearchStrategy
    """
    from hypothesis import strategies as st

    low, high = _limits(kind, minimum, maximum)
    if kind == "temperature":
        raise UnitError(
            "has no relative uncertainty", code="value.choice", argument="kind", value=kind, hint="build it from quantities('temperature')"
        )
    return st.builds(
        lambda x, share, unit: answer(uncertainty.source(x, abs(x) * share, name="drawn"), kind, unit=unit),
        st.floats(low, high, allow_nan=False).filter(lambda x: abs(x) >= _LEAST), st.floats(1e-4, relative),
        st.sampled_from(_units(kind)),
    )  # fmt: skip


def notations(kind: str, minimum: Any = None, maximum: Any = None) -> Any:
    """Hypothesis strategy: texts of a kind in workshop notation, with the exact value in the internal unit.

    Parameters
    ----------
    kind : str
        Such as "volume", "temperature", "torque".
    minimum, maximum : value of that kind, optional
        Limits.

    Returns
    -------
    SearchStrategy
        Gives pairs (text, value): the value is the float nearest to what the text says, in the internal unit.
    """
    from fractions import Fraction

    from hypothesis import strategies as st

    low, high = _limits(kind, minimum, maximum)

    def written(x: float, unit: Unit, places: int) -> tuple[str, float]:
        factor, offset = Fraction(unit.num, unit.den), Fraction(unit.offset_num, unit.den)
        text = f"{float((Fraction(x) - offset) / factor):.{places}f}"
        return f"{text} {unit.symbol}" if unit.symbol != "1" else text, float(Fraction(text) * factor + offset)

    places = st.sampled_from([1, 2, 4])  # three may be a group of thousands: 1.000 km
    texts = st.builds(written, st.floats(low, high, allow_nan=False), st.sampled_from(_units(kind)), places)
    return texts.filter(lambda pair: low <= pair[1] <= high)
