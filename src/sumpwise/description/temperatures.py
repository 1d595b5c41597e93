"""What the words around a number say of temperature: a difference rather than a point; a volume that is hot or cold."""

from __future__ import annotations

import re

from sumpwise.description.mentions import Mention
from sumpwise.quantities.notation import Reading

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable

APART = 10.0
"""Degrees Celsius between two volumes from which on they cannot be compared as they stand."""
COOL_BELOW = 35.0

_FILLER = (
    r"(?:of|by|about|is|was|=|~|≈|around|roughly|approx\.?|some|to within|only|just|maybe|up to|as much as|at least|"
    r"at most|near|nearly|almost|a|"
    r"an|the|temperature|reading|fluid|pan|it)"
)
_SURELY = (
    r"(?:ris(?:e|es|ing)|rose|rais(?:e|es|ed|ing)|drop(?:s|ped|ping)?|fall(?:s|ing)?|fell|differ(?:s|ed|ence|ences)?|"
    r"increas(?:e|es|ed)|decreas(?:e|es|ed)|"
    r"swing|gain(?:s|ed)?|climb(?:s|ed|ing)?|margin|spread|gap|headroom|los(?:e|es|t)|takes? (?:out|off|away)|took (?:out|off|away)|sheds?|"
    r"pulls? (?:out|off)|accuracy|jump(?:s|ed)?|offset|within|every|each|per|rise|reserve|hysteresis|step|steps|δ ?t|δ|"
    r"delta|delta ?t|deltat|Δ ?t|Δ)"
)
_PERHAPS = r"(?:warm(?:s|ed|ing)?|cool(?:s|ed|ing)?|heat(?:s|ed|ing)?|change[sd]?|goes|went|sits|runs|another|again)(?: (?:up|down|off))?"
_MOVED = (
    r"(?:warm|cool|heat|chang|up|down|differ|rais|lower|drop|ris|rose|fall|fell|off|higher|hotter|colder|cooler|warmer|"
    r"reduc|increas|shift)"
)
_BEFORE = re.compile(rf"(?:\b{_SURELY}|[δΔ]|±)[\s:]*(?:{_FILLER}\s*)*$")
_BY = re.compile(rf"\b{_MOVED}\w*\b[^.;!?\n]{{0,24}}\bby (?:{_FILLER}\s*)*$")
_BEFORE_PERHAPS = re.compile(rf"\b{_PERHAPS},?\s*(?:{_FILLER}\s*)*$")
_RATE = r"(?:(?:per|a|an|each|every) |/ ?)(?:min\b|min\.|minutes?\b|hours?\b|h\b|second|s\b|km\b|mile|metre|meter|gear|lap|pass|degree)"
_THAN = r"(?:hotter|colder|cooler|warmer)\b|(?:higher|lower|more|less)\b(?: than| in| at| on| again|[.,;!?)]|$)"
_AFTER = re.compile(
    rf"[\s,]*(?:{_RATE}|{_THAN}|apart\b|differen|rise\b|drop\b|swing\b|of (?:margin|difference|headroom|reserve)|margin\b|"
    r"(?:above|over|below|under) (?:ambient|outside|room|air|normal|shop|garage|the (?:outside|air|garage|room|ambient|"
    r"limit|target|pan|others?))\b|"
    r"from (?:gate|one end|inlet|end)|between (?:the )?\w+ and )"
)
_BETWEEN = re.compile(r"\b(?:hotter|colder|cooler|warmer|rise|difference|drop|interval|higher|lower|apart)\b")
WARMTH = ("hot", "warm", "cold", "cool")
POINT, PERHAPS, DIFFERENCE = 0, 1, 2
"""What the words say of two temperatures side by side: places on the scale; perhaps a difference; a difference."""


def said_of(text: str, first: Mention, second: Mention) -> int:
    """Whether two temperatures side by side are said to be a difference: a rise of 10 °C (18 °F), 10 °C (18 °F) above ambient."""
    if first.kind != "temperature":
        return POINT
    if first.tolerance:
        return DIFFERENCE
    lead = text[max(0, first.start - 48) : first.start].lower()
    before = lead[max(lead.rfind(c) for c in ";!?\n") + 1 :]
    before = before[before.rfind(". ") + 1 :]
    after = text[second.end : second.end + 40].lower().partition("\n")[0].lstrip(")]} ")
    between = text[first.end : second.start].lower()
    if (
        _BEFORE.search(before)
        or _BY.search(before)
        or _BETWEEN.search(between)
        or _AFTER.match(after)
        or _AFTER.match(between.strip(" (["))
    ):
        return DIFFERENCE
    return PERHAPS if _BEFORE_PERHAPS.search(before) else POINT


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


def speaks_of(words: Iterable[str], text: str, start: int, end: int) -> bool:
    """Whether a stretch of text has one of the words, in whatever letters."""
    low = text[max(0, start) : end].lower()
    return any(word in low for word in words)


def one_hot_one_cold(text: str, first: Mention, second: Mention) -> bool:
    """Whether two volumes are said to have temperatures too far apart to be compared as they stand."""
    if first.at is None and second.at is None and not speaks_of(WARMTH, text, first.start - 8, second.end + 16):
        return False
    one, other = _warmth(text, first), _warmth(text, second)
    if one is None or other is None:
        return False
    if isinstance(one, float) and isinstance(other, float):
        return abs(one - other) > APART
    return _is_hot(one) != _is_hot(other)


def _is_hot(warmth: str | float) -> bool:
    return warmth == "hot" if isinstance(warmth, str) else warmth >= COOL_BELOW
