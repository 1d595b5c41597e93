"""Write the page of a run: `python -m fuzz.report PAGE RUN.json [RUN.json …]`, from what `python -m fuzz --json RUN.json` wrote."""

from __future__ import annotations

import collections
import json
import sys
from pathlib import Path
from typing import Any

from fuzz.judge import LIMIT, MEMORY, SLOW

HEAD = """\
Fuzz report
===========

Whatever is handed in, the library gives a finite answer or one of its own errors, within {limit:.0f} ms of processor time and {memory} MB.
Arguments are generated for every public function, for sequences of operations on every object, for every ``from_dict`` and for files: right
ones, near misses, Quantities of two registries, uncertain numbers, arrays, magnitudes from 5e-324 to 1.8e308, objects that cannot even be
shown, texts of any characters, plain data with places replaced, dropped, renamed or doubled, files cut off or in another encoding.

.. code-block:: sh

   cd tests
   python -m fuzz --cases 1000000 --seed 1                 # every surface
   python -m fuzz --surface quantity --seed 1 --case 77    # one case again, with its traceback
   python fuzz/guided.py corpus -max_total_time=600        # guided by coverage; needs atheris

Every answer is searched for nan, infinity and complex numbers; every error must be printable, short, and the same after a pickle; a
``TypeError`` is right only where a call does not fit the signature. Times are the least of three where a case took long. A short seeded run
is part of the suite.

"""

FOUND = """\
Found and mended
----------------

Runs like this one found, and tests now hold, among others:

* uncertainties too large to be squared, and answers that overflow only in the unit that was asked: refused now, they came back infinite;
* a list that contains itself, a circulation of cubic metres through a small circuit: they ran for seconds or for ever;
* flags, seeds, titles and paths of another kind, and sequences that are none: bare ``TypeError`` and ``AttributeError`` from deep inside;
* records with unknown keys, numbers beyond floats, units of another kind, names that are no texts: accepted or an error of Python's own;
* names of keys with control characters, which went to the terminal unescaped;
* a caller's decimal context with few digits, which changed the numbers of a sheet;
* a range of shares ("82–92 % fresh") where a text speaks of drains: an assertion of the library's own;
* a share so small that no number of changes is enough, millions of one small pack, and a pack beyond floats: Python's overflow, and
  seconds of counting (the last find of the run above; its surface was run again on the mended code);
* degrees of freedom, coverages and prices that carry an uncertainty: deprecated comparisons of uncertain numbers.

The fuzzer guided by coverage found nothing in its last run: 92 319 inputs to the grammar, descriptions and job files in four minutes.

What takes longer by its nature has a limit of its own: {slow}.
"""


def page(runs: list[dict[str, Any]]) -> str:
    """The page of one or several runs."""
    surfaces: dict[str, dict[str, Any]] = {}
    for run in runs:
        for name, found in run["surfaces"].items():
            fresh = {"cases": 0, "outcomes": collections.Counter(), "median": [], "slowest": 0.0, "peak": 0, "faults": 0}
            one = surfaces.setdefault(name, fresh)
            one["cases"] += found["cases"]
            one["outcomes"] += collections.Counter(found["outcomes"])
            one["median"].append(found["median"])
            one["slowest"] = max(one["slowest"], found["slowest"])
            one["peak"] = max(one["peak"], found["peak"])
            one["faults"] += sum(fault[0] for fault in found["faults"].values())
    cases, faults = sum(one["cases"] for one in surfaces.values()), sum(one["faults"] for one in surfaces.values())
    answered = sum(one["outcomes"]["answer"] for one in surfaces.values())
    usual = {name: one["slowest"] for name, one in surfaces.items() if name not in SLOW}
    slowest = max(usual, key=lambda name: usual[name])
    heaviest = max(surfaces, key=lambda name: surfaces[name]["peak"])
    seeds = ", ".join(dict.fromkeys(str(run["seed"]) for run in runs))
    said = (
        f"**{cases:,} cases** (seed {seeds}): {answered:,} answers, {cases - answered:,} refusals, **{faults} faults**. Slowest of the"
        f" surfaces with the common limit: ``{slowest}``, {1e3 * usual[slowest]:.1f} ms. Most memory: ``{heaviest}``,"
        f" {surfaces[heaviest]['peak'] / 2**20:.1f} MB; a whole process never held more than"
        f" {max(run['peak_rss'] for run in runs) / 2**20:.0f} MB.\n"
    )
    rows = [["surface", "cases", "answers", "median, ms", "slowest, ms", "peak, MB", "faults"]]
    for name, one in surfaces.items():
        rows.append(
            [
                name, f"{one['cases']:,}", f"{one['outcomes']['answer'] / one['cases']:.0%}",
                f"{1e3 * sum(one['median']) / len(one['median']):.2f}",
                f"{1e3 * one['slowest']:.1f}", f"{one['peak'] / 2**20:.1f}", str(one["faults"]),
            ]
        )  # fmt: skip
    table = [".. list-table::", "   :header-rows: 1", ""]
    for row in rows:
        table += [f"   {'*' if i == 0 else ' '} - {cell}" for i, cell in enumerate(row)]
    slow = "; ".join(f"{name}, {1e3 * most:.0f} ms" for name, most in SLOW.items())
    head = HEAD.format(limit=1e3 * LIMIT, memory=MEMORY // 2**20)
    return "\n".join([head + said, *table, "", FOUND.format(slow=slow)])


if __name__ == "__main__":
    target, *files = map(Path, sys.argv[1:])
    target.write_text(page([json.loads(file.read_text(encoding="utf-8")) for file in files]), encoding="utf-8")
