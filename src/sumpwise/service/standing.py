"""Where the work is: what is missing or too much now, how fresh the fill is, whether the pump draws air, and what to pour next."""

from __future__ import annotations

from functools import cached_property
from math import ceil, floor, hypot
from typing import TYPE_CHECKING, Any, NamedTuple

from sumpwise.errors import CountLostError, SumpwiseError
from sumpwise.filling.ledger import Ledger
from sumpwise.filling.level import judged
from sumpwise.filling.vessel import Vessel
from sumpwise.fluid.density import REFERENCE
from sumpwise.mixing.circuit.history import POUR, Operation
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import inside
from sumpwise.service.agreement import Agreement
from sumpwise.service.divisions import division
from sumpwise.service.facts.fact import Name, OnScale, Value, Word
from sumpwise.service.facts.refusals import refused
from sumpwise.service.holding import WHOLE
from sumpwise.service.kinds import FILL_HOLE, OVERFLOW
from sumpwise.service.movements import OVERFLOW_WORDS, Movement, performed, says
from sumpwise.service.operations import stirred
from sumpwise.service.schema import MOVING, READ
from sumpwise.uncertainty import combine, nominal, source, standard

if TYPE_CHECKING:
    from sumpwise.filling.level import Judged
    from sumpwise.inference.outlet_answer import OutletEvidence
    from sumpwise.service.case import Case

SAFE = 2.0
"""Safety margin in standard uncertainties, for pours against overfilling, and for the engine against a sump too low for the pump."""
LOST, BY_THE_BOOK = 0.25, 0.1
"""From this standard uncertainty of the count up, in litres, the book's amount after one more drain says more about the level; how near to
that amount a pour must be, as a share of it."""
LEAST = 0.05
"""Less than this, in litres, is not poured by the count; or a division of the vessel, if that is more."""


class Pour(NamedTuple):
    """What to pour next: a reading on the vessel in hand, or litres at the fluid's temperature if there is none.

    Attributes
    ----------
    reading : OnScale
        As read: whole divisions of what it is poured from.
    vessel : str
        Name, or empty.
    temperature : float
        Temperature of the fluid in it, degrees Celsius.
    labelled : bool
        Whether it is poured from packs: they count as printed, at 20 °C, however cold they are.
    rest : OnScale
        What to pour after that, if the vessel does not hold all of it.
    """

    reading: OnScale
    vessel: str
    temperature: float
    rest: OnScale
    labelled: bool = False

    @property
    def whole(self) -> OnScale:
        """Both together."""
        return OnScale("volume", self.reading.value + self.rest.value, self.reading.division)


class Standing:
    """How far the work of a case has got, by what its log says, if it can be followed."""

    def __init__(self, case: Case, found: Agreement) -> None:
        self.case = case
        self.found = found
        self.moves: list[Movement] = found.moves

    @cached_property
    def drained(self) -> Any:
        """Litres at 20 °C that came out so far."""
        return number_in(self.found.ledger.total_drained, "L")

    @cached_property
    def poured(self) -> Any:
        """Litres at 20 °C that went in so far."""
        return number_in(self.found.ledger.total_poured, "L")

    @property
    def known(self) -> bool:
        """Whether a stick reading says where the level is; else it is counted from where it was before the work."""
        return self.found.counted or bool(self.found.readings)

    @cached_property
    def off(self) -> Any:
        """Litres at 20 °C off the target now: by count and stick combined, by whichever is known, else off the level before the work."""
        found = self.found
        if found.joint is not None:
            return found.joint
        if found.counted:
            return found.count
        return self.moves[-1].balance if found.stick is None else found.stick

    @property
    def missing(self) -> float:
        """Missing litres."""
        return -nominal(self.off)

    @property
    def level(self) -> bool:
        """Whether the level is right within the uncertainty of the count, and what came out last was poured back."""
        return self._right(0.0)

    def _right(self, short: float) -> bool:
        """The same for a level that is to be short of the target."""
        missing = self.missing - short
        due = min(missing, nominal(self.taken_out))
        return abs(missing) < max(LEAST, SAFE * standard(self.off)) and due < max(LEAST, SAFE * standard(self.taken_out))

    @cached_property
    def left(self) -> list[Operation]:
        """What the method still has to do; bursts end when the target is met, judging by the vials."""
        over = self.case.method.key == "bursts" and self.told and self.told.met
        return [] if over else self.case.method.left(self.case)

    @cached_property
    def kept_back(self) -> float:
        """Litres by which the fill is to stay short of the target until the bursts are over, because the job states a smaller refill.

        Zero if the pump could then not be sure of its fluid.
        """
        out = self.found.drained_first
        if out is None or not self.case.has("exchange", "refill") or not (self.left and self.case.method.key == "bursts"):
            return 0.0
        less = out - nominal(self.case.refill)
        if less < LEAST or self.below_pump_if(standard(self.below_start), less):
            return 0.0
        return less - (nominal(number_in(self.case.begun, "L")) if self.found.counted else 0.0)

    @cached_property
    def taken_out(self) -> Any:
        """Litres that came out last and were not poured back; none if the level was read or the vehicle driven since.

        After many rounds the count of all of them is much less certain than that of the last one.
        """
        before, now = None, self.moves[-1].balance
        for move in reversed(self.moves):
            if move.event in ("stick", "drive") or (before is not None and move.event == "poured"):
                break
            if move.litres < 0:
                before = move.was
        return 0.0 if before is None else combine(nominal(before) - nominal(now), [(1.0, before), (-1.0, now)])

    @property
    def band(self) -> float | None:
        """Litres from the target to the upper mark, if the job gives it."""
        between = self.case.job.value("level", "marks_volume")
        return None if between is None else nominal(between) / 2

    @property
    def _may_be(self) -> list[Any]:
        """Litres off target, the least first: all estimates if they contradict each other and fluid was moved since the last reading."""
        if not self.found.conflict:
            return [self.off]
        read = self.last is not None and self.last.event == "stick"
        return [self.found.stick] if read else sorted(self.found.estimates, key=nominal)

    @cached_property
    def below_start(self) -> Any:
        """Litres by which the level is lower than before the work, from which the reserve is counted."""
        off = self._may_be[0]
        if not self.found.counted:
            return combine(-nominal(off), [(-1.0, off)])
        begun = number_in(self.case.begun, "L")
        return combine(nominal(begun) - nominal(off), [(-1.0, off), (1.0, begun)])

    def below_pump_if(self, known_to: float, below: float | None = None) -> float:
        """Litres by which the sump may be below what the pump needs, or 0, if the level is known to so many litres (standard uncertainty).

        `below` is by how many litres it is lower than before the work; by default, as it is now.
        """
        if not self.case.kind.pumped or self.by_the_book:
            return 0.0
        try:
            reserve = self.case.reserve
        except SumpwiseError:  # no unit can hold what the job states; the methods say so
            reserve = nominal(self.case.ask("exchange", "reserve"))
        return max(0.0, (nominal(self.below_start) if below is None else below) + SAFE * known_to - reserve)

    @cached_property
    def below_pump(self) -> float:
        """Litres by which the sump is, or to be on the safe side may be, below what the pump needs; else 0."""
        return self.below_pump_if(standard(self.below_start))

    @cached_property
    def _inside(self) -> Any:
        """Share of new fluid inside so far; why the unit cannot be followed through the log."""
        try:
            if not self.case.kind.pumped:
                return stirred(self.case.total + self.case.start, performed(self.moves))
            return self.case.arrived.resident
        except SumpwiseError as error:
            return refused(error)

    @property
    def fresh_counted(self) -> Any:
        """Share of new fluid inside so far, by the amounts of the log alone; None if the unit cannot be followed through it."""
        return None if self.unfollowed is not None else self._inside

    @cached_property
    def fresh(self) -> Any:
        """The same, by the vials too if any were matched."""
        return source(self.told.resident.mean, self.told.resident.standard, name="fresh inside") if self.told else self.fresh_counted

    @cached_property
    def foreseen(self) -> Any:
        """The same once what is missing is poured and the rest of the method done.

        None before anything went in, when more may still come out, and where the unit cannot be followed so far.
        Judging by the vials, the old fluid left now is known better than by the amounts; the rest of the work takes the same share of it.
        """
        return self.after([]) if nominal(self.poured) else None

    def after(self, more: list[Operation]) -> Any:
        """The same if some operations are added to the method at its end."""
        later = self.kept_back
        course = [Operation(POUR, max(0.0, self.missing - later)), *self.left, *more, Operation(POUR, max(0.0, later))]
        try:
            if not self.case.kind.pumped:
                done = performed(self.moves)
                return None if self.unfollowed is not None else stirred(self.case.total + self.case.start, [*done, *course])
            after, now = self.case.led_on(course).resident, self.fresh_counted
        except SumpwiseError:  # what is left cannot be done from here: what comes next says why
            return None
        if self.told is None or now is None or not nominal(now) < 1:
            return after
        kept = (1 - after) / (1 - now)
        old = self.told.resident
        u = hypot(nominal(kept) * old.standard, (1 - old.mean) * standard(kept))
        return source(1 - nominal(kept) * (1 - old.mean), u, name="fresh inside")

    @cached_property
    def told(self) -> OutletEvidence | None:
        """What the vials say about the inside, if they say anything."""
        return None if isinstance(self.case.told, SumpwiseError) else self.case.told

    @property
    def unfollowed(self) -> Value | None:
        """Why the unit cannot be followed through the log; nothing where it can."""
        return self._inside if isinstance(self._inside, (Word, Name)) else None

    # -- what has been done

    @property
    def open_line(self) -> bool:
        """Whether the line may still be open: no drive and no stick reading since the last burst."""
        return next((move.by_the_line for move in reversed(self.moves) if move.by_the_line or move.event in ("drive", "stick")), False)

    @property
    def too_full(self) -> bool:
        """Whether far too much is in, beyond doubt: above the upper mark, or more than before the work, wherever the level was then.

        A drive, a reading of the stick or what ran out at the check after it means that it was checked. If count and stick contradict
        each other, whether one of them says so.
        """
        if self.last is None or self.last.event not in MOVING or self.by_the_book or self.ran_out:
            return False
        most = self._may_be[-1]
        over = nominal(most) - ((self.band or 0.0) if self.known else 0.0)
        return over > 0 and bool(over > max(nominal(self.case.ask("capacity", "too_much")), SAFE * standard(most)))

    @property
    def plug_out(self) -> bool:
        """Whether the plug may still be out: nothing was poured since the last drain, and no stick was read."""
        last = self._read_last
        return last is not None and last.event == "drained" and not (last.by_the_line or self._at_the_check(last))

    @property
    def _read_last(self) -> Movement | None:
        """The last entry that was read, on a vessel or on the stick."""
        return next((move for move in reversed(self.moves) if move.event in (*READ, "stick")), None)

    @property
    def helped(self) -> bool:
        """Whether a burst comes last during which a helper poured, whatever was spilled since: that may not be entered yet."""
        last = self.last if self.last is None or self.last.event != "lost" else self._read_last
        return last is not None and last.by_the_line and bool(self.case.meanwhile)

    @property
    def checked(self) -> bool:
        """Whether the level was set where the fluid runs out, before the drive that comes last: that decides, whatever the count says."""
        driven = self.last is not None and self.last.event == "drive" and self.case.check.key in (FILL_HOLE, OVERFLOW)
        return (driven or self.ran_out) and not (self.plug_out or self.below_pump)

    @property
    def ran_out(self) -> bool:
        """Whether what ran out where the level is checked comes last: then the level is set, whatever the count says."""
        return self.last is not None and self._at_the_check(self.last)

    def _at_the_check(self, move: Movement) -> bool:
        """Whether an entry is what ran out where the level is checked, after something was poured."""
        by_check = move.event in ("drained", "lost") and says(move.entry, OVERFLOW_WORDS)
        poured = any(one.event == "poured" for one in self.moves[: move.number])
        return by_check and poured and self.case.check.key in (FILL_HOLE, OVERFLOW)

    @cached_property
    def of_the_book(self) -> float | None:
        """Litres of the book's amount that are still to be poured; None unless the count is too uncertain, and it was drained once more."""
        book = self.case.job.value("capacity", "book_refill")
        out = next((move for move in reversed(self.moves) if move.event == "drained"), None)
        if book is None or out is None or out.by_the_line or standard(self.off) < LOST or self._at_the_check(out):
            return None
        before, after = self.moves[: out.number], self.moves[out.number :]
        if not any(move.event == "poured" for move in before) or any(move.event == "stick" for move in after):
            return None
        return nominal(book) - sum(move.litres for move in after if move.event in MOVING)

    @property
    def by_the_book(self) -> bool:
        """Whether that is done: then it says more about the level than the count does."""
        short = self.of_the_book
        return short is not None and abs(short) < BY_THE_BOOK * nominal(self.case.job.value("capacity", "book_refill"))

    @property
    def caught(self) -> float:
        """Litres, as read, that are still in the pail by the log."""
        pail = self.case.pail
        for move in reversed(self.moves):
            if pail is not None and move.entry.get("vessel") == pail["name"]:
                return nominal(move.entry["reading"]) if move.event == "drained" else 0.0
        return 0.0

    @property
    def last(self) -> Movement | None:
        """The last entry that moved fluid, was a drive or read the level."""
        return next((move for move in reversed(self.moves) if move.event not in ("emptied", "seen")), None)

    @cached_property
    def rested(self) -> list[Movement]:
        """The reading of the stick that comes last, then those in the window before it with nothing between; none if it is not last."""
        case, last = self.case, self.last
        if case.stick is None or last is None or last.event != "stick":
            return []
        found = [last]
        for move in reversed(self.moves[: last.number - 1]):
            if move.event not in ("stick", "emptied", "seen"):
                break
            if move.event == "stick" and case.in_window(move.entry) and case.in_window(last.entry):
                found.append(move)
        return found

    @cached_property
    def judged(self) -> Judged | None:
        """What the stick calls for if it was read last, in the window; by the one in the middle of several readings."""
        if len(self.rested) < 2:
            return self.case.judged(self.rested[0].entry) if self.rested else None
        assert self.case.stick is not None
        says, half = self.case.said_by_stick(move.entry for move in self.rested), len(self.rested) / 2
        return judged(self.case.stick, (says[ceil(half) - 1] + says[floor(half)]) / 2)

    # -- what is poured next

    @cached_property
    def packs_used(self) -> dict[str, float]:
        """How many of each pack were poured, whole or in part, by name."""
        sizes = self.case.packs
        used = dict.fromkeys(sizes, 0.0)
        for move in self.moves:
            if move.event == "poured" and move.entry["vessel"] in sizes:
                used[move.entry["vessel"]] += nominal(move.entry["reading"]) / sizes[move.entry["vessel"]]
        return used

    @property
    def packs_left(self) -> dict[str, int]:
        """How many of the packs to buy for the job are still unopened, by name."""
        bought = self.case.baskets[0].bought
        used, listed = self.packs_used, bought.packs if bought else {}
        return {name: max(0, count - ceil(used[name] - WHOLE)) for name, count in listed.items() if name in used}

    @property
    def packs_open(self) -> dict[str, float]:
        """Litres left in packs that were opened, by name, the fullest first."""
        left = {name: (ceil(used - WHOLE) - used) * self.case.packs[name] for name, used in self.packs_used.items()}
        return {name: left[name] for name in sorted(left, key=lambda name: -left[name]) if left[name] > WHOLE * self.case.packs[name]}

    @cached_property
    def pour(self) -> Pour | None:
        """What to pour next, short of the upper mark by twice its uncertainty; None unless some is missing beyond the uncertainty."""
        if self._right(self.kept_back):
            return None
        hand, warm = self.case.hand, self._warm
        vessel = self.case.vessels[hand["name"]] if hand else Vessel("new fluid", inside(LEAST, "volume"))
        far = nominal(self.case.total)
        room = far if self.band is None else self.band
        aim = min(SAFE * standard(self.off), nominal(room))
        off = combine(nominal(self.off) + self.kept_back, [(1.0, self.off)])
        ledger = Ledger(self.case.density).started(inside(off, "volume"))
        limits = {name: inside(litres, "volume") for name, litres in (("lower", -far), ("upper", room), ("aim", aim))}
        labelled, on_scales = self.case.labelled, hand is not None and hand["name"] in self.case.on_scales
        at = inside(REFERENCE, "temperature") if labelled or on_scales else warm
        reading = number_in(ledger.next_pour(vessel, at, **limits, k=SAFE), "L")
        if reading < number_in(vessel.graduation, "L"):
            return None
        mark = division(self.case, None if on_scales else hand, reading)
        once = mark.below((reading if vessel.capacity is None else min(reading, number_in(vessel.capacity, "L"))) + mark.slack)
        return Pour(once, str(hand["name"]) if hand else "", number_in(warm, "°C"), mark.below(max(0.0, reading - once.value)), labelled)

    @property
    def pours(self) -> bool:
        """Whether anything is to be poured before it is driven, or nobody knows."""
        try:
            return self.pour is not None
        except CountLostError:
            return True

    @property
    def _warm(self) -> Any:
        """Temperature of the fluid poured: as it was last, else that of the new fluid; as read."""
        poured = [move.entry for move in self.moves if move.event == "poured" and "temperature" in move.entry]
        return inside(nominal(poured[-1]["temperature"]), "temperature") if poured else self.case.cold
