"""Laws of workshop notation, against an oracle of a few lines and exact fractions."""

from __future__ import annotations

import contextlib
import math
from fractions import Fraction

import pytest
from hypothesis import assume, example, find, given, settings
from hypothesis import strategies as st

from sumpwise.errors import RangeError, SumpwiseError, UnitError
from sumpwise.quantities.notation import Reading, SpanReading, read, read_span, scan
from sumpwise.quantities.units import INTERNAL, REFUSED, SPELLINGS, SYMBOLS, Unit, key

PLAIN = [unit for unit in SYMBOLS.values() if unit.kind not in ("temperature", "fraction")]
FAMILIES = {unit.symbol: sorted(s for s, u in SPELLINGS.items() if u is unit) for unit in PLAIN}
SPACES = (" ", "\u00a0", "\u2009", "\u202f", "\u2007")
VULGAR = dict(
    zip(
        "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞",
        ((1, 2), (1, 3), (2, 3), (1, 4), (3, 4), (1, 5), (2, 5), (3, 5), (4, 5), (1, 6), (5, 6), (1, 8), (3, 8), (5, 8), (7, 8)),
        strict=True,
    )
)
KINDS = (None, *INTERNAL, "number", "count", ("torque", "volume"))

units = st.sampled_from(PLAIN)
spaces = st.sampled_from(SPACES)
positive = st.integers(0, 10**9)


def exact(reading: Reading) -> Fraction:
    return (Fraction(reading.num, reading.den) * reading.unit.num + reading.unit.offset_num) / reading.unit.den


def grouped(digits: str, mark: str) -> str:
    """Digits in groups of three from the right."""
    head = len(digits) % 3 or 3
    return mark.join([digits[:head], *(digits[i : i + 3] for i in range(head, len(digits), 3))])


@st.composite
def numbers(draw: st.DrawFn) -> tuple[str, Fraction]:
    """A number in one of the grammar's forms, whatever the unit, and its value."""
    whole, form = draw(positive), draw(st.integers(0, 6))
    written = grouped(str(whole), draw(spaces)) if draw(st.booleans()) else str(whole)
    digits = draw(st.text("0123456789", min_size=1, max_size=12))
    sign = draw(st.sampled_from(("", "", "+", "-", "−")))
    value = Fraction(whole)
    if form == 1:
        assume(len(digits) != 3 or len(str(whole)) > 3 or whole == 0)  # three may be thousands
        written, value = f"{written}.{digits}", Fraction(f"{whole}.{digits}")
    elif form == 2:
        assume(len(digits) != 3 or len(str(whole)) > 3 or whole == 0)
        written, value = f"{written},{digits}", Fraction(f"{whole}.{digits}")
    elif form == 3:
        power = draw(st.integers(-30, 30))
        mark = draw(st.sampled_from(("e", "E")))
        written, value = f"{written}.{digits}{mark}{power}", Fraction(f"{whole}.{digits}e{power}")
    elif form == 4:
        over, under = draw(st.integers(0, 98)), draw(st.integers(1, 99))
        assume(over < under)
        hyphen = draw(st.sampled_from((*SPACES, "-", "\u2011")))
        assume(whole or hyphen in SPACES)
        written, value = f"{whole}{hyphen}{over}{draw(st.sampled_from('/⁄'))}{under}", whole + Fraction(over, under)
    elif form == 5:
        vulgar = draw(st.sampled_from(sorted(VULGAR)))
        written, value = f"{written}{draw(st.sampled_from(('', *SPACES)))}{vulgar}", whole + Fraction(*VULGAR[vulgar])
    elif form == 6:
        over, under = draw(st.sampled_from(((1, 2), (1, 3), (3, 4), (2, 5), (5, 8), (7, 16), (31, 64), (1, 100))))
        written, value = f"{over}/{under}", Fraction(over, under)
    return sign + written, -value if sign in ("-", "−") else value


def oracle(text: str) -> Fraction:
    """What a plain or grouped decimal number must mean, by another way than the scanner's: the marks are removed."""
    for space in SPACES:
        text = text.replace(space, "")
    text = text.replace("−", "-")
    commas = text.count(",")
    return Fraction(text.replace(",", "") if commas > 1 or "." in text else text.replace(",", "."))


@given(numbers(), units, st.sampled_from(("", *SPACES)))
def test_a_number_reads_back_exactly(number: tuple[str, Fraction], unit: Unit, space: str) -> None:
    """A rational number written in any form of the grammar reads back as exactly that number, in exactly that unit."""
    written, value = number
    reading = read(f"{written}{space or ' '}{unit.symbol}")
    assert (Fraction(reading.num, reading.den), reading.unit) == (value, unit)
    assert reading.internal == float(value * Fraction(unit.num, unit.den))
    assert reading.value == float(value)


@given(st.floats(allow_nan=False, allow_infinity=False), units)
@example(5e-324, SYMBOLS["L"])
@example(1.7976931348623157e308, SYMBOLS["L"])
def test_a_float_reads_back(value: float, unit: Unit) -> None:
    """What Python prints of a float reads back as that float, or is refused where the internal unit cannot hold it."""
    try:
        reading = read(f"{value!r} {unit.symbol}")
    except SumpwiseError:
        assert not 1e-290 < abs(value) < 1e290
        return
    assert reading.value == value
    assert math.isfinite(reading.internal)


@given(numbers(), units, spaces)
def test_spaces_are_alike(number: tuple[str, Fraction], unit: Unit, space: str) -> None:
    """A text keeps its value when its spaces become no-break, thin or figure spaces."""
    text = f"{number[0]} {unit.symbol} ± 3 {unit.symbol} (k = 2)"
    plain, other = read(text), read(text.replace(" ", space))
    assert (plain.num, plain.den, plain.unit, plain.places) == (other.num, other.den, other.unit, other.places)
    assert plain.exact_spread == other.exact_spread


@given(units, st.data(), st.sampled_from(("·", "-", " ", "⋅", "*", "\u2011")))
def test_units_respelled(unit: Unit, data: st.DataObject, mark: str) -> None:
    """A text keeps its value when its unit is spelled otherwise, or the separators between the unit's words swap."""
    spelling = data.draw(st.sampled_from(FAMILIES[unit.symbol]))
    reading = read(f"5 1/2 {spelling.replace('·', mark)}", unit.kind)
    assert (Fraction(reading.num, reading.den), reading.unit) == (Fraction(11, 2), unit)


@given(st.text("0123456789,.  \u202f-−+", min_size=1, max_size=16), st.sampled_from(("L", "km", "mL", "in")))
@example("1,500", "L")
@example("1,500", "km")
@example("1 50", "L")
@example("1.500,5", "L")
@example("0,500", "mL")
def test_no_decimal_is_another_number(text: str, unit: str) -> None:
    """A decimal text that is accepted is the number that remains when its grouping marks are removed."""
    try:
        reading = read(f"{text} {unit}")
    except SumpwiseError:
        return
    value = Fraction(reading.num, reading.den)
    body = text.strip()
    if body.count(",") == 1 and "." not in body and reading.unit.symbol in ("km", "mL") and value.denominator == 1 and reading.places == 0:
        assert value == oracle(body.replace(",", ""))
    else:
        assert value == oracle(body)
    assert reading.places is not None
    assert (value * 10**reading.places).denominator == 1


PIECES = [
    *"0123456789.,/-–±()%\"·* \u00a0½⅜eEkK=+−°", "1 500", "1,500", " to ", " L", " mL", " qt", " fl oz", " °C", " °F", " K", " N·m",
    " ft-lb", " in", " km", "1e9", "(k = 2)", " ± ", "+/-", "\n", "\x00", "**", "nan", "inf", " J", " nm", "é", "٣",
]  # fmt: skip
junk = st.one_of(st.text(max_size=40), st.lists(st.sampled_from(PIECES), max_size=12).map("".join))
TAILS = ("", "", " ± 0.1 {0}", " ± 4 %", " to 1e12 {0}", ", then stop", "² ")
quantities = st.builds(
    lambda number, gap, unit, tail: f"{number[0]}{gap}{unit.symbol}{tail.format(unit.symbol)}",
    numbers(), spaces | st.just(""), st.sampled_from([*SYMBOLS.values()]), st.sampled_from(TAILS),
)  # fmt: skip
texts = junk | quantities


def test_texts_are_of_every_sort():
    """Some of those that are drawn read as a quantity and some as a span, some are refused, and some are found behind others."""
    few = settings(max_examples=2000)
    for sort in (Reading, SpanReading):
        assert find(texts, lambda text, sort=sort: isinstance(tried(text), sort), settings=few)
    assert tried(find(texts, lambda text: tried(text) is None, settings=few)) is None
    assert find(st.tuples(texts, texts), lambda pair: bool(pair[0]) and scan("".join(pair), len(pair[0])) is not None, settings=few)


def tried(text: str) -> Reading | SpanReading | None:
    """What a text reads as, alone or as a span; None if it is refused."""
    for entry in (read, read_span):
        with contextlib.suppress(SumpwiseError):
            return entry(text)
    return None


@given(texts, st.sampled_from(KINDS))
def test_any_text_is_finite_or_refused(text: str, kind: str | tuple[str, ...] | None) -> None:
    """Any text whatever reads as a finite quantity of an expected kind, or is refused with an error of the library."""
    for entry in (read, read_span):
        try:
            found = entry(text, kind)
        except SumpwiseError as error:
            words = str(error)
        else:
            words = ""
        if words:
            assert all(c.isprintable() or c in SPACES for c in words)
            continue
        for reading in (found.lower, found.upper) if isinstance(found, SpanReading) else (found,):
            assert math.isfinite(reading.internal)
            assert reading.den > 0
            if reading.unit.kind == "temperature":
                assert exact(reading) >= Fraction("-273.15")
            if reading.spread is not None:
                assert math.isfinite(reading.spread[1])
                assert reading.spread[1] >= 0
            if kind is not None:
                assert reading.unit.kind in (*((kind,) if isinstance(kind, str) else kind), "fraction")


@given(texts, texts)
def test_scanning_agrees_with_reading(before: str, text: str) -> None:
    """What is scanned in a running text is what that piece of text reads as alone, and scanning never raises."""
    whole = f"{before}{text}"
    found = scan(whole, len(before))
    if found is None:
        return
    reading, end = found
    piece = whole[len(before) : end]
    if isinstance(reading, SpanReading):
        alone = read_span(piece)
        assert (exact(alone.lower), exact(alone.upper)) == (exact(reading.lower), exact(reading.upper))
    else:
        again = read(piece)
        assert (again.num, again.den, again.unit, again.exact_spread) == (reading.num, reading.den, reading.unit, reading.exact_spread)
    assert not whole[end : end + 1].isalnum()


@given(numbers(), units)
def test_what_reads_alone_is_found_in_prose(number: tuple[str, Fraction], unit: Unit) -> None:
    """A quantity that ends a sentence of a running text is read there to its end."""
    text = f"{number[0]} {unit.symbol}"
    reading, end = scan(f"Take {text}, then stop.", 5) or (None, 0)
    assert end == 5 + len(text)
    assert isinstance(reading, Reading)
    assert exact(reading) == exact(read(text))


@given(numbers(), numbers(), units, st.sampled_from(("–", " – ", " to ", " - ")))
def test_spans_keep_their_ends(one: tuple[str, Fraction], two: tuple[str, Fraction], unit: Unit, joint: str) -> None:
    """A span has the ends that were written, and is refused when it runs downward."""
    (low, lower), (high, upper) = sorted((one, two), key=lambda number: number[1])
    assume(not high.startswith("+"))
    found = read_span(f"{low}{joint}{high} {unit.symbol}", unit.kind)
    assert Fraction(found.lower.num, found.lower.den) == lower
    assert Fraction(found.upper.num, found.upper.den) == upper
    assert found.lower.unit is found.upper.unit is unit
    if lower < upper and not low.startswith("+"):
        with pytest.raises(RangeError, match="downward"):
            read_span(f"{high}{joint}{low} {unit.symbol}")


@given(st.integers(1, 99), st.integers(1, 31), st.sampled_from(("qt", "US qt", "quarts")))
def test_compounds_add(quarts: int, ounces: int, spelling: str) -> None:
    """A compound is the sum of its parts."""
    reading = read(f"{quarts} {spelling} {ounces} fl oz")
    assert exact(reading) == exact(read(f"{quarts} qt")) + exact(read(f"{ounces} fl oz"))


@given(st.sampled_from(sorted(REFUSED)), st.sampled_from(("·", "-", " ")))
def test_energy_is_not_a_torque(name: str, mark: str) -> None:
    """An energy is refused by name where a torque is expected, however its words are joined."""
    with pytest.raises(UnitError, match="energy, not torque"):
        read(f"3 {name.replace('·', mark)}", "torque")


@given(st.text(max_size=30))
def test_folding_once_is_enough(spelling: str) -> None:
    """A folded spelling folds to itself."""
    assert key(key(spelling)) == key(spelling)
