"""The compartments of a circuit and how fluid moves between them: kernels on plain floats or arrays, in litres.

A state is `(sump, s, converter, cooler, h, w, left)`: the sump's volume; the **old** fractions of the sump, of the converter's and
the cooler's tanks (lists in the order of flow), of the clutch circuits and the pockets; the fresh volume that has left. `Fixed` is
`(K, L, H, W, b, c, e)`: the volumes of converter, cooler, clutch circuits and pockets, the bypass, and the two circulations per
volume pumped. Old fractions are carried because new fluid adds nothing to them. Nothing here validates.
"""

from __future__ import annotations

from sumpwise._math import ceil, every, exp, maximum, where
from sumpwise.errors import RangeError

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    State = tuple[Any, Any, list[Any], list[Any], Any, Any, Any]
    Fixed = tuple[Any, Any, Any, Any, Any, Any, Any]

REACH = 16.0
"""Longest step of a series, in turnovers of the fastest compartment."""
CLOSENESS = 1 / 3
"""Longest step of a series as a share of its radius of convergence, the sump volume over the rate at which it changes."""
NEGLIGIBLE = 1e-17
"""Size of the terms at which a series ends, against old fractions of one."""
EVEN = 1e-15
"""Difference between old fractions that is none."""
LONGEST = 40_000
"""Steps times tanks after which a flow is given up."""


def filled(sump: Any, old: Any, converter_tanks: int, cooler_tanks: int) -> State:
    """The state in which every compartment holds the same mixture."""
    return sump, old, [old] * converter_tanks, [old] * cooler_tanks, old, old, 0.0


def mean(tanks: list[Any]) -> Any:
    """The mean over equal tanks."""
    return tanks[0] if len(tanks) == 1 else sum(tanks) / len(tanks)


def inside(fixed: Fixed, state: State) -> tuple[Any, Any]:
    """The volume present and the old volume in it."""
    vk, vl, vh, vw = fixed[:4]
    sump, s, converter, cooler, h, w, _ = state
    return sump + vk + vl + vh + vw, sump * s + vk * mean(converter) + vl * mean(cooler) + vh * h + vw * w


def drain(state: State, volume: Any) -> State:
    """What leaves through the plug is as fresh as the sump."""
    sump, s, converter, cooler, h, w, left = state
    return sump - volume, s, converter, cooler, h, w, left + volume * (1 - s)


def pour(state: State, volume: Any) -> State:
    """New fluid mixes into the sump at once; nothing poured into nothing changes nothing."""
    sump, s, converter, cooler, h, w, left = state
    full = sump + volume
    return full, s * (1 - volume / where(full > 0, full, 1.0)), converter, cooler, h, w, left


def mix(fixed: Fixed, state: State) -> State:
    """Every compartment at the mean: the ideal end of a long drive."""
    volume, old = inside(fixed, state)
    return (*filled(state[0], old / volume, len(state[2]), len(state[3]))[:6], state[6])


def flow(fixed: Fixed, state: State, volume: Any, poured: Any = 0.0, closed: bool = False) -> State:
    """Pump `volume` out of the open return line, or round and back into the sump (`closed`), while `poured` spreads evenly over it.

    Notes
    -----
    With x the volume pumped and p = poured/volume the old fractions obey ::

        S s' = −p s + c (h − s) + e (w − s) [+ l_m − s when closed],   S' = p − 1 [0 when closed],
        (K/n) k₁' = (1 − b)(s − k₁), …,   (L/m) l₁' = (1 − b) kₙ + b s − l₁, …,   H h' = c (s − h),   W w' = e (s − w).

    Each is expanded in x about the start of a step after taking out exp(−σx), σ the fastest turnover. The terms then are hardly
    ever negative (uniformisation), so next to nothing cancels. Multiplied out by S = S₀ + (p − 1) x, the sump's coefficients are
    S₀ (j+1) a_{j+1} = (σS₀ − p − c − e + (1 − p) j) a_j + σ (p − 1) a_{j−1} + c h_j + e w_j: the varying 1/S is taken exactly. The
    series converges for |x| < S₀/|p − 1|, so a flow is cut into steps within a third of that.
    """
    vk, vl, vh, vw, b, c, e = fixed
    n, m = len(state[2]), len(state[3])
    ratio = poured / where(volume > 0, volume, 1.0)
    growth, inflow = (0.0, 1.0) if closed else (ratio - 1, ratio)
    rates = (1 - b) * n / vk, m / vl, c / where(vh > 0, vh, 1.0), e / where(vw > 0, vw, 1.0)
    fastest = maximum(maximum(rates[0], rates[1]), maximum(rates[2], rates[3]))
    end = state[0] if closed else state[0] - volume + poured
    rest = volume
    while True:
        if closed and _even(fixed, state):
            return state
        sigma = maximum(fastest, (inflow + c + e) / state[0])
        spans = rest * maximum(sigma / REACH, abs(growth) / state[0] / CLOSENESS)
        if not every(spans * (n + m) <= LONGEST):
            raise _too_small((state[0], vk / n, vl / m, vh, vw), volume)
        steps = maximum(ceil(spans), 1)
        state = _step(fixed, rates, sigma, state, rest / steps, growth, inflow, closed)
        rest = rest - rest / steps
        if every(steps <= 1):
            return (end, *state[1:])


def _too_small(tanks: tuple[Any, ...], volume: Any) -> RangeError:
    import numpy

    least = min(float(numpy.min(where(tank > 0, tank, numpy.inf))) for tank in tanks)
    problem = f"is too small a compartment for {float(numpy.max(volume)):.3g} L to flow through"
    return RangeError(problem, argument="circuit", value=f"{least:.3g} L", hint="add it to its neighbour")


def _even(fixed: Fixed, state: State) -> bool:
    """Whether everything that circulates is one mixture already, so that going round changes nothing."""
    b, c, e = fixed[4:]
    _, s, converter, cooler, h, w, _ = state
    off: Any = 0.0
    for fed, part in (*((b < 1, k) for k in converter), *((True, k) for k in cooler), (c > 0, h), (e > 0, w)):
        off = maximum(off, where(fed, abs(part - s), 0.0))
    return every(off <= EVEN)


def _step(
    fixed: Fixed, rates: tuple[Any, ...], sigma: Any, state: State, x: Any, growth: Any, inflow: Any, closed: bool
) -> State:
    """One step of `flow`: sum the series term by term.

    Terms and sums are written over in place, which spares arrays most of their time; so each starts as a full-sized copy of its own.
    """
    b, c, e = fixed[4:]
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
    enough = NEGLIGIBLE * exp(z)
    tanks_k, tanks_l = range(len(ks)), range(len(ls))
    j = 0
    while True:
        j += 1
        share = 1 / j
        inlet = s - ks[-1]
        inlet *= b
        inlet += ks[-1]
        fresh = stay_s * s
        fresh += clutch * h
        fresh += pocket * w
        fresh += shift * before
        if closed:
            fresh += part * ls[-1]
        else:
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
        # From j = 2z + 8 on a term is at most 5/6 of the one before, so what is left out is a few times what is looked at.
        if j % 4 == 0 and every(2 * z + 8 <= j):
            size = abs(s) + abs(h) + abs(w) + sum(map(abs, ks)) + sum(map(abs, ls))
            if every(size <= enough):
                break
    f = exp(-z)
    left = left if closed else left + (x - sum_out * f)
    return sump + growth * x, sum_s * f, [u * f for u in sum_ks], [u * f for u in sum_ls], sum_h * f, sum_w * f, left
