"""Finds the quantities in a running text, in time linear in its length: nothing is read twice, and no pattern backtracks far."""

from __future__ import annotations

import re
from functools import lru_cache

from sumpwise.description.mention import Mention, Refused
from sumpwise.quantities import notation
from sumpwise.quantities.normalising import lowered
from sumpwise.quantities.notation import Reading, SpanReading
from sumpwise.quantities.numerals import MINUS
from sumpwise.quantities.spelling import LOOSE, unit_spelled
from sumpwise.quantities.units import SPELLINGS, SYMBOLS

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from sumpwise.quantities.units import Unit

AHEAD = 40
"""A unit must begin at most this many characters after its number."""
WINDOW = 48
"""How many characters are tried first; a longer quantity is read again from the whole text."""
REMEMBERED = 4096
"""How many readings of plain quantities are cached, since a text repeats its numbers."""

BATCH = 1024
"""How many quantities make a batch; at four times as many the batch ends, wherever that is."""
APART = 60
"""Two quantities with this many characters between them cannot belong together."""

SPACES = " \t\u00a0\u2007\u2009\u202f"
_VULGAR = "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"
_TOKEN = re.compile(f"[0-9{_VULGAR}.,:/]+")
_UNIT_AHEAD = re.compile('[A-Za-zΔµμ°%"″]')
_LETTERS = re.compile(f"[{SPACES}]?-?([A-Za-zΔµμ]+)")
_LOWER_NM = re.compile(r"[0-9]{1,4}(?:[.,][0-9]{1,3})?(?: ?(?:[-–~]|to) ?[0-9]{1,4}(?:[.,][0-9]{1,3})?)? ?nm\b")
_BARE_END = re.compile(r" ?[-–~] ?([0-9]{1,5}(?:\.[0-9]{1,3})?)(?=\s?[(/=;)\]]|[.,]?\s*(?:\n|$)|[.,] +[A-Za-z(])")
_DASH = re.compile(r"[-–~](?=[0-9])")
_INCHES = re.compile(r'" ?(?:[(/=] ?~?[0-9.]+ ?[mc]m\b|(?:x|×|by) ?[0-9½¼¾])')
"""What follows a double quotation mark that stands for inches."""
_PAIRED = re.compile(r"\s?\(\s?[0-9½¼¾][0-9./½¼¾ -]*(?:and|or|&|,)\s?[0-9½¼¾]")
_QUOTE = re.compile(r'(?:^|(?<=[\s(]))(")(?=\w)|(?<=[^\s0-9½¼¾])"')
_LONGEST_QUOTE = 80
_JOINTS = ("=", "≈", "(", "(=", "/", "×", "x", "by")
_MEASURE = re.compile(
    r" ?\((?:(?P<us>US|U\.S\.|American)|imp\.?|imperial|UK|British)(?: (?:measure|liquid))?\)"
    r"|, (?:(?:in|the|real|proper|good|old) ){0,2}(?:(?P<american>US|U\.S\.|American)|imp\.?|imperial|UK|British) "
    r"(?:measure|ones|quarts|gallons|pints|money)\b",
    re.IGNORECASE,
)
"""The measure behind a quart, gallon or pint, in brackets or after a comma."""
_MONEY = "$€£¥#№@"
_UNIT_WORDS = {match[1].lower() for spelling in (*SPELLINGS, *LOOSE) if (match := _LETTERS.match(spelling))} | {
    "e", "to", "and", "or", "u", "nm", "k", "down", "up", "through", "thru",
}  # fmt: skip
"""First words that may follow a relevant number: those of unit spellings, the exponent, and the words that join a span."""


def any_of(spellings: Iterable[str]) -> str:
    """A pattern for any of the spellings, with common beginnings merged so that each letter is looked at once."""
    heads: dict[str, list[str]] = {}
    for spelling in spellings:
        heads.setdefault(spelling[:1], []).append(spelling[1:])
    ends = "" in heads
    heads.pop("", None)
    branches = [
        ("[ ·-]" if head == "·" else re.escape(head)) + (any_of(tails) if tails != [""] else "") for head, tails in sorted(heads.items())
    ]
    pattern = branches[0] if len(branches) == 1 else f"(?:{'|'.join(branches)})"
    return f"(?:{pattern})?" if ends and branches else pattern


_COMMON = {s for s, unit in LOOSE.items() if unit is not None and re.fullmatch(r"[a-z°%]+(?:·(?!in)[a-z]+)*", s)} | {"l", "%"}
_EVERY = re.compile(
    rf"(?<![\w.,:/$€£¥#№@±+–−-])([0-9]{{1,9}}(?:\.[0-9]{{1,6}})?) ?({any_of(_COMMON)})"
    r"(?![\w°²³^/*·'\"-])(?!\(s\)|\.\w|\.[ -]?(?:ft|in|lb|foot|pound|c\b|f\b|[0-9])"
    r"| ?[–~±+]| -| [·/] (?:min|m|lbs?|ft|in|h|s)\b| (?:to|up|down|through|thru|per|a min|in|interval|lb|pound|met|oz|ounce|c|f|"
    r"celsius|fahr)|[ ]?[0-9½¼¾])(?=( ?[(/]| or )?)"
    rf"|[0-9{_VULGAR}][0-9{_VULGAR}.,:/]*"
)
"""A plain number with a unit, and what follows if that could be a second unit; or else any token that begins with a digit."""
_UNKNOWN = Reading("", SYMBOLS["1"], 0, 1, 0)
_WORDS_TOO = {"in", "a", "as", "at", "min", "d", "h"}
"""Spellings that may be ordinary words of the text instead."""


def mentions(text: str, refused: list[Refused] | None = None) -> Iterator[Mention]:
    """Every quantity with a unit, in order; a number inside a word, a date, a price or a version does not count.

    Parameters
    ----------
    text : str
        The text as it is read.
    refused : list, optional
        Collects the numbers with a unit that could not be read.
    """
    position = 0
    last: Mention | None = None
    known: dict[str, Reading | None] = {}
    for match in _EVERY.finditer(lowered(text)):
        start, end = match.span()
        if start < position:
            continue
        if match[2] is not None:
            written = text[start:end]
            reading = known.get(written, _UNKNOWN)
            if reading is _UNKNOWN:
                if len(known) >= REMEMBERED:
                    known.clear()
                reading = known[written] = _plain_reading(written, match[1], text[match.start(2) : end])
            if reading is not None:
                position = end
                last = Mention(start, position, reading)
                yield last
                if match[3]:
                    shared = _shared(text, last)
                    if shared is not None:
                        last = shared
                        yield last
                        position = last.end
                continue
        made, position = _elsewise(text, start, text[start - 1] if start else " ", last, refused)
        for last in made:
            yield last
            position = max(position, last.end)


def batches(text: str, refused: list[Refused] | None = None) -> Iterator[list[Mention]]:
    """The quantities of a text in batches that are small beside it; the last one may be empty. No two that could belong together are
    parted.
    """
    batch: list[Mention] = []
    for mention in mentions(text, refused):
        if len(batch) >= BATCH and (mention.start - batch[-1].end > APART or len(batch) >= 4 * BATCH):
            yield batch
            batch = []
        if mention.unit.system == "US" and mention.kind == "volume" and text.startswith((" (", "(", ", "), mention.end):
            _name_measure(text, mention)
        batch.append(mention)
    if batch:
        yield batch
    yield []


def _name_measure(text: str, mention: Mention) -> None:
    """Read the measure in brackets behind a quart, gallon or pint: 6 qt (imperial)."""
    match = _MEASURE.match(text, mention.end)
    if match is None:
        return
    mention.end = match.end()
    if not (match["us"] or match["american"]):
        mention.measured_in(SYMBOLS.get(mention.unit.symbol.replace("US", "imp"), mention.unit))


def _plain_reading(written: str, number: str, spelled: str) -> Reading | None:
    """A plain decimal number with its unit; None if it takes the whole grammar to tell."""
    unit, (whole, _, part) = _plain_unit(spelled), number.partition(".")
    places = len(part)
    if unit is None or (whole[0] == "0" and len(whole) > 1) or (places == 3 and len(whole) <= 3):
        return None
    return Reading(written, unit, int(whole + part), 10**places, places)


@lru_cache(REMEMBERED)
def _plain_unit(spelled: str) -> Unit | None:
    """The unit of a spelling that can be nothing else."""
    return None if spelled.lower() in _WORDS_TOO or spelled == "nm" else unit_spelled(spelled)


def _elsewise(text: str, start: int, before: str, last: Mention | None, refused: list[Refused] | None) -> tuple[list[Mention], int]:
    """The quantity that begins with the digits at `start`, read with the whole grammar, and where to go on."""
    if before in _MONEY or _is_letter(before) or before == "_" or (before in ".,:/-–−" and _joined(text, start - 1, last)):
        return [], _token_end(text, start)
    token = _token_end(text, start)
    if not _may_have_unit(text, start, token):
        return [], token
    if before == "±":
        return [Mention(start - 1, one.end, one.reading, tolerance=True) for one in _at(text, start)], token
    signed = start
    if before in "-−–+." or (before == "(" and "±" in text[start : start + 40]):
        signed = start - 1
        if before == "." and signed and text[signed - 1] in "-−":
            signed -= 1
    made = _at(text, signed)
    if made and text[signed] in MINUS and made[0].kind != "temperature" and _begins_line(text, signed):
        signed += 1  # the dash of a list item, not a minus
        made = _at(text, signed)
    made = made or _in_two_units(text, signed, token) or (_at(text, start) or _in_two_units(text, start, token) if signed < start else [])
    if not made:
        made = _respaced(text, signed if text[signed] == "." else start, token, last)
        if not made:
            made = _doubtful(text, start, token, refused)
        return made, token
    return made, start + 1


def _is_letter(c: str) -> bool:
    """Whether a number after this character is part of a word; scripts without capitals put no space before a number."""
    return c.isalpha() and c.lower() != c.upper()


def _begins_line(text: str, at: int) -> bool:
    while at and text[at - 1] in SPACES:
        at -= 1
    return not at or text[at - 1] == "\n"


def _at(text: str, start: int) -> list[Mention]:
    """The quantity that starts there, and what shares its number."""
    found = _scan(text, start)
    if found is None:
        return []
    reading = found[0]
    if isinstance(reading, SpanReading) and _side_by_side(reading):
        low, high = reading.lower, reading.upper
        return [Mention(start, start + len(low.text), low), Mention(found[1] - len(high.text), found[1], high)]
    if isinstance(reading, Reading):
        found = _up_to_bare(text, start, reading, found[1]) or found
    first = Mention(start, found[1], found[0])
    beside = _dashed(text, first)
    if beside is not None:
        return [first, beside]
    shared = _shared(text, first)
    return [first] if shared is None else [first, shared]


def _dashed(text: str, first: Mention) -> Mention | None:
    """The same quantity in the other system after a dash, if the two cannot be a span: 34 Nm-25 ft-lb."""
    match = _DASH.match(text, first.end) if not first.span else None
    found = None if match is None else _scan(text, match.end())
    if match is None or found is None or not isinstance(found[0], Reading) or found[0].unit.kind != first.kind:
        return None
    return Mention(match.end(), found[1], found[0]) if found[0].unit.system != first.unit.system else None


def _side_by_side(span: SpanReading) -> bool:
    """Whether a dash joins the same quantity in two systems, not the ends of a span: 34 N·m - 25 lbf·ft."""
    systems = span.lower.unit.system, span.upper.unit.system
    return systems[0] != systems[1] and " to " not in span.text.lower() and "through" not in span.text.lower()


def _up_to_bare(text: str, start: int, lower: Reading, end: int) -> tuple[SpanReading, int] | None:
    """A span with its unit only at the lower end: 82 °C–92."""
    match = _BARE_END.match(text, end)
    found = None if match is None else notation.scan(f"{match[1]} {lower.unit.symbol}", 0)
    if match is None or found is None or not isinstance(found[0], Reading) or not 0 < found[0].value - lower.value < 2 * abs(lower.value):
        return None
    return SpanReading(text[start : match.end()], lower, found[0]), match.end()


def _may_have_unit(text: str, start: int, token: int) -> bool:
    """Whether a unit may follow the digits, by the word after them."""
    word = _LETTERS.match(text, token)
    if word is not None:
        return token - start <= AHEAD and word[1].lower() in _UNIT_WORDS
    if text[token : token + 1] in "\n)];!?":
        return False
    return token - start <= AHEAD and _UNIT_AHEAD.search(text, token, token + AHEAD) is not None


def _scan(text: str, start: int) -> tuple[Reading | SpanReading, int] | None:
    lower = _LOWER_NM.match(text, start)
    if lower is not None:  # everyone's newton metre; nothing else in a workshop is measured in nanometres
        return _from(notation.scan(lower[0], 0, "torque"), start)
    found = notation.scan(text[start : start + WINDOW], 0)
    if found is not None and found[1] > WINDOW - 16:
        return notation.scan(text, start)
    return _from(found, start)


def _from(found: tuple[Reading | SpanReading, int] | None, start: int) -> tuple[Reading | SpanReading, int] | None:
    return None if found is None else (found[0], start + found[1])


def _joined(text: str, at: int, last: Mention | None) -> bool:
    """Whether the mark at `at` ties the number after it to the text before it: a date, a time, a version, a range."""
    if at < 1 or (text[at] == "/" and last is not None and last.end >= at - 1):
        return False
    if (text[at] == "." and text[at - 1] in MINUS) or (text[at] in MINUS and text[at - 1] == "/"):
        return _joined(text, at - 1, last)  # -.5 °C, -40 °C/-40 °F
    return text[at - 1].isdigit() if text[at] in ",:" else text[at - 1].isalnum() or text[at - 1] in ".:/-–−"


def _token_end(text: str, start: int) -> int:
    match = _TOKEN.match(text, start)
    return match.end() if match else start + 1


def _doubtful(text: str, start: int, token: int, refused: list[Refused] | None) -> list[Mention]:
    """A number with two possible readings, with both of them; any other refusal is noted."""
    error = notation.refusal(text[start : start + WINDOW])
    if error is None:
        return []
    readings = notation.two_readings(error)
    word = _LETTERS.match(text, token)
    end = word.end() if word is not None else token
    if readings is None:
        if refused is not None:
            refused.append(Refused(start, end, error.problem))
        return []
    small, large = readings
    return [Mention(start, end, small, other=large)]


def _respaced(text: str, start: int, token: int, last: Mention | None) -> list[Mention]:
    """A quantity written as in prose: between 82 and 92 °C, 37 % per drain, 5 in beside another length."""
    tail, written = text[token : token + 60], ""
    if tail.startswith(" and ") and (text[max(0, start - 8) : start].lower() == "between " or (last is not None and last.span)):
        written = "  to " + tail[5:]
    elif tail.lstrip(SPACES).startswith("% per "):
        written = tail[: tail.index("%") + 1]
    elif tail.startswith('"') and not _is_quoted(text, start) and (_beside_length(text, start, last) or _INCHES.match(tail)):
        written = " in"
        tail = " in" + tail[1:]
    elif tail.startswith(" in ") and _beside_length(text, start, last):
        written = " in"
    if not written:
        paired = _one_of_two(text, start, token, last)
        return [] if paired is None else [paired]
    found = notation.scan(text[start:token] + written, 0)
    longest = len(text) if written != " in" or text[token : token + 1] != '"' else token + 1
    return [Mention(start, min(start + found[1], longest), found[0])] if found is not None else []


def _is_quoted(text: str, start: int) -> bool:
    """Whether the mark behind a number ends a quotation that begins before it on its line."""
    opened = False
    for match in _QUOTE.finditer(text, max(0, text.rfind("\n", 0, start) + 1, start - _LONGEST_QUOTE), start):
        opened = match[1] is not None
    return opened


def _beside_length(text: str, start: int, last: Mention | None) -> bool:
    return last is not None and last.kind == "length" and text[last.end : start].strip(SPACES) in _JOINTS


def _one_of_two(text: str, start: int, token: int, last: Mention | None) -> Mention | None:
    """The first of two numbers that share the unit after them, in a double pair: 3.5 and 3.7 L (3.7 and 3.9 qt)."""
    joint = next((joint for joint in (" and ", " or ", " & ", ", ") if text.startswith(joint, token)), None)
    second = _scan(text, token + len(joint)) if joint is not None else None
    if second is None or not isinstance(second[0], Reading):
        return None
    opened = last is not None and last.kind == second[0].unit.kind and text[last.end : start].strip(SPACES) == "("
    if not (text.startswith(")", second[1]) if opened else _PAIRED.match(text, second[1])):
        return None
    found = notation.scan(f"{text[start:token]} {second[0].unit.symbol}", 0)
    return Mention(start, token, found[0]) if found is not None and isinstance(found[0], Reading) else None


def _in_two_units(text: str, start: int, token: int) -> list[Mention]:
    """A number with two units and no spaces around the slash between them: 5 L/qt."""
    stroke = text.find("/", token, token + 24)
    one = notation.scan(text[start:stroke], 0) if stroke >= 0 else None
    if one is None or start + one[1] != stroke:
        return []
    first = Mention(start, stroke, one[0])
    shared = _shared(text, first)
    return [] if shared is None else [first, shared]


def _shared(text: str, source: Mention) -> Mention | None:
    """A second unit after one number: 34 N·m/lbf·ft, 34 N·m (lbf·ft), litres or quarts."""
    i = source.end
    if source.span or text[i : i + 1] not in ("/", "(", " "):
        return None
    mark = next((mark for mark in ("/", " / ", " (", "(", " or ") if text.startswith(mark, i)), None)
    if mark is None:
        return None
    i += len(mark)
    if (not text[i : i + 1].isalpha() and text[i : i + 1] != "°") or (mark == " or " and text.startswith(("in ", "a ", "at ", "as "), i)):
        return None
    found = notation.scan("1 " + text[i : i + 40], 0)
    if found is None or not isinstance(found[0], Reading) or not isinstance(source.reading, Reading):
        return None
    unit, end = found[0].unit, i + found[1] - 2
    if unit.kind != source.kind or unit is source.unit or ("(" in mark and not text.startswith(")", end)):
        return None
    one = source.reading
    return Mention(i, end, Reading(text[i:end], unit, one.num, one.den, one.places), shared=True)
