"""What the words around a number say of temperature: a difference rather than a point; a volume that is hot or cold."""

from __future__ import annotations

import re

from sumpwise.description.mentions import Mention
from sumpwise.quantities.notation import Reading

APART = 10.0
"""Degrees Celsius between two volumes from which on they cannot be compared as they stand."""
COOL_BELOW = 35.0

_CHANGE = (
    "rise", "rises", "rose", "raise", "raises", "drop", "drops", "dropped", "fall", "falls", "fell", "difference", "increase", "decrease",
    "swing", "gain", "climb", "climbs", "climbed", "warmed", "cooled",
)  # fmt: skip
_COMPARED = ("hotter", "colder", "cooler", "warmer", "rise", "difference", "drop", "interval")
_PLACED = ("higher", "lower", "more", "less", "above", "below")
_MOVES = (
    "cool", "cools", "warm", "warms", "heat", "heats", "rise", "rises", "drop", "drops", "fall", "falls", "climb", "climbs", "differ",
    "differs", "up", "down", "increase", "increases", "decrease", "decreases", "raise", "raises", "lower", "lowers", "change", "changes",
)  # fmt: skip
_STEPS = ("within", "per", "every", "each")
_LINKS = ("of", "about", "by", "is", "was")
_WORDS = re.compile(r"[A-Za-z]+")


def words(text: str) -> list[str]:
    """The words of a stretch of text, in small letters."""
    return [word.lower() for word in _WORDS.findall(text)]


def is_difference(text: str, first: Mention, second: Mention) -> bool:
    """Whether two temperatures side by side are said to be a difference: a rise of 10 °C (18 °F), 10 °C (18 °F) hotter."""
    lead = text[max(0, first.start - 40) : first.start]
    before = words(lead[max(lead.rfind(c) for c in ".;!?\n") + 1 :])
    if before:
        if before[-1] in _CHANGE or before[-1] in _STEPS or (before[-1] in _LINKS and before[-2:-1] and before[-2] in _CHANGE):
            return True
        if before[-1] == "by" and any(word in _MOVES for word in before[-6:-1]):
            return True
    if any(word in _COMPARED or word in _PLACED for word in words(text[first.end : second.start])):
        return True
    if text[second.end : second.end + 3].lstrip(")")[:1] != " ":
        return False
    behind = words(text[second.end : second.end + 24])
    return bool(behind) and (behind[0] in _COMPARED or (behind[0] in _PLACED and behind[1:2] == ["than"]))


def _warmth(text: str, mention: Mention) -> str | float | None:
    """`hot`, `cold`, or the temperature in °C that a volume is said to have."""
    if mention.at is not None:
        reading = mention.at.reading
        return reading.internal if isinstance(reading, Reading) else None
    behind = text[mention.end : mention.end + 16].lstrip(" ,").lower().removeprefix("of ")
    before = text[max(0, mention.start - 8) : mention.start].rstrip().lower()
    for word, meaning in (("hot", "hot"), ("warm", "hot"), ("cold", "cold"), ("cool", "cold")):
        if (behind.startswith(word) and not behind[len(word) : len(word) + 1].isalpha()) or before.endswith(" " + word):
            return meaning
    return None


def one_hot_one_cold(text: str, first: Mention, second: Mention) -> bool:
    """Whether two volumes are said to have temperatures too far apart to be compared as they stand."""
    one, other = _warmth(text, first), _warmth(text, second)
    if one is None or other is None:
        return False
    if isinstance(one, float) and isinstance(other, float):
        return abs(one - other) > APART
    return _is_hot(one) != _is_hot(other)


def _is_hot(warmth: str | float) -> bool:
    return warmth == "hot" if isinstance(warmth, str) else warmth >= COOL_BELOW
