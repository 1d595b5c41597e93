"""Quantities from what people write: `quantity`, `span`, `convert`."""

from __future__ import annotations

from sumpwise.errors import RangeError, UnitError
from sumpwise.quantities import notation
from sumpwise.quantities.arguments import argument, unlimited
from sumpwise.quantities.digits import in_unit
from sumpwise.quantities.magnitudes import NUMBERS, is_missing, own_memory
from sumpwise.quantities.reading import Contained, built
from sumpwise.quantities.spans import Span
from sumpwise.quantities.spelling import unit_spelled
from sumpwise.quantities.units import Unit

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from sumpwise.accepted import UnitLike, ValueLike


def unit_named(spelling: Any) -> Unit:
    """The unit of a trade spelling or a pint name; a unit object means what its own registry defines."""
    if hasattr(spelling, "_REGISTRY") and not hasattr(spelling, "_magnitude"):
        from sumpwise.quantities import _pint

        return _pint.unit_of(spelling)
    if not isinstance(spelling, str):
        raise UnitError("is not a unit", code="unit.unknown", value=spelling, allowed="a text such as 'L', 'US qt', 'N·m'")
    words = " ".join(spelling.replace("\u00a0", " ").split())
    unit = unit_spelled(words) if words else None
    if unit is None:
        raise UnitError(
            "is not a unit known here", code="unit.unknown", value=spelling,
            allowed="a unit such as L, US qt, imp qt, °C, N·m, lbf·ft, mm, km",
        )  # fmt: skip
    return unit


def quantity(value: ValueLike, unit: UnitLike | None = None, *, errors: str = "raise") -> Any:
    """Make a Quantity from workshop notation, or from a number and a unit.

    Parameters
    ----------
    value : str, number, uncertain number, array or Quantity
        A text such as ``"5 1/2 qt"``, ``"1,5 L"``, ``"4.50(8) L"``, ``"34 ± 3 N·m"``; or a number for `unit`.
    unit : str, optional
        Unit of a plain number, in trade spelling; for a text or a Quantity, the unit to convert to.
    errors : str
        For a column with its unit: "raise" the first error, "mask" bad rows and missing values with nan, or "collect" the errors beside
        the answer.

    Returns
    -------
    Quantity
        In the unit that was written, and in the application registry; an uncertain text gives an uncertain magnitude. `.text` keeps the
        text as written, so its digits are not lost. With ``errors="collect"`` it is in `.answer`, beside `.problems`.

    Raises
    ------
    SumpwiseError
        Says what was read, where reading stopped and what would be accepted.

    Examples
    --------
    >>> from sumpwise import quantity
    >>> print(quantity("5 1/2 qt"))
    5.5 quart
    >>> quantity("56 000 km").magnitude
    56000.0
    """
    from sumpwise.quantities import _pint

    if errors != "raise":
        if unit is None:
            hint = "give the unit of the column as the second argument"
            raise UnitError("is missing", code="argument.missing", argument="unit", hint=hint)
        return convert(_with_gaps(value, unit), unit, errors=errors)
    if unit is not None:
        if isinstance(value, str) or hasattr(value, "_REGISTRY"):
            return convert(value, unit)
        wanted = unit_named(unit)
        if (kept := _kept(value)) is not None:
            return _pint.build(kept, wanted, getattr(unit, "_REGISTRY", None))
        as_plain = own_memory(unlimited("number").value(value, "value"))
        made = _pint.build(as_plain, wanted, getattr(unit, "_REGISTRY", None))
        if wanted.kind == "temperature":
            unlimited("temperature").value(made, "value")
        return made
    if hasattr(value, "_REGISTRY"):
        argument(_pint.unit_of(value).kind).value(value, "value")
        return _pint.own_memory(value)
    if not isinstance(value, str):
        raise UnitError(
            "has no unit", code="unit.missing", argument="value", value=value,
            hint="write the unit in the text or give it as the second argument",
        )  # fmt: skip
    reading = notation.read(value)
    number: Any = reading.value
    if reading.spread is not None:
        number = notation.uncertain(number, reading.spread, reading.text)
    return _pint.quantity_of(number, reading.unit, reading.text)


def _with_gaps(value: Any, unit: UnitLike) -> Any:
    """A column of numbers as a Quantity with nan for missing values; anything else as it is."""
    import numpy

    from sumpwise.quantities import _pint, containers

    numbers = _kept(value)
    if numbers is None and not isinstance(value, str) and not hasattr(value, "_REGISTRY"):
        array = numpy.asarray(containers.opened_up(value, "value").value, dtype=None if hasattr(value, "dtype") else object)
        if array.dtype.kind in NUMBERS:
            numbers = array.astype(float)
        elif array.dtype.kind == "O" and all(is_missing(one) or one.__class__ in (int, float) for one in array.ravel().tolist()):
            numbers = numpy.array([numpy.nan if is_missing(one) else float(one) for one in array.ravel().tolist()]).reshape(array.shape)
    return value if numbers is None else _pint.build(numbers, unit_named(unit), getattr(unit, "_REGISTRY", None))


def _kept(value: Any) -> Any:
    """A masked array of numbers, or an array that is not computed yet, as it is; None for anything else."""
    if value.__class__ in (float, int) or not hasattr(value, "__array__") or not getattr(value, "ndim", 0):
        return None
    from sumpwise.quantities import containers

    one = containers.opened_up(value, "value")
    if containers.is_lazy(value):
        return value
    if one.hidden is None or one.unit is not None:
        return None
    import numpy

    numbers = numpy.zeros(one.hidden.shape)
    if not one.hidden.all():
        numbers[~one.hidden] = unlimited("number").value(value.compressed(), "value")
    return numpy.ma.array(numbers, mask=one.hidden)


def span(text: str) -> Span:
    """Read a span of one quantity from workshop notation.

    Parameters
    ----------
    text : str
        Such as ``"82–92 °C"``, ``"31 to 37 N·m"``, ``"1/2-3/4 in"``; a `Span` is returned unchanged.

    Returns
    -------
    Span
        `.lower` and `.upper` as Quantities with `.text`; `.text` is the whole as written.

    Raises
    ------
    SumpwiseError
        If the text is not a span, or its limits are in the wrong order.

    Examples
    --------
    >>> from sumpwise import span
    >>> span("82–92 °C").lower.magnitude
    82.0
    """
    from sumpwise.quantities import _pint

    if isinstance(text, Span):
        return text
    if not isinstance(text, str):
        raise UnitError(
            "is not a text", code="value.type", argument="text", value=text, allowed="a span such as '82–92 °C' or '31 to 37 N·m'"
        )
    read = notation.read_span(text)
    lower, upper = [_pint.quantity_of(r.value, r.unit, r.text) for r in (read.lower, read.upper)]
    return Span(lower, upper, read.text)


def convert(value: ValueLike, to: UnitLike, *, errors: str = "raise") -> Any:
    """Convert a value to another unit of its kind.

    Parameters
    ----------
    value : str, Quantity, Span or list
        What to convert. A temperature is converted with its offset, a temperature interval without.
    to : str
        Unit in trade spelling ("US qt", "lbf·ft", "°F") or a pint name.
    errors : str
        For a list or an array: "raise" the first error, "mask" bad rows with nan, or "collect" the errors beside the answer.

    Returns
    -------
    Quantity or Span
        In the unit `to`; text is converted through exact ratios and rounded to a float once. With ``errors="collect"`` it is in
        `.answer`, beside `.problems` with the row, code and error of each.

    Raises
    ------
    SumpwiseError
        For an unknown unit, or a unit of a different kind.

    Examples
    --------
    >>> from sumpwise import convert
    >>> round(convert("6.1 L", "US qt").magnitude, 2)
    6.45
    """
    from sumpwise.quantities import _pint

    if isinstance(value, Span):
        return Span(convert(value.lower, to), convert(value.upper, to), "")
    wanted = unit_named(to)
    try:
        if errors != "raise":
            raise Contained(value)
        number, _, registry, written = unlimited(wanted.kind).take(value, "value")
    except Contained:
        return _converted_by_rows(value, to, wanted, errors)
    registry = registry or getattr(to, "_REGISTRY", None)
    if written is not None and written.spread is None:
        num, den = in_unit(written.num, written.den, written.unit, wanted)
        try:
            return _pint.build(num / den, wanted, registry)
        except OverflowError:
            raise RangeError(
                "is too large", code="number.too_large", argument="value", value=value, allowed=f"less than 1e308 {wanted.symbol}"
            ) from None
    return built(own_memory(number), wanted, registry)


def _converted_by_rows(value: Any, to: Any, wanted: Unit, errors: str) -> Any:
    from sumpwise.quantities import rows

    def itself(number: Any) -> Any:
        return number

    def given_back(number: Any, taken: Any) -> Any:
        return built(number, wanted, taken[0][2] or getattr(to, "_REGISTRY", None), gaps=True)

    recipe = rows.Recipe(
        "convert", lambda value: convert(value, to), ("value",), (unlimited(wanted.kind),), [None],
        lambda values, best, uncertain: values[0], itself, (), False, 0, given_back,
    )  # fmt: skip
    return rows.by_rows(recipe, (value,), {"errors": errors})

