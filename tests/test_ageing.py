"""Ageing of a fill: behaviour, refusals, records."""

from __future__ import annotations

import copy
import gc
import json
import math
import pickle

import numpy
import pint
import pytest

from sumpwise import uncertainty
from sumpwise.ageing.heat import heat_factor
from sumpwise.ageing.history import FluidHistory
from sumpwise.ageing.rates import age_at, age_over, mean_age_after, mean_age_average, mean_age_before, share_older
from sumpwise.errors import FileError, RangeError, SumpwiseError, UnitError
from sumpwise.quantities.boundary import argument

DEMO = FluidHistory("-9 y").replace(0.375, "0 y")


def years(quantity):
    return quantity.m_as("year")


def test_a_yearly_share_of_three_elevenths_never_renews_the_fill():
    history = FluidHistory("0 y")
    for year in range(1, 5):
        history = history.replace(3 / 11, f"{year} y")
    assert history.share_older_than("4 y", at="4 y") == pytest.approx((8 / 11) ** 4, rel=1e-15)
    assert round(history.share_older_than("4 y", at="4 y"), 2) == 0.28
    assert years(mean_age_average(3 / 11, "1 y")) == pytest.approx(11 / 3 - 0.5)


@pytest.mark.parametrize(("function", "expected"), [(mean_age_before, 8.0), (mean_age_after, 6.0), (mean_age_average, 7.0)])
def test_steady_rhythm_in_the_unit_that_asked(function, expected):
    answer = function(0.25, "2 y")
    assert str(answer.units) == "year"
    assert answer.magnitude == pytest.approx(expected)
    assert function.kernel(0.25, 2.0) == expected
    assert function.kernel(numpy.array([0.25, 0.25]), 2.0).tolist() == [expected] * 2
    assert str(function(0.25, "20000 km").units) == "kilometer"


@pytest.mark.parametrize("share", [0, -0.1, 1.1, "nan", True, None])
@pytest.mark.parametrize("function", [mean_age_before, mean_age_after, mean_age_average])
def test_a_rhythm_needs_a_share(function, share):
    with pytest.raises(SumpwiseError, match="exchanged_fraction"):
        function(share, "1 y")


@pytest.mark.parametrize("interval", ["0 y", "-1 y", "3 L", 1.0, "1"])
def test_a_rhythm_needs_an_interval(interval):
    with pytest.raises(SumpwiseError, match="interval"):
        mean_age_before(0.5, interval)


def test_mean_age_grows_with_time_and_drops_at_a_change():
    assert years(FluidHistory("-9 y").mean_age("0 y")) == 9
    assert years(DEMO.mean_age("0 y")) == pytest.approx(5.625)
    assert years(DEMO.mean_age("-1 d")) == pytest.approx(9 - 1 / 365.25)
    assert years(DEMO.mean_age("2 y")) == pytest.approx(7.625)


def test_by_distance():
    history = FluidHistory("0 km").replace(0.5, "100000 km").replace("50 %", "120000 km")
    assert history.mean_age("120000 km").m_as("km") == pytest.approx(35000)
    assert history.mean_age("80000 mi").m_as("km") == pytest.approx(35000 + 80000 * 1.609344 - 120000)
    assert str(history.mean_age("80000 mi").units) == "mile"


@pytest.mark.parametrize("moment", ["0 km", "3 L", "1", 1.5])
def test_time_and_distance_never_mix(moment):
    with pytest.raises(UnitError):
        FluidHistory("0 y").replace(0.5, moment)
    with pytest.raises(UnitError):
        FluidHistory("0 y").mean_age(moment)


@pytest.mark.parametrize("start", ["0", 0, "3 L", "soon", None, True, ["0 y"], "20 °C"])
def test_a_start_needs_its_unit(start):
    with pytest.raises(SumpwiseError):
        FluidHistory(start)


def test_going_back_is_refused_but_the_past_may_be_asked():
    with pytest.raises(RangeError, match="is before the last change"):
        DEMO.replace(0.5, "-1 y")
    with pytest.raises(RangeError, match="is before the start"):
        FluidHistory("0 y").replace(0.5, "-1 d")
    with pytest.raises(RangeError, match="is before the start"):
        DEMO.mean_age("-10 y")
    assert years(DEMO.mean_age("-4 y")) == 5
    assert DEMO.share_older_than("3 y", at="-4 y") == 1


@pytest.mark.parametrize("share", [-0.1, 1.01, "120 %", "1 L", None, [0.1, 0.2], float("nan")])
def test_shares_outside_zero_to_one_are_refused(share):
    with pytest.raises(SumpwiseError):
        FluidHistory("0 y").replace(share, "1 y")


def test_a_full_change_starts_again_and_no_change_changes_nothing():
    assert years(DEMO.replace(1, "1 y").mean_age("3 y")) == 2
    assert DEMO.replace(0, "1 y").mean_age("3 y") == DEMO.mean_age("3 y")
    assert DEMO.replace(1, "1 y").share_older_than("3 y", at="3 y") == 0


def test_a_history_never_changes():
    start = FluidHistory("0 y")
    start.replace(0.5, "1 y")
    assert years(start.mean_age("2 y")) == 2


def test_histories_that_part_know_nothing_of_each_other():
    common = FluidHistory("0 y").replace(0.5, "1 y")
    one, other = common.replace(0.2, "2 y").replace(0.1, "4 y"), common.replace(0.9, "3 y")
    again = common.replace(0.2, "2 y").replace(0.1, "4 y")
    assert one == again != other
    assert years(other.mean_age("3 y")) == pytest.approx(0.1 * 2.5)
    assert years(common.mean_age("9 y")) == 8.5
    assert [len(history.to_dict()["changes"]) for history in (common, one, other)] == [1, 3, 2]


def test_share_older_counts_what_has_just_reached_the_age():
    history = FluidHistory("0 y").replace(0.5, "1 y").replace(0.5, "2 y")
    assert history.share_older_than("0 y", at="2 y") == 1
    assert history.share_older_than("1 y", at="2 y") == 0.5
    assert history.share_older_than("1.01 y", at="2 y") == 0.25
    assert history.share_older_than("2 y", at="2 y") == 0.25
    assert history.share_older_than("2.01 y", at="2 y") == 0


def test_moments_that_differ_by_rounding_are_one():
    miles = FluidHistory("0 mi").replace(0.5, "0.3 mi")
    assert miles.share_older_than("0.1 mi", at="0.4 mi") == 1, "0.4 mi less 0.1 mi is a little less than 0.3 mi in floats"
    assert FluidHistory("0.3 mi").share_older_than("0.1 mi", at="0.4 mi") == 1
    late = pint.get_application_registry().Quantity(0.1 + 0.2, "year")
    twice = FluidHistory("0 y").replace(0.5, late).replace(0.5, "0.3 y")
    assert twice.share_older_than("0.1 y", at="0.3 y") == pytest.approx(0.25)
    assert [c.age.magnitude >= 0 for c in twice.distribution("0.3 y")] == [True] * 3
    assert years(FluidHistory(late).mean_age("0.3 y")) == 0
    history = FluidHistory("0 y").replace(0.5, "0.1 y")
    assert history.share_older_than("0.2 y", at="0.3 y") == 1
    assert history.replace(0.5, pint.get_application_registry().Quantity(0.1 + 1e-17, "year")).share_older_than("0 y", at="0.3 y") == 1


def test_distribution_lists_every_filling():
    cohorts = DEMO.replace(1 / 3, "2 y").distribution("3 y")
    assert [years(c.age) for c in cohorts] == [12, 3, 1]
    assert [c.share for c in cohorts] == pytest.approx([0.625 * 2 / 3, 0.375 * 2 / 3, 1 / 3])
    assert [years(c.age) for c in DEMO.replace(1, "1 y").distribution("1 y")] == [0]


def test_average_age_is_the_exact_integral():
    assert years(DEMO.average_age("0 y", "10 y")) == pytest.approx(10.625)
    assert years(DEMO.average_age("-9 y", "0 y")) == 4.5
    assert years(DEMO.replace(1, "5 y").average_age("0 y", "10 y")) == pytest.approx((8.125 * 5 + 2.5 * 5) / 10)
    for until in ("2 y", "1 y"):
        with pytest.raises(RangeError, match="until"):
            DEMO.average_age("2 y", until)


def test_next_due_by_mean_age():
    assert years(DEMO.next_due(mean_age="6 y")) == pytest.approx(0.375)
    assert years(DEMO.mean_age(DEMO.next_due(mean_age="6 y"))) == pytest.approx(6)
    assert years(DEMO.next_due(mean_age="5 y")) == 0, "the last change was not enough: due at once"
    assert str(FluidHistory("0 km").next_due(mean_age="60000 km")) == "60000.0 kilometer"


def test_next_due_by_the_share_of_old_fluid():
    history = FluidHistory("0 y").replace(0.5, "1 y").replace(0.5, "2 y")
    assert years(history.next_due(older_than="5 y", share=0.2)) == 5
    assert years(history.next_due(older_than="5 y", share=0.25)) == 6
    assert years(history.next_due(older_than="5 y", share=0.5)) == 7
    assert years(history.next_due(older_than="1.5 y", share=0.2)) == 2
    assert years(FluidHistory("0 y").replace(0.7, "1 y").next_due(older_than="5 y", share=0.3)) == 6, "what is left of 1 is 0.3"
    for share in (0.2, 0.25, 0.49, 0.5, 0.9):
        due = history.next_due(older_than="5 y", share=share)
        assert history.share_older_than("5 y", at=due) > share
        assert history.share_older_than("5 y", at=due * (1 - 1e-6)) <= share


@pytest.mark.parametrize("limits", [{}, {"mean_age": "1 y", "share": 0.1}, {"older_than": "1 y"}, {"older_than": "1 y", "share": 1}])
def test_next_due_takes_one_limit(limits):
    with pytest.raises(RangeError):
        DEMO.next_due(**limits)


@pytest.mark.parametrize("age", ["-1 y", "1 km", "4 ± 1 y"])
def test_a_limit_is_an_exact_age_of_the_same_kind(age):
    with pytest.raises(SumpwiseError):
        DEMO.share_older_than(age, at="1 y")
    with pytest.raises(SumpwiseError):
        DEMO.next_due(mean_age=age)


@pytest.mark.parametrize(("tolerance", "count"), [(0.5, 0), (0.49, 1), (0.25, 1), (0.125, 2), (0.1, 3), (0.05, 4), (0.01, 6)])
def test_changes_to_steady(tolerance, count):
    assert FluidHistory("0 y").changes_to_steady(0.5, "1 y", tolerance) == count


def test_changes_to_steady_takes_any_share_and_interval_that_moves_something():
    assert FluidHistory("0 min").changes_to_steady(0.5, "0.5 min") == 4
    for name, given in (("fraction", {"fraction": 0}), ("fraction", {"fraction": [0.3, 0.4]}), ("interval", {"interval": "0 y"})):
        with pytest.raises(SumpwiseError) as caught:
            FluidHistory("0 y").changes_to_steady(**{"fraction": 0.5, "interval": "1 y"} | given)
        assert caught.value.argument == name


def test_changes_to_steady_from_an_old_fill():
    count = FluidHistory("-9 y").replace(0, "0 y").changes_to_steady(0.375, "1 y", within=0.05)
    off = abs(10 * 0.375 - 1)
    assert off * 0.625**count <= 0.05 < off * 0.625 ** (count - 1)
    assert FluidHistory("0 y").changes_to_steady(1, "1 y") == 0
    assert FluidHistory("-9 y").replace(0, "0 y").changes_to_steady(1, "1 y") == 1
    with pytest.raises(SumpwiseError):
        DEMO.changes_to_steady(0.5, "1000 km")
    with pytest.raises(SumpwiseError):
        DEMO.changes_to_steady(0.5, "1 y", within=0)


def test_an_uncertain_share_moves_the_mean_age():
    history = FluidHistory("-9 y").replace("0.375(20)", "0 y")
    found = history.mean_age("0 y")
    assert found.magnitude.nominal_value == pytest.approx(5.625)
    assert found.magnitude.std_dev == pytest.approx(9 * 0.02)


def test_one_source_in_several_changes_is_one_source():
    share = argument("fraction").value("0.375(20)", "share")
    shared = FluidHistory("-9 y").replace(share, "0 y").replace(share, "0 y")
    apart = FluidHistory("-9 y").replace("0.375(20)", "0 y").replace("0.375(20)", "0 y")
    assert shared.mean_age("0 y").magnitude.std_dev == pytest.approx(2 * 9 * 0.625 * 0.02)
    assert apart.mean_age("0 y").magnitude.std_dev == pytest.approx(2**0.5 * 9 * 0.625 * 0.02)
    assert (shared.mean_age("1 y") - shared.mean_age("0 y")).magnitude.std_dev == pytest.approx(0, abs=1e-9)


def test_an_uncertain_start_stands_for_an_age_not_well_known():
    history = FluidHistory("-9(1) y").replace(0.375, "0 y")
    assert history.mean_age("0 y").magnitude.std_dev == pytest.approx(0.625)
    assert uncertainty.caution(history.mean_age("0 y").magnitude) == "", "an age is not a share, and has no bound at 1"
    assert history.average_age("0 y", "10 y").magnitude.std_dev == pytest.approx(0.625)
    assert history.share_older_than("5 y", at="0 y") == 0.625
    assert [c.share for c in history.distribution("0 y")] == [0.625, 0.375]


def test_uncertain_shares_in_distribution_and_share_older():
    history = FluidHistory("0 y").replace("0.5(1)", "1 y").replace(0.5, "2 y")
    assert history.share_older_than("2 y", at="2 y").std_dev == pytest.approx(0.05)
    oldest, middle, newest = history.distribution("2 y")
    assert oldest.share.std_dev == pytest.approx(0.05)
    assert (oldest.share + middle.share).std_dev == pytest.approx(0, abs=1e-12)
    assert uncertainty.standard(newest.share) == 0


@pytest.mark.parametrize("call", [lambda h, at: h.replace(0.1, at), lambda h, at: h.mean_age(at), lambda h, at: h.average_age("0 y", at)])
def test_other_moments_are_exact(call):
    with pytest.raises(RangeError, match="must not have an uncertainty"):
        call(DEMO, "5 ± 1 y")


def test_answers_come_in_the_registry_that_asked():
    registry = pint.UnitRegistry()
    found = DEMO.mean_age(registry.Quantity(12.0, "month"))
    assert found._REGISTRY is registry
    assert found.m_as("year") == pytest.approx(6.625)
    assert str(found.units) == "month"


# -- heat


def test_heat_is_a_rule_of_thumb_and_says_so():
    hot = DEMO.heat_age("1 y", "91 °C")
    assert years(hot.age) == pytest.approx(2 * 6.625)
    assert "rule of thumb" in hot.note
    assert "never percent of life left" in hot.note
    assert years(DEMO.heat_age("1 y", "40 °C").age) == pytest.approx(6.625), "cooler than the reference is no younger"


def test_heat_of_a_hot_summer_counts_only_for_fluid_that_was_there():
    history = FluidHistory("0 y").replace(0.5, "2 y")
    course = [("0 y", "80 °C"), ("1 y", "102 °C"), ("2 y", "80 °C")]
    assert years(history.heat_age("3 y", course).age) == pytest.approx(0.5 * (1 + 4) + 1)


def test_heat_that_is_still_to_come_counts_for_nothing():
    course = [("0 min", "91 °C"), ("10 min", "102 °C"), ("20 min", "80 °C")]
    for at, age in (("5 min", 10), ("10 min", 20), ("15 min", 40), ("20 min", 60), ("25 min", 65)):
        assert FluidHistory("0 min").heat_age(at, course).age.m_as("min") == pytest.approx(age, rel=1e-14)


@pytest.mark.parametrize(
    "course",
    [
        [], [("0 y",)], [("0 y", "80 °C", "1 y")], [("1 y", "80 °C"), ("1 y", "90 °C")], ["80 °C"], [("0 y", "90 ± 5 °C")], "90",
        [("0 km", "80 °C")], "90 ± 5 °C",
    ],
)  # fmt: skip
def test_invalid_lists_of_temperatures_are_refused(course):
    with pytest.raises(SumpwiseError):
        DEMO.heat_age("1 y", course)


def test_heat_factor_over_arrays_and_with_uncertainty():
    assert heat_factor.kernel(numpy.array([60.0, 80.0, 91.0]), 80.0, 11.0).tolist() == [1, 1, 2]
    assert heat_factor("91.0(5) °C").std_dev == pytest.approx(2 * numpy.log(2) / 11 * 0.5)
    with pytest.raises(SumpwiseError):
        heat_factor("91 °C", halving="0 Δ°C")


# -- records


def twin(history):
    return FluidHistory.from_dict(json.loads(json.dumps(history.to_dict())))


def test_a_record_keeps_what_was_written():
    data = DEMO.replace("1/3", "24 month").to_dict()
    assert data == {
        "format": "sumpwise fluid history",
        "version": 1,
        "start": "-9 y",
        "changes": [{"at": "0 y", "fraction": 0.375}, {"at": "24 month", "fraction": "1/3"}],
        "sources": [],
    }
    assert twin(DEMO).to_dict() == DEMO.to_dict()
    assert twin(DEMO).mean_age("1 y") == DEMO.mean_age("1 y")


def test_a_record_of_version_1_is_read_for_ever():
    text = (
        '{"format": "sumpwise fluid history", "version": 1, "start": {"value": -9.0, "doubts": {"0": 1.0}, "unit": "y"}, "changes":'
        ' [{"at": "0 y", "fraction": {"value": 0.375, "doubts": {"1": 1.0}}}, {"at": "1 y", "fraction": {"value": 0.375, "doubts":'
        ' {"1": 1.0}}}], "sources": [{"value": -9.0, "standard": 0.5, "shape": "normal", "dof": null, "name": "start", "identity": ""},'
        ' {"value": 0.375, "standard": 0.02, "shape": "normal", "dof": 5.0, "name": "drain share", "identity": "earlier-17"}]}'
    )
    found = FluidHistory.from_dict(json.loads(text)).mean_age("1 y").magnitude
    assert found.nominal_value == pytest.approx((9 * 0.625 + 1) * 0.625)
    slope = -(9 * 0.625 + 1) - 0.625 * 9
    assert found.std_dev == pytest.approx(numpy.hypot(0.625**2 * 0.5, slope * 0.02))


def test_records_keep_what_uncertainties_have_in_common():
    share = argument("fraction").value("0.375 ± 0.03", "share")
    history = FluidHistory("-9(1) y").replace(share, "0 y").replace(share, "2 y").replace("0.2(1)", "3 y")
    again = twin(history)
    assert len(history.to_dict()["sources"]) == 3
    for at in ("0 y", "2 y", "5 y"):
        difference = again.mean_age(at) - history.mean_age(at)
        assert difference.magnitude.nominal_value == pytest.approx(0, abs=1e-12)
        assert difference.magnitude.std_dev == pytest.approx(0, abs=1e-12), "the very same sources"
    assert again.to_dict() == history.to_dict()


def test_records_of_quantities_and_computed_shares():
    registry = pint.UnitRegistry()
    pair = argument("volume").value("3.3(1) L", "drain") / argument("volume").value("8.8(2) L", "capacity")
    history = FluidHistory(registry.Quantity(-9.5, "year")).replace(pair, registry.Quantity(1.5, "year"))
    assert history.to_dict()["start"] == "-9.5 y"
    difference = twin(history).mean_age("2 y").magnitude - history.mean_age("2 y").magnitude
    assert difference.std_dev == pytest.approx(0, abs=1e-12)
    registry.define("shift = 8 hour")
    odd = FluidHistory(registry.Quantity(3.0, "shift")).replace(0.5, registry.Quantity(6.0, "shift"))
    assert odd.to_dict()["start"] == "1440.0 min"
    assert twin(odd).mean_age("3 d").m_as("hour") == pytest.approx(24 + 12)
    start = registry.Quantity(uncertainty.source(3.0, 0.5), "shift")
    doubtful = twin(FluidHistory(start)).mean_age("3 d").magnitude
    assert (doubtful.nominal_value, doubtful.std_dev) == pytest.approx((48 / 24, 4 / 24))


def test_histories_are_equal_when_their_records_are():
    again = twin(DEMO)
    assert again == DEMO
    assert hash(again) == hash(DEMO)
    assert DEMO.replace(0, "1 y") != DEMO
    assert DEMO != "-9 y"


class Counted(float):
    """A share that counts how often it is used."""

    used = 0

    def __rsub__(self, other):
        Counted.used += 1
        return other - float(self)


@pytest.mark.parametrize("kernel", [age_at, share_older, age_over])
def test_a_query_takes_time_in_proportion_to_the_changes(kernel):
    found = []
    for n in (100, 400):
        Counted.used = 0
        more = (0.0, float(n)) if kernel is age_over else (float(n), float(n)) if kernel is share_older else (float(n),)
        kernel(0.0, [float(k) for k in range(n)], [Counted(0.1)] * n, *more)
        found.append(Counted.used)
    assert found[1] / found[0] == pytest.approx(4, abs=0.1)


@pytest.mark.parametrize(
    "ask", [lambda h: h.mean_age("99 y"), lambda h: h.average_age("0 y", "99 y"), lambda h: h.share_older_than("20 y", at="60 y")],
    ids=["mean age", "average age", "share older"],
)  # fmt: skip
def test_separate_uncertainties_take_no_more_runs_than_one(monkeypatch, ask):
    """However many shares are uncertain, a query goes through the history once."""
    from sumpwise.ageing import history as module

    runs = []
    for name in ("age_at", "age_over", "share_older"):
        kernel = getattr(module, name)
        monkeypatch.setattr(module, name, lambda *given, kernel=kernel: runs.append(1) or kernel(*given))
    history = FluidHistory("0 y")
    for year in range(50):
        history = history.replace("0.200(5)", f"{year + 1} y")
    answer = ask(history)
    assert uncertainty.standard(getattr(answer, "magnitude", answer)) > 0
    assert len(runs) == 1


def test_copies_and_pickles_keep_identity():
    history = FluidHistory("-9 y").replace("0.375(20)", "0 y")
    for other in (copy.copy(history), copy.deepcopy(history), pickle.loads(pickle.dumps(history))):
        assert (other.mean_age("0 y") - history.mean_age("0 y")).magnitude.std_dev == pytest.approx(0, abs=1e-12)
    assert repr(DEMO) == "FluidHistory('-9 y').replace(0.375, '0 y')"


GOOD = DEMO.replace("0.5(1)", "1 y").to_dict()
BROKEN = {
    "no table": lambda d: [],
    "another format": lambda d: d | {"format": "diary"},
    "a later version": lambda d: d | {"version": 2},
    "a missing key": lambda d: {k: v for k, v in d.items() if k != "changes"},
    "an unknown key": lambda d: d | {"colour": "red"},
    "changes that are no list": lambda d: d | {"changes": {}},
    "a change without share": lambda d: d | {"changes": [{"at": "0 y"}]},
    "a share out of range": lambda d: d | {"changes": [{"at": "0 y", "fraction": 1.5}]},
    "changes out of order": lambda d: d | {"changes": d["changes"][::-1]},
    "a start that is a number": lambda d: d | {"start": 3},
    "a start in no unit": lambda d: d | {"start": {"value": 1.0, "unit": "moon", "doubts": {}}},
    "a doubt that names no source": lambda d: d | {"sources": []},
    "a source of infinite doubt": lambda d: d | {"sources": [d["sources"][0] | {"standard": float("inf")}]},
    "a source of negative doubt": lambda d: d | {"sources": [d["sources"][0] | {"standard": -1.0}]},
    "a source of no shape": lambda d: d | {"sources": [d["sources"][0] | {"shape": "banana"}]},
    "a truth for a number": lambda d: d | {"sources": [d["sources"][0] | {"value": True}]},
}


@pytest.mark.parametrize("what", BROKEN)
def test_broken_records_name_the_place(what):
    with pytest.raises(FileError) as refused:
        FluidHistory.from_dict(BROKEN[what](copy.deepcopy(GOOD)))
    assert refused.value.argument


def test_a_share_that_takes_for_ever_is_refused():
    history = FluidHistory("0 y")
    # the first peak is 1, the steady one 1/r: (1 - r)ⁿ·(1 - r) falls to 0.05 after ln(0.999/0.05)/r
    assert history.changes_to_steady(0.001, "1 y") == pytest.approx(math.log(0.999 / 0.05) / 0.001, rel=0.01)
    for fraction in (1e-4, 1e-9, 5e-324):
        with pytest.raises(RangeError, match="more than 10000 changes"):
            history.changes_to_steady(fraction, "1 y")
    # (1 - r)ⁿ·(1 - r) is within (1 - r)^(m + ½) from n = m on, for every whole m
    assert history.changes_to_steady(1e-4, "1 y", (1 - 1e-4) ** 10_000.5) == 10_000
    with pytest.raises(RangeError, match="more than 10000 changes"):
        history.changes_to_steady(1e-4, "1 y", (1 - 1e-4) ** 10_001.5)


@pytest.mark.parametrize(
    ("change", "place"),
    [
        ({"fraction": 1.5}, "/changes/1/fraction"), ({"at": "-1 y"}, "/changes/1/at"), ({"colour": "red"}, "/changes/1/colour"),
        ({"fraction": {"value": 0.5, "doubts": {"1": 1.0}}}, "/changes/1/fraction/doubts/1"),
        ({"fraction": {"value": 0.5, "doubts": {"-1": 1.0}}}, "/changes/1/fraction/doubts/-1"),
        ({"fraction": {"value": 2e300, "doubts": {}}}, "/changes/1/fraction/value"),
    ],
)  # fmt: skip
def test_the_second_change_is_the_second(change, place):
    data = copy.deepcopy(GOOD)
    data["changes"][1] |= change
    with pytest.raises(FileError) as refused:
        FluidHistory.from_dict(data)
    assert refused.value.pointer == place
    assert refused.value.argument.startswith("fluid history: changes 2: ")


def test_an_uncertain_start_is_kept_in_its_own_unit():
    start = FluidHistory("-9(1) y").replace(0.5, "24 month").to_dict()["start"]
    assert (start["unit"], start["value"]) == ("y", -9)


def test_a_record_keeps_all_that_is_known_of_a_source():
    learned = uncertainty.source(0.375, 0.02, shape="triangular", dof=5, name="drain share")
    (kept,) = FluidHistory("-9 y").replace(learned, "0 y").to_dict()["sources"]
    assert kept == {
        "value": 0.375, "standard": 0.02, "shape": "triangular", "dof": 5, "name": "drain share", "identity": learned.uid,
    }  # fmt: skip
    (free,) = FluidHistory("-9 y").replace("0.375(20)", "0 y").to_dict()["sources"]
    assert (free["dof"], free["name"]) == (None, "fraction")


def test_a_source_without_uncertainty_is_a_plain_number():
    data = copy.deepcopy(GOOD)
    data["sources"] = [data["sources"][0] | {"standard": 0.0, "identity": "earlier-17"}]
    assert type(FluidHistory.from_dict(data).mean_age("2 y").magnitude) is float


def test_a_change_keeps_little_for_the_garbage_collector_to_go_through():
    """Only its uncertain share and where to find it: otherwise the collector would search a growing history again and again."""
    def made(changes):
        history = FluidHistory("0 d")
        for day in range(changes):
            history = history.replace("0.010(2)", f"{day}.5 d")
        return history

    made(1000)  # the cache of texts
    gc.collect()
    before = len(gc.get_objects())
    history = made(1000)
    gc.collect()
    assert len(gc.get_objects()) - before <= 2200
    assert json.loads(json.dumps(history.to_dict()))["changes"][7]["at"] == "7.5 d"
