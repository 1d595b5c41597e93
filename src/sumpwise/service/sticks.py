"""The stick of a job, and what each of its readings means at its temperature."""

from __future__ import annotations

from sumpwise._uncertain import nominal
from sumpwise.filling.level import Judged, Predicted, Stop
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import answer
from sumpwise.service.case import Case
from sumpwise.service.figures import figure, number, plain
from sumpwise.service.sheet import Section


def levelling(case: Case, instead: str = "") -> Section:
    """What the stick says at each temperature; what is said instead of an instruction where none may be given.

    An instruction stands only while nothing was moved or read since.
    """
    section = Section("level", "What the stick means")
    job, stick = case.job, case.stick
    if stick is None:
        section.lines.append("The job describes no stick; follow the maker's level check.")
        return section
    low, high = (nominal(t) for t in job.value("level", "window"))
    growth = number_in(stick.growth(answer(low, "temperature"), answer(high, "temperature")), "L") / (high - low)
    length, volume = nominal(job.value("level", "marks_length")), nominal(job.value("level", "marks_volume"))
    section.lines.append(
        f"The whole fill grows by {number(growth * 1000, 1)} mL per °C and shows it all in the sump: "
        f"{number(growth * length / volume, 2)} mm on the stick per °C. "
        f"Window {job.text('level', 'window')}, target the middle of the marks. "
        "Outside the window a reading predicts, it never instructs."
    )
    section.columns = ["reading", "at", "against the middle", "what follows"]
    data = []
    log = job.entries("log")
    last = max((i for i, entry in enumerate(log) if entry["event"] in ("stick", "drained", "poured", "lost")), default=-1)
    for i, (written, entry) in enumerate(zip(job.written("log"), log, strict=True)):
        if entry["event"] != "stick":
            continue
        reading, at = answer(entry["reading"], "length"), case.warm(entry)
        verdict = stick.check(reading, at)
        off = "–" if isinstance(verdict, Stop) else figure(number_in(verdict.error, "L"), "L", signed=True)
        follows = instead or _follows(verdict, i == last)
        section.rows.append([written["reading"], written["temperature"], off, follows])
        data.append({"reading": written["reading"], "temperature": written["temperature"], "verdict": follows})
    section.data = {"growth_per_degree": plain(growth, "L"), "readings": data}
    return section


def _follows(verdict: Judged | Predicted | Stop, now: bool) -> str:
    if isinstance(verdict, Stop):
        return verdict.why
    if isinstance(verdict, Predicted):
        return f"predicts {figure(number_in(verdict.at_middle, 'mm'), 'mm', 1, signed=True)} in mid window" + ("; wait" if now else "")
    if not now:
        return "the work has gone on since"
    if verdict.instruction == "leave":
        return "leave it"
    steps = f" in {verdict.steps} steps" if verdict.steps > 1 else ""
    return f"{verdict.instruction} {figure(number_in(verdict.volume, 'L'), 'L')}{steps}, then read again"
