"""Batches of draws together: what their circuits showed at the outlet, where they ended, and how often such a draw comes up."""

from __future__ import annotations

from math import ceil

from sumpwise.inference.aim import PLAIN, Aim
from sumpwise.inference.prior import Drawn, Unknowns
from sumpwise.mixing.circuit.state import Parameters, each

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any


MORE, FOUND = 1.35, 0.7
"""Draws from the ranges for each that is run, to begin with; and if no more than this share of those wanted is found so, more are drawn."""


class Sample:
    """Draws that have been run through the history.

    Attributes
    ----------
    asked : float
        How many draws were made, with those that could not have run the history.
    size : int
        How many of them were run.
    tanks : Tanks
        Numbers of tanks of their converters.
    shown, logs : array (things seen, habits, size)
        Old fraction at the outlet, for each thing seen and each habit of filling the vial, and its logarithm.
    built, state : Parameters, State
        Their parameters and their states at the end.
    chances : tuple of array
        What else is drawn for each: a standard normal number, and two even ones from 0 to 1.
    varied : dict
        Name of each parameter with a range -> its draws.
    assumptions : list of str
        Of the first batch.
    """

    def __init__(self, unknowns: Unknowns, places: Sequence[tuple[float, ...]], habits: int, seed: int) -> None:
        from numpy.random import SFC64, Generator  # its normal numbers take four fifths of the time of the default's

        self._unknowns, self._habits, self._rng = unknowns, habits, Generator(SFC64(seed))
        self._places = [one if len(one) == habits else one * habits for one in places]
        self._aims: list[tuple[Aim, int]] = []
        self._scores: list[tuple[Any, Any]] = []
        self._plain = 0.0
        self.asked, self.size = 0.0, 0

    def draw(self, count: int, most: int | None = None) -> None:
        """Add draws from the ranges as they are, and run those that could have run the history, at most so many.

        So many, or nearly, are mostly found among a few more: only if they are not, all the others are drawn too.
        """
        first = count if most is None else min(count, ceil(MORE * most))
        for some in (first, count - first):
            if some and (most is None or self.size < FOUND * most):
                drawn = self._unknowns.draw(some, self._rng, most and most - self.size)
                self._plain += drawn.asked
                self._add(drawn)

    def draw_near(self, aim: Aim, count: int) -> None:
        """Add draws near what was seen, and from the ranges as many as they are short of their share of all draws."""
        plain = max(0, min(count, round(PLAIN * (self.asked + count) - self._plain)))
        self._plain += plain
        self._aims.append((aim, count - plain))
        self._add(Drawn(self._unknowns, *aim.draw(count, plain, self._rng, len(self._unknowns.scores)), self._rng))

    def often(self) -> Any:
        """How often such draws come up in the sample, relative to the ranges as they are: an array, or one number for all."""
        import numpy

        near = [[count * aim.density(*batch) for batch in self._scores] for aim, count in self._aims]
        return self._plain + sum(numpy.concatenate(batches) for batches in near)

    def aim(self, looks: Sequence[int], seen: Any, covariance: Any, likely: Any, habits: Sequence[float]) -> Aim:
        """An aim fitted to the draws; `looks` are the places of what was matched among all that was seen, for the rest see `Aim`."""
        import numpy

        shown = [self.logs[looks, k] for k in range(len(habits))]
        scores, tanks = (numpy.concatenate(batches, axis=-1) for batches in zip(*self._scores, strict=True))
        return Aim(seen, covariance, shown, scores, tanks, likely, habits)

    def _add(self, drawn: Drawn) -> None:
        import numpy

        rng = self._rng
        cooler, (built, state) = drawn.runs({place for places in self._places for place in places})
        shown = numpy.empty((len(self._places), self._habits, drawn.size))
        for places, rows in zip(self._places, shown, strict=True):
            for place, row in zip(places, rows, strict=True):
                row[:] = cooler[place]
        logs = numpy.log(numpy.maximum(shown, 1e-12))
        chances = rng.standard_normal(drawn.size), rng.random(drawn.size), rng.random(drawn.size)
        self._scores.append((drawn.scores, drawn.tanks.counts))
        if not self.size:
            self.assumptions, self.varied, self.tanks = drawn.assumptions, drawn.varied, drawn.tanks
            self.built, self.state, self.shown, self.logs, self.chances = built, state, shown, logs, chances
        else:
            sizes = self.size, drawn.size

            def joined(*parts: Any) -> Any:
                if not any(getattr(part, "ndim", 0) for part in parts):
                    return parts[0]
                whole = [part if getattr(part, "ndim", 0) else numpy.full(size, part) for part, size in zip(parts, sizes, strict=True)]
                return numpy.concatenate(whole, axis=-1)

            self.built = Parameters(*map(joined, self.built, built))
            self.state = each(joined, self.state, state)
            self.shown, self.logs = joined(self.shown, shown), joined(self.logs, logs)
            self.chances = tuple(joined(*both) for both in zip(self.chances, chances, strict=True))
            self.varied = {name: joined(one, drawn.varied[name]) for name, one in self.varied.items()}
            self.tanks = self.tanks.joined(drawn.tanks)
        self.size += drawn.size
        self.asked += drawn.asked
