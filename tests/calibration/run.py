"""The calibration study: services in worlds that do not share the library's assumptions, and how good its ± is there.

    python tests/calibration/run.py --worlds 300 --seed 1                 every study, printed as tables
    python tests/calibration/run.py --worlds 300 --seed 1 --studies realistic,typo
    python tests/calibration/run.py --worlds 50 --seed 1,2,3 --json FILE  in pieces, and kept as numbers

One process; about a second a world. Saved numbers of several runs are put together when the page is made.
"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

import numpy

from calibration.score import QUANTITIES, STATEMENTS, answered, scored
from calibration.service import service
from calibration.worlds import KINDS, doubted, drawn

STUDIES: dict[str, tuple[str, dict[str, Any], bool]] = {
    **{kind: (kind, {}, False) for kind in KINDS},
    "drawn first": ("realistic", {"drawn_first": 0.3}, False),
    "typo": ("realistic", {}, True),
    "sceptic": ("", {}, False),
}
"""Study -> kind of world (none: as a sceptic draws it), what is fixed in it, whether one entry of the log is wrong by a litre."""


def worlds_of(study: str, count: int, seed: int) -> Any:
    """Job and truth of each world of a study; a world is the same whatever else is drawn."""
    kind, fixed, typo = STUDIES[study]
    for number in range(count):
        rng = numpy.random.default_rng([seed, list(STUDIES).index(study), number])
        yield service(drawn(kind, rng, **fixed) if kind else doubted(rng), rng, typo)


def cases_of(study: str, count: int, seed: int, inside: int) -> list[tuple[dict[str, Any], dict[str, Any], dict[str, Any]]]:
    """Job, truth and answer of each world of a study; in the first `inside`, also what the outlet says about the inside."""
    return [(job, truth, answered(job, number < inside)) for number, (job, truth) in enumerate(worlds_of(study, count, seed))]


def percent(share: float | None) -> str:
    """A share in whole per cent, or a dash."""
    return "–" if share is None else f"{100 * share:.0f} %"


def table(told: dict[str, Any]) -> str:
    """The scores of one study as text."""
    lines = [f"{'':<26}{'1 u':>6}{'2 u':>7}{'rms error':>11}{'mean u':>9}{'u/rms':>7}{'mean error':>12}{'n':>6}"]
    for key, name in QUANTITIES.items():
        row = told["quantities"][key]
        if not row["count"]:
            lines.append(f"{name:<26}  not said")
            continue
        lines.append(
            f"{name:<26}{percent(row['one']):>6}{percent(row['two']):>7}{row['rms']:>11.3f}{row['u']:>9.3f}"
            f"{row['u'] / row['rms']:>7.2f}{row['mean']:>+12.3f}{row['count']:>6}"
        )
    lines.append(f"95 % interval of the inside holds in {percent(told['interval'])}")
    for key, name in STATEMENTS.items():
        row = told["statements"][key]
        bins = ", ".join(f"{100 * p:.0f}→{100 * f:.0f} ({n})" for p, f, n in row["bins"])
        lines.append(f"{name}: stated → came true, in %: {bins}; at least 95 % sure: {percent(row['high'])} of {row['high_count']}")
    lines.append(f"unanswered {100 * told['unanswered']:.1f} % {told['reasons'] or ''}")
    if told["named"] is not None:
        lines.append(
            f"typing error noticed {percent(told['noticed'])}, named {percent(told['named'])}, "
            f"among those printed {percent(told['printed'])}; {told['suspects']:.1f} entries named"
        )
    return "\n".join(lines)


def main() -> None:
    """Read the command line and do what it says."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--worlds", type=int, default=300)
    parser.add_argument("--seed", default="1")
    parser.add_argument("--inside", type=int, help="in how many worlds to ask what the outlet says, which takes longest; else in all")
    parser.add_argument("--studies", default=",".join(STUDIES))
    parser.add_argument("--json", type=Path)
    asked = parser.parse_args()
    found = {}
    seeds, inside = asked.seed.split(","), asked.worlds if asked.inside is None else asked.inside
    for study in asked.studies.split(","):
        found[study] = scored(case for seed in seeds for case in cases_of(study, asked.worlds, int(seed), inside))
        print(f"== {study}: {found[study]['worlds']} worlds, seed {asked.seed}\n{table(found[study])}\n", flush=True)
    if asked.json:
        asked.json.write_text(json.dumps(found, indent=1) + "\n")


if __name__ == "__main__":
    main()
