"""What a method is: its name, what it needs, its operations, what it uses up, and why it may be impossible."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sumpwise.quantities.boundary import answer
from sumpwise.service.facts.fact import Fact, Series, Window, Word
from sumpwise.service.facts.torque import settings
from sumpwise.service.kinds import SEALED
from sumpwise.uncertainty import nominal

if TYPE_CHECKING:
    from sumpwise.service.case import Case
    from sumpwise.service.operations import Operation


class Method:
    """One way to renew the fill. A family of methods is a module beside this one; `registry.METHODS` lists them all.

    Attributes
    ----------
    key : str
        Stable; its name is the entry `method.<key>` of the catalogue.
    washers, filters : int
        Used at one service: a washer whenever the plug was out, a filter where the pan comes off.
    hours : float
        Hands-on time at one service; common practice, no source.
    planned : bool
        Whether it can be planned; what only bounds others, or does nothing, cannot.
    bound : bool
        Whether it only bounds what another can reach.
    """

    key = ""
    washers = 0
    filters = 0
    hours = 0.0
    planned = True
    bound = False

    def compared(self, case: Case) -> bool:
        """Whether the job says enough for it to be compared at all."""
        return True

    def impossible(self, case: Case) -> Word | None:
        """Why it cannot be done on this unit by its owner, or nothing."""
        return Word("impossible.sealed") if case.check.key == SEALED else None

    def count(self, case: Case) -> int:
        """How many drains, bursts or exchanges."""
        return 1

    def operations(self, case: Case) -> list[Operation]:
        """What is foreseen, one operation after the other."""
        raise NotImplementedError

    def fresh(self, case: Case) -> Any:
        """Fresh fraction inside after doing it now."""
        raise NotImplementedError

    def volume(self, case: Case) -> Any:
        """Litres of new fluid used now."""
        raise NotImplementedError

    def parts(self, case: Case) -> list[tuple[Word, float]]:
        """What the volume is made up of, for the shopping."""
        return [(Word(f"method.{self.key}"), nominal(self.volume(case)))]

    def cost(self, case: Case) -> Any:
        """Money now: fluid, washers, filters."""
        return self.volume(case) * case.litre_price + self.used(case)

    def used(self, case: Case) -> float:
        """Money for washers and filters."""
        return self.washers * nominal(case.ask("costs", "washer")) + self.filters * nominal(case.ask("costs", "filter"))

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


def litres(value: Any) -> Any:
    """Internal litres as a Quantity."""
    return answer(value, "volume")


def torque(case: Case) -> Word:
    """The torque of each bolt and what the wrench is set to; of the plug alone where the pan stays on; else where torques stand."""
    bolts = settings(case)
    plugs = [bolt for bolt in bolts if "plug" in bolt[0].text.lower()]
    if plugs and not case.method.filters:
        bolts = plugs
    if not bolts:
        return Word("steps.torque_maker")
    listed = [
        Word(f"steps.torque_{'bolt' if isinstance(setting, Window) else 'plain'}", {"bolt": name, "torque": says, "setting": setting})
        for name, says, setting in bolts
    ]
    return Word("steps.torque_values", {"bolts": Series(tuple(listed), "join.semicolon")})
