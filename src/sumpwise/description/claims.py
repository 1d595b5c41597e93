"""Finds the pairs of quantities that a text says are equal, by what stands between them."""

from __future__ import annotations

import re
from functools import lru_cache
from itertools import pairwise

from sumpwise.description.mentions import APART, SPACES, Mention
from sumpwise.quantities.units import SYMBOLS

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

    from sumpwise.description.normalising import Text

FAR = APART
"""Characters that may stand between two numbers that claim to be equal."""

SAID, IS, OR, LIST, CELL, NEXT, WORDS, INSIDE, SUM = "", "is", "or", "list", "cell", "next", "words", "inside", "sum"
"""How two numbers are joined: said to be equal; by `is`; by `or`; side by side in a list or in speech; in two cells of a table; in the next
sentence; with a few words between; with words behind the second inside its bracket; as a term of a sum."""

_ABOUT = (
    r"(?:about|approximately|approx\.?|roughly|around|ca\.?|circa|nearly|almost|some|just|only|close to|say|maybe|"
    r"a little (?:over|under)|exactly|"
    r"~|≈)"
)
_UNIT_SYSTEM = (
    r"(?:metric|imperial|si|us|u\.s\.|american|english|new|old)(?: (?:terms|units|measure|money|speak))?|quarts?|lit(?:er|re)s?|gallons?|"
    r"fahrenheit|celsius|(?:newton[ -])?met(?:er|re)s?|foot[ -]pounds?|miles|kilomet(?:er|re)s|inches|psi|bar"
)
_VERB = (
    r"(?:'s|s|(?:'d| would| will| should| might| must)? ?(?:be|is|are|was|were|equals?|makes?|means?|gives?(?: you| us)?|reads?|"
    r"(?:comes?|came|works?|worked|turns?|boils?) (?:out |down )?(?:to|at|as)|converts? (?:to|into)|translates? (?:to|into|as)|amounts? to|"
    r"corresponds? to|rounds? to|happens? to be))"
)
_CLAIM = re.compile(
    rf"(?:(?:and|so|well|ok|okay|now|then|or|but|also|again|yes|right|there)[ ,]+)*"
    rf"(?:(?:that|this|which|it|these|those|all of that){_VERB}|(?:equals?|is equal to|equal to|equivalent to|(?:is )?the same as|same as|"
    rf"converts? (?:to|into)|which|call (?:it|that)|in other words|i\. ?e\.?|ie|aka|a\.k\.a\.|meaning|or rather|read|makes|"
    rf"let's say|a\.k\.a)|"
    rf"==?|≈|≅|⇔|→|=>|->|/|(?:or |and |so )?in (?:{_UNIT_SYSTEM})(?: (?:that's|its|it's|is))?)"
    rf"[ ,:]*(?:an? |the )?(?:(?:drop|rise|fall|difference|change|increase|decrease|gain|margin|total|temperature|"
    rf"torque) (?:of|by) )?(?:{_ABOUT}\s*)*"
)
_SIGN = re.compile(rf"(?:==?|≈|≅|≙|≡|⇔|⇒|→|⟶|➔|<?[=-]+>|=>)(?:\s*{_ABOUT})*")
_IS = re.compile(rf"(?:(?:or|and) )?(?:is|are|was|makes|comes to|being|gives|so|so it's)(?: (?:{_ABOUT}))*")
_SO = re.compile(
    rf"(?:and )?so(?: an?)?(?: (?:drop|rise|fall|difference|change|increase|decrease|gain|margin) (?:of|by))?(?: (?:{_ABOUT}))*"
)
_ABOUTS = re.compile(rf"(?:{_ABOUT}\s*)+")
_OPENING = "([{"
_WITHIN = (
    "",
    "or",
    "is",
    "about",
    "between",
    "from",
    "=",
    "≈",
    "~",
    "that's",
    "i.e.",
    "or about",
    "approx.",
    "approx",
    "now",
    "so",
    "also",
)
"""What may stand between an opening bracket and its number."""
_QUALIFIERS = ("hot", "cold", "warm", "each", "total", "max", "max.", "min", "min.", "dry", "on a drain", "nominal")
_ARITHMETIC = ("×", "x", "*", "+", "−", "-")
_WORD_LIMIT = 3
_SEPARATING = {
    "or", "and", "plus", "minus", "not", "when", "if", "but", "then", "than", "per", "from", "to", "at", "until", "after", "before", "with",
    "without", "instead", "vs", "versus", "over", "under", "left", "short",
}  # fmt: skip
_SAID_OTHERWISE = re.compile(
    r"\s*(?:more|less|short|too|left|extra|spare|away|bigger|smaller|larger|of it|at a time|bottles?|jugs?|cans?|jars?|pails?|one\b)"
)
_CELSIUS, _FAHRENHEIT = SYMBOLS["°C"], SYMBOLS["°F"]
_OUNCE, _FLUID_OUNCE = SYMBOLS["oz"], SYMBOLS["US fl oz"]


class Claim:
    """Two mentions that are said to be the same.

    `weak` is empty when the text says so; else how they are joined, and the numbers themselves must tell whether that is meant.
    """

    __slots__ = ("following", "source", "stated", "weak")

    def __init__(self, source: Mention, stated: Mention, weak: str = SAID, following: Mention | None = None) -> None:
        self.source = source
        self.stated = stated
        self.weak = weak
        self.following = following


def settle_units(text: str, found: list[Mention]) -> list[Mention]:
    """Give each volume the temperature named right behind it, and settle by their neighbours degrees without a scale and ounces."""
    kept: list[Mention] = []
    for index, mention in enumerate(found):
        previous = kept[-1] if kept else None
        if (
            previous is not None
            and mention.kind == "temperature"
            and previous.kind == "volume"
            and mention.start - previous.end < 12
            and text[previous.end : mention.start].strip(SPACES) in ("at", "@", "of")
        ):
            previous.at = mention
            following = found[index + 1] if index + 1 < len(found) else None
            if following is None or following.kind != "temperature":
                continue
        kept.append(mention)
    for first, second in pairwise(kept):
        kinds = {first.kind, second.kind}
        if kinds not in ({"angle", "temperature"}, {"mass", "volume"}) or second.start - first.end > FAR:
            continue
        joint = joint_of(text[first.until : second.start])
        if joint is None or (joint not in (SAID, IS, OR) and "angle" in kinds):
            continue
        bare, known = (first, second) if first.kind in ("angle", "mass") else (second, first)
        if bare.unit.symbol == "deg":
            bare.measured_in(_FAHRENHEIT if known.unit.symbol != "°F" else _CELSIUS)
        elif bare.unit is _OUNCE and known.unit is not _FLUID_OUNCE:
            bare.measured_in(_FLUID_OUNCE)
    return kept


def claims(text: Text, found: list[Mention], warmth: bool = True) -> Iterator[Claim]:
    """Neighbours that are said to be equal; further members of a list are held against the first, and pairs of pairs crosswise.

    Two numbers in one unit are a claim only where `warmth` is spoken of: of volumes, one hot and one cold.
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
        if first.unit is not second.unit:
            crossed = _crosswise(read, found, i)
            if crossed is not None:
                yield from crossed
                source, skip = None, i + 3
                continue
        if second.start - first.end > FAR or (first.kind != second.kind and not _comparable(first, second)):
            source = None
            continue
        if first.unit is second.unit and not (warmth and first.kind == "volume"):
            source = None
            continue
        following = found[i + 2] if i + 2 <= last else None
        if second.shared:
            yield Claim(first, second, following=following)
            source, used = first, [first.unit, second.unit]
            continue
        between = read[first.until : second.start]
        if source is not None and source.kind == second.kind and second.unit not in used and _continues(between):
            used.append(second.unit)
            yield Claim(source, second, following=following)
            continue
        source = None
        joint = joint_of(between.replace("\n", " ") if text.words else between)
        if joint is None and _in_speech(text, first, second, between):
            joint = LIST if "." not in between else NEXT
        if joint is None:
            continue
        if _reckoned(read, first, found[i - 1] if i else None):
            joint = SUM
        elif any(c in between for c in _OPENING):
            if not _closes(read, second.until):
                joint = INSIDE
        elif joint != CELL and _SAID_OTHERWISE.match(read, second.until, second.until + 16):
            joint = INSIDE
        elif joint == CELL and text.is_headed(first) and text.is_headed(second):
            joint = SAID
        yield Claim(first, second, joint, following)
        if first.unit is not second.unit:
            source, used = first, [first.unit, second.unit]


def _in_speech(text: Text, first: Mention, second: Mention, between: str) -> bool:
    """Whether two quantities follow each other as they do in speech, with nothing or a comma or a full stop between."""
    said = text.spoken or first.start in text.words or second.start in text.words
    return said and not between.strip(" \n,.;")


def _crosswise(read: str, found: list[Mention], i: int) -> list[Claim] | None:
    """The two claims of a double pair: 3.5 L and 4 L (3.7 qt and 4.2 qt), 5 L / 30 ft-lb (5.3 qt / 41 N·m)."""
    if not 0 < i < len(found) - 2:
        return None
    one, two, three, four = found[i - 1], found[i], found[i + 1], found[i + 2]
    if one.kind != three.kind or two.kind != four.kind or (one.unit is two.unit) != (three.unit is four.unit) or one.unit is three.unit:
        return None
    if (
        three.start - two.end > FAR
        or joint_of(read[two.until : three.start]) != SAID
        or read[two.until : three.start].strip()[:1] not in _OPENING
    ):
        return None
    joints = read[one.until : two.start].strip(SPACES).lower(), read[three.until : four.start].strip(SPACES).lower()
    if any(joint not in ("and", "or", "/", ",", "&", "to", "then", ";") for joint in joints) or not _closes(read, four.until):
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


def _comparable(first: Mention, second: Mention) -> bool:
    """Whether a claim of these two could be judged at all: one kind, or a pair that is known to be confused."""
    kinds = first.kind, second.kind
    return kinds[0] == kinds[1] or "mass" in kinds or (kinds[0] == "torque" and kinds[1] == "force")


def _closes(text: str, end: int) -> bool:
    """Whether the bracket closes, or its list goes on, right behind a qualifier such as `cold`."""
    tail = text[end : end + 16].lstrip(SPACES + ".")
    return not tail or tail[0] in ")]},;/=\n" or tail.lower().startswith((*_QUALIFIERS, "us", "or ", "and ", "that"))


def _continues(between: str) -> bool:
    bare = between.strip(SPACES)
    for lead in (",", ";", "/", "=", "≈"):
        if bare.startswith(lead):
            return _without_about(bare[1:].strip(SPACES).lower()).strip(SPACES) in ("", "or", "and", "/")
    return bare.lower() in ("or", "and")


def _without_about(words: str) -> str:
    match = _ABOUTS.search(words)
    while match is not None and match.end() < len(words):
        match = _ABOUTS.search(words, match.start() + 1)
    return words if match is None else words[: match.start()].rstrip(SPACES)


@lru_cache(maxsize=4096)
def joint_of(between: str) -> str | None:
    """How two neighbours are joined by what stands between them; None where they are not."""
    lines = between.count("\n")
    words = " ".join(between.lower().replace("±", " ").split())
    if not words:
        return CELL if "\t" in between else None if lines or not between else LIST
    if words in ("|", "| |"):
        return None if lines else CELL
    bare = words.lstrip(".").lstrip() if words[0] == "." and words[1:2] in ("", " ", ",", "(", ")") else words
    after_stop = words[0] in ".!?" and bool(bare) and bare[0] not in ",;()[]=/-–"
    for qualifier in _QUALIFIERS:
        if bare.startswith(qualifier) and not bare[len(qualifier) : len(qualifier) + 1].isalpha():
            bare = bare[len(qualifier) :].lstrip()
    for opening in _OPENING:
        head, found, tail = bare.partition(opening)
        if found:
            return _bracketed(head.strip(SPACES + ",;:"), tail.strip(SPACES))
    bare = bare.lstrip("!?…").lstrip()
    if _SIGN.fullmatch(bare):
        return SAID
    mark = bare[:1] if bare[:1] in (",", ";", ":", "–", "-") else ""
    said = bare.lstrip(",;:–-").strip() if mark else bare
    said = said.rstrip(" ,:")
    if not said:
        return None if lines else LIST if mark in (",", "-", "–", ";") or not mark else None
    if _CLAIM.fullmatch(said):
        return NEXT if after_stop or lines > 1 else SAID
    if lines:
        return None
    if _ABOUTS.fullmatch(said):
        return None if after_stop else SAID
    if said == "or" or _ABOUTS.fullmatch(said.removeprefix("or ")):
        return SAID if mark or said != "or" else OR
    if _IS.fullmatch(said) or _SO.fullmatch(said):
        return SAID if _ABOUTS.search(said) else IS
    if not mark and not after_stop and said.endswith((" is", " are", " makes", " holds")) and _few_words(said.rpartition(" ")[0]):
        return WORDS
    return None


def _bracketed(head: str, tail: str) -> str | None:
    if any(c in tail for c in _OPENING + ")]}"):
        return None
    if tail not in _WITHIN and not _CLAIM.fullmatch(tail) and not _ABOUTS.fullmatch(tail):
        return None
    if not head or head in ("|",) or _CLAIM.fullmatch(head) or head in _QUALIFIERS:
        return SAID
    return WORDS if _few_words(head) else None


def _few_words(head: str) -> bool:
    words = head.split()
    return len(words) <= _WORD_LIMIT and all(w.replace("-", "").isalpha() and w not in _SEPARATING for w in words)
