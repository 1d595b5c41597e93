"""The sentences of a sheet say the numbers of its data, each with its sign, its steps and its unit, and nothing that they do not say."""

from __future__ import annotations

import re
from math import cos, log, radians
from pathlib import Path

import pytest

from shared import said
from sumpwise import Job, compare_methods, plan
from sumpwise.service.facts import assumed
from sumpwise.service.render.systems import system_named
from sumpwise.service.render.writer import Writer
from sumpwise.service.sensitivity import AIR, Effect
from sumpwise.service.words import catalogue

DEMO = Job.demo()
DATA = DEMO.to_dict()
LOG = DATA["log"]
FILES = sorted((Path(__file__).parent / "files/jobs").glob("*.toml"))
JOBS = [*(DEMO.with_(log=LOG[:count]) for count in (0, 2, 6, 7, 20)), *map(Job.from_toml, FILES)]


@pytest.fixture(scope="module")
def sheet():
    return plan(DEMO)


def next_of(**tables):
    return said(plan(Job.from_dict(DATA | tables)), "next")


def test_a_fact_holds_the_values_its_sentence_says_and_no_others():
    words, told = catalogue(), 0
    for job in JOBS:
        for section in plan(job).sections:
            for fact in section.facts:
                assert set(fact["values"]) == set(re.findall(r"{(\w+)}", str(words[fact["id"]]))), fact["id"]
                told += 1
    assert told > 500


def test_the_balance_says_what_a_pour_by_the_raw_figure_would_be_off_by(sheet):
    data = sheet.section("balance").data
    assert f"would be off by {abs(data['balance']['value'] - data['raw']['value']):.2f} L" in said(sheet, "balance")


def test_a_reading_of_the_stick_is_said_with_its_sign(sheet):
    """Millimetres above the lower mark, or below it."""
    assert "Stick +3.5 mm at 86 °C" in said(sheet, "balance")
    assert "Stick −2.0 mm at 61 °C" in said(sheet, "balance")


def test_the_balance_says_what_the_book_s_refill_may_mean(sheet):
    """3.24 L came out of the plug and 0.41 L with the pan, 0.16 L was missing before: 3.4 or 3.8, and the book's 3.6 lies between."""
    [book] = [one for one in sheet.section("balance").lines if "The book's refill" in one]
    assert re.search(r"plug, pan and filter 3\.[78]\d ± 0\.09 L .*the plug alone 3\.[34]\d ± 0\.08 L .*too close to call", book)
    bare = {**DATA, "capacity": {key: value for key, value in DATA["capacity"].items() if not key.startswith("book_refill")}}
    assert "book's refill" not in said(plan(Job.from_dict(bare)), "balance")


def test_the_next_size_up_is_said_with_its_litres_and_its_price(sheet):
    """Three cans of 5 L at 46.50 instead of two and four bottles of 1 L at 9.90."""
    assert "3 × can, 15.0 L: 1.0 L more for another 6.90 coins" in said(sheet, "buy")


def test_what_the_outlet_says_about_the_inside_is_its_data_in_points(sheet):
    data, text = sheet.section("outlet").data, said(sheet, "outlet")
    inside = data["resident"]
    assert f"{100 * (1 - inside['mean']):.0f} % old is left inside" in text
    assert f"(95 % interval {100 * (1 - inside['upper']):.0f} % to {100 * (1 - inside['lower']):.0f} %)" in text
    assert f"while the line shows {100 * (1 - data['outlet']['mean']):.0f} %" in text
    assert f"darken what the line shows by about {100 * data['darkening']['mean']:.0f} points" in text


def test_the_steps_say_what_hose_and_inside_come_to_at_the_last_burst(sheet):
    last = sheet.section("steps").data["bursts"][-1]
    hose, inside = (f"{100 * (1 - last[name]['value']):.0f} %" for name in ("outlet_fresh", "resident_fresh"))
    said_so = f"The outlet is ahead of the inside: at the last burst the hose shows about {hose} old while {inside} is left"
    assert said_so in said(sheet, "steps")


def test_what_is_not_measured_yet_is_said_no_finer_than_it_is_known(sheet):
    """The plug drains 3.3 ± 0.15 L, the reserve is 1.6 L: to a tenth."""
    assert "expect 3.3 ± 0.1 L; then pan and filter off, about 0.4 ± 0.1 L more" in said(sheet, "steps")
    assert "(reserve 1.6 L below the start level" in said(sheet, "steps")
    exact = DATA | {"capacity": DATA["capacity"] | {"plug_drain": "3.33 ± 0.02 L"}, "log": []}
    assert "expect 3.33 ± 0.0" in said(plan(Job.from_dict(exact)), "steps")


def test_a_refill_short_of_what_came_out_is_said_with_the_air_it_brings(sheet):
    """Plug, pan and filter give 3.3 + 0.4 L, and 3.7 L go back."""
    assert "steps.air_short" not in [one["id"] for one in sheet.section("steps").facts]
    short = DATA | {"exchange": DATA["exchange"] | {"refill": "3.5 L"}, "log": []}
    [air] = [one for one in plan(Job.from_dict(short)).section("steps").facts if one["id"] == "steps.air_short"]
    assert air["values"]["short"]["value"] == pytest.approx(0.2)


@pytest.mark.parametrize(("check", "hands"), [("stick", False), ("overflow plug", False), ("fill hole", False), ("sealed", True)])
def test_the_steps_are_headed_by_the_method_unless_they_are_left_to_trained_hands(check, hands):
    data = {"vehicle": {"name": "example wagon", "level_check": check}, "capacity": {"total": "8 L"}}
    title = plan(Job.from_dict(data)).section("steps").title
    assert ("hands" in title) == hands


def test_a_third_of_the_marks_is_added_at_a_time():
    """0.42 L between the marks, 0.21 L missing."""
    assert "**Add 0.15 L** in 2 steps, then read again." in next_of(log=[*LOG[:19], LOG[19] | {"reading": "0 mm"}])
    assert "**Add 0.05 L**, then read again." in next_of(log=LOG[:20])


def test_a_pour_out_of_bottles_is_said_in_bottles_and_the_rest():
    """3.4 L out of bottles of a litre and a half; what is still in the pan is said in litres, however little."""
    bottles = {"vessel": DATA["vessel"][:1], "log": LOG[:2], "pack": [{"name": "bottle", "volume": "1.5 L", "price": 9.9}]}
    assert "**Pour 3.4 L** of new fluid, 2 × bottle and 0.40 L of another" in next_of(**bottles)
    little = DATA["capacity"] | {"pan_and_filter": "0.08 L"}
    assert "Pan and filter still hold about 0.08 L" in next_of(**bottles, capacity=little)


def test_without_packs_it_says_what_to_have_at_hand():
    """What is needed and twice its standard uncertainty: 12.37 + 0.90 L, the transfer case included."""
    listed = {key: table for key, table in DATA.items() if key not in ("pack", "log")}
    assert "have 13.3 L of" in said(plan(Job.from_dict(listed)), "summary")


@pytest.mark.parametrize(
    ("number", "reading", "words"),
    [(6, "4.70 L", "Log entry 6, poured 4.97 US qt: 3.91 US qt instead"), (20, "35 mm", "Log entry 20, stick 1.38 in: 0.20 in instead")],
)
def test_an_entry_in_question_is_said_in_the_reader_s_units(number, reading, words):
    """A litre too much was written, and an inch: 4.70 L is 4.97 quarts, and 3.70 L is 3.91; 35 mm is 1.38 inches, and 5 mm is 0.20."""
    wrong = [*LOG[: number - 1], LOG[number - 1] | {"reading": reading}, *LOG[number:]]
    assert words in said(plan(DEMO.with_(log=wrong), "US"), "conflict")


@pytest.mark.parametrize(("units", "unit", "litres"), [("US", "US fl oz/°F", 0.0295735), ("imperial", "imp fl oz/°F", 0.0284131)])
def test_the_growth_of_the_fill_is_said_for_a_degree_fahrenheit(sheet, units, unit, litres):
    a_degree = sheet.section("level").data["growth_per_degree"]["value"] / 1.8 / litres
    assert f"expands by {a_degree:.3f} {unit}" in said(plan(DEMO, units), "level")


def test_the_scope_of_a_capacity_is_said_as_the_job_has_it(sheet):
    assert {"- Total 8.85 L (scope: dry, with converter and cooler).", "- The book's refill 3.6 ± 0.1 L (scope: not stated)."} <= set(
        sheet.section("assumptions").lines
    )


def test_the_table_of_today_has_every_method_but_the_rhythm_and_the_table_of_years_says_which_are_best(sheet):
    compared = compare_methods(DEMO)
    today, years = sheet.section("methods").rows, sheet.section("years").rows
    assert [row[0] for row in years if row[0] not in {one[0] for one in today}] == ["one drain, again every year"]
    assert len(today) == len(years) - 1 == len(compared) - 1
    assert [row[-1] for row in years] == ["yes" if one.best_somewhere else "a limit" if one.bound else "" for one in compared]


def test_a_setting_on_a_scale_is_said_in_the_reader_s_units_alone():
    """A wrench with divisions of 1 N·m, and somebody who reads pounds."""
    scaled = Job.from_dict(DATA | {"wrench": DATA["wrench"] | {"graduation": "1 N·m"}})
    assert plan(scaled).section("torque").rows[0][3] == "29–30 N·m"
    assert plan(scaled, "US").section("torque").rows[0][3].endswith(" lbf·ft")


@pytest.mark.parametrize(("now", "interval", "due"), [("128 400 km", "56 000 km", "184 400 km"), ("3000 km", "6000 km", "9000 km")])
def test_five_digits_and_more_are_grouped(now, interval, due):
    job = Job.from_dict(DATA | {"vehicle": DATA["vehicle"] | {"distance": now, "interval_distance": interval}})
    assert f"or at {due}" in said(plan(job), "summary").replace("\N{NARROW NO-BREAK SPACE}", " ").replace("\N{NO-BREAK SPACE}", " ")


@pytest.mark.parametrize(("angle", "limit"), [("0 deg", ", over the limit."), ("89 deg", "."), ("180 deg", ", under the limit.")])
def test_an_adapter_that_is_forgotten_is_said_to_break_a_limit_only_where_it_does(angle, limit):
    """TM 1-1500-204-23-9 para 8-5 turned round: what the bolt gets is (L + E cos θ) / L times the setting; the window is 31 to 37 N·m."""
    told = said(plan(DEMO.with_(wrench=DATA["wrench"] | {"angle": angle})), "torque")
    gets = 34 * (300 + 45 * cos(radians(float(angle.split()[0])))) / 300
    assert f"set to 34.0 N·m the bolt would get {gets:.1f} N·m{limit}" in told


@pytest.mark.parametrize("claim", ["60 %", "97 %"])
def test_what_a_claim_takes_if_all_is_stirred(claim):
    """V ln(1 / (1 - claim)), Crowl and Louvar; to claim all of it takes no end of fluid, and nothing is said."""
    takes = 8.85 * log(1 / (1 - float(claim.removesuffix(" %")) / 100))
    told = said(plan(DEMO.with_(quote={"claim": claim, "volume": "12 L"})), "quote")
    assert f"Fully stirred, {claim} new takes {takes:.1f} " in told
    assert "Fully stirred, 100 %" not in said(plan(DEMO.with_(quote={"claim": "100 %", "volume": "12 L"})), "quote")


def test_the_pail_that_is_emptied_is_told_with_what_it_holds_itself():
    pail, jug = DATA["vessel"]
    vessels = [{"name": "tub", "graduation": "0.1 L", "holds": "1 L"}, pail | {"holds": "4.5 L"}, jug]
    steps = said(plan(DEMO.with_(vessel=vessels, log=[])), "steps")
    assert "The pail holds 4.5 L: empty it after every 3 bursts, before it is full to the brim." in steps


def test_an_effect_on_the_time_to_air_is_never_nothing():
    for seconds, shown in ((0.4, "0.4"), (0.94, "0.9"), (1.4, "1"), (12.0, "12")):
        effects = assumed.moving([Effect(AIR, seconds / 60)])
        assert Writer(catalogue(), system_named("metric", [])).text(effects) == f"the time until the pump draws air by ± {shown} s"
