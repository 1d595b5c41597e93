"""How fluid moves between the compartments of a circuit: kernels on plain floats or arrays, in litres. Nothing here validates."""

from __future__ import annotations

from sumpwise._math import ceil, every, maximum, where
from sumpwise.errors import RangeError
from sumpwise.mixing.circuit.compartments import series
from sumpwise.mixing.circuit.state import SIDES, WAY, Parameters, Rates, State, filled, present

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

REACH = 16.0
"""Longest step of a series, in turnovers of the fastest compartment."""
CLOSENESS = 0.4
"""Longest step of a series as a share of its radius of convergence, which is the sump volume divided by its rate of change."""
NEGLIGIBLE = 1e-17
"""Default size of the terms at which a series ends, relative to old fractions of one."""
EVEN = 1e-15
"""A difference between old fractions that counts as zero."""
LONGEST = 40_000
"""A flow that takes more steps times tanks than this is refused."""


def drain(state: State, volume: Any) -> State:
    """Drain from the sump: what leaves through the plug is as fresh as the sump."""
    return State(state.sump_volume - volume, *state[1:-1], state.discharged + volume * (1 - state.sump))


def pour(state: State, volume: Any) -> State:
    """Pour new fluid, which mixes into the sump at once; pouring nothing into an empty sump changes nothing."""
    full = state.sump_volume + volume
    return State(full, state.sump * (1 - volume / where(full > 0, full, 1.0)), *state[2:])


def mix(built: Parameters, state: State) -> State:
    """Bring every compartment to the mean: the ideal end of a long drive."""
    volume, old = present(built, state)
    return filled(state.sump_volume, old / volume, map(len, state.way), state.discharged)


def flow(
    built: Parameters, state: State, volume: Any, poured: Any = 0.0, closed: bool = False, negligible: float = NEGLIGIBLE
) -> State:
    """Pump `volume` out of the open return line, or round and back into the sump (`closed`), while `poured` runs in evenly.

    The series end when a term is `negligible` relative to old fractions of one.

    Notes
    -----
    With x the volume pumped and p = poured/volume the old fractions obey, for a compartment K of n tanks on the way, which a share b of the
    flow bypasses, and a compartment H at the side, which exchanges c ::

        S s' = −p s + Σ c (h − s) [+ outlet − s when closed],   S' = p − 1 [0 when closed],   H h' = c (s − h),
        (K/n) k₁' = (1 − b)(inlet − k₁), …, (K/n) kₙ' = (1 − b)(kₙ₋₁ − kₙ),   outlet = (1 − b) kₙ + b inlet.

    The inlet of the first compartment is s, that of each other one the outlet of the one before, and the last outlet is the return line.

    Each is expanded in x about the start of a step after factoring out exp(−σx), with σ the fastest turnover. The terms are then hardly
    ever negative (uniformisation), so almost nothing cancels. Multiplied by S = S₀ + (p − 1) x, the sump's equation gives the coefficients
    S₀ (j+1) a_{j+1} = (σS₀ − p − Σ c + (1 − p) j) a_j + σ (p − 1) a_{j−1} + Σ c h_j, so the varying 1/S is exact. The series converges for
    |x| < S₀/|p − 1|, so a flow is split into steps within four tenths of that. What has left is fresh as far as it is not old fluid that is
    no longer inside.
    """
    tanks = sum(map(len, state.way))
    ratio = poured / where(volume > 0, volume, 1.0)
    growth, inflow = (0.0, 1.0) if closed else (ratio - 1, ratio)
    rates = turnovers(built, state)
    fastest = rates[0]
    for rate in rates[1:]:
        fastest = maximum(fastest, rate)
    end = state.sump_volume if closed else state.sump_volume - volume + poured
    if not every((state.sump_volume > 0) & (end > 0)):
        raise RangeError("is more than the sump holds", code="sump.holds_less", argument="volume")
    rest, (_, before) = volume, present(built, state)
    while True:
        if closed and _even(built, state):
            return state
        sigma = maximum(fastest, sum(built.circulations, inflow) / state.sump_volume)
        spans = rest * maximum(sigma / REACH, abs(growth) / state.sump_volume / CLOSENESS)
        if not every(spans * tanks <= LONGEST):
            raise _too_small(built, state, volume)
        steps = maximum(ceil(spans), 1)
        state = State(*series(built, rates, sigma, state, rest / steps, growth, inflow, closed, negligible))
        rest = rest - rest / steps
        if every(steps <= 1):
            break
    state = state._replace(sump_volume=end)
    if closed:
        return state
    _, old = present(built, state)
    return state._replace(discharged=state.discharged + (volume - (before - old)))


def turnovers(built: Parameters, state: State) -> Rates:
    """Turnovers of one tank of each compartment per litre pumped."""
    rates: list[Any] = []
    for place, bypass in WAY:
        tanks = len(state[place + 1])
        through = tanks if bypass is None else (1 - built[bypass]) * tanks
        rates.append(through / built[place])
    for place, circulation in SIDES:
        held = built[place]
        rates.append(built[circulation] / where(held > 0, held, 1.0))
    return Rates(*rates)


def _too_small(built: Parameters, state: State, volume: Any) -> RangeError:
    import numpy

    on_the_way = [held / len(tanks) for held, tanks in zip(built.way, state.way, strict=True)]
    least = min(float(numpy.min(where(tank > 0, tank, numpy.inf))) for tank in (state.sump_volume, *on_the_way, *built.sides))
    problem = f"is too small a compartment for {float(numpy.max(volume)):.3g} L to flow through"
    return RangeError(problem, code="circuit.too_small", argument="circuit", value=f"{least:.3g} L", hint="add it to its neighbour")


def _even(built: Parameters, state: State) -> bool:
    """Whether everything that circulates is already one mixture, so that circulating changes nothing."""
    passed = zip(state.way, built.bypasses, strict=True)
    fed = [(True if bypass is None else bypass < 1, tank) for tanks, bypass in passed for tank in tanks]
    fed += [(circulation > 0, part) for part, circulation in zip(state.sides, built.circulations, strict=True)]
    off: Any = 0.0
    for reached, part in fed:
        off = maximum(off, where(reached, abs(part - state.sump), 0.0))
    return every(off <= EVEN)
