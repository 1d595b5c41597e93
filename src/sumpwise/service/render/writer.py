"""Facts into words: the values of a sentence in a system of units, the sentence itself from the catalogue."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from functools import cache, lru_cache
from math import ceil, floor, log10
from typing import Any

from sumpwise._display import at_the_start, inline
from sumpwise.errors import SumpwiseError, printable
from sumpwise.quantities import notation
from sumpwise.quantities.normalising import without_about
from sumpwise.quantities.rounding import inward_text, rounded_text
from sumpwise.quantities.units import SYMBOLS, Unit
from sumpwise.service.facts.fact import (
    Amount,
    Clock,
    Count,
    Fact,
    Money,
    Name,
    OnScale,
    Part,
    Plain,
    Series,
    Share,
    Table,
    Value,
    Window,
    Word,
    Written,
    plain,
)
from sumpwise.service.render.figures import number, percent, places_for, spread_text
from sumpwise.service.render.systems import AS_WRITTEN, METRIC, STEPS, Shown, System, system_of
from sumpwise.service.schema import TABLES
from sumpwise.service.sheet import Section, unmarked
from sumpwise.service.words import catalogue
from sumpwise.uncertainty import is_uncertain, nominal, standard

UNNAMED = TABLES["shopping"]["currency"].default.value  # type: ignore[union-attr]
LEAST_KEPT = 0.9
"""Rounding inward must leave at least this share of a window."""
SLOT = re.compile(r"\{(\w+)(?:#([^|{}]*)\|([^{}]*))?\}")
"""A slot of a sentence, `{name}`, or a word that depends on a count, `{name#one|many}`."""


LARGER = {"US fl oz": SYMBOLS["US qt"], "imp fl oz": SYMBOLS["imp qt"]}
"""Small unit of a scale -> the large one named before it, as in quarts and fluid ounces."""


class Writer:
    """Writes facts in one language and one system of units; its words are id -> sentence with `{slots}` and `**emphasis**`."""

    def __init__(self, words: Mapping[str, str], system: System) -> None:
        self.words = words
        self.system = system

    # -- values

    def text(self, value: Value) -> str:
        """A value as plain text."""
        way = _WAYS.get(value.__class__)
        return unmarked(self.markdown(value)) if way is None else printable(way(self, value))

    def markdown(self, value: Value) -> str:
        """A value as Markdown: the user's texts escaped, words of the catalogue with their emphasis."""
        if value.__class__ is Word:
            return self.filled(value.id, value.values)
        if value.__class__ is Series:
            return self.words[value.by].join([self.markdown(part) for part in value.parts])
        return inline(_WAYS[value.__class__](self, value))

    def filled(self, key: str, values: Mapping[str, Value]) -> str:
        """An entry of the catalogue with its slots filled, as Markdown."""
        shown, slots = self._entry(key)
        for name, one, several, then in slots:
            value = values[name]
            if one is None:
                shown += self.markdown(value) + then
            else:
                assert isinstance(value, Count)
                shown += (one if value.value == 1 else several) + then
        return shown

    def _entry(self, key: str) -> tuple[str, list[Any]]:
        """An entry of the catalogue, taken apart; the reason of a default that is not in the catalogue, as the schema has it."""
        try:
            return _slots(self.words[key])
        except KeyError:
            if not key.startswith("reason."):
                raise
            return inline(key.removeprefix("reason.")), []

    def _amount(self, one: Amount) -> str:
        usual, best = STEPS[one.kind], nominal(one.value)
        step = usual if one.step is None else one.step
        units = self.system.units(one.kind, 0.0 if one.main or step >= usual * 5 else best)
        u = standard(one.value) if is_uncertain(one.value) else None
        return _beside([_sized(best, u, unit, _places(step, unit.factor), one.signed) for unit in units])

    def _window(self, one: Window) -> str:
        units, scale = self.system.units(one.kind, one.upper), _read(one.division) if one.division else None
        if scale is None:
            return _beside([_inward(one, unit) for unit in units])
        unit, step = scale
        low, high = ceil(one.lower / step - 1e-9) * step, floor(one.upper / step + 1e-9) * step
        if low > high:  # between two divisions of the scale
            return _beside([_inward(one, unit) for unit in units])
        own = Shown(unit.symbol, unit.factor, unit.offset, unit)
        ends = [_scaled(end, own, step, alike=True) for end in (low, high)]
        shown = ends[0] if low == high else f"{ends[0].partition(' ')[0]}–{ends[1]}"
        others = [other for other in units if other.unit and system_of(other.unit) != system_of(unit)]
        if self.system.name != AS_WRITTEN and len(others) == len(units):
            return _beside([_inward(one, other) for other in others])
        return _beside([shown, *(_inward(one, other) for other in others if self.system.second)])

    def _written(self, one: Written) -> str:
        read = _read(one.text)
        if read is None:
            return one.text
        unit, size = read
        others = [
            shown.unit.symbol for shown in self.system.units(unit.kind if unit.kind == "mass" else one.kind, size)
            if shown.unit is not None and unit.system and system_of(shown.unit) != system_of(unit)
        ]  # fmt: skip
        shown = one.text
        about = f"{self.words['about']} " if without_about(one.text) != one.text else ""
        if one.kind == "temperature" and not shown.endswith(unit.symbol):  # 188F is shown as a worked-out one is, 188 °F
            shown = about + _converted(shown, unit.symbol)
        if others:
            if self.system.second:
                shown = _beside([shown, *(about + _converted(shown, symbol) for symbol in others)])
            else:
                shown = about + _converted(shown, others[0])
        return shown.replace("Δ", "") if one.kind == "interval" else shown

    def _on_scale(self, one: OnScale) -> str:
        """Whole divisions, rounded down; in another system, the equivalent."""
        read = _read(one.division)
        if read is None or one.value < read[1]:
            return self._amount(Amount(one.kind, one.value))
        unit, step = read
        value = floor(one.value / step + 1e-6) * step
        own = Shown(unit.symbol, unit.factor, unit.offset, unit)
        units = self.system.units(one.kind)
        if self.system.name == AS_WRITTEN or any(system_of(unit) == system_of(other.unit) for other in units if other.unit):
            units = [own, *(other for other in units if other.unit and system_of(other.unit) != system_of(unit) and self.system.second)]
        return _beside([_scaled(value, shown, step if shown is own else 0.01 * shown.factor) for shown in units])

    def _money(self, one: Money) -> str:
        unit = self.words[f"choice.{UNNAMED}"] if one.currency in ("", UNNAMED) else one.currency
        return f"{number(one.value, one.places)} {unit}"

    def _clock(self, one: Clock) -> str:
        seconds = round(one.value * 60)
        return f"{seconds // 60}:{seconds % 60:02d}"

    def sentence(self, fact: Fact) -> str:
        """A fact as plain text."""
        return unmarked(self._body(fact))

    def _body(self, fact: Fact) -> str:
        """A fact as Markdown; a word of the catalogue at its start is capitalised, a text of the user is not."""
        body = self.filled(fact.id, fact.values)
        return body[:1].upper() + body[1:] if self._begins(fact.id, fact.values) else body

    def _begins(self, key: str, values: Mapping[str, Value]) -> bool:
        """Whether an entry begins with the catalogue's own words."""
        head, slots = self._entry(key)
        if head or not slots:
            return True
        value = values[slots[0][0]]
        return isinstance(value, Word) and self._begins(value.id, value.values)

    # -- sections

    def section(self, part: Part) -> Section:
        """A section as it is printed and stored; each part of it is written when it is first read."""
        return Section.later(part.key, lambda section, name: _WRITTEN[name](self, part, section))

    def _lines(self, facts: list[Fact]) -> list[str]:
        count = 0
        lines = []
        for fact in facts:
            body = self._body(fact)
            count += fact.form == "step"
            lines.append(at_the_start(body) if fact.form == "line" else f"{count}. {body}" if fact.form == "step" else f"- {body}")
        return lines

    def _record(self, fact: Fact, line: str) -> dict[str, Any]:
        """A fact as plain data, with its sentence from the line; `quantity` is the first number of its sentence."""
        text = unmarked(line if fact.form == "line" else line.partition(" ")[2])
        values = {slot: plain(value) for slot, value in fact.values.items()}
        sized = (values[slot] for slot, value in fact.values.items() if isinstance(value, (Amount, OnScale, Share, Plain, Money)))
        return {
            "id": fact.id, "text": text, "severity": fact.severity, "verdict": fact.verdict, "entries": list(fact.entries),
            "quantity": next(sized, None), "values": values,
        }  # fmt: skip


def _table(part: Part) -> Table:
    """The table of a section; an empty one if it has no rows."""
    return part.table if part.table is not None and part.table.rows else Table((), [])


_WRITTEN: dict[str, Callable[[Writer, Part, Section], Any]] = {
    "title": lambda writer, part, section: unmarked(writer.filled(f"{part.key}.title", part.title)),
    "lines": lambda writer, part, section: writer._lines(part.facts),
    "columns": lambda writer, part, section: [unmarked(writer.filled(head, {})) for head in _table(part).columns],
    "rows": lambda writer, part, section: [[writer.text(cell) for cell in row] for row in _table(part).rows],
    "facts": lambda writer, part, section: list(map(writer._record, part.facts, section.lines)),
    "data": lambda writer, part, section: part.data,
}  # fmt: skip
"""How each part of a section is written."""


@cache
def spoken() -> Writer:
    """The writer for results outside of a sheet: English and metric."""
    return Writer(catalogue(), System(METRIC, {}, METRIC))


_WAYS: dict[type, Callable[[Writer, Any], str]] = {
    Amount: Writer._amount, Window: Writer._window, Written: Writer._written, OnScale: Writer._on_scale, Money: Writer._money,
    Clock: Writer._clock, Name: lambda _, one: one.text, Count: lambda _, one: str(one.value),
    Share: lambda _, one: percent(one.value, one.places), Plain: lambda _, one: number(one.value, one.places, one.signed),
}  # fmt: skip
"""How each value that is not a word of the catalogue is shown, as plain text."""


def _beside(shown: list[str]) -> str:
    return shown[0] if len(shown) == 1 else shown[0] + "".join([f" ({one})" for one in shown[1:]])


def _sized(best: float, u: float | None, unit: Shown, most: int, signed: bool) -> str:
    """A value with its standard uncertainty and unit, to two digits of the uncertainty, but no more than `most` decimals."""
    best = (best - unit.offset) / unit.factor
    if u is None:
        return f"{_grouped(number(best, most, signed))} {unit.symbol}"
    u /= unit.factor
    places = places_for(u, most)
    return f"{number(best, places, signed)} ± {spread_text(u, places)} {unit.symbol}"


def _grouped(whole: str) -> str:
    """A whole number of five digits or more, in groups of three."""
    return f"{int(whole):,}".replace(",", " ") if whole.isdigit() and len(whole) > 4 else whole


@lru_cache(maxsize=512)
def _places(step: float, factor: float) -> int:
    """The number of decimals whose last place is about a step: down to a third of it, or up to three times it."""
    return max(0, ceil(-log10(step / factor) - 0.45))


def _scaled(value: float, unit: Shown, step: float, alike: bool = False) -> str:
    """Whole steps, rounded down, with the decimals they need, at least one if a step has any; or, if `alike`, those of a step."""
    whole = floor(value / step + 1e-6) * step
    large = LARGER.get(unit.symbol)
    if large is not None and whole >= 0.999 * large.factor:
        count = floor(whole / large.factor + 1e-6)
        rest = _scaled(whole - count * large.factor, unit, step)
        return f"{count} {large.symbol}" + ("" if whole - count * large.factor < step / 2 else f" {rest}")
    most = _decimals(step / unit.factor)
    places = most if alike else max(min(most, 1), _decimals(whole / unit.factor))
    return f"{number(whole / unit.factor, places)} {unit.symbol}"


def _decimals(value: float) -> int:
    """The number of decimals of a number, at most three."""
    return next((p for p in range(3) if abs(value * 10**p - round(value * 10**p)) < 1e-6), 3)


def _inward(window: Window, unit: Shown) -> str:
    """Two limits rounded inward to the step of their kind; with one more digit if that would lose more than a tenth."""
    places = _places(STEPS[window.kind], unit.factor)
    low, high = ((limit - unit.offset) / unit.factor for limit in (window.lower, window.upper))
    ends = _ends(low, high, places)
    if ends[1] - ends[0] < LEAST_KEPT * (high - low):
        places += 1
        ends = _ends(low, high, places)
    lower, upper = (f"{end:.{places}f} {unit.symbol}" for end in ends)
    return inward_text((lower, upper), unit.symbol)


def _ends(low: float, high: float, places: int) -> tuple[float, float]:
    scale = 10.0**places
    return ceil(low * scale - 1e-9) / scale, floor(high * scale + 1e-9) / scale


@lru_cache(maxsize=2048)
def _slots(entry: str) -> tuple[str, list[Any]]:
    """What stands before the first slot of an entry; name, word for one and word for several, and what follows, of each of its slots."""
    head, *rest = SLOT.split(entry)
    return head, list(zip(*(rest[i::4] for i in range(4)), strict=True))


@lru_cache(maxsize=512)
def _read(text: str) -> tuple[Unit, float] | None:
    """The unit and the size of a value as it was written; None if it cannot be read. Read once, however often it is shown."""
    try:
        found = notation.either(text)
    except SumpwiseError:
        return None
    return (found.unit, found.internal) if isinstance(found, notation.Reading) else (found.lower.unit, found.upper.internal)


def _converted(text: str, symbol: str) -> str:
    """A written value or span in another unit, with the digits of the original; limits inward."""
    try:
        return rounded_text(text, symbol)
    except SumpwiseError:
        return inward_text(text, symbol)
