"""Measurement: reading, refusals, budgets of dimensional results, sampling of the library's own functions, identity of sources."""

from __future__ import annotations

import copy
import inspect
import json
import math
import pickle
from fractions import Fraction

import mpmath
import numpy
import pint
import pytest

from sumpwise import (
    RangeError,
    SumpwiseError,
    UnitError,
    budget,
    coverage_factor,
    drain_refill,
    exchange,
    expanded,
    measured,
    monte_carlo,
    monte_carlo_adaptive,
    normalized_error,
    pooled,
    quantity,
    span,
    standard_uncertainty,
    validate,
    volume_at,
    zeta_score,
)
from sumpwise.measurement import sampling
from sumpwise.measurement.accumulator import Accumulator
from sumpwise.measurement.coverage import _expansion, effective_dof
from sumpwise.measurement.sampling import numerical_tolerance
from sumpwise.quantities.boundary import argument, unit_aware


def spread(value):
    return value.magnitude.std_dev


@pytest.mark.parametrize(
    ("shape", "divisor"),
    [("rectangular", 3**0.5), ("triangular", 6**0.5), ("arcsine", 2**0.5), ("resolution", 12**0.5), ("normal", 2)],
)
def test_standard_uncertainty_of_each_shape(shape, divisor):
    assert standard_uncertainty(0.6, shape) == pytest.approx(0.6 / divisor, rel=1e-15)
    assert standard_uncertainty("0.6 L", shape).m_as("mL") == pytest.approx(600 / divisor)
    assert spread(measured("8 L", limits="0.6 L", shape=shape)) == pytest.approx(0.6 / divisor)
    (source,) = measured("8 L", limits="0.6 L", shape=shape).magnitude.derivatives
    assert source.shape == ("rectangular" if shape == "resolution" else shape)
    assert standard_uncertainty(numpy.array([0.6, 1.2]), shape) == pytest.approx([0.6 / divisor, 1.2 / divisor])


def test_measured_keeps_unit_registry_shape_and_name():
    registry = pint.UnitRegistry()
    value = measured(registry.Quantity(5.0, "quart"), limits="100 mL", name="jug")
    assert value._REGISTRY is registry
    assert str(value.units) == "quart"
    assert spread(value) == pytest.approx(0.1 / 3**0.5 / 0.946352946)
    (source,) = value.magnitude.derivatives
    assert (source.shape, source.tag) == ("rectangular", "jug")
    assert measured("8 L", expanded="0.3 L").magnitude.std_dev == pytest.approx(0.15)
    assert measured("8 L", expanded="0.3 L", k=3).magnitude.std_dev == pytest.approx(0.1)


@pytest.mark.parametrize(("limits", "width"), [("2 °C", 2), ("2 K", 2), ("2 Δ°C", 2), ("3.6 °F", 2)])
def test_beside_a_temperature_degrees_are_an_interval(limits, width):
    assert spread(measured("86 °C", limits=limits)) == pytest.approx(width / 3**0.5)
    assert standard_uncertainty("2 °C").m_as("delta_degree_Celsius") == pytest.approx(2 / 3**0.5)


def test_spreads_may_be_quantities():
    registry = pint.UnitRegistry()
    for half, unit in ((3.6, "delta_degree_Fahrenheit"), (2.0, "degree_Celsius"), (2.0, "kelvin")):
        assert spread(measured("86 °C", limits=registry.Quantity(half, unit))) == pytest.approx(2 / 3**0.5)
    with pytest.raises(UnitError, match="interval of temperature"):
        measured("86 °C", limits=registry.Quantity(2.0, "liter"))
    assert standard_uncertainty("3 %", "rectangular") == pytest.approx(0.03 / 3**0.5)


def test_zero_uncertainty_is_the_plain_value():
    assert measured("8 L", limits="0 L").magnitude.__class__ is float
    assert measured(0.5, standard=0) == 0.5


@pytest.mark.parametrize(
    ("arguments", "kind", "words"),
    [
        ({"value": "8 L"}, RangeError, "read 'none of them': takes exactly one"),
        ({"value": "8 L", "limits": "1 L", "standard": "1 L"}, RangeError, "read 'limits, standard': takes exactly one"),
        ({"value": "8 L", "limits": "1 N·m"}, UnitError, "volume"),
        ({"value": "8 L", "limits": 1}, UnitError, "unit"),
        ({"value": "8 °C", "limits": 1}, UnitError, "interval"),
        ({"value": "8 °C", "limits": "1 L"}, SumpwiseError, "L"),
        ({"value": "8 °C", "limits": "2 ± 1 °C"}, RangeError, "must not have its own"),
        ({"value": "8 ± 1 L", "limits": "1 L"}, RangeError, "has an uncertainty already"),
        ({"value": "8 L", "limits": "1.0 ± 0.1 L"}, RangeError, "must not have its own"),
        ({"value": "8 L", "limits": "-1 L"}, RangeError, "out of range"),
        ({"value": "8 °C", "limits": "-1 °C"}, RangeError, "out of range"),
        ({"value": "8 L", "limits": "1 L", "shape": "square"}, RangeError, "rectangular"),
        ({"value": "8 L", "expanded": "1 L", "k": 0}, RangeError, "above 0"),
        ({"value": "8 L", "expanded": "1 L", "k": [2, 3]}, RangeError, "takes one value"),
        ({"value": "8 L", "expanded": "1 L", "k": measured(2, standard=0.1)}, RangeError, "not have an uncertainty .give the factor"),
        ({"value": "8 L", "limits": "1 L", "dof": 0}, RangeError, "above 0"),
        ({"value": float("nan"), "limits": 1}, RangeError, "finite"),
        ({"value": [1.0, 2.0], "limits": [1, 1, 1]}, RangeError, "not as long as the values"),
        ({"value": "5.2 L", "limits": ("5.0 L", "5.4 L")}, RangeError, "several uncertainties to one value .give one half-width"),
        ({"value": 5.2, "standard": [0.1, 0.2]}, RangeError, "several uncertainties to one value"),
        ({"value": "5.2 L", "limits": span("5.0-5.4 L")}, RangeError, "limits: read Span.5.0-5.4 L.: is a span; expected one value"),
        ({"value": "5.2 L", "limits": "5.0-5.4 L"}, SumpwiseError, "is a span"),
        ({"value": "80 °C", "limits": span("78-82 °C")}, RangeError, "is a span"),
        ({"value": "80 °C", "limits": "78-82 °C"}, SumpwiseError, "is a span"),
    ],
)
def test_measured_refuses(arguments, kind, words):
    with pytest.raises(kind, match=words):
        measured(**arguments)


@pytest.mark.parametrize(
    "call",
    [
        lambda: standard_uncertainty("-0.1 L"),
        lambda: standard_uncertainty(1, "bell"),
        lambda: coverage_factor(1.0),
        lambda: coverage_factor(0.95, 0),
        lambda: coverage_factor(0.95, [3, 4]),
        lambda: coverage_factor(0.95, math.nan),
        lambda: effective_dof([math.inf], [3]),
        lambda: budget("8 L"),
        lambda: budget(numpy.array([1.0, 2.0])),
        lambda: expanded(measured(1, standard=1), 95),
        lambda: zeta_score("1 L", "0.1 L", "1 N·m", "0.1 L"),
        lambda: zeta_score("1 L", "0 L", "2 L", "0 L"),
        lambda: normalized_error("1 L", "-0.1 L", "2 L", "0.1 L"),
        lambda: monte_carlo(lambda x: x, [1.0], draws=10),
        lambda: monte_carlo("no such function", [1.0]),
        lambda: monte_carlo(lambda x: x[:3], [measured(1, standard=1)]),
        lambda: monte_carlo(lambda x: [str(v) for v in x], [measured(1, standard=1)]),
        lambda: monte_carlo(numpy.log, [measured(1, standard=1)], seed=1),
        lambda: monte_carlo(exchange, ["9 L", "9.0 ± 0.3 L"]),
        lambda: monte_carlo(exchange, ["9 L", "9.0 ± 0.3 L"], part="sum"),
        lambda: monte_carlo(drain_refill, {"drain": "3.3 ± 0.1 L", "capacity": "9 L"}),
        lambda: monte_carlo(drain_refill, ["3.3 ± 0.1 L", "9 L", 1, 0, 1, None, 7]),
        lambda: monte_carlo(lambda x: x, [numpy.array([1.0, 2.0])]),
        lambda: monte_carlo(lambda x: x, [drain_refill("8.9 ± 0.3 L", "8.9 L", 3)]),
        lambda: monte_carlo(drain_refill, ["9.3 ± 0.1 L", "9 L"]),
        lambda: monte_carlo_adaptive(lambda x: x, [measured(1, standard=1)], digits=0),
        lambda: monte_carlo_adaptive(lambda x: x, [measured(1, standard=1)], most=19_999),
        lambda: validate(lambda x: x, [1.0]),
        lambda: validate(numpy.log, [measured(1e-9, standard=1)]),
    ],
)
def test_refused_at_once(call):
    with pytest.raises(SumpwiseError) as caught:
        call()
    assert str(caught.value)


@pytest.mark.parametrize("score", [zeta_score, normalized_error])
def test_results_are_compared_that_can_be(score):
    assert score("1 L", "0 L", "2 L", "0.1 L") == pytest.approx(-10)
    assert score("1 L", "0.1 L", "2 L", "0 L") == pytest.approx(-10)
    assert score(["1 L", "2 L"], "0.1 L", "2 L", "0 L") == pytest.approx([-10, 0])
    for exact in (("1 L", "0 L", "2 L", "0 L"), ("1 L", ["0.1 L", "0 L"], "2 L", "0 L")):
        with pytest.raises(RangeError, match="two exact values") as caught:
            score(*exact)
        assert caught.value.argument.startswith("u_")
    two, three = ["1 L", "2 L"], ["1 L", "2 L", "3 L"]
    for unlike in ((two, "1 L", three, "1 L"), (two, three, "1 L", "1 L"), ("1 L", two, "1 L", three), (two, "1 L", "1 L", three)):
        with pytest.raises(RangeError, match="same shape"):
            score(*unlike)


def test_a_half_width_is_not_a_share():
    assert budget(standard_uncertainty(measured(0.1, standard=0.08))).caution == ""


def test_budget_of_a_dimensional_result_prints():
    pail, jug = measured("3.35 L", standard="30 mL", name="pail"), measured("3.7 L", limits="20 mL", name="jug")
    report = budget(jug - pail)
    assert [row.name for row in report.rows] == ["pail", "jug"]
    assert report.rows[0].contribution.m_as("mL") == pytest.approx(-30)
    assert report.standard_uncertainty.m_as("mL") == pytest.approx(math.hypot(30, 20 / 3**0.5))
    text = str(report)
    assert text.splitlines()[1].split()[:2] == ["pail", "-0.03"]
    assert "liter" in text
    assert str(expanded(jug - pail)).startswith("(0.35 ± 0.063) liter, k = 1.96")


def test_budget_keeps_and_shows_correlation():
    scale = measured(1.0, standard=0.004, name="pail, scale")
    first, second = 3.35 * scale, 7.65 * scale + measured(0, standard=0.03, name="reading")
    together = budget(first + second)
    assert [row.name for row in together.rows] == ["pail, scale", "reading"]
    assert together.rows[0].contribution == pytest.approx(11.0 * 0.004)
    both = budget(first, second)
    assert both.correlations[0] == pytest.approx(7.65 * 0.004 / math.hypot(7.65 * 0.004, 0.03))
    assert both.rows[0].others[0] == pytest.approx(7.65 * 0.004)
    assert "correlation with result 2: +0.7" in str(both)
    assert budget(first, measured(1, standard=1)).correlations == (0.0,)
    assert budget(3.0, first).correlations == budget(first, 3.0).correlations == (0.0,)


def test_a_budget_by_hand():
    # 3-4-5: variances 0.09 and 0.16 of 0.25; the difference shares (0.09 - 0.16)/0.25 with the sum
    a, b = measured(3, standard=0.3, name="a", dof=5), measured(4, standard=0.4, name="b")
    report = budget(a + b, a - b)
    assert str(report).splitlines() == [
        "source  contribution  share   shape   dof  in result 2",
        "b       +0.4          64.0 %  normal  inf  -0.4",
        "a       +0.3          36.0 %  normal  5    +0.3",
        "result 7, standard uncertainty 0.5",
        "correlation with result 2: -0.280",
    ]
    assert repr(report) == "<Budget: result 7, standard uncertainty 0.5, 2 sources>"
    assert report.dof == pytest.approx(0.25**2 / (0.09**2 / 5))  # Welch and Satterthwaite
    assert [row.others for row in report.rows] == [(pytest.approx(-0.4),), (pytest.approx(0.3),)]
    assert str(expanded(measured(7, standard=0.5))) == "(7 ± 0.98), k = 1.96, 95 %"
    assert str(expanded(measured("7 L", standard="0.5 L"), 0.9545)) == "(7 ± 1) liter, k = 2, 95.45 %"


@pytest.mark.parametrize(("share", "decides"), [(0.69, False), (0.71, True)])
def test_a_source_that_is_not_normal_decides_from_seven_tenths_of_the_variance(share, decides):
    box, bell = measured(0, limits=(3 * share) ** 0.5), measured(0, standard=(1 - share) ** 0.5)
    report = budget(box + bell)
    assert max(row.share for row in report.rows) == pytest.approx(share)
    assert bool(expanded(box + bell).caution) == decides


def test_budget_of_a_plain_number_is_empty():
    report = budget(3.0)
    assert (report.rows, report.standard_uncertainty, report.dof) == ((), 0.0, math.inf)
    assert expanded(3.0).expanded_uncertainty == 0.0


def test_budget_and_expanded_carry_the_caution():
    turning = drain_refill("8.9 ± 0.3 L", "8.9 L", 3)
    assert "monte_carlo" in budget(turning).caution
    assert "caution" in str(budget(turning))
    assert "monte_carlo" in expanded(turning).caution
    assert "rectangular" in expanded(measured("8 L", limits="1 L")).caution
    assert expanded(measured("8 L", standard="1 L")).caution == ""


@unit_aware(temperature=argument("temperature"), returns="temperature")
def ten_warmer(temperature):
    """Ten degrees more."""
    return temperature + 10


def test_temperatures_have_interval_spreads():
    report = expanded(measured("86 °C", standard="1 °C"))
    assert report.lower.m_as("degC") == pytest.approx(86 - 1.959964, abs=1e-6)
    assert budget(measured("86 °C", standard="1 °C")).rows[0].contribution.m_as("delta_degree_Celsius") == pytest.approx(1)
    warmed = validate(ten_warmer, ["20.0(10) °C"], seed=1)
    assert warmed.interval.upper.m_as("degC") == pytest.approx(30 + 1.959964, abs=1e-4)
    assert warmed.tolerance.m_as("delta_degC") == pytest.approx(0.5)
    assert warmed.lower_difference.m_as("delta_degC") < 0.1
    drawn = monte_carlo(lambda t: t, [measured("86 °F", standard="1.8 °F")], draws=2000, seed=1)
    assert drawn.mean.m_as("degC") == pytest.approx(30, abs=0.1)
    assert drawn.standard_uncertainty.m_as("delta_degree_Celsius") == pytest.approx(1, rel=0.1)


def test_effective_dof_is_cut_to_a_whole_number_for_the_factor_only():
    report = expanded(measured(0, standard=1, dof=4.999999999999))
    assert report.coverage_factor == pytest.approx(coverage_factor(0.95, 5))
    report = expanded(measured(0, standard=1, dof=4.9))
    assert (report.dof, report.coverage_factor) == (4.9, pytest.approx(coverage_factor(0.95, 4)))
    assert expanded(measured(0, standard=1, dof=0.5)).coverage_factor == pytest.approx(coverage_factor(0.95, 0.5))


def test_sources_are_shared_explicitly_through_copies_and_pickles():
    value = measured("3.35 L", standard="0.03 L", name="pail")
    twin = measured("3.35 L", standard="0.03 L", name="pail")
    assert (value - twin).magnitude.std_dev == pytest.approx(0.03 * 2**0.5)
    for same in (value, copy.copy(value), copy.deepcopy(value), pickle.loads(pickle.dumps(value))):
        assert (value - same).magnitude.std_dev == 0.0
    double = 2 * value
    assert (pickle.loads(pickle.dumps(double)) - double).magnitude.std_dev == 0.0


def test_a_shared_error_is_named():
    one, two = (measured(x, limits=a, shared="probe") for x, a in (("86 °C", "2 °C"), ("61 °C", "2 °C")))
    assert (one - two).magnitude.std_dev == 0.0
    assert budget(one).rows[0].name == "probe"
    assert budget(one).rows[0].shape == "rectangular"
    wider = measured("44 °C", limits="6 °C", shared="probe")
    assert (wider - one).magnitude.std_dev == pytest.approx(4 / 3**0.5)
    assert (one - measured("61 °C", limits="2 °C", shared="other probe")).magnitude.std_dev == pytest.approx(2 / 3**0.5 * 2**0.5)
    assert measured("44 °C", limits="0 °C", shared="probe").magnitude.__class__ is float
    drawn = monte_carlo(lambda a, b: (a - b).m_as("delta_degree_Celsius"), [one, wider], draws=2000, seed=1)
    assert drawn.standard_uncertainty == pytest.approx(4 / 3**0.5, rel=0.03)


@pytest.mark.parametrize(
    ("value", "sigma"),
    [
        (measured(1, limits=0.3), 0.3 / 3**0.5),
        (measured(1, limits=0.3, shape="triangular"), 0.3 / 6**0.5),
        (measured(1, limits=0.3, shape="arcsine"), 0.3 / 2**0.5),
        (measured(1, limits=0.3, shape="resolution"), 0.3 / 12**0.5),
        (measured(1, standard=0.3, dof=6), 0.3 * (6 / 4) ** 0.5),
        (measured(1, limits=0.3, dof=1), 0.3 / 3**0.5 * (1 + 1 / 6) ** 0.5),
    ],
)
def test_every_shape_is_drawn_as_it_is(value, sigma):
    drawn = monte_carlo(lambda x: x, [value], draws=200_000, coverage=0.9999, seed=3)
    assert drawn.mean == pytest.approx(1, abs=5 * sigma / 200_000**0.5)
    assert drawn.standard_uncertainty == pytest.approx(sigma, rel=0.01)
    (source,) = value.derivatives
    if source.shape != "normal" and source.dof == math.inf:
        half = source.std_dev * {"rectangular": 3, "triangular": 6, "arcsine": 2}[source.shape] ** 0.5
        assert 1 - half <= drawn.symmetric_interval.lower < 1 - 0.95 * half
        assert 1 + 0.95 * half < drawn.symmetric_interval.upper <= 1 + half


def test_inputs_arrive_as_they_were_given():
    seen = {}

    def look(volume, share, plain, fixed):
        seen.update(volume=volume, share=share, plain=plain, fixed=fixed)
        return volume * share

    drawn = monte_carlo(look, ["8.0 ± 0.3 qt", measured(0.5, standard=0.01), 3, quantity("2 L")], draws=200, seed=1)
    assert str(seen["volume"].units) == "quart"
    assert seen["share"].__class__ is numpy.ndarray
    assert (seen["plain"], seen["fixed"].magnitude) == (3, 2.0)
    assert str(drawn.mean.units) == "quart"
    assert drawn.symmetric_interval.lower < drawn.mean < drawn.symmetric_interval.upper
    assert monte_carlo(lambda *, x: x, {"x": measured(1, standard=0.1)}, draws=200, seed=1).draws == 200
    assert monte_carlo(lambda v: v / quantity("4 L"), ["8.0 ± 0.3 qt"], draws=200, seed=1).mean == pytest.approx(1.893, abs=0.02)


def test_shared_sources_are_drawn_once():
    scale = measured(1.0, standard=0.1)
    drawn = monte_carlo(lambda a, b: a - b, [3 * scale, 3 * scale], draws=1000, seed=1)
    assert (drawn.mean, drawn.standard_uncertainty) == (0.0, 0.0)
    independent = monte_carlo(lambda a, b: a - b, [measured(3.0, standard=0.3), measured(3.0, standard=0.3)], draws=20_000, seed=1)
    assert independent.standard_uncertainty == pytest.approx(0.3 * 2**0.5, rel=0.03)


def test_a_source_that_a_result_does_not_have_contributes_nothing_to_it():
    a, b = measured(3.0, standard=0.3, name="a"), measured(4.0, standard=0.4, name="b")
    rows = {row.name: row for row in budget(a, b).rows}
    assert (rows["a"].contribution, rows["a"].others) == (0.3, (0.0,))
    assert (rows["b"].contribution, rows["b"].others) == (0.0, (0.4,))
    assert budget(a, b).correlations == (0.0,)


def test_a_budget_in_one_line():
    found = budget(measured(3.0, standard=0.3, name="a") + measured(4.0, standard=0.4, name="b"))
    assert repr(found) == "<Budget: result 7, standard uncertainty 0.5, 2 sources>"
    assert repr(found.rows[1]).startswith("BudgetRow(name='a', contribution=0.3, share=0.36")
    assert repr(found.rows[1]).endswith(", shape='normal', dof=inf, others=())")


def test_the_uncertainty_of_a_temperature_is_an_interval():
    found = budget(measured("86 °C", standard="1.5 °C"))
    assert str(found.value.units) == "degree_Celsius"
    assert str(found.standard_uncertainty.units) == str(found.rows[0].contribution.units) == "delta_degree_Celsius"


@pytest.mark.parametrize("shape", ["arcsine", "rectangular", "triangular"])
def test_a_caution_where_one_source_decides_the_shape(shape):
    one = measured(1.0, limits=0.3, shape=shape)
    assert shape in expanded(one).caution
    assert expanded(one + measured(1.0, standard=1.0)).caution == ""


def test_seeds_are_local():
    before = numpy.random.get_state()[1].copy()
    one, two = (monte_carlo("sum", [measured(1, standard=1), 2], draws=1000, seed=7) for _ in range(2))
    assert one == two
    assert one != monte_carlo("sum", [measured(1, standard=1), 2], draws=1000, seed=8)
    assert monte_carlo("product", [measured(1, standard=1), 2], draws=1000, seed=7).mean == pytest.approx(2 * (one.mean - 2))
    assert (numpy.random.get_state()[1] == before).all()


def test_the_librarys_own_functions_run_by_their_kernel_within_their_limits():
    # More drained than there is: impossible, so those draws are left out, the share stays at or below one.
    drawn = monte_carlo(drain_refill, ["8.9 ± 0.3 L", "8.9 L", 3], draws=20_000, seed=1)
    assert drawn.symmetric_interval.upper <= 1.0
    assert drawn.refused == pytest.approx(20_000, rel=0.05)
    assert drawn.standard_uncertainty > 0
    assert "draws" in str(drawn)
    named = monte_carlo("drain_refill", {"drained": "3.3 ± 0.1 L", "capacity": "8.85 L"}, draws=1000, seed=1)
    assert named == monte_carlo(drain_refill, ["3.3 ± 0.1 L", "8.85 L"], draws=1000, seed=1)
    inside = monte_carlo(exchange, ["9.0 ± 0.3 L", "9 L"], draws=20_000, seed=1, part="resident")
    assert inside.mean == pytest.approx(1 - math.exp(-1), abs=1e-3)
    assert inside.standard_uncertainty == pytest.approx(math.exp(-1) * 0.3 / 3**0.5 / 9, rel=0.02)
    grown = monte_carlo(volume_at, ["10.0 ± 0.1 qt", "80 °C", "20 °C", "850 kg/m³"], draws=1000, seed=1)
    assert str(grown.mean.units) == "quart"
    first = volume_at("10.0 ± 0.1 qt", "80 °C", "20 °C", "850 kg/m³")
    assert grown.standard_uncertainty.magnitude == pytest.approx(first.magnitude.std_dev, rel=0.05)


@pytest.mark.parametrize(
    ("limits", "middle"),
    [
        ({"above": 0.0}, 0.5), ({"minimum": 0.0}, 0.5), ({"below": 0.0}, -0.5), ({"maximum": 0.0}, -0.5),
        ({"minimum": -0.5, "maximum": 0.5}, 0.0),
    ],
)  # fmt: skip
def test_only_possible_draws_count(limits, middle):
    @unit_aware(x=argument("number", **limits), returns="number")
    def same(x):
        """The number itself."""
        return x

    # Between ±1 around a best value that the limits allow.
    best = 1e-9 if middle > 0 else -1e-9
    drawn = monte_carlo(same, [measured(best, limits=1)], draws=20_000, seed=1)
    assert drawn.mean == pytest.approx(middle, abs=0.01)
    assert drawn.refused == pytest.approx(20_000, rel=0.05)


def test_a_limit_itself_is_possible():
    all_of_it = measured("8.9 L", limits="0.3 L")
    drawn = monte_carlo(drain_refill, {"drained": all_of_it, "capacity": all_of_it}, draws=1000, seed=1)
    assert (drawn.mean, drawn.refused) == (1.0, 0)


def test_one_possible_draw_in_seven_hundred_is_too_few(monkeypatch):
    @unit_aware(x=argument("number", minimum=-0.0017, maximum=0.0017), returns="number")
    def same(x):
        """The number itself."""
        return x

    # A normal draw lies within ±0.0017 with a chance of 0.0034/√(2π) = 0.00136.
    monkeypatch.setattr(sampling, "CHUNK", 100)
    with pytest.raises(RangeError, match="hardly any draw"):
        monte_carlo(same, [measured(0, standard=1)], draws=1000, seed=1)


def test_an_answer_comes_in_the_registry_that_was_given_whatever_stands_before():
    registry = pint.UnitRegistry()
    drawn = monte_carlo(lambda twice, volume: twice * volume, [2.0, registry.Quantity(1.0, "quart")], draws=100, seed=1)
    assert drawn.mean._REGISTRY is registry


def test_kinds_that_do_not_add_or_multiply_are_refused():
    for name, inputs in (("sum", ["1.0(1) L", "5.0(1) °C"]), ("sum", ["1.0(1) L", 2]), ("product", ["85(1) °C", "2.0(1) L"])):
        with pytest.raises(SumpwiseError):
            monte_carlo(name, inputs, draws=100)


def test_a_part_that_is_not_there_is_answered_with_those_that_are():
    inputs = ["9 L", "9.0 ± 0.3 L"]
    both, one = "resident, outlet", "one answer only"
    for part, function, says in (("", exchange, both), ("sum", exchange, both), ("sum", drain_refill, one)):
        with pytest.raises(SumpwiseError) as caught:
            monte_carlo(function, inputs, part=part)
        assert (caught.value.argument, caught.value.allowed) == ("part", says)


def test_draws_in_words():
    drawn = monte_carlo("sum", [measured(1, standard=0.1), 2], draws=100, seed=1, coverage=0.9)
    low, high = drawn.symmetric_interval.lower, drawn.symmetric_interval.upper
    assert str(drawn) == f"{drawn.mean:.6g}, u = {drawn.standard_uncertainty:.2g}, 90 % within {low:.6g} to {high:.6g} (100 draws)"
    assert drawn._below() == ["100 draws"]
    some = monte_carlo(drain_refill, ["8.9 ± 0.3 L", "8.9 L", 3], draws=100, seed=1)
    assert some._below() == [f"100 draws, {some.refused} left out as impossible"]
    assert some.refused > 50


def test_rounds_are_of_ten_thousand_or_what_the_coverage_needs():
    one = [measured(1, standard=1)]
    assert monte_carlo_adaptive(lambda x: x, one, digits=4, most=20_000, seed=1).draws == 20_000
    assert monte_carlo_adaptive(lambda x: x, one, digits=4, coverage=0.9997, most=700_000, seed=1).draws == 2 * 333_334


def test_one_possible_draw_in_two_hundred_is_enough_for_a_thousand():
    @unit_aware(x=argument("number", minimum=-0.00627, maximum=0.00627), returns="number")
    def same(x):
        """The number itself."""
        return x

    drawn = monte_carlo(same, [measured(0, standard=1)], draws=1000, seed=1)
    assert drawn.refused == pytest.approx(199_000, rel=0.15)


def test_first_order_is_compared_in_the_unit_of_the_answer():
    assert validate(volume_at, ["10.0(1) qt", "80 °C", "20 °C", "850 kg/m³"], seed=1)
    assert validate(lambda x: x, ["185(5) °F"], seed=1)


def test_the_terms_of_next_higher_order_of_an_exponential():
    # GUM 5.1.2, note: with all derivatives one, u² = 0.1² + (1/2 + 1) 0.1⁴.
    found = validate(numpy.exp, [measured(0.0, standard=0.1)], seed=1)
    assert found.second_order_uncertainty == pytest.approx(math.sqrt(0.01 + 1.5e-4), rel=5e-6)
    assert found.standard_uncertainty == pytest.approx(0.1, rel=1e-9)
    # a product of two factors with best value 0: the mixed derivative alone, 0.3 · 0.5
    flat = validate("product", [measured(0.0, standard=0.3), measured(0.0, standard=0.5)], seed=1)
    assert flat.second_order_uncertainty == pytest.approx(0.15, rel=1e-9)


def test_a_validation_draws_until_a_fifth_of_its_tolerance_is_stable():
    """JCGM 101:2008, 8.2: the Monte Carlo result is compared with a tolerance five times the one it was drawn to."""
    x = measured(1.0, standard=0.4)
    drawn = validate(lambda v: v, [x], digits=1, seed=3).monte_carlo
    rounds = drawn.draws // 10_000
    again = numpy.random.default_rng(3)
    moments = []
    for _ in range(rounds):
        draws = numpy.sort(1.0 + 0.4 * again.standard_normal(10_000))
        moments.append((draws.mean(), draws.std(ddof=1), draws[249], draws[9749]))
    spreads = [2 * numpy.std(moments[:h], axis=0, ddof=1).max() / math.sqrt(h) for h in (rounds - 1, rounds)]
    assert spreads[1] <= 0.05 / 5 < spreads[0]


def test_an_interval_that_covers_three_in_ten():
    drawn = monte_carlo(lambda x: x, [measured(0, standard=1)], draws=100_000, coverage=0.3, seed=1)
    assert drawn.symmetric_interval.upper == pytest.approx(0.3853, abs=0.01)  # the normal quantile of 0.65
    assert drawn.symmetric_interval.lower == pytest.approx(-0.3853, abs=0.01)


def test_draws_without_an_answer_are_counted():
    seen = []

    def root(x):
        seen.append(int((x < 0).sum()))
        return numpy.sqrt(x)

    with pytest.raises(RangeError) as caught:
        monte_carlo(root, [measured(1.0, standard=1.0)], draws=1000, seed=1)
    assert caught.value.problem == f"{sum(seen)} of 1000 draws have no finite answer"


def test_an_input_that_cannot_be_read_is_named():
    for inputs, named in (([1.0, "5 quatsch"], "inputs[1]"), ({"a": 1.0, "b": "5 quatsch"}, "b")):
        with pytest.raises(UnitError) as caught:
            monte_carlo(lambda a, b: a, inputs)
        assert caught.value.argument == named


def test_a_function_with_a_kernel_of_its_own_kind_is_any_function():
    def twice(x):
        return 2 * x

    for attribute in ("kernel", "arguments"):
        setattr(twice, attribute, "something of the caller's")
        assert monte_carlo(twice, [measured(1.0, standard=0.1)], draws=1000, seed=1).mean == pytest.approx(2, abs=0.05)
        delattr(twice, attribute)


def test_an_exact_uncertain_number_is_a_plain_one():
    doubt = measured(1, standard=0.1)
    drawn = monte_carlo("product", [doubt, 0 * doubt + 3], draws=1000, seed=1)
    assert drawn.mean == pytest.approx(3 * monte_carlo("sum", [doubt, 0], draws=1000, seed=1).mean)


def test_nothing_varies_in_a_constant():
    drawn = monte_carlo_adaptive(lambda x: 0 * x + 1, [measured(1, standard=1)], seed=1, most=50_000)
    assert (drawn.stable, drawn.draws, drawn.standard_uncertainty) == (True, 20_000, 0)


def test_rounds_pool_to_the_deviation_of_all_draws():
    rounds = numpy.random.default_rng(1).normal([[0.0], [0.5], [3.0]], [[1.0], [2.0], [0.1]], (3, 7))
    pooled = sampling._pooled(rounds.mean(axis=1), rounds.std(axis=1, ddof=1), 7)
    assert pooled == pytest.approx(rounds.std(ddof=1), rel=1e-14)


def test_limits_that_are_inexactly_known_are_drawn_so():
    # GUM G.4.2: dof = 1/(2r²), so five degrees are half-widths good to r = √0.1; a factor even within ±r adds r²/3 to a variance of one.
    drawn = numpy.empty(1_000_000)
    for shape in ("rectangular", "triangular", "arcsine"):
        sampling.draw_into(drawn, shape, 5.0, numpy.random.default_rng(1))
        assert drawn.var() == pytest.approx(1 + 0.1 / 3, abs=0.005)
        sampling.draw_into(drawn, shape, math.inf, numpy.random.default_rng(1))
        assert drawn.var() == pytest.approx(1, abs=0.005)


def test_an_interval_of_few_draws_leaves_one_out():
    drawn = monte_carlo(lambda x: x, [measured(1, standard=1)], draws=100, coverage=0.9999, seed=1)
    assert drawn.symmetric_interval.lower < drawn.symmetric_interval.upper
    assert drawn.shortest_interval.lower < drawn.shortest_interval.upper


def test_without_a_seed_no_two_runs_are_alike():
    one, two = (monte_carlo("sum", [measured(1, standard=1), 2], draws=100) for _ in range(2))
    assert one.mean != two.mean


def test_limits_and_defaults_of_sampling_are_those_that_are_promised():
    assert sampling.DRAWS.value(10**9, "draws") == 10**9
    with pytest.raises(RangeError):
        sampling.DRAWS.value(10**9 + 1, "draws")
    adaptive = inspect.signature(monte_carlo_adaptive).parameters
    assert {name: adaptive[name].default for name in ("digits", "coverage", "most")} == {"digits": 2, "coverage": 0.95, "most": 10**7}
    plain = inspect.signature(monte_carlo).parameters
    assert {name: plain[name].default for name in ("draws", "coverage")} == {"draws": 10**6, "coverage": 0.95}


def test_a_table_of_draws_says_what_its_intervals_cover():
    names = [row[0] for row in monte_carlo("sum", [measured(1, standard=1), 2], draws=100, seed=1, coverage=0.9)._table()[1]]
    assert names == ["mean", "standard uncertainty", "symmetric interval, 90 %", "shortest interval, 90 %"]


def test_too_few_possible_draws_are_refused():
    @unit_aware(x=argument("number", minimum=-1e-9, maximum=1e-9), returns="number")
    def same(x):
        """The number itself."""
        return x

    with pytest.raises(RangeError, match="hardly any draw"):
        monte_carlo(same, [measured(0, standard=1)], draws=100, seed=1)


def test_the_usual_coverage_is_nineteen_in_twenty():
    assert coverage_factor() == pytest.approx(1.959963984540054, rel=1e-14)  # the normal quantile of 0.975


@pytest.mark.parametrize("z", [Fraction(1, 2), Fraction(5, 3), Fraction(3)])
def test_students_expansion_is_the_printed_one(z):
    """Abramowitz and Stegun 26.7.5, the four polynomials as they stand there, in exact fractions."""
    printed = (
        (z**3 + z) / 4, (5 * z**5 + 16 * z**3 + 3 * z) / 96, (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / 384,
        (79 * z**9 + 776 * z**7 + 1482 * z**5 - 1920 * z**3 - 945 * z) / 92160,
    )  # fmt: skip
    for dof in (Fraction(7), Fraction(5, 2), Fraction(3000)):
        assert _expansion(z, dof) == z + sum(term / dof**power for power, term in enumerate(printed, 1))
    assert _expansion(z, 10**18) == z


def test_what_is_taken_back_leaves_no_uncertainty():
    total = Accumulator()
    for sign in (1.0, -1.0):
        for own in (0.1, 0.7)[:: int(sign)]:  # 0.1 + 0.7 - 0.7 - 0.1 is less than nothing in floats
            total.add(1.0, own, {}, sign)
    assert (total.value, total.standard_uncertainty) == (0, 0)


def test_a_vanishing_coverage_needs_a_vanishing_factor():
    assert coverage_factor(1e-17, 3) == 0.0
    assert coverage_factor(1e-6, 3) == pytest.approx(1e-6 * math.pi * math.sqrt(3) / 4, rel=1e-9)


def test_a_bound_that_is_itself_uncertain():
    drawn = monte_carlo(drain_refill, {"drained": "5 L", "capacity": "5.0 ± 1.0 L"}, draws=20_000, seed=1)
    assert drawn.refused == pytest.approx(20_000, rel=0.05)
    assert drawn.mean == pytest.approx(5 * math.log(6 / 5), abs=0.003)  # capacity between 5 and 6
    assert monte_carlo(drain_refill, ["3.0 ± 0.1 L", "9 L"], draws=1000, seed=1).refused == 0


def test_next_order_of_gum_5_1_2():
    # u² with the terms ½fᵢⱼ² + fᵢfᵢⱼⱼ, written out by hand for x·y², y·x² and x³; exact differences, for the models are polynomials.
    x, y, s, t = 2.0, 3.0, 0.3, 0.2
    mixed = (y * y * s) ** 2 + (2 * x * y * t) ** 2 + (2 * x) ** 2 * t**4 / 2 + (2 * y * s * t) ** 2 + 2 * y * y * (s * t) ** 2
    inputs = [measured(x, standard=s), measured(y, standard=t)]
    for model, given in ((lambda a, b: a * b * b, inputs), (lambda b, a: a * b * b, inputs[::-1])):
        check = validate(model, given, seed=1)
        assert check.second_order_uncertainty == pytest.approx(math.sqrt(mixed), rel=1e-9)
        assert check.standard_uncertainty == pytest.approx(math.hypot(y * y * s, 2 * x * y * t), rel=1e-9)
    cubic = 9 * x**4 * s**2 + (6 * x) ** 2 * s**4 / 2 + 3 * x * x * 6 * s**4
    assert validate(lambda a: a**3, inputs[:1], seed=1).second_order_uncertainty == pytest.approx(math.sqrt(cubic), rel=1e-9)


def test_validation_reads_well():
    good = validate(volume_at, ["10.0(1) L", "80 ± 2 °C", "20 °C", "850 kg/m³"], seed=1)
    assert good
    assert str(good).startswith("first order holds")
    assert good.interval.lower.m_as("L") == pytest.approx(good.monte_carlo.symmetric_interval.lower.m_as("L"), abs=0.01)
    bad = validate(lambda x: x * x, [measured(0, standard=0.005)], seed=1)
    assert str(bad).startswith("first order does not hold: at a turning point it gives no uncertainty")
    rough = validate(lambda x: x, [measured(0, standard=1)], digits=3, seed=1, most=30_000)
    assert "settle" in rough.reason


def test_numerical_tolerance_of_clause_7_9_2():
    assert numerical_tolerance(0.000_35, 2) == pytest.approx(0.5e-5)  # 35 × 10⁻⁵
    assert numerical_tolerance(0.000_35, 1) == pytest.approx(0.5e-4)  # 4 × 10⁻⁴
    assert numerical_tolerance(0.996, 2) == pytest.approx(0.05)  # 1.0, so 10 × 10⁻¹
    assert numerical_tolerance(0.000_951, 2) == pytest.approx(0.5e-5)  # 95 × 10⁻⁵, though 1 × 10⁻³ to one digit
    assert numerical_tolerance(2.0, 1) == pytest.approx(0.5)
    assert numerical_tolerance(0, 2) == 0.0


def test_interval_indices_of_clause_7_7():
    # With 100 000 draws of a known order the ends are those the clause names: r = (M - q)/2, and r + q.
    ramp = numpy.arange(1, 1001, dtype=float)

    class Ramp:
        def __init__(self):
            self.seen = 0

        def __call__(self, x):
            return ramp[: x.size]

    drawn = monte_carlo(Ramp(), [measured(0, standard=1)], draws=1000, seed=1)
    assert (drawn.symmetric_interval.lower, drawn.symmetric_interval.upper) == (25.0, 975.0)
    assert drawn.mean == 500.5
    assert drawn.standard_uncertainty == pytest.approx(numpy.std(ramp, ddof=1))
    skewed = numpy.concatenate([numpy.linspace(0, 1, 960), numpy.linspace(10, 90, 40)])
    drawn = monte_carlo(lambda x: skewed, [measured(0, standard=1)], draws=1000, seed=1)
    assert (drawn.shortest_interval.lower, drawn.shortest_interval.upper) == (skewed[0], skewed[950])


def test_memory_stays_with_the_draws():
    import tracemalloc

    inputs = [measured(1 + i, limits=0.1) for i in range(4)]
    monte_carlo(lambda a, b, c, d: a * b / c + d, inputs, draws=1000, seed=1)
    tracemalloc.start()
    monte_carlo(lambda a, b, c, d: a * b / c + d, inputs, draws=10**6, seed=1)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 8 * 10**6 + 6_000_000  # 8 bytes a draw, and the chunks: 86 MB at 10⁷ draws


def test_results_are_plain_data():
    drawn = monte_carlo("sum", [measured(1, standard=1), 2], draws=1000, seed=7)
    assert json.loads(json.dumps([drawn.mean, drawn.standard_uncertainty, drawn.symmetric_interval.lower])) == [
        drawn.mean, drawn.standard_uncertainty, drawn.symmetric_interval.lower,
    ]  # fmt: skip
    assert pickle.loads(pickle.dumps(drawn)) == drawn


def test_agreement_of_volumes_lengths_and_shares():
    assert normalized_error("5.0 L", "0.1 L", "5.2 L", "0.1 L") == pytest.approx(-0.2 / 0.02**0.5)
    assert normalized_error("5.0 L", "0.1 L", "5200 mL", "100 mL") == pytest.approx(-0.2 / 0.02**0.5)
    assert normalized_error(0.5, 0.1, "60 %", "10 %") == pytest.approx(-0.1 / 0.02**0.5)
    for x, y in (("5 L", "5 mm"), ("5 mm", "5 L")):
        with pytest.raises(SumpwiseError) as caught:
            normalized_error(x, x.replace("5", "0.1"), y, y.replace("5", "0.1"))
        assert caught.value.argument == "y"


def test_a_measured_text_is_the_name_of_its_source_and_a_number_has_none():
    assert [row.name for row in budget(measured("5 L", limits="0.1 L")).rows] == ["5 L"]
    assert budget(measured(5, limits=0.1)).rows[0].name == "rectangular source around 5"


@pytest.mark.parametrize("dof", [3, 40.5, 999, 1001, 1999, 2001, 3000, 1e5])
@pytest.mark.parametrize("coverage", [0.5, 0.95, 0.9973, 1 - 1e-6, 1 - 1e-9])
def test_the_coverage_factor_to_twelve_digits(coverage, dof):
    with mpmath.workdps(40):
        n = mpmath.mpf(dof)

        def covered(k):
            return 1 - mpmath.betainc(n / 2, mpmath.mpf(1) / 2, 0, n / (n + k * k), regularized=True) - mpmath.mpf(coverage)

        k = coverage_factor(coverage, dof)
        assert k == pytest.approx(float(mpmath.findroot(covered, mpmath.mpf(k))), rel=1e-12)


def test_the_table_of_a_budget_shows_shares_of_a_hundred():
    one, two = measured("0 L", standard="1 mL", name="one"), measured("0 L", standard="2 mL", name="two")
    shown = str(budget(one + two))
    assert "20.0 %" in shown
    assert "80.0 %" in shown
    assert "101" not in shown
    assert repr(budget(one + two)).startswith("<Budget: ")
    assert "2 sources" in repr(budget(one + two))


@pytest.mark.parametrize("size", [1e-200, 1.0, 1e200])
def test_effective_degrees_of_freedom_do_not_depend_on_the_size(size):
    assert effective_dof([size, size], [5, 5]) == pytest.approx(10)  # two alike count twice


def test_a_single_result_may_be_an_array_of_no_dimension():
    litres = pint.get_application_registry().Quantity(numpy.array(3.0), "litre")
    assert budget(litres).rows == ()
    assert budget(numpy.int64(3)).rows == ()


def test_what_only_another_result_depends_on_has_no_share():
    a, b = measured(3.0, standard=0.3, name="a"), measured(4.0, standard=0.4, name="b")
    assert {row.name: row.share for row in budget(a, b).rows} == {"a": 1.0, "b": 0.0}


def test_occasions_that_agree_pool_to_their_weighted_mean():
    told = pooled(["3.40(10) L", "3.50(10) L"])
    assert told.value.magnitude.nominal_value == pytest.approx(3.45)
    assert told.value.magnitude.std_dev == pytest.approx(0.1 / 2**0.5)
    assert told.between.magnitude == 0
    assert told.chi_squared == pytest.approx(0.5)


def test_two_occasions_that_do_not_agree_are_as_uncertain_as_half_their_difference():
    told = pooled(["3.00(1) L", "3.40(1) L"])
    assert told.value.magnitude.std_dev == pytest.approx(0.2)
    assert f"{told.value:.1f}" == "3.2+/-0.2 liter"


def test_exact_values_pool_by_their_scatter_alone():
    told = pooled(["3.0 L", "3.2 L", "3.4 L"])
    assert told.value.magnitude.std_dev == pytest.approx(0.2 / 3**0.5)
    assert told.between.magnitude == pytest.approx(0.2)
    assert pooled(["3 L", "3 L"]).value.magnitude == 3
    assert pooled(["3.05(10) L", "3 L"]).weights == (0, 1)


def test_a_spread_between_temperatures_is_an_interval():
    told = pooled(["80(1) °C", "90(1) °C"])
    assert told.value.units == told.value._REGISTRY.degC
    assert told.between.to("delta_degF").magnitude == pytest.approx(1.8 * (50 - 1) ** 0.5)


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ([], "empty"), ("3 L", "values"), (["3 L", "3 N·m"], "values[1]"), (["3 L", "x"], "values[1]"), ([1, "3 L"], "values[1]"),
        (None, "values"),
    ],
)
def test_what_cannot_be_pooled_is_refused(values, said):
    with pytest.raises(SumpwiseError) as caught:
        pooled(values)
    assert said in str(caught.value)


def test_a_result_without_uncertainty_owes_nothing_to_anybody():
    x, y = measured(1, standard=0.1, name="x"), measured(2, standard=0.1, name="y")
    assert [(row.name, row.contribution, row.share) for row in budget(x - x, y).rows] == [("y", 0, 0)]
