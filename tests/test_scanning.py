"""Quantities in running text: the longest one there, never a different one, and never part of a word."""

from __future__ import annotations

import pytest

from sumpwise.quantities.notation import SpanReading, read, read_span, scan

PROSE = [
    ("5 L into the pail", "5 L"), ("5.3 qt (5 L)", "5.3 qt"), ("34 N·m to the bolt", "34 N·m"), ("31 to 37 N·m.", "31 to 37 N·m"),
    ("82–92 °C, idling", "82–92 °C"), ("2 qt 8 fl oz and a rag", "2 qt 8 fl oz"), ("9 L 2 times", "9 L"), ("34 ft-lb.", "34 ft-lb"),
    ("(8.0 ± 0.3) L (k = 2) at", "(8.0 ± 0.3) L (k = 2)"), ("27 lb in the pan", "27 lb"), ("27 lb in. of", "27 lb in"),
    ("1/2 in. deep", "1/2 in."), ("12 fl oz each", "12 fl oz"), ("5 ft. lb. of", "5 ft. lb."), ("34 N·m ± 4 % again", "34 N·m ± 4 %"),
    ("8.9 L ± a bit", "8.9 L"), ("1 500 mL\nThen", "1 500 mL"), ('5/16" bolt', '5/16"'), ("3 L - then 2 L", "3 L"),
    ("90 ° C hot", "90 ° C"), ("56 000 km or 4 y", "56 000 km"), ("5½ qt of", "5½ qt"), ("−5 °C outside", "−5 °C"), ("10 % of it", "10 %"),
    ("3 litres per minute now", "3 litres per minute"), ("5 L 300 N", "5 L"), ("8.9 L ± 3 N", "8.9 L"), ("8.9 L ± 3x", "8.9 L"),
    ("5 in (127 mm)", "5 in"), ("5 in to 6 in.", "5 in to 6 in."),
    # not a quantity: better nothing than another quantity
    ("5 in the pan", None), ("5 in a pan", None), ("60 km per hour", None), ("5 L/100 km", None), ("5 L-shaped", None), ("2 a day", None),
    ("5 N·mm", None), ("set", None), ("12 bolts", None), ("12", None), ("", None), (" 5 L", None), ("1,500 L of", None),
    ('34" he said', None), ("5 LX", None), ("5 m²", None), ("3 J", None), ("(see 5 L)", None), ("-300 °C", None), ("5 qt/drain", None),
    ("+", None),
]  # fmt: skip


@pytest.mark.parametrize(("text", "read_"), PROSE, ids=[row[0] for row in PROSE])
@pytest.mark.parametrize("before", ["", "Pour "])
def test_scanning_running_text(text, read_, before):
    found = scan(before + text, len(before))
    if read_ is None:
        assert found is None
        return
    reading, end = found
    assert (before + text)[len(before) : end] == read_ == reading.text
    strict = read_span(read_) if isinstance(reading, SpanReading) else read(read_)
    assert [getattr(r, "internal", None) for r in _ends(reading)] == [r.internal for r in _ends(strict)]


def _ends(reading):
    return (reading.lower, reading.upper) if isinstance(reading, SpanReading) else (reading,)


def test_scanning_looks_at_two_hundred_characters():
    far = "1" * 197 + " L"
    assert scan(far, 0)[1] == 199
    assert scan("1" * 300 + " L", 0) is None
    assert scan("1" * 198 + " LX", 0) is None
    assert scan("1" * 198 + " L", 0)[1] == 200
    assert scan("1" * 198 + " mL", 0) is None
    assert scan("5 L " + "x" * 10_000_000, 0)[1] == 3
    assert scan("34 Nm", 0, "volume") is None
    assert scan("0.9 of it", 0, "fraction")[1] == 3
    assert scan("0.9x of it", 0, "fraction") is None
    assert scan("5 L", 99) is None
