"""Twenty job files, five kinds of unit, least and rich, in US and metric units: what each sheet must say, and what it must not."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from sumpwise import Job, plan

JOBS = Path(__file__).parent / "files" / "jobs"
KINDS = ("automatic_stick", "overflow_plug", "sealed", "manual", "axle")
NAMES = [f"{kind}_{size}_{units}" for kind in KINDS for size in ("minimal", "rich") for units in ("us", "metric")]
FILL_FIRST = "Loosen the fill plug before you drain anything"
MUST = {
    "automatic_stick": ["the level", "Drain the plug into", "torque"],
    "overflow_plug": [FILL_FIRST, "open the overflow plug", "close it when it only trickles", "torque"],
    "sealed": ["A sealed unit has no level check for the owner"],
    "manual": [FILL_FIRST, "Fill through the fill hole until it runs out", "look for leaks", "torque"],
    "axle": [FILL_FIRST, "Fill through the fill hole until it runs out", "look for leaks", "torque"],
}
OF_OTHERS = {
    "automatic_stick": ["fill hole", "overflow plug", "sealed unit"],
    "overflow_plug": ["fill hole", "the stick", "cooler line", "sealed unit", "return line"],
    "sealed": ["Drain the plug", "fill hole", "overflow plug", "the stick", "Pour ", "return line"],
    "manual": ["the stick", "cooler", "overflow plug", "engine running", "move through the gears", "return line"],
    "axle": ["the stick", "cooler", "overflow plug", "engine running", "move through the gears", "return line"],
}
US, METRIC = ([name for name in NAMES if name.endswith(units)] for units in ("_us", "_metric"))
RICH = [name for name in NAMES if "_rich_" in name]
WITH_FILL_PLUG = [name for name in NAMES if FILL_FIRST in MUST[name.rpartition("_")[0].rpartition("_")[0]]]


def kind_of(name):
    return name.rpartition("_")[0].rpartition("_")[0]


def sheet_of(name):
    return plan(Job.from_toml(JOBS / f"{name}.toml"))


def work(name):
    return "\n".join(sheet_of(name).section("steps").lines)


def test_each_file_is_one_of_the_twenty():
    assert {path.stem for path in JOBS.glob("*.toml")} == set(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_the_steps_are_those_of_this_unit(name):
    told = work(name)
    assert [said for said in MUST[kind_of(name)] if said not in told] == []
    assert [said for said in OF_OTHERS[kind_of(name)] if said in told] == []


@pytest.mark.parametrize("name", WITH_FILL_PLUG)
def test_the_way_in_comes_loose_before_the_way_out(name):
    told = work(name)
    assert told.index(FILL_FIRST) < told.index("Drain the plug")


@pytest.mark.parametrize("name", US)
def test_no_litre_in_a_us_sheet(name):
    sheet = sheet_of(name)
    for shown in (sheet.to_markdown(), sheet._repr_html_()):
        assert re.findall(r"[\d.]+ ?(?:L|mL|L/min|N·m|km)\b|°C", shown) == []
    assert "US qt" in sheet.to_markdown()


@pytest.mark.parametrize("name", METRIC)
def test_no_quart_in_a_metric_sheet(name):
    assert re.findall(r"\bqt\b|fl oz|lbf|°F", sheet_of(name).to_markdown()) == []


AIMED = [name for name in NAMES if kind_of(name) != "sealed" and "[target]" in (JOBS / f"{name}.toml").read_text(encoding="utf-8")]


@pytest.mark.parametrize("name", AIMED)
def test_what_is_planned_meets_the_target(name):
    sheet = sheet_of(name)
    planned = [one for one in sheet.section("methods").data["methods"] if one["meets_target"] and not one["impossible"]]
    need = sheet.section("buy").data["need"]["value"]
    assert any(one["volume"]["value"] == pytest.approx(need) for one in planned)
    assert sheet.section("methods").lines[0].startswith("Chosen:")


@pytest.mark.parametrize("name", [name for name in NAMES if kind_of(name) != "sealed"])
def test_the_summary_pours_as_the_steps_do(name):
    (pour,) = (one for one in sheet_of(name).section("summary").lines if "Pour" in one)
    assert ("the fill hole" if kind_of(name) in ("manual", "axle") else "what came out") in pour


@pytest.mark.parametrize("name", [name for name in NAMES if kind_of(name) == "sealed"])
def test_a_sealed_unit_buys_pours_and_drains_nothing(name):
    sheet = sheet_of(name)
    assert sheet.section("buy").data["need"]["value"] == 0
    assert "trained hands" in " ".join(sheet.section("summary").lines)
    assert len(sheet.section("steps").lines) == 1


@pytest.mark.parametrize("name", NAMES)
def test_what_to_do_now_is_the_first_of_the_steps(name):
    sheet = sheet_of(name)
    first = sheet.section("steps").lines[0].partition(". ")[2]
    assert sheet.section("next").lines[0].removeprefix("- ") == first


@pytest.mark.parametrize("name", [name for name in NAMES if "_minimal_" in name])
def test_a_minimal_job_is_read_on_one_screen_and_a_half(name):
    assert len(sheet_of(name).to_markdown(full=False).splitlines()) <= 60


@pytest.mark.parametrize("name", RICH)
def test_a_rich_job_says_the_torque_where_the_plug_is_tightened(name):
    if kind_of(name) == "sealed":
        return
    lines = sheet_of(name).section("steps").lines
    assert any("drain plug" in line and "wrench set to" in line for line in lines)
    last = {"overflow_plug": "overflow plug", "manual": "fill plug", "axle": "fill plug"}.get(kind_of(name))
    if last:
        (closing,) = (line for line in lines if f"({last}" in line)
        assert "close it" in closing
        assert closing.index("close it") < closing.index(f"({last}")
        assert closing.index("drain plug") < closing.index(f"({last}") if "drain plug" in closing else True


@pytest.mark.parametrize("name", [name for name in NAMES if kind_of(name) != "sealed"])
def test_nothing_is_drained_into_what_cannot_hold_it(name):
    (drain,) = (line for line in sheet_of(name).section("steps").lines if "Drain the plug into" in line)
    assert "into a clean pail" in drain if kind_of(name) != "automatic_stick" or "_minimal_" in name else "into the pail" in drain


@pytest.mark.parametrize("kind", KINDS)
def test_both_systems_tell_the_same_work(kind):
    """The rich job of one kind is the same service in US and in metric units, rounded as a person writes it."""
    us, metric = (sheet_of(f"{kind}_rich_{units}") for units in ("us", "metric"))
    assert [fact["id"] for fact in us.section("steps").facts] == [fact["id"] for fact in metric.section("steps").facts]
    assert [fact["id"] for fact in us.section("summary").facts] == [fact["id"] for fact in metric.section("summary").facts]
    needs = [sheet.section("buy").data["need"]["value"] for sheet in (us, metric)]
    assert needs[0] == pytest.approx(needs[1], rel=0.1)


@pytest.mark.parametrize(
    ("warming", "said"),
    [("2 ± 0.5 °C/min", "Warming by 2.0 °C/min at idle, it stays in that window for 5 ± 1 min"), ("4 °C/min", "for 2 min")],
)
def test_an_overflow_plug_says_how_long_the_window_lasts(warming, said):
    """Ten degrees at two a minute are five minutes."""
    job = Job.from_dict({
        "vehicle": {"name": "example wagon", "level_check": "overflow plug"}, "capacity": {"total": "7.5 L"},
        "level": {"window": "35 to 45 °C", "warming": warming},
    })  # fmt: skip
    assert said in plan(job, units="metric").to_markdown()
    assert "Warming by 7.2 °F/min" in plan(job.with_(level={"warming": "4 °C/min"}), units="US").to_markdown()
