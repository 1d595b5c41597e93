"""The boundary: uncertain numbers, intervals, torque."""

from __future__ import annotations

import copy
import math
import pickle

import mpmath
import numpy
import pint
import pytest
from uncertainties import ufloat
from uncertainties.core import AffineScalarFunc

import sumpwise
from sumpwise import RangeError, SumpwiseError, UnitError, convert, measured, quantity, uncertainty, volume_at, water_density
from sumpwise._math import sqrt
from sumpwise.mixing import drain_refill, drain_refill_series, volume_needed
from sumpwise.quantities import arguments
from sumpwise.quantities.boundary import argument, unit_aware
from sumpwise.torque import wrench_setting
from sumpwise.uncertainty import sources
from sumpwise.uncertainty.propagation import columns_over, resulting

APP = pint.application_registry.get()
OTHER = pint.UnitRegistry()
OTHER.formatter.default_format = "~P"


def test_uncertain_texts_are_independent_and_numbers_are_remembered():
    one, two = argument("volume").value("2.9 ± 0.1 L"), argument("volume").value("2.9 ± 0.1 L")
    assert uncertainty.standard(one - two) == pytest.approx(0.1 * math.sqrt(2 / 3))
    assert uncertainty.standard(drain_refill("2.9 ± 0.1 L", "8 L") - drain_refill("2.9 ± 0.1 L", "8 L")) > 0.01
    spec = drain_refill.arguments["drained"]
    assert not any("±" in text or "(" in text for text in spec.memo)
    drain_refill("2.75 L", "8 L")
    assert spec.memo["2.75 L"][0] == 2.75


def test_memories_are_bounded():
    spec = argument("volume", minimum=0)
    for i in range(3 * arguments.MEMO):
        spec.value(f"{i} L")
    assert len(spec.memo) <= arguments.MEMO
    asked = volume_needed.arguments["capacity"]
    for i in range(3 * arguments.MEMO):
        volume_needed(0.5, f"{i + 1} qt")
    assert len(asked.memo) <= arguments.MEMO


@pytest.mark.parametrize("registry", [APP, OTHER])
def test_uncertain_quantities_keep_their_sources(registry):
    drained = ufloat(2.9, 0.1)
    answer = drain_refill(registry.Quantity(drained, "L"), "8 L")
    assert isinstance(answer, AffineScalarFunc)
    assert answer.derivatives[drained] == pytest.approx(1 / 8, rel=1e-11)
    small = drain_refill(registry.Quantity(drained * 1000, "mL"), "8 L")
    assert (answer - small).std_dev == pytest.approx(0, abs=1e-12)


def test_arrays_of_uncertain_numbers():
    shared = ufloat(1.0, 0.02)
    values = numpy.array([shared * 2, shared * 3], dtype=object)
    answer = drain_refill(APP.Quantity(values, "L"), "8 L")
    assert answer.dtype == object
    assert [uncertainty.nominal(a) for a in answer] == [0.25, 0.375]
    assert (answer[1] - 1.5 * answer[0]).std_dev == pytest.approx(0, abs=1e-12)
    texts = drain_refill(["2.0 ± 0.1 L", "3 L"], "8 L")
    assert uncertainty.standard(texts[0]) == pytest.approx(0.1 / math.sqrt(3) / 8)
    assert uncertainty.standard(texts[1]) == 0
    litres = volume_needed(0.9, APP.Quantity(values, "quart"))
    assert litres.units == APP.quart
    assert litres.magnitude[0].std_dev == pytest.approx(0.04 * math.log(10))


def test_only_nominal_values_are_validated():
    assert uncertainty.nominal(drain_refill("8.9 ± 0.3 L", "8.9 L")) == 1.0
    assert uncertainty.standard(drain_refill("8.9 ± 0.3 L", "8.9 L")) == pytest.approx(0.3 / math.sqrt(3) / 8.9)
    with pytest.raises(RangeError, match="drained"):
        drain_refill("9.0 ± 0.3 L", "8.9 L")


def test_a_turning_point_is_marked_and_its_rounding_is_not_uncertainty():
    answer = drain_refill("8.9 ± 0.3 L", "8.9 L", times=3)
    assert answer.nominal_value == 1.0
    assert answer.std_dev == 0.0
    assert uncertainty.caution(answer) == uncertainty.CURVED
    assert uncertainty.caution(drain_refill("5 ± 0.3 L", "8.9 L", times=3)) == ""
    assert uncertainty.caution(drain_refill("8.85 ± 0.3 L", "8.9 L")) == uncertainty.AT_BOUND
    assert uncertainty.caution(drain_refill_series(["8.85 ± 0.3 L"], "8.9 L")) == uncertainty.AT_BOUND


@pytest.mark.parametrize("unit", ["L", "US qt", "in³"])
@pytest.mark.parametrize(("size", "u"), [(8.85, 0.2), (0.7, 0.1), (3.3, 1e-6)])
def test_all_that_is_there_drained_leaves_nothing_old_however_well_it_is_known(size, u, unit):
    fill = quantity(measured(size, standard=u), unit)
    fresh = drain_refill(fill, fill)
    assert isinstance(fresh, float)
    assert fresh == 1.0
    assert drain_refill(fill, fill, start=0.3, purity=0.9) == 0.9
    assert drain_refill_series([fill], fill) == 1.0
    assert uncertainty.standard(drain_refill(fill, fill, 2, 0.3, refilled=fill)) == 0.0


def test_arguments_by_name_are_judged_as_by_place():
    by_place, by_name = drain_refill("8.85 ± 0.3 L", "8.9 L"), drain_refill(drained="8.85 ± 0.3 L", capacity="8.9 L")
    assert uncertainty.caution(by_place) == uncertainty.caution(by_name) == uncertainty.AT_BOUND
    assert uncertainty.standard(by_place) == pytest.approx(uncertainty.standard(by_name), rel=1e-12)
    assert drain_refill(drained=["2 L", "4 L"], capacity="8 L").tolist() == [0.25, 0.5]
    with pytest.raises(RangeError, match="at most the capacity"):
        drain_refill(drained=["2 L", "9 L"], capacity="8 L")
    assert drain_refill("2 L", capacity=["8 L", "4 L"]).tolist() == [0.25, 0.5]
    assert uncertainty.caution(drain_refill("8.85 L", capacity="8.9 ± 0.3 L")) == uncertainty.AT_BOUND


def test_an_optional_argument_stands_for_no_other():
    for given, lacking in (("capacity", "drained"), ("drained", "capacity")):
        for further in ({}, {"times": 3}):
            with pytest.raises(TypeError, match=lacking):
                drain_refill(**{given: "2 L"}, **further)
    with pytest.raises(TypeError, match="capacity"):
        drain_refill("2 L", start=0.5)


@pytest.mark.parametrize(("share", "near"), [(0.19, True), (0.21, False), (0.5, False), (0.79, False), (0.81, True)])
def test_a_share_within_two_standard_uncertainties_of_a_bound_is_marked(share, near):
    found = drain_refill(APP.Quantity(uncertainty.source(share, 0.1), "liter"), "1 L")
    assert uncertainty.standard(found) == pytest.approx(0.1)
    assert uncertainty.caution(found) == (uncertainty.AT_BOUND if near else "")


@pytest.mark.parametrize("share", [0.25, 0.75])
def test_a_share_at_exactly_two_standard_uncertainties_from_a_bound_is_not_marked_in_a_row_or_alone(share):
    for best, near in ((share, False), (0.5 + (share - 0.5) * 1.001, True)):
        rows = numpy.array([best, 0.1, 0.9])  # beside others that are marked
        column = columns_over(rows, [numpy.full(3, 0.125)], [measured(rows, standard=0.125)], numpy.zeros(3, dtype=bool), True)
        assert uncertainty.caution(column[1]) == uncertainty.caution(column[2]) == uncertainty.AT_BOUND
        alone = resulting(best, [(1.0, uncertainty.source(best, 0.125))], False, True)
        assert uncertainty.caution(column[0]) == uncertainty.caution(alone) == (uncertainty.AT_BOUND if near else "")


@unit_aware(x=argument("number"), returns="number")
def half_circle(x):
    """The height of the unit circle over x, for which there is nothing beyond 1."""
    return sqrt(1 - x * x)


def test_an_exact_zero_among_uncertain_numbers_is_barely_moved():
    found = half_circle(numpy.array([0.0, uncertainty.source(0.6, 0.01)], dtype=object))
    assert (found[0], uncertainty.nominal(found[1])) == (1.0, pytest.approx(0.8))
    assert uncertainty.standard(found[1]) == pytest.approx(0.6 / 0.8 * 0.01, rel=1e-9)


def test_what_is_put_together_later_is_what_it_said():
    one, two = uncertainty.source(3.0, 0.1), uncertainty.source(4.0, 0.4)
    asked = []

    def contributions():
        asked.append(1)
        return {one: -0.3, two: 0.4}

    later = uncertainty.Deferred(7.0, 0.5, contributions)
    assert (later.nominal_value, later.std_dev, later.s, asked) == (7.0, 0.5, 0.5, [])
    assert later.derivatives == {one: pytest.approx(-3), two: pytest.approx(1)}
    assert (later - (4 * two - 3 * (one + two))).std_dev == pytest.approx(0, abs=1e-15)
    assert asked == [1]
    copied = pickle.loads(pickle.dumps(later))
    assert (copied.nominal_value, copied.std_dev) == (7.0, pytest.approx(0.5))


def test_a_caution_outlives_units_and_functions():
    doubtful = uncertainty.combine(8.0, [(1.0, ufloat(8.0, 0.3))], "told so")
    answer = volume_needed(0.9, APP.Quantity(doubtful, "quart"))
    assert answer.units == APP.quart
    assert uncertainty.caution(answer.magnitude) == "told so"
    assert answer.magnitude.std_dev == pytest.approx(0.3 * math.log(10))
    assert uncertainty.caution(convert(answer, "mL").magnitude) == "told so"


def test_derivatives_are_one_sided_at_the_edge_of_a_domain():
    @unit_aware(x=argument("number"), returns="number")
    def root(x):
        if numpy.any(numpy.asarray(x) < 4):
            raise ValueError("below the domain")
        return 2 * x**0.5

    @unit_aware(x=argument("number"), returns="number")
    def mirrored(x):
        return 2 * (4 - x) ** 0.5 if numpy.all(numpy.asarray(x) <= 3) else math.nan

    assert root(ufloat(4, 0.01)).std_dev == pytest.approx(0.5 * 0.01, rel=1e-9)
    assert mirrored(ufloat(3, 0.01)).std_dev == pytest.approx(0.01, rel=1e-9)

    @unit_aware(x=argument("number"), returns="number")
    def point(x):
        return 1.0 if numpy.all(numpy.asarray(x) == 2) else math.nan

    with pytest.raises(RangeError, match="monte_carlo"):
        point(ufloat(2, 0.1))


def test_an_argument_without_influence_adds_nothing():
    @unit_aware(x=argument("number"), y=argument("number"), returns="number")
    def first(x, y):
        return x + (y - y)

    x, y = ufloat(3, 0.1), ufloat(7, 0.1)
    assert first(x, y).derivatives[y] == 0
    assert first(x, y).std_dev == pytest.approx(0.1, rel=1e-9)


def test_cautions_are_pickled_and_sources_stay_themselves():
    answer = drain_refill("8.9 ± 0.3 L", "8.9 L", times=3)
    assert uncertainty.caution(pickle.loads(pickle.dumps(answer))) == uncertainty.CURVED
    one = drain_refill("2.9 ± 0.1 L", "8 L")
    assert (copy.deepcopy(one) - one).std_dev == 0
    assert (pickle.loads(pickle.dumps(one)) - one).std_dev == 0


def test_kelvin_is_an_interval_where_one_is_expected():
    assert argument("interval").value("10 K") == argument("interval").value(APP.Quantity(10, "kelvin")) == 10
    assert argument("temperature").value(APP.Quantity(300.15, "kelvin")) == pytest.approx(27)
    assert argument("interval").value(OTHER.Quantity(18.0, "delta_degF")) == pytest.approx(10)
    with pytest.raises(UnitError, match="Δ°C"):
        argument("interval").value(APP.Quantity(10, "degC"))
    with pytest.raises(UnitError):
        argument("temperature").value(APP.Quantity(10, "delta_degC"))


@pytest.mark.parametrize("unit", ["joule", "kilojoule", "calorie", "BTU", "watt*second", "watt*hour", "electron_volt", "erg"])
@pytest.mark.parametrize("registry", [APP, OTHER])
def test_energy_is_not_a_torque(unit, registry):
    with pytest.raises(UnitError, match="energy"):
        wrench_setting(registry.Quantity(34, unit), "300 mm", "45 mm")


@pytest.mark.parametrize("text", ["3 J", "3 kJ", "3 W·s", "3 cal", "3 BTU", "27 lbs", "12 oz"])
def test_energy_and_mass_in_a_text_are_not_torques(text):
    with pytest.raises(SumpwiseError) as caught:
        wrench_setting(text, "300 mm", "45 mm")
    assert caught.value.argument == "torque"
    assert caught.value.hint or "energy" in str(caught.value)


def test_torque_in_base_units_is_a_torque():
    given = OTHER.Quantity(34.0, "kilogram*meter**2/second**2")
    assert wrench_setting(given, "300 mm", "45 mm").to("N*m").magnitude == pytest.approx(34 * 300 / 345)
    assert argument("torque").value(APP.Quantity(34.0, "kilogram*meter**2/second**2")) == 34.0


@pytest.mark.parametrize("dof", [0, -0.5, -2, math.nan])
def test_degrees_of_freedom_are_more_than_none(dof):
    assert uncertainty.source(1.0, 0.1, dof=0.5).nominal_value == 1.0
    with pytest.raises(RangeError, match="degrees of freedom"):
        uncertainty.source(1.0, 0.1, dof=dof)


def test_rounding_is_not_a_turning_point_and_a_small_one_is():
    @unit_aware(x=argument("number"), returns="number")
    def thrice(x):
        """Three, but for rounding."""
        return x * 3.0 / x

    @unit_aware(x=argument("number"), returns="number")
    def bowl(x):
        """A parabola that turns at one, where it is a millionth of a millionth."""
        return 1e-12 * (1 + (x - 1) ** 2)

    for value in (0.1, 0.7, 1.3, 5.1, 9.7):
        assert uncertainty.caution(thrice(uncertainty.source(value, 0.01))) == ""
    assert uncertainty.caution(bowl(uncertainty.source(1.0, 0.1))) == uncertainty.CURVED


def test_what_is_put_together_late_is_what_it_would_have_been():
    a, b = uncertainty.source(0.0, 0.2), uncertainty.source(0.0, 0.4)
    late = uncertainty.Deferred(1.0, 0.5, lambda: {a: 0.3, b: -0.4})
    assert uncertainty.standard(2 * late) == pytest.approx(1.0)
    assert uncertainty.standard(late - 1.5 * a) == pytest.approx(0.4)
    assert uncertainty.standard(late - 1.5 * a + b) == pytest.approx(0, abs=1e-12)


def test_small_answers_keep_their_uncertainty_and_rounding_of_large_ones_is_none():
    @unit_aware(x=argument("number"), returns="number")
    def scaled(x):
        """A millionth of a millionth of it."""
        return 1e-12 * x

    @unit_aware(x=argument("number"), returns="number")
    def offset(x):
        """A million, but for rounding."""
        return (1e6 + x / 3) - x / 3

    assert uncertainty.standard(scaled(uncertainty.source(1.0, 0.1))) == pytest.approx(1e-13, rel=1e-6, abs=0)
    for value in (0.1, 0.7, 1.3, 5.1, 9.7):
        assert uncertainty.standard(offset(uncertainty.source(value, 0.01))) == 0


def test_a_bend_counts_against_what_the_slope_moves():
    @unit_aware(x=argument("number"), returns="number")
    def square(x):
        """The square."""
        return x * x

    # slope 10.01, half a unit either way: 5.005 along the slope and 0.25 beside it
    assert uncertainty.caution(square(uncertainty.source(5.005, 0.5))) == ""
    assert uncertainty.caution(square(uncertainty.source(0.2, 0.5))) == uncertainty.CURVED
    # slope 2x, so that the bend is u/2x of it: flagged from three tenths on
    assert uncertainty.caution(square(uncertainty.source(1.0, 0.59))) == ""
    assert uncertainty.caution(square(uncertainty.source(1.0, 0.61))) == uncertainty.CURVED


def test_an_exact_nothing_among_uncertain_values():
    @unit_aware(x=argument("number"), returns="number")
    def moved(x):
        """Three times the number, plus two."""
        return 3 * x + 2

    doubtful, exact = moved(numpy.array([uncertainty.source(0.0, 0.1), 0.0], dtype=object))
    assert (uncertainty.nominal(doubtful), uncertainty.standard(doubtful)) == (2, pytest.approx(0.3))
    assert (uncertainty.nominal(exact), uncertainty.standard(exact)) == (2, 0)


def test_only_a_share_has_its_bounds():
    assert uncertainty.caution(water_density("20.0(1) °C").m) == ""
    assert uncertainty.caution(volume_at("0.1(1) L", "80 °C", "20 °C", "850 kg/m³").m) == ""
    assert uncertainty.caution(drain_refill("8.85 ± 0.3 L", "8.9 L")) == uncertainty.AT_BOUND


MP = {
    "drain_refill": (
        lambda d, v, n: 1 - (1 - d / v) ** n, lambda d, v, n: drain_refill(d, v, int(n)),
        (("2.9 L", "2.9"), ("7.7 L", "7.7"), ("3", "3")), (0, 1),
    ),
    "exchange": (
        lambda p, c: 1 - mpmath.exp(-4 * p / c) * sum((4 * p / c) ** i / mpmath.factorial(i) for i in range(4)),
        lambda p, c: sumpwise.exchange(p, c, tanks=4).outlet, (("6.5 L", "6.5"), ("8.85 L", "8.85")), (0, 1),
    ),
    "volume_correction_factor": (
        lambda t, rho: mpmath.exp(-mpmath.mpf("0.6278") / rho * (t - 15) * (1 + mpmath.mpf("0.8") * mpmath.mpf("0.6278") / rho * (t - 15))),
        sumpwise.volume_correction_factor, (("82.5 °C", "82.5"), ("847 kg/m³", "847")), (0, 1),
    ),
    "wrench_setting": (
        lambda t, length, e, a: t * length / (length + e * mpmath.cos(a * mpmath.pi / 180)), sumpwise.wrench_setting,
        (("34 N·m", "34"), ("300 mm", "300"), ("45 mm", "45"), ("30 deg", "30")), (0, 1, 2, 3),
    ),
}  # fmt: skip


@pytest.mark.parametrize(("closed", "function", "arguments", "positions"), MP.values(), ids=MP.keys())
def test_derivatives_against_fifty_digits(closed, function, arguments, positions):
    plain = [mpmath.mpf(number) for _, number in arguments]
    for position in positions:
        texts = [text for text, _ in arguments]
        unit = texts[position].split(" ", 1)[1]
        size = 1e-3 * float(plain[position])
        spread = f"{size!r} {'Δ°C' if unit == '°C' else unit}"
        given = [measured(t, standard=spread) if i == position else t for i, t in enumerate(texts)]
        with mpmath.workdps(50):
            exact = mpmath.diff(lambda x, i=position: closed(*plain[:i], x, *plain[i + 1 :]), plain[position])
        answer = function(*given)
        [(_, contribution)] = uncertainty.contributions(getattr(answer, "magnitude", answer))
        assert contribution / size == pytest.approx(float(exact), rel=2e-10)
        column = function(*[measured([t, t], standard=spread) if i == position else t for i, t in enumerate(texts)])
        assert getattr(column, "magnitude", column).std_dev / size == pytest.approx([abs(float(exact))] * 2, rel=1e-8)


def test_the_shorter_way_of_single_values_says_what_the_longer_says():
    one, two = measured("2.9 L", standard="0.1 L"), measured("7.7 L", standard="0.2 L")
    for times in (1, 3, 12):
        short = drain_refill(one, two, times)
        [long] = drain_refill([one], two, times)
        assert short.nominal_value == long.nominal_value
        assert uncertainty.derivatives(short) == pytest.approx(uncertainty.derivatives(long), rel=1e-11)  # numpy's own power in between
        assert uncertainty.caution(short) == uncertainty.caution(long)


def test_columns_are_marked_where_their_rows_are():
    """A row of a column bends where the same value alone bends, and has the same standard uncertainty."""
    @unit_aware(x=argument("number"), returns="number")
    def square(x):
        """The square, and something beside it."""
        return x * x + 100.0

    @unit_aware(x=argument("number"), returns="number")
    def steep(x):
        """A power that curves within a small uncertainty."""
        return x**12

    values = [(at, u * at) for at in (0.7, 1.0, 5.0) for u in (0.001, 0.01, 0.02, 0.04, 0.05, 0.055, 0.06, 0.09)]
    column = measured(numpy.array([at for at, _ in values]), standard=numpy.array([u for _, u in values]))
    for function in (square, steep):
        together, alone = function(column), [function(uncertainty.source(*one)) for one in values]
        assert [uncertainty.caution(together[i]) for i in range(len(values))] == [uncertainty.caution(one) for one in alone]
        spreads = [uncertainty.standard(together[i]) for i in range(len(values))]
        assert spreads == pytest.approx([uncertainty.standard(one) for one in alone], rel=1e-6)
    assert len({uncertainty.caution(one) for one in alone}) == 2


def test_a_large_answer_has_its_uncertainty_in_proportion():
    """What counts as rounding depends on its share of the answer, however large that is."""
    for size in (1.0, 1e9, 1e15, 1e30):
        doubtful = volume_at(measured(f"{size!r} L", standard=f"{size * 1e-4!r} L"), "20 °C", "60 °C", "850 kg/m³")
        assert uncertainty.standard(doubtful.magnitude) == pytest.approx(1e-4 * uncertainty.nominal(doubtful.magnitude), rel=1e-6)


def test_an_array_of_no_dimension_is_what_it_holds():
    held = numpy.array(uncertainty.source(3.0, 0.25), dtype=object)
    assert held.shape == ()
    assert (uncertainty.nominal(held), uncertainty.standard(held)) == (3.0, 0.25)


@pytest.mark.parametrize(("said", "later"), [("rectangular", "normal"), ("normal", "rectangular"), ("triangular", "normal")])
def test_a_reading_in_use_fixes_the_shape_of_what_it_shares(said, later):
    name = f"gauge that was {said} before {later}"
    held = sources.common(name, said)
    with pytest.raises(RangeError) as refused:
        sources.shared(name, shape=later)
    assert refused.value.code == "uncertainty.source"
    assert uncertainty.standard(held - sources.shared(name, shape=said)) == 0
