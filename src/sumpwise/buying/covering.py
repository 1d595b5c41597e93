"""The covering problem behind a purchase: the cheapest multiset of pack sizes that reaches a volume, solved exactly."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import gcd, lcm, prod
from typing import Any

import numpy

from sumpwise.errors import RangeError

CELLS = 4_000_000
"""The most volumes in one table, and pairs of volumes of two tables."""
UNREACHED = 2**62


class Covering:
    """Tables for a set of packs on sale, from which the optimum for a volume, and for the next larger one, can be read.

    Notes
    -----
    Sizes that share a coarse measure form a family (litres one, quarts another). For every volume that a family can make up exactly, a
    table holds the least cost and then the fewest packs, as one whole number `cost·2ᵇ + count`. Families are combined through the cheapest
    volume that is at least what the others leave open. A set from which no pack can be dropped exceeds the volume required by less than the
    largest size, so the tables end there. Any set costs at least the best price by volume times the volume required; the excess of a known
    set over that limits how far a better set, or the next larger one, can stray from the best price.
    """

    def __init__(self, sizes: Sequence[Fraction], prices: Sequence[Fraction], required: Fraction) -> None:
        self.number = len(sizes)
        divisor = lcm(*(s.denominator for s in sizes))
        whole = [s.numerator * (divisor // s.denominator) for s in sizes]
        common, money = gcd(*whole), lcm(*(p.denominator for p in prices))
        self.sizes = [w // common for w in whole]
        self.prices = [int(p * money) for p in prices]
        self.required = max(0, -(-required // Fraction(common, divisor)))
        self.kept = self._kept()
        largest = max(self.sizes[i] for i in self.kept)
        self.end = self.required + 2 * largest
        self.bits = (self.end // min(self.sizes[i] for i in self.kept) + 1).bit_length()
        dearest = max(self.prices[i] * (self.end // self.sizes[i] + 1) for i in self.kept)
        if dearest.bit_length() + self.bits > 60 or self.end.bit_length() > 61:
            raise RangeError(
                "are too finely divided", code="limit.packs", argument="packs", hint="round prices to hundredths and sizes to their labels"
            )
        self.families = self._families()
        self.tables = [self._table(members, step) for members, step in self.families]

    def _kept(self) -> list[int]:
        """Packs that can be part of an optimum: no other pack is cheaper by multiples, and their price by volume is not too high."""
        shelf = list(zip(self.sizes, self.prices, strict=True))
        size, price = min(shelf, key=lambda pack: Fraction(pack[1], pack[0]))
        whole, rest = divmod(self.required, size)
        enough = min(whole * price + min(p * -(-rest // s) for s, p in shelf), *(p * -(-self.required // s) for s, p in shelf))
        room = (enough + min(self.prices)) * size - self.required * price
        self.rate, self.room = price / size, room / size * (1 + 1e-9)
        return [
            i
            for i, (s, p) in enumerate(shelf)
            if p * size - s * price <= room and (s, p) not in shelf[:i] and not any(-(-s // other) * q < p for other, q in shelf)
        ]

    def _families(self) -> list[tuple[list[int], int]]:
        """Sizes grouped by a common measure, coarse or fine, whichever means less work: cells to fill, and sums of cells to look up."""

        def work(families: list[tuple[list[int], int]]) -> int:
            cells = sorted(self.end // step + 1 for _, step in families)
            return sum((self.end // step + 1) * len(members) for members, step in families) + prod(cells[:-1])

        found = min((self._grouped(limit) for limit in (CELLS // 200, CELLS // 20, CELLS)), key=work)
        if any(self.end // step >= CELLS for _, step in found):
            raise RangeError(
                "are too small for the need", code="limit.packs", argument="packs", hint=f"at most {CELLS:,} packs of one size"
            )
        return found

    def _grouped(self, limit: int) -> list[tuple[list[int], int]]:
        """Families (members, common measure); one with several members has at most `limit` cells in its table."""
        families: list[tuple[list[int], int]] = []
        for i in sorted(self.kept, key=lambda i: -self.sizes[i]):
            for place, (members, step) in enumerate(families):
                shared = gcd(step, self.sizes[i])
                if self.end // shared < limit:
                    families[place] = ([*members, i], shared)
                    break
            else:
                families.append(([i], self.sizes[i]))
        return sorted(families, key=lambda family: -family[1])

    def _table(self, members: list[int], step: int) -> Any:
        """Least `cost·2ᵇ + count` for every exact multiple of `step`."""
        table = numpy.full(self.end // step + 1, UNREACHED, dtype=numpy.int64)
        table[0] = 0
        for i in members:
            stride, key = self.sizes[i] // step, self._key(i)
            whole = table.size // stride  # at least two: a table ends two of the largest sizes beyond
            grid, tail = table[: whole * stride].reshape(whole, stride), table[whole * stride :]
            ramp = (numpy.arange(whole, dtype=numpy.int64) * key)[:, None]
            grid -= ramp
            numpy.minimum.accumulate(grid, axis=0, out=grid)
            grid += ramp
            numpy.minimum(tail, grid[-1, : tail.size] + key, out=tail)
        return table

    def _key(self, i: int) -> int:
        return (self.prices[i] << self.bits) + 1

    def solve(self, beyond: Sequence[int] | None = None) -> list[int]:
        """How many of each pack to take for the volume required, or for any volume larger than what the packs in `beyond` hold."""
        goal = self.required if beyond is None else sum(n * s for n, s in zip(beyond, self.sizes, strict=True)) + 1
        volumes, keys = numpy.zeros(1, dtype=numpy.int64), numpy.zeros(1, dtype=numpy.int64)
        chosen: list[Any] = []
        for table, (_, step) in zip(self.tables[:-1], self.families[:-1], strict=True):
            volumes, keys, chosen = self._joined(volumes, keys, chosen, table, step)
        table, step = self.tables[-1], self.families[-1][1]
        open_cells = numpy.maximum(0, -((volumes - goal) // step))
        last = self._cheapest_from(table)[numpy.minimum(open_cells, table.size - 1)]
        within = (open_cells < table.size) & (table[last] < UNREACHED)
        last = last[within]
        volumes, keys, chosen = volumes[within] + last * step, keys[within] + table[last], [c[within] for c in chosen]
        costs, counts = keys >> self.bits, keys & ((1 << self.bits) - 1)
        best = numpy.lexsort((counts, volumes, costs))[0]
        return self._counts([*(int(c[best]) for c in chosen), int(last[best])])

    def _cheapest_from(self, table: Any) -> Any:
        """For every cell, the cheapest cell from there up, the nearest one among equals."""
        costs = table[::-1] >> self.bits
        place = numpy.where(costs == numpy.minimum.accumulate(costs), numpy.arange(table.size), 0)
        return table.size - 1 - numpy.maximum.accumulate(place)[::-1]

    def _joined(self, volumes: Any, keys: Any, chosen: list[Any], table: Any, step: int) -> tuple[Any, Any, list[Any]]:
        """Every sum of a volume so far and one from a table, except those for which a larger volume is cheaper."""
        cells = numpy.flatnonzero((table < UNREACHED) & self._affordable(numpy.arange(table.size) * step, table))
        if volumes.size * cells.size > CELLS:
            raise RangeError(
                "have too many sizes without a common measure", code="limit.packs", argument="packs", hint="round sizes to their labels"
            )
        sums = (volumes[:, None] + cells * step).ravel()
        costs = (keys[:, None] + table[cells]).ravel()
        picks = [*(numpy.repeat(c, cells.size) for c in chosen), numpy.tile(cells, volumes.size)]
        within = numpy.flatnonzero((sums <= self.end) & self._affordable(sums, costs))
        order = within[numpy.argsort(sums[within], kind="stable")]
        price = costs[order] >> self.bits
        keep = order[price <= numpy.minimum.accumulate(price[::-1])[::-1]]
        return sums[keep], costs[keep], [p[keep] for p in picks]

    def _affordable(self, volumes: Any, keys: Any) -> Any:
        """Whether, with the excess of these volumes over the best price, the total can still match that of a known set."""
        return (keys >> self.bits) - self.rate * volumes <= self.room

    def _counts(self, cells: list[int]) -> list[int]:
        """How many of each pack make up the chosen cells, found by taking packs away while a matching cell remains, large ones first."""
        counts = [0] * self.number
        for cell, table, (members, step) in zip(cells, self.tables, self.families, strict=True):
            while cell:
                for i in members:
                    stride, key = self.sizes[i] // step, self._key(i)
                    number = cell // stride
                    while number and table[cell - number * stride] + number * key != table[cell]:
                        number //= 2
                    counts[i] += number
                    cell -= number * stride
        return counts
