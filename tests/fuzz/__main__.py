"""`python -m fuzz`: run many cases, print the results."""

from __future__ import annotations

import argparse
import collections
import gc
import json
import random
import resource
import sys
import time
import traceback
import warnings

from fuzz import files  # noqa: F401  (enters the surfaces of objects and files)
from fuzz.judge import LIMIT, judged, limit
from fuzz.surfaces import SURFACES, shown_call

WARM_UP = 40
ADDRESS_SPACE = 4 * 2**30


def drawn(name: str, seed: int, number: int) -> random.Random:
    """The generator of one case, the same in every process."""
    return random.Random(f"{seed}/{name}/{number}")


def run(cases: int, seed: int, only: str = "", progress: bool = False) -> dict:
    """Run `cases` cases spread over the surfaces; return counts, times, peaks and faults as plain data."""
    chosen = {name: entry for name, entry in SURFACES.items() if only in ("", name)}
    total = sum(share for share, _ in chosen.values())
    report: dict = {"cases": 0, "seed": seed, "surfaces": {}}
    for name, (share, make) in chosen.items():
        count = max(10, round(cases * share / total))
        kinds: collections.Counter[str] = collections.Counter()
        faults: dict[str, list] = {}
        times, slowest, peak = [], (0.0, ""), 0
        for number in range(-WARM_UP, count):
            random_ = drawn(name, seed, number)
            case = make(random_)
            if number < 0:
                judged(case)
                continue
            measured = number % 50 == 7
            outcome = judged(case, memory=measured, pickled=number % 10 == 3)
            if outcome.seconds > limit(name) / 2:  # garbage collection or a first use may be included: the least of three counts
                again = []
                for _ in range(2):
                    gc.collect()
                    again.append(judged(make(drawn(name, seed, number))).seconds)
                outcome.seconds = min(outcome.seconds, *again)
            if outcome.seconds > limit(name) and not outcome.fault:
                outcome.fault = f"takes {1e3 * outcome.seconds:.0f} ms"
            kinds[outcome.kind] += 1
            peak = max(peak, outcome.peak)
            if not measured:
                times.append(outcome.seconds)
                if outcome.seconds > slowest[0]:
                    slowest = (outcome.seconds, shown_call(make(drawn(name, seed, number)))[:160])
            if outcome.fault:
                key = outcome.fault.partition("(")[0][:80]
                found = faults.setdefault(key, [0, number, outcome.fault, shown_call(make(drawn(name, seed, number)))[:1500]])
                found[0] += 1
        times.sort()
        report["cases"] += count
        report["surfaces"][name] = {
            "cases": count,
            "outcomes": dict(kinds.most_common()),
            "median": times[len(times) // 2],
            "p999": times[int(0.999 * (len(times) - 1))],
            "slowest": slowest[0],
            "slowest call": slowest[1],
            "peak": peak,
            "faults": faults,
        }
        if progress:
            print(
                f"{name}: {count} cases, {sum(f[0] for f in faults.values())} faults, slowest {1e3 * slowest[0]:.1f} ms",
                file=sys.stderr,
                flush=True,
            )
    report["peak_rss"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
    return report


def main() -> int:
    """Run a command; 1 when a fault was found."""
    parser = argparse.ArgumentParser(prog="python -m fuzz", description=__doc__)
    parser.add_argument("--cases", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--surface", default="", choices=["", *SURFACES], help="only this one")
    parser.add_argument("--case", type=int, help="repeat this one case of the surface and show its traceback")
    parser.add_argument("--json", help="write the report there")
    options = parser.parse_args()
    resource.setrlimit(resource.RLIMIT_AS, (ADDRESS_SPACE, ADDRESS_SPACE))
    warnings.simplefilter("error")
    if options.case is not None:
        function, args, kwargs = case = SURFACES[options.surface][1](drawn(options.surface, options.seed, options.case))
        print(shown_call(case))
        try:
            print(function(*args, **kwargs))
        except Exception:
            traceback.print_exc()
        return 0
    started = time.time()
    report = run(options.cases, options.seed, options.surface, progress=True)
    report["wall"] = time.time() - started
    if options.json:
        with open(options.json, "w", encoding="utf-8") as file:
            json.dump(report, file, ensure_ascii=True, indent=1)
    bad = 0
    for name, found in report["surfaces"].items():
        for count, number, fault, call in found["faults"].values():
            bad += count
            print(f"FAULT {name} --case {number} ({count} times): {fault}\n    {call}")
    print(f"{report['cases']} cases, {bad} faults, limit {1e3 * LIMIT:.0f} ms, peak of the process {report['peak_rss'] / 2**20:.0f} MB")
    return 1 if bad else 0


if __name__ == "__main__":
    raise SystemExit(main())
