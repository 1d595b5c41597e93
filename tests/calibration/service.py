"""One whole service, done to a world: what truly happened, and the job that a person would have written.

Compartments are stirred tanks whose *amounts* of old fluid are integrated over the volume pumped by the classic Runge-Kutta scheme.
The density of the fluid falls with temperature after the published relation for lubricating oils (API MPMS 11.1); volumes are counted
in litres at 20 °C, so that they are masses. The film that stays on a wall is Jeffreys' (1930): √(νz/gt). Nothing is taken from the
library under study.
"""

from __future__ import annotations

import math
from typing import Any

import numpy

STEP = 0.01
"""Litres pumped in one step of the integration."""
MOST_OF_IT = 0.45
"""Share of what the sump still holds that pan or filter take with them at most: the rest clings above."""


# -- the fluid


def growth(world: dict[str, Any], temperature: float) -> float:
    """Volume at a temperature over the volume at 20 °C."""

    def volume(t: float) -> float:
        a = 0.6278 / world["density"] * (1 + world["expansion_error"]) * (t - 15.0)
        return math.exp(a * (1.0 + 0.8 * a))

    return volume(temperature) / volume(20.0)


def film_thickness(world: dict[str, Any], temperature: float, height: float, seconds: float = 30.0) -> float:
    """Mean thickness in metres of the film on an upright wall, some seconds after it began to run down."""
    viscosity = world["viscosity_40"] * 1e-6 * math.exp(-0.035 * (temperature - 40.0))
    return 2 / 3 * math.sqrt(viscosity * height / (9.81 * seconds))


# -- the unit


class Unit:
    """The compartments, as amounts of all and of old fluid in litres at 20 °C."""

    def __init__(self, world: dict[str, Any]) -> None:
        self.world = world
        full = world["total"] * (1 + world["total_error"])
        self.full = full
        n, m = world["converter_tanks"], world["cooler_tanks"]
        self.n, self.m = n, m
        parts = [world["converter"] * full / n] * n + [world["cooler"] / m] * m
        parts += [world["clutches"] * full, world["pockets"] * full]
        self.sizes = numpy.array([full + world["start_error"] - sum(parts), *parts])
        self.old = self.sizes.copy()
        self.plume = 0.0  # new fluid on its way to the pump's inlet, unmixed
        self.lacking = 0.0  # what the converter has lost to the sump

    @property
    def volume(self) -> float:
        return float(self.sizes.sum()) + self.plume

    @property
    def error(self) -> float:
        """Off the target at 20 °C."""
        return self.volume - self.full

    @property
    def fresh(self) -> float:
        return 1 - float(self.old.sum()) / self.volume

    @property
    def outlet(self) -> float:
        """Old fraction at the end of the line."""
        return float(self.old[self.n + self.m] / self.sizes[self.n + self.m])

    def _leave(self, volume: float) -> None:
        """Out of the sump, plug or pan open: the plume has had time to mix."""
        self._settle()
        self.old[0] -= volume * self.old[0] / self.sizes[0]
        self.sizes[0] -= volume

    def _settle(self) -> None:
        self.sizes[0] += self.plume
        self.plume = 0.0

    def drain(self, volume: float) -> None:
        self._leave(volume)

    def pour(self, volume: float) -> None:
        first = self.world["drawn_first"] * volume
        self.plume += first
        self.sizes[0] += volume - first

    def stand(self, share: float = 1.0) -> None:
        """Engine off for long: part of the converter runs back into the sump."""
        back = min(self.world["drain_back"] * share, 0.6 * float(self.sizes[1 : 1 + self.n].sum()))
        if back <= 0:
            return
        part = back / self.n
        for i in range(1, 1 + self.n):
            moved = part * self.old[i] / self.sizes[i]
            self.old[i] -= moved
            self.sizes[i] -= part
            self.old[0] += moved
            self.sizes[0] += part
        self.lacking = back

    def start(self) -> None:
        """Engine on: the pump fills the converter before the line delivers."""
        if not self.lacking:
            return
        left, part = self.lacking, self.lacking / self.n
        quick = min(self.plume, left)
        self.plume -= quick
        rest = left - quick
        old = rest * self.old[0] / self.sizes[0]
        self.old[0] -= old
        self.sizes[0] -= rest
        for i in range(1, 1 + self.n):
            self.old[i] += old / self.n
            self.sizes[i] += part
        self.lacking = 0.0

    def pump(self, volume: float, temperature: float, closed: bool = False) -> list[float]:
        """Pump out of the open line (or round); the old fraction at its end at the start, the middle and the end of it."""
        self.start()
        bypass = self.world["bypass"] + self.world["bypass_by_warmth"] * (temperature - 50.0) / 30.0
        bypass = min(max(bypass, 0.0), 0.95)
        seen = [self.outlet]
        if closed:
            self._settle()
        half = volume / 2
        for _ in range(2):
            rest = half
            while rest > 1e-12:
                step = min(STEP if not closed else 3 * STEP, rest)
                if self.plume > 1e-12:
                    step = min(step, self.plume)
                self._advance(step, bypass, closed)
                rest -= step
            seen.append(self.outlet)
        return seen

    def _advance(self, x: float, bypass: float, closed: bool) -> None:
        quick = self.plume > 1e-12 and not closed
        size0, falls = self.sizes[0], not closed and not quick

        def rate(old: Any, gone: float) -> Any:
            return self._rate(old, size0 - gone * falls, bypass, closed, quick)

        a = rate(self.old, 0.0)
        b = rate(self.old + x / 2 * a, x / 2)
        c = rate(self.old + x / 2 * b, x / 2)
        d = rate(self.old + x * c, x)
        self.old = self.old + x / 6 * (a + 2 * b + 2 * c + d)
        if quick:
            self.plume = max(self.plume - x, 0.0)
        elif not closed:
            self.sizes[0] -= x

    def _rate(self, old: Any, sump: float, bypass: float, closed: bool, quick: bool) -> Any:
        """Change of each amount of old fluid per litre pumped."""
        n, m = self.n, self.m
        share = old / self.sizes
        share[0] = old[0] / sump
        drawn = 0.0 if quick else share[0]
        c, e = self.world["clutch_circulation"], self.world["pocket_circulation"]
        out = numpy.zeros_like(old)
        feed = numpy.concatenate(([drawn], share[1:n]))
        out[1 : 1 + n] = (1 - bypass) * (feed - share[1 : 1 + n])
        inlet = (1 - bypass) * share[n] + bypass * drawn
        feed = numpy.concatenate(([inlet], share[1 + n : n + m]))
        out[1 + n : 1 + n + m] = feed - share[1 + n : 1 + n + m]
        out[n + m + 1] = c * (share[0] - share[n + m + 1])
        out[n + m + 2] = e * (share[0] - share[n + m + 2])
        out[0] = -drawn - out[n + m + 1] - out[n + m + 2] + (share[n + m] if closed else 0.0)
        return out


# -- the tools


class Tools:
    """What a person reads, and what the readings hide."""

    def __init__(self, world: dict[str, Any], rng: Any) -> None:
        self.world, self.rng = world, rng
        w = world
        # a weighed pail reads what was found, within the stated uncertainty; one that was not weighed is trusted
        self.pail_true = 1 / (1 + w["pail_scale"])
        self.pail_said = None
        if w["pail_weighed"]:
            self.pail_said = (1 + w["pail_scale"]) * (1 + rng.normal(0, w["pail_scale_doubt"])) - 1
        self.jug_true, self.jug_said = 1 / (1 + w["jug_scale"]), None
        if w["jug_weighed"]:
            self.jug_said = (1 + w["jug_scale"]) * (1 + rng.normal(0, 0.003)) - 1
        self.held = 0.0  # true litres in the pail, at the temperature of its fluid
        self.left = 0.0  # film in the pail from before
        self.stands()

    def stands(self) -> None:
        """The pail is moved: the surface is read higher or lower at the wall, depending on the side."""
        w, area = self.world, math.pi / 4 * self.width(9.0) ** 2
        height = self.width(9.0) / 2 * math.tan(math.radians(w["tilt"])) * math.sin(self.rng.uniform(0, 2 * math.pi))
        self.tilted = height * area * 1000.0

    @staticmethod
    def width(litres: float) -> float:
        """Inside width in metres of a vessel that is as wide as high."""
        return float((4 / math.pi * litres / 1000.0) ** (1 / 3))

    def film(self, temperature: float, litres: float) -> float:
        """Litres that stay on the walls of a vessel of that size."""
        wide = self.width(litres)
        wetted = math.pi * wide * wide * 1.25
        return self.world["film"] * film_thickness(self.world, temperature, wide) * wetted * 1000.0

    def warmth(self, true: float) -> float:
        """What the thermometer says."""
        return float(true + self.world["thermometer_offset"] + self.rng.normal(0, self.world["thermometer_noise"]))

    def pail(self, true: float, temperature: float, air: float) -> float:
        """What is read on the pail with so much in it."""
        w = self.world
        grown = 1 + w["growth"] * (w["wall"] * (temperature - 20.0))
        seen = true * (1 + air) / self.pail_true / grown + self.tilted
        return max(self._read(seen, w["pail_division"]), 0.0)

    def _read(self, seen: float, division: float) -> float:
        """To the nearest twentieth of a litre or tenth of a division, with the error of the eye."""
        half = self.world["reading"] * division
        return float(round((seen + self.rng.uniform(-half, half)) / (division / 10)) * (division / 10))

    def jug(self, wanted: float, temperature: float) -> tuple[float, float]:
        """Fill a jug to a mark near what is wanted, and pour it out: the reading, and the true volume at its temperature."""
        division = self.world["jug_division"]
        said = round(wanted / (division / 2)) * (division / 2)
        held = said * self.jug_true + self.rng.uniform(-1, 1) * self.world["reading"] * division
        stays = self.film(temperature, 2.0)
        return said, max(held - stays, 0.0)


def stick(unit: Unit, world: dict[str, Any], rng: Any, temperature: float) -> float:
    """What is read on the stick, from the lower mark upwards, with the bulk at a temperature."""
    w = world
    middle = 87.0
    room = unit.full * growth(w, middle) * (1 + 3 * w["case_expansion"] * (temperature - middle))
    filled = unit.volume * growth(w, temperature) * (1 + w["stick_air"])
    length, marks = w["marks_length"], w["marks_volume"] * (1 + w["marks_error"])
    true = 0.5 * length + (filled - room) * length / marks
    return float(round(true + w["floor"] + rng.normal(0, w["repeatability"])))


# -- the work


def service(world: dict[str, Any], rng: Any, typo: bool = False) -> tuple[dict[str, Any], dict[str, Any]]:
    """Do a whole service: the job as a person writes it, and the truth."""
    w = world
    unit, tools = Unit(w), Tools(w, rng)
    log: list[dict[str, Any]] = []
    truth: dict[str, Any] = {"poured": 0.0, "drained": 0.0}
    counted = {"out": 0.0, "in": 0.0}

    def read_stick(shown: float, note: str) -> None:
        """A person waits until the thermometer shows so much; the fill as a whole is at another temperature."""
        probe = round(shown)
        bulk = 2 * probe - tools.warmth(probe) + w["bulk_offset"] + rng.normal(0, w["bulk_noise"])
        mm = stick(unit, w, rng, bulk)
        log.append({"event": "stick", "reading": f"{mm:.0f} mm", "temperature": f"{probe:.0f} °C", "note": note})

    def at_20(said: float, scale: float | None, temperature: float) -> float:
        """What a careful person makes of a reading: the book's expansion, the scale that was found."""
        return said / (1 + (scale or 0.0)) / growth(w | {"expansion_error": 0.0}, temperature)

    def pour(wanted: float) -> None:
        """Pour new fluid until so many litres at 20 °C have gone in by the jug."""
        cold = w["new_temperature"]
        probe = tools.warmth(cold)
        while wanted > 0.02:
            said, left = tools.jug(min(wanted * growth(w, cold) * (1 + (tools.jug_said or 0.0)), 2.0), cold)
            if said <= 0:
                break
            true = left / growth(w, cold)
            unit.pour(true)
            truth["poured"] += true
            by_word = at_20(said, tools.jug_said, probe)
            counted["in"] += by_word
            wanted -= by_word
            log.append({"event": "poured", "vessel": "jug", "reading": f"{said:.3f} L", "temperature": f"{probe:.0f} °C"})

    figures = _figures(unit, w)
    # before the work, hot
    low_target = 0.5 * w["marks_length"]
    read_stick(w["hot"], "before the work")
    began = (float(log[-1]["reading"].split()[0]) - low_target) * w["marks_volume"] / w["marks_length"] / growth(w, w["hot"])
    # plug
    unit.stand()
    warm = w["drain_temperature"]
    plug = (unit.sizes[0] + unit.plume) * float(rng.uniform(0.80, 0.88))
    unit.drain(plug)
    truth["drained"] += plug
    truth["plug_right"] = plug - w["start_error"]  # what it would let out with the level right
    tools.held = plug * growth(w, warm)
    probe = tools.warmth(warm)
    said = tools.pail(tools.held, warm, 0.0)
    counted["out"] += at_20(said, tools.pail_said, probe)
    log.append({"event": "drained", "vessel": "pail", "reading": f"{said:.3f} L", "temperature": f"{probe:.0f} °C", "note": "plug"})
    log.append({"event": "emptied", "vessel": "pail"})
    tools.left = tools.film(warm, 9.0)
    tools.stands()
    # pan and filter
    for what in ("tray", "filter"):
        lost = min(w[what], unit.sizes[0] * MOST_OF_IT)
        unit.drain(lost)
        truth["drained"] += lost
        guess = max(lost + rng.uniform(-1, 1) * w["loss_doubt"], 0.01)
        counted["out"] += guess
        log.append({"event": "lost", "volume": f"{guess:.2f} ± 0.05 L", "what": what, "temperature": "20 °C"})
    unit.drain(min(w["drips"], unit.sizes[0] * 0.5))
    truth["drained"] += min(w["drips"], unit.sizes[0] * 0.5)
    pour(counted["out"] - began)
    # bursts
    inside_pail = tools.left  # true litres, at the temperature of the pail's fluid
    before = 0.0
    temperature = w["first_burst_temperature"]
    mixture = temperature
    at_20_in_pail = tools.left / growth(w, warm)
    for number in range(w["bursts"]):
        volume = w["burst"] * max(1 + rng.normal(0, w["burst_spread"]), 0.6)
        volume = min(volume, unit.sizes[0] + unit.plume - 0.3)
        seen = unit.pump(volume, temperature)
        truth["drained"] += volume
        mixture = (mixture * at_20_in_pail + temperature * volume) / (at_20_in_pail + volume) - 1.0
        at_20_in_pail += volume
        inside_pail = at_20_in_pail * growth(w, mixture)
        said = tools.pail(inside_pail, mixture, w["pail_air"] * volume / at_20_in_pail)
        probe = tools.warmth(mixture)
        moment = w["when"]
        old = seen[("start", "middle", "end").index(moment)]
        eye = old * math.exp(w["observer_bias"]) * math.exp(rng.normal(0, w["match_noise"]))
        match = min(max(round(eye / 0.05) * 0.05, 0.05), 1.0)
        entry = {
            "event": "drained", "vessel": "pail", "reading": f"{said:.3f} L", "cumulative": True, "temperature": f"{probe:.0f} °C",
            "outlet_old": f"{100 * match:.0f} %", "duration": f"{volume / w['flow'] * 60 * (1 + rng.normal(0, 0.04)):.0f} s",
        }  # fmt: skip
        if w["when_stated"]:
            entry["when"] = moment
        log.append(entry)
        total = at_20(said, tools.pail_said, probe)
        out, before = total - before, total
        counted["out"] += out
        unit.stand(0.1)
        if number + 1 < w["bursts"]:
            pour(max(out, 0.1))
        else:
            pour(counted["out"] - counted["in"] - began)
        temperature += w["warming"]
    # a drive, a reading on the way, and the one that counts
    unit.pump(w["drive"] * w["drive_flow"], 80.0, closed=True)
    log.append({"event": "drive", "duration": f"{w['drive']:.0f} min"})
    read_stick(w["warm"], "on the way")
    read_stick(w["hot_again"], "settled")
    truth["balance"] = truth["poured"] - truth["drained"]
    truth["error"] = unit.error
    truth["fresh"] = unit.fresh
    truth["half"] = w["marks_volume"] * (1 + w["marks_error"]) / 2
    # what must be bought so that bottles poured out by hand give so much
    need = truth["poured"] - unit.error + w["component"] * (1 + rng.normal(0, 0.03))
    truth["need"] = need / (1 + w["bottle_fill"] - w["bottle_left"])
    truth["typo"] = _typo(log, rng) if typo else None
    return _job(w, tools, log, figures), truth


def _figures(unit: Unit, w: dict[str, Any]) -> dict[str, str]:
    """What a person expects plug and pan to let out, from whatever source, as written before the work."""
    figures = {"total": f"{w['total']:.2f} L"}
    at_target = float(unit.sizes[0]) - w["start_error"]
    plug = {
        "what drains": 0.84 * (at_target + w["drain_back"]), "a book": 0.84 * at_target, "a rule of thumb": 0.37 * w["total"], "none": 0.0,
    }[w["plug_figure"]]  # fmt: skip
    if plug:
        figures["plug_drain"] = f"{plug / (1 + w['plug_figure_error']):.1f} L"
    left = 0.16 * (at_target + w["drain_back"])
    tray = min(w["tray"], MOST_OF_IT * left)
    figures["pan_and_filter"] = f"{(tray + min(w['filter'], MOST_OF_IT * (left - tray))) / (1 + w['pan_figure_error']):.2f} L"
    return figures


def _typo(log: list[dict[str, Any]], rng: Any) -> int:
    """One litre too much or too little in one entry; its number in the log, from 1."""
    able = [i for i, e in enumerate(log) if "vessel" in e and "reading" in e]
    last = max(i for i in able if log[i].get("cumulative"))
    able = [i for i in able if not log[i].get("cumulative") or i == last]
    chosen = able[int(rng.integers(len(able)))]
    read = float(log[chosen]["reading"].split()[0])
    wrong = read + (1.0 if rng.random() < 0.5 or read < 1.2 else -1.0)
    log[chosen]["reading"] = f"{wrong:.3f} L"
    return chosen + 1


def _job(w: dict[str, Any], tools: Tools, log: list[dict[str, Any]], figures: dict[str, str]) -> dict[str, Any]:
    pail: dict[str, Any] = {"name": "pail", "graduation": f"{w['pail_division']:g} L", "holds": "14 L"}
    if tools.pail_said is not None:
        pail |= {"reads_high": f"{100 * tools.pail_said:.2f} %", "scale_uncertainty": f"{100 * w['pail_scale_doubt']:.1f} %"}
    if w["growth_stated"]:
        pail["material_growth"] = round(w["growth"], 5)
    jug: dict[str, Any] = {"name": "jug", "graduation": f"{w['jug_division']:g} L", "holds": "2 L"}
    if tools.jug_said is not None:
        jug |= {"reads_high": f"{100 * tools.jug_said:.2f} %", "scale_uncertainty": "0.3 %"}
    return {
        "format": "sumpwise job", "version": 1, "title": "drawn",
        "vehicle": {"name": "example wagon", "age": "9 y", "interval_time": "4 y"},
        "capacity": figures,
        "fluid": {"density_15": f"{w['density']:.0f} kg/m³", "temperature": f"{w['new_temperature']:.0f} °C"},
        "component": [{"name": "transfer case", "volume": f"{w['component']:.2f} L"}],
        "vessel": [pail, jug],
        "level": {"marks_volume": f"{w['marks_volume']:.2f} L", "marks_length": f"{w['marks_length']:g} mm", "window": "82–92 °C"},
        "exchange": {"burst": f"{w['burst']:.2f} L", "bursts": w["bursts"], "trim": "0.1 L", "flow": f"{w['flow']:.1f} L/min"},
        "shopping": {"currency": "coins", "risk": w["risk"]},
        "pack": [{"name": "bottle", "volume": "1 L", "price": 9.9}, {"name": "half", "volume": "0.5 L", "price": 6.0}],
        "target": {"fresh": f"{100 * w['target']:.0f} %", "method": "bursts"},
        "log": log,
    }  # fmt: skip
