"""Jobs that say less, or other things, than the demo: each sheet still stands, and says what is missing."""

from __future__ import annotations

import pytest

from sumpwise import Job, ServiceRecord, Sheet, compare_methods, plan


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
    assert "no wrench in the job" in text(plan(job(without=["wrench"])), "torque")


def test_a_wrench_too_coarse_is_said_to_be():
    shown = text(plan(job(wrench={"deviation": "20 %"})), "torque")
    assert "cannot guarantee the window" in shown
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


def test_bursts_larger_than_the_sump_are_not_planned():
    sheet = plan(job(exchange={"burst": "6 L"}))
    assert "**Not as the job asks**: pan off, then bursts by the cooler line: the circuit refuses: takes the sump to" in sheet.to_markdown()
    assert "Not as the job asks" not in plan(Job.demo()).to_markdown()


def test_a_stated_circuit_is_taken_as_stated():
    stated = {"sump": "3.9 L", "sump_floor": "1.6 L", "bypass": "35 %", "converter": "2.45 L", "cooler": "0.62 L"}
    assumed = " ".join(compare_methods(job(circuit=stated)).assumptions)
    assert "reserve" not in assumed.lower()
    assert Job.from_dict(job(circuit=stated).to_dict()).to_dict() == job(circuit=stated).to_dict()


def test_a_capacity_with_its_own_doubt_needs_no_assumed_one():
    sharp, doubtful = (" ".join(compare_methods(job(capacity={"total": total})).assumptions) for total in ("8.85 L", "8.85 ± 0.3 L"))
    assert len(doubtful) < len(sharp)


def test_a_target_out_of_reach_takes_the_best_there_is():
    steps = plan(job(without=["target.method"], target={"fresh": "99.99 %"}))
    assert steps.section("buy").data["need"]["value"] > 0


@pytest.mark.parametrize("method", ["machine stirred", "drain and machine", "drain"])
def test_only_a_machine_is_asked_how_many_litres_it_pushes(method):
    shown = plan(job(target={"method": method})).to_markdown()
    assert ("ask how many litres it pushes" in shown) == ("machine" in method)


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
