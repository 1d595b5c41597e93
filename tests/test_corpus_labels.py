"""The labels of the corpus are borne out by exact arithmetic, before any check is scored on them."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from types import SimpleNamespace

import pytest

from corpus.labels import HERE, Line, places, read_due, read_lines, read_quantity, reasons
from corpus.scoring import Score, read_spellings, score_heard, score_line

LARGE = ("open_a.tsv", "open_b.tsv", "sealed_c.tsv", "sealed_d.tsv", "sealed_e.tsv")
PARTS = (*LARGE, "sealed_f.tsv", "sealed_g.tsv", "sealed_h.tsv", "sealed_i.tsv")


@pytest.mark.parametrize("name", PARTS)
def test_every_label_is_borne_out(name: str) -> None:
    against = {due: why for line in read_lines(HERE / name) for due in line.due if (why := reasons(due))}
    assert against == {}


@pytest.mark.parametrize("name", PARTS)
def test_every_value_stands_in_its_line(name: str) -> None:
    for line in read_lines(HERE / name):
        for original, stated in places(line):
            assert original[0] < stated[1] <= len(line.text)


@pytest.mark.parametrize("name", LARGE)
def test_a_part_is_what_it_should_be(name: str) -> None:
    lines = read_lines(HERE / name)
    spoken = [line for line in lines if "captions" in line.kind]
    grades = Counter(due.verdict for line in lines for due in line.due)
    assert len(lines) - len(spoken) >= 200
    assert len(spoken) >= 12
    assert sum(len(line.heard) for line in spoken) >= 100
    assert all(kind and size is not None for line in spoken for kind, size in map(read_quantity, line.heard))
    assert len({line.text for line in lines}) == len(lines)
    assert grades["wrong"] >= 80
    assert grades["agrees"] >= 100
    assert grades["style"] >= 10
    assert sum(all(due.verdict == "agrees" for due in line.due) for line in lines) >= 100


def test_the_parts_share_no_line_of_numbers() -> None:
    texts = [{line.text for line in read_lines(HERE / name) if line.due} for name in PARTS]
    assert sum(map(len, texts)) == len(set().union(*texts))


def test_spellings_are_many_and_exact() -> None:
    spellings = read_spellings(HERE / "spellings.tsv")
    assert len(spellings) >= 400
    assert len({text for text, _, _ in spellings}) == len(spellings)
    for _, value, unit in spellings:
        assert value == "-" if unit == "refused" else read_quantity(f"{value} {unit}")


@pytest.mark.parametrize(
    "label",
    [
        "29 Nm → 21 ft-lbs: wrong",
        "29 Nm → 39 ft-lbs: agrees",
        "5 L → 1 gallon: agrees",
        "100 ft-lb → 100 Nm: style",
        "difference 10 °C → 50 °F: agrees",
        "10 °C → 50 °F: wrong",
        "6.1 L → 6.4 US qt: style",
        "2 × 40 % → 80 %: agrees",
        "34 Nm ≠ 34 Nm: wrong",
    ],
)
def test_a_false_label_is_noticed(label: str) -> None:
    assert reasons(read_due(label))


def finding(text: str, snippet: str, verdict: str, grade: str | None) -> SimpleNamespace:
    start = text.index(snippet)
    return SimpleNamespace(start=start, end=start + len(snippet), verdict=verdict, grade=grade, stated=snippet)


def scored(line: Line, *findings: SimpleNamespace) -> Score:
    score = Score()
    score_line(line, findings, score)
    return score


def test_the_score_counts_hits_misses_and_false_alarms() -> None:
    text = "Plug 29 Nm (39 ft-lb), fill 6.1 L (6.4 qt)."
    line = Line("x", (read_due("29 Nm → 39 ft-lb: wrong"), read_due("6.1 L → 6.4 qt: agrees")), (), text)
    right = finding(text, "29 Nm (39 ft-lb)", "disagrees", "wrong")
    false = finding(text, "6.1 L (6.4 qt)", "disagrees", "wrong")
    fine = finding(text, "6.1 L (6.4 qt)", "agrees", None)
    assert (scored(line, right, fine).precision("wrong"), scored(line, right, fine).recall("wrong")) == (1.0, 1.0)
    assert (scored(line, right, false).precision("wrong"), scored(line, right, false).recall("wrong")) == (0.5, 1.0)
    assert (scored(line, fine).precision("wrong"), scored(line, fine).recall("wrong")) == (1.0, 0.0)
    style = finding(text, "29 Nm (39 ft-lb)", "disagrees", "style")
    assert (scored(line, style).precision("style"), scored(line, style).recall("wrong")) == (0.0, 0.0)


def test_a_quantity_is_seen_once() -> None:
    line = Line("plain captions", (), ("0.5 US qt", "0.5 US qt", "34 N·m"), "half a quart and half a quart and thirty-four newton meters")
    score = Score()
    score_heard(line, [SimpleNamespace(value=0.5, unit="US qt"), SimpleNamespace(value=Fraction(34), unit="N·m")], score)
    assert (score.seen, score.heard) == (2, 3)
