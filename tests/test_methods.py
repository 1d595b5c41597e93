"""Methods: the planned operations, run through the circuit, end where the method says."""

from __future__ import annotations

from itertools import pairwise
from math import ceil, floor, log
from statistics import NormalDist, fmean, pstdev
from types import SimpleNamespace

import pytest

from sumpwise import Job, compare_methods, plan
from sumpwise.mixing.circuit.state import present
from sumpwise.quantities.arguments import number_in
from sumpwise.service.case import Case
from sumpwise.service.methods.machine import _plug_flow
from sumpwise.service.methods.method import enough
from sumpwise.service.methods.registry import BY_KEY, METHODS
from sumpwise.uncertainty import nominal, source, standard


def still(**tables):
    """The demo before any work: the level is right, nothing is logged."""
    return Case(Job.demo().with_(log=[], **tables))


@pytest.mark.parametrize("method", [m for m in METHODS if m.planned], ids=lambda m: m.key)
def test_what_is_poured_is_the_volume_of_the_method(method):
    case = still()
    poured = sum(nominal(one.volume if one.kind == "pour" else one.poured) for one in method.operations(case))
    trim = nominal(case.job.value("exchange", "trim")) if method.key == "bursts" else 0.0
    assert poured + trim == pytest.approx(nominal(method.volume(case)))
    assert sum(volume for _, volume in method.parts(case)) == pytest.approx(nominal(method.volume(case)))


@pytest.mark.parametrize("method", [m for m in METHODS if m.planned], ids=lambda m: m.key)
def test_as_much_comes_out_as_goes_in(method):
    case = still()
    _, end = case.course(method)[-1]
    _, stages = end.course.gone_through([end.course.usual])
    assert present(*stages[-1])[0] == pytest.approx(8.85)


@pytest.mark.parametrize("key", ["drain", "drains", "yearly"])
def test_drains_through_the_circuit_end_as_the_formula_says(key):
    case = still()
    *_, (_, end) = case.course(BY_KEY[key])
    assert nominal(end.resident) == pytest.approx(nominal(BY_KEY[key].fresh(case)), rel=1e-12)


@pytest.mark.parametrize("bursts", [0, 1, 6])
def test_bursts_are_counted_once_in_operations_and_litres(bursts):
    case = still(exchange={"bursts": bursts})
    method = BY_KEY["bursts"]
    kinds = [one.kind for one in method.operations(case)]
    assert kinds == ["drain", "pour", *["pump", "pour"] * bursts]
    assert nominal(method.volume(case)) == pytest.approx(3.70 + bursts * 1.25 + 0.25)
    assert method.count(case) == bursts


def test_what_is_worked_out_once_is_the_same_object():
    case = Case(Job.demo())
    assert case.comparison is case.comparison
    assert case.course(BY_KEY["bursts"]) is case.course(BY_KEY["bursts"])
    assert case.circuit is case.circuit
    assert standard(case.total - case.total) == 0


def test_drains_that_the_job_states_are_not_counted_by_its_target():
    stated = still(exchange={"drains": 2}).comparison
    assert stated["drains"].count == 2 != still().comparison["drains"].count
    assert not any("an example" in line for line in stated.assumptions)


def test_hours_are_those_of_the_job_else_taken_with_their_reason():
    taken = still().comparison
    assert [taken[key].hours for key in ("nothing", "drain", "bursts", "machine stirred", "drain and machine")] == [0, 1, 3, 1, 2]
    assert taken["drains"].hours == taken["drains"].count
    assert any("one drain and refill: 1 h, usually 0.5 h to 2 h (common practice" in line for line in taken.assumptions)
    stated = still(hours={"drain": "45 min", "bursts": "4 h", "machine": "2 h"}).comparison
    assert [stated[key].hours for key in ("drain", "bursts", "machine stirred", "drain and machine")] == [0.75, 4, 2, 2.75]
    assert not any("hands-on time" in line for line in stated.assumptions)


def test_an_hour_of_ones_own_is_money_if_the_job_says_what_it_is_worth():
    free, paid = (compare_methods(Job.demo().with_(costs={"hour": worth})) for worth in (None, 30))
    for method in free:
        assert nominal(paid[method.key].cost) == pytest.approx(nominal(method.cost) + 30 * method.hours)
    assert max(method.hours for method in free) > 0


def test_the_methods_are_compared_as_far_as_the_job_looks():
    job = still(target={"horizon": "4 y"}).job
    assert compare_methods(job).years == 4
    assert compare_methods(job, "6 y").years == 6


def test_what_a_helper_pours_while_the_pump_runs_is_read_on_the_jug_too():
    """As much goes in as alone, but in two pours a burst, each with the uncertainty of its reading."""
    exchange = Job.demo().to_dict()["exchange"]
    alone, helped = (
        still(exchange=exchange | {"helper": helper}, filler={"rate": "2 L/min"}).comparison["bursts"] for helper in (False, True)
    )
    assert helped.volume == alone.volume
    assert helped.outside_band > alone.outside_band


# -- planned to the target


@pytest.mark.parametrize("drain", ["2.2 ± 0.05 L", "3.3 ± 0.15 L", "4.4 ± 0.1 L"])
@pytest.mark.parametrize("fresh", ["50 %", "75 %", "90 %", "97 %"])
@pytest.mark.parametrize("probability", ["60 %", "90 %", "99 %"])
def test_so_many_drains_that_even_a_small_one_meets_the_target(drain, fresh, probability):
    # 1 - (1 - r)^n rises with r: it is at least t with probability P where it is at the (1 - P) quantile of r, a normal share
    case = still(capacity={"plug_drain": drain, "total": "8.85 ± 0.001 L"}, target={"fresh": fresh, "probability": probability})
    share = nominal(case.plug) / 8.85
    low = share - NormalDist().inv_cdf(case.probability) * standard(case.plug) / 8.85
    least = ceil(log(1 - case.target) / log(1 - low))
    result = case.comparison["drains"]
    assert result.count == least
    assert result.meets_target
    assert result.washers == least
    assert nominal(result.volume.magnitude) == pytest.approx(least * nominal(case.plug))


@pytest.mark.parametrize("fresh", ["60 %", "75 %", "85 %"])
def test_so_many_bursts_that_one_less_would_not_do(fresh):
    uncounted = {"bursts": None, "burst": "1.25 L"}
    case = still(exchange=uncounted, target={"fresh": fresh})
    result = case.comparison["bursts"]
    assert result.meets_target
    assert result.count > 1
    fewer = still(exchange={"bursts": result.count - 1, "burst": "1.25 L"}, target={"fresh": fresh})
    assert fewer.comparison["bursts"].probability < case.probability
    again = still(exchange={"bursts": result.count, "burst": "1.25 L"}, target={"fresh": fresh})
    assert again.comparison["bursts"].probability == pytest.approx(result.probability)


def test_a_burst_that_is_not_stated_is_what_the_pump_can_take():
    # 1.6 L at 3.75 L/min less 2 s are 1.475 L
    case = still(exchange={"burst": None, "bursts": None})
    assert BY_KEY["bursts"].impossible(case) is None
    assert BY_KEY["bursts"].seconds(case) <= case.seconds_to_air


QUART = 0.946352946


@pytest.mark.parametrize(
    ("vessel", "units", "burst", "shown"),
    [(None, None, 1.4, "1.4 L"), (None, "US", 1.5 * QUART, "1.5 US qt"),
     ([{"name": "pail", "graduation": "0.25 L"}], "US", 1.25, "1.32 US qt"),
     ([{"name": "pail", "graduation": "1/4 qt"}], None, 1.5 * QUART, "1.5 US qt"),
     ([{"name": "pail", "graduation": "2 L"}], None, 1.4, "1.4 L"),
     ([{"name": "pail", "graduation": "0.25 L"}, {"name": "jug", "graduation": "0.05 L"}], None, 1.25, "1.25 L"),
     ([{"name": "jug", "graduation": "50 mL", "holds": "2 L"}, {"name": "pail", "graduation": "0.2 L"}], None, 1.4, "1.4 L"),
     ([{"name": "pail", "graduation": "1 qt"}], "metric", QUART, "0.94 L")],
)  # fmt: skip
def test_a_burst_is_whole_divisions_of_the_pail_and_everything_is_computed_with_it(vessel, units, burst, shown):
    """1.475 L are 1.559 US qt: down to what the pail is marked in; without marks to a tenth of a litre, a quarter of a quart."""
    made = Job.demo().with_(log=[], exchange={"burst": None, "bursts": 6}, vessel=vessel)
    case, sheet = Case(made, units), plan(made, units)
    assert BY_KEY["bursts"].burst(case) == pytest.approx(burst)
    steps, said = sheet.section("steps"), " ".join(sheet.section("steps").lines)
    assert f"for one burst of {shown}, about" in said
    poured = [one["poured"] for one in steps.data["bursts"]]
    assert [b - a for a, b in pairwise(poured)] == pytest.approx([burst] * 5)
    assert sheet.section("buy").data["need"]["value"] == pytest.approx(3.70 + 6 * burst + 0.25 + 0.92)
    assert [row[2] for row in sheet.section("timetable").rows if row[1] != "empty the pail"] == [shown] * 12


def test_a_burst_as_small_as_can_be_is_measured_finely():
    """0.25 L at 3.75 L/min less 2 s are 0.125 L, 4.23 US fl oz: no division of a pail is that small."""
    scarce = {"burst": None, "bursts": 6, "reserve": "0.25 L"}
    assert BY_KEY["bursts"].burst(still(exchange=scarce)) == pytest.approx(0.12)
    assert BY_KEY["bursts"].burst(Case(still(exchange=scarce).job, "US")) == pytest.approx(4 * QUART / 32)


def test_out_of_reach_each_still_buys_what_one_must():
    # 0.3 L of 8.85 L: forty make 75 %; one adds at least a point while 0.0339·0.9661^(n-1) >= 0.01, so 36 times
    case = still(capacity={"plug_drain": "0.3 L"}, exchange={"refill": None}, target={"fresh": "90 %"})
    share = 0.3 / 8.85
    result = case.comparison["drains"]
    assert not result.meets_target
    assert result.count == 1 + floor(log(0.01 / share) / log(1 - share))
    dear = still(capacity={"plug_drain": "0.3 L"}, exchange={"refill": None}, target={"fresh": "90 %", "worth": "2 %"})
    assert dear.comparison["drains"].count == 1 + floor(log(0.02 / share) / log(1 - share))


def test_what_the_last_one_buys_is_said():
    job = Job.demo().with_(log=[], target={"method": "drains", "fresh": "90 %"})
    case, section = Case(job), plan(job).section("methods")
    share, count = 3.3 / 8.85, case.comparison["drains"].count
    litres, points = BY_KEY["drains"].last(case)
    assert nominal(litres.value) == pytest.approx(3.3)
    assert points == pytest.approx(share * (1 - share) ** (count - 1))
    assert f"makes the inside {100 * points:.1f} percentage points fresher" in " ".join(section.lines)


def test_without_a_target_three_drains_are_an_example():
    case = still(target={"fresh": None, "method": None})
    assert case.comparison["drains"].count == 3
    assert any("3 (an example: there is no target)" in line for line in case.comparison.assumptions)
    assert not any("an example" in line for line in still().comparison.assumptions)
    assert "of drains, a drive after each buys" not in plan(case.job).to_markdown()


@pytest.mark.parametrize("total", ["12.5 qt", "9 qt", "6.5 qt"])
def test_a_job_with_a_target_plans_what_reaches_it(total):
    job = Job.from_dict({"vehicle": {"name": "example wagon"}, "capacity": {"total": total}, "target": {"fresh": "90 %"}})
    case = Case(job)
    assert case.comparison[case.method.key].meets_target
    need = plan(job).section("buy").data["need"]["value"]
    assert need == pytest.approx(nominal(case.comparison[case.method.key].volume.magnitude))
    by_key = {one["key"]: one for one in plan(job).section("methods").data["methods"]}
    assert {"fresh", "volume", "count", "meets_target"} <= set(by_key["bursts"])


def test_fluid_without_a_price_is_spared():
    case = Case(Job.from_dict({"vehicle": {"name": "example wagon"}, "capacity": {"total": "12 L"}, "target": {"fresh": "50 %"}}))
    least = min(nominal(one.volume.magnitude) for one in case.able)
    assert nominal(case.comparison[case.method.key].volume.magnitude) == least


@pytest.mark.parametrize(("key", "said"), [("drains", True), ("bursts", True), ("drain", False)])
def test_the_summary_counts_what_is_done_several_times(key, said):
    case = still(target={"method": key, "fresh": "90 %"})
    sheet = plan(case.job).to_dict()["sections"]["summary"]
    (done,) = [fact for fact in sheet["facts"] if fact["id"] == "summary.do"]
    assert (f"{case.comparison[key].count} in all" in done["text"]) == said


@pytest.mark.parametrize("method", [m for m in METHODS if m.planned], ids=lambda m: m.key)
def test_what_is_gained_begins_with_nothing_and_ends_with_the_method(method):
    """Litres and fresh shares go up together, from none to the volume and the share at the end of the method."""
    case = still()
    gained = method.gained(case)
    assert (gained[0].litres, nominal(gained[0].inside)) == (0.0, 0.0)
    assert [one.litres for one in gained] == sorted(one.litres for one in gained)
    trim = nominal(case.job.value("exchange", "trim")) if method.key == "bursts" else 0.0
    assert gained[-1].litres + trim == pytest.approx(nominal(method.volume(case)))
    assert nominal(gained[-1].inside) == pytest.approx(nominal(method.fresh(case)), abs=0.01)


def test_the_result_of_a_method_is_given_as_a_quantity_on_request():
    """Plain numbers inside; a Quantity in litres or years of the same number outside."""
    for method in compare_methods(Job.demo()):
        assert number_in(method.volume, "L") == method.litres
        assert number_in(method.horizon_volume, "L") == method.horizon_litres
        assert str(method.age.units) == "year"
        assert nominal(number_in(method.age, "min")) == pytest.approx(nominal(method.minutes), rel=1e-14)


def test_a_comparison_as_data_says_years_and_what_a_year_costs():
    comparison = compare_methods(Job.demo())
    for method, told in zip(comparison, comparison.to_dict()["methods"], strict=True):
        assert told["mean_age"]["value"] == pytest.approx(nominal(number_in(method.age, "y")))
        assert told["mean_age"]["unit"] == "y"
        if method.cost_per_litre_year is not None:  # the whole fill of 8.85 L a year younger
            assert nominal(method.cost_per_year) == pytest.approx(8.85 * nominal(method.cost_per_litre_year), rel=1e-9)


@pytest.mark.parametrize(("share", "shorter"), [(0.98, False), (1.0, False), (1.02, True)])
def test_a_burst_is_only_shortened_when_it_outlasts_the_sump(share, shorter):
    bursts, data = BY_KEY["bursts"], Job.demo().to_dict()
    case = Case(Job.from_dict(data))
    data["exchange"]["burst"] = f"{share * case.flow * case.seconds_to_air / 60:.6f} L"
    assert bursts.shortened(Case(Job.from_dict(data))) is shorter


def test_an_exchange_without_mixing_that_surely_renews_all_has_no_doubt_left():
    """Twenty turnovers, known to a tenth: the fresh fraction is one, neither more nor uncertain."""
    assert _plug_flow(source(20.0, 0.1)) == 1.0
    assert nominal(_plug_flow(source(1.0, 0.1))) == pytest.approx(1 - 0.1 * NormalDist().pdf(0))


@pytest.mark.parametrize(("turnovers", "fresh"), [(0.5, 0.5), (0.9, 0.9), (1.0, 1.0), (3.0, 1.0)])
def test_an_exchange_without_mixing_renews_what_is_pumped_in_until_all_is_new(turnovers, fresh):
    """Exactly known, or as good as: the less doubt, the nearer to min(1, turnovers)."""
    for spread in (0.0, 1e-12, 1e-10, 1e-6):
        known = source(turnovers, spread) if spread else turnovers
        assert nominal(_plug_flow(known)) == pytest.approx(fresh, abs=spread)


@pytest.mark.parametrize(("turnovers", "spread"), [(0.7, 0.2), (0.9, 0.1), (1.0, 0.1), (1.05, 0.1), (1.2, 0.25)])
def test_an_exchange_without_mixing_is_the_mean_over_what_may_have_been_pumped(turnovers, spread):
    """Over twenty thousand equally likely volumes; and by the table of the unit normal loss, 0.0833 a standard deviation off."""
    drawn = [min(1.0, NormalDist(turnovers, spread).inv_cdf((k + 0.5) / 20_000)) for k in range(20_000)]
    found = _plug_flow(source(turnovers, spread))
    assert nominal(found) == pytest.approx(fmean(drawn), abs=1e-5)
    assert standard(found) == pytest.approx(pstdev(drawn), rel=2e-3)
    assert nominal(_plug_flow(source(1 + spread, spread))) == pytest.approx(1 - 0.0833 * spread, abs=1e-4 * spread)


@pytest.mark.parametrize("target", [0.3, 0.6, 0.85, 0.95])
def test_the_fewest_that_are_enough_are_found_by_few_of_them(target):
    """The share reached is a tenth less than thought and uncertain in proportion, so two of them tell where the others lie."""
    likely = [1 - 0.98**n for n in range(400)]
    asked = []

    def share(n):
        asked.append(n)
        return source(0.9 * likely[n] + 0.005, 0.02 * likely[n] + 0.001)

    case = SimpleNamespace(target=target - 0.1, probability=0.95)
    away = NormalDist().inv_cdf(0.95)
    fewest = next(n for n in range(400) if nominal(share(n)) - away * standard(share(n)) >= case.target)
    asked.clear()
    assert enough(case, likely, share) == fewest
    assert len(asked) <= 4


PLUG, PAN = {"name": "drain plug", "torque": "34 N·m", "window": "31 to 37 N·m"}, {"name": "pan bolts", "torque": "12 N·m"}
WRENCH = {"minimum": "10 N·m", "maximum": "50 N·m"}


def tightened(method, *bolts, wrench=WRENCH):
    data = Job.demo().to_dict() | {"log": [], "bolt": list(bolts), "wrench": wrench}
    data["target"]["method"] = method
    (told,) = [line for line in plan(Job.from_dict(data)).section("steps").lines if "torque" in line]
    return told.partition("torque ")[2].partition("), ")[0].rstrip(").")


def test_where_the_pan_stays_on_only_the_plug_is_tightened():
    """A wrench that may be 4 % off keeps within 31 to 37 N·m from 31 / 0.96 = 32.29 to 37 / 1.04 = 35.58."""
    assert tightened("drains", PLUG, PAN) == "(drain plug 34 N·m, wrench set to 32.3–35.5 N·m"
    assert tightened("drains", {**PLUG, "name": "Drain bolt"}, PAN).startswith("(Drain bolt 34 N·m")
    assert tightened("drains", {**PLUG, "name": "magnetic screw"}, PAN).startswith("(magnetic screw 34 N·m")
    assert tightened("bursts", PLUG, PAN).endswith("; pan bolts 12 N·m, wrench set to 12.0 N·m")


def test_the_torque_of_the_pan_is_not_taken_for_that_of_the_plug():
    assert tightened("drains", PAN).startswith("from the maker's service information, and pour back")
    assert tightened("bursts", PAN) == "(pan bolts 12 N·m, wrench set to 12.0 N·m"


def test_a_bolt_without_a_window_says_what_the_wrench_is_set_to():
    alone = {"name": "drain plug", "torque": "34 N·m"}
    assert tightened("drains", alone) == "(drain plug 34 N·m, wrench set to 34.0 N·m"
    assert tightened("drains", alone, wrench={"maximum": "30 N·m", "minimum": "5 N·m"}) == "(drain plug 34 N·m, not with this wrench"


def test_what_the_last_burst_buys_is_said_and_of_no_burst_nothing():
    case, fewer = Case(Job.demo()), Case(Job.demo().with_(exchange={"bursts": 5}))
    volume, points = BY_KEY["bursts"].last(case)
    assert volume.text == "1.25 L"
    gained = nominal(case.comparison["bursts"].fresh) - nominal(fewer.comparison["bursts"].fresh)
    assert points == pytest.approx(gained, abs=1e-4)  # a hundredth of a point: five bursts alone are judged by ways of their own
    assert BY_KEY["bursts"].last(Case(Job.demo().with_(exchange={"bursts": 0}))) is None
