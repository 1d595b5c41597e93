"""Rhythms over a horizon: the demo's ten years, plans of changes, refusals."""

from __future__ import annotations

import dask.array
import numpy
import pytest

from sumpwise.ageing.history import FluidHistory
from sumpwise.ageing.rates import age_over
from sumpwise.ageing.rhythms import compare_rhythms, over_horizon, repeated_changes
from sumpwise.errors import SumpwiseError

NOW, END = "0 y", "10 y"
DRAIN, EXCHANGE = (0.375, "3.3 L"), (0.77, "11.25 L")
RHYTHMS = {
    "exchange at 0 and 5": [(NOW, *EXCHANGE), ("5 y", *EXCHANGE)],
    "drain yearly": repeated_changes("1 y", NOW, END, *DRAIN),
    "drain every second year": repeated_changes("2 y", NOW, END, *DRAIN),
    "three drains now, then at 2.5, 5, 7.5": [
        *repeated_changes("10 y", NOW, END, *DRAIN, together=3), *repeated_changes("2.5 y", "2.5 y", END, *DRAIN),
    ],
    "exchange now, then drains": [(NOW, *EXCHANGE), *repeated_changes("2.5 y", "2.5 y", END, *DRAIN)],
    "nothing": [],
}
PRINTED = {
    "exchange at 0 and 5": ("4.35", "22.5", "213"),
    "drain yearly": ("3.21", "33.0", "313"),
    "drain every second year": ("5.44", "16.5", "156"),
    "three drains now, then at 2.5, 5, 7.5": ("4.30", "19.8", "188"),
    "exchange now, then drains": ("4.23", "21.15", "200"),
    "nothing": ("14.0", "0", "0"),
}


@pytest.mark.parametrize("name", RHYTHMS)
def test_ten_years_of_the_example_wagon(name):
    found = compare_rhythms(FluidHistory("-9 y"), RHYTHMS, NOW, END, cost_per_litre=132.60 / 14)[name]
    values = (found.average_age.m_as("year"), found.volume.m_as("L"), found.cost)
    for value, printed in zip(values, PRINTED[name], strict=True):
        places = len(printed.partition(".")[2])
        assert f"{value:.{places}f}" == printed
    assert found.number == len(RHYTHMS[name])
    assert "never percent of life left" in found.note


def test_a_learned_share_is_one_source_of_uncertainty_over_all_years():
    import pint

    from sumpwise.quantities.boundary import argument

    share = argument("fraction").value("0.375(20)", "share")
    yearly = over_horizon(FluidHistory("-9 y"), repeated_changes("1 y", NOW, END, share, "3.3 L"), NOW, END, cost_per_litre=9.47)
    step = 1e-5
    up, down = (
        over_horizon(FluidHistory("-9 y"), repeated_changes("1 y", NOW, END, 0.375 + s, "3.3 L"), NOW, END).average_age.magnitude
        for s in (step, -step)
    )
    assert yearly.average_age.magnitude.std_dev == pytest.approx(abs(up - down) / (2 * step) * 0.02, rel=1e-6)
    assert isinstance(yearly.volume, pint.get_application_registry().Quantity)


def test_uncertain_volumes_make_uncertain_money():
    found = over_horizon(FluidHistory("0 y"), [("1 y", 0.5, "3.0(1) L"), ("2 y", 0.5, "3.0(1) L")], "0 y", "3 y", cost_per_litre=10)
    assert found.cost.nominal_value == pytest.approx(60)
    assert found.cost.std_dev == pytest.approx(10 * 0.1 * 2**0.5)
    assert found.volume.magnitude.std_dev == pytest.approx(0.1 * 2**0.5)


def test_volumes_come_back_in_the_unit_of_the_plan():
    changes = repeated_changes("30000 km", "0 km", "90000 km", 0.4, "4 qt")
    found = over_horizon(FluidHistory("0 km"), changes, "0 km", "90000 km", cost_per_litre=1)
    assert str(found.volume.units) == "quart"
    assert found.volume.magnitude == pytest.approx(12)
    assert found.cost == pytest.approx(12 * 0.946352946)
    assert str(found.average_age.units) == "kilometer"


@pytest.mark.parametrize(
    ("interval", "count"), [("1 y", 10), ("2 y", 5), ("2.5 y", 4), ("3 y", 4), ("10 y", 1), ("11 y", 1), ("0.1 y", 100)]
)
def test_planned_changes_stop_before_the_end(interval, count):
    planned = repeated_changes(interval, NOW, END, *DRAIN)
    assert len(planned) == count
    assert planned[0].at.m_as("year") == 0
    assert planned[-1].at.m_as("year") < 10
    assert str(planned[-1].at.units) == "year"


def test_nothing_is_planned_after_the_end():
    assert repeated_changes("1 y", "10 y", "10 y", *DRAIN) == ()
    assert repeated_changes("1 y", "12 y", "10 y", *DRAIN) == ()


@pytest.mark.parametrize(
    "plan",
    [("0 y", NOW, END), ("-1 y", NOW, END), ("1 km", NOW, END), ("1", NOW, END), ("1 min", NOW, END), ("1 y", "0 km", END), (0, NOW, END)],
)
def test_plans_that_cannot_be(plan):
    with pytest.raises(SumpwiseError):
        repeated_changes(*plan, *DRAIN)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ([("0 y", 0.5)], "changes, 1"),
        ([5], "changes, 1"),
        ([("2 y", 0.5, "1 L"), ("1 y", 0.5, "1 L")], "before the last change"),
        ([("0 y", 0.5, "-1 L")], "volume"),
        ([("11 y", 0.5, "1 L")], "until"),
    ],
)
def test_broken_changes_are_named(changes, said):
    with pytest.raises(SumpwiseError, match=said):
        over_horizon(FluidHistory("-9 y"), changes, NOW, END)
    with pytest.raises(SumpwiseError):
        compare_rhythms(FluidHistory("-9 y"), {"broken": changes}, NOW, END)


def test_the_kernel_runs_on_dask_unchanged():
    shares = dask.array.from_array(numpy.linspace(0.2, 0.6, 1000), chunks=250)
    starts = dask.array.from_array(numpy.linspace(-12, -6, 1000), chunks=250)
    lazy = age_over(starts, [0.0, 2.0, 5.0], [shares] * 3, 0.0, 10.0)
    assert isinstance(lazy, dask.array.Array)
    plain = age_over(numpy.asarray(starts), [0.0, 2.0, 5.0], [numpy.asarray(shares)] * 3, 0.0, 10.0)
    assert lazy.compute() == pytest.approx(plain, rel=1e-14)


def test_the_kernel_runs_over_thousands_of_scenarios():
    generator = numpy.random.default_rng(7)
    shares, starts = generator.uniform(0.3, 0.45, 2000), generator.uniform(-11, -7, 2000)
    moments = [float(year) for year in range(10)]
    many = age_over(starts, moments, [shares] * 10, 0.0, 10.0)
    assert many.shape == (2000,)
    for i in (0, 999, 1999):
        assert many[i] == pytest.approx(age_over(starts[i], moments, [shares[i]] * 10, 0.0, 10.0), rel=1e-14)


def test_a_change_at_the_very_end_is_within_the_horizon():
    found = over_horizon(FluidHistory("0 y"), [("4 y", 1, "9 L")], "0 y", "4 y")
    assert (found.number, found.average_age.m_as("year")) == (1, pytest.approx(2))


def test_a_hundred_thousand_changes_are_the_most():
    assert len(repeated_changes("1 y", "0 y", "100 000 y", 0.5, "3 L")) == 100_000
    with pytest.raises(SumpwiseError, match="too many"):
        repeated_changes("1 y", "0 y", "100 001 y", 0.5, "3 L")


@pytest.mark.parametrize(
    ("fraction", "volume", "together", "named"), [(1.01, "3 L", 1, "fraction"), (0.5, "-0.5 L", 1, "volume"), (0.5, "3 L", 0, "together")]
)
def test_what_each_planned_change_is_must_be_possible(fraction, volume, together, named):
    assert len(repeated_changes("1 y", "0 y", "2 y", 1, "0 L", together=1)) == 2
    with pytest.raises(SumpwiseError) as refused:
        repeated_changes("1 y", "0 y", "2 y", fraction, volume, together)
    assert refused.value.argument == named


def test_two_together_are_two_of_the_most_that_may_be_planned():
    assert len(repeated_changes("1 y", "0 y", "40 000 y", 0.5, "3 L", together=2)) == 80_000
    with pytest.raises(SumpwiseError):
        repeated_changes("1 y", "0 y", "60 000 y", 0.5, "3 L", together=2)


def test_the_end_is_not_a_change_though_rounding_puts_it_later():
    # from 0.3 s a tenth reaches 0.4 s, though in floats it falls short; a little later there is room for another
    assert len(repeated_changes("0.1 s", "0.3 s", "0.4 s", 0.3, "3 L")) == 1
    assert len(repeated_changes("0.1 s", "0.3 s", "0.41 s", 0.3, "3 L")) == 2
