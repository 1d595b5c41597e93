"""Workshop notation: a text as a mechanic or a book writes it, read into an exact number, its spread and its unit.

One positional scanner: it moves forward only, looks a unit up among whole spellings, never evaluates, and stops with an
error that says what was read, where, and what would be accepted. Values are exact ratios of whole numbers until the one
division that makes a float. The grammar is the page "Workshop notation" of the documentation.
"""

from __future__ import annotations

from sumpwise.errors import NotationError, RangeError, SumpwiseError, UnitError, shown
from sumpwise.quantities.units import REFUSED, SPELLINGS, SYMBOLS, Unit, key

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import TypeAlias

    Kind: TypeAlias = str | tuple[str, ...] | None
    Number: TypeAlias = tuple[int, int, int | None, int, int]  # num, den, places, next position, doubtful comma
    Spread: TypeAlias = tuple[str, int, int] | None

LONGEST = 200
"""Characters a text may have."""

_EXPONENT = 330
_SPELLED = 40
_DIGITS = "0123456789"
_DASHES = "-–"
_END = "\n"
_VULGAR = {
    "½": (1, 2), "⅓": (1, 3), "⅔": (2, 3), "¼": (1, 4), "¾": (3, 4), "⅕": (1, 5), "⅖": (2, 5), "⅗": (3, 5), "⅘": (4, 5),
    "⅙": (1, 6), "⅚": (5, 6), "⅛": (1, 8), "⅜": (3, 8), "⅝": (5, 8), "⅞": (7, 8),
}  # fmt: skip
# One character for one, so that positions hold: spaces, hyphens, dashes, fraction slash, dot, degree and inch signs.
_FOLD = {ord(a): b for a, b in zip("\u00a0\u2007\u2009\u202f\u2010\u2011\u2012\u2044⋅º″", "    --–/·°\"", strict=True)}
_ONE, _DELTA_C, _DELTA_F = SYMBOLS["1"], SYMBOLS["Δ°C"], SYMBOLS["Δ°F"]
_GROUPING = ("km", "mi", "mL", "cm³")  # a single comma before three digits means thousands with these alone
_NUMBER = "2.9, 1,5, 56 000, 5 1/2, 5½ or 5/16"
_EXAMPLES = {
    "volume": "L, mL, qt, gal, fl oz, imp qt, in³",
    "temperature": "°C, °F, K",
    "interval": "Δ°C, Δ°F, °C interval, K",
    "heating rate": "°C/min, °F/min",
    "torque": "N·m, lbf·ft (ft-lb), lbf·in (in-lb), kgf·m, kgf·cm",
    "length": "mm, cm, m, km, in, ft, mi",
    "pressure": "kPa, bar, psi, MPa",
    "viscosity": "mm²/s, cSt",
    "density": "kg/m³, g/mL, lb/gal",
    "flow": "L/min, L/s, gpm, qt/min",
    "mass": "kg, g, lb, oz",
    "force": "N, kN, lbf, kgf",
    "time": "s, min, h, d, month, y",
    "angle": "deg, °, rad",
    "fraction": "%, or a plain number such as 0.9",
    "number": "a plain number",
    "count": "a plain whole number",
}
_HINTS = {
    ("torque", "lb"): "lbf·ft or lbf·in?", ("torque", "lbf"): "lbf·ft or lbf·in?", ("torque", "oz"): "lbf·in?",
    ("torque", "kg"): "kgf·m or kgf·cm?", ("torque", "kgf"): "kgf·m or kgf·cm?", ("torque", "N"): "N·m?",
    ("volume", "oz"): "fl oz?", ("mass", "US fl oz"): "oz?", ("force", "lb"): "lbf?", ("force", "kg"): "kgf?",
    ("interval", "°C"): "a difference is written Δ°C, °C interval or K", ("interval", "°F"): "a difference is written Δ°F or °F interval",
    ("temperature", "Δ°C"): "a temperature is written °C", ("temperature", "Δ°F"): "a temperature is written °F",
}  # fmt: skip


class Reading:
    """One quantity as it was written.

    Attributes
    ----------
    text : str
        The text, without spaces around it.
    unit : Unit
        The unit it was written in; the unit one for a bare number.
    num, den : int
        The exact value in `unit`.
    places : int or None
        Decimal places written ("2.90" 2, "56 000" 0, "1.2e3" -2); None for fractions and compounds.
    exact_spread : tuple or None
        Shape ("rectangular" or "normal") and the exact half-width or standard uncertainty in `unit`, as a ratio.
    """

    __slots__ = ("den", "exact_spread", "num", "places", "text", "unit")

    def __init__(self, text: str, unit: Unit, num: int, den: int, places: int | None, exact_spread: Spread = None) -> None:
        self.text = text
        self.unit = unit
        self.num = num
        self.den = den
        self.places = places
        self.exact_spread = exact_spread

    @property
    def value(self) -> float:
        """The value in the unit written."""
        return self.num / self.den

    @property
    def internal(self) -> float:
        """The value in the internal unit of its kind: exact until this one division."""
        unit = self.unit
        return (self.num * unit.num + unit.offset_num * self.den) / (self.den * unit.den)

    @property
    def spread(self) -> tuple[str, float] | None:
        """Shape and half-width ("rectangular") or standard uncertainty ("normal") in the unit written."""
        exact = self.exact_spread
        return None if exact is None else (exact[0], exact[1] / exact[2])

    @property
    def internal_spread(self) -> tuple[str, float] | None:
        """The spread in the internal unit of its kind."""
        exact, unit = self.exact_spread, self.unit
        return None if exact is None else (exact[0], exact[1] * unit.num / (exact[2] * unit.den))

    def __repr__(self) -> str:
        return f"Reading({self.text!r})"


class SpanReading:
    """A span as it was written: `text`, and the readings `lower` and `upper`, each with its unit."""

    __slots__ = ("lower", "text", "upper")

    def __init__(self, text: str, lower: Reading, upper: Reading) -> None:
        self.text = text
        self.lower = lower
        self.upper = upper

    def __repr__(self) -> str:
        return f"SpanReading({self.text!r})"


def read(text: str, kind: Kind = None) -> Reading:
    """Read one quantity from a text in workshop notation.

    Parameters
    ----------
    text : str
        Such as ``"2.9 L"``, ``"5 1/2 qt"``, ``"(8.0 ± 0.3) L"``, ``"2 qt 8 fl oz"``; at most 200 characters.
    kind : str or tuple of str, optional
        The kind or kinds due (keys of `units.INTERNAL`, ``"number"``, ``"count"``). A bare number is accepted only where a
        fraction, number or count is due, ``nm`` only where a torque is.

    Returns
    -------
    Reading
        Exact value, spread, unit and decimal places.

    Raises
    ------
    NotationError
        The text is no quantity; `position` says where reading stopped.
    UnitError
        The unit is missing, unknown or of another kind.
    RangeError
        Below absolute zero, too large or too small for a number, a spread or part out of order.

    Examples
    --------
    >>> read("5 1/2 qt").internal
    5.204941203
    >>> read("(8.0 ± 0.3) L").spread
    ('rectangular', 0.3)
    """
    found = _whole(text, kind)
    if type(found) is Reading:
        return found
    raise _wrong(NotationError, found.text, "is a span where one value is due", hint="write one value, or ask for a span")


def read_span(text: str, kind: Kind = None) -> SpanReading:
    """Read a span such as ``"82–92 °C"`` or ``"31 to 37 N·m"``; parameters and errors as for `read`.

    Examples
    --------
    >>> window = read_span("31 to 37 N·m", "torque")
    >>> window.lower.internal, window.upper.internal
    (31.0, 37.0)
    """
    found = _whole(text, kind)
    if type(found) is SpanReading:
        return found
    raise _wrong(NotationError, found.text, "is one value where a span is due", "82–92 °C, 31 to 37 N·m")


def scan(text: str, position: int, kind: Kind = None) -> tuple[Reading | SpanReading, int] | None:
    """Read the longest quantity or span that starts at `position` in a running text.

    Returns
    -------
    tuple or None
        The reading and the position after it; None where none starts. Looks at most 200 characters ahead and never raises.

    Examples
    --------
    >>> scan("Pour 2.9 L, then look.", 5)
    (Reading('2.9 L'), 10)
    """
    head = text[position : position + 1]
    if not head or not (head in _DIGITS or head in "(.-−+" or head in _VULGAR):
        return None
    window = text[position : position + LONGEST + 1]
    try:
        found, end = _parse(window, _folded(window), len(window), kind, True)
    except SumpwiseError:
        return None
    return None if end > LONGEST else (found, position + end)


def _whole(text: str, kind: Kind) -> Reading | SpanReading:
    if len(text) > LONGEST:
        raise _wrong(NotationError, text, f"is {len(text)} characters long", f"at most {LONGEST} characters")
    text = text.strip()
    found, end = _parse(text, _folded(text), len(text), kind, False)
    if end != len(text):
        raise _stopped(text, end, "what follows does not belong to the quantity", "a number and its unit, such as 2.9 L or 34 N·m ± 4 %")
    return found


def _folded(text: str) -> str:
    return (text if text.isascii() else text.translate(_FOLD)) + _END


def _parse(text: str, s: str, end: int, kind: Kind, prose: bool) -> tuple[Reading | SpanReading, int]:
    """Read from the start of `s` (the folded `text` and an end mark) as far as the grammar reaches."""
    opened = s[0] == "("
    number = _signed(text, s, _skip(s, 1) if opened else 0)
    j = number[3]
    digits = 0
    if s[j] == "(" and s[j + 1] in _DIGITS:
        digits, j = _last_digits(text, s, j, number)
    k = _skip(s, j)
    unit, e = (None, k) if opened else _unit(s, k, end, kind, prose)
    if unit is not None:
        unit = _due(text, unit, kind)
        first = _reading(text, s, number, unit, e, digits)
        if e == end:
            return first, e
        try:
            return _extended(text, s, end, kind, prose, first, e)
        except SumpwiseError:
            if prose:
                return first, e
            raise
    sign = _plus_minus(s, k)
    if sign:
        if digits:
            raise _stopped(text, k, "an uncertainty stands already", "4.50(8) or ±, not both")
        half = _unsigned(text, s, _skip(s, sign))
        after = half[3]
        if opened:
            k = _skip(s, after)
            if s[k] != ")":
                raise _stopped(text, k, "the bracket is not closed", "(8.0 ± 0.3) L")
            after = k + 1
        k = _skip(s, after)
        unit, e = _unit(s, k, end, kind, prose)
        if unit is None:
            unit, e = _bare(text, s, k, kind, prose), after
        unit = _due(text, unit, kind)
        first = _reading(text, s, number, unit, e)
        if unit.symbol == "%" and not opened and (kind == "number" or abs(first.num) * half[1] < half[0] * first.den != 0 != first.num):
            raise _wrong(NotationError, text, "the % may belong to both numbers or to the second alone", hint="write (90 ± 4) %")
        return _spread(text, s, first, half, unit, e)
    if opened:
        raise _stopped(text, k, "± is due in the bracket", "(8.0 ± 0.3) L")
    joint = _joint(s, j, k)
    if joint:
        upper, e = _upper(text, s, joint, end, kind, prose)
        if digits:
            raise _stopped(text, j, "a span carries no uncertainty", "82–92 °C")
        return _span(text, _reading(text, s, number, upper.unit, j), upper, e), e
    return _reading(text, s, number, _due(text, _bare(text, s, k, kind, prose), kind), j, digits), j


def _extended(
    text: str, s: str, end: int, kind: Kind, prose: bool, first: Reading, e: int
) -> tuple[Reading | SpanReading, int]:
    """What may follow a number with its unit: smaller parts, a spread, or the upper end of a span."""
    k = _skip(s, e)
    alone = True
    if k > e and (s[k] in _DIGITS or s[k] in _VULGAR):
        alone = False
        first, e = _compound(text, s, end, prose, first, e)
        k = _skip(s, e)
    sign = _plus_minus(s, k)
    joint = 0 if sign else _joint(s, e, k)
    if (sign or joint) and first.exact_spread is not None:
        raise _stopped(text, k, "an uncertainty stands already", "4.50(8) L or 4.50 ± 0.08 L")
    if sign:
        half = _unsigned(text, s, _skip(s, sign))
        own, after = _unit(s, _skip(s, half[3]), end, None, prose)
        if own is None:
            if not alone:
                raise _stopped(text, half[3], "the spread of a compound needs its own unit", "2 qt 8 fl oz ± 1 fl oz")
            own, after = first.unit, half[3]
        return _spread(text, s, first, half, own, after)
    if joint:
        upper, e = _upper(text, s, joint, end, kind, prose)
        return _span(text, first, upper, e), e
    return first, e


def _compound(text: str, s: str, end: int, prose: bool, first: Reading, e: int) -> tuple[Reading, int]:
    """Add the smaller parts: one kind, one system, each part smaller than the unit before it, all positive."""
    whole, last = first.unit, first.unit
    num, den = first.num, first.den
    k = _skip(s, e)
    while k > e and (s[k] in _DIGITS or s[k] in _VULGAR):
        try:
            number = _unsigned(text, s, k)
            unit, after = _unit(s, _skip(s, number[3]), end, None, prose)
            if unit is None:
                raise _unknown(text, s, _skip(s, number[3]), whole.kind)
            part = _reading(text, s, number, unit, after)
            if unit.kind != whole.kind or unit.kind == "temperature":
                raise _stopped(text, k, f"{unit.symbol} is no part of {whole.symbol}", "parts of one dimension: 2 qt 8 fl oz, 1 L 250 mL")
            if unit.system != whole.system:
                raise _stopped(text, k, f"{unit.symbol} and {whole.symbol} belong to two systems", "parts of one system, such as imp gal and imp qt")
            if part.num * unit.num * last.den >= last.num * unit.den * part.den or unit.num * last.den >= last.num * unit.den:
                raise _stopped(text, k, f"a part must be smaller than the unit before it ({last.symbol})", "2 qt 8 fl oz, 1 L 250 mL")
            if num <= 0 or part.num <= 0:
                raise _stopped(text, k, "every part of a compound is positive", "2 qt 8 fl oz, 1 L 250 mL")
        except SumpwiseError:
            if prose:
                break
            raise
        num, den = num * part.den * unit.den * whole.num + part.num * unit.num * whole.den * den, den * part.den * unit.den * whole.num
        last, e = unit, after
        k = _skip(s, e)
    return (first if last is whole else Reading(text[:e], whole, num, den, None, first.exact_spread)), e


def _upper(text: str, s: str, i: int, end: int, kind: Kind, prose: bool) -> tuple[Reading, int]:
    """The upper end of a span: a number and the unit that is due there."""
    number = _signed(text, s, i)
    k = _skip(s, number[3])
    unit, e = _unit(s, k, end, kind, prose)
    if unit is None:
        unit, e = _bare(text, s, k, kind, prose), number[3]
    return _reading(text[i:], s, number, _due(text, unit, kind), e - i), e


def _span(text: str, lower: Reading, upper: Reading, e: int) -> SpanReading:
    if lower.unit.kind != upper.unit.kind:
        raise _wrong(UnitError, text, f"runs from {_a(lower.unit.kind)} to {_a(upper.unit.kind)}")
    if lower.internal > upper.internal:
        raise _wrong(RangeError, text, "runs downward", "the lower end first", "a mixed number is written 5-1/2, its fraction below one")
    return SpanReading(text[:e], lower, upper)


def _spread(text: str, s: str, first: Reading, half: Number, own: Unit, e: int) -> tuple[Reading, int]:
    """Attach a half-width, relative or in a unit of its own, expanded where (k = …) follows."""
    unit = first.unit
    num, den, _ = _settled(text, half, own)
    if own.kind == "fraction" != unit.kind:
        if unit.kind == "temperature":
            raise _wrong(UnitError, text, "a share of a temperature depends on its scale", "± 3 °C, ± 5 °F", "write the spread in degrees")
        num, den = num * own.num * abs(first.num), den * own.den * first.den
    elif own is not unit:
        if own.kind != unit.kind and (own.kind, unit.kind) != ("interval", "temperature"):
            raise _wrong(UnitError, text, f"{_a(unit.kind)} cannot be spread by {_a(own.kind)}", _EXAMPLES.get(unit.kind, ""))
        num, den = num * own.num * unit.den, den * own.den * unit.num
    shape = "rectangular"
    k = _skip(s, e)
    if s[k] == "(" and s[_skip(s, k + 1)] == "k":
        k = _skip(s, _skip(s, k + 1) + 1)
        if s[k] != "=":
            raise _stopped(text, k, "= is due", "(k = 2)")
        factor = _unsigned(text, s, _skip(s, k + 1))
        k = _skip(s, factor[3])
        if s[k] != ")" or factor[0] == 0 or factor[4]:
            raise _stopped(text, k, "a coverage factor above zero and its bracket are due", "(k = 2)")
        shape, num, den, e = "normal", num * factor[1], den * factor[0], k + 1
    return Reading(text[:e], unit, first.num, first.den, first.places, (shape, num, den) if num else None), e


def _reading(text: str, s: str, number: Number, unit: Unit, e: int, digits: int = 0) -> Reading:
    num, den, places = _settled(text, number, unit) if number[4] else number[:3]
    if unit.kind == "temperature" and 100 * (num * unit.num + unit.offset_num * den) < -27_315 * den * unit.den:
        raise _wrong(RangeError, text, "lies below absolute zero", "-273.15 °C or -459.67 °F and above")
    if places is not None and not -9 < places < 200:
        _check_size(text, num * unit.num, den * unit.den)
    return Reading(text[:e], unit, num, den, places, ("normal", digits, 10**places) if digits and places is not None else None)


def _check_size(text: str, num: int, den: int) -> None:
    try:
        if num == 0 or 1e-300 < abs(num / den) < 1e300:
            return
    except OverflowError:
        pass
    raise _wrong(RangeError, text, "is too large or too small for a number", "magnitudes from 1e-300 to 1e300")


def _settled(text: str, number: Number, unit: Unit) -> tuple[int, int, int | None]:
    """Decide a single comma before three digits by the unit; refuse it with both readings where the unit does not."""
    num, den, places, _, doubtful = number
    if not doubtful or places is None:
        return num, den, places
    if unit.symbol in _GROUPING:
        return num * doubtful, den, places - (3 if doubtful > 1 else 0)
    small = f"{num / den:.3f}" if doubtful > 1 else "a decimal comma"
    large = f"{num * doubtful / den:.15g}"
    raise _wrong(NotationError, text, f"may be {small} or {large}", hint=f"write {small} or {large} {unit.symbol}" if doubtful > 1 else f"write {large}")


def _due(text: str, unit: Unit, kind: Kind) -> Unit:
    """The unit, where it is of a kind that is due; K is an interval where an interval is."""
    if kind is None or unit.kind == kind:
        return unit
    kinds = (kind,) if isinstance(kind, str) else kind
    if unit.kind in kinds or (unit.kind == "fraction" and ("number" in kinds or (unit is _ONE and "count" in kinds))):
        return unit
    if unit.symbol == "K" and "interval" in kinds:
        return _DELTA_C
    hint = ""
    for one in kinds:
        hint = hint or _HINTS.get((one, unit.symbol), "")
    wanted = " or ".join(_a(one) for one in kinds)
    accepted = "; ".join(_EXAMPLES.get(one, one) for one in kinds)
    raise _wrong(UnitError, text, f"{unit.symbol} is the unit of {_a(unit.kind)}, where {wanted} is due", accepted, hint)


def _bare(text: str, s: str, k: int, kind: Kind, prose: bool) -> Unit:
    """The unit one, where a bare number may stand and nothing that looks like a unit follows."""
    kinds = (kind,) if isinstance(kind, str) else kind or ()
    follows = s[k].isalpha() or s[k] in "°%\"'/"
    if ("fraction" in kinds or "number" in kinds or "count" in kinds) and (prose or not follows):
        return _ONE
    raise _unknown(text, s, k, kind)


def _unknown(text: str, s: str, k: int, kind: Kind) -> SumpwiseError:
    kinds = (kind,) if isinstance(kind, str) else kind or ()
    accepted = "; ".join(_EXAMPLES.get(one, one) for one in kinds) or "a unit as in the trade: L, qt, °C, N·m, ft-lb, psi, mm, km, min"
    if s[k] == _END:
        return _wrong(UnitError, text, "has no unit", accepted, "write the unit after the number")
    if not (s[k].isalpha() or s[k] in "°%\"'Δ"):
        return _stopped(text, k, "a unit is due", accepted)
    spelled = s[k : s.find(" (", k) if " (" in s[k:] else -1].strip()
    folded = key(spelled)
    if folded in REFUSED and (not kinds or "torque" in kinds):
        return _wrong(UnitError, text, f"{shown(spelled)} {REFUSED[folded]}", accepted)
    likely = SPELLINGS.get(folded.lower()) or SPELLINGS.get(folded.capitalize())
    hint = f"did you mean {likely.symbol}?" if likely else "nm is no unit here; a torque is written N·m" if spelled == "nm" else ""
    return _wrong(UnitError, text, f"{shown(spelled)} is no unit known here", accepted, hint)


def _unit(s: str, i: int, end: int, kind: Kind, prose: bool) -> tuple[Unit | None, int]:
    """The longest spelling that starts at `i` and ends where a word ends; None where there is none."""
    whole = SPELLINGS.get(s[i:end])
    if whole is not None and not prose:
        return whole, end
    c = s[i]
    if not (c.isalpha() or c in '°%"'):
        return None, i
    stops = []
    j = i
    limit = min(end, i + _SPELLED)
    before = "a"
    while j < limit:
        c = s[j]
        word = c.isalnum() or c in "°%_^²³\""
        if word:
            if c in _DIGITS and (before in " -·/" and s[j - 2] != "*"):
                break
        else:
            if c not in " -·*/.":
                break
            if c == "." or before not in " -·*/.":
                stops.append(j)
        before = c
        j += 1
    stops.append(j)
    for e in reversed(stops):
        after = s[e]
        if after.isalnum() or after in "_^²³°/·*" or (after == "-" and s[e + 1].isalpha()):
            continue
        spelled = s[i:e]
        unit = SPELLINGS.get(spelled) or SPELLINGS.get(key(spelled))
        if unit is None and spelled == "nm" and kind is not None and (kind == "torque" or ("torque" in kind and "length" not in kind)):
            unit = SYMBOLS["N·m"]
        if unit is not None:
            if prose and (spelled == "a" or (spelled == "in" and after == " " and s[e + 1].isalpha()) or s.startswith(" per ", e)):
                continue
            return unit, e
    return None, i


def _signed(text: str, s: str, i: int) -> Number:
    c = s[i]
    if c in "-−" and (s[i + 1] in _DIGITS or s[i + 1] in _VULGAR or s[i + 1] == "."):
        num, den, places, j, doubtful = _unsigned(text, s, i + 1)
        return -num, den, places, j, doubtful
    return _unsigned(text, s, i + 1 if c == "+" and s[i + 1] in _DIGITS else i)


def _unsigned(text: str, s: str, i: int) -> Number:
    """A number without a sign: decimal, grouped, with an exponent, or a vulgar or mixed fraction."""
    j = i
    while s[j] in _DIGITS:
        j += 1
    digits, c = s[i:j], s[j]
    grouped, doubtful, split = "", 0, i != j and j - i <= 3 and s[i] != "0"
    if i == j and not (c == "." and s[j + 1] in _DIGITS):
        if c in _VULGAR:
            return (*_VULGAR[c], None, j + 1, 0)
        raise _stopped(text, i, "a number is due", _NUMBER)
    if split and (c == " " or c == ",") and _three(s, j + 1):
        k = j + 4
        while s[k] == c and _three(s, k + 1):
            k += 4
        if c == " " and s[k] == "/":
            raise _stopped(text, k, "may be a mixed number or a fraction of thousands", "a mixed number such as 5 1/2")
        if c == " " or k > j + 4 or (s[k] == "." and s[k + 1] in _DIGITS):
            doubtful = 1 if c == "," and k == j + 4 else 0
            grouped, digits = c, s[i:k].replace(c, "")
            j, c = k, s[k]
    places = 0
    if (c == "." or (c == "," and grouped != ",")) and s[j + 1] in _DIGITS:
        k = j + 1
        while s[k] in _DIGITS:
            k += 1
        decimals = s[j + 1 : k]
        if k - j == 4:
            if c == "," and split and not grouped:
                doubtful = 1000
            else:
                decimals, k = _decimal_groups(s, k, decimals)
        places, digits, j = len(decimals), digits + decimals, k
    elif c in "/ -" or c in _VULGAR:
        mixed = _fraction(text, s, digits, j, grouped)
        if mixed is not None:
            return mixed
    num = int(digits)
    if (s[j] == "e" or s[j] == "E") and (s[j + 1] in _DIGITS or (s[j + 1] in "+-−" and s[j + 2] in _DIGITS)):
        k = j + 1 if s[j + 1] in _DIGITS else j + 2
        j = k
        while s[j] in _DIGITS:
            j += 1
        power = int(s[k:j])
        if power > _EXPONENT:
            raise _wrong(RangeError, text, "the exponent is out of reach", f"exponents up to {_EXPONENT}")
        places -= power if s[k - 1] not in "-−" else -power
    return (num, 10**places, places, j, doubtful) if places >= 0 else (num * 10**-places, 1, places, j, doubtful)


def _three(s: str, i: int) -> bool:
    return s[i] in _DIGITS and s[i + 1] in _DIGITS and s[i + 2] in _DIGITS and s[i + 3] not in _DIGITS


def _decimal_groups(s: str, k: int, decimals: str) -> tuple[str, int]:
    """Groups of three after the decimal mark, the last one to three digits long: 3.785 411 784."""
    while s[k] == " " and s[k + 1] in _DIGITS:
        m = k + 1
        while s[m] in _DIGITS:
            m += 1
        if m - k > 4 or s[m] in "/.," or s[m] in _VULGAR:
            break
        decimals += s[k + 1 : m]
        short, k = m - k < 4, m
        if short:
            break
    return decimals, k


def _fraction(text: str, s: str, digits: str, j: int, grouped: str) -> Number | None:
    """The rest of a vulgar or mixed fraction after its first digits, or None where none follows."""
    c = s[j]
    if c in _VULGAR or (c in " -" and s[j + 1] in _VULGAR):
        m = j if c in _VULGAR else j + 1
        num, den = _VULGAR[s[m]]
        return int(digits) * den + num, den, None, m + 1, 0
    m = j + 1
    while s[m] in _DIGITS:
        m += 1
    if c == "/":
        if m == j + 1 or grouped or int(s[j + 1 : m]) == 0:
            raise _stopped(text, j, "a whole number above zero is due under a fraction", "5/16")
        return int(digits), int(s[j + 1 : m]), None, m, 0
    if m == j + 1 or s[m] != "/" or s[m + 1] not in _DIGITS:
        return None
    k = m + 1
    while s[k] in _DIGITS:
        k += 1
    num, den = int(s[j + 1 : m]), int(s[m + 1 : k])
    if num >= den:
        raise _stopped(text, j, "the fraction of a mixed number is below one", "5 1/2, 5-1/2; a span as 1/2-3/4 in or 1 to 5/4 in")
    return int(digits) * den + num, den, None, k, 0


def _last_digits(text: str, s: str, j: int, number: Number) -> tuple[int, int]:
    """The standard uncertainty in the last digits, as in 4.50(8)."""
    k = j + 1
    while s[k] in _DIGITS:
        k += 1
    if s[k] != ")" or number[2] is None or s[j - 1] not in _DIGITS or number[2] < 0:
        raise _stopped(text, k, "whole digits in brackets belong to a decimal number", "4.50(8)")
    return int(s[j + 1 : k]), k + 1


def _plus_minus(s: str, k: int) -> int:
    """The position after ± or +/-, or 0."""
    return k + 1 if s[k] == "±" else k + 3 if s[k] == "+" and s[k + 1] == "/" and s[k + 2] in "-−" else 0


def _joint(s: str, e: int, k: int) -> int:
    """The position of the upper end after a dash (spaces on both sides or on neither) or after `to`, or 0."""
    if s[k] in _DASHES:
        m = _skip(s, k + 1)
        signed = s[m] in "-−" and (m > k + 1 or s[k] == "–")
        return m if (m > k + 1) == (k > e) and (signed or s[m] in _DIGITS or s[m] in _VULGAR or s[m] == ".") else 0
    return _skip(s, k + 2) if k > e and s.startswith("to ", k) else 0


def _skip(s: str, i: int) -> int:
    while s[i] == " ":
        i += 1
    return i


def _a(kind: str) -> str:
    return f"an {kind}" if kind[0] in "aei" else f"a {kind}"


def _wrong(error: type[SumpwiseError], text: str, problem: str, allowed: str = "", hint: str = "") -> SumpwiseError:
    return error(problem, value=text, allowed=allowed, hint=hint)


def _stopped(text: str, at: int, problem: str, allowed: str) -> NotationError:
    rest = text[at:]
    error = NotationError(f"{problem}, at {shown(rest) if rest else 'the end'}", value=text, allowed=allowed)
    error.position = at
    return error
