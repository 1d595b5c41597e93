"""The first burst after the engine has stood: the converter refills first, so the sump falls to the pump's inlet sooner."""

import pytest

from sumpwise import Job, plan
from sumpwise.service.case import Case


def lines(**circuit):
    data = Job.demo().to_dict()
    data["circuit"] = data.get("circuit", {}) | circuit
    return " ".join(plan(Job.from_dict(data)).section("steps").lines)


def test_what_ran_back_is_taken_from_the_sump_before_the_line_delivers():
    """At 3.75 L/min a quarter of a litre is four seconds."""
    case = Case(Job.demo())
    assert case.seconds_until_air(0.0) - case.seconds_until_air(0.0, 0.25) == pytest.approx(4.0)
    assert case.seconds_until_air(0.0, case.spare) == 0.0


def test_a_first_burst_that_would_draw_air_is_cut_short_in_words():
    assert "Stop the first burst after" not in lines(drain_back="0 L")
    assert "Stop the first burst after 15 s at the latest" in lines(drain_back="0.50 L")
