"""One reading of the log: cumulative readings, count against stick, the entry that explains a conflict, and what may be said."""

import contextlib
import itertools
import math
import re

import pytest
from scipy.stats import chi2

from sumpwise import Job, ServiceRecord, best_estimate, plan
from sumpwise.errors import SumpwiseError
from sumpwise.measurement.joint import BestEstimate
from sumpwise.service.case import Case
from sumpwise.service.movements import movements
from sumpwise.service.suspects import _misread, suspects

HOT = "87 °C"


def job(log=None, **tables):
    data = Job.demo().to_dict()
    if log is not None:
        data["log"] = log
    for table, content in tables.items():
        data[table] = content
    return Job.from_dict(data)


def changed(number, **values):
    """The demo's log with one entry changed."""
    log = Job.demo().to_dict()["log"]
    log[number - 1] |= values
    return job(log)


def without(number):
    log = Job.demo().to_dict()["log"]
    return job([*log[: number - 1], *log[number:]])


def entry(event, reading, temperature="20 °C", vessel="jug", **more):
    return {"event": event, "vessel": vessel, "reading": reading, "temperature": temperature, **more}


def stick(reading, temperature=HOT):
    return {"event": "stick", "reading": reading, "temperature": temperature}


def test_cumulative_pours_are_counted_once():
    plain = [entry("drained", "3 L"), entry("poured", "1 L"), entry("poured", "2 L")]
    series = [entry("drained", "3 L"), entry("poured", "1 L"), entry("poured", "3 L", cumulative=True)]
    for log in (plain, series):
        assert [move.litres for move in movements(Case(job(log)))] == pytest.approx([-3, 1, 2])


def test_cumulative_pours_reach_the_outlet_once():
    def told(pours):
        log = [stick("6.5 mm"), entry("drained", "3 L"), *pours, entry("drained", "1 L", outlet_old="55 %", duration="15 s")]
        return plan(job(log)).section("outlet").data["resident"]["mean"]

    once = told([entry("poured", "1 L"), entry("poured", "2 L")])
    assert told([entry("poured", "1 L"), entry("poured", "3 L", cumulative=True)]) == pytest.approx(once, rel=1e-3)


def test_a_movement_is_what_the_entry_adds_whatever_stands_in_the_pail():
    pail = {"vessel": "pail", "temperature": "20 °C"}
    log = [entry("drained", "1 L", **pail), entry("drained", "2.5 L", cumulative=True, **pail), {"event": "emptied", "vessel": "pail"},
           entry("drained", "0.5 L", cumulative=True, **pail)]  # fmt: skip
    assert [round(move.litres * 1.019, 9) for move in movements(Case(job(log)))] == [-1, -1.5, 0, -0.5]
    moved = [move.moved.nominal_value * 1.019 for move in movements(Case(job(log))) if move.litres]
    assert moved == pytest.approx([-1, -1.5, -0.5])


def test_the_demo_agrees_with_itself_and_is_joined():
    balance = plan(Job.demo()).section("balance").data
    off = balance["off_target"]
    assert balance["conflict"] is False
    assert abs(balance["z"]) < 1
    assert balance["chi_squared"] < chi2.ppf(0.99, 3)
    assert off["joint"]["value"] == pytest.approx(off["stick"]["value"], abs=0.01)
    assert off["joint"]["standard_uncertainty"] < off["stick"]["standard_uncertainty"] < off["count"]["standard_uncertainty"]
    assert "conflict" not in [section.key for section in plan(Job.demo()).sections]


def test_a_pour_of_470_written_for_370_comes_first_and_is_found():
    sheet = plan(changed(6, reading="4.70 L"))
    first, balance = sheet.sections[0], sheet.section("balance").data
    assert first.key == "conflict"
    assert balance["conflict"] is True
    assert balance["off_target"]["joint"] is None
    assert balance["z"] > 4
    named = first.data["entries"][0]
    assert (named["number"], named["correction"], named["mistake"]) == (6, "3.70 L", "digit")
    assert "Log entry 6, poured 4.70 L: 3.70 L instead" in " ".join(first.lines)
    text = sheet.to_markdown()
    for word in ("Enough", "readings together", "Next pour", "leave it", "then read again"):
        assert word not in text
    assert sheet.section("outlet").data["verdict"] == "cannot say"


@pytest.mark.parametrize(
    ("wrong", "number", "correction", "mistake"),
    [
        (changed(17, reading="6.65 L"), 17, "7.65 L", "digit"),
        (changed(2, reading="3.85 L"), 2, "3.35 L", "digit"),
        (changed(20, reading="-3.5 mm"), 20, "3.5 mm", "sign"),
        (changed(1, reading="11 mm"), 1, "1 mm", "digit"),
        (changed(4, volume="3.0 ± 0.05 L"), 4, "0.3 ± 0.05 L", "swapped"),
        (changed(16, reading="12.5 L"), 16, "1.25 L", "point"),
        (changed(6, reading="7.30 L"), 6, "3.70 L", "swapped"),
        (without(12), 13, "", "forgotten"),
    ],
)
def test_one_wrong_entry_is_found_first(wrong, number, correction, mistake):
    found = Case(wrong).agreement
    assert found.conflict
    first = suspects(Case(wrong), found)[0]
    assert (first.number, first.correction, first.mistake) == (number, correction, mistake)


def test_a_stick_that_is_read_while_fluid_is_still_missing_misleads_nobody():
    """A pour of 2.00 L written as 2.30 L, the stick read half way: only pours are expected to end near the target."""
    wrong = job([
        stick("6.5 mm"), entry("drained", "2.80 L"), entry("poured", "2.30 L"), stick("-17 mm"), entry("poured", "0.80 L"), stick("6 mm"),
    ])  # fmt: skip
    first = suspects(Case(wrong), Case(wrong).agreement)[0]
    assert (first.number, first.correction, first.mistake) == (3, "2.00 L", "digit")


def test_a_pour_entered_twice_is_found():
    log = Job.demo().to_dict()["log"]
    wrong = job([*log[:10], log[9], *log[10:]])
    found = Case(wrong).agreement
    assert found.conflict
    assert "doubled" in [one.mistake for one in suspects(Case(wrong), found)[:2]]


def test_every_entry_named_removes_the_conflict_when_it_is_corrected():
    wrong = changed(6, reading="4.70 L")
    for one in suspects(Case(wrong), Case(wrong).agreement):
        data = wrong.to_dict()["log"]
        key = "volume" if "volume" in data[one.number - 1] else "reading"
        data[one.number - 1][key] = one.correction
        assert not Case(job(data)).agreement.conflict


def test_a_conflict_that_no_single_entry_explains_says_so():
    log = Job.demo().to_dict()["log"]
    log[5]["reading"], log[21]["reading"] = "4.95 L", "35 mm"
    sheet = plan(job(log))
    assert sheet.sections[0].data["entries"] == []
    assert "No single wrong entry explains it" in " ".join(sheet.sections[0].lines)


@pytest.mark.parametrize(("freedom", "tabled"), [(1, 6.635), (2, 9.210), (3, 11.345), (6, 16.812), (10, 23.209)])
def test_one_per_cent_of_chi_squared_is_where_the_tables_have_it(freedom, tabled):
    assert BestEstimate(None, (0.0,) * (freedom + 1), tabled).chance == pytest.approx(0.01, abs=5e-6)


def test_the_chance_is_the_tail_of_chi_squared():
    for freedom, spread in itertools.product(range(1, 40), (0.0, 1e-3, 0.5, 6.6, 40.0)):
        assert BestEstimate(None, (0.0,) * (freedom + 1), spread).chance == pytest.approx(chi2.sf(spread, freedom), rel=1e-12)
    assert best_estimate(["1.0(1) L"]).chance == 1.0


def test_count_and_stick_are_a_conflict_from_one_per_cent_on():
    """The last stick reading moved until chi-squared passes the tabled value: just below, both are combined; just above, not."""

    def at(reading):
        log = [stick("6.5 mm"), entry("drained", "3 L"), entry("poured", "3 L"), stick(f"{reading:.3f} mm")]
        return Case(job(log)).agreement

    low, high = 6.5, 16.5
    while high - low > 1e-3:
        middle = (low + high) / 2
        low, high = (low, middle) if at(middle).conflict else (middle, high)
    assert at(low).best.chi_squared == pytest.approx(6.635, rel=0.01)
    assert at(low).joint is not None
    assert at(high).joint is None


def test_a_half_written_log_is_not_a_conflict_and_has_no_z():
    log = Job.demo().to_dict()["log"]
    for length in range(1, len(log) + 1):
        sheet = plan(job(log[:length]))
        assert "conflict" not in [section.key for section in sheet.sections]
        balances = [section.data for section in sheet.sections if section.key == "balance"]
        assert all(data["z"] is None or abs(data["z"]) < 2 for data in balances)
        assert sum("stick" in one["event"] for one in log[:length]) < 2 or balances[0]["z"] is not None


def shares(log, **pail):
    """What the account says of the parts of its uncertainty."""
    data = job(log).to_dict()
    data["vessel"][0] |= pail
    return [fact for fact in plan(Job.from_dict(data)).section("balance").facts if fact["id"] == "balance.share"]


def test_what_is_less_than_a_hundredth_of_the_variance_is_not_listed():
    log = [entry for entry in Job.demo().to_dict()["log"] if entry["event"] != "lost"]
    assert [fact["values"]["cause"]["word"] for fact in shares(log, scale_uncertainty="10 %")] == ["source.scale"]
    assert len(shares(log)) == 4


def test_a_level_nobody_read_before_the_work_is_assumed_to_have_been_right():
    log = Job.demo().to_dict()["log"]
    read, unread = (plan(job(entries)).section("balance").lines for entries in (log, log[1:]))
    assumed = "Assumed: the level was on the target before the work."
    assert assumed in unread
    assert assumed not in read


def test_a_level_that_is_too_high_says_what_to_take_out():
    """0.4 L more than came out, by count and stick alike."""
    log = [stick("6.5 mm"), entry("drained", "3 L"), entry("poured", "3.40 L"), stick("18.5 mm")]
    first, last = plan(job(log)).section("level").rows
    assert first[-1] == "the work has gone on since"
    assert re.fullmatch(r"take out 0\.3\d L, then read again", last[-1])


def test_a_drained_entry_alone_says_what_is_missing():
    sheet = plan(job(Job.demo().to_dict()["log"][:2]))
    text = sheet.to_markdown()
    assert "By the count the level is now −3.39 ± 0.08 L off the target" in text
    assert "z =" not in text
    assert "unexplained" not in text
    off = sheet.section("balance").data["off_target"]
    assert off["stick"] is off["joint"] is None


def test_without_a_stick_reading_at_the_start_two_later_ones_still_test_the_count():
    moved = [entry("drained", "3 L"), entry("poured", "3 L"), stick("3 mm"), entry("poured", "0.10 L"), stick("6 mm")]
    fine, wrong = job(moved), job([*moved[:3], entry("poured", "1.00 L"), moved[4]])
    assert not Case(fine).agreement.conflict
    assert Case(fine).agreement.count is None
    assert Case(fine).agreement.joint is not None
    assert Case(wrong).agreement.conflict
    assert suspects(Case(wrong), Case(wrong).agreement)[0].number == 4
    assert plan(wrong).sections[0].key == "conflict"


@pytest.mark.parametrize(
    ("log", "why"),
    [
        ([entry("drained", "12 L", vessel="bucket")], "log entry 1, 12 L: that is more than there was to drain"),
        (
            [entry("drained", "33.5 L", vessel="pail")],
            "log entry 1, 33.5 L: that is more than the vessel holds (did it take several fillings? enter each by itself)",
        ),
        (
            [*(entry("drained", "3 L", vessel="bucket", duration="50 s", outlet_old="50 %") for _ in range(4))],
            "log entry 4, 3 L: that is more than there was to drain",
        ),
    ],
)
def test_more_drained_than_the_unit_holds_is_refused_first_and_everywhere(log, why):
    vessels = [*Job.demo().to_dict()["vessel"], {"name": "bucket", "graduation": "0.5 L"}]
    sheet = plan(job(log, vessel=vessels))
    assert sheet.sections[0].key == "conflict"
    assert why in " ".join(sheet.sections[0].lines)
    assert "cannot be followed" in sheet.section("balance").lines[0]
    assert sheet.section("balance").data["conflict"] is True
    assert "Enough" not in sheet.to_markdown()


def enough(target, log=None):
    return plan(job(log, target={"fresh": target, "method": "bursts"})).section("outlet")


def test_enough_is_said_only_when_the_target_is_met_with_the_probability_asked():
    for target in ("60 %", "75 %", "80 %", "90 %", "99.9 %"):
        section = enough(target)
        met = section.data["probability"] >= section.data["confidence"]
        assert ("Enough" in section.lines[0]) == met
    assert enough("99.9 %").lines[0].startswith("**More of the same will not get there**")


def test_an_instruction_stands_only_until_the_work_goes_on():
    rows = plan(Job.demo()).section("level").rows
    assert [row[-1] for row in rows] == [
        "the work has gone on since", "predicts +3.3 ± 1.6 mm in mid window", "the work has gone on since", "leave it",
    ]  # fmt: skip
    short = plan(job([stick("1 mm", "86 °C")])).section("level").rows
    assert short[0][-1].startswith("add 0.15 L")  # 0.16 L short, in whole divisions of the jug


def test_the_count_and_the_readings_add_up():
    """The account at the reading that is shown: causes add up to the rest, and the rest over its uncertainty is z."""
    data = plan(changed(6, reading="4.70 L")).section("balance").data
    assert math.fsum(cause["litres"] for cause in data["causes"]) == pytest.approx(data["rest"]["value"], abs=1e-9)
    assert data["rest"]["value"] / data["rest"]["standard_uncertainty"] == pytest.approx(data["z"], rel=1e-9)


def test_a_temperature_that_cannot_be_is_the_value_named():
    data = Job.demo().to_dict()
    data["log"] = [{"event": "drained", "vessel": "pail", "reading": "3.35 L", "temperature": "1100 °F"}]
    text = plan(Job.from_dict(data)).to_markdown()
    assert "Stop: fluid at" in text
    assert "log entry 1, 3.35 L: read '1100 °F': is out of range; accepted: at least -58 °F and at most 302 °F" in text
    assert "log entry 1: read" not in text


def test_bursts_that_were_timed_say_how_fast_the_pump_runs():
    """After doing what the sheet asks, "time the first burst and read the pail", nobody is asked again or given a usual time."""
    data = Job.demo().to_dict()
    del data["exchange"]["flow"]
    data["log"] = data["log"][:9]  # two bursts, of 21 s and 20 s
    case = Case(Job.from_dict(data))
    sizes, seconds = (1.25, 2.50 - 1.25), (21.0, 20.0)
    by_hand = sum(60 * size / time for size, time in zip(sizes, seconds, strict=True)) / 2  # as the pail reads, hot
    assert case.flow == pytest.approx(by_hand, rel=0.05)  # the pail reads a little high
    sheet = plan(Job.from_dict(data), units="metric")
    assert "assumed.exchange.flow" not in str(sheet.to_dict())
    assert "time the first burst" not in str(sheet.to_dict())
    assert "timed over 2 bursts" in sheet.section("steps").to_markdown()
    assert sheet.section("steps").to_markdown().count("3.5 L/min") == 0
    data["exchange"]["flow"] = "3.0 L/min"
    assert Case(Job.from_dict(data)).flow == 3.0  # what the job states counts


def test_the_log_is_shown_entry_by_entry_with_its_notes():
    """All that a mechanic wrote is in the table: each reading, its volume at one temperature, the running account, the note."""
    section = plan(Job.demo(), units="metric").section("log")
    assert [row[0] for row in section.rows] == [str(number) for number in range(1, 23)]
    readings = [entry["reading"] for entry in Job.demo().written("log") if entry["event"] == "drained"]
    assert [row[3] for row in section.rows if row[1] == "drained"] == readings
    assert {row[-1] for row in section.rows} >= {"guessed", "looks red", "fine grey paste only"}
    moved = [entry["moved"]["value"] for entry in section.data["entries"]]
    so_far = [entry["balance"]["value"] for entry in section.data["entries"]]
    assert list(itertools.accumulate(moved)) == pytest.approx(so_far)
    judged = plan(Job.demo()).section("balance").data["balance"]["value"]  # at the stick reading before the trim
    assert so_far[-2] == pytest.approx(judged)


def test_a_stop_sign_in_the_log_is_named_in_its_row():
    data = Job.demo().to_dict()
    data["log"].append({"event": "seen", "seen": "pink or milky fluid", "note": "like milk coffee"})
    row = plan(Job.from_dict(data)).section("log").rows[-1]
    assert (row[1], row[3], row[-1]) == ("seen", "pink or milky fluid", "like milk coffee")


NO_TEMPERATURE = {"event": "stick", "reading": "3 mm"}
ENTRIES = [
    NO_TEMPERATURE, {"event": "stick", "reading": "3 mm", "temperature": "85 °C"},
    {"event": "drained", "reading": "3 L"}, {"event": "drained", "reading": "1 L", "duration": "20 s"},
    {"event": "drained", "reading": "1 L", "outlet_old": "40 %"}, {"event": "poured", "reading": "3 L"}, {"event": "emptied"},
    {"event": "lost", "what": "filter", "volume": "0.2 L"}, {"event": "drive"}, {"event": "drive", "duration": "10 min"},
    {"event": "seen", "seen": "foam on the stick"},
]  # fmt: skip


@pytest.mark.parametrize("first", ENTRIES, ids=str)
def test_whatever_a_log_leaves_out_is_answered_or_refused(first):
    """Entries with no more than they must have, any two after a drain and a pour: a sheet and a record, or an error that says why."""
    answers = []
    before = [{"event": "drained", "reading": "3.1 L"}, {"event": "poured", "reading": "3.0 L"}]
    for second in ENTRIES:
        log = [*before, first, second]
        data = {"vehicle": {"name": "example wagon", "date": "2026-11-27"}, "capacity": {"total": "8.85 L"}, "log": log}
        for use in (plan, ServiceRecord.of):
            with contextlib.suppress(SumpwiseError):
                answers.append(use(Job.from_dict(data)))
    assert bool(answers) == (first != NO_TEMPERATURE)


@pytest.mark.parametrize(("warm", "said"), [("20 °C", "the same to 0.02 L"), ("60 °C", "pouring by the raw figure would be off by")])
def test_a_raw_figure_is_only_called_misleading_where_it_misleads(warm, said):
    log = [{"event": "drained", "reading": "3.10 L", "temperature": warm}, {"event": "poured", "reading": "3.00 L", "temperature": "20 °C"}]
    job = Job.from_dict({"vehicle": {"name": "example wagon"}, "capacity": {"total": "8.85 L"}, "log": log})
    assert said in plan(job, units="metric").section("balance").lines[0]


@pytest.mark.parametrize("written", ["-8 mm", "−1 mm", "1 mm", "-0.5 mm"])
def test_a_reading_of_nothing_that_may_have_been_meant_has_no_sign(written):
    read = float(written.split()[0].replace("−", "-"))
    meant = {text for _, text, value in _misread(written, "length", read, 1.0) if not value}
    assert meant
    assert not [text for text in meant if text[0] in "-−+"]
