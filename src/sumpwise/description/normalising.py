"""A description as it is read: without markup, cue times and invisible characters; with units from table headers and figures for words.

Every stage is a `Normal` made from the one before it, so each place can be traced back to the text as it was written.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from html import unescape
from itertools import chain

from sumpwise.description.announced import announced, units_before
from sumpwise.description.tables import units_of_heads
from sumpwise.quantities.normalising import SQUARED, UNSEEN, Normal, lowered
from sumpwise.quantities.speech import broken, spoken

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

    from sumpwise.description.mention import Mention
    from sumpwise.quantities.speech import Edit

_TRIGGER = re.compile(f"[<&*_`~\\\\\r{UNSEEN}]|://|www\\.|\\]\\(")
_MARK = re.compile(
    "<!--.{0,2000}?-->|<sup(?: [^<>]{0,100})?>([0-9]{1,2}|o)</sup>|<(/?(?:t[drh]|thead|tbody|tfoot|table|caption))(?=[ >])[^<>]{0,500}>\\s*"
    "|<(/?[A-Za-z][A-Za-z0-9]*)[^<>]{0,500}>|<[0-9][0-9:.]{4,14}>|&(?:#[xX]?[0-9A-Fa-f]{1,6}|[A-Za-z]{2,8}[0-9]{0,2});"
    "|\\*{1,3}|_{1,3}|`{1,3}|~~|\\\\(?=[*_`~|#.()\\[\\]-])|\r\n?"
    f"|[{UNSEEN}]+|(?:https?://|www\\.)[^\\s<>\"')\\]]{{1,2000}}|\\]\\([^()\\s]{{0,500}}\\)",
    re.DOTALL,
)
_BLOCKS = {
    "br",
    "p",
    "li",
    "ul",
    "ol",
    "div",
    "table",
    "caption",
    "h1",
    "h2",
    "h3",
    "h4",
    "h5",
    "h6",
    "section",
    "article",
    "hr",
    "dt",
    "dd",
    "pre",
}
_TABLE = {"td": "\t", "th": "\t", "tr": "\n"}
"""What a table tag is read as; the space around such tags is ignored."""
_RAISED = "⁰¹²³⁴⁵⁶⁷⁸⁹"
_SUPERSCRIPT = dict(zip(map(ord, "0123456789o"), _RAISED + "°", strict=True))
_NOTE = re.compile(f'(?<=[A-Za-z"°%.)])(?: ?\\[[1-9]\\]|([{_RAISED}]+[⁾)]?|(?: ?[†‡§¶])+))|(?<=[0-9])[†‡]+')
"""The mark of a footnote behind a unit or a number."""
_NOTED = re.compile(f"[†‡§¶{_RAISED}]|\\[[1-9]\\]")
_POWERS = ("m", "mm", "cm", "dm", "in", "ft", "s")
"""Units whose squares and cubes are units too."""
_SQUARED = re.compile(f"[{''.join(SQUARED)}]")
_HURRIED = re.compile(r"[0-9] ?(?:° ?)?[cf](?![\w'])")
"""A temperature without its capital: 80c."""
_DEGREES = re.compile(r"(?<![\w.,])[0-9]{1,3}(?:\.[0-9])? ?(?:° ?|deg(?:ree)?s?\.? )?([CFcf])(elsius|ahrenheit)?(?![\w'])")
_CHAINED, _MOST_CHAINED = 16, 8
"""Temperatures with at most this many characters between them, and so many of them, are one statement, which may name both scales."""
_MINUS = re.compile(
    r"(?<![0-9CFcf°] )(?<!or )(?<![/+])\b(?:[Mm]inus|[Nn]egative) "
    r"(?=[0-9]{1,3}(?:\.[0-9])? ?(?:°|[CFcf]\b|degrees?\b|[Cc]elsius\b|[Ff]ahrenheit\b))"
)
_FEET = re.compile(
    r"(?<![\w.,/'°′])(?<!° )[0-9]{1,2}( ?['′](?: ?-? ?(?=[0-9]))?)"
    r"(?:(?:[0-9]|1[01])(?:\.[0-9]| ?[½¼¾]|[ -][1-7]/[248])?( ?(?:[\"″]|'')))?(?![\w'\"])"
)
"""Feet, and inches behind them: 5' 2\"."""
_LONG = re.compile(r" ?(?:[(=/] ?~?[0-9.]+ ?(?:m|cm)\b|(?:of|long|x|×|by) )")
"""What follows a single quotation mark that stands for feet."""
_ISH = re.compile(r"ish\b")
_ROUGH = re.compile(r"[0-9½¼¾](?: ?[A-Za-z°·]{1,9})??([ -]?)$")
_CUE = re.compile(r"(?:^|\n)\s{0,40}(?:\d+[ \t]*\n[ \t]*)?((?:\d{1,2}:)?\d\d:\d\d)[.,]\d{3}[ \t]*-->[^\n]*(?:\n|$)", re.MULTILINE)
_STAMP = re.compile(r"^[ \t]*\[?((?:[0-9]{1,2}:)?[0-9]{1,2}:[0-9]{2})\]?[ \t]*(?:\n|(?=\S))", re.MULTILINE)
_FEWEST = 3
"""A text with at least this many times in front of lines is a transcript."""
_HEAD = re.compile(r"\s*WEBVTT[^\n]*\n(?:[^\n]+\n)*")


class Text:
    """A description as it was written and as it is read.

    Attributes
    ----------
    normal : Normal
        The text as it is read.
    spoken : bool
        Whether it is the captions of a video.
    words : bool
        Whether numbers in it were words.
    above : dict
        In tables with a unit at the left of each row: for each number, by its place as it was written, that of the number in another
        unit above it.
    """

    __slots__ = ("_cues", "_times", "above", "normal", "spoken", "words", "written")

    def __init__(self, written: str) -> None:
        self.written = written
        normal = Normal(written)
        if _TRIGGER.search(written):
            normal = normal.edited(_marks(normal.text))
        normal = normal.folded()
        if not normal.text.isascii():
            normal = normal.edited((*match.span(), SQUARED[match[0]]) for match in _SQUARED.finditer(normal.text))
        if ("[" in normal.text or not normal.text.isascii()) and _NOTED.search(normal.text):
            normal = normal.edited(_notes(normal.text))
        self.above: dict[int, int] = {}
        self._cues: list[int] = []
        self._times: list[str] = []
        cued = "-->" in normal.text and _CUE.search(normal.text) is not None
        self.spoken = cued or _is_stamped(normal.text)
        if self.spoken:
            edits = []
            for start, end, time in _cues(normal.text) if cued else _stamps(normal.text):
                edits.append((start, end, " "))
                self._cues.append(normal.written(end - 1, end)[1])
                self._times.append(time)
            normal = normal.edited(edits)
        elif "\n" in normal.text:
            normal = normal.edited(broken(normal.text))
        if "|" in normal.text or "\t" in normal.text or "   " in normal.text:
            above: dict[int, int] = {}
            tabled = normal.edited(units_of_heads(normal.text, above))
            self.above = {normal.written(at, at + 1)[0]: normal.written(on, on + 1)[0] for at, on in above.items()}
            normal = tabled
        normal = normal.edited(announced(normal.text))
        normal = normal.edited(units_before(normal.text))
        if "'" in normal.text or "′" in normal.text:
            normal = normal.edited(_feet(normal.text))
        if "ish" in normal.text:
            normal = normal.edited(_roughly(normal.text))
        normal = normal.edited(_capitals(normal.text))
        if "inus " in normal.text or "egative " in normal.text:
            normal = normal.edited(_minuses(normal.text))
        self.normal = normal.edited(spoken(lowered(normal.text)))
        self.words = self.normal is not normal

    @property
    def read(self) -> str:
        """The text as it is read."""
        return self.normal.text

    def is_headed(self, mention: Mention) -> bool:
        """Whether a number in a table has its unit from the header of its column."""
        start, end = self.normal.written(mention.start, mention.end)
        return not any((c.isalpha() and c not in "kK") or c in "°%" for c in self.written[start:end])

    def was_words(self, start: int) -> bool:
        """Whether the figures at a place in the text as it is read were written as words."""
        return self.words and self.normal.is_new(start)

    def time(self, start: int) -> str:
        """The time of the cue that contains a place in the written text; empty without cues."""
        i = bisect_right(self._cues, start) - 1
        return self._times[max(i, 0)] if self._cues else ""


def _capitals(text: str) -> Iterator[Edit]:
    """The missing capitals of temperatures written in a hurry, beside one in the other scale: 80c (176f), 80 degrees C or 176f."""
    if _HURRIED.search(text) is None:
        return
    statement: list[re.Match[str]] = []
    for match in chain(_DEGREES.finditer(text), (None,)):
        if statement and (match is None or match.start() - statement[-1].end() > _CHAINED or len(statement) == _MOST_CHAINED):
            if len({one[1].lower() for one in statement}) > 1:
                yield from [(*one.span(1), one[1].upper()) for one in statement if one[2] is None and one[1].islower()]
            statement.clear()
        if match is not None:
            statement.append(match)


def _minuses(text: str) -> Iterator[Edit]:
    """The sign of a temperature, in words before its figures: minus 40 °C."""
    for match in _MINUS.finditer(text):
        yield *match.span(), "-"


def _feet(text: str) -> Iterator[Edit]:
    """The units of a length in feet and inches: 5' 2" is 5 ft 2 in, and 6' (1.8 m) is 6 ft."""
    for match in _FEET.finditer(text):
        if match[2] is not None or _LONG.match(text, match.end()):
            yield *match.span(1), " ft "
            if match[2] is not None:
                yield *match.span(2), " in"


def _roughly(text: str) -> Iterator[Edit]:
    """The ending that only says that a number is not exact: 20ish Nm, 6 qt-ish."""
    for match in _ISH.finditer(text):
        number = _ROUGH.search(text, match.start() - 12 if match.start() > 12 else 0, match.start())
        if number is not None:
            yield number.start(1), match.end(), ""


def _marks(text: str) -> Iterator[Edit]:
    for match in _MARK.finditer(text):
        mark, start, end = match.group(), match.start(), match.end()
        new = _instead(text, mark, match[2] or match[3], start, end) if match[1] is None else match[1].translate(_SUPERSCRIPT)
        if mark == "\r\n":
            yield start, end - 1, ""  # half the room of a replacement, and every line has one
        elif new != mark:
            yield start, end, new


def _instead(text: str, mark: str, tag: str | None, start: int, end: int) -> str:
    """What a piece of markup is read as."""
    if tag is not None:
        name = tag.lower()
        return "\n" if name.strip("/") in _BLOCKS else _TABLE.get(name, "")
    if mark[0] == "&":
        said = unescape(mark)
        return mark if len(said) > 2 or said == mark else " " if said == "\u00a0" else said
    if mark[0] == "\r":
        return "\n"
    if mark[0] in "*_":
        before, after = text[start - 1 : start], text[end : end + 1]
        joins = before.isalnum() and after.isalnum()
        alone = before in ("", " ", "\n") and after in ("", " ", "\n")
        return mark if alone or (joins and len(mark) == 1) else ""
    return ""


def _notes(text: str) -> Iterator[Edit]:
    """The marks of footnotes, which are no part of what they stand at: 34 N·m¹ (25 lb-ft²), 25 lb-ft [2]."""
    for match in _NOTE.finditer(text):
        at, end = match.span()
        raised = match[1]
        if raised and raised[0] in "²³":
            start = at
            while start and text[start - 1].isalpha() and at - start < 3:
                start -= 1
            product = text[max(0, start - 2) : start].endswith(("-", "N·", "b·", "f·"))
            if text[start:at] in _POWERS and not product:
                continue
        if raised and raised[-1] == ")" and "(" in text[max(0, at - 24) : at].rpartition(")")[2]:
            end -= 1  # closes a bracket
        yield at, end, ""


def _is_stamped(text: str) -> bool:
    """Whether it is a transcript with a time before every line; the chapter list of a description is not."""
    if _STAMP.match(text.lstrip()) is None:
        return False
    stamps = sum(1 for _ in _STAMP.finditer(text))
    lines = sum(1 for line in text.split("\n") if line.strip())
    alone = sum(1 for match in _STAMP.finditer(text) if "\n" in match[0])
    return stamps >= _FEWEST and stamps + alone == lines


def _stamps(text: str) -> Iterator[tuple[int, int, str]]:
    for match in _STAMP.finditer(text):
        if match.end() > match.start():
            yield match.start(), match.end(), ":".join(part.zfill(2) for part in f"00:{match[1]}".split(":")[-3:])


def _cues(text: str) -> Iterator[tuple[int, int, str]]:
    head = _HEAD.match(text)
    begin = head.end() if head else 0
    for match in _CUE.finditer(text):
        start = 0 if match.start() <= begin else match.start()
        time = match[1] if match[1].count(":") == 2 else f"00:{match[1]}"
        yield start, match.end(), time
