"""Units that stand before their numbers: of a whole list, all torques in N·m (lb-ft), then drain plug 34 (25), pan 10 (7.4); or of the next
number, 5.1 litres, which in quarts is 5.4.
"""

from __future__ import annotations

import re

from sumpwise.description.tables import ABOUT, VALUE, alike, read, unit_in

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

    from sumpwise.description.tables import Number
    from sumpwise.quantities.speech import Edit
    from sumpwise.quantities.units import Unit

_UNIT = r"([A-Za-z°][^\s()\[\]/,:;0-9]{0,11}(?: (?!in |with |and |or )[A-Za-z]{2,10}){0,2})"
_SAID = re.compile(
    rf"(?:\bin |[(\[]){_UNIT}(?: ?[(\[/] ?|,? (?:with|and|or) |, ){_UNIT}(?: in (?:brackets|parentheses))?(?=[\s)\].:,;]|$)"
    rf"|^[^\n0-9]{{0,60}}?(?<![\w°]){_UNIT} ?(?:[(\[/] ?){_UNIT}(?:[)\]]?:?[ \t]*$|(?=[)\]][.:] ))",
    re.MULTILINE | re.IGNORECASE,
)
_BEHIND = r"(?![\w%°/.,]?\w)"
_IN_BRACKETS = re.compile(rf"(?<![\w.,/:$€£°%-]){ABOUT}({VALUE})\s?[(\[]{ABOUT}({VALUE})[)\]]")
_BY_STROKE = re.compile(rf"(?<![\w.,/:$€£°%-]){ABOUT}({VALUE}) ?/ ?({VALUE}){_BEHIND}")
_ANY_PAIR = re.compile(r"[0-9½¼¾] ?[(\[/] ?~?[0-9½¼¾][0-9., –-]{0,12}(?:[)\]]|[\s,;.]|$)")
_BEFORE = re.compile(
    r"n (?<![A-Za-z0-9].. )(?<=[Ii]n )(?:US |us |imperial )?"  # in; a search for two plain letters is twice as fast
    r"([QqLlMmCcFfKkNnGgPpIiBbOo°][A-Za-z·-]{0,11}(?: (?:ft|lbs?|feet|pounds?|met(?:er|re)s?))?)"
    r"(?:[,:=] ?|,? (?:(?:that|it|this|which)(?:'?s|'d be|'ll be| is| was| would be| makes| comes to)|is|are|would be|comes to|be)[ ,:]*| )"
    rf"{ABOUT}({VALUE})(?=[.;!?)\]](?![0-9])|,(?! ?[0-9])|\s*$| (?:or|if|for)\b)",
    re.MULTILINE,
)
_FARTHEST = 2000
"""The longest list, in characters."""


def _trailing_unit(words: str) -> Unit | None:
    """The unit at the end of some words."""
    said = words.split()
    return next((unit for at in range(len(said)) if (unit := unit_in(" ".join(said[at:]))) is not None), None)


def _leading_unit(words: str) -> Unit | None:
    """The unit at the beginning of some words, by the longest of its spellings."""
    said = words.split()
    return next((unit for count in range(len(said), 0, -1) if (unit := unit_in(" ".join(said[:count]))) is not None), None)


def units_before(text: str) -> Iterator[Edit]:
    """The unit that is said right before a number, to be written behind it."""
    for match in _BEFORE.finditer(text):
        unit = unit_in(match[1])
        if unit is not None:
            yield match.end(2), match.end(2), f" {unit.symbol}"


def announced(text: str) -> Iterator[Edit]:
    """The two units that are said before a list, to be written behind its bare pairs of numbers, if those fit them."""
    if not any(mark in text for mark in "([/") or _ANY_PAIR.search(text) is None:
        return
    last = 0
    for match in _SAID.finditer(text):
        if match.end() < last:
            continue
        first, second = [spelled for spelled in match.groups() if spelled]
        enclosed = text[match.end() : match.end() + 1] in (")", "]")
        one, two = _trailing_unit(first), unit_in(second) if enclosed else _leading_unit(second)
        if one is None or two is None or one.kind != two.kind or one is two:
            continue
        begin = _past_marks(text, match.end())
        end = text.find("\n\n", begin, begin + _FARTHEST)
        end = min(len(text), begin + _FARTHEST) if end < 0 else end
        stroke = "/" in text[match.start() : match.end()].replace(first, "", 1).replace(second, "", 1)
        pairs: list[tuple[re.Match[str], Number, Number]] = []
        for pair in (_BY_STROKE if stroke else _IN_BRACKETS).finditer(text, begin, end):
            value, other = read(pair[1], one), read(pair[2], two)
            if value is not None and other is not None:
                pairs.append((pair, value, other))
        if pairs and alike([value for _, value, _ in pairs], [other for _, _, other in pairs]):
            last = end
            for pair, _, _ in pairs:
                yield pair.end(1), pair.end(1), f" {one.symbol}"
                yield pair.end(2), pair.end(2), f" {two.symbol}"


def _past_marks(text: str, at: int) -> int:
    """Where the list begins that two units are said for, on the same line or below an empty one."""
    while at < len(text) and text[at] in "\n ):.]":
        at += 1
    return at
