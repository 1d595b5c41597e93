"""Judges two numbers that are said to be equal."""

from __future__ import annotations

from itertools import pairwise

from sumpwise.description import slips
from sumpwise.description.claims import FAR, Claim, claims, joint_of
from sumpwise.description.findings import Finding, Place
from sumpwise.description.mentions import Mention
from sumpwise.description.precision import (
    Amount,
    amounts_of,
    decimals,
    digits_too_many,
    expected,
    expected_span,
    expected_step,
    interval,
    is_rounding,
    span_step,
)
from sumpwise.description.temperatures import is_difference, one_hot_one_cold
from sumpwise.quantities.digits import to_step
from sumpwise.quantities.notation import Reading
from sumpwise.quantities.units import SYMBOLS, Unit

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

ALLOWED_EXTRA = 1
"""Digits more than the original carries that are let pass."""
NEAR = 0.2
"""Two loosely joined numbers that lie further apart than this share are not meant to be equal, unless a slip explains them."""

_OUNCE, _FLUID_OUNCE, _MILLILITRE = SYMBOLS["oz"], SYMBOLS["US fl oz"], SYMBOLS["mL"]
_US_QUART, _IMPERIAL_QUART = SYMBOLS["US qt"], SYMBOLS["imp qt"]


def pairs(text: str, found: list[Mention], place: Place) -> Iterator[Finding]:
    """A finding for every pair of numbers that are said to be equal, and for equal volumes of which one is hot and one cold."""
    for claim in claims(text, found):
        finding = _judged(text, claim, place)
        if finding is not None:
            yield finding
    yield from _equal_volumes(text, found, place)


def _judged(text: str, claim: Claim, place: Place) -> Finding | None:
    first, second = claim.source, claim.stated
    phrase = _Phrase(text, first, second, place)
    if first.kind == second.kind == "volume" and one_hot_one_cold(text, first, second):
        return phrase.hot_beside_cold()
    if first.span != second.span:
        return None
    if first.kind != second.kind:
        return None if first.span else _two_kinds(phrase)
    if first.unit is second.unit or first.kind == "fraction":
        return None
    return _two_units(claim, phrase)


def _two_units(claim: Claim, phrase: _Phrase) -> Finding | None:
    """Two numbers of one kind in two units: either must be the correct rounding of the other's conversion."""
    first, second = claim.source, claim.stated
    source, stated = amounts_of(first.reading), amounts_of(second.reading)
    difference = first.kind == "temperature" and not first.span and is_difference(phrase.text, first, second)
    compared, held = (tuple(map(interval, source)), tuple(map(interval, stated))) if difference else (source, stated)
    unit = held[0].unit
    right = expected_span(source[0], source[1], unit) if first.span else expected(compared[0], unit)
    forward = slips.follows(held, compared)
    slip = "" if forward else slips.slip_of(stated, source, difference)
    if forward or (not slip and slips.follows(compared, held)):
        right, off = _tolerance(first, second, source[0], stated[0], right)
        if off:
            return phrase.finding("disagrees", right, off)
        step = span_step(source[0], source[1], unit) if first.span else expected_step(compared[0], unit)
        extra = max(digits_too_many(amount, step) for amount in stated)
        if extra > ALLOWED_EXTRA and not _is_one(source) and not second.shared:
            return phrase.finding("ambiguous", right, slips.TOO_MANY, f"{extra} digits more than {phrase.written(first)} carries")
        return phrase.finding("agrees", right)
    if claim.weak and not _meant(claim, source, stated, slip):
        return None
    quart = _bare_quart(phrase, source, stated)
    if quart is not None:
        return phrase.naming(quart, right)
    return phrase.finding("disagrees", right, slip)


def _is_one(source: tuple[Amount, ...]) -> bool:
    """Whether the source is the unit itself, as in 1 US gal = 3.785 L: it carries any number of digits."""
    return len(source) == 1 and source[0].num == source[0].den == 1


def _meant(claim: Claim, source: tuple[Amount, ...], stated: tuple[Amount, ...], slip: str) -> bool:
    """Whether two loosely joined numbers that differ were meant to be equal."""
    goods = claim.source.kind in ("volume", "mass")  # "5 L or 6 qt, whatever is on the shelf" compares nothing
    if claim.weak == "sum":
        return False
    if slip:
        return not (goods and slip in (slips.ONE_NUMBER, slips.TWICE))
    if goods and claim.weak == "or":
        return False
    over, under = source[0].into(stated[0].unit)
    true, said = over / under, stated[0].num / stated[0].den
    return abs(said - true) <= NEAR * max(abs(true), abs(said))


def _bare_quart(phrase: _Phrase, source: tuple[Amount, ...], stated: tuple[Amount, ...]) -> Mention | None:
    """The quart without nationality that fits as imperial alone."""
    for mention, here, there in ((phrase.second, stated, source), (phrase.first, source, stated)):
        if mention.unit is _US_QUART and not mention.shared and "us" not in phrase.written(mention).lower().replace(".", ""):
            imperial = tuple(amount.named(_IMPERIAL_QUART) for amount in here)
            if slips.follows(imperial, there) or slips.follows(there, imperial):
                return mention
    return None


def _tolerance(first: Mention, second: Mention, source: Amount, stated: Amount, right: str) -> tuple[str, str]:
    """What would be right, its tolerance included, and the slip where the stated tolerance does not follow from the source's."""
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


def _two_kinds(phrase: _Phrase) -> Finding | None:
    """An ounce of mass beside a volume, a fluid ounce beside a mass, or pounds beside a torque."""
    first, second = phrase.first, phrase.second
    source, stated = amounts_of(first.reading)[0], amounts_of(second.reading)[0]
    if {first.kind, second.kind} == {"mass", "volume"}:
        meant = _other_ounce(source), _other_ounce(stated)
        if (meant[0].unit, meant[1].unit) == (source.unit, stated.unit):
            return None
        if not (is_rounding(meant[1], meant[0]) or is_rounding(meant[0], meant[1])):
            return None
        if first.unit is _OUNCE:
            return phrase.respelled(first, _FLUID_OUNCE, slips.MASS_OUNCE)
        unit = _FLUID_OUNCE if second.unit is _OUNCE else _MILLILITRE if first.unit is _FLUID_OUNCE else _OUNCE
        return phrase.finding("disagrees", expected(source, unit), slips.MASS_OUNCE)
    if first.kind == "torque" and second.unit.symbol in ("lb", "lbf"):
        for unit in (SYMBOLS["lbf·ft"], SYMBOLS["lbf·in"]):
            if is_rounding(stated.named(unit), source):
                return phrase.finding("ambiguous", expected(source, unit), slips.NO_UNIT, "pounds are no torque")
    return None


def _other_ounce(amount: Amount) -> Amount:
    """An ounce of the other kind; anything else as it is."""
    if amount.unit is _OUNCE:
        return amount.named(_FLUID_OUNCE)
    return amount.named(_OUNCE) if amount.unit is _FLUID_OUNCE else amount


def _equal_volumes(text: str, found: list[Mention], place: Place) -> Iterator[Finding]:
    """Equal volumes, one hot and one cold, in one sentence, without being said to be equal."""
    for first, second in pairwise(found):
        if not (first.kind == second.kind == "volume") or first.span or second.span or second.start - first.end > FAR:
            continue
        between = text[first.until : second.start]
        if any(c in between for c in ".!?\n≠") or " not " in between or joint_of(between) is not None:
            continue
        if one_hot_one_cold(text, first, second) and is_rounding(amounts_of(second.reading)[0], amounts_of(first.reading)[0]):
            yield _Phrase(text, first, second, place).hot_beside_cold()


class _Phrase:
    """The stretch of text from one number to the other, and how it is rewritten."""

    def __init__(self, text: str, first: Mention, second: Mention, place: Place) -> None:
        self.text = text
        self.first = first
        self.second = second
        self.place = place
        self.end = second.end
        if "(" in text[first.end : second.start] and text[second.end : second.end + 1] == ")":
            self.end += 1

    def written(self, mention: Mention) -> str:
        """A mention as it stands in the text, or its borrowed number with its own unit."""
        if mention.shared:
            return f"{self.number(self.first)} {mention.unit.symbol}"
        return " ".join(self.text[mention.start : mention.end].split())

    def number(self, mention: Mention) -> str:
        """The number of a mention, without its unit."""
        written = self.text[mention.start : mention.end]
        cut = next((i for i, c in enumerate(written) if c.isalpha() or c in "°%"), len(written))
        return written[:cut].rstrip(" -\u00a0\u202f\u2009")

    def finding(self, verdict: str, right: str, slip: str = "", note: str = "") -> Finding:
        """The finding about the second number."""
        text, first, second = self.text, self.first, self.second
        if verdict == "agrees":
            suggestion = ""
        elif second.shared:
            suggestion = f"{text[first.start : first.end]} ({right})"
        else:
            suggestion = text[first.start : second.start] + right + text[second.end : self.end]
        return self.place.finding(first.start, self.end, verdict, self.written(second), right, suggestion, slip, note)

    def respelled(self, mention: Mention, unit: Unit, slip: str) -> Finding:
        """The finding that one of the units is meant otherwise."""
        right = f"{self.number(mention)} {unit.symbol}"
        suggestion = self.text[self.first.start : mention.start] + right + self.text[mention.end : self.end]
        return self.place.finding(self.first.start, self.end, "disagrees", self.written(mention), right, suggestion, slip)

    def naming(self, quart: Mention, right: str) -> Finding:
        """The finding that a quart fits as imperial only."""
        suggestion = f"{self.text[self.first.start : quart.start]}{self.number(quart)} imp qt{self.text[quart.end : self.end]}"
        note = "it fits as imperial quarts only: say which quart"
        stated = self.written(self.second)
        return self.place.finding(self.first.start, self.end, "ambiguous", stated, right, suggestion, slips.IMPERIAL, note)

    def hot_beside_cold(self) -> Finding:
        """The finding that two volumes are not measured at one temperature."""
        end = self.second.until
        stated = f"{self.written(self.first)} and {self.written(self.second)}"
        suggestion = f"{self.text[self.first.start : end]}, both measured at 20 °C"
        note = "fluid shrinks by about 0.75 % for every 10 °C it cools"
        right = "both volumes at one temperature"
        return self.place.finding(self.first.start, end, "ambiguous", stated, right, suggestion, slips.HOT_COLD, note)
