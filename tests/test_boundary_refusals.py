"""The boundary: what is refused, in any container, with one error."""

from __future__ import annotations

import math
import pickle
from decimal import Decimal
from fractions import Fraction

import numpy
import pint
import pytest
from uncertainties import ufloat

from sumpwise import Dipstick, RangeError, SumpwiseError, UnitError, Vessel, span
from sumpwise.mixing import drain_refill, exchange
from sumpwise.quantities.boundary import answer, argument, unit_aware
from sumpwise.quantities.units import by_symbol
from sumpwise.torque import setting_band, wrench_setting
from test_boundary import APP, OTHER, Column

NAN = math.nan
VOLUMES = [
    3, 3.0, -1, NAN, math.inf, True, None, "", "3", "3 kg", "-1 L", "nan", "9**9**9 qt", "9" * 10_000_000, "3 L ± 1 kg", b"3 L", object(),
    len, 1 + 2j, {}, {"3 L"}, [], [[]], [3], ["3 L", 3], ["3 L", ["3 L", "4 L"]], ["-1 L"], ["3 L", None], (), [True], 10**400,
    APP.Quantity(-1, "L"), APP.Quantity(3, "kg"), OTHER.Quantity(NAN, "L"), APP.Quantity(numpy.array([]), "L"), APP.Quantity([1, NAN], "L"),
    APP.Quantity([1, -1], "L"), APP.Quantity(3, "m"), APP.Quantity(3, ""), APP.Quantity(3, "L**0.5"), APP.Quantity(1 + 2j, "L"),
    APP.Quantity(numpy.array([1j]), "L"), APP.Quantity(numpy.array(["a", None], dtype=object), "L"), APP.liter, ufloat(3, 0.1),
    numpy.array([1.0, 2.0]), numpy.array([]), numpy.array([[True]]), numpy.datetime64("2026-01-01"), Column(["1 L", "x"]), Column([1.0]),
    iter(["1 L"]), (x for x in ["1 L"]), Decimal("NaN"),
    Decimal(3), Fraction(3), APP.Quantity(ufloat(-1, 0.1), "L"), APP.Quantity(ufloat(1, NAN), "L"), APP.Quantity(10**400, "L"),
    APP.Quantity(numpy.array([ufloat(-1, 0.1)], dtype=object), "L"), APP.Quantity(numpy.array([ufloat(1, NAN)], dtype=object), "L"),
    APP.Quantity(numpy.array([numpy.finfo(numpy.longdouble).max]), "L"),
    numpy.array(["1 L", "y"]), range(3), memoryview(b"12"), "1 L\x00", "1\n2 L",
]  # fmt: skip


@pytest.mark.parametrize("value", VOLUMES, ids=lambda v: f"{type(v).__name__} {str(v).partition(' at 0x')[0][:20]!r}")
def test_a_refusal_is_one_error_whatever_the_container(value):
    with pytest.raises(SumpwiseError) as caught:
        drain_refill(value, "8 L")
    error = caught.value
    assert error.argument.startswith("drained")
    assert len(str(error)) < 700
    assert str(error).isprintable()
    again = pickle.loads(pickle.dumps(error))
    assert type(again) is type(error)
    assert (str(again), again.argument, again.value, again.allowed, again.hint) == (
        str(error), error.argument, error.value, error.allowed, error.hint,
    )  # fmt: skip


def test_lists_that_hold_themselves_are_refused():
    loop = []
    loop.append(loop)
    with pytest.raises(SumpwiseError):
        drain_refill(loop, "8 L")
    deep = "1 L"
    for _ in range(5000):
        deep = [deep]
    with pytest.raises(SumpwiseError):
        drain_refill(deep, "8 L")


@pytest.mark.parametrize(
    "times", [-1, 1.5, "1.5", "2 ± 1", NAN, math.inf, 10_001, "3 L", True, [1, 1.5], [1, -1], ufloat(2, 0.1), 10**400, 1e300]
)
def test_a_count_is_whole_and_certain(times):
    with pytest.raises(SumpwiseError) as caught:
        drain_refill("2 L", "8 L", times)
    assert caught.value.argument.startswith("times")


@pytest.mark.parametrize(
    "start", [-0.1, 1.1, 90, "150 %", "1 L", NAN, [0.5, 2.0], "", APP.Quantity(3, "L"), APP.Quantity(3, "radian"), ufloat(2, 0.1)]
)
def test_a_share_lies_between_0_and_1(start):
    with pytest.raises(SumpwiseError) as caught:
        drain_refill("2 L", "8 L", 1, start)
    assert caught.value.argument.startswith("start")


def test_messages_say_what_was_read_what_is_wrong_and_how_to_mend_it():
    with pytest.raises(UnitError) as bare:
        drain_refill(3, 8)
    assert str(bare.value).startswith("drained: read 3: has no unit; expected a volume")
    assert "'3.6 L'" in str(bare.value)
    with pytest.raises(RangeError) as much:
        drain_refill("9 L", "8 L")
    assert str(much.value) == "drained: read '9 L': must be at most the capacity; accepted: at most 8 L"
    with pytest.raises(RangeError) as percent:
        drain_refill("2 L", "8 L", 1, 90)
    assert percent.value.hint == "write a share as 0.5 or 50 %"
    with pytest.raises(RangeError) as all_of_it:  # which it is already
        drain_refill("2 L", "8 L", 1, "110 %")
    assert (all_of_it.value.hint, all_of_it.value.allowed) == ("", "a fraction, at least 0 and at most 1")
    with pytest.raises(RangeError) as second:
        drain_refill(["2 L", "-1 L"], "8 L")
    assert second.value.argument == "drained[1]"


def test_scalar_arguments_take_no_array():
    for tanks in ([1, 2], numpy.array([1, 2]), numpy.array([3])):
        with pytest.raises(RangeError, match="tanks"):
            exchange("8 L", "8 L", tanks)


def test_a_wrong_call_is_a_type_error():
    for wrong in (
        lambda: drain_refill("2 L"),
        lambda: drain_refill(),
        lambda: drain_refill("2 L", "8 L", 1, 0, 1, "2 L", 7),
        lambda: drain_refill("2 L", "8 L", drained="2 L"),
        lambda: drain_refill("2 L", capacity="8 L", tiems=3),
        lambda: drain_refill(capacity="8 L"),
        lambda: wrench_setting("34 N·m", adapter_length="45 mm"),
    ):
        with pytest.raises(TypeError, match=r"^(drain_refill|wrench_setting)\(\) ") as caught:
            wrong()
        assert not isinstance(caught.value, SumpwiseError)
        assert caught.value.__context__ is None


def test_a_wrong_call_is_told_in_pythons_own_words():
    with pytest.raises(TypeError, match=r"^drain_refill\(\) got an unexpected keyword argument 'time'"):
        drain_refill("2 L", "8 L", time=3)
    with pytest.raises(TypeError, match=r"^drain_refill\(\) got an unexpected keyword argument 'time'"):
        drain_refill(["2 L"], "8 L", time=3, errors="mask")
    with pytest.raises(TypeError, match=r"^drain_refill\(\) missing 1 required positional argument: 'capacity'$"):
        drain_refill("2 L")


@pytest.mark.parametrize("value", ["3.3", "-3.3 L", "three", "3 kg", 3, None, [1, "2 L"]])
def test_a_traceback_ends_at_the_call_not_in_the_reading_of_the_text(value):
    with pytest.raises(SumpwiseError) as caught:
        drain_refill(value, "8 L")
    assert len(caught.traceback) == 2


def test_a_traceback_of_a_method_does_not_show_how_a_text_is_read():
    pail = Vessel("pail", "0.25 L")
    for call in (lambda: pail.volume("3"), lambda: Vessel("pail", "x"), lambda: Dipstick("0.42 L", "13 mm", "8.85 L", "847", "82-92 °C")):
        with pytest.raises(SumpwiseError) as caught:
            call()
        assert not [frame for frame in caught.traceback if frame.path.name in ("notation.py", "numerals.py", "spelling.py")]


def test_a_kernel_without_an_answer_is_one_error():
    @unit_aware(x=argument("number"), returns="number")
    def odd(x):
        return (x - 2) ** 0.5 / x

    assert odd(4) == 2**0.5 / 4
    for wrong in (0, 1, [0.0, 3.0], [1.0, 3.0]):
        with pytest.raises(RangeError, match="odd"):
            odd(wrong)


def test_a_kernel_and_its_arguments_must_agree():
    with pytest.raises(TypeError, match="capacity"):
        unit_aware(drained=argument("volume"), capacity=argument("volume"), returns="fraction")(lambda drained: drained)
    with pytest.raises(UnitError, match="colour"):
        argument("colour")


def test_optional_arguments_take_none_and_others_do_not():
    assert drain_refill("2 L", "8 L", refilled=None) == 0.25
    with pytest.raises(UnitError):
        drain_refill("2 L", "8 L", None)


def test_spans_are_read_from_texts_spans_and_pairs():
    spec = argument("torque", above=0)
    for given in ("31 to 37 N·m", span("31 to 37 N·m"), ("31 N·m", "37 N·m")):
        assert [(end.value, end.unit.symbol) for end in spec.read_span(given)] == [(31.0, "N·m"), (37.0, "N·m")]
    for wrong in ("31 N·m", ("37 N·m", "31 N·m"), "37 to 31 N·m", 3, ["31 N·m"], "1 to 2 kg", (-1, 2), "-3 to 2 N·m"):
        with pytest.raises(SumpwiseError) as caught:
            spec.read_span(wrong, "window")
        assert "window" in caught.value.argument


@pytest.mark.parametrize(
    ("call", "read"),
    [
        (lambda: drain_refill("10 US qt", "9 L"), "10 US qt"),
        (lambda: drain_refill(drained="10 ± 0.1 US qt", capacity="9 L"), "10 ± 0.1 US qt"),
        (lambda: setting_band("31 N·m", "33 N·m", "20 %"), "20 %"),
        (lambda: setting_band("37 N·m", "31 N·m", "4 %"), "37 N·m"),
    ],
)
def test_a_text_that_fails_against_another_argument_is_shown_as_it_was_typed(call, read):
    with pytest.raises(RangeError) as caught:
        call()
    assert caught.value.value == repr(read)


def test_only_a_temperature_is_taken_for_a_difference_of_temperatures():
    for unit, hinted in (("degree_Celsius", True), ("liter", False), ("minute", False)):
        with pytest.raises(UnitError) as caught:
            argument("interval").value(APP.Quantity(3.0, unit), "halving")
        assert ("difference" in caught.value.hint) == hinted
    with pytest.raises(UnitError) as caught:
        argument("volume").value(APP.Quantity(3.0, "degree_Celsius"), "capacity")
    assert caught.value.hint == ""


def test_counts_end_where_floats_are_no_longer_whole():
    count = argument("count")
    assert count.value(2**53 - 1) == count.value(float(2**53 - 1)) == 2**53 - 1
    for beyond in (2**53, float(2**53), 2**60):
        with pytest.raises(RangeError, match="whole number"):
            count.value(beyond)


def test_a_percentage_without_its_sign_is_explained():
    for value, hint in ((1.5, True), (50, True), (100, True), (100.5, False), (-50, False)):
        with pytest.raises(RangeError) as caught:
            argument("fraction").value(value)
        assert ("50 %" in caught.value.hint) == hint
    with pytest.raises(RangeError) as caught:
        argument("fraction", below=0.4).value(0.5)
    assert caught.value.hint == ""


def test_what_would_be_accepted_is_said_in_the_units_of_the_argument():
    for spec, value, says in (
        (argument("count", minimum=1), 0, "a whole number, at least 1"),
        (argument("volume", above=0), "-1 L", "a volume, above 0 L"),
        (argument("number", above=-1, below=1), 2, "a number, above -1 and below 1"),
        (argument("length"), pint.Quantity(math.inf, "mm"), "a finite length"),
    ):
        with pytest.raises(RangeError) as caught:
            spec.value(value)
        assert caught.value.allowed == says


@pytest.mark.parametrize("place", [0, 1, 2])
@pytest.mark.parametrize("bad", [math.inf, -math.inf, math.nan])
def test_one_element_without_a_value_is_one_too_many(place, bad):
    values = numpy.array([1.0, 2.0, 3.0])
    values[place] = bad
    with pytest.raises(RangeError) as caught:
        argument("volume").value(APP.Quantity(values, "L"))
    assert caught.value.problem == "must be finite"
    with pytest.raises(RangeError, match="finite"):
        answer(values, "number")


def test_an_answer_that_overflows_in_its_unit_in_one_place_alone_is_refused():
    for values in ([1e306, 1.0], [1.0, 1e306], [-1e306, 1.0]):
        with pytest.raises(RangeError, match="too large to be written in mL"):
            answer(numpy.array(values), "volume", unit=by_symbol("mL"))


def test_whatever_becomes_an_array_is_one():
    class Lazy:
        """Knows neither its length nor its elements before it is asked for an array."""

        def __array__(self, dtype=None, copy=None):
            return numpy.array([1.0, 2.0])

    assert argument("number").value(Lazy()).tolist() == [1.0, 2.0]


def test_an_uncertainty_that_cannot_be_squared_is_refused():
    with pytest.raises(RangeError, match="has no finite uncertainty"):
        argument("number").value(1e200 * ufloat(1.0, 1.0))


def test_an_array_of_no_dimension_is_one_value():
    read = argument("volume").value(numpy.array("2.9 L"))
    assert (read, type(read)) == (2.9, float)


def test_a_table_of_texts_keeps_its_shape():
    table = argument("volume").value(numpy.array([["1 L", "2 L"], ["3 L", "4 L"]]))
    assert table.tolist() == [[1, 2], [3, 4]]


@pytest.mark.parametrize("bad", [math.inf, -math.inf, math.nan])
def test_what_is_not_finite_is_not_out_of_range(bad):
    with pytest.raises(RangeError) as caught:
        argument("length").value(APP.Quantity(bad, "mm"))
    assert caught.value.problem == "must be finite"


def test_an_answer_in_a_given_unit_lives_in_the_registry_that_asked():
    read = argument("volume").read
    said = answer(1.0, "volume", read(OTHER.Quantity(3.0, "L")), unit=by_symbol("US qt"))
    assert said._REGISTRY is OTHER
    assert str(said.to("L").units) == "l"
    assert answer(1.0, "volume", read(OTHER.Quantity(3.0, "mL")), registry=APP)._REGISTRY is APP


@pytest.mark.parametrize("described", [{"x"}, {"x", "y", "z"}, {"x", "z"}])
def test_arguments_are_described_one_for_one(described):
    with pytest.raises(TypeError, match="described and taken differ"):

        @unit_aware(**{name: argument("number") for name in described}, returns="number")
        def both(x, y):
            """Their sum."""
            return x + y


@pytest.mark.parametrize("value", [5.0, -5.0, numpy.array([5.0, 1.0])])
def test_an_answer_beyond_floats_is_refused_by_the_short_way_too(value):
    @unit_aware(x=argument("number"), returns="number")
    def vast(x):
        """Beyond what floats hold."""
        return x * 1e308

    assert vast(1.0) == 1e308
    with pytest.raises(RangeError, match="no finite answer"):
        vast(value)


def test_an_array_may_reach_its_limit():
    drained = APP.Quantity(numpy.array([3.0, 9.0]), "L")
    assert drain_refill(drained, "9 L").tolist() == pytest.approx([1 / 3, 1])
    with pytest.raises(RangeError, match="at most the capacity"):
        drain_refill(APP.Quantity(numpy.array([3.0, 9.001]), "L"), "9 L")


def test_a_fraction_with_limits_of_its_own_has_no_others():
    assert argument("fraction", above=-0.5, below=0.5).value("-10 %") == -0.1
    assert argument("fraction", below=0.5).value("-10 %") == -0.1
    assert argument("fraction", above=0.5).value("150 %") == 1.5
    for value in (-0.1, 1.5):
        with pytest.raises(RangeError):
            argument("fraction").value(value)


def test_arrays_that_do_not_go_together_are_refused_in_words():
    """Two drains of three capacities have no answer; whether each is at most its capacity cannot be asked of them."""
    litre = pint.get_application_registry().litre
    with pytest.raises(RangeError) as refused:
        drain_refill(numpy.array([9.0, 2.0]) * litre, numpy.array([8.0, 8.0, 9.5]) * litre)
    assert refused.value.code == "answer.none"


@pytest.mark.parametrize(
    "value", ["5 ± 1 L", "5.0(1) L", APP.Quantity(ufloat(5, 1), "L"), OTHER.Quantity(ufloat(5, 1), "L"), argument("volume").read("5 ± 1 L")]
)
def test_an_exact_value_has_no_uncertainty(value):
    """However it is given; one of nothing is none."""
    size = argument("volume", scalar=True, exact="put it into the need")
    with pytest.raises(RangeError, match=r"size: read .*must not have an uncertainty .put it into the need") as refused:
        size.value(value, "size")
    assert refused.value.code == "uncertainty.unexpected"
    assert size.single().value("5 ± 0 L") == size.value("5 L") == 5.0


@pytest.mark.parametrize("ends", [("lower",), ("upper",)])
def test_what_has_one_end_alone_is_no_span(ends):
    half = type("Half", (), dict.fromkeys(ends, 1.0))()
    with pytest.raises(UnitError, match="is not a volume"):
        drain_refill(half, "9 L")
