"""Facts into words: every word of a sheet comes from the catalogue, every unit from the reader's system."""

import json
import re
from functools import cache

import pytest

from sumpwise import FileError, Job, RangeError, Sheet, plan
from sumpwise.quantities.units import SYMBOLS
from sumpwise.service.case import Case
from sumpwise.service.facts.fact import (
    Amount,
    Clock,
    Count,
    Money,
    Name,
    OnScale,
    Part,
    Plain,
    Series,
    Share,
    Table,
    Window,
    Word,
    Written,
    item,
    line,
    step,
)
from sumpwise.service.planning import parts_of
from sumpwise.service.render.systems import BOTH, IMPERIAL, METRIC, SYSTEMS, US, System, system_named
from sumpwise.service.render.writer import SLOT, Writer
from sumpwise.service.schema import EVENTS
from sumpwise.service.sheet import unmarked
from sumpwise.service.words.english import PARTS, catalogue
from sumpwise.uncertainty.sources import source

WORDS = catalogue()
ACCENTED = str.maketrans("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ", "ȧƀƈḋḗƒɠħīĵķŀḿƞǿƥɋřşŧŭṽẇẋẏẑȦƁƇḊḖƑƓĦĪĴĶĿḾȠǾƤɊŘŞŦŬṼẆẊẎẐ")
"""A language that nobody speaks, which shows at once what is not translated."""


def pseudo(sentence):
    """A sentence of the catalogue with every letter outside its slots changed; words that depend on a count included."""
    parts, place = [], 0
    for slot in SLOT.finditer(sentence):
        parts.append(sentence[place : slot.start()].translate(ACCENTED))
        one, many = (slot[2], slot[3])
        parts.append(f"{{{slot[1]}}}" if one is None else f"{{{slot[1]}#{one.translate(ACCENTED)}|{many.translate(ACCENTED)}}}")
        place = slot.end()
    return "".join(parts) + sentence[place:].translate(ACCENTED)


def demo(**tables):
    data = Job.demo().to_dict()
    for table, content in tables.items():
        if content is None:
            del data[table]
        else:
            data[table] = data[table] | content if isinstance(content, dict) and table in data else content
    return Job.from_dict(data)


def entry(number, **values):
    log = Job.demo().to_dict()["log"]
    log[number - 1] |= values
    return log


LOG = Job.demo().to_dict()["log"]
BUCKET = [*Job.demo().to_dict()["vessel"], {"name": "bucket", "graduation": "0.5 L"}]
JOBS = {
    "the demo": demo(),
    "a pour written wrong": demo(log=entry(6, reading="4.70 L")),
    "two entries wrong": demo(log=[*entry(6, reading="4.95 L")[:21], {"event": "stick", "reading": "35 mm", "temperature": "88 °C"}]),
    "half a log": demo(log=LOG[:9]),
    "a drain alone": demo(log=LOG[:2]),
    "no start level": demo(log=LOG[1:9]),
    "more than there was": demo(vessel=BUCKET, log=[{"event": "drained", "vessel": "bucket", "reading": "12 L", "temperature": "20 °C"}]),
    "a stop sign": demo(log=[*LOG, {"event": "seen", "seen": "foam on the stick"}]),
    "hot": demo(log=[{"event": "stick", "reading": "1 mm", "temperature": "125 °C"}]),
    "a target out of reach": demo(target={"fresh": "99 %", "method": "drain"}),
    "a target met by another": demo(target={"fresh": "80 %", "method": "drain"}),
    "three drains": demo(target={"method": "drains"}),
    "a machine": demo(target={"method": "drain and machine"}, quote=None),
    "bursts that outlast the sump": demo(exchange={"burst": "6 L"}),
    "no line": demo(vehicle={"cooler_line": False}),
    "a thermostat": demo(vehicle={"cooler_thermostat": True}),
    "sealed": demo(vehicle={"level_check": "sealed"}),
    "a band too narrow": demo(log=LOG[:-5], level={"marks_volume": "0.1 L"}),
    "a wrench too coarse": demo(wrench={"deviation": "20 %"}),
    "a wrench too large": demo(wrench={"maximum": "150 N·m", "minimum": "30 N·m", "adapter": "200 mm"}),
    "a wrench too small": demo(wrench={"maximum": "29 N·m", "minimum": "5 N·m"}),
    "few numbers": Job.from_dict({"vehicle": {"name": "x", "age": "3 y"}, "capacity": {"total": "8.85 L", "plug_drain": "3.3 L"}}),
    "fewest numbers": Job.from_dict({"vehicle": {"name": "x"}}),
    "an axle": Job.from_dict({"vehicle": {"name": "x", "kind": "axle"}, "wrench": {"maximum": "100 N·m"},
                              "vessel": [{"name": "y", "graduation": "0.1 L"}]}),
}  # fmt: skip


@cache
def parts(name):
    """What the sheet of a job has to say; worked out once, written often."""
    return parts_of(Case(JOBS[name]))


def sections(name, units, words=WORDS):
    writer = Writer(words, system_named(units, JOBS[name]))
    return [writer.section(part) for part in parts(name)]


def texts_of(value):
    """The texts that a user wrote."""
    if isinstance(value, dict):
        for one in value.values():
            yield from texts_of(one)
    elif isinstance(value, list):
        for one in value:
            yield from texts_of(one)
    elif isinstance(value, str):
        yield value


def any_of(words):
    """A pattern for any of some words, the longest that fits."""
    return "|".join(map(re.escape, sorted(words, key=len, reverse=True)))


UNITS = re.compile(rf"(?<=[\d)] )(?:{any_of([*SYMBOLS, 'mL/°C', 'mm/°C', 'US fl oz/°F', 'imp fl oz/°F', 'in/°F'])})(?![A-Za-z])")


def left(text, own):
    """The plain words of a text that are neither a user's own nor a unit."""
    return re.findall(r"[A-Za-z]{2,}", UNITS.sub(" ", own.sub(" ", text)))


@pytest.mark.parametrize("units", [METRIC, BOTH])
@pytest.mark.parametrize("name", JOBS)
def test_no_word_of_a_sheet_is_outside_the_catalogue(name, units):
    written = {text for text in texts_of(JOBS[name].inputs) if len(text) > 1 and text not in EVENTS}
    own = re.compile(rf"(?<![\w.])(?:{any_of(written)})(?![\w/])")
    for section in sections(name, units, {key: pseudo(sentence) for key, sentence in WORDS.items()}):
        for text in (section.title, *map(unmarked, section.lines), *section.columns, *(cell for row in section.rows for cell in row)):
            assert left(text, own) == [], text


METRIC_UNITS = re.compile(r"\d[\d.]* (?:± [\d.]+ )?(?:L|mL|mm|cm|N·m|kPa|bar|kg|km|L/min|kg/m³|°C|mL/°C|mm/°C)(?![\w/])")
CUSTOMARY_UNITS = re.compile(r"\d[\d.]* (?:± [\d.]+ )?(?:US |imp )?(?:qt|fl oz|gal|lbf·ft|lbf·in|mi|°F|lb)(?![\w/])|\d\.\d+ in ")


@pytest.mark.parametrize("name", JOBS)
def test_a_sheet_holds_the_units_of_its_reader_and_no_other(name):
    for units, foreign in ((US, METRIC_UNITS), (IMPERIAL, METRIC_UNITS), (METRIC, CUSTOMARY_UNITS)):
        for line_ in Sheet("", sections(name, units)).to_markdown().splitlines():
            assert not foreign.search(unmarked(line_)), line_


def test_as_written_goes_by_what_most_values_of_a_kind_are_written_in():
    bolt = [{"name": "plug", "torque": "25 ft-lb", "window": "22 to 28 ft-lb"}]
    mixed = demo(bolt=bolt, wrench={"maximum": "80 ft-lb", "minimum": "8 ft-lb"})
    shown = plan(mixed).section("torque")
    assert shown.rows[0][1] == "25 ft-lb"
    assert shown.rows[0][3].endswith("lbf·ft")
    assert plan(mixed).section("buy").rows[-1][1].endswith(" L")
    assert plan(mixed, units="metric").section("torque").rows[0][1] == "34 N·m"
    assert plan(demo(report={"units": "US"})).units == "US"
    assert plan(demo(report={"units": "US"}), units="metric").units == "metric"
    quarts = Job.from_dict({"vehicle": {"name": "x"}, "capacity": {"total": "9.4 qt", "plug_drain": "3.5 qt"}})
    assert plan(quarts).section("buy").rows[-1][1].endswith(" US qt")


@pytest.mark.parametrize("units", ["furlongs", "", None, 3, "us"])
def test_another_system_is_refused(units):
    if units is None:
        assert plan(Job.demo(), units=None).units == "as written"
        return
    with pytest.raises(RangeError, match="system of units"):
        plan(Job.demo(), units=units)


def writer(units=METRIC):
    system = {METRIC: System(METRIC, {}, METRIC), US: System(US, {}, US), BOTH: System(BOTH, {}, METRIC, US)}[units]
    return Writer(WORDS | {"a": "{x}", "b": "{n} {n#drop|drops}", "c": "**{x}** of {y}"}, system)


@pytest.mark.parametrize(
    ("value", "metric", "customary"),
    [
        (Amount("volume", 3.7), "3.70 L", "3.91 US qt"),
        (Amount("volume", 0.05), "50 mL", "1.7 US fl oz"),
        (Amount("volume", 0.05, main=True), "0.05 L", "0.05 US qt"),
        (Amount("volume", 0.0), "0.00 L", "0.00 US qt"),
        (Amount("volume", -0.5, signed=True), "−0.50 L", "−0.53 US qt"),
        (Amount("volume", source(12.37, 0.45)), "12.37 ± 0.45 L", "13.07 ± 0.48 US qt"),
        (Amount("volume", source(12.37, 1e-6)), "12.37 ± 0.01 L", "13.07 ± 0.01 US qt"),
        (Amount("temperature", 86.0), "86 °C", "187 °F"),
        (Amount("interval", 10.0), "10 °C", "18 °F"),
        (Amount("flow", 3.512), "3.51 L/min", "3.71 US qt/min"),
        (Amount("density", 847.4), "847 kg/m³", "7.07 lb/gal"),
        (Amount("heating rate", 2.04), "2.0 °C/min", "3.7 °F/min"),
        (Amount("viscosity", 29.64), "29.6 mm²/s", "29.6 mm²/s"),
        (Amount("torque", 34.0), "34.0 N·m", "25.1 lbf·ft"),
        (Amount("torque", 9.5), "9.5 N·m", "84 lbf·in"),
        (Amount("seconds", 0.5), "30 s", "30 s"),
        (Amount("years", 525_960 * 7.7), "7.7 y", "7.7 y"),
        (Window("torque", 28.0797, 30.936), "28.1–30.9 N·m", "20.8–22.8 lbf·ft"),
        (Window("torque", 9.2106, 9.8253), "9.22–9.82 N·m", "81.6–86.9 lbf·in"),
        (Written("34 N·m", "torque"), "34 N·m", "25.1 lbf·ft"),
        (Written("31 to 37 N·m", "torque"), "31 to 37 N·m", "22.9–27.2 lbf·ft"),
        (Written("4 1/2 qt", "volume"), "4.3 L", "4 1/2 qt"),
        (Written("1 Δ°C", "interval"), "1 °C", "1.8 °F"),
        (Written("9 y", "time"), "9 y", "9 y"),
        (Written("whatever | it is", "volume"), "whatever | it is", "whatever | it is"),
        (Share(0.78), "78 %", "78 %"),
        (Share(source(0.727, 0.004)), "72.7 ± 0.4 %", "72.7 ± 0.4 %"),
        (Money(132.6, "coins"), "132.60 coins", "132.60 coins"),
        (Money(132.6, ""), "132.60 units of money", "132.60 units of money"),
        (Clock(14.2), "14:12", "14:12"),
        (Count(4), "4", "4"),
        (Plain(2.25, 1, signed=True), "+2.2", "+2.2"),
        (Name("*pan* <b>"), "*pan* <b>", "*pan* <b>"),
        (Series((Count(1), Count(2))), "1, 2", "1, 2"),
        (Word("c", {"x": Name("a*b"), "y": Count(2)}), "a*b of 2", "a*b of 2"),
    ],
)
def test_a_value_in_the_readers_units(value, metric, customary):
    assert writer().text(value) == metric
    assert writer(US).text(value) == customary


def test_what_a_scale_shows_has_at_most_three_decimals():
    assert writer().text(OnScale("volume", 0.19, "0.0625 L")) == "0.188 L"
    assert writer().text(OnScale("volume", 3.30, "0.25 L")) == "3.25 L"


def test_both_systems_stand_side_by_side():
    both = writer(BOTH)
    assert both.text(Amount("volume", 3.7)) == "3.70 L (3.91 US qt)"
    assert both.text(Written("3.6 L", "volume")) == "3.6 L (3.8 US qt)"
    assert both.text(Written("4 1/2 qt", "volume")) == "4 1/2 qt (4.3 L)"
    assert both.text(Amount("seconds", 0.5)) == "30 s"
    assert both.text(Window("torque", 28.0797, 30.936)) == "28.1–30.9 N·m (20.8–22.8 lbf·ft)"


def test_a_count_chooses_its_word_and_a_sentence_its_capital():
    assert [writer().sentence(line("b", n=Count(n))) for n in (1, 2)] == ["1 drop", "2 drops"]
    assert writer().sentence(line("a", x=Word("method.drain"))) == "One drain"
    assert writer().sentence(line("a", x=Name("drain plug"))) == "drain plug"  # a user's own text stays as it is


def test_what_a_user_wrote_stays_text_in_markdown_and_html():
    evil = "1. <b>x</b> **y** \\ | ~z~"
    part = Part("buy", [line("c", x=Name(evil), y=Count(1)), item("a", x=Name(evil)), step("a", x=Name(evil)), line("a", x=Name("- a"))],
                Table(("buy.column.for",), [[Name(evil)]]), title={"whole": Word("none")})  # fmt: skip
    section = writer().section(part)
    assert [unmarked(x) for x in section.lines] == [f"{evil} of 1", f"- {evil}", f"1. {evil}", "- a"]
    assert section.lines[3].startswith("\\-")
    assert "<b>" not in section.to_html().replace("<strong>", "")
    assert section.to_html().count("<strong>") == 1
    assert section.rows == [[evil]]
    assert "\\|" in section.to_markdown().splitlines()[-1]


def test_every_slot_of_every_fact_has_its_value_and_every_id_its_entry():
    """What the jobs above say, fact by fact: every slot of the sentence has a value, and every value a slot."""
    seen = set()
    for name in JOBS:
        for part in parts(name):
            for fact in part.facts:
                seen.add(fact.id)
                assert {slot[1] for slot in SLOT.finditer(WORDS[fact.id])} <= set(fact.values)
                assert fact.severity in ("info", "note", "caution", "stop")
                assert fact.verdict == "" or fact.verdict in WORDS or fact.verdict.startswith("assumed.")
    assert len(seen) > 60


def test_no_sentence_has_two_homes():
    assert sum(len(part.WORDS) for part in PARTS) == len({id_ for part in PARTS for id_ in part.WORDS})


def test_no_entry_of_the_catalogue_begins_anything_in_markdown():
    for key, sentence in WORDS.items():
        assert not set(SLOT.sub("", sentence).replace("**", "")) & set("\\`*[]<>|~"), key
        assert sentence.count("**") % 2 == 0, key


def test_the_facts_of_a_sheet_are_plain_data_with_quantities():
    sheet = plan(demo(log=entry(6, reading="4.70 L")), units="US")
    data = json.loads(sheet.to_json())
    assert (data["version"], data["units"]) == (2, "US")
    facts = data["sections"]["conflict"]["facts"]
    assert facts[0]["id"] == "conflict.compared"
    assert facts[0]["entries"] == [19]
    assert facts[0]["quantity"]["unit"] == "L"  # the facts stay in internal units
    assert {fact["severity"] for fact in facts} == {"info", "stop"}
    assert next(fact["entries"] for fact in facts if fact["id"] == "conflict.instead") == [6]
    again = Sheet.from_dict(data)
    assert again == sheet
    assert again.to_markdown() == sheet.to_markdown()
    assert again._repr_html_() == sheet._repr_html_()


@pytest.mark.parametrize("units", SYSTEMS)
def test_the_numbers_are_the_same_in_every_system(units):
    told, as_written = plan(Job.demo(), units=units).to_dict(), plan(Job.demo()).to_dict()
    for key, section in as_written["sections"].items():
        assert told["sections"][key]["data"] == section["data"]
        assert [fact["quantity"] for fact in told["sections"][key]["facts"]] == [fact["quantity"] for fact in section["facts"]]


@pytest.mark.parametrize("sections", [None, 3, [], {"buy": []}, {"buy": {"key": "buy"}}])
def test_sections_that_are_none_are_refused(sections):
    with pytest.raises(FileError):
        Sheet.from_dict({"format": "sumpwise sheet", "version": 2, "title": "x", "units": "US", "sections": sections})
