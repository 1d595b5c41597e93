"""What the library answers for the jobs that were drawn, compared with what truly happened."""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import pairwise
from typing import Any

from sumpwise import Job, SumpwiseError
from sumpwise.service.case import Case
from sumpwise.service.facts.balance import MOST_NAMED, balancing, disputed
from sumpwise.service.facts.buy import buying
from sumpwise.service.facts.fact import Part
from sumpwise.service.facts.outlet import telling
from sumpwise.service.learning import learned_from
from sumpwise.uncertainty import nominal, standard

QUANTITIES = {
    "balance": "poured less drained, L",
    "count": "level by the count, L",
    "stick": "level by the stick, L",
    "joint": "level by both, L",
    "plug": "plug drain learned, L",
    "fresh": "fresh inside",
    "foreseen": "fresh inside, before the work",
}
"""Key -> what it is on the page."""

STATEMENTS = {
    "inside": "the inside meets the target, after the work",
    "planned": "the plan meets the target, before it",
    "short": "the packs bought run short",
    "outside": "the level ends outside the marks",
}
"""Key of a stated probability -> the statement."""

SURE = 0.95
"""Probability from which a statement counts as sure."""
BINS = (0.0, 0.05, 0.2, 0.4, 0.6, 0.8, 0.95, 1.0000001)
"""Edges between which stated probabilities are put together."""


def answered(job: dict[str, Any], inside: bool = True) -> dict[str, Any]:
    """What the library says of one job: pairs of value and standard uncertainty, probabilities, and what it found wrong.

    Only the sections of the sheet that hold these are asked for, since the others cost time. What the outlet says about the inside takes
    longest, and may be left out.
    """
    out: dict[str, Any] = {"conflict": [], "noticed": False}
    try:
        case = Case(Job.from_dict(job))
        found = {part.__name__: part(case) or Part("nothing") for part in (disputed, balancing, buying, *([telling] if inside else []))}
        learned = learned_from(case)
        planned = case.comparison["bursts"]
    except SumpwiseError as error:
        return out | {"refused": str(error)}
    balance, buy = (found[name].data for name in ("balancing", "buying"))
    outlet = found["telling"].data if inside else {}
    if "balance" in balance:
        out["balance"] = _pair(balance["balance"])
        for key, level in balance.get("off_target", {}).items():
            if level is not None:
                out[key] = _pair(level)
        out["noticed"] = bool(balance.get("conflict"))
        out["conflict"] = [entry["number"] for entry in found["disputed"].data.get("entries", ())]
    else:
        out["refused"] = f"balance: {case.agreement}"
    if outlet.get("resident"):
        inside = outlet["resident"]
        out["fresh"] = (inside["mean"], inside["standard"])
        out["interval"] = (inside["lower"], inside["upper"])
        out["inside"] = outlet["probability"]
    elif inside and not out["noticed"]:
        out["refused"] = f"inside: {[fact.id for fact in found['telling'].facts]}"
    if "probability_short" in buy:
        out["short"], out["bought"] = buy["probability_short"], buy["volume"]["value"]
    if planned.why is None:
        out["planned"], out["foreseen"] = planned.probability, (nominal(planned.fresh), standard(planned.fresh))
        if planned.outside_band is not None and "count" in out:
            out["outside"] = planned.outside_band
    if "plug_drain" in learned:
        out["plug"] = (learned["plug_drain"]["value"], learned["plug_drain"]["standard_uncertainty"])
    return out


def _pair(value: Any) -> tuple[float, float]:
    return value["value"], value["standard_uncertainty"]


TRUE = {
    "balance": "balance", "count": "error", "stick": "error", "joint": "error", "plug": "plug_right", "fresh": "fresh", "foreseen": "fresh",
}  # fmt: skip
"""Quantity -> its name in the truth."""


def outcome(statement: str, said: dict[str, Any], truth: dict[str, Any], job: dict[str, Any]) -> bool:
    """Whether a statement came true."""
    if statement in ("inside", "planned"):
        return bool(truth["fresh"] >= float(job["target"]["fresh"].rstrip(" %")) / 100)
    if statement == "short":
        return bool(truth["need"] > said["bought"])
    # where the level would be after pouring what was missing by the count
    return bool(abs(truth["error"] - said["count"][0]) > truth["half"])


def scored(cases: Iterable[tuple[dict[str, Any], dict[str, Any], dict[str, Any]]]) -> dict[str, Any]:
    """Put (job, truth, answer) of many worlds together.

    Coverage of one and two standard uncertainties, root mean square error, mean standard uncertainty and mean error of each quantity;
    stated probability and frequency of each statement, in bins and above `SURE`; share of worlds unanswered; share of typing errors
    that were noticed, that were named, and that were among the few that a sheet prints; how many entries are named on average.
    """
    all_cases = list(cases)
    told: dict[str, Any] = {"worlds": len(all_cases), "quantities": {}, "statements": {}}
    for key, name in TRUE.items():
        pairs = [(said[key], truth[name]) for _, truth, said in all_cases if key in said]
        told["quantities"][key] = _covered(pairs)
    intervals = [(said["interval"], truth["fresh"]) for _, truth, said in all_cases if "interval" in said]
    told["interval"] = _share(low <= true <= high for (low, high), true in intervals)
    for statement in STATEMENTS:
        stated = [(said[statement], outcome(statement, said, truth, job)) for job, truth, said in all_cases if statement in said]
        told["statements"][statement] = _reliable(stated)
    refused = [said["refused"] for _, _, said in all_cases if "refused" in said]
    told["unanswered"] = len(refused) / len(all_cases)
    told["reasons"] = sorted({reason[:240] for reason in refused})[:5]
    typos = [(truth["typo"], said) for _, truth, said in all_cases if truth["typo"]]
    told["noticed"] = _share(said["noticed"] or "refused" in said for _, said in typos)
    named = [(entry, said["conflict"], f"log entry {entry}:" in said.get("refused", "")) for entry, said in typos]
    told["named"] = _share(refused or entry in suspects for entry, suspects, refused in named)
    told["printed"] = _share(refused or entry in suspects[:MOST_NAMED] for entry, suspects, refused in named)
    sizes = [len(set(suspects)) for _, suspects, _ in named if suspects]
    told["suspects"] = sum(sizes) / (len(sizes) or 1)
    return told


def _share(true: Iterable[bool]) -> float | None:
    listed = list(true)
    return sum(listed) / len(listed) if listed else None


def _covered(pairs: list[tuple[tuple[float, float], float]]) -> dict[str, Any]:
    if not pairs:
        return {"count": 0}
    errors = [value - true for (value, _), true in pairs]
    sizes = [u for (_, u), _ in pairs]
    rms = math.sqrt(sum(e * e for e in errors) / len(errors))
    return {
        "count": len(pairs), "one": _share(abs(e) <= u for e, u in zip(errors, sizes, strict=True)),
        "two": _share(abs(e) <= 2 * u for e, u in zip(errors, sizes, strict=True)), "rms": rms, "u": sum(sizes) / len(sizes),
        "mean": sum(errors) / len(errors),
    }  # fmt: skip


def _reliable(stated: list[tuple[float, bool]]) -> dict[str, Any]:
    bins = []
    for low, high in pairwise(BINS):
        inside = [(p, true) for p, true in stated if low <= p < high]
        if inside:
            bins.append([sum(p for p, _ in inside) / len(inside), sum(true for _, true in inside) / len(inside), len(inside)])
    # a statement is sure of itself when it says nearly always, and when it says hardly ever
    sure = [true for p, true in stated if p >= SURE] + [not true for p, true in stated if p <= 1 - SURE]
    high = [true for p, true in stated if p >= SURE]
    brier = sum((p - true) ** 2 for p, true in stated) / len(stated) if stated else None
    return {"bins": bins, "sure": _share(sure), "sure_count": len(sure), "high": _share(high), "high_count": len(high), "brier": brier}
