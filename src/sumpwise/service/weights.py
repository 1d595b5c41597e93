"""Fluid that was weighed: a mass in a job is a volume at 20 °C, by the density that the job gives."""

from __future__ import annotations

from math import sqrt
from typing import Any

from sumpwise.errors import SumpwiseError
from sumpwise.filling.explanation import DENSITY
from sumpwise.fluid.density import REFERENCE
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import argument, inside
from sumpwise.quantities.spelling import WEIGHED as BY_FUNCTION
from sumpwise.service.keys import Doubt
from sumpwise.uncertainty import is_uncertain, nominal, source, standard

MASS = argument("mass", minimum=0, scalar=True)
WEIGHED = ("capacity", "component", "pack", "log")
"""Tables of what may be weighed: fluid, but neither the scale of a vessel nor a part of the unit."""
OUNCE = 0.028
"""Kilograms to which a weight without decimals of its own is read, such as 3 lb 4 oz."""
DOUBT = Doubt(0.005, "something was weighed: a data sheet has a typical figure, and used fluid is a little denser than new")
"""How well the density is known that a weight is divided by, if the job does not say."""
AS_VOLUME = "write a volume: 1 kg of fluid is about 1.18 L, 1 lb about 0.57 US qt"
INSTEAD = f"give density_15 under [fluid], such as 850 kg/m³, and a weight is read by it; or {AS_VOLUME}"


def is_weight(error: SumpwiseError) -> bool:
    """Whether a value that was refused is a mass where a volume is due; ounces may be fluid ounces."""
    return error.hint == BY_FUNCTION


def doubted(density: Any) -> Any:
    """The density, with the uncertainty that is assumed unless it has one: one source for all that was weighed."""
    best = nominal(density)
    return source(best, standard(density) or DOUBT.value * best, name="density of what was weighed", role=DENSITY)


def to_last_digit(mass: Any, text: Any, label: str) -> Any:
    """A mass that was written as a text, good to half its last digit unless an uncertainty was written."""
    written = None if is_uncertain(mass) else MASS.read(text, label).written
    if written is None:
        return mass
    step = OUNCE if written.places is None else 10.0**-written.places * written.unit.factor
    return source(mass, step / 2 / sqrt(3.0), shape="rectangular", name=f"{label}, scales")


def litres_of(mass: Any, density: Any) -> Any:
    """Volume at 20 °C of what weighs so many kilograms in air."""
    from sumpwise.fluid.water import weighed_fluid

    return number_in(weighed_fluid(inside(mass, "mass"), inside(REFERENCE, "temperature"), inside(density, "density")), "L")


def kilograms_of(litres: float, density: float) -> float:
    """What so many litres at 20 °C weigh in air."""
    return litres / float(nominal(litres_of(1.0, density)))
