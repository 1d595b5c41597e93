"""What is doubtful about one reading on a vessel, and what all its readings share."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, NamedTuple

from sumpwise import uncertainty
from sumpwise.errors import RangeError
from sumpwise.filling._single import one_read
from sumpwise.quantities.boundary import answer, argument

if TYPE_CHECKING:
    from sumpwise.filling.vessel import Vessel
    from sumpwise.quantities.reading import Read

READING = argument("volume", minimum=0.0, scalar=True)

REFERENCE = 20.0
"""Temperature, °C, at which the scale of a vessel holds and the contents of a pack are defined."""


class Doubt(NamedTuple):
    """One independent doubt about a reading: its standard uncertainty in litres, how it is distributed, what a budget calls it."""

    size: float
    shape: str
    name: str


def read_on(vessel: Vessel, reading: Any, name: str) -> Read:
    """A reading, refused when it is above what the vessel holds."""
    read = one_read(READING, reading, name)
    if vessel.capacity is not None and uncertainty.nominal(read.value) > vessel.capacity * (1 + 1e-12):
        most = shown(vessel, vessel.capacity)
        raise RangeError(f"is more than the {vessel.name} holds", argument=name, value=reading, allowed=f"up to {most}")
    return read


def _error(
    vessel: Vessel, role: str, u: float, *further: float, name: str = "", shape: str = "normal", dof: float = math.inf
) -> Any:
    """An error of a vessel, around zero: one source for one name, wherever it is asked for; 0.0 when there is none."""
    uid = repr(("vessel", role, vessel.name, u, *further))
    return uncertainty.source(0.0, u, shape=shape, dof=dof, name=f"{vessel.name}, {name or role}", uid=uid, role=role, vessel=vessel.name)


def scale_error(vessel: Vessel) -> Any:
    """The error of the scale."""
    return _error(vessel, "scale", vessel.scale_uncertainty, vessel.scale, vessel.scale_dof, dof=vessel.scale_dof)


def residue_error(vessel: Vessel) -> Any:
    """The error of the residue."""
    return _error(vessel, "residue", vessel.residue_uncertainty, name="film left in it")


def growth_error(vessel: Vessel) -> Any:
    """The error of its growth per °C."""
    return _error(vessel, "growth", vessel.expansion_uncertainty)


def air_error(vessel: Vessel) -> Any:
    """The error of the share of air in what it catches."""
    return _error(vessel, "air", vessel.air_uncertainty)


def tilt_error(vessel: Vessel) -> Any:
    """The error of standing off level: shared by all readings, as a vessel is read on one spot."""
    if not vessel.tilt or vessel.width is None:
        return 0.0
    height = vessel.width / 2 * math.tan(math.radians(vessel.tilt))
    return _error(vessel, "tilt", height * math.pi * vessel.width**2 / 4e6 / math.sqrt(2.0), shape="arcsine")


def doubts(vessel: Vessel, read: Any, plain: float, what: str) -> list[Doubt]:
    """What is doubtful about one reading alone, in litres as read: its noise.

    A reading that brings its own uncertainty has no reading noise beside it.
    """
    found = []
    if not uncertainty.is_uncertain(read):
        noise, shape = vessel.noise
        if noise:
            found.append(Doubt(noise, shape, f"{vessel.name}, {what} {shown(vessel, plain)}"))
    return found


def in_its_unit(vessel: Vessel, litres: float) -> Any:
    """A volume in the unit and registry of the vessel's graduation."""
    return answer(litres, "volume", unit=vessel.unit, registry=vessel.registry)


def shown(vessel: Vessel, litres: float) -> str:
    """A volume as text in the unit of the vessel's graduation."""
    return f"{litres / vessel.unit.factor:.4g} {vessel.unit.symbol}"
