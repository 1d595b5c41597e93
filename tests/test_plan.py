"""The sheet of the demo, read as a mechanic would, against the demo's own numbers."""

import copy
import json
import pickle
from collections import Counter

import pytest

from sumpwise import FileError, Job, Sheet, compare_methods, plan
from sumpwise.quantities import notation
from sumpwise.service import matching
from sumpwise.service.render import writer


@pytest.fixture(scope="module")
def sheet():
    return plan(Job.demo())


def altered(**tables):
    data = Job.demo().to_dict()
    for table, content in tables.items():
        if isinstance(content, dict):
            data.setdefault(table, {}).update(content)
        else:
            data[table] = content
    return Job.from_dict(data)


def test_the_shopping_of_the_demo(sheet):
    data = sheet.section("buy").data
    assert data["need"] == {"value": pytest.approx(12.37), "unit": "L", "standard_uncertainty": pytest.approx(0.45)}
    assert data["packs"] == {"can": 2, "bottle": 4}
    assert data["cost"] == pytest.approx(132.60)
    text = " ".join(sheet.section("buy").lines)
    assert "122.70" in text
    assert "8.1 %" in text
    assert "another 6.90 coins" in text  # three cans, 139.50


def test_the_torque_of_the_demo(sheet):
    plug = sheet.section("torque").data["bolts"][0]
    assert plug["setting"]["lower"]["value"] == pytest.approx(28.08, abs=0.005)  # 31/0.96/(345/300)
    assert plug["setting"]["upper"]["value"] == pytest.approx(30.94, abs=0.005)  # 37/1.04/(345/300)
    assert plug["with_adapter"]["value"] == pytest.approx(29.6, abs=0.05)
    row = sheet.section("torque").rows[0]
    assert row[-1] == "28.1–30.9 N·m"
    assert row[1:3] == ["34 N·m", "31 to 37 N·m"]
    assert plan(Job.demo(), units="both").section("torque").rows[0][1] == "34 N·m (25.1 lbf·ft)"
    assert "39.1 N·m, over the limit" in " ".join(sheet.section("torque").lines)
    assert sheet.section("torque").rows[1][-1] == "not with this wrench"


def test_the_level_of_the_demo(sheet):
    follows = [row[-1] for row in sheet.section("level").rows]
    assert follows[1].startswith("predicts +3")
    assert "add" not in follows[1]
    assert follows[3] == "leave it"


def test_the_balance_of_the_demo(sheet):
    data = sheet.section("balance").data
    assert data["raw"]["value"] == pytest.approx(-0.36, abs=0.005)
    assert data["balance"]["value"] == pytest.approx(0.11, abs=0.005)
    assert data["balance"]["standard_uncertainty"] == pytest.approx(0.08, abs=0.005)
    assert abs(data["balance"]["value"] - 0.079) < 2 * data["balance"]["standard_uncertainty"]  # the demo's synthetic truth
    assert sum(c["litres"] for c in data["causes"]) == pytest.approx(data["rest"]["value"], abs=1e-12)


def test_a_pail_nobody_weighed_is_what_to_weigh():
    pail, jug = Job.demo().to_dict()["vessel"]
    del pail["reads_high"], pail["scale_uncertainty"]
    section = plan(altered(vessel=[pail, jug])).section("balance")
    assert section.data["balance"]["standard_uncertainty"] == pytest.approx(0.23, abs=0.01)
    assert "weigh water in the pail" in " ".join(section.lines)


def test_a_count_that_runs_backwards_is_lost_in_words():
    log = Job.demo().to_dict()["log"]
    log[8]["reading"] = "1.00 L"  # a cumulative reading below the one before
    assert "cannot be followed" in plan(altered(log=log)).section("balance").lines[0]


def test_the_outlet_of_the_demo_agrees_with_its_truth(sheet):
    told = sheet.section("outlet").data
    assert told["resident"]["lower"] < 1 - 0.224 < told["resident"]["upper"]
    assert told["verdict"] == ("stop" if told["probability"] >= told["confidence"] else "go on")


def test_the_draws_of_a_sheet_are_enough(sheet, monkeypatch):
    """Ten times as many say the same: the probability to three hundredths, the inside to a tenth of its uncertainty."""
    told = sheet.section("outlet").data
    monkeypatch.setattr(matching, "DRAWS", 10 * matching.DRAWS)
    many = plan(Job.demo()).section("outlet").data
    assert told["probability"] == pytest.approx(many["probability"], abs=0.03)
    assert told["resident"]["mean"] == pytest.approx(many["resident"]["mean"], abs=0.1 * many["resident"]["standard"])
    assert told["resident"]["standard"] == pytest.approx(many["resident"]["standard"], rel=0.1)


def test_the_freshness_of_the_demo_lies_within_its_uncertainty(sheet):
    truth = [46.4, 39.3, 33.5, 29.1, 25.4, 22.4]  # old inside after each pour, the demo's synthetic truth
    outlet = [59.7, 45.7, 36.0, 28.7, 23.0, 18.5]
    for burst, inside, shown in zip(sheet.section("steps").data["bursts"], truth, outlet, strict=True):
        for known, old in ((burst["resident_fresh"], inside), (burst["outlet_fresh"], shown)):
            assert abs(1 - known["value"] - old / 100) < 2 * known["standard_uncertainty"]


def test_every_section_is_there_in_the_order_it_is_needed(sheet):
    keys = [s.key for s in sheet.sections]
    assert keys == [
        "summary", "now", "next", "cautions", "steps", "timetable", "torque", "level", "stop", "buy", "methods", "years", "quote", "outlet",
        "log", "balance", "assumptions",
    ]  # fmt: skip


def test_a_sheet_round_trips_and_holds_no_nan(sheet):
    data = json.loads(sheet.to_json())
    assert Sheet.from_dict(data) == sheet
    assert Sheet.from_dict(data).to_markdown() == sheet.to_markdown()


@pytest.mark.parametrize(
    "data", [None, {}, {"format": "sumpwise sheet", "version": 2},
             {"format": "sumpwise sheet", "version": 1, "title": "x", "sections": [{}]},
             {"format": "sumpwise sheet", "version": 1, "title": "x", "sections": [
                 {"key": "a", "title": "A", "lines": [], "columns": ["one"], "rows": [["1", "2"]], "data": {}}]}],
)  # fmt: skip
def test_what_is_not_a_sheet_is_refused(data):
    with pytest.raises(FileError):
        Sheet.from_dict(data)


def test_a_stop_sign_in_the_log_comes_first_and_withholds_the_steps():
    log = [*Job.demo().to_dict()["log"], {"event": "seen", "seen": "flakes or chunks"}]
    sheet = plan(altered(log=log))
    assert sheet.sections[0].title == "STOP"
    assert "flakes or chunks" in sheet.sections[0].lines[0]
    assert "steps" not in [s.key for s in sheet.sections]


def test_fluid_of_120_degrees_is_a_stop_sign():
    log = [{"event": "stick", "reading": "3 mm", "temperature": "121 °C"}]
    sheet = plan(altered(log=log))
    assert "120 °C" in sheet.sections[0].lines[0]
    assert "%" not in sheet.sections[0].lines[0]


@pytest.mark.parametrize(
    ("vehicle", "key", "why"),
    [
        ({"cooler_line": False}, "bursts", "no cooler line"),
        ({"cooler_thermostat": True}, "bursts", "thermostat"),
        ({"level_check": "sealed"}, "drain", "sealed"),
    ],
)
def test_a_method_that_cannot_be_done_says_why(vehicle, key, why):
    assert why in compare_methods(altered(vehicle=vehicle))[key].impossible


def test_without_a_named_method_the_cheapest_that_meets_the_target_is_chosen():
    data = Job.demo().to_dict()
    del data["target"]["method"], data["log"]
    data["target"]["fresh"] = "70 %"
    sheet = plan(Job.from_dict(data))
    assert "drains, a drive after each" in sheet.section("methods").lines[0]
    assert "3 times in all" in " ".join(sheet.section("steps").lines)  # 1 - (1 - 3.3/8.85)³ = 75 %


def test_the_frontier_holds_no_beaten_method():
    comparison = compare_methods(Job.demo())
    kept = comparison.frontier
    assert kept
    for method in kept:
        for other in comparison.methods:
            if other.key == "machine plug" or other.impossible:
                continue
            merits = [(m.age.magnitude, m.horizon_volume.magnitude, m.horizon_cost) for m in (other, method)]
            best = [[getattr(x, "nominal_value", x) for x in m] for m in merits]
            assert not (all(a <= b for a, b in zip(*best, strict=True)) and best[0] != best[1])


def test_a_job_without_tools_packs_or_log_still_gets_its_sheet():
    data = {k: v for k, v in Job.demo().to_dict().items() if k in ("vehicle", "capacity", "fluid")}
    sheet = plan(Job.from_dict(data))
    assert "no packs" in " ".join(sheet.section("buy").lines)
    assert "no bolts" in " ".join(sheet.section("torque").lines)


def test_text_from_a_file_is_escaped_wherever_it_is_printed():
    sheet = plan(altered(title="<b>\x1b[31mred</b>", bolt=[{"name": "plug | \x07", "torque": "34 N·m", "window": "31 to 37 N·m"}]))
    assert "\x1b" not in sheet.to_markdown()
    assert "\x07" not in sheet.to_markdown()
    assert "<b>" not in sheet._repr_html_()
    assert "\\|" in sheet.to_markdown()


@pytest.mark.parametrize(
    ("vehicle", "why"),
    [
        ({"cooler_line": False}, "no cooler line"),
        ({"cooler_thermostat": True}, "thermostat"),
        ({"level_check": "sealed"}, "sealed"),
    ],
)
def test_a_named_method_that_cannot_be_done_is_never_planned(vehicle, why):
    sheet = plan(altered(vehicle=vehicle))
    first = sheet.section("methods").lines[0]
    assert first.startswith("**Not as the job asks**")
    assert why in first
    assert "bursts" not in sheet.section("steps").title
    assert "timetable" not in [s.key for s in sheet.sections]
    assert not any("bursts of" in row[0] for row in sheet.section("buy").rows)


def test_with_a_helper_the_timetable_says_when_each_burst_begins(sheet):
    (times,) = sheet.section("timetable").facts
    begun = [one["value"] for one in times["values"]["bursts"]]
    assert len(begun) == len(sheet.section("steps").data["bursts"])
    assert begun[0] == 0
    assert begun[1:] == pytest.approx([i * begun[1] for i in range(1, len(begun))])


def test_bursts_with_neither_a_target_nor_a_number_say_what_is_missing():
    data = Job.demo().to_dict()
    del data["exchange"], data["target"]["fresh"], data["log"]
    assert "states neither a target nor how many bursts" in plan(Job.from_dict(data)).section("methods").lines[0]


def test_a_torque_beyond_the_wrench_gets_no_setting():
    section = plan(altered(wrench={"maximum": "29 N·m", "minimum": "5 N·m"})).section("torque")  # 34 N·m is 29.6 with the adapter
    assert section.rows[0][-1] == "not with this wrench"
    assert any("full scale" in line for line in section.lines)


def test_plug_flow_at_its_bound_keeps_its_uncertainty():
    import numpy

    data = Job.demo().to_dict()
    del data["quote"]
    fresh = compare_methods(Job.from_dict(data))["machine plug"].fresh
    drawn = numpy.minimum(1, numpy.random.default_rng(5).normal(1.3, 0.15, 400_000))
    assert fresh.nominal_value == pytest.approx(drawn.mean(), abs=2e-4)
    assert fresh.std_dev == pytest.approx(drawn.std(), abs=2e-4)


def test_without_a_stick_there_is_no_chance_of_missing_its_marks():
    data = Job.demo().to_dict()
    del data["level"]
    data["log"] = []
    comparison = compare_methods(Job.from_dict(data))
    assert comparison["drain"].outside_band is None
    bare, whole = (plan(job).section("methods") for job in (Job.from_dict(data), Job.demo()))
    assert bare.columns[-1] == "hours"
    assert {len(row) for row in bare.rows} == {len(bare.columns)}
    assert whole.columns[-1] == "chance of ending outside the marks"


def test_a_job_without_a_currency_counts_in_units_of_money():
    data = Job.demo().to_dict()
    del data["shopping"]["currency"]
    sheet = plan(Job.from_dict(data)).to_markdown()
    assert "132.60 units of money" in sheet
    assert "units of money for each percent" in sheet


def test_what_the_job_leaves_out_is_an_assumption_in_words():
    data = {k: v for k, v in Job.demo().to_dict().items() if k in ("vehicle", "capacity", "fluid", "level", "exchange")}
    del data["vehicle"]["fluid_age"], data["vehicle"]["interval_time"], data["level"]["resolution"], data["exchange"]["flow"]
    data |= {"vessel": [{"name": "pail", "graduation": "0.25 L"}], "wrench": {"maximum": "10 N·m"}, "bolt": Job.demo().to_dict()["bolt"]}
    text = " ".join(plan(Job.from_dict(data)).section("assumptions").lines)
    said = (
        "Age of the fluid: 9 y (as old as the vehicle", "Interval between services: 4 y (common practice",
        "uncertainty of the scale (pail): 2 %",
        "deviation of the wrench: 6 %", "read on the stick: 1 mm", "usually 1.5 L/min to 8 L/min", "2 % of the need", "no prices for fluid",
    )  # fmt: skip
    for words in said:
        assert words in text
    data |= {"pack": [{"volume": "1 L", "price": 9.9}], "vessel": [{"name": "pail", "graduation": "0.25 L", "reads_high": "2 %"}]}
    del data["vehicle"]["age"]
    text = " ".join(plan(Job.from_dict(data)).section("assumptions").lines)
    for words in ("Age of the fluid: 0 y (new", "0.5 %", "chance of running short: 5 %"):
        assert words in text


def test_the_last_safe_second_is_rounded_down():
    lines = " ".join(plan(Job.demo()).section("steps").lines)
    assert "draws air after about 23 s" in lines  # 1.6 L at 3.75 L/min less 2 s is 23.6 s


@pytest.mark.parametrize(
    ("torque", "window", "wrench", "setting"),
    [
        ("25 ft-lb", "22 to 28 ft-lb", "80 ft-lb", "20.0–23.4 lbf·ft"),  # 22/0.96/1.15 = 19.93, 28/1.04/1.15 = 23.41
        ("97 in-lb", "90 to 104 in-lb", "250 in-lb", "81.6–86.9 lbf·in"),  # 90/0.96/1.15 = 81.52, 104/1.04/1.15 = 86.96
    ],
)
def test_a_window_in_us_units_is_set_in_them(torque, window, wrench, setting):
    bolt = [{"name": "plug", "torque": torque, "window": window}]
    section = plan(altered(bolt=bolt, wrench={"maximum": wrench, "minimum": "1 N·m"})).section("torque")
    assert section.rows[0][-1] == setting
    assert "lbf·" in section.lines[1].partition("set to ")[2].partition(" (")[0]


def test_money_without_a_currency_has_a_word():
    data = {k: v for k, v in Job.demo().to_dict().items() if k != "shopping"}
    sheet = plan(Job.from_dict(data))
    assert "money**" in sheet.section("buy").lines[0]
    assert "money for each percent" in " ".join(sheet.section("quote").lines)


def test_a_stop_sign_overrides_what_the_stick_and_the_count_would_say():
    log = Job.demo().to_dict()["log"]
    seen = {"event": "seen", "seen": "foam on the stick"}
    sheet = plan(altered(log=[*log, seen]))
    assert {row[-1] for row in sheet.section("level").rows} == {"stop: see above"}
    assert {reading["verdict"] for reading in sheet.section("level").data["readings"]} == {"level.stopped"}
    assert "add " not in " ".join(sheet.section("level").lines)
    assert not any("Next pour" in line for line in plan(altered(log=[*log[:-5], seen])).section("balance").lines)


def test_a_setting_stays_on_the_scale_of_the_wrench():
    section = plan(altered(wrench={"maximum": "30 N·m", "minimum": "2 N·m"})).section("torque")
    assert section.rows[0][-1] == "28.1–30.0 N·m"
    section = plan(altered(wrench={"maximum": "110 N·m", "minimum": "29 N·m"})).section("torque")
    assert section.rows[0][-1] == "29.0–30.9 N·m"


def test_an_adapter_that_takes_the_setting_below_the_scale_is_mentioned():
    section = plan(altered(wrench={"maximum": "150 N·m", "minimum": "30 N·m", "adapter": "200 mm"})).section("torque")
    assert "a setting of 20.4 N·m is below 30.0 N·m" in section.lines[1]
    assert section.rows[0][-1] == "not with this wrench"
    assert section.data["bolts"][0]["setting"] is None


def test_one_setting_has_one_number_on_sheet_card_and_json(sheet):
    from sumpwise import number_card

    setting = sheet.section("torque").data["bolts"][0]["setting"]
    card = next(line for line in number_card(Job.demo()).lines if line.label == "Drain plug, wrench set to")
    assert 0 <= card.data["lower"] - setting["lower"]["value"] <= 0.1  # the card rounds inward, to what a scale shows
    assert 0 <= setting["upper"]["value"] - card.data["upper"] <= 0.1
    assert card.text.startswith(sheet.section("torque").rows[0][-1])
    assert "32.3" not in sheet.to_markdown()


def test_a_budget_calls_what_was_lost_by_its_name():
    lines = plan(Job.demo()).section("balance").lines
    assert any(line.startswith("- tray under the pan, how much: ± 0.03 L") for line in lines)


def test_no_text_is_read_again_however_often_a_sheet_shows_it(monkeypatch):
    """What a job says is read when it is made; the writer reads each text once, for its unit and its size."""
    job, either, asked = Job.demo(), notation.either, Counter()

    def counted(text, kind=None):
        asked[text, kind] += 1
        return either(text, kind)

    writer._read.cache_clear()
    monkeypatch.setattr(notation, "either", counted)
    plan(job).to_markdown()
    shown = [count for (_, kind), count in asked.items() if kind is None]
    assert len(shown) > 20
    assert set(shown) == {1}


def test_each_part_of_a_section_is_written_when_it_is_first_read_and_only_then(monkeypatch):
    written = []

    def counted(name):
        write = getattr(writer.Writer, name)
        monkeypatch.setattr(writer.Writer, name, lambda self, *facts: written.append(name) or write(self, *facts))

    counted("_lines")
    counted("_record")
    sheet = plan(Job.demo())
    assert written == []
    assert sheet.section("buy").data["packs"] == {"can": 2, "bottle": 4}
    assert written == []
    assert sheet.section("buy").lines == sheet.section("buy").lines != []
    assert written == ["_lines"]
    sheet.to_markdown()
    assert written == ["_lines"] * len(sheet.sections)
    assert sheet.section("buy").facts == sheet.section("buy").facts != []
    assert written[len(sheet.sections) :] == ["_record"] * len(sheet.section("buy").lines)
    with pytest.raises(AttributeError, match="no attribute 'line'"):
        _ = sheet.section("torque").line


def test_a_sheet_that_nobody_has_read_is_copied_and_pickled_like_another():
    read, unread = plan(Job.demo()), plan(Job.demo())
    told = read.to_dict()
    assert pickle.loads(pickle.dumps(unread)).to_dict() == told
    assert copy.deepcopy(plan(Job.demo())).to_dict() == told
    assert unread == read
