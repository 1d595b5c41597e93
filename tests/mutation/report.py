"""Writes docs/reference/mutation.rst from the results saved in `results/` and the reasons in `equivalent.toml`."""

from __future__ import annotations

import json
import math
import pathlib
import textwrap
import tomllib

HERE = pathlib.Path(__file__).parent
TARGET = HERE.parents[1] / "docs" / "reference" / "mutation.rst"
HEAD = """\
Mutation testing
================

A test that cannot fail proves nothing. Here the computing rooms are changed on purpose, one operator, number or condition at
a time, and the tests of the room must notice each change. `Cosmic Ray <https://cosmic-ray.readthedocs.io>`_ makes the changes;
the page is written by

.. code-block:: sh

   pip install cosmic-ray
   python tests/mutation/run.py torque                              # every mutant of a part
   python tests/mutation/run.py mixing.circuit --sample 100 --seed 1   # a random sample
   python tests/mutation/run.py mixing.circuit --again              # the survivors again, after tests were added
   python tests/mutation/run.py --report                            # this page

from ``tests/mutation/rooms.toml`` (files, operators), ``tests/mutation/results`` and ``tests/mutation/equivalent.toml``.

Every module of the library stands in one part (a test says so); the sentences of the catalogue hold nothing that can be changed this way.
Rates are those of the mutants that were run; parts that are in ``rooms.toml`` but not in the table have not been measured. Samples are
drawn after the tests were written, from the commit that stands beside the day of the first run. Each survivor gets a test or a reason,
and is run again, so the last rate says more about the mutants in the sample than about the others. The rate of the first run, before any
test was written for its survivors, is the one to judge the tests by; it counts equivalent mutants as not killed, and beside it stands the
Wilson interval of 95 % in which the rate of all mutants of the part is expected. *Equivalent* are survivors that change no answer, each
with its reason below; *open* are survivors that no test notices yet. A mutant that takes three times the processor time of its tests
counts as killed. Doctests are left out: examples are not evidence. Hypothesis runs without randomness, with 25 examples for each law.

Which tests can notice a mutant is found, not listed: each module of tests is run once without any mutant, to see which lines each of its
tests runs (of a module that takes longer than 40 s of a processor, the tests up to there). A mutant is shown to the tests of the whole
suite that run its line, those of the modules first that run most of its file in little time, then to the others of the same modules, until
they have taken two minutes of a processor without a mutant; the rest of the suite may kill more. The samples of seed 27111 were shown to
half a minute of such tests, of the modules about services, descriptions, circuits and evidence, and then, where nothing had noticed, to all
tests of the modules that had been listed for their part; those of seed 14142 to 40 s of them (``plots``: a minute), those of seed 31415 to
40 s of tests of the whole suite, those of seed 16180 as it is said above. Those of other seeds were shown to tests listed by hand for each
part, and with seed 61803 not to the others of their modules, so that their rates may be too low. The survivors of seeds 27111, 14142 and
16180 were put in again by hand, one at a time, and shown to the test that was written for them, as were most of those of seed 31415; the
rest of these were run again, with two minutes of tests.

Left out by configuration, since they change no number: annotations, blocks for the type checker, the words of error messages,
``__slots__``, the flags ``strict=`` and ``slots=``, the star before keyword arguments; also bit operators and ``~`` in place of
arithmetic, and identity of numbers, which fail by type at the first call.
"""


def table(header: list[str], rows: list[list[str]]) -> str:
    lines = [".. list-table::", "   :header-rows: 1", ""]
    for row in [header, *rows]:
        lines += [f"   {'* -' if i == 0 else '  -'} {cell}" for i, cell in enumerate(row)]
    return "\n".join(lines) + "\n"


def write() -> None:
    reasons = tomllib.loads((HERE / "equivalent.toml").read_text()).get("alike", [])
    why = {(r["file"], r["old"], new): r["why"] for r in reasons for new in r["new"]}
    rooms: dict[str, dict[str, dict]] = {}
    for file in sorted((HERE / "results").glob("*.json")):
        rooms.setdefault(file.stem.split(".")[0], {})[file.stem] = json.loads(file.read_text())
    rows, lists = [], []
    for room, parts in rooms.items():
        sums = [0] * 6
        for name, found in parts.items():
            known = [s for s in found["survived"] if (s["file"], s["old"], s["new"]) in why]
            left = [s for s in found["survived"] if s not in known]
            counts = [found["mutants"], found["run"], found["killed"], len(known)]
            sums = [a + b for a, b in zip(sums, [*counts, found["first_run"], found["first_killed"]], strict=True)]
            how = "all" if found["seed"] is None else f"sample, seed {found['seed']}"
            how += f"; {found['first_day']}, {found['first_revision']}"
            for one in found.get("earlier", []):
                how += f"; before that {one['first_killed']} of {one['first_run']} at first, seed {one['seed']}, {one['first_revision']}"
            first = at_once(found["first_run"], found["first_killed"])
            last = [str(counts[2]), rate(*counts[1:]), str(len(known)), str(len(left))]
            rows.append([f"``{name}``", *map(str, counts[:2]), first, *last, how])
            if found["survived"]:
                lists.append(f"{name}\n{'~' * len(name)}\n")
                changes: dict[tuple[str, str, str, str], list[str]] = {}
                for s in [*left, *known]:
                    reason = why.get((s["file"], s["old"], s["new"]), "**open**")
                    changes.setdefault((s["file"], s["in"], s["old"], reason), []).append(s["new"])
                lists += [entry(*change, news) for change, news in changes.items()]
        if len(parts) > 1:
            made, run, killed, alike, at_first, first = sums
            rates = [at_once(at_first, first), str(killed), rate(run, killed, alike)]
            rows.append([f"**{room}**", str(made), str(run), *rates, str(alike), str(run - killed - alike), ""])
    header = ["room, part", "mutants", "run", "killed at first", "killed", "killed without equivalent", "equivalent", "open"]
    header.append("which; first run")
    body = [HEAD, "Results", "-------", "", table(header, rows), "Survivors", "---------", "", *lists]
    TARGET.write_text("\n".join(body).rstrip() + "\n")
    print(f"{TARGET.name} written")


def at_once(run: int, killed: int) -> str:
    """What a run killed, and the Wilson interval of 95 % for the rate of all mutants."""
    share, square = killed / run, 1.96**2 / run
    middle, half = (share + square / 2) / (1 + square), math.sqrt(square * (share * (1 - share) + square / 4)) / (1 + square)
    return f"{killed} of {run}, {rate(run, killed, 0)} ({100 * (middle - half):.0f}–{100 * (middle + half):.0f} %)"


def rate(run: int, killed: int, alike: int) -> str:
    return f"{100 * killed / max(run - alike, 1):.1f} %"


def entry(file: str, where: str, old: str, reason: str, news: list[str]) -> str:
    where = f"``{file.removeprefix('src/sumpwise/')}``, ``{where}``: {reason}"
    shown = textwrap.indent("\n".join([f"- {old}", *(f"+ {new}" for new in news)]), "       ")
    return f"{textwrap.fill(where, 120, initial_indent='* ', subsequent_indent='  ')}\n\n  .. code-block:: diff\n\n{shown}\n"


if __name__ == "__main__":
    write()
