"""Which check values reject which wrong formula: `python tests/power/report.py [--page docs/reference/power.rst]`."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path

if __name__ == "__main__":
    sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[2] / "src")]

import sumpwise
from power.making import Built, Maker
from power.wrong import WRONG
from sumpwise.verification.entries import Entry, exercised, load
from sumpwise.verification.publications import KNOWN, OUTSIDE
from sumpwise.verification.runner import check


@dataclass(frozen=True)
class Trial:
    """A wrong formula and the check values that reject it."""

    function: str
    wrong: str
    rejected_by: tuple[Entry, ...]

    @property
    def outside(self) -> tuple[Entry, ...]:
        """Those of them that come from outside this library."""
        return tuple(entry for entry in self.rejected_by if entry.known in OUTSIDE)


@contextmanager
def believed(function: str, wrong: Maker | Built) -> Iterator[None]:
    """The library with one formula wrong."""
    name, _, method = function.partition(".")
    owner, attribute = (getattr(sumpwise, name), method) if method and not isinstance(wrong, Built) else (sumpwise, name)
    getattr(sumpwise, name)  # the face has loaded it
    right = vars(owner)[attribute]
    make = wrong.make if isinstance(wrong, Built) else wrong
    static = isinstance(right, classmethod)
    made = make(right.__func__ if static else right)
    try:
        setattr(owner, attribute, classmethod(made) if static else made)
        yield
    finally:
        setattr(owner, attribute, right)


@cache
def values(function: str) -> tuple[Entry, ...]:
    """The check values that test a function: memory, common practice and rows that differ do not count."""
    return tuple(e for e in load() if function in exercised(e) and e.known in KNOWN[:5] and not e.differs)


@cache
def trial(function: str, wrong: str) -> Trial:
    """Run the check values of a function with one of its wrong formulas, once."""
    with believed(function, WRONG[function][wrong]):
        return Trial(function, wrong, tuple(entry for entry in values(function) if not check(entry).passed))


def power() -> tuple[Trial, ...]:
    """Every wrong formula, tried."""
    return tuple(trial(function, wrong) for function, wrongs in sorted(WRONG.items()) for wrong in wrongs)


def page(trials: tuple[Trial, ...]) -> str:
    """The report as a page of the documentation."""
    caught, outside = sum(bool(t.rejected_by) for t in trials), sum(bool(t.outside) for t in trials)
    lines = [
        "The power of the check values\n=============================\n",
        f"{caught} of {len(trials)} plausible wrong formulas of {len({t.function for t in trials})} functions are rejected by a check "
        f"value, {outside} of them by one from outside this library. They are data, in ``tests/power/wrong.py``; the page is written by",
        "\n.. code-block:: sh\n\n   python tests/power/report.py --page docs/reference/power.rst\n",
        ".. list-table::\n   :header-rows: 1\n   :class: longtable\n   :widths: 22 38 10 10 20\n",
        "   * - function\n     - wrong formula\n     - rejected by\n     - from outside\n     - for example",
    ]
    for t in trials:
        first = (*t.outside, *t.rejected_by)[:1]
        example = f"{first[0].publication}, {first[0].where}" if first else "nothing"
        cells = [f"``{t.function}``", t.wrong, str(len(t.rejected_by)), str(len(t.outside)), example]
        lines.append("   * - " + "\n     - ".join(cell.replace("*", "\\*").replace("|", "\\|") for cell in cells))
    return "\n".join(lines) + "\n"


def main(arguments: list[str] | None = None) -> int:
    """Print the power of every function, or write its page; 1 when a wrong formula survives."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--page", type=Path, help="write the page of the documentation")
    options = parser.parse_args(arguments)
    trials = power()
    if options.page:
        options.page.write_text(page(trials), encoding="utf-8")
    for t in trials:
        fate = "" if t.rejected_by else "  SURVIVES"
        print(f"{t.function:30} {t.wrong:55} {len(t.rejected_by):4} values, {len(t.outside):4} from outside{fate}")
    survivors = [t for t in trials if not t.rejected_by]
    outside = sum(bool(t.outside) for t in trials)
    print(f"{len(trials) - len(survivors)} of {len(trials)} wrong formulas are rejected; {outside} by a value from outside")
    return 1 if survivors else 0


if __name__ == "__main__":
    raise SystemExit(main())
