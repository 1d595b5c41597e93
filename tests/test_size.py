"""What grows: time and memory are bounded before the work begins, and never grow faster than the input."""

from __future__ import annotations

import copy
import math
from functools import partial

import pytest

from fuzz import axes, files, places, size
from sumpwise import Circuit, Job, Ledger, RangeError, check_text, inside_from_outlet, plan
from sumpwise.errors import MOST_TOGETHER
from sumpwise.inference import outlet
from sumpwise.inference.prior import Drawn
from sumpwise.mixing.circuit.sensitivity import Course
from sumpwise.service import drawing, movements, problems
from sumpwise.service.agreement import Agreement
from sumpwise.service.case import Case
from sumpwise.service.equipped import Equipped
from sumpwise.service.keys import TEXT
from sumpwise.service.learning import learned_from
from sumpwise.service.matching import DRAWS
from sumpwise.service.schema import EVENTS, LISTS


def test_a_history_too_long_for_its_draws_is_refused_before_it_is_run():
    now = Circuit("3.73 L", "2.45 L", "0.62 L").drain("3.65 L").pour("3.71 L")
    for _ in range(300):
        now = now.pump("0.1 L").pour("0.1 L")
    with pytest.raises(RangeError) as refused:
        inside_from_outlet([(now, 0.1)], 0.8, draws=10_000)
    assert refused.value.limits == (1000, outlet.MOST_STEPS // 602, "")
    assert "at most 4000000 steps" in str(refused.value)


def test_a_tiny_compartment_counts_for_the_steps_that_it_takes():
    """6.5 L through 1 mL turn it over 6500 times, four tanks 26 000 times: as much work as many bursts, and 100 000 draws took minutes."""
    now = Circuit("3.73 L", "2.45 L", "1 mL").drain("3.65 L").pour("3.71 L").pump("1.3 L")
    for _ in range(4):
        now = now.pour("1.3 L").pump("1.3 L")
    with pytest.raises(RangeError) as refused:
        inside_from_outlet([(now, 0.3)], 0.8, draws=100_000)
    assert "very small compartment" in str(refused.value)
    assert refused.value.limits[1] * 5 * 1.3 * 4 / 0.001 / 16 <= outlet.MOST_STEPS
    usual = Circuit("3.73 L", "2.45 L", "0.62 L").drain("3.65 L").pour("3.71 L").pump("1.3 L").circulate("70 L")
    assert inside_from_outlet([(usual, 0.5)], 0.8, draws=10_000).effective_draws > 100


def test_matches_that_contradict_each_other_are_not_run_again_for_every_assumption(monkeypatch):
    runs, run = [], Drawn.runs
    monkeypatch.setattr(outlet, "MOST_STEPS", 500_000)
    monkeypatch.setattr(Drawn, "runs", lambda self, places: runs.append(self.size) or run(self, places))
    told = axes.AXES["plan: bursts with matches"].make(16)()
    assert "times as uncertain" in told.to_markdown()
    assert sum(runs) < 10 * DRAWS


LONG = {
    "a line without a table": ("a  b\n\n5 qt  4.7 L\n", " "),
    "a line of words": ("a  b\n", "drain and fill "),
    "empty lines before a cue": ("00:01.000 --> 00:02.000\nx", "\n"),
    "lines of spaces before a cue": ("00:01.000 --> 00:02.000\nx", "\n \r"),
    "a number before a cue": ("00:01.000 --> 00:02.000\nx\n", "1"),
}


@pytest.mark.parametrize(("before", "piece"), LONG.values(), ids=LONG)
def test_a_long_text_is_read_once(before, piece):
    """Eight times the text once took 64 times as long, several seconds; half a second is now plenty, even on a busy machine."""
    least = [size.timed(lambda n=n: check_text(before + n * piece), 60.0)[1] for n in (3000, 24_000)]
    assert least[1] < 24 * max(least[0], 0.02)


def _grows(name, first=8):
    """How calls and peak of memory grow from one size to twice and four times it: both are the same on every machine."""
    found = []
    for n in (first, 2 * first, 4 * first):
        call, given = size.held(axes.AXES[name].make, n)
        found.append(size.Size(n, size.outcome_of(call), 0.0, size.counted(call), given, size.peak(call)))
    return found


GROWING = [
    "plan: plain history", "plan: uncertain history", "plan: bolts", "plan: components", "plan: losses", "plan: readings of one vessel",
    "FluidHistory: replaced", "Ledger: one pail", "over_horizon: changes", "compare_rhythms: rhythms", "give_leftovers: components",
    "book_meaning: meanings", "pooled: values", "drain_refill_series: drains", "Vessel.calibrated: readings", "number_card: values",
    "column of texts", "column of uncertain texts", "job file: keys of one table", "job file: inline dotted keys", "record file: keys",
]  # fmt: skip
"""Some of the axes; `python -m fuzz.size` goes along all of them, and farther."""


@pytest.mark.parametrize("name", GROWING)
def test_calls_and_memory_grow_no_faster_than_the_input(name):
    small, middle, large = _grows(name)
    assert large.calls - middle.calls <= 2 * 1.25 * max(middle.calls - small.calls, 0) + 2000
    assert large.peak - middle.peak <= 2 * 1.5 * max(middle.peak - small.peak, 0) + 2**18


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("plan: vessels", "[[vessel]]: has more than 50 entries"),
        ("plan: bursts with matches", "[[log]]: has 51 matches of the outlet; accepted: at most 50"),
        ("plan: stick readings and pours", "[[log]]: has 153 entries, with 51 readings of the stick and 1 vessel"),
    ],
)
def test_what_is_weighed_each_against_each_is_bounded_before_it_is_begun(name, says):
    call = axes.AXES[name].make(51)
    assert says in size.outcome_of(call)
    assert size.counted(call) < 100_000


def _log(entries, sticks, mm=("5 mm",)):
    """A job with so many drains and pours of the same amount, and the stick read now and then."""
    job = files._small_job()
    job["level"] = {"marks_volume": "0.42 L", "marks_length": "13 mm", "window": "82–92 °C"}
    one = {"vessel": "pail", "reading": "1.5 L", "temperature": "30 °C"}
    moved = [{"event": ("drained", "poured")[i % 2], **one} for i in range(entries - sticks)]
    log = []
    for i in range(sticks):
        log += [{"event": "stick", "reading": mm[i % len(mm)], "temperature": "86 °C"}]
        log += moved[i * len(moved) // sticks // 2 * 2 : (i + 1) * len(moved) // sticks // 2 * 2]
    return job | {"log": log}


@pytest.mark.parametrize(("entries", "sticks"), [(2000, 1), (500, 9), (90, 50)])
def test_a_log_of_as_many_entries_as_its_readings_allow_is_taken(entries, sticks):
    assert not Job.problems(_log(entries, sticks))


def test_a_log_that_is_long_for_its_readings_is_refused_with_the_number_that_is_taken():
    (refused,) = Job.problems(_log(501, 9))
    assert (refused.code, refused.pointer, refused.limits) == ("limit.entries", "/log", (0, 500, ""))
    assert "has 501 entries, with 9 readings of the stick and 1 vessel" in str(refused)
    assert "at most 500 entries with as many of these" in str(refused)


def test_what_was_meant_is_guessed_for_the_first_of_many_unknown_names_only(monkeypatch):
    """A thousand vessels that the job nearly has took nineteen seconds: each was compared with each."""
    few = Job.problems(axes.AXES["Job.problems: names that nearly are"].make(20).args[0])
    assert [error.hint for error in few if error.code == "vessel.unknown"] == [f"did you mean can number {i}?" for i in range(20)]
    compared, near = [], problems.get_close_matches
    monkeypatch.setattr(problems, "get_close_matches", lambda word, known, **how: compared.extend(known) or near(word, known, **how))
    many = Job.problems(axes.AXES["Job.problems: names that nearly are"].make(500).args[0])
    last = next(error for error in many if error.pointer == "/log/499/vessel")
    assert (last.code, last.hint) == ("vessel.unknown", "describe it under [[vessel]]")
    assert len(compared) <= problems.MOST_COMPARED


def test_a_job_of_which_every_line_is_wrong_is_told_its_first_two_thousand_problems():
    """A file of one megabyte held 120 MB of problems; of this one, all of them hold 15 MB, and the first two thousand half of that."""
    text = "[vehicle]\nname = 'wagon'\n" + "".join(f"nam{i} = 1\n" for i in range(12_000))
    said = Job.problems(text)
    assert len(said) == 2001
    assert [error.code for error in said[1998:]] == ["key.unknown", "key.unknown", "limit.count"]
    assert "has more than 2000 problems" in str(said[-1])
    assert said[-1].limits == (0, 2000, "")
    assert size.peak(lambda: Job.problems(text)) < 11 * 2**20


def test_a_hint_does_not_list_all_names_of_a_job():
    """It did in each of as many problems: a file of a megabyte had a gigabyte of hints."""
    said = Job.problems(axes.AXES["Job.problems: long names"].make(400).args[0])
    assert len(said) == 400
    assert all(len(one.hint) < 1500 for one in said)
    assert said[0].hint.endswith("… and 388 more")
    told = Job.problems(axes.AXES["Job.problems: long names"].make(2).args[0])[0].hint
    assert told.startswith("known: case 0xxx")
    assert "more" not in told


def test_a_correction_that_cannot_mend_a_log_is_not_entered_and_counted_again(monkeypatch):
    """Forty corrections once were, each with the log read again, though none makes the count agree with four stick readings."""
    counted = []
    monkeypatch.setattr(Agreement, "__init__", lambda found, case, begin=Agreement.__init__: counted.append(case) or begin(found, case))
    sheet = plan(Job.from_dict(_log(20, 4, ("1 mm", "25 mm", "2 mm", "30 mm"))))
    assert sheet.to_dict()["sections"]["conflict"]["data"]["entries"] == []
    assert len(counted) < 3


def test_only_the_vessel_that_is_assumed_differently_is_described_again(monkeypatch):
    described, accounts = [], []
    describe, account = Equipped._described, movements._account
    monkeypatch.setattr(Equipped, "_described", lambda case, written: described.append(written) or describe(case, written))
    monkeypatch.setattr(movements, "_account", lambda case: accounts.append(case) or account(case))
    for n in (8, 16):
        axes.AXES["plan: vessels"].make(n)()
        assert len(described) <= 16 * n, "each vessel was described again for each assumption about another"
        assert len(accounts) <= 12 * n, "and the log was followed again for each answer"
        described.clear(), accounts.clear()


def test_a_picture_works_out_no_more_states_than_it_can_show(monkeypatch):
    """Each state is worked out from the start of its course: a log of a thousand pours took seconds."""
    begun = []
    begin = Course.__init__
    monkeypatch.setattr(Course, "__init__", lambda course, *given: begun.append(course) or begin(course, *given))
    found = {}
    for n in (30, 900):
        job = Job.from_dict(axes.AXES["pictures: entries of log poured"].make(n).args[0])
        begun.clear()
        points, _ = drawing._logged(Case(job))
        found[n] = len(points) - 1
        assert points[-1][0] == pytest.approx(n * points[1][0], rel=1e-9), "the last pour is always drawn"
        assert len(begun) <= drawing.MOST_POINTS
    assert found[30] == 30
    assert 0.8 * drawing.MOST_POINTS < found[900] <= drawing.MOST_POINTS + 1


def test_a_step_that_falls_out_of_a_cache_is_told_from_growth():
    """Both look alike at the last size; the next one tells them apart."""
    axis = size.Axis(lambda n: lambda: None, 1024)
    for after, fault in ((4.0, False), (16.0, True)):
        took = iter([0.03, 0.12, 0.12 * 8, 0.12 * 8 * after])
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(size, "timed", lambda call, patience, took=took: ("answer", next(took)))
            found = size.grown(axis, seconds=20.0)
        assert [one.n for one in found] == [64, 256, 1024, 4096]
        assert bool(size.faults(found)) is fault


@pytest.mark.parametrize(
    ("calls", "fault"), [((225, 205, 820), False), ((225, 205, 3280), True), ((10, 20, 60), False), ((10, 20, 180), True)]
)
def test_what_is_less_to_do_beyond_a_limit_is_no_growth(calls, fault):
    found = [size.Size(1024 * 4**i, "answer", 0.01, 1000 * count, 1000, 1000) for i, count in enumerate(calls)]
    assert bool(size.faults(found)) is fault


@pytest.mark.parametrize(
    ("seconds", "outcome", "seen"),
    [
        (lambda n: 0.02 + 1e-5 * n, lambda n: "answer", False),
        (lambda n: 0.02 + 1e-6 * n**1.6, lambda n: "answer", True),
        (lambda n: 0.001, lambda n: "answer" if n < 300 else "refused", False),
        (lambda n: 0.001 if n < 5000 else 2.0, lambda n: "answer" if n < 300 else "refused", True),
        (lambda n: 0.001, lambda n: "answer" if n < 300 else "stopped", True),
    ],
    ids=["linear", "steep", "refused", "slowly refused", "stopped"],
)
def test_a_quick_look_notices_what_has_to_be_driven(monkeypatch, seconds, outcome, seen):
    monkeypatch.setattr(size, "timed", lambda call, *_: (outcome(call.args[0]), seconds(call.args[0])))
    found = size.glanced(size.Axis(lambda n: partial(int, n), 2**14), 0.3)
    assert size.suspicious(found) is seen


@pytest.mark.parametrize(
    ("name", "what"),
    [
        ("best_estimate: estimates", "estimates"), ("best_estimate: covariance", "estimates"), ("drain_refill_series: drains", "drains"),
        ("drain_refill_series: uncertain drains", "drains"), ("blend_viscosity: uncertain fluids", "fluids"),
    ],
)  # fmt: skip
def test_what_makes_one_value_together_is_limited_before_it_is_read(name, what):
    """A thousand estimates took two seconds, four thousand two minutes; 1024 uncertain fluids took two, 4096 uncertain drains five."""
    axes.AXES[name].make(MOST_TOGETHER)()
    call = axes.AXES[name].make(MOST_TOGETHER + 1)
    with pytest.raises(RangeError, match=f"has more than 500 {what}") as refused:
        call()
    assert (refused.value.code, refused.value.limits) == ("limit.entries", (0, MOST_TOGETHER, ""))
    assert size.counted(call) < 1000


def test_the_weights_of_meanings_are_added_up_once(monkeypatch):
    """They were for each of them."""
    added, fsum = [], math.fsum
    monkeypatch.setattr(math, "fsum", lambda numbers: added.append(1) or fsum(numbers))
    counts = []
    for n in (10, 100):
        added.clear()
        axes.AXES["book_meaning: meanings"].make(n)()
        counts.append(len(added))
    assert counts[0] == counts[1]


def _case(name, n):
    """The case of a job of this size, with its log followed."""
    case = Case(Job.from_dict(axes.AXES[name].make(n).args[0]))
    case.agreement
    return case


def test_bursts_teach_in_linear_time():
    """To find the deepest burst, the balance of each must not be written out cause by cause."""
    few, some, many = (size.counted(partial(learned_from, _case("plan: bursts", n))) for n in (32, 64, 128))
    assert many - some <= 2 * 1.2 * (some - few) + 500


def test_packs_are_gone_through_once_for_all_fluids(monkeypatch):
    asked = []
    entries = Job.entries
    monkeypatch.setattr(Job, "entries", lambda job, table: asked.append(table) or entries(job, table))
    counts = []
    for n in (2, 20):
        case = Case(Job.from_dict(axes.AXES["plan: components"].make(n).args[0]))
        asked.clear()
        case.baskets
        counts.append(asked.count("pack") + asked.count("component"))
    assert counts[0] == counts[1]


@pytest.mark.parametrize("name", axes.SCHEMAS)
def test_every_list_and_text_that_a_format_has_is_an_axis(name):
    for path, kind in places.growing(axes.SCHEMAS[name].json_schema()):
        _, place = axes.holding(name, path, kind)
        assert len(place) == len(path)
        names = {axes.place_name(name, place, kind), axes.place_name(name, place, "text")}  # what may be a text or a table
        assert names & set(axes.AXES), f"{name}: nothing grows at {path}"


def test_a_new_list_of_a_format_without_an_axis_is_noticed():
    schema = copy.deepcopy(Ledger.json_schema())
    schema["properties"]["photos"] = {"type": "array", "items": {"type": "object", "properties": {"what": {"type": "string"}}}}
    new = set(places.growing(schema)) - set(places.growing(Ledger.json_schema()))
    assert new == {(("photos",), "list"), (("photos", places.ANY, "what"), "text")}
    with pytest.raises(AssertionError, match="no axis"):
        axes.holding("Ledger", ("photos",), "list")


ENTRIES = [(table, event) for table in LISTS for event in (EVENTS if table == "log" else ("",))]


@pytest.mark.parametrize(("table", "event"), ENTRIES)
def test_every_list_of_a_job_grows_in_everything_that_is_made_of_it(table, event):
    wanted = {f"{name}: entries of {table} {event}".rstrip() for name in axes.MADE}
    assert wanted <= set(axes.AXES)
    call = axes.AXES[f"Job.problems: entries of {table} {event}".rstrip()].make(3)
    assert call() == []
    written = call.args[0][table]
    texts = [{value for key, value in one.items() if LISTS[table][key].kind == TEXT and key != "vessel"} for one in written]
    assert not set.intersection(*texts), "each entry has texts of its own"
