"""Draws near what was seen: proposals for importance sampling, from a linear picture of what the outlet shows."""

from __future__ import annotations

from math import log

from sumpwise._blocks import product

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

FEATURES = 30
"""Most scores that are aimed: those that show most at the outlet. The others are drawn as their ranges say."""
RIDGE = 10.0
"""Draws that would have to speak for a slope before it is believed by half."""
ENOUGH = 150
"""Effective draws that a picture is fitted to: with fewer of the weights are evened out."""
PLAIN = 0.2
"""Share of all draws that come from the ranges as they are, wherever the picture points: what it misses is found by them."""


class Aim:
    r"""What was matched, as far as a picture linear in normal scores says, for each number of tanks and each habit of filling the vial.

    Notes
    -----
    For scores :math:`\theta \sim N(0, 1)` and logarithms of old fractions :math:`y = a + B \theta + e` with :math:`e \sim N(0, R)`, what
    is left of the scores once y has been seen is normal: :math:`\theta + K (y - a - B\theta - e)` with
    :math:`K = B^T (R + B B^T)^{-1}`. Its density relative to that of the ranges is the likelihood of y in the picture, divided by its mean:
    so the weight of a draw is what its circuit says about y, relative to what the picture says. R has the misfit of the picture in it,
    so a poor picture aims less sharply. Mixtures of proposals, with a share of draws from the ranges: A. Owen and Y. Zhou, JASA 95 (2000)
    135.
    """

    __slots__ = ("_at", "_by", "_chosen", "_gain", "_kept", "_numbers", "_parts", "_root", "_seen", "_sharp", "_total")

    def __init__(
        self, seen: Any, covariance: Any, shown: Sequence[Any], scores: Any, tanks: Any, likely: Any, habits: Sequence[float]
    ) -> None:  # fmt: skip
        """Fit the picture to draws.

        Parameters
        ----------
        seen : array (matches,)
            Logarithms of what was matched.
        covariance : array (matches, matches)
            Of their errors.
        shown : sequence of array (matches, draws)
            Logarithms of the old fractions at the outlet for each habit.
        scores : array (scores, draws)
            Standard normal scores of the draws.
        tanks : array (draws,)
            Numbers of tanks of their converters.
        likely : array (draws,)
            Logarithm of how much each draw counts.
        habits : sequence of float
            How likely each habit is.
        """
        import numpy

        self._seen = seen[:, None]
        self._numbers = sorted(set(tanks.tolist()))
        weights = _evened(likely)
        logs = numpy.concatenate(shown)
        slopes = product(scores * weights, (logs - (logs * weights).sum(axis=1, keepdims=True)).T)
        strength = slopes**2 @ numpy.tile(1 / numpy.diag(covariance), len(habits))
        self._chosen = numpy.sort(numpy.argsort(-strength, kind="stable")[:FEATURES])
        numbers = numpy.array([tanks == one for one in self._numbers], dtype=float)
        known = numpy.concatenate([numbers, scores[self._chosen]])
        weighed = known * (weights * weights.size)
        doubt = numpy.diag([1e-9] * len(numbers) + [RIDGE] * len(self._chosen))
        found = numpy.linalg.solve(product(weighed, known.T) + doubt, product(weighed, logs.T)).T
        # from here on the first axis is that of the habits
        off = (logs - product(found, known)).reshape(len(habits), len(seen), -1)
        self._at, self._by = numpy.split(found.reshape(len(habits), len(seen), -1), [len(numbers)], axis=2)
        error = covariance + (off * weights) @ off.transpose(0, 2, 1)
        spread = error + self._by @ self._by.transpose(0, 2, 1)
        self._root, whole = numpy.linalg.cholesky(numpy.array([error, spread]))
        self._gain = numpy.linalg.solve(spread, self._by).transpose(0, 2, 1)
        # the root of what is known about an error, so that a product tells how far off it is
        self._sharp, apart = numpy.linalg.inv(self._root), numpy.linalg.solve(whole, self._seen - self._at)
        often = numpy.log(habits) - numpy.log(numpy.array([self._root, whole]).diagonal(axis1=2, axis2=3)).sum(axis=2)
        self._kept, chances = often[0], often[1][:, None] - (apart * apart).sum(axis=1) / 2 - log(len(numbers))
        self._total = float(numpy.logaddexp.reduce(chances, axis=None))
        self._parts = numpy.exp(chances - self._total)

    def draw(self, size: int, plain: int, rng: Any, count: int) -> tuple[Any, list[tuple[int, int]]]:
        """Draw `count` scores each for `size` circuits, the first `plain` as the ranges say; and how many in a row have so many tanks."""
        import numpy

        scores = rng.standard_normal((count, size))
        rows, errors = scores[self._chosen], rng.standard_normal((len(self._seen), size - plain))
        groups = evenly([round(one) for one in self._numbers], plain)
        ends = plain + (numpy.cumsum(self._parts.T) * (size - plain) + rng.random()).astype(int).clip(0, size - plain)
        first, ends = plain, [*ends[:-1].tolist(), size]
        for (i, k), end in zip(numpy.ndindex(self._parts.T.shape), ends, strict=True):
            if end > first:
                some = rows[:, first:end]
                off = self._by[k] @ some
                off += self._root[k] @ errors[:, first - plain : end - plain]
                some += self._gain[k] @ (self._seen - self._at[k, :, i : i + 1] - off)
                groups.append((round(self._numbers[i]), end - first))
                first = end
        scores[self._chosen] = rows
        return scores, groups

    def density(self, scores: Any, tanks: Any) -> Any:
        """How many times as often these draws come from here as from the ranges."""
        import numpy

        shape = (*self._at.shape[:2], tanks.size)
        which = numpy.searchsorted(self._numbers, tanks)
        off = (self._sharp @ (self._seen - self._at))[..., which]
        off -= product((self._sharp @ self._by).reshape(-1, len(self._chosen)), scores[self._chosen]).reshape(shape)
        off *= off
        told = off.sum(axis=1)
        told *= -0.5
        told += (self._kept - self._total)[:, None]
        return numpy.exp(told, out=told).sum(axis=0)


def evenly(numbers: Sequence[int], size: int) -> list[tuple[int, int]]:
    """So many draws shared out evenly among numbers of tanks."""
    cuts = [round(size * i / len(numbers)) for i in range(len(numbers) + 1)]
    return [(one, cuts[i + 1] - cuts[i]) for i, one in enumerate(numbers) if cuts[i + 1] > cuts[i]]


def _evened(likely: Any) -> Any:
    """Weights, evened out by a power so that enough draws count; their sum is one."""
    import numpy

    power = 0.5
    while True:
        weights = numpy.exp(power * (likely - likely.max()))
        weights /= weights.sum()
        if (weights @ weights) * min(ENOUGH, weights.size / 2) <= 1:
            return weights
        power *= 0.7
