"""Drain and refill: part of the fill is drained, fresh fluid goes in, and a drive mixes them."""

from __future__ import annotations

from sumpwise._math import ceil, every, log, log1p, maximum, power, where
from sumpwise.errors import RangeError, expect_few, listed
from sumpwise.quantities.boundary import answer, argument, unit_aware, worked_out
from sumpwise.quantities.expected import past

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    from sumpwise.accepted import ArrayLike, CountLike, FractionLike, VolumeLike

NOISE = 1e-12
"""Differences up to this share of the capacity are rounding of decimals."""
MOST_TIMES = 10_000
"""The most drains in one call; a larger count is a typo."""


def _holds_the_drains(drained: Any, capacity: Any, times: Any, start: Any, purity: Any, refilled: Any) -> None:
    """Refuse a fill that shrinks below the next drain, or in which nothing is left."""
    if refilled is None:
        return
    gain = refilled - drained
    last = capacity + maximum(times - 1, 0) * gain  # before the last drain
    noise = NOISE * capacity  # rounding must not cause a refusal: 2.9 L less 1.9 L holds a drain of 1 L
    if not every(last >= drained - noise):
        raise RangeError(
            "the fill shrinks until it holds less than the next drain takes", code="drain.too_much", argument="refilled", value=refilled,
            allowed="enough for every drain", hint="drain fewer times, or refill what was drained",
        )  # fmt: skip
    if not every(capacity + times * gain > noise):
        raise RangeError("nothing is left in the unit", code="drain.too_much", argument="refilled", value=refilled)


@unit_aware(
    drained=argument("volume", minimum=0, at_most="capacity"),
    capacity=argument("volume", above=0),
    times=argument("count", maximum=MOST_TIMES),
    start=argument("fraction"),
    purity=argument("fraction"),
    refilled=argument("volume", minimum=0, optional=True),
    returns="fraction",
    check=_holds_the_drains,
)
def drain_refill(
    drained: VolumeLike, capacity: VolumeLike, times: CountLike = 1, start: FractionLike = 0.0, purity: FractionLike = 1.0,
    refilled: VolumeLike | None = None,
) -> Any:  # fmt: skip
    r"""Fresh fraction of the fill after equal drains and refills, with a drive after each to mix the fluid.

    Parameters
    ----------
    drained : volume, scalar or array
        Volume of each drain, at most the capacity.
    capacity : volume, scalar or array
        What the whole unit holds when the work starts, including converter and cooler.
    times : int, scalar or array
        Number of drains.
    start : fraction, scalar or array
        Fresh fraction before the first drain.
    purity : fraction, scalar or array
        Fresh fraction of the fluid poured in.
    refilled : volume, scalar or array, optional
        What goes in after each drain; by default as much as was drained. Otherwise the fill grows or shrinks by the difference each time.

    Returns
    -------
    float, ndarray or uncertain number
        Fresh fraction, 0 to 1. It says how much of the fluid is new, never how much of its life is left.

    Raises
    ------
    SumpwiseError
        For an argument that cannot be read or is out of range, such as `drained` above `capacity`.

    See Also
    --------
    drain_refill_series : unequal drains.
    drains_needed : how many drains reach a target.

    Notes
    -----
    Each cycle leaves the share (V - d)/(V - d + q) of the difference from the fluid poured in:

    .. math:: s_n = p - (p - s_0) \prod_{k=1}^{n} \frac{V_{k-1} - d}{V_k}, \qquad V_k = V_0 + k (q - d)

    and with q = d the product is (1 - d/V)ⁿ: serial dilution, as in any analytical chemistry text.

    Examples
    --------
    >>> from sumpwise import drain_refill
    >>> drain_refill("2.9 L", "7.7 L", times=3)
    0.7577
    """
    if refilled is None:
        return purity - (purity - start) * power(1 - drained / capacity, times)
    left: Any = 1.0
    gain = refilled - drained
    for k in range(times if isinstance(times, int) else int(times.max())):
        before = capacity + k * gain
        rest = before - drained
        left = left * where(k < times, where(abs(rest) > NOISE * capacity, rest, 0.0) / (before + gain), 1.0)
    return purity - (purity - start) * left


def drain_refill_series(
    drains: Sequence[VolumeLike] | ArrayLike, capacity: VolumeLike, start: FractionLike = 0.0, purity: FractionLike = 1.0, *,
    errors: str = "raise",
) -> Any:  # fmt: skip
    """Fresh fraction of the fill after unequal drains, each refilled with the same volume and mixed by a drive.

    Parameters
    ----------
    drains : sequence of volumes
        Volume of each drain, in order, at most 500, each at most the capacity. Arrays in the sequence are computed elementwise.
    capacity : volume, scalar or array
        What the whole unit holds, including converter and cooler.
    start : fraction, scalar or array
        Fresh fraction before the first drain.
    purity : fraction, scalar or array
        Fresh fraction of the fluid poured in.
    errors : str
        What to do with bad rows of the arrays: "raise" the first error, "mask" the rows with nan, or "collect" the errors beside the
        answer, as `.answer` and `.problems`. One row is a unit with all its drains.

    Returns
    -------
    float, ndarray or uncertain number
        Fresh fraction after the last refill. The order of the drains makes no difference.

    Raises
    ------
    SumpwiseError
        For a drain that cannot be read or exceeds the capacity, for more than 500 drains, or if `drains` is not a sequence.

    Notes
    -----
    1 - (1 - s) · Π(1 - dᵢ/V) for pure refills; in general p - (p - s) · Π(1 - dᵢ/V).

    Examples
    --------
    >>> from sumpwise import drain_refill_series
    >>> drain_refill_series(["3.0 L", "2.0 L"], "8.0 L")
    0.53125
    """
    given = {"capacity": (_capacity, capacity), "start": (_fraction, start), "purity": (_fraction, purity)}
    several = listed(drains, "drains", "the volume of each; for equal drains use drain_refill(..., times=n)", "sequence of drains")
    expect_few(several, "drains", "drains")
    given |= {f"drains[{i}]": (_volume, drained) for i, drained in enumerate(several)}
    return worked_out(
        "drain_refill_series", lambda volume, fresh, pure, *each: _series(each, volume, fresh, pure), given,
        lambda found, reads, gaps: answer(found, "fraction", gaps=gaps), errors, judge=_each_fits, shares=(True,),
    )  # fmt: skip


def _series(drains: Any, capacity: Any, start: Any = 0.0, purity: Any = 1.0) -> Any:
    left: Any = 1.0
    for drained in drains:
        left = left * (1 - drained / capacity)
    return purity - (purity - start) * left


def _each_fits(capacity: Any, start: Any, purity: Any, *drains: Any) -> None:
    for i, drained in enumerate(drains):
        if not every(drained <= capacity):
            raise past(
                f"drains[{i}]", drained, "at most", "capacity", capacity, "volume", "must be at most the capacity", code="range.above_bound"
            )


drain_refill_series.kernel = _series  # type: ignore[attr-defined]
_volume, _capacity, _fraction = argument("volume", minimum=0), argument("volume", above=0), argument("fraction")


def _reachable(drained: Any, capacity: Any, target: Any) -> None:
    if not every((drained > 0) | (target <= 0)):
        raise RangeError("nothing is drained, so the target is never reached", code="drain.nothing", argument="drained", value=drained)
    if not every((target < 1) | (drained >= capacity)):
        raise RangeError(
            "a fill that keeps some old fluid never becomes 100 % new", code="target.unreachable", argument="target", value=target,
            allowed="below 1", hint="aim for about 95 %",
        )  # fmt: skip


@unit_aware(
    drained=argument("volume", minimum=0, at_most="capacity"),
    capacity=argument("volume", above=0),
    target=argument("fraction"),
    returns="count",
    check=_reachable,
)
def drains_needed(drained: VolumeLike, capacity: VolumeLike, target: FractionLike) -> Any:
    """Number of equal drains and refills until the fresh fraction is at least the target.

    Parameters
    ----------
    drained : volume, scalar or array
        Volume of each drain.
    capacity : volume, scalar or array
        What the whole unit holds.
    target : fraction, scalar or array
        Fresh fraction to reach, below 1 unless everything drains.

    Returns
    -------
    int or ndarray of int
        The smallest count n with 1 - (1 - d/V)ⁿ >= target.

    Raises
    ------
    SumpwiseError
        If the target is never reached.

    Notes
    -----
    n = ceil(ln(1 - f)/ln(1 - r)). Rounding errors of float arithmetic do not add a drain, but 0.75⁸ = 0.10011 does not meet "at most
    10 % old". Uncertain arguments count by their nominal values.

    Examples
    --------
    >>> from sumpwise import drains_needed
    >>> drains_needed("2 L", "8 L", 0.90)
    9
    """
    share = drained / capacity
    old = (1 - target) * (1 + 1e-12) + 2**-52  # this much may be left; rounding alone adds no drain
    part = (share < 1) & (old < 1)
    cycles = ceil(log(where(part, old, 1.0)) / log1p(-where(part, maximum(share, 1e-300), 0.5)))
    if not every(cycles <= MOST_TIMES):
        raise RangeError(
            f"more than {MOST_TIMES} drains would be needed", code="limit.count", argument="drained", value=share,
            hint="drain more at a time", limits=(0, MOST_TIMES, ""),
        )  # fmt: skip
    count = where(part, cycles, where(old < 1, 1, 0))
    return count.astype(int) if getattr(count, "ndim", 0) else int(count)
