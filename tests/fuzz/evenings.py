"""Simulated services, entry by entry: whatever has been done so far, the sheet answers and does not contradict itself.

    cd tests && python -m fuzz.evenings --seed 1 --evenings 40

The simulator is that of the calibration study. Every evening is planned with each beginning of its log, from the empty one to the whole,
as it is and with something of the job written otherwise: other units, another method, a key left out, another check of the level.
"""

from __future__ import annotations

import argparse
import copy
import re
import traceback
from collections import Counter
from collections.abc import Iterator
from typing import Any

import numpy

from calibration import service, worlds
from sumpwise import Job, SumpwiseError, plan

MISPRINTS = {
    "a number that is none": r"\b(?:nan|inf|None)\b",
    "a placeholder": r"[{}]",
    "a stop after a space": r" [.,;](?!\d)",
    "two stops": r"(?<!\.)\.\.(?!\.)|[.;];|;\.",
    "a plural of one": r"(?<![.\d])1 (?:bursts|drains|washers|filters|points|packs|bottles)\b",
    "minus nothing": r"[−-]0(?:\.0+)?(?![.\d])",
    "an effect of nothing": r"moves [^.]*± 0(?:\.0+)?(?![.\d])",
}
"""What no sheet says."""


def changed(job: dict[str, Any], *path: str, value: Any = None) -> dict[str, Any]:
    """The job with one key written otherwise, or left out."""
    found = copy.deepcopy(job)
    table = found
    for key in path[:-1]:
        table = table.setdefault(key, {})
    table.pop(path[-1], None)
    if value is not None:
        table[path[-1]] = value
    return found


def variants(job: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    """The job as it is, and with something written otherwise."""
    yield "as it is", job
    yield "US units", changed(job, "report", value={"units": "US"})
    yield "both units", changed(job, "report", value={"units": "both"})
    yield "no number of bursts", changed(job, "exchange", "bursts")
    yield "no method", changed(job, "target", "method")
    yield "drains", changed(job, "target", "method", value="drains")
    yield "one drain", changed(job, "target", "method", value="drain")
    yield "a high target", changed(job, "target", "fresh", value="95 %")
    yield "no flow", changed(job, "exchange", "flow")
    yield "a helper", changed(job, "exchange", "helper", value=True)
    yield "no figure of the plug", changed(job, "capacity", "plug_drain")
    yield "no packs", changed(job, "pack")
    yield "no stick", _without_stick(job, "overflow plug")
    yield "sealed", _without_stick(job, "sealed")
    yield "an axle", _without_stick(_axle(job), "fill hole")


def _without_stick(job: dict[str, Any], check: str) -> dict[str, Any]:
    """The job of a unit whose level is checked otherwise; the stick is not read."""
    found = changed(changed(job, "level", value={"window": "35–45 °C"}), "vehicle", "level_check", value=check)
    return changed(found, "log", value=[entry for entry in job.get("log", ()) if entry["event"] != "stick"] or None)


def _axle(job: dict[str, Any]) -> dict[str, Any]:
    """What was drained at the plug and poured back, done to an axle that holds a little more; it has no bursts and no pan."""
    found = changed(changed(job, "vehicle", "kind", value="axle"), "target", "method", value="drain")
    log = [entry for entry in job.get("log", ()) if entry["event"] not in ("lost", "emptied")]
    bursts = next((place for place, entry in enumerate(log) if "outlet_old" in entry), len(log))
    found["log"] = log[:bursts] + [entry for entry in log[bursts:] if entry["event"] == "drive"]
    litres = max((float(entry["reading"].split()[0]) for entry in log[:bursts] if entry["event"] == "drained"), default=3.0)
    return {name: table for name, table in found.items() if name != "exchange"} | {"capacity": {"total": f"{1.1 * litres:.2f} L"}}


def said(sheet: Any, name: str) -> str:
    """The lines of a section, joined."""
    return " ".join(sheet.section(name).lines) if name in {section.key for section in sheet.sections} else ""


def contradictions(sheet: Any) -> Iterator[tuple[str, str]]:
    """What is wrong with a sheet: the kind of fault, and what the sheet says."""
    text = sheet.to_markdown()
    for fault, pattern in MISPRINTS.items():
        for match in re.finditer(pattern, text):
            yield fault, text[max(0, match.start() - 60) : match.end() + 30]
    short, now, coming = (said(sheet, name) for name in ("summary", "now", "next"))
    action = sheet.section("next").data["action"]
    finished = "**Do:** nothing more" in short
    if finished != (action == "done") and action not in ("stop", "mend the log", "read the stick"):
        yield "finished in one place only", f"{short} || {coming}"
    if action == "pour":
        pours, summary = re.search(r"(?:Pour|About) ([\d./ ]+)", coming), re.search(r"\*\*Pour:\*\* ([\d./ ]+)", short)
        if pours is None or summary is None or pours[1].strip() != summary[1].strip():
            yield "two pours", f"{short} || {coming}"
    if action == "burst" and (not sheet.section("now").data["engine"] or "are not needed" in text or "bursts are done" in text):
        yield "a burst that must not be", f"{now} || {coming}"
    shares = {m[1] for m in re.finditer(r"(?<![\d.])(\d+(?: ± \d+)? %) of the fill(?! will)", f"{short} {now}")}
    if len(shares) > 1:
        yield "two shares of new fluid", f"{shares}: {short} || {now}"
    yield from amounts_apart(now, coming)
    if action == "pour" and (clean := coming.find("wipe it clean")) > 0 and 0 <= coming.find("Fill through") < clean:
        yield "a pail cleaned after it was used", coming
    first = sheet.section("next").lines[0] if sheet.section("next").lines else ""
    if not sheet.section("now").data["engine"] and re.search(r"run the engine|take it for a drive|engine running|\*\*Drive", first):
        yield "an engine that is not to run", f"{now} || {coming}"


AMOUNT = r"([\d.]+)(?: ± [\d.]+)? (L|US qt|imp qt)"


def amounts_apart(now: str, coming: str) -> Iterator[tuple[str, str]]:
    """What is short, what is poured and what is kept back, if they are said in one unit and do not add up."""
    short, pour = re.search(rf"\*\*{AMOUNT}(?: \([^)]*\))? short", now), re.search(rf"Pour {AMOUNT}(?!.*Pour)", coming)
    kept = re.search(rf"That is {AMOUNT}(?: \([^)]*\))? less than what is short", coming)
    if not (short and pour and kept) or "holds no more" in coming or "is then" in coming or not short[2] == pour[2] == kept[2]:
        return
    if abs(float(short[1]) - float(pour[1]) - float(kept[1])) > ROUNDED:
        yield "amounts that do not add up", f"{now} || {coming}"


ROUNDED = 0.07
"""How far apart rounding and a cold pour may put amounts that are the same, litres or quarts."""


def walk(kind: str, evenings: int, seed: int, often: int = 4) -> tuple[Counter[str], list[tuple[str, str, str]]]:
    """How often each next action came up, and every fault: kind, place (evening, entries, variant), and what was said.

    The job as it is written is planned after each entry, each variant after every so many.
    """
    rng, actions, faults = numpy.random.default_rng(seed), Counter[str](), []
    for evening in range(evenings):
        whole, _ = service.service(worlds.drawn(kind, rng), rng, typo=evening % 5 == 4)
        for entries in range(len(whole["log"]) + 1):
            job = changed(whole, "log", value=whole["log"][:entries] or None)
            for turn, (name, written) in enumerate(variants(job)):
                if turn and (evening + entries + turn) % often:
                    continue
                place = f"evening {evening}, {entries} entries, {name}"
                try:
                    sheet = plan(Job.from_dict(written))
                except SumpwiseError as error:
                    actions["refused"] += 1
                    faults.append(("refused", place, str(error)))
                    continue
                except Exception:
                    faults.append(("a traceback", place, traceback.format_exc()))
                    continue
                actions[sheet.section("next").data["action"]] += 1
                faults += [(fault, place, what) for fault, what in contradictions(sheet)]
    return actions, faults


def main() -> int:
    """Walk through evenings and print what was found."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--evenings", type=int, default=20)
    parser.add_argument("--kind", choices=worlds.KINDS, default="realistic")
    asked = parser.parse_args()
    actions, faults = walk(asked.kind, asked.evenings, asked.seed)
    print(f"{sum(actions.values())} sheets: " + ", ".join(f"{count} {action}" for action, count in sorted(actions.items())))
    kinds = Counter(fault for fault, _, _ in faults)
    for fault, count in kinds.most_common():
        print(f"{count} × {fault}")
        for _, place, what in [one for one in faults if one[0] == fault][:4]:
            print(f"    {place}: {what[-1200:]}")
    return 1 if faults else 0


if __name__ == "__main__":
    raise SystemExit(main())
