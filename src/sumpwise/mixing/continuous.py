"""Exchange: old fluid leaves at one end while fresh fluid enters at the other, from fully stirred to plug flow (no mixing)."""

from __future__ import annotations

from sumpwise._math import every, exp, maximum, minimum
from sumpwise._record import Record
from sumpwise.errors import RangeError
from sumpwise.quantities.boundary import argument, unit_aware

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from sumpwise.accepted import CountLike, FractionLike, VolumeLike


class Exchanged(Record):
    """Fresh fraction inside (`resident`) and at the outlet (`outlet`): two different numbers."""

    resident: Any
    outlet: Any


MOST_TANKS = 200


def _old(x: Any, tanks: Any) -> tuple[Any, Any]:
    """Old fraction inside and at the outlet of N equal tanks in series, after x turnovers of one tank.

    With Poisson terms tⱼ = e⁻ˣxʲ/j!: at the outlet Σ tⱼ, inside Σ (1 - j/N) tⱼ, j < N. All terms are positive.
    """
    term = exp(-x)
    inside, leaving = term, term
    for j in range(1, tanks):
        term = term * x / j
        leaving = leaving + term
        inside = inside + term * (1 - j / tanks)
    return inside, minimum(leaving, 1.0) if tanks > 1 else leaving  # rounding in the last bit of a long sum


def _something_flows(pumped: Any, capacity: Any, tanks: Any, bypass: Any, dead: Any) -> None:
    if not every(dead < 1):
        raise RangeError("leaves nothing to exchange", code="target.unreachable", argument="dead", value=dead, allowed="below 1")


@unit_aware(
    pumped=argument("volume", minimum=0),
    capacity=argument("volume", above=0),
    tanks=argument("count", minimum=1, maximum=MOST_TANKS, scalar=True),
    bypass=argument("fraction"),
    dead=argument("fraction"),
    returns=(Exchanged, "fraction", "fraction"),
    check=_something_flows,
)
def exchange(pumped: VolumeLike, capacity: VolumeLike, tanks: CountLike = 1, bypass: FractionLike = 0.0, dead: FractionLike = 0.0) -> Any:
    r"""Fresh fraction inside and at the outlet after a matched exchange through the cooler line.

    Parameters
    ----------
    pumped : volume, scalar or array
        Volume of fresh fluid pumped in; as much comes out.
    capacity : volume, scalar or array
        What the whole unit holds.
    tanks : int
        Equal stirred tanks in series, 1 (fully stirred, the most fluid needed) to 200 (nearly plug flow, the least).
    bypass : fraction, scalar or array
        Share of the flow that goes straight to the outlet without mixing in.
    dead : fraction, scalar or array
        Share of the capacity that never exchanges.

    Returns
    -------
    Exchanged
        `.resident`, the mean freshness of what stays inside, and `.outlet`, the freshness of what leaves at this moment. The outlet is
        ahead of the inside with bypass and one tank, and behind it with many tanks: a clean hose proves little.

    Raises
    ------
    SumpwiseError
        For arguments out of range, `tanks` that is not a whole number from 1 to 200, or a capacity that is all dead.

    Notes
    -----
    Step response of N stirred tanks in series (Levenspiel, Chemical Reaction Engineering, 3rd ed., chapter 14):

    .. math:: F(\theta) = 1 - e^{-N\theta} \sum_{i<N} \frac{(N\theta)^i}{i!}, \qquad
       \theta = \frac{(1-b)\,q}{(1-d)\,V}

    outlet = b + (1 - b)F; resident = (1 - d) ∫₀^θ (1 - F), the mean over the tanks.

    Examples
    --------
    >>> from sumpwise import exchange
    >>> fresh = exchange("8 L", "8 L")
    >>> round(fresh.resident, 4), round(exchange("8 L", "8 L", tanks=4).resident, 4)
    (0.6321, 0.8046)
    """
    inside, leaving = _old(pumped * (tanks * (1 - bypass) / ((1 - dead) * capacity)), tanks)
    resident, outlet = 1 - inside, (bypass - 1) * leaving
    resident *= 1 - dead  # in place: for a large array the time goes into fetching memory
    outlet += 1.0
    return resident, outlet


def _target_in_reach(target: Any, capacity: Any, tanks: Any, bypass: Any, dead: Any) -> None:
    if not every(target < 1 - dead):
        raise RangeError(
            "is never reached: the dead share keeps its old fluid", code="target.unreachable", argument="target", value=target,
            allowed="below 1 - dead",
        )  # fmt: skip
    if not every(bypass < 1):
        raise RangeError("lets no fluid in", code="target.unreachable", argument="bypass", value=bypass, allowed="below 1")


@unit_aware(
    target=argument("fraction", minimum=0, below=1),
    capacity=argument("volume", above=0),
    tanks=argument("count", minimum=1, maximum=MOST_TANKS, scalar=True),
    bypass=argument("fraction"),
    dead=argument("fraction"),
    returns="volume",
    check=_target_in_reach,
)
def volume_needed(
    target: FractionLike, capacity: VolumeLike, tanks: CountLike = 1, bypass: FractionLike = 0.0, dead: FractionLike = 0.0
) -> Any:
    """Volume to exchange until the fill inside reaches a target freshness.

    Parameters
    ----------
    target : fraction, scalar or array
        Fresh fraction inside, below 1 - dead.
    capacity : volume, scalar or array
        What the whole unit holds.
    tanks : int
        Equal stirred tanks in series, 1 to 200.
    bypass, dead : fraction, scalar or array
        As in `exchange`.

    Returns
    -------
    Quantity
        In the unit of `capacity`.

    Raises
    ------
    SumpwiseError
        If the target cannot be reached.

    Notes
    -----
    The inverse of `exchange(...).resident`; -ln(1 - f) turnovers for one tank. The fraction inside is increasing and concave in the volume,
    so Newton's iteration from below rises to the root without overshooting.

    Examples
    --------
    >>> from sumpwise import volume_needed
    >>> round(volume_needed(0.9, "8 L").magnitude, 2)
    18.42
    """
    share = target / (1 - dead)
    turnovers = share
    for _ in range(100):
        inside, leaving = _old(tanks * turnovers, tanks)
        step = (inside - (1 - share)) / leaving
        turnovers = turnovers + maximum(step, 0.0)  # from below it only rises: a step back is rounding
        if every(abs(step) <= 1e-9 * (1 + turnovers)):  # the next would be its square
            break
    return turnovers * (1 - dead) * capacity / (1 - bypass)
