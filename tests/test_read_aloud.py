"""Every kind of unit with every way to check its level, least and rich, in US and metric units: the sheet read aloud under the vehicle."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from sumpwise import Job, number_card, plan
from sumpwise.service import checks, kinds
from sumpwise.service.schema import LISTS, TABLES

METRIC = re.compile(r"\d ?(?:L|mL|mm|km|kg)\b|°C|N·m|L/min|kg/m³|\blit(?:er|re)s?\b")
US = re.compile(r"\d ?(?:US )?(?:qt|fl oz|gal|in(?! all)|mi|lb)\b|°F|lbf|\bquarts?\b")
RICH = {
    "US": {
        "capacity": {"total": "9 ± 0.5 qt", "plug_drain": "3.5 ± 0.3 qt"}, "fluid": {"name": "own fluid", "temperature": "70 °F"},
        "vessel": [{"name": "drain pan", "graduation": "1/2 qt", "holds": "12 qt"}], "pack": [{"volume": "1 qt", "price": 9}],
        "wrench": {"maximum": "75 lbf·ft", "graduation": "1 lbf·ft"}, "bolt": [{"name": "drain plug", "torque": "25 ± 3 lbf·ft"}],
        "level": {"window": "160–180 °F", "marks_volume": "1/2 qt", "marks_length": "1/2 in"}, "target": {"fresh": "80 %"},
    },
    "metric": {
        "capacity": {"total": "8.5 ± 0.5 L", "plug_drain": "3.3 ± 0.3 L"}, "fluid": {"name": "own fluid", "temperature": "21 °C"},
        "vessel": [{"name": "drain pan", "graduation": "0.5 L", "holds": "12 L"}], "pack": [{"volume": "1 L", "price": 9}],
        "wrench": {"maximum": "100 N·m", "graduation": "1 N·m"}, "bolt": [{"name": "drain plug", "torque": "34 ± 4 N·m"}],
        "level": {"window": "70–82 °C", "marks_volume": "0.5 L", "marks_length": "13 mm"}, "target": {"fresh": "80 %"},
    },
}  # fmt: skip
UNITS = [(kind, check) for kind in kinds.KINDS for check in checks.CHECKS]


def job(kind, check, units, rich):
    data = {"vehicle": {"name": "example wagon", "kind": kind, "level_check": check}, "report": {"units": units}}
    return Job.from_dict(data | (RICH[units] if rich else {}))


def said(sheet, *keys):
    return "\n".join(line for key in keys for line in sheet.section(key).lines)


ALL = [pytest.param(*unit, units, rich, id=f"{unit[0]}, {unit[1]}, {units}, {'rich' if rich else 'least'}")
       for unit in UNITS for units in RICH for rich in (False, True)]  # fmt: skip


@pytest.mark.parametrize(("kind", "check", "units", "rich"), ALL)
def test_what_do_i_do_now(kind, check, units, rich):
    made = job(kind, check, units, rich)
    sheet = plan(made)
    steps, short, coming = said(sheet, "steps"), said(sheet, "summary"), said(sheet, "next")
    foreign = METRIC if units == "US" else US
    card = number_card(made)
    for shown in (sheet.to_markdown(), sheet.to_markdown(full=False), sheet._repr_html_()):
        assert foreign.findall(shown.replace("own fluid", "")) == []
    assert foreign.findall(" ".join([*card.cautions, *(line.source for line in card.lines)])) == []
    assert rich or len(sheet.to_markdown(full=False).splitlines()) <= 60
    if check == kinds.SEALED:
        assert "people with the maker's procedure and tool" in steps
        assert "trained hands" in sheet.section("steps").title
        assert [line.partition(":** ")[2] for line in sheet.section("summary").lines][:1] == ["nothing yourself."]
        assert "Set:** nothing yourself" in short
        assert sheet.section("buy").data["need"]["value"] == 0
        assert not re.search(r"Drain the plug|Pour \d|wrench to", steps + short + coming)
        return
    loosen = check in (kinds.OVERFLOW, kinds.FILL_HOLE)
    assert ("Loosen the fill plug before you drain anything" in steps) == loosen
    if loosen:
        assert steps.index("Loosen the fill plug") < steps.index("Drain the plug")
    pail = "the drain pan" if rich else "a clean pail with a scale"
    assert f"Drain the plug into {pail}" in steps
    others = {kinds.STICK: "stick", kinds.OVERFLOW: "overflow plug", kinds.FILL_HOLE: "fill hole"}
    for name, word in others.items():
        if name != check:
            assert not re.search(rf"\b{word}\b", steps + short + coming + said(sheet, "level"))
    if check == kinds.STICK:
        assert ("Look up the maker's level check" in steps) == (not rich)
        assert "in its window" not in steps
        assert ("on the stick at" in steps) == rich
    assert ("With the engine running" in said(sheet, "cautions")) == kinds.KINDS[kind].pumped
    assert ("runs on the fluid made for it" in said(sheet, "cautions")) == (kind == "cvt")
    assert ("wrench set to" in steps) == ("Set:** wrench to" in short) == rich


def test_a_job_without_a_stick_says_how_to_come_by_one():
    told = said(plan(job("automatic", "stick", "US", rich=False)), "level")
    for where in ("service information", "its temperatures", "whether the engine runs", "pour a known amount"):
        assert where in told


def test_what_is_left_to_nobody_says_why():
    line = plan(job("cvt", "sealed", "US", rich=False)).section("methods").lines[0]
    assert line.startswith("**Nothing is planned for the owner**: a workshop")


def test_a_card_goes_by_the_units_of_the_job():
    asked = Job.demo().with_(report={"units": "US"})
    assert [line.text for line in number_card(asked).lines] == [line.text for line in number_card(Job.demo(), units="US").lines]
    assert "122 °F" in " ".join(number_card(asked).cautions)
    assert [line.text for line in number_card(Job.demo(), units="both").lines] == [line.text for line in number_card(Job.demo()).lines]


def test_no_reason_and_no_meaning_of_a_key_names_a_unit():
    """They are on the sheets of all readers, in any units."""
    for keys in (TABLES | LISTS).values():
        for name, key in keys.items():
            if key.default is not None or key.doubt is not None:
                for foreign in (METRIC, US):
                    assert not foreign.search(f"{key.meaning} {key.find}"), name


@pytest.mark.parametrize(("kind", "check"), UNITS)
def test_no_line_asks_for_what_the_unit_lacks(kind, check):
    packed = {"pack": [{"name": "bottle", "volume": "1 L", "price": 12}]}
    made = job(kind, check, "metric", True).with_(**packed)
    sheet = plan(made if check == kinds.STICK else made.with_(level={"window": "70–82 °C", "marks_volume": None, "marks_length": None}))
    bought, text = sheet.section("buy"), sheet.to_markdown()
    assert "****" not in text
    if check == kinds.SEALED:
        assert bought.lines == ["Nothing is planned that takes new fluid."]
        assert not bought.rows
    assert check == kinds.STICK or "read the stick" not in text
    ways = {row[0]: row[2] for row in sheet.section("methods").rows}
    machine = any(fresh for way, fresh in ways.items() if "machine" in way)
    assert ("A limit cannot be reached by any machine" in text) == machine
    assert any("not the shop's labour" in line for line in sheet.section("assumptions").lines) == machine


@pytest.mark.parametrize("kind", [kind for kind, check in UNITS if check == kinds.FILL_HOLE])
def test_an_account_without_a_stick_misses_no_reading_of_one(kind):
    made = job(kind, kinds.FILL_HOLE, "metric", False)
    jug = {"vessel": [{"name": "jug", "graduation": "0.1 L", "holds": "5 L"}]}
    log = [{"event": event, "reading": "0.8 L", "vessel": "jug", "temperature": "20 °C"} for event in ("drained", "poured")]
    balance = said(plan(made.with_(**jug, log=[log[0], {"event": "emptied", "vessel": "jug"}, log[1]])), "balance")
    assert "The level before the first entry is not known, so the count cannot say" in balance
    assert "stick" not in balance


@pytest.mark.parametrize("flow", ["3.724 L/min ± 0.159 L/min (k = 2)", "3.724(80) L/min"])
def test_a_flow_from_a_record_is_read_like_any_other_number(flow):
    steps = said(plan(Job.demo().with_(log=[], exchange={"flow": flow})), "steps")
    assert "about 20 s at 3.72 ± 0.08 L/min, stop" in steps


def test_a_refill_that_the_job_states_is_not_what_came_out():
    sheet = plan(Job.demo().with_(log=[], exchange={"refill": "3.0 L"}))
    assert "4. Pour 3.0 L with the engine off." in sheet.section("steps").lines
    assert "- **Pour:** 3.0 L, at 17 °C, engine off, before the first burst." in sheet.section("summary").lines


def test_the_measurement_that_helps_most_names_what_is_measured():
    made = Job.from_toml(Path(__file__).parent / "files" / "jobs" / "automatic_stick_rich_us.toml")
    line = plan(made).section("assumptions").lines[0]
    assert line.startswith("**The measurement that helps most**: volume of the converter. To know better: look in the maker's")
    assert "or drain the converter if it has a plug. What is assumed" in line
