"""The worlds of the study: what is drawn for each service, from which range, and why that range.

A world is a plain dict of numbers. Four kinds are drawn. `ideal`: things and people without faults beyond a vessel's scale and the
rounding of a reading. `assumed`: every fault has the distribution that the library takes by default. `realistic`: ranges of the trade,
chosen without regard to those defaults. `misspecified`: outside them, to see what breaks first. Nothing here knows the library.
"""

from __future__ import annotations

from typing import Any, NamedTuple

KINDS = ("ideal", "assumed", "realistic", "misspecified")


class Fixed(NamedTuple):
    """One value."""

    value: Any

    def draw(self, rng: Any) -> Any:
        return self.value

    def __str__(self) -> str:
        return f"{self.value:g}" if isinstance(self.value, (int, float)) else str(self.value)


class Uniform(NamedTuple):
    """Any value between two limits."""

    low: float
    high: float

    def draw(self, rng: Any) -> float:
        return float(rng.uniform(self.low, self.high))

    def __str__(self) -> str:
        return f"{self.low:g} to {self.high:g}"


class LogUniform(NamedTuple):
    """Any value between two limits, every factor as likely."""

    low: float
    high: float

    def draw(self, rng: Any) -> float:
        return float(self.low * (self.high / self.low) ** rng.random())

    def __str__(self) -> str:
        return f"{self.low:g} to {self.high:g}, logarithmic"


class Normal(NamedTuple):
    """Around a mean."""

    mean: float
    sd: float

    def draw(self, rng: Any) -> float:
        return float(rng.normal(self.mean, self.sd))

    def __str__(self) -> str:
        return f"{self.mean:g} ± {self.sd:g}"


class Choice(NamedTuple):
    """One of a few, all alike; repeat one to make it likelier."""

    values: tuple[Any, ...]

    def draw(self, rng: Any) -> Any:
        return self.values[int(rng.integers(len(self.values)))]

    def __str__(self) -> str:
        return " or ".join(dict.fromkeys(f"{v:g}" if isinstance(v, (int, float)) else str(v) for v in self.values))


class Row(NamedTuple):
    """One quantity of a world: its unit, its range in each kind of world, and the reason for the realistic one."""

    unit: str
    ideal: Any
    assumed: Any
    realistic: Any
    misspecified: Any
    reason: str


def same(unit: str, one: Any, reason: str) -> Row:
    """A quantity that all kinds of worlds draw alike."""
    return Row(unit, one, one, one, one, reason)


TABLE: dict[str, Row] = {
    # -- the unit
    "total": same("L", Uniform(7.0, 11.0), "books of automatics with a pan give 7 to 11 L in all"),
    "total_error": Row("1", Normal(0, 0.02), Normal(0, 0.02), Normal(0, 0.02), Uniform(-0.08, 0.05),
        "tolerances of castings, printed to a tenth; misspecified: the figure of another variant"),
    "converter": Row("of total", Uniform(0.25, 0.35), Uniform(0.25, 0.35), Uniform(0.22, 0.37), Uniform(0.15, 0.45),
        "common practice 25 to 35 %, a little wider"),
    "cooler": Row("L", Uniform(0.3, 0.8), Uniform(0.3, 0.8), Uniform(0.25, 0.9), Uniform(0.2, 1.5),
        "common practice 0.3 to 0.8 L, a little wider; misspecified: an auxiliary cooler nobody mentions"),
    "clutches": Row("of total", Uniform(0.05, 0.13), Uniform(0.05, 0.13), Uniform(0.04, 0.14), Uniform(0.02, 0.2),
        "pistons, drums and passages of five to six clutches"),
    "pockets": Row("of total", Uniform(0.05, 0.17), Uniform(0.05, 0.17), Uniform(0.04, 0.18), Uniform(0.02, 0.25),
        "what stays in corners, the valve body and the final drive"),
    "bypass": Row("1", Uniform(0, 0.6), Uniform(0, 0.6), Uniform(0, 0.6), Uniform(0, 0.8),
        "some circuits feed the cooler from the regulator, some from the converter alone"),
    "bypass_by_warmth": Row("per 30 °C", Fixed(0.0), Normal(0, 0.1), Normal(0, 0.1), Uniform(-0.4, 0.4),
        "thin fluid leaks more past the regulator; the sign depends on the circuit"),
    "clutch_circulation": Row("per L", Uniform(0.05, 0.5), Uniform(0.05, 0.5), Uniform(0.05, 0.5), Uniform(0.02, 1.0),
        "leakage of seal rings against cooler flow"),
    "pocket_circulation": Row("per L", LogUniform(0.003, 0.1), LogUniform(0.003, 0.1), LogUniform(0.003, 0.1), LogUniform(0.001, 0.3),
        "splash; known to a factor of ten at best"),
    "converter_tanks": Row("", Fixed(1), Choice((1, 2, 3)), Choice((1, 2, 3)), Choice((1, 2, 4, 8)),
        "a stirred torus is one tank; a locked one with a baffle behaves as two or three"),
    "cooler_tanks": Row("", Fixed(4), Fixed(4), Choice((3, 4, 6, 8)), Choice((1, 2, 12)),
        "long narrow tubes are near to plug flow, tanks of a radiator are not"),
    "drain_back": Row("L", Fixed(0.0), Uniform(0, 0.5), Uniform(0, 0.5), Uniform(0, 1.2),
        "an hour on stands lets part of the converter run back through the cooler circuit and seal rings"),
    "drawn_first": Row("of a pour", Fixed(0.0), Uniform(0, 0.4), Choice((0.0, 0.1, 0.2, 0.3, 0.4)), Uniform(0.3, 0.7),
        "the filler tube ends beside the filter's inlet in some pans, far from it in others"),
    "start_error": same("L", Normal(-0.10, 0.15), "a fill that has seeped a little since it left the works"),
    # -- the fluid
    "density": same("kg/m³", Uniform(840, 855), "data sheets of automatic transmission fluids"),
    "expansion_error": Row("1", Fixed(0.0), Fixed(0.0), Normal(0, 0.03), Uniform(-0.10, 0.12),
        "the relation is a mean over lubricating oils; base stocks of one density differ by a few per cent"),
    "viscosity_40": same("mm²/s", Uniform(22, 35), "data sheets, low to conventional"),
    "new_temperature": same("°C", Uniform(12, 25), "an unheated garage"),
    # -- temperatures
    "drain_temperature": same("°C", Uniform(35, 60), "warm enough to run, cool enough to touch"),
    "first_burst_temperature": same("°C", Uniform(35, 45), "an hour later, new fluid in"),
    "warming": same("°C a burst", Uniform(2, 4.5), "20 s of idling and five minutes of pause"),
    "hot": same("°C", Uniform(82, 92), "inside the check window"),
    "hot_again": same("°C", Uniform(82, 92), "inside the check window"),
    "warm": same("°C", Uniform(55, 75), "after a short drive, outside the window"),
    "thermometer_offset": Row("°C", Fixed(0.0), Fixed(0.0), Normal(0, 1.2), Uniform(-5, 5),
        "consumer probes and infrared guns: ±2 °C in their manuals"),
    "thermometer_noise": Row("°C", Fixed(1.0), Fixed(1.0), Uniform(0.5, 1.5), Fixed(3.0), "where the probe is held, and when"),
    "bulk_offset": Row("°C", Fixed(0.0), Normal(0, 3.0), Normal(0, 3.0), Uniform(-10, 4),
        "the probe sits in the sump or at the pan; converter, cooler and case are warmer or cooler: the same way each time"),
    "bulk_noise": Row("°C", Fixed(0.0), Fixed(1.5), Fixed(1.5), Fixed(4.0), "how long it idled before the reading"),
    # -- pail
    "pail_division": same("L", Choice((0.25, 0.5)), "moulded scales"),
    "pail_weighed": same("", Choice((True, True, False)), "two in three follow the advice to weigh it with water"),
    "pail_scale_doubt": same("1", Choice((0.004, 0.005, 0.006)), "a kitchen scale and a mark of finite width"),
    "pail_scale": same("1", Normal(0.0, 0.02), "common practice 1 to 5 %"),
    "growth": Row("per °C", Fixed(0.0), Normal(3.0e-4, 1.7e-4), Choice((0.35e-4, 3.0e-4, 3.5e-4, 4.0e-4, 4.5e-4)), Choice((0.0, 6e-4)),
        "cubic: steel 0.35e-4, polypropylene 3 to 4.5e-4, polyethylene to 6e-4, handbooks"),
    "growth_stated": Row("", Fixed(False), Fixed(False), Choice((True, False)), Fixed(False), "the job may say the material"),
    "wall": Row("1", Fixed(1.0), Fixed(1.0), Uniform(0.7, 1.0), Uniform(0.4, 1.0),
        "the wall is between fluid and air: film coefficients 50 inside against 8 W/m²K outside"),
    "tilt": Row("deg", Fixed(0.0), Fixed(0.5), Uniform(0.1, 0.9), Uniform(1.0, 3.0),
        "a garage floor falls by 1 in 100 to 1 in 60 towards its drain"),
    "reading": Row("divisions", Fixed(0.25), Fixed(0.5), Choice((0.3, 0.4, 0.5)), Fixed(1.0),
        "half-width of a reading: a meniscus, a translucent wall, an eye above it"),
    "pail_air": Row("1", Fixed(0.0), Normal(0, 0.0035), Uniform(0.0, 0.006), Uniform(0.01, 0.03),
        "a burst froths; most has risen when the pail is read"),
    "film": Row("1", Fixed(0.0), Normal(1.0, 0.5), Uniform(0.6, 1.4), Uniform(0.0, 3.0),
        "times the film that drains down a wall in 30 s, after Jeffreys: √(νz/gt)"),
    # -- jug
    "jug_division": same("L", Choice((0.05, 0.1)), "measuring jugs of 2 L"),
    "jug_weighed": same("", Choice((True, False)), "half of them check it on the kitchen scale"),
    "jug_scale": same("1", Normal(0.0, 0.02), "kitchen and paint jugs"),
    # -- what gets lost
    "tray": same("L", Uniform(0.15, 0.5), "what the pan holds after the plug has run dry"),
    "filter": same("L", Uniform(0.05, 0.25), "what a filter keeps"),
    "loss_doubt": Row("L", Fixed(0.05), Fixed(0.05), Fixed(0.05), Fixed(0.15), "half-width of the guess that is written as ± 0.05 L"),
    "plug_figure": Row("", Fixed("what drains"), Fixed("what drains"), Choice(("a book", "a book", "none")), Fixed("a rule of thumb"),
        "two in three find a figure for such a unit; misspecified: 37 % of the total, written down as if it were known"),
    "plug_figure_error": Row("1", Fixed(0.0), Normal(0, 0.08), Normal(0, 0.06), Fixed(0.0),
        "a book does not say how level it stood, how warm it was and how long it dripped; it knows nothing of a converter that runs back"),
    "pan_figure_error": Row("1", Fixed(0.0), Normal(0, 0.25), Uniform(-0.4, 0.4), Uniform(-0.8, 1.0),
        "what pan and filter keep is in no book: a guess from another vehicle"),
    "bottle_fill": Row("1", Fixed(0.0), Fixed(0.0), Normal(0.002, 0.004), Normal(0.0, 0.01),
        "Directive 76/211/EEC: a batch is not below its print on average, and few bottles are short by more than 1.5 %"),
    "bottle_left": Row("1", Fixed(0.0), Fixed(0.0), Uniform(0.003, 0.012), Uniform(0.0, 0.03),
        "a film of 0.12 mm on the 5 to 6 dm² of a litre bottle, by the formula for a jug's"),
    "drips": Row("L", Fixed(0.0), Fixed(0.0), Uniform(0.0, 0.04), Uniform(0.05, 0.3),
        "rags, funnel, the hose when it comes off; nobody writes it down"),
    # -- stick
    "marks_volume": same("L", Uniform(0.3, 0.5), "common practice 0.25 to 0.5 L between the hot marks"),
    "marks_length": same("mm", Choice((10.0, 12.0, 13.0, 15.0, 18.0)), "sticks as they are made"),
    "marks_error": Row("1", Fixed(0.0), Normal(0, 0.05), Normal(0, 0.05), Uniform(-0.3, 0.3), "marks and sump walls as cast"),
    "repeatability": Row("mm", Fixed(0.0), Fixed(1.5), Uniform(1.0, 2.0), Uniform(2.0, 5.0),
        "fluid creeps up a stick; one pulled three times shows it"),
    "floor": Row("mm", Fixed(0.0), Normal(0, 1.7), Normal(0, 1.5), Uniform(-8, 8),
        "a fall of 1 in 100 over 100 to 200 mm from the middle of the sump"),
    "stick_air": Row("1", Fixed(0.0), Normal(0, 0.002), Normal(0, 0.002), Uniform(0.0, 0.015),
        "entrained air against what the maker's marks were made with"),
    "case_expansion": Row("per °C", Fixed(23e-6), Fixed(23e-6), Uniform(21e-6, 24e-6), Choice((9e-6, 26e-6)),
        "casting alloys; misspecified: magnesium, iron"),
    # -- the eye
    "observer_bias": Row("1", Normal(0, 0.10), Normal(0, 0.10), Normal(0, 0.10), Normal(0, 0.25), "one eye, one lamp, one set of vials"),
    "match_noise": Row("1", Fixed(0.05), Fixed(0.05), Uniform(0.03, 0.07), Fixed(0.12), "the same vial matched twice"),
    "when": Row("", Fixed("end"), Choice(("start", "middle", "end")), Choice(("start", "middle", "end", "end")), Choice(("start",)),
        "when the sample is taken from the hose"),
    "when_stated": Row("", Fixed(False), Fixed(False), Choice((True, False)), Fixed(False), "half of them write it down"),
    # -- the work
    "bursts": same("", Choice((4, 5, 6, 7, 8)), "five to ten litres through the line"),
    "burst": same("L", Uniform(0.9, 1.2), "what the reserve allows"),
    "burst_spread": same("1", Fixed(0.06), "seconds counted by mouth"),
    "flow": same("L/min", Uniform(2.5, 4.5), "hot idle cooler flow, common practice 3 to 4 L/min"),
    "drive": Row("min", Fixed(240.0), Uniform(15, 40), Uniform(10, 40), Uniform(2, 10), "round the block, through the gears"),
    "drive_flow": same("L/min", Uniform(4.0, 9.0), "the pump turns twice to three times as fast as at idle"),
    "target": same("1", Uniform(0.60, 0.85), "what people ask for"),
    "risk": same("1", Choice((0.01, 0.05, 0.1, 0.2, 0.3, 0.4)), "so that every stated chance is looked at"),
    "component": same("L", Uniform(0.6, 1.2), "a transfer case of the same fluid"),
}  # fmt: skip
"""Name -> its row."""


SCEPTIC: dict[str, tuple[Any, str]] = {
    "floor": (Uniform(-4, 4), "a drive that falls by one in fifty, the stick at the side of the sump"),
    "pail_division": (Choice((0.2, 0.5, 1.0)), "a builder's bucket, a demijohn, a drain pan with litres only"),
    "growth": (Choice((0.35e-4, 1.5e-4, 5e-4)), "enamel, glass-filled nylon, soft polyethylene"),
    "tilt": (Uniform(0.2, 1.5), "on gravel"),
    "pail_air": (Uniform(0.0, 0.01), "read while it froths"),
    "thermometer_offset": (Uniform(-4, 1), "held to the wall of the pail, which is cooler than the fluid"),
    "bulk_offset": (Uniform(-6, 4), "read soon after the engine was started, or after a climb"),
    "converter_tanks": (Fixed(1), "fully stirred"),
    "drain_back": (Uniform(0, 1), "on stands overnight"),
    "drive": (Uniform(5, 20), "round the block"),
    "flow": (Uniform(1.5, 6), "another pump, another cooler"),
    "marks_error": (Normal(0, 0.08), "a stick of another year"),
    "repeatability": (Uniform(1, 3), "a stick in a bent tube"),
    "density": (Uniform(832, 862), "other base stocks"),
    "jug_division": (Choice((0.1, 0.25)), "a kitchen jug with few marks"),
    "match_noise": (Uniform(0.04, 0.09), "by the light of a hand lamp"),
    "total": (Uniform(5.5, 12.5), "from a small car to a van"),
    "bursts": (Choice((3, 5, 7, 9)), "as long as the fluid lasts"),
}
"""What somebody who doubts the study would draw instead: name -> range, reason. Written down before its first run, and run once."""


def doubted(rng: Any) -> dict[str, Any]:
    """One world as a sceptic draws it; everything not named is realistic."""
    return drawn("realistic", rng) | {name: spread.draw(rng) for name, (spread, _) in SCEPTIC.items()}


def drawn(kind: str, rng: Any, **fixed: Any) -> dict[str, Any]:
    """One world of a kind; what is given by name is fixed at that."""
    world = {name: getattr(row, kind).draw(rng) for name, row in TABLE.items()}
    return world | fixed
