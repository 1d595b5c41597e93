"""The assumptions of a sheet."""

from __future__ import annotations

from sumpwise.errors import SumpwiseError
from sumpwise.mixing.circuit.compartments import VIALS
from sumpwise.service.asked import Assumption
from sumpwise.service.case import Case
from sumpwise.service.facts.assumed import assumed, meant, moving, settled
from sumpwise.service.facts.fact import NOTE, REFERENCE, Fact, Name, Part, Value, Word, Written, item, line
from sumpwise.service.methods.registry import METHODS
from sumpwise.service.sensitivity import Effect, mattering


def assuming(case: Case) -> Part:
    """Everything assumed because the job does not say it, and what the models assume."""
    job = case.job
    facts: list[Fact] = []
    for fact, key in (("assumed.total", "total"), ("assumed.book", "book_refill")):
        if job.has("capacity", key):
            scope: Value = Name(job.text("capacity", f"{key}_scope")) if job.has("capacity", f"{key}_scope") else Word("assumed.no_scope")
            facts.append(item(fact, amount=Written(job.text("capacity", key), "volume"), scope=scope))
    possible = [method for method in METHODS if method.compared(case) and case.comparison[method.key].why is None]
    remarks = dict.fromkeys(remark for method in possible for remark in method.remarks(case))
    facts += [item("assumed.reference", reference=REFERENCE), *map(item, ("assumed.mixing", "assumed.rhythm", *remarks))]
    facts += [item("assumed.no_prices")] if not job.entries("pack") else []
    rows = mattering(case)
    told = None if isinstance(case.told, SumpwiseError) else case.told
    mute = [assumed(one) for one, effects in rows if not effects]
    facts = [*(_best(rows) if case.agreement is None else []), *(assumed(one, effects, told) for one, effects in rows if effects), *facts]
    facts += [line("assumed.mute"), *mute] if mute else []
    return Part("assumptions", facts, data=lambda: {
        "taken": [
            {
                "id": one.id, "whose": one.whose, "reason": one.taken.reason, "find": one.key.find,
                "effects": {effect.answer: effect.size for effect in effects},
            }
            for one, effects in rows
        ],
    })  # fmt: skip


def _best(rows: list[tuple[Assumption, list[Effect]]]) -> list[Fact]:
    """The one measurement before the work that would settle most."""
    one, effects = next(((one, effects) for one, effects in rows if one.key.find != VIALS), (None, []))
    if one is None or not effects or effects[0].weight < 1:
        return []
    return [line("assumed.best", NOTE, what=meant(one), find=settled(one), effects=moving(effects))]
