"""Where the work is and what comes next, from the log alone: for someone in the middle of it."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt
from typing import Any

from sumpwise.errors import CountLostError, SumpwiseError
from sumpwise.quantities.arguments import number_in
from sumpwise.service.agreement import Agreement, pan_meant
from sumpwise.service.case import Case
from sumpwise.service.divisions import CLOSE, division
from sumpwise.service.facts.buy import named_packs, pack_named
from sumpwise.service.facts.causes import measured
from sumpwise.service.facts.fact import (
    CAUTION,
    REFERENCE,
    STOP,
    Amount,
    Count,
    Fact,
    Name,
    Part,
    Series,
    Share,
    Value,
    Word,
    Written,
    expected,
    item,
    line,
    lower_by,
)
from sumpwise.service.facts.outlet import aimed, unpumped
from sumpwise.service.facts.phrases import entry_said, wished
from sumpwise.service.facts.refusals import refused
from sumpwise.service.facts.steps import timings
from sumpwise.service.kinds import FILL_HOLE, OVERFLOW, SEALED, STICK
from sumpwise.service.logged import too_hot
from sumpwise.service.measures import measures, still
from sumpwise.service.methods.bursts import Bursts
from sumpwise.service.methods.method import MOST, at_least, closing, pail, torque
from sumpwise.service.movements import LEAK_WORDS, may_be_bursts, may_be_pan, names_pan, says
from sumpwise.service.render.figures import plain
from sumpwise.service.standing import LEAST, LOST, SAFE, Standing
from sumpwise.service.suspects import suspects
from sumpwise.service.weights import kilograms_of
from sumpwise.uncertainty import combine, nominal, standard

TENTH = 0.1
NEARLY = 0.02
"""How much less than a whole pack, as a share of it, still counts as one."""
MUCH_KEPT = 0.1
"""A pour that falls short of what is missing by more than this many litres is explained."""
APART = 2.0
"""Two readings of the stick that differ by more than this many standard uncertainties of their difference ask for a third."""
MOST_STEPS = 3
"""At most this part of the volume between the marks is added at a time."""
HELPS = 0.9
"""A measurement that leaves more than this share of the uncertainty is not worth the trouble."""
UNSURE = 2.0
"""A level is not called right if its standard uncertainty is more than so many times the distance from the target to a mark."""
ORDINARY = 0.15
"""Litres, one standard uncertainty: what the count may be uncertain by before bursts are shortened for it; a level that nobody has read is
as uncertain."""
FULL = 0.97
"""From this share of what a vessel holds, it is full."""
LESS_SURE = 0.05
"""By so much less than asked must the target be probable before the sheet says that the bursts planned are too few."""
WORTH = 0.5
"""If the count is so poor that a burst may last less than this share of what the level as counted allows, the level is read first."""
MOST_WAYS = 2
"""How many such measurements are named."""
DRIVEN = {FILL_HOLE: "next.done_hole", OVERFLOW: "next.done_plug"}
"""Way of checking a level that is done before the vehicle is driven -> what is said once it has been driven."""


def standing(case: Case) -> Part:
    """So far: what came out and went in, what is missing, how fresh it is, and what must not be done yet."""
    found = case.agreement
    if not isinstance(found, Agreement):
        read = any(entry["event"] == "stick" for entry in case.job.entries("log"))
        key = "now.lost" if found is not None else "now.read" if read else "now.nothing"
        return Part("now", [line(key)], data={"engine": None})
    here = Standing(case, found)
    part = Part("now", [_done(here), *_taken_as_plug(case, found)])
    part.data = {
        "drained": plain(here.drained, "L"), "poured": plain(here.poured, "L"), "fresh": None, "off_target": None,
        "engine": not (here.below_pump or here.plug_out or (here.too_full and case.kind.pumped) or case.halted),
    }
    if not found.conflict:
        part.data["off_target"] = plain(here.off, "L")
        part.facts.append(_level(here))
        if here.fresh is not None:
            part.data["fresh"] = plain(here.fresh, "1")
            part.facts.append(line("now.fresh_seen" if here.told else "now.fresh", fresh=Share(here.fresh)))
        elif here.unfollowed is not None and not here.helped:
            part.facts.append(line("now.fresh_unknown", reason=here.unfollowed))
    if case.halted:
        part.facts.append(line("now.halted", CAUTION))
    elif here.below_pump:
        part.facts.append(line("now.engine", CAUTION, below=lower_by(here.below_pump)))
    elif here.too_full and case.kind.pumped:
        part.facts.append(line("now.full", CAUTION))
    elif found.conflict:
        part.facts.append(line("now.disputed", CAUTION))
    elif here.missing > ((here.band or 0.0) if here.known else 0.0) and here.pours and not (here.checked or _by_stick(here)):
        part.facts.append(line("now.drive", CAUTION))
    return part


def _taken_as_plug(case: Case, found: Agreement) -> list[Fact]:
    """What is taken as the plug's, but may be from pan and filter, if they are to come off and nothing else is theirs, or from the pump."""
    bursts, log = isinstance(case.method, Bursts), case.job.written("log")
    pan = [] if any(move.event == "drained" for move in case.from_pan) else may_be_pan(found.moves, found.opened[0])
    doubtful = {"now.taken_as_plug": pan if bursts or pan_meant(case) else [], "now.no_burst": may_be_bursts(found.moves) if bursts else []}
    return [
        line(key, CAUTION, (move.number,), entry=Count(move.number), said=entry_said(log[move.number - 1]))
        for key, moves in doubtful.items()
        for move in moves
    ]


def _done(here: Standing) -> Fact:
    """What came out and what went in."""
    if not nominal(here.poured):
        return line("now.out", out=_litres(here.drained), reference=REFERENCE)
    return line("now.done", out=_litres(here.drained), in_=_litres(here.poured), reference=REFERENCE)


def _litres(value: object) -> Amount:
    return Amount("volume", nominal(value), main=True)


def _level(here: Standing) -> Fact:
    """What is missing or too much, relative to the target or to where the level was before."""
    off = Amount("volume", here.off, signed=True, main=True)
    if _by_stick(here):
        return line("now.stick", off=off)
    if here.checked:
        return line("now.checked", off=off)
    if here.by_the_book:
        return line("now.by_the_book", off=off)
    unread = {} if here.known else {"why": _unread(here)}
    if here.level and standard(here.off) > UNSURE * (here.band or LOST):
        return line("now.unsure" if here.known else "now.unsure_start", off=off, **unread)
    if here.level and not here.known:
        return line("now.even", off=off, **unread)
    if here.level and (here.band is None or abs(here.missing) <= here.band):
        return line("now.near" if abs(here.missing) > max(LEAST, standard(here.off)) else "now.right", off=off)
    key = ("now.lacks" if here.missing > 0 else "now.over") + ("" if here.known else "_start")
    return line(key, amount=Amount("volume", -here.off if here.missing > 0 else here.off, main=True), **unread)


def _unread(here: Standing) -> Word:
    """Why it is not known where the level was before the work: it was not read, or the job does not say what a reading means."""
    if here.case.check.key != STICK:
        return Word("now.no_check")
    return Word("now.no_stick" if any(move.event == "stick" for move in here.moves) else "now.no_reading")


def _by_stick(here: Standing) -> bool:
    """Whether the stick, read last, calls for something else than all estimates together do: then it decides."""
    together = "leave" if here.level else "add" if here.missing > 0 else "take out"
    return here.judged is not None and here.judged.instruction != together


def upcoming(case: Case) -> Part:
    """The one thing to do next, in the units of what is in hand."""
    facts, data = _next(case)
    return Part("next", facts, data=data)


def _next(case: Case) -> tuple[list[Fact], dict[str, object]]:
    found = case.agreement
    if case.halted:
        return [line("next.stopped", STOP), _resumed(case)], {"action": "stop"}
    if isinstance(found, SumpwiseError):
        entry = int(found.argument.rpartition(" ")[2])
        mend = line("next.mend", STOP, (entry,), entry=Count(entry), reason=refused(found, placed=True))
        machine = [line("next.machine")] if found.code == "ledger.too_much_drained" and "machine" in case.method.key else []
        return [mend, *machine, line("next.mend_guess")], {"action": "mend the log"}
    if found is None:
        begun = any(entry["event"] == "stick" for entry in case.job.entries("log"))
        apart = _apart(case, [entry for entry in case.job.entries("log") if entry["event"] == "stick" and case.in_window(entry)])
        if apart is not None:
            return [apart], {"action": "read the stick"}
        first = case.method.work(case)[:1]
        return _said([*([] if begun else case.method.before(case)), *first]), {"action": "begin"}
    here = Standing(case, found)
    if found.conflict:
        if here.below_pump or here.too_full:
            named = Word("next.named" if suspects(case, found) else "none")
            may = Word("next.may_starve" if here.below_pump else "next.may_foam")
            return [line("next.find_entry", STOP, named=named, may=may), *_instead(case, "next.way_anew")], {"action": "mend the log"}
        return [line("next.read_again", STOP)], {"action": "read the stick"}
    if here.rested:
        return _judged(case, here)
    if here.by_the_book:
        return _said(case.check.after(case, 1, closing(case))), {"action": "read the level"}
    if here.of_the_book is not None and here.of_the_book > 0:
        return _book(case, here, here.of_the_book)
    facts, data = (None if here.checked else _poured(case, here)) or _worked(case, here)
    closed = _closed(case, here, data["action"] == "pour") if here.plug_out else []
    if case.check.key == FILL_HOLE:  # what fills it comes with the plug
        closed = [*(fact for fact in facts if fact.id == "next.clean"), *closed]
        facts = [fact for fact in facts if fact not in closed]
    return [*_leaking(case, here), *_brimful(case, here), *closed, *facts], data


def _leaking(case: Case, here: Standing) -> list[Fact]:
    """That a leak is looked for first, if one was entered last."""
    last = here.last
    if last is None or last.event != "lost" or not says(last.entry, LEAK_WORDS):
        return []
    return [line("next.leak", CAUTION, (last.number,), entry=Count(last.number), said=entry_said(case.job.written("log")[last.number - 1]))]


def _brimful(case: Case, here: Standing) -> list[Fact]:
    """That more may be running, if what was drained last filled its vessel."""
    last = here.last
    if last is None or last.event != "drained":
        return []
    vessel, read = case.vessels[last.entry["vessel"]], nominal(last.entry["reading"])
    if vessel.capacity is None or read < FULL * number_in(vessel.capacity, "L"):
        return []
    said = entry_said(case.job.written("log")[last.number - 1])
    return [line("next.brim", CAUTION, (last.number,), vessel=Name(vessel.name), entry=Count(last.number), said=said)]


def _book(case: Case, here: Standing, litres: float) -> tuple[list[Fact], dict[str, object]]:
    """The amount of the maker's book, or what is left of it, if the count is too uncertain and it was drained once more."""
    pour = division(case, case.hand, litres).below(litres)
    facts = [*(_closed(case, here, pours=True) if here.plug_out else []), line("next.pour_book", pour=pour)]
    return facts, {"action": "pour", "vessel": case.hand["name"] if case.hand else "", "pour": plain(pour.value, "L")}


def _resumed(case: Case) -> Fact:
    """How the sheet goes on once a stop sign was dealt with: the log must no longer have it."""
    entries = case.halted_by
    listed = Series(tuple(map(Count, entries)), "join.and")
    return line("next.resumed", "info", entries, count=Count(len(entries)), entries=listed)


def _closed(case: Case, here: Standing, pours: bool) -> list[Fact]:
    """That the plug goes back in before anything else, and pan and filter before it, if they came off."""
    if case.check.key == FILL_HOLE:
        return _said(case.check.refill(case, torque(case), closing(case)))
    pan = pours and isinstance(case.method, Bursts) and nominal(case.pan)
    first = not (case.from_pan or any(move.event in ("poured", "lost") for move in here.moves))
    off = [line("next.pan", pan=Amount("volume", pan, main=True))] if pan and first else []
    opened = not any(move.event == "poured" for move in here.moves)
    if opened and any(move.event == "drained" or names_pan(move.entry) for move in case.from_pan):
        off.append(line("next.pan_back"))
    return [*off, line("next.plug" if pours else "next.plug_first", torque=torque(case))]


def _said(steps: list[Fact]) -> list[Fact]:
    """Steps as items of an unnumbered list."""
    return [replace(one, form="item") for one in steps]


def _judged(case: Case, here: Standing) -> tuple[list[Fact], dict[str, object]]:
    """What the stick calls for, if it was read last."""
    numbers, several = tuple(move.number for move in here.rested), len(here.rested)
    if (apart := _apart(case, [move.entry for move in reversed(here.rested)])) is not None:
        return [apart], {"action": "read the stick"}
    facts, data = _called_for(case, here, numbers[:1])
    return [*([line("next.median", "info", numbers, count=Count(several))] if several > 1 else []), *facts], data


def _apart(case: Case, read: list[dict[str, Any]]) -> Fact | None:
    """That a third reading is needed, if there are two with nothing between them that are too far apart."""
    if len(read) != 2:
        return None
    low, high = case.said_by_stick(read)
    if case.on_stick(high - low) <= APART * sqrt(2.0) * nominal(case.ask("level", "reading")):
        return None
    return line("next.apart", CAUTION, readings=Series(tuple(Amount("length", one["reading"], signed=True) for one in read), "join.and"))


def _called_for(case: Case, here: Standing, numbers: tuple[int, ...]) -> tuple[list[Fact], dict[str, object]]:
    """What the last reading of the stick calls for, or several with nothing between them."""
    entry, verdict = here.rested[0].entry, here.judged
    if too_hot(entry):
        return [line("next.too_hot", STOP, numbers)], {"action": "stop"}
    if verdict is None:
        shown = Amount("length", number_in(case.foreseen(entry), "mm"), signed=True)
        return [line("next.wait", "info", numbers, reading=shown)], {"action": "wait"}
    if verdict.instruction == "leave" and case.method.by_shop:
        return [line("next.level_right", "info", numbers), *_said(case.method.shop())], {"action": "exchange"}
    if verdict.instruction == "leave":
        if not here.left:
            return [line("next.done", "info", numbers)], {"action": "done"}
        facts, data = _worked(case, here)
        return [*facts, line("next.stop_here")], data
    if verdict.instruction == "add" and here.below_pump:
        poured = _poured(case, here)
        if poured is not None:
            return poured
    litres = number_in(verdict.volume, "L")
    amount = division(case, case.hand, litres).below(litres)
    several = verdict.steps > 1 and amount.value > nominal(case.job.value("level", "marks_volume")) / MOST_STEPS
    key = "next.take_out" if verdict.instruction == "take out" else "next.add_steps" if several else "next.add"
    says: dict[str, Value] = {"amount" if key == "next.take_out" else "pour": amount}
    if key == "next.add_steps":
        says["steps"] = Count(verdict.steps)
    return [line(key, "info", numbers, **says)], {"action": verdict.instruction, "pour": plain(amount.value, "L")}


def _poured(case: Case, here: Standing) -> tuple[list[Fact], dict[str, object]] | None:
    """What to pour next, and what to do before; None if too little is missing to pour."""
    try:
        pour = here.pour
    except CountLostError:
        return _count_lost(case, here)
    if pour is None:
        if here.too_full or (here.known and here.band is not None and here.missing < -here.band):
            far = "next.too_full_far" if here.known else "next.too_full_start" if case.kind.pumped else "next.too_full_hole"
            key = far if here.too_full else "next.too_full"
            return [line(key, CAUTION, amount=Amount("volume", -here.missing, main=True))], {"action": "take out"}
        return None
    facts: list[Fact] = []
    if here.helped:
        facts.append(line("next.helped"))
    if case.pail is not None and pour.vessel == case.pail["name"] and here.caught:
        facts.append(line("next.clean", CAUTION, vessel=Name(pour.vessel), caught=Amount("volume", here.caught, main=True)))
    warm = Amount("temperature", pour.temperature)
    if case.check.key == FILL_HOLE:
        facts.append(line("next.expect", pour=pour.whole, temperature=warm))
    elif pour.vessel in case.on_scales:
        mass = kilograms_of(pour.reading.value, number_in(case.density, "kg/m³"))
        facts.append(line("next.pour_weighed", pour=pour.reading, mass=Amount("mass", mass)))
    elif pour.vessel:
        facts.append(line("next.pour", pour=pour.reading, vessel=Name(pour.vessel), temperature=warm))
    else:
        packs = _packs(case, here, pour.reading.value)
        facts.append(
            line("next.pour_packs", pour=pour.reading, packs=packs, temperature=warm) if packs
            else line("next.pour_plain", pour=pour.reading, temperature=warm)
        )  # fmt: skip
    if pour.vessel and pour.rest.value and case.check.key != FILL_HOLE:
        facts.append(line("next.pour_rest", rest=pour.rest, vessel=Name(pour.vessel)))
    if here.kept_back:
        refill = Written(case.job.text("exchange", "refill"), "volume")
        facts.append(line("next.kept_back", kept=Amount("volume", here.kept_back, main=True), refill=refill))
    kept = here.missing - here.kept_back - pour.whole.value
    if case.check.key == STICK and here.known and kept > MUCH_KEPT:
        facts.append(line("next.kept", kept=Amount("volume", kept, main=True), doubt=Amount("volume", standard(here.off), main=True)))
    if case.check.key == SEALED:
        facts += [replace(fact, form="line") for fact in case.check.after(case, 1, closing(case))]
    amounts: dict[str, object] = {"pour": plain(pour.reading.value, "L"), "temperature": plain(pour.temperature, "°C")}
    return facts, {"action": "pour", "vessel": pour.vessel} | amounts


def _packs(case: Case, here: Standing, litres: float) -> Word | None:
    """Out of which packs it is poured: first what is left in those opened, then new ones; None without packs."""
    if not case.labelled:
        return None
    name, kept = next(iter(here.packs_open.items()), ("", 0.0))
    if not name:
        return _new_packs(case, here, litres)
    says: dict[str, Value] = {"name": pack_named(case, name)}
    one = "_of" if name in case.sized else ""
    if litres <= kept + NEARLY * max(case.packs.values()):
        return Word(f"next.open{one}", says)
    says |= {"kept": Amount("volume", kept, main=True), "more": _new_packs(case, here, litres - kept, after=True)}
    return Word(f"next.open{one}_then", says)


def _new_packs(case: Case, here: Standing, litres: float, after: bool = False) -> Word:
    """Whole ones of those bought, the largest first, then part of the smallest; with how much of it if it comes `after` another."""
    left, sizes = here.packs_left, case.packs
    whole: dict[str, int] = {}
    for name in sorted(left, key=lambda name: -sizes[name]):
        count = min(left[name], int(litres / sizes[name] + NEARLY))
        if count:
            whole[name], litres = count, litres - count * sizes[name]
    unopened = [name for name in left if left[name] > whole.get(name, 0)]
    opened = min(unopened or sizes, key=lambda name: sizes[name])
    if more := int(litres / sizes[opened] + NEARLY):  # more than was bought
        whole[opened], litres = whole.get(opened, 0) + more, litres - more * sizes[opened]
    if litres < NEARLY * sizes[opened]:
        return Word("next.whole", {"packs": named_packs(case, whole)})
    rest = Amount("volume", litres, main=True)
    if not whole:
        part = "next.rest" if after else "next.part"
        return Word(f"{part}_of" if opened in case.sized else part, {"name": pack_named(case, opened), "rest": rest})
    says: dict[str, Value] = {"packs": named_packs(case, whole), "rest": rest}
    if [*whole] == [opened]:
        return Word("next.whole_and_part", says)
    return Word("next.whole_and_other", says | {"name": pack_named(case, opened)})


def _burst(case: Case, here: Standing, method: Bursts) -> tuple[list[Fact], dict[str, object]]:
    """The next burst: shorter than planned if the sump is lower than it was to be by now."""
    said = timings(case)
    if said and said.severity == STOP:
        return [said], {"action": "mend the log"}
    seconds, litres = method.seconds(case), method.burst(case)
    burst: Value = method.one(case)
    planned = max(0.0, case.out - nominal(case.refill))
    known, doubt = max(0.0, nominal(here.below_start) - planned), standard(here.below_start)
    lower = nominal(here.below_start) - planned + SAFE * max(0.0, doubt - ORDINARY)
    lower = lower if lower > LEAST else 0.0
    lasts = case.seconds_until_air(case.meanwhile, lower)
    if lasts < WORTH * min(seconds, case.seconds_until_air(case.meanwhile, known)):
        return _count_lost(case, here)
    facts: list[Fact] = []
    if lower and int(lasts) < int(seconds + CLOSE):
        less = case.flow * lasts / 60
        poor = {"doubt": Amount("volume", doubt, main=True)} if doubt > ORDINARY else {}
        whole = division(case, case.own_pail, less).below(less)
        if not (whole.value or poor):
            return _count_lost(case, here)
        burst, litres = (Amount("volume", less, step=TENTH, main=True), less) if poor else (whole, whole.value)
        seconds = litres / case.flow * 60
        facts.append(line("next.shorter_doubt" if poor else "next.shorter", lower=lower_by(lower), **poor))
    soonest, first = method.soonest(case, lower), Word("none")
    if soonest < seconds and not case.bursts_done:
        back = case.ask("circuit", "drain_back")
        brings = combine(case.flow * soonest / 60 - nominal(back), [(-1.0, back)])
        if not nominal(brings) > 0:
            return _count_lost(case, here)
        burst, seconds = expected(brings), soonest
        first = Word("next.first_burst", {"back": Amount("volume", back, step=TENTH)})
    says: dict[str, Value] = {
        "number": Count(case.bursts_done + 1), "count": Count(method.count(case)), "burst": burst, "seconds": Count(int(seconds + 1e-9)),
        "pail": pail(case), "first": first,
    }  # fmt: skip
    if case.meanwhile:
        says["rate"] = Amount("flow", case.meanwhile, step=TENTH)
    run = line("next.burst_helped" if case.meanwhile else "next.burst", CAUTION, **says)
    facts += [*([said] if said else []), *_too_few(case, here, method)]
    return [*_room(case, here, litres), run, *facts], {"action": "burst"}


def _too_few(case: Case, here: Standing, method: Bursts) -> list[Fact]:
    """That the bursts planned no longer meet the target, as the work has gone, and how many would, unless the vials say."""
    if here.told is not None or here.foreseen is None or not case.comparison[method.key].meets_target:
        return []
    chance, count = at_least(here.foreseen, case.target), method.count(case)
    if chance > case.probability - LESS_SURE:
        return []

    def met(more: int) -> bool:
        ahead = here.after(method.round(case) * more)
        return ahead is not None and at_least(ahead, case.target) >= case.probability

    enough = next((n for n in range(count + 1, MOST + 1) if met(n - count)), 0)
    more = Word("next.more_bursts", {"count": Count(enough)}) if enough else Word("next.no_more_bursts")
    return [line("next.below_target", CAUTION, fresh=Share(here.foreseen), more=more, **wished(case.target, chance, case.probability))]


def _room(case: Case, here: Standing, litres: float) -> list[Fact]:
    """That the pail must be emptied first, if what comes out no longer fits into it."""
    if case.own_pail is None or case.room is None or not (here.caught and here.caught + litres > case.room):
        return []
    holds = next(one["holds"] for one in case.job.written("vessel") if one["name"] == case.own_pail["name"])
    caught = Amount("volume", here.caught, main=True)
    return [line("next.empty", CAUTION, vessel=Name(case.own_pail["name"]), caught=caught, holds=Written(holds, "volume"))]


def _count_lost(case: Case, here: Standing) -> tuple[list[Fact], dict[str, object]]:
    """What to do when the count is too uncertain to go on by: read the level, or whatever is possible without the engine."""
    doubt = Amount("volume", standard(here.off), main=True)
    data: dict[str, object] = {"action": "read the level"}
    if not here.below_pump:
        return [line("next.count_lost", STOP, doubt=doubt)], data
    return [line("next.count_lost_still", STOP, doubt=doubt), *_measured(case, here), *_instead(case)], data


def _measured(case: Case, here: Standing) -> list[Fact]:
    """What can be weighed or checked with the engine off, if it helps: first what is enough for the pump to be sure of its fluid."""
    helps = [one for one in still(measures(case, here.found)) if one.leaves < HELPS * standard(here.off)]
    helps.sort(key=lambda one: here.below_pump_if(one.leaves) > 0)
    return [
        item(
            "next.way_measure", advice=measured(case, one), left=Amount("volume", one.leaves, main=True),
            enough=Word("next.way_short" if here.below_pump_if(one.leaves) else "next.way_enough"),
        )
        for one in helps[:MOST_WAYS]
    ]  # fmt: skip


def _instead(case: Case, after: str = "next.way_on") -> list[Fact]:
    """How the pump can be covered for certain with the engine off, in order of use, and how the log goes on `after` that."""
    book, window = case.job.text("capacity", "book_refill"), case.job.text("level", "window")
    ways = [f"next.way {case.check.key}"] if case.check.key in (STICK, OVERFLOW) else []
    given = Word("next.way_book", {"book": Written(book, "volume")}) if book else Word("next.way_book_unsaid")
    at = Word("next.way_window", {"window": Written(window, "temperature")}) if window else Word("none")
    return [*map(item, ways), item("next.way_refill", book=given), item("next.way_maker"), line(after, at=at)]


def _worked(case: Case, here: Standing) -> tuple[list[Fact], dict[str, object]]:
    """The next burst or drain of the method; after the last one, the level."""
    method, last = case.method, here.last
    if here.below_pump:
        return _count_lost(case, here)
    if here.ran_out and here.left and not isinstance(method, Bursts):
        return [line("next.mix", number=Count(case.drains_done + 1), count=Count(method.count(case)))], {"action": "drive"}
    if isinstance(method, Bursts):
        if here.left:
            return _burst(case, here, method)
        if here.checked:
            return [line(DRIVEN[case.check.key])], {"action": "done"}
        back = [fact for fact in method.work(case) if fact.id == "steps.line_back"] if here.open_line else []
        return [*(_seen(case, here) if back else []), *_said([*back, *case.check.after(case, 1, closing(case))])], {"action": "check"}
    if here.left and last is not None and last.event in ("drive", "stick"):
        plug = expected(case.plug)
        facts = [line("next.drain", number=Count(case.drains_done + 1), count=Count(method.count(case)), plug=plug)]
        return [*_room(case, here, nominal(case.plug)), *facts], {"action": "drain"}
    if here.checked:
        return [line(DRIVEN[case.check.key])], {"action": "done"}
    if case.check.key == STICK and case.stick is None and last is not None and last.event == "stick":
        return [line("next.unjudged"), line("next.done_maker")], {"action": "check"}
    driven = case.check.key == STICK and last is not None and last.event == "drive"
    full = [line("next.hole_first", closing=closing(case))] if case.check.key == FILL_HOLE and not here.plug_out else []
    return [*_said([*full, *case.check.after(case, 1, closing(case))]), *([line("next.done_maker")] if driven else [])], {"action": "check"}


def _seen(case: Case, here: Standing) -> list[Fact]:
    """After the last burst: if the vials say that it is enough before the plan does, or that it is not enough yet."""
    if here.told is None:
        return []
    says, left = aimed(here.told), case.method.count(case) - case.bursts_done
    if here.told.met:
        return [line("next.enough", left=Count(left), **says)] if left > 0 else []
    if not here.told.further_litres:
        return [unpumped(here.told)]
    if here.told.litres_needed is None:
        return [line("next.not_to_be_had", **says)]
    return [line("next.more", more=Amount("volume", here.told.litres_needed, step=TENTH), **says)]
