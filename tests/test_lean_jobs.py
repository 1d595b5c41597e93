"""Jobs that say less, or other things, than the demo: each sheet still stands, and says what is missing."""

from __future__ import annotations

import pytest

from sumpwise import Job, ServiceRecord, Sheet, compare_methods, plan
from sumpwise.quantities.arguments import number_in
from sumpwise.service.case import Case
from sumpwise.uncertainty import nominal


def job(without=(), **tables):
    """The demo's job with tables changed, and tables or table.key left out."""
    data = Job.demo().to_dict()
    for table, content in tables.items():
        if isinstance(content, dict):
            data.setdefault(table, {}).update(content)
        else:
            data[table] = content
    for name in without:
        table, _, key = name.partition(".")
        if key:
            data[table].pop(key, None)
        else:
            data.pop(table, None)
    return Job.from_dict(data)


def text(sheet: Sheet, key: str) -> str:
    section = sheet.section(key)
    return " ".join([*section.lines, *(cell for row in section.rows for cell in row)])


def keys(sheet: Sheet) -> set[str]:
    return {section.key for section in sheet.sections}


def test_without_a_wrench_no_setting_is_given():
    assert "no wrench listed" in text(plan(job(without=["wrench"])), "torque")


def test_a_wrench_too_coarse_is_said_to_be():
    shown = text(plan(job(wrench={"deviation": "20 %"})), "torque")
    assert "cannot keep the torque inside the window" in shown
    assert "not with this wrench" in shown


def test_without_an_adapter_the_plain_setting_stands():
    bolt = plan(job(without=["wrench.adapter", "wrench.length"])).section("torque").data["bolts"][0]
    assert "with_adapter" not in bolt
    assert bolt["setting"]["lower"]["value"] == pytest.approx(31 / 0.96)


def test_a_claim_of_everything_has_no_litres():
    sheet = plan(job(quote={"claim": "100 %"}))
    assert "Fully stirred, 100" not in sheet.to_markdown()


def test_a_quote_without_a_price_is_judged_all_the_same():
    assert "is **" in plan(job(without=["quote.price"])).to_markdown()


def test_without_a_filler_tube_there_is_no_timetable():
    whole, lean = plan(Job.demo()), plan(job(without=["filler"]))
    assert keys(whole) - keys(lean) <= {"timetable"}
    assert keys(whole) != keys(lean)


def test_bursts_larger_than_the_sump_are_planned_shorter_and_that_is_said():
    """1.6 L at 3.75 L/min less 2 s is 1.475 L, 1.25 L in divisions of the pail; the litres asked for are 36 L, so 29 of them."""
    sheet = plan(job(exchange={"burst": "6 L"}))
    [said] = [line for line in sheet.section("steps").lines if "than the job asks" in line]
    assert said.startswith("**Shorter bursts than the job asks**: one of 6.00 L takes 96 s, and the pump draws air after 23 s.")
    assert said.endswith("The plan has 29 of 1.25 L.")
    assert len(sheet.section("steps").data["bursts"]) == 29
    assert "than the job asks" in sheet.to_markdown(full=False)
    assert "than the job asks" not in plan(Job.demo()).to_markdown()


def test_bursts_of_three_quarts_reach_their_target():
    """They must not be given up for one drain, which cannot reach a target of 90 %."""
    asked = {"target": {"fresh": "85 %", "method": "bursts"}, "exchange": {"burst": "3 qt", "bursts": None, "refill": None}}
    sheet = plan(Job.demo().with_(log=[], **asked))
    assert "bursts through the cooler line" in sheet.section("steps").title
    [planned] = [one for one in sheet.section("methods").data["methods"] if one["key"] == "bursts"]
    assert planned["meets_target"]
    assert sheet.section("buy").data["need"]["value"] >= planned["volume"]["value"]


def test_a_helper_who_pours_meanwhile_makes_bursts_longer_and_fewer():
    """The sump loses flow less pour: 1.6 L over 3.75 - 1.0 L/min less 2 s is 32.9 s, 2.06 L; 2.0 L in the pail, alone 1.25 L."""

    def planned(helper, **filler):
        exchange = {"burst": None, "bursts": None, "refill": None, "helper": helper}
        made = Job.demo().with_(log=[], target={"fresh": "85 %", "method": "bursts"}, exchange=exchange, filler=filler)
        sheet = plan(made)
        return sheet, sheet.section("steps").data["bursts"], " ".join(sheet.section("steps").lines)

    (_, alone, told), (sheet, helped, with_helper) = planned(False, rate="1 L/min"), planned(True, rate="1 L/min")
    assert helped[1]["poured"] - helped[0]["poured"] == pytest.approx(2.0)
    assert alone[1]["poured"] - alone[0]["poured"] == pytest.approx(1.25)
    assert len(helped) < len(alone)
    assert "helper" not in told
    assert "while the helper pours steadily, 1.0 L/min" in with_helper
    assert "When the funnel stops, stop the engine." in with_helper
    assert {"burst", "pour"} <= {row[1] for row in sheet.section("timetable").rows}
    unknown = plan(Job.demo().with_(filler=None, log=[], exchange={"helper": True, "burst": None}))
    assert "assumed.filler.rate" in {one["id"] for one in unknown.section("assumptions").data["taken"]}


def test_what_a_helper_pours_meanwhile_is_pumped_out_sooner():
    """The same litres by the same bursts renew less where part of them runs through while the pump runs."""
    asked = {"burst": "1.25 L", "bursts": 6, "refill": None}
    alone, helped = (
        compare_methods(Job.demo().with_(log=[], exchange=asked | {"helper": helper}, filler={"rate": "1 L/min"}))["bursts"]
        for helper in (False, True)
    )
    assert helped.fresh.nominal_value < alone.fresh.nominal_value
    assert helped.volume.magnitude.nominal_value == pytest.approx(alone.volume.magnitude.nominal_value)


def test_a_funnel_faster_than_the_pump_is_held_back():
    fast = Job.demo().with_(log=[], filler={"rate": "9 L/min"}, exchange={"helper": True, "burst": None})
    assert "while the helper pours steadily, 3.4 L/min" in " ".join(plan(fast).section("steps").lines)  # nine tenths of 3.75 L/min


@pytest.mark.parametrize(
    ("exchange", "seconds", "air"),
    [
        ({"reserve": "1.3 L"}, 20, 18),  # 1.3 L at 3.75 L/min is 20.8 s, less 2 s to react
        ({"refill": "3.30 L"}, 20, 17),  # 0.4 L not poured back: 1.2 L to spare
        ({"reserve": "2.0 L", "burst": "1.95 L"}, 32, 30),
    ],
)
def test_a_burst_longer_than_the_time_to_air_is_made_shorter(exchange, seconds, air):
    sheet = plan(job(exchange=exchange))
    [said] = [line for line in sheet.section("steps").lines if "than the job asks" in line]
    assert f"takes {seconds} s, and the pump draws air after {air} s" in said
    assert sheet.section("timetable").data["bursts"] == len(sheet.section("steps").data["bursts"]) > 6 - ("2.0 L" in exchange.values())
    burst = sheet.section("steps").data["bursts"]
    assert (burst[1]["poured"] - burst[0]["poured"]) / 3.75 * 60 <= air + 1


def test_a_burst_just_within_the_time_to_air_is_never_printed_longer():
    shown = text(plan(job(exchange={"burst": "1.225 L", "reserve": "1.3525 L"})), "steps")  # 19.6 s; air after 19.64 s
    assert "about 19 s at 3.75 L/min" in shown
    assert "draws air after about 19 s" in shown


def test_the_reserve_counts_from_the_start_level_in_circuit_steps_and_learning():
    low = [{"event": "stick", "reading": "-4 mm", "temperature": "86 °C"}]
    for log in ([], low):
        case = Case(job(log=log))
        assert case.reserve == pytest.approx(1.6)
        assert case.seconds_to_air == pytest.approx(1.6 / 3.75 * 60 - 2)
    burst = {"event": "drained", "vessel": "jug", "reading": "1.20 L", "temperature": "20 °C", "duration": "20 s"}
    learned = [ServiceRecord.of(job(log=[*log, burst]), 0.5).learned["reserve at least"]["value"] for log in ([], low)]
    assert learned[0] == learned[1] == pytest.approx(1.20)


def test_a_stated_floor_of_the_sump_is_the_reserve_of_the_steps():
    shown = text(plan(job(circuit={"sump": "3.9 L", "sump_floor": "2.1 L"})), "steps")
    assert "reserve 1.8 L" in shown
    assert "draws air after about 26 s" in shown  # 1.8 L at 3.75 L/min is 28.8 s, less 2 s


@pytest.mark.parametrize(
    ("without", "changed", "why"),
    [
        (["filler"], {}, "has no filler tube"),
        (["fluid.viscosity_40"], {}, "no viscosities of the fluid"),
        ([], {"vessel": [{"name": "pail", "graduation": "0.25 L", "holds": "1 L"}, {"name": "jug", "graduation": "0.05 L"}]}, "pail"),
    ],
)
def test_a_timetable_that_cannot_be_made_says_why(without, changed, why):
    sheet = plan(job(without=without, **changed))
    assert "timetable" not in keys(sheet)
    line = next(line for line in sheet.section("steps").lines if line.startswith("No timetable can be made"))
    assert why in line


@pytest.mark.parametrize("drain", ["2.2 L", "3.3 ± 0.15 L", "3.32 L", "4.2 L", "4.8 L"])
def test_what_is_stated_to_drain_is_in_the_sump(drain):
    sheet = plan(job(without=["exchange.refill"], capacity={"plug_drain": drain}))
    assert "bursts" in sheet.section("steps").title
    assert len(sheet.section("steps").data["bursts"]) == 6


def test_a_circuit_holds_the_fill_whatever_is_stated_of_it():
    for circuit in ({}, {"converter": "2.45 L"}, {"sump": "3.73 L"}, {"sump": "4.5 L", "pockets": "0.6 L"}):
        made = Case(job(circuit=circuit, log=[])).circuit
        assert nominal(number_in(made.volume, "L")) == pytest.approx(8.85)


def test_a_drain_that_leaves_nothing_for_the_converter_is_said():
    first = plan(job(capacity={"plug_drain": "8.2 L"})).section("methods").lines[0]
    assert "leaves nothing for the" in first
    assert "plug_drain" in first


def test_what_is_stated_of_the_circuit_reaches_the_outlets_evidence():
    def known(made):
        return set(plan(made).section("outlet").data["parameters"])

    flows = {"bypass", "clutch_circulation", "pocket_circulation", "drawn_first", "drain_back", "bypass_drift"}
    assert known(Job.demo()) == flows  # the job's reserve says where the sump's floor is
    assert known(job(without=["exchange.reserve"])) == {*flows, "sump_floor"}
    stated = {"sump": "3.73 L", "sump_floor": "1.6 L", "pockets": "1.05 L", "bypass": "35 %", "clutch_circulation": 0.25,
              "pocket_circulation": 0.017, "drawn_first": "0 %", "drain_back": "0 L", "bypass_drift": 0,
              "converter_tanks": 1}  # fmt: skip
    shown = plan(job(circuit=stated)).section("outlet").data
    assert "bypass: 0.35, as stated" in shown["assumptions"]
    assert "anywhere" not in " ".join(shown["assumptions"])
    assert "makes up the difference" not in " ".join(shown["assumptions"])
    assert shown["parameters"] == {}


def test_the_sump_of_the_log_holds_what_the_log_drained():
    shown = plan(job(capacity={"plug_drain": "2.9 L"})).section("outlet")  # the log drained 3.23 L and 0.41 L
    assert "cannot be followed" not in " ".join(shown.lines)


def test_a_target_that_no_method_reaches_is_said_to_be_missed():
    # 1 - 0.6271·exp(-12/8.85) = 84 %; sips of 0.3 L make 75 % of forty, and stop where one adds less than one point
    small = {"plug_drain": "0.3 L"}
    asked = plan(job(target={"fresh": "99 %"}, capacity=small, without=["target.method", "exchange.refill", "log"])).section("methods")
    assert asked.lines[0].startswith("**The target is missed**: one drain, then machine exchange")
    assert "the best there is" in asked.lines[0]
    assert "Chosen" not in " ".join(asked.lines)
    named = plan(job(target={"fresh": "99 %", "method": "drain"}, capacity=small)).section("methods").lines[0]
    assert "3.4 ± 0.3 % fresh inside, not 99 %" in named
    assert "the best there is: one drain, then machine exchange, 75" in named
    other = plan(job(target={"fresh": "80 %", "method": "drain"})).section("methods").lines[0]
    assert "would reach it" in other


def test_a_stated_circuit_is_taken_as_stated():
    stated = {"sump": "3.9 L", "sump_floor": "1.6 L", "bypass": "35 %", "converter": "2.45 L", "cooler": "0.62 L"}
    assumed = " ".join(compare_methods(job(circuit=stated)).assumptions)
    assert "reserve" not in assumed.lower()
    assert Job.from_dict(job(circuit=stated).to_dict()).to_dict() == job(circuit=stated).to_dict()


def test_a_capacity_with_its_own_uncertainty_needs_no_assumed_one():
    sharp, doubtful = (" ".join(compare_methods(job(capacity={"total": total})).assumptions) for total in ("8.85 L", "8.85 ± 0.3 L"))
    assert len(doubtful) < len(sharp)


def test_a_target_out_of_reach_takes_the_best_there_is():
    sheet = plan(job(without=["target.method", "exchange.refill", "log"], target={"fresh": "99.99 %"}, capacity={"plug_drain": "0.3 L"}))
    assert "one drain, then machine exchange" in sheet.section("steps").title


@pytest.mark.parametrize("method", ["machine stirred", "drain and machine", "drain"])
def test_only_a_machine_is_asked_how_many_litres_it_pushes(method):
    shown = plan(job(target={"method": method})).to_markdown()
    assert ("ask how much fluid it pumps through" in shown) == ("machine" in method)


def test_the_need_is_at_least_as_uncertain_as_the_volume_of_its_method():
    sheet = plan(job(without=["shopping.need_uncertainty", "component", "quote"], target={"method": "machine stirred"}))
    volume = next(m for m in sheet.section("methods").data["methods"] if m["key"] == "machine stirred")["volume"]
    need = sheet.section("buy").data["need"]
    assert need["value"] == volume["value"]
    expected = (volume["standard_uncertainty"] ** 2 + (0.02 * need["value"]) ** 2) ** 0.5
    assert need["standard_uncertainty"] == pytest.approx(expected)


def test_no_line_points_to_torques_that_are_not_there():
    assert "torque from the maker's service information" in text(plan(job(without=["bolt"])), "steps")
    assert "(drain plug 34 N·m, wrench set to 28.1–30.9 N·m; pan bolts 9.5 N·m, not with this wrench)" in text(plan(Job.demo()), "steps")


def test_without_trim_the_shopping_has_no_line_for_it():
    whole, lean = plan(Job.demo()), plan(job(without=["exchange.trim"]))
    assert whole.section("buy").data["need"]["value"] - lean.section("buy").data["need"]["value"] == pytest.approx(0.25)


def test_one_pack_that_always_does_is_simply_bought():
    sheet = plan(job(pack=[{"name": "drum", "volume": "60 L", "price": 99.0}]))
    assert "would do on average" not in text(sheet, "buy")


def test_without_vessels_the_balance_is_not_drawn():
    data = Job.demo().to_dict()
    data["log"] = []
    data.pop("vessel")
    assert "balance" not in keys(plan(Job.from_dict(data)))


def test_no_bursts_no_burst_plan():
    sheet = plan(job(exchange={"bursts": 0}))
    assert "timetable" not in keys(sheet)


def test_without_an_interval_nothing_is_due():
    bare = job(without=["vehicle.interval_time", "vehicle.interval_distance"])
    assert ServiceRecord.of(bare, 0.5).next_due == {}
    assert ServiceRecord.of(job(without=["vehicle.distance"]), 0.5).next_due == {"time": "4 y from the service"}


def test_a_vessel_that_was_never_weighed_teaches_no_scale():
    plain = job(vessel=[{"name": "pail", "graduation": "0.25 L"}, {"name": "jug", "graduation": "0.05 L"}])
    assert not [name for name in ServiceRecord.of(plain, 0.5).learned if name.endswith("scale")]


def test_a_stick_read_at_a_stop_sign_is_not_judged():
    hot = job(log=[{"event": "stick", "reading": "1 mm", "temperature": "125 °C"}])
    assert "stop: see above" in text(plan(hot), "level")


@pytest.mark.parametrize(
    ("vehicle", "capacity"),
    [
        ({"cooler_line": False}, {"plug_drain": "8.2 L"}),
        ({"level_check": "sealed"}, {"plug_drain": "8.2 L"}),
        ({}, {"plug_drain": "8.2 L"}),
        ({"kind": "manual"}, {}),
        ({"kind": "axle"}, {"total": None, "plug_drain": None}),
    ],
)
def test_a_circuit_that_cannot_be_leaves_the_rest_of_the_sheet(vehicle, capacity):
    for log in (Job.demo().to_dict()["log"], []):
        sheet = plan(Job.demo().with_(vehicle=vehicle, capacity=capacity, log=log))
        assert {"buy", "methods", "steps", "torque", "assumptions"} <= keys(sheet)


@pytest.mark.parametrize("key", ["burst", "bursts", "flow", "reserve", "refill", "trim"])
def test_an_exchange_that_leaves_a_key_out_still_makes_a_sheet(key):
    sheet = plan(job(without=[f"exchange.{key}"]))
    assert "bursts" in sheet.section("methods").lines[0]
    assert "timetable" in keys(sheet)


@pytest.mark.parametrize(("method", "count"), [("drains", 2), ("bursts", 5)])
def test_a_number_that_the_job_writes_is_planned(method, count):
    """With `drains = 2` and neither a method nor a target, two drains are wanted, not the cheapest method."""
    job = Job.from_dict({"vehicle": {"name": "example wagon"}, "capacity": {"total": "8.1 qt"}, "exchange": {method: count}})
    case = Case(job)
    assert (case.method.key, case.comparison[method].count) == (method, count)


OUT, BACK = {"event": "drained", "reading": "4.1 qt"}, {"event": "poured", "reading": "4.1 qt"}
TIMED = {"event": "drained", "reading": "1.2 qt", "duration": "20 s"}


@pytest.mark.parametrize(("log", "target", "method", "count"), [
    ([OUT, BACK, {"event": "drive"}, OUT], {"fresh": "60 %"}, "drains", 2),
    ([OUT, BACK, {"event": "drive"}, OUT], {"fresh": "90 %"}, "drains", None),
    ([OUT, BACK, {"event": "drive"}, OUT], {}, "drains", 2),
    ([OUT, BACK, TIMED], {}, "bursts", 1),
    ([OUT, BACK, TIMED], {"fresh": "60 %"}, "bursts", None),
    ([OUT, BACK, TIMED], {"fresh": "60 %", "method": "drains"}, "drains", None),
])  # fmt: skip
def test_a_method_that_the_log_has_begun_is_gone_on_with(log, target, method, count):
    """After two drains the sheet does not ask for the pan to come off because that would have been the cheapest way to begin."""
    data = {"vehicle": {"name": "example wagon"}, "capacity": {"total": "8.9 qt", "plug_drain": "4.2 qt"}, "log": log, "target": target}
    case = Case(Job.from_dict(data))
    assert case.method.key == method
    assert count is None or case.comparison[method].count == count
    said = plan(Job.from_dict(data)).section("methods").lines
    assert ("The log has begun that way; to plan another, name it as the method under target." in said) is ("method" not in target)
