"""The job in five lines: what to buy, do, set, pour and check."""

from __future__ import annotations

from dataclasses import replace

from sumpwise.fluid.density import volume_at
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import inside
from sumpwise.service.agreement import Agreement
from sumpwise.service.case import Case
from sumpwise.service.dates import after
from sumpwise.service.facts.buy import named_packs
from sumpwise.service.facts.fact import REFERENCE, Amount, Count, Fact, Name, Part, Series, Share, Value, Word, Written, item
from sumpwise.service.facts.phrases import named, wished
from sumpwise.service.facts.torque import settings
from sumpwise.service.methods.method import at_least
from sumpwise.service.standing import Standing
from sumpwise.uncertainty import nominal, standard

SURE = 2.0
"""If no pack is listed, have this many standard uncertainties more than the need at hand."""
TENTH = 0.1


def summing_up(case: Case, coming: Part) -> Part:
    """Five lines in the order of the work; what is poured is what comes next."""
    here = _begun(case)
    pour = _pour(case) if coming.data["action"] == "begin" else _pour_next(coming)
    return Part("summary", [_buy(case, here), _do(case, here), _set(case), pour, _check(case)])


def looking_back(case: Case) -> Part:
    """The same for finished work: what was done, the result, and when the next service is due."""
    assert isinstance(case.agreement, Agreement)
    here = Standing(case, case.agreement)
    poured, drained = (Amount("volume", nominal(litres), main=True) for litres in (here.poured, here.drained))
    says: dict[str, Value] = {"what": _did(case)}
    if here.fresh is not None:
        says |= {"fresh": Share(here.fresh), "aim": _missed(case, here)}
    off = Amount("volume", here.off, signed=True, main=True)
    return Part("summary", [
        item("summary.moved", poured=poured, drained=drained), item("summary.done_fresh" if "fresh" in says else "summary.done", **says),
        item("summary.set_done"), item("summary.level", off=off) if here.known else item("summary.level_checked"),
        item("summary.look", due=_due(case)),
    ])  # fmt: skip


def _did(case: Case) -> Series:
    """The drains and bursts of the log."""
    counts = {"drains_done": case.drains_done, "bursts_done": case.bursts_done}
    return Series(tuple(Word(f"summary.{what}", {"count": Count(count)}) for what, count in counts.items() if count), "join.and")


def _missed(case: Case, here: Standing) -> Word:
    """Whether the target that the job asks for was not met, or not surely enough, and what more would help if the vials say so."""
    if not case.has("target", "fresh"):
        return Word("none")
    sure = here.told.probability if here.told else at_least(here.fresh, case.target)
    if sure >= case.probability:
        return Word("none")
    says = wished(case.target, sure, case.probability)
    if here.told is None or here.told.litres_needed is None:
        return Word("summary.missed", says)
    return Word("summary.missed_by", says | {"more": Amount("volume", here.told.litres_needed, step=TENTH)})


def _begun(case: Case) -> Standing | None:
    """Where the work stands, once fluid has come out or gone in and the log can be followed."""
    found = case.agreement
    if not isinstance(found, Agreement) or found.conflict:
        return None
    here = Standing(case, found)
    return here if case.drains_done or case.bursts_done else None


def _due(case: Case) -> Word:
    """When the next service is due, if the job says so; else that it is not known."""
    job, when = case.job, []
    if job.has("vehicle", "interval_time"):
        day = job.value("vehicle", "date")
        said: dict[str, Value] = {"time": Written(job.text("vehicle", "interval_time"), "time")}
        when.append(
            Word("summary.due_time", said) if day is None
            else Word("summary.due_date", {"date": Name(after(day, case.interval).isoformat())})
        )  # fmt: skip
    if job.has("vehicle", "interval_distance", "distance"):
        far = nominal(job.value("vehicle", "distance")) + nominal(job.value("vehicle", "interval_distance"))
        when.append(Word("summary.due_distance", {"distance": Amount("distance", far)}))
    if not when:
        return Word("summary.due_unknown")
    return Word("summary.due_first" if len(when) > 1 else "summary.due", {"when": Series(tuple(when), "join.or")})


def _buy(case: Case, here: Standing | None) -> Fact:
    """The packs of each fluid; without packs, how much to have at hand."""
    bought: list[Value] = []
    for basket in case.baskets:
        if not nominal(basket.need):
            continue
        if basket.bought is not None:
            packs = named_packs(case, basket.bought.packs)
            bought.append(Word("summary.packs_of", {"packs": packs, "fluid": Name(basket.fluid)}) if basket.fluid else packs)
        else:
            litres = Amount("volume", nominal(basket.need) + SURE * standard(basket.need), step=TENTH, main=True)
            name = basket.fluid or case.job.text("fluid", "name")
            fluid = Name(name) if name else Word("summary.own_fluid")
            bought.append(Word("summary.at_hand_of" if basket.fluid else "summary.at_hand", {"volume": litres, "fluid": fluid}))
    if not bought:
        return item("summary.buy_nothing")
    planned = case.comparison[case.method.key]
    wears = "filter" if planned.filters else "washer" if planned.washers else "nothing"
    besides = Word(f"summary.{wears}", {"washers": Count(planned.washers)})
    return item("summary.buy_in_all" if here else "summary.buy", packs=Series(tuple(bought), "join.semicolon"), besides=besides)


def _do(case: Case, here: Standing | None) -> Fact:
    """The method, and its result."""
    planned = case.comparison[case.method.key]
    if not nominal(planned.litres):
        return item("summary.do_nothing", method=named(planned.key))
    if here and here.level and here.fresh is not None and not (here.left or case.method.by_shop):
        return item("summary.do_check", what=_did(case), fresh=Share(here.fresh), aim=_missed(case, here))
    times = Word("summary.times", {"count": Count(planned.count)}) if case.method.several else Word("none")
    so_far = Word("summary.so_far", {"what": _did(case)}) if here else Word("none")
    ahead = None if here is None or case.method.by_shop else here.foreseen
    fresh = planned.fresh if ahead is None else ahead
    return item("summary.do", method=named(planned.key), times=times, so_far=so_far, fresh=Share(fresh))


def _set(case: Case) -> Fact:
    """The setting of the wrench, bolt by bolt."""
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
    """What goes in first, according to the method."""
    poured = case.method.poured(case)
    if poured is None:
        return item("summary.pour_nothing")
    if isinstance(poured, Amount) and not case.labelled:
        read = volume_at(inside(poured.value, "volume"), inside(REFERENCE.value, "temperature"), case.cold, case.density)
        poured = replace(poured, value=number_in(read, "L"))
    how = Word("summary.labelled" if case.labelled else "none")
    said = "summary.pour_stated" if isinstance(poured, Written) else case.check.pour
    return item(said, volume=poured, how=how, temperature=Amount("temperature", number_in(case.cold, "°C")))


def _pour_next(coming: Part) -> Fact:
    """What to pour now, if pouring comes next according to the log."""
    said = [fact.values for fact in coming.facts if "pour" in fact.values]
    return item("summary.pour_now", volume=said[0]["pour"]) if said else item("summary.pour_nothing_now")


def _check(case: Case) -> Fact:
    """How the level is checked, and when."""
    window = case.job.text("level", "window")
    key = f"summary.check {case.check.key}"
    if not window:
        return item(key)
    return item(f"{key}, window", window=Written(window, "temperature"))
