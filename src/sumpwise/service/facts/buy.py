"""What to buy for the planned method, and what a smaller or larger purchase would mean."""

from __future__ import annotations

from math import erfc, hypot, sqrt
from typing import Any

from sumpwise.buying.packs import Purchase, cheapest_packs
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import answer
from sumpwise.service.case import Case
from sumpwise.service.facts.fact import Amount, Count, Money, Name, Part, Series, Table, Value, Word, line
from sumpwise.service.facts.tables import chance
from sumpwise.service.figures import plain
from sumpwise.uncertainty import nominal, source, standard

TENTH = 0.1


def buying(case: Case) -> Part:
    """The packs to buy, and what each part of the need is for."""
    parts: list[tuple[Value, float]] = [*case.method.parts(case)]
    parts += [(Name(component["name"]), nominal(component["volume"])) for component in case.job.entries("component")]
    need = sum(volume for _, volume in parts)
    doubt = nominal(case.ask("shopping", "need_uncertainty", base=need))
    if not case.has("shopping", "need_uncertainty"):
        doubt = hypot(doubt, standard(case.method.volume(case)))
    uncertain = source(need, doubt, name="need") if doubt else need
    part = Part("buy", data={"need": plain(uncertain, "L"), "parts": [{"name": _key(name), "litres": volume} for name, volume in parts]})
    rows: list[list[Value]] = [[name, Amount("volume", volume)] for name, volume in parts]
    part.table = Table(("buy.column.for", "buy.column.amount"), [*rows, [Word("buy.need"), Amount("volume", uncertain)]])
    shelf = [
        (answer(nominal(entry["volume"]), "volume"), entry["price"], entry.get("name") or written["volume"])
        for entry, written in zip(case.job.entries("pack"), case.job.written("pack"), strict=True)
    ]
    if not shelf:
        part.facts.append(line("buy.no_packs"))
        return part
    buy = cheapest_packs(shelf, answer(uncertain, "volume"), risk=case.ask("shopping", "risk"), currency=case.currency)
    part.facts.append(line(
        "buy.packs", packs=_packs(buy), volume=_held(buy), cost=Money(buy.cost, case.currency), short=chance(buy.probability_short),
        left=Amount("volume", number_in(buy.left_over, "L"), step=TENTH),
    ))  # fmt: skip
    bare = cheapest_packs(shelf, answer(need, "volume"))
    if bare.cost < buy.cost:
        short = erfc((nominal(number_in(bare.volume, "L")) - need) / doubt / sqrt(2)) / 2 if doubt else 0.0
        part.facts.append(line(
            "buy.bare", packs=_packs(bare), volume=_held(bare), cost=Money(bare.cost, case.currency), short=chance(short),
        ))  # fmt: skip
    if buy.next_up is not None and buy.price_per_extra_litre is not None:
        more = nominal(number_in(buy.next_up.volume, "L")) - nominal(number_in(buy.volume, "L"))
        part.facts.append(line(
            "buy.next", packs=_packs(buy.next_up), volume=_held(buy.next_up), more=Amount("volume", more, step=TENTH),
            price=Money(buy.next_up.cost - buy.cost, case.currency),
        ))  # fmt: skip
    part.data |= {
        "packs": buy.packs, "cost": buy.cost, "currency": case.currency, "volume": plain(nominal(number_in(buy.volume, "L")), "L"),
        "probability_short": buy.probability_short, "left_over": plain(number_in(buy.left_over, "L"), "L"),
    }  # fmt: skip
    return part


def _key(name: Value) -> str:
    return name.text if isinstance(name, Name) else name.id if isinstance(name, Word) else ""


def _packs(purchase: Purchase) -> Value:
    packs: Any = purchase.packs.items()
    return Series(tuple(Word("buy.pack", {"count": Count(count), "name": Name(name)}) for name, count in packs), "join.plus")


def _held(purchase: Purchase) -> Amount:
    return Amount("volume", nominal(number_in(purchase.volume, "L")), step=TENTH)
