"""Ageing: how old the fluid is after partial changes, on average and for each share.

Percent fresh is never percent of life left: an age says how long fluid has been inside, not what it has been through.
"""

from __future__ import annotations

from sumpwise.quantities.boundary import argument, unit_aware

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    from sumpwise.accepted import FractionLike, MomentLike

AGE = ("time", "length")
"""What an age is counted in: time, or distance driven."""
MOMENT = {kind: argument(kind, scalar=True) for kind in AGE}
"""One moment, or one age, of a fill whose ages are counted so."""

NOTE = "percent fresh is never percent of life left: an age says how long fluid has been inside, not what it has been through"
"""Printed beside every result that could be mistaken for the condition of the fluid."""

SAME = 1e-12
"""Moments that differ by less than this share are the same moment: 0.1 y + 0.2 y is 0.3 y."""

_share, _interval = argument("fraction", above=0, maximum=1), argument(AGE, above=0)


@unit_aware(exchanged_fraction=_share, interval=_interval, returns="interval")
def mean_age_before(exchanged_fraction: FractionLike, interval: MomentLike) -> Any:
    """Mean age of the fill just before each change, once a steady rhythm has settled: the peak.

    Parameters
    ----------
    exchanged_fraction : fraction, scalar or array
        Share of the fill that each change replaces, above 0.
    interval : time or distance, scalar or array
        Time or distance from one change to the next.

    Returns
    -------
    Quantity
        In the unit of `interval`. It says how old the fluid is, never how much of its life is left.

    Raises
    ------
    SumpwiseError
        For a share outside (0, 1] or an interval that is not positive.

    Notes
    -----
    τ/r, the sum of the geometric series τ(1 + (1-r) + (1-r)² + …): the accumulation of repeated doses (any pharmacokinetics
    textbook: accumulation factor 1/(share lost)), and the mean of a geometric lifetime.

    Examples
    --------
    >>> from sumpwise import mean_age_before
    >>> print(mean_age_before(3/11, "1 y").round(2))
    3.67 year
    """
    return interval / exchanged_fraction


@unit_aware(exchanged_fraction=_share, interval=_interval, returns="interval")
def mean_age_after(exchanged_fraction: FractionLike, interval: MomentLike) -> Any:
    """Mean age of the fill just after each change, once a steady rhythm has settled: the trough.

    Parameters
    ----------
    exchanged_fraction : fraction, scalar or array
        Share of the fill that each change replaces, above 0.
    interval : time or distance, scalar or array
        Time or distance from one change to the next.

    Returns
    -------
    Quantity
        In the unit of `interval`. It says how old the fluid is, never how much of its life is left.

    Raises
    ------
    SumpwiseError
        For a share outside (0, 1] or an interval that is not positive.

    Notes
    -----
    τ(1 - r)/r: the peak less one interval.

    Examples
    --------
    >>> from sumpwise import mean_age_after
    >>> print(mean_age_after(3/11, "1 y").round(2))
    2.67 year
    """
    return interval * (1 - exchanged_fraction) / exchanged_fraction


@unit_aware(exchanged_fraction=_share, interval=_interval, returns="interval")
def mean_age_average(exchanged_fraction: FractionLike, interval: MomentLike) -> Any:
    """Mean age of the fill averaged over time, once a steady rhythm has settled.

    Parameters
    ----------
    exchanged_fraction : fraction, scalar or array
        Share of the fill that each change replaces, above 0.
    interval : time or distance, scalar or array
        Time or distance from one change to the next.

    Returns
    -------
    Quantity
        In the unit of `interval`. It says how old the fluid is, never how much of its life is left.

    Raises
    ------
    SumpwiseError
        For a share outside (0, 1] or an interval that is not positive.

    Notes
    -----
    τ(1/r - ½), halfway between trough and peak. The same follows from the mean age of a renewal process, E[X²]/(2 E[X]) (Ross,
    Introduction to Probability Models, chapter on renewal theory), with X a geometric number of intervals.

    Examples
    --------
    >>> from sumpwise import mean_age_average
    >>> print(mean_age_average(3/11, "1 y").round(2))
    3.17 year
    """
    return interval * (1 / exchanged_fraction - 0.5)


# -- kernels of a history: times in one unit, `moments` ascending; elementwise in `start` and in each share


def age_at(start: Any, moments: Sequence[float], shares: Sequence[Any], at: Any) -> Any:
    """Mean age at a moment, after any change at that moment: it grows with time, and a change multiplies it by 1 - r."""
    age, last = 0.0, start
    for moment, share in zip(moments, shares, strict=True):
        if moment > at:
            break
        age, last = (age + (moment - last)) * (1 - share), moment
    return age + (at - last)


def age_over(start: Any, moments: Sequence[float], shares: Sequence[Any], since: float, until: float) -> Any:
    """Mean age averaged over time from `since` to `until`: the exact integral of a piecewise linear course."""
    age, last, total = age_at(start, moments, shares, since), since, 0.0
    for moment, share in zip((*moments, until), (*shares, 0.0), strict=True):
        if since < moment <= until:
            total, age, last = total + (age + (moment - last) / 2) * (moment - last), (age + (moment - last)) * (1 - share), moment
    return total / (until - since)


def age_slopes(start: float, moments: Sequence[float], shares: Sequence[float], since: float, until: float) -> list[float]:
    """Derivatives of `age_over` (of `age_at` if both moments are the same) with respect to the start and every share, by running sums.

    A change removes its share of the age before it; what later changes leave of that, averaged over the time, shows in the answer.
    """
    before, age, last = [], 0.0, start
    for moment, share in zip(moments, shares, strict=True):
        age, last = age + (moment - last), moment
        before.append(age)
        age *= 1 - share
    shown, later, found = float(since == until), until, []
    for moment, share, old in zip(reversed(moments), reversed(shares), reversed(before), strict=True):
        if moment > until:
            found.append(0.0)
            continue
        if later > since:
            shown += (later - max(moment, since)) / (until - since)
        found.append(-old * shown)
        shown, later = shown * (1 - share), moment
    if later > since:
        shown += (later - since) / (until - since)
    return [-shown, *reversed(found)]


def share_older(start: float, moments: Sequence[float], shares: Sequence[Any], age: float, at: float) -> Any:
    """Share of the fill of at least that age: what all changes since then have left of it."""
    left, since = _of_age(start, age, at)
    for moment, share in zip(moments, shares, strict=True):
        if since < moment <= at:
            left = left * (1 - share)
    return left


def share_slopes(start: float, moments: Sequence[float], shares: Sequence[float], age: float, at: float) -> list[float]:
    """Derivatives of `share_older` with respect to the start (zero) and to every share: what the other changes leave."""
    left, since = _of_age(start, age, at)
    rests = [1 - share if since < moment <= at else 1.0 for moment, share in zip(moments, shares, strict=True)]
    before = []
    for rest in rests:
        before.append(left)
        left *= rest
    after, found = 1.0, []
    for moment, rest, others in zip(reversed(moments), reversed(rests), reversed(before), strict=True):
        found.append(-others * after if since < moment <= at else 0.0)
        after *= rest
    return [0.0, *reversed(found)]


def _of_age(start: float, age: float, at: float) -> tuple[float, float]:
    """Whether the first fill is of that age (as 0 or 1), and the moment after which a change removes some of it."""
    born = at - age
    slack = SAME * max(abs(at), abs(born), abs(start))
    return (1.0 if start <= born + slack else 0.0), born + slack


def cohort_shares(shares: Sequence[Any]) -> tuple[Any, ...]:
    """What is left of each filling, as a share of the fill, the first fill first."""
    left, found = 1.0, []
    for share in reversed(shares):
        found.append(left * share)
        left = left * (1 - share)
    return (left, *reversed(found))
