"""What a doubt rests on, and which measurement would help, in words of the catalogue."""

from __future__ import annotations

import re

from sumpwise.service.facts.fact import Name, Value, Word, Written

SOURCES = (
    (re.compile(r"(?P<vessel>.+), (?P<way>drained|poured) (?P<read>[-\d.e+]+ \S.*)"), "source.{way}"),
    (re.compile(r"(?P<vessel>.+), scale"), "source.scale"),
    (re.compile(r"(?P<vessel>.+), residue"), "source.residue"),
    (re.compile(r"(?P<vessel>.+), tilt.*"), "source.tilt"),
    (re.compile(r"(?P<vessel>.+), growth"), "source.growth"),
    (re.compile(r"(?P<vessel>.+), air"), "source.air"),
    (re.compile(r"temperature"), "source.temperature"),
    (re.compile(r"stick reading"), "source.stick"),
    (re.compile(r"thermometer (?P<vessel>.+)"), "source.thermometer"),
    (re.compile(r"marks volume"), "source.marks"),
    (re.compile(r"(?P<vessel>.+), volume"), "source.volume"),
)  # fmt: skip
"""How the ledger names a source -> entry of the catalogue."""
ADVICE = (
    (re.compile(r"weigh water in the (?P<vessel>.+)"), "advice.weigh_water"),
    (re.compile(r"stand the (?P<vessel>.+) level"), "advice.level"),
    (re.compile(r"read the (?P<vessel>.+) when it is cool.*"), "advice.cool"),
    (re.compile(r"let the froth in the (?P<vessel>.+) settle.*"), "advice.froth"),
    (re.compile(r"weigh what stays in the (?P<vessel>.+)"), "advice.residue"),
    (re.compile(r"check the (?P<vessel>.+) against another"), "advice.thermometer"),
    (re.compile(r"weigh what the (?P<vessel>.+) caught \((?P<read>.+)\)"), "advice.weigh_caught"),
    (re.compile(r"weigh what the (?P<vessel>.+) gave \((?P<read>.+)\)"), "advice.weigh_given"),
    (re.compile(r"take the temperature or the density better.*"), "advice.temperature"),
    (re.compile(r"read the level before the work better.*"), "advice.start"),
    (re.compile(r"read the level again.*"), "advice.level_again"),
    (re.compile(r"weigh it: (?P<vessel>.+)"), "advice.weigh_it"),
    (re.compile(r"nothing: every reading is exact"), "advice.nothing"),
)  # fmt: skip
"""How the ledger words an advice -> entry of the catalogue."""


def source_named(name: str) -> Value:
    """What a source of doubt is."""
    return _worded(name, SOURCES)


def advised(advice: str) -> Value:
    """What to measure next."""
    return _worded(advice, ADVICE)


def _worded(text: str, patterns: tuple[tuple[re.Pattern[str], str], ...]) -> Value:
    for pattern, word in patterns:
        found = pattern.fullmatch(text)
        if found:
            parts = found.groupdict()
            values: dict[str, Value] = {}
            if "vessel" in parts:
                values["vessel"] = Name(parts["vessel"])
            if "read" in parts:
                values["read"] = Written(parts["read"], "volume")
            return Word(word.format(**parts), values)
    return Name(text)
