"""What the stick says at its temperature."""

from __future__ import annotations

from typing import Any

from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import inside
from sumpwise.service.case import Case
from sumpwise.service.divisions import division
from sumpwise.service.facts.fact import Amount, Count, Part, Table, Value, Word, Written, line
from sumpwise.service.kinds import STICK
from sumpwise.service.logged import too_hot
from sumpwise.service.render.figures import plain
from sumpwise.uncertainty import nominal


def levelling(case: Case, disputed: bool) -> Part:
    """What each reading means; an instruction only if nothing was moved or read since, with no stop sign and no dispute of the count."""
    part, job, stick = Part("level"), case.job, case.stick
    if stick is None or case.check.key != STICK:
        part.facts += case.check.level(case)
        return part
    low, high = (nominal(t) for t in job.value("level", "window"))
    growth = nominal(number_in(stick.growth(inside(low, "temperature"), inside(high, "temperature")), "L")) / (high - low)
    length, volume = nominal(job.value("level", "marks_length")), nominal(job.value("level", "marks_volume"))
    part.facts.append(line(
        "level.grows", growth=Amount("volume growth", growth), rise=Amount("length growth", growth * length / volume),
        window=Written(job.text("level", "window"), "temperature"),
    ))  # fmt: skip
    log = job.entries("log")
    last = max((i for i, entry in enumerate(log) if entry["event"] in ("stick", "drained", "poured", "lost")), default=-1)
    instead = Word("level.stopped") if case.halted else Word("level.disputed") if disputed else None
    rows: list[list[Value]] = []
    data = []
    for number, (written, entry) in enumerate(zip(job.written("log"), log, strict=True)):
        if entry["event"] != "stick":
            continue
        hot = too_hot(entry)
        off: Value = Word("dash") if hot else Amount("volume", number_in(case.by_stick(entry), "L"), signed=True, main=True)
        follows = instead or _follows(case, entry, number == last)
        rows.append([Written(str(written["reading"]), "length"), Written(written["temperature"], "temperature"), off, follows])
        data.append({"reading": written["reading"], "temperature": written["temperature"], "verdict": follows.id})
    part.table = Table(tuple(f"level.column.{name}" for name in ("reading", "at", "off", "follows")), rows)
    part.data = {"growth_per_degree": plain(growth, "L"), "readings": data}
    return part


def _follows(case: Case, entry: dict[str, Any], now: bool) -> Word:
    if too_hot(entry):
        return Word("level.too_hot")
    verdict = case.judged(entry)
    if verdict is None:
        reading = Amount("length", number_in(case.foreseen(entry), "mm"), signed=True)
        return Word("level.predicts_wait" if now else "level.predicts", {"reading": reading})
    if not now:
        return Word("level.since")
    if verdict.instruction == "leave":
        return Word("level.leave")
    litres = number_in(verdict.volume, "L")
    amount = division(case, case.hand, litres).below(litres)
    if verdict.instruction == "take out":
        return Word("level.take_out", {"amount": amount})
    return Word("level.add_steps" if verdict.steps > 1 else "level.add", {"amount": amount, "steps": Count(verdict.steps)})
