"""Five job files, one a kind of unit, least and more, in US and metric units: what each sheet must say, and what it must not."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from sumpwise import Job, plan

JOBS = Path(__file__).parent / "files" / "jobs"
FILL_FIRST = "Loosen the fill plug before you drain anything"
MUST = {
    "automatic_stick": ["Look up the maker's level check before you begin", "check the level by the maker's procedure",
                        "Drain the plug into a clean pail with a scale"],
    "overflow_plug": [FILL_FIRST, "At 35–45 °C in the fluid, engine running, open the overflow plug", "close it while it only trickles",
                      "wrench set to"],
    "sealed": ["A sealed unit has no level check for its owner"],
    "manual": [FILL_FIRST, "Fill by the fill hole until it runs out of it", "look for leaks", "wrench set to"],
    "axle": [FILL_FIRST, "Fill by the fill hole until it runs out of it", "look for leaks"],
}  # fmt: skip
OF_OTHERS = {
    "automatic_stick": ["fill hole", "overflow plug", "sealed unit"],
    "overflow_plug": ["fill hole", "the stick", "cooler line", "sealed unit", "return line"],
    "sealed": ["Drain the plug", "fill hole", "overflow plug", "the stick", "Pour ", "return line"],
    "manual": ["the stick", "cooler", "overflow plug", "engine running", "move through the gears", "return line"],
    "axle": ["the stick", "cooler", "overflow plug", "engine running", "move through the gears", "return line"],
}
US, METRIC = ("automatic_stick", "sealed", "manual"), ("overflow_plug", "axle")


def sheet_of(name):
    return plan(Job.from_toml(JOBS / f"{name}.toml"))


def work(name):
    return "\n".join(sheet_of(name).section("steps").lines)


def test_each_file_is_one_of_the_five():
    assert {path.stem for path in JOBS.glob("*.toml")} == set(MUST) == {*US, *METRIC}


@pytest.mark.parametrize("name", MUST)
def test_the_steps_are_those_of_this_unit(name):
    told = work(name)
    assert [said for said in MUST[name] if said not in told] == []
    assert [said for said in OF_OTHERS[name] if said in told] == []


@pytest.mark.parametrize("name", [name for name, said in MUST.items() if FILL_FIRST in said])
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


@pytest.mark.parametrize("name", ["automatic_stick", "overflow_plug", "manual"])
def test_what_is_planned_meets_the_target(name):
    sheet = sheet_of(name)
    planned = [one for one in sheet.section("methods").data["methods"] if one["meets_target"] and not one["impossible"]]
    need = sheet.section("buy").data["need"]["value"]
    assert any(one["volume"]["value"] == pytest.approx(need) for one in planned)
    assert sheet.section("methods").lines[0].startswith("Chosen:")


@pytest.mark.parametrize(("name", "said"), [("manual", "the fill hole"), ("axle", "the fill hole"), ("automatic_stick", "what came out")])
def test_the_summary_pours_as_the_steps_do(name, said):
    (pour,) = (one for one in sheet_of(name).section("summary").lines if "Pour" in one)
    assert said in pour


def test_a_sealed_unit_buys_pours_and_drains_nothing():
    sheet = sheet_of("sealed")
    assert sheet.section("buy").data["need"]["value"] == 0
    assert "trained hands" in " ".join(sheet.section("summary").lines)
    assert len(sheet.section("steps").lines) == 1


@pytest.mark.parametrize("name", MUST)
def test_what_to_do_now_is_the_first_of_the_steps(name):
    sheet = sheet_of(name)
    first = sheet.section("steps").lines[0].partition(". ")[2]
    assert sheet.section("next").lines[0].removeprefix("- ") == first
