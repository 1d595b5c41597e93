"""Bursts with the cooler return line open: how long the pump may run, and a timetable of bursts, pours and emptying the pail."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING, Any, NamedTuple

from sumpwise import uncertainty
from sumpwise._math import every
from sumpwise.errors import RangeError
from sumpwise.quantities import reading
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import answer, argument, unit_aware
from sumpwise.quantities.expected import past
from sumpwise.quantities.telling import as_given, limit

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from sumpwise.accepted import FlowLike, TimeLike, VolumeLike

MOST_BURSTS = 1000
"""The most bursts in one plan; a larger count is a typo."""


def _starves(reserve: Any, pump_flow: Any, pour_rate: Any, reaction: Any) -> None:
    if not every(pump_flow > pour_rate):
        raise past(
            "pour_rate", pour_rate, "below", "pump_flow", pump_flow, "flow", "keeps up with the pump, so the pump never starves",
            code="pump.never_starves", hint="such a burst is limited by the pail, not by the sump",
        )  # fmt: skip
    moved = (pump_flow - pour_rate) * reaction
    if not every(reserve > moved):
        raise past(
            "reserve", reserve, "above", "", moved, "volume", "is used up before anyone can stop the engine", code="pump.no_reserve",
            hint="the pump moves that much in the reaction time: do not run it; drain and refill instead",
        )  # fmt: skip


@unit_aware(
    reserve=argument("volume", above=0),
    pump_flow=argument("flow", above=0),
    pour_rate=argument("flow", minimum=0),
    reaction=argument("time", minimum=0),
    returns="time",
    check=_starves,
)
def longest_burst(reserve: VolumeLike, pump_flow: FlowLike, pour_rate: FlowLike = 0, reaction: TimeLike = "2 s") -> Any:
    """Longest time the engine may run with the cooler return line open before the pump draws air.

    Parameters
    ----------
    reserve : volume, scalar or array
        Fluid in the sump above the level at which the pump starves.
    pump_flow : flow, scalar or array
        Flow out of the open line.
    pour_rate : flow, scalar or array
        How fast a helper pours fluid in meanwhile.
    reaction : time, scalar or array
        Time from noticing that it is time until the engine has stopped.

    Returns
    -------
    Quantity
        When to shut the engine off, counted from the start; in the unit of `reaction`, or in minutes if that is left out.

    Raises
    ------
    SumpwiseError
        If the reserve does not last for the reaction time, or the pour keeps up with the pump.

    Notes
    -----
    t = reserve/(pump_flow - pour_rate) - reaction, from the volume balance of the sump. It is a limit, not a recommendation: stop earlier,
    and at once if the stream spits air.

    Examples
    --------
    >>> from sumpwise import longest_burst
    >>> print(f"{longest_burst('1.4 L', '3.7 L/min', reaction='2 s').m:.1f} s")
    20.7 s
    """
    return reserve / (pump_flow - pour_rate) - reaction


class Step(NamedTuple):
    """One line of a timetable: what to do, when it starts, how long it takes, how much fluid, and how much is then in the pail."""

    action: str
    start: Any
    duration: Any
    volume: Any
    pail: Any


KEPT = 0.9
"""The most of the pump's flow, as a share, that pouring meanwhile is counted on to make up."""
TOO_FAST = "pour no faster than the pump takes it: the full rate of the funnel would overfill the sump while the engine runs"


class Timetable(NamedTuple):
    """The bursts of a job in time: the steps, the number of bursts and pail emptyings, the total time, and a caution."""

    steps: tuple[Step, ...]
    bursts: int
    emptyings: int
    total: Any
    caution: str = ""

    def __str__(self) -> str:
        lines = [f"{_clock(s.start)}  {s.action:<6} {'' if s.action == 'change' else format(s.volume, '.2f')}".rstrip() for s in self.steps]
        return "\n".join([*lines, f"{_clock(self.total)}  done", *([f"caution: {self.caution}"] if self.caution else [])])

    def __repr__(self) -> str:
        return f"<Timetable: {self.bursts} bursts, pail emptied {self.emptyings} times, {_clock(self.total).strip()} in all>"


class BurstPlan(NamedTuple):
    """The timetable for one person, and for two, with a helper who pours while the pump runs."""

    alone: Timetable
    helped: Timetable

    def __repr__(self) -> str:
        alone, helped = (_clock(plan.total).strip() for plan in self)
        return f"<BurstPlan: {self.alone.bursts} bursts, {alone} alone, {helped} with a helper>"


def _clock(time: Any) -> str:
    seconds = round(number_in(time, "s"))
    return f"{seconds // 60:3d}:{seconds % 60:02d}"


_VOLUME = argument("volume", above=0, scalar=True)
_PAIL = argument("volume", minimum=0, scalar=True)
_FLOW = argument("flow", above=0, scalar=True)
_BURST = argument("volume", above=0, optional=True, scalar=True)
_TIME = argument("time", minimum=0, scalar=True)


def burst_plan(
    volume: VolumeLike, pump_flow: FlowLike, pour_rate: FlowLike, reserve: VolumeLike, pail: VolumeLike, burst: VolumeLike | None = None,
    in_pail: VolumeLike = "0 L", reaction: TimeLike = "2 s", change: TimeLike = "30 s", emptying: TimeLike = "180 s", helper: bool = False,
) -> BurstPlan:  # fmt: skip
    """Timetable of bursts, pours and emptying the pail, for one person and for two.

    Parameters
    ----------
    volume : volume
        Total volume to pump out and pour back.
    pump_flow, pour_rate : flow
        Flow out of the open line, and rate down the filler tube (`pour_rate`).
    reserve : volume
        Fluid in the sump above the level at which the pump starves, after the sump has been filled.
    pail : volume
        How full the pail may get before it is emptied.
    burst : volume, optional
        Volume of one burst; by default equal bursts, as few as are safe for one person.
    in_pail : volume
        What is already in the pail.
    reaction, change, emptying : time
        Time from the call to the engine being off; time to walk from the engine to the funnel or back; time to empty the pail.
    helper : bool
        Whether the bursts with a helper may be longer, since fluid is poured in meanwhile; else they are the same as alone.

    Returns
    -------
    BurstPlan
        `.alone` and `.helped`, each with `.steps`, `.bursts`, `.emptyings`, `.total` and `.caution` (an empty text if there is none).
        For uncertain arguments the best value is used.

    Raises
    ------
    SumpwiseError
        For an argument that cannot be read, a burst that starves the pump or overflows the pail, or more than a thousand bursts.

    Notes
    -----
    How long each step takes has outside sources; the order of the steps is that of this library.

    Alone, a burst takes at most what the sump has to spare, `reserve - pump_flow·reaction`, and all steps follow one after the other. A
    helper pours while the pump runs and carries on until the sump is full again; meanwhile the pail is emptied, and nobody has to walk.
    Without `helper` the bursts are the same for both: pouring meanwhile makes them safer, not longer. With `helper` they last until
    `reserve/(pump_flow - pour_rate)`, less the reaction time, where `pour_rate` counts for at most nine tenths of the pump's flow; alone,
    the same volume then takes more bursts. A funnel faster than the pump would overfill the sump while the engine runs: the helper then
    pours at the pump's own rate, and the timetable says so.

    Examples
    --------
    >>> from sumpwise import burst_plan
    >>> plan = burst_plan("3.75 L", "3.7 L/min", "1.2 L/min", reserve="1.4 L", pail="3 L")
    >>> print(plan.alone)
      0:00  burst  1.25 liter
      0:20  change
      0:50  pour   1.25 liter
      1:53  change
      2:23  burst  1.25 liter
      2:43  change
      3:13  pour   1.25 liter
      4:16  empty  2.50 liter
      7:16  change
      7:46  burst  1.25 liter
      8:06  change
      8:36  pour   1.25 liter
      9:38  done
    """
    kept, plan = planned(volume, pump_flow, pour_rate, reserve, pail, burst, in_pail, reaction, change, emptying, helper)

    def shown(kind: str) -> Callable[[float], Any]:
        unit, registry = reading.asked(kept, kind)
        return lambda value: answer(value, kind, unit=unit, registry=registry)

    moment, litres = shown("time"), shown("volume")
    return BurstPlan(*(
        one._replace(
            total=moment(one.total),
            steps=tuple(Step(s.action, moment(s.start), moment(s.duration), litres(s.volume), litres(s.pail)) for s in one.steps),
        )
        for one in plan
    ))  # fmt: skip


def planned(
    volume: VolumeLike, pump_flow: FlowLike, pour_rate: FlowLike, reserve: VolumeLike, pail: VolumeLike, burst: VolumeLike | None = None,
    in_pail: VolumeLike = "0 L", reaction: TimeLike = "2 s", change: TimeLike = "30 s", emptying: TimeLike = "180 s", helper: bool = False,
) -> tuple[list[reading.Read], BurstPlan]:  # fmt: skip
    """The arguments of `burst_plan` as read, and the plan in plain numbers: minutes and litres."""
    kept = [
        kind.read(value, name)
        for kind, value, name in (
            (_VOLUME, volume, "volume"), (_FLOW, pump_flow, "pump_flow"), (_FLOW, pour_rate, "pour_rate"), (_VOLUME, reserve, "reserve"),
            (_VOLUME, pail, "pail"), (_TIME, reaction, "reaction"), (_TIME, change, "change"), (_TIME, emptying, "emptying"),
        )
    ]  # fmt: skip
    best = uncertainty.nominal
    need, out, back, spare, room, late, walk, away = (best(read.value) for read in kept)
    held = best(_PAIL.value(in_pail, "in_pail"))
    try:
        _starves(spare, out, 0.0, late)
    except RangeError as error:
        as_given(error, {"reserve": reserve})
        raise
    most = alone = spare - out * late
    if helper:
        most = out * (spare / (out - min(back, KEPT * out)) - late)
    asked = _BURST.value(burst, "burst")
    single = min(most, room) if asked is None else best(asked)
    short = min(single, alone)
    if single > most * (1 + 1e-12):
        raise RangeError(
            "starves the pump", code="pump.draws_air", argument="burst", value=burst, allowed=limit("at most", most, "volume", burst),
            hint="the sump has no more fluid to spare", limits=(0.0, most, "L"),
        )  # fmt: skip
    for name, asked_for, read in (("burst", single, burst), ("in_pail", held, in_pail)):
        if asked_for > room:
            raise RangeError(
                "does not fit into the pail", code="pail.too_small", argument=name, value=read,
                allowed=limit("at most", room, "volume", read), limits=(0.0, room, "L"),
            )  # fmt: skip
    bursts = need / short * (1 - 1e-12)
    if bursts > MOST_BURSTS:
        raise RangeError(
            f"takes more than {MOST_BURSTS} bursts", code="limit.count", argument="volume", value=volume, hint="are the units right?",
            limits=(0, MOST_BURSTS, ""),
        )  # fmt: skip

    def sizes(one: float) -> list[float]:
        count = ceil(need / one * (1 - 1e-12))
        return [need / count] * count if asked is None else [one] * (count - 1) + [need - one * (count - 1)]

    return kept, BurstPlan(
        _timetable(_alone(sizes(short), out, back, room, held, walk, away)),
        _timetable(_helped(sizes(single), out, min(back, out), room, held, away), TOO_FAST if back > out else ""),
    )


def _timetable(steps: Iterator[Step], caution: str = "") -> Timetable:
    lines = tuple(steps)
    bursts, emptyings = (sum(one.action == action for one in lines) for action in ("burst", "empty"))
    return Timetable(lines, bursts, emptyings, max(one.start + one.duration for one in lines), caution)


def _alone(
    sizes: list[float], out: float, back: float, room: float, pailed: float, walk: float, away: float
) -> Iterator[Step]:
    now = 0.0
    for number, size in enumerate(sizes):
        if pailed + size > room * (1 + 1e-12):
            yield Step("empty", now, away, pailed, 0.0)
            now, pailed = now + away, 0.0
        if number:
            yield Step("change", now, walk, 0.0, pailed)
            now += walk
        pailed += size
        for action, lasts, amount in (("burst", size / out, size), ("change", walk, 0.0), ("pour", size / back, size)):
            yield Step(action, now, lasts, amount, pailed)
            now += lasts


def _helped(
    sizes: list[float], out: float, back: float, room: float, pailed: float, away: float
) -> Iterator[Step]:
    now = free = 0.0
    for size in sizes:
        if pailed + size > room * (1 + 1e-12):
            yield Step("empty", free, away, pailed, 0.0)
            now, pailed = max(now, free + away), 0.0
        pailed += size
        yield Step("burst", now, size / out, size, pailed)
        yield Step("pour", now, size / back, size, pailed)
        free = now + size / out
        now = max(free, now + size / back)
