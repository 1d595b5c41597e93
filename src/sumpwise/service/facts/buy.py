"""What to buy for the planned method, and what a smaller or larger purchase would mean."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sumpwise.buying.packs import Purchase
from sumpwise.quantities.arguments import number_in
from sumpwise.service.case import Case
from sumpwise.service.facts.fact import Amount, Count, Fact, Money, Name, Part, Series, Table, Value, Word, Written, line
from sumpwise.service.facts.phrases import chance
from sumpwise.service.render.figures import plain
from sumpwise.service.shopping import OWN, Basket
from sumpwise.uncertainty import nominal

TENTH = 0.1


def buying(case: Case) -> Part:
    """The packs to buy of each fluid, and what each part of the need is for."""
    own = case.baskets[0]
    begun, others = case.agreement is not None, [{"fluid": b.fluid, **_data(case, b)} for b in case.baskets[1:]]
    part = Part("buy", data=_data(case, own) | {"others": others, "begun": begun}, title={"whole": Word("buy.whole" if begun else "none")})
    rows: list[list[Value]] = []
    for basket in case.baskets:
        part.facts += _bought(case, basket)
        if not nominal(basket.need):
            continue
        rows += [[name, Amount("volume", volume)] for name, volume in basket.parts]
        need = Word("buy.need_of", {"fluid": Name(basket.fluid)}) if basket.fluid else Word("buy.need")
        rows.append([need, Amount("volume", basket.need)])
    part.table = Table(("buy.column.for", "buy.column.amount"), rows) if rows else None
    return part


def _bought(case: Case, basket: Basket) -> list[Fact]:
    """The cheapest packs of one fluid, what would do on average, and the next size up."""
    facts: list[Fact] = []
    own = basket.fluid == OWN
    if not nominal(basket.need):
        return [line("buy.nothing")]
    if not own:
        facts.append(line("buy.other", fluid=Name(basket.fluid)))
    buy, bare = basket.bought, basket.bare
    if buy is None:
        return [*facts, line("buy.no_packs" if own else "buy.no_packs_of")]
    facts.append(line(
        "buy.packs", packs=named_packs(case, buy.packs), volume=_held(buy),
        cost=Money(buy.cost, case.currency), short=chance(buy.probability_short),
        left=Amount("volume", number_in(buy.left_over, "L"), step=TENTH),
    ))  # fmt: skip
    if bare is not None:
        facts.append(line(
            "buy.bare", packs=named_packs(case, bare.packs), volume=_held(bare),
            cost=Money(bare.cost, case.currency), short=chance(basket.bare_short),
        ))  # fmt: skip
    if buy.next_up is not None and buy.cost_per_extra_litre is not None:
        more = nominal(number_in(buy.next_up.volume, "L")) - nominal(number_in(buy.volume, "L"))
        facts.append(line(
            "buy.next", packs=named_packs(case, buy.next_up.packs), volume=_held(buy.next_up), more=Amount("volume", more, step=TENTH),
            price=Money(buy.next_up.cost - buy.cost, case.currency),
        ))  # fmt: skip
    return facts


def _data(case: Case, basket: Basket) -> dict[str, Any]:
    """The numbers of one basket."""
    parts = [{"name": _key(name), "litres": volume} for name, volume in basket.parts]
    data: dict[str, Any] = {"need": plain(basket.need, "L"), "parts": parts}
    buy = basket.bought
    if buy is None:
        return data
    return data | {
        "packs": buy.packs, "cost": buy.cost, "currency": case.currency, "volume": plain(nominal(number_in(buy.volume, "L")), "L"),
        "probability_short": buy.probability_short, "left_over": plain(number_in(buy.left_over, "L"), "L"),
    }  # fmt: skip


def _key(name: Value) -> str:
    return name.text if isinstance(name, Name) else name.id if isinstance(name, Word) else ""


def named_packs(case: Case, packs: Mapping[str, int]) -> Value:
    """How many of which pack; one without a name is named by its size."""
    counted = packs.items()
    return Series(tuple(Word("buy.pack", {"count": Count(count), "name": pack_named(case, name)}) for name, count in counted), "join.plus")


def pack_named(case: Case, name: str) -> Value:
    """Name of a pack; one without a name of its own is named by its size, in the reader's units."""
    return Written(name, "volume") if name in case.sized else Name(name)


def _held(purchase: Purchase) -> Amount:
    return Amount("volume", nominal(number_in(purchase.volume, "L")), step=TENTH)
