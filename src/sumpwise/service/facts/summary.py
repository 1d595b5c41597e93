"""The job in five lines: what to buy, do, set, pour and check."""

from __future__ import annotations

from sumpwise.mixing.circuit.history import POUR
from sumpwise.quantities.arguments import number_in
from sumpwise.service.case import Case
from sumpwise.service.facts.buy import named_packs
from sumpwise.service.facts.fact import Amount, Count, Fact, Name, Part, Series, Share, Value, Word, Written, expected, item
from sumpwise.service.facts.tables import named
from sumpwise.service.facts.torque import settings
from sumpwise.uncertainty import nominal, standard

SURE = 2.0
"""Standard uncertainties of the need that are at hand where no pack is listed."""
TENTH = 0.1


def summing_up(case: Case) -> Part:
    """Five lines in the order of the work."""
    return Part("summary", [_buy(case), _do(case), _set(case), _pour(case), _check(case)])


def _buy(case: Case) -> Fact:
    """The packs of each fluid; without packs, how much to have at hand."""
    bought: list[Value] = []
    for basket in case.baskets:
        if not nominal(basket.need):
            continue
        if basket.bought is not None:
            bought.append(named_packs(case, basket.bought))
        else:
            litres = Amount("volume", nominal(basket.need) + SURE * standard(basket.need), step=TENTH, main=True)
            of = {"fluid": Name(basket.fluid)} if basket.fluid else {}
            bought.append(Word("summary.at_hand_of" if of else "summary.at_hand", {"volume": litres, **of}))
    if not bought:
        return item("summary.buy_nothing")
    planned = case.comparison[case.method.key]
    wears = "filter" if planned.filters else "washer" if planned.washers else "nothing"
    besides = Word(f"summary.{wears}", {"washers": Count(planned.washers)})
    return item("summary.buy", packs=Series(tuple(bought), "join.semicolon"), besides=besides)


def _do(case: Case) -> Fact:
    """The method, and what it comes to."""
    planned = case.comparison[case.method.key]
    if not nominal(planned.litres):
        return item("summary.do_nothing", method=named(planned.key))
    times = Word("summary.times", {"count": Count(planned.count)}) if case.method.several else Word("none")
    return item("summary.do", method=named(planned.key), times=times, fresh=Share(planned.fresh))


def _set(case: Case) -> Fact:
    """What the wrench is set to, bolt by bolt."""
    if not case.method.planned:
        return item("summary.set_nothing")
    bolts = settings(case)
    if not bolts:
        return item("summary.set_maker")
    listed = [
        Word("summary.bolt" if not isinstance(setting, Word) else "summary.bolt_not", {"bolt": name, "torque": torque, "setting": setting})
        for name, torque, setting in bolts
    ]
    return item("summary.set", bolts=Series(tuple(listed), "join.semicolon"))


def _pour(case: Case) -> Fact:
    """What goes in first, by what the method foresees."""
    for operation in case.method.operations(case):
        if operation.kind == POUR:
            warm = Amount("temperature", number_in(case.cold, "°C"))
            return item(case.check.pour, volume=expected(operation.volume), temperature=warm)
    return item("summary.pour_nothing")


def _check(case: Case) -> Fact:
    """How the level is checked, and when."""
    window = case.job.text("level", "window")
    key = f"summary.check {case.check.key}"
    if not window:
        return item(key)
    return item(f"{key}, window", window=Written(window, "temperature"))
