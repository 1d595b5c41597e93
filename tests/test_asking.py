"""`quantity`, `span` and `convert`."""

from __future__ import annotations

import pint
import pytest
from uncertainties import ufloat

from sumpwise import SumpwiseError, convert, quantity, span
from sumpwise.quantities.asking import unit_named
from sumpwise.quantities.units import EVERYDAY, SYMBOLS

APP = pint.application_registry.get()
OTHER = pint.UnitRegistry()
OTHER.formatter.default_format = "~P"


def test_a_quantity_keeps_what_was_written():
    assert quantity("5 1/2 qt").text == "5 1/2 qt"
    assert quantity("2.90 L").text == "2.90 L"
    assert quantity("4.50(8) L").magnitude.std_dev == pytest.approx(0.08)
    assert span("82–92 °C").text == "82–92 °C"
    assert span("82–92 °C").lower.units == APP.degree_Celsius
    given = OTHER.Quantity(3, "L")
    assert quantity(given) is given


def test_a_number_with_a_unit_beside_it():
    assert quantity(3, "qt") == APP.Quantity(3.0, "quart")
    assert quantity([1, 2], "ft-lb").units == APP.Unit("foot * force_pound")
    assert quantity("1 gal", "L").magnitude == 3.785411784
    assert quantity(ufloat(3, 0.1), "L").magnitude.std_dev == pytest.approx(0.1)
    for wrong in [
        (3,), (3, "parsec"), (3, ""), (-300, "°C"), ("x", "L"),
        (float("nan"), "L"), (None, "L"), (3, "L" * 300), ("3 kg", "L"), (3, 5), ([], "L"),
    ]:  # fmt: skip
        with pytest.raises(SumpwiseError):
            quantity(*wrong)


def test_conversions_keep_registry_and_kind():
    assert convert(OTHER.Quantity(1, "gallon"), "L")._REGISTRY is OTHER
    assert convert("10 Δ°C", "Δ°F").magnitude == 18
    assert convert("10 °C", "°F").magnitude == 50
    assert convert(APP.Quantity(10.0, "kelvin"), "Δ°F").magnitude == pytest.approx(18)
    assert convert(0.5, "%").magnitude == 50
    assert convert("90 %", "1").magnitude == 0.9
    assert convert(["1 gal", "2 gal"], "qt").magnitude.tolist() == [4, 8]
    assert convert(span("31 to 37 N·m"), "ft-lb").upper.magnitude == pytest.approx(37 / 1.3558179483314004)
    assert convert("4.50(8) L", "mL").magnitude.std_dev == pytest.approx(80)
    assert convert("1 gal", APP.Unit("liter")).magnitude == 3.785411784
    for wrong in [
        ("1 gal", "kg"), ("10 °C", "Δ°C"), ("1 gal", "parsec"), (3, "L"), ("1e303 m³", "mL"),
        (APP.Quantity(3, "J"), "N·m"), ("1 gal", None),
    ]:  # fmt: skip
        with pytest.raises(SumpwiseError):
            convert(*wrong)


@pytest.mark.parametrize(
    ("spelling", "symbol"), [("ftlbs", "lbf·ft"), ("Liquid quarts", "US qt"), ("psig", "psi"), ("deg. Celsius", "°C"), ("NM", "N·m")]
)
def test_a_unit_is_named_by_its_spellings_of_every_day_too(spelling, symbol):
    assert unit_named(spelling) is SYMBOLS[symbol]


@pytest.mark.parametrize("rate", ["{} per minute", "{} per min", "{}/minute", "{}/min", "{}s per minute", "{}s/min"])
@pytest.mark.parametrize(("one", "symbol"), [("liter", "L/min"), ("litre", "L/min"), ("gallon", "US gal/min"), ("quart", "US qt/min")])
def test_a_flow_is_named_in_words(rate, one, symbol):
    assert unit_named(rate.format(one)) is SYMBOLS[symbol]


def test_every_spelling_of_every_day_names_its_unit():
    for symbol, spellings in EVERYDAY.items():
        for spelling in spellings.split("|"):
            assert unit_named(spelling.replace("·", " ")) is SYMBOLS[symbol], spelling
