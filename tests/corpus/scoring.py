"""Scores the description check and the reading of quantities on labelled files.

    python tests/corpus/scoring.py tests/corpus/open_a.tsv tests/corpus/open_b.tsv tests/corpus/spellings.tsv

A file whose name ends in `spellings.tsv` is read by `quantity`, every other by `check_text`. `--list` prints each line that was judged
differently from its label.
"""

from __future__ import annotations

import re
import sys
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[1]))

from corpus.labels import Due, Line, places, read_lines, read_quantity

# What pint calls the base unit of each kind, see `labels.UNITS`.
BASE = {
    "volume": "liter",
    "torque": "newton * meter",
    "pressure": "kilopascal",
    "length": "meter",
    "mass": "kilogram",
    "flow": "liter / minute",
    "temperature": "degree_Celsius",
}


@dataclass
class Score:
    """Counts over the lines of a file; `notes` lists what was judged differently."""

    raised: Counter[str] = field(default_factory=Counter)  # by grade: findings on scored text
    right: Counter[str] = field(default_factory=Counter)  # by grade: findings that a label asks for
    due: Counter[str] = field(default_factory=Counter)  # by grade: labels
    hit: Counter[str] = field(default_factory=Counter)  # by grade: labels found with their grade
    pairs: int = 0
    compared: int = 0
    heard: int = 0
    seen: int = 0
    notes: list[str] = field(default_factory=list)

    def precision(self, grade: str) -> float:
        """The share of findings of this grade that a label asks for."""
        return self.right[grade] / self.raised[grade] if self.raised[grade] else 1.0

    def recall(self, grade: str) -> float:
        """The share of labels of this grade that were found with it."""
        return self.hit[grade] / self.due[grade] if self.due[grade] else 1.0


def grade_of(finding: Any) -> str:
    """`agrees`, `ambiguous`, or the grade of a finding that disagrees."""
    return str(finding.grade if finding.verdict == "disagrees" else finding.verdict)


def touches(finding: Any, due: Due, place: tuple[tuple[int, int], tuple[int, int]]) -> bool:
    """Whether the finding is about the label: it reaches the stated value, or either value of an item with two."""
    spots = place if due.relation == "item" else place[1:]
    return any(finding.start < end and start < finding.end for start, end in spots)


def score_line(line: Line, report: Any, score: Score) -> None:
    """Count the findings of one line against its labels; a finding answers one label, a label is answered by one finding."""
    spots = places(line)
    open_labels = dict(enumerate(line.due))
    findings = sorted(report, key=lambda finding: grade_of(finding) == "agrees")
    rest = []
    for finding in findings:  # first those that say what a label says
        same = [n for n, due in open_labels.items() if due.verdict == grade_of(finding) and touches(finding, due, spots[n])]
        if not same:
            rest.append(finding)
            continue
        # of several within reach, the one whose stated value the finding names
        number = next((n for n in same if finding.stated and bare_in(finding.stated, line.due[n].stated)), same[0])
        due = open_labels.pop(number)
        score.compared += due.verdict != "ambiguous"
        if due.verdict != "agrees":
            score.raised[due.verdict] += 1
            score.right[due.verdict] += 1
            score.hit[due.verdict] += 1
    for finding in rest:
        grade = grade_of(finding)
        near = [n for n, due in enumerate(line.due) if touches(finding, due, spots[n])]
        for n in near:
            if n in open_labels:
                score.compared += 1
                break
        if any(line.due[n].verdict == "either" for n in near) or grade == "agrees":
            continue
        if any(line.due[n].verdict == "ambiguous" for n in near) and grade == "wrong":
            continue  # a firmer verdict on something that can be read two ways
        score.raised[grade] += 1
        score.notes.append(f"raised {grade}: {finding.stated!r} in {line.text!r}")
    for due in line.due:
        score.due[due.verdict] += 1
        score.pairs += due.relation in {"pair", "difference"} and due.verdict != "ambiguous"
    for due in open_labels.values():
        if due.verdict not in {"agrees", "either"}:
            score.notes.append(f"not raised, {due.verdict}: {due.stated!r} in {line.text!r}")


def bare_in(stated: str, label: str) -> bool:
    """Whether two writings of a stated value have the same numbers."""
    return re.findall(r"\d+", stated) == re.findall(r"\d+", re.sub(r"\{.*\}", "", label))


def score_heard(line: Line, seen: Iterable[Any], score: Score) -> None:
    """Count the quantities of a transcript that the report has seen, each once; their `.value` is a number and `.unit` a unit's sign."""
    had = []
    for item in seen:
        try:
            had.append(read_quantity(f"{item.value} {item.unit}"))
        except (KeyError, ValueError):
            continue  # a unit that no label has
    score.heard += len(line.heard)
    for written in line.heard:
        kind, size = read_quantity(written)
        match = next((one for one in had if one[0] == kind and abs(float(one[1] - size)) <= 1e-6 * max(1e-3, abs(float(size)))), None)
        if match is None:
            score.notes.append(f"not seen: {written} in {line.text!r}")
            continue
        had.remove(match)
        score.seen += 1


def score_text(path: Path) -> Score:
    """The description check on a file of labelled lines."""
    from sumpwise.description import check_text

    score = Score()
    for line in read_lines(path):
        report = check_text(line.text)
        score_line(line, report, score)
        if "captions" in line.kind:
            score_heard(line, report.seen, score)
    return score


@dataclass
class Spellings:
    """How a list of spellings was read; `wrong` is what silently came out as another quantity."""

    tried: int = 0
    right: int = 0
    refused: list[str] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)


def read_spellings(path: Path) -> list[tuple[str, str, str]]:
    """Text, value and unit of each spelling; the unit is `refused` where no number may come out."""
    rows = (row.split("\t") for row in path.read_text("utf-8").split("\n") if row and not row.startswith("# "))
    return [(re.sub(r"\\u([0-9a-f]{4})", lambda match: chr(int(match[1], 16)), text), value, unit) for text, value, unit in rows]


def score_spellings(path: Path) -> Spellings:
    """`quantity` on a list of spellings."""
    from sumpwise import quantity
    from sumpwise.errors import SumpwiseError

    score = Spellings()
    for text, value, unit in read_spellings(path):
        score.tried += 1
        try:
            got = quantity(text)
        except SumpwiseError:
            if unit == "refused":
                score.right += 1
            else:
                score.refused.append(f"{text!r}: refused, {value} {unit} was due")
            continue
        if unit == "refused":
            score.wrong.append(f"{text!r}: read as {got}, a refusal was due")
            continue
        kind, size = read_quantity(f"{value} {unit}")
        try:
            close = abs(float(got.m_as(BASE[kind])) - float(size)) <= 1e-9 * max(1.0, abs(float(size)))
        except Exception:  # another dimension
            close = False
        if close:
            score.right += 1
        else:
            score.wrong.append(f"{text!r}: read as {got}, {value} {unit} was due")
    return score


def main(names: list[str]) -> int:
    """Print the score of each file named."""
    listing = "--list" in names
    for name in (name for name in names if name != "--list"):
        path = Path(name)
        if path.name.endswith("spellings.tsv"):
            spellings = score_spellings(path)
            print(f"{path.name}: {spellings.tried} spellings, {spellings.right} as labelled, {len(spellings.refused)} refused")
            print(f"  silently wrong {len(spellings.wrong)}")
            notes = spellings.wrong + spellings.refused
        else:
            score = score_text(path)
            print(f"{path.name}:")
            for grade in ("wrong", "style", "ambiguous"):
                print(
                    f"  {grade:<10} precision {score.precision(grade):.3f} ({score.right[grade]} of {score.raised[grade]})"
                    f"  recall {score.recall(grade):.3f} ({score.hit[grade]} of {score.due[grade]})"
                )
            print(f"  pairs with a finding {score.compared} of {score.pairs}")
            if score.heard:
                print(f"  seen in speech {score.seen / score.heard:.3f} ({score.seen} of {score.heard})")
            notes = score.notes
        if listing:
            print(*(f"    {note}" for note in notes), sep="\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
