"""How a level is checked: what comes before the first drain, and what ends the work. One object for each way."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import inside
from sumpwise.service.facts.fact import CAUTION, Amount, Count, Fact, Word, Written, line, step
from sumpwise.service.kinds import FILL_HOLE, OVERFLOW, SEALED, STICK
from sumpwise.uncertainty import nominal

if TYPE_CHECKING:
    from sumpwise.filling.overflow import OverflowPlug
    from sumpwise.service.case import Case


def _window(case: Case) -> Written | None:
    """The temperature window of the level check, if the job gives it."""
    return Written(case.job.text("level", "window"), "temperature") if case.has("level", "window") else None


def _again(times: int) -> list[Fact]:
    """The fact that all this is done several times."""
    return [step("steps.again", times=Count(times))] if times > 1 else []


class Check:
    """A stick, or whatever the maker prescribes: read, drive, read again."""

    key = STICK
    pour = "summary.pour"
    """The fact that sums up how the new fluid goes in."""
    closes: tuple[str, ...] = ()
    """Words in the name of the plug that is closed last."""

    def before(self, case: Case) -> list[Fact]:
        """What to do before anything comes out."""
        window = _window(case)
        return [step("steps.read_level_maker") if window is None else step("steps.read_level", window=window)]

    def refill(self, case: Case, torque: Word, closing: Word) -> list[Fact]:
        """Putting the plug back in, and pouring the new fluid; `closing` is the torque of the plug that is closed last."""
        return [step("steps.refill", torque=torque)]

    def after(self, case: Case, times: int, closing: Word) -> list[Fact]:
        """What sets the level, after each of several drains."""
        window = _window(case)
        return [step("steps.drive_maker") if window is None else step("steps.drive", window=window), *_again(times)]

    def level(self, case: Case) -> list[Fact]:
        """What to say about the level without a stick."""
        return [line("level.no_stick")]


class Overflow(Check):
    """A plug that is closed while the fluid still trickles, within a temperature window, with the engine running."""

    key = OVERFLOW
    closes = ("overflow", "level", "check", "fill", "filler")

    def before(self, case: Case) -> list[Fact]:
        """The fill plug must be open before the drain plug is opened."""
        return [step("steps.look"), step("steps.loosen_fill", CAUTION)]

    def after(self, case: Case, times: int, closing: Word) -> list[Fact]:
        window, plug = _window(case), case.overflow
        last = (
            step("steps.overflow_maker", closing=closing) if window is None or plug is None
            else step("steps.overflow", window=window, closing=closing, left=self._left(case, plug))
        )  # fmt: skip
        return [step("steps.gears"), last, *_again(times)]

    def _left(self, case: Case, plug: OverflowPlug) -> Amount:
        """How long the fluid stays in the window while it warms."""
        cold = inside(nominal(case.job.value("level", "window")[0]), "temperature")
        rate = inside(case.ask("level", "warming"), "heating rate")
        return Amount("minutes", number_in(plug.time_left(cold, rate), "min"))

    def level(self, case: Case) -> list[Fact]:
        """The effect of closing it early or late in the window."""
        plug = case.overflow
        if plug is None:
            return [line("level.overflow_maker")]
        cold, hot = (inside(nominal(end), "temperature") for end in case.job.value("level", "window"))
        early, late = (Amount("volume", abs(nominal(number_in(plug.error(end), "L")))) for end in (cold, hot))
        rate = Amount("heating rate", nominal(case.ask("level", "warming")))
        return [
            line("level.overflow", window=Written(case.job.text("level", "window"), "temperature"), early=early, late=late),
            line("level.overflow_time", rate=rate, left=self._left(case, plug)),
        ]


class FillHole(Check):
    """Filled, with the unit level, until it runs out of the fill hole."""

    key = FILL_HOLE
    closes = ("fill", "filler", "level", "check")
    pour = "summary.pour_hole"

    def before(self, case: Case) -> list[Fact]:
        """The fill plug must be open before the drain plug is opened."""
        return [step("steps.look"), step("steps.loosen_fill", CAUTION)]

    def refill(self, case: Case, torque: Word, closing: Word) -> list[Fact]:
        return [step("steps.fill_hole", torque=torque, closing=closing)]

    def after(self, case: Case, times: int, closing: Word) -> list[Fact]:
        return [step("steps.leaks"), *_again(times)]

    def level(self, case: Case) -> list[Fact]:
        return [line("level.fill_hole")]


class Sealed(Check):
    """No check for the owner."""

    key = SEALED

    def before(self, case: Case) -> list[Fact]:
        return [step("steps.sealed", CAUTION)]

    def after(self, case: Case, times: int, closing: Word) -> list[Fact]:
        """Once opened, it must not be driven until they have set the level."""
        return [step("steps.sealed_after", CAUTION)]

    def level(self, case: Case) -> list[Fact]:
        return [line("level.sealed")]


CHECKS: dict[str, Check] = {check.key: check for check in (Check(), Overflow(), FillHole(), Sealed())}
