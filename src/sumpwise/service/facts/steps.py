"""The planned method step by step, with the freshness after every burst; and the bursts in time."""

from __future__ import annotations

from math import ceil, floor
from typing import Any

from sumpwise.filling.bursts import BurstPlan
from sumpwise.quantities.arguments import number_in
from sumpwise.service.case import Case
from sumpwise.service.divisions import CLOSE
from sumpwise.service.facts.fact import (
    CAUTION,
    NOTE,
    STOP,
    Amount,
    Clock,
    Count,
    Fact,
    Name,
    Part,
    Series,
    Share,
    Table,
    Value,
    Word,
    Written,
    line,
    lower_by,
)
from sumpwise.service.facts.phrases import named
from sumpwise.service.kinds import SEALED
from sumpwise.service.methods.bursts import Bursts
from sumpwise.service.methods.method import MOST
from sumpwise.service.render.figures import plain
from sumpwise.uncertainty import combine, nominal

HUNDREDTH, TENTH = 0.01, 0.1


def stepwise(case: Case) -> Part:
    """What to do, step by step, and the result."""
    part = Part("steps", case.method.steps(case), title={"method": named("hands" if case.check.key == SEALED else case.method.key)})
    if isinstance(case.method, Bursts):
        _bursts(case, case.method, part)
    return part


def _bursts(case: Case, method: Bursts, part: Part) -> None:
    """How fresh it gets burst by burst, and how long a burst may last."""
    burst, course = method.burst(case), case.course(method)
    poured, pail, first = nominal(case.refill), 0.0, course[1][1]
    rows: list[list[Value]] = [
        [Word("steps.after_refill"), Amount("volume", poured), _old(first.resident), Word("dash"), Amount("volume", pail)]
    ]
    data = []
    bursts = [(pumped, after) for (_, pumped), (_, after) in zip(course[2::2], course[3::2], strict=True)]
    fit = _fit(case, burst)
    for number, (pumped, after) in enumerate(bursts, 1):
        poured, pail = poured + burst, burst * ((number - 1) % fit + 1)
        if number == len(bursts):
            poured += method.rest(case)
        name = Word("steps.after_burst", {"number": Count(number)})
        rows.append([name, Amount("volume", poured), _old(after.resident), _old(pumped.outlet), Amount("volume", pail)])
        data.append({"poured": poured, "resident_fresh": plain(after.resident, "1"), "outlet_fresh": plain(pumped.outlet, "1")})
    part.table = Table(tuple(f"steps.column.{name}" for name in ("after", "poured", "inside", "outlet", "pail")), rows)
    part.data = {"bursts": data, "after_refill": plain(first.resident, "1")}
    if bursts:
        shown, inside = 1 - nominal(bursts[-1][0].outlet), 1 - nominal(bursts[-1][1].resident)
        key = "steps.outlet_ahead" if shown < inside else "steps.outlet_behind"
        part.facts.append(line(key, NOTE, shown=Share(shown), inside=Share(inside)))
    if fit < len(bursts) and case.own_pail is not None:
        holds = Written(next(one["holds"] for one in case.job.written("vessel") if one["name"] == case.own_pail["name"]), "volume")
        says: dict[str, Value] = {"vessel": Name(case.own_pail["name"]), "holds": holds}
        often = line("steps.empty", NOTE, count=Count(fit), **says) if fit > 1 else line("steps.empty_each", NOTE, **says)
        part.facts.append(often)
    if method.shortened(case):
        asked = nominal(case.job.value("exchange", "burst"))
        part.facts.append(line(
            "steps.shortened", CAUTION, asked=Amount("volume", asked), lasts=Count(ceil(asked / case.flow * 60)),
            air=Count(floor(case.seconds_to_air)), burst=method.one(case), count=Count(method.count(case)),
        ))  # fmt: skip
    unreturned = case.out - nominal(case.refill)
    air: dict[str, Value] = {
        "seconds": Count(floor(case.seconds_until_air(0.0))), "reserve": Amount("volume", case.reserve, step=TENTH),
        "reaction": Amount("seconds", nominal(number_in(case.reaction, "min"))),
    }  # fmt: skip
    if unreturned >= HUNDREDTH / 2:
        part.facts.append(line("steps.air_short", NOTE, short=lower_by(unreturned), **air))
    else:
        part.facts.append(line("steps.air", NOTE, **air))
    if said := timings(case):
        part.facts.append(said)
    elif case.timed_flows and not case.has("exchange", "flow"):
        part.facts.append(line("steps.timed", flow=Amount("flow", case.flow, step=TENTH), count=Count(len(case.timed_flows))))
    if case.meanwhile:
        part.facts.append(line(
            "steps.air_helped", NOTE, seconds=Count(floor(case.seconds_to_air)), rate=Amount("flow", case.meanwhile, step=TENTH),
        ))  # fmt: skip
    if case.timetable is not None and not isinstance(case.timetable, BurstPlan):
        part.facts.append(line("steps.no_timetable", NOTE, reason=case.timetable))
    if case.filler_rate is not None and not case.has("filler", "rate"):
        rate = nominal(number_in(case.filler_rate, "L/min"))
        part.facts.append(line("steps.tube", rate=Amount("flow", rate, step=TENTH), venting=Share(case.ask("filler", "venting"))))


def _old(fresh: Any) -> Share:
    """The share of old fluid."""
    return Share(combine(1 - nominal(fresh), [(-1.0, fresh)]))


def timings(case: Case) -> Fact | None:
    """That the timed bursts disagree, and that the plan goes by the fastest; or that some of them must be wrong; None if all is well."""
    timed = case.timings
    if timed is None or not (timed.apart or timed.too_fast):
        return None
    slow, fast, flow = (Amount("flow", flow, step=TENTH) for flow in (timed.slowest, timed.fastest, case.flow))
    of = Word("steps.timed_stated" if case.has("exchange", "flow") else "steps.timed_alone")
    if not timed.apart:
        return line("steps.timed_too_fast", STOP, fast=fast, flow=flow)
    if timed.too_fast:
        return line("steps.timed_far_apart", STOP, of=of, slow=slow, fast=fast, flow=flow)
    return line("steps.timed_apart", CAUTION, of=of, slow=slow, fast=fast)


def _fit(case: Case, burst: float) -> int:
    """How many bursts the pail of the job may catch one after the other; at least one, which a timetable refuses if it does not fit."""
    return MOST if case.room is None else max(1, int(case.room / burst + CLOSE))


def timed(case: Case) -> Part | None:
    """The timetable of the bursts, alone and with a helper; if there is none, the steps say why."""
    plan = case.timetable
    if not isinstance(case.method, Bursts) or not isinstance(plan, BurstPlan):
        return None
    helped = plan.helped
    rows: list[list[Value]] = [
        [
            Clock(one.start), Word(f"timetable.{one.action}"),
            Amount("volume", one.volume) if one.action == "empty" else case.method.one(case), Amount("volume", one.pail),
        ]
        for one in (plan.helped if case.ask("exchange", "helper") else plan.alone).steps
        if one.action != "change"
    ]  # fmt: skip
    starts = tuple(Clock(one.start) for one in helped.steps if one.action == "burst")
    says = line(
        "timetable.times", alone=Clock(plan.alone.total), helped=Clock(helped.total),
        bursts=Series(starts), change=Amount("seconds", nominal(case.ask("exchange", "change"))),
    )  # fmt: skip
    data = {"alone_minutes": plan.alone.total, "helped_minutes": helped.total, "bursts": plan.alone.bursts}
    return Part("timetable", [says], Table(tuple(f"timetable.column.{c}" for c in ("start", "what", "amount", "pail")), rows), data)
