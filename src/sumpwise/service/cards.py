"""The numbers of a service as lines for a description: both systems, the uncertainty, windows rounded inward, the cautions."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from sumpwise import uncertainty
from sumpwise._display import escaped, html_lines, html_table, literal
from sumpwise.description.precision import amount_of, decimals, expected_span, limits
from sumpwise.errors import NotationError, RangeError, UnitError, expect, expect_choice, listed, printable
from sumpwise.quantities import notation
from sumpwise.quantities.boundary import answer
from sumpwise.quantities.digits import decimal, to_step, with_symbol
from sumpwise.quantities.rounding import rounded, rounded_inward
from sumpwise.quantities.spans import Span
from sumpwise.quantities.units import Unit, by_symbol
from sumpwise.service.case import Case
from sumpwise.service.facts.fact import Name, Series, Value, Word
from sumpwise.service.facts.safety import cautions, signs, stopped
from sumpwise.service.facts.torque import tightening
from sumpwise.service.job import Job
from sumpwise.service.render.systems import AS_WRITTEN, BOTH, SMALL_TORQUE, System, system_named
from sumpwise.service.render.writer import Writer, spoken
from sumpwise.service.schema import SYSTEMS
from sumpwise.service.words import catalogue

FORMAT = "sumpwise card"
VERSION = 1

_ALOUD = {
    "L": "litres", "mL": "millilitres", "US qt": "US quarts", "imp qt": "imperial quarts", "US fl oz": "US fluid ounces",
    "imp fl oz": "imperial fluid ounces", "US gal": "US gallons", "°C": "degrees Celsius", "°F": "degrees Fahrenheit", "km": "kilometres",
    "mi": "miles", "mm": "millimetres", "in": "inches", "N·m": "newton metres", "lbf·ft": "pound-feet", "lbf·in": "pound-inches",
    "kPa": "kilopascals", "%": "percent", "L/min": "litres per minute", "US gal/min": "US gallons per minute", "y": "years",
}  # fmt: skip


@dataclass(frozen=True, slots=True, repr=False)
class CardLine:
    """One number of a card.

    Attributes
    ----------
    label, text : str
        What it is, and the number in both systems.
    source : str
        Where it comes from, or that it is assumed.
    data : dict
        The number as plain JSON: `value` or `lower` and `upper`, `unit`, `uncertainty` and its `k`, and the `texts` in both systems.
    """

    label: str
    text: str
    source: str
    data: dict[str, Any]

    def to_dict(self) -> dict[str, Any]:
        """The line as plain data."""
        return {"label": self.label, "text": self.text, "source": self.source, **self.data}

    def __repr__(self) -> str:
        return f"<CardLine: {printable(self.label)}: {printable(self.text)}>"


class NumberCard:
    """Lines of numbers with their cautions, ready to copy into a description.

    Attributes
    ----------
    title : str
        Heading, possibly empty.
    lines : list of CardLine
        The numbers.
    notes, cautions : list of str
        What ± means here; cautions, and when to stop.
    stop : list of str
        A stop sign that was seen, if any; it comes first, and the numbers of the method are withheld.
    """

    def __init__(self, title: str, lines: list[CardLine], notes: list[str], cautions: list[str], stop: list[str] | None = None) -> None:
        self.title = title
        self.lines = lines
        self.notes = notes
        self.cautions = cautions
        self.stop = stop or []

    def to_text(self, sources: bool = False) -> str:
        """Return the card as plain text; `sources` adds where each number comes from."""
        parts = [printable(self.title), ""] if self.title else []
        parts += [*(printable(line) for line in self.stop), ""] if self.stop else []
        parts += [_with_source(f"{printable(one.label)}: {one.text}", one, sources, printable) for one in self.lines]
        return "\n".join([*parts, "", *self.notes, *self.cautions]) + "\n"

    def to_markdown(self, sources: bool = False) -> str:
        """Return the card as Markdown; `sources` adds where each number comes from."""
        parts = [f"## {literal(self.title)}", ""] if self.title else []
        parts += [*(f"**{literal(line)}**" for line in self.stop), ""] if self.stop else []
        parts += [_with_source(f"- **{literal(one.label)}:** {one.text}", one, sources, literal) for one in self.lines]
        return "\n".join([*parts, "", *(f"> {note}\n>" for note in self.notes), *(f"- {caution}" for caution in self.cautions)]) + "\n"

    def to_script(self) -> str:
        """Return the numbers as sentences to say aloud, with units in words and the cautions at the end."""
        said = [f"{printable(one.label)}: {_aloud(one.data['texts'])}." for one in self.lines]
        return "\n".join([*(printable(line) for line in self.stop), *said, "", *self.notes, *self.cautions]) + "\n"

    def to_dict(self) -> dict[str, Any]:
        """Return the card as plain JSON data with a version, including sources."""
        lines = [one.to_dict() for one in self.lines]
        said = {"title": self.title, "stop": self.stop, "lines": lines, "notes": self.notes, "cautions": self.cautions}
        return {"format": FORMAT, "version": VERSION, **said}

    def to_json(self, indent: int | None = 2) -> str:
        """Return the card as JSON text."""
        return json.dumps(self.to_dict(), ensure_ascii=False, allow_nan=False, indent=indent)

    def __str__(self) -> str:
        return self.to_text()

    def _repr_markdown_(self) -> str:
        return self.to_markdown()

    def _repr_html_(self) -> str:
        head = [f"<h2>{escaped(self.title)}</h2>"] if self.title else []
        stop = [f"<p><strong>{escaped(line)}</strong></p>" for line in self.stop]
        table = html_table(["number", "value", "from"], [[one.label, one.text, one.source] for one in self.lines])
        return "\n".join([*head, *stop, table, *html_lines([*self.notes, *(f"- {line}" for line in self.cautions)])])

    def __repr__(self) -> str:
        return f"<NumberCard: {len(self.lines)} numbers>"


def _aloud(texts: list[str]) -> str:
    """One number in both systems as you would say it: 34 newton metres, that's 25.1 pound-feet."""
    said = []
    for text in texts:
        symbol = next((symbol for symbol in sorted(_ALOUD, key=len, reverse=True) if text.endswith(f" {symbol}")), "")
        number = text.removesuffix(f" {symbol}") if symbol else text
        said.append(f"{number.replace('–', ' to ')} {_ALOUD[symbol]}" if symbol else text)
    return ", that's ".join(said)


def _with_source(text: str, line: CardLine, sources: bool, safe: Callable[[str], str]) -> str:
    return f"{text} [{safe(line.source)}]" if sources and line.source else text


def number_card(
    values: Job | Mapping[str, Any] | Iterable[tuple[str, Any]], *, sources: Mapping[str, str] | None = None, title: str = "",
    quart: str = "US", units: str = "as written",
) -> NumberCard:
    """Write numbers as lines for a description: in both systems, correctly rounded, with the cautions.

    Parameters
    ----------
    values : Job, mapping or pairs
        A job, of which method, torques, window and level are written; or label -> text, Quantity, Span, uncertain number, share of one
        (a float), or whole count.
    sources : mapping, optional
        Label -> where the number comes from, or "assumed". Shown by `to_text(sources=True)`.
    title : str
        Heading; by default that of the job.
    quart : str
        "US" or "imperial": the measure given next to litres and millilitres.
    units : str
        "as written" (for a job, what it says under `[report]`) or "both", or "metric", "US" or "imperial": the system that comes first,
        with the other in brackets.

    Returns
    -------
    NumberCard
        `.to_text()`, `.to_markdown()`, `.to_script()`, `.to_json()`; prints as plain text.

    Raises
    ------
    SumpwiseError
        For a value that cannot be read, a source without a number, or an unknown quart.

    Notes
    -----
    The number as written comes first and is the source. In brackets is the conversion, by `rounded`, of the printed number, so that a
    reader who checks it finds it right. Windows of torque, temperature, pressure and level use `rounded_inward`. A measured value shows its
    expanded uncertainty, k = 2, to two digits (GUM 7.2.6); a torque has its unit in words the first time; every quart says whether it is US
    or imperial.

    Examples
    --------
    >>> from sumpwise import number_card
    >>> card = number_card({"Drain and refill": "3.6 L", "Drain plug": "31–37 N·m", "Check window": "82–92 °C"})
    >>> for line in card.lines:
    ...     print(f"{line.label}: {line.text}")
    Drain and refill: 3.6 L (3.8 US qt)
    Drain plug: 31–37 newton metres (22.9–27.2 pound-feet)
    Check window: 82–92 °C (180–197 °F)
    """
    expect_choice(quart, ("US", "imperial"), "quart", "quart")
    expect_choice(units, SYSTEMS, "units", "system of units")
    expect(title, str, "title")
    stop: list[str] = []
    where: dict[str, str] = {}
    case = None
    writer = spoken()
    if isinstance(values, Job):
        title = title or values.title
        case = Case(values)
        units = str(case.ask("report", "units")) if units == AS_WRITTEN else units
        writer = Writer(catalogue(), system_named(units, values))
        values, where, stop = _of_job(case, writer)
    elif units not in (AS_WRITTEN, BOTH):
        writer = Writer(catalogue(), System(units, {}, units))
    quart = "imperial" if units == "imperial" else quart
    pairs = listed(values.items() if isinstance(values, Mapping) else values, "values", "a job, or label -> value")
    if not all(isinstance(pair, (tuple, list)) and len(pair) == 2 for pair in pairs):
        raise RangeError("is not a list of pairs", code="list.entry", argument="values", value=values, allowed="a job, or label -> value")
    where |= sources or {}
    labels = {label for label, _ in pairs}
    for label in where:
        if label not in labels:
            raise RangeError(
                "is not the label of a number on the card", code="name.unknown", argument="sources", value=label, allowed=", ".join(labels)
            )
    lines: list[CardLine] = []
    spelled: set[str] = set()
    for label, value in pairs:
        if not isinstance(label, str) or not label.strip():
            raise RangeError("is not a label", code="value.type", argument="values", value=label, allowed="a text")
        try:
            text, data = _both(value, quart, spelled, units)
        except (UnitError, NotationError, RangeError) as error:
            raise error.at(label) from None
        lines.append(CardLine(label, text, str(where.get(label, "")), data))
    notes = [_said("card.coverage")] if any(one.data.get("k") == 2 for one in lines) else []
    notes += [_said("card.as_written")] if any(one.data.get("k") == 0 for one in lines) else []
    named = writer.text(Word("card.signs", {"signs": Series(tuple(signs(case)))}))
    return NumberCard(title, lines, notes, [_said("card.lead"), *map(writer.sentence, cautions(case)), named], stop)


def _said(key: str, **values: Value) -> str:
    return spoken().text(Word(key, values))


def _of_job(case: Case, writer: Writer) -> tuple[dict[str, Any], dict[str, str], list[str]]:
    """The numbers of a job, where each comes from, and the stop sign that was seen, if any."""
    job = case.job
    values: dict[str, Any] = {}
    where: dict[str, str] = {}

    def add(value: Any, source: str, key: str, **slots: Value) -> None:
        if value:
            label = _said(f"card.{key}", **slots)
            label = label[:1].upper() + label[1:]
            values[label], where[label] = value, source

    written, makers = _said("card.from_job"), _said("card.from_maker")

    def scoped(key: str) -> str:
        scope = job.text("capacity", f"{key}_scope")
        return _said("card.scope", scope=Name(scope) if scope else Word("assumed.no_scope"))

    add(job.text("capacity", "total"), scoped("total"), "total")
    add(job.text("capacity", "book_refill"), scoped("book_refill"), "book")
    add(job.text("capacity", "plug_drain"), _said("card.expected"), "plug")
    for part in job.written("component"):
        add(part["volume"], written, "component", name=Name(part["name"]))
    tight = []
    if not case.halted:
        method, tight = case.comparison[case.method.key], tightening(case).data.get("bolts", [])
        taken = " ".join(writer.sentence(fact) for fact in case.comparison.taken)
        assumed = _said("card.computed_assumed", assumed=Name(taken))
        add(method.fresh, assumed, "fresh", method=Word(f"method.{method.key}"))
        measured = uncertainty.is_uncertain(method.volume.magnitude)
        add(method.volume if measured else rounded(method.volume, "L", 4), _said("card.computed"), "used")
    for index, bolt in enumerate(job.written("bolt")):
        add(bolt["torque"], makers, "torque", bolt=Name(bolt["name"]))
        add(bolt.get("window"), makers, "bolt_window", bolt=Name(bolt["name"]))
        setting = tight[index]["setting"] if tight and "window" in bolt else None
        if setting:
            ends = (answer(setting[end]["value"], "torque") for end in ("lower", "upper"))
            add(Span(*ends), _said("card.from_deviation"), "setting", bolt=Name(bolt["name"]))
    for table, key in (("level", "window"), ("level", "marks_volume"), ("vehicle", "interval_distance"), ("vehicle", "interval_time")):
        add(job.text(table, key), written, key)
    halt = stopped(case)
    return values, where, [writer.sentence(fact) for fact in halt.facts] if halt else []


def _both(value: Any, quart: str, spelled: set[str], units: str) -> tuple[str, dict[str, Any]]:
    """A value in both systems, and as plain data."""
    if isinstance(value, int) and not isinstance(value, bool):
        return decimal(value, 0), {"value": value, "unit": "1", "texts": [decimal(value, 0)]}
    if isinstance(value, str):
        value = _read(value)
    if isinstance(value, (Span, notation.SpanReading)):
        unit, texts, data = _window(value, quart)
    else:
        unit, texts, data = _single(value, quart)
    if len(texts) > 1 and units not in (AS_WRITTEN, BOTH) and (unit.system == "SI") != (units == "metric"):
        texts = texts[::-1]
        if "lower" in data and limits(unit.kind, unit):  # limits are rounded inward from the ones that come first
            texts[1] = rounded_inward(texts[0], unit.symbol).text
    if unit.kind == "torque":
        for index, text in enumerate(texts):
            symbol = text.rpartition(" ")[2]
            if symbol in _ALOUD and symbol not in spelled:
                spelled.add(symbol)
                texts[index] = text.removesuffix(symbol) + _ALOUD[symbol]
    return texts[0] + (f" ({texts[1]})" if len(texts) > 1 else ""), {**data, "unit": unit.symbol, "texts": texts}


def _read(text: str) -> notation.Reading | notation.SpanReading:
    try:
        return notation.read(text)
    except NotationError as error:
        try:
            return notation.read_span(text)
        except NotationError:
            raise error from None


def _other(unit: Unit, internal: float, quart: str) -> Unit | None:
    """The unit that the other system uses for the same thing."""
    if not unit.counterpart:
        return None
    other = by_symbol(unit.counterpart)
    small = other.symbol == "lbf·ft" and abs(internal) < SMALL_TORQUE
    imperial = quart == "imperial" and other.kind in ("volume", "flow")
    if (small or imperial) and other.mistaken:
        return by_symbol(other.mistaken)
    return by_symbol("lb/ft³") if quart == "imperial" and other.symbol == "lb/gal" else other


def _single(value: Any, quart: str) -> tuple[Unit, list[str], dict[str, Any]]:
    """One value: its own text, the other system's, and the data."""
    reading = value if isinstance(value, notation.Reading) else _measured(value)
    spread = reading.exact_spread
    if spread is not None and spread[0] == "normal":  # a standard uncertainty is shown expanded
        _, over, under = spread
        shown = rounded(f"({reading.value!r} ± {2 * over / under!r}) {reading.unit.symbol}", reading.unit.symbol).text
        data = {"value": reading.value, "uncertainty": 2 * over / under, "k": 2}
    else:
        shown = _own(reading)
        data = {"value": reading.value}
        if spread is not None:
            data |= {"uncertainty": spread[1] / spread[2], "k": 0}
    other = _other(reading.unit, reading.internal, quart)
    return reading.unit, [shown] if other is None else [shown, rounded(shown, other.symbol).text], data


def _own(reading: notation.Reading) -> str:
    """A written value in its own unit, with digits and fraction as written and the unit's full name."""
    if reading.places is None and reading.text.count(" ") > 1 and not reading.exact_spread:
        return str(rounded(reading.text, reading.unit.symbol).text)  # parts, such as 2 qt 8 fl oz
    number = _digits(reading)
    if reading.exact_spread is not None:
        half = decimals(*reading.exact_spread[1:])
        number += f" ± {decimal(to_step(half.num, half.den, (1, -half.places)), -half.places)}"
    return with_symbol(number, reading.unit)


def _measured(value: Any) -> notation.Reading:
    """A Quantity, uncertain number or share of one as a reading; an uncertain one with its standard uncertainty."""
    if isinstance(value, float) or uncertainty.is_uncertain(value):
        share = uncertainty.nominal(value)
        if not 0 <= share <= 1:
            raise RangeError("is not a share of one", code="range.outside", value=value, allowed="0 to 1; anything else needs a unit")
        if not uncertainty.standard(value):
            return notation.read(rounded(share, "%", 2 if share < 0.995 else 3).text)
        best, doubt, unit = 100 * share, 100 * uncertainty.standard(value), by_symbol("%")
    elif hasattr(value, "_REGISTRY"):
        from sumpwise.quantities import _pint

        unit, magnitude = _pint.unit_of(value), _pint.magnitude(value)
        if not (uncertainty.is_uncertain(magnitude) and uncertainty.standard(magnitude)):
            return notation.read(rounded(value, unit.symbol).text)
        best, doubt = uncertainty.nominal(magnitude), uncertainty.standard(magnitude)
    else:
        raise UnitError(
            "is not a number for a card", code="value.type", value=value, allowed="a text, a Quantity, a Span, a share of one or a count"
        )
    reading = notation.read(f"{best!r} {unit.symbol}")
    reading.exact_spread = ("normal", *doubt.as_integer_ratio())
    return reading


def _window(value: Span | notation.SpanReading, quart: str) -> tuple[Unit, list[str], dict[str, Any]]:
    """Two limits: as written, and in the other system rounded inward; the ends of an estimate to the nearest."""
    read = value if isinstance(value, notation.SpanReading) else _written_span(value)
    if read is None:
        from sumpwise.quantities import _pint

        assert isinstance(value, Span)
        unit = _pint.unit_of(value.lower)
        own = rounded_inward(value, unit.symbol)
        read = notation.read_span(own.text)
    unit = read.lower.unit
    own_text = with_symbol("–".join(_digits(limit) for limit in (read.lower, read.upper)), unit)
    if read.upper.unit is not unit or read.lower.num < 0:
        own_text = rounded_inward(read.text, unit.symbol).text
    data = {"lower": read.lower.value, "upper": read.upper.value}
    other = _other(unit, read.upper.internal, quart)
    if other is None:
        return unit, [own_text], data
    if limits(unit.kind, unit) or limits(other.kind, other):
        return unit, [own_text, rounded_inward(read.text, other.symbol).text], data
    return unit, [own_text, expected_span(amount_of(read.lower), amount_of(read.upper), other)], data


def _written_span(span: Span) -> notation.SpanReading | None:
    if not span.text:
        return None
    read = notation.read_span(span.text)
    same = read.lower.value == span.lower.magnitude and read.upper.value == span.upper.magnitude
    return read if same else None


def _digits(reading: notation.Reading) -> str:
    if reading.places is None:
        number = reading.text.replace("+/-", "±").partition("±")[0]
        return number.lstrip("( ").rstrip(" abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ°%\"·-")
    return decimal(to_step(reading.num, reading.den, (1, -reading.places)), -reading.places)
