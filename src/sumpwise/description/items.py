"""The same item with two values in one text: the title against the table, the script against the card.

Items are matched by their words, and only where it is safe: the same words, at least two of them, one of which names a part or a quantity,
in two places of which neither says what sets the two apart (first and second, hot and cold, old and new, front and rear). An item with
three values is a list or a log, and no mistake.
"""

from __future__ import annotations

import re

from sumpwise.description.precision import amounts_of, is_near
from sumpwise.description.slips import follows
from sumpwise.description.temperatures import speaks_of

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

    from sumpwise.description.findings import Finding, Place
    from sumpwise.description.mentions import Mention
    from sumpwise.description.normalising import Text
    from sumpwise.quantities.digits import Ratio

    Name = frozenset[str]
    Named = tuple[Name, str] | None
    """The words of a name, and what else its sentence says."""

REACH = 64
"""Characters before a number in which its name stands, and behind it."""
MOST_ITEMS = 2000
"""Names that are kept."""
_ACROSS: Ratio = (5, 100)
"""Share by which two values in two units may differ to be the same."""

_LINK = re.compile(
    r"(?:[\s:=|\t,–→-]|\b(?:is|are|was|of|to|at|gets?|takes?|holds?|needs?|wants?|torqued?|tighten(?:ed)?|about|approx\.?|around|roughly|"
    r"for|the|"
    r"goes|a|an|only|must be|should be|set|value|spec|specs|reads?|comes|works out|calls|requires?|specified|called out|rated|use|it|it's|"
    r"that's)\b|~|≈)*$"
)
_WORD = re.compile(r"[a-z][a-z'-]*")
_BEHIND = re.compile(r"\s*(?:\([^()\n]{0,40}\)\s*)?(?:for|on|at|in|into) (?:the|a|an|your|my|each|every|all|all the) ")
_PARTS = {
    "plug", "bolt", "nut", "fitting", "bracket", "cup", "banjo", "strainer", "filter", "pan", "cover", "mount", "crossmember", "sensor",
    "body", "solenoid", "hose", "line", "clamp", "housing", "case", "union", "retainer", "flange", "cap", "lid", "pump", "converter",
    "cooler", "tube",
}  # fmt: skip
_QUANTITIES = {
    "fill", "temperature", "pressure", "torque", "interval", "level", "clearance", "gap", "window", "limit", "weight", "length", "fluid",
    "gasket",
}  # fmt: skip
_NAMES = _PARTS | _QUANTITIES
_KINDS = {
    "temperature": "temperature", "pressure": "pressure", "torque": "torque", "fill": "volume", "fluid": "volume", "interval": "length",
    "gap": "length", "clearance": "length", "length": "length", "weight": "mass",
}  # fmt: skip
_SAME = {
    "capacity": "fill", "volume": "fill", "refill": "fill", "screw": "bolt", "temp": "temperature", "temperatures": "temperature", "oil":
    "fluid", "atf": "fluid", "checking": "check", "capacities": "fill",
}  # fmt: skip
"""Words that name the same thing."""
_STEMS = (*_NAMES, *_SAME)
_GENERAL = {
    "torque", "value", "spec", "specs", "setting", "figure", "correct", "right", "recommended", "required", "proper", "final",
    "transmission", "gearbox", "trans", "box", "example", "wagon", "automatic", "auto", "again", "summary", "reminder", "recap", "note",
    "remember", "quick",
}  # fmt: skip
"""Words that say nothing of which item it is."""
_VAGUE = {
    "new", "fresh", "clean", "old", "used", "more", "some", "extra", "first", "second", "third", "next", "other", "another", "same",
    "own", "little", "enough", "much", "hot", "cold", "red", "brown", "dirty", "every", "each", "drained", "poured", "remaining", "added",
    "lost",
}  # fmt: skip
"""Words that do not tell one item from another of its sort, beside `fluid` or `drain`."""
_APART = re.compile(
    r"\b(?:first|second|third|fourth|fifth|last|next|initial|1st|2nd|3rd|4th|one|two|other|another|old|new|newer|older|later|earlier|"
    r"early|"
    r"late|before|after|then|hot|cold|warm|wet|left|right|front|rear|upper|lower|top|bottom|inner|outer|min|max|minimum|maximum|least|"
    r"most|"
    r"pass|stage|snug|used|bought|drained|measured|mine|yours|his|her|their|neighbou?r|(?:wagon|car|unit|pump|kit|type) [a-z0-9]|without|"
    r"with|"
    r"less|more|plus|extra|not|no|never|or|if|had|instead|wrong|correction|corrected|edit|update|updated|\d{4}|\d+ ?k\b|\d[\d,. ]* (?:km|"
    r"miles?)|"
    r"long|short|small|big|large|manual|cvt|summer|winter|city|highway|today|yesterday|previous|previously|formerly|model|models|version|"
    r"kit|"
    r"from|down|up|per|each|every|half|quarter|start|end|between|idle|driving|towing|axle|differential|diff|transfer|engine|turbo|diesel|"
    r"petrol|"
    r"viewers?|comments?|commenters?|forums?|readers?|someone|somebody|people|says?|told|claims?|claimed|thought|typo|mistake|myth|"
    r"rumou?r|"
    r"incorrect|loose|broke|stripped|speed|\dwd|4x4|awd|fwd)\b"
)
_STOPS = {
    "the", "a", "an", "at", "my", "your", "our", "its", "this", "that", "these", "and", "in", "for", "on", "of", "to", "with", "by", "as",
    "is", "then", "tighten", "snug", "so", "says", "see", "all", "both", "into", "from", "title", "card", "video", "script", "now",
    "torque", "set", "use", "are", "was", "get", "give", "put", "what's", "what", "i", "you", "we", "q", "step", "but", "or",
    "it's", "it", "be", "will", "just",
}  # fmt: skip
_JOINING = {"of", "for"}
_HEADING = re.compile(r"\n[ \t]*(?:#{1,6} [^\n]*|[^\n:.!?]{2,60}:[ \t]*|[A-Z][A-Z ]{3,60}|(?:19|20)[0-9]{2}\b[^\n]{0,40})(?=\n)")
_COMPONENT = re.compile(
    r"\b(?:front|rear|transfer|axle|differential|diff|engine|manual|automatic|auto|cvt|transmission|gearbox|turbo|diesel|petrol|4x4|awd|"
    r"fwd|"
    r"2wd|4wd|old|new|first|second|early|late|short|long|model|wagon|\d{4}|\d\.\d|type|version|mk ?\d|left|right|hot|cold)\b"
)


class _Item:
    """A name with its first value, and the findings about a second."""

    __slots__ = ("context", "mention", "others", "second", "section")

    def __init__(self, mention: Mention, context: str, section: str) -> None:
        self.mention = mention
        self.context = context
        self.section = section
        self.second: Mention | None = None
        self.others: list[Finding] = []


class Items:
    """The named values of a text so far."""

    def __init__(self) -> None:
        self._known: dict[tuple[Name, str], _Item] = {}
        self._section = ""
        self._looked_to = 0

    def take(self, whole: Text, found: list[Mention], place: Place) -> None:
        """Take up the named values of a batch of numbers."""
        read = whole.read
        if not found or not speaks_of(_STEMS, read, found[0].start - REACH, found[-1].end + REACH):
            return
        previous = None
        for mention in found:
            paired = previous is not None and mention.start - previous.end < 8 and previous.kind == mention.kind
            previous = mention
            if paired or mention.shared or mention.tolerance or mention.kind not in _VALUED:
                continue
            named = _name(read, mention)
            if named is not None:
                self._note(read, mention, named, place)

    def conflicts(self) -> Iterator[Finding]:
        """A finding for every value of an item that has two."""
        for item in self._known.values():
            yield from item.others

    def _note(self, read: str, mention: Mention, named: tuple[Name, str], place: Place) -> None:
        name, context = named
        section = self._under(read, mention.start)
        item = self._known.get((name, mention.kind))
        if item is None:
            if len(self._known) < MOST_ITEMS:
                self._known[name, mention.kind] = _Item(mention, context, section)
            return
        if mention.span != item.mention.span or _same(mention, item.mention):
            return
        if item.second is not None and not _same(mention, item.second):
            item.others.clear()  # three values: a list
            return
        if item.second is None or item.others:
            item.second = mention
            if _APART.search(context) or _APART.search(item.context) or section != item.section:
                return
            first = " ".join(read[item.mention.start : item.mention.end].split())
            stated = " ".join(read[mention.start : mention.end].split())
            note = f"{' '.join(_spoken(name))}: {first} before, {stated} here"
            item.others.append(place.finding(mention.start, mention.end, "disagrees", stated, first, first, "", note, "wrong"))

    def _under(self, read: str, start: int) -> str:
        """The words of the last heading that tell one component or one state of it from another."""
        for match in _HEADING.finditer(f"\n{read[self._looked_to : start]}"):
            self._section = " ".join(sorted(set(_COMPONENT.findall(match[0].lower()))))
        self._looked_to = max(self._looked_to, start)
        return self._section


_VALUED = ("torque", "volume", "temperature", "pressure", "length", "mass")


def _same(one: Mention, other: Mention) -> bool:
    if one.span != other.span:
        return False
    first, second = amounts_of(one.reading), amounts_of(other.reading)
    if one.unit is other.unit:
        return follows(first, second)
    return all(is_near(s, o, share=_ACROSS) for s, o in zip(second, first, strict=True)) and one.kind != "temperature"


def _spoken(name: Name) -> list[str]:
    return sorted(name, key=lambda word: (word in _NAMES, word))


def _name(read: str, mention: Mention) -> Named:
    """The words that name a value, and the rest of its sentence."""
    lead = read[max(0, mention.start - REACH) : mention.start].lower()
    head = lead[max(lead.rfind(c) for c in "\n.!?;•*#") + 1 :]
    tail = read[mention.end : mention.end + REACH].lower()
    link = _LINK.search(head)
    before = head[: link.start()] if link is not None else head
    cut = max(before.rfind(c) for c in ":,|(") + 1
    if link is not None and mention.kind == "volume" and "holds" in link[0]:
        before = f"{before} fill"
    name = _named(before, cut, mention)
    rest = before[:cut] if name is not None else head
    if name is None:
        behind = _BEHIND.match(tail)
        if behind is None:
            return None
        end = min([i for i in (tail.find(c, behind.end()) for c in "\n.!?;,|():") if i >= 0], default=len(tail))
        name = _named(tail[:end], behind.end(), mention)
        if name is None:
            return None
        tail = tail[end:]
    stop = min([i for i in (tail.find(c) for c in "\n.!?;,|)") if i >= 0], default=len(tail))
    return name[0], f"{rest} {name[1]} | {tail[:stop]}"


def _named(text: str, cut: int, mention: Mention) -> tuple[Name, str] | None:
    """The words of the name that ends a text, and the words before it."""
    found: list[str] = []
    at = len(text)
    joined = False
    matches = list(_WORD.finditer(text, cut))
    while matches and matches[-1].end() == at:
        word = matches.pop()
        if word[0] in _STOPS:
            joined = joined or word[0] in _JOINING or (word[0] == "and" and found == ["fill"])
            if found and not (joined or word[0] in ("the", "a", "an")):
                break
        elif found and joined and len(found) > 3:
            break
        else:
            found.append(_singular(word[0]))
        at = word.start()
        while at > cut and text[at - 1] == " ":
            at -= 1
    words = {word for word in found if word not in _GENERAL}
    if mention.kind == "volume" and "drain" in words and "fill" not in words:
        return None  # what a drain gave, which is another every time
    if not 2 <= len(words) <= 4 or not words & _NAMES or (words - _NAMES <= _VAGUE and not len(words & _NAMES) > 1):
        return None
    due = _KINDS.get(found[0]) or ("" if words & _PARTS else next((_KINDS[word] for word in found if word in _KINDS), ""))
    if mention.kind != due and (due or mention.kind not in ("torque", "volume")):
        return None
    return frozenset(words), text[cut:at]


def _singular(word: str) -> str:
    one = word.removesuffix("'s")
    one = one.removesuffix("s") if one.removesuffix("s") in _NAMES or one.removesuffix("s") in _SAME else one
    return _SAME.get(one, one)
