"""A quantity as it stands in a text, and one that was not read."""

from __future__ import annotations

from sumpwise.quantities.notation import Reading, SpanReading

TYPE_CHECKING = False
if TYPE_CHECKING:
    from sumpwise.quantities.units import Unit


class Mention:
    """A quantity or span in the text.

    Attributes
    ----------
    start, end : int
        Where it stands.
    reading : Reading or SpanReading
        What was read.
    unit : Unit
        Its unit.
    kind : str
        The kind of quantity.
    compared : bool
        Whether it was compared with another number.
    at : Mention or None
        The temperature a volume is said to have ("3.35 L at 44 °C").
    shared : bool
        Whether it shares the number of the mention before it ("34 N·m/lbf·ft").
    tolerance : bool
        Whether it is a tolerance on its own after a ±.
    each : tuple of Mention or None
        Of so many of one size, or of a sum of them, the sizes: 12 x 1 qt.
    other : Reading or None
        The other reading of a number that may be meant two ways ("1.500 mL": 1.5 or 1500).
    """

    __slots__ = ("at", "compared", "end", "kind", "other", "reading", "shared", "start", "tolerance", "unit")

    each: tuple[Mention, ...] | None = None

    def __init__(
        self,
        start: int,
        end: int,
        reading: Reading | SpanReading,
        shared: bool = False,
        tolerance: bool = False,
        other: Reading | None = None,
    ) -> None:
        self.start = start
        self.end = end
        self.reading = reading
        unit = reading.unit if isinstance(reading, Reading) else reading.lower.unit
        self.unit: Unit = unit
        self.kind = unit.kind
        self.compared = False
        self.at: Mention | None = None
        self.shared = shared
        self.tolerance = tolerance
        self.other = other

    def measured_in(self, unit: Unit) -> None:
        """Change the unit of the same number, or of the same limits."""
        one = self.reading
        if isinstance(one, SpanReading):
            self.reading = SpanReading(one.text, _with_unit(one.lower, unit), _with_unit(one.upper, unit))
        else:
            self.reading = _with_unit(one, unit)
        self.unit, self.kind = unit, unit.kind

    @property
    def until(self) -> int:
        """Where it ends, including the temperature it is said to have."""
        return self.end if self.at is None else self.at.end

    @property
    def ends(self) -> tuple[Reading, ...]:
        """The reading, or the two of a span."""
        return (self.reading.lower, self.reading.upper) if isinstance(self.reading, SpanReading) else (self.reading,)

    @property
    def span(self) -> bool:
        """Whether it is a span."""
        return isinstance(self.reading, SpanReading)


class Product(Mention):
    """So many of one size together, or a sum of them."""

    __slots__ = ("each",)

    def __init__(self, start: int, end: int, reading: Reading, each: tuple[Mention, ...]) -> None:
        super().__init__(start, end, reading)
        self.each = each


class Refused:
    """A number with a unit that was not read: where it is, and why not."""

    __slots__ = ("end", "reason", "start")

    def __init__(self, start: int, end: int, reason: str) -> None:
        self.start = start
        self.end = end
        self.reason = reason


def _with_unit(reading: Reading, unit: Unit) -> Reading:
    return Reading(reading.text, unit, reading.num, reading.den, reading.places, reading.exact_spread)
