"""Running sums of uncertain contributions: one accumulator for each shared source."""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping


class Accumulator:
    """The value and variance of a growing sum whose terms may share sources.

    Contributions are signed, c·u, in the unit of the sum. The part of a term that comes from a shared source goes into the accumulator of
    that source, so n terms take n steps and the variance is always that of the whole sum:

        u² = Σ own² + Σ over sources of (Σ signed contributions)²

    Attributes
    ----------
    value : float
        The sum.
    shared : dict
        Source -> signed contribution so far.
    """

    __slots__ = ("_own", "_square", "shared", "value")

    def __init__(self) -> None:
        self.value = 0.0
        self.shared: dict[Hashable, float] = {}
        self._own = 0.0
        self._square = 0.0

    def add(self, value: float, own: float, shared: Mapping[Hashable, float], sign: float = 1.0) -> None:
        """Add a term: its best value, the variance that it shares with no other, and what each source that it shares contributes, with its
        sign. A `sign` of -1 takes it away again.
        """
        self.value += sign * value
        self._own += sign * own
        sums = self.shared
        for source, size in shared.items():
            before = sums.get(source, 0.0)
            after = sums[source] = before + sign * size
            self._square += (after - before) * (after + before)

    @property
    def standard_uncertainty(self) -> float:
        """Standard uncertainty of the sum."""
        return math.sqrt(max(self._own + self._square, 0.0))
