"""What a sheet takes for granted: how much each of it matters, what would settle it, and values that are only roughly known."""

from __future__ import annotations

import re
from math import exp, sqrt

import pytest

from sumpwise import Job, plan
from sumpwise.service.case import Case
from sumpwise.service.keys import Default, Doubt
from sumpwise.service.schema import LISTS, TABLES, VIALS
from sumpwise.service.sensitivity import AIR, BUY, FRESH, LEVEL, mattering
from sumpwise.service.standing import Standing
from sumpwise.uncertainty import contributions, nominal, standard

QUART = 0.946352946
BARE = {"vehicle": {"name": "example wagon", "fluid_age": "9 y"}, "capacity": {"total": "9.5 ± 0 qt"}, "target": {"fresh": "90 %"}}


def weighed(job):
    """Id of each assumption (with whose it is) -> its effects by answer."""
    return {f"{one.id} {one.whose}".strip(): {e.answer: e.size for e in effects} for one, effects in mattering(Case(job))}


@pytest.mark.parametrize(("packs", "said", "litres"), [
    (["4 L", "1 L"], None, 1.0), (["4 L"], None, 1.5), ([], None, 1.0), ([], "0.5 L", 0.5),
])  # fmt: skip
def test_what_is_weighed_next_at_the_outlet_is_the_smallest_pack_or_as_the_job_says(packs, said, litres):
    shelf = [{"volume": pack, "price": 1} for pack in packs]
    case = Case(Job.from_dict(BARE | {"pack": shelf, "target": {"portion": said} if said else {}}))
    assert nominal(case.ask("target", "portion")) == litres
    assert [one.id for one in case.assumptions] == ([] if packs or said else ["assumed.target.portion"])


def test_what_the_plug_lets_out_moves_fresh_and_litres_as_the_formula_says():
    """Fresh after n drains is 1 - (1 - r)^n: its slope n(1 - r)^(n - 1) at r = 0.37 ± 0.07; the litres are n·r·total."""
    case = Case(Job.from_dict(BARE))
    count, effects = case.comparison["drains"].count, weighed(Job.from_dict(BARE))["assumed.capacity.plug_drain"]
    assert case.method.key == "drains"
    assert effects[FRESH] == pytest.approx(count * 0.63 ** (count - 1) * 0.07)
    assert effects[BUY] == pytest.approx(count * 9.5 * QUART * 0.07)


def test_a_plain_default_moves_an_answer_by_its_usual_range():
    """The pump draws air after reserve/flow less the reaction: 1.4 L over 1.5 to 8 L/min; 1 to 4 s of reaction."""
    job = Job.from_dict(BARE | {"target": {"fresh": "60 %", "method": "bursts"}, "exchange": {"burst": "0.3 L", "reserve": "1.4 L"}})
    assert Case(job).method.key == "bursts"
    effects = weighed(job)
    assert effects["assumed.exchange.flow"][AIR] == pytest.approx((1.4 / 1.5 - 1.4 / 8) / 2 / sqrt(3))
    assert effects["assumed.exchange.reaction"][AIR] == pytest.approx((4 - 1) / 60 / 2 / sqrt(3))


@pytest.mark.parametrize(("reserve", "key", "ends"), [
    ("0.25 L", "flow", (1.5, 8)),  # at 8 L/min it is gone in 1.9 s, before anyone can stop
    ("0.2 L", "reaction", (1 / 60, 4 / 60)),  # in 3.4 s at 3.5 L/min; nobody who takes 4 s can stop
])  # fmt: skip
def test_where_the_reserve_is_gone_before_anyone_can_stop_no_time_is_left(reserve, key, ends):
    """A burst of less than nothing is none: the effect goes from the time at the other end to no time at all."""
    exchange = {"burst": "0.1 L", "reserve": reserve}
    job = Job.from_dict(
        BARE | {"target": {"fresh": "60 %", "method": "bursts"}, "exchange": exchange, "circuit": {"drain_back": "0 L"}}
    )

    def minutes(flow=3.5, reaction=2 / 60):
        return max(0.0, float(reserve.split()[0]) / flow - reaction)

    low, high = (minutes(**{key: end}) for end in ends)
    assert min(low, high) == 0
    assert weighed(job)[f"assumed.exchange.{key}"][AIR] == pytest.approx(abs(high - low) / 2 / sqrt(3))


def test_an_uncertainty_moves_the_level_by_the_variance_that_goes_without_it():
    level = plan(Job.demo()).section("balance").data["off_target"]["joint"]["standard_uncertainty"]
    without = plan(Job.demo().with_(level={"floor": "0 mm"})).section("balance").data["off_target"]["joint"]["standard_uncertainty"]
    assert weighed(Job.demo())["assumed.level.floor"][LEVEL] == pytest.approx(sqrt(level**2 - without**2), rel=1e-6)


@pytest.mark.parametrize("key", [key for key, spec in TABLES["level"].items() if spec.makes])
@pytest.mark.parametrize("entries", [4, 9, 14, 17, 19])
def test_what_goes_without_an_uncertainty_is_what_goes_if_the_job_says_that_it_is_zero(entries, key):
    case = Case(Job.demo().with_(log=Job.demo().to_dict()["log"][:entries]))
    rows = [(one, effects) for one, effects in mattering(case) if one.id == f"assumed.level.{key}"]
    certain = Standing(case, case.otherwise({("level", key, 0): 0.0}).agreement)
    wide = Standing(case, case.agreement)
    size = sqrt(max(standard(wide.off) ** 2 - standard(certain.off) ** 2, 0.0))
    told = {effect.answer: effect.size for one, effects in rows for effect in effects}
    assert told.get(LEVEL, 0.0) == pytest.approx(size if size >= 0.005 else 0.0, abs=1e-9)


@pytest.mark.parametrize("total", ["8.85(40) L", "8.85 L"])
def test_a_fill_that_is_not_quite_known_makes_a_reading_of_the_stick_that_much_less_certain(total):
    """Off the window, a fill V is taken to have grown by V·g, with g from API MPMS 11.1 and an aluminium case: that moves it by g·u(V)."""
    demo = Job.demo()
    case = Case(demo.with_(capacity=demo.to_dict()["capacity"] | {"total": total}))
    compared = 0
    for entry in case.job.entries("log"):
        if entry["event"] == "stick":
            warm, alpha = nominal(entry["temperature"]), 0.6278 / 847
            middle, now = (exp(-alpha * (t - 15) * (1 + 0.8 * alpha * (t - 15))) for t in (87, warm))
            growth = now / middle * (1 + 3 * 23e-6 * (warm - 87)) - 1
            parts = dict(contributions(case.by_stick(entry).value))
            ((cause, u),) = contributions(case.total)
            assert parts[cause] == pytest.approx(growth * u, rel=1e-6)
            compared += abs(growth) > 0.01
    assert compared == 1


def test_the_effects_on_one_answer_make_up_its_uncertainty():
    """If a job states no uncertainty itself, all effects together are the uncertainty of the answer."""
    case = Case(Job.from_dict({"vehicle": {"name": "example wagon"}, "target": {"fresh": "90 %"}}))
    fresh = case.comparison[case.method.key].fresh
    told = [effects[FRESH] for effects in weighed(case.job).values() if FRESH in effects]
    assert sqrt(sum(size * size for size in told)) == pytest.approx(standard(fresh), rel=0.02)


def test_what_matters_most_comes_first_and_the_rest_is_said_to_move_nothing():
    sheet = plan(Job.demo())
    section = sheet.section("assumptions")
    ids = [fact["id"] for fact in section.facts]
    mute = ids.index("assumed.mute")
    assert all(re.search(r"[Mm]oves ", text) for text, fact in zip(section.lines[:mute], section.facts, strict=False) if fact["verdict"])
    assert not any(" Moves " in text for text in section.lines[mute:])
    taken = section.data["taken"]
    assert [bool(one["effects"]) for one in taken] == sorted((bool(one["effects"]) for one in taken), reverse=True)
    assert taken[0]["id"] == "assumed.circuit.bypass"


def test_the_measurement_that_helps_most_is_one_that_can_be_made():
    brief = plan(Job.from_dict(BARE)).to_markdown(full=False)
    assert "**The measurement that helps most**: what comes out at the drain plug. To know better: drain once" in brief
    assert "fresh inside by ± 3.1 points" in brief
    demo = plan(Job.demo().with_(log=[], circuit={"converter": "about 2.45 L"})).section("assumptions")
    assert demo.facts[0]["id"] == "assumed.best"
    assert VIALS not in demo.lines[0]
    assert VIALS in demo.lines[1]


def test_a_stated_value_moves_nothing_any_more():
    assert "assumed.capacity.plug_drain" in weighed(Job.from_dict(BARE))
    assert "assumed.capacity.plug_drain" not in weighed(Job.from_dict(BARE | {"capacity": {"total": "9.5 qt", "plug_drain": "3.5 qt"}}))


@pytest.mark.parametrize("table", [*TABLES, *LISTS])
def test_whatever_can_be_taken_says_where_it_is_found(table):
    for name, key in (TABLES | LISTS)[table].items():
        reason = getattr(key.default, "reason", "a rule") if key.default else getattr(key.doubt, "reason", "")
        if reason and (table, name) not in (("report", "units"), ("exchange", "drive_flow")):
            assert key.find, name
        assert not re.search(r"\d|[.;]$|°", key.find), name


@pytest.mark.parametrize(("table", "key", "word"), [
    ("capacity", "total", "dry fill"), ("fluid", "density_15", "data sheet"), ("level", "marks_volume", "known amount"),
    ("level", "window", "service information"), ("level", "marks_length", "rule"),
])  # fmt: skip
def test_a_home_mechanic_is_told_where_to_look(table, key, word):
    assert word in TABLES[table][key].find
    assert TABLES[table][key].find in Job.json_schema()["properties"][table]["properties"][key]["description"]


def test_the_fresh_share_so_far_is_as_uncertain_as_what_is_not_published():
    """The flows inside have no published value: the share reached so far is known no better than the planned one."""
    blind = [{key: value for key, value in entry.items() if key != "outlet_old"} for entry in Job.demo().to_dict()["log"]]
    sheet = plan(Job.demo().with_(log=blind))  # no vials matched
    data = sheet.section("now").data["fresh"]
    planned = sheet.section("steps").data["bursts"][-1]["resident_fresh"]
    assert data["standard_uncertainty"] == pytest.approx(planned["standard_uncertainty"], rel=0.1)


def test_a_stick_that_was_not_read_moves_no_level():
    """Counted from where it was before the work, the level is as uncertain as the amounts; no error of the stick is in it."""
    effects = weighed(Job.demo().with_(log=[entry for entry in Job.demo().to_dict()["log"] if entry["event"] != "stick"]))
    assert not {name for name, moved in effects.items() if name.startswith("assumed.level.") and LEVEL in moved}


# -- values that are roughly known


@pytest.mark.parametrize(
    ("text", "best", "half"),
    [
        ("about 13 qt", 13 * QUART, 1.3 * QUART), ("~13 qt", 13 * QUART, 1.3 * QUART), ("approx. 12 L", 12, 1.2), ("≈ 12 L", 12, 1.2),
        ("12-15 qt", 13.5 * QUART, 1.5 * QUART), ("15 ± 3 qt", 15 * QUART, 3 * QUART), ("5-1/2 qt", 5.5 * QUART, 0),
    ],
)  # fmt: skip
def test_a_volume_may_be_roughly_known(text, best, half):
    value = Job.from_dict({"vehicle": {"name": "wagon"}, "capacity": {"total": text}}).value("capacity", "total")
    assert nominal(value) == pytest.approx(best)
    assert standard(value) == pytest.approx(half / sqrt(3))


@pytest.mark.parametrize(
    ("tables", "table", "key", "best", "u"),
    [
        ({"fluid": {"temperature": "about 68 °F"}}, "fluid", "temperature", 20, 5 / sqrt(3)),
        ({"fluid": {"temperature": "15-21 °C"}}, "fluid", "temperature", 18, 3 / sqrt(3)),
        ({"exchange": {"flow": "3-4 L/min"}}, "exchange", "flow", 3.5, 0.5 / sqrt(3)),
        ({"vehicle": {"fluid_age": "about 10 y"}}, "vehicle", "fluid_age", 10 * 525_960, 525_960 / sqrt(3)),
        ({"circuit": {"bypass": "20-40 %"}}, "circuit", "bypass", 0.3, 0.1 / sqrt(3)),
    ],
)
def test_so_may_anything_that_is_measured(tables, table, key, best, u):
    data = {"vehicle": {"name": "wagon"}}
    job = Job.from_dict({name: data.get(name, {}) | tables.get(name, {}) for name in {*data, *tables}})
    assert nominal(job.value(table, key)) == pytest.approx(best)
    assert standard(job.value(table, key)) == pytest.approx(u)


def test_in_a_list_too():
    job = Job.demo().with_(component=[{"name": "transfer case", "volume": "0.8-1 L"}])
    assert standard(job.entries("component")[0]["volume"]) == pytest.approx(0.1 / sqrt(3))
    log = [{"event": "drained", "vessel": "pail", "reading": "about 3.3 L", "temperature": "about 40 °C"}]
    [entry] = Job.demo().with_(log=log).entries("log")
    assert standard(entry["reading"]) == pytest.approx(0.33 / sqrt(3))
    assert standard(entry["temperature"]) == pytest.approx(5 / sqrt(3))


def test_what_about_is_good_to_is_an_assumption_with_its_effect():
    job = Job.from_dict(BARE | {"capacity": {"total": "about 13 qt", "plug_drain": "4 qt"}})
    sheet = plan(job)
    [line] = [text for text in sheet.section("assumptions").lines if "about" in text and "good to" in text]
    assert 'good to 6 %, one standard uncertainty (it was written with "about").' in line
    assert "Moves fresh inside by" in line
    assert "about 13 qt" in sheet.to_markdown()
    metric = plan(job, units="metric").to_markdown()
    assert "about 12.3 L" in metric
    assert " qt" not in metric


def test_so_is_what_about_is_good_to_in_an_entry_of_the_log():
    """0.30 L to 6 %: less than half of the 0.05 L that the demo states, so that the count is better known."""
    data = Job.demo().to_dict()
    (tray,) = (entry for entry in data["log"] if entry.get("what") == "tray under the pan")
    tray["volume"] = "about 0.30 L"
    case = Case(Job.from_dict(data))
    assert [one.entry for one in case.job.loose] == [data["log"].index(tray)]
    assert any("good to 6 %" in line for line in plan(case.job).section("assumptions").lines)
    assert standard(case.agreement.count) < standard(Case(Job.demo()).agreement.count)


@pytest.mark.parametrize("text", ["about 13 ± 1 qt", "about 12-15 qt", "about", "about qt", "15-12 qt", "about -3 qt"])
def test_what_says_twice_or_nothing_is_refused(text):
    [error] = Job.problems({"vehicle": {"name": "wagon"}, "capacity": {"total": text}})
    assert error.pointer == "/capacity/total"
    assert "\n" not in str(error)


def test_a_count_is_not_a_range():
    assert Job.problems({"vehicle": {"name": "wagon"}, "exchange": {"bursts": "3-4"}})


def test_a_torque_written_by_its_limits_is_its_own_window():
    job = Job.demo().with_(bolt=[{"name": "drain plug", "torque": "31-37 N·m"}])
    assert job.entries("bolt")[0]["window"] == pytest.approx((31, 37))
    assert plan(job).section("torque").rows[0][2].replace("–", "-") == "31-37 N·m"


def test_every_default_and_every_assumed_uncertainty_has_its_reason():
    for line in plan(Job.demo()).section("assumptions").data["taken"]:
        assert line["reason"]
    assert isinstance(TABLES["exchange"]["flow"].default, Default)
    assert isinstance(TABLES["capacity"]["total"].doubt, Doubt)


def test_once_vials_were_matched_nobody_is_told_to_match_them():
    """What they say about an assumed value stands beside it, with its uncertainty, instead of the advice to match vials."""
    seen, blind = Job.demo(), Job.demo().with_(log=[{k: v for k, v in e.items() if k != "outlet_old"} for e in Job.demo().to_dict()["log"]])
    lines = plan(seen).section("assumptions").lines
    assert not [line for line in lines if "match vials" in line]
    assert [line for line in plan(blind).section("assumptions").lines if "match vials" in line]
    told = plan(seen).section("outlet").data["parameters"]["bypass"]
    bypass = next(line for line in lines if "bypasses the converter" in line)
    assert f"the matched vials put it at {100 * told['mean']:.0f} ± {100 * told['standard']:.0f} %" in bypass
    assert "By the amounts alone it moves fresh inside" in bypass
    found = [line.partition("vials put it at ")[2] for line in lines if "vials put it at" in line]
    assert len(found) == 5
    assert all(" ± " in value for value in found)
