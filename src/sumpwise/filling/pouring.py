"""Pouring down a filler tube: how fast fluid runs in by its own weight."""

from __future__ import annotations

from math import pi
from typing import Any

from sumpwise import uncertainty
from sumpwise._math import every, log10, maximum, minimum, sqrt, where
from sumpwise.errors import RangeError
from sumpwise.quantities.boundary import argument, unit_aware

TYPE_CHECKING = False
if TYPE_CHECKING:
    from sumpwise.accepted import FractionLike, LengthLike, NumberLike, ViscosityLike

GRAVITY = 9.80665
"""Standard acceleration of free fall, m/s² (SI Brochure)."""

CRITICAL = 2300.0
"""Reynolds number up to which flow in a pipe is laminar (F. M. White, Fluid Mechanics, ch. 6)."""


INLET = 0.5
"""Velocity heads lost at a sharp-edged inlet (Crane TP-410; Idelchik; F. M. White, Fluid Mechanics, fig. 6.21)."""

KINETIC = 2.0, 1.0
"""Velocity heads that the fluid carries away: a parabola of speeds twice that of its mean (White, section 3.7), turbulent flow once."""

ROUNDS = 20
"""Rounds in which the turbulent flow is found; each leaves at most a sixth of what the one before was off."""


def _speed(bore: Any, length: Any, head: Any, viscosity: Any, venting: Any, roughness: Any, ends: Any) -> Any:
    """Mean speed in m/s; lengths in m, viscosity in m²/s."""
    energy = GRAVITY * venting * head
    friction = 32.0 * viscosity * length / (bore * bore)
    laminar = 2.0 * energy / (friction + sqrt(friction * friction + 2.0 * ends * (INLET + KINETIC[0]) * energy))
    lost = ends * (INLET + KINETIC[1])
    speeds = 0.0  # mean speed over √(2 g s d), which a turbulent tube hardly changes with s
    for _ in range(ROUNDS):
        shear = sqrt(2.0 * energy / (length / bore + lost * speeds * speeds))
        rough = roughness / (3.7 * bore) + 2.51 * viscosity / (bore * shear)
        speeds = -2.0 * log10(minimum(rough, 0.1))  # above 0.1 the flow is laminar by far
    turbulent = speeds * shear
    critical = CRITICAL * viscosity / bore
    in_pipe = where(laminar <= critical, laminar, maximum(critical, turbulent))
    return minimum(in_pipe, sqrt(2.0 * energy))


_TUBE = {
    "bore": argument("length", above=0),
    "length": argument("length", above=0),
    "head": argument("length", above=0),
    "viscosity": argument("viscosity", above=0),
    "venting": argument("fraction", above=0, maximum=1),
    "roughness": argument("length", minimum=0),
    "ends": argument("fraction"),
}


def _is_a_tube(bore: Any, length: Any, head: Any, viscosity: Any, venting: Any, roughness: Any, ends: Any) -> None:
    if not every(roughness <= 0.05 * bore):
        raise RangeError(
            "is rougher than the friction law knows", code="model.limit", argument="roughness", value=roughness,
            allowed="at most a twentieth of the bore",
        )  # fmt: skip


@unit_aware(returns="flow", check=_is_a_tube, **_TUBE)
def pour_rate(
    bore: LengthLike, length: LengthLike, head: LengthLike, viscosity: ViscosityLike, venting: FractionLike = 0.7,
    roughness: LengthLike = 0, ends: FractionLike = 1.0,
) -> Any:  # fmt: skip
    r"""Rate at which fluid runs down a filler tube by its own weight.

    Parameters
    ----------
    bore : length, scalar or array
        Inside diameter of the tube.
    length : length, scalar or array
        Of the tube, along it.
    head : length, scalar or array
        Height of the fluid's surface in the funnel above the lower end. A straight upright tube kept full has a head of its length.
    viscosity : viscosity, scalar or array
        Kinematic, at the fluid's temperature: see `viscosity_at`.
    venting : fraction, scalar or array
        Share of the head that is left for the fluid: air on its way out pushes back, in the same tube most of all.
    roughness : length, scalar or array
        Height of the wall's roughness, 0 for drawn tube; it counts in turbulent flow only.
    ends : fraction, scalar or array
        Share of the losses at the tube's ends that counts: 1 for a tube from a funnel into a pan, 0 for a stretch of a longer pipe, its
        friction alone.

    Returns
    -------
    Quantity
        In L/min.

    Raises
    ------
    SumpwiseError
        For an argument that cannot be read or lies outside its range.

    See Also
    --------
    pour_reynolds : the Reynolds number of this flow; `flow_regime` says what it means.

    Notes
    -----
    The head is spent on friction and on what happens at the ends: the inlet takes ζ = 0.5 velocity heads (sharp-edged; Crane TP-410,
    Idelchik), and the fluid leaves with κ of them, 2 when the flow is laminar and 1 when it is turbulent (F. M. White, Fluid Mechanics,
    section 3.7):

    .. math:: \mathrm{venting}\,g\,h = (ζ + κ)\,\frac{v^2}{2} + g\,s\,L

    The friction slope s is, laminar, up to Re = 2300 (Hagen and Poiseuille), s = 32νv/(gd²), and above it, turbulent, that of Colebrook and
    White (1939):

    .. math:: v = -2\sqrt{2 g s d}\,\log_{10}\!\left(\frac{k}{3.7\,d} + \frac{2.51\,\nu}{d\sqrt{2 g s d}}\right)

    Where a head is too much for laminar flow and too little for this, the flow stays at Re = 2300, so that a wider tube never pours
    slower. No tube beats free outflow, v ≤ √(2g·venting·head) (Torricelli). With the ends left out, laminar flow is
    πd⁴g·venting·h/(128νL). Bends are left out.

    Examples
    --------
    >>> from sumpwise import pour_rate, viscosity_at
    >>> cold = viscosity_at("17 °C", "29.6 mm²/s", "6.0 mm²/s")
    >>> print(f"{pour_rate('9.5 mm', '0.8 m', '0.8 m', cold):.2f~P}")
    1.01 l/min
    """
    d = bore * 1e-3
    speed = _speed(d, length * 1e-3, head * 1e-3, viscosity * 1e-6, venting, roughness * 1e-3, ends)
    return 0.25 * pi * d * d * speed * 6e4


@unit_aware(returns="number", check=_is_a_tube, **_TUBE)
def pour_reynolds(
    bore: LengthLike, length: LengthLike, head: LengthLike, viscosity: ViscosityLike, venting: FractionLike = 0.7,
    roughness: LengthLike = 0, ends: FractionLike = 1.0,
) -> Any:  # fmt: skip
    r"""Reynolds number of the flow that `pour_rate` computes.

    Parameters
    ----------
    bore : length, scalar or array
        Inside diameter of the tube.
    length : length, scalar or array
        Of the tube, along it.
    head : length, scalar or array
        Height of the fluid's surface in the funnel above the lower end.
    viscosity : viscosity, scalar or array
        Kinematic, at the fluid's temperature.
    venting : fraction, scalar or array
        Share of the head that is left for the fluid.
    roughness : length, scalar or array
        Height of the wall's roughness, 0 for drawn tube.
    ends : fraction, scalar or array
        Share of the losses at the tube's ends that counts.

    Returns
    -------
    float, ndarray or uncertain number
        v·d/ν with the mean speed v.

    Raises
    ------
    SumpwiseError
        For an argument that cannot be read or lies outside its range.

    Notes
    -----
    Re = v·d/ν; see `pour_rate` for v and `flow_regime` for what it means.

    Examples
    --------
    >>> from sumpwise import flow_regime, pour_reynolds
    >>> flow_regime(pour_reynolds("9.5 mm", "0.8 m", "0.8 m", "80 mm²/s"))
    'laminar'
    """
    d = bore * 1e-3
    return _speed(d, length * 1e-3, head * 1e-3, viscosity * 1e-6, venting, roughness * 1e-3, ends) * d / (viscosity * 1e-6)


_REYNOLDS = argument("number", minimum=0, scalar=True)


def flow_regime(reynolds: NumberLike) -> str:
    """Say which law of friction a flow follows.

    Parameters
    ----------
    reynolds : number
        Reynolds number of a flow in a pipe, as from `pour_reynolds`.

    Returns
    -------
    str
        "laminar" below 2300, "turbulent" above it, "between" where the flow is held at 2300 because neither law fits.

    Raises
    ------
    SumpwiseError
        For what is not a number or is negative.

    Notes
    -----
    The limit is that of F. M. White, Fluid Mechanics, ch. 6, where the turbulent friction law is called good to about 15 %: outside
    laminar flow a rate from `pour_rate` is no better than half of that.

    Examples
    --------
    >>> from sumpwise import flow_regime
    >>> flow_regime(28)
    'laminar'
    """
    number = uncertainty.nominal(_REYNOLDS.value(reynolds, "reynolds"))
    if abs(number - CRITICAL) <= 1e-9 * CRITICAL:
        return "between"
    return "laminar" if number < CRITICAL else "turbulent"
