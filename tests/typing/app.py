"""A small app as a user of the package would write it, for mypy and pyright at their strictest: run it with the names of job files."""

from __future__ import annotations

import sys
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from sumpwise import (
    FluidHistory,
    Job,
    Ledger,
    ServiceRecord,
    Sheet,
    Span,
    SumpwiseError,
    Vessel,
    check_text,
    drain_refill,
    measured,
    monte_carlo,
    plan,
    quantity,
    span,
)

GERMAN = {"range.above_bound": "{argument}: {value} ist zu viel"}


@dataclass
class Garage:
    """What the app keeps: sheets by vehicle, and what went wrong."""

    sheets: dict[str, Sheet] = field(default_factory=dict[str, Sheet])
    refused: list[str] = field(default_factory=list[str])

    def plan(self, path: Path) -> Sheet | None:
        """Plan a job file; a refusal is kept in the user's language."""
        try:
            job = Job.from_toml(path)
            sheet = plan(job, units="metric")
        except SumpwiseError as error:
            self.refused.append(said(error))
            return None
        self.sheets[job.title] = sheet
        return sheet


def said(error: SumpwiseError) -> str:
    """An error in the user's language where there is one, with its place and its limits."""
    pattern: str = GERMAN.get(error.code, "{problem}")
    text = pattern.format(argument=error.argument, value=error.value, problem=error.problem)
    if error.limits is not None:
        low, high, unit = error.limits
        text += f" [{low if low is not None else ''} … {high if high is not None else ''} {unit}]"
    return text


def fresh_after(drains: int) -> list[float]:
    """A column of answers as plain floats."""
    column = drain_refill(np.full(drains, 3.3) * quantity("1 L").units, "8.85 L", times=np.arange(1, drains + 1))
    return [float(share) for share in column]


def balance(readings: list[tuple[str, str]]) -> str:
    """What a pail caught and a jug gave back."""
    pail = Vessel("pail", "0.25 L", scale_uncertainty=0.004)
    ledger = Ledger("847 kg/m³")
    for reading, temperature in readings:
        ledger = ledger.drained(pail, reading, temperature)
    return str(ledger.explain())


def main(arguments: list[str]) -> int:
    """Run the app."""
    garage = Garage()
    for name in arguments:
        sheet = garage.plan(Path(name))
        if sheet is not None:
            print(sheet.to_markdown(full=False))
    window: Span = span("82–92 °C")
    drawn = monte_carlo(drain_refill, ["3.3 ± 0.15 L", "8.85 L"], draws=1000, seed=1)
    uncertain = measured("3.35 L", limits="0.0625 L")
    history = FluidHistory("-9 y").replace(0.375, "0 y")
    print(window.lower, window.upper, drawn.mean, drawn.shortest_interval, uncertain, history.mean_age("4 y"))
    print(balance([("3.35 L", "44 °C")]), *fresh_after(3))
    findings = [(finding.start, finding.end, finding.suggestion) for finding in check_text("Drain 5 qt (5.7 L).")]
    print(findings, *garage.refused)
    if garage.sheets:
        record = ServiceRecord.of(Job.demo(), fresh=0.776)
        print(record.next_job("4 y", "184 400 km").title, sorted(record.next_due.items()))
    return int(bool(garage.refused))


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
