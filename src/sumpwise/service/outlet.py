"""What the log saw at the outlet, and what it says of the inside."""

from __future__ import annotations

from sumpwise._uncertain import nominal
from sumpwise.errors import SumpwiseError
from sumpwise.inference.estimates import OutletEvidence
from sumpwise.inference.outlet import inside_from_outlet
from sumpwise.mixing.circuit import Circuit
from sumpwise.service.case import Case
from sumpwise.service.figures import number, percent
from sumpwise.service.operations import follow
from sumpwise.service.sheet import Section


def led_through(case: Case) -> tuple[Circuit, list[tuple[Circuit, float]]]:
    """The circuit led through the log, and its states with what was matched at the outlet."""
    now, seen = case.sampled, []
    for one, now in follow(case.sampled, case.operations):
        if one.entry and "outlet_old" in one.entry:
            seen.append((now, nominal(one.entry["outlet_old"])))
    return now, seen


def telling(case: Case) -> Section | None:
    """The section on what the outlet told, or nothing when nothing was matched."""
    found = case.agreement
    if found is None or not any("outlet_old" in entry for entry in case.job.entries("log")):
        return None
    section = Section("outlet", "What the outlet told of the inside")
    if isinstance(found, SumpwiseError) or found.conflict:
        section.lines.append("**Cannot say**: what is seen at the outlet is weighed with the litres of the log, and they are in doubt.")
        section.data = {"verdict": "cannot say", "probability": None, "resident": None}
        return section
    try:
        now, seen = led_through(case)
        told = inside_from_outlet(
            seen, case.target, now=now, ranges=case.stated, vial_step=nominal(case.ask("target", "vial_step")), portion="1 L",
            cost_per_litre=case.litre_price or None, confidence=case.probability,
        )  # fmt: skip
    except SumpwiseError as error:
        section.lines.append(f"The log cannot be followed through the circuit: {error}.")
        return section
    old, line = 1 - told.resident.mean, 1 - told.outlet.mean
    cost = f" at {told.cost_per_point:.1f} {case.currency} a point" if told.cost_per_point else ""
    section.lines = [
        f"**{_verdict(told)}**: {told.reason}.",
        f"By all matches together {percent(old)} old is left inside ({percent(1 - told.resident.upper)} to "
        f"{percent(1 - told.resident.lower)}, nineteen chances in twenty) while the line carries {percent(line)}. "
        f"A long drive will darken what the line shows by about "
        f"{_points(100 * told.darkening.mean)}; the next litre buys {number(told.next_portion.mean, 1)} points{cost}.",
        *(f"- Caution: {c}." for c in told.cautions),
        *(f"- Assumed: {a.replace('_', ' ')}." for a in told.assumptions),
    ]
    section.columns = ["match", "seen old", "expected old"]
    section.rows = [[str(i), percent(match), f"{percent(e.mean)}"] for i, (match, e) in enumerate(told.matches, 1)]
    section.data = told.to_dict()
    return section


def _verdict(told: OutletEvidence) -> str:
    """Enough only where the target is met with the probability asked."""
    if told.litres_needed is None:
        return "Not to be had by more of the same"
    return "Go on" if told.litres_needed else "Enough"


def _points(much: float) -> str:
    shown = number(much, 0)
    return f"{shown} point" if shown == "1" else f"{shown} points"
