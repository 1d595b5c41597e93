"""Claims other than two numbers side by side: torque without a unit, hot and cold volumes, and shares of fluid after drains."""

from __future__ import annotations

import re
from bisect import bisect_left
from fractions import Fraction
from itertools import pairwise

from sumpwise.description.grades import WRONG
from sumpwise.description.precision import Figure, amount_of
from sumpwise.description.slips import ADDED, NO_UNIT
from sumpwise.mixing.batch import MOST_TIMES, drain_refill
from sumpwise.quantities.digits import decimal, to_step, with_symbol
from sumpwise.quantities.normalising import lowered
from sumpwise.quantities.notation import Reading

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

    from sumpwise.description.findings import Finding, Place
    from sumpwise.description.mention import Mention

REACH = 64
"""How many characters after a tightening word are searched for its number."""
SENTENCE = 240
"""How many characters on either side are searched for the ends of a sentence."""

_TIGHTEN = re.compile(
    r"(?i)\b(?:(?:plug|bolt|nut|screw|stud|fitting)s?(?= (?:to|at|gets?|wants?|takes?) |:)|"
    r"torqu(?:e|es|ed|ing)|tighten(?:s|ed|ing)?|crank(?:s|ed)?|"
    r"snug(?:s|ged)?|cinch(?:es|ed)?)\b"
)
_FASTENERS = ("plug", "bolt", "nut", "screw", "stud", "fitting")
_STEMS = re.compile("|".join(("torqu", "tighten", "crank", "snug", "cinch", *_FASTENERS)))
_BARE = re.compile(r"[0-9]{1,4}(?:[.,][0-9]{1,2})?(?: ?[-–] ?[0-9]{1,4}(?:[.,][0-9]{1,2})?)?")
_CYCLE = re.compile(r"(?i)\b(?:drains?|drain-and-(?:re)?fills?|refills?|changes?|exchanges?|cycles?|swaps?|dumps?|flushes|services)\b")
_OLD = ("old", "left", "remaining", "remains", "original", "dirty", "used", "unchanged", "leave", "leaves", "leaving", "remain")
_NEW = (
    "new", "fresh", "clean", "renewed", "replaced", "changed", "exchanged", "renew", "renews", "replace", "replaces", "change", "changes",
    "exchange", "exchanges", "give", "gives", "make", "makes", "get", "gets", "refresh", "refreshes", "swap", "swaps",
)  # fmt: skip
_OF_EACH = re.compile(r"(?i) of ?$|(?<!\bis)(?<!\bare)(?<!\bbe)(?<!'re)(?<!'s) at ?$")
"""Before the share of each drain, and not of the result: two drains of 25 %, but you are at 75 %."""
_NO_RESULT = re.compile(
    r"(?i)(?:n't|\b(?:not|never|another|further|by|instead of|than|at least|at most|up to|over|under|above|below))"
    r"(?: (?:a|the|about|be|get|give|make|quite))* ?$"
)
_MORE = re.compile(r" ?(?:more|extra|further)\b")
"""Around a share that is said not to be the result, but to be its bound or a part of it: and not 80 %, at least 60 %, 24 % more."""
_ABOUT = re.compile(r"(?i)(?:[~≈]|\b(?:about|around|roughly|approximately|approx\.?|some|nearly|almost|close to)) ?$")
_FIVES = 2.5
"""How far a share that is only about a multiple of five may be off."""
_COUNTS = {
    "a": 1, "an": 1, "one": 1, "single": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9,
    "ten": 10, "eleven": 11, "twelve": 12, "once": 1, "twice": 2, "thrice": 3,
}  # fmt: skip
_ORDINALS = {"second": 2, "third": 3, "fourth": 4, "fifth": 5, "sixth": 6}
_ONE_MORE = ("one", "time", "round", "go", "pass")
_BRINGING = ("to", "you", "is", "only", "brings", "gets", "gives", "leaves", "makes", "takes")
"""After an ordinal, or another: a second one, another round; and after an ordinal with an article: the third brings you to."""
_EACH = ("each", "every", "per")
_LETTERS = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ."
_WORD = re.compile(r"[A-Za-z-]+|[0-9]+|[%×]")
_ENDS = ".!?;\n"


def bare_torques(text: str, found: list[Mention], place: Place, begin: int, end: int) -> Iterator[Finding]:
    """A finding for every number that is said to be a torque but has no unit, or a unit of mass or force."""
    note = "newton metres, pound-feet and pound-inches differ by more than any tolerance"
    for start, stop in _torques_without_unit(text, found, begin, end):
        digits = text[start:stop].rstrip(_LETTERS).rstrip()
        suggestion = f"{digits} N·m, or {digits} lbf·ft"
        yield place.finding(start, stop, "ambiguous", text[start:stop], "a torque with a unit", suggestion, NO_UNIT, note)


def _torques_without_unit(text: str, found: list[Mention], begin: int, end: int) -> Iterator[tuple[int, int]]:
    starts: dict[int, Mention] | None = None
    last = -1
    for stem in _STEMS.finditer(lowered(text[begin:end])):
        match = _TIGHTEN.match(text, begin + stem.start(), end)
        if match is None:
            continue
        place = _tightened_to(text, match.end(), match.group().lower())
        if place < 0 or place <= last:
            continue
        last = place
        if starts is None:
            starts = {one.start: one for one in found}
        mention = starts.get(place)
        if mention is not None:
            if mention.kind in ("mass", "force") and (_stands_alone(text, mention.end) or not _is_part(match[0])):
                yield place, mention.end
            continue
        number = _BARE.match(text, place) if not _is_part(match[0]) else None
        if number is not None and _stands_alone(text, number.end()) and not _list_with_unit(text, number.end(), found):
            yield place, number.end()


def _tightened_to(text: str, start: int, word: str) -> int:
    """Where the number that belongs to a tightening word is, or -1."""
    window = text[start : start + REACH]
    for i, c in enumerate(window):
        if c in _ENDS:
            window = window[:i]
            break
    head = window.lstrip(" ")
    at = start + len(window) - len(head)
    if word.startswith("torque") or _is_part(word):
        for mark in (":", "=", "is ", "of ", "was ", "spec ", "spec: ", "spec is ", "get ", "gets ", "wants ", "takes ", ""):
            if head.startswith(mark):
                rest = head[len(mark) :].lstrip(" ")
                if rest[:1].isdigit():
                    return at + len(head) - len(rest)
    for to in (" to ", " at "):
        i = window.find(to)
        if i >= 0 and not window[:i].rstrip()[-1:].isdigit():  # steps 1 to 7
            rest = window[i + 4 :].lstrip(" ")
            if rest.startswith("about "):
                rest = rest[6:]
            if rest[:1].isdigit():
                return start + len(window) - len(rest)
    return -1


def _is_part(word: str) -> bool:
    """Whether a word names the part, not the tightening: then only pounds after it are a torque without a proper unit."""
    return word.lower().startswith(_FASTENERS)


def _list_with_unit(text: str, end: int, found: list[Mention]) -> bool:
    """Whether the number begins a list whose last member has the unit: 10, 20 and then 30 N·m."""
    following = bisect_left(found, end, key=lambda mention: mention.start)
    if following == len(found) or found[following].kind != "torque" or found[following].start > end + REACH:
        return False
    words = _WORD.findall(text[end : found[following].start])
    return all(word.isdigit() or word in ("and", "then", "or") for word in words) and "(" not in text[end : found[following].start]


def _stands_alone(text: str, end: int) -> bool:
    """Whether nothing after the number says what it counts."""
    tail = text[end : end + 16]
    if tail[:1] in ("/", ":", "%", "°", "-", "–") or tail[:1].isalnum():
        return False
    if tail[:1] == "." and tail[1:2].isdigit():
        return False
    rest = tail.lstrip(" \t")
    if not rest or not rest[0].isalnum():
        return rest[:1] not in ("%", "°", "×", "±")
    word = ""
    for c in rest:
        if not c.isalpha():
            break
        word += c
    return word.lower() in ("and", "then", "or", "with", "if", "when", "but", "dry", "first", "as", "using", "by")


class _Share:
    """A claim about the share of fluid after drains: where its percentage is, what was stated and what is right."""

    __slots__ = ("added", "end", "expected", "right", "start", "stated")

    def __init__(self, start: int, end: int, stated: Mention, right: bool, expected: float, added: bool) -> None:
        self.start = start
        self.end = end
        self.stated = stated
        self.right = right
        self.expected = expected
        self.added = added


def shares(text: str, found: list[Mention], place: Place) -> Iterator[Finding]:
    """A finding for every sentence that says how much of the fluid is old or new after a number of drains."""
    for share in _shares(text, found):
        stated = _amount(share.stated)
        places = max(0, stated.places)
        over, under = share.expected.as_integer_ratio()
        right = with_symbol(decimal(to_step(over, under, (1, -places)), -places), share.stated.unit)
        suggestion = "" if share.right else text[share.start : share.stated.start] + right
        said = " ".join(text[share.stated.start : share.stated.end].split())
        verdict = "agrees" if share.right else "disagrees"
        slip, grade = (ADDED if share.added else ""), ("" if share.right else WRONG)
        yield place.finding(share.start, share.end, verdict, said, right, suggestion, slip, "", grade)


def _shares(text: str, found: list[Mention]) -> Iterator[_Share]:
    taken = -1
    for index, mention in enumerate(found):
        if mention.unit.symbol != "%" or mention.start < taken or mention.span:
            continue
        start, end = _sentence(text, mention)
        taken = end
        if _CYCLE.search(text, start, end) is None and not any(word in text[start:end] for word in ("times", "twice")):
            continue
        first = index
        while first and found[first - 1].start >= start:
            first -= 1
        last = index
        while last + 1 < len(found) and found[last + 1].end <= end:
            last += 1
        share = _share(text, start, end, found[first : last + 1])
        if share is not None:
            for one in found[first : last + 1]:
                one.compared = True
            yield share


def _sentence(text: str, mention: Mention) -> tuple[int, int]:
    start, end = mention.start, mention.end
    least, most = max(0, start - SENTENCE), min(len(text), end + SENTENCE)
    while start > least and not _is_end(text, start - 1):
        start -= 1
    while end < most and not _is_end(text, end):
        end += 1
    return start, end


def _is_end(text: str, i: int) -> bool:
    return text[i] in _ENDS and not (text[i] == "." and text[i + 1 : i + 2].isdigit())


def _share(text: str, start: int, end: int, inside: list[Mention]) -> _Share | None:
    percents = [m for m in inside if m.unit.symbol == "%" and not _is_no_result(text, start, m)]
    volumes = [m for m in inside if m.kind == "volume" and not m.span]
    if not percents or any(m.span for m in percents):
        return None
    times = _times(_without(text, start, end, inside))
    result = percents[-1]
    if _OF_EACH.search(text, max(start, result.start - 12), result.start):
        return None  # two drains of 25 %: the share of each drain, not the result
    fate = _fate(text, start, end, result)
    if len(percents) == 1 and len(volumes) == 2:
        drained, capacity = sorted(_litres(m) for m in volumes)
    elif len(percents) > 1 and not volumes and _per_cycle(text, start, end, percents[0]):
        drained, capacity = _value(percents[0]) / 100, 1.0
        first = _fate(text, start, percents[1].start, percents[0])
        if times == 1 and first == fate:
            return None  # of one drain, and of more that are not counted
        if first == "old":
            drained = 1 - drained
        if not fate and ("=" in text[percents[0].end : result.start] or text[result.end : end].lstrip().startswith("after")):
            fate = "new"  # 37 % per drain, so 74 % after two drains
    else:
        return None
    if times is None or not fate or not 0 <= drained <= capacity or capacity <= 0:
        return None
    fresh = 100 * drain_refill.kernel(drained, capacity, times)
    expected = fresh if fate == "new" else 100 - fresh
    stated = _amount(result)
    half = stated.half[0] / stated.half[1]
    if stated.num % (5 * stated.den) == 0 and _ABOUT.search(text, max(start, result.start - 16), result.start):
        half = max(half, _FIVES)
    right = abs(stated.num / stated.den - expected) <= half + 1e-9
    summed = 100 * drained / capacity * times
    added = not right and abs(stated.num / stated.den - (summed if fate == "new" else 100 - summed)) <= half + 1e-9
    return _Share(inside[0].start, result.end, result, right, expected, added)


def _is_no_result(text: str, start: int, percent: Mention) -> bool:
    return _MORE.match(text, percent.end) is not None or _NO_RESULT.search(text, max(start, percent.start - 24), percent.start) is not None


def _without(text: str, start: int, end: int, inside: list[Mention]) -> str:
    """The sentence with its quantities taken out, so that the numbers left are counts."""
    parts, at = [], start
    for mention in inside:
        parts.append(text[at : mention.start])
        at = mention.end
    return " ".join([*parts, text[at:end]])


def _amount(mention: Mention) -> Figure:
    assert isinstance(mention.reading, Reading)
    return amount_of(mention.reading)


def _value(mention: Mention) -> float:
    amount = _amount(mention)
    return float(Fraction(amount.num, amount.den))


def _litres(mention: Mention) -> float:
    assert isinstance(mention.reading, Reading)
    return mention.reading.internal


def _times(sentence: str) -> int | None:
    """The last number of cycles mentioned in the sentence."""
    words = [w.lower() for w in _WORD.findall(sentence)]
    found = None
    for i, word in enumerate(words):
        before = words[i - 1] if i else ""
        following = words[i + 1] if i + 1 < len(words) else ""
        more = following in _ONE_MORE or _CYCLE.fullmatch(following)
        if word in ("twice", "thrice"):
            found = _COUNTS[word]
        elif word in ("times", "x", "×"):
            found = _count(before) or (_count(following) if word != "times" else None) or found
        elif (before == "after" or following == "of") and _count(word):
            found = _count(word)
        elif word in _ORDINALS and (more or (before == "the" and following in _BRINGING)):
            found = _ORDINALS[word]
        elif word == "both":
            found = 2
        elif word in ("again", "repeat") or (word == "another" and more):
            found = (found or 1) + 1
        elif _CYCLE.fullmatch(word):
            for back in (1, 2):
                count = _count(words[i - back]) if i >= back else None
                if count is not None and not (count == 1 and words[i - back] in ("a", "an") and found):
                    found = count
                    break
    return found if found is None or found <= MOST_TIMES else None


def _count(word: str) -> int | None:
    if word in _COUNTS:
        return _COUNTS[word]
    return int(word) if word.isdigit() and len(word) <= 3 and int(word) > 0 else None


def _fate(text: str, start: int, end: int, percent: Mention) -> str:
    """Whether a percentage is of old or of new fluid: by the words after it, else by the last verb before it."""
    behind = [w.lower() for w in _WORD.findall(text[percent.end : min(end, percent.end + 40)])][:4]
    for word in behind:
        if word in ("old", "left", "original", "dirty", "remaining", "remains", "unchanged"):
            return "old"
        if word in ("new", "fresh", "clean", "renewed", "replaced", "changed", "exchanged"):
            return "new"
    for word in reversed([w.lower() for w in _WORD.findall(text[max(start, percent.start - 60) : percent.start])]):
        if word in _OLD:
            return "old"
        if word in _NEW:
            return "new"
    return ""


def _per_cycle(text: str, start: int, end: int, percent: Mention) -> bool:
    """Whether a percentage is that of a single cycle."""
    before = [w.lower() for w in _WORD.findall(text[start : percent.start])]
    behind = [w.lower() for w in _WORD.findall(text[percent.end : min(end, percent.end + 30)])][:3]
    if any(word in _EACH for word in (*before[-4:], *behind)):
        return True
    if behind and (_CYCLE.fullmatch(behind[0]) or (len(behind) > 1 and behind[0] in ("a", "an") and _CYCLE.fullmatch(behind[1]))):
        return True
    singles = (_COUNTS.get(one) == 1 and _CYCLE.fullmatch(two) for one, two in pairwise(before))
    return any(singles) or (bool(before) and before[-1] in ("of", "at") and any(_CYCLE.fullmatch(word) for word in before[-3:]))
