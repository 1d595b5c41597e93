"""What to buy: the demo's shopping, ties, exact sizes, leftovers, refusals."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pint
import pytest

from sumpwise.buying import covering
from sumpwise.buying.packs import Pack, cheapest_packs, give_leftovers
from sumpwise.errors import RangeError, SumpwiseError
from sumpwise.quantities.boundary import argument

SHOP = {"5 L": 46.50, "1 L": 9.90}
NEED = "12.37(45) L"


def litres(purchase):
    return purchase.volume.m_as("L")


# -- the demo's shopping: need 12.37 ± 0.45 L (standard)


def test_thirteen_litres_run_short_once_in_twelve():
    bought = cheapest_packs(SHOP, NEED, risk=0.10)
    assert (bought.packs, bought.count, bought.cost, litres(bought)) == ({"5 L": 2, "1 L": 3}, 5, 122.70, 13)
    assert round(bought.probability_short, 3) == 0.081
    assert (bought.next_up.cost, bought.cost_per_extra_litre) == (132.60, 9.90)


def test_fourteen_litres_are_bought():
    bought = cheapest_packs(SHOP, NEED, currency="coins")
    assert (bought.packs, bought.count, bought.cost, litres(bought)) == ({"5 L": 2, "1 L": 4}, 6, 132.60, 14)
    assert bought.probability_short < 0.001
    assert str(bought) == "2 × 5 L + 4 × 1 L = 132.60 coins"
    assert bought.left_over.magnitude.nominal_value == pytest.approx(1.63)
    assert bought.left_over.magnitude.std_dev == pytest.approx(0.45)


def test_three_cans_are_the_next_size_up():
    more = cheapest_packs(SHOP, NEED).next_up
    assert (more.packs, more.cost, litres(more), more.next_up) == ({"5 L": 3}, 139.50, 15, None)
    assert cheapest_packs(SHOP, NEED).cost_per_extra_litre == 6.90
    assert cheapest_packs({"5 L": 46.50}, NEED).cost == 139.50


@pytest.mark.parametrize(
    ("volume", "cost"), [("12.37 L", 122.70), ("13 L", 122.70), ("13.01 L", 132.60), ("14 L", 132.60), ("14.1 L", 139.50)]
)
def test_a_certain_need(volume, cost):
    bought = cheapest_packs(SHOP, volume)
    assert bought.cost == cost
    assert bought.probability_short == 0


def test_a_need_is_met_to_a_part_in_a_million_millions():
    assert cheapest_packs({"1 L": 1.0}, "1.0000000000005 L").count == 1
    assert cheapest_packs({"1 L": 1.0}, "1.000000000005 L").count == 2


def test_a_purchase_in_one_line():
    # 3 L for 2.93 L with a standard uncertainty of 0.5 L: Φ(-0.14) = 44.4 %
    bought = cheapest_packs({"1 L": 10.0}, "2.93(50) L", risk=0.45)
    assert repr(bought) == "<Purchase: 3 × 1 L = 30.00, 3 L, chance of running short 44 %; next up 4 × 1 L = 40.00>"


# -- the optimum


def test_ties_go_to_less_left_over_then_to_fewer_packs():
    assert litres(cheapest_packs({"4 L": 40, "5 L": 40}, "3.5 L")) == 4
    assert cheapest_packs({"1 L": 10, "2 L": 20, "4 L": 40}, "8 L").packs == {"4 L": 2}
    assert cheapest_packs({"0.5 qt": 5, "1 L": 10}, "0.9 L").packs == {"0.5 qt": 2}, "less left over comes before fewer packs"
    bought = cheapest_packs([("3 L", 30), ("2 L", 20), ("6 L", 60)], "7 L")
    assert (litres(bought), bought.count) == (7, 3)


def test_quarts_and_litres_mix_exactly():
    need = 3 * Fraction(946352946, 10**9) + 2
    both = [("1 qt", 9), ("1 L", 10)]
    exact = cheapest_packs(both, f"{float(need)!r} L")
    assert (exact.packs, exact.litres.m) == ({"1 qt": 3, "1 L": 2}, need)
    more = cheapest_packs(both, f"{float(need) + 1e-9!r} L")
    assert more.litres.m > need


def test_a_need_in_quarts_is_met_by_quarts():
    for n in range(1, 40):
        assert cheapest_packs({"1 qt": 9.5}, f"{n} qt").count == n
        assert cheapest_packs({"1 pt": 5}, f"{n} qt").count == 2 * n
    assert str(cheapest_packs({"1 qt": 9.5}, "3 qt").volume) == "3.0 quart"


def test_a_computed_need_is_met_within_rounding():
    assert cheapest_packs({"0.1 L": 1}, pint.get_application_registry().Quantity(0.1 + 0.2, "L")).count == 3
    assert cheapest_packs({"1 L": 1}, argument("volume").value("3.70 L") * pint.Quantity("L") + pint.Quantity(0.3, "L")).count == 4


def test_no_need_buys_nothing():
    bought = cheapest_packs(SHOP, "0 L")
    assert (bought.cost, bought.count, litres(bought), bought.packs) == (0, 0, 0, {})
    assert str(bought) == "nothing = 0.00"
    assert bought.next_up.packs == {"1 L": 1}


def test_risk_is_a_quantile_of_the_need():
    counts = [cheapest_packs({"0.01 L": 1}, NEED, risk=risk).count for risk in (0.5, 0.3, 0.1, 0.05, 0.01, 0.001)]
    assert counts == sorted(counts)
    assert counts[0] == 1237
    assert counts[3] == 1312, "12.37 + 1.645 * 0.45 = 13.110, to the next hundredth above 13.1102"
    for risk in (0.3, 0.05, 0.001):
        assert cheapest_packs({"0.01 L": 1}, NEED, risk=risk).probability_short <= risk


def test_prices_may_be_written_in_any_plain_way():
    for price in (9.9, Decimal("9.90"), "9.90", Fraction(99, 10)):
        assert cheapest_packs([("1 L", price)], "3 L").cost == 29.7
    assert cheapest_packs([Pack("1 L", 9, "bottle"), Pack("5 L", 40, "can")], "6 L").packs == {"bottle": 1, "can": 1}
    tables = [{"size": "1 L", "price": 9, "name": "bottle"}, {"size": "5 L", "price": 40}]
    assert cheapest_packs(tables, "6 L").packs == {"bottle": 1, "5 L": 1}
    assert cheapest_packs([["1 L", 9, ""]], "1 L").packs == {"1 L": 1}


def test_equal_names_are_listed_together():
    assert cheapest_packs([("1 L", 9, "oil"), ("4 L", 20, "oil")], "5 L").packs == {"oil": 2}


def test_cheap_small_packs_undercut_large_ones():
    assert cheapest_packs({"1 L": 1, "5 L": 6, "20 L": 18}, "19 L").packs == {"20 L": 1}
    bought = cheapest_packs({"1 L": 1, "5 L": 6, "20 L": 25}, "19 L")
    assert bought.packs == {"1 L": 19}


def test_answers_come_in_the_registry_that_asked():
    registry = pint.UnitRegistry()
    bought = cheapest_packs({registry.Quantity(1.0, "gallon"): 30}, registry.Quantity(9.0, "quart"))
    assert bought.volume._REGISTRY is registry
    assert str(bought.volume) == "12.0 quart"
    assert bought.litres.m == 3 * Fraction(3785411784, 10**9)


def test_families_give_the_optimum_whatever_the_size_of_a_table(monkeypatch):
    shelf = {"0.7 L": 7.1, "1 L": 10.2, "2.9 L": 29.3}
    whole = cheapest_packs(shelf, "13.3 L")
    monkeypatch.setattr(covering, "CELLS", 180)
    sizes, prices = [Fraction(7, 10), Fraction(1), Fraction(29, 10)], [Fraction(71), Fraction(102), Fraction(293)]
    assert len(covering.Covering(sizes, prices, Fraction("13.3")).families) > 1
    found = cheapest_packs(shelf, "13.3 L")
    assert (found.cost, found.litres.m, found.count) == (whole.cost, whole.litres.m, whole.count)


def test_tables_do_not_grow_with_the_fineness_of_two_measures():
    shelf = [(Fraction(946352946, 10**9) * k, Fraction(9 * k)) for k in (1, 4, 20)] + [(Fraction(k), Fraction(10 * k)) for k in (1, 5, 20)]
    tables = covering.Covering([s for s, _ in shelf], [p for _, p in shelf], Fraction(1000)).tables
    assert sum(t.size for t in tables) < 2300


# -- leftovers


COMPONENTS = [
    ("transfer case", "0.92 L", "Example  Fluid 6"), ("rear axle", "0.7 L", "gear oil 75W-90"), ("steering", "1 L", "example fluid 6"),
]  # fmt: skip


def test_leftovers_go_to_named_components_of_the_same_specification():
    given = give_leftovers("1.63 L", COMPONENTS, "example fluid 6")
    assert {name: v.m_as("L") for name, v in given.given.items()} == {"transfer case": 0.92}
    assert given.remaining.m_as("L") == pytest.approx(0.71)
    assert set(given.refused) == {"rear axle", "steering"}
    assert "a different specification" in given.refused["rear axle"]
    assert "not enough" in given.refused["steering"]
    assert set(give_leftovers("1.92 L", COMPONENTS, "example fluid 6").given) == {"transfer case", "steering"}


def test_only_what_is_sure_is_given_away():
    left = cheapest_packs(SHOP, NEED).left_over
    assert give_leftovers(left, COMPONENTS, "example fluid 6").given == {}, "1.63 L less two standard uncertainties is 0.73 L"
    assert set(give_leftovers("1.63(10) L", COMPONENTS, "example fluid 6").given) == {"transfer case"}
    assert set(give_leftovers("1.63(30) L", COMPONENTS, "example fluid 6").given) == {"transfer case"}, "less 0.60 L is 1.03 L"
    assert give_leftovers("-0.2 L", COMPONENTS, "example fluid 6").remaining.m_as("L") == 0
    assert give_leftovers("1.1 L", [("case", "1.0(1) L", "a")], "a").given == {}


@pytest.mark.parametrize("specification", ["", "  ", None, 6])
def test_a_specification_is_never_supplied(specification):
    with pytest.raises(SumpwiseError, match="service information"):
        give_leftovers("1 L", COMPONENTS, specification)
    with pytest.raises(SumpwiseError, match="service information"):
        give_leftovers("1 L", [("case", "0.5 L", specification)], "example fluid 6")


def test_a_broken_component_is_named_by_its_number():
    for place in (1, 2):
        with pytest.raises(SumpwiseError) as caught:
            give_leftovers("5 L", [COMPONENTS[0]] * (place - 1) + ["case"], "example fluid 6")
        assert caught.value.argument == f"components, {place}"


@pytest.mark.parametrize("components", [["case"], [("case", "1 L")], [("case", "-1 L", "a")], [COMPONENTS[0], COMPONENTS[0]], [5]])
def test_broken_components_are_refused(components):
    with pytest.raises(SumpwiseError, match="components, "):
        give_leftovers("5 L", components, "example fluid 6")


# -- refusals


@pytest.mark.parametrize(
    "packs",
    [{}, [], "5 L", 5, None, [("5 L",)], [("5 L", 1, "can", 2)], ["5 L"], [{"size": "5 L"}], {"0 L": 1}, {"-1 L": 1}, {"5": 1}, {"5 kg": 1},
     {"5 L": -1}, {"5 L": "dear"}, {"5 L": True}, {"5 L": None}, {"5 L": "1/0"}, {"5 L": float("nan")}, {"5 L": float("inf")},
     {"5.0(1) L": 1}, {"5 L": "9" * 100}],
)  # fmt: skip
def test_broken_packs_are_refused(packs):
    with pytest.raises(SumpwiseError, match="packs"):
        cheapest_packs(packs, "3 L")


@pytest.mark.parametrize("need", ["-1 L", "3", "3 kg", None, float("nan"), ["3 L", "4 L"]])
def test_broken_needs_are_refused(need):
    with pytest.raises(SumpwiseError, match="need"):
        cheapest_packs(SHOP, need)


@pytest.mark.parametrize("risk", [-0.1, 0.6, "3 L", None])
def test_risk_is_a_share_up_to_one_half(risk):
    with pytest.raises(SumpwiseError, match="risk"):
        cheapest_packs(SHOP, NEED, risk=risk)


def test_an_uncertain_need_has_no_largest_value():
    with pytest.raises(RangeError, match="risk"):
        cheapest_packs(SHOP, NEED, risk=0)
    assert cheapest_packs(SHOP, "12.37 L", risk=0).cost == 122.70


@pytest.mark.parametrize(
    ("packs", "need"),
    [
        ({"1 L": "0.123456789012345678", "0.000000001 L": "0.1"}, "1000000 L"),
        ([(f"{k + 0.123456789:.9f} L", k + 0.123456789) for k in range(1, 20)], "1000 L"),
        ({"0.0001 L": 0.01}, "1000 L"),
        ({"5 L": 46.5}, "1e9 L"),
    ],
)
def test_what_is_too_finely_divided_is_refused_at_once(packs, need):
    with pytest.raises(RangeError, match="packs"):
        cheapest_packs(packs, need)


def test_cost_and_count_share_a_whole_number_of_60_bits():
    # One litre pack for 4 L: the table ends at 6 L, so at most 7 packs, which take 3 bits; 57 are left for 7 prices.
    most = (2**57 - 1) // 7
    assert covering.Covering([Fraction(1)], [Fraction(most)], Fraction(4)).solve() == [4]
    with pytest.raises(RangeError, match="too finely divided"):
        covering.Covering([Fraction(1)], [Fraction(most + 1)], Fraction(4))


def test_volumes_stay_below_61_bits():
    # Two packs and the volume required end the table at 2⁶¹ - 1 and at 2⁶¹; volumes of two tables are added in 63 bits.
    sizes, prices = [Fraction(2**59), Fraction(2**59 + 1)], [Fraction(1), Fraction(1)]
    assert sum(covering.Covering(sizes, prices, Fraction(2**60 - 3)).solve()) == 2
    with pytest.raises(RangeError, match="too finely divided"):
        covering.Covering(sizes, prices, Fraction(2**60 - 2))


@pytest.mark.parametrize(
    ("shelf", "required", "room", "kept"),
    [
        # 4 L at 10 a litre; 8 L cost 80, and the least that more could cost is another 20: so 20 above the best rate is all there is.
        ([(4, 40), (1, 20), (5, 70)], 8, 20, [0, 1, 2]),
        ([(4, 40), (1, 20), (5, 71)], 8, 20, [0, 1]),
        # 6 L cost 80 by two cans, 20 above the rate, and 20 for more: no detour is too long, but two cans hold what the third pack does
        ([(4, 40), (1, 20), (5, 80)], 6, 40, [0, 1, 2]),
        ([(4, 40), (1, 20), (5, 81)], 6, 40, [0, 1]),
        # 7 L: one can and three bottles for 73, which is 3 above the rate, and 11 for more; the same pack twice counts once
        ([(4, 40), (1, 11), (1, 11)], 7, 14, [0, 1]),
        # 9.5 L are reached as 10 by any set of these: one can, at the rate, and 30 for more
        ([(10, 100), (3, 50), (2, 30)], Fraction("9.5"), 30, [0, 1, 2]),
    ],
)
def test_packs_that_no_best_set_can_hold_are_left_out_by_hand(shelf, required, room, kept):
    shelf = [(Fraction(size), Fraction(price)) for size, price in shelf]
    found = covering.Covering([s for s, _ in shelf], [p for _, p in shelf], Fraction(required))
    assert found.rate == 10
    assert found.room == pytest.approx(room, rel=1e-8)
    assert found.kept == kept


@pytest.mark.parametrize(
    ("sizes", "required", "families"),
    [
        # Tables to 20 L. Two apart: 7 cells and 11, and 7 sums to look up, are 25; together, by single litres, 21 cells twice are 42.
        ((3, 2), 14, [([0], 3), ([1], 2)]),
        # Three apart: 7 + 11 + 21 cells, and 7 times 11 sums, are 116; together 21 cells three times are 63.
        ((3, 2, 1), 14, [([0, 1, 2], 1)]),
    ],
)
def test_packs_share_a_table_where_that_is_less_work(monkeypatch, sizes, required, families):
    monkeypatch.setattr(covering, "CELLS", 200)
    prices = [Fraction(10 * size + 1) for size in sizes]
    found = covering.Covering([Fraction(size) for size in sizes], prices, Fraction(required))
    assert found.end == 20
    assert found.families == families


def test_as_many_packs_as_a_table_has_cells(monkeypatch):
    monkeypatch.setattr(covering, "CELLS", 100)
    assert cheapest_packs({"1 L": 3.0}, "97 L").count == 97  # the table ends two packs beyond, at 99
    with pytest.raises(RangeError, match="too small for the need"):
        cheapest_packs({"1 L": 3.0}, "98 L")


def test_millions_of_one_small_pack_take_no_longer_than_a_few():
    bought = cheapest_packs([("20 mL", 46.5)], "72 m^3")
    assert bought.packs == {"20 mL": 3_600_000}
    assert bought.cost == pytest.approx(3_600_000 * 46.5)


def test_many_packs_of_several_sizes_are_counted_in_leaps():
    # the large one is cheaper by the litre, two of the small ones fill the rest
    bought = cheapest_packs({"1 L": 10.0, "20 L": 100.0, "3 L": 29.0}, "2002 L")
    assert bought.packs == {"20 L": 100, "1 L": 2}


@pytest.mark.parametrize("size", ["1000001 L", "1e300 mL"])
def test_a_pack_is_something_that_can_be_carried(size):
    assert cheapest_packs([("1000000 L", 1)], "3 L").count == 1
    with pytest.raises(RangeError, match="packs, 1, size"):
        cheapest_packs([(size, 1)], "3 L")


def test_what_is_bought_comes_in_units():
    bought = cheapest_packs({"1 qt": 5}, "2.5 qt")
    assert (bought.volume.m, str(bought.volume.units)) == (3, "quart")
    assert str(bought.litres.units) == "liter"
    assert bought.litres.m == 3 * Fraction(946352946, 10**9)
    assert bought.litres.m_as("mL") == pytest.approx(3 * 946.352946)


def test_a_gift_is_the_cheapest_pack():
    bought = cheapest_packs({"1 L": 0, "5 L": 46.5}, "1 L")
    assert (bought.packs, bought.cost) == ({"1 L": 1}, 0)


def test_a_price_may_have_forty_characters():
    longest = "9.5" + "0" * 37
    assert cheapest_packs([("1 L", longest)], "1 L", risk=0.05).cost > 0
    with pytest.raises(SumpwiseError, match="price"):
        cheapest_packs([("1 L", longest + "0")], "1 L", risk=0.05)
