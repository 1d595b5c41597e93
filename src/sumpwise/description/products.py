"""So many of one size, and what they are together: 12 x 1 qt, two 5-quart jugs, one 5 L can and four 1 L bottles."""

from __future__ import annotations

import re

from sumpwise.description.mention import Mention, Product
from sumpwise.quantities.digits import in_unit
from sumpwise.quantities.notation import Reading

_NUMBERS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
_VALUES = {word: n for n, word in enumerate(_NUMBERS, 1)}
_WORD = "|".join(_NUMBERS)
_VESSELS = "jug|bottle|can|jar|pail|carton|container|tin|drum|bucket|pack"
_NOUNS = f"{_VESSELS}|drain|refill|burst|pour|dump|exchange|change|cycle|fill"
"""What is counted, by how much is in each."""
_COUNT = re.compile(
    rf"(?<![\w.,/×*-])(?P<count>{_WORD}|[0-9]{{1,3}})(?P<times> ?[x×*] ?| (?:{_NOUNS})s (?:of|at|@) (?:about )?| )$", re.IGNORECASE
)
"""A count at the end of what stands before a size: 12 x, three bottles of, two (5-quart jugs)."""
_PART = re.compile(rf"(?:(?<![\w.,/×*-])(?P<count>{_WORD}|[0-9]{{1,3}}) )?\bof (?:(?:the|these|those|my|our|your) )?$", re.IGNORECASE)
"""Before a count of which only a part is spoken of: four of the five 1 L bottles."""
_BEHIND = re.compile(rf"[ -](?P<vessel>{_VESSELS})?(?(vessel)s?|(?:{_NOUNS})s?)\b(?: each\b)?| each\b", re.IGNORECASE)
_JOINED = re.compile(r"(?:,| and| plus| \+| &)(?: an?| another| one)? ")
_LAST = frozenset("eorxntf@×*0123456789")
"""The last characters of what a count may end with."""
_REACH = 28
_MOST_TERMS = 8


def multiplied(text: str, found: list[Mention]) -> list[Mention]:
    """The quantities with each product of a count and a volume, and each sum with such a product in it, as one quantity."""
    products = {i: product for i in _counted(text, found) if (product := _product(text, found[i])) is not None}
    if not products:
        return found
    made: list[Mention] = []
    for i, mention in enumerate(found):
        product = products.get(i)
        one = product or mention
        before = made[-1] if made else None
        if before is not None and (before.each or one.each) and _is_next(text, before, one):
            if before.each is None:
                before = _alone(text, before)
            made[-1] = _together(text, before, one if product else _alone(text, one))
        else:
            made.append(one)
    return made


def _counted(text: str, found: list[Mention]) -> list[int]:
    """Which volumes may have a count before them, by the last character but one before: most in a text have none."""
    return [i for i, mention in enumerate(found) if text[mention.start - 2] in _LAST and mention.kind == "volume"]


def _product(text: str, mention: Mention) -> Mention | None:
    """A volume times the count before it."""
    match = _COUNT.search(text, mention.start - _REACH if mention.start > _REACH else 0, mention.start)
    reading = mention.reading
    if match is None or not isinstance(reading, Reading) or reading.exact_spread or mention.other or mention.shared:
        return None
    count, start = match["count"].lower(), match.start()
    if match["times"] == " " and count.isdigit():
        behind = _BEHIND.match(text, mention.end)
        if behind is None or behind["vessel"] is None:
            return None
    part = _PART.search(text, max(0, start - 20), start)
    if part is not None:
        if part["count"] is None:
            return None
        count, start = part["count"].lower(), part.start()
    return _of(text, start, mention, _VALUES.get(count) or int(count))


def _alone(text: str, mention: Mention) -> Mention:
    """One of a size: a 1 L bottle."""
    return _of(text, mention.start, mention, 1)


def _of(text: str, start: int, mention: Mention, count: int) -> Mention:
    reading = mention.reading
    assert isinstance(reading, Reading)
    behind = _BEHIND.match(text, mention.end)
    total = Reading(reading.text, reading.unit, count * reading.num, reading.den, reading.places, None)
    return Product(start, mention.end if behind is None else behind.end(), total, (mention,))


def _is_next(text: str, before: Mention, one: Mention) -> bool:
    """Whether a volume is one more term of the sum before it."""
    terms = [part.reading for part in (before, one) if isinstance(part.reading, Reading) and not part.reading.exact_spread]
    if len(terms) < 2 or not before.kind == one.kind == "volume" or len(before.each or ()) >= _MOST_TERMS:
        return False
    end = before.end
    if before.each is None:
        behind = _BEHIND.match(text, end)
        end = end if behind is None else behind.end()
    return one.start - end <= 12 and _JOINED.fullmatch(text, end, one.start) is not None


def _together(text: str, first: Mention, second: Mention) -> Mention:
    """Two terms as one quantity, in the unit of the first."""
    one, other = first.reading, second.reading
    assert isinstance(one, Reading)
    assert isinstance(other, Reading)
    over, under = in_unit(other.num, other.den, other.unit, one.unit)
    places = None if one.places is None or other.places is None or one.unit is not other.unit else max(one.places, other.places)
    total = Reading(one.text, one.unit, one.num * under + over * one.den, one.den * under, places, None)
    return Product(first.start, second.end, total, (*(first.each or ()), *(second.each or ())))
