"""The balance of the log: what went in against what came out, at 20 °C, and what the stick says of it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sumpwise._uncertain import nominal
from sumpwise.errors import SumpwiseError
from sumpwise.filling.consistency import CANNOT_TELL, book_meaning
from sumpwise.filling.estimates import best_estimate
from sumpwise.filling.ledger import Ledger
from sumpwise.filling.vessel import Vessel
from sumpwise.measurement.reporting import budget
from sumpwise.quantities.boundary import answer
from sumpwise.service.figures import figure, number, percent, plain
from sumpwise.service.job import Job
from sumpwise.service.sheet import Section
from sumpwise.service.sticks import dipstick_of, doubted

UNWEIGHED = 0.02
"""Relative standard uncertainty of the scale of a vessel that nobody has weighed."""


def vessels_of(job: Job) -> dict[str, Vessel]:
    """The vessels of the job by name."""
    return {
        v["name"]: Vessel(
            v["name"], answer(nominal(v["graduation"]), "volume"), scale=1 / (1 + nominal(v.get("reads_high", 0.0))),
            scale_uncertainty=v.get("scale_uncertainty", UNWEIGHED if "reads_high" not in v else 0.005),
        )
        for v in job.entries("vessel")
    }  # fmt: skip


def traced(job: Job) -> Iterator[tuple[dict[str, Any], Ledger, Any]]:
    """Each entry of the log with the ledger after it and, of a stick reading, the litres off the target at 20 °C that it says."""
    stick, vessels = dipstick_of(job), vessels_of(job)
    ledger = Ledger(answer(nominal(job.value("fluid", "density_15")), "density"))
    for entry in job.entries("log"):
        event, warm = entry["event"], answer(doubted(entry["temperature"]), "temperature") if "temperature" in entry else None
        error = None
        if event == "stick" and stick is not None:
            error = stick.error(answer(entry["reading"], "length"), warm)
            if not len(ledger):
                ledger, error = ledger.started(error), None
        elif event in ("drained", "poured"):
            add = ledger.drained if event == "drained" else ledger.poured
            ledger = add(
                vessels[entry["vessel"]], answer(entry["reading"], "volume"), warm, cumulative=entry.get("cumulative", False),
                thermometer=entry.get("thermometer"),
            )  # fmt: skip
        elif event == "emptied":
            ledger = ledger.emptied(vessels[entry["vessel"]])
        elif event == "lost":
            ledger = ledger.lost(answer(entry["volume"], "volume"), entry["what"], warm)
        yield entry, ledger, error


def followed(job: Job) -> list[tuple[dict[str, Any], Ledger, Any]]:
    """Each stick reading after the first with the ledger at that moment and what the stick says; without one, the ledger at the end."""
    steps = list(traced(job))
    readings = [step for step in steps if step[2] is not None]
    return readings or [({}, ledger, None) for _, ledger, _ in steps[-1:] if len(ledger)]


def balancing(job: Job, halted: bool = False) -> Section | None:
    """The balance of the log, or nothing when nothing was poured or drained; no next pour once a stop sign was seen."""
    if not any(entry["event"] in ("drained", "poured") for entry in job.entries("log")):
        return None
    section = Section("balance", "What went in against what came out")
    try:
        readings = followed(job)
    except SumpwiseError as error:
        section.lines.append(f"**The count cannot be followed**: {error}.")
        return section
    _, ledger, level = _settled(job, readings)
    explained = ledger.explain(level)
    balance, raw, rest = ledger.balance.m_as("L"), nominal(explained.raw.m_as("L")), explained.rest.m_as("L")
    section.lines = [
        f"Poured less drained, as read: **{figure(raw, 'L', signed=True)}**. At 20 °C and by the vessels' true scale: "
        f"**{figure(balance, 'L', signed=True)}**. Hot litres and a pail that reads wrong are not litres: "
        f"pouring to the raw figure misleads by {figure(abs(nominal(balance) - raw), 'L')}.",
        f"Unexplained after start level and stick: {figure(rest, 'L', signed=True)}, z = {number(explained.z, 1, signed=True)}. "
        f"Best next measurement: {explained.best.advice} (would leave ± {number(explained.best.would_leave.m_as('L'), 2)} L).",
    ]
    if explained.assumption:
        section.lines.append(f"Taken for granted: {explained.assumption}.")
    following = [] if halted else _next_pour(job, readings[-1])
    section.lines += [*_together(readings), *following, *_book(job, settled_start=ledger.start)]
    section.lines += [f"- {_share(row)}" for row in budget(ledger.balance).rows[:4]]
    section.columns = ["cause", "litres"]
    section.rows = [
        [row.cause, f"{number(row.value.m_as('L'), 2, signed=True)} ± {number(row.standard_uncertainty.m_as('L'), 2)}"]
        for row in explained.rows
    ]
    section.rows.append(["unexplained", figure(rest, "", signed=True)])
    section.data = {
        "raw": plain(raw, "L"), "balance": plain(balance, "L"), "rest": plain(rest, "L"), "z": explained.z,
        "causes": [
            {"cause": row.cause, "litres": nominal(row.value.m_as("L")), "standard_uncertainty": row.standard_uncertainty.m_as("L")}
            for row in explained.rows
        ],
        "ledger": ledger.to_dict(),
    }  # fmt: skip
    return section


def _settled(job: Job, readings: list[tuple[dict[str, Any], Ledger, Any]]) -> tuple[dict[str, Any], Ledger, Any]:
    """The first stick reading in its check window, else the first there is."""
    stick = dipstick_of(job)
    for reading in readings:
        if reading[0] and stick is not None and stick.holds_at(answer(nominal(reading[0]["temperature"]), "temperature")):
            return reading
    return readings[0]


def _together(readings: list[tuple[dict[str, Any], Ledger, Any]]) -> list[str]:
    """Ledger and stick at each reading, and both combined with what they share."""
    lines = []
    for entry, ledger, level in readings:
        if level is None or ledger.start is None:
            continue
        counted, seen = ledger.off_target.m_as("L"), level.m_as("L")
        both = best_estimate([ledger.off_target, level])
        best = both.value.m_as("L")
        where = f"{number(entry['reading'], 1, signed=True)} mm at {number(entry['temperature'], 0)} °C"
        lines.append(
            f"- Stick {where}: the count says {figure(counted, 'L', signed=True)} off the target, "
            f"the stick {figure(seen, 'L', signed=True)}; together {figure(best, 'L', signed=True)}."
        )
    return lines


def _next_pour(job: Job, last: tuple[dict[str, Any], Ledger, Any]) -> list[str]:
    """What the count alone allows to be poured next, when the stick has not spoken since."""
    entry, ledger, _ = last
    if entry or ledger.start is None or not job.has("level", "marks_volume"):
        return []
    half = nominal(job.value("level", "marks_volume")) / 2
    vessel = next((v for v in vessels_of(job).values()), None)
    if vessel is None:
        return []
    cold = answer(nominal(job.value("fluid", "temperature")), "temperature")
    try:
        pour = ledger.next_pour(vessel, cold, low=answer(-half, "volume"), high=answer(half, "volume"))
    except SumpwiseError as error:
        return [f"- **Stop**: {error}."]
    return [f"- Next pour by the count alone, two standard uncertainties on the safe side: {figure(nominal(pour.m_as('L')), 'L')}."]


def _book(job: Job, settled_start: Any) -> list[str]:
    """What the book's refill figure can mean, against what came out."""
    drains = [e for e in job.entries("log") if e["event"] == "drained"]
    lost = [e for e in job.entries("log") if e["event"] == "lost"]
    if not drains or not lost or not job.has("capacity", "book_refill"):
        return []
    vessels, density = vessels_of(job), answer(nominal(job.value("fluid", "density_15")), "density")
    count = Ledger(density).drained(
        vessels[drains[0]["vessel"]], answer(drains[0]["reading"], "volume"), answer(doubted(drains[0]["temperature"]), "temperature")
    )
    plug = count.total_drained
    for entry in lost:
        warm = answer(doubted(entry["temperature"]), "temperature") if "temperature" in entry else None
        count = count.lost(answer(entry["volume"], "volume"), entry["what"], warm)
    meanings = {"the plug alone": plug, "plug, pan and filter": count.total_drained}
    found = book_meaning(answer(job.value("capacity", "book_refill"), "volume"), meanings, start=settled_start or "0 L")
    told = ", ".join(f"{row.name} {figure(row.volume.m_as('L'), 'L')} ({percent(row.weight)})" for row in found.rows)
    verdict = "too close to call" if found.verdict == CANNOT_TELL else f"it means: {found.verdict}"
    return [f"- The book's refill of {job.text('capacity', 'book_refill')}, at the right level and 20 °C: {told}; {verdict}."]


def _share(row: Any) -> str:
    return f"{row.name}: ± {number(abs(nominal(row.contribution.m_as('L'))), 2)} L, {number(100 * row.share, 0)} % of the variance"

