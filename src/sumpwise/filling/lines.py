"""The lines of a ledger: what each means in litres at the reference temperature, and its uncertainties."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from sumpwise import uncertainty
from sumpwise.errors import RangeError
from sumpwise.filling.vessel import Vessel
from sumpwise.fluid.density import REFERENCE, volume_correction_factor

SIGNS = {"poured": 1.0, "drained": -1.0, "lost": -1.0, "started": 0.0}
"""Kind of line -> how it counts in poured minus drained."""


class Fluid:
    """The fluid of a ledger: its density at 15 °C and the temperature at which volumes are compared."""

    __slots__ = ("_base", "density", "plain", "reference")

    def __init__(self, density: Any, reference: float) -> None:
        self.density = density
        self.plain = uncertainty.nominal(density)
        self.reference = reference
        self._base = volume_correction_factor.kernel(reference, self.plain)

    def factor(self, temperature: float) -> float:
        """Volume at the reference temperature over volume at `temperature`."""
        return float(volume_correction_factor.kernel(temperature, self.plain) / self._base)

    def by_density(self, temperature: float) -> float:
        """Derivative of the factor to the density at 15 °C."""
        step = 1e-3 * self.plain
        up, down = (
            volume_correction_factor.kernel(temperature, rho) / volume_correction_factor.kernel(self.reference, rho)
            for rho in (self.plain + step, self.plain - step)
        )
        return float((up - down) / (2 * step))


class Line:
    """One line of a ledger. Built once and never changed; `running` is the balance after it.

    Attributes
    ----------
    kind, vessel, what, cumulative, thermometer, weighed
        As entered.
    reading, temperature : float or uncertain number
        In litres and °C, as read; a temperature of None means the reference.
    value : float
        What it adds to poured minus drained, litres at the reference temperature.
    as_read, by_temperature, by_vessel : float
        The reading with its sign; how much temperature alone changes it, and vessel scale and residue alone.
    own : list
        Uncertainties of this line alone: (size in the unit of `value`, shape, name).
    shared : dict
        Source -> signed contribution.
    gauge : Source, optional
        The error of the named thermometer.
    """

    __slots__ = (
        "_parts", "as_read", "by_temperature", "by_vessel", "cumulative", "gauge", "kind", "own", "reading", "running", "shared",
        "temperature", "thermometer", "uid", "value", "vessel", "weighed", "what",
    )  # fmt: skip

    def __init__(
        self, kind: str, vessel: Vessel | None = None, reading: Any = 0.0, temperature: Any = None, cumulative: bool = False,
        thermometer: str | None = None, what: str = "", weighed: bool = False,
    ) -> None:  # fmt: skip
        self.kind = kind
        self.vessel = vessel
        self.reading = reading
        self.temperature = temperature
        self.cumulative = cumulative
        self.thermometer = thermometer
        self.what = what
        self.weighed = weighed
        self.uid = uncertainty.new_uid()
        self.value = self.as_read = self.by_temperature = self.by_vessel = 0.0
        self.own: list[tuple[float, str, str]] = []
        self.shared: dict[Any, float] = {}
        self.gauge: Any = None
        self.running = (0.0, 0.0)
        self._parts: dict[Any, float] | None = None

    def reckon(self, fluid: Fluid, wet: bool, gauges: Mapping[str, Any] | None = None) -> Line:
        """Work out what the line means; `wet` says that the vessel already held a residue that the reading includes.

        A thermometer named in an earlier line keeps the error it has there, whatever the shape of this line's uncertainty.
        """
        sign = SIGNS[self.kind]
        plain = uncertainty.nominal(self.reading)
        if self.kind == "started":
            self.shared = dict(uncertainty.contributions(self.reading))
        if not sign:
            return self
        warm = fluid.reference if self.temperature is None else uncertainty.nominal(self.temperature)
        factor = 1.0 if self.temperature is None else fluid.factor(warm)
        if self.vessel is None or self.weighed:
            size, growth = sign * factor, 1.0
            self.value, self.by_vessel = size * plain, 0.0
        else:
            caught = self.kind == "drained"
            meaning = self.vessel._meaning(self.reading, warm, self.kind, caught=caught, wet=wet or not caught)
            size, growth = sign * meaning.each * factor, meaning.growth
            self.value = sign * factor * meaning.litres
            self.by_vessel = sign * (plain * (meaning.scale - 1.0) - meaning.residue)
            for slope, error in meaning.shared:
                self._share(error, sign * factor * slope)
            self.own = [(abs(size) * noise.size, noise.shape, noise.name) for noise in meaning.own]
        self.as_read = sign * plain
        self.by_temperature = sign * plain * (growth * factor - 1.0)
        self._share(self.reading, size)
        if self.temperature is not None:
            self._doubt_warmth(fluid, warm, factor, gauges or {})
            if fluid.density.__class__ is not float:
                self._share(fluid.density, self.value / factor * fluid.by_density(warm))
        return self

    def _share(self, error: Any, slope: float) -> None:
        """Add the effect of an error to the line."""
        if error.__class__ is float:
            return
        for source, u in uncertainty.contributions(error):
            add_to(self.shared, source, slope * u)

    def _doubt_warmth(self, fluid: Fluid, warm: float, factor: float, gauges: Mapping[str, Any]) -> None:
        if self.temperature.__class__ is float:
            return
        parts = uncertainty.contributions(self.temperature)
        gamma = self.vessel.expansion if self.vessel is not None and not self.weighed else 0.0
        gamma /= 1.0 + gamma * (warm - REFERENCE)
        h = 0.01
        slope = (fluid.factor(warm + h) * (1 + gamma * h) - fluid.factor(warm - h) * (1 - gamma * h)) / (2 * h)
        slope *= self.value / factor
        if self.thermometer is None:
            self._share(self.temperature, slope)
            return
        self.gauge = gauges.get(self.thermometer)
        if self.gauge is None:
            shape = uncertainty.shape_of(parts[0][0]) if len(parts) == 1 else "normal"
            self.gauge = uncertainty.common(f"thermometer {self.thermometer}", shape)
        self._share(self.gauge, slope * uncertainty.standard(self.temperature))

    @property
    def own_variance(self) -> float:
        """Variance that this line shares with no other."""
        return math.fsum(size * size for size, _, _ in self.own)

    def contributions(self) -> Mapping[Any, float]:
        """Source -> signed contribution, including this line's own sources, which are made when first needed."""
        if self._parts is None:
            found = dict(self.shared)
            for position, (size, shape, name) in enumerate(self.own):
                source = uncertainty.source(0.0, size, shape=shape, name=name, uid=f"{self.uid}:{position}", role="reading")
                found[source] = math.copysign(size, SIGNS[self.kind])
            self._parts = found  # whole at once: several threads may ask
        return self._parts

    @property
    def label(self) -> str:
        """The line in words."""
        if self.kind == "started":
            return "start level"
        where = f" {self.vessel.name}" if self.vessel is not None else ""
        return self.what or f"{self.kind}{where}"


def lives(lines: Sequence[Line]) -> list[int | None]:
    """For each line, the position of the cumulative reading that replaces it: that of its vessel since it was last emptied."""
    ends: list[int | None] = [None] * len(lines)
    open_at: dict[tuple[str, str], list[int]] = {}
    for position, line in enumerate(lines):
        if line.vessel is None:
            continue
        if line.kind == "emptied":
            for kind in ("drained", "poured"):
                open_at.pop((line.vessel.name, kind), None)
            continue
        before = open_at.setdefault((line.vessel.name, line.kind), [])
        if line.cumulative:
            for place in before:
                ends[place] = position
            before.clear()
        before.append(position)
    return ends


def replaced(lines: Sequence[Line]) -> list[Line]:
    """The lines that count: all but those that a cumulative reading replaces."""
    return [line for line, end in zip(lines, lives(lines), strict=True) if end is None]


def sources_of(lines: Iterable[Line]) -> dict[Any, float]:
    """Source -> signed contribution to the sum of the lines."""
    found: dict[Any, float] = {}
    for line in lines:
        for source, size in line.contributions().items():
            add_to(found, source, size)
    return found


def add_to(sums: dict[Any, float], source: Any, size: float) -> None:
    """Add what a source contributes to what it contributes so far."""
    sums[source] = sums.get(source, 0.0) + size


def added(lines: Sequence[Line]) -> dict[Any, float]:
    """Source -> signed contribution to what the last line alone adds: without the readings of its vessel that it replaces."""
    last = lines[-1]
    found = dict(last.contributions())
    if not last.cumulative or last.vessel is None:
        return found
    for line in reversed(lines[:-1]):
        if line.vessel is None or line.vessel.name != last.vessel.name:
            continue
        if line.kind == "emptied":
            break
        if line.kind == last.kind:
            for source, size in line.contributions().items():
                add_to(found, source, -size)
            if line.cumulative:
                break
    return found


def same_vessel(known: dict[str, Vessel], vessel: Any) -> Vessel:
    """The vessel, given as such or by its name; a name for two different vessels is refused."""
    if isinstance(vessel, str):
        if vessel not in known:
            raise RangeError(
                "is not yet a vessel of this ledger", code="vessel.unknown", argument="vessel", value=vessel,
                allowed=", ".join(known) or "a Vessel such as Vessel('pail', '0.5 L')",
            )  # fmt: skip
        return known[vessel]
    if not isinstance(vessel, Vessel):
        raise RangeError(
            "is not a vessel", code="value.type", argument="vessel", value=vessel, allowed="a Vessel, or the name of one used before"
        )
    before = known.get(vessel.name)
    if before is not None and before is not vessel and before != vessel:
        raise RangeError(
            f"two vessels are called {vessel.name!r}", code="name.taken", argument="vessel", value=vessel, hint="give them two names"
        )
    return before or vessel
