"""Workshop notation: a text as a mechanic or a book writes it, read into an exact number, its spread and its unit.

One positional scanner: it only moves forward, looks units up among whole spellings, never evaluates code, and stops with an error that
says what was read, where, and what would be accepted. Values are exact ratios of whole numbers until the one division that makes a
float. The grammar is on the page "Workshop notation" of the documentation.
"""

from __future__ import annotations

from sumpwise.errors import NotationError, RangeError, SumpwiseError, UnitError, shown, with_article
from sumpwise.quantities.normalising import CHARACTERS, everyday
from sumpwise.quantities.numerals import (
    COMMA,
    DIGITS,
    END,
    FIRST,
    GROUPED,
    MINUS,
    check_size,
    last_digits,
    pointed,
    signed,
    stopped,
    unsigned,
    wrong,
)
from sumpwise.quantities.spelling import bare, due, settled, unit_at, unknown
from sumpwise.quantities.units import ACCEPTED, Unit

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any, TypeAlias

    from sumpwise.quantities.numerals import Number
    from sumpwise.quantities.spelling import Kind

    Spread: TypeAlias = tuple[str, int, int] | None

LONGEST = 200
"""The longest text that is read, in characters."""


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
    """A span as it was written: `text`, and the readings `lower` and `upper`, each with a unit."""

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
        The kind or kinds expected (keys of `units.INTERNAL`, ``"number"``, ``"count"``). A bare number is accepted only if a fraction,
        number or count is expected, ``nm`` only if a torque is.

    Returns
    -------
    Reading
        Exact value, spread, unit and decimal places.

    Raises
    ------
    NotationError
        The text is not a quantity; `position` says where reading stopped.
    UnitError
        The unit is missing, unknown or of a different kind.
    RangeError
        The value is below absolute zero, or too large or too small for a number; or a span runs downward.

    Examples
    --------
    >>> read("5 1/2 qt").internal
    5.204941203
    >>> read("(8.0 ± 0.3) L").spread
    ('rectangular', 0.3)
    """
    found = either(text, kind)
    if type(found) is Reading:
        return found
    raise wrong(
        NotationError, found.text + END, "is a span; expected one value", code="span.unexpected", hint="write one value; span() reads spans"
    )


def read_span(text: str, kind: Kind = None) -> SpanReading:
    """Read a span such as ``"82–92 °C"`` or ``"31 to 37 N·m"``; parameters and errors as for `read`.

    Examples
    --------
    >>> window = read_span("31 to 37 N·m", "torque")
    >>> window.lower.internal, window.upper.internal
    (31.0, 37.0)
    """
    found = either(text, kind)
    if type(found) is SpanReading:
        return found
    raise wrong(NotationError, found.text + END, "is one value; expected a span", "82–92 °C, 31 to 37 N·m", code="span.expected")


def scan(text: str, position: int, kind: Kind = None) -> tuple[Reading | SpanReading, int] | None:
    """Read the longest quantity or span that starts at `position` in a running text.

    Returns
    -------
    tuple or None
        The reading and the position after it; None if none starts here. Looks at most 200 characters ahead and never raises.

    Examples
    --------
    >>> scan("Pour 2.9 L, then look.", 5)
    (Reading('2.9 L'), 10)
    """
    head = text[position : position + 1]
    if not head or not (head in FIRST or head in "(-−–+"):
        return None
    window = text[position : position + LONGEST + 1]
    try:
        found, end = _parse(window, _folded(window), kind, True)
    except SumpwiseError:
        return None
    last = found.upper if isinstance(found, SpanReading) else found
    if end > LONGEST or window[end : end + 1].isalnum() or (window[end - 1] == '"' and last.places is not None):
        return None  # beyond the cap, within a word, or a closing quotation mark rather than inches
    return found, position + end


def refusal(text: str) -> SumpwiseError | None:
    """Why no quantity can be read at the start of a running text; None if one can, or if nothing there looks like one."""
    try:
        _parse(text[:LONGEST], _folded(text[:LONGEST]), None, True)
    except SumpwiseError as error:
        return error
    return None


def uncertain(value: float, spread: tuple[str, float], name: str) -> Any:
    """The uncertain number of a value and its spread: shape, and half-width or standard uncertainty."""
    from sumpwise import uncertainty

    shape, half = spread
    return uncertainty.source(value, half / 3**0.5 if shape == "rectangular" else half, shape=shape, name=name)


def two_readings(error: SumpwiseError) -> tuple[Reading, Reading] | None:
    """The two quantities that a number may mean, if that is why it was refused."""
    both = getattr(error, "readings", None)
    if both is None:
        return None
    (num, den, places), (whole, one, zero), unit = both
    small, large = Reading("", unit, num, den, places), Reading("", unit, whole, one, zero)
    small.text, large.text = f"{small.value:.{places}f} {unit.symbol}", f"{whole} {unit.symbol}"
    return small, large


def either(text: str, kind: Kind = None) -> Reading | SpanReading:
    """One quantity or a span of two, whichever the text is; parameters and errors as for `read`."""
    if len(text) > LONGEST:
        raise wrong(NotationError, text, f"is {len(text)} characters long", f"at most {LONGEST} characters", code="text.too_long")
    text = text.strip()
    if not text:
        raise wrong(NotationError, text + END, "is empty", "a number and its unit: 2.9 L, 34 N·m ± 4 %", code="number.missing")
    try:
        return _strict(text, kind)
    except SumpwiseError as error:
        plain = everyday(text)
        if plain == text or len(plain) > LONGEST:
            _mended(error, text, kind)
            raise
    try:
        found = _strict(plain, kind, text)
    except SumpwiseError as error:
        _mended(error, plain, kind)
        raise
    found.text = text
    return found


def _mended(error: SumpwiseError, text: str, kind: Kind) -> None:
    """Say in an error what could be written instead."""
    from sumpwise.quantities.mending import mend

    def reads(other: str) -> bool:
        try:
            _strict(everyday(other), kind)
        except SumpwiseError:
            return False
        return True

    def begins(other: str) -> int:
        found = scan(other, 0, kind)
        return found[1] if found is not None and reads(other[: found[1]]) else 0

    if not error.hint or error.code == "range.reversed":
        error.hint = mend(text, error, (kind,) if isinstance(kind, str) else kind or (), reads, begins) or error.hint


def _strict(text: str, kind: Kind, written: str = "") -> Reading | SpanReading:
    """Read the whole of a text; errors are about the text as it was written."""
    s = _folded(text)
    try:
        found, end = _parse(text, s, kind, False)
        if end != len(text):
            allowed = "a number and its unit: 2.9 L, 34 N·m ± 4 %"
            raise stopped(s, _skip(s, end), "what follows does not belong to the quantity", allowed, code="text.rest")
    except SumpwiseError as error:
        if written:
            error.value = shown(written)
        raise
    return found


def _folded(text: str) -> str:
    return (text if text.isascii() else text.translate(CHARACTERS)) + END


def _skip(s: str, i: int) -> int:
    while s[i] == " ":
        i += 1
    return i


def _parse(text: str, s: str, kind: Kind, prose: bool) -> tuple[Reading | SpanReading, int]:
    """Read from the start of `s` (`text`, folded, with its end mark) as far as the grammar allows; in prose, as far as it makes sense."""
    if s[0] == "(":
        return _bracketed(text, s, kind, prose)
    number = signed(s, 0)
    j = number[3]
    digits = 0
    if s[j] == "(" and s[j + 1] in DIGITS:
        digits, j, number = last_digits(s, j, number)
    k = _skip(s, j)
    unit, e = unit_at(s, k, kind, prose)
    if unit is None and s[j] == "-" and s[j + 1].isalpha():  # a 5-gallon pail
        unit, e = unit_at(s, j + 1, kind, prose)
    elif s[j] in "kK":
        unit, e, number = _in_thousands(s, number, kind, prose) or (unit, e, number)
    if unit is not None:
        first = _reading(text, s, 0, number, due(s, unit, kind), e, digits)
        if s[e] == END:
            return first, e
        try:
            return _extended(text, s, kind, prose, first, e)
        except SumpwiseError:
            if prose:
                return first, e
            raise
    sign, joint = _plus_minus(s, k), _joint(s, j, k)
    if not joint and s[j] in "kK":  # 15k-20k miles
        joint = _joint(s, j + 1, _skip(s, j + 1))
    if digits and (sign or joint):
        raise stopped(s, k, "there is already an uncertainty", "4.50(8) L, 4.50 ± 0.08 L, 82–92 °C", code="text.uncertainty")
    if sign:
        half = unsigned(s, _skip(s, sign))
        k = _skip(s, half[3])
        if _joint(s, half[3], k):
            raise stopped(s, k, "a span has no uncertainty", "82–92 °C", code="text.uncertainty")
        return _spread_both(text, s, kind, prose, number, half, half[3])
    if joint:
        upper, e = _upper(text, s, joint, kind, prose)
        if s[signed(s, joint)[3]] in "kK" and (s[j] in "kK" or upper.num * number[1] > 1000 * number[0] * upper.den):
            number = _thousands(number)  # 15-20k miles
        elif s[j] in "kK":
            raise stopped(s, j, "expected thousands at both ends", "15k-20k miles", code="text.rest")
        return _span(text, s, _reading(text, s, 0, number, upper.unit, j), upper, e, prose), e
    return _reading(text, s, 0, number, bare(s, k, kind, prose), j, digits), j


def _bracketed(text: str, s: str, kind: Kind, prose: bool) -> tuple[Reading, int]:
    """(8.0 ± 0.3) L."""
    number = signed(s, _skip(s, 1))
    k = _skip(s, number[3])
    sign = _plus_minus(s, k)
    if not sign:
        raise stopped(s, k, "expected ± inside the brackets", "(8.0 ± 0.3) L", code="text.uncertainty")
    half = unsigned(s, _skip(s, sign))
    k = _skip(s, half[3])
    if s[k] != ")":
        raise stopped(s, k, "expected a closing bracket after two numbers", "(8.0 ± 0.3) L", code="text.uncertainty")
    return _spread_both(text, s, kind, prose, number, half, k + 1)


def _spread_both(
    text: str, s: str, kind: Kind, prose: bool, number: Number, half: Number, after: int
) -> tuple[Reading, int]:
    """A value and a half-width before the one unit they share."""
    k = _skip(s, after)
    unit, e = unit_at(s, k, kind, prose)
    if unit is None:
        unit, e = bare(s, k, kind, prose), after
    number, half = pointed(number, half), pointed(half, number)
    first = _reading(text, s, 0, number, due(s, unit, kind), e)
    if unit.symbol == "%" and s[0] != "(":
        unlike = 0 != abs(first.num) * half[1] < half[0] * first.den
        if unlike or kind == "number":
            raise wrong(
                NotationError, s, "the % may belong to both numbers or only to the second", code="text.ambiguous", hint="write (90 ± 4) %"
            )
    return _spread(text, s, first, half, unit, e)


def _extended(
    text: str, s: str, kind: Kind, prose: bool, first: Reading, e: int
) -> tuple[Reading | SpanReading, int]:
    """What may follow a number with its unit: smaller parts, a spread, or the upper end of a span."""
    one = first
    first, e = _compound(text, s, 0, prose, first, e)
    k = _skip(s, e)
    sign, joint = _plus_minus(s, k), _joint(s, e, k)
    if (sign or joint) and first.exact_spread is not None:
        raise stopped(s, k, "there is already an uncertainty", "4.50(8) L, 4.50 ± 0.08 L, 82–92 °C", code="text.uncertainty")
    if sign:
        half = unsigned(s, _skip(s, sign))
        k = _skip(s, half[3])
        own, e = unit_at(s, k, None, prose)
        if own is None:
            if s[half[3] if prose else k].isalpha():
                raise unknown(s, k, (first.unit.kind,))
            if first is not one:
                raise stopped(s, half[3], "the ± of a compound needs its own unit", "2 qt 8 fl oz ± 1 fl oz", code="text.compound")
            own, e = first.unit, half[3]
        return _spread(text, s, first, half, own, e)
    if joint and (not prose or s[joint] in FIRST or s[joint] in MINUS):
        upper, e = _upper(text, s, joint, kind, prose)
        return _span(text, s, first, upper, e, prose), e
    return first, e


def _compound(text: str, s: str, start: int, prose: bool, first: Reading, e: int) -> tuple[Reading, int]:
    """Add the smaller parts: one kind, one system, each part smaller than the unit before it, all positive."""
    whole, last = first.unit, first.unit
    num, den = first.num, first.den
    k = _skip(s, e)
    if prose and num % den:
        return first, e  # half a gallon, two quarts: the same again
    while k > e and s[k] in FIRST:
        try:
            number = unsigned(s, k)
            unit, after = unit_at(s, _skip(s, number[3]), None, prose)
            if unit is None:
                raise unknown(s, _skip(s, number[3]), (whole.kind,))
            part = _reading(text, s, k, number, unit, after)
            problem = ""
            if unit.kind != whole.kind or unit.kind == "temperature":
                problem = f"{unit.symbol} is not a part of {whole.symbol}"
            elif unit.system != whole.system:
                problem = f"{unit.symbol} and {whole.symbol} belong to different systems"
            elif unit.num * last.den >= last.num * unit.den or part.num * unit.num * last.den >= last.num * unit.den * part.den:
                problem = f"a part must be smaller than the unit before it, {last.symbol}"
            elif num <= 0 or part.num <= 0 or first.exact_spread is not None:
                problem = "the parts of a compound must be positive and have no uncertainty of their own"
            if problem:
                raise stopped(
                    s, k, problem, "parts of one dimension and system, the large unit first: 2 qt 8 fl oz, 1 L 250 mL", code="text.compound"
                )
        except SumpwiseError:
            if prose:
                break
            raise
        scale = unit.den * whole.num
        num, den = num * part.den * scale + part.num * unit.num * whole.den * den, den * part.den * scale
        last, e = unit, after
        k = _skip(s, e)
    return (first if last is whole else Reading(text[start:e], whole, num, den, None)), e


def _thousands(number: Number) -> Number:
    """A number of thousands, in full."""
    return number[0] * 1000, number[1], max(0, (number[2] or 0) - 3), number[3], 0


def _in_thousands(s: str, number: Number, kind: Kind, prose: bool) -> tuple[Unit, int, Number] | None:
    """The unit after a number with a k behind it, the position after the unit, and the number in full: 60k miles, a 60k-mile service."""
    j = number[3]
    road, after = unit_at(s, j + 2, kind, prose) if number[2] is not None and s[j + 1] in " -" else (None, j)
    return None if road is None or road.symbol not in ("km", "mi") else (road, after, _thousands(number))


def _upper(text: str, s: str, i: int, kind: Kind, prose: bool) -> tuple[Reading, int]:
    """The upper end of a span: a number and the unit expected there."""
    number = signed(s, i)
    k = _skip(s, number[3])
    unit, e = unit_at(s, k, kind, prose)
    if unit is None and s[k] in "kK":
        unit, e, number = _in_thousands(s, number, kind, prose) or (unit, e, number)
    if unit is None:
        unit, e = bare(s, k, kind, prose), number[3]
    return _compound(text, s, i, prose, _reading(text, s, i, number, due(s, unit, kind), e), e)


def _span(text: str, s: str, lower: Reading, upper: Reading, e: int, prose: bool) -> SpanReading:
    if lower.unit.kind != upper.unit.kind:
        kinds = f"{with_article(lower.unit.kind)} to {with_article(upper.unit.kind)}"
        raise wrong(UnitError, s, f"runs from {kinds}", "both ends of one kind: 82 °C to 92 °C", code="unit.kind")
    falls = lower.internal > upper.internal
    if falls and prose and (" to " in s[:e].lower() or _is_fall(s[:e], lower, upper)):  # cooling from 90 to 80 °C
        return SpanReading(text[:e], upper, lower)
    if falls:
        raise wrong(
            RangeError, s, "runs downward", "the lower end first", "if it is a mixed number, its fraction must be below one: 5-1/2",
            code="range.reversed",
        )  # fmt: skip
    return SpanReading(text[:e], lower, upper)


def _is_fall(said: str, first: Reading, second: Reading) -> bool:
    """Whether two numbers with a dash between them are a span given downward, not a mixed number: 92–82 °C."""
    return first.unit is second.unit and "/" not in said and 2 * second.num * first.den >= first.num * second.den


def _spread(text: str, s: str, first: Reading, half: Number, own: Unit, e: int) -> tuple[Reading, int]:
    """Attach a half-width, relative or in a unit of its own; it is an expanded uncertainty if (k = …) follows."""
    unit = first.unit
    num, den, _ = settled(s, half, own)
    if own.kind == "fraction" != unit.kind:
        if unit.kind == "temperature":
            raise wrong(
                UnitError, s, "a percentage of a temperature depends on its scale", "± 3 °C, ± 5 °F", "write the uncertainty in degrees",
                code="text.uncertainty",
            )  # fmt: skip
        num, den = num * own.num * abs(first.num), den * own.den * first.den
    elif own is not unit:
        if own.kind.replace("temperature", "interval") != unit.kind.replace("temperature", "interval"):
            kinds = f"{with_article(unit.kind)} cannot have an uncertainty in {with_article(own.kind)}"
            raise wrong(UnitError, s, kinds, ACCEPTED[unit.kind], code="unit.kind")
        num, den = num * own.num * unit.den, den * own.den * unit.num
    shape = "rectangular"
    k = _skip(s, e)
    inner = _skip(s, k + 1) if s[k] == "(" else k
    if s[inner] == "k" and inner > k:
        k = _skip(s, inner + 1)
        if s[k] != "=":
            raise stopped(s, k, "expected =", "(k = 2)", code="text.uncertainty")
        factor = unsigned(s, _skip(s, k + 1))
        k = _skip(s, factor[3])
        if s[k] != ")" or not factor[0] or factor[4] in (COMMA, GROUPED):
            raise stopped(s, k, "expected a coverage factor above zero and a closing bracket", "(k = 2)", code="text.uncertainty")
        shape, num, den, e = "normal", num * factor[1], den * factor[0], k + 1
    check_size(s, num, den)
    return Reading(text[:e], unit, first.num, first.den, first.places, (shape, num, den) if num else None), e


def _reading(text: str, s: str, start: int, number: Number, unit: Unit, e: int, digits: int = 0) -> Reading:
    num, den, places = settled(s, number, unit) if number[4] else number[:3]
    if unit.kind == "temperature" and 100 * (num * unit.num + unit.offset_num * den) < -27_315 * den * unit.den:
        raise wrong(RangeError, s, "is below absolute zero", "-273.15 °C or -459.67 °F and above", code="range.absolute_zero")
    if places is not None and not -200 < places < 200:
        check_size(s, num * unit.num, den * unit.den)
    spread = ("normal", digits, 10**places) if digits and places is not None else None
    return Reading(text[start:e], unit, num, den, places, spread)


def _plus_minus(s: str, k: int) -> int:
    """The position after ± or +/-, or 0."""
    return k + 1 if s[k] == "±" else k + 3 if s[k] == "+" and s[k + 1] == "/" and s[k + 2] in MINUS else 0


def _joint(s: str, e: int, k: int) -> int:
    """The position of the upper end after a dash or ~ (with spaces on both sides or neither) or after `to` or `down to`, or 0."""
    if s[k] in "–-~":
        m = _skip(s, k + 1)
        spaced = m > k + 1
        return m if spaced == (k > e) and (s[m] in FIRST or (s[m] in MINUS and (spaced or s[k] == "–"))) else 0
    if s.startswith(("...", "…"), k):
        m = _skip(s, k + (3 if s[k] == "." else 1))
        return m if s[m] in FIRST or s[m] in MINUS else 0
    if k == e or s[k] not in "tTud":
        return 0
    return next((_skip(s, k + len(to)) for to in ("to ", "TO ", "up to ", "down to ", "through ", "thru ") if s.startswith(to, k)), 0)
