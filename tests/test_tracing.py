"""Results are worked out once, and again only if they depend on something that is assumed differently."""

from __future__ import annotations

import pytest

from sumpwise import Job, plan
from sumpwise.errors import SumpwiseError
from sumpwise.filling.ledger import Ledger
from sumpwise.service import movements
from sumpwise.service.agreement import Agreement
from sumpwise.service.case import Case
from sumpwise.service.sensitivity import ANSWERS
from sumpwise.service.tracing import Traced, WorkedOut
from sumpwise.uncertainty import nominal, standard


class Sum(Traced[str]):
    """Two numbers that are asked for, and results made of them."""

    def __init__(self, **given):
        super().__init__()
        self.given, self.worked = given, []

    def ask(self, name):
        self.rests_on(name)
        return self.known[name][0] if name in self.known else self.given[name]

    @WorkedOut
    def double(self):
        """Twice one of them."""
        self.worked.append("double")
        return 2 * self.ask("a")

    @WorkedOut
    def both(self):
        """The double and the other."""
        self.worked.append("both")
        return self.double + self.ask("b")

    @WorkedOut
    def share(self):
        """None where there is no other."""
        try:
            return self.once("quotient", lambda: self.ask("a") / self.ask("b"))
        except ZeroDivisionError:
            return None


def otherwise(one, **values):
    other = Sum(**one.given)
    other.take_over(one, values)
    return other


def test_only_what_rests_on_it_is_worked_out_again():
    one = Sum(a=1, b=10)
    assert (one.both, one.double, one.both, one.worked) == (12, 2, 12, ["both", "double"])
    assert (other := otherwise(one, b=20)).both == 22
    assert other.worked == ["both"]
    assert (other := otherwise(one, a=3)).both == 16
    assert other.worked == ["both", "double"]
    assert (other := otherwise(one)).both == 12
    assert other.worked == []
    assert one.both == 12


def test_what_is_held_rests_on_nothing():
    one = Sum(a=1, b=10)
    assert one.once("count", lambda: one.both, held=True) == 12
    assert otherwise(one, a=100, b=100).once("count", lambda: 0, held=True) == 12


def test_what_fails_rests_on_what_it_asked():
    one = Sum(a=1, b=0)
    assert one.share is None
    assert otherwise(one, b=2).share == 0.5


def logged(entries):
    data = Job.demo().to_dict()
    out = {"event": "drained", "vessel": "pail", "reading": "0.5 L", "temperature": "45 °C"}
    into = {"event": "poured", "vessel": "pail", "reading": "0.5 L", "temperature": "17 °C"}
    data["log"] = [data["log"][0], *([out, into] * entries)][:entries]
    return Job.from_dict(data)


LEAN = {"vehicle": {"name": "example wagon"}, "target": {"fresh": "70 %"}}


@pytest.mark.parametrize("job", [Job.demo(), logged(8), Job.from_dict(LEAN)], ids=["demo", "log", "lean"])
def test_a_case_with_another_assumption_is_that_case_from_scratch(job):
    """Answers with one assumption changed, against a new case with that assumption and the same counts.

    Circuits that depend on it are run again with best estimates; the others are kept as they were.
    """
    case = Case(job)
    method = case.method
    before = {key: answer(case, method) for key, answer in ANSWERS.items()}
    compared = 0
    for one in case.assumptions:
        for place, value in one.values.items():
            if not isinstance(value, str | bool) and place in case.known:
                values = {place: 1.03 * nominal(value)}
                other, anew = case.otherwise(values), Case(job)
                anew.known = {name: case.known[name] for name in ("burst", "bursts", "drains") if name in case.known}
                anew.known[place] = values[place], anew.bits([place])
                anew.best_only = place in case.places(case.known["circuit" if case.agreement is None else "arrived"][1])
                for key, answer in ANSWERS.items():
                    try:
                        expected = answer(anew, method)
                    except SumpwiseError:
                        continue
                    if expected is not None:
                        found = answer(other, method)
                        assert nominal(found) == pytest.approx(nominal(expected), rel=1e-12, abs=1e-12)
                        if key == "level":
                            assert standard(found) == pytest.approx(standard(expected), rel=1e-9)
                        compared += nominal(found) != nominal(before[key])
    assert compared > 3


def test_a_log_is_folded_once_however_much_is_assumed(monkeypatch):
    """Twenty more entries in the log are twenty more in the account; one more or less where the next pour is said."""
    entered, entry = [], Ledger._entered
    monkeypatch.setattr(Ledger, "_entered", lambda self, line: entered.append(1) or entry(self, line))
    counts = []
    for entries in (20, 40):
        entered.clear()
        plan(logged(entries))
        counts.append(len(entered))
    assert abs(counts[1] - counts[0] - 20) <= 1
    assert movements.movements(Case(logged(20)))[-1].number == 20


def test_the_log_of_the_demo_is_gone_through_three_times_at_most(monkeypatch):
    """Once as it is, and where a vessel or the fluid is assumed differently; what the pump delivered as timed is not asked anew."""
    counted = []
    begin = Agreement.__init__
    monkeypatch.setattr(Agreement, "__init__", lambda found, case: counted.append(case) or begin(found, case))
    plan(Job.demo()).to_markdown()
    assert 1 <= len(counted) <= 3
