"""Answers about a circuit that is known only by weighted draws."""

from __future__ import annotations

from sumpwise.inference.swift import filled_rows
from sumpwise.quantities.boundary import answer

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    from sumpwise.quantities.reading import Read


def percent(part: float) -> str:
    """A share in whole percent."""
    return f"{100 * part:.0f} %"


def share(true: Any, weights: Any) -> float:
    """The total weight of the draws for which something is true."""
    import numpy

    return min(1.0, float(weights @ numpy.broadcast_to(true, weights.shape)))


UNPUMPED = "may be more than the sump holds"
"""What is said of a portion that cannot be counted on to be there."""
MIDDLE = 0.025, 0.975
"""Where the middle 95 % begins and ends."""


class Estimate:
    """What weighted draws say about one number.

    Attributes
    ----------
    mean, standard : float
        Mean and standard deviation.
    lower, upper : float
        Limits of the middle 95 %.
    """

    __slots__ = ("lower", "mean", "standard", "upper")

    def __init__(self, mean: float, standard: float, lower: float, upper: float) -> None:
        self.mean, self.standard, self.lower, self.upper = mean, standard, lower, upper


    def __repr__(self) -> str:
        return f"{self.mean:.3f} ± {self.standard:.3f} ({self.lower:.3f} to {self.upper:.3f})"

    def to_dict(self) -> dict[str, float]:
        """Plain numbers."""
        return {"mean": self.mean, "standard": self.standard, "lower": self.lower, "upper": self.upper}


def estimates(draws: Sequence[Any], weights: Any) -> list[Estimate]:
    """What weighted draws say about several numbers, each given as its draws, or as one number that they all share."""
    import numpy

    rows = filled_rows(draws, weights.size)
    means = numpy.einsum("kn,n->k", rows, weights)  # a product would be shared out among processors
    off = rows - means[:, None]
    off *= off
    spreads = numpy.sqrt(numpy.einsum("kn,n->k", off, weights))
    order = rows.argsort(axis=1)
    each = weights[order]
    ranks = each.cumsum(axis=1)
    each *= 0.5
    ranks -= each
    ends = [numpy.interp(MIDDLE, rank, row[places]).tolist() for rank, row, places in zip(ranks, rows, order, strict=True)]
    return [Estimate(*one, *both) for *one, both in zip(means.tolist(), spreads.tolist(), ends, strict=True)]


class OutletEvidence:
    """The inside as judged from the outlet. Shares are fresh fractions; points are percentage points of the whole fill.

    Attributes
    ----------
    probability : float
        Probability that the inside is at least as fresh as the target.
    target, confidence : float
        As asked for.
    resident, outlet : Estimate
        Fresh fraction inside and at the end of the return line, now.
    darkening : Estimate
        How much a long drive raises the old fraction in the line (negative: lowers it).
    portion : Quantity
        Size of the next portion; `portion_litres` is the same as a plain number.
    next_portion : Estimate or None
        Percentage points of freshness inside that it adds; None if it may be more than the sump holds.
    cost_per_point : float or None
        What one point costs.
    starving : float
        Probability that the pump draws air in the next burst.
    further : tuple of (Quantity, float, float)
        Further fluid, mean fresh fraction inside after it, probability that the target is met; `further_litres` has plain numbers.
        Empty if the next portion may be more than the sump holds.
    matches : tuple of (float, Estimate)
        Each matched old fraction, and what this observer would be expected to match.
    odd : tuple of int
        Indexes in `matches` of those that do not fit the others.
    parameters : dict
        Name -> Estimate of every parameter with a range.
    effective_draws : float
        Effective sample size of the weighted draws.
    wider : float
        Factor by which the uncertainty of the matches was multiplied because they hardly fit each other: 1 if they fit.
    assumptions : tuple of str
        Everything that was assumed.
    cautions : tuple of str
        What makes the answer doubtful.
    """

    probability: float
    target: float
    confidence: float
    resident: Estimate
    outlet: Estimate
    darkening: Estimate
    portion_litres: float
    next_portion: Estimate | None
    cost_per_point: float | None
    starving: float
    further_litres: tuple[tuple[float, float, float], ...]
    matches: tuple[tuple[float, Estimate], ...]
    odd: tuple[int, ...]
    parameters: dict[str, Estimate]
    effective_draws: float
    wider: float
    assumptions: tuple[str, ...]
    cautions: tuple[str, ...]

    def __init__(self, asked: Read | None = None, **found: Any) -> None:
        self._asked = asked
        self.__dict__.update(found)

    def _volume(self, litres: float) -> Any:
        """A volume in the unit and the registry of the portion, as it was given."""
        return answer(litres, "volume", *([] if self._asked is None else [self._asked]))

    @property
    def portion(self) -> Any:
        """The next portion."""
        return self._volume(self.portion_litres)

    @property
    def further(self) -> tuple[tuple[Any, float, float], ...]:
        """Further fluid, mean fresh fraction inside after it, probability that the target is met."""
        return tuple((self._volume(more), *then) for more, *then in self.further_litres)

    @property
    def met(self) -> bool:
        """Whether the inside is at least as fresh as the target with the probability asked."""
        return self.probability >= self.confidence

    @property
    def litres_needed(self) -> float | None:
        """As `volume_needed`, a plain number."""
        if self.met:
            return 0.0
        return next((more for more, _, reached in self.further_litres[-1:] if reached >= self.confidence), None)

    @property
    def volume_needed(self) -> Any:
        """Further fluid until the probability reaches the confidence: zero if it already does, None if no portion considered gets there.

        None too if the next portion may be more than the sump holds.
        """
        return None if self.litres_needed is None else self._volume(self.litres_needed)

    @property
    def verdict(self) -> str:
        """The verdict: "stop" (enough, or more of the same will not get there), "go on", or "pour first": the sump may hold too little."""
        if not self.met and not self.further_litres:
            return "pour first"
        return "go on" if self.litres_needed else "stop"

    @property
    def reason(self) -> str:
        """The reason to stop or to go on."""
        met = f"the inside is at least {percent(self.target)} fresh with probability {percent(self.probability)}"
        needed = self.litres_needed
        if needed is not None and not needed:
            return met
        if not self.further_litres:
            return f"{met} only; the next {self.portion_litres:.3g} L {UNPUMPED}"
        last = self.further_litres[-1][0] if needed is None else needed
        return f"{met} only; {last:.3g} L more {'would not raise' if needed is None else 'would raise'} that to {percent(self.confidence)}"

    def __str__(self) -> str:
        fresh, cost = self.resident, "" if self.cost_per_point is None else f" at {self.cost_per_point:.2f} each"
        inside = f"{percent(fresh.mean)} fresh inside ({percent(fresh.lower)} to {percent(fresh.upper)})"
        more = self.next_portion
        lines = [
            f"{self.verdict}: {self.reason}",
            f"{inside}, {percent(self.outlet.mean)} at the outlet, which a long drive darkens by {100 * self.darkening.mean:.1f} points",
            *([] if more is None else [f"the next {self.portion_litres:.3g} L would add {more.mean:.1f} points{cost}"]),
            *(f"caution: {one}" for one in self.cautions),
            *(f"assumed: {one}" for one in self.assumptions),
        ]
        return "\n".join(lines)

    def __repr__(self) -> str:
        return f"<OutletEvidence: {self.verdict}, {self.reason}>"

    def to_dict(self) -> dict[str, Any]:
        """Plain data for JSON; volumes in litres."""

        def plain(value: Any) -> Any:
            if isinstance(value, Estimate):
                return value.to_dict()
            if isinstance(value, dict):
                return {key: plain(one) for key, one in value.items()}
            return [plain(one) for one in value] if isinstance(value, tuple) else value

        told = {"version": 1, "verdict": self.verdict, "reason": self.reason, "litres_needed": self.litres_needed}
        found = {key.removesuffix("_litres"): value for key, value in self.__dict__.items() if key != "_asked"}
        return told | {key: plain(value) for key, value in found.items()}
