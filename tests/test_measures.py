"""The best next measurement is worked out: the one that leaves the level, or the difference between count and stick, least uncertain."""

import pytest

from sumpwise import Job, plan
from sumpwise.filling.lines import Line
from sumpwise.service.case import Case
from sumpwise.service.matching import _operations
from sumpwise.service.measures import measures
from sumpwise.uncertainty import nominal, standard


def case_of(**level):
    data = Job.demo().to_dict()
    data["level"] |= level
    return Case(Job.from_dict(data))


def unread(**pail):
    """The demo without a reading of the stick after the work, and with another pail."""
    data = Job.demo().to_dict()
    data["log"] = [entry for i, entry in enumerate(data["log"]) if not i or entry["event"] != "stick"]
    data["vessel"][0] |= pail
    return Case(Job.from_dict(data))


def leaving(case):
    return {(one.id, one.whose): one for one in measures(case, case.agreement)}


def test_a_vehicle_on_a_slope_is_turned_round_and_one_on_the_level_has_its_stick_read_three_times():
    sloping, level = case_of(), case_of(floor="0.1 mm", reading="4 mm")
    assert measures(sloping, sloping.agreement)[0].id == "turned"
    assert measures(level, level.agreement)[0].id == "thrice"
    assert "turn the vehicle around" in " ".join(plan(Job.demo()).section("balance").lines)


def test_three_readings_leave_what_three_independent_readings_leave():
    """If only the reading is uncertain and there is no count: its standard uncertainty over the square root of three, in litres."""
    data = Job.demo().to_dict()
    sure = {"floor": "0 mm", "bulk": "0 Δ°C", "idling": "0 Δ°C", "air": "0 %", "reading": "4 mm", "resolution": "0.001 mm"}
    data["level"] |= {"marks_volume": "0.420(0) L", **sure}
    stick = [entry for entry in data["log"] if entry["event"] == "stick"]
    moved = {"event": "lost", "volume": "5.0(3) L", "what": "a bottle"}
    data["log"] = [moved, {**stick[-1], "temperature": "88.000(1) °C"}]
    case = Case(Job.from_dict(data))
    assert leaving(case)["thrice", ""].leaves == pytest.approx(4 * 0.42 / 13 / 3**0.5, rel=0.06)  # 88 °C against 20 °C: 5 %


def test_without_a_reading_after_the_work_the_stick_is_read():
    case = unread()
    assert measures(case, case.agreement)[0].id == "thrice"


def test_a_first_reading_is_worth_what_one_in_the_middle_of_its_window_leaves():
    """Half way between the marks at 87 °C, with the same stick, floor, fill and thermometer."""
    case = unread()
    read = case.job.to_dict()
    read["log"].append({"event": "stick", "reading": "6.5 mm", "temperature": "87 °C"})
    taken = leaving(Case(Job.from_dict(read)))["thrice", ""].leaves
    assert leaving(case)["thrice", ""].leaves == pytest.approx(taken, rel=1e-9)


def test_a_pail_that_still_holds_what_it_caught_is_worth_weighing_where_it_is_the_worst():
    left = leaving(unread(scale_uncertainty="10 %", reading="0.5 L"))
    assert left["weigh", "pail"].leaves < left["tilt", "pail"].leaves


@pytest.mark.parametrize("off", ["1 %", "3 %", "10 %"])
def test_a_scale_that_is_checked_with_water_is_as_good_as_one_that_was_from_the_start(off):
    """Weighing what a pail holds leaves three thousandths of it."""
    checked, known = (unread(reads_high="0 %", scale_uncertainty=size) for size in (off, "0.3 %"))
    assert leaving(checked)["scale", "pail"].leaves == pytest.approx(standard(known.agreement.count), rel=1e-6)


def test_what_a_pail_holds_is_known_to_a_two_hundredth_once_it_is_weighed():
    """Beside that nothing is left of its readings."""

    def begun(reading):
        data = unread(scale_uncertainty="0 %", tilt="0 deg", reading=reading).job.to_dict()
        data["log"] = data["log"][: [entry["event"] for entry in data["log"]].index("emptied")]
        return Case(Job.from_dict(data))

    doubtful, exact = begun("0.5 L"), begun("0 L")
    holds = -sum(move.litres for move in doubtful.moves if move.event == "drained")
    left, others = leaving(doubtful)["weigh", "pail"].leaves, standard(exact.agreement.count)
    assert holds > 1
    assert (left**2 - others**2) ** 0.5 == pytest.approx(0.005 * holds, rel=1e-6)


def test_what_went_through_the_circuit_is_as_uncertain_as_its_reading():
    case = case_of()
    told = [(_operations(case, move, move.moved), move) for move in case.moves if nominal(move.moved)]
    for (operation,), move in told:
        sign = 1 if nominal(move.moved) > 0 else -1
        assert nominal(operation.volume) == pytest.approx(abs(nominal(move.moved)), rel=1e-12)
        assert standard(operation.volume - sign * move.moved) == pytest.approx(0, abs=1e-12)
    assert len(told) > 10


def test_a_pail_on_a_slope_is_set_level_on_its_mark():
    left = leaving(unread(scale_uncertainty="0.1 %", reading="0.01 L", tilt="8 deg"))
    assert min(left.values(), key=lambda one: one.apart if one.id != "weigh" else 9.0).id == "tilt"


def test_a_pail_that_was_emptied_is_not_weighed_any_more():
    data = Job.demo().to_dict()
    data["log"].append({"event": "emptied", "vessel": "pail"})
    assert ("weigh", "pail") not in leaving(Case(Job.from_dict(data)))


def test_what_was_guessed_is_weighed_where_the_guess_is_the_worst():
    data = Job.demo().to_dict()
    lost = next(entry for entry in data["log"] if entry["event"] == "lost")
    lost["volume"] = "0.3 ± 0.9 L"
    case = Case(Job.from_dict(data))
    best = min(measures(case, case.agreement), key=lambda one: one.apart)
    assert (best.id, best.whose) == ("lost", lost["what"])
    assert f"weigh it: {lost['what']}" in " ".join(plan(Job.from_dict(data)).section("balance").lines)


def test_in_a_conflict_what_settles_it_is_named():
    data = Job.demo().to_dict()
    data["log"][1]["reading"] = "4.35 L"
    sheet = plan(Job.from_dict(data))
    told = " ".join(sheet.section("balance").lines)
    assert sheet.section("balance").data["conflict"]
    assert "between count and stick" in told
    assert "the level would then be known" not in told


def test_no_measurement_leaves_more_uncertainty_than_there_is():
    case = case_of()
    assert all(one.leaves <= standard(case.agreement.joint) * (1 + 1e-9) for one in measures(case, case.agreement))


def test_nothing_is_to_be_measured_where_a_level_is_exactly_known():
    case = case_of()
    found = case.agreement
    found.estimates[-1] = 0.0
    del found.resting  # what the estimates rest on is laid out once
    assert measures(case, found) == []


def test_a_log_of_twice_the_length_takes_twice_the_work(monkeypatch):
    """To see what weighing would leave, the uncertainty of each entry is asked for a few times, not once for every other entry."""
    asked = []
    contributions = Line.contributions
    monkeypatch.setattr(Line, "contributions", lambda line: asked.append(line) or contributions(line))
    counts = []
    for pairs in (20, 40):
        data = Job.demo().to_dict()
        out = {"event": "drained", "vessel": "pail", "reading": "0.5 L", "temperature": "45 °C"}
        into = {"event": "poured", "vessel": "pail", "reading": "0.5 L", "temperature": "17 °C"}
        data["log"] = [data["log"][0], *([out, into, {"event": "lost", "volume": "0.01 L", "what": "rags"}] * pairs)]
        case = Case(Job.from_dict(data))
        found = case.agreement
        asked.clear()
        assert ("weigh", "pail") in leaving(case)
        assert found.moves
        counts.append(len(asked))
    assert counts[1] <= 2.1 * counts[0]
