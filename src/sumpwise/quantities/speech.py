"""Numbers in words, as people say them before a unit: six and a half quarts, point eight liters, one forty fahrenheit.

A number phrase is only looked for right before a unit, so that nothing else a person says is taken for a quantity. The phrase becomes
figures; the text around it stays.
"""

from __future__ import annotations

import re

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator
    from typing import TypeAlias

    Edit: TypeAlias = tuple[int, int, str]
    """Where a stretch of text begins and ends, and what stands there instead."""
    Token: TypeAlias = tuple[str, int, int]

_ONES = {
    "zero": 0, "oh": 0, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9,
}  # fmt: skip
_TEENS = {
    "ten": 10, "eleven": 11, "twelve": 12, "thirteen": 13, "fourteen": 14, "fifteen": 15, "sixteen": 16, "seventeen": 17, "eighteen": 18,
    "nineteen": 19,
}  # fmt: skip
_TENS = {"twenty": 20, "thirty": 30, "forty": 40, "fourty": 40, "fifty": 50, "sixty": 60, "seventy": 70, "eighty": 80, "ninety": 90}
_PARTS = {
    "half": 2, "halves": 2, "third": 3, "thirds": 3, "quarter": 4, "quarters": 4, "fourth": 4, "fourths": 4, "fifth": 5, "fifths": 5,
    "eighth": 8, "eighths": 8, "tenth": 10, "tenths": 10, "sixteenth": 16, "sixteenths": 16,
}  # fmt: skip
_TIMES = {"hundred": 100, "thousand": 1000}
_WHOLE = _ONES | _TEENS | _TENS | _TIMES
_SMALL_WORDS = {"and", "a", "an", "point", "of", "another", "minus", "negative"}
_PHRASE = {*_WHOLE, *_PARTS, *_SMALL_WORDS}
_PASSED = {"extra", "full", "whole", "more", "good"}
"""Words between a number and its unit that say nothing about either."""
_KEPT = {"us", "u.s", "imperial", "imp", "uk", "fluid", "liquid", "square", "cubic"}
"""Words that belong to the unit."""
STEMS = (
    "quart", "lit", "gal", "pint", "ounce", "foot", "feet", "inch", "pound", "newton", "celsius", "fahrenheit", "degree", "psi", "bar",
    "kilo", "milli", "centi", "met", "mile", "cc", "qt", "nm", "kpa", "oz", "ft", "mm", "cm", "km", "ml", "lb",
)  # fmt: skip
"""Beginnings of the words of units that people say after a number in words."""
_METRIC = [f"{kilo}{unit}" for kilo in ("", "kilo", "milli", "centi") for unit in ("liter", "litre", "meter", "metre", "gram", "pascal")]
_SINGULAR = ("quart", "gallon", "pint", "ounce", "pound", "newton", "degree", "bar", "kilo", "mile", "qt", "newtonmeter", *_METRIC)
_KNOWN = {
    *_SINGULAR, *[f"{unit}s" for unit in _SINGULAR],
    "foot", "feet", "inch", "inches", "celsius", "fahrenheit", "psi", "cc", "nm", "kpa", "gal", "oz", "ft", "mm", "cm", "km", "ml", "lb",
    "lbs",
}  # fmt: skip
_SCALES = {*_TIMES, "point"}
_CONTINUING = {*_KNOWN, *_SCALES, *_WHOLE}
"""Words that, at the beginning of a line, may go on with a quantity from the line before."""
_HALF_UNITS = {"newton", "foot", "inch", "degrees", "fluid", "pound"}
"""Unit words that another unit word may follow."""
_FIGURES = r"[0-9]{1,6}(?:\.[0-9]{1,4})?"
"""Figures in a number phrase."""
_LAST = re.compile(rf"(?P<alone>(?<![\w.,/:$]))?{_FIGURES}$")
"""The last figures, which are a part of something else unless they stand alone: 1,200, $2 or 7/8."""
_LOWER = re.compile(rf"(?<![\w.,/:$])({_FIGURES})(?: ?[-\u2010-\u2014] ?|\s(to|and)\s)$")
"""The lower end of a span in figures."""
_NEXT_LINE = re.compile(r"\n ?([A-Za-z]{2,12})(?![A-Za-z])")
_LAST_WORD = re.compile(r"(?<![A-Za-z0-9])([A-Za-z]{1,10}|[0-9]{1,6}) ?\Z")
_LONGEST_LAST = 11
"""How many characters before a line end the last word begins at most."""
_PRICED = {"bucks", "dollars", "dollar", "euros", "euro", "cents", "coins", "pounds", "miles", "per", "times", "once", "twice", "percent"}
"""Words after which `a quart` means per quart."""
_PIECE = 65_536
"""How many characters are looked at, and their numbers held, at a time."""
_FARTHEST = 110
"""A number begins at most this many characters before its unit."""
_LINE = 120
"""How far around a line end its two lines are looked at."""
_BREAKS = "\n\t \u00a0-\u2010\u2011"


def broken(text: str) -> Iterator[Edit]:
    r"""Replace line ends inside a quantity by a space: captions are wrapped anywhere.

    Examples
    --------
    >>> list(broken("pan bolts nine\nnewton meters"))
    [(14, 15, ' ')]
    """
    for match in _NEXT_LINE.finditer(text):
        first, end = match[1].lower(), match.start()
        if first not in _CONTINUING:
            continue
        before = _LAST_WORD.search(text, max(0, end - _LONGEST_LAST), end)
        if before is None:
            continue
        last = before[1].lower()
        number = last.isdigit() or last in _PHRASE
        if (
            (number and (first in _KNOWN or first in _SCALES))
            or (first in _WHOLE and (last in _TENS or last in _SCALES))
            or (last in _HALF_UNITS and first in _KNOWN)
        ) and not _is_tabled(text, before.start(1), match.end(1)):
            yield before.end(1), match.start(1), " "


def _is_tabled(text: str, start: int, end: int) -> bool:
    """Whether cells of a table stand around a line end."""
    around = text[text.rfind("\n", max(0, start - _LINE), start) + 1 or max(0, start - _LINE) : start]
    behind = text[end : end + _LINE].partition("\n")[0]
    return any(mark in line for line in (around, behind) for mark in ("\t", "|", "   "))


def spoken(low: str) -> Iterator[Edit]:
    """Find every number in words before a unit, in a text in lower case, and give the figures that replace it, in order.

    Examples
    --------
    >>> list(spoken("six and a half quarts, or a quart and a half"))
    [(0, 14, '6 1/2'), (26, 27, '1 1/2'), (33, 44, '')]
    """
    last = 0
    for begin in range(0, len(low), _PIECE):
        end = begin + _PIECE
        found: dict[int, Edit] = {edit[0]: edit for edit in _figures(low, begin, end)}
        for at in sorted(_units(low, begin, end)):
            for edit in _before(low, at):
                found.setdefault(edit[0], edit)
        for edit in sorted(found.values()):
            if edit[0] >= last:
                yield edit
                last = edit[1]


def _figures(low: str, begin: int, stop: int) -> Iterator[Edit]:
    """The edits for figures that automatic captions wrote down as they were said: 5 point 7 liters, 2 quarts and a half."""
    at = low.find(" point ", begin, stop + 6)
    while at >= 0:
        start, end = at, at + 7
        while start and low[start - 1].isdigit():
            start -= 1
        while low[end : end + 1].isdigit():
            end += 1
        alone = low[end : end + 1] == " " and (not start or low[start - 1] in _BREAKS)
        if alone and start < at and end > at + 7:
            yield start, end, f"{low[start:at]}.{low[at + 7 : end]}"
        at = low.find(" point ", at + 7, stop + 6)
    for joint in (" and a ", " and three quarters"):
        at = low.find(joint, begin, stop + len(joint) - 1)
        while at >= 0:
            unit = at
            while unit and low[unit - 1].isalpha():
                unit -= 1
            start = unit - 1
            while start > 0 and low[start - 1].isdigit():
                start -= 1
            if 0 <= start < unit - 1 and low[unit - 1] == " " and low[unit:at] in _KNOWN and (not start or low[start - 1] in _BREAKS):
                tail = _and_a_part(low, unit)
                if tail is not None:
                    yield start, unit - 1, f"{low[start : unit - 1]} {tail[1]}"
                    yield *tail[0], ""
            at = low.find(joint, at + len(joint), stop + len(joint) - 1)


def _units(low: str, begin: int, stop: int) -> Iterator[int]:
    """Where unit words begin, in a stretch of the text."""
    for stem in STEMS:
        at = low.find(stem, begin, stop + len(stem) - 1)
        while at >= 0:
            if at and low[at - 1] in _BREAKS and (low[at - 2 : at - 1].isalpha() or low.endswith("u.s.", 0, at - 1)):
                end = at + len(stem)
                while low[end : end + 1].isalpha():
                    end += 1
                if low[at:end] in _KNOWN:
                    yield at
            at = low.find(stem, at + len(stem), stop + len(stem) - 1)


def _before(low: str, at: int) -> list[Edit]:
    """The edits for the number phrase that ends right before the unit at `at`."""
    tokens = _tokens(low, max(0, at - _FARTHEST), at)
    while tokens and (tokens[-1][0] in _KEPT):
        tokens.pop()
    if not tokens:
        return []
    until, end = tokens[-1][2], len(tokens)
    while tokens and tokens[-1][0] in _PASSED:
        tokens.pop()
    if end > len(tokens) and not (tokens and tokens[-1][0] in _WHOLE):
        return []
    number = _phrase(tokens, low[until] == "-")
    if number is None:
        return []
    first, written = number
    start = tokens[first][1]
    if tokens[first][0] in _TIMES and low[start - 2 : start - 1].isdigit():  # of figures that are not read: 1 1/2 thousand
        return []
    single = first == len(tokens) - 1 and tokens[first][0] in ("a", "an")
    if single and (_priced(low, start) or (first and tokens[first - 1][0] in _PRICED)):
        return []
    edits: list[Edit] = [(start, until, written)]
    if written.isdigit():
        tail = _and_a_part(low, at)
        if tail is not None:
            where, part = tail
            edits = [(start, until, f"{written} {part}"), (*where, "")]
    lower = _LOWER.search(low, max(0, start - 24), start)
    if lower and (lower[2] != "and" or _between(tokens, first)):
        edits.append((*lower.span(1), _scaled(lower[1], written, tokens[-1][0])))
    elif first >= 2 and tokens[first - 1][0] in ("to", "and", "or") and (tokens[first - 1][0] == "to" or _between(tokens, first)):
        other = _phrase(tokens[: first - 1])
        if other is not None and (other[0] < first - 2 or tokens[other[0]][0] not in ("a", "an", "and")):
            edits.append((tokens[other[0]][1], tokens[first - 2][2], _scaled(other[1], written, tokens[-1][0])))
    return edits


def _scaled(lower: str, upper: str, last: str) -> str:
    """The lower end of "sixty to eighty thousand", which is in thousands too; that of "five hundred to two thousand" is not."""
    scaled = _times(lower, _TIMES[last]) if last in _TIMES and upper.isdigit() else None
    return scaled if scaled and int(scaled) < int(upper) else lower


def _times(written: str, scale: int) -> str | None:
    """Figures such as 2.5 or 2 1/2 so many times, if that is a whole number."""
    if written[0] == "-":
        return None
    over, _, under = written.rpartition(" ")[2].partition("/")
    whole, _, decimals = over.partition(".")
    times, rest = divmod(int(whole + decimals) * scale, int(under or 1) * 10 ** len(decimals))
    return None if rest else str(times + (int(written.partition(" ")[0]) * scale if " " in written else 0))


def _between(tokens: list[Token], first: int) -> bool:
    """Whether `and` joins the two ends of a span, as in "between four and five quarts"."""
    return any(word == "between" for word, _, _ in tokens[max(0, first - 8) : first])


def _priced(low: str, start: int) -> bool:
    """Whether a figure or a price comes before `a quart`, as in "9.80 a liter"."""
    at = start - 1
    while at >= 0 and low[at] in " \n":
        at -= 1
    return at >= 0 and (low[at].isdigit() or low[at] in "$€£¥%")


def _tokens(low: str, start: int, at: int) -> list[Token]:
    """The words right before `at`, back to the first that cannot be part of a number phrase, and a few words before it."""
    found: list[Token] = []
    i, strange = at, 0
    while i > start:
        j = i
        while j > start and low[j - 1] in _BREAKS:
            j -= 1
        if j == i and found:
            break
        j -= low.endswith("u.s.", start, j)
        k = j
        figures = _LAST.search(low, max(start, j - 11), j)
        if figures and figures["alone"] is None:
            break
        if figures:
            k = figures.start()
        while k > start and not figures:
            if not low[k - 1].isalpha() and not (low[k - 1] in ".'’" and low[k - 2 : k - 1].isalpha() and k < j):
                break
            k -= 1
        if k == j:
            break
        word = low[k:j]
        if not figures and word not in _PHRASE and word not in _PASSED and word not in _KEPT and word not in ("to", "between", "or"):
            strange += 1
            if strange > 1:
                break
        found.append((word, k, j))
        i = k
    return found[::-1]


def _phrase(tokens: list[Token], hyphened: bool = False) -> tuple[int, str] | None:
    """The longest number phrase at the end of the words: where it begins, and its figures; a count may stand before a size: five-quart."""
    words = [word for word, _, _ in tokens]
    first = len(words)
    while first and (words[first - 1] in _PHRASE or words[first - 1][0].isdigit()):
        first -= 1
    for start in range(first, len(words)):
        written = _number(words[start:])
        if written is not None:
            before = words[start - 1] if start else ""
            if before == "one" and start > 1 and words[start] in _ONES and words[start - 2] not in _PHRASE:
                return start, written  # the second one three liters
            if hyphened and start > first and start == len(words) - 1 and before in _WHOLE:
                return start, written  # two five-quart jugs
            if start > first and (before in _WHOLE or before in ("point", "minus", "negative")):
                return None  # two numbers side by side are not one number
            if words[-1] in _TIMES and (before in _PARTS or before == "of"):
                return None  # a third of a thousand
            return start, written
    return None


def _number(words: list[str]) -> str | None:
    """The figures of a whole phrase, or None if it is not a number."""
    sign = ""
    if words and words[0] in ("minus", "negative"):
        sign, words = "-", words[1:]
    if not words or (len(words) == 1 and words[0][0].isdigit()):
        return None
    if len(words) > 3 and words[-3] == "an" and words[-1] in _PARTS:  # "six an a half", as automatic captions hear it
        words = [*words[:-3], "and", *words[-2:]]
    if words[-1] == "of" or words[0] in ("and", "of"):
        return None
    if words in (["a"], ["an"], ["another"]):
        return None if sign else "1"
    for cut in (["of", "a"], ["of", "an"], ["a"], ["an"]):  # three quarters of a quart, half a quart
        if words[-len(cut) :] == cut and not _PARTS.keys().isdisjoint(words[-len(cut) - 1 : -len(cut)]):
            words = words[: -len(cut)]
            break
    if words[-1] in _TIMES:  # two and a half thousand, 2.5 thousand
        several = words[0] if len(words) == 2 else _number(words[:-1]) or ""
        if "." in several or "/" in several:
            times = _times(several, _TIMES[words[-1]])
            return None if times is None else sign + times
    if words[-1] in _PARTS:
        part = _part(words)
        return None if part is None else sign + part
    if "point" in words:
        at = words.index("point")
        whole = 0 if at == 0 else _whole(words[:at])
        digits = [_ONES.get(word) for word in words[at + 1 :]]
        if len(digits) == 1 and digits[0] is None and words[-1] in (_TEENS | _TENS):
            digits = [*map(int, str(_WHOLE[words[-1]]))]
        if len(digits) == 2 and digits[0] is None and words[-2] in _TENS and digits[1]:
            digits = [_TENS[words[-2]] // 10, digits[1]]
        if whole is None or not digits or None in digits:
            return None
        return f"{sign}{whole}.{''.join(map(str, digits))}"
    value = _whole(words)
    return None if value is None else f"{sign}{value}"


def _part(words: list[str]) -> str | None:
    """A half, three quarters, six and a half, two and three quarters."""
    under = _PARTS[words[-1]]
    lead = words[:-1]
    if not lead or lead in (["a"], ["an"], ["one"], ["another"]):
        return f"1/{under}"
    whole = ""
    if "and" in lead:
        at = len(lead) - 1 - lead[::-1].index("and")
        number, lead = _whole(lead[:at]), lead[at + 1 :]
        if number is None:
            return None
        whole = f"{number} "
    over = 1 if lead in (["a"], ["an"], ["one"], []) else _ONES.get(lead[0]) if len(lead) == 1 else None
    return f"{whole}{over}/{under}" if over and over < under else None


def _whole(words: list[str]) -> int | None:
    """A whole number in words, in full (two hundred seventy one) or short (one forty, for a hundred and forty)."""
    if words and words[0] in ("a", "another") and len(words) > 1 and words[1] in ("hundred", "thousand"):
        words = ["one", *words[1:]]
    if words and words[0] in ("hundred", "thousand"):
        words = ["one", *words]
    if len(words) == 3 and words[1] in ("oh", "zero") and _ONES.get(words[0], 0) > 0 and _ONES.get(words[2], 0) > 0:
        return 100 * _ONES[words[0]] + _ONES[words[2]]  # one oh four, for a hundred and four
    if "thousand" in words:
        at = words.index("thousand")
        high, low = _hundreds(words[:at]), _hundreds(_without_and(words[at + 1 :])) if words[at + 1 :] else 0
        return None if high is None or low is None or not high else high * 1000 + low
    return _hundreds(words)


def _without_and(words: list[str]) -> list[str]:
    return words[1:] if words[:1] == ["and"] and len(words) > 1 else words


def _hundreds(words: list[str]) -> int | None:
    if "hundred" in words:
        at = words.index("hundred")
        high = _tens(words[:at])
        low = _tens(_without_and(words[at + 1 :])) if words[at + 1 :] else 0
        return None if high is None or low is None or not 0 < high < 100 else high * 100 + low
    short = len(words) > 1 and words[0] in _ONES and _ONES[words[0]] and (words[1] in _TENS or words[1] in _TEENS)
    if short:
        low = _tens(words[1:])
        return None if low is None else _ONES[words[0]] * 100 + low
    return _tens(words)


def _tens(words: list[str]) -> int | None:
    if len(words) == 1:
        word = words[0]
        if word.isdigit():
            return int(word)
        return _WHOLE[word] if word in _ONES or word in _TEENS or word in _TENS else None
    if len(words) == 2 and words[0] in _TENS and _ONES.get(words[1]):
        return _TENS[words[0]] + _ONES[words[1]]
    return None


def _and_a_part(low: str, at: int) -> tuple[tuple[int, int], str] | None:
    """What follows the unit in `a quart and a half`: where it is, and its figures."""
    end = at
    while low[end : end + 1].isalpha():
        end += 1
    for said, part in (("a half", "1/2"), ("a quarter", "1/4"), ("a third", "1/3"), ("three quarters", "3/4")):
        stop = end + len(said) + 5
        if low.startswith(f" and {said}", end) and not low[stop : stop + 1].isalpha():
            behind = low[stop : stop + 12].split()
            return None if behind and low[stop] == " " and (behind[0] in _KNOWN or behind[0] == "of") else ((end, stop), part)
    return None
