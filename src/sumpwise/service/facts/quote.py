"""Whether a shop's quote can be true, and what you get for it."""

from __future__ import annotations

from sumpwise.buying.quotes import IMPOSSIBLE, ONLY_PLUG, PLAUSIBLE, check_claim, cost_per_point
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import inside
from sumpwise.service.case import Case
from sumpwise.service.facts.fact import INFO, Amount, Money, Part, Share, Word, Written, line, stated
from sumpwise.service.render.figures import plain
from sumpwise.uncertainty import nominal

VERDICTS = {PLAUSIBLE: "quote.plausible", ONLY_PLUG: "quote.only_plug", IMPOSSIBLE: "quote.impossible"}


def quoted(case: Case) -> Part | None:
    """What the quote claims compared with what its litres can do; None without a quote."""
    job = case.job
    if not job.has("quote", "claim", "volume"):
        return None
    claim = nominal(job.value("quote", "claim"))
    check = check_claim(job.value("quote", "claim"), inside(nominal(job.value("quote", "volume")), "volume"), inside(case.total, "volume"))
    verdict = VERDICTS[check.verdict]
    part = Part("quote", [line(
        "quote.claim", INFO, (), verdict, claim=stated(claim), volume=Written(job.text("quote", "volume"), "volume"), says=Word(verdict),
        stirred=Share(check.stirred), most=Share(check.plug),
    )])  # fmt: skip
    if check.stirred_volume is not None:
        part.facts.append(line("quote.takes", claim=stated(claim), volume=Amount("volume", number_in(check.stirred_volume, "L"), step=0.1)))
    if job.has("quote", "price"):
        each = cost_per_point(job.value("quote", "price"), check.stirred)
        part.facts.append(line("quote.point", price=Money(each, case.currency, 1)))
    part.data = {"verdict": check.verdict, "stirred": plain(check.stirred, "1"), "plug": plain(check.plug, "1"), "tanks": check.tanks}
    return part
