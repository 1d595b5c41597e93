"""The boundary: one value in every form, and the answer in the form that was asked for."""

from __future__ import annotations

import copy
import gc
import math
import pickle
import warnings
import weakref
from decimal import Decimal
from fractions import Fraction

import numpy
import pint
import pytest

import sumpwise
from sumpwise import RangeError, Span, SumpwiseError, UnitError, measured, uncertainty
from sumpwise.mixing import drain_refill, drains_needed, exchange, volume_needed
from sumpwise.quantities import _pint, arguments, notation
from sumpwise.quantities.boundary import argument, inside, unit_aware
from sumpwise.quantities.reading import Inside
from sumpwise.torque import clamp_load, setting_band, wrench_setting

APP = pint.application_registry.get()
OTHER = pint.UnitRegistry()
OTHER.formatter.default_format = "~P"


class Column:
    """A column of a table, as far as the boundary can see one."""

    def __init__(self, values):
        self.values = values

    def __len__(self):
        return len(self.values)

    def __iter__(self):
        return iter(self.values)

    def __array__(self, dtype=None, copy=None):
        return numpy.asarray(self.values, dtype=dtype)


class Written(str):
    """A text of a class of its own."""


@pytest.mark.parametrize(
    "drained",
    [
        "2.9 L", "2900 mL", "2,9 L", "2.9\u00a0L", Written("2.9 L"), numpy.str_("2.9 L"), APP.Quantity(2.9, "L"), OTHER.Quantity(2.9, "L"),
        APP.Quantity(2900, "mL"), APP.Quantity(numpy.float32(2900), "mL"), APP.Quantity(Decimal("2.9"), "L"),
        OTHER.Quantity(Fraction(29, 10), "L"), APP.Quantity(numpy.array(2.9), "L"),
        OTHER.Quantity(0.0029, "m**3"), APP.Quantity(2.9, "dm**3"), APP.Quantity(2.9e-3, "m*m*m"),
    ],
)  # fmt: skip
def test_one_value_however_given(drained):
    answer = drain_refill(drained, "7.7 L", 3)
    assert type(answer) is float
    assert answer == pytest.approx(1 - (1 - 2.9 / 7.7) ** 3, rel=1e-15)


def test_whole_numbers_of_small_units_are_exact():
    assert arguments.argument("volume").value(APP.Quantity(2900, "mL")) == 2.9
    assert drain_refill(APP.Quantity(2900, "mL"), APP.Quantity(2.9, "L")) == 1.0
    assert arguments.argument("temperature").value(APP.Quantity(353.15, "K")) == 80.0
    assert arguments.argument("temperature").value(APP.Quantity(212, "degF")) == 100.0


@pytest.mark.parametrize("unit", ["fluid_ounce", "pint", "quart", "gallon", "imperial_quart", "inch**3", "liter", "milliliter"])
@pytest.mark.parametrize("number", [1, 3, 7, 0.5, 12.25])
def test_text_and_quantity_read_to_the_same_bit(unit, number):
    read = argument("volume").value
    assert read(f"{number} {unit}") == read(APP.Quantity(number, unit)) == read(OTHER.Quantity(float(number), unit))


@pytest.mark.parametrize(
    "several",
    [
        ["1 L", "2 L", "3 L"], ("1 L", "2 L", "3 L"), ["1 L", APP.Quantity(2, "L"), OTHER.Quantity(3000, "mL")],
        APP.Quantity([1, 2, 3], "L"),
        OTHER.Quantity(numpy.array([1000, 2000, 3000], dtype=numpy.int16), "mL"), Column(["1 L", "2 L", "3 L"]),
        numpy.array(["1 L", "2 L", "3 L"]), numpy.array(["1 L", "2 L", "3 L"], dtype=object), APP.Quantity(numpy.float32([1, 2, 3]), "L"),
    ],
)  # fmt: skip
def test_several_values_however_given(several):
    answer = drain_refill(several, "8 L")
    assert isinstance(answer, numpy.ndarray)
    assert answer.dtype == float
    assert answer.tolist() == [0.125, 0.25, 0.375]


def test_fractions_and_counts_need_no_unit():
    half = drain_refill("1 L", "4 L", 1, 0.5)
    assert drain_refill("1 L", "4 L", 1, "50 %") == drain_refill("1 L", "4 L", 1, APP.Quantity(50, "percent")) == half == 0.625
    assert drain_refill("1 L", "4 L", 2.0) == drain_refill("1 L", "4 L", "2") == drain_refill("1 L", "4 L", numpy.int8(2))
    shares = numpy.array([0.0, 0.5, 1.0])
    assert drain_refill("1 L", "4 L", 1, shares).tolist() == [0.25, 0.625, 1.0]
    assert drain_refill("1 L", "4 L", 1, Column([0.0, 0.5, 1.0])).tolist() == [0.25, 0.625, 1.0]
    assert drain_refill("1 L", "4 L", 1, APP.Quantity(1.0, "liter") / APP.Quantity(4.0, "liter")) == 0.4375
    assert drain_refill("1 L", "4 L", 1, APP.Quantity(1.0, "pint / quart")) == 0.625


@pytest.mark.parametrize("dtype", [numpy.uint8, numpy.int16, numpy.float64, numpy.float32])
def test_counts_of_any_width(dtype):
    times = numpy.array([0, 1, 2], dtype=dtype)
    expected = [0.0, 0.25, 0.4375]
    assert drain_refill("1 L", "4 L", times).tolist() == expected
    assert drain_refill("1 L", "4 L", times, refilled="1 L").tolist() == expected
    assert drain_refill(["1 L"] * 3, "4 L", [0, 1, 2]).tolist() == expected


def test_zero_needs_no_unit_but_a_temperature_does():
    assert drain_refill(0, "8 L") == 0
    with pytest.raises(UnitError):
        argument("temperature").value(0)


def test_the_answer_is_in_the_unit_and_registry_that_asked():
    answer = volume_needed(0.9, OTHER.Quantity(8.0, "quart"))
    assert answer._REGISTRY is OTHER
    assert answer.units == OTHER.quart
    assert volume_needed(0.9, "8 qt").magnitude == answer.magnitude
    assert volume_needed(0.9, "8 qt")._REGISTRY is APP
    assert wrench_setting("34 N·m", OTHER.Quantity(300, "mm"), "45 mm")._REGISTRY is OTHER
    assert wrench_setting("25 ft-lb", "12 in", OTHER.Quantity(2, "inch")).units == OTHER.Unit("foot * force_pound")
    assert clamp_load("34 N·m", OTHER.Quantity(14, "mm"), 0.2).units == OTHER.newton


@pytest.mark.parametrize(
    "capacity",
    [
        ["8 qt", "9 qt"], Column(["8 qt", "9 qt"]), numpy.array(["8 qt", "9 qt"]), APP.Quantity([8, 9], "quart"),
        [APP.Quantity(8, "quart"), "9 qt"],
    ],
)
def test_several_answers_are_in_the_unit_of_the_first(capacity):
    answer = volume_needed(0.9, capacity)
    assert answer.units == APP.quart
    assert answer.magnitude == pytest.approx(numpy.array([8, 9]) * math.log(10), rel=1e-14)


def test_what_the_library_holds_is_an_argument_like_any_other():
    """A value of its own is read and checked against limits; a result of such values alone is one of its own again, in internal units."""
    told = volume_needed(0.9, inside(8.0, "volume"))
    assert (told.value, told.unit.symbol, told.registry) == (volume_needed.kernel(0.9, 8.0), "L", Inside)
    assert arguments.number_in(told, "mL") == 1000 * told.value
    assert drain_refill(inside(2.0, "volume"), "8 L") == drain_refill("2 L", "8 L")
    assert drain_refill(argument("volume").read("2 qt"), "8 qt") == drain_refill("2 qt", "8 qt")  # already in litres
    assert uncertainty.standard(drain_refill(inside(uncertainty.source(2.0, 0.1), "volume"), "8 L")) == pytest.approx(0.1 / 8)
    kept = pickle.loads(pickle.dumps(told))
    assert (kept.value, kept.registry) == (told.value, Inside)


@pytest.mark.parametrize(
    ("value", "says"),
    [
        (inside(20.0, "temperature"), "read 20.0 °C: is a temperature; expected a volume"),
        (inside(-1.0, "volume"), "read -1.0 L: is out of range"),
        (inside(9.0, "volume"), "must be at most the capacity"),
        (inside(math.inf, "volume"), "must be finite"),
    ],
)
def test_what_the_library_holds_is_refused_like_any_other(value, says):
    with pytest.raises(SumpwiseError) as refused:
        drain_refill(value, "8 L")
    assert says in str(refused.value)


def test_a_zero_without_unit_answers_in_the_internal_unit():
    @unit_aware(volume=argument("volume"), returns="volume")
    def same(volume):
        return volume

    assert same(0) == APP.Quantity(0.0, "liter")
    assert same(0).units == APP.liter


def test_a_share_and_a_count_are_plain():
    assert type(drain_refill("2 L", "8 L")) is float
    assert type(drains_needed("2 L", "8 L", 0.9)) is int
    fresh = exchange(APP.Quantity(8, "L"), "8 L")
    assert type(fresh.resident) is type(fresh.outlet) is float
    assert isinstance(setting_band("31 N·m", "37 N·m", 0.04), Span)


def test_a_registry_that_forces_arrays_gets_arrays():
    forced = pint.UnitRegistry(force_ndarray=True)
    answer = volume_needed(0.9, forced.Quantity(8.0, "L"))
    assert isinstance(answer.magnitude, numpy.ndarray)
    assert answer.magnitude == pytest.approx(8 * math.log(10))


def test_an_answer_is_a_full_quantity():
    answer = volume_needed(0.9, OTHER.Quantity(8.0, "quart"))
    assert (answer + OTHER.Quantity(1, "liter")).check("[volume]")
    assert (answer / OTHER.Quantity(1, "quart")).m_as("") == pytest.approx(8 * math.log(10))
    assert pickle.loads(pickle.dumps(answer)).magnitude == answer.magnitude
    assert copy.deepcopy(answer) == answer
    assert f"{answer:.2f~}" == "18.42 qt"


def test_units_known_to_the_callers_registry_alone():
    mine = pint.UnitRegistry()
    mine.define("jug = 3.6 liter")
    mine.define("degree_Odd = 2 * kelvin; offset: 200 = odd")
    answer = volume_needed(0.5, mine.Quantity(2.0, "jug"))
    assert answer.units == mine.jug
    assert answer.magnitude == pytest.approx(2 * math.log(2))
    assert argument("temperature").value(mine.Quantity(50.0, "degree_Odd")) == pytest.approx(26.85)
    with pytest.raises(UnitError, match="jug"):
        drain_refill(mine.Quantity(1, "jug*jug"), "8 L")


def test_a_registry_may_define_a_unit_differently():
    mine = pint.UnitRegistry()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        mine.define("quart = 1.1365225 liter")
    assert argument("volume").value(mine.Quantity(2, "quart")) == pytest.approx(2.273045)


def test_the_owners_format_and_settings_do_not_matter():
    mine = pint.UnitRegistry(autoconvert_offset_to_baseunit=True, system="imperial")
    mine.formatter.default_format = "~C"
    assert argument("temperature").value(mine.Quantity(50.0, "degF")) == pytest.approx(10)
    assert argument("torque").value(mine.Quantity(1.0, "foot * force_pound")) == pytest.approx(1.3558179483314004)
    assert wrench_setting(mine.Quantity(34.0, "N*m"), "300 mm", "45 mm").magnitude == pytest.approx(34 * 300 / 345)


def kept_by_python():
    """Whether Python itself holds a registry that nobody knows any more, as 3.13 without its lock does once a thread has run."""
    made = pint.UnitRegistry()
    gone = weakref.ref(made)
    del made
    gc.collect()
    return gone() is not None


def test_registries_are_held_weakly():
    mine = pint.UnitRegistry()
    drain_refill(mine.Quantity(2, "L"), mine.Quantity(8, "L"))
    volume_needed(0.9, mine.Quantity(8, "quart"))
    number, gone = id(mine), weakref.ref(mine)
    assert number in _pint._resolved
    del mine
    gc.collect()
    if not kept_by_python():
        assert gone() is None
        assert not any(number in cache for cache in (_pint._resolved, _pint._containers, _pint._watched))


def test_public_functions_describe_themselves():
    assert drain_refill.__name__ == "drain_refill"
    assert drain_refill.__module__ == "sumpwise.mixing.batch"
    assert "Parameters" in drain_refill.__doc__
    assert drain_refill.kernel(2.0, 8.0) == 0.25
    assert wrench_setting.kernel(34.0, 300.0, 45.0) == pytest.approx(34 * 300 / 345)
    assert sumpwise.drain_refill is drain_refill
    assert pickle.loads(pickle.dumps(drain_refill)) is drain_refill


@pytest.mark.parametrize("registry", [APP, OTHER])
@pytest.mark.parametrize("unit", ["liter", "milliliter", "meter ** 3", "inch ** 3", "quart", "gallon", "fluid_ounce"])
@pytest.mark.parametrize("size", [0.1, 3.3, 7.7, 8.85, 1234.5])
def test_one_volume_is_as_much_as_itself_in_any_unit(size, unit, registry):
    there = registry.Quantity(size, "quart")
    drained = there.to(unit)  # off by a last bit or two, either way
    assert drain_refill(drained, there) == 1.0
    assert drain_refill(there, drained) == 1.0
    assert drain_refill(drained, there, times=3, start=0.3, purity=0.9) == 0.9
    columns = drain_refill(registry.Quantity(numpy.array([drained.m, 0.5 * drained.m]), unit), there)
    assert columns.tolist() == [1.0, pytest.approx(0.5)]
    assert drain_refill(registry.Quantity(measured(drained.m, standard=0.01 * drained.m), unit), there).nominal_value == 1.0
    with pytest.raises(RangeError, match="at most the capacity"):
        drain_refill(drained * (1 + 1e-11), there)
    with pytest.raises(RangeError, match="at most the capacity"):
        drain_refill(registry.Quantity(numpy.array([drained.m, 1.1 * drained.m]), unit), there)


def test_a_reading_says_all_that_was_given():
    volume = argument("volume")
    text = volume.read("5.50 qt")
    assert (text.value, text.unit.symbol, text.kind, text.registry, text.given) == (5.5 * 0.946352946, "US qt", "volume", None, "5.50 qt")
    assert (text.written.num, text.written.den, text.written.places, text.written.text) == (550, 100, 2, "5.50 qt")
    given = OTHER.Quantity(2900, "mL")
    asked = volume.read(given)
    assert (asked.value, asked.unit.symbol, asked.registry, asked.written) == (2.9, "mL", OTHER, None)
    assert asked.given is given
    several = volume.read([["1 qt", given], ["2 L", "3 L"]])
    assert several.value.shape == (2, 2)
    assert (several.unit.symbol, several.registry) == ("US qt", None)
    plain = argument("fraction").read(0.5)
    assert (plain.value, plain.unit, plain.kind) == (0.5, None, "number")
    assert argument("volume", optional=True).read(None).value is None
    assert copy.deepcopy(asked) is asked
    sent = pickle.loads(pickle.dumps(asked))
    assert (sent.value, sent.unit, sent.registry) == (2.9, asked.unit, None)
    assert asked.answer(1.0).units == OTHER.milliliter
    assert argument("temperature").read("80 °F").answer(9.0, spread=True).units == APP.delta_degree_Celsius
    assert plain.answer(0.25) == 0.25


TEXTS = ("8.1207 ± 0.1 L", "41.0307 °C", "21.07 ± 1 °C", "851.0307 kg/m³")


@pytest.mark.parametrize(
    ("ask", "texts"),
    [
        (lambda *given: sumpwise.volume_at(*given), TEXTS),
        (lambda *given: sumpwise.volume_at(*[[text] for text in given]), [f" {text}" for text in TEXTS]),
        (lambda *given: sumpwise.convert(*given, "qt"), ("8.130307 ± 0.1 L",)),
        (lambda *given: sumpwise.convert(*given, "qt"), ("8.140307 L",)),
        (lambda *given: sumpwise.measured(given[0], limits=given[1]), ("8.150307 L", "0.150307 L")),
        (lambda *given: sumpwise.Circuit(*given).pump("0.160307 L").sump_volume, ("4.160307 L", "2.160307 ± 0.1 L", "0.960307 L")),
        (lambda *given: sumpwise.FluidHistory(given[0]).mean_age(given[1]), ("-9.170307 y", "1.170307 y")),
        (lambda *given: sumpwise.Vessel("pail", given[0]).volume(given[1], given[2]), ("0.250307 L", "3.180307 L", "41.80307 °C")),
        (lambda *given: sumpwise.cheapest_packs([(given[0], 9)], given[1]), ("1.190307 L", "3.190307 ± 0.1 L")),
        (lambda *given: sumpwise.wrench_setting(*given), ("34.20307 N·m", "300.20307 mm", "45.20307 mm")),
        (lambda *given: sumpwise.setting_band(*given, "4.21 %"), ("31.210307 N·m", "37.210307 N·m")),
        (lambda *given: sumpwise.best_estimate(given), ("1.22(2) L", "1.32(3) L")),
    ],
)  # fmt: skip
def test_nothing_is_parsed_twice(ask, texts, monkeypatch):
    parsed = []
    parse = notation._parse

    def counting(text, *rest):
        parsed.append(text)
        return parse(text, *rest)

    monkeypatch.setattr(notation, "_parse", counting)
    ask(*texts)
    assert {text: parsed.count(text.strip()) for text in texts} == dict.fromkeys(texts, 1)
