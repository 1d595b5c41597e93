"""The methods side by side, today and over the years, and which one is planned."""

from __future__ import annotations

from sumpwise.service.case import Case
from sumpwise.service.facts.fact import CAUTION, INFO, NOTE, Count, Fact, Part, Plain, Share, Value, Word, line, stated
from sumpwise.service.facts.phrases import chance, likely, named
from sumpwise.uncertainty import nominal

ROUNDED = 0.005
"""A share that is less below the target than this may be shown like it; then its probability is told."""


def comparing(case: Case) -> Part:
    """The methods today; first, why the method that the job names is not the one planned."""
    compared, planned = case.comparison, case.comparison[case.method.key]
    part = Part("methods", table=compared.today, data=lambda: compared.to_dict() | {"planned": planned.key})
    if case.refused is not None:
        asked = named(str(case.job.value("target", "method")))
        part.facts.append(line("methods.not_as_asked", CAUTION, method=asked, reason=case.refused))
    part.facts += [_aimed(case), *_begun(case)]
    last = case.method.last(case)
    if last is not None:
        portion, share = last
        bought: dict[str, Value] = {"portion": portion, "points": Plain(100 * share, 1)}
        part.facts.append(line("methods.last", NOTE if planned.meets_target is False else INFO, method=named(planned.key), **bought))
    part.facts.append(line("methods.meaning"))
    if planned.outside_band is not None and planned.outside_band > 0.001:
        part.facts.append(line("methods.outside", chance=chance(planned.outside_band)))
    return part


def _begun(case: Case) -> list[Fact]:
    """Say that the method is the one that the log has begun, if the job names none."""
    chosen = not case.has("target", "method") and case.method.key == case.under_way
    return [line("methods.as_begun")] if chosen else []


def _aimed(case: Case) -> Fact:
    """The method planned, and whether it reaches the target with the required probability; if not, what would, or the best there is."""
    planned = case.comparison[case.method.key]
    method = named(planned.key)
    if not case.method.planned:
        why = next((one.why for one in case.comparison if one.why is not None), Word("methods.no_bursts"))
        return line("methods.none", CAUTION, reason=why)
    if not case.has("target", "fresh") or planned.probability is None:
        return line("methods.chosen", method=method)
    target: dict[str, Value] = {"method": method, "target": stated(case.target), "asked": stated(case.probability)}
    if planned.meets_target:
        return line("methods.chosen_for", **target)
    others = list(case.possible.values())
    best = max(others, key=lambda one: nominal(one.fresh), default=planned)
    other = case.cheapest
    if other is not None:
        way = Word("methods.would_reach", {"method": named(other.key), "fresh": Share(other.fresh)})
    elif best.key == planned.key:
        way = Word("methods.best_is_this")
    else:
        way = Word("methods.best_is", {"method": named(best.key), "fresh": Share(best.fresh)})
    if nominal(planned.fresh) < case.target - ROUNDED:
        return line("methods.missed", CAUTION, fresh=Share(planned.fresh), way=way, **target)
    sure = likely(planned.probability, case.probability)
    return line("methods.not_sure", CAUTION, fresh=Share(planned.fresh), way=way, probability=sure, **target)


def over_years(case: Case) -> Part:
    """The methods over the years, each repeated at its interval."""
    years = Count(case.comparison.years)
    limit = [line("years.limit")] if any(method.bound and method.why is None for method in case.comparison) else []
    return Part("years", [line("years.meaning", years=years), *limit], case.comparison.over_years, title={"years": years})
