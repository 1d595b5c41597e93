"""Judges two numbers that are said to be equal."""

from __future__ import annotations

import re
from itertools import pairwise
from math import inf

from sumpwise.description import slips
from sumpwise.description.claims import FAR, Claim, claims, weighs
from sumpwise.description.findings import Finding, Place
from sumpwise.description.grades import STYLE, WRONG, grade
from sumpwise.description.joints import CELL, INSIDE, IS, LIST, NEXT, OR, SUM, WORDS, joint_of
from sumpwise.description.mention import Mention
from sumpwise.description.mentions import REMEMBERED
from sumpwise.description.phrase import BARE, Phrase
from sumpwise.description.precision import (
    Figure,
    amounts_of,
    decimals,
    digits_too_many,
    expected,
    expected_span,
    expected_step,
    interval,
    is_expected,
    is_rounding,
    span_step,
)
from sumpwise.description.temperatures import DIFFERENCE, PERHAPS, WARMTH, one_hot_one_cold, said_of, speaks_of
from sumpwise.quantities.digits import to_step
from sumpwise.quantities.notation import Reading, SpanReading
from sumpwise.quantities.units import SYMBOLS, Unit

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from sumpwise.description.normalising import Text

ALLOWED_EXTRA = 1
"""This many digits more than the original has are accepted."""
NEAR = {IS: 0.35, OR: 0.2, LIST: 0.2, CELL: 0.25, NEXT: 0.2, WORDS: 0.2}
"""Two loosely joined numbers that differ by more than this share are not meant to be equal, unless a slip explains them."""
NEAR_FIGURES = 0.5
"""The same for torques and pressures, which do not come in bottle sizes: two side by side in two units are meant as one."""
LEANING, LEANING_DEGREES = 0.07, 5.0
"""How far a number said to be just over or just under may be off, within a unit of its last digit: a share, and degrees."""
NEAR_DEGREES = 25.0
"""The same for two temperatures, in degrees of the second."""

ANOTHER_READING = 10.0
"""Two numbers that differ by less than this factor are what was meant, if other readings of one of them are a thousand times that."""

_OUNCE, _FLUID_OUNCE, _MILLILITRE = SYMBOLS["oz"], SYMBOLS["US fl oz"], SYMBOLS["mL"]
_ROAD = ("km", "mi")
_EACH = re.compile(r" (?:each|apiece)\b")


def pairs(whole: Text, found: list[Mention], place: Place) -> Iterator[Finding]:
    """A finding for every pair of numbers that are said to be equal, and for equal volumes if one is hot and one cold."""
    if not found:
        return
    warm = any(mention.at is not None for mention in found) or speaks_of(WARMTH, whole.read, found[0].start - 8, found[-1].end + 16)
    for claim in claims(whole, found, warm):
        _settle(whole.read, claim)
        finding = None if claim.source.other or claim.stated.other else _judged(whole.read, claim, place)
        if finding is not None:
            for one in (claim.source, claim.stated, *(claim.source.each or ())):
                one.compared = True
            yield finding
    for mention in found:
        if mention.other is not None and isinstance(mention.reading, Reading):
            both = mention.reading.text, mention.other.text
            stated, note = " ".join(whole.read[mention.start : mention.end].split()), "its point may mark decimals or thousands"
            yield place.finding(mention.start, mention.end, "ambiguous", stated, f"{both[0]} or {both[1]}", both[1], slips.TWO_WAYS, note)
    if warm:
        yield from _equal_volumes(whole.read, found, place)


def _settle(text: str, claim: Claim) -> None:
    """Settle numbers with two possible readings by the one that agrees with the other number, if one does."""
    first, second = claim.source, claim.stated
    if (
        (first.other is None and second.other is None)
        or first.kind != second.kind
        or first.span
        or second.span
        or first.unit is second.unit
    ):
        return
    was = first.reading, second.reading
    nearest: tuple[float, tuple[Reading | SpanReading, Reading | SpanReading]] = (inf, was)
    for one in (first.reading, first.other):
        for other in (second.reading, second.other):
            if isinstance(one, Reading) and isinstance(other, Reading):
                first.reading, second.reading = one, other
                if _Pair(first, second, said_of(text, first, second)).agrees:
                    first.other = second.other = None
                    return
                nearest = min(nearest, (_off(one, other), (one, other)), key=lambda tried: tried[0])
    first.reading, second.reading = was
    if not claim.weak and nearest[0] < ANOTHER_READING:  # wrong whichever was meant, and it was this
        first.reading, second.reading = nearest[1]
        first.other = second.other = None


def _off(first: Reading, second: Reading) -> float:
    """How many times the one is the other, or the other the one."""
    one, other = abs(first.internal), abs(second.internal)
    return max(one, other) / min(one, other) if one and other else inf


def _judged(text: str, claim: Claim, place: Place) -> Finding | None:
    first, second = claim.source, claim.stated
    phrase = Phrase(text, first, second, place)
    if first.kind == second.kind == "volume" and one_hot_one_cold(text, first, second):
        return phrase.hot_beside_cold() if claim.weak != CELL else None
    if first.span != second.span:
        return None
    if first.kind != second.kind:
        return None if first.span else _two_kinds(phrase)
    if (first.unit is second.unit and not first.each) or first.kind == "fraction":
        return None
    return _two_units(claim, phrase)


class _Pair:
    """Two readings of one kind; temperatures are taken either as temperatures or as differences."""

    def __init__(self, first: Mention, second: Mention, said: int) -> None:
        self.source, self.stated = amounts_of(first.reading), amounts_of(second.reading)
        self.span = first.span
        self.difference = False
        if said == DIFFERENCE or (said == PERHAPS and not self.agrees):
            self.difference = True
            self.difference = said == DIFFERENCE or self.agrees

    @property
    def compared(self) -> tuple[Figure, ...]:
        """The source, in the form that is compared."""
        return tuple(map(interval, self.source)) if self.difference else self.source

    @property
    def held(self) -> tuple[Figure, ...]:
        """The stated number, in the form that is compared."""
        return tuple(map(interval, self.stated)) if self.difference else self.stated

    @property
    def agrees(self) -> bool:
        """Whether either is the correct rounding of the other's conversion."""
        if slips.follows(self.held, self.compared):
            return True
        exact = not self.span and abs(self.source[0].num) >= 100  # three digits or more, which a second rounding does not move far
        if exact and is_expected(self.compared, self.held):
            return True
        return not self.slip and slips.follows(self.compared, self.held)

    @property
    def slip(self) -> str:
        """The slip that explains the stated number."""
        return slips.slip_of(self.stated, self.source, self.difference)

    def right(self, unit: Unit) -> str:
        """What `rounded` would print."""
        if self.span and self.difference:
            ends = [expected(one, self.held[0].unit).partition(" ")[0] for one in self.compared]
            return f"{ends[0]}–{ends[1]} {unit.symbol}"
        return _printed(self.compared, unit if self.span else self.held[0].unit)


def _two_units(claim: Claim, phrase: Phrase) -> Finding | None:
    """Two numbers of one kind in two units: either must be the correct rounding of the other's conversion."""
    first, second = claim.source, claim.stated
    said = said_of(phrase.text, first, second)
    key = first.reading, second.reading, said
    known = phrase.place.agreed.get(key)
    if known is not None and not second.shared:
        return phrase.finding("agrees", known)
    pair = _Pair(first, second, said)
    source, stated = pair.source, pair.stated
    unit = second.unit
    right = pair.right(unit)
    if pair.agrees:
        right, off = _tolerance(first, second, source[0], stated[0], right)
        if off:
            return phrase.disagrees(right, off, WRONG)
        if pair.span:
            step = span_step(source[0], source[1], unit) if not pair.difference else None
        else:
            step = expected_step(pair.compared[0], pair.held[0].unit)
        if _half_degree(pair):
            return phrase.disagrees(right, slips.HALF_DEGREE, STYLE)
        extra = max(digits_too_many(amount, step) for amount in stated) if step is not None and not _to_its_tolerance(second) else 0
        if extra > ALLOWED_EXTRA and not _is_one(source) and not second.shared:
            return phrase.disagrees(right, slips.TOO_MANY, STYLE, f"{extra} digits more than {phrase.written(first)} has")
        _name_measure(phrase, source, stated)
        if len(phrase.place.agreed) < REMEMBERED:
            phrase.place.agreed[key] = right
        return phrase.finding("agrees", right)
    if _leans(pair.compared, pair.held, claim.leaning) or _of_one_value(pair, first, second):
        return phrase.finding("agrees", right)
    single = _single(phrase)
    if single is not None:
        alone = _Pair(single, second, said)
        if alone.agrees:
            return phrase.finding("agrees", alone.right(unit))
        if not first.each and _is_less(pair):
            return None  # of each of several that are not counted
    if _of_several(phrase, pair):
        return None
    slip = pair.slip
    if claim.weak and not _meant(claim, pair, slip, phrase.text):
        return None
    wider, off = _tolerance(first, second, source[0], stated[0], right)
    wrong = phrase.disagrees(wider, slip or off, WRONG if off else grade(pair.held, pair.compared))
    bare = None if first.each else _bare_measure(phrase, source, stated, claim.leaning)
    if bare is None:
        return wrong
    quart, imperial = bare
    naming = phrase.naming(quart, right)
    phrase.place.settled[naming.start, naming.end] = wrong, phrase.finding("agrees", imperial)
    return naming


def _single(phrase: Phrase) -> Mention | None:
    """One of several, to which the stated number may belong: 12 x 1 qt (0.95 L), 3 gallons (3.8 L each)."""
    first, second = phrase.first, phrase.second
    if first.each:
        return first.each[0] if len(first.each) == 1 and first.each[0].unit is not second.unit else None
    one = first.reading
    if not isinstance(one, Reading) or first.kind != "volume" or one.den != 1 or _EACH.match(phrase.text, second.end) is None:
        return None
    return Mention(first.start, first.end, Reading(one.text, one.unit, 1, 1, 0))


def _is_less(pair: _Pair) -> bool:
    """Whether the stated number is less than the true one."""
    over, under = pair.source[0].into(pair.stated[0].unit)
    return pair.stated[0].num * under < over * pair.stated[0].den


def _of_several(phrase: Phrase, pair: _Pair) -> bool:
    """Whether the stated number is that of all together, as in four bottles of 1 qt each (3.8 L)."""
    source, stated = pair.source[0], pair.stated[0]
    if pair.span or not source.num or "each" not in phrase.text[phrase.first.end : phrase.second.start].split():
        return False
    over, under = source.into(stated.unit)
    told, count = stated.num / stated.den, round(stated.num * under / (stated.den * over))
    return count > 1 and abs(told - count * over / under) <= stated.half[0] / stated.half[1]


def _leans(source: tuple[Figure, ...], stated: tuple[Figure, ...], way: int) -> bool:
    """Whether the stated number is a little less (1: just over 5 qt) or more (-1: not quite 5 qt) than the true one, as the text says."""
    if not way or len(source) > 1:
        return False
    held = stated[0]
    over, under = source[0].into(held.unit)
    told, half = held.num / held.den, held.half[0] / held.half[1]
    much = LEANING_DEGREES if held.unit.kind == "temperature" else min(2 * half, LEANING * abs(told))
    return 0 <= way * (over / under - told) <= much


def _to_its_tolerance(mention: Mention) -> bool:
    """Whether a number has as many decimals as its tolerance, as is usual if the tolerance is given to two digits."""
    reading = mention.reading
    if not (isinstance(reading, Reading) and reading.exact_spread):
        return False
    _, over, under = reading.exact_spread
    return decimals(over, under).places == amounts_of(reading)[0].places > 0


def _of_one_value(pair: _Pair, first: Mention, second: Mention) -> bool:
    """Whether two numbers with tolerances may both be rounded from one value that neither shows in full."""
    if pair.span or pair.source[0].unit.kind == "temperature" or not (_to_its_tolerance(first) and _to_its_tolerance(second)):
        return False
    source, stated = pair.source[0], pair.stated[0]
    over, under = source.into(stated.unit)
    true, told = over / under, stated.num / stated.den
    half = source.half[0] / source.half[1] * (true * source.den / source.num if source.num else 1.0)
    return abs(true - told) <= half + stated.half[0] / stated.half[1] and not _tolerance(first, second, source, stated, "")[1]


def _is_one(source: tuple[Figure, ...]) -> bool:
    """Whether the source is the unit itself, as in 1 US gal = 3.785 L: any number of digits is justified."""
    return len(source) == 1 and source[0].num == source[0].den == 1


def _half_degree(pair: _Pair) -> bool:
    """Whether whole degrees Fahrenheit were rounded to a half degree Celsius that is not the nearest."""
    stated = pair.stated[0]
    halves = stated.unit.symbol == "°C" and stated.places == 1 and stated.num * 10 % (5 * stated.den) == 0 and stated.num % stated.den
    return bool(halves) and not pair.span and not pair.difference and not is_expected(pair.stated, pair.source)


def _meant(claim: Claim, pair: _Pair, slip: str, text: str) -> bool:
    """Whether two loosely joined numbers that differ were meant to be equal."""
    weak = claim.weak
    if weak == SUM:
        return False
    one = pair.source[0]
    road = one.unit.symbol in _ROAD and pair.stated[0].unit.symbol in _ROAD and one.num >= 1000 * one.den  # an interval, not a drive
    goods = not road and claim.source.kind in ("volume", "mass", "length")  # "5 L or 6 qt, whatever is on the shelf" compares nothing
    if claim.following is not None and weak in (LIST, NEXT, OR, IS) and _of_the_next(claim, text):
        return False
    if slip and slip != slips.TWICE:
        few = goods and weak in (OR, LIST, INSIDE) and not _precise(pair)
        return not (few and (slip == slips.ONE_NUMBER or (weak == INSIDE and not _precise(pair, any))))
    if weak == INSIDE or (goods and weak in (OR, LIST) and not _precise(pair)):
        return False
    over, under = pair.compared[0].into(pair.held[0].unit)
    true, told = over / under, pair.held[0].num / pair.held[0].den
    if claim.source.kind == "temperature" and not pair.difference:
        return abs(told - true) <= NEAR_DEGREES
    figures = road or claim.source.kind in ("torque", "pressure")
    share = NEAR_FIGURES if figures and weak in (OR, LIST) else NEAR[weak]
    return abs(told - true) <= share * max(abs(true), abs(told))


def _precise(pair: _Pair, which: Callable[[Iterable[bool]], bool] = all) -> bool:
    """Whether both numbers (or any of them) have at least two digits, as conversions do and bottle sizes do not."""
    return which(amount.places > 0 or len(str(abs(amount.num)).strip("0")) > 1 for amount in (pair.source[0], pair.stated[0]))


def _of_the_next(claim: Claim, text: str) -> bool:
    """Whether the stated number belongs to the one after it, with which it agrees."""
    second, third = claim.stated, claim.following
    if (
        third is None
        or third.kind != second.kind
        or third.unit is second.unit
        or third.span != second.span
        or third.start - second.end > FAR
    ):
        return False
    return _Pair(second, third, said_of(text, second, third)).agrees


def _name_measure(phrase: Phrase, source: tuple[Figure, ...], stated: tuple[Figure, ...]) -> None:
    """Note which measure two numbers that agree show the text to use."""
    place, units = phrase.place, (phrase.first.unit, phrase.second.unit)
    place.imperial_measure = place.imperial_measure or any(unit.system == "imperial" for unit in units)
    if not place.us_measure and any(unit in BARE for unit in units):
        place.us_measure = _bare_measure(phrase, source, stated) is None


def _bare_measure(
    phrase: Phrase, source: tuple[Figure, ...], stated: tuple[Figure, ...], leaning: int = 0
) -> tuple[Mention, str] | None:
    """The bare quart or gallon that is right only as imperial, and what the stated number then should be."""
    for mention, here, there in ((phrase.second, stated, source), (phrase.first, source, stated)):
        if mention.unit in BARE and not mention.shared and "us" not in phrase.written(mention).lower().replace(".", ""):
            imperial = tuple(amount.named(BARE[mention.unit]) for amount in here)
            told, true = (imperial, there) if mention is phrase.second else (there, imperial)
            exact = told[0].places > 0 or abs(told[0].num) >= 10 * told[0].den
            leans = mention is phrase.second and _leans(true, told, leaning)
            if leans or (slips.follows(told, true) and (mention is phrase.second or exact)):
                return mention, _printed(true, told[0].unit)
    return None


def _printed(source: tuple[Figure, ...], unit: Unit) -> str:
    """A number, or two limits, as `rounded` prints it in another unit."""
    return expected(source[0], unit) if len(source) == 1 else expected_span(source[0], source[1], unit)


def _tolerance(first: Mention, second: Mention, source: Figure, stated: Figure, right: str) -> tuple[str, str]:
    """What would be right, with its tolerance, and the slip if the stated tolerance does not follow from the source's."""
    one, other = first.reading, second.reading
    if not (isinstance(one, Reading) and isinstance(other, Reading) and one.exact_spread and other.exact_spread):
        return right, ""
    (_, a, b), (_, c, d) = one.exact_spread, other.exact_spread
    if "%" in one.text and "%" in other.text and stated.num and source.num:
        same = c * stated.den * b * source.num == a * source.den * d * stated.num
        return right, "" if same else slips.TOLERANCE
    own, half = decimals(a, b).named(source.unit), decimals(c, d).named(stated.unit)
    if source.unit.kind == "temperature":
        own, half = interval(own), interval(half)
    right = expected(source, stated.unit, own, half.unit)
    floored = to_step(*own.into(half.unit), (1, -half.places), "down")
    if is_rounding(half, own) or floored * half.den == half.num * 10**half.places:
        return right, ""
    return right, slips.tolerance_slip(source, half, own)


def _two_kinds(phrase: Phrase) -> Finding | None:
    """An ounce of mass beside a volume, a fluid ounce beside a mass, or pounds beside a torque."""
    first, second = phrase.first, phrase.second
    source, stated = amounts_of(first.reading)[0], amounts_of(second.reading)[0]
    if {first.kind, second.kind} == {"mass", "volume"}:
        if weighs(*sorted((first, second), key=lambda one: one.kind)):
            return None
        meant = _other_ounce(source), _other_ounce(stated)
        if (meant[0].unit, meant[1].unit) == (source.unit, stated.unit):
            return None
        if not (is_rounding(meant[1], meant[0]) or is_rounding(meant[0], meant[1])):
            return None
        unit = _MILLILITRE if first.unit is _FLUID_OUNCE else _OUNCE
        return phrase.disagrees(expected(source, unit), slips.MASS_OUNCE, WRONG)
    if first.kind == "torque" and second.unit.symbol in ("lb", "lbf"):
        for unit in (SYMBOLS["lbf·ft"], SYMBOLS["lbf·in"]):
            if is_rounding(stated.named(unit), source):
                return phrase.finding("ambiguous", expected(source, unit), slips.NO_UNIT, "pounds are not a torque")
    return None


def _other_ounce(amount: Figure) -> Figure:
    """An ounce of the other kind; anything else as it is."""
    if amount.unit is _OUNCE:
        return amount.named(_FLUID_OUNCE)
    return amount.named(_OUNCE) if amount.unit is _FLUID_OUNCE else amount


def _equal_volumes(text: str, found: list[Mention], place: Place) -> Iterator[Finding]:
    """Equal volumes, one hot and one cold, in one sentence, even if they are not said to be equal."""
    for first, second in pairwise(found):
        if not (first.kind == second.kind == "volume") or first.span or second.span or second.start - first.end > FAR:
            continue
        if not one_hot_one_cold(text, first, second):
            continue
        between = text[first.until : second.start]
        if any(c in between for c in ".!?\n≠") or " not " in between or joint_of(between) is not None:
            continue
        if is_rounding(amounts_of(second.reading)[0], amounts_of(first.reading)[0]):
            yield Phrase(text, first, second, place).hot_beside_cold()
