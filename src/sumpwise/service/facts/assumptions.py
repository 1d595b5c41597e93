"""What a sheet takes for granted."""

from __future__ import annotations

from sumpwise.service.case import Case
from sumpwise.service.facts.assumed import assumed
from sumpwise.service.facts.fact import REFERENCE, Fact, Name, Part, Value, Word, Written, item
from sumpwise.service.methods.registry import METHODS


def assuming(case: Case) -> Part:
    """Everything that was taken because the job does not say it, and what the models take for granted."""
    job = case.job
    facts: list[Fact] = []
    for fact, key in (("assumed.total", "total"), ("assumed.book", "book_refill")):
        if job.has("capacity", key):
            scope: Value = Name(job.text("capacity", f"{key}_scope")) if job.has("capacity", f"{key}_scope") else Word("assumed.no_scope")
            facts.append(item(fact, amount=Written(job.text("capacity", key), "volume"), scope=scope))
    remarks = dict.fromkeys(remark for method in METHODS if method.compared(case) for remark in method.remarks(case))
    facts += [item("assumed.reference", reference=REFERENCE), *map(item, ("assumed.mixing", "assumed.rhythm", *remarks))]
    facts += [item("assumed.no_prices")] if not job.entries("pack") else []
    facts += map(assumed, case.assumptions)
    taken = [{"id": one.id, "whose": one.whose, "reason": one.taken.reason} for one in case.assumptions]
    return Part("assumptions", facts, data={"taken": taken})
