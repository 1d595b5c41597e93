"""What a sheet says to someone at the car: nothing about parts that the unit lacks, one unit for one amount, and no fact left unsaid."""

import re

import pytest

from shared import said
from sumpwise import Job, Ledger, ServiceRecord, SumpwiseError, Vessel, drain_refill, plan

DEMO = Job.demo().to_dict()
PLUG = {"event": "drained", "vessel": "pail", "reading": "1.9 L", "temperature": "40 °C"}


def made(*log, **tables):
    return Job.from_dict({"vehicle": {"name": "example wagon"}, "log": list(log)} | tables)


@pytest.mark.parametrize("kind", ["axle", "manual", "transfer case"])
@pytest.mark.parametrize("log", [(), (PLUG,)])
def test_a_unit_without_pan_filter_and_pump_assumes_nothing_of_them(kind, log):
    sheet = plan(made(*log, vehicle={"name": "rear", "kind": kind}, capacity={"total": "2.1 L"}, vessel=[{"name": "pail"}]))
    assert not re.search(r"\bpan\b|filter|burst", " ".join(sheet.section("assumptions").lines))


def test_a_filter_that_no_method_takes_has_no_price():
    drains = plan(made(vehicle={"name": "wagon", "cooler_line": False}, capacity={"total": "8 L"}))
    assert "Price of a filter" not in said(drains, "assumptions")
    assert "Price of a plug washer" in said(drains, "assumptions")


@pytest.mark.parametrize(
    ("written", "shown"), [("188F", "188 °F"), ("188 °F", "188 °F"), ("87C", "87 °C"), ("about 86 C", "about 86 °C"), ("359 K", "359 K")]
)
def test_a_temperature_has_its_degree_sign_however_it_was_written(written, shown):
    log = [{"event": "stick", "reading": "6 mm", "temperature": written}]
    sheet = plan(Job.from_dict(DEMO | {"log": log, "level": DEMO["level"] | {"window": "180-200F"}}))
    assert sheet.section("level").rows[0][1] == shown
    assert "180-200F" not in sheet.to_markdown()


@pytest.mark.parametrize(("units", "shown"), [("metric", "0.06 L"), ("US", "0.06 US qt"), ("imperial", "0.05 imp qt")])
def test_a_small_shortfall_is_in_the_same_unit_in_every_sentence(units, shown):
    """3.30 L come out and the job pours back 3.24 L: 60 mL, 2.0 US fl oz, 2.1 imp fl oz, but the level is told in litres and quarts."""
    exchange = DEMO["exchange"] | {"refill": "3.24 L"}
    capacity = DEMO["capacity"] | {"plug_drain": "3.30 L", "pan_and_filter": "0 L"}
    sheet = plan(Job.from_dict(DEMO | {"log": [], "exchange": exchange, "capacity": capacity}), units=units)
    assert f"less the {shown} not poured back" in said(sheet, "steps")


def test_a_drive_before_the_bursts_tells_that_those_planned_are_too_few():
    """The drive mixes old fluid out of the pockets into the sump: the first burst pumps out more of the new."""
    exchange = {key: value for key, value in DEMO["exchange"].items() if key != "bursts"}
    job = DEMO | {"exchange": exchange, "target": {"fresh": "60 %", "probability": "60 %", "method": "bursts"}}
    drained = job["log"][:6]
    assert drained[-1]["event"] == "poured"
    assert "no longer enough" not in said(plan(Job.from_dict(job | {"log": drained})), "next")
    driven = job | {"log": [*drained, {"event": "drive"}]}
    told = said(plan(Job.from_dict(driven)), "next")
    assert "**Burst 1 of 2**" in told
    assert "**The bursts planned are no longer enough for the target**" in told
    assert "3 in all would do: write bursts = 3 under exchange in the job file." in told
    more = said(plan(Job.from_dict(driven | {"exchange": exchange | {"bursts": 3}})), "next")
    assert "**Burst 1 of 3**" in more
    assert "no longer enough" not in more


@pytest.mark.parametrize("table", ["log", "pack", "component"])
def test_a_weight_under_a_key_of_its_own_is_told_where_it_goes(table):
    entry = {"log": {"event": "drained", "vessel": "pail"}, "pack": {"price": 9}, "component": {"name": "axle"}}[table]
    errors = Job.problems(DEMO | {table: [entry | {"weight": "2.80 kg"}]})
    hint = next(error.hint for error in errors if error.code == "key.unknown")
    assert hint == f"write it as {'reading' if table == 'log' else 'volume'}"


def test_what_was_lost_and_weighed_goes_under_volume():
    errors = Job.problems(DEMO | {"log": [{"event": "lost", "what": "rags", "mass": "0.15 kg"}]})
    assert next(error.hint for error in errors if error.code == "key.unknown") == "write it as volume"


@pytest.mark.parametrize("mass", ["2.8 kg", "6 lb", "320 g"])
def test_a_mass_where_a_function_takes_a_volume_is_told_how_it_becomes_one(mass):
    pail = Vessel("pail", "0.25 L")
    for call in (lambda: drain_refill(mass, "8.85 L"), lambda: Ledger("850 kg/m³").drained(pail, mass, "40 °C")):
        with pytest.raises(SumpwiseError, match=r"weighed_fluid\(mass, temperature, density_15\) gives the volume"):
            call()


def test_a_pail_is_emptied_before_the_axle_is_filled_from_it():
    vessel = [{"name": "pail", "graduation": "0.1 L"}]
    lines = plan(made(PLUG, vehicle={"name": "rear", "kind": "axle"}, capacity={"total": "2.1 L"}, vessel=vessel)).section("next").lines
    assert "empty the pail and wipe it clean" in lines[0]
    assert "Fill through the fill hole" in lines[1]


US = {
    "vehicle": {"name": "example wagon"}, "capacity": {"total": "9.4 qt"}, "fluid": {"density_15": "7.1 lb/gal"},
    "level": {"marks_volume": "1/2 qt", "marks_length": "1/2 in", "window": "180-200F"},
    "vessel": [{"name": "drain pan", "graduation": "1/2 qt", "holds": "8 qt"}], "pack": [{"volume": "1 qt", "price": 9}],
}  # fmt: skip


@pytest.mark.parametrize("drained", ["3.4 qt", "3.5 qt", "3.6 qt", "3.7 qt", "3.8 qt", "3.9 qt", "4.0 qt"])
def test_what_is_kept_back_of_a_pour_is_what_is_short_less_the_pour(drained):
    """A pour by quarter quarts may be a little more than what is aimed at: nothing is then left to pour, least of all less than nothing."""
    log = [{"event": "stick", "reading": "1/4 in", "temperature": "188 °F"}]
    log += [{"event": "drained", "vessel": "drain pan", "reading": drained, "temperature": "110 °F"}]
    sheet = plan(Job.from_dict(US | {"log": log}))
    short = float(re.search(r"\*\*([\d.]+) ± [\d.]+ US qt short", said(sheet, "now"))[1])
    pour = float(re.search(r"Pour ([\d.]+) US qt", said(sheet, "next"))[1])
    kept = re.search(r"That is ([\d.]+) US qt less than what is short", said(sheet, "next"))
    assert kept is None or float(kept[1]) == pytest.approx(short - pour, abs=0.02)


def test_a_level_set_where_it_runs_out_is_not_called_far_too_full_whatever_was_forgotten():
    """The drain was not entered: the count is 3.6 L too high, but what was too much has run out of the plug, engine running."""
    cvt = {"vehicle": {"name": "hatch", "kind": "cvt", "level_check": "overflow plug"}, "capacity": {"total": "7.4 L"}}
    log = [{"event": "poured", "vessel": "jug", "reading": "3.8 L"}]
    full = plan(made(*log, vessel=[{"name": "jug"}], **cvt))
    assert not full.section("now").data["engine"]
    log += [{"event": "lost", "volume": "0.2 L", "what": "ran out of the overflow plug"}]
    ran_out = plan(made(*log, vessel=[{"name": "jug"}], **cvt))
    assert "Drive until it is warm" in said(ran_out, "next")
    assert ran_out.section("now").data["engine"]
    assert "Do not start the engine" not in said(ran_out, "now")


def test_a_record_tells_what_was_learned_no_finer_than_it_is_known():
    log = [PLUG | {"reading": "30 fl oz", "temperature": "90 °F"}, {"event": "poured", "vessel": "jug", "reading": "30 fl oz"}]
    vessels = [{"name": "pail", "graduation": "2 fl oz"}, {"name": "jug", "graduation": "1 fl oz"}]
    case = made(*log, vehicle={"name": "rear", "kind": "axle", "date": "2026-11-28"}, capacity={"total": "31 fl oz"}, vessel=vessels)
    assert re.search(r"learned: plug drain 29\.\d\d ± 0\.\d\d US fl oz, from", str(ServiceRecord.of(case)))
