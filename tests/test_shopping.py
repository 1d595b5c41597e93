"""What is bought: one basket a fluid, and fluids never mix."""

from __future__ import annotations

import pytest

from sumpwise import Job, SumpwiseError, plan
from sumpwise.service.case import Case
from sumpwise.uncertainty import nominal, standard

CAN, BOTTLE = {"name": "can", "volume": "5 L", "price": 46.5}, {"name": "bottle", "volume": "1 L", "price": 9.9}
GEAR = {"name": "gear oil", "volume": "0.5 L", "price": 7.0}


def demo(component, pack):
    return Job.demo().with_(component=component, pack=pack)


def test_a_component_of_the_same_fluid_is_in_the_same_basket():
    (only,) = Case(Job.demo()).baskets
    assert nominal(only.need) == pytest.approx(12.37)
    assert standard(only.need) == pytest.approx(0.45)


@pytest.mark.parametrize(
    ("component", "meant", "called"),
    [
        ({"name": "axle", "volume": "0.9 L", "fluid": "GL-5"}, "GL-5", "GL-5"),
        ({"name": "axle", "volume": "0.9 L", "fluid": "GL-5"}, "axle", "GL-5"),
        ({"name": "axle", "volume": "0.9 L"}, "axle", "axle"),
    ],
)
def test_another_fluid_has_its_own_basket_and_packs(component, meant, called):
    job = demo([component], [CAN, BOTTLE, GEAR | {"for": meant}])
    own, other = Case(job).baskets
    assert nominal(own.need) == pytest.approx(11.45)
    assert "gear oil" not in own.bought.packs
    assert other.fluid == called
    assert nominal(other.need) == pytest.approx(0.9)
    assert other.bought.packs == {"gear oil": 2}
    section = plan(job).section("buy")
    assert section.data["others"][0]["packs"] == {"gear oil": 2}
    assert "gear oil" not in section.data["packs"]
    assert f"**{called}**, a different fluid" in " ".join(section.lines)


def test_a_fluid_without_packs_is_said_and_never_poured_from_the_others():
    job = demo([{"name": "axle", "volume": "0.9 L", "fluid": "GL-5"}], [CAN, BOTTLE])
    _, other = Case(job).baskets
    assert other.bought is None
    assert "no packs of it" in " ".join(plan(job).section("buy").lines)


def test_the_cheapest_litre_is_of_the_own_fluid():
    cheap = GEAR | {"price": 0.5, "for": "axle"}
    job = demo([{"name": "axle", "volume": "0.9 L"}], [CAN, BOTTLE, cheap])
    assert Case(job).cost_per_litre == pytest.approx(9.3)


def test_a_pack_that_is_said_to_be_for_the_unit_is_its_own():
    (only,) = Case(demo([], [CAN, BOTTLE | {"for": "the fluid the maker specifies"}])).baskets
    assert set(only.bought.packs) == {"can", "bottle"}


def test_a_pack_for_nothing_known_is_refused():
    with pytest.raises(SumpwiseError, match="is neither a component nor a fluid") as caught:
        demo([{"name": "axle", "volume": "0.9 L"}], [CAN | {"for": "axel"}])
    assert caught.value.pointer == "/pack/0/for"
