"""Values that a caller might hand over: right ones, wrong ones, and nonsense, all drawn from one seeded generator."""

from __future__ import annotations

import datetime
import decimal
import fractions
import math
import random
from collections.abc import Callable
from typing import Any

import numpy
import pint

from sumpwise import uncertainty
from sumpwise.quantities.units import SPELLINGS, SYMBOLS
from sumpwise.testing import RANGES

Draw = random.Random
FOREIGN = pint.UnitRegistry()
OWN = pint.application_registry.get()

UNITS: dict[str, list[str]] = {}
for _spelling, _unit in SPELLINGS.items():
    UNITS.setdefault(_unit.kind, []).append(_spelling.replace("·", " "))
for _unit in SYMBOLS.values():
    UNITS.setdefault(_unit.kind, []).append(_unit.symbol)
ALL_UNITS = [spelling for spellings in UNITS.values() for spelling in spellings]
PINT_UNITS = {kind: [u.pint for u in SYMBOLS.values() if u.kind == kind] for kind in UNITS}

NUMERALS = (
    "0", "1", "3.6", "8.85", "-2", "−2.5", "5 1/2", "5-1/2", "5½", "⅞", "5/16", "1/0", "56 000", "128,400", "1,500", "1 500,5", "1,5",
    "0,25", ".5", "5.", "1e3", "1E-300", "1e308", "1e999", "9**9", "0x10", "1_000", "nan", "inf", "-inf", "١٢", "３", "1.2.3", "4.50(8)",
    "4.50(800)", "3.6 ± 0.1", "3.6±4 %", "(8.0 ± 0.3)", "8 ± 0.2 L (k = 2)", "8+/-0.1", "82–92", "31 to 37", "5..6", "", "--3", "+7",
    "1\xa0000", "1\u2009000",
)  # fmt: skip
JUNK = (
    "", " ", "\x00", "\x1b[31m", "\u202e", "́", "🚗", "\ud800", "(", ")", "±", "/", "·", "*", "**", "^", "%", "‰", "°", "\t", "\n", "-",
    "–", "to", "k = 2", "and", "'", '"', "½", "²", "³", "µ", "e", "E", "i", "j", "__import__('os')", "{}", "%s", "\\", ";", ",", ".",
    "\ufeff", "\xa0",
)  # fmt: skip
SAMPLES = (
    "3.6 L", "2 qt 8 fl oz", "1 gal 2 qt", "5-1/2 qt", "82–92 °C", "31 to 37 N·m", "187 °F", "10 Δ°C", "34 ft-lb", "12 oz", "27 lbs",
    "34 nm", "90 %", "4 y", "128 400 km", "29.6 cSt", "847 kg/m³", "(8.0 ± 0.3) L", "8.00 ± 0.20 L (k = 2)", "3 J", "1,500 L", "2 bar",
    "45°", "3 L/min",
)  # fmt: skip
KINDS = tuple(RANGES)


def number(draw: Draw) -> float:
    """A float of any size, garage sizes most."""
    pick = draw.random()
    if pick < 0.7:
        return draw.uniform(0, 10) if pick < 0.5 else draw.uniform(-5, 500)
    if pick < 0.9:
        return draw.choice((0.0, -0.0, 1.0, 0.5, 1e-9, 1e9, 5e-324, 1e-300, 1e300, 1.7e308, -1e300, -1.0, 273.15, -273.15))
    return draw.choice((-1, 1)) * math.exp(draw.uniform(-700, 700))


def numeral(draw: Draw) -> str:
    """A number as someone might write it."""
    pick = draw.random()
    if pick < 0.5:
        return f"{number(draw):.{draw.randrange(6)}f}"[:60]
    if pick < 0.9:
        return draw.choice(NUMERALS)
    return "".join(draw.choice("0123456789.,/ -e±()½") for _ in range(draw.randrange(1, 30)))


def text(draw: Draw) -> str:
    """Workshop notation, near misses and nonsense."""
    pick = draw.random()
    if pick < 0.35:
        return f"{numeral(draw)}{draw.choice((' ', ' ', '', chr(160), '  '))}{draw.choice(ALL_UNITS)}"
    if pick < 0.5:
        return mutated(draw, draw.choice(SAMPLES))
    if pick < 0.6:
        return f"{numeral(draw)}{draw.choice((' to ', '–', '-', ' … ', '..', ' and '))}{numeral(draw)} {draw.choice(ALL_UNITS)}"
    if pick < 0.7:
        return " ".join(f"{numeral(draw)} {draw.choice(ALL_UNITS)}" for _ in range(draw.randrange(1, 6)))
    if pick < 0.9:
        return "".join(draw.choice(draw.choice((NUMERALS, JUNK, ALL_UNITS))) for _ in range(draw.randrange(1, 9)))
    if pick < 0.97:
        return "".join(chr(draw.randrange(draw.choice((128, 0x3000, 0x11_0000)))) for _ in range(draw.randrange(40)))
    return draw.choice(("9", "(", "1/", "½", "-", "1 ", "L", "±", "\x00", "3.6 L ")) * draw.choice((50, 199, 200, 201, 10_000))


def mutated(draw: Draw, given: str) -> str:
    """A text with a few characters changed, doubled, dropped or swapped."""
    letters = list(given)
    for _ in range(draw.randrange(1, 4)):
        at = draw.randrange(len(letters) + 1)
        how = draw.randrange(5)
        if how == 0:
            letters.insert(at, draw.choice(JUNK) or "x")
        elif how == 1 and letters:
            del letters[min(at, len(letters) - 1)]
        elif how == 2 and letters:
            letters.insert(at, letters[min(at, len(letters) - 1)])
        elif how == 3:
            letters.insert(at, draw.choice("0123456789.,/- "))
        elif len(letters) > 1:
            at = min(at, len(letters) - 2)
            letters[at], letters[at + 1] = letters[at + 1], letters[at]
    return "".join(letters)


class Hostile:
    """An object that cannot even be shown."""

    def __repr__(self) -> str:
        raise RuntimeError("no text for this")


def nonsense(draw: Draw) -> Any:
    """Something that is not a value, or barely one."""
    pick = draw.randrange(30)
    if pick < 8:
        return text(draw)
    if pick < 12:
        return number(draw)
    loop: list[Any] = []
    loop.append(loop)
    return (
        None,
        True,
        math.nan,
        math.inf,
        10**400,
        -(10**30),
        3 + 4j,
        b"3.6 L",
        {},
        {"value": 1},
        set(),
        [],
        (),
        object(),
        Hostile(),
        decimal.Decimal("3.6"),
        decimal.Decimal("NaN"),
        fractions.Fraction(1, 3),
        datetime.date(2020, 1, 1),
        loop,
        [[1.0, [2.0]], 3.0],
        [None, 1.0],
        ["3.6 L", 3],
        range(3),
        int,
        numpy.float32(2.5),
        numpy.array([1.0, math.nan]),
        numpy.array([], dtype=float),
        numpy.array(["3.6 L", "x"]),
        numpy.datetime64("2020-01-01"),
        OWN.Quantity(3.0, "joule"),
        OWN.Quantity("3.6"),
        FOREIGN.Quantity(math.nan, "liter"),
        FOREIGN.Quantity([1.0, 2.0], "mile"),
        OWN.Quantity(5, "degC"),
        OWN.Unit("liter"),
        FOREIGN.Quantity(decimal.Decimal("3.6"), "liter"),
        numpy.ma.masked_array([1.0, 2.0], [True, False]),
        numpy.zeros((2, 0)),
        "3.6 L" * 1000,
        numpy.array(4),
        numpy.arange(4.0).reshape(2, 2),
        memoryview(b"123"),
        Ellipsis,
        lambda: 1,
        "L",
        "3.6",
    )[draw.randrange(47)]


def sized(draw: Draw, kind: str) -> float:
    """A magnitude of a kind in its internal unit, mostly as a garage has it."""
    low, high = RANGES[kind]
    return draw.uniform(low, high) if draw.random() < 0.9 else number(draw)


def value(draw: Draw, kind: str, scalar: bool = False) -> Any:
    """A value of a kind: text, Quantity of one of two registries, uncertain, an array, a list; now and then nonsense."""
    pick = draw.random()
    if pick < 0.06:
        return nonsense(draw)
    if kind == "count":
        return draw.choice((0, 1, 2, 3, 7, 20, 200, 10**6, 2.0, "4", -1, 2.5)) if pick < 0.9 or scalar else [1, 2, draw.randrange(9)]
    if kind in ("fraction", "number"):
        plain = draw.random() if kind == "fraction" or pick < 0.5 else number(draw)
        if pick < 0.6:
            return plain
        if pick < 0.7:
            return f"{100 * plain:.3f} %"
        if pick < 0.8:
            return uncertainty.source(plain, abs(number(draw)) % 0.1, shape=draw.choice(uncertainty.SHAPES), name="drawn")
        return plain if scalar else draw.choice((numpy.array([plain, 0.5]), [plain, 0.25], numpy.float64(plain), numpy.full((2, 2), plain)))
    size = sized(draw, kind)
    unit = draw.choice(PINT_UNITS[kind])
    registry = draw.choice((OWN, FOREIGN))
    if pick < 0.5:
        return f"{size:.{draw.randrange(5)}f} {draw.choice(UNITS.get(kind, ('L', 'N·m', 'mm')))}"
    if pick < 0.6:
        return f"{size:.2f} {draw.choice(('± 0.1', '± 4 %', '± 0.3 (k = 2)', '(5)'))} {draw.choice(UNITS[kind])}"
    if pick < 0.75 or scalar:
        return registry.Quantity(size, unit)
    if pick < 0.85:
        return registry.Quantity(uncertainty.source(size, min(1e100, abs(size) * draw.random() / 10), name="drawn"), unit)
    if pick < 0.95:
        return registry.Quantity(numpy.array([size, sized(draw, kind), 1.0][: draw.randrange(1, 4)]), unit)
    return [value(draw, kind, True) for _ in range(draw.randrange(1, 4))]


def window(draw: Draw, kind: str) -> Any:
    """A span of a kind."""
    pick = draw.random()
    if pick < 0.1:
        return nonsense(draw)
    low, high = sorted((sized(draw, kind), sized(draw, kind)))
    if pick < 0.6:
        return f"{low:.1f}{draw.choice((' to ', '–'))}{high:.1f} {draw.choice(UNITS[kind])}"
    return value(draw, kind, True), value(draw, kind, True)


def changed(draw: Draw, data: Any, junk: Callable[[Draw], Any]) -> Any:
    """Plain data with one place of it replaced, dropped, renamed, doubled or moved; the data itself is left alone."""
    places: list[tuple[Any, Any]] = []
    copy = _copied(data, places)
    for _ in range(draw.choice((1, 1, 1, 2, 4))):
        if not places:
            return junk(draw)
        holder, key = draw.choice(places)
        how = draw.randrange(7)
        try:
            if how == 0:
                del holder[key]
            elif how == 1:
                holder[draw.choice(("", "extra", "Version", text(draw))) if isinstance(holder, dict) else 0] = junk(draw)
            elif how == 2:
                other, at = draw.choice(places)
                holder[key] = _copied(other[at], [])
            elif how == 3 and isinstance(holder[key], str):
                holder[key] = mutated(draw, holder[key])
            elif how == 4 and isinstance(holder, list):
                holder += holder[:50]
            elif how == 5 and isinstance(holder[key], (int, float)):
                holder[key] = number(draw)
            else:
                holder[key] = junk(draw)
        except (KeyError, IndexError):
            continue
    return copy


def _copied(data: Any, places: list[tuple[Any, Any]]) -> Any:
    if isinstance(data, dict):
        made: Any = {}
        for key, inner in data.items():
            made[key] = _copied(inner, places)
            places.append((made, key))
        return made
    if isinstance(data, list):
        made = [_copied(inner, places) for inner in data]
        places += [(made, i) for i in range(len(made))]
        return made
    return data


def plain(draw: Draw) -> Any:
    """Anything JSON can say."""
    pick = draw.randrange(12)
    if pick < 4:
        return text(draw)
    return (
        None,
        True,
        False,
        0,
        -1,
        10**400,
        math.nan,
        math.inf,
        number(draw),
        [],
        {},
        [1, [2, [3]]],
        {"value": 1, "contributions": {"s1": 1}},
        "3.6 L",
        "",
        [text(draw)] * 3,
        {text(draw): number(draw)},
        "\x1b]0;title\x07",
        "s1",
        "0",
        {"doubts": {"0": 1.0}, "value": 0.5},
    )[draw.randrange(21)]
