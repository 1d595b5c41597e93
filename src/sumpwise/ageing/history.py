"""The history of a fill: every partial change, by time or by distance, and the ages of the fluid that is left inside.

Percent fresh is never percent of life left: an age says how long fluid has been inside, not what it has been through.
"""

from __future__ import annotations

from bisect import bisect_left
from math import fsum, inf, log, log1p

from sumpwise._record import Record, Unchanging
from sumpwise._stored import reading, within
from sumpwise.ageing.rates import AGE, SAME, age_at, age_over, age_slopes, cohort_shares, share_older, share_slopes
from sumpwise.errors import RangeError, UnitError
from sumpwise.quantities.boundary import answer, argument, evaluate
from sumpwise.quantities.magnitudes import best_of
from sumpwise.quantities.reading import Read

PARTS = 4
"""What is kept of a change: its share as read and as given, its moment as given, and the unit of that moment. They are kept in one list,
since many small records would be a lot of work for the garbage collector."""
MOST_CHANGES = 10_000
"""The most changes until the steady state; more are a typo."""
TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from typing import Any

    from sumpwise.accepted import FractionLike, IntervalLike, MomentLike, TemperatureLike, TimeLike


class Cohort(Record):
    """Fluid that went in at one moment: its `age` and its `share` of the fill."""

    age: Any
    share: Any


_START = argument(AGE, scalar=True)
_MOMENT = {kind: argument(kind, scalar=True, exact="only the start and the shares may be uncertain") for kind in AGE}
_LIMIT = {kind: argument(kind, minimum=0, scalar=True, exact="give the limit alone") for kind in AGE}
_INTERVAL = {kind: argument(kind, above=0, scalar=True) for kind in AGE}
_SHARE = argument("fraction", scalar=True)
_CHANGED, _NEARNESS = argument("fraction", above=0, maximum=1, scalar=True), argument("fraction", above=0, below=1, scalar=True)


class FluidHistory(Unchanging):
    """What a fill has been through: when it was all new, and when which share was replaced.

    Parameters
    ----------
    start : time or distance
        When the fill was all new, on the same axis as all later moments: "-9 y" for nine years ago if today is 0, "0 km" for the
        odometer of a new vehicle. An uncertain start ("-9 ± 1 y") is for a fill whose age is not well known.

    Raises
    ------
    SumpwiseError
        For a start without a unit or with a unit of a different kind.

    Notes
    -----
    Every change replaces a share of the well-mixed fill, so each filling is a cohort that shrinks by a factor of 1 - r at each later
    change. Times and distances cannot be mixed. A history never changes: `replace` returns a new one. It may be asked about any moment
    since the start; at the moment of a change, the answer is for just after it. Give the same uncertain share to several changes to say
    that they share its error. A query takes time proportional to the number of changes, times the number of errors that several changes
    share. Percent fresh is never percent of life left.

    Examples
    --------
    >>> from sumpwise import FluidHistory
    >>> history = FluidHistory("-9 y").replace(0.375, at="0 y")
    >>> print(history.mean_age("0 y"), "|", history.mean_age("1 y"))
    5.625 year | 6.625 year
    >>> history.share_older_than("5 y", at="1 y")
    0.625
    """

    __slots__ = ("_begun", "_changes", "_count", "_kind", "_moments", "_start", "_tail")

    def __init__(self, start: MomentLike) -> None:
        read = _START.read(start, "start")
        if read.unit is None:
            raise UnitError(
                "has no unit; expected a time or distance", code="unit.missing", argument="start", value=start,
                allowed="such as '-9 y' or '0 km'",
            )  # fmt: skip
        self._kind = read.kind
        self._start = read.value
        self._begun = read
        self._keep([], [])

    def _keep(self, moments: list[float], changes: list[Any]) -> None:
        """Keep the moments in order, and the `PARTS` of all changes one after another. The newest history owns both lists."""
        self._moments, self._changes, self._count, self._tail = moments, changes, len(moments), [True]

    def replace(self, fraction: FractionLike, at: MomentLike) -> FluidHistory:
        """Return the history with one more partial change.

        Parameters
        ----------
        fraction : fraction
            Share of the fill that is replaced, 0 to 1; may be uncertain.
        at : time or distance
            When: not before the previous change; at the same moment the order does not matter.

        Returns
        -------
        FluidHistory

        Raises
        ------
        SumpwiseError
            For a share outside 0 to 1, a moment of a different kind, or one before the last change.

        Examples
        --------
        >>> from sumpwise import FluidHistory
        >>> print(FluidHistory("0 km").replace("50 %", "60000 km").mean_age("80000 km"))
        50000.0 kilometer
        """
        moment = self._moment(at, "at", since=self._last())
        share = _SHARE.value(fraction, "fraction")
        try:
            self._tail.pop()
            moments, changes = self._moments, self._changes
        except IndexError:  # a newer history has extended them
            moments, changes = self._past, self._changes[: self._count * PARTS]
        moments.append(moment.value)
        changes += share, fraction, moment.given, moment.unit
        later = object.__new__(FluidHistory)
        later._kind, later._start, later._begun = self._kind, self._start, self._begun
        later._keep(moments, changes)
        return later

    def mean_age(self, at: MomentLike) -> Any:
        """Mean age of the fill at a moment (just after a change made at that moment).

        Parameters
        ----------
        at : time or distance
            Not before the start.

        Returns
        -------
        Quantity
            In the unit of `at`; uncertain if a share or the start is. Never a statement about life left.
        """
        moment = self._moment(at, "at")
        return self._age(self._age_at(self._start, self._past, moment.value), moment)

    def _age_at(self, start: Any, moments: Sequence[float], at: float) -> Any:
        return self._carried(
            start, lambda start, shares: age_at(start, moments, shares, at),
            lambda start, shares: age_slopes(start, moments, shares, at, at),
        )  # fmt: skip

    def average_age(self, since: MomentLike, until: MomentLike) -> Any:
        """Mean age averaged over the time from `since` to `until`, exactly.

        Parameters
        ----------
        since, until : time or distance
            A period that does not begin before the start.

        Returns
        -------
        Quantity
            In the unit of `since`.

        Examples
        --------
        >>> from sumpwise import FluidHistory
        >>> print(FluidHistory("-9 y").average_age("0 y", "10 y"))
        14.0 year
        """
        return self._average(self._moment(since, "since"), self._moment(until, "until"))

    def _average(self, begin: Read, end: Read) -> Any:
        if not end.value > begin.value:
            raise RangeError("must come after `since`", code="time.order", argument="until", value=end.given)
        moments, span = self._past, (begin.value, end.value)
        found = self._carried(
            self._start, lambda start, shares: age_over(start, moments, shares, *span),
            lambda start, shares: age_slopes(start, moments, shares, *span),
        )  # fmt: skip
        return self._age(found, begin, end)

    def share_older_than(self, age: MomentLike, at: MomentLike) -> Any:
        """Share of the fill that is at least a given age at a moment (just after a change made at that moment).

        Parameters
        ----------
        age : time or distance
            Of the same kind as the start, at least 0.
        at : time or distance
            Not before the start.

        Returns
        -------
        float or uncertain number
            0 to 1. After n changes of share r every τ, the share older than kτ (k ≤ n) is (1 - r)ᵏ. The best value of an uncertain start
            is used: the share jumps at that age, and a jump has no first-order uncertainty.
        """
        limit, moment = _LIMIT[self._kind].value(age, "age"), self._moment(at, "at")
        moments, when = self._past, (limit, moment.value)
        return self._carried(
            best_of(self._start), lambda start, shares: share_older(start, moments, shares, *when),
            lambda start, shares: share_slopes(start, moments, shares, *when), share=True,
        )  # fmt: skip

    def distribution(self, at: MomentLike) -> tuple[Cohort, ...]:
        """The fillings still inside at a moment.

        Parameters
        ----------
        at : time or distance
            Not before the start.

        Returns
        -------
        tuple of Cohort
            `.age` and `.share` of each filling, oldest first; the shares add up to 1.

        Examples
        --------
        >>> from sumpwise import FluidHistory
        >>> [(str(c.age), c.share) for c in FluidHistory("-9 y").replace(0.375, at="0 y").distribution("1 y")]
        [('10.0 year', 0.625), ('1.0 year', 0.375)]
        """
        moment = self._moment(at, "at")
        births = [self._start, *(m for m in self._past if m <= moment.value)]
        shares = self._shares[: len(births) - 1]
        found = evaluate(lambda *shares: cohort_shares(shares), shares, (True,) * len(births))
        return tuple(Cohort(self._age(moment.value - b, moment), s) for b, s in zip(births, found, strict=True) if best_of(s) > 0)

    def next_due(
        self, *, mean_age: MomentLike | None = None, older_than: MomentLike | None = None, share: FractionLike | None = None
    ) -> Any:
        """When the next change is due to stay within a limit.

        Parameters
        ----------
        mean_age : time or distance
            The mean age must not exceed this. Or:
        older_than, share : age and fraction
            At most `share` of the fill may be of the age `older_than` or older.

        Returns
        -------
        Quantity
            A moment in the unit of the start, never before the last change; if it equals that moment, the last change was not enough. The
            limit is the caller's: the library never supplies an interval.

        Raises
        ------
        SumpwiseError
            Unless exactly one limit is given.

        Examples
        --------
        >>> from sumpwise import FluidHistory
        >>> history = FluidHistory("-9 y").replace(0.75, at="0 y")
        >>> print(history.next_due(mean_age="4 y"), "|", history.next_due(older_than="5 y", share=0.3))
        1.75 year | 5.0 year
        """
        last = self._last()
        if mean_age is not None and older_than is None and share is None:
            limit = _LIMIT[self._kind].value(mean_age, "mean_age")
            moments = self._past
            due = self._carried(
                self._start, lambda start, shares: last + limit - age_at(start, moments, shares, last),
                lambda start, shares: [-slope for slope in age_slopes(start, moments, shares, last, last)],
            )  # fmt: skip
            due = last if best_of(due) < last else due
        elif mean_age is None and older_than is not None and share is not None:
            limit, most = _LIMIT[self._kind].value(older_than, "older_than"), _SHARE.value(share, "share")
            if best_of(most) >= 1:
                raise RangeError("is no limit: any fill meets it", code="range.outside", argument="share", value=share, allowed="below 1")
            births, left, due = [best_of(self._start), *self._past], 0.0, last
            for born, part in zip(births, cohort_shares([best_of(s) for s in self._shares]), strict=True):
                left += part
                if left > best_of(most) * (1 + SAME):
                    due = max(last, born + limit)
                    break
        else:
            raise RangeError(
                "takes exactly one limit", code="argument.together", argument="next_due", allowed="mean_age=…, or older_than=… with share=…"
            )
        return self._age(due)

    def changes_to_steady(self, fraction: FractionLike, interval: MomentLike, within: FractionLike = 0.05) -> int:
        """How many changes at a steady rhythm bring the mean age close to its steady state.

        Parameters
        ----------
        fraction : fraction
            Share of each change, above 0.
        interval : time or distance
            Time or distance from one change to the next; the first comes one interval after the last change, or after the start.
        within : fraction
            By what share the peak just before a change may differ from `mean_age_before(fraction, interval)`.

        Returns
        -------
        int
            The number of changes after which every later peak is that close; 0 if the first one already is.

        Raises
        ------
        SumpwiseError
            If it takes more than ten thousand.

        Notes
        -----
        Each change leaves 1 - r of the gap to the steady state, so after n changes (1 - r)ⁿ of it is left.

        Examples
        --------
        >>> from sumpwise import FluidHistory
        >>> FluidHistory("0 y").changes_to_steady(0.5, "1 y", within=0.05)
        4
        """
        r = best_of(_CHANGED.value(fraction, "fraction"))
        tau = best_of(_INTERVAL[self._kind].value(interval, "interval"))
        near = best_of(_NEARNESS.value(within, "within")) * (1 + SAME)  # a tie counts as within
        first = age_at(best_of(self._start), self._past, [best_of(s) for s in self._shares], self._last()) + tau
        off = abs(first * r / tau - 1)
        if off <= near:
            return 0
        if r == 1:
            return 1
        number = log(near / off) / log1p(-r)
        if number > MOST_CHANGES:
            raise RangeError(
                f"takes more than {MOST_CHANGES} changes", code="limit.count", argument="fraction", value=fraction,
                hint="replace more at a time",
            )  # fmt: skip
        return int(number) + 1

    def heat_age(
        self, at: MomentLike, temperature: TemperatureLike | Sequence[tuple[TimeLike, TemperatureLike]],
        reference: TemperatureLike = "80 °C", halving: IntervalLike = "11 Δ°C",
    ) -> Any:  # fmt: skip
        """Mean age at a moment in equivalent time at a reference temperature: a rule of thumb.

        Parameters
        ----------
        at : time or distance
            Not before the start.
        temperature : temperature, or list of (moment, temperature)
            Running temperature of the fluid; in a list, each temperature holds from its moment on, and the first one from the start.
        reference, halving : temperature and interval
            The rule: life is halved for every `halving` above `reference`; anything cooler counts as the reference.

        Returns
        -------
        HeatAge
            `.age`, and a `.note` that says it is a rule of thumb. Never a statement about life left.

        Notes
        -----
        The rule is that of `heat_factor`; its two numbers are common practice, not a measurement of your fluid.

        Examples
        --------
        >>> from sumpwise import FluidHistory
        >>> history = FluidHistory("0 y")
        >>> print(history.heat_age("4 y", "102 °C").age, "|", history.heat_age("4 y", [("0 y", "80 °C"), ("3 y", "91 °C")]).age)
        16.0 year | 5.0 year
        """
        from sumpwise.ageing.heat import RULE, HeatAge, clock

        moment = self._moment(at, "at")
        course = temperature if isinstance(temperature, (list, tuple)) else [(self._begun.given, temperature)]
        hot = clock(course, reference, halving, lambda value, name: self._moment(value, name, since=-inf).value)
        aged = self._age_at(evaluate(hot, [self._start], (False,)), list(map(hot, self._past)), hot(moment.value))
        return HeatAge(self._age(aged, moment), RULE)

    def to_dict(self) -> dict[str, Any]:
        """Return the inputs as plain JSON data with a version; errors that uncertain shares have in common are kept."""
        from sumpwise.ageing.stored import plain

        changes = zip(self._all(1), self._all(2), self._all(3), strict=True)
        written = [(self._begun, None), *((Read(None, unit, given=at), fraction) for fraction, at, unit in changes)]
        return plain(written, (self._start, *self._shares), (best_of(self._start), *self._past), self._kind)

    @classmethod
    def from_dict(cls, data: Any) -> FluidHistory:
        """Build a history from the data of `to_dict`.

        Parameters
        ----------
        data : dict
            Plain JSON data.

        Returns
        -------
        FluidHistory

        Raises
        ------
        FileError
            Names the place that cannot be read.
        """
        from sumpwise.ageing.stored import restored

        with reading("fluid history", keys=("start",)):
            start, changes = restored(data)
            history = cls(start)
            for number, (at, fraction) in enumerate(changes):
                with within("changes", number, keys=("at", "fraction")):
                    history = history.replace(fraction, at)
        return history

    def __eq__(self, other: object) -> bool:
        return isinstance(other, FluidHistory) and self.to_dict() == other.to_dict()

    def __hash__(self) -> int:
        return hash((self._kind, *self._past))

    def __repr__(self) -> str:
        changes = "".join(f".replace({fraction!r}, {at!r})" for fraction, at in zip(self._all(1), self._all(2), strict=True))
        return f"FluidHistory({self._begun.given!r}){changes}"

    # -- reading and answering

    def _moment(self, value: Any, name: str, since: float | None = None) -> Read:
        read = _MOMENT[self._kind].read(value, name)
        moment = read.value
        first, last = best_of(self._start) if since is None else since, self._last()
        if not moment - last > SAME * max(abs(last), abs(moment)):  # else later than all
            place = bisect_left(self._moments, moment, 0, self._count)  # in order, and further apart than one moment
            near = (best_of(self._start), *self._moments[max(place - 1, 0) : min(place + 1, self._count)])
            same = [known for known in near if abs(known - moment) <= SAME * max(abs(known), abs(moment))]
            moment = max(same, default=moment)
        moment = float(moment)
        if moment < first:
            what = "the start" if not self._count or since is None else "the last change"
            raise RangeError(
                f"is before {what}", code="time.order", argument=name, value=value, hint="enter changes in the order they were made"
            )
        return Read(moment, read.unit, read.registry, read.written, value)

    def _last(self) -> float:
        return self._moments[self._count - 1] if self._count else best_of(self._start)

    def _age(self, magnitude: Any, *askers: Read) -> Any:
        return answer(magnitude, self._kind, *askers, self._begun)

    @property
    def _past(self) -> list[float]:
        """The moments of the changes, in order."""
        return self._moments[: self._count]

    @property
    def _shares(self) -> list[Any]:
        """The shares of the changes, as read."""
        return self._all(0)

    def _all(self, part: int) -> list[Any]:
        """One of the parts, for all changes."""
        return self._changes[part : self._count * PARTS : PARTS]

    def _carried(
        self, start: Any, kernel: Callable[[Any, Any], Any], slopes: Callable[[Any, Any], list[float]], share: bool = False
    ) -> Any:
        """Run a kernel of start and shares, and propagate their uncertainties by its slopes.

        The kernel is linear in each of them, so only an error that several of them share can make it nonlinear: that is one input, which
        moves them together. `share` says that the answer is a share, bounded by 0 and 1.
        """
        inputs = (start, *self._shares)
        doubts: dict[int, list[int]] = {}
        for i, x in enumerate(inputs):
            if hasattr(x, "nominal_value"):
                doubts.setdefault(id(x), []).append(i)
        if not doubts:
            return kernel(start, inputs[1:])
        from sumpwise import uncertainty

        plain = [best_of(x) for x in inputs]
        value, by = kernel(plain[0], plain[1:]), slopes(plain[0], plain[1:])
        terms, bent = [], False
        for places in doubts.values():
            doubt, slope = inputs[places[0]], fsum(by[i] for i in places)
            terms.append((slope, doubt))
            if len(places) > 1 and not bent:
                u, sides = uncertainty.standard(doubt), []
                for off in (u, -u):
                    moved = plain[:]
                    for i in places:
                        moved[i] += off
                    sides.append(kernel(moved[0], moved[1:]))
                bent = uncertainty.bends(value, slope * u, *sides)
        return uncertainty.resulting(value, terms, bent, share)
