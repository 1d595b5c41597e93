"""Laws of ageing."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from laws.lawbook import law
from sumpwise.ageing.heat import heat_factor
from sumpwise.ageing.history import FluidHistory
from sumpwise.ageing.rates import (
    age_at,
    age_over,
    age_slopes,
    mean_age_after,
    mean_age_average,
    mean_age_before,
    share_older,
    share_slopes,
)
from sumpwise.ageing.rhythms import over_horizon, repeated_changes

shares = st.floats(0, 1)
some = st.floats(0.01, 1)
intervals = st.floats(0.01, 100)
days = st.integers(0, 4000)
changes = st.lists(st.tuples(days, shares), max_size=8).map(lambda c: sorted(c, key=lambda one: one[0]))


def built(changes, start="0 d", unit="d", scale=1):
    history = FluidHistory(start)
    for moment, share in changes:
        history = history.replace(share, f"{moment * scale} {unit}")
    return history


def near(value, rel=1e-9):
    return pytest.approx(value, rel=rel, abs=1e-9)


@law("FluidHistory")
@given(changes, days, shares, shares)
def test_order_at_one_moment(changes, moment, one, other):
    """The order of two changes at one moment does not matter."""
    history = built([c for c in changes if c[0] <= moment])
    at = f"{moment} d"
    first, second = history.replace(one, at).replace(other, at), history.replace(other, at).replace(one, at)
    for later in (at, "5000 d"):
        assert first.mean_age(later).m_as("d") == near(second.mean_age(later).m_as("d"))
        assert first.share_older_than("100 d", at=later) == near(second.share_older_than("100 d", at=later))


@law("FluidHistory")
@given(changes, st.integers(1, 50), days)
def test_scaling_time_scales_ages(changes, factor, age):
    """Multiplying all times of a history by a factor multiplies its ages by it, and leaves the shares the same."""
    short, long = built(changes), built(changes, scale=factor)
    assert long.mean_age(f"{5000 * factor} d").m_as("d") == near(factor * short.mean_age("5000 d").m_as("d"))
    assert long.average_age("0 d", f"{5000 * factor} d").m_as("d") == near(factor * short.average_age("0 d", "5000 d").m_as("d"))
    assert long.share_older_than(f"{age * factor} d", at=f"{5000 * factor} d") == near(short.share_older_than(f"{age} d", at="5000 d"))


@law("FluidHistory")
@given(changes, st.integers(0, 4000))
def test_distance_ages_as_time_does(changes, age):
    """What holds by the day holds by the kilometre."""
    time, distance = built(changes), built(changes, "0 km", "km")
    assert distance.mean_age("5000 km").m_as("km") == near(time.mean_age("5000 d").m_as("d"))
    assert distance.share_older_than(f"{age} km", at="5000 km") == near(time.share_older_than(f"{age} d", at="5000 d"))


@law("FluidHistory")
@given(changes, st.data(), st.floats(0, 1))
def test_a_bigger_share_never_ages_the_fill(changes, data, bigger):
    """Enlarging one share never raises the mean age nor the share of old fluid."""
    if not changes:
        return
    k = data.draw(st.integers(0, len(changes) - 1))
    moment, share = changes[k]
    more = [*changes[:k], (moment, max(share, bigger)), *changes[k + 1 :]]
    for at in (f"{moment} d", "5000 d"):
        assert built(more).mean_age(at).m_as("d") <= built(changes).mean_age(at).m_as("d") * (1 + 1e-12) + 1e-9
        for age in ("10 d", "2000 d"):
            assert built(more).share_older_than(age, at=at) <= built(changes).share_older_than(age, at=at) + 1e-12


@law("FluidHistory")
@given(changes, days)
def test_mean_age_is_the_sum_over_the_distribution(changes, at):
    """The shares of a distribution add up to one, and their mean age is the mean age."""
    history = built(changes)
    cohorts = history.distribution(f"{at} d")
    assert sum(c.share for c in cohorts) == near(1)
    assert sum(c.share * c.age.m_as("d") for c in cohorts) == near(history.mean_age(f"{at} d").m_as("d"))


@law("FluidHistory")
@given(changes, st.integers(0, 3000), st.integers(1, 2000))
def test_averages_over_adjoining_spans_add_up(changes, since, length):
    """The average over a span is the weighted average over its parts."""
    history = built(changes)
    middle, until = since + length, since + 3 * length
    parts = (history.average_age(f"{a} d", f"{b} d").m_as("d") for a, b in ((since, middle), (middle, until)))
    first, second = parts
    assert history.average_age(f"{since} d", f"{until} d").m_as("d") == near((first + 2 * second) / 3)


@law("FluidHistory")
@given(changes, st.floats(0, 0.99), st.integers(1, 4000))
def test_the_next_change_is_due_when_the_limit_is_reached(changes, most, limit):
    """Until the next change is due the limit is kept, and from then on it is not."""
    history = built(changes)
    last = changes[-1][0] if changes else 0
    due = history.next_due(older_than=f"{limit} d", share=most).m_as("d")
    assert history.share_older_than(f"{limit} d", at=f"{due + 1e-3!r} d") > most
    if due > last + 1e-3:
        assert history.share_older_than(f"{limit} d", at=f"{due - 1e-3!r} d") <= most * (1 + 1e-9)
    due = history.next_due(mean_age=f"{limit} d").m_as("d")
    assert due >= last
    assert history.mean_age(f"{due!r} d").m_as("d") >= limit * (1 - 1e-9) - 1e-6
    if due > last:
        assert history.mean_age(f"{due!r} d").m_as("d") == pytest.approx(limit, rel=1e-9, abs=1e-6)


@law("FluidHistory")
@given(changes)
def test_a_record_is_the_history(changes):
    """A history written and read again gives the same ages."""
    history = built(changes)
    again = FluidHistory.from_dict(history.to_dict())
    assert again.mean_age("5000 d") == history.mean_age("5000 d")
    assert again.to_dict() == history.to_dict()


@law("FluidHistory")
@given(st.floats(0.02, 0.98), st.floats(0.001, 0.2), st.integers(1, 3000))
def test_linear_propagation_is_exact_in_one_share(share, spread, at):
    """The mean age is linear in one share: its uncertainty is that of the share times the age before the change."""
    history = FluidHistory("0 d").replace(0.3, "10 d").replace(f"{share!r} ± {spread!r}", f"{at + 10} d")
    before = FluidHistory("0 d").replace(0.3, "10 d").mean_age(f"{at + 10} d").m_as("d")
    assert history.mean_age("4000 d").magnitude.std_dev == pytest.approx(before * spread / 3**0.5, rel=1e-6)


@law("FluidHistory")
@given(changes, days, st.integers(0, 3000))
def test_slopes_are_differences_over_the_whole_range(changes, since, length):
    """An age is linear in the start and in every share: its derivative is the age with a share of one less the age with none."""
    moments, parts = [float(moment) for moment, _ in changes], [share for _, share in changes]
    cases = [
        (lambda start, shares: age_over(start, moments, shares, since, since + length) if length else age_at(start, moments, shares, since),
         lambda start, shares: age_slopes(start, moments, shares, since, since + length)),
        (lambda start, shares: share_older(-50.0, moments, shares, float(length), float(since)),
         lambda start, shares: share_slopes(-50.0, moments, shares, float(length), float(since))),
    ]  # fmt: skip
    for kernel, slopes in cases:
        expected = [kernel(-49.0, parts) - kernel(-50.0, parts)]
        for k in range(len(parts)):
            none, all_ = ([*parts[:k], share, *parts[k + 1 :]] for share in (0.0, 1.0))
            expected.append(kernel(-50.0, all_) - kernel(-50.0, none))
        assert slopes(-50.0, parts) == pytest.approx(expected, rel=1e-9, abs=1e-9)


@law("FluidHistory", "mean_age_before")
@given(some, intervals, st.floats(0.001, 0.5), st.floats(0, 50))
def test_changes_to_steady_are_enough_and_not_one_too_many(share, interval, tolerance, start):
    """After so many changes the peak is within the tolerance of the steady state, and one change earlier it is not."""
    history = FluidHistory(f"{-start!r} y").replace(0, "0 y")
    count = history.changes_to_steady(share, f"{interval!r} y", tolerance)
    steady = mean_age_before(share, f"{interval!r} y").m_as("year")

    def off(n):
        return abs(age_at(-start, [k * interval for k in range(1, n + 1)], [share] * n, (n + 1) * interval) / steady - 1)

    assert off(count) <= tolerance * (1 + 1e-6)
    if count:
        assert off(count - 1) > tolerance * (1 - 1e-6)


@law("mean_age_before", "mean_age_after")
@given(some, intervals)
def test_the_steady_state_is_a_fixed_point(share, interval):
    """One change and one interval lead from the steady peak back to it."""
    before = mean_age_before.kernel(share, interval)
    assert before * (1 - share) == pytest.approx(mean_age_after.kernel(share, interval), rel=1e-12, abs=1e-12)
    assert before * (1 - share) + interval == pytest.approx(before, rel=1e-12)
    assert age_at(-before, [0.0], [share], interval) == pytest.approx(before, rel=1e-12)


@law("mean_age_before", "mean_age_after", "mean_age_average")
@given(some, intervals, st.floats(0.1, 10))
def test_steady_ages_in_order_and_in_proportion(share, interval, factor):
    """Trough, average and peak stand one interval apart and grow in proportion to it."""
    low, middle, high = (f.kernel(share, interval) for f in (mean_age_after, mean_age_average, mean_age_before))
    assert high - low == pytest.approx(interval, rel=1e-9)
    assert middle == pytest.approx((low + high) / 2, rel=1e-12)
    for function in (mean_age_after, mean_age_average, mean_age_before):
        assert function.kernel(share, interval * factor) == pytest.approx(factor * function.kernel(share, interval), rel=1e-12, abs=1e-12)


@law("mean_age_average")
@given(some, intervals)
def test_the_average_is_the_integral_of_the_steady_course(share, interval):
    """The average over one interval of the steady rhythm is the integral of its course."""
    after = mean_age_after.kernel(share, interval)
    assert age_over(-after, [], [], 0.0, interval) == pytest.approx(mean_age_average.kernel(share, interval), rel=1e-12)


@law("heat_factor")
@given(st.floats(0, 150), st.floats(0, 60), st.floats(1, 30))
def test_every_halving_doubles_the_factor(temperature, rise, halving):
    """Above the reference one halving interval more doubles the factor; below it the factor is one."""
    low = heat_factor.kernel(temperature, 80.0, halving)
    assert low >= 1
    assert (low == 1) == (2 ** ((temperature - 80) / halving) <= 1)
    warm, hot = (heat_factor.kernel(80 + r, 80.0, halving) for r in (rise, rise + halving))
    assert hot == pytest.approx(2 * warm, rel=1e-12)


@law("FluidHistory", "heat_factor")
@given(changes, st.floats(60, 130))
def test_one_temperature_scales_every_age(changes, temperature):
    """At one temperature throughout, heat multiplies the mean age by its factor."""
    history = built(changes)
    hot = history.heat_age("5000 d", f"{temperature!r} °C").age.m_as("d")
    assert hot == pytest.approx(history.mean_age("5000 d").m_as("d") * heat_factor.kernel(temperature, 80.0, 11.0), rel=1e-9)


@law("over_horizon", "repeated_changes")
@given(some, st.integers(1, 12), st.integers(1, 3), st.floats(0, 20))
def test_litres_and_money_count_the_changes(share, interval, together, price):
    """Litres and money are those of the changes planned, and the history holds them all."""
    planned = repeated_changes(f"{interval} month", "0 month", "60 month", share, "3 L", together=together)
    found = over_horizon(FluidHistory("-9 y"), planned, "0 month", "60 month", price)
    assert found.number == len(planned) == together * -(-60 // interval)
    assert found.volume.m_as("L") == near(3 * len(planned))
    assert found.cost == near(3 * len(planned) * price)
    assert len(found.history.to_dict()["changes"]) == len(planned)


@law("compare_rhythms", "over_horizon")
@given(some, st.integers(1, 12))
def test_more_changes_never_age_the_fill(share, interval):
    """Leaving changes out of a plan never lowers the mean age over the horizon."""
    planned = repeated_changes(f"{interval} month", "0 month", "60 month", share, "3 L")
    ages = [over_horizon(FluidHistory("-9 y"), part, "0 y", "5 y").average_age.m_as("year") for part in (planned, planned[::2], ())]
    assert ages[0] <= ages[1] + 1e-9
    assert ages[1] <= ages[2] + 1e-9
