"""Count and stick: what each says about the level now, whether they agree, and both combined if they do."""

from __future__ import annotations

from functools import cached_property
from math import log
from typing import Any

from sumpwise.errors import expect_few
from sumpwise.filling.explanation import Explanation
from sumpwise.measurement.joint import BestEstimate, joined
from sumpwise.quantities.arguments import number_in
from sumpwise.service.equipped import Equipped
from sumpwise.service.measures import Resting, without
from sumpwise.service.movements import Movement, movements, opening
from sumpwise.service.suspects import standing_out
from sumpwise.uncertainty import combine, nominal

PAN = (("capacity", "pan_and_filter"), ("exchange", "bursts"), ("exchange", "refill"))
"""Keys that say that the pan comes off."""
SIGNIFICANT = 0.01
"""Count and stick contradict each other if the chance of such a large spread is below this."""
FAR = 2.6
"""They also do if count and a single reading are this many standard uncertainties apart, whatever all readings say: a chance of 1 %."""

DOUBTFUL = 2.0
"""This many standard uncertainties apart, they contradict each other if a single entry also stands out: a chance of 5 %."""
PLAIN = log(10 * 30 * 400)
"""An entry stands out from this `standing_out` up: it is ten times as likely wrong as all entries are right, if one log in 30 has a
mistake, and that may be any of 400."""


class Agreement:
    """What the log says about the level, in two ways that share the first stick reading.

    Attributes
    ----------
    moves : list of Movement
        The log, folded once.
    opened : tuple
        The end of the plug drain, and of everything that came out before anything went in.
    readings : list of Movement
        The stick readings after the start.
    shown : Movement or None
        The reading that the account is for: the worst one in a conflict, else the first in the check window, else the first.
    count, stick, joint : litres at 20 °C off the target, or None
        Now: by the count alone, by the last stick reading and what was moved since, and by all readings combined; no joint figure in a
        conflict.
    best : BestEstimate or None
        The basis of `joint`: the count and every stick reading brought up to now.
    z : float or None
        What no cause explains at `shown`, in standard uncertainties.
    far : bool
        Whether count and stick are farther apart than reading errors take them.
    conflict : bool
        Whether they contradict each other: so far apart, or less far while a single entry stands out from the rest of the log.
    """

    def __init__(self, case: Equipped) -> None:
        self.moves: list[Movement] = movements(case)
        self.opened = opening(self.moves, pan_meant(case))
        self.readings = [move for move in self.moves if move.level is not None]
        self.ledger = self.moves[-1].after
        self.counted = case.begun is not None
        self.count = _moved_since(number_in(case.begun, "L"), self.moves[-1].balance) if self.counted else None
        self.estimates = self._estimates()
        self.best: BestEstimate | None = None
        if len(self.estimates) > 1:
            expect_few(self.estimates, "estimates", "estimates")
            self.best = joined(self.estimates, self.resting.parts, self.estimates)
        apart = self._apart()
        farthest = max(map(abs, apart.values()), default=0.0)
        self.far = (self.best is not None and self.best.chance < SIGNIFICANT) or farthest > FAR
        self.conflict = self.far or (farthest > DOUBTFUL and standing_out(case, self) > PLAIN)
        self.shown = self._shown(case, apart)
        self.z = apart.get(self.shown.number) if self.shown else None
        self.stick = self.estimates[-1] if self.readings else None
        self.joint = self.best.value if self.best is not None and not self.conflict else None

    @cached_property
    def explained(self) -> Explanation:
        """The account at `shown`; at the end of the log if there is no reading."""
        return self.shown.after.explain(self.shown.level) if self.shown else self.ledger.explain()

    @cached_property
    def resting(self) -> Resting:
        """What the estimates rest on."""
        return Resting(self.estimates)

    @cached_property
    def certain(self) -> dict[str, float]:
        """Standard uncertainty of the level if nothing by a name were uncertain, for each error of the stick."""
        return without(self.resting)

    @property
    def drained_first(self) -> float | None:
        """Litres that came out before anything went in or the pump ran; None if nothing came out first."""
        _, last = self.opened
        return nominal(number_in(last.after.total_drained, "L")) if last else None

    @property
    def plug_drain(self) -> Any:
        """Litres that the plug lets out at the right level, by the first drain of the log; None if there is no drain."""
        plug, _ = self.opened
        if plug is None:
            return None
        out = number_in(plug.after.total_drained, "L")
        start = number_in(self.ledger.start, "L") if self.counted else 0.0
        return combine(nominal(out) - nominal(start), [(1.0, out), (-1.0, start)])

    def _estimates(self) -> list[Any]:
        """The level now: by the count, if there is a start level, and by every stick reading with what was moved since."""
        now = self.moves[-1].balance
        found = [self.count] if self.counted else []
        return [*found, *(_moved_since(number_in(move.level, "L"), now, move.balance) for move in self.readings)]

    def _apart(self) -> dict[int, float]:
        """Number of a reading -> count minus stick there, in standard uncertainties."""
        if not self.counted:
            return {}
        count, *seen = map(nominal, self.estimates)
        parts = self.resting.parts
        spreads = ((parts[0] - parts[1:]) ** 2).sum(axis=1) ** 0.5
        return {move.number: (count - one) / u for move, one, u in zip(self.readings, seen, spreads.tolist(), strict=True)}

    def _shown(self, case: Equipped, apart: dict[int, float]) -> Movement | None:
        if self.conflict and apart:
            return max(self.readings, key=lambda move: abs(apart[move.number]))
        return next((move for move in self.readings if case.in_window(move.entry)), self.readings[0] if self.readings else None)


def pan_meant(case: Equipped) -> bool:
    """Whether the job says that the pan comes off."""
    return case.job.value("target", "method") == "bursts" or any(case.has(*key) for key in PAN)


def _moved_since(level: Any, now: Any, then: Any = 0.0) -> Any:
    """A level, with what was moved since."""
    return combine(nominal(level) + nominal(now) - nominal(then), [(1.0, level), (1.0, now), (-1.0, then)])
