"""A history run again: fluid is conserved whatever is drawn first or runs back, and no log is refused because one circuit cannot run it."""

from __future__ import annotations

import numpy
import pytest

from sumpwise import Circuit, Job, plan
from sumpwise.inference.prior import Drawn
from sumpwise.inference.replay import replayed
from sumpwise.inference.swift import PLENTY
from sumpwise.mixing.circuit.flow import flow
from sumpwise.mixing.circuit.history import CIRCULATE, MIX, PUMP, History, Operation, nominal
from sumpwise.mixing.circuit.state import resident
from sumpwise.service import matching
from sumpwise.service.case import Case

WAGON = {"bypass": 0.35, "clutch_circulation": 0.25, "pocket_circulation": 0.017}


def service(**tanks):
    now = Circuit("3.73 L", "2.45 L", "0.62 L", "0.83 L", "1.05 L", **WAGON, **tanks).drain("3.2 L").pour("3.2 L")
    for _ in range(3):
        now = now.pump("1.2 L").pour("1.2 L")
    return now


def ends(history, **manners):
    *_, last = replayed(history, manners)
    return last


@pytest.mark.parametrize("tanks", [1, 3])
def test_without_uncertain_pumping_a_replay_is_what_the_circuit_says(tanks):
    now = service(converter_tanks=tanks)
    built, state = ends(now.history)
    assert resident(built, state) == pytest.approx(now.resident, rel=1e-12)
    assert 1 - state.cooler[-1] == pytest.approx(now.outlet, rel=1e-12)


@pytest.mark.parametrize(
    "manners", [{"drawn_first": 0.3}, {"drain_back": 0.4}, {"drawn_first": 0.2, "drain_back": 0.4, "bypass_drift": 0.1}]
)
def test_new_fluid_is_conserved(manners):
    """What was poured is inside or has left: 3.2 L and three times 1.2 L."""
    for built, state in replayed(service().history, manners):
        held = built.converter + built.cooler + built.clutches + built.pockets + state.sump_volume
        assert held <= 8.7
    fresh = resident(built, state) * held
    assert fresh + state.discharged == pytest.approx(3.2 + 3 * 1.2, abs=1e-9)
    assert held == pytest.approx(3.73 + 2.45 + 0.62 + 0.83 + 1.05, abs=1e-9)


@pytest.mark.parametrize("first", [0.0, 0.1, 0.3])
def test_half_way_through_a_burst_the_outlet_is_that_after_half_of_it(first):
    """Whether the new fluid that was drawn first has all gone by then or not; one circuit, and a batch of circuits."""
    led = service().history
    # circulation would otherwise go on in what follows the new fluid alone, which is another part of a half
    whole = History(led.built._replace(clutch_circulation=0.0, pocket_circulation=0.0), led.tanks, led.operations)
    halves = History(whole.built, whole.tanks)
    for one in whole.operations:
        for _ in range(2 if one.kind == PUMP else 1):
            halves = halves.then(one._replace(volume=one.volume / 2) if one.kind == PUMP else one)
    pumps = [place for place, one in enumerate(whole.operations) if one.kind == PUMP]
    seen: dict[int, object] = dict.fromkeys(pumps)
    states = list(replayed(whole, {"drawn_first": first}, halfway=seen))
    told = [state.outlet for _, state in replayed(halves, {"drawn_first": first})]
    expected = [told[place + i + 1] for i, place in enumerate(pumps)]
    if first == 0.3:  # of the first burst, 0.96 L is new fluid: half of it is pumped as from a sump of nothing else
        built, before = states[pumps[0]]
        expected[0] = flow(built, before._replace(sump=0.0, sump_volume=9.0), 0.6, 0.6).outlet
    else:
        assert states[-1][1].outlet == pytest.approx(told[-1], rel=1e-12)
    checked = slice(1 if first == 0.3 else None)
    assert list(seen.values())[checked] == pytest.approx(expected[checked], rel=1e-12)
    many = History(whole.built._replace(cooler=numpy.array([0.4, whole.built.cooler])), whole.tanks, whole.operations)
    seen_by_many: dict[int, object] = dict.fromkeys(pumps)
    list(replayed(many, {"drawn_first": numpy.full(2, first)}, PLENTY, None, seen_by_many))
    assert [outlet[1] for outlet in seen_by_many.values()] == pytest.approx(list(seen.values()), abs=1e-5)


def test_what_is_drawn_first_shows_at_the_outlet_and_is_missing_inside():
    states = [ends(service().history, drawn_first=share) for share in (0, 0.2, 0.4)]
    inside, line = [resident(*one) for one in states], [1 - state.cooler[-1] for _, state in states]
    assert inside[0] > inside[1] > inside[2]
    assert line[0] < line[1] < line[2]


def test_a_long_drive_mixes_everything_and_a_short_one_leaves_the_pockets_behind():
    now = service()
    built, short = ends(now.history.then(Operation(CIRCULATE, 20.0)))
    _, longer = ends(now.history.then(Operation(CIRCULATE, 5000.0)))
    mixed = now.mix()
    assert longer.pockets == pytest.approx(1 - mixed.pockets_fresh, abs=1e-9)
    assert short.pockets > longer.pockets
    assert resident(built, short) == pytest.approx(mixed.resident, rel=1e-12)
    # the circuit's own equations, tank by tank, come to the same within the time the line takes to mix
    exact = now.circulate("20 L")
    assert short.pockets == pytest.approx(1 - exact.pockets_fresh, abs=0.005)
    assert short.sump == pytest.approx(1 - exact.sump_fresh, abs=0.005)
    assert ends(now.history.then(Operation(MIX)))[1].sump == pytest.approx(1 - mixed.sump_fresh, rel=1e-12)


def demo(**changes):
    return Job.from_dict(Job.demo().to_dict() | changes)


def test_the_evidence_goes_through_the_course_that_the_sheet_shows(monkeypatch):
    """A burst in two halves is another course: what is drawn in first, and how the bypass changes, is told of bursts."""
    case, taken = Case(Job.demo()), {}
    monkeypatch.setattr(matching, "weighed", lambda history, *_, **__: taken.update(history=history))
    matching.evidence_of(case, case.agreement)
    done = case.arrived.course.history
    assert [one.kind for one in taken["history"].operations] == [one.kind for one in done.operations]
    assert [nominal(one.volume) for one in taken["history"].operations] == pytest.approx([nominal(one.volume) for one in done.operations])


def told(job):
    return plan(job).section("outlet").data


def test_more_lost_from_the_pan_than_one_circuit_holds_is_not_a_reason_to_refuse():
    found = told(demo(circuit={"sump": "3.60 L"}))  # drained by the log: 3.64 ± 0.06 L
    assert found["resident"]["lower"] < 0.79 < found["resident"]["upper"]


def test_a_burst_deeper_than_the_usual_reserve_shows_that_the_sump_gives_more():
    exchange = Job.demo().to_dict()["exchange"] | {"reserve": "0.9 L"}
    found = told(demo(exchange=exchange))
    assert found["resident"]["standard"] < 0.05
    assert any("holds more" in one for one in found["assumptions"])


def test_a_vial_filled_at_the_start_of_a_burst_shows_what_the_burst_has_not_yet_moved():
    """The same matches at the start of each burst, where the line is older, mean a fresher inside than at its end."""
    log = Job.demo().to_dict()["log"]
    when = {}
    for moment in ("start", "end"):
        stated = [entry | {"when": moment} if "outlet_old" in entry else entry for entry in log]
        when[moment] = told(demo(log=stated))["matches"][0][1]["mean"]
    assert when["start"] != pytest.approx(when["end"], abs=0.005)


def test_matches_that_contradict_each_other_widen_and_say_so(monkeypatch):
    runs, run = [], Drawn.runs
    monkeypatch.setattr(Drawn, "runs", lambda self, places: runs.append(self.size) or run(self, places))
    log = Job.demo().to_dict()["log"]
    matches = iter(("60 %", "20 %", "70 %", "10 %", "60 %", "10 %"))
    wild = [entry | {"outlet_old": next(matches)} if "outlet_old" in entry else entry for entry in log]
    calm, enough = told(Job.demo()), len(runs)
    found = told(demo(log=wild))
    assert found["wider"] > 1 == calm["wider"]
    assert found["resident"]["standard"] > calm["resident"]["standard"]
    assert len(runs) == 2 * enough  # the draws get new weights; no more of them are run through the history than for matches that agree
    assert "times as uncertain" in plan(demo(log=wild)).to_markdown()
