"""What grows: time and memory are bounded before the work begins, and never grow faster than the input."""

from __future__ import annotations

import pytest

from fuzz import axes
from sumpwise import Circuit, RangeError, inside_from_outlet
from sumpwise.inference import outlet

DRAWN = outlet.Drawn


def test_a_history_too_long_for_its_draws_is_refused_before_it_is_run():
    now = Circuit("3.73 L", "2.45 L", "0.62 L").drain("3.65 L").pour("3.71 L")
    for _ in range(300):
        now = now.pump("0.1 L").pour("0.1 L")
    with pytest.raises(RangeError) as refused:
        inside_from_outlet([(now, 0.1)], 0.8, draws=10_000)
    assert refused.value.limits == (1000, outlet.MOST_STEPS // 602, "")
    assert "at most 4000000 steps" in str(refused.value)


def test_matches_that_contradict_each_other_are_not_run_through_again_for_every_doubt(monkeypatch):
    runs = []
    monkeypatch.setattr(outlet, "MOST_STEPS", 500_000)
    monkeypatch.setattr(outlet, "Drawn", lambda *given: runs.append(given) or DRAWN(*given))
    told = axes.AXES["plan: bursts with matches"].make(9)()
    assert "times as doubtful" in told.to_markdown()
    assert len(runs) <= 3
