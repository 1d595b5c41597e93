"""Defaults that depend on the rest of the job: each is called with the case, and with the entry if the key is in a list."""

from __future__ import annotations

from math import pi, sqrt
from typing import TYPE_CHECKING, Any

from sumpwise.errors import SumpwiseError
from sumpwise.mixing.circuit.compartments import UNIFORM
from sumpwise.quantities import notation
from sumpwise.quantities.boundary import inside
from sumpwise.quantities.normalising import without_about
from sumpwise.service.dates import age_in_years
from sumpwise.service.keys import COMMON, UNPUBLISHED, UNSAID, Default, Doubt
from sumpwise.service.kinds import Kind
from sumpwise.torque import GUARANTEED, permissible_deviation
from sumpwise.uncertainty import nominal

if TYPE_CHECKING:
    from sumpwise.service.filled import Filled

MOST_OF_A_PACK = 1.5
"""Litres in one portion at the outlet if packs are larger."""


def fluid_age(case: Filled, entry: dict[str, Any]) -> Default:
    """The age of the vehicle, or the time since the first change listed."""
    if case.job.has("vehicle", "age"):
        return Default(case.job.text("vehicle", "age"), "as old as the vehicle: no age was written")
    if case.job.has("history"):
        oldest = max((case.ago(one) for one in case.job.entries("history")), default=0.0)
        return Default(f"{age_in_years(oldest):g} y", "new at the first change listed: no age was written")
    return Default("0 y", "new: no age was written")


def level_check(case: Filled, entry: dict[str, Any]) -> Default:
    """The usual check of this kind of unit."""
    return Default(case.kind.level_check, "usual in such a unit")


def cooler_line(case: Filled, entry: dict[str, Any]) -> Default:
    """Whether this kind of unit has a pump."""
    return Default(case.kind.pumped, "usual in such a unit")


def total(case: Filled, entry: dict[str, Any]) -> Default:
    """From what drains, else by the kind of unit."""
    drains = None
    if case.job.has("capacity", "plug_drain"):
        drains = nominal(case.job.value("capacity", "plug_drain")) + nominal(case.job.value("capacity", "pan_and_filter", 0.0))
    return usual_total(case.kind, drains)


def usual_total(kind: Kind, drains: float | None) -> Default:
    """What such a unit usually holds; with the litres that drain, what it holds if they are the usual share."""
    if drains is not None:
        _, least, most = (float(end.partition("(")[0]) for end in kind.drains)
        low, high = (f"{drains / share:.3g} L" for share in (most, least))
        return Default("", "by what drains, common practice: the maker's book tells you better", low, high, UNIFORM)
    low, high = kind.total
    return Default("", f"{COMMON}: the maker's book or one drain tells you better", low, high, UNIFORM)


def plug_drain(case: Filled, entry: dict[str, Any]) -> Default:
    """By the kind of unit."""
    value, low, high = case.kind.drains
    return Default(value, COMMON, low, high, of="total")


def plug_doubt(case: Filled, entry: dict[str, Any]) -> Doubt:
    """How well a stated plug drain is known: less well if fluid drains back from a converter."""
    if case.kind.pumped:
        return Doubt(0.08, "a book does not say how long it dripped, how level and warm it was, nor what drained back from the converter")
    return Doubt(0.03, "how long it dripped, and how level it was")


def pan_and_filter(case: Filled, entry: dict[str, Any]) -> Default:
    """What such pans bring while it may still come off; once the log has gone on, what it has lost before that."""
    if not case.gone_on:
        return Default("", f"{COMMON}: it depends on the pan and on how long you wait", "0.2 L", "0.8 L", UNIFORM)
    brought = case.pan_brought
    return Default(f"{brought:.4g} L", "what was in them, by the log" if brought else "the pan stayed on, by the log")


def scale(case: Filled, entry: dict[str, Any]) -> Default:
    """Half a per cent for a vessel that was checked by weighing, two for one that was not."""
    return Default("0.5 %", "no uncertainty was written") if "reads_high" in entry else Default("2 %", "nobody weighed it", "1 %", "5 %")


def least_setting(case: Filled, entry: dict[str, Any]) -> Default:
    """The torque from which the accuracy of a wrench of this size is specified."""
    try:
        most = notation.read(without_about(case.job.text("wrench", "maximum")), "torque")
        least = f"{GUARANTEED * most.value:.6g} {most.unit.symbol}"
    except SumpwiseError:  # a span
        least = f"{GUARANTEED * nominal(case.job.value('wrench', 'maximum')):.3g} N·m"
    return Default(least, "ISO 6789: good from a fifth of its range")


def deviation(case: Filled, entry: dict[str, Any]) -> Default:
    """By the size of the wrench."""
    share = permissible_deviation(inside(case.job.value("wrench", "maximum"), "torque"))
    return Default(f"{100 * float(share):g} %", f"what ISO 6789 permits for its size: {UNSAID}")


def read_to(case: Filled, entry: dict[str, Any]) -> Default:
    """From the divisions of the scale."""
    half = 0.5 * nominal(case.ask("vessel", "graduation", entry))
    return Default(f"{half / sqrt(3.0):.3g} L", "half a division either way: a meniscus, a cloudy wall, an eye above it")


def warm(case: Filled, entry: dict[str, Any]) -> Default:
    """A pour has the temperature of the new fluid; anything else is treated as cold."""
    if entry.get("event") == "poured":
        return Default(case.job.text("fluid", "temperature", "20(3) °C"), "that of the new fluid: none was written")
    return Default("20(15) °C", "treated as cold: none was written, and warm fluid is less than it looks")


def portion(case: Filled, entry: dict[str, Any]) -> Default:
    """The smallest pack."""
    smallest = min(case.packs.values(), default=None)
    return Default("1 L", "no pack is listed") if smallest is None else Default(f"{min(smallest, MOST_OF_A_PACK)!r} L", "")


def tilt(case: Filled, entry: dict[str, Any]) -> Default:
    """The slope of a floor for a vessel that is drained into, else 0."""
    return Default("0.5 deg", "a floor that slopes by one in a hundred") if case.catches(entry) else Default("0 deg", "")


def froth(case: Filled, entry: dict[str, Any]) -> Default:
    """Air bubbles in a vessel that is drained into, else 0."""
    reason = "not corrected: from none to 0.6 %, most of it has risen by the time it is read"
    return Default("0.00(35) %", reason) if case.catches(entry) else Default("0 %", "")


FILM = 1.1e-4
"""Thickness, in metres, of the film on a wall half a minute after emptying, 2/3·√(νz/gt) for 30 mm²/s and 0.25 m (Jeffreys, 1930)."""


def film(case: Filled, entry: dict[str, Any]) -> Default:
    """From the area of wall that is wetted."""
    wide = case.width(entry)
    much = max(1e6 * FILM * 1.25 * pi * wide * wide, 1.0)
    return Default(f"{much:.1f}({5 * much:.0f}) mL", "what has not run down the wall after half a minute, half more or less")


def left(case: Filled, entry: dict[str, Any]) -> Default:
    """Little if the pan comes off; if it stays on, what is below the plug."""
    if case.pan_off:
        return Default("", UNPUBLISHED, "0 L", "0.2 L", UNIFORM)
    return Default("", f"the pan stayed on; {UNPUBLISHED}", "0.2 L", "1 L", UNIFORM)
