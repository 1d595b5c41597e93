"""Workshop notation: what is accepted, with its exact value; what is refused, and with which words."""

from __future__ import annotations

import contextlib
import copy
import pickle
import subprocess
import sys
import unicodedata
from fractions import Fraction

import pytest

from sumpwise.errors import NotationError, RangeError, SumpwiseError, UnitError, shown
from sumpwise.quantities import notation, numerals
from sumpwise.quantities.notation import Reading, read, read_span

F = Fraction
QT, GAL, FLOZ = F("0.946352946"), F("3.785411784"), F("0.0295735295625")  # NIST Handbook 44 (2014), App. C, exact
LBF = F("0.45359237") * F("9.80665")
LBF_FT, LBF_IN = LBF * F("0.3048"), LBF * F("0.0254")


def exact(reading: Reading) -> F:
    """The value in the internal unit, as a ratio."""
    unit = reading.unit
    return (F(reading.num, reading.den) * unit.num + unit.offset_num) / unit.den


ACCEPTED = [
    # decimals, signs, exponents
    ("2.9 L", F("2.9")), ("2.9L", F("2.9")), (".5 qt", QT / 2), ("+3.5 mm", F("3.5")), ("-2 mm", F(-2)), ("−0.4 mm", F("-0.4")),
    ("007 mm", F(7)), ("1.2e3 L", F(1200)), ("1e0003 L", F(1000)), ("1.2E-3 m", F("1.2")), ("5e+1 L", F(50)), ("2e−1 L", F("0.2")),
    ("-40 °F", F(-40)),
    # decimal comma and thousands
    ("1,5 L", F("1.5")), ("12,34 L", F("12.34")), ("0,500 L", F("0.5")), ("1234,567 L", F("1234.567")), ("1,50 km", F(1_500_000)),
    ("56 000 km", F(56_000 * 10**6)), ("1 500,5 mL", F("1.5005")), ("1 234 567.8 mm", F("1234567.8")), ("128,400 km", F(128_400 * 10**6)),
    ("1,500 mL", F("1.5")), ("1,500 cc", F("1.5")), ("80,000 miles", F(80_000 * 1_609_344)), ("1,500.5 mL", F("1.5005")),
    ("1,234,567 L", F(1_234_567)), ("1,234,567.5 mm", F("1234567.5")), ("1\u202f500\u00a0mL", F("1.5")), ("3.785 411 784 L", GAL),
    ("0.946 352 9 L", F("0.9463529")),
    # fractions
    ("5 1/2 qt", QT * 11 / 2), ("5-1/2 qt", QT * 11 / 2), ("5½ qt", QT * 11 / 2), ("5 ½ qt", QT * 11 / 2), ("5-½ qt", QT * 11 / 2),
    ("¾ in", F("19.05")), ("5/16 in", F("7.9375")), ("5⁄16 in", F("7.9375")), ("11/2 pt", QT * 11 / 4), ("-1 1/2 mm", F("-1.5")),
    ('5/8"', F("15.875")), ("1 3/4″", F("44.45")),
    ("1 and 1/2 quarts", QT * 3 / 2), ("1 & 1/2 qt", QT * 3 / 2), ("1 and ½ qt", QT * 3 / 2), ("1 & ½ qt", QT * 3 / 2),
    ("3/4 L", F("0.75")),
    ("1/160 gal", GAL / 160), ("18/5 L", F("3.6")), ("10/11 L", F(10, 11)),
    # as people write and say them
    ("5 QT", 5 * QT), ("5-qt", 5 * QT), ("3/4-inch", F("19.05")), ("5 U.S. quarts", 5 * QT), ("5 ltr.", F(5)), ("500 ML", F("0.5")),
    ("25 FT-LBS", 25 * LBF_FT), ("25 ftlbs", 25 * LBF_FT), ("25 ft/lb", 25 * LBF_FT), ("25 ft/lb(s)", 25 * LBF_FT), ("25 lbft",
    25 * LBF_FT),
    ("25 foot lbs", 25 * LBF_FT), ("25 ft–lb", 25 * LBF_FT), ("80 in/lbs", 80 * LBF_IN), ("34 NM", F(34)), ("34 Nm.", F(34)),
    ("350 Kgf·cm", 350 * F("0.0980665")), ("80 ˚C", F(80)), ("80 °c", F(80)), ("30 psig", 30 * LBF / (F("0.0254") ** 2 * 1000)),
    ("60k miles", F(60_000 * 1_609_344)), ("30K km", F(30_000 * 10**6)), ("1,000 ft-lb", 1000 * LBF_FT), ("3,500 lb",
    3500 * F("0.45359237")),
    ("1,500 kg", F(1500)), ("1,200 ft", F(1200) * F("304.8")), ("~4 L", F(4)), ("approx. 4 L", F(4)), ("about 4 qt", 4 * QT), ("- 5 L",
    F(-5)),
    ("–10 °C", F(-10)), ("minus 10 °C", F(-10)), ("１２ L", F(12)), ("４\u3000Ｌ", F(4)), ("6\u200b qt", 6 * QT), ("six and a half quarts",
    QT * 13 / 2),
    ("a quart and a half", QT * 3 / 2), ("point eight liters", F("0.8")), ("half a gallon", GAL / 2), ("one forty fahrenheit", F(60)),
    ("a hundred and seventy six fahrenheit", F(80)), ("two hundred seventy one newton meters", F(271)), ("minus ten celsius", F(-10)),
    # three decimals where thousands are usual, made clear by what stands beside them
    ("0.500 km", F(500_000)), ("1.5000 mL", F("0.0015")), ("1.609 344 km", F(1_609_344)), ("1.500e1 mL", F("0.015")), ("1.500 L", F("1.5")),
    # units of the trade
    ("34 N∙m", F(34)), ("34 N•m", F(34)), ("34 N‧m", F(34)), ("34 N・m", F(34)), ("25 ft∙lb", 25 * LBF_FT),
    ("1 US qt", QT), ("2 quarts", 2 * QT), ("1 imp qt", F("1.1365225")), ("3 pt", QT * 3 / 2), ("2 gal", 2 * GAL), ("12 fl oz", 12 * FLOZ),
    ("12 fl. oz.", 12 * FLOZ), ("1 imp fl oz", F("0.0284130625")), ("250 cc", F("0.25")), ("10 in³", F("0.16387064")),
    ("10 cu in", F("0.16387064")), ("34 N·m", F(34)), ("34 Nm", F(34)), ("34 N-m", F(34)), ("34 N m", F(34)), ("34 N.m", F(34)),
    ("25 ft-lb", 25 * LBF_FT), ("25 lb-ft", 25 * LBF_FT), ("25 lbf·ft", 25 * LBF_FT), ("25 foot-pounds", 25 * LBF_FT),
    ("25 ft⋅lbf", 25 * LBF_FT), ("84 in-lb", 84 * LBF_IN), ("84 in. lbs.", 84 * LBF_IN), ("3.5 kgf·m", F("3.5") * F("9.80665")),
    ("3.5 kg-m", F("3.5") * F("9.80665")), ("35 kgf·cm", F("3.4323275")), ("2 kg·m²/s²", F(2)),
    ("3 kilogram * meter ** 2 / second ** 2", F(3)), ("185 °F", F(85)), ("185 F", F(85)), ("185 deg F", F(85)),
    ("185 degrees Fahrenheit", F(85)), ("85 ℃", F(85)), ("85 ºC", F(85)), ("373.15 K", F(100)), ("-459.67 °F", F("-273.15")),
    ("10 Δ°F", F(50, 9)), ("10 °C interval", F(10)), ("30 psi", 30 * LBF / (F("0.0254") ** 2 * 1000)), ("2 bar", F(200)),
    ("1 MPa", F(1000)), ("34 cSt", F(34)), ("34 mm²/s", F(34)), ("34 mm2/s", F(34)), ("34 mm^2/s", F(34)), ("847 kg/m³", F(847)),
    ("0.847 g/mL", F(847)), ("7 lb/gal", 7 * F("0.45359237") / GAL * 1000), ("3 L/min", F(3)), ("0.05 L/s", F(3)), ("1 gpm", GAL),
    ("2 qt/min", 2 * QT), ("300 g", F("0.3")), ("12 oz", F("0.75") * F("0.45359237")), ("1.5 kN", F(1500)), ("10 lbf", 10 * LBF),
    ("90 deg", F(90)), ("15°", F(15)), ("90 %", F("0.9")), ("4 y", F(4 * 525_960)), ("6 months", F(3 * 87_660)), ("2 d", F(2880)),
    ("20 s", F(1, 3)), ("3 force_pound * foot", 3 * LBF_FT), ("2 inch ** 3", F("0.032774128")),
    # compounds
    ("2 qt 8 fl oz", QT * 9 / 4), ("1 gal 2 qt", GAL * 3 / 2), ("1 L 250 mL", F("1.25")), ("1 imp gal 2 imp qt", F("6.819135")),
    ("1 gal 3.5 qt", GAL + QT * F("3.5")), ("1 ft 11.5 in", F("596.9")),
    ("5 ft 3 1/2 in", F("1612.9")), ('5 ft 6"', F("1676.4")), ("1 h 30 min", F(90)), ("1h 30min 30 s", F("90.5")),
    ("2 lb 4 oz", F(9, 4) * F("0.45359237")), ("3 gal 1 qt 1 pt 4 fl oz", GAL * 3 + QT * F("1.625")),
]  # fmt: skip


@pytest.mark.parametrize(("text", "value"), ACCEPTED, ids=[text for text, _ in ACCEPTED])
def test_accepted(text, value):
    reading = read(text)
    assert exact(reading) == value
    assert reading.internal == float(value)
    assert reading.spread is None
    assert reading.text == text
    assert read(f"  {text}\n").text == text


def test_the_kind_expected_decides():
    assert exact(read("34 nm", "torque")) == 34
    assert exact(read("34 nm", ("force", "torque"))) == 34
    five = read("5 K", "interval")
    assert (five.unit.kind, exact(five)) == ("interval", 5)
    assert exact(read("5 K", ("temperature", "interval"))) == F("-268.15")
    assert exact(read("5 K", "temperature")) == F("-268.15")
    assert exact(read("0.75", "fraction")) == exact(read("75 %", "fraction")) == F("0.75")
    assert exact(read("1/3", "number")) == F(1, 3)
    assert exact(read("90 %", "number")) == F("0.9")
    assert (read("3", "count").num, read("3", "count").den, read("3", "count").unit.symbol) == (3, 1, "1")
    assert exact(read("12", ("time", "count"))) == 12


SPREADS = [
    ("8.0 ± 0.3 L", None, "rectangular", F("0.3"), F("0.3")),
    ("5.667(12) km", None, "normal", F("0.012"), F(12_000)),
    ("(34.1 ± 1.364) mL", None, "rectangular", F("1.364"), F("0.001364")),
    ("1.500 ± 0.010 mL", None, "rectangular", F("0.01"), F("0.00001")),
    ("8.0 L ± 0.3", None, "rectangular", F("0.3"), F("0.3")),
    ("8.0 L ± 0.3 L", None, "rectangular", F("0.3"), F("0.3")),
    ("8.0 L ± 300 mL", None, "rectangular", F("0.3"), F("0.3")),
    ("8.0 L +/- 0.3", None, "rectangular", F("0.3"), F("0.3")),
    ("(8.0 ± 0.3) L", None, "rectangular", F("0.3"), F("0.3")),
    ("( 8.0 ± 0.3 ) L", None, "rectangular", F("0.3"), F("0.3")),
    ("8.0 ± 0.3 L (k = 2)", None, "normal", F("0.15"), F("0.15")),
    ("(8,0 +/- 0,3) L (k=2)", None, "normal", F("0.15"), F("0.15")),
    ("8.0 L ± 0.3 L (k = 1.5)", None, "normal", F("0.2"), F("0.2")),
    ("4.50(8) L", None, "normal", F("0.08"), F("0.08")),
    ("4,50(12) L", None, "normal", F("0.12"), F("0.12")),
    ("450(8) mL", None, "normal", F(8), F("0.008")),
    ("1,500(5) mL", None, "normal", F(5), F("0.005")),
    ("34 N·m ± 4 %", "torque", "rectangular", F("1.36"), F("1.36")),
    ("-5 mm ± 10 %", "length", "rectangular", F("0.5"), F("0.5")),
    ("34 N·m ± 4 % (k = 2)", "torque", "normal", F("0.68"), F("0.68")),
    ("85 °C ± 3 K", "temperature", "rectangular", F(3), F(3)),
    ("85 °C ± 5 °F", "temperature", "rectangular", F(25, 9), F(25, 9)),
    ("185 ± 5 °F", "temperature", "rectangular", F(5), F(25, 9)),
    ("185 °F ± 5 Δ°C", "temperature", "rectangular", F(9), F(5)),
    ("20 K ± 1 °C", "interval", "rectangular", F(1), F(1)),
    ("90 ± 4 %", "fraction", "rectangular", F(4), F("0.04")),
    ("(90 ± 4) %", "fraction", "rectangular", F(4), F("0.04")),
    ("90 % ± 4 %", "fraction", "rectangular", F(4), F("0.04")),
    ("0 ± 1 %", "fraction", "rectangular", F(1), F("0.01")),
    ("1/2 ± 1/2 %", "fraction", "rectangular", F(1, 2), F("0.005")),
    ("1/2 ± 1/3 %", None, "rectangular", F(1, 3), F("0.01") / 3),
    ("0.90 ± 0.04", "fraction", "rectangular", F("0.04"), F("0.04")),
    ("5 1/2 ± 1/8 in", "length", "rectangular", F(1, 8), F("3.175")),
    ("2 qt 8 fl oz ± 1 fl oz", "volume", "rectangular", F(1, 32), FLOZ),
    ("1.2e3 ± 1e1 mL", "volume", "rectangular", F(10), F("0.01")),
    ("1 ± 2 L", "volume", "rectangular", F(2), F(2)),  # only of a % one cannot tell whether it belongs to both
    ("(1 ± 4) %", "fraction", "rectangular", F(4), F("0.04")),
    ("1.5 ± 1.2 %", "fraction", "rectangular", F("1.2"), F("0.012")),
]


@pytest.mark.parametrize(("text", "kind", "shape", "spread", "internal"), SPREADS, ids=[row[0] for row in SPREADS])
def test_spreads(text, kind, shape, spread, internal):
    reading = read(text, kind)
    assert reading.spread == (shape, float(spread))
    assert reading.internal_spread == (shape, float(internal))
    assert F(reading.exact_spread[1], reading.exact_spread[2]) == spread


@pytest.mark.parametrize("sign", numerals.VULGAR)
def test_vulgar_fractions_are_what_unicode_says(sign):
    assert read(f"1{sign} in").value == pytest.approx(1 + unicodedata.numeric(sign), rel=1e-12)


def test_two_hundred_characters_are_read():
    assert read("1" * 198 + " L").num == int("1" * 198)


def test_no_spread_means_no_uncertainty():
    assert read("8.9 L ± 0").spread is read("4.50(0) L").spread is read("0 L ± 4 %").internal_spread is None


@pytest.mark.parametrize(
    ("text", "places"),
    [
        ("2.90 L", 2), ("56 000 km", 0), ("1.2e3 L", -2), ("1.20e-3 L", 5), ("1,500 mL", 0), ("1,500.5 mL", 1), ("0,50 L", 2),
        ("4.50(8) L", 2), ("3.785 411 784 L", 9), ("5 1/2 qt", None), ("½ in", None), ("1 L 250 mL", None), ("8.0 ± 0.35 L", 1),
    ],
)  # fmt: skip
def test_places_written(text, places):
    assert read(text).places == places


SPANS = [
    ("82–92 °C", "temperature", F(82), F(92)), ("82-92 °C", "temperature", F(82), F(92)), ("82 – 92 °C", "temperature", F(82), F(92)),
    ("82 °C – 92 °C", "temperature", F(82), F(92)), ("82 °C to 92 °C", "temperature", F(82), F(92)),
    ("158–176 °F", "temperature", F(70), F(80)), ("-5–5 °C", "temperature", F(-5), F(5)), ("-40–-20 °C", "temperature", F(-40), F(-20)),
    ("−40 to −20 °C", "temperature", F(-40), F(-20)), ("-40 - -20 °C", "temperature", F(-40), F(-20)),
    ("31 to 37 N·m", "torque", F(31), F(37)), ("31-37 nm", "torque", F(31), F(37)), ("1/2-3/4 in", "length", F("12.7"), F("19.05")),
    ("5-1/2-6 in", "length", F("139.7"), F("152.4")), ("1-1/2–1-3/4 in", "length", F("38.1"), F("44.45")),
    ("0-1/2 in", "length", F(0), F("12.7")), ("½–¾ in", "length", F("12.7"), F("19.05")), ("500 mL to 1 L", "volume", F("0.5"), F(1)),
    ("1 500–2 000 mL", "volume", F("1.5"), F(2)), ("1,500-2,500 mL", "volume", F("1.5"), F("2.5")),
    ("20-25 %", "fraction", F("0.2"), F("0.25")), ("0.2–0.25", "fraction", F("0.2"), F("0.25")), ("5 - 10 K", "interval", F(5), F(10)),
    ("1 gal 1 qt to 1 gal 2 qt", "volume", GAL * 5 / 4, GAL * 3 / 2), ("5–5 L", "volume", F(5), F(5)),
    ("15-20k km", "length", F(15 * 10**9), F(20 * 10**9)), ("15k to 20k km", "length", F(15 * 10**9), F(20 * 10**9)),
    ("500-2k km", "length", F(5 * 10**8), F(2 * 10**9)), ("2.5–7.5k km", "length", F(25 * 10**8), F(75 * 10**8)),
]  # fmt: skip


@pytest.mark.parametrize(("text", "kind", "lower", "upper"), SPANS, ids=[row[0] for row in SPANS])
def test_spans(text, kind, lower, upper):
    found = read_span(text, kind)
    assert (exact(found.lower), exact(found.upper)) == (lower, upper)
    assert found.lower.unit.kind == found.upper.unit.kind == kind
    assert found.text == text
    assert text.startswith(found.lower.text)
    assert text.endswith(found.upper.text)
    with pytest.raises(NotationError, match="is a span"):
        read(text, kind)


REFUSED = [
    # issue: at once, with help
    ("9**9**9 qt", None, NotationError, "expected a unit, at '**9**9 qt'"), ("nan", None, NotationError, "expected a number"),
    ("nan L", "volume", NotationError, "expected a number"), ("inf L", "volume", NotationError, "expected a number"),
    ("3 J", "torque", UnitError, "is energy, not torque"), ("3 kWh", "torque", UnitError, "is energy, not torque"),
    ("3 W·s", "torque", UnitError, "is energy, not torque"), ("3 W-s", "torque", UnitError, "N·m"),
    ("3 cal", "torque", UnitError, "is energy"), ("3 BTU", "torque", UnitError, "is energy"), ("3 J", None, UnitError, "is energy"),
    # a unit where one is expected, of the kind expected
    ("5", "volume", UnitError, "has no unit"), ("5", None, UnitError, "has no unit"), ("5 1", "fraction", NotationError, "does not belong"),
    ("34 nm", None, UnitError, "did you mean N·m?"), ("34 nm", "length", UnitError, "not a unit known"),
    ("34 nm", ("length", "torque"), UnitError, "not a unit"), ("27 lbs", "torque", UnitError, "lbf·ft or lbf·in?"),
    ("12 oz", "torque", UnitError, "lbf·in?"), ("12 oz", "volume", UnitError, "fl oz?"), ("34 N", "torque", UnitError, "N·m?"),
    ("3.5 kg", "torque", UnitError, "kgf·m or kgf·cm?"), ("5 L", "torque", UnitError, "and a torque was expected"),
    ("5 °C", "interval", UnitError, "Δ°C"), ("5 Δ°C", "temperature", UnitError, "a temperature is written °C"),
    ("90 %", "count", UnitError, "count"),
    ("5 foo", "volume", UnitError, "'foo' is not a unit known here"), ("0.9 foo", "fraction", UnitError, "'foo' is not a unit known here"),
    ("5 N··m", None, UnitError, "not a unit"), ("5 N - m", None, NotationError, "'- m'"), ("5 ft -lb", None, NotationError, "'-lb'"),
    ("5 ft- lb", None, NotationError, "'- lb'"), ("5 fl  oz", None, UnitError, "not a unit"),
    ("5 -qt", None, NotationError, "expected a unit"),
    ("L", None, NotationError, "expected a number"),
    # commas with two readings, groups that are none
    ("1,500 500 L", None, NotationError, "expected a unit"), ("1,500 L", None, NotationError, "may be 1.500 L or 1500 L"),
    ("-12,345 L", None, NotationError, "may be -12.345 L or -12345 L"), ("1,500 qt", "volume", NotationError, "1500"),
    ("1,500", "fraction", NotationError, "may be 1.500 or 1500"), ("1,500.5 L", None, NotationError, "write 1500.5 L"),
    ("1,500–2,500 L", None, NotationError, "may be"), ("8 L ± 1,500 L", None, NotationError, "may be"),
    ("1,23,456 L", None, NotationError, "expected a unit"), ("1,234,56 L", None, NotationError, "expected a unit"),
    ("0 500 L", None, NotationError, "expected a unit"), ("1234 567 L", None, NotationError, "expected a unit"),
    ("1 50 L", None, NotationError, "expected a unit"), ("1.500,5 L", None, NotationError, "expected a unit"),
    ("5. L", None, NotationError, "expected a unit"), (",5 L", None, NotationError, "expected a number"),
    ("1_000 L", None, NotationError, "expected a unit"), ("0x10 L", None, UnitError, "not a unit"),
    ("٣ L", None, NotationError, "expected a number"),
    ("5² L", None, NotationError, "expected a unit"),
    # three decimals where thousands are usual
    ("128.400 km", None, NotationError, "may be 128.400 km or 128400 km"), ("1.500 mL", None, NotationError, "may be 1.500 mL or 1500 mL"),
    ("16.000 km", "length", NotationError, "write 16.0000 km or 16000 km"),
    ("-5.667 mi", None, NotationError, "may be -5.667 mi or -5667 mi"),
    ("1.500–2.500 mL", None, NotationError, "may be"), ("1.500 ± 1.200 mL", None, NotationError, "may be"),
    # a stroke between two numbers that do not make a workshop fraction
    ("10/12cm", None, NotationError, "may be the fraction 10/12 cm or 10 to 12 cm"),
    ("8/10 mm", None, NotationError, "may be the fraction"),
    ("10/13 mm", None, NotationError, "may be the fraction"), ("5/7 in", None, NotationError, "may be the fraction"),
    ("10/12 L", None, NotationError, "may be the fraction"), ("31/37 N·m", None, NotationError, "may be the fraction"),
    ("13/10 mm", None, NotationError, "may be the fraction"), ("34/25 ft-lb", None, NotationError, "may be the fraction"),
    ("1/13 mm", None, NotationError, "may be the fraction"),
    ("176 degrees", "temperature", UnitError, "°C or °F?"),
    # fractions
    ("1 and 3/2 qt", None, NotationError, "has a fraction below one"), ("1 and 1 qt", None, UnitError, "not a unit"),
    ("5 3/2 qt", None, NotationError, "has a fraction below one"), ("5/ in", None, NotationError, "a fraction of whole"),
    ("5 1/ in", None, NotationError, "expected a unit"), ("5-1/x in", None, NotationError, "a fraction of whole"),
    ("1,234,567/2 in", None, NotationError, "a fraction of whole"), ("2.125 1/2 in", None, NotationError, "expected a unit"),
    ("3.785 41 784 L", None, NotationError, "expected a unit"), ("3.785 4117 L", None, NotationError, "expected a unit"),
    ("5e- L", None, UnitError, "not a unit"), ("5ex2 L", None, UnitError, "not a unit"),
    ("5-7/6 in", None, NotationError, "has a fraction below one"),
    ("5/0 in", None, NotationError, "zero"), ("5 1/0 in", None, NotationError, "below one"),
    ("1 500/600 in", None, NotationError, "mixed number or grouped digits"), ("1/2/3 in", None, NotationError, "expected a unit"),
    ("5 -1/2 qt", None, NotationError, "expected a unit"), ("5 - 1/2 qt", None, RangeError, "runs downward"),
    ("1/2.5 in", None, NotationError, "expected a unit"),
    # spreads
    ("8 L ± 0.3 foo", None, UnitError, "'foo' is not a unit"), ("5 foo 3 L", None, UnitError, "'foo' is not a unit"),
    ("85 °C ± 4 %", "temperature", UnitError, "a percentage of"), ("358 K ± 1 %", None, UnitError, "a percentage of"),
    ("8 L ± 3 N", None, UnitError, "cannot have an uncertainty in"), ("8 L ± -0.3", None, NotationError, "expected a number"),
    ("8 L ±", None, NotationError, "expected a number"), ("8 L ± 0.3 ± 0.1", None, NotationError, "does not belong"),
    ("4.50(8) L ± 0.1", None, NotationError, "already"), ("4.50(8) ± 0.1 L", None, NotationError, "already"),
    ("4.50(0.08) L", None, NotationError, "digits in brackets"), ("5 1/2(3) qt", None, NotationError, "digits in brackets"),
    ("1e3(5) L", None, NotationError, "digits in brackets"), ("(8.0) L", None, NotationError, "expected ±"),
    ("(8.0 ± 0.3 L)", None, NotationError, "bracket"), ("(8.0 ± 0.3", None, NotationError, "bracket"),
    ("8.0 L (k = 2)", None, NotationError, "does not belong"), ("8 L ± 1 (k = 0)", None, NotationError, "coverage factor"),
    ("8 L ± 1 (k 2)", None, NotationError, "expected ="), ("8 L ± 1 (x = 2)", None, NotationError, "does not belong"),
    ("8 L ± 1 (k = 2", None, NotationError, "bracket"), ("0.9 ± 4 %", "fraction", NotationError, "write (90 ± 4) %"),
    ("1 ± 1.1 %", None, NotationError, "write (90 ± 4) %"), ("9 ± 4 %", "number", NotationError, "both numbers"),
    ("2 qt 8 fl oz ± 1", None, NotationError, "its own unit"), ("34 ± 4 %", "torque", UnitError, "and a torque was expected"),
    # compounds
    ("1 L 8 fl oz", None, NotationError, "different systems"), ("1 imp gal 2 qt", None, NotationError, "different systems"),
    ("8 fl oz 2 qt", None, NotationError, "smaller"), ("1 L 1500 mL", None, NotationError, "smaller"),
    ("1 gal 4 qt", None, NotationError, "smaller"), ("1 qt 1 qt", None, NotationError, "smaller"),
    ("1 mL 0.5 cc", None, NotationError, "smaller"), ("8 fl oz 0.01 qt", None, NotationError, "smaller"),
    ("-2 qt 8 fl oz", None, NotationError, "positive"), ("2 qt 0 fl oz", None, NotationError, "positive"),
    ("2 qt -8 fl oz", None, NotationError, "does not belong"), ("1 L 250", None, UnitError, "has no unit"),
    ("1 L 250 g", None, NotationError, "not a part of"), ("2.0(1) L 5 mL", None, NotationError, "no uncertainty"),
    # absolute zero, size
    ("-273.16 °C", None, RangeError, "absolute zero"), ("-460 °F", None, RangeError, "absolute zero"),
    ("-1 K", None, RangeError, "absolute zero"), ("1e999 L", None, RangeError, "exponent"),
    ("1e00003 L", None, RangeError, "exponent"),
    ("1e" + "9" * 150 + " L", None, RangeError, "exponent"), ("1e329 L", None, RangeError, "too large"),
    ("1e-330 L", None, RangeError, "too small"), ("1e308 m³", None, RangeError, "too large"),
    ("5 L ± 1e-330", None, RangeError, "too small"),
    # the parts of a compound
    ("1 gal 4.5 qt", None, NotationError, "smaller than the unit before it"), ("1 h 60.5 min", None, NotationError, "smaller than"),
    ("1 ft 12.5 in", None, NotationError, "smaller than the unit before it"), ("0 L 250 mL", None, NotationError, "must be positive"),
    # decimal marks and fractions that go on
    ("1,234,567,5 L", None, NotationError, "expected a unit, at ',5 L'"), ("5 /2 in", None, NotationError, "expected a unit, at '/2 in'"),
    ("5-/2 in", None, NotationError, "expected a unit, at '-/2 in'"), ("5 2/2 in", None, NotationError, "has a fraction below one"),
    ("5 xyz,abc", None, UnitError, "'xyz' is not a unit known here"),
    # absolute zero, to the last digit
    ("-459.68 °F", None, RangeError, "absolute zero"), ("-459.7 °F", None, RangeError, "absolute zero"),
    ("-273.16 °C", None, RangeError, "absolute zero"), ("-0.01 K", None, RangeError, "absolute zero"),
    # brackets
    ("4.50(8 L", None, NotationError, "digits in brackets are"), ("8.0 ± 0.3 L (c = 2)", None, NotationError, "does not belong"),
    ("5(x) L", None, NotationError, "expected a unit, at '(x) L'"), ("½(3) L", None, NotationError, "digits in brackets are"),
    # words that are not one number
    ("six seven quarts", None, NotationError, "expected a number"), ("quarts six", None, NotationError, "expected a number"),
    ("six", None, NotationError, "expected a number"), ("300K in", None, NotationError, "does not belong"),
    ("60k L", None, UnitError, "not a unit"), ("15k-20 km", None, NotationError, "thousands at both ends"),
    ("15k-20k L", None, UnitError, "not a unit"), ("$5 qt", None, NotationError, "expected a number"),
    ("1,500 gal", None, NotationError, "may be"),
    ("21ST", None, UnitError, "not a unit"), ("34 n/m", None, UnitError, "not a unit"),
    # the rest
    ("", None, NotationError, "is empty"), ("   ", None, NotationError, "is empty"),
    ("5 L L", None, NotationError, "at 'L'"), ("2.9 L, then", None, NotationError, "does not belong"),
    ("5\t L", None, NotationError, "expected a unit"), ("5 L;drop", None, NotationError, "does not belong"),
    ("--5 L", None, NotationError, "expected a number"),
    ("5 L\x00", None, NotationError, r"at '\x00'"), ("()", None, NotationError, "expected a number"),
    ("__import__('os')", None, NotationError, "expected a number"), ("7" * 201, None, NotationError, "201 characters"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "kind", "error", "words"), REFUSED, ids=[f"{row[0][:30]!a}-{row[1]}" for row in REFUSED])
def test_refused(text, kind, error, words):
    with pytest.raises(error) as caught:
        read(text, kind)
    assert words in str(caught.value)
    assert len(str(caught.value)) < 500
    assert caught.value.value == shown(text.strip() if len(text) <= 200 else text)
    again = pickle.loads(pickle.dumps(caught.value))
    assert (str(again), type(again), again.__dict__) == (str(caught.value), error, caught.value.__dict__)


@pytest.mark.parametrize(
    ("text", "error", "words"),
    [
        ("5-1/2 qt", NotationError, "one value; expected a span"), ("37 to 31 N·m", RangeError, "runs downward"),
        ("82 -92 °C", NotationError, "expected a unit"), ("82– 92 °C", NotationError, "expected a unit"),
        ("-40--20 °C", NotationError, "expected a unit"), ("82 °C–92", UnitError, "has no unit"), ("82–92", UnitError, "has no unit"),
        ("82(1)–92 °C", NotationError, "already"), ("31 ± 1 to 37 N·m", NotationError, "no uncertainty"),
        ("31 ± 1–37 N·m", NotationError, "no uncertainty"), ("82–92 °C ± 1", NotationError, "does not belong"),
        ("82–92–99 °C", NotationError, "expected a unit"), ("82 °C to 92 L", UnitError, "from a temperature to a volume"),
        ("82 to", UnitError, "'to' is not a unit"), ("82 to L", NotationError, "expected a number"),
        ("31to37 N·m", UnitError, "not a unit"), ("31to 37 N·m", UnitError, "not a unit"),
        ("31−37 N·m", NotationError, "expected a unit"), ("-300–20 °C", RangeError, "absolute zero"),
        ("500 to 1 L", RangeError, "runs downward"),
    ],
)  # fmt: skip
def test_refused_as_a_span(text, error, words):
    with pytest.raises(error) as caught:
        read_span(text)
    assert words in str(caught.value)


@pytest.mark.parametrize(
    ("text", "position"),
    [("2.9 L , then", 6), ("9**9**9 qt", 1), ("1 L 8 fl oz", 4), ("8 L ± x", 6), ("nan", 0), ("  5 L L", 4), ("2 qt 8 fl oz ± 1", 16)],
)
def test_stops_where_it_stops(text, position):
    with pytest.raises(NotationError) as caught:
        read(text)
    assert caught.value.position == position
    assert caught.value.allowed


def test_ten_megabytes_are_refused_by_their_length():
    digits = Counted("9" * 10_000_000)
    with pytest.raises(NotationError, match="10000000 characters long; accepted: at most 200 characters"):
        read(digits)
    assert digits.steps == 0


class Counted(str):
    """A text that counts how often its characters are looked at, apart from its length and its start for a message."""

    __slots__ = ("steps",)

    def __new__(cls, text):
        self = super().__new__(cls, text)
        self.steps = 0
        return self

    def __getitem__(self, where):
        if not isinstance(where, slice):
            self.steps += 1
        elif where.start is not None:
            self.steps += 1 + len(range(*where.indices(len(self))))
        return super().__getitem__(where)


def steps(text):
    counted = Counted(text + numerals.END)
    with contextlib.suppress(SumpwiseError):
        notation._parse(text, counted, None, False)
    return counted.steps


@pytest.mark.parametrize(
    "pattern",
    [
        ("", "7", " L"), ("", "7 000 ", "L"), ("1", ",000", " mL"), ("0.", "123 ", "L"), ("1/", "7", " in"), ("1 ", "1/2 ", ""),
        ("1", "-", "1 L"), ("5 ", "ft-", "lb"), ("5 L", " ", "x"), ("5 ", "a ", ""), ("", "(", ""), ("4.5(", "8", ") L"),
        ("1e", "9", " L"), ("8 L", " ± 1", ""), ("5 ", "·", "m"), ("1", " to 1", " L"), ("5 ", "in. ", "lb"),
    ],
)  # fmt: skip
def test_reading_grows_in_proportion(pattern):
    """Twice the text takes at most about twice the looks at it, up to the cap."""
    head, body, tail = pattern
    room = notation.LONGEST - len(head) - len(tail)
    whole, half = body * (room // len(body)), body * (room // len(body) // 2)
    assert steps(head + whole + tail) <= 2.2 * steps(head + half + tail) + 60
    assert steps(head + whole + tail) <= 12 * notation.LONGEST


def test_readings_are_small_and_travel():
    reading = read("8.0 ± 0.3 L (k = 2)")
    again = pickle.loads(pickle.dumps(reading))
    assert again.unit is reading.unit is copy.deepcopy(reading).unit
    assert [getattr(again, name) for name in Reading.__slots__] == [getattr(reading, name) for name in Reading.__slots__]
    window = pickle.loads(pickle.dumps(read_span("82–92 °C")))
    assert (window.text, window.lower.value, window.upper.value) == ("82–92 °C", 82, 92)
    assert not hasattr(reading, "__dict__")
    assert repr(reading) == "Reading('8.0 ± 0.3 L (k = 2)')"
    assert repr(window) == "SpanReading('82–92 °C')"


def test_reading_needs_little():
    code = "before = set(sys.modules); import sumpwise.quantities.notation as n; n.read('2.9 L'); print(*set(sys.modules) - before)"
    run = [sys.executable, "-S", "-c", f"import sys; sys.path[:] = {sys.path!r}; {code}"]
    loaded = subprocess.run(run, capture_output=True, text=True, check=True).stdout.split()
    assert {name for name in loaded if not name.startswith("sumpwise")} <= {"__future__", "math"}


@pytest.mark.parametrize(
    "text", ["3 ± 0.1 L (k > 2)", "3 ± 0.1 L (k < 2)", "1 ± 0.1 L (k 2)", "-1e308 km", "1e308 km", "1e-323 mL", "-1e-323 mL"]
)
def test_ends_of_what_is_read(text):
    with pytest.raises(SumpwiseError):
        read(text)


def test_a_percentage_is_not_an_interval_of_temperature():
    assert read("5 K", "interval").unit.symbol == "Δ°C"
    with pytest.raises(UnitError):
        read("5 %", "interval")


@pytest.mark.parametrize("text", ["82...92 °C", "82 ... 92 °C", "82…92 °C", "82… 92 °C", "82... 92 °C"])
def test_three_dots_join_two_limits_with_spaces_and_without(text):
    found = read_span(text)
    assert (found.lower.num / found.lower.den, found.upper.num / found.upper.den) == (82, 92)
