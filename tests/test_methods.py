"""Methods: what one foresees, led through the circuit, is what it says of itself."""

from __future__ import annotations

import pytest

from sumpwise import Job
from sumpwise.service.case import Case
from sumpwise.service.methods.registry import BY_KEY, METHODS
from sumpwise.uncertainty import nominal, standard


def still(**tables):
    """The demo before any work: the level is right, nothing is logged."""
    return Case(Job.demo().with_(log=[], **tables))


@pytest.mark.parametrize("method", [m for m in METHODS if m.planned], ids=lambda m: m.key)
def test_what_is_poured_is_the_volume_of_the_method(method):
    case = still()
    poured = sum(nominal(one.volume) for one in method.operations(case) if one.kind in ("pour", "exchange"))
    trim = nominal(case.job.value("exchange", "trim")) if method.key == "bursts" else 0.0
    assert poured + trim == pytest.approx(nominal(method.volume(case)))
    assert sum(volume for _, volume in method.parts(case)) == pytest.approx(nominal(method.volume(case)))


@pytest.mark.parametrize("method", [m for m in METHODS if m.planned], ids=lambda m: m.key)
def test_as_much_comes_out_as_goes_in(method):
    case = still()
    _, end = case.course(method)[-1]
    assert nominal(end.volume.magnitude) == pytest.approx(8.85)


@pytest.mark.parametrize("key", ["drain", "drains", "yearly"])
def test_drains_through_the_circuit_end_as_the_formula_says(key):
    case = still()
    *_, (_, end) = case.course(BY_KEY[key])
    assert nominal(end.resident) == pytest.approx(nominal(BY_KEY[key].fresh(case)), rel=1e-12)


@pytest.mark.parametrize("bursts", [0, 1, 6])
def test_bursts_are_counted_once_in_operations_and_litres(bursts):
    case = still(exchange={"bursts": bursts})
    method = BY_KEY["bursts"]
    kinds = [one.kind for one in method.operations(case)]
    assert kinds == ["drain", "pour", *["pump", "pour"] * bursts]
    assert nominal(method.volume(case)) == pytest.approx(3.70 + bursts * 1.25 + 0.25)
    assert method.count(case) == bursts


def test_what_is_worked_out_once_is_the_same_object():
    case = Case(Job.demo())
    assert case.comparison is case.comparison
    assert case.course(BY_KEY["bursts"]) is case.course(BY_KEY["bursts"])
    assert case.circuit is case.circuit
    assert standard(case.total - case.total) == 0
