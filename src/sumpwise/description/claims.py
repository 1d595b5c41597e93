"""Finds the pairs of quantities that a text says are equal, by the words between them."""

from __future__ import annotations

import re
from itertools import pairwise

from sumpwise.description import joints
from sumpwise.description.mention import Mention
from sumpwise.description.mentions import APART, SPACES
from sumpwise.quantities import notation
from sumpwise.quantities.notation import Reading
from sumpwise.quantities.units import SYMBOLS

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

    from sumpwise.description.normalising import Text

FAR = APART
"""The most characters between two numbers that are said to be equal."""

_ARITHMETIC = ("×", "x", "*", "+", "−", "-")
_SAID_OTHERWISE = re.compile(
    r"\s*(?:more|less|short|too|left|extra|spare|away|bigger|smaller|larger|of it|at a time|bottles?|jugs?|cans?|jars?|pails?|one\b)"
)
_ANEW = re.compile(r"\s*(?:=|≈|→|-+>|is\b|equals?\b|[/(\[])\s*(?:about |roughly |~|≈)?(?:[0-9½¼¾]|an? )")
_APART = re.compile(r"[\s,;.&·*-]*(?:(?:and|but|then|max|min|maximum|minimum|up to|plus|at)\b[\s,;:.·*-]*)*", re.IGNORECASE)
"""What follows a number that begins a statement of its own, and what stands between it and the statement before: 40C/104F, max 45C/113F."""
_ARROW = re.compile(r"\s*[=-]*(?:>|[→⟶➔➜➡👉⇒⟹])\s*(?:now |about |to )?")
_WAS = re.compile(
    r"(?:\b(?:from|went|goes|was|were|rose|fell|grew|climbed|changed?|dropped|raised|increased|reduced|moved|jumped)(?: about)?:?"
    r"|\b(?:before|old|was|stock)\b[^\n]{0,16}\b(?:after|new|now|deep)\b[^\n]*|\b(?:upgrade|swap)[a-z]*\b[^\n.;]*) ?$",
    re.IGNORECASE,
)
_SINCE = re.compile(
    r"[ ,]*(?:after|since|once|now|in (?:19|20)[0-9]{2}|with (?:the|a|my) (?:new|deep|big|larger|other|stacked))[a-z]*\b", re.IGNORECASE
)
"""What the words say before and after two numbers of which the first became the second: the drain went from 3.4 L → 5.2 qt."""
_BRACKETED_EACH = re.compile(r"[)\]] ?[/=]? ?[(\[]")
"""Between two numbers, each in its own brackets: plug (34 Nm) (25 ft-lb)."""
_PER = re.compile(r" ?(?:per|a) ([a-z]+)")
_OF_PART = re.compile(r" (?:for|on) (?:the|a|that|my|your) ")
_OF_NAME = re.compile(
    r" ?-?(?:[a-z]+ ){0,2}?(?:plugs?|bolts?|nuts?|screws?|fittings?|ones?|spec|torque|fill|refill|drain|jugs?|bottles?|cans?)\b"
)
_CONVERTED = re.compile(
    rf"\b(?:in|to) (?:{joints.METRIC}|{joints.UNIT})[,:]? (?:that|it|this|which)(?:'d| would| will|'ll)?(?: be|'s| is) "
    r"(?:about |around |roughly )?$",
    re.IGNORECASE,
)
"""Around two numbers of which the second, of a part that it names, is converted: in metric that'd be 41 Nm for the 30 lb-ft plug."""
_ASKED = re.compile(r"\s*\?")
"""Behind the second of two numbers that a question puts side by side: is it 25 ft-lb or 25 Nm?"""
_CELSIUS, _FAHRENHEIT = SYMBOLS["°C"], SYMBOLS["°F"]
_OUNCE, _FLUID_OUNCE = SYMBOLS["oz"], SYMBOLS["US fl oz"]
_WEIGHED = re.compile(r"\b(?:weigh|weight|scales?|heavy|heavier|mass)")
_NEAR = 24
_LIGHTEST, _HEAVIEST = 0.8, 0.9
"""Densities of drivetrain fluids, in kg/L."""


class Claim:
    """Two mentions that are said to be the same.

    `weak` is empty if the text says so outright; else it is how they are joined, and the numbers must show whether they are meant to be
    equal. `leaning` is 1 if the second is said to be a little less than the first, -1 if a little more.
    """

    __slots__ = ("following", "leaning", "source", "stated", "weak")

    def __init__(
        self, source: Mention, stated: Mention, weak: str = joints.SAID, following: Mention | None = None, leaning: int = 0
    ) -> None:
        self.source = source
        self.leaning = leaning
        self.stated = stated
        self.weak = weak
        self.following = following


def settle_units(text: str, found: list[Mention]) -> list[Mention]:
    """Give each volume the temperature named right after it, and use neighbours to settle degrees without a scale, and ounces."""
    kept: list[Mention] = []
    for index, mention in enumerate(found):
        if mention.kind == "volume":
            kept.append(mention)
            continue
        if (
            mention.kind == "temperature"
            and kept
            and kept[-1].kind == "volume"
            and mention.start - kept[-1].end < 12
            and text[kept[-1].end : mention.start].strip(SPACES) in ("at", "@", "of")
        ):
            kept[-1].at = mention
            following = found[index + 1] if index + 1 < len(found) else None
            if following is None or following.kind != "temperature":
                continue
        if mention.unit is _OUNCE and kept and kept[-1].unit.system == "US" and kept[-1].kind == "volume":
            whole = _with_ounces(text, kept[-1], mention)
            if whole is not None:
                kept[-1] = whole
                continue
        kept.append(mention)
    for first, second in pairwise(kept):
        if first.kind == second.kind:
            continue
        kinds = {first.kind, second.kind}
        if kinds not in ({"angle", "temperature"}, {"mass", "volume"}) or second.start - first.end > FAR:
            continue
        joint = joints.joint_of(text[first.until : second.start])
        told = joint in (joints.SAID, joints.IS, joints.OR) or (joint == joints.LIST and joints.converted(text, second.end))
        if joint is None or ("angle" in kinds and not told):
            continue
        bare, known = (first, second) if first.kind in ("angle", "mass") else (second, first)
        if bare.unit.symbol == "deg":
            bare.measured_in(_FAHRENHEIT if known.unit.symbol != "°F" else _CELSIUS)
        elif bare.unit is _OUNCE and known.unit is not _FLUID_OUNCE and not (
            weighs(bare, known) and (joint == joints.WORDS or _WEIGHED.search(text, first.until, second.end + _NEAR))
        ):
            bare.measured_in(_FLUID_OUNCE)
    return kept


def _with_ounces(text: str, large: Mention, ounces: Mention) -> Mention | None:
    """A volume with the ounces right behind it, which are fluid ounces: 3 qt 12 oz."""
    if ounces.span or large.span or text[large.end : ounces.start].strip(SPACES) not in ("", "and", "plus", "+", "&"):
        return None
    number = text[ounces.start : ounces.end].rstrip("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ. ")
    found = notation.scan(f"{text[large.start : large.end]} {number} fl oz", 0)
    if found is None or not isinstance(found[0], Reading) or found[0].places is not None or "oz" not in found[0].text:
        return None
    whole = Mention(large.start, ounces.end, found[0])
    ounces.compared = True
    return whole


def weighs(mass: Mention, volume: Mention) -> bool:
    """Whether a mass is what a volume of drivetrain fluid weighs: a pint of this fluid is 14 oz."""
    kilograms, litres = (one.ends[0].num / one.ends[0].den * one.unit.factor for one in (mass, volume))
    return _LIGHTEST * litres <= kilograms <= _HEAVIEST * litres


def claims(text: Text, found: list[Mention], warmth: bool = True) -> Iterator[Claim]:
    """Neighbours that are said to be equal; further members of a list are compared with the first, and pairs of pairs crosswise.

    Two numbers in the same unit are a claim only if the text mentions `warmth`: of two volumes, one hot and one cold.
    """
    read = text.read
    source: Mention | None = None
    used: list[object] = []
    last = len(found) - 1
    skip = -1
    for i in range(last):
        first, second = found[i], found[i + 1]
        if i < skip:
            continue
        if first.unit is second.unit:
            if first.each is None and not (warmth and first.kind == "volume"):
                source = None
                continue
        else:
            crossed = _crosswise(read, found, i)
            if crossed is not None:
                yield from crossed
                source, skip = None, i + 3
                continue
        if second.start - first.end > FAR or (first.kind != second.kind and not _comparable(first, second)):
            source = None
            continue
        following = found[i + 2] if i + 2 <= last else None
        if second.shared:
            yield Claim(first, second, following=following)
            source, used = first, [first.unit, second.unit]
            continue
        between = read[first.until : second.start]
        if source is not None and _APART.fullmatch(between) and _ANEW.match(read, second.end):
            source = None  # 1 qt = 946 mL, 1 gal = 3.785 L
            continue
        goes_on = source is not None and source.kind == second.kind and second.unit not in used and joints.continues(between)
        if source is not None and goes_on and not _adds(read, first, second):
            used.append(second.unit)
            yield Claim(source, second, following=following)
            continue
        source = None
        if _adds(read, first, second):
            continue
        if _is_for_part(read, first, second, between):
            yield Claim(second, first)
            continue
        joint = _joint(text, first, second, between, found[i - 1] if i else None, following)
        if joint is None or (first.each and joint != joints.SAID):
            continue
        yield Claim(first, second, joint, following, joints.leaning(between))
        if first.unit is not second.unit:
            source, used = first, [first.unit, second.unit]
    if text.above:
        yield from _below(text, found)


def _below(text: Text, found: list[Mention]) -> Iterator[Claim]:
    """The numbers of a table that stand below the same in another unit."""
    places = {text.normal.written(mention.start, mention.end)[0]: mention for mention in found}
    for at, mention in places.items():
        source = places.get(text.above.get(at, -1))
        if source is not None:
            yield Claim(source, mention)


def _joint(text: Text, first: Mention, second: Mention, between: str, previous: Mention | None, following: Mention | None) -> str | None:
    """How two neighbours are joined, by the words between them and after the second."""
    read, end = text.read, second.until
    if _BRACKETED_EACH.match(between) and first.start and read[first.start - 1] in joints.OPENING:
        between = between[1:]
    joint = joints.joint_of(between.replace("\n", " ") if text.words else between)
    if joint is None and _in_speech(text, first, second, between):
        joint = joints.LIST if "." not in between else joints.NEXT
    if joint is None:
        return None
    if second.each or _reckoned(read, first, previous) or _adds(read, previous, first) or _adds(read, second, following):
        return joints.SUM
    if _became(read, first, between, end) or not _are_rates_alike(read, first, end):
        return joints.SUM
    if any(c in between for c in joints.OPENING):
        return joint if joints.closes(read, end) else joints.INSIDE
    row = joint in (joints.CELL, joints.LIST) and "\n" not in between
    if row and first.unit is not second.unit and text.is_headed(first) and text.is_headed(second):
        return joints.SAID
    if joint == joints.CELL:
        return joint
    if _SAID_OTHERWISE.match(read, end, end + 16):
        return joints.INSIDE
    if joint == joints.OR and _ASKED.match(read, end):
        return joints.SUM
    if joint in (joints.LIST, joints.IS, joints.OR, joints.NEXT) and joints.converted(read, end):
        return joints.SAID
    if joint in (joints.TOLD, joints.NEXT, joints.LIST, joints.OR):
        return _settled(joint, joints.ends(read, end) or (joint in (joints.LIST, joints.OR) and text.was_words(first.start)))
    return joints.SAID if joint == joints.IS and (_is_unit(first) or first.each) and joints.ends(read, end) else joint


def _is_for_part(read: str, first: Mention, second: Mention, between: str) -> bool:
    """Whether the first number is said to be a conversion of the second, by which a part is named."""
    if _OF_PART.fullmatch(between) is None or _OF_NAME.match(read, second.end) is None:
        return False
    return _CONVERTED.search(read, max(0, first.start - FAR), first.start) is not None


def _became(read: str, first: Mention, between: str, end: int) -> bool:
    """Whether an arrow joins what was before and what was after, not a conversion."""
    if _ARROW.fullmatch(between) is None:
        return False
    lead = read[max(0, first.start - FAR) : first.start].rpartition("\n")[2]
    return _WAS.search(lead) is not None or _SINCE.match(read, end) is not None


def _are_rates_alike(read: str, first: Mention, end: int) -> bool:
    """Whether two numbers are not said to be for two different things: 5 L per drain (6 qt per year)."""
    one, other = _PER.match(read, first.until), _PER.match(read, end)
    return one is None or other is None or one[1] == other[1]


def _is_unit(mention: Mention) -> bool:
    """Whether a mention is the unit itself, which the text may define: a quart is 946 mL."""
    return not mention.span and mention.ends[0].num == mention.ends[0].den


def _settled(joint: str, alone: bool) -> str:
    """The joint, depending on whether more is said about the second number: then the two may be different things."""
    if not alone:
        return joints.NEXT if joint == joints.TOLD else joints.INSIDE
    return {joints.TOLD: joints.SAID, joints.NEXT: joints.IS}.get(joint, joint)


def _in_speech(text: Text, first: Mention, second: Mention, between: str) -> bool:
    """Whether two quantities follow each other as in speech, with nothing, a comma or a full stop between."""
    said = text.spoken or text.was_words(first.start) or text.was_words(second.start)
    return said and not between.strip(" \n,.;")


def _crosswise(read: str, found: list[Mention], i: int) -> list[Claim] | None:
    """The two claims of a double pair: 3.5 L and 4 L (3.7 qt and 4.2 qt), 5 L / 30 ft-lb (5.3 qt / 41 N·m)."""
    if not 0 < i < len(found) - 2:
        return None
    one, two, three, four = found[i - 1], found[i], found[i + 1], found[i + 2]
    if one.kind != three.kind or two.kind != four.kind or one.unit is three.unit or two.unit is four.unit:
        return None
    if (
        three.start - two.end > FAR
        or joints.joint_of(read[two.until : three.start]) != joints.SAID
        or read[two.until : three.start].strip()[:1] not in joints.OPENING
    ):
        return None
    between = read[one.until : two.start].strip(SPACES).lower(), read[three.until : four.start].strip(SPACES).lower()
    if any(joint not in ("and", "or", "/", ",", "&", "to", "then", ";") for joint in between) or not joints.closes(read, four.until):
        return None
    return [Claim(one, three), Claim(two, four)]


def _reckoned(text: str, first: Mention, previous: Mention | None) -> bool:
    """Whether the number is a term of a sum or a factor, as in 3 × 1.2 L = 3.8 qt."""
    at = first.start - 1
    while at > first.start - 4 and at >= 0 and text[at] in SPACES:
        at -= 1
    if at < 1 or text[at] not in _ARITHMETIC:
        return False
    at -= 1
    while at > first.start - 8 and at >= 0 and text[at] in SPACES:
        at -= 1
    return at >= 0 and (text[at].isdigit() or (previous is not None and previous.end == at + 1))


def _adds(text: str, large: Mention | None, small: Mention | None) -> bool:
    """Whether two neighbours are the parts of one amount: a gallon and a quart."""
    if large is None or small is None or large.kind != "volume" or large.kind != small.kind or large.span or small.span:
        return False
    same = large.unit.system == small.unit.system and large.unit.factor > small.unit.factor
    return same and text[large.end : small.start].strip(SPACES) in ("and", "+", "plus", "&")


def _comparable(first: Mention, second: Mention) -> bool:
    """Whether the two can be compared at all: the same kind, or a pair of kinds that people confuse."""
    kinds = first.kind, second.kind
    return kinds[0] == kinds[1] or "mass" in kinds or (kinds[0] == "torque" and kinds[1] == "force")
