"""What a method is: its name, what it needs, its operations, what it uses up, and why it may be impossible."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Sequence
from math import erfc, sqrt
from typing import TYPE_CHECKING, Any, NamedTuple

from sumpwise.mixing.circuit.history import POUR
from sumpwise.quantities.boundary import inside
from sumpwise.service.facts.fact import Fact, Name, Series, Value, Window, Word, Written, expected
from sumpwise.service.facts.torque import settings
from sumpwise.service.kinds import SEALED
from sumpwise.uncertainty import nominal, standard

if TYPE_CHECKING:
    from sumpwise.mixing.circuit.history import Operation
    from sumpwise.service.case import Case


MOST = 40
"""Drains or bursts at one service that are tried, as many as a job may state."""


FARTHER = (0, 1, 2, 4, 8, 16)
"""How many more than are likely to be enough are tried first, for it is seldom many more: whatever lies between is looked at then."""


class Gain(NamedTuple):
    """Litres of new fluid used so far, the fresh share inside then, and that of what ran out of the line just before; None without one."""

    litres: float
    inside: Any
    outlet: Any = None


class Method:
    """One way to renew the fill. A family of methods is a module beside this one; `registry.METHODS` lists them all.

    Attributes
    ----------
    key : str
        Stable; its name is the entry `method.<key>` of the catalogue.
    washers, filters : int
        Used each time: a washer whenever the plug was out, a filter where the pan comes off.
    tasks : tuple of str
        What its owner's time goes into each time: keys of the table `hours`.
    planned : bool
        Whether it can be planned; what only bounds others, or does nothing, cannot.
    bound : bool
        Whether it only bounds what another can reach.
    led : bool
        Whether what it comes to is only known by leading the circuit through it, so that nothing is where it is impossible.
    several : bool
        Whether it is a number of drains or bursts, counted by the target.
    """

    key = ""
    washers = 0
    filters = 0
    tasks: tuple[str, ...] = ()
    planned = True
    bound = False
    led = False
    several = False

    def compared(self, case: Case) -> bool:
        """Whether the job says enough for it to be compared at all."""
        return True

    def impossible(self, case: Case) -> Word | None:
        """Why it cannot be done on this unit by its owner, or nothing."""
        return Word("impossible.sealed") if case.check.key == SEALED else None

    def count(self, case: Case) -> int:
        """How many drains, bursts or exchanges."""
        return 1

    def times(self, case: Case) -> int:
        """How often washers, filters and hours are spent at one service."""
        return 1

    def hours(self, case: Case) -> float:
        """Hands-on hours of one service."""
        return self.times(case) * sum(nominal(case.ask("hours", task)) for task in self.tasks) / 60

    def last(self, case: Case) -> tuple[Value, float] | None:
        """The last of a count that was worked out as it is shown, and the fresh share that it bought; nothing where none was."""
        return None

    def operations(self, case: Case) -> list[Operation]:
        """What is foreseen, one operation after the other."""
        raise NotImplementedError

    def fresh(self, case: Case) -> Any:
        """Fresh fraction inside after doing it now."""
        raise NotImplementedError

    def volume(self, case: Case) -> Any:
        """Litres of new fluid used now."""
        raise NotImplementedError

    def spread(self, case: Case) -> float:
        """Standard uncertainty of the litres that it will turn out to need."""
        return standard(self.volume(case))

    def gained(self, case: Case) -> list[Gain]:
        """How fresh it gets litre by litre, from nothing on."""
        return [Gain(0.0, 0.0), Gain(nominal(self.volume(case)), self.fresh(case))]

    def poured(self, case: Case) -> Value | None:
        """What goes in first, as it is shown; nothing where nothing does."""
        first = next((one for one in self.operations(case) if one.kind == POUR), None)
        return None if first is None else expected(first.volume)

    def unchecked(self, case: Case) -> tuple[Sequence[Operation], Any]:
        """What is done since the level was last checked, and what that leaves: all of it, and how well the level before was read."""
        return self.operations(case), corrected(case)

    def parts(self, case: Case) -> list[tuple[Word, float]]:
        """What the volume is made up of, for the shopping."""
        return [(Word(f"method.{self.key}"), nominal(self.volume(case)))]

    def cost(self, case: Case) -> Any:
        """Money now: fluid, washers, filters."""
        return self.volume(case) * case.cost_per_litre + self.used(case)

    def used(self, case: Case) -> float:
        """Money for washers and filters."""
        each = self.washers * nominal(case.ask("costs", "washer")) + self.filters * nominal(case.ask("costs", "filter"))
        return self.times(case) * each

    def rhythm(self, case: Case) -> float | None:
        """Minutes until it is done again; None for never."""
        return case.interval

    def remarks(self, case: Case) -> list[str]:
        """What is taken for granted about it beyond the keys of the job: ids of facts."""
        return []

    def steps(self, case: Case) -> list[Fact]:
        """What to do, one step after the other, when it is planned: first what this way of checking the level asks for."""
        return [*case.check.before(case), *self.work(case)]

    def work(self, case: Case) -> list[Fact]:
        """The steps of the work itself."""
        raise NotImplementedError


def at_least(fresh: Any, target: float) -> float:
    """Probability that a share is at least the target, taken as normal."""
    best, u = nominal(fresh), standard(fresh)
    return erfc((target - best) / u / sqrt(2)) / 2 if u else float(best >= target)


def enough(case: Case, best: Sequence[float], *shares: Callable[[int], Any]) -> int:
    """How many drains or bursts meet the target with the probability asked; out of reach, as many as each buy what one must.

    Parameters
    ----------
    case : Case
        With the target, the probability asked, and what one more must buy.
    best : sequence of float
        Best estimate of the fresh share inside after none, one, two and so on: a probability of a half or more takes it to the target.
    *shares : callable
        The fresh share after so many, with its uncertainty; of several the last counts, and each of the others says where to begin.
    """
    least = next((n for n in range(1, len(best)) if best[n] >= case.target), len(best))
    for share in shares:

        def met(n: int, share: Callable[[int], Any] = share) -> bool:
            return at_least(share(n), case.target) >= case.probability

        far = next((least + k for k in FARTHER if least + k < len(best) and met(least + k)), len(best))
        least = bisect_left(range(len(best)), True, lo=least, hi=far, key=met)
    if least < len(best):
        return least
    worth = nominal(case.ask("target", "worth"))
    return max((n for n in range(1, len(best)) if best[n] - best[n - 1] >= worth), default=1)


def corrected(case: Case) -> Any:
    """Litres off the target once what the level lacked was poured: none, known as well as the stick is read, or not read at all."""
    return case.before - nominal(case.before)


def litres(value: Any) -> Any:
    """Internal litres as an argument takes them."""
    return inside(value, "volume")


def pail(case: Case) -> Word:
    """What is drained into: the pail of the job where it may hold it, else any pail with a scale."""
    own = case.pail
    if own is None or not (case.catches(own) or nominal(own.get("holds", case.out)) >= case.out):
        return Word("steps.a_pail")
    return Word("steps.vessel", {"name": Name(own["name"])})


def torque(case: Case) -> Word:
    """The torque of each bolt and what the wrench is set to; of the plug alone where the pan stays on; else where torques stand."""
    last = _last(case)
    bolts = [bolt for bolt in settings(case) if bolt not in last]
    plugs = [bolt for bolt in bolts if "plug" in bolt[0].text.lower()]
    if plugs and not case.method.filters:
        bolts = plugs
    return _torques(bolts) if bolts else Word("steps.torque_maker")


def closing(case: Case) -> Word:
    """The same of the plug that is closed last, where the job lists it; else nothing."""
    last = _last(case)
    return Word("steps.closing", {"torque": _torques(last)}) if last else Word("none")


def _last(case: Case) -> list[tuple[Name, Written, Value]]:
    """The plug that the level check is done with, by its name."""
    return [bolt for bolt in settings(case) if any(word in bolt[0].text.lower().split() for word in case.check.closes)]


def _torques(bolts: list[tuple[Name, Written, Value]]) -> Word:
    listed = [
        Word(f"steps.torque_{'bolt' if isinstance(setting, Window) else 'plain'}", {"bolt": name, "torque": says, "setting": setting})
        for name, says, setting in bolts
    ]
    return Word("steps.torque_values", {"bolts": Series(tuple(listed), "join.semicolon")})
