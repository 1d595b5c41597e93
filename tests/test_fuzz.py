"""A short seeded run of the fuzz harness, and the harness itself: it must see what it is there to see."""

from __future__ import annotations

import math

import numpy
import pytest

from fuzz.__main__ import run
from fuzz.evenings import walk
from fuzz.judge import judged, not_finite
from fuzz.surfaces import SURFACES
from sumpwise import RangeError, Span, measured

REPORT = run(3000, seed=2026)


@pytest.mark.parametrize("name", SURFACES)
def test_every_case_is_a_finite_answer_or_a_refusal_at_once(name):
    found = REPORT["surfaces"][name]
    assert found["faults"] == {}
    assert found["cases"] >= 10


def test_cases_are_answered_as_well_as_refused():
    outcomes = [found["outcomes"] for found in REPORT["surfaces"].values()]
    answered, all_of = sum(o.get("answer", 0) for o in outcomes), REPORT["cases"]
    assert 0.25 * all_of < answered < 0.8 * all_of
    assert {"NotationError", "UnitError", "RangeError", "FileError"} <= {kind for o in outcomes for kind in o}


def test_a_sheet_never_contradicts_itself_whatever_has_been_done_so_far():
    """Two simulated services, planned after every entry; every so many entries with something of the job written otherwise."""
    actions, faults = walk("realistic", evenings=2, seed=1202, often=40)
    assert faults == []
    assert {"begin", "pour", "burst", "check"} <= set(actions)
    assert sum(actions.values()) > 40


def _takes_one(x):
    return x


def _raises(error):
    raise error


@pytest.mark.parametrize(
    ("case", "fault"),
    [
        ((_takes_one, (1.0,), {}), ""),
        ((_takes_one, (math.nan,), {}), "answer is nan"),
        ((_takes_one, ({"a": [1.0, math.inf]},), {}), "a is inf"),
        ((_takes_one, (numpy.array([1.0, math.nan]),), {}), "not finite"),
        ((_takes_one, (Span(1.0, math.inf),), {}), "upper is inf"),
        ((_takes_one, (1j,), {}), "complex"),
        ((_takes_one, (), {}), ""),  # a wrong call stays a TypeError
        ((_raises, (TypeError("inside"),), {}), "TypeError: inside"),
        ((_raises, (ZeroDivisionError("x"),), {}), "ZeroDivisionError"),
        ((_raises, (RangeError("is wrong", code="range.outside", value="\x1b"),), {}), ""),
        ((bytearray, (80 * 2**20,), {}), "holds 80 MB"),
    ],
)
def test_the_judge_sees_a_fault(case, fault):
    found = judged(case, memory=True, pickled=True).fault
    assert fault in found
    assert bool(fault) == bool(found)


def test_degrees_of_freedom_may_be_infinite():
    assert not_finite(measured(1.0, standard=0.1)) == ""
    assert not_finite({"dof": math.inf}) == ""
