"""The balance of the log: what went in against what came out, at 20 °C, and what the stick says of it."""

from __future__ import annotations

from typing import Any

from sumpwise._uncertain import nominal
from sumpwise.errors import SumpwiseError
from sumpwise.filling.consistency import CANNOT_TELL, book_meaning
from sumpwise.measurement.reporting import budget
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import answer
from sumpwise.service.agreement import Agreement
from sumpwise.service.case import Case
from sumpwise.service.figures import figure, number, percent, plain
from sumpwise.service.movements import Movement, opening
from sumpwise.service.sheet import Section
from sumpwise.service.suspects import DOUBLED, FORGOTTEN, Suspect, suspects

MOST_NAMED = 4
"""Entries that the sheet names as possible causes of a conflict; its data hold all."""

NEGLIGIBLE = 0.01
"""Share of the variance below which a cause is not named."""


def disputed(case: Case) -> Section | None:
    """What comes first on the sheet: a count that cannot be followed, or one that the stick contradicts; nothing where all is well."""
    found = case.agreement
    if isinstance(found, SumpwiseError):
        lines = [f"**The count cannot be followed**: {found}.", "Nothing on this sheet rests on the log until that is put right."]
        return Section("conflict", "The log cannot be right", lines)
    if found is None or not found.conflict or found.best is None:
        return None
    section = Section("conflict", "Count and stick disagree")
    for move in found.readings:
        line = f"The stick {_where(move)} says {figure(number_in(move.level, 'L'), 'L', signed=True)} off the target"
        if found.counted:
            line += f", the count {figure(number_in(move.after.off_target, 'L'), 'L', signed=True)}"
        section.lines.append(f"- {line}.")
    named = suspects(case, found)
    section.lines += [
        f"By reading errors alone they would be so far apart with a chance of {_chance(found.best.chance)}: an entry is wrong. Until it is "
        "found, no figure joins the two and nothing is poured by the count.",
        "Read the stick again in its window. "
        + ("An entry that alone would explain it, the likeliest first:" if named else "No single entry written otherwise explains it."),
        *(f"- {_told(one)}" for one in named[:MOST_NAMED]),
    ]
    if len(named) > MOST_NAMED:
        section.lines.append(f"{len(named) - MOST_NAMED} further entries could explain it, but are less likely.")
    section.data = {
        "chi_squared": found.best.chi_squared, "degrees_of_freedom": len(found.estimates) - 1, "chance": found.best.chance,
        "entries": [one._asdict() for one in named],
    }  # fmt: skip
    return section


def _chance(p: float) -> str:
    return "less than 1 in a million" if p < 1e-6 else f"{percent(p, 1)}" if p >= 5e-4 else "less than 0.1 %"


def _where(move: Movement) -> str:
    return f"{number(move.entry['reading'], 1, signed=True)} mm at {number(move.entry['temperature'], 0)} °C"


def _told(one: Suspect) -> str:
    """A suspect in words."""
    if one.mistake == DOUBLED:
        return f"Log entry {one.number}, {one.entry}: entered twice."
    if one.mistake == FORGOTTEN:
        return f"After log entry {one.number}, {one.entry}: one like it was left out."
    return f"Log entry {one.number}, {one.entry}: {one.correction} instead ({one.mistake})."


def balancing(case: Case) -> Section | None:
    """The balance of the log, or nothing when nothing was moved; no next pour once a stop sign was seen or the stick contradicts."""
    found = case.agreement
    if found is None:
        return None
    section = Section("balance", "What went in against what came out")
    if isinstance(found, SumpwiseError):
        section.lines.append("**The count cannot be followed**: see the top of this sheet.")
        section.data = {"conflict": True}
        return section
    explained = found.explained
    ledger = found.shown.after if found.shown else found.ledger
    balance, raw, rest = number_in(ledger.balance, "L"), nominal(number_in(explained.raw, "L")), number_in(explained.rest, "L")
    section.lines = [
        f"Poured less drained, as read: **{figure(raw, 'L', signed=True)}**. At 20 °C and by the vessels' true scale: "
        f"**{figure(balance, 'L', signed=True)}**. Hot litres and a pail that reads wrong are not litres: "
        f"pouring to the raw figure misleads by {figure(abs(nominal(balance) - raw), 'L')}.",
    ]
    if found.shown:
        standing = f", z = {number(found.z, 1, signed=True)}" if found.z is not None else ""
        section.lines.append(
            f"Unexplained after start level and stick {_where(found.shown)}: {figure(rest, 'L', signed=True)}{standing}. "
            f"Best next measurement: {explained.best.advice} (would leave ± {number(number_in(explained.best.would_leave, 'L'), 2)} L)."
        )
        if explained.assumption:
            section.lines.append(f"Taken for granted: {explained.assumption}.")
    elif found.count is not None:
        section.lines.append(f"By the count the level is now {figure(found.count, 'L', signed=True)} off the target.")
    else:
        section.lines.append("No stick reading stands before the first entry, so the count cannot say where the level is now.")
    if not found.conflict:
        section.lines += _together(found)
        section.lines += [] if case.halted else _next_pour(case, found)
        section.lines += _book(case, found)
    section.lines += [f"- {_share(row)}" for row in budget(ledger.balance).rows[:4] if row.share >= NEGLIGIBLE]
    section.columns = ["cause", "litres"]
    section.rows = [
        [row.cause, f"{number(number_in(row.value, 'L'), 2, signed=True)} ± {number(number_in(row.standard_uncertainty, 'L'), 2)}"]
        for row in explained.rows
    ]
    if found.shown:
        section.rows.append(["unexplained", figure(rest, "", signed=True)])
    section.data = {
        "raw": plain(raw, "L"), "balance": plain(balance, "L"), "rest": plain(rest, "L"), "z": found.z,
        "chi_squared": None if found.best is None else found.best.chi_squared, "conflict": found.conflict,
        "off_target": {
            name: None if litres is None else plain(litres, "L")
            for name, litres in (("count", found.count), ("stick", found.stick), ("joint", found.joint))
        },
        "causes": [
            {
                "cause": row.cause, "litres": nominal(number_in(row.value, "L")),
                "standard_uncertainty": number_in(row.standard_uncertainty, "L"),
            }
            for row in explained.rows
        ],
        "ledger": found.ledger.to_dict(),
    }  # fmt: skip
    return section


def _together(found: Agreement) -> list[str]:
    """Count and stick at each reading, and all of them together now."""
    if not found.counted:
        return []
    lines = [
        f"- Stick {_where(move)}: the count says {figure(number_in(move.after.off_target, 'L'), 'L', signed=True)} off the target, "
        f"the stick {figure(number_in(move.level, 'L'), 'L', signed=True)}."
        for move in found.readings
    ]
    if found.joint is not None:
        lines.append(f"- Now, count and all stick readings together: {figure(found.joint, 'L', signed=True)} off the target.")
    return lines


def _next_pour(case: Case, found: Agreement) -> list[str]:
    """What the count alone allows to be poured next, when the stick has not spoken since."""
    if found.readings or not found.counted or not case.has("level", "marks_volume"):
        return []
    half = nominal(case.job.value("level", "marks_volume")) / 2
    poured = [move.entry["vessel"] for move in found.moves if move.event == "poured"]
    vessels = case.vessels
    if not vessels:
        return []
    hand = vessels[poured[-1]] if poured else list(vessels.values())[-1]
    try:
        pour = found.ledger.next_pour(hand, case.cold, low=answer(-half, "volume"), high=answer(half, "volume"))
    except SumpwiseError as error:
        return [f"- **Stop**: {error}."]
    return [
        f"- Next pour by the count alone, two standard uncertainties on the safe side: {figure(nominal(number_in(pour, 'L')), 'L')} "
        f"as the {hand.name} reads."
    ]


def _book(case: Case, found: Agreement) -> list[str]:
    """What the book's refill figure can mean, against what came out before anything went in."""
    plug, everything = opening(found.moves)
    if plug is None or everything is None or plug is everything or not case.has("capacity", "book_refill"):
        return []
    meanings = {"the plug alone": plug.after.total_drained, "plug, pan and filter": everything.after.total_drained}
    told = book_meaning(answer(case.job.value("capacity", "book_refill"), "volume"), meanings, start=found.ledger.start or "0 L")
    weighed = ", ".join(f"{row.name} {figure(number_in(row.volume, 'L'), 'L')} ({percent(row.weight)})" for row in told.rows)
    verdict = "too close to call" if told.verdict == CANNOT_TELL else f"it means: {told.verdict}"
    return [f"- The book's refill of {case.job.text('capacity', 'book_refill')}, at the right level and 20 °C: {weighed}; {verdict}."]


def _share(row: Any) -> str:
    return f"{row.name}: ± {number(abs(nominal(number_in(row.contribution, 'L'))), 2)} L, {number(100 * row.share, 0)} % of the variance"

