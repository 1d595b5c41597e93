"""Cost per result and a shop's claim: behaviour and refusals."""

from __future__ import annotations

import numpy
import pytest
from scipy.integrate import quad
from scipy.special import gammaincc

from sumpwise import exchange
from sumpwise.buying.quotes import check_claim, claim_bounds, cost_per_litre_year, cost_per_point
from sumpwise.errors import SumpwiseError


def test_cost_per_point():
    assert cost_per_point(132.60, 0.776) == pytest.approx(132.60 / 77.6)
    assert cost_per_point(100, "90 %", start="50 %") == pytest.approx(2.5)
    assert cost_per_point.kernel(numpy.array([100.0, 200.0]), 0.5).tolist() == [2, 4]
    assert cost_per_point(100, "0.50(1)").std_dev == pytest.approx(2 * 0.01 / 0.5)


@pytest.mark.parametrize("arguments", [(100, 0.5, 0.5), (100, 0.3, 0.5), (-1, 0.5), ("dear", 0.5), (100, 1.5)])
def test_a_point_must_be_removed(arguments):
    with pytest.raises(SumpwiseError):
        cost_per_point(*arguments)


def test_a_cost_of_nothing_gained_says_so():
    for fresh, start in ((0.5, 0.5), ([0.7, 0.5], 0.5)):
        with pytest.raises(SumpwiseError, match="removes no old fluid"):
            cost_per_point(100, fresh, start)
    for ages in (("4 y", "4 y"), (["5 y", "4 y"], "4 y")):
        with pytest.raises(SumpwiseError, match="saves no age"):
            cost_per_litre_year(100, "8.85 L", *ages)


def test_cost_per_litre_year_of_the_ten_year_table():
    assert cost_per_litre_year(213, "8.85 L", "14.0 y", "4.35 y") == pytest.approx(213 / 8.85 / 9.65)
    assert cost_per_litre_year(213, "8.85 L", "168 month", "52.2 month") == pytest.approx(213 / 8.85 / 9.65)


@pytest.mark.parametrize("ages", [("4 y", "4 y"), ("4 y", "5 y"), ("4 km", "2 km"), ("-1 y", "-2 y")])
def test_age_must_be_saved(ages):
    with pytest.raises(SumpwiseError):
        cost_per_litre_year(100, "8.85 L", *ages)


def test_ages_are_counted_from_nothing():
    assert cost_per_litre_year(3, "1 L", "0.5 min", "0 min") == pytest.approx(3 * 2 * 60 * 24 * 365.25)
    with pytest.raises(SumpwiseError) as caught:
        cost_per_litre_year(3, "1 L", "-0.5 min", "0 min")
    assert caught.value.argument == "age_without"


def test_bounds_of_what_litres_can_do():
    stirred, plug = claim_bounds("8.85 L", "8.85 L")
    assert (stirred, plug) == (pytest.approx(1 - numpy.exp(-1)), 1)
    assert claim_bounds("4 L", "8 L") == (pytest.approx(1 - numpy.exp(-0.5)), 0.5)
    assert claim_bounds("4 L", "8 L", drained="4 L") == (0.5, 0.5), "a drain and refill of all the fluid used"
    assert claim_bounds("4 L", "8 L", start=0.5).plug == 0.75
    many = claim_bounds(["4 L", "8 L"], "8 L")
    assert many.plug.tolist() == [0.5, 1]


@pytest.mark.parametrize(
    ("claimed", "pumped", "verdict", "tanks"),
    [
        ("63 %", "8.85 L", "plausible", 1),
        ("97 %", "31.1 L", "plausible", 1),
        ("97 %", "31.0 L", "possible only as plug flow", 2),
        ("97 %", "12 L", "possible only as plug flow", 10),
        ("97 %", "8.59 L", "possible only as plug flow", None),
        ("97 %", "8.58 L", "impossible", None),
        (1, "12 L", "possible only as plug flow", None),
        (1, "8 L", "impossible", None),
        (0, "0 L", "plausible", 1),
    ],
)
def test_a_claim_is_judged(claimed, pumped, verdict, tanks):
    found = check_claim(claimed, pumped, "8.85 L")
    assert found.verdict == verdict
    assert found.tanks == tanks
    assert "never percent of life left" in found.note
    assert "not the hose" in found.note


@pytest.mark.parametrize(("claimed", "pumped"), [(0.97, 12.0), (0.97, 31.0), (0.9, 12.0), (0.75, 9.0), (0.99, 11.0)])
def test_tanks_against_the_integral_of_the_incomplete_gamma_function(claimed, pumped):
    def resident(tanks):
        return quad(lambda x: gammaincc(tanks, tanks * x), 0, pumped / 8.85)[0]

    fewest = next(n for n in range(1, 201) if resident(n) >= claimed)
    assert check_claim(claimed, f"{pumped} L", "8.85 L").tanks == fewest


def test_two_hundred_tanks_are_the_most():
    few, most = (quad(lambda x, n=n: gammaincc(n, n * x), 0, 1)[0] for n in (199, 200))
    assert check_claim((few + most) / 2, "9 L", "9 L").tanks == 200
    assert check_claim(most + (most - few) / 2, "9 L", "9 L").tanks is None


def test_what_the_claim_takes_when_stirred():
    found = check_claim("97 %", "12 L", "8.85 L")
    assert found.stirred_volume.m_as("L") == pytest.approx(-8.85 * numpy.log(0.03))
    assert claim_bounds(found.stirred_volume, "8.85 L").stirred == pytest.approx(0.97)
    drained = check_claim("97 %", "12 L", "8.85 L", drained="3.7 L", start="10 %")
    assert claim_bounds(drained.stirred_volume, "8.85 L", drained="3.7 L", start="10 %").stirred == pytest.approx(0.97)
    assert check_claim(1, "12 L", "8.85 L").stirred_volume is None
    assert check_claim("97 %", "12 L", "8.85 L", start=1).stirred_volume is None
    assert check_claim("97 %", "12 L", "8.85 L", drained="8.85 L").stirred_volume.m_as("L") == pytest.approx(8.85, rel=1e-14)
    assert check_claim(0.1, "5 L", "8.85 L", drained="3.7 L").stirred_volume.m_as("L") == pytest.approx(3.7)


def test_an_uncertain_capacity_speaks_for_the_claim():
    assert check_claim("97 %", "8.3 L", "8.85 L").verdict == "impossible"
    assert check_claim("97 %", "8.3 L", "8.85(20) L").verdict == "possible only as plug flow"
    assert check_claim("97 %", "8.0 L", "8.85(20) L").verdict == "impossible"
    # 8.1 of 8.85 L is 91.5 % with a standard uncertainty of 2.1 points: 97 % lies between two of them and three
    assert check_claim("97 %", "8.1 L", "8.85(20) L").verdict == "impossible"


@pytest.mark.parametrize(
    "arguments",
    [
        {"claimed": 97}, {"claimed": "97"}, {"claimed": None}, {"claimed": -0.1}, {"pumped": "-1 L"}, {"pumped": "12"},
        {"pumped": ["12 L", "13 L"]}, {"capacity": "0 L"}, {"drained": "13 L"}, {"drained": "10 L"}, {"start": 1.5},
        {"claimed": [0.5, 0.6]},
    ],
)  # fmt: skip
def test_claims_that_cannot_be_read_are_refused(arguments):
    with pytest.raises(SumpwiseError):
        check_claim(**{"claimed": "97 %", "pumped": "12 L", "capacity": "8.85 L"} | arguments)


@pytest.mark.parametrize("claimed", [0.75, 0.8, 0.85])
def test_the_tanks_of_a_claim_reach_it_and_one_fewer_do_not(claimed):
    def inside(tanks):
        return 1 - (1 - 0.1) * (1 - 3 / 9) * (1 - exchange("8 L", "9 L", tanks).resident)

    tanks = check_claim(claimed, "11 L", "9 L", drained="3 L", start=0.1).tanks
    assert tanks >= 1
    assert inside(tanks) >= claimed - 1e-9
    assert tanks == 1 or inside(tanks - 1) < claimed


@pytest.mark.parametrize(("capacity", "stirred"), [("8.85 L", "74%"), ("8.85 ± 0.3 L", "(74+/-1)%")])
def test_a_claim_that_was_checked_is_printed_as_a_sentence(capacity, stirred):
    told = str(check_claim("97 %", "12 L", capacity))
    assert told.startswith(f"possible only as plug flow: fully stirred it makes {stirred}, at the very most 100%; this is about the fill")
