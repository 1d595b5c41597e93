"""What to buy, one basket for each fluid: what each part of the need is for, its uncertainty, and the cheapest packs that cover it."""

from __future__ import annotations

from math import erfc, hypot, sqrt
from typing import TYPE_CHECKING, Any, NamedTuple

from sumpwise.buying.packs import Purchase, cheapest_packs
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import inside
from sumpwise.service.facts.fact import Name, Value
from sumpwise.uncertainty import nominal, source, standard

if TYPE_CHECKING:
    from sumpwise.service.case import Case

OWN = ""
"""The fluid of the unit itself."""


class Basket(NamedTuple):
    """What to buy of one fluid.

    Attributes
    ----------
    fluid : str
        Its name, or that of the component it is for; empty for the fluid of the unit itself.
    parts : list of (Value, float)
        What each part is for, and its litres.
    need : float or uncertain number
        Litres in all.
    bought, bare : Purchase or None
        The cheapest packs within the accepted risk; the cheapest that would do on average, if those are cheaper. None without packs.
    bare_short : float
        Chance that the latter run short.
    """

    fluid: str
    parts: list[tuple[Value, float]]
    need: Any
    bought: Purchase | None
    bare: Purchase | None
    bare_short: float


def baskets(case: Case) -> list[Basket]:
    """One basket for each fluid, that of the unit first; fluids are never mixed."""
    method, packs = case.method, shelves(case)
    needs: dict[str, list[tuple[Value, float]]] = {OWN: [*method.bought(case)]}
    for component, fluid in _filled(case):
        needs.setdefault(fluid, []).append((Name(component["name"]), nominal(component["volume"])))
    return [
        _basket(case, fluid, parts, method.spread(case) if fluid == OWN else 0.0, packs.get(fluid, [])) for fluid, parts in needs.items()
    ]


def shelves(case: Case) -> dict[str, list[tuple[Any, float, str]]]:
    """Volume, price and name of the packs, by fluid."""
    fluids, own = {component["name"]: fluid for component, fluid in _filled(case)}, case.job.text("fluid", "name")
    packs: dict[str, list[tuple[Any, float, str]]] = {}
    for entry in case.job.entries("pack"):
        meant = entry.get("for", OWN)
        fluid = fluids.get(meant, OWN if meant == own else meant)
        packs.setdefault(fluid, []).append((inside(nominal(entry["volume"]), "volume"), entry["price"], entry["name"]))
    return packs


def _filled(case: Case) -> list[tuple[dict[str, Any], str]]:
    """Each component with what it is filled with: the fluid it names, its own if there are packs for it, else that of the unit."""
    own, named = case.job.text("fluid", "name"), {pack.get("for") for pack in case.job.entries("pack")}

    def fluid(component: dict[str, Any]) -> str:
        if "fluid" in component:
            return OWN if component["fluid"] == own else str(component["fluid"])
        return str(component["name"]) if component["name"] in named else OWN

    return [(component, fluid(component)) for component in case.job.entries("component")]


def _basket(
    case: Case, fluid: str, parts: list[tuple[Value, float]], spread: float, shelf: list[tuple[Any, float, str]]
) -> Basket:
    total = sum(volume for _, volume in parts)
    doubt = case.ask("shopping", "need_uncertainty", base=total)
    if not case.has("shopping", "need_uncertainty"):
        doubt = hypot(nominal(doubt), spread)
    elif fluid != OWN:
        doubt = 0.0
    need = source(total, nominal(doubt), name="need") if nominal(doubt) else total
    if not shelf:
        return Basket(fluid, parts, need, None, None, 0.0)
    bought = cheapest_packs(shelf, inside(need, "volume"), risk=case.ask("shopping", "risk"), currency=case.currency)
    bare = cheapest_packs(shelf, inside(total, "volume"))
    short = erfc((nominal(number_in(bare.volume, "L")) - total) / standard(need) / sqrt(2)) / 2 if standard(need) else 0.0
    return Basket(fluid, parts, need, bought, bare if bare.cost < bought.cost else None, short)
