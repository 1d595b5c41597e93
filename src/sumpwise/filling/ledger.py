"""The ledger: what came out and what went in, compared at one temperature; errors that readings share stay shared."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from sumpwise import uncertainty
from sumpwise._display import Displayed
from sumpwise._record import Unchanging
from sumpwise._stored import reading, within
from sumpwise.errors import CountLostError, RangeError, expect
from sumpwise.filling import stored
from sumpwise.filling.explanation import Explanation, explained
from sumpwise.filling.lines import Fluid, Line, added, lives, replaced, same_vessel, sources_of
from sumpwise.filling.tally import Tally
from sumpwise.fluid.density import ONE_DENSITY, ONE_TEMPERATURE, TEMPERATURE
from sumpwise.quantities.boundary import answer, argument
from sumpwise.quantities.reading import Read
from sumpwise.quantities.telling import in_unit, plainly, unit_given

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from sumpwise.accepted import DensityLike, NumberLike, TemperatureLike, VolumeLike
    from sumpwise.filling.vessel import Vessel
    from sumpwise.quantities.units import Unit

SIGNED = argument("volume", scalar=True)
REFERENCE = TEMPERATURE.single("it is a convention, not a measurement")
LOST = argument("volume", minimum=0.0, scalar=True)
CAPACITY = argument("volume", above=0.0, scalar=True, optional=True)
TIMES = argument("number", minimum=0.0, scalar=True)
BEGIN_AGAIN = "stop, read the stick, and begin a new ledger from there"


class Ledger(Displayed, Unchanging):
    """An append-only account of fluid drained and poured.

    Every entry returns a new ledger; the old one is unchanged. A vessel is known by its name: all its readings share the error of its
    scale, and only the noise of reading averages out. A named thermometer is shared in the same way.

    Parameters
    ----------
    density_15 : density
        Density of the fluid at 15 °C, 800.9 to 1163.5 kg/m³; may have an uncertainty.
    reference : temperature
        Temperature at which volumes are compared.
    capacity : volume, optional
        What the unit holds when correctly filled, at the reference temperature; an entry that drains or loses more than that, by over
        three standard uncertainties, is refused.

    Raises
    ------
    SumpwiseError
        For an argument that cannot be read or is out of range.

    See Also
    --------
    Vessel : what a reading means.

    Notes
    -----
    Balance = Σ poured - Σ drained - Σ lost, each as scale · reading · VCF(t)/VCF(reference) (API MPMS 11.1). Its variance is GUM (JCGM
    100:2008) equation 16 with every shared error as one source: Σ noise² + Σ over vessels (Σ signed volume · u(scale)/scale)² + Σ over
    thermometers (Σ slope · u)². Every reading that counts has noise, poured ones too; in a cumulative series only the last one counts.

    Examples
    --------
    >>> from sumpwise import Ledger, Vessel
    >>> pail = Vessel("pail", "0.25 L", scale=1 / 1.019, scale_uncertainty=0.004)
    >>> jug = Vessel("jug", "0.05 L")
    >>> ledger = Ledger("847 kg/m³").drained(pail, "3.35 L", "44 °C").poured(jug, "3.30 L", "17 °C")
    >>> print(f"{ledger.balance.magnitude:.2f}")
    0.08+/-0.04
    """

    __slots__ = ("_added", "_capacity", "_count", "_fluid", "_log", "_registry", "_tally", "_unit")

    def __init__(self, density_15: DensityLike, reference: TemperatureLike = "20 °C", *, capacity: VolumeLike | None = None) -> None:
        self._fluid = Fluid(ONE_DENSITY.value(density_15, "density_15"), REFERENCE.value(reference, "reference"))
        full = CAPACITY.read(capacity, "capacity")
        self._capacity, self._unit, self._registry = full.value, full.unit, full.registry
        self._begin(Tally())

    def _begin(self, tally: Tally) -> None:
        self._log, self._count, self._tally = tally.log, len(tally.log), [tally]
        self._added: Any = None

    # -- entries

    def started(self, error: VolumeLike) -> Ledger:
        """Enter the level before the work.

        Parameters
        ----------
        error : volume
            How far the level was off the target before anything was drained, at the reference temperature: negative if fluid was missing.
            May have an uncertainty; its sources stay shared with anything else that rests on the same reading.

        Returns
        -------
        Ledger
        """
        if self._count:
            raise RangeError(
                "the start level must be entered first", code="ledger.start_late", argument="started", value=error,
                hint="begin a new ledger",
            )  # fmt: skip
        read = SIGNED.read(error, "start level")
        line = Line("started", reading=read.value)
        return self._entered(lambda tally: (line.reckon(self._fluid, False), read))

    def drained(
        self, vessel: Vessel | str, reading: VolumeLike | None, temperature: TemperatureLike | None, cumulative: bool = False,
        thermometer: str | None = None, weighed: bool = False,
    ) -> Ledger:  # fmt: skip
        """Enter fluid that came out.

        Parameters
        ----------
        vessel : Vessel or str
            The vessel that caught it; its name is enough if it was used before.
        reading : volume
            As read on the vessel.
        temperature : temperature
            Temperature of the fluid when it was read; may have an uncertainty. A sealed pack counts as printed, whatever it is.
        cumulative : bool
            Whether the reading is the total in the vessel since it was last emptied; it then replaces the vessel's readings since then.
        thermometer : str, optional
            Name of the thermometer: all its readings then share the uncertainty of the temperature.
        weighed : bool
            Whether the reading is what the fluid weighed, as a volume (`weighed_fluid`): then no error of the vessel is in it.

        Returns
        -------
        Ledger
        """
        return self._measured("drained", vessel, reading, temperature, cumulative, thermometer, weighed)

    def poured(
        self, vessel: Vessel | str, reading: VolumeLike | None, temperature: TemperatureLike | None, cumulative: bool = False,
        thermometer: str | None = None, weighed: bool = False,
    ) -> Ledger:  # fmt: skip
        """Enter fluid that went in.

        Parameters
        ----------
        vessel : Vessel or str
            The vessel it came from; its name is enough if it was used before.
        reading, temperature, cumulative, thermometer, weighed : volume, temperature, bool, str, bool
            As for `drained`.

        Returns
        -------
        Ledger
        """
        return self._measured("poured", vessel, reading, temperature, cumulative, thermometer, weighed)

    def emptied(self, vessel: Vessel | str) -> Ledger:
        """Enter that a vessel was emptied; its next cumulative reading starts from zero.

        Parameters
        ----------
        vessel : Vessel or str
            The vessel that was read and then emptied.

        Returns
        -------
        Ledger
        """

        def line(tally: Tally) -> tuple[Line, None]:
            found = same_vessel(tally.known, vessel)
            if found.name not in tally.filled:
                raise CountLostError(
                    f"the {found.name} has not been read since it was last emptied: what it held is not in the count",
                    code="count.not_read", argument="emptied", value=found.name, hint=BEGIN_AGAIN,
                )  # fmt: skip
            return Line("emptied", found), None

        return self._entered(line)

    def lost(self, volume: VolumeLike, what: str, temperature: TemperatureLike | None = None) -> Ledger:
        """Enter fluid that ended up neither in a measured vessel nor back in the unit: filter, rags, hose, spill.

        Parameters
        ----------
        volume : volume
            Estimated or weighed; may have an uncertainty.
        what : str
            Where it went.
        temperature : temperature, optional
            Temperature that the volume refers to; the reference temperature by default.

        Returns
        -------
        Ledger
        """
        if not isinstance(what, str) or not what.strip():
            raise RangeError(
                "must say where the fluid went", code="argument.missing", argument="what", value=what, allowed="filter, rags, hose …"
            )
        warm = None if temperature is None else ONE_TEMPERATURE.value(temperature, "temperature")
        read = LOST.read(volume, what)
        line = Line("lost", None, read.value, warm, what=what)
        return self._entered(lambda tally: (line.reckon(self._fluid, False), read))

    def _measured(
        self, kind: str, vessel: Any, reading: Any, temperature: Any, cumulative: bool, thermometer: str | None, weighed: bool
    ) -> Ledger:  # fmt: skip
        if thermometer is not None and (not isinstance(thermometer, str) or not thermometer.strip()):
            raise RangeError("must be the name of a thermometer", code="argument.missing", argument="thermometer", value=thermometer)
        expect(cumulative, bool, "cumulative", "True or False")
        expect(weighed, bool, "weighed", "True or False")

        def line(tally: Tally) -> tuple[Line, Read]:
            found = same_vessel(tally.known, vessel)
            for value, name in ((reading, "reading"), (temperature, "temperature")):
                if value is None:
                    raise CountLostError(
                        f"the {found.name} has no {name}: the count of fluid ends here", code="count.no_reading", argument=name,
                        hint=BEGIN_AGAIN,
                    )
            warm = ONE_TEMPERATURE.value(temperature, f"temperature of the {found.name}")
            if kind == "poured":
                warm = found._poured_at(warm)
            read = found._read(reading, f"reading of the {found.name}")
            one = Line(kind, found, read.value, warm, cumulative, thermometer, weighed=weighed)
            one.reckon(self._fluid, found.name in tally.wet, tally.gauges)
            if cumulative:
                tally.must_not_fall(one, read, reading)
            return one, read

        return self._entered(line)

    def _entered(self, line: Callable[[Tally], tuple[Line, Read | None]]) -> Ledger:
        """A new ledger with one more line. The tally moves on with it, unless the line is refused."""
        try:
            tally = self._tally.pop()
        except IndexError:  # a newer ledger has taken it
            tally = Tally(self._log[: self._count])
        try:
            entry, read = line(tally)
            if self._capacity is not None:
                tally.must_be_there(entry, self._capacity, read)
        except BaseException:
            self._tally.append(tally)
            raise
        tally.take(entry)
        new = object.__new__(Ledger)
        new._fluid, new._capacity, new._unit, new._registry = self._fluid, self._capacity, self._unit, self._registry
        if new._unit is None and read is not None:
            new._unit, new._registry = read.unit, read.registry
        new._begin(tally)
        return new

    # -- answers

    def _answer(self, litres: Any) -> Any:
        return answer(litres, "volume", unit=self._unit, registry=self._registry)

    def _running(self, count: int) -> Any:
        """Poured minus drained after this many lines; the contributions are worked out when first needed."""
        value, standard = self._log[count - 1].running if count else (0.0, 0.0)
        if not standard:
            return value
        log = self._log
        return uncertainty.Deferred(value, standard, lambda: sources_of(line for line in replaced(log[:count]) if line.kind != "started"))

    @property
    def capacity(self) -> Any:
        """What the unit holds when correctly filled, at the reference temperature, or None."""
        return None if self._capacity is None else self._answer(self._capacity)

    @property
    def added(self) -> Any:
        """What the last entry alone moved, at the reference temperature: poured is positive, and of a cumulative reading what it adds.

        An uncertain Quantity in the unit of the first entry; of an empty ledger, nothing. Own model, no outside value.
        """
        if not self._count:
            return self._answer(0.0)
        if self._added is None:
            litres = self._log[self._count - 1].running[0] - (self._log[self._count - 2].running[0] if self._count > 1 else 0.0)
            self._added = uncertainty.contributed(litres, added(self._log[: self._count]))
        return self._answer(self._added)

    @property
    def balance(self) -> Any:
        """Poured minus drained and lost, at the reference temperature: an uncertain Quantity in the unit of the first entry."""
        return self._answer(self._running(self._count))

    def running(self) -> list[Any]:
        """The balance after every line, with all correlations; takes time linear in the number of lines."""
        return [self._answer(self._running(count)) for count in range(1, self._count + 1)]

    @property
    def start(self) -> Any:
        """How far the unit was off the target before the work, or None."""
        return self._answer(self._log[0].reading) if self._knows_start() else None

    def _knows_start(self) -> bool:
        return self._count > 0 and self._log[0].kind == "started"

    @property
    def off_target(self) -> Any:
        """How far off the target the level should be now, at the reference temperature; `CountLostError` without a start level."""
        return self._answer(self._off_target())

    def _off_target(self) -> Any:
        if not self._knows_start():
            raise CountLostError(
                "the level before the work is not in the ledger, so it cannot say what the level is now", code="count.no_start",
                argument="started", hint="begin the ledger with .started(error)",
            )  # fmt: skip
        start, done = self._log[0].reading, self._running(self._count)
        return uncertainty.combine(uncertainty.nominal(start) + uncertainty.nominal(done), [(1.0, start), (1.0, done)])

    @property
    def total_poured(self) -> Any:
        """Everything poured, at the reference temperature."""
        return self._total("poured")

    @property
    def total_drained(self) -> Any:
        """Everything drained or lost, at the reference temperature."""
        return self._total("drained", "lost")

    def _total(self, *kinds: str) -> Any:
        chosen = [line for line in replaced(self._log[: self._count]) if line.kind in kinds]
        sign = 1.0 if "poured" in kinds else -1.0
        parts = {source: sign * size for source, size in sources_of(chosen).items()}
        return self._answer(uncertainty.contributed(math.fsum(sign * line.value for line in chosen), parts))

    def explain(self, level: VolumeLike | None = None) -> Explanation:
        """Split poured minus drained into its causes.

        Parameters
        ----------
        level : volume, optional
            How far off the target the level was found after the last entry, at the reference temperature; by default it is on the target.

        Returns
        -------
        Explanation
            Its `.rows` add up to `.rest`; see also `.z` and `.best`. Printing it gives a table.
        """
        found = 0.0 if level is None else SIGNED.value(level, "level")
        return explained(replaced(self._log[: self._count]), found, level is not None, self._answer)

    def next_pour(
        self, vessel: Vessel | str, temperature: TemperatureLike, *, lower: VolumeLike, upper: VolumeLike, aim: VolumeLike = "0 L",
        k: NumberLike = 2.0,
    ) -> Any:  # fmt: skip
        """What to pour next: up to k·u below the level aimed at, and at least k·u away from both limits.

        Parameters
        ----------
        vessel : Vessel or str
            The vessel to pour from: the answer is a reading on its scale.
        temperature : temperature
            Temperature of the fluid in it.
        lower, upper : volume
            Limits, as distances from the middle of the marks at the reference temperature: below `lower` the pump starves, above `upper`
            the unit is overfilled.
        aim : volume
            The level aimed at, as a distance from the middle of the marks.
        k : float
            How many standard uncertainties to stay away.

        Returns
        -------
        Quantity
            In the unit of the vessel; zero if nothing may be poured.

        Raises
        ------
        CountLostError
            If the limits are too close together for the uncertainty: the count can no longer guide the filling.
        """
        wide, off = TIMES.value(k, "k"), self._off_target()
        limits = {"lower": lower, "upper": upper, "aim": aim}
        low, high, goal = (uncertainty.nominal(SIGNED.value(value, name)) for name, value in limits.items())
        if not low <= goal <= high:
            raise RangeError(
                "must lie between lower and upper", code="range.outside", argument="aim", value=aim,
                allowed=f"{plainly(lower)} to {plainly(upper)}", limits=(low, high, "L"),
            )  # fmt: skip
        away = wide * uncertainty.standard(off)
        if low + away > high - away:
            raise CountLostError(
                f"±{in_unit(away, unit_given(upper, 'volume'), upward=True)} of uncertainty leaves no room between starving "
                f"({plainly(lower)}) and overfilling ({plainly(upper)})",
                code="count.no_room", argument="next_pour", hint=f"stop and measure: {self.explain().best.advice}",
                limits=(low, high, "L"),
            )  # fmt: skip
        wanted = max(goal - away, low + away) - uncertainty.nominal(off)  # and so below high - away
        hand = same_vessel({one.vessel.name: one.vessel for one in self._log[: self._count] if one.vessel is not None}, vessel)
        warm = hand._poured_at(uncertainty.nominal(ONE_TEMPERATURE.value(temperature, "temperature")))
        one = hand._meaning(1.0, warm, "poured", wet=True)
        return hand._answer((wanted / self._fluid.factor(warm) + one.residue) / one.each if wanted > 0 else 0.0)

    # -- records

    @property
    def lines(self) -> tuple[str, ...]:
        """What was entered, in words."""
        return tuple(line.label for line in self._log[: self._count])

    def counting(self) -> tuple[tuple[float, int | None], ...]:
        """What each line adds to the balance, litres at the reference temperature, and the position of the line that replaced it."""
        log = self._log[: self._count]
        return tuple((line.value, end) for line, end in zip(log, lives(log), strict=True))

    def _table(self) -> tuple[list[str], list[list[str]]]:
        return self.explain()._table()

    def _below(self) -> list[str]:
        return self.explain()._below()

    def __len__(self) -> int:
        return self._count

    def __repr__(self) -> str:
        return f"Ledger({self._count} line{'s' * (self._count != 1)}, balance {self.balance:.3g})"

    def to_dict(self) -> dict[str, Any]:
        """Give the entries as plain data with a version; no results. Sources that entries share stay shared."""
        return stored.written(self._fluid.density, self._fluid.reference, self._capacity, self._unit, self._log[: self._count])

    @classmethod
    def from_dict(cls, data: dict[str, Any]) -> Ledger:
        """Build a ledger from the data of `to_dict`; every entry is read and checked as if it were entered again.

        Parameters
        ----------
        data : dict
            As returned by `to_dict`, possibly after a round trip through JSON.

        Returns
        -------
        Ledger
        """
        with reading("ledger", keys=stored.KEYS):
            book = stored.read(data)
            ledger = cls(book.density, book.reference, capacity=book.capacity)
            ledger._unit = book.unit
            for i, entry in enumerate(book.entries):
                with within("lines", i, keys=data["lines"][i]):
                    ledger = getattr(ledger, entry.method)(*entry.arguments)
        return ledger

    @staticmethod
    def json_schema() -> dict[str, Any]:
        """Describe what `to_dict` returns, as JSON Schema (2020-12).

        Returns
        -------
        dict
            Plain data.
        """
        return stored.json_schema()

    def __reduce__(self) -> tuple[object, ...]:
        return (_restored, (self._fluid.density, self._fluid.reference, self._capacity, self._unit, self._log[: self._count]))


def last_entered(ledger: Ledger) -> Mapping[Any, float]:
    """Source -> signed contribution of the last entry alone, in litres at the reference temperature."""
    return ledger._log[ledger._count - 1].contributions()


def still_inside(ledger: Ledger, vessel: str) -> dict[Any, float]:
    """Source -> signed contribution of everything drained into a vessel since it was last emptied, likewise."""
    lines = ledger._log[: ledger._count]
    own = [line.vessel is not None and line.vessel.name == vessel for line in lines]
    first = max((place for place, line in enumerate(lines) if own[place] and line.kind == "emptied"), default=-1) + 1
    standing = zip(lines[first:], own[first:], lives(lines)[first:], strict=True)
    return sources_of(line for line, here, end in standing if here and end is None and line.kind == "drained")


def _restored(density: Any, reference: float, capacity: Any, unit: Unit | None, lines: list[Line]) -> Ledger:
    """A ledger from its own lines, sources included, as a pickle holds them."""
    full = None if capacity is None else answer(capacity, "volume")
    ledger = Ledger(answer(density, "density"), f"{reference!r} °C", capacity=full)
    ledger._unit = unit
    ledger._begin(Tally(lines))
    return ledger
