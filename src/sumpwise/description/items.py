"""The same item with two values in one text: the title and the table disagree, or the script and the card.

Items are matched by their words, and only if that is safe: the same two or more words, one of which names a part or a quantity, in two
places where nothing sets the two apart (first and second, hot and cold, old and new, front and rear). An item with three values is a list
or a log, not a mistake.
"""

from __future__ import annotations

import re

from sumpwise.description.mentions import any_of
from sumpwise.description.precision import amounts_of, is_near
from sumpwise.description.slips import follows

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

    from sumpwise.description.findings import Finding, Place
    from sumpwise.description.mention import Mention
    from sumpwise.description.normalising import Text
    from sumpwise.quantities.digits import Ratio

    Name = tuple[str, ...]
    Named = tuple[Name, str] | None
    """The words of a name, and what else its sentence says."""

REACH = 64
"""How many characters before and after a number are searched for its name."""
MOST_ITEMS = 2000
"""The most names that are kept."""
_ACROSS: Ratio = (5, 100)
"""Two values in different units that differ by up to this share are the same."""

_LINKING = {
    "is", "are", "was", "of", "to", "at", "get", "gets", "take", "takes", "hold", "holds", "need", "needs", "want", "wants", "torque",
    "torqued", "tighten", "tightened", "about", "approx", "around", "roughly", "for", "the", "goes", "a", "an", "only", "must", "should",
    "be", "set", "value", "spec", "specs", "read", "reads", "comes", "works", "out", "calls", "called", "require", "requires",
    "specified", "rated", "use", "it", "it's", "that's",
}  # fmt: skip
"""Words that may come between a name and its number."""
_ENDS = "\n.!?;,|)"
_REST = "\n.!?;|"
"""Where what is said about an item ends, and where all that is said ends."""
_MARKS = " \t:=|,–→➡👉-~≈.@"
_LEADER = re.compile(r"\.{3,}")
"""The dots that lead from a name to its number in a list."""
_END = re.compile(r"[.!?;] |\n")
_WORD = re.compile(r"(?:[0-9]+-?)?[a-z][a-z'-]*")
_BEHIND = re.compile(
    r"[ \t]*(?:\([^()\n]{0,40}\)[ \t]*)?(?:(?:for|on|at|in|into|(?:is|are) (?:what|for)) (?:the|a|an|your|my|each|every|all) |(?:for|on) )"
)
_BEGINNING = re.compile(r" ?(?:\([^()\n]{0,40}\) ?)?(?:[-–:=] ?)?(?:the )?(?=[a-z])")
"""Between a number and the name of what it is for; and the same if a torque begins its sentence: 43 Nm - drain plug."""
_ASIDE = re.compile(
    r"[,(]? ?\b(?:(?:with|and|on) )?(?:(?:a|an|the|its) )?(?:new|fresh) (?:[a-z]+ )?(?:washer|gasket|seal|o-ring|ring)s?\b\)?"
    r"|,? ?\b(?:(?:and|but) )?(?:no|not|never)(?: [a-z]+){0,3} more\b"
)
"""What a sentence adds without saying which item it is: with a new washer; and not a hair more."""
_PARTS = {
    "plug", "bolt", "nut", "fitting", "bracket", "cup", "banjo", "strainer", "filter", "pan", "cover", "mount", "crossmember", "sensor",
    "body", "solenoid", "hose", "line", "clamp", "housing", "case", "union", "retainer", "flange", "cap", "lid", "pump", "converter",
    "cooler", "tube",
}  # fmt: skip
_QUANTITIES = {
    "fill", "refill", "temperature", "pressure", "torque", "interval", "level", "clearance", "gap", "window", "limit", "weight", "length",
    "fluid", "gasket",
}  # fmt: skip
_NAMES = _PARTS | _QUANTITIES
_KINDS = {
    "temperature": "temperature", "pressure": "pressure", "torque": "torque", "fill": "volume", "refill": "volume", "fluid": "volume",
    "interval": "length", "gap": "length", "clearance": "length", "length": "length", "weight": "mass",
}  # fmt: skip
_SAME = {
    "capacity": "fill", "volume": "fill", "screw": "bolt", "temp": "temperature", "temperatures": "temperature", "oil":
    "fluid", "atf": "fluid", "checking": "check", "capacities": "fill",
}  # fmt: skip
"""Words that name the same thing."""
_ANY_NAME = re.compile(any_of((*_NAMES, *_SAME)))
_GENERAL = {
    "torque", "value", "spec", "specs", "setting", "figure", "correct", "right", "recommended", "required", "proper", "final",
    "transmission", "gearbox", "trans", "box", "example", "wagon", "automatic", "auto", "again", "summary", "reminder", "recap", "note",
    "remember", "quick", "go", "goes", "going", "went", "comes", "back", "put",
}  # fmt: skip
"""Words that do not say which item it is."""
_VAGUE = {
    "new", "fresh", "clean", "old", "used", "more", "some", "extra", "first", "second", "third", "next", "other", "another", "same",
    "own", "little", "enough", "much", "hot", "cold", "red", "brown", "dirty", "every", "each", "drained", "poured", "remaining", "added",
    "lost",
}  # fmt: skip
"""Words that, next to `fluid` or `drain`, do not tell one item from another."""
_APART = re.compile(
    r"\b(?:first|second|third|fourth|fifth|last|next|initial|1st|2nd|3rd|4th|one|two|other|another|old|new|newer|older|later|earlier|"
    r"early|"
    r"late|before|after|then|hot|cold|warm|wet|left|right|front|rear|upper|lower|top|bottom|inner|outer|min|max|minimum|maximum|least|"
    r"most|"
    r"pass|stage|snug|used|bought|drained|measured|mine|yours|his|her|their|neighbou?r|(?:wagon|car|unit|pump|kit|type) [a-z0-9]|without|"
    r"with|"
    r"less|more|plus|extra|not|no|never|or|if|had|instead|wrong|correction|corrected|edit|update|updated|\d{4}|\d+ ?k\b|\d[\d,. ]* (?:km|"
    r"miles?)|"
    r"long|(?<!in )short|small|big|large|"
    r"manual|cvt|summer|winter|city|highway|today|yesterday|previous|previously|formerly|model|models|version|"
    r"kit|"
    r"from|down|up|per|each|every|half|quarter|start|end|between|idle|driving|towing|axle|differential|diff|transfer|engine|turbo|diesel|"
    r"petrol|"
    r"viewers?|comments?|commenters?|forums?|readers?|someone|somebody|people|says?|told|claims?|claimed|thought|typo|mistake|myth|"
    r"rumou?r|"
    r"incorrect|loose|broke|stripped|speed|hand|finger|"
    r"steel|plastic|alumini?um|cast|dry|oiled|greased|threads?|m\d{1,2}|\d+ ?mm|\dwd|4x4|awd|fwd)\b"
)
_STOPS = {
    "the", "a", "an", "at", "my", "your", "our", "its", "this", "that", "these", "and", "in", "for", "on", "of", "to", "with", "by", "as",
    "is", "then", "tighten", "snug", "so", "says", "see", "all", "both", "into", "from", "title", "card", "video", "script", "now",
    "torque", "set", "use", "are", "was", "get", "give", "put", "what's", "what", "i", "you", "we", "q", "step", "but", "or", "it's",
    "it", "be", "will", "just", "fit", "refit", "install", "reinstall", "replace", "close", "when", "mm",
}  # fmt: skip
_JOINING = {"of", "for"}
_HEADING = re.compile(
    r"\n[ \t]*(?:#{1,6} [^\n]*|[^\n:.!?]{2,60}:[ \t]*|[A-Z][A-Z ]{3,60}|(?:19|20)[0-9]{2}\b[^\n]{0,40}"
    r"|(?P<plain>[A-Za-z-]{2,20}(?: [A-Za-z-]{2,20}){0,2})[ \t]*)(?=\n)"
)
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
        self._known: dict[tuple[frozenset[str], str], _Item] = {}
        self._section = ""
        self._looked_to = 0

    def take(self, whole: Text, found: list[Mention], place: Place) -> None:
        """Add the named values of a batch of numbers."""
        read = whole.read
        if not found or not _ANY_NAME.search(read[max(0, found[0].start - REACH) : found[-1].end + REACH].lower()):
            return
        previous = None
        for mention in found:
            beside = previous is not None and mention.start - previous.end < 8 and previous.kind == mention.kind
            paired = beside and previous is not None and _END.search(read, previous.end, mention.start) is None
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
        key = frozenset(name), mention.kind
        item = self._known.get(key)
        if item is None:
            if len(self._known) < MOST_ITEMS:
                self._known[key] = _Item(mention, context, section)
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
            mention.compared = item.mention.compared = True
            first = " ".join(read[item.mention.start : item.mention.end].split())
            stated = " ".join(read[mention.start : mention.end].split())
            note = f"{' '.join(name)}: {first} before, in line {place.line(item.mention.start)}, {stated} here: make them agree"
            item.others.append(place.finding(mention.start, mention.end, "disagrees", stated, first, first, "", note, "wrong"))

    def _under(self, read: str, start: int) -> str:
        """The words of the last heading that tell one component, or one state of it, from another."""
        for match in _HEADING.finditer(f"\n{read[self._looked_to : start]}"):
            components = " ".join(sorted(set(_COMPONENT.findall(_ASIDE.sub("", match[0].lower())))))
            if components or match["plain"] is None:
                self._section = components
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


def _name(read: str, mention: Mention) -> Named:
    """The words that name a value, and the rest of its sentence."""
    head = _ASIDE.sub("", _sentence(_LEADER.sub(":", read[max(0, mention.start - REACH) : mention.start])))
    tail = _ASIDE.sub("", read[mention.end : mention.end + REACH].lower())
    if _ANY_NAME.search(head):
        before, holds = _unlinked(head)
        if holds and mention.kind == "volume":
            before = f"{before} fill"
        cut = max(map(before.rfind, ":,|(")) + 1
        name = _named(before, cut, mention)
        if name is not None:
            return name[0], f"{before[:cut]} {name[1]} | {_up_to(tail, _REST)}"
    behind, ends = _BEHIND.match(tail), _ENDS + "(:"
    alone = behind is None and mention.kind == "torque" and not head.strip(_MARKS)
    if alone:
        behind, ends = _BEGINNING.match(tail), _REST
    if behind is None:
        return None
    named = _unlinked(_up_to(tail, ends, behind.end()))[0]
    name = _named(named, behind.end(), mention)
    if name is None or (alone and name[1].strip()):  # then the name is all that stands behind it
        return None
    return name[0], f"{head} {name[1]} | {_up_to(tail[len(named) :], _REST)}"


def _sentence(lead: str) -> str:
    """The end of a text from where its last sentence, line or list item begins."""
    begin = -1
    for mark in "\n.!?;•*#":
        at = lead.rfind(mark)
        if at > begin:
            begin = at
    return lead[begin + 1 :].lower()


def _up_to(text: str, marks: str, start: int = 0) -> str:
    """The text up to the first of the marks."""
    for i in range(start, len(text)):
        if text[i] in marks:
            return text[:i]
    return text


def _unlinked(head: str) -> tuple[str, bool]:
    """The words before those that link a name to its number, and whether the linking words say "holds"."""
    holds = False
    while True:
        head = head.rstrip(_MARKS)
        at = len(head)
        while at and (head[at - 1].isalpha() or head[at - 1] == "'"):
            at -= 1
        word = head[at:]
        if word not in _LINKING:
            return head, holds
        holds = holds or word == "holds"
        head = head[:at]


def _named(text: str, cut: int, mention: Mention) -> tuple[Name, str] | None:
    """The words of the name at the end of a text, and the words before it."""
    found: list[str] = []
    at = len(text)
    joined = False
    matches = list(_WORD.finditer(text, cut))
    while matches and matches[-1].end() == at:
        word = matches.pop()
        if word[0] in _STOPS:
            joined = joined or word[0] in _JOINING or (word[0] == "and" and found in (["fill"], ["refill"]))
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
    if mention.kind == "volume" and "drain" in words and not words & {"fill", "refill"}:
        return None  # how much a drain gave, which differs every time
    if not 2 <= len(words) <= 4 or not words & _NAMES or (words - _NAMES <= _VAGUE and not len(words & _NAMES) > 1):
        return None
    due = _KINDS.get(found[0]) or ("" if words & _PARTS else next((_KINDS[word] for word in found if word in _KINDS), ""))
    if mention.kind != due and (due or mention.kind not in ("torque", "volume")):
        return None
    return tuple(dict.fromkeys(word for word in reversed(found) if word in words)), text[cut:at]


def _singular(word: str) -> str:
    one = word.removesuffix("'s")
    one = one.removesuffix("s") if one.removesuffix("s") in _NAMES or one.removesuffix("s") in _SAME else one
    return _SAME.get(one, one)
