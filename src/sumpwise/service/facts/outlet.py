"""What was seen at the outlet, and what it says about the inside."""

from __future__ import annotations

from sumpwise.errors import SumpwiseError
from sumpwise.inference.outlet import SHAKY, STARVING
from sumpwise.inference.outlet_answer import OutletEvidence
from sumpwise.service.agreement import Agreement
from sumpwise.service.case import Case
from sumpwise.service.facts.fact import (
    CAUTION,
    INFO,
    Amount,
    Count,
    Fact,
    Money,
    Part,
    Plain,
    Share,
    Table,
    Value,
    Word,
    item,
    line,
    stated,
)
from sumpwise.service.facts.phrases import wished
from sumpwise.service.facts.refusals import refused
from sumpwise.service.standing import Standing


def telling(case: Case) -> Part | None:
    """What the outlet says; None if nothing was matched."""
    if case.agreement is None or not any("outlet_old" in entry for entry in case.job.entries("log")):
        return None
    part = Part("outlet")
    told = case.told
    if told is None or not isinstance(case.agreement, Agreement):
        part.facts.append(line("outlet.in_doubt", CAUTION))
        part.data = {"verdict": "cannot say", "probability": None, "resident": None}
        return part
    if isinstance(told, SumpwiseError):
        part.facts.append(line("outlet.cannot_follow", CAUTION, reason=refused(told)))
        return part
    back = not Standing(case, case.agreement).pours
    judged = [_verdict(told), _inside(told), *_next(case, told)] if back else [line("outlet.pour_first"), _inside(told)]
    table = Table(
        ("outlet.column.match", "outlet.column.seen", "outlet.column.expected"),
        [[Count(i), stated(match), Share(expected.mean)] for i, (match, expected) in enumerate(told.matches, 1)],
    )
    before = {} if back else {"verdict": "pour first", "reason": "", "litres_needed": None}
    return Part("outlet", [*judged, *_cautions(told)], table, lambda: told.to_dict() | before)


def _verdict(told: OutletEvidence) -> Fact:
    """Enough only if the target is met with the required probability."""
    target = aimed(told)
    needed = told.litres_needed
    if needed is not None and not needed:
        return line("outlet.enough", INFO, (), "outlet.enough", **target)
    if not told.further_litres:
        return unpumped(told)
    if needed is None:
        looked = Amount("volume", told.further_litres[-1][0], step=0.1)
        return line("outlet.not_to_be_had", INFO, (), "outlet.not_to_be_had", more=looked, **target)
    return line("outlet.go_on", INFO, (), "outlet.go_on", more=Amount("volume", needed, step=0.1), **target)


def unpumped(told: OutletEvidence) -> Fact:
    """Not enough, and the portion asked about may be more than the sump holds."""
    return line("outlet.not_pumped", INFO, (), "outlet.not_pumped", portion=Amount("volume", told.portion_litres, step=0.1), **aimed(told))


def aimed(told: OutletEvidence) -> dict[str, Value]:
    """The target, how probable it is that it is met, and the probability asked."""
    return wished(told.target, told.probability, told.confidence)


def _inside(told: OutletEvidence) -> Fact:
    points = 100 * told.darkening.mean
    way = "outlet.darkens" if round(points) > 0 else "outlet.brightens" if round(points) < 0 else "outlet.stays"
    return line(
        "outlet.inside", old=Share(1 - told.resident.mean), low=Share(1 - told.resident.upper), high=Share(1 - told.resident.lower),
        line=Share(1 - told.outlet.mean), drive=Word(way, {"points": Count(abs(round(points)))}),
    )  # fmt: skip


def _next(case: Case, told: OutletEvidence) -> list[Fact]:
    """What the next portion adds, if it can be pumped."""
    if told.next_portion is None:
        return []
    portion = Amount("volume", told.portion_litres, step=0.1)
    bought: dict[str, Value] = {"portion": portion, "points": Plain(told.next_portion.mean, 1)}
    if told.cost_per_point is None:
        return [line("outlet.next", **bought)]
    return [line("outlet.next_priced", price=Money(told.cost_per_point, case.currency, 1), **bought)]


def _cautions(told: OutletEvidence) -> list[Fact]:
    odd = [told.matches[i] for i in told.odd]
    found = [item("outlet.odd", CAUTION, match=stated(match), expected=Share(expected.mean)) for match, expected in odd]
    if told.wider > 1:
        found.append(item("outlet.wider", CAUTION, times=Plain(told.wider, 1)))
    if told.effective_draws < SHAKY:
        found.append(item("outlet.few_draws", CAUTION, draws=Count(round(told.effective_draws))))
    if told.starving > STARVING:
        found.append(item("outlet.starving", CAUTION, probability=Share(told.starving)))
    return found
