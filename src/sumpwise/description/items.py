"""The same item with two values in one text: the title against the table, the script against the card.

Items are matched by their words, and only where it is safe: the same words, at least two of them, that end in the name of a part or a
quantity, in two sentences of which neither says what sets the two apart (first and second, hot and cold, old and new).
"""

from __future__ import annotations

import re

from sumpwise.description.precision import amounts_of
from sumpwise.description.slips import follows
from sumpwise.description.temperatures import speaks_of

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

    from sumpwise.description.findings import Finding, Place
    from sumpwise.description.mentions import Mention
    from sumpwise.description.normalising import Text

REACH = 64
"""Characters before a number in which its name stands."""
MOST_ITEMS = 2000
"""Names that are kept."""

_LINK = re.compile(
    r"(?:[\s:=|\t,–-]|\b(?:is|are|was|of|to|at|gets?|takes?|holds?|needs?|wants?|torqued?|tighten(?:ed)?|about|approx\.?|"
    r"around|for|the|goes|a|an|only|"
    r"must be|should be|set|value|spec|reads?)\b)*$"
)
_WORD = re.compile(r"[a-z][a-z'-]*")
_PARTS = {
    "plug", "bolt", "nut", "screw", "fitting", "bracket", "cup", "banjo", "strainer", "filter", "pan", "cover", "mount",
    "crossmember", "sensor",
    "solenoid", "hose", "line", "clamp", "housing", "case",
}  # fmt: skip
_QUANTITIES = {
    "capacity", "fill", "temperature", "pressure", "torque", "interval", "level", "volume", "refill", "drain",
    "clearance", "gap", "window", "limit",
    "weight", "length",
}  # fmt: skip
_NAMES = _PARTS | _QUANTITIES
_KINDS = {
    "temperature": "temperature", "pressure": "pressure", "torque": "torque", "capacity": "volume", "fill": "volume", "refill": "volume",
    "volume": "volume", "drain": "volume", "interval": "length", "gap": "length", "clearance": "length", "length":
    "length", "weight": "mass",
}  # fmt: skip
_APART = re.compile(
    r"\b(?:first|second|third|fourth|fifth|last|next|final|initial|1st|2nd|3rd|4th|one|two|other|another|old|new|newer|"
    r"older|later|earlier|early|late|"
    r"before|after|then|again|hot|cold|warm|dry|wet|left|right|front|rear|upper|lower|top|bottom|inner|outer|min|max|"
    r"minimum|maximum|least|most|"
    r"pass|stage|used|bought|drained|measured|mine|yours|his|her|their|neighbou?r|wagon a|without|with|less|more|plus|"
    r"extra|not|no|never|or|if|"
    r"was|were|had|instead|wrong|correction|corrected|edit|update|\d{4}|[ab]|long|short|small|big|large|manual|automatic|"
    r"summer|winter|city|highway|"
    r"today|yesterday|previous|formerly|model|models|version|kit|from|down|up|per|each|every|half|quarter|start|end|"
    r"between|idle|driving|towing)\b"
)
_STOPS = {
    "the", "a", "an", "at", "my", "your", "our", "its", "this", "that", "these", "and", "in", "for", "on", "of", "to",
    "with", "by", "as", "is", "then",
    "torque", "tighten", "snug", "so", "says", "see", "all", "both", "into", "from", "title", "card", "video", "script", "now",
}  # fmt: skip


class _Item:
    __slots__ = ("context", "mention", "place")

    def __init__(self, mention: Mention, context: str) -> None:
        self.mention = mention
        self.context = context


class Items:
    """The named values of a text so far."""

    def __init__(self) -> None:
        self._known: dict[tuple[str, str], _Item] = {}

    def conflicts(self, whole: Text, found: list[Mention], place: Place) -> Iterator[Finding]:
        """A finding for every named value that differs from an earlier one of the same name and unit."""
        read = whole.read
        if not found or not speaks_of(_NAMES, read, found[0].start - REACH, found[-1].end):
            return
        previous = None
        for mention in found:
            paired = previous is not None and mention.start - previous.end < 8
            previous = mention
            if (
                paired
                or mention.shared
                or mention.tolerance
                or mention.kind not in ("torque", "volume", "temperature", "pressure", "length", "mass")
            ):
                continue
            named = _name(read, mention)
            if named is None:
                continue
            name, context = named
            key = name, mention.unit.symbol
            known = self._known.get(key)
            if known is None:
                if len(self._known) < MOST_ITEMS:
                    self._known[key] = _Item(mention, context)
                continue
            if _same(mention, known.mention) or mention.span != known.mention.span:
                continue
            if _APART.search(context) or _APART.search(known.context):
                continue
            first = " ".join(read[known.mention.start : known.mention.end].split())
            stated = " ".join(read[mention.start : mention.end].split())
            note = f"{name}: {first} before, {stated} here"
            yield place.finding(mention.start, mention.end, "disagrees", stated, first, first, "", note, "wrong")


def _same(one: Mention, other: Mention) -> bool:
    return follows(amounts_of(one.reading), amounts_of(other.reading)) if one.span == other.span else False


def _name(read: str, mention: Mention) -> tuple[str, str] | None:
    """The words that name a value, and the rest of its sentence."""
    lead = read[max(0, mention.start - REACH) : mention.start].lower()
    begin = max(lead.rfind(c) for c in "\n.!?;•*#") + 1
    head = lead[begin:]
    link = _LINK.search(head)
    head = head[: link.start()] if link is not None else head
    cut = max(head.rfind(":"), head.rfind(","), head.rfind("|"), head.rfind("("))
    matches = list(_WORD.finditer(head, cut + 1))
    first = next((i + 1 for i in range(len(matches) - 1, -1, -1) if matches[i][0] in _STOPS), 0)
    matches = matches[first:]
    words = [_singular(match[0]) for match in matches]
    if len(words) > 2 and words[-1] == "torque":
        words.pop()
    if not 2 <= len(words) <= 4 or words[-1] not in _NAMES:
        return None
    due = _KINDS.get(words[-1])
    if (due is not None and due != mention.kind) or (words[-1] in _PARTS and mention.kind not in ("torque", "volume")):
        return None
    tail = read[mention.end : mention.end + 40].lower()
    stop = min([i for i in (tail.find(c) for c in "\n.!?;,|)") if i >= 0], default=len(tail))
    return " ".join(words), f"{head[: matches[0].start()]} | {tail[:stop]}"


def _singular(word: str) -> str:
    return word.removesuffix("s") if word.removesuffix("s") in _NAMES else word
