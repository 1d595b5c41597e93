"""What the words around a number say about temperature: a difference or a point on the scale; a hot or a cold volume."""

from __future__ import annotations

import re

from sumpwise.description.mention import Mention
from sumpwise.quantities.notation import Reading

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable

APART = 10.0
"""Two volumes this many degrees Celsius apart cannot be compared as they are."""
COOL_BELOW = 35.0
_LEAST_KELVIN = 200.0
"""Below this many kelvins, a workshop means a difference."""

_FILLER = (
    r"(?:of|by|about|is|was|=|~|≈|around|roughly|approx\.?|some|to within|only|just|maybe|up to|as much as|at least|at most|near|nearly|"
    r"(?:(?:no|not|any) )?(?:more|less) than|"
    r"almost|another|further|an? (?:good|full|whopping|mere)|a|an|the|temperature|reading|fluid|pan|it)"
)
_CHANGE = (
    r"(?:rise|drop|difference|increase|decrease|swing|change|spread|gap|delta|offset|error|hysteresis|overshoot|headroom|margin|reserve|"
    r"δ ?t|delta[ -]?t)"
)
_SURELY = (
    r"(?:ris(?:e|es|ing)|rose|rais(?:e|es|ed|ing)|drop(?:s|ped|ping)?|fall(?:s|ing)?|fell|"
    r"(?:differ|disagree)(?:s|d|ed|ence|ences|ment|ing)?|changes? of|increas(?:e|es|ed)|decreas(?:e|es|ed)|swing|gain(?:s|ed)?|climb(?:s|"
    r"ed|ing)?|"
    r"margin|spread|gap|headroom|los(?:e|es|t)|tak(?:e|es|ing) (?:out|off|away)|took (?:out|off|away)|sheds?|removes?|knock(?:s|ed) off|"
    r"pulls? (?:out|off)|accuracy|jump(?:s|ed)?|offset|every|each|per|reserve|hysteresis|steps?|increments?|intervals?|resolution|"
    r"overshoot|"
    r"shift(?:s|ed)?|δ ?t|δ|delta|delta ?t|deltat|error|tolerance|uncertainty|deviation|add(?:s|ed)?|subtract|deduct|plus or minus|"
    r"ambient plus|"
    r"accurate (?:to within|to|within)|give or take|"
    r"(?:went|goes|go|gone|comes?|came|takes? it|took it|brings? it|brought it|pulls? it) (?:up|"
    r"down))"
)
_PERHAPS = (
    r"(?:warm(?:s|ed|ing)?|cool(?:s|ed|ing)?|heat(?:s|ed|ing)?|change[sd]?|goes|went|sits|runs|another|again|within|by|"
    r"good to|repeats? to)(?: (?:up|down|off))?"
)
_MOVED = (
    r"(?:warm|cool|heat|chang|up|down|differ|disagree|apart|out|off|vary|varie|deviat|rais|lower|drop|ris|rose|fall|fell|higher|hotter|"
    r"colder|cooler|warmer|reduc|increas|shift)"
)
_BEFORE = re.compile(
    rf"(?:\b{_SURELY}|[δ±]|\+/?-)[\s:]*(?:{_FILLER}\s*)*$|\b{_CHANGE}\b[^.;!?\n0-9]{{0,32}}(?:\bis|\bwas|\bof|:|=)\s*(?:{_FILLER}\s*)*$"
)
_BY = re.compile(rf"\b{_MOVED}\w*\b[^.;!?\n]{{0,24}}\bby (?:{_FILLER}\s*)*$")
_DEADLINE = re.compile(
    rf"\b(?:(?:done|finished|ready|shut|tight|closed|complete)|be (?!too|so|hot|cold|high|low|wrong|{_MOVED})[a-z]+(?: [a-z]+){{0,2}}|"
    r"(?:close|shut|stop|finish|reach|plug|do|have|get|want|need)(?: (?:it|that|this|them|the [a-z]+))?"
    r"(?: (?:back|shut|closed|in|up|done)){0,2}) by $"
)
"""What is before a temperature at which something must be done: be finished by 45 °C."""
_BEFORE_PERHAPS = re.compile(rf"\b{_PERHAPS},?\s*(?:{_FILLER}\s*)*$")
_RATE = r"(?:(?:per|a|an|each|every) |/ ?)(?:min\b|min\.|minutes?\b|hours?\b|h\b|second|s\b|km\b|mile|metre|meter|gear|lap|pass|degree)"
_THAN = (
    r"(?:hotter|colder|cooler|warmer)\b|(?:higher|lower|more|less)\b(?: than| in| at| on| again| and| before| until| would|[.,;!?)]|$)|"
    r"too (?:hot|cold|warm|cool|high|low|much)\b"
)
_AFTER = re.compile(
    rf"[\s,]*(?:{_RATE}|{_THAN}|apart\b|(?:temperature )?{_CHANGE}s?\b|of {_CHANGE}\b|(?:off|away|out|wide)\b(?: from| on| of|"
    rf"\s*[.,;!?)]|\s*$)|"
    r"(?:above|over|below|under|off|from) (?:ambient|outside|room|air|normal|shop|garage|(?:the|my|its|your) (?:outside|air|garage|room|"
    r"ambient|limit|target|maximum|pan|sump|others?))\b|of (?:each other|one another|(?:the|my) (?:others?|target))\b|"
    r"from (?:gate|one end|inlet|end)|between (?:the )?\w+ and )"
)
_WIDTH = re.compile(rf"\b(?:window|band|range)\s*(?:{_FILLER}\s*)*$")
_AFTER_PERHAPS = re.compile(r"[\s,]*(?:high|low|window|band|steps?)\b")
_BETWEEN = re.compile(r"\b(?:hotter|colder|cooler|warmer|rise|difference|drop|interval|higher|lower|apart)\b")
WARMTH = ("hot", "warm", "cold", "cool")
POINT, PERHAPS, DIFFERENCE = 0, 1, 2
"""What the words say about two temperatures side by side: points on the scale; perhaps a difference; a difference."""


def said_of(text: str, first: Mention, second: Mention) -> int:
    """Whether two temperatures side by side are said to be a difference: a rise of 10 °C (18 °F), 10 °C (18 °F) above ambient."""
    if first.kind != "temperature":
        return POINT
    if first.tolerance:
        return DIFFERENCE
    lead = text[max(0, first.start - 48) : first.start].lower()
    before = lead[max(lead.rfind(c) for c in ";!?\n") + 1 :]
    before = before[before.rfind(". ") + 1 :]
    if _DEADLINE.search(before):
        return POINT
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
    if any(one.unit.symbol == "K" and one.ends[0].value < _LEAST_KELVIN for one in (first, second)):
        return PERHAPS
    if _BEFORE_PERHAPS.search(before) or (not first.span and (_WIDTH.search(before) or _AFTER_PERHAPS.match(after))):
        return PERHAPS
    return POINT


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
    """Whether a stretch of text contains one of the words, in upper or lower case."""
    low = text[max(0, start) : end].lower()
    return any(word in low for word in words)


def one_hot_one_cold(text: str, first: Mention, second: Mention) -> bool:
    """Whether two volumes are said to have temperatures too far apart to be compared as they are."""
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
