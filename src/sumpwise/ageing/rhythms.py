"""Service rhythms over the years: what a list of changes does to the mean age of a fill, and what it costs in litres and money.

Percent fresh is never percent of life left: the ages compare service habits, they do not say what a fill can still take.
"""

from __future__ import annotations

from math import ceil

from sumpwise._record import Record
from sumpwise.ageing.history import FluidHistory
from sumpwise.ageing.rates import AGE, MOMENT, NOTE
from sumpwise.errors import RangeError, expect, listed
from sumpwise.quantities.boundary import answer, argument
from sumpwise.quantities.magnitudes import best_of

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from typing import Any, TypeAlias

    from sumpwise.accepted import FractionLike, MomentLike, VolumeLike
    from sumpwise.quantities.reading import Read

    Changing: TypeAlias = "PlannedChange | tuple[MomentLike, FractionLike, VolumeLike]"


class PlannedChange(Record):
    """One planned change: when (`at`), which `fraction` of the fill it replaces, what `volume` it uses."""

    at: Any
    fraction: Any
    volume: Any


class RhythmResult(Record):
    """Mean age averaged over the horizon, volume used, its `cost`, the `number` of changes, the `history` they make."""

    average_age: Any
    volume: Any
    cost: Any
    number: int
    history: FluidHistory
    note: str


MOST_CHANGES = 100_000

_INTERVAL = argument(AGE, above=0, scalar=True)
_SHARE, _USED = argument("fraction", scalar=True), argument("volume", minimum=0, scalar=True)
_TIMES, _PRICE = argument("count", minimum=1, scalar=True), argument("number", minimum=0, scalar=True)


def repeated_changes(
    interval: MomentLike, first: MomentLike, until: MomentLike, fraction: FractionLike, volume: VolumeLike, together: int = 1
) -> tuple[PlannedChange, ...]:
    """Plan equal changes, one every `interval` from `first` on, none at or after `until`.

    Parameters
    ----------
    interval, first, until : time or distance
        All times or all distances.
    fraction : fraction
        Share of the fill that each change replaces.
    volume : volume
        Fresh fluid that each change uses.
    together : int
        Number of changes made one after another each time, with a drive in between to mix the fluid.

    Returns
    -------
    tuple of PlannedChange

    Raises
    ------
    SumpwiseError
        For a mix of times and distances, an interval that is not positive, or more than 100 000 changes.

    Examples
    --------
    >>> from sumpwise import repeated_changes
    >>> [str(change.at) for change in repeated_changes("2.5 y", "0 y", "10 y", 0.375, "3.3 L")]
    ['0.0 year', '2.5 year', '5.0 year', '7.5 year']
    """
    every = _INTERVAL.read(interval, "interval")
    start, stop = (MOMENT[every.kind].read(v, n) for v, n in ((first, "first"), (until, "until")))
    step, begin, end = (best_of(read.value) for read in (every, start, stop))
    _SHARE.value(fraction, "fraction")
    _USED.value(volume, "volume")
    times = _TIMES.value(together, "together")
    planned = max(0.0, (end - begin) / step * (1 - 1e-12))
    if not planned * times <= MOST_CHANGES:
        raise RangeError(
            "gives too many changes", code="limit.count", argument="interval", value=interval, allowed=f"at most {MOST_CHANGES}"
        )
    moments = [begin + k * step for k in range(ceil(planned))]
    return tuple(
        PlannedChange(at, fraction, volume)
        for at in (answer(m, every.kind, start, every) for m in moments)
        for _ in range(times)
    )  # fmt: skip


def over_horizon(
    history: FluidHistory, changes: Iterable[Changing], since: MomentLike, until: MomentLike, cost_per_litre: float = 0.0
) -> RhythmResult:
    """Work out the result of a list of changes over a horizon.

    Parameters
    ----------
    history : FluidHistory
        What the fill has been through so far.
    changes : iterable of (at, fraction, volume)
        In order of time; see `repeated_changes`.
    since, until : time or distance
        The horizon; no change may come after it.
    cost_per_litre : float
        Price of a litre of fresh fluid, in any currency.

    Returns
    -------
    RhythmResult
        `.average_age` (mean age averaged over time, exactly), `.volume`, `.cost`, `.number` of changes, `.history` at the end, and a
        `.note` that an age says nothing about life left.

    Raises
    ------
    SumpwiseError
        For changes out of order, before the last change of the history, or after the horizon.

    Notes
    -----
    For thousands of scenarios at once, `sumpwise.ageing.rates.age_over` does the same with plain numbers, elementwise in the shares.

    Examples
    --------
    >>> from sumpwise import FluidHistory, over_horizon
    >>> from sumpwise import repeated_changes
    >>> drains = repeated_changes("1 y", "0 y", "10 y", 0.375, "3.3 L")
    >>> yearly = over_horizon(FluidHistory("-9 y"), drains, "0 y", "10 y", cost_per_litre=9.47)
    >>> print(yearly.average_age.round(2), yearly.volume.round(1), round(yearly.cost))
    3.21 year 33.0 liter 313
    """
    expect(history, FluidHistory, "history")
    cost_of_litre = _PRICE.value(cost_per_litre, "cost_per_litre")
    read: list[Read] = []
    for number, change in enumerate(listed(changes, "changes", "(at, fraction, volume), in order of time"), 1):
        try:
            at, fraction, volume = change
        except (TypeError, ValueError):
            raise RangeError("is not (at, fraction, volume)", code="list.entry", argument=f"changes, {number}", value=change) from None
        history = history.replace(fraction, at)
        read.append(_USED.read(volume, f"changes, {number}, volume"))
    litres = _total([one.value for one in read])
    begin, end = history._moment(since, "since"), history._moment(until, "until")
    if history._last() > end.value:
        raise RangeError("is before the last change", code="time.order", argument="until", value=until)
    average = history._average(begin, end)
    cost = answer(litres * cost_of_litre, "number")
    return RhythmResult(average, answer(litres, "volume", *read[:1], begin, end), cost, len(read), history, NOTE)


def _total(volumes: list[Any]) -> Any:
    """The sum of some volumes."""
    if not any(hasattr(one, "nominal_value") for one in volumes):
        return sum(volumes, 0.0)
    from sumpwise import uncertainty

    return uncertainty.combine(sum(map(best_of, volumes)), [(1.0, one) for one in volumes])


def compare_rhythms(
    history: FluidHistory, rhythms: Mapping[str, Iterable[Changing]], since: MomentLike, until: MomentLike, cost_per_litre: float = 0.0
) -> dict[str, RhythmResult]:
    """Compare several lists of changes over the same horizon, from the same history.

    Parameters
    ----------
    history : FluidHistory
        What the fill has been through so far.
    rhythms : mapping of str to changes
        Name -> changes, as in `over_horizon`; an empty list means "do nothing".
    since, until : time or distance
        The horizon.
    cost_per_litre : float
        Price of a litre of fresh fluid, in any currency.

    Returns
    -------
    dict of str to RhythmResult

    Raises
    ------
    SumpwiseError
        As `over_horizon`; the error names the rhythm.

    Examples
    --------
    >>> from sumpwise import FluidHistory, compare_rhythms
    >>> found = compare_rhythms(FluidHistory("-9 y"), {"nothing": [], "exchange now": [("0 y", 0.77, "11.25 L")]}, "0 y", "10 y")
    >>> {name: str(result.average_age.round(2)) for name, result in found.items()}
    {'nothing': '14.0 year', 'exchange now': '7.07 year'}
    """
    if not hasattr(rhythms, "items"):
        raise RangeError("is not a mapping of rhythms", code="value.type", argument="rhythms", value=rhythms, allowed="name -> changes")
    found = {}
    for name, changes in rhythms.items():
        try:
            found[name] = over_horizon(history, changes, since, until, cost_per_litre)
        except RangeError as error:
            raise error.at(f"rhythm {name!r}") from None
    return found
