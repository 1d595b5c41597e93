"""Why poured and drained differ: each cause on its own, their combined effect, and what remains unexplained."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from sumpwise import uncertainty
from sumpwise._display import Displayed
from sumpwise.errors import printable
from sumpwise.filling.lines import Line, add_to


class Cause(NamedTuple):
    """One cause of a difference: what it contributes to the sum, and how well that is known."""

    cause: str
    value: Any
    standard_uncertainty: Any


class Origin(NamedTuple):
    """Where an uncertainty comes from.

    Attributes
    ----------
    role : str
        "reading", "scale", "tilt", "growth", "air", "residue" of a vessel; "thermometer"; "temperature" (or the density); "lost", for an
        estimated loss; "start" and "level" of the unit.
    whose : str
        Name of the vessel or thermometer, or of what was lost; for the others, the name of the source in a budget.
    kind : str
        The kind of entry: "drained", "poured", "lost", "started"; empty for a level.
    reading : float
        Litres read.
    amount : str
        The same as text, in the vessel's own unit.
    """

    role: str
    whose: str
    kind: str = ""
    reading: float = 0.0
    amount: str = ""


class Contribution(NamedTuple):
    """The contribution of one source to the balance: its standard uncertainty, and its share of the variance."""

    doubt: Origin
    standard_uncertainty: Any
    share: float


class BestMeasurement(NamedTuple):
    """The one measurement that would help most: what it concerns, what to do, the uncertainty it would leave, and the source it settles."""

    source: str
    advice: str
    would_leave: Any
    doubt: Origin | None = None


@dataclass(frozen=True, slots=True)
class Explanation(Displayed):
    """Poured minus drained, split into its causes.

    Attributes
    ----------
    raw : Quantity
        Poured minus drained and lost, as read, without corrections for temperature or scale.
    rows : tuple of Cause
        The readings of the vessels, temperature alone, vessel scale alone, both together, what was lost, start level, level found. They
        add up to `rest`.
    balance : Quantity
        Poured minus drained and lost, at the reference temperature; uncertain.
    rest : Quantity
        What no cause explains, if the level now is as given; uncertain.
    z : float
        The rest divided by its standard uncertainty. Beyond 2, look for a mistake. Infinite if the rest has no uncertainty at all.
    best : BestMeasurement
        The one measurement that would reduce the uncertainty of the rest most.
    assumption : str
        What was assumed, or an empty text.
    portions : tuple of Contribution
        The contribution of each source to the balance, largest first.
    """

    raw: Any
    rows: tuple[Cause, ...]
    balance: Any
    rest: Any
    z: float
    best: BestMeasurement
    assumption: str = ""
    portions: tuple[Contribution, ...] = field(default=(), repr=False)

    def part(self, cause: str) -> Any:
        """The value of one row, or zero if there is no such row."""
        values = [row.value for row in self.rows if row.cause == cause]
        return sum(values[1:], start=values[0]) if values else 0 * self.raw

    def _table(self) -> tuple[list[str], list[list[str]]]:
        rows = [
            [printable(row.cause), f"{_bare(row.value):+.3f}", f"± {_bare(row.standard_uncertainty):.3f}"] for row in self.rows
        ]
        rest = self.rest.magnitude
        rows.append(["unexplained", f"{uncertainty.nominal(rest):+.3f}", f"± {uncertainty.standard(rest):.3f}"])
        return ["cause", f"{self.raw.units}", "standard uncertainty"], rows

    def _below(self) -> list[str]:
        granted = [f"assumed: {self.assumption}"] if self.assumption else []
        best = f"best next measurement: {self.best.advice} (would leave ± {_bare(self.best.would_leave):.3f})"
        return [f"z = {self.z:+.1f}", *granted, best]

    def __str__(self) -> str:
        _, rows = self._table()
        z, *below = self._below()
        lines = [f"{cause:<32}{value:>8} {doubt}" for cause, value, doubt in rows]
        return "\n".join(map(printable, [*lines[:-1], f"{lines[-1]} {self.raw.units}, {z}", *below]))


def _bare(value: Any) -> float:
    return float(value.magnitude)


TEMPERATURE, SCALE, TOGETHER = "temperature", "vessel scale", "temperature and scale together"
DENSITY = "density"
"""Role of the error of a density by which fluid was weighed."""
READINGS, START, LEVEL = "as read, poured - drained", "start level", "level found"

ADVICE = {
    "scale": "weigh water in the {}",
    "tilt": "stand the {} level",
    "growth": "read the {} when it is cool, or say what it is made of",
    "air": "let the foam in the {} settle before you read it",
    "residue": "weigh what stays behind in the {}",
}
"""Role of a vessel's error -> the measurement that settles it."""


def explained(lines: list[Line], level: Any, seen: bool, answer: Callable[[Any], Any]) -> Explanation:
    """Split the difference over the lines that count; `level` is in litres, `answer` makes Quantities."""
    started = [line for line in lines if line.kind == "started"]
    counted = [line for line in lines if line.kind not in ("started", "emptied")]
    vessels = [line for line in counted if line.kind != "lost"]
    balance = math.fsum(line.value for line in counted)
    raw = math.fsum(line.as_read for line in counted)
    temperature, scale = math.fsum(line.by_temperature for line in counted), math.fsum(line.by_vessel for line in counted)
    together = math.fsum([balance, -raw, -temperature, -scale])
    spread: dict[str, dict[Any, float]] = {}
    everything: dict[Any, float] = {}
    doubts: dict[Any, Origin] = {}
    for line in counted:
        for source, size in line.contributions().items():
            row = _row(line, source)
            add_to(spread.setdefault(row, {}), source, size)
            add_to(everything, source, size)
            if source not in doubts:
                doubts[source] = _doubt(line, row, source)
    own = dict(everything)
    for line in started:
        for source, size in line.shared.items():
            add_to(everything, source, size)
            add_to(spread.setdefault(START, {}), source, size)
            doubts.setdefault(source, Origin("start", _named(source), line.kind))
    for source, size in uncertainty.contributions(level):
        add_to(everything, source, -size)
        add_to(spread.setdefault(LEVEL, {}), source, -size)
        doubts.setdefault(source, Origin("level", _named(source)))

    def cause(name: str, value: float) -> Cause:
        return Cause(name, answer(value), answer(_size(spread.get(name, {}))))

    rows = [cause(READINGS, math.fsum(line.as_read for line in vessels))]
    rows += [cause(TEMPERATURE, temperature), cause(SCALE, scale), cause(TOGETHER, together)]
    for name in dict.fromkeys(line.label for line in counted if line.kind == "lost"):
        rows.append(cause(name, math.fsum(line.as_read for line in counted if line.kind == "lost" and line.label == name)))
    rest = balance
    if started:
        rest += uncertainty.nominal(started[0].reading)
        rows.append(cause(START, uncertainty.nominal(started[0].reading)))
    if seen:
        rest -= uncertainty.nominal(level)
        rows.append(cause(LEVEL, -uncertainty.nominal(level)))
    u = _size(everything)
    assumed = [] if seen else ["the level is now on the target"]
    assumed += [] if started else ["it was on the target before the work"]
    return Explanation(
        answer(raw), tuple(rows), answer(uncertainty.contributed(balance, own)), answer(uncertainty.contributed(rest, everything)),
        rest / u if u else math.copysign(math.inf, rest) if rest else 0.0, _best(everything, doubts, u, answer), " and ".join(assumed),
        _portions(own, doubts, answer),
    )  # fmt: skip


def _row(line: Line, source: Any) -> str:
    """The row that a source belongs to."""
    role = getattr(source, "role", "")
    if role in ("scale", "residue"):
        return SCALE
    if role == DENSITY:
        return TEMPERATURE
    if source in dict(uncertainty.contributions(line.reading)):
        return line.label if line.kind == "lost" else READINGS
    return READINGS if role in ("reading", "tilt", "air") else TEMPERATURE


def _doubt(line: Line, row: str, source: Any) -> Origin:
    """Where the uncertainty of a source comes from."""
    role = getattr(source, "role", "")
    if role in ADVICE:
        return Origin(role, source.vessel, line.kind)
    if source is line.gauge:
        return Origin("thermometer", source.tag, line.kind)
    if row == READINGS and line.vessel is not None:
        read = uncertainty.nominal(line.reading)
        return Origin("reading", line.vessel.name, line.kind, read, line.vessel._shown(read))
    return Origin("temperature", _named(source), line.kind) if row == TEMPERATURE else Origin("lost", line.label, line.kind)


def _advice(doubt: Origin) -> str:
    """The measurement that would settle an uncertainty."""
    did = "caught" if doubt.kind == "drained" else "gave"
    ways = ADVICE | {
        "thermometer": "check the {} against another one", "reading": f"weigh what the {{}} {did} ({doubt.amount})",
        "temperature": "measure the temperature or the density more accurately ({})", "lost": "weigh it: {}",
        "start": "read the level before the work more accurately ({})", "level": "read the level again ({})",
    }  # fmt: skip
    return ways[doubt.role].replace("{}", doubt.whose)


def _portions(own: dict[Any, float], doubts: dict[Any, Origin], answer: Callable[[Any], Any]) -> tuple[Contribution, ...]:
    """The contribution of each source to the balance, largest first."""
    variance = math.fsum(size * size for size in own.values())
    largest = sorted(own, key=lambda source: -abs(own[source]))
    return tuple(Contribution(doubts[s], answer(abs(own[s])), own[s] ** 2 / variance if variance else 0.0) for s in largest)


def _named(source: Any) -> str:
    return source.tag or "unnamed"


def _size(parts: dict[Any, float]) -> float:
    return math.sqrt(math.fsum(size * size for size in parts.values()))


def _best(parts: dict[Any, float], doubts: dict[Any, Origin], u: float, answer: Callable[[Any], Any]) -> BestMeasurement:
    if not u:
        return BestMeasurement("nothing", "nothing: every reading is exact", answer(0.0))
    source = max(parts, key=lambda s: abs(parts[s]))
    left = math.sqrt(max(math.fsum(size * size for s, size in parts.items() if s is not source), 0.0))
    return BestMeasurement(_named(source), _advice(doubts[source]), answer(left), doubts[source])
