"""Best use of the litres in hand: what is searched, what is said, what is refused."""

from itertools import pairwise

import pint
import pytest

from shared import wagon
from sumpwise import uncertainty
from sumpwise.errors import RangeError, SumpwiseError
from sumpwise.mixing.best_order import BURST, DRAIN, DRIVE, Plan, _Search, best_use

APP = pint.get_application_registry()


def names(plan):
    return [name for name, _ in plan.moves]


def test_drain_first_then_burst():
    """A drain takes out most while the fluid is oldest; bursts then push fresh fluid through the rest."""
    use = best_use(wagon(), "8.24 L", drain="3.24 L", burst="1.25 L", drains=1, drives=0)
    assert names(use.best) == [DRAIN, *[BURST] * 4]
    assert use.best.litres.m_as("L") == pytest.approx(8.24)
    assert use.worst_resident < use.resident == pytest.approx(use.by_kind["both"], abs=1e-12)
    assert use.by_kind["bursts only"] == pytest.approx(best_use(wagon(), "8.24 L", burst="1.25 L", drives=0).resident, abs=1e-12)
    assert len(use.further) == 3
    assert set(use.by_kind) == {"both", "bursts only"}


def test_a_drive_between_drains_pays():
    without, with_drives = (best_use(wagon(), "9.72 L", drain="3.24 L", drains=3, drives=drives) for drives in (0, 2))
    assert names(with_drives.best) == [DRAIN, DRIVE, DRAIN, DRIVE, DRAIN]
    once = "drain and refill 3.24 liter"
    assert str(with_drives.best) == f"{once}, drive, {once}, drive, {once}"
    assert str(without.best) == f"3 × {once}"
    assert with_drives.resident == pytest.approx(1 - (1 - 3.24 / 8.85) ** 3, abs=1e-12)
    assert without.resident < with_drives.resident


def test_fewest_moves_among_equals():
    """In a fully mixed fill a drive at the start changes nothing, and is left out."""
    use = best_use(wagon(), "3.24 L", drain="3.24 L", drives=1)
    assert names(use.best) == [DRAIN]
    assert use.plans == 2


def test_every_order_of_the_moves_is_a_plan():
    """One drain among n bursts stands in n + 1 places; a drive goes before any move but never last."""
    assert best_use(wagon(), "5.74 L", drain="3.24 L", burst="1.25 L", drains=1, bursts=2, drives=0, portions=0).plans == 3
    use = best_use(wagon(), "5.74 L", drain="3.24 L", burst="1.25 L", drains=1, bursts=2, drives=1, portions=0)
    assert use.plans == 3 + 3 * 3
    words = ("12 plans for 5.74 L", "at most 1 of 3.24 L (drain and refill)", "at most 2 of 1.25 L (burst)", "1 drive between", "order")
    assert [one for one in words if one not in use.searched] == []
    for drives, said in ((0, "0 drives between"), (1, "1 drive between"), (2, "2 drives between")):
        assert said in best_use(wagon(), "1 L", burst="1 L", drives=drives, portions=0).searched


def test_less_than_a_point_has_its_price_too():
    ((_, gain, each),) = best_use(wagon(), "6 L", burst="1.25 L", drives=0, portion="0.1 L", portions=1, cost_per_litre=10).further
    assert 0 < gain < 1
    assert each == pytest.approx(10 * 0.1 / gain)


def test_a_plan_in_words():
    moves = ((DRAIN, APP.Quantity(3.24, "L")), (DRIVE, None), *[(BURST, APP.Quantity(1.25, "L"))] * 3, (BURST, APP.Quantity(0.5, "L")))
    plan = Plan(moves, wagon(), APP.Quantity(7.49, "L"))
    assert repr(plan) == "<Plan: drain and refill 3.24 liter, drive, 3 × burst 1.25 liter, burst 0.50 liter>"


@pytest.mark.parametrize("litres", [2.0, 3.24, 5.74, 8.0])
@pytest.mark.parametrize("at_most", [(1, 20, 0), (2, 3, 1), (3, 20, 2), (0, 4, 3), (2, 0, 2)])
def test_plans_are_counted_before_they_are_run(litres, at_most):
    """The count of plans, made beforehand, is right; they are all different, and no drive comes last or follows a drive."""
    search = _Search(wagon(), 3.24, 1.25, at_most, 0.0)
    plans = [tuple(name for name, _ in moves) for _, moves in search.run(litres)]
    assert search._count(litres) == len(plans) == len(set(plans))
    for plan in plans:
        assert plan[-1] != DRIVE
        assert (DRIVE, DRIVE) not in list(pairwise(plan))
        assert all(plan.count(name) <= most for name, most in zip((DRAIN, BURST, DRIVE), at_most, strict=True))


def test_the_last_move_takes_what_is_left():
    use = best_use(wagon(), "3 L", burst="1.25 L", drives=0)
    assert [volume.m_as("L") for _, volume in use.best.moves] == pytest.approx([1.25, 1.25, 0.5])


def test_litres_that_the_job_does_not_allow_are_not_used():
    use = best_use(wagon(), "20 L", drain="3.24 L", drains=1, drives=0)
    assert use.best.litres.m_as("L") == 3.24
    assert [gain for _, gain, _ in use.further] == [0, 0, 0]
    assert best_use(wagon(), "20 L", drain="3.24 L", drains=1, drives=0, cost_per_litre=9.0).further[0][2] is None


def test_what_each_further_portion_buys():
    use = best_use(wagon(), "6 L", burst="1.25 L", drives=0, portion="1.25 L", portions=3, cost_per_litre=10)
    assert [plan.litres.m_as("L") for plan, _, _ in use.further] == pytest.approx([7.25, 8.5, 9.75])
    before = use.resident
    for plan, points, cost in use.further:
        assert points == pytest.approx(100 * (plan.resident - before), abs=1e-9)
        assert cost == pytest.approx(12.5 / points)
        before = plan.resident
    gains = [points for _, points, _ in use.further]
    assert gains == sorted(gains, reverse=True)


def test_a_portion_that_removes_most_of_the_old():
    use = best_use(wagon(), "1.25 L", burst="1.25 L", drives=0, portion="20 L", portions=1)
    ((plan, points, cost),) = use.further
    assert 1 - plan.resident < (1 - use.resident) / 2
    assert points == pytest.approx(100 * (plan.resident - use.resident), abs=1e-9)
    assert cost is None


def test_volumes_come_back_in_the_unit_and_registry_that_asked():
    registry = pint.UnitRegistry()
    use = best_use(wagon(), registry.Quantity(6.0, "quart"), burst="1 qt", drives=0)
    assert use.best.litres._REGISTRY is registry
    assert str(use.best.moves[0][1].units) == "quart"
    assert use.best.moves[0][1].magnitude == pytest.approx(1)
    assert str(use.best) == "6 × burst 1.00 quart"


def test_the_best_plan_carries_the_uncertainty_of_the_circuit():
    use = best_use(wagon(bypass=uncertainty.source(0.35, 0.05)), "5 L", burst="1.25 L", drives=0)
    certain = best_use(wagon(), "5 L", burst="1.25 L", drives=0)
    assert uncertainty.standard(use.resident) > 0
    assert uncertainty.nominal(use.resident) == pytest.approx(certain.resident, abs=1e-14)


def test_pouring_meanwhile_spares_the_floor():
    with pytest.raises(RangeError, match="draws air"):
        best_use(wagon(), "5 L", burst="2.5 L", drives=0)
    use = best_use(wagon(), "5 L", burst="2.5 L", drives=0, meanwhile=0.5)
    assert "50 % of a burst poured in while the pump runs" in use.searched
    assert "100 % of a burst" in best_use(wagon(), "5 L", burst="2.5 L", drives=0, meanwhile=1).searched


def test_a_burst_that_cannot_be_is_refused_though_the_best_plan_has_none():
    assert names(best_use(wagon(), "3.24 L", drain="3.24 L", burst="2.3 L", drives=0, portions=0).best) == [DRAIN]
    with pytest.raises(RangeError, match="draws air"):  # 3.9 L less 2.31 L is below the floor of 1.6 L
        best_use(wagon(), "3.24 L", drain="3.24 L", burst="2.31 L", drives=0, portions=0)


@pytest.mark.parametrize(
    ("refused", "says"),
    [
        (lambda: best_use(wagon(), "5 L"), "neither drains nor bursts"),
        (lambda: best_use(wagon(), "5 L", drain="3 L", drains=0), "neither drains nor bursts"),
        (lambda: best_use(wagon(), "5 L", drain="4 L"), "more than the sump holds"),
        (lambda: best_use(wagon(), "0 L", drain="3 L"), "volume"),
        (lambda: best_use(wagon(), 5, drain="3 L"), "no unit"),
        (lambda: best_use(wagon(), "5 L", drain="3 L", meanwhile=2), "meanwhile"),
        (lambda: best_use(wagon(), "5 L", drain="3 L", drives=-1), "drives"),
        (lambda: best_use(wagon(), "5 L", drain="3 L", drives=101), "at most 100"),
        (lambda: best_use(wagon(), "20 L", drain="1 L", burst="0.5 L", drains=10, bursts=40, drives=3), "fewer drains or drives"),
        (lambda: best_use(wagon(), "20 L", drain="1 L", burst="0.5 L", drains=10, bursts=40, drives=3), "accepted: at most 50000 ("),
        (lambda: best_use(wagon(), "5 L", drain="0 L"), "drain: read"),
        (lambda: best_use(wagon(), "5 L", burst="-0.5 L"), "burst: read"),
        (lambda: best_use(wagon(), "5 L", drain="3 L", portion="0 L"), "portion: read"),
        (lambda: best_use(wagon(), "5 L", drain="3 L", cost_per_litre=[9, 10]), "not an array"),
        (lambda: best_use(wagon(sump=["3.9 L", "3 L"]), "5 L", drain="3 L"), "not an array"),
        (lambda: best_use("wagon", "5 L", drain="3 L"), "one Circuit"),
        (lambda: best_use(wagon(), ["5 L", "6 L"], drain="3 L"), "not an array"),
        (lambda: best_use(wagon(), "5 L", drain=["3 L", "2 L"]), "not an array"),
        (lambda: best_use(wagon(), "5 L", drain="3 L", drives=[1, 2]), "drives: read [1, 2]: takes one value"),
        (lambda: best_use(wagon(), "5 L", burst="1 L", meanwhile=[0, 0.5]), "meanwhile: read [0, 0.5]: takes one value"),
    ],
)
def test_refusals_say_what_is_wrong(refused, says):
    with pytest.raises(SumpwiseError) as error:
        refused()
    assert says in str(error.value)


def test_a_sump_below_its_floor_cannot_be_driven():
    with pytest.raises(RangeError, match="draws air"):
        best_use(wagon().drain("3 L"), "1 L", drain="0.5 L", drives=1)
    assert best_use(wagon().drain("3 L"), "1 L", drain="0.5 L", drives=0).best.moves
