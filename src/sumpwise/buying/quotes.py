"""What a result costs, and whether a shop's claim can be true.

Percent fresh is never percent of life left: costs are given per percentage point of old fluid removed and per litre-year of age saved
(a litre-year is one litre of fluid kept one year younger).
"""

from __future__ import annotations

from bisect import bisect_left

from sumpwise._math import every, exp, log, maximum, minimum
from sumpwise._record import Record
from sumpwise.ageing.rates import NOTE
from sumpwise.errors import RangeError
from sumpwise.mixing.continuous import MOST_TANKS, exchange
from sumpwise.quantities.boundary import argument, unit_aware
from sumpwise.quantities.expected import past
from sumpwise.quantities.magnitudes import best_of
from sumpwise.quantities.units import by_symbol

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from sumpwise.accepted import FractionLike, NumberLike, TimeLike, VolumeLike


class ClaimBounds(Record):
    """Fresh fraction inside: `stirred`, the usual case, and `plug` (no mixing), the most that any exchange can reach."""

    stirred: Any
    plug: Any


class ClaimCheck(Record):
    """The `verdict`, the two bounds, what it takes: `stirred_volume` with full stirring, or `tanks` in series."""

    verdict: str
    stirred: Any
    plug: Any
    stirred_volume: Any
    tanks: int | None
    note: str

    def __str__(self) -> str:
        return f"{self.verdict}: fully stirred it makes {self.stirred:.0%}, at the very most {self.plug:.0%}; {self.note}"


YEAR = by_symbol("y").factor
_SHARE, _VOLUME = argument("fraction", scalar=True), argument("volume", scalar=True)
PLAUSIBLE, ONLY_PLUG, IMPOSSIBLE = "plausible", "possible only as plug flow", "impossible"


def _something_removed(cost: Any, fresh: Any, start: Any) -> None:
    if not every(fresh > start):
        raise RangeError("removes no old fluid", code="drain.nothing", argument="fresh", value=fresh, allowed="above `start`")


@unit_aware(
    cost=argument("number", minimum=0),
    fresh=argument("fraction"),
    start=argument("fraction"),
    returns="number",
    check=_something_removed,
)
def cost_per_point(cost: NumberLike, fresh: FractionLike, start: FractionLike = 0.0) -> Any:
    """Cost of each percentage point of old fluid removed.

    Parameters
    ----------
    cost : number, scalar or array
        In any currency: fluid, parts and labour, or a shop's quote.
    fresh, start : fraction, scalar or array
        Fresh fraction of the fill after and before.

    Returns
    -------
    float, ndarray or uncertain number
        In the currency of `cost`. One percentage point fresher is not one percentage point of life gained.

    Raises
    ------
    SumpwiseError
        If the fill gets no fresher.

    Notes
    -----
    cost / (100·(fresh - start)).

    Examples
    --------
    >>> from sumpwise import cost_per_point
    >>> round(cost_per_point(200, 0.77), 2)
    2.6
    """
    return cost / (100 * (fresh - start))


def _age_saved(cost: Any, capacity: Any, age_without: Any, age_with: Any) -> None:
    if not every(age_without > age_with):
        raise past("age_with", age_with, "below", "age_without", age_without, "time", "saves no age", code="range.above_bound")


@unit_aware(
    cost=argument("number", minimum=0),
    capacity=argument("volume", above=0),
    age_without=argument("time", minimum=0),
    age_with=argument("time", minimum=0),
    returns="number",
    check=_age_saved,
)
def cost_per_litre_year(cost: NumberLike, capacity: VolumeLike, age_without: TimeLike, age_with: TimeLike) -> Any:
    """Cost of each litre-year of age saved.

    Parameters
    ----------
    cost : number, scalar or array
        In any currency.
    capacity : volume, scalar or array
        What the whole unit holds.
    age_without, age_with : time, scalar or array
        Mean ages of the fill: just before and just after one change, or averaged over some years without and with regular changes.

    Returns
    -------
    float, ndarray or uncertain number
        In the currency of `cost`. A year saved is not a year of life gained.

    Raises
    ------
    SumpwiseError
        If no age is saved.

    Notes
    -----
    cost / (V·(age without - age with)): a litre that is a year younger is one litre-year.

    Examples
    --------
    >>> from sumpwise import cost_per_litre_year
    >>> round(cost_per_litre_year(200, "8.85 L", "14.0 y", "4.35 y"), 2)
    2.34
    """
    return cost / (capacity * (age_without - age_with) / YEAR)


def _drained_first(pumped: Any, capacity: Any, drained: Any, start: Any) -> None:
    if not every(drained <= capacity):
        raise past("drained", drained, "at most", "capacity", capacity, "volume", "must be at most the capacity", code="range.above_bound")


@unit_aware(
    pumped=argument("volume", minimum=0),
    capacity=argument("volume", above=0),
    drained=argument("volume", minimum=0, at_most="pumped"),
    start=argument("fraction"),
    returns=(ClaimBounds, "fraction", "fraction"),
    check=_drained_first,
)
def claim_bounds(pumped: VolumeLike, capacity: VolumeLike, drained: VolumeLike = "0 L", start: FractionLike = 0.0) -> Any:
    """Fresh fraction inside that a given amount of fluid can reach: if fully stirred, and at the very most.

    Parameters
    ----------
    pumped : volume, scalar or array
        All the fresh fluid used, including what replaced a drain first.
    capacity : volume, scalar or array
        What the whole unit holds.
    drained : volume, scalar or array
        The part of `pumped` that replaced a drain before the exchange; none by default.
    start : fraction, scalar or array
        Fresh fraction before the work.

    Returns
    -------
    ClaimBounds
        `.stirred`, the usual case, and `.plug`.

    Raises
    ------
    SumpwiseError
        For a drain above the capacity or above the fluid used.

    Notes
    -----
    A litre of fresh fluid can push out at most one litre of old: 1 - (1 - f₀)(1 - min(1, q/V)), plug flow. If stirred, the drain leaves
    1 - d/V of the old share and the exchange exp(-(q - d)/V) of that (Levenspiel, Chemical Reaction Engineering, 3rd ed., chapters 13, 14).

    Examples
    --------
    >>> from sumpwise import claim_bounds
    >>> bounds = claim_bounds("11.25 L", "8.85 L")
    >>> round(bounds.stirred, 2), bounds.plug
    (0.72, 1.0)
    """
    old = 1 - start
    stirred = 1 - old * (1 - drained / capacity) * exp(-(pumped - drained) / capacity)
    return stirred, 1 - old * (1 - minimum(pumped / capacity, 1.0))


@unit_aware(
    claimed=argument("fraction"),
    capacity=argument("volume"),
    drained=argument("volume"),
    start=argument("fraction"),
    returns="volume",
)
def _stirred_volume(claimed: Any, capacity: Any, drained: Any, start: Any) -> Any:
    """Fluid that a claim takes with full stirring; not less than the drain."""
    after_drain = (1 - start) * (1 - drained / capacity)
    return drained + capacity * log(maximum(after_drain / (1 - claimed), 1.0))


def _tanks(claimed: float, pumped: float, capacity: float, drained: float, start: float) -> int | None:
    """The fewest equal stirred tanks in series that reach a claim; None if even the largest number does not."""

    def reached(tanks: int) -> bool:
        resident = exchange.kernel(pumped - drained, capacity, tanks)[0]
        return bool(1 - (1 - start) * (1 - drained / capacity) * (1 - resident) >= claimed - 1e-12)

    fewest = 1 + bisect_left(range(1, MOST_TANKS + 1), True, key=reached)
    return fewest if fewest <= MOST_TANKS else None


def check_claim(
    claimed: FractionLike, pumped: VolumeLike, capacity: VolumeLike, drained: VolumeLike = "0 L", start: FractionLike = 0.0
) -> ClaimCheck:
    """Say whether a claim such as "97 % new with 12 litres" can be true.

    Parameters
    ----------
    claimed : fraction
        Claimed fresh fraction of the fill.
    pumped : volume
        All the fresh fluid used, including what replaced a drain first.
    capacity : volume
        What the whole unit holds; may be uncertain.
    drained : volume
        The part of `pumped` that replaced a drain before the exchange; none by default.
    start : fraction
        Fresh fraction before the work.

    Returns
    -------
    ClaimCheck
        `.verdict` is "plausible" (full stirring reaches it), "possible only as plug flow" (between the bounds: only an exchange that pushes
        old fluid out with little mixing gets there) or "impossible" (more than any exchange can reach, by more than two standard
        uncertainties of the bound). `.stirred` and `.plug` are the bounds. `.stirred_volume` is the fluid that the claim takes with full
        stirring (None for 100 %). `.tanks` is how many equal stirred tanks in series reach it with this fluid (1 is fully stirred, 200
        nearly plug flow, None beyond; a sump, a converter and a cooler line are a few). `.note` is a caution.

    Raises
    ------
    SumpwiseError
        As `claim_bounds`.

    Notes
    -----
    The claim is about the fill, not the hose: an outlet that looks new proves little. Judge a quote by the usual result,
    `cost_per_point(price, check.stirred)`, not by the claim. Percent fresh is never percent of life left.

    Examples
    --------
    >>> from sumpwise import check_claim
    >>> [check_claim("97 %", litres, "8.85 L").verdict for litres in ("8 L", "12 L", "32 L")]
    ['impossible', 'possible only as plug flow', 'plausible']
    """
    best = {
        name: best_of(kind.value(value, name))
        for name, kind, value in (
            ("claimed", _SHARE, claimed), ("pumped", _VOLUME, pumped), ("capacity", _VOLUME, capacity), ("drained", _VOLUME, drained),
            ("start", _SHARE, start),
        )
    }  # fmt: skip
    bounds = claim_bounds(pumped, capacity, drained, start)
    if best["claimed"] <= _at_most(bounds.stirred):
        verdict = PLAUSIBLE
    else:
        verdict = ONLY_PLUG if best["claimed"] <= _at_most(bounds.plug) else IMPOSSIBLE
    reachable = best["claimed"] < 1 and best["start"] < 1
    volume = _stirred_volume(claimed, capacity, drained, start) if reachable else None
    return ClaimCheck(verdict, bounds.stirred, bounds.plug, volume, _tanks(**best), f"this is about the fill, not the hose; {NOTE}")


def _at_most(bound: Any) -> float:
    """A limit, with the benefit of the doubt for the claim."""
    return best_of(bound, 2) + 1e-12
