"""The limits, measured: what the largest input that is accepted costs, and what it costs to refuse the next one.

    cd tests && python -m fuzz.limits ../docs/reference/limits.txt

The rows are axes of `fuzz.axes`, each at the last size within its limit and at the first beyond it.
"""

from __future__ import annotations

import sys
import warnings
from pathlib import Path
from typing import NamedTuple

from fuzz import size
from fuzz.axes import AXES


class Limit(NamedTuple):
    """What is bounded: the axis, its limit in words, the largest size within it, and the first size beyond, or None."""

    what: str
    axis: str
    limit: str
    largest: int
    refused: int | None


MEGABYTE = 1_000_000
LIMITS = [
    Limit("text of one quantity", "quantity: digits", "200 characters", 198, 199),
    Limit("the same, far beyond", "quantity: digits", "200 characters", 198, 10 * MEGABYTE),
    Limit("job file", "job file: comment", "1 MB", MEGABYTE - 1, MEGABYTE),
    Limit("parts of a dotted key", "job file: dotted key", "8", 8, 9),
    Limit("digits of a whole number in a file", "job file: digits", "400", 400, 401),
    Limit("record file of many keys", "record file: keys", "1 MB", 70_000, 100_000),
    Limit("job file in which every line is wrong", "job file: keys of one table", "1 MB", 90_000, 120_000),
    Limit("bolts of a job, planned", "plan: bolts", "2000 entries", 2000, 2001),
    Limit("changes of a history, planned", "plan: plain history", "2000 entries", 2000, 2001),
    Limit("uncertain changes of a history, planned", "plan: uncertain history", "2000 entries", 2000, 2001),
    Limit("tanks in series", "exchange: tanks", "200", 200, 201),
    Limit("bursts of a plan of bursts", "burst_plan: volume", "1000 bursts", 1000, 100_000),
    Limit("changes over a horizon", "repeated_changes: changes", "100 000", 99_000, 10 * MEGABYTE),
    Limit("packs of one size for a need", "cheapest_packs: need", "4 000 000", 200_000, 10 * MEGABYTE),
    Limit("entries of a ledger, one by one", "Ledger: one pail", "none; linear", 4000, None),
    Limit("changes of a fluid history, one by one", "FluidHistory: replaced", "none; linear", 4000, None),
    Limit("a column of texts", "column of texts", "none; linear", 16_000, None),
    Limit("a column of numbers", "column of drain_refill, all arguments", "none; linear", 4 * MEGABYTE, None),
    Limit("a text of pairs, checked", "check_text: pairs", "none; linear (64 MB on the command line)", 100_000, None),
    Limit("a table, checked", "check_text: table", "none; linear (64 MB on the command line)", 40_000, None),
    Limit("entries of a log, planned", "plan: readings of one vessel", "2000 entries", 2000, 2001),
    Limit("vessels of a job, each used once, planned", "plan: vessels", "50 entries", 50, 51),
    Limit("readings of the stick with pours between, planned", "plan: stick readings and pours", "5000 (entries times readings)", 40, 41),
    Limit("components, each with its own fluid and pack, planned", "plan: components", "2000 packs", 1999, 2000),
]


def measured(limit: Limit) -> list[str]:
    """The cells of a row."""
    call, given = size.held(AXES[limit.axis].make, limit.largest)
    size.outcome_of(call)  # what is loaded at a first use
    said, took = size.timed(call, 60.0)
    if any(word in said for word in ("more than", "larger than", "at most", "stopped", "memory")):
        raise SystemExit(f"{limit.what}: {limit.largest} is refused: {said}")
    cells = [limit.what, limit.limit, f"{1e3 * took:,.0f} ms", f"{size.peak(call) / 2**20:,.1f} MB", f"{given / 2**20:,.2f} MB"]
    if limit.refused is None:
        return [*cells, "–"]
    beyond = AXES[limit.axis].make(limit.refused)
    said, took = size.timed(beyond, 60.0)
    if said == "answer" or "stopped" in said:
        raise SystemExit(f"{limit.what}: {limit.refused} is not refused: {said}")
    return [*cells, f"{1e3 * took:,.1f} ms, {size.peak(beyond) / 2**20:,.1f} MB"]


def main() -> int:
    """Write the table."""
    warnings.simplefilter("error")
    heads = ["what", "limit", "the largest takes", "and holds, at its peak", "beside an input of", "refusing the next takes, and holds"]
    lines = [".. list-table::", "   :header-rows: 1", ""]
    for row in (None, *LIMITS):
        cells = heads if row is None else measured(row)
        print(*cells, sep=" | ", flush=True)
        lines += [f"   {'*' if i == 0 else ' '} - {cell}" for i, cell in enumerate(cells)]
    if len(sys.argv) > 1:
        Path(sys.argv[1]).write_text("\n".join([*lines, ""]), encoding="utf-8")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
