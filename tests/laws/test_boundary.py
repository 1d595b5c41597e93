"""Laws of `quantity`, `span` and `convert`, and of the reading that every public function shares."""

from __future__ import annotations

import math
from contextlib import suppress
from fractions import Fraction

import numpy
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from laws.lawbook import law
from sumpwise import SumpwiseError, convert, drain_refill, measured, quantity, span, uncertainty
from sumpwise.quantities.arguments import argument
from sumpwise.quantities.magnitudes import inward, outward
from sumpwise.quantities.units import SYMBOLS

APP, OTHER = pint.application_registry.get(), pint.UnitRegistry()
UNITS = list(SYMBOLS.values())
RATIOS = [u for u in UNITS if not u.offset_num]

units = st.sampled_from(UNITS)
ratios = st.sampled_from(RATIOS)
whole = st.integers(1, 10**6)
numbers = st.floats(0.01, 1e6)
decimals = st.decimals("0.001", "99999", places=3).map(lambda d: format(d, "f"))
clear = decimals.map(lambda text: text + "0")  # 1.000 km may be a thousand


@st.composite
def pairs(draw):
    """Two units of one kind."""
    one = draw(units)
    return one, draw(st.sampled_from([u for u in UNITS if u.kind == one.kind]))


def exact(number: Fraction, unit, to) -> Fraction:
    internal = (number * unit.num + unit.offset_num) / unit.den
    return (internal * to.den - to.offset_num) / to.num


@law("convert", "quantity")
@given(clear, pairs())
def test_a_text_converts_to_the_nearest_float(number, pair):
    """A text converts as the exact fraction does, rounded to a float once, and reads as the number that is written."""
    one, two = pair
    text = f"{number} {one.symbol}" if one.symbol != "1" else number
    if one.symbol != "1":
        assert quantity(text).magnitude == float(Fraction(number))
    assert convert(text, two.symbol).magnitude == float(exact(Fraction(number), one, two))


@law("convert")
@given(numbers, pairs())
def test_conversion_there_and_back(number, pair):
    """Converting to a unit and back gives the number again, in the registry it came in."""
    one, two = pair
    given_ = OTHER.Quantity(number, OTHER.Unit("" if one.pint == "dimensionless" else one.pint))
    there = convert(given_, two.symbol)
    back = convert(there, one.symbol)
    assert there._REGISTRY is back._REGISTRY is OTHER
    scale = abs(one.offset) / one.factor + abs(two.offset) / one.factor + number
    assert back.magnitude == pytest.approx(number, rel=1e-14, abs=4e-16 * scale)
    near = 1e-13 * (abs(two.offset) + abs(one.offset))
    assert there.magnitude == pytest.approx(float(exact(Fraction(number), one, two)), rel=1e-14, abs=near)


@law("convert")
@given(st.lists(numbers, min_size=1, max_size=5), ratios, st.data())
def test_conversion_is_linear_and_elementwise(several, one, data):
    """Conversion between units of a ratio is linear, element by element, and carries uncertainty by the same ratio."""
    two = data.draw(st.sampled_from([u for u in RATIOS if u.kind == one.kind]))
    unit = "" if one.pint == "dimensionless" else one.pint
    each = [convert(APP.Quantity(n, unit), two.symbol).magnitude for n in several]
    assert convert(APP.Quantity(numpy.array(several), unit), two.symbol).magnitude == pytest.approx(numpy.array(each), rel=1e-14)
    assert convert(APP.Quantity(math.fsum(several), unit), two.symbol).magnitude == pytest.approx(math.fsum(each), rel=1e-13)
    hazy = convert(APP.Quantity(ufloat(several[0], 0.1 * several[0]), unit), two.symbol).magnitude
    assert hazy.std_dev == pytest.approx(0.1 * each[0], rel=1e-12)


@law("quantity")
@given(whole, ratios)
def test_text_number_and_quantity_agree(number, unit):
    """A number with its unit beside it, the same in a text, and the same as a Quantity of any registry are one value."""
    kind = unit.kind
    read = argument("number" if kind == "fraction" else kind).value
    name = "" if unit.pint == "dimensionless" else unit.pint
    expected = float(Fraction(number * unit.num, unit.den))
    texts = [] if unit.symbol == "1" else [read(f"{number} {unit.symbol}"), read(quantity(f"{number} {unit.symbol}"))]
    for value in (*texts, read(quantity(number, unit.symbol)), read(OTHER.Quantity(number, name))):
        assert value == pytest.approx(expected, rel=3e-16)


@law("quantity")
@given(decimals, st.integers(1, 99), ratios)
def test_an_uncertain_text_spreads_as_written(number, digits, unit):
    """Digits in brackets are a standard uncertainty of the last digits, ± is a half-width, and equal texts are independent."""
    if unit.symbol == "1":
        return
    standard = digits * 10.0 ** -len(number.partition(".")[2])
    text = f"{number}({digits}) {unit.symbol}"
    one, two = quantity(text).magnitude, quantity(text).magnitude
    assert one.std_dev == pytest.approx(standard, rel=1e-12)
    assert (one - two).std_dev == pytest.approx(standard * math.sqrt(2), rel=1e-9)
    assert (one - one).std_dev == 0
    clear = f"{number}0" if len(number.partition(".")[2]) == 3 else number  # 204.674 km may be thousands
    half = quantity(f"{clear} {unit.symbol} ± {digits} {unit.symbol}").magnitude
    assert half.std_dev == pytest.approx(digits / math.sqrt(3), rel=1e-12)


@law("span")
@given(clear, clear, st.sampled_from([u for u in UNITS if u.kind not in ("fraction", "temperature")]), pairs())
def test_a_span_holds_its_ends_in_order(one, two, unit, pair):
    """A span's ends are the two numbers written, each with the unit, in order; reversed it is refused; conversion keeps the order."""
    low, high = sorted((one, two), key=float)
    found = span(f"{low} to {high} {unit.symbol}")
    assert (found.lower.magnitude, found.upper.magnitude) == (float(low), float(high))
    assert found.lower.units == found.upper.units
    assert found == span(f"{low} {unit.symbol} – {high} {unit.symbol}")
    if float(low) < float(high):
        with pytest.raises(SumpwiseError):
            span(f"{high} to {low} {unit.symbol}")
    to = next(u for u in UNITS if u.kind == unit.kind)
    turned = convert(found, to.symbol)
    assert turned.lower.magnitude <= turned.upper.magnitude


@law("convert")
@given(st.floats(-1e6, 1e6, allow_subnormal=False), pairs())
def test_inward_and_outward_are_inverse(number, pair):
    """A magnitude into the internal unit and out of it again is the magnitude, and order is kept."""
    unit, _ = pair
    inside = inward(number, unit)
    assert outward(inside, unit) == pytest.approx(number, rel=1e-14, abs=1e-12 * abs(unit.offset / unit.factor) + 1e-300)
    assert inward(number + abs(number) / 8 + 1, unit) > inside


leaves = st.one_of(st.text(max_size=30), st.floats(), st.integers(), st.none())
anything = st.recursive(leaves, lambda x: st.lists(x, max_size=3), max_leaves=5)


@law("drain_refill", "quantity", "span", "convert")
@given(anything)
def test_anything_is_read_or_refused(value):
    """Whatever is given for a volume, a share or a count, there is a finite answer or one error of the library."""
    for call in (
        lambda: drain_refill(value, "8 L"),
        lambda: drain_refill("1 L", value),
        lambda: drain_refill("1 L", "8 L", value),
        lambda: drain_refill("1 L", "8 L", 1, value),
        lambda: drain_refill("1 L", "8 L", 2, 0, 1, value),
    ):
        with suppress(SumpwiseError):
            answer = call()
            nominal = [getattr(a, "nominal_value", a) for a in numpy.ravel(answer)]
            assert all(-1e-12 <= a <= 1 + 1e-12 for a in nominal)
    for ask in (quantity, span, lambda v: convert(v, "L"), lambda v: quantity(v, "qt"), lambda v: convert("1 L", v)):
        with suppress(SumpwiseError):
            ask(value)


ROWS = st.lists(st.tuples(st.floats(-1, 10), st.floats(0.5, 10), st.sampled_from([1, 2, 3])), min_size=1, max_size=40)


@law("drain_refill")
@given(ROWS, st.booleans())
def test_a_column_with_bad_rows_is_its_rows_one_by_one(rows, uncertain):
    """Each row of a column has the answer, or the problem, that the row has alone."""
    drained, capacity, times = (numpy.array(x) for x in zip(*rows, strict=True))
    column = quantity(drained, "L")
    if uncertain:
        column = measured(column, standard="0.05 L")
    answer, problems = drain_refill(column, quantity(capacity, "L"), times, errors="collect")
    wrong = {row: code for row, code, _ in problems}
    for i in range(len(rows)):
        try:
            one = drain_refill(column[i], quantity(capacity[i], "L"), int(times[i]))
        except SumpwiseError as error:
            assert wrong.pop(i) == error.code  # noqa: PT017
            assert numpy.isnan(uncertainty.nominal(answer[i]))
        else:
            assert uncertainty.nominal(answer[i]) == pytest.approx(uncertainty.nominal(one), rel=1e-12, abs=1e-12)
            assert uncertainty.standard(answer[i]) == pytest.approx(uncertainty.standard(one), rel=1e-7, abs=1e-10)
    assert wrong == {}
