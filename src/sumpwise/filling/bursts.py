"""Bursts with the return line open: how long the pump may run, and the timetable of bursts, pours and pail emptyings."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING, Any, NamedTuple

from sumpwise import uncertainty
from sumpwise._math import every
from sumpwise.errors import RangeError
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import answer, argument, unit_aware

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sumpwise.accepted import FlowLike, TimeLike, VolumeLike

MOST_BURSTS = 1000
"""Bursts in one plan; a larger count is a typo."""


def _starves(reserve: Any, pump_flow: Any, pour_rate: Any, reaction: Any) -> None:
    if not every(pump_flow > pour_rate):
        raise RangeError(
            "keeps up with the pump, which then never starves", code="pump.never_starves", argument="pour_rate", value=pour_rate,
            allowed="below pump_flow", hint="the pail, not the sump, limits such a burst",
        )  # fmt: skip
    if not every(reserve > (pump_flow - pour_rate) * reaction):
        raise RangeError(
            "is gone before anyone can stop the engine", code="pump.no_reserve", argument="reserve", value=reserve,
            allowed="more than the pump takes in the reaction time", hint="do not run the pump: drain and refill instead",
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
    """Longest time the engine may run with the return line open before the pump draws air.

    Parameters
    ----------
    reserve : volume, scalar or array
        Fluid in the sump above the level at which the pump starves.
    pump_flow : flow, scalar or array
        Out of the open line.
    pour_rate : flow, scalar or array
        What a helper pours in meanwhile.
    reaction : time, scalar or array
        From seeing that it is time to the engine standing still.

    Returns
    -------
    Quantity
        When to begin stopping, counted from the start; in the unit of `reaction`, or in minutes when that is left out.

    Raises
    ------
    SumpwiseError
        When the reserve does not outlast the reaction, or the pour keeps up with the pump.

    Notes
    -----
    Own model, no outside value.

    t = reserve/(pump_flow - pour_rate) - reaction: the balance of the sump. It is a limit, not advice; stop earlier, and at once when the
    stream coughs.

    Examples
    --------
    >>> from sumpwise import longest_burst
    >>> print(f"{longest_burst('1.4 L', '3.7 L/min', reaction='2 s').m:.1f} s")
    20.7 s
    """
    return reserve / (pump_flow - pour_rate) - reaction


class Step(NamedTuple):
    """One line of a timetable: what, from when, how long, how much, and what then stands in the pail."""

    action: str
    start: Any
    duration: Any
    volume: Any
    pail: Any


KEPT = 0.9
"""Share of the pump's flow that pouring meanwhile makes up for at most."""
TOO_FAST = "poured no faster than the pump takes it: the funnel would overfill the sump while the engine runs"


class Timetable(NamedTuple):
    """The bursts of a job in time: steps in order, how many bursts and pail emptyings, how long it takes, and what to mind."""

    steps: tuple[Step, ...]
    bursts: int
    emptyings: int
    total: Any
    caution: str = ""

    def __str__(self) -> str:
        lines = [f"{_clock(s.start)}  {s.action:<6} {'' if s.action == 'change' else format(s.volume, '.2f')}".rstrip() for s in self.steps]
        return "\n".join([*lines, f"{_clock(self.total)}  done", *([f"caution: {self.caution}"] if self.caution else [])])

    def __repr__(self) -> str:
        return f"<Timetable: {self.bursts} bursts, {self.emptyings} emptyings of the pail, {_clock(self.total).strip()} in all>"


class BurstPlan(NamedTuple):
    """The timetable for one person, and for two with a helper who pours while the pump runs."""

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
    """Timetable of bursts, pours and pail emptyings, for one person and for two.

    Parameters
    ----------
    volume : volume
        To be pumped out and poured back in all.
    pump_flow, pour_rate : flow
        Out of the open line, and down the filler tube (`pour_rate`).
    reserve : volume
        Fluid in the sump above the level at which the pump starves, when it is poured full.
    pail : volume
        What the pail may hold before it is emptied.
    burst : volume, optional
        Of one burst; by default equal bursts, as few as are safe for one person.
    in_pail : volume
        Already in the pail.
    reaction, change, emptying : time
        From the word to the engine standing still; from the engine to the funnel or back; to empty the pail.

    helper : bool
        Whether the helper's bursts may be as long as the pouring meanwhile makes them; else they are those of one person.

    Returns
    -------
    BurstPlan
        `.alone` and `.helped`, each with `.steps`, `.bursts`, `.emptyings`, `.total` and `.caution`, an empty text or what to mind.
        Uncertain arguments count by their best value.

    Raises
    ------
    SumpwiseError
        For an argument that cannot be read, a burst that starves the pump or overflows the pail, or more than a thousand bursts.

    Notes
    -----
    Own model, no outside value.

    Alone, a burst takes what the sump has to spare, `reserve - pump_flow·reaction` at most, and everything follows one after the other.
    The helper pours while the pump runs and goes on until the sump is full again; meanwhile the pail is emptied, and nobody walks. Without
    `helper` the bursts are the same for both: pouring meanwhile makes them safer, not longer. With it they last until
    `reserve/(pump_flow - pour_rate)`, less the reaction, of nine tenths of the pump's flow at most; alone the same volume then takes more
    bursts. A funnel faster than the pump would fill the sump over its mark while the engine runs: the helper then pours at the pump's own
    rate, and the timetable says so.

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
    _starves(spare, out, 0.0, late)
    most = alone = spare - out * late
    if helper:
        most = out * (spare / (out - min(back, KEPT * out)) - late)
    asked = _BURST.value(burst, "burst")
    single = min(most, room) if asked is None else best(asked)
    short = min(single, alone)
    if single > most * (1 + 1e-12):
        raise RangeError(
            "starves the pump", code="pump.draws_air", argument="burst", value=burst, allowed=f"at most {most:.3g} L",
            hint="the sump has no more to spare", limits=(0.0, most, "L"),
        )  # fmt: skip
    for name, asked_for, read in (("burst", single, burst), ("in_pail", held, in_pail)):
        if asked_for > room:
            raise RangeError(
                "does not go into the pail", code="pail.too_small", argument=name, value=read, allowed=f"at most {room:g} L",
                limits=(0.0, room, "L"),
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

    def timetable(steps: Iterator[tuple[str, float, float, float, float]], caution: str = "") -> Timetable:
        lines = list(steps)
        return Timetable(
            tuple(
                Step(action, *(answer(t, "time", *kept) for t in (start, lasts)), *(answer(v, "volume", *kept) for v in (amount, pailed)))
                for action, start, lasts, amount, pailed in lines
            ),
            sum(line[0] == "burst" for line in lines),
            sum(line[0] == "empty" for line in lines),
            answer(max(start + lasts for _, start, lasts, _, _ in lines), "time", *kept),
            caution,
        )

    return BurstPlan(
        timetable(_alone(sizes(short), out, back, room, held, walk, away)),
        timetable(_helped(sizes(single), out, min(back, out), room, held, away), TOO_FAST if back > out else ""),
    )


def _alone(
    sizes: list[float], out: float, back: float, room: float, pailed: float, walk: float, away: float
) -> Iterator[tuple[str, float, float, float, float]]:
    now = 0.0
    for number, size in enumerate(sizes):
        if pailed + size > room * (1 + 1e-12):
            yield "empty", now, away, pailed, 0.0
            now, pailed = now + away, 0.0
        if number:
            yield "change", now, walk, 0.0, pailed
            now += walk
        pailed += size
        for action, lasts, amount in (("burst", size / out, size), ("change", walk, 0.0), ("pour", size / back, size)):
            yield action, now, lasts, amount, pailed
            now += lasts


def _helped(
    sizes: list[float], out: float, back: float, room: float, pailed: float, away: float
) -> Iterator[tuple[str, float, float, float, float]]:
    now = free = 0.0
    for size in sizes:
        if pailed + size > room * (1 + 1e-12):
            yield "empty", free, away, pailed, 0.0
            now, pailed = max(now, free + away), 0.0
        pailed += size
        yield "burst", now, size / out, size, pailed
        yield "pour", now, size / back, size, pailed
        free = now + size / out
        now = max(free, now + size / back)
