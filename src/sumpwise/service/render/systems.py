"""Systems of units: the unit that a quantity is shown in, depending on its size, and the system that a job is written in."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from typing import Any

from sumpwise.errors import SumpwiseError, expect_choice
from sumpwise.quantities import notation
from sumpwise.quantities.normalising import without_about
from sumpwise.quantities.units import SYMBOLS, Unit
from sumpwise.service.schema import SYSTEMS

AS_WRITTEN, METRIC, US, IMPERIAL, BOTH = SYSTEMS

SMALL_TORQUE = 15.0
"""Newton metres below which a torque in pounds is one in pound-inches."""
_FL_OZ = SYMBOLS["US fl oz"].factor
_IMP_FL_OZ = SYMBOLS["imp fl oz"].factor


@dataclass(frozen=True, slots=True)
class Shown:
    """A unit as it is shown: shown = (internal - offset) / factor."""

    symbol: str
    factor: float
    offset: float = 0.0
    unit: Unit | None = None


def _of(symbol: str) -> Shown:
    unit = SYMBOLS[symbol]
    return Shown(symbol, unit.factor, unit.offset, unit)


_ANY = ""
"""The system of units that all have in common."""
_UNITS: dict[str, dict[str, Shown]] = {
    METRIC: {
        "volume": _of("L"), "temperature": _of("°C"), "interval": Shown("°C", 1.0, unit=SYMBOLS["Δ°C"]), "heating rate": _of("°C/min"),
        "torque": _of("N·m"), "length": _of("mm"), "distance": _of("km"), "flow": _of("L/min"), "density": _of("kg/m³"),
        "mass": _of("kg"), "viscosity": _of("mm²/s"), "volume growth": Shown("mL/°C", 1e-3), "length growth": Shown("mm/°C", 1.0),
    },
    US: {
        "volume": _of("US qt"), "temperature": _of("°F"), "interval": Shown("°F", 5 / 9, unit=SYMBOLS["Δ°F"]),
        "heating rate": _of("°F/min"), "torque": _of("lbf·ft"), "length": _of("in"), "distance": _of("mi"),
        "flow": _of("US qt/min"), "density": _of("lb/gal"), "mass": _of("lb"),
        "viscosity": _of("mm²/s"), "volume growth": Shown("US fl oz/°F", _FL_OZ * 1.8), "length growth": Shown("in/°F", 25.4 * 1.8),
    },
    _ANY: {
        "time": _of("y"), "angle": _of("deg"), "years": _of("y"), "hours": _of("h"), "minutes": _of("min"), "seconds": _of("s"),
    },
}  # fmt: skip
_UNITS[IMPERIAL] = _UNITS[US] | {
    "volume": _of("imp qt"), "flow": _of("imp gal/min"), "density": _of("lb/ft³"),
    "volume growth": Shown("imp fl oz/°F", _IMP_FL_OZ * 1.8),
}  # fmt: skip
"""System -> kind -> unit."""

_SMALLER: dict[str, dict[str, list[tuple[float, Shown]]]] = {
    METRIC: {"volume": [(0.1, _of("mL"))]},
    US: {"volume": [(0.236, _of("US fl oz"))], "torque": [(SMALL_TORQUE, _of("lbf·in"))]},
    IMPERIAL: {"volume": [(0.284, _of("imp fl oz"))], "torque": [(SMALL_TORQUE, _of("lbf·in"))]},
    _ANY: {"time": [(1.0, _of("s")), (120.0, _of("min")), (2880.0, _of("h"))]},
}
"""System -> kind -> smaller units from the smallest up, each with the internal value below which it is used."""

STEPS = {
    "volume": 0.01, "temperature": 1.0, "interval": 1.0, "heating rate": 0.1, "torque": 0.1, "length": 0.1, "distance": 1e6,
    "flow": 0.01, "density": 1.0, "mass": 0.01, "viscosity": 0.1, "volume growth": 1e-4, "length growth": 0.01, "time": 0.01,
    "angle": 1.0, "years": 52_596.0, "hours": 60.0, "minutes": 1.0, "seconds": 1 / 60,
}  # fmt: skip
"""Kind -> the finest step shown by default, in internal units."""

MEASURED_BY = {
    METRIC: ((0.1, _of("L")), (0.05, _of("L")), (0.01, _of("L"))),
    US: ((0.25, _of("US qt")), (1.0, _of("US fl oz")), (0.25, _of("US fl oz"))),
    IMPERIAL: ((0.25, _of("imp qt")), (1.0, _of("imp fl oz")), (0.25, _of("imp fl oz"))),
}
"""System -> the amounts that a person pours by without a scale, the coarsest first."""

LIKE = {
    "interval": "temperature", "heating rate": "temperature", "flow": "volume", "mass": "volume", "volume growth": "volume",
    "length growth": "length",
}  # fmt: skip
"""Kind that does not occur in the job -> the kind whose system it is shown in."""


@dataclass(frozen=True, slots=True)
class System:
    """The units of one reader: for each kind the system it is shown in, and a second one after it if both are wanted."""

    name: str
    by_kind: dict[str, str]
    other: str = METRIC
    second: str = ""

    def units(self, kind: str, value: float = 0.0) -> list[Shown]:
        """The unit for a value of a kind, the main one for zero; and that of the second system if both are wanted."""
        if kind in _UNITS[_ANY]:
            return [_fitting(_ANY, kind, value)]
        main = _fitting(self.by_kind.get(kind, self.other), kind, value)
        other = _fitting(self.second, kind, value) if self.second else main
        return [main] if other.symbol == main.symbol else [main, other]

    @property
    def measured_by(self) -> tuple[tuple[float, Shown], ...]:
        """The amounts that a person pours by without a scale, each as how many of which unit, the coarsest first."""
        return MEASURED_BY[self.by_kind.get("volume", self.other)]


def _fitting(system: str, kind: str, value: float) -> Shown:
    """The smallest unit that suits a value."""
    for below, unit in _SMALLER[system].get(kind, ()):
        if 0 < abs(value) < below:
            return unit
    return _UNITS[system][kind]


def system_of(unit: Unit) -> str:
    """The system that a unit belongs to."""
    return METRIC if unit.system == "SI" else unit.system


def _of_odometer(text: str) -> str:
    """The system of an odometer reading, which decides between kilometres and miles; empty if it has no single unit."""
    try:
        return system_of(notation.read(without_about(text), "length").unit)
    except SumpwiseError:  # a span
        return ""


def system_named(units: Any, job: Any) -> System:
    """The system that a caller asks for; "as written" uses the units that most values of each kind in the job have.

    Raises
    ------
    RangeError
        For an unknown system.
    """
    expect_choice(units, SYSTEMS, "units", "system of units")
    if units == BOTH:
        return System(BOTH, {}, METRIC, US)
    if units != AS_WRITTEN:
        return System(units, {}, units)
    counts: defaultdict[str, Counter[str]] = defaultdict(Counter)
    overall = Counter[str]()
    for unit in job.units:
        if unit.system:
            kind, system = "distance" if unit.symbol in ("km", "mi") else unit.kind, system_of(unit)
            counts[kind][system] += 1
            overall[system] += 1
    most = max((METRIC, US, IMPERIAL), key=lambda name: overall[name])

    def leading(count: Counter[str]) -> str:
        return max((most, METRIC, US, IMPERIAL), key=lambda name: count[name])

    by_kind = {kind: leading(count) for kind, count in counts.items()}
    if len(counts["distance"]) > 1 and job.has("vehicle", "distance"):
        by_kind["distance"] = _of_odometer(job.text("vehicle", "distance")) or by_kind["distance"]
    for kind, like in LIKE.items():
        by_kind.setdefault(kind, by_kind.get(like, most))
    return System(AS_WRITTEN, by_kind, most)
