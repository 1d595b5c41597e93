"""Drain and refill, exchange: what the trade asks, and what is refused."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy
import pint
import pytest

from sumpwise import RangeError, SumpwiseError, drain_refill, drain_refill_series, drains_needed, exchange, volume_needed
from sumpwise._math import FEW, power

Q = pint.application_registry.get().Quantity


def test_three_parts_in_eleven_for_four_years_are_not_all_new():
    assert drain_refill("3 L", "11 L", times=4) == pytest.approx(1 - (8 / 11) ** 4)
    assert round(drain_refill("3 L", "11 L", times=4), 2) == 0.72


def test_eight_quarters_do_not_reach_nine_tenths():
    assert 1 - 0.75**8 < 0.9
    assert drains_needed("2 L", "8 L", 0.90) == 9
    assert drains_needed("2 L", "8 L", 1 - 0.75**8) == 8


@pytest.mark.parametrize(
    ("drained", "target", "count"),
    [
        ("8 L", 1, 1), ("8 L", 0.5, 1), ("8 L", 0, 0), ("0 L", 0, 0), ("4 L", 0.5, 1), ("4 L", 0.75, 2), ("4 L", 0.76, 3),
        ("1 mL", 0.5, 5545),
    ],
)
def test_counts_at_the_edges(drained, target, count):
    assert drains_needed(drained, "8 L", target) == count


def test_what_floats_are_off_by_adds_no_drain():
    assert drains_needed("2 L", "8 L", 0.1 + 0.2 - 0.3) == 0  # nothing, but for decimals
    for times in range(500, 10_001, 500):  # of 0.7 ‰ each
        assert drains_needed("5.6 mL", "8 L", drain_refill("5.6 mL", "8 L", times)) == times
    for parts in (3, 4, 8):
        old, times = Fraction(parts - 1, parts), 1
        while old ** (times - 1) - old**times > Fraction(3, 2**53):  # as long as one drain is more than the last bits of a share
            target = float(1 - old**times)
            assert drains_needed("1 L", f"{parts} L", target) == times
            assert drains_needed("1 L", f"{parts} L", math.nextafter(target, 1)) == times
            times += 1


def test_ten_thousand_drains_are_the_most():
    def needed(times):
        return drains_needed("0.8 mL", "8 L", 1 - (1 - 1e-4) ** times)

    assert needed(9999.5) == 10_000
    with pytest.raises(RangeError, match="more than 10000 drains"):
        needed(10_000.5)
    with pytest.raises(RangeError, match="more than 10000 drains"):  # a share too small to be a number
        drains_needed("1e-200 L", "1e200 L", 0.5)


def test_a_drain_of_less_than_nothing_is_refused_though_nothing_is_wanted():
    with pytest.raises(RangeError) as caught:
        drains_needed("-0.5 L", "8 L", 0)
    assert caught.value.argument == "drained"


def test_counts_of_arrays_are_whole():
    counts = drains_needed(["1 L", "2 L", "4 L"], "8 L", 0.9)
    assert counts.dtype.kind == "i"
    assert counts.tolist() == [18, 9, 4]
    assert drains_needed("2 L", "8 L", numpy.array([0.0, 0.5, 0.9])).tolist() == [0, 3, 9]


def test_the_count_of_uncertain_volumes_is_that_of_their_best_values():
    assert drains_needed("2.0 ± 0.3 L", "8.0 ± 0.3 L", 0.9) == 9


def test_no_drain_and_whole_drain():
    assert drain_refill("3 L", "8 L", times=0, start=0.25) == 0.25
    assert drain_refill("8 L", "8 L") == drain_refill("8 L", "8 L", times=7) == 1.0
    assert drain_refill("0 L", "8 L", times=9, start=0.25) == 0.25
    assert drain_refill("8 L", "8 L", purity=0.9) == 0.9


def test_a_refill_that_is_not_pure():
    assert drain_refill("4 L", "8 L", times=1, start=1.0, purity=0.5) == 0.75
    assert drain_refill("4 L", "8 L", times=200, purity=0.5) == pytest.approx(0.5)


def test_a_refill_other_than_drained_changes_the_volume():
    assert drain_refill("2 L", "8 L", refilled="4 L") == pytest.approx(0.4)
    assert drain_refill("2 L", "8 L", times=2, refilled="1 L") == pytest.approx(1 - 6 / 7 * 5 / 6)
    assert drain_refill("2 L", "8 L", refilled="0 L") == 0
    assert drain_refill("2 L", "8 L", [0, 1, 2], refilled="1 L") == pytest.approx([0, 1 / 7, 1 - 5 / 7])
    assert drain_refill("2 L", "8 L", refilled=["1 L", "2 L"]) == pytest.approx([1 / 7, 1 / 4])


def test_decimals_alone_refuse_no_last_drain():
    assert drain_refill("1 L", "2.9 L", times=3, refilled="0.05 L") == 1.0
    assert drain_refill("0.1 L", "0.3 L", times=3, refilled="0.0001 L") < 1.0
    assert drain_refill("1 L", "3 L", times=2, refilled="0 L") == 0.0


@pytest.mark.parametrize("litre", [1e-6, 1.0, 1e6])
def test_a_twelfth_decimal_is_noise_and_an_eleventh_is_missing_fluid(litre):
    # 3 units of which 2 are drained; the refill of 1 is short, and so is the second drain, by this share of the fill
    def after(short):
        return drain_refill(Q(2 * litre, "L"), Q(3 * litre, "L"), times=2, refilled=Q((1 - 3 * short) * litre, "L"))

    assert after(5e-13) == 1.0  # nothing old is left, and not less than nothing
    with pytest.raises(RangeError, match="next drain"):
        after(1e-11)
    # one drain of all, and a refill of next to nothing
    assert drain_refill(Q(litre, "L"), Q(litre, "L"), refilled=Q(1e-11 * litre, "L")) == 1.0
    with pytest.raises(RangeError, match="nothing is left"):
        drain_refill(Q(litre, "L"), Q(litre, "L"), refilled=Q(5e-13 * litre, "L"))


def test_a_share_of_exactly_one_in_a_million_millions_is_noise():
    # 10¹² L: 6·10¹¹ are drained of 10¹² and 2·10¹¹ - 1 poured, so that the second drain is short of one litre
    drained, capacity = Q(6e11, "L"), Q(1e12, "L")
    assert drain_refill(drained, capacity, 2, refilled=Q(2e11 - 1, "L")) == 1.0
    with pytest.raises(RangeError, match="next drain"):
        drain_refill(drained, capacity, 2, refilled=Q(2e11 - 2, "L"))
    assert drain_refill(capacity, capacity, refilled=Q(1.25, "L")) == 1.0
    with pytest.raises(RangeError, match="nothing is left"):
        drain_refill(capacity, capacity, refilled=Q(1.0, "L"))


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        ({"drained": "3 L", "capacity": "8 L", "times": 4, "refilled": "1 L"}, "refilled"),
        ({"drained": "8 L", "capacity": "8 L", "refilled": "0 L"}, "refilled"),
        ({"drained": "4 L", "capacity": "8 L", "times": 2, "refilled": "0 L"}, "refilled"),
        ({"drained": "9 L", "capacity": "8 L"}, "drained"),
        ({"drained": "-1 L", "capacity": "8 L"}, "drained"),
        ({"drained": "1 L", "capacity": "0 L"}, "capacity"),
        ({"drained": "1 L", "capacity": "8 L", "times": 10_001}, "times"),
        ({"drained": "1 L", "capacity": "8 L", "start": 1.5}, "start"),
        ({"drained": "1 L", "capacity": "8 L", "purity": -0.5}, "purity"),
        ({"drained": "1 L", "capacity": "8 L", "refilled": "-1 L"}, "refilled"),
        ({"drained": ["1 L", "9 L"], "capacity": "8 L"}, "drained[1]"),
        ({"drained": "3 L", "capacity": "8 L", "times": [1, 4], "refilled": "1 L"}, "refilled"),
    ],
)
def test_drains_that_cannot_be(arguments, named):
    with pytest.raises(RangeError) as caught:
        drain_refill(**arguments)
    assert caught.value.argument == named


def test_arrays_of_unlike_length_are_refused():
    with pytest.raises(SumpwiseError):
        drain_refill(["1 L", "2 L"], ["8 L", "8 L", "8 L"])


def test_a_series_of_drains():
    assert drain_refill_series(["3.0 L", "2.0 L"], "8.0 L") == 0.53125
    assert drain_refill_series([], "8 L", start=0.25) == 0.25
    assert drain_refill_series(Q([3.0, 2.0], "L"), "8 L") == 0.53125
    assert drain_refill_series(iter(["3.0 L", "2.0 L"]), "8.0 L") == 0.53125
    assert drain_refill_series([["3 L", "4 L"], "2 L"], "8 L").tolist() == [0.53125, 0.625]
    assert drain_refill_series(["8 L"], "8 L", purity=0.9) == 0.9
    assert drain_refill_series.kernel([3.0, 2.0], 8.0) == 0.53125


@pytest.mark.parametrize("drains", ["3 L", 3, None, {"3 L"}, {"3 L": 1}, b"3 L", Q(3, "L"), Q])
def test_a_value_that_is_not_a_series_is_refused(drains):
    with pytest.raises(RangeError, match="times=n") as caught:
        drain_refill_series(drains, "8 L")
    assert caught.value.argument == "drains"
    assert caught.value.code == "list.type"


def test_a_drain_of_a_series_is_named_by_its_place():
    with pytest.raises(RangeError) as caught:
        drain_refill_series(["3 L", "9 L"], "8 L")
    assert caught.value.argument == "drains[1]"
    with pytest.raises(SumpwiseError) as caught:
        drain_refill_series(["3 L", "three"], "8 L")
    assert caught.value.argument == "drains[1]"
    with pytest.raises(SumpwiseError) as caught:
        drain_refill_series(["3 L", "2 L", "-0.5 L"], "8 L")
    assert caught.value.argument == "drains[2]"


@pytest.mark.parametrize(("drained", "target"), [("2 L", 1), ("0 L", 0.5), ("1e-9 L", 0.9), ("1e-300 L", 0.9), ("2 L", 90)])
def test_targets_that_are_never_met(drained, target):
    with pytest.raises(RangeError):
        drains_needed(drained, "8 L", target)


def test_inside_and_outlet_are_two_numbers():
    fresh = exchange("8 L", "8 L", tanks=1, bypass=0.35)
    assert fresh._fields == ("resident", "outlet")
    assert fresh.outlet > fresh.resident
    many = exchange("4 L", "8 L", tanks=50)
    assert many.outlet < 1e-3 < 0.49 < many.resident


def test_exchange_at_the_edges():
    assert exchange("0 L", "8 L", 200) == (0, 0)
    assert exchange("1e9 L", "8 L", 200) == (1, 1)
    assert exchange("8 L", "8 L", bypass=1) == (0, 1)
    assert exchange("1e6 L", "8 L", dead=0.25).resident == 0.75
    assert exchange("1e-9 L", "8 L", 7).resident == pytest.approx(1.25e-10, rel=1e-5, abs=0)
    for count in (2, 3, 50, 199, 200):
        for turnovers in (1e-18, 1e-9, 1e-3, 0.9, 1.7, 30.0):
            assert all(0 <= part <= 1 for part in exchange(Q(turnovers, "L"), "1 L", count))


@pytest.mark.parametrize(
    "arguments", [{"tanks": 0}, {"tanks": 201}, {"tanks": 1.5}, {"dead": 1}, {"dead": 1.1}, {"bypass": -0.1}, {"tanks": "two"}]
)
def test_exchanges_that_cannot_be(arguments):
    with pytest.raises(SumpwiseError) as caught:
        exchange("8 L", "8 L", **arguments)
    assert caught.value.argument == next(iter(arguments))


@pytest.mark.parametrize(
    ("target", "arguments", "named"),
    [(1, {}, "target"), (0.8, {"dead": 0.2}, "target"), (0.5, {"bypass": 1}, "bypass"), (0.5, {"dead": 1}, "target"), (-0.1, {}, "target")],
)
def test_volumes_that_cannot_be(target, arguments, named):
    with pytest.raises(RangeError) as caught:
        volume_needed(target, "8 L", **arguments)
    assert caught.value.argument == named


def test_the_volume_needed_from_nothing_to_nearly_all():
    assert volume_needed(0, "8 L").magnitude == 0
    for share in (1e-15, 1e-12, 1e-9, 1e-6, 1e-3):
        old = 1 - (1 - share)  # what is left old, as the float of the target has it
        assert volume_needed(1 - share, "1 L").magnitude == pytest.approx(-math.log(old), rel=1e-13)
        assert volume_needed(share, "1 L", 200).magnitude == pytest.approx(share, rel=1e-3)
        assert math.isfinite(volume_needed(1 - share, "1 L", 200).magnitude)


def test_every_drain_must_find_its_volume():
    # 9 L that lose half a litre a time: before the 13th drain of 3 L they are exactly 3 L, before the 14th they are 2.5 L
    assert drain_refill("3 L", "9 L", times=13, refilled="2.5 L") == 1
    with pytest.raises(RangeError, match="next drain") as caught:
        drain_refill("3 L", "9 L", times=14, refilled="2.5 L")
    assert caught.value.argument == "refilled"
    assert drain_refill("3 L", "9 L", times=0, start=0.25, refilled="20 L") == 0.25  # what is not done fails nowhere


def test_the_last_bit_of_a_long_sum_leaves_no_negative_share():
    for tanks in range(2, 201, 6):
        for turnovers in (k / 37 for k in range(1, 60)):
            resident, outlet = exchange.kernel(turnovers / tanks, 1.0, tanks)
            assert resident >= 0 <= outlet


def test_what_no_number_of_drains_can_do_is_said():
    with pytest.raises(RangeError, match="never becomes 100 % new") as caught:
        drains_needed("3 L", "9 L", 1)
    assert caught.value.argument == "target"
    with pytest.raises(RangeError, match="nothing is drained") as caught:
        drains_needed("0 L", "9 L", 0.5)
    assert caught.value.argument == "drained"
    for capacity in ("0 L", "-0.5 L"):
        with pytest.raises(RangeError) as caught:
            drain_refill_series(["0 L"], capacity)
        assert caught.value.argument == "capacity"
    with pytest.raises(RangeError, match="out of range") as caught:
        volume_needed(1, "9 L")
    assert "dead" not in str(caught.value)  # there is no dead share


def test_one_number_of_tanks_is_taken():
    for call in (lambda: exchange("9 L", "9 L", [1, 2]), lambda: volume_needed(0.5, "9 L", [1, 2])):
        with pytest.raises(SumpwiseError) as caught:
            call()
        assert caught.value.argument == "tanks"


@pytest.mark.parametrize("tanks", [1, 2, 4, 50, 200])
@pytest.mark.parametrize("bypass", [0.0, 0.3])
@pytest.mark.parametrize("target", [0.0, 5e-324, 1e-300, 1e-17, 1.1e-16, 3e-16, 1e-12, 1e-6])
def test_a_target_near_zero_takes_no_negative_volume(target, tanks, bypass):
    need = volume_needed(target, "8 L", tanks, bypass).m_as("L")
    assert need >= 8 * target / (1 - bypass) * (1 - 1e-15)  # as in plug flow, the least
    assert need <= 8 * target / (1 - bypass) * (1 + 2 * target) + 1e-13


def test_a_power_of_an_array_is_that_of_its_numbers():
    """Multiplied out up to a few times, and by a power from there on; nothing given is changed."""
    shares = numpy.random.default_rng(1).uniform(0, 1, 200)
    before = shares.copy()
    for count in (0, 1, 2, 3, 5, 7, FEW, FEW + 1, 30):
        expected = [float(Fraction(share) ** count) for share in shares.tolist()]
        assert power(shares, count) == pytest.approx(expected, rel=1e-15 * max(1, count))
        assert [power(share, count) for share in shares.tolist()] == pytest.approx(expected, rel=1e-15 * max(1, count))
    assert (shares == before).all()
    assert power(shares, numpy.array([3, 4])[:, None]) == pytest.approx(numpy.array([shares**3, shares**4]), rel=1e-15)
