"""Runs the labelled lines through `check_text` and prints precision and recall: `python tests/corpus/score.py`."""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path
from typing import NamedTuple

from sumpwise.description import check_text

CORPUS = Path(__file__).with_name("description.tsv")


class Line(NamedTuple):
    """A labelled line: the verdicts expected, in the order of the text, the slip class it tests, the line."""

    verdicts: tuple[str, ...]
    slip: str
    text: str


def corpus() -> list[Line]:
    """The labelled lines."""
    rows = (row.split("\t") for row in CORPUS.read_text("utf-8").splitlines() if row and not row.startswith("#"))
    return [Line(() if verdicts == "none" else tuple(verdicts.split()), slip, text) for verdicts, slip, text in rows]


def found(line: Line) -> tuple[str, ...]:
    """The verdicts that the check gives."""
    return tuple(finding.verdict for finding in check_text(line.text))


def alarms(verdicts: tuple[str, ...]) -> int:
    """How many verdicts ask the writer to change something."""
    return sum(verdict != "agrees" for verdict in verdicts)


def main() -> int:
    """Print a table by slip class, then precision and recall; return the number of lines with another verdict than their label."""
    true, false, missed, wrong = 0, 0, 0, []
    classes: dict[str, list[int]] = defaultdict(lambda: [0, 0, 0])
    for line in corpus():
        verdicts = found(line)
        due, raised = alarms(line.verdicts), alarms(verdicts)
        hit = min(due, raised)
        true, false, missed = true + hit, false + raised - hit, missed + due - hit
        row = classes[line.slip]
        row[0] += 1
        row[1] += due > 0
        row[2] += verdicts == line.verdicts
        if verdicts != line.verdicts:
            wrong.append((line, verdicts))
    print(f"{'class':<22}{'lines':>7}{'slips':>7}{'as labelled':>13}")
    for slip, (lines, slips, right) in classes.items():
        print(f"{slip:<22}{lines:>7}{slips:>7}{right:>13}")
    for line, verdicts in wrong:
        print(f"\nlabelled {' '.join(line.verdicts) or 'none'}, found {' '.join(verdicts) or 'none'}: {line.text}")
    precision, recall = (true / (true + other) if true + other else 1.0 for other in (false, missed))
    print(f"\n{true} slips found, {missed} missed, {false} false alarms: precision {precision:.3f}, recall {recall:.3f}")
    return len(wrong)


if __name__ == "__main__":
    raise SystemExit(1 if main() else 0)
