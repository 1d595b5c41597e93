"""What a dipstick or an overflow plug says about the fill, at any temperature."""

from __future__ import annotations

from math import ceil
from typing import Any, NamedTuple

from sumpwise import uncertainty
from sumpwise._math import cos, every, radians
from sumpwise.errors import RangeError
from sumpwise.fluid.density import ONE_DENSITY, ONE_TEMPERATURE, REFERENCE, TEMPERATURE, growth
from sumpwise.quantities.boundary import answer, argument, evaluate, unit_aware, worked_out
from sumpwise.quantities.expected import past
from sumpwise.quantities.reading import Read
from sumpwise.quantities.telling import against, as_given

TYPE_CHECKING = False
if TYPE_CHECKING:
    from sumpwise.accepted import (
        AngleLike,
        DensityLike,
        FractionLike,
        IntervalLike,
        LengthLike,
        NumberLike,
        SpanLike,
        TemperatureLike,
        VolumeLike,
    )

ALUMINIUM = 23e-6
"""Linear expansion of an aluminium case, per °C."""

STOP = 120.0
"""From this temperature up, in °C, no level is judged: let it cool."""


def _growth(temperature: Any, density_15: Any) -> Any:
    """Volume at a temperature over the volume at 20 °C."""
    return growth(REFERENCE, temperature, density_15)


def _room(temperature: Any, fill: Any, density_15: Any, middle: Any, case: Any) -> Any:
    """What the unit holds up to the target level: the fill at the middle of the window, in a case that expands with temperature."""
    return fill * _growth(middle, density_15) * (1.0 + 3.0 * case * (temperature - middle))


def off_target(
    reading: Any, temperature: Any, volume: Any, length: Any, fill: Any, density_15: Any, middle: Any, case: Any, bias: Any,
    bulk: Any = 0.0, air: Any = 0.0,
) -> Any:  # fmt: skip
    """Litres at 20 °C by which the fill is off its target, from a reading of the stick."""
    warm = temperature + bulk
    room = fill * growth(warm, middle, density_15) * (1.0 + 3.0 * case * (warm - middle))
    return (room + (reading - bias - 0.5 * length) * volume / length * growth(warm, REFERENCE, density_15)) / (1.0 + air) - fill


def _predicted(
    reading: Any, temperature: Any, at: Any, volume: Any, length: Any, fill: Any, density_15: Any, middle: Any, case: Any, bias: Any,
    bulk: Any, air: Any,
) -> Any:  # fmt: skip
    error = off_target(reading, temperature, volume, length, fill, density_15, middle, case, bias, bulk, air)
    warm = at + bulk
    above = (fill + error) * _growth(warm, density_15) * (1.0 + air) - _room(warm, fill, density_15, middle, case)
    return 0.5 * length + bias + above * length / volume


def _grown(start: Any, end: Any, fill: Any, density_15: Any, middle: Any, case: Any) -> Any:
    fluid = fill * (_growth(end, density_15) - _growth(start, density_15))
    return fluid - _room(end, fill, density_15, middle, case) + _room(start, fill, density_15, middle, case)


TOO_FAR = "is further from the target than the whole fill would move the level"
"""What is wrong with a reading that no stick shows."""
COUNTED_FROM = "a reading counts from the lower mark, negative below it: is its unit right?"


def readable(volume: Any, length: Any, fill: Any, bias: Any = 0.0) -> tuple[Any, Any]:
    """Readings between which those of a stick lie: the target, less and plus what the whole fill would be along the stick."""
    aim, reach = 0.5 * length + bias, fill * length / volume
    return aim - reach, aim + reach


def _on_the_stick(reading: Any, *others: Any) -> None:
    """Refuse readings that no stick shows; the last of the other values are those that a stick holds."""
    volume, length, fill, _, _, _, bias, _, _ = others[-9:]
    low, high = readable(volume, length, fill, bias)
    if not every(low < reading):
        raise past("reading", reading, "above", "", low, "length", TOO_FAR, code="range.outside", hint=COUNTED_FROM)
    if not every(reading < high):
        raise past("reading", reading, "below", "", high, "length", TOO_FAR, code="range.outside", hint=COUNTED_FROM)


FILL = argument("volume", above=0, scalar=True)
CASE = argument("number", minimum=0.0, maximum=1e-4, scalar=True)
_MARKS = argument("length", above=0, scalar=True)
_LENGTH = argument("length")
_ONE_LENGTH = _LENGTH.single()
_STEP = argument("length", minimum=0, scalar=True)
_BULK = argument("interval", minimum=-50, maximum=50, scalar=True)
_AIR = argument("fraction", minimum=0, maximum=0.5, scalar=True)


class Predicted(NamedTuple):
    """A reading outside the check window: what it predicts, with nothing to do about it yet.

    `error` is how far the level is off the target, in litres at 20 °C; `at_lower`, `at_middle` and `at_upper` are the readings to expect
    at the edges and in the middle of the window; `why` says why there is no instruction.
    """

    error: Any
    at_lower: Any
    at_middle: Any
    at_upper: Any
    why: str

    def __str__(self) -> str:
        return f"{self.error:+.2f} off the target, {self.at_middle:.2f} on the stick in the middle of the window; {self.why}"


class Judged(NamedTuple):
    """A reading inside the check window: `error`, `instruction` ("add", "take out" or "leave"), total `volume`, number of equal `steps`."""

    error: Any
    instruction: str
    volume: Any
    steps: int

    def __str__(self) -> str:
        off = f"{self.error:+.2f} off the target"
        if not self.steps:
            return f"{self.instruction} it: {off}"
        how = f"in {self.steps} steps, reading the stick after each" if self.steps > 1 else "and read the stick again"
        return f"{self.instruction} {self.volume:.2f} {how}: {off}"


class Stop(NamedTuple):
    """A reading that is not judged: `why` says what to do first."""

    why: str

    def __str__(self) -> str:
        return self.why


@unit_aware(
    slope=argument("angle", minimum=-30.0, maximum=30.0),
    distance=argument("length", minimum=0),
    returns="length",
)
def slope_bias(slope: AngleLike, distance: LengthLike) -> Any:
    r"""How much a floor that is not level adds to a dipstick reading.

    Parameters
    ----------
    slope : angle, scalar or array
        Slope of the floor along the line from the middle of the sump to the stick, -30 to 30 degrees; positive if the stick's side is
        lower.
    distance : length, scalar or array
        Distance from the middle of the sump's surface to the stick, along the vehicle's floor.

    Returns
    -------
    Quantity
        In the unit of `distance`; positive if the stick reads too high. For `Dipstick(bias=...)`.

    Raises
    ------
    SumpwiseError
        For an argument that cannot be read or lies outside its range.

    Notes
    -----
    distance·tan(slope): the surface stays level and pivots about its middle, as long as the sump's walls are nearly vertical.

    Examples
    --------
    >>> from sumpwise import slope_bias
    >>> print(f"{slope_bias('1 deg', '200 mm').m:.1f} mm")
    3.5 mm
    """
    return distance * cos(radians(90.0 - slope)) / cos(radians(slope))


class Dipstick:
    r"""A dipstick with two marks, read from the lower mark upwards; the target is halfway between them.

    Parameters
    ----------
    volume_between_marks : volume
        Fluid that raises the level from mark to mark, measured hot, in the check window.
    length_between_marks : length
        Distance between the marks along the stick.
    fill : volume
        All the fluid in the unit at the target level, at 20 °C, including converter, cooler and lines: all of it expands, and the
        expansion shows in the sump.
    density_15 : density
        Density of the fluid at 15 °C.
    window : span of temperatures
        Check window: where the maker says the marks are valid, such as "82-92 °C".
    case_expansion : number
        Linear expansion of the case per °C; the default of 23e-6 for aluminium is an assumption that a sheet prints.
    bias : length
        What the floor adds to every reading taken at this place, as given by `slope_bias`. If uncertain, all readings share its error.
    resolution : length
        Smallest step read on the stick. Each reading has its own rectangular uncertainty of half of it either way.
    reading_noise : length
        Standard uncertainty of a repeated reading, as fluid creeps up the stick and the eye is not level. New for every reading, in
        addition to the resolution; a reading with an uncertainty of its own gets neither.
    bulk : temperature interval
        How much warmer the fill as a whole is than the place where its temperature is taken. If uncertain, all readings share its error.
    air : fraction
        Air in the hot fluid beyond what the marks already allow for, as a share of the fill. If uncertain, all readings share its error.

    Raises
    ------
    SumpwiseError
        For an argument that cannot be read or lies outside its range.

    Notes
    -----
    With g the expansion of the fluid from 20 °C (API MPMS 11.1, see `volume_correction_factor`), F the fill, m the middle of the window
    and a the case's expansion, a reading r at t means

    .. math:: e = \frac{F\,g(m)\,(1 + 3a(t - m)) + (r - r_0)\,V/L}{(1 + x)\,g(t)} - F

    litres at 20 °C off the target, where r₀ is half the length L between the marks (plus the bias), V the volume between them, x the share
    of air, and t the temperature read plus `bulk`. A reading for which more would be missing, or too much, than the whole fill is refused.

    Examples
    --------
    >>> from sumpwise import Dipstick
    >>> stick = Dipstick("0.42 L", "13 mm", "8.85 L", "847 kg/m³", "82-92 °C")
    >>> print(f"{stick.predict('-2 mm', '61 °C', '86 °C'):.1f~P}")
    3.1 mm
    >>> stick.check("-2 mm", "61 °C").why
    'outside the window of 82 to 92 °C: this is a prediction; wait for the window before you add or take out fluid'
    """

    __slots__ = ("_asked", "_band", "_held", "_lower", "_middle", "_repeats", "_step", "_upper")

    def __init__(
        self, volume_between_marks: VolumeLike, length_between_marks: LengthLike, fill: VolumeLike, density_15: DensityLike,
        window: SpanLike, case_expansion: NumberLike = ALUMINIUM, bias: LengthLike = "0 mm", resolution: LengthLike = "0 mm",
        reading_noise: LengthLike = "0 mm", bulk: IntervalLike = "0 Δ°C", air: FractionLike = 0.0,
    ) -> None:  # fmt: skip
        lower, upper = (end.value for end in ONE_TEMPERATURE.read_span(window, "window"))
        self._lower, self._upper, self._middle = uncertainty.nominal(lower), uncertainty.nominal(upper), (lower + upper) / 2.0
        self._asked = (
            FILL.read(volume_between_marks, "volume_between_marks"), _MARKS.read(length_between_marks, "length_between_marks"),
            FILL.read(fill, "fill"),
        )  # fmt: skip
        self._held = [
            *(read.value for read in self._asked),
            ONE_DENSITY.value(density_15, "density_15"),
            self._middle,
            CASE.value(case_expansion, "case_expansion"),
            _ONE_LENGTH.value(bias, "bias"),
            _BULK.value(bulk, "bulk"),
            _AIR.value(air, "air"),
        ]
        if not uncertainty.nominal(self._held[0]) < uncertainty.nominal(self._held[2]):
            raise RangeError(
                "is more than the whole fill", code="range.above_bound", argument="volume_between_marks", value=volume_between_marks,
                allowed=against("below", uncertainty.nominal(self._held[2]), "volume", volume_between_marks, fill),
            )  # fmt: skip
        self._step = uncertainty.nominal(_STEP.value(resolution, "resolution"))
        self._repeats = uncertainty.nominal(_STEP.value(reading_noise, "reading_noise"))
        self._band = uncertainty.nominal(self._held[0]) / _growth(uncertainty.nominal(self._middle), uncertainty.nominal(self._held[3]))

    def _doubt(self, length: Any) -> Any:
        """The uncertainty of a reading in millimetres that has none of its own: the step of the scale, and how well it repeats."""
        if getattr(length, "ndim", 0) or uncertainty.is_uncertain(length):
            return 0.0
        step = uncertainty.source(0.0, self._step / 12**0.5, shape="rectangular", name="stick, step of the scale")
        return uncertainty.combine(0.0, [(1.0, step), (1.0, uncertainty.source(0.0, self._repeats, name="stick, reading"))])

    def _doubt_of(self, reading: Any) -> Any:
        """The uncertainty of a reading as it was given."""
        several = isinstance(reading, (list, tuple)) or bool(getattr(getattr(reading, "_magnitude", reading), "ndim", 0))
        return 0.0 if several else self._doubt(_LENGTH.value(reading, "reading"))

    def _ahead(self, length: Any, temperature: Any, at: Any, asker: Read) -> Any:
        return answer(evaluate(_predicted, [length, temperature, at, *self._held], (False,)), "length", asker, *self._asked)

    def error(self, reading: LengthLike, temperature: TemperatureLike, *, errors: str = "raise") -> Any:
        """How far the level is off the target, as a volume at 20 °C: negative if fluid is missing.

        Parameters
        ----------
        reading : length, scalar or array
            Distance up from the lower mark, negative below it.
        temperature : temperature, scalar or array
            Temperature of the fluid when it was read, -50 to 150 °C.
        errors : str
            What to do with bad rows of an array or a list: "raise" the first error, "mask" the rows with nan, or "collect" the errors
            beside the answer, as `.answer` and `.problems`: row, code and error of each.

        Returns
        -------
        Quantity
            In the unit of the volume between the marks.

        Raises
        ------
        SumpwiseError
            For an argument that cannot be read or lies outside its range.
        """
        return worked_out(
            "Dipstick.error", lambda length, warm, doubt, *held: off_target(length + doubt, warm, *held),
            {"reading": (_LENGTH, reading), "temperature": (TEMPERATURE, temperature)},
            lambda off, reads, gaps: answer(off, "volume", *self._asked, reads[0], gaps=gaps), errors,
            held=[self._doubt_of(reading), *self._held], judge=_on_the_stick,
        )  # fmt: skip

    def predict(
        self, reading: LengthLike, temperature: TemperatureLike, at: TemperatureLike | None = None, *, errors: str = "raise"
    ) -> Any:
        """Predict the reading at another temperature if nothing is added or taken out.

        Parameters
        ----------
        reading : length, scalar or array
            Distance up from the lower mark, negative below it.
        temperature : temperature, scalar or array
            Temperature of the fluid when it was read.
        at : temperature, scalar or array, optional
            Temperature to predict the reading for; by default the middle of the window.
        errors : str
            What to do with bad rows of an array or a list: "raise" the first error, "mask" the rows with nan, or "collect" the errors
            beside the answer, as `.answer` and `.problems`: row, code and error of each.

        Returns
        -------
        Quantity
            In the unit of `reading`.

        Raises
        ------
        SumpwiseError
            For an argument that cannot be read or lies outside its range.
        """
        given = {"reading": (_LENGTH, reading), "temperature": (TEMPERATURE, temperature)}
        given |= {} if at is None else {"at": (TEMPERATURE, at)}
        return worked_out(
            "Dipstick.predict",
            lambda length, warm, then, doubt, *held: _predicted(length + doubt, warm, then, *held), given,
            lambda seen, reads, gaps: answer(seen, "length", reads[0], *self._asked, gaps=gaps), errors,
            held=[*([self._middle] if at is None else []), self._doubt_of(reading), *self._held], judge=_on_the_stick,
        )  # fmt: skip

    def growth(self, from_temperature: TemperatureLike, to_temperature: TemperatureLike, *, errors: str = "raise") -> Any:
        """How much more the fill expands than the case between two temperatures; all of it shows in the sump.

        Parameters
        ----------
        from_temperature, to_temperature : temperature, scalar or array
            -50 to 150 °C.
        errors : str
            What to do with bad rows of an array or a list: "raise" the first error, "mask" the rows with nan, or "collect" the errors
            beside the answer, as `.answer` and `.problems`: row, code and error of each.

        Returns
        -------
        Quantity
            In the unit of the volume between the marks.

        Raises
        ------
        SumpwiseError
            For an argument that cannot be read or lies outside its range.
        """
        return worked_out(
            "Dipstick.growth", _grown,
            {"from_temperature": (TEMPERATURE, from_temperature), "to_temperature": (TEMPERATURE, to_temperature)},
            lambda grown, reads, gaps: answer(grown, "volume", *self._asked, gaps=gaps), errors, held=self._held[2:6],
        )  # fmt: skip

    def holds_at(self, temperature: TemperatureLike) -> bool:
        """Whether the marks are valid at a temperature: whether it is in the check window, edges included.

        Parameters
        ----------
        temperature : temperature
            Temperature of the fluid.

        Returns
        -------
        bool

        Raises
        ------
        SumpwiseError
            For an argument that cannot be read or lies outside its range.

        Notes
        -----
        One outside source.
        """
        return self._lower <= uncertainty.nominal(ONE_TEMPERATURE.value(temperature, "temperature")) <= self._upper

    def check(self, reading: LengthLike, temperature: TemperatureLike) -> Predicted | Judged | Stop:
        """Say what a reading means: an instruction inside the window, only a prediction outside it.

        Parameters
        ----------
        reading : length
            Distance up from the lower mark, negative below it.
        temperature : temperature
            Temperature of the fluid when it was read.

        Returns
        -------
        Judged, Predicted or Stop
            `Judged.instruction` is "add" if more than a sixth of the volume between the marks is missing, in steps of at most a third of
            that volume with a new reading after each; "take out" if there is more than half that volume too much; else "leave".
            `Predicted` has no instruction. From 120 °C up the answer is `Stop`.

        Raises
        ------
        SumpwiseError
            For an argument that cannot be read or lies outside its range.

        Notes
        -----
        How far off a reading is has outside sources; from where on fluid is added or taken out, and in how many steps, is a rule of this
        library.
        """
        read, now = _ONE_LENGTH.read(reading, "reading"), ONE_TEMPERATURE.value(temperature, "temperature")
        length = read.value + self._doubt(read.value)
        if uncertainty.nominal(now) >= STOP:
            return Stop(f"stop: fluid at {STOP:g} °C or more; engine off, let it cool")
        try:
            _on_the_stick(*map(uncertainty.nominal, (read.value, *self._held)))
        except RangeError as refused:
            as_given(refused, {"reading": reading})
            raise
        off = evaluate(off_target, [length, now, *self._held], (False,))
        if not self.holds_at(temperature):
            error = answer(off, "volume", *self._asked, read)
            lower, middle, upper = (self._ahead(length, now, edge, read) for edge in (self._lower, self._middle, self._upper))
            window = f"{self._lower:g} to {self._upper:g} °C"
            why = f"outside the window of {window}: this is a prediction; wait for the window before you add or take out fluid"
            return Predicted(error, lower, middle, upper, why)
        return judged(self, off, read)

    def __repr__(self) -> str:
        volume, length, fill = (read.given for read in self._asked)
        return f"Dipstick({volume!r}, {length!r}, {fill!r}, window {self._lower:g} to {self._upper:g} °C)"


def judged(stick: Dipstick, off: Any, *askers: Read) -> Judged:
    """What to do about a level, so many litres off the target, that was read in the check window."""

    def told(litres: Any) -> Any:
        return answer(litres, "volume", *stick._asked, *askers)

    best, error = uncertainty.nominal(off), told(off)
    if best < -stick._band / 6.0:
        return Judged(error, "add", told(-off), ceil(-best / (stick._band / 3.0) * (1.0 - 1e-12)))
    if best > stick._band / 2.0:
        return Judged(error, "take out", error, 1)
    return Judged(error, "leave", told(0.0 * off), 0)
