"""Registries as people set them up: units redefined, contexts, and every way of keeping numbers."""

from __future__ import annotations

import gc
import math
import weakref
from decimal import Decimal
from fractions import Fraction

import numpy
import pint
import pytest

import sumpwise as sw
from sumpwise import UnitError
from sumpwise.quantities import _pint
from sumpwise.quantities.units import SYMBOLS

DEFAULT = pint.application_registry.get()


def registry(*definitions, **options):
    made = pint.UnitRegistry(on_redefinition="ignore", **options)
    for definition in definitions:
        made.define(definition)
    return made


def in_litres(made, answer):
    """An answer in litres by the definitions of its registry, worked out by a fresh copy of it."""
    assert answer._REGISTRY is made
    return float(answer.m_as("liter"))


REDEFINED = [
    ("quart = 2 * liter", "quart", 2.0), ("gallon = 5 * liter = gal", "quart", 1.25), ("gallon = 5 * liter = gal", "gallon", 5.0),
    ("gallon = 5 * liter = gal", "fluid_ounce", 5 / 128), ("liter = 2 * decimeter ** 3 = l = L", "liter", 2.0),
    ("liter = 2 * decimeter ** 3 = l = L", "milliliter", 0.002), ("inch = 3 * centimeter = in", "inch ** 3", 0.027),
]  # fmt: skip
"""A definition, a unit that rests on it, and what that is in litres of the SI."""


@pytest.mark.parametrize("used", [False, True], ids=["before first use", "after first use"])
@pytest.mark.parametrize(("definition", "unit", "litres"), REDEFINED)
def test_a_redefined_unit_is_what_its_registry_says(definition, unit, litres, used):
    made = registry()
    size = made.Quantity(1.0, unit)
    if used:
        assert sw.drain_refill(size, size) == 1.0
        assert sw.convert(size, "m³").magnitude > 0
    made.define(definition)
    share = sw.drain_refill(size, "20 L")
    assert share == pytest.approx(litres / 20, rel=1e-12)
    assert sw.convert(size, "m³").magnitude == pytest.approx(litres / 1000, rel=1e-12)
    assert sw.convert("20 L", size.units).magnitude == pytest.approx(20 / litres, rel=1e-12)
    assert sw.convert("20 L", size.units)._REGISTRY is made
    assert sw.quantity(20, size.units).units == size.units
    back = sw.volume_needed(0.9, 3 * size)
    assert back.units == size.units
    assert back.magnitude == pytest.approx(3 * math.log(10), rel=1e-12)
    assert float(sw.rounded(size, "m³", digits=6).magnitude) == pytest.approx(litres / 1000, rel=1e-5)
    assert sw.measured(size, limits=size).magnitude.nominal_value == 1.0


@pytest.mark.parametrize("unit", ["quart", "gallon"])
def test_the_library_leaves_no_factor_behind_in_the_registry(unit):
    made = registry()
    sw.drain_refill(made.Quantity(1.0, unit), "20 L")
    sw.convert(made.Quantity(1.0, unit), "mL")
    made.define(f"{unit} = 2 * liter")
    assert made.Quantity(1.0, unit).m_as("liter") == pytest.approx(2.0)
    assert in_litres(made, sw.convert(made.Quantity(1.0, unit), "US qt")) == pytest.approx(2.0)


@pytest.mark.parametrize(("definition", "unit", "litres"), REDEFINED[:4])
def test_a_context_holds_inside_and_not_outside(definition, unit, litres):
    made = registry()
    context = pint.Context("shop")
    context.redefine(definition.partition(" = ")[0] + " = " + definition.split(" = ")[1])
    made.add_context(context)
    size = made.Quantity(1.0, unit)
    usual = sw.drain_refill(size, "20 L") * 20
    for _ in range(2):
        with made.context("shop"):
            assert sw.drain_refill(size, "20 L") == pytest.approx(litres / 20, rel=1e-12)
            assert in_litres(made, sw.convert(size, "mL")) == pytest.approx(litres, rel=1e-12)
            assert sw.convert(made.Quantity(litres, "liter"), unit).magnitude == pytest.approx(1.0, rel=1e-12)
        assert sw.drain_refill(size, "20 L") * 20 == usual
        assert sw.convert(made.Quantity(usual, "liter"), unit).magnitude == pytest.approx(1.0, rel=1e-12)


def test_an_answer_goes_by_the_factor_of_its_own_registry():
    odd, plain = registry("quart = 2 * liter"), registry()
    # the unit comes from one registry, the home of the answer is another: the first Quantity decides where, the first volume in what
    answer = sw.clamp_load("34 N·m", odd.Quantity(14, "mm"), 0.2)
    assert answer._REGISTRY is odd
    assert in_litres(odd, sw.convert(odd.Quantity(4.0, "liter"), "US qt")) == pytest.approx(4.0)
    assert sw.convert(odd.Quantity(4.0, "liter"), "US qt").magnitude == pytest.approx(2.0)
    assert in_litres(odd, sw.convert("8 qt", odd.quart)) == pytest.approx(8 * 0.946352946)
    needed = sw.volume_needed(odd.Quantity(90, "percent"), "8 qt")  # quarts of the trade in the text, written in quarts of the shop
    assert in_litres(odd, needed) == pytest.approx(8 * 0.946352946 * math.log(10))
    mixed = sw.volume_needed(plain.Quantity(90, "percent"), odd.Quantity(4.0, "quart"))
    assert in_litres(plain, mixed) == pytest.approx(8 * math.log(10))
    assert mixed.magnitude == pytest.approx(8 * math.log(10) / 0.946352946)


def test_a_name_that_means_another_kind_in_the_registry_is_refused():
    made = registry("quart = 2 * meter")
    with pytest.raises(UnitError, match="is a length"):
        sw.drain_refill(made.Quantity(1.0, "quart"), "20 L")
    with pytest.raises(UnitError, match=r"US qt.*is a length in the caller's registry"):
        sw.convert(made.Quantity(1.0, "liter"), "US qt")


def test_the_application_registry_may_be_the_one_that_is_different():
    made = registry("quart = 2 * liter")
    pint.set_application_registry(made)
    try:
        assert in_litres(made, sw.quantity("5 qt")) == pytest.approx(5 * 0.946352946)
        assert in_litres(made, sw.quantity(5, "US qt")) == pytest.approx(5 * 0.946352946)
        assert sw.convert("4 L", "US qt").magnitude == pytest.approx(2.0)
        assert in_litres(made, sw.span("4 to 5 qt").upper) == pytest.approx(5 * 0.946352946)
        assert in_litres(made, sw.rounded("4 L", "US qt", digits=6)) == pytest.approx(4.0, rel=1e-5)
        assert sw.check_text("Pour 4 L (4.2 qt).")[0].verdict == "agrees"
    finally:
        pint.set_application_registry(DEFAULT)


def test_forgetting_goes_with_the_registry():
    made = registry()
    sw.drain_refill(made.Quantity(1.0, "quart"), "20 L")
    number, gone = id(made), weakref.ref(made)
    assert _pint._resolved[number]
    del made
    gc.collect()
    assert (number in _pint._resolved) is (gone() is not None)


@pytest.mark.parametrize("symbol", SYMBOLS)
def test_every_unit_of_the_table_is_itself_in_a_plain_registry(symbol):
    unit = SYMBOLS[symbol]
    assert _pint.unit_of(_pint.build(1.0, unit, DEFAULT)) is unit


@pytest.mark.parametrize("unit", ["dB", "Np", "dBm", "decade", "octave", "dBu"])
@pytest.mark.parametrize("value", [3.0, 0.0, numpy.array([1.0, 2.0])])
def test_logarithmic_units_are_refused(unit, value):
    given = DEFAULT.Quantity(value, unit)
    for ask in (
        lambda: sw.drain_refill("1 L", "8 L", 1, given), lambda: sw.drain_refill(given, "8 L"), lambda: sw.convert(given, "%"),
        lambda: sw.quantity(given), lambda: sw.standard_uncertainty(given), lambda: sw.clamp_load("34 N·m", "14 mm", given),
    ):  # fmt: skip
        with pytest.raises(UnitError, match="logarithmic unit"):
            ask()


OPTIONS = {
    "Decimal": {"non_int_type": Decimal}, "Fraction": {"non_int_type": Fraction}, "force_ndarray": {"force_ndarray": True},
    "force_ndarray_like": {"force_ndarray_like": True}, "auto_reduce_dimensions": {"auto_reduce_dimensions": True},
    "autoconvert_offset_to_baseunit": {"autoconvert_offset_to_baseunit": True},
}  # fmt: skip


@pytest.fixture(params=OPTIONS.values(), ids=OPTIONS.keys())
def special(request):
    made = registry(**request.param)
    made.number = made.non_int_type
    return made


def test_registries_of_every_setting_ask_and_are_answered(special):
    def given(number, unit):
        return special.Quantity(special.number(number), unit)

    assert sw.drain_refill(given("2.9", "liter"), given("7700", "milliliter"), 3) == pytest.approx(1 - (1 - 2.9 / 7.7) ** 3)
    assert float(sw.volume_needed(0.9, given("8", "quart")).m_as("liter")) == pytest.approx(8 * 0.946352946 * math.log(10))
    warm = sw.volume_at(given("10", "liter"), given("176", "degF"), "20 °C", "850 kg/m³")
    assert float(warm.m_as("milliliter")) == pytest.approx(sw.volume_at("10 L", "80 °C", "20 °C", "850 kg/m³").m_as("mL"))
    assert float(sw.convert(given("86", "degC"), "°F").m_as("degC")) == pytest.approx(86)
    assert sw.rounded(given("36", "foot"), "m").text == "11.0 m"
    band = sw.setting_band(given("31", "newton * meter"), "37 N·m", "4 %")
    assert float(band.lower.m_as("newton * meter")) == pytest.approx(31 / 0.96)
    volume = sw.measured(given("3.35", "liter"), limits=given("62.5", "milliliter"))
    assert sw.budget(volume).rows[0].share == pytest.approx(1)
    assert float(sw.expanded(volume).expanded_uncertainty.m_as("milliliter")) > 0
    uncertain = sw.volume_needed(0.9, volume)
    assert sw.uncertainty.standard(uncertain.magnitude) == pytest.approx(0.0625 / 3**0.5 * math.log(10))
    assert sw.drain_refill(volume, "8 L").std_dev == pytest.approx(0.0625 / 3**0.5 / 8)
    drawn = sw.monte_carlo(sw.volume_needed, {"target": 0.9, "capacity": volume}, draws=2000, seed=1)
    assert float(drawn.mean.m_as("milliliter")) == pytest.approx(3350 * math.log(10), rel=0.01)
    several = sw.volume_needed(0.9, special.Quantity(numpy.array([1.0, 2.0]), "liter"))
    assert several.magnitude == pytest.approx([math.log(10), 2 * math.log(10)])
    degrees = sw.standard_uncertainty(given("2", "degC"))
    assert float(degrees.magnitude) == pytest.approx(2 / 3**0.5)


def test_a_registry_of_decimals_is_answered_in_decimals():
    made = registry(non_int_type=Decimal)
    answer = sw.convert(made.Quantity(Decimal("2.9"), "liter"), "mL")
    assert answer == made.Quantity(Decimal(2900), "milliliter")
    assert (answer + made.Quantity(Decimal(100), "milliliter")).to("liter") == made.Quantity(Decimal(3), "liter")


def test_plan_and_verify_run_in_every_setting(special):
    job = sw.Job.demo()
    expected = sw.plan(job)
    pint.set_application_registry(special)
    try:
        sheet = sw.plan(sw.Job.demo())
        assert sheet.to_markdown() == expected.to_markdown()
        assert sheet.to_dict().keys() == expected.to_dict().keys()
        report = sw.verify()
        assert report.passed, str(report)
        assert sw.compare_methods(job).to_dict() is not None
        pail = sw.Vessel("pail", "0.25 L", scale_uncertainty=0.004)
        ledger = sw.Ledger("847 kg/m³").drained(pail, "4 L", "60 °C").poured(pail, "3.9 L", "17 °C")
        assert sw.uncertainty.standard(ledger.explain().rest.magnitude) > 0
        assert float(sw.cheapest_packs([("5 L", 46.5), ("1 L", 9.9)], "12.4 ± 0.5 L").volume.magnitude) >= 12
    finally:
        pint.set_application_registry(DEFAULT)


def test_a_scale_whose_zero_is_moved_is_what_its_registry_says():
    """Degrees from 273 K up, not 273.15; with a thermal expansion as its registry would give it."""
    made = registry()
    made.define("degree_Celsius = kelvin; offset: 273 = °C = celsius = degC")
    assert sw.convert(made.Quantity(80, "degC"), "K").magnitude == pytest.approx(353.0, rel=1e-12)
    hot = sw.volume_at(made.Quantity(10, "L"), made.Quantity(80, "degC"), made.Quantity(20, "degC"), "850 kg/m³")
    assert in_litres(made, hot) == pytest.approx(sw.volume_at("10 L", "79.85 °C", "19.85 °C", "850 kg/m³").m, rel=1e-12)


@pytest.mark.parametrize("units", [{"degree_Celsius": 1, "count": 1}, {"degree_Celsius": 1, "percent": 1}, {"warm": 1}], ids=str)
def test_a_temperature_times_anything_or_by_another_name_is_refused(units):
    """pint itself takes a unit defined as a degree Celsius for a difference of one."""
    made = registry()
    made.define("warm = degree_Celsius")
    with pytest.raises(UnitError, match="no kind known here"):
        sw.convert(made.Quantity(80, pint.util.UnitsContainer(units)), "K")
