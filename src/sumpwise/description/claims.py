"""Finds the pairs of quantities that a text says are equal."""

from __future__ import annotations

from itertools import pairwise

from sumpwise.description.mentions import SPACES, Mention
from sumpwise.quantities.units import SYMBOLS

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

FAR = 60
"""Characters that may stand between two numbers that claim to be equal."""

_ABOUT = ("about", "approx.", "approx", "approximately", "roughly", "around", "ca.", "circa", "nearly", "some", "~", "≈", "∼")
_STRONG = {
    "=", "==", "≈", "≅", "~", "/", "which is", "that's", "thats", "that is", "it's", "i.e.", "ie", "i. e.", "equals", "equal to",
    "equivalent to", "is equal to", "is the same as", "the same as", "same as", "aka", "which equals", "which makes", "or rather",
    "meaning", "in other words", "this is", "that makes", "that equals", "which comes to", "that comes to", "works out to", "works out at",
}  # fmt: skip
_WEAK = {"is", "are", "or", "makes", "comes to", "being", "gives", "was", "i.e"}
_WITHIN = ("", "or", "is", "about", "between", "from")
"""What may stand between an opening bracket and its number."""
_OPENING = "([{"
_ARITHMETIC = ("×", "x", "*", "+", "−", "-")
_WORD_LIMIT = 3
_CELSIUS, _FAHRENHEIT = SYMBOLS["°C"], SYMBOLS["°F"]


class Claim:
    """Two mentions that are said to be the same.

    `weak` is empty when the text says so; "or", "words" or "sum" when only the numbers themselves can tell whether that is meant.
    """

    __slots__ = ("source", "stated", "weak")

    def __init__(self, source: Mention, stated: Mention, weak: str = "") -> None:
        self.source = source
        self.stated = stated
        self.weak = weak


def attach_temperatures(text: str, found: list[Mention]) -> list[Mention]:
    """Give each volume the temperature that is named right behind it, and take that temperature off the list of its neighbours."""
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
    return kept


def degrees_of_temperature(text: str, found: list[Mention]) -> None:
    """Bare degrees that are said to equal a temperature are of the other scale: 80 °C (176 degrees)."""
    for first, second in pairwise(found):
        near = second.start - first.end <= FAR and {first.kind, second.kind} == {"angle", "temperature"}
        if near and joint_of(text[first.until : second.start]) == "":
            bare, known = (first, second) if first.kind == "angle" else (second, first)
            if bare.unit.symbol == "deg":
                bare.measured_in(_FAHRENHEIT if known.unit.symbol != "°F" else _CELSIUS)


def claims(text: str, found: list[Mention]) -> Iterator[Claim]:
    """Neighbours that are said to be equal; further members of a list are held against the first."""
    source: Mention | None = None
    for previous, first, second in zip((None, *found), found, found[1:], strict=False):
        if second.start - first.end > FAR or not _comparable(first, second):
            source = None
            continue
        between = text[first.until : second.start]
        if second.shared:
            yield Claim(first, second)
            source = first
            continue
        if source is not None and _continues(between) and source.kind == second.kind:
            yield Claim(source, second)
            continue
        source = None
        joint = joint_of(between)
        if joint is not None:
            if _reckoned(text, first, previous):
                joint = "sum"
            elif not joint and any(c in between for c in _OPENING) and not _closes(text, second.until):
                joint = "words"
            yield Claim(first, second, joint)
            source = first


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
    tail = text[end : end + 12].lstrip(SPACES)
    return not tail or tail[0] in ")]},;/=" or tail.startswith(("hot", "cold", "warm", "each", "US", "or ", "and "))


def _continues(between: str) -> bool:
    bare = between.strip(SPACES)
    for lead in (",", ";", "/", "=", "≈"):
        if bare.startswith(lead):
            return _without_about(bare[1:].strip(SPACES).lower()).strip(SPACES) in ("", "or", "and", "/")
    return bare.lower() in ("or", "and")


def _without_about(words: str) -> str:
    for about in _ABOUT:
        if words.endswith(about):
            return words[: -len(about)].rstrip(SPACES)
    return words


def joint_of(between: str) -> str | None:
    """How two neighbours are joined: "" by a claim of equality, "or" or "words" loosely, None not at all."""
    words = between.replace("’", "'").replace("\n", " ").strip(SPACES).lower()
    bare = _without_about(words)
    about = bare != words
    for qualifier in ("hot", "cold", "warm"):
        if bare.startswith(qualifier) and not bare[len(qualifier) : len(qualifier) + 1].isalpha():
            bare = bare[len(qualifier) :].lstrip(SPACES)
    loose = ""
    for opening in _OPENING:
        head, found, tail = bare.partition(opening)
        if found:
            if any(c in tail for c in _OPENING + ")]}"):
                return None
            head, bare = head.strip(SPACES), tail.strip(SPACES)
            if head and head not in _STRONG:
                if not _few_words(head):
                    return None
                loose = "words"
            return loose if bare in _STRONG or bare in _WITHIN else None
    punctuated = bare.lstrip(",;:–—-").lstrip(SPACES) if bare[:1] in (",", ";", "–", "—", "-") else bare
    if punctuated.rstrip(":,") in _STRONG:
        return ""
    if punctuated == "or":
        return "" if about or bare != punctuated else "or"
    if punctuated in _WEAK:
        return "" if about else "words"
    if not punctuated and about and bare:
        return ""
    if not bare and about and words:
        return "" if words in ("≈", "~", "∼") else "words"
    return None


def _few_words(head: str) -> bool:
    words = head.split()
    return len(words) <= _WORD_LIMIT and all(w.replace("-", "").isalpha() and w not in ("or", "and", "plus", "minus", "not") for w in words)
