"""How fluid moves between the compartments of a circuit: kernels on plain floats or arrays, in litres. Nothing here validates."""

from __future__ import annotations

from collections import namedtuple

from sumpwise._math import ceil, every, exp, largest, maximum, where
from sumpwise.errors import RangeError
from sumpwise.mixing.circuit.state import Parameters, State, filled, present

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

SHARES = tuple(1 / j for j in range(1, 301))
"""1/1, 1/2, 1/3 and so on, for more terms than any series has: most have about forty."""
_as_arrays: tuple[Any, ...] = ()

Rates = namedtuple("Rates", "converter cooler clutches pockets")
"""Turnovers of one tank of each compartment per litre pumped."""


def drain(state: State, volume: Any) -> State:
    """Drain from the sump: what leaves through the plug is as fresh as the sump."""
    held, sump, converter, cooler, clutches, pockets, gone = state
    return State(held - volume, sump, converter, cooler, clutches, pockets, gone + volume * (1 - sump))


def pour(state: State, volume: Any) -> State:
    """Pour new fluid, which mixes into the sump at once; pouring nothing into an empty sump changes nothing."""
    held, sump, converter, cooler, clutches, pockets, gone = state
    full = held + volume
    sump = sump * (1 - volume / where(full > 0, full, 1.0))
    return State(full, sump, converter, cooler, clutches, pockets, gone)


def mix(built: Parameters, state: State) -> State:
    """Bring every compartment to the mean: the ideal end of a long drive."""
    volume, old = present(built, state)
    return filled(state.sump_volume, old / volume, len(state.converter), len(state.cooler), state.discharged)


def flow(
    built: Parameters, state: State, volume: Any, poured: Any = 0.0, closed: bool = False, negligible: float = NEGLIGIBLE
) -> State:
    """Pump `volume` out of the open return line, or round and back into the sump (`closed`), while `poured` runs in evenly.

    The series end when a term is `negligible` relative to old fractions of one.

    Notes
    -----
    With x the volume pumped and p = poured/volume the old fractions obey ::

        S s' = −p s + c (h − s) + e (w − s) [+ l_m − s when closed],   S' = p − 1 [0 when closed],
        (K/n) k₁' = (1 − b)(s − k₁), …,   (L/m) l₁' = (1 − b) kₙ + b s − l₁, …,   H h' = c (s − h),   W w' = e (s − w).

    Each is expanded in x about the start of a step after factoring out exp(−σx), with σ the fastest turnover. The terms are then hardly
    ever negative (uniformisation), so almost nothing cancels. Multiplied by S = S₀ + (p − 1) x, the sump's equation gives the coefficients
    S₀ (j+1) a_{j+1} = (σS₀ − p − c − e + (1 − p) j) a_j + σ (p − 1) a_{j−1} + c h_j + e w_j, so the varying 1/S is exact. The series
    converges for |x| < S₀/|p − 1|, so a flow is split into steps within four tenths of that.
    """
    n, m = len(state.converter), len(state.cooler)
    ratio = poured / where(volume > 0, volume, 1.0)
    growth, inflow = (0.0, 1.0) if closed else (ratio - 1, ratio)
    rates = turnovers(built, state)
    fastest = maximum(maximum(rates.converter, rates.cooler), maximum(rates.clutches, rates.pockets))
    end = state.sump_volume if closed else state.sump_volume - volume + poured
    if not every((state.sump_volume > 0) & (end > 0)):
        raise RangeError("is more than the sump holds", code="sump.holds_less", argument="volume")
    rest = volume
    while True:
        if closed and _even(built, state):
            return state
        sigma = maximum(fastest, (inflow + built.clutch_circulation + built.pocket_circulation) / state.sump_volume)
        spans = rest * maximum(sigma / REACH, abs(growth) / state.sump_volume / CLOSENESS)
        if not every(spans * (n + m) <= LONGEST):
            raise _too_small((state.sump_volume, built.converter / n, built.cooler / m, built.clutches, built.pockets), volume)
        steps = maximum(ceil(spans), 1)
        state = series(built, rates, sigma, state, rest / steps, growth, inflow, closed, negligible)
        rest = rest - rest / steps
        if every(steps <= 1):
            return state._replace(sump_volume=end)


def turnovers(built: Parameters, state: State) -> Rates:
    """Turnovers of one tank of each compartment per litre pumped."""
    return Rates(
        (1 - built.bypass) * len(state.converter) / built.converter, len(state.cooler) / built.cooler,
        built.clutch_circulation / where(built.clutches > 0, built.clutches, 1.0),
        built.pocket_circulation / where(built.pockets > 0, built.pockets, 1.0),
    )  # fmt: skip


def _shares(like: Any) -> tuple[Any, ...]:
    """`SHARES`; for arrays as arrays without dimensions, by which numpy multiplies in two thirds of the time."""
    global _as_arrays
    if isinstance(like, (int, float)):
        return SHARES
    if not _as_arrays:
        import numpy

        _as_arrays = tuple(map(numpy.array, SHARES))
    return _as_arrays


def _too_small(tanks: tuple[Any, ...], volume: Any) -> RangeError:
    import numpy

    least = min(float(numpy.min(where(tank > 0, tank, numpy.inf))) for tank in tanks)
    problem = f"is too small a compartment for {float(numpy.max(volume)):.3g} L to flow through"
    return RangeError(problem, code="circuit.too_small", argument="circuit", value=f"{least:.3g} L", hint="add it to its neighbour")


def _even(built: Parameters, state: State) -> bool:
    """Whether everything that circulates is already one mixture, so that circulating changes nothing."""
    fed = [(built.bypass < 1, tank) for tank in state.converter] + [(True, tank) for tank in state.cooler]
    fed += [(built.clutch_circulation > 0, state.clutches), (built.pocket_circulation > 0, state.pockets)]
    off: Any = 0.0
    for reached, part in fed:
        off = maximum(off, where(reached, abs(part - state.sump), 0.0))
    return every(off <= EVEN)


def series(
    built: Parameters, rates: Rates, sigma: Any, state: State, x: Any, growth: Any, inflow: Any, closed: bool, negligible: float,
    fed: list[Any] | None = None,
) -> State:  # fmt: skip
    """One step of `flow`: sum the series term by term. The terms of what feeds the cooler, which may have no tank here, go into `fed`.

    Terms and sums are overwritten in place, which saves most of the time for arrays; so each starts as a full-sized copy of its own.
    """
    b, c, e = built.bypass, built.clutch_circulation, built.pocket_circulation
    sump, s, converter, cooler, h, w, left = state
    part, z = x / sump, sigma * x
    empty = 0.0 * (z + s + h + w + sum(converter) + sum(cooler))
    clutch, pocket, change = c * part, e * part, growth * part
    shift, stay_s = z * change, z - (inflow + c + e) * part + empty
    turn_k, turn_l, turn_h, turn_w = (rate * x for rate in rates)
    stay_k, stay_l, stay_h, stay_w = z - turn_k, z - turn_l, z - turn_h, z - turn_w
    still = every(stay_l == 0)
    sum_s, sum_h, sum_w, sum_ks, sum_ls = s + empty, h + empty, w + empty, [u + empty for u in converter], [u + empty for u in cooler]
    s, h, w, ks, ls = s + empty, h + empty, w + empty, [u + empty for u in converter], [u + empty for u in cooler]
    before, out, sum_out = empty, empty + 0.0, empty + 0.0
    enough, late = negligible * exp(z), 2 * largest(z) + 8
    tanks_k, tanks_l = range(len(ks)), range(len(ls))
    for j, share in enumerate(_shares(empty), 1):
        inlet = s - ks[-1]
        inlet *= b
        inlet += ks[-1]
        if fed is not None:
            fed.append(inlet)
        fresh = stay_s * s
        fresh += clutch * h
        fresh += pocket * w
        fresh += shift * before
        if closed:
            fresh += part * ls[-1]
        elif ls:
            out *= z
            out += x * ls[-1]
            out *= share
            sum_out += out
        fresh *= share
        stay_s -= change
        before, s = s, fresh
        sum_s += s
        h *= stay_h
        h += turn_h * before
        h *= share
        sum_h += h
        w *= stay_w
        w += turn_w * before
        w *= share
        sum_w += w
        feed = before
        for i in tanks_k:
            u = ks[i]
            ks[i] = (stay_k * u + turn_k * feed) * share
            sum_ks[i] += ks[i]
            feed = u
        if still:
            turn = turn_l * share
            ls = [inlet, *ls[:-1]]
            for i in tanks_l:
                u = ls[i]
                u *= turn
                ls[i] = u
                sum_ls[i] += u
        else:
            feed = inlet
            for i in tanks_l:
                u = ls[i]
                ls[i] = (stay_l * u + turn_l * feed) * share
                sum_ls[i] += ls[i]
                feed = u
        # From j = 2z + 8 on a term is at most nine tenths of the one before, so the remainder is at most ten times the last term.
        if j % 4 == 0 and j >= late:
            size = abs(s) + abs(h) + abs(w) + sum(map(abs, ks)) + sum(map(abs, ls))
            if every(size <= enough):
                break
    else:
        raise ArithmeticError("the series does not end")
    f = exp(-z)
    left = left if closed else left + (x - sum_out * f)
    return State(sump + growth * x, sum_s * f, [u * f for u in sum_ks], [u * f for u in sum_ls], sum_h * f, sum_w * f, left)
