"""Reads the labelled lines and proves each label by exact fractions, without the library.

A line of `open_a.tsv` is: class, what is expected, quantities heard, text (`\\n`, `\\t` and `\\\\` escaped); `-` where there is none.
What is expected, separated by `; `, is one of

    29 Nm → 39 ft-lbs: wrong          the second is given for the first, and the verdict expected on it
    difference 10 °C → 50 °F: wrong   both are temperature differences
    34 Nm ≠ 43 Nm: wrong              one named item with two values
    2 × 40 % → 80 %: wrong            a share renewed twice
    25 lbs: ambiguous                 one quantity that can be read two ways

with `{6.5 qt}` after a snippet that is in words or stands in a table. Verdicts: `agrees`, `wrong` (a reader would act on a wrong number),
`style` (not as one would write it, yet harmless), `ambiguous`, and `either` for what editors may judge differently, which is not scored.
"""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

HERE = Path(__file__).parent
VERDICTS = ("agrees", "wrong", "style", "ambiguous", "either")

LITRE = Fraction(1)
INCH = Fraction(254, 10000)
POUND = Fraction(45359237, 100000000)
GRAVITY = Fraction(980665, 100000)
US_GALLON = 231 * INCH**3 * 1000
IMPERIAL_GALLON = Fraction(454609, 100000)
POUND_FORCE = POUND * GRAVITY
PSI = POUND_FORCE / INCH**2 / 1000

# Kind and size of each unit: litres, newton metres, kilopascals, metres, kilograms, litres a minute; a temperature's is its degree.
UNITS = {
    "L": ("volume", LITRE),
    "mL": ("volume", LITRE / 1000),
    "US gal": ("volume", US_GALLON),
    "US qt": ("volume", US_GALLON / 4),
    "US pt": ("volume", US_GALLON / 8),
    "US fl oz": ("volume", US_GALLON / 128),
    "imp gal": ("volume", IMPERIAL_GALLON),
    "imp qt": ("volume", IMPERIAL_GALLON / 4),
    "imp pt": ("volume", IMPERIAL_GALLON / 8),
    "imp fl oz": ("volume", IMPERIAL_GALLON / 160),
    "N·m": ("torque", Fraction(1)),
    "lbf·ft": ("torque", POUND_FORCE * 12 * INCH),
    "lbf·in": ("torque", POUND_FORCE * INCH),
    "kgf·m": ("torque", GRAVITY),
    "kgf·cm": ("torque", GRAVITY / 100),
    "kPa": ("pressure", Fraction(1)),
    "bar": ("pressure", Fraction(100)),
    "psi": ("pressure", PSI),
    "m": ("length", Fraction(1)),
    "km": ("length", Fraction(1000)),
    "cm": ("length", Fraction(1, 100)),
    "mm": ("length", Fraction(1, 1000)),
    "in": ("length", INCH),
    "ft": ("length", 12 * INCH),
    "mi": ("length", 63360 * INCH),
    "kg": ("mass", Fraction(1)),
    "g": ("mass", Fraction(1, 1000)),
    "lb": ("mass", POUND),
    "L/min": ("flow", LITRE),
    "US qt/min": ("flow", US_GALLON / 4),
    "US gal/min": ("flow", US_GALLON),
    "°C": ("temperature", Fraction(1)),
    "°F": ("temperature", Fraction(5, 9)),
}

WRITTEN = {
    "L": "l litre litres liter liters ltr",
    "mL": "ml milliliters millilitres",
    "US gal": "gal gallon gallons usgal usgallons",
    "US qt": "qt qts quart quarts usqt usquart usquarts",
    "US pt": "pt pint pints uspt",
    "US fl oz": "floz usfloz oz fluidounces",
    "imp gal": "impgal",
    "imp qt": "impqt",
    "imp pt": "imppt",
    "imp fl oz": "impfloz",
    "N·m": "nm newtonmeters newtonmetres",
    "lbf·ft": "lbfft ftlb ftlbs ft/lb ft/lbs lbft lbsft footpounds",
    "lbf·in": "lbfin inlb inlbs inchpounds",
    "kgf·m": "kgfm",
    "kgf·cm": "kgfcm",
    "kPa": "kpa",
    "bar": "bar",
    "psi": "psi",
    "m": "m",
    "km": "km kilometers",
    "cm": "cm centimeters",
    "mm": "mm millimeter millimeters",
    "in": "in inch inches",
    "ft": "ft feet",
    "mi": "mi mile miles",
    "kg": "kg",
    "g": "g",
    "lb": "lb lbs",
    "L/min": "l/min",
    "US qt/min": "qt/min",
    "US gal/min": "usgal/min",
    "°C": "c celsius degreescelsius",
    "°F": "f fahrenheit degreesfahrenheit",
}
UNIT_OF = {spelling: unit for unit, spellings in WRITTEN.items() for spelling in spellings.split()}
VULGAR = {"½": Fraction(1, 2), "¼": Fraction(1, 4), "¾": Fraction(3, 4)}
NUMBER = re.compile(
    r"(?P<sign>[-−–±]?)(?:(?P<whole>\d+)(?:\s*(?:and|&)\s*|\s+)(?P<over>\d+/\d+)|(?P<frac>\d+/\d+)"
    r"|(?P<mixed>\d*)(?P<vulgar>[½¼¾])|(?P<plain>\d{1,3}(?:[ ,]\d{3})+(?!\d)|\d+(?:\.\d+)?))"
)
TABLE_GAP = r"(?:&#?\w+;|[^\w\d]|_)*"


class Amount(NamedTuple):
    """Numbers (one, or the two of a span) with half a unit of the last digit of each, and their unit."""

    values: tuple[Fraction, ...]
    halves: tuple[Fraction, ...]
    unit: str
    tolerance: bool


class Due(NamedTuple):
    """What is expected for a line: the relation, the snippets, the verdict."""

    relation: str
    original: str
    stated: str
    verdict: str


class Line(NamedTuple):
    """A labelled line."""

    kind: str
    due: tuple[Due, ...]
    heard: tuple[str, ...]
    text: str


def read_due(item: str) -> Due:
    """One label from its written form."""
    body, verdict = item.rsplit(": ", 1)
    if verdict not in VERDICTS:
        raise ValueError(f"{item!r}: {verdict!r} is not a verdict")
    if body.startswith("2 × "):
        original, stated = body[4:].split(" → ")
        return Due("share", original, stated, verdict)
    relation = "difference" if body.startswith("difference ") else "pair"
    body = body.removeprefix("difference ")
    if " ≠ " in body:
        original, stated = body.split(" ≠ ")
        return Due("item", original, stated, verdict)
    if " → " not in body:
        return Due("alone", body, body, verdict)
    original, stated = body.split(" → ")
    return Due(relation, original, stated, verdict)


def unescape(text: str) -> str:
    """The text of a line as it is checked."""
    return re.sub(r"\\(.)", lambda match: {"n": "\n", "t": "\t"}.get(match[1], match[1]), text)


def read_lines(path: Path) -> list[Line]:
    """The labelled lines of a file."""
    lines = []
    for row in path.read_text("utf-8").splitlines():
        if row and not row.startswith("# "):
            kind, due, heard, text = row.split("\t")
            lines.append(
                Line(
                    kind,
                    () if due == "-" else tuple(read_due(item) for item in due.split("; ")),
                    () if heard == "-" else tuple(heard.split("; ")),
                    unescape(text),
                )
            )
    return lines


def bare(snippet: str) -> str:
    """The snippet as it stands in the text."""
    return re.sub(r"\s*\{.*\}$", "", snippet)


def amount(snippet: str) -> Amount:
    """The numbers and the unit of a snippet."""
    given = re.search(r"\{(.*)\}$", snippet)
    text = given[1] if given else snippet
    values, halves, rest, tolerance = [], [], text, "±" in text
    if re.search(r"\d\s*[-–—~]\s*\d", text):
        text = re.sub(r"(?<=\d)\s*[-–—~]\s*(?=\d)", " to ", text)
    for match in NUMBER.finditer(text):
        half = Fraction(0)
        if match["over"]:
            value = int(match["whole"]) + Fraction(match["over"])
        elif match["frac"]:
            value = Fraction(match["frac"])
        elif match["vulgar"]:
            value = int(match["mixed"] or 0) + VULGAR[match["vulgar"]]
        else:
            digits = match["plain"].replace(",", "").replace(" ", "")
            value = Fraction(digits)
            half = Fraction(1, 2 * 10 ** len(digits.partition(".")[2]))
        if not half:
            half = Fraction(1, 2 * value.denominator)
        values.append(-value if match["sign"] in {"-", "−", "–"} and match["sign"] else value)
        halves.append(half)
    rest = re.sub(r"\b(?:to|from|between|down|and|about)\b", " ", NUMBER.sub(" ", text).lower())
    units = re.sub(r"[^a-z/]", "", rest)
    if not values:
        raise ValueError(f"{snippet!r}: no number")
    if units not in UNIT_OF and len(values) == 2:  # the unit at both ends
        units = units[: len(units) // 2]
    return Amount(tuple(values), tuple(halves), UNIT_OF[units], tolerance)


def converted(value: Fraction, unit: str, to: str, difference: bool) -> Fraction:
    """The value in the other unit, exact."""
    (kind, size), (other, target) = UNITS[unit], UNITS[to]
    if kind != other:
        raise ValueError(f"{unit} and {to} measure different things")
    if kind == "temperature" and not difference and unit != to:
        return value * Fraction(9, 5) + 32 if unit == "°C" else (value - 32) * Fraction(5, 9)
    return value * size / target


def with_zeros(value: Fraction, half: Fraction) -> Fraction:
    """Half a unit of the last digit that counts where zeros at the end of a whole number do not."""
    while value and value.denominator == 1 and half >= Fraction(1, 2) and (value / (half * 20)).denominator == 1:
        half *= 10
    return half


def reasons(due: Due) -> list[str]:
    """Why arithmetic contradicts the label; empty where it bears it out."""
    if due.verdict == "either" or due.relation == "alone":
        return []
    if due.relation == "share":
        share, total = (Fraction(bare(part).split()[0]) / 100 for part in (due.original, due.stated))
        return [] if ((1 - (1 - share) ** 2) == total) == (due.verdict == "agrees") else ["the share renewed twice is another"]
    original, stated = amount(due.original), amount(due.stated)
    if due.relation == "item":
        return [] if (original.values != stated.values and original.unit == stated.unit) else ["the two values are the same"]
    if len(original.values) != len(stated.values):
        return ["spans of different length"]
    if due.verdict == "ambiguous":
        there = converted(original.values[0], original.unit.replace("US", "imp"), stated.unit.replace("US", "imp"), False)
        return [] if abs(there / stated.values[0] - 1) < Fraction(2, 100) else ["does not fit the imperial measure"]
    found = []
    near, harmless, outward, needless = True, True, False, False
    numbers = zip(original.values, original.halves, stated.values, stated.halves, strict=True)
    for index, (value, half, told, told_half) in enumerate(numbers):
        difference = due.relation == "difference" or (original.tolerance and (index == 1 or len(original.values) == 1))
        there = converted(value, original.unit, stated.unit, difference)
        back = converted(told, stated.unit, original.unit, difference)
        slack = abs(converted(half, original.unit, stated.unit, True))
        zeros = with_zeros(told, told_half)
        if stated.unit in {"km", "mi"}:
            slack = abs(converted(with_zeros(value, half), original.unit, stated.unit, True))
        if stated.unit in {"km", "mi"} and told >= 1000:
            zeros = max(zeros, Fraction(250))  # five hundreds are usual for long distances
        nearest = abs(told - there) <= told_half or abs(back - value) <= half or abs(told - there) <= min(zeros, slack)
        off = abs(told - there)
        degrees = UNITS[stated.unit][0] == "temperature" and not difference
        small = off <= 1 if degrees else off <= abs(there) / 50 or (difference and off <= told_half)
        near &= nearest and small
        harmless &= off <= (3 if stated.unit == "°F" else Fraction(5, 3)) if degrees else off <= abs(there) / 40
        needless |= value != 1 and zeros * 150 <= slack
        needless |= told_half * 10 <= slack and told.denominator > 1 and len(str(float(told))) > 6
        needless |= stated.unit == "°C" and degrees and told_half < Fraction(1, 2)
        needless |= stated.unit == "°F" and degrees and told_half < Fraction(1, 20)
        if len(stated.values) == 2 and not original.tolerance:
            rising = stated.values[0] < stated.values[1]
            low = (index == 0) == rising
            outward |= told < there if low else told > there
    if due.verdict == "agrees":
        if not near:
            found.append("not the nearest within 2 %")
        if needless:
            found.append("more digits than the original carries")
        if outward and UNITS[stated.unit][0] in {"temperature", "torque", "pressure"}:
            found.append("a limit is rounded outward")
    elif due.verdict == "style":
        if not harmless:
            found.append("too far off for style")
        if near and not needless and not outward:
            found.append("nothing to raise")
    elif harmless:
        found.append("too small an error for wrong")
    return found


def located(text: str, snippet: str, start: int) -> tuple[int, int] | None:
    """Where the snippet stands in the text from `start` on, whatever markup separates its words."""
    parts = re.findall(r"\d[\d.,]*\d|\d|[½¼¾]|[A-Za-z]+|[−-](?=\d)", bare(snippet))
    pattern = TABLE_GAP.join(re.escape(part) for part in parts)
    match = re.compile(rf"(?<![A-Za-z\d.]){pattern}(?![A-Za-z]|\d|\.\d)", re.IGNORECASE).search(text, start)
    return match.span() if match else None


def places(line: Line) -> list[tuple[tuple[int, int], tuple[int, int]]]:
    """The places of original and stated value of each label of a line, in order."""
    found, original_from, stated_from = [], 0, 0
    for due in line.due:
        original = located(line.text, due.original, original_from)
        if original is None:
            raise ValueError(f"{due.original!r} is not in {line.text!r}")
        stated = original if due.relation == "alone" else located(line.text, due.stated, max(original[1], stated_from))
        if stated is None:
            raise ValueError(f"{due.stated!r} is not in {line.text!r}")
        found.append((original, stated))
        original_from, stated_from = original[0], stated[1]
    return found


def read_quantity(written: str) -> tuple[str, Fraction]:
    """Kind and size in the base unit of a quantity written in the list's own units, such as `0.25 L`, exact."""
    number, unit = written.split(" ", 1)
    unit = unit if unit in UNITS else UNIT_OF[re.sub(r"[^a-z/]", "", unit.lower())]
    value = Fraction(number)
    kind, size = UNITS[unit]
    return kind, converted(value, unit, "°C", False) if kind == "temperature" else value * size
