"""A sheet is written in the units of its reader, everywhere: no litre in a US sheet, no quart in a metric one."""

import re

import pytest

from sumpwise import Job, RangeError, plan
from sumpwise.__main__ import main
from sumpwise.service.facts.fact import OnScale, Window
from sumpwise.service.render.systems import system_named
from sumpwise.service.render.writer import Writer
from sumpwise.service.words import catalogue

UNIT = r"(?<![\w.:])[−+-]?(?:\d[\d ]*(?:\.\d+)?|\d/\d)\s?(?:{})(?![\w/·²³°-])"
METRIC = re.compile(UNIT.format("L|mL|dL|cm|mm|m|km|°C|Δ°C|N·m|kgf·m|kg|g|kg/m³|L/min|mL/°C|mm/°C|[Ll]it(?:re|er)s?"))
CUSTOMARY = re.compile(
    UNIT.format(r"(?:US |imp )?(?:qt|fl oz|gal|pt)(?:/min)?|°F|Δ°F|lbf·ft|lbf·in|in(?! (?:all|a|the)\b)|mi|lb|lb/gal|lb/ft³")
)
US_JOB = {
    "vehicle": {"name": "example truck", "age": "8 y", "distance": "90 000 mi"},
    "capacity": {"total": "11 1/2 qt", "plug_drain": "4 ± 0.5 qt"},
    "fluid": {"density_15": "7.1 lb/gal", "temperature": "68 °F"},
    "vessel": [{"name": "pan", "graduation": "1/2 qt", "holds": "12 qt"}, {"name": "bottle", "graduation": "1 fl oz", "holds": "1 qt"}],
    "pack": [{"volume": "1 qt", "price": 8.0}, {"volume": "5 qt", "price": 34.0}],
    "wrench": {"minimum": "10 lbf·ft", "maximum": "75 lbf·ft"},
    "bolt": [{"name": "drain plug", "torque": "25 lbf·ft", "window": "22–28 lbf·ft"}],
    "level": {"marks_volume": "1/2 qt", "marks_length": "1/2 in", "window": "160–200 °F"},
    "log": [
        {"event": "stick", "reading": "1/4 in", "temperature": "180 °F"},
        {"event": "drained", "vessel": "pan", "reading": "4 1/4 qt", "temperature": "110 °F"},
        {"event": "poured", "vessel": "bottle", "reading": "1 qt", "temperature": "68 °F"},
    ],
}  # fmt: skip


def changed(**tables):
    return Job.demo().with_(**tables)


def printed(sheet):
    """Everything that a sheet prints, cell by cell."""
    for section in sheet.sections:
        yield section.title
        yield from section.lines
        for row in section.rows:
            yield from row


@pytest.mark.parametrize("left_out", [[], ["log"], ["log", "level"], ["log", "level", "wrench", "bolt", "vessel", "pack", "fluid"]])
@pytest.mark.parametrize(("units", "foreign"), [("as written", METRIC), ("imperial", METRIC), ("metric", CUSTOMARY)])
def test_no_unit_of_another_system_is_on_the_sheet_of_a_us_job(units, foreign, left_out):
    job = Job.from_dict({key: value for key, value in US_JOB.items() if key not in left_out})
    assert [(match[0], text) for text in printed(plan(job, units=units)) for match in foreign.finditer(text)] == []


def test_packs_without_a_name_are_called_by_their_size_in_the_readers_units():
    nameless = changed(pack=[{"volume": "5 L", "price": 46.5}, {"volume": "1 L", "price": 9.9}])
    assert plan(nameless, units="US").section("buy").lines[0].startswith("Buy **2 × 5.3 US qt + 4 × 1.06 US qt**")
    assert plan(nameless).section("buy").lines[0].startswith("Buy **2 × 5 L + 4 × 1 L**")


def test_the_look_for_units_sees_them():
    """A sheet in both systems has each; so has each in its own."""
    for units, seen in (("both", (METRIC, CUSTOMARY)), ("metric", (METRIC,)), ("US", (CUSTOMARY,))):
        text = "\n".join(printed(plan(Job.demo(), units=units)))
        for pattern in seen:
            assert len(pattern.findall(text)) > 50
    for text in ("3.7 L", "1/2 L", "0.10 ± 0.05 L", "82–92 °C", "31 to 37 N·m"):
        assert METRIC.search(text)
    for text in ("5 1/2 qt", "1/2 in", "22–28 lbf·ft", "160–200 °F"):
        assert CUSTOMARY.search(text)
    assert not CUSTOMARY.search("6:42 in all, 2 in all")


def test_the_units_of_the_report_and_of_the_command(capsys, tmp_path):
    asked = changed(report={"units": "US"})
    assert plan(asked).to_markdown() == plan(Job.demo(), units="US").to_markdown()
    assert plan(asked, units="metric").to_markdown() == plan(Job.demo(), units="metric").to_markdown()
    assert main(["--units", "US"]) == 0
    assert METRIC.findall(capsys.readouterr().out) == []
    assert main(["--units", "cubits"]) == 2
    assert "as written, metric, US, imperial, both" in capsys.readouterr().err
    with pytest.raises(RangeError):
        plan(asked, units="cubits")


def test_limits_are_never_rounded_outward():
    """31 to 37 N·m is 22.86 to 27.29 lbf·ft: 22.9 to 27.2; the level window 82 to 92 °C is 179.6 to 197.6 °F: 180 to 197."""
    sheet = plan(Job.demo(), units="US")
    assert sheet.section("torque").rows[0][2] == "22.9–27.2 lbf·ft"
    assert "180–197 °F" in " ".join(sheet.section("level").lines)


def test_two_figures_that_differ_have_names_that_differ():
    """All that went in less all that came out is −0.36 L; vessels alone +0.05 L, since tray and filter are not vessels."""
    section = plan(Job.demo()).section("balance")
    assert section.lines[0].startswith("Everything that went in minus everything that came out, as read: **−0.36 L**")
    assert section.rows[0][:2] == ["vessels alone, as read: poured minus drained", "+0.05 L"]


@pytest.mark.parametrize(("ounces", "shown"), [
    (8, "8 US fl oz"), (31.9, "30 US fl oz"), (32, "1 US qt"), (40, "1 US qt 8 US fl oz"), (63, "1 US qt 30 US fl oz"), (64, "2 US qt"),
])  # fmt: skip
def test_a_vessel_in_ounces_is_read_in_quarts_and_ounces(ounces, shown):
    """Divisions of two fluid ounces, rounded down; a quart holds 32."""
    writer = Writer(catalogue(), system_named("US", Job.demo()))
    assert writer.text(OnScale("volume", ounces * 0.0295735295625, "2 US fl oz")) == shown


@pytest.mark.parametrize(("lower", "upper", "shown"), [
    (10, 20, "10–20 mm"), (9, 21, "10–20 mm"), (11, 19.9, "15 mm"), (11, 14, "11.0–14.0 mm"),
])  # fmt: skip
def test_a_window_is_shown_in_whole_divisions_inside_it(lower, upper, shown):
    writer = Writer(catalogue(), system_named("metric", Job.demo()))
    assert writer.text(Window("length", lower, upper, "5 mm")) == shown


def test_the_most_written_system_leads():
    """Two quarts against one litre, and one length in millimetres: volumes in US units, lengths in metric."""
    job = Job.from_dict({
        "vehicle": {"name": "example wagon"}, "capacity": {"total": "9 qt", "plug_drain": "3 qt", "pan_and_filter": "0.4 L"},
        "level": {"window": "82-92 °C", "marks_volume": "0.4 qt", "marks_length": "13 mm"},
    })  # fmt: skip
    system = system_named("as written", job)
    assert system.units("volume", 5.0)[0].symbol == "US qt"
    assert system.units("length", 5.0)[0].symbol == "mm"
