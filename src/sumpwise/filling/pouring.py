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
"""Velocity heads carried away at the outlet: two for the parabolic profile of laminar flow (White, section 3.7), one for turbulent flow."""

ROUNDS = 20
"""Iterations for the turbulent flow; each reduces the error to at most a sixth."""


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
        speeds = -2.0 * log10(minimum(rough, 0.1))  # above 0.1 the flow is well within the laminar range
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
            "is rougher than the friction law covers", code="model.limit", argument="roughness", value=roughness,
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
        Length of the tube.
    head : length, scalar or array
        Height of the fluid's surface in the funnel above the lower end. For a straight vertical tube kept full it is the tube's length.
    viscosity : viscosity, scalar or array
        Kinematic, at the fluid's temperature: see `viscosity_at`.
    venting : fraction, scalar or array
        Share of the head that is left to drive the fluid: air on its way out pushes back, most of all if it leaves through the same tube.
    roughness : length, scalar or array
        Roughness height of the wall, 0 for drawn tube; it matters in turbulent flow only.
    ends : fraction, scalar or array
        How much of the losses at the tube's ends to count: 1 for a tube from a funnel into a pan, 0 for a stretch of a longer pipe with
        friction alone.

    Returns
    -------
    Quantity
        In L/min.

    Raises
    ------
    SumpwiseError
        For an argument that cannot be read or is out of range.

    See Also
    --------
    pour_reynolds : the Reynolds number of this flow; `flow_regime` says what it means.

    Notes
    -----
    The head is used up by friction and by losses at the ends: the inlet takes ζ = 0.5 velocity heads (sharp-edged; Crane TP-410,
    Idelchik), and the fluid leaves with κ of them, 2 in laminar flow and 1 in turbulent flow (F. M. White, Fluid Mechanics, section 3.7):

    .. math:: \mathrm{venting}\,g\,h = (ζ + κ)\,\frac{v^2}{2} + g\,s\,L

    In laminar flow, up to Re = 2300, the friction slope is s = 32νv/(gd²) (Hagen and Poiseuille). Above that, in turbulent flow, it is that
    of Colebrook and White (1939):

    .. math:: v = -2\sqrt{2 g s d}\,\log_{10}\!\left(\frac{k}{3.7\,d} + \frac{2.51\,\nu}{d\sqrt{2 g s d}}\right)

    If the head is too large for laminar flow and too small for turbulent flow, the flow stays at Re = 2300, so a wider tube never pours
    more slowly. No tube is faster than free outflow, v ≤ √(2g·venting·head) (Torricelli). Without end losses, laminar flow is
    πd⁴g·venting·h/(128νL). Bends are ignored.

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
        Length of the tube.
    head : length, scalar or array
        Height of the fluid's surface in the funnel above the lower end.
    viscosity : viscosity, scalar or array
        Kinematic, at the fluid's temperature.
    venting : fraction, scalar or array
        Share of the head that is left to drive the fluid.
    roughness : length, scalar or array
        Roughness height of the wall, 0 for drawn tube.
    ends : fraction, scalar or array
        How much of the losses at the tube's ends to count.

    Returns
    -------
    float, ndarray or uncertain number
        v·d/ν with the mean speed v.

    Raises
    ------
    SumpwiseError
        For an argument that cannot be read or is out of range.

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
    """Say which friction law a flow follows.

    Parameters
    ----------
    reynolds : number
        Reynolds number of a pipe flow, as given by `pour_reynolds`.

    Returns
    -------
    str
        "laminar" below 2300, "turbulent" above it, "between" at exactly 2300, where `pour_rate` holds a flow that neither law fits.

    Raises
    ------
    SumpwiseError
        If it is not a number, or is negative.

    Notes
    -----
    The limit is from F. M. White, Fluid Mechanics, ch. 6, which calls the turbulent friction law good to about 15 %: outside laminar flow
    a rate from `pour_rate` is good to half of that at best.

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
