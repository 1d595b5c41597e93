"""How far off a stated number is: whether a reader would act on a wrong number, or just find it oddly written."""

from __future__ import annotations

from sumpwise.description.precision import Figure, is_near, is_rounding

TYPE_CHECKING = False
if TYPE_CHECKING:
    from sumpwise.quantities.digits import Ratio

WRONG, STYLE = "wrong", "style"

_HARMLESS: Ratio = (25, 1000)
"""A number off by up to this share of its value is a matter of style: 2 % as for printed conversions, and a quarter more."""
_DEGREES = {"°F": (3, 1), "°C": (5, 3), "K": (5, 3)}
"""A temperature off by up to this many degrees is a matter of style: people round to tens and fives."""
_ONE_DIGIT: Ratio = (6, 100)
"""The same share for a number with one digit that is the nearest such number: half a litre is a pint."""
_CUSTOMARY: Ratio = (4, 100)
"""The same share for a distance or a time rounded to its first digits."""


def grade(stated: tuple[Figure, ...], source: tuple[Figure, ...]) -> str:
    """The grade of a number, or of two limits, that disagree with the source."""
    return STYLE if all(_harmless(s, o) for s, o in zip(stated, source, strict=True)) else WRONG


def _harmless(stated: Figure, source: Figure) -> bool:
    over, under = source.into(stated.unit)
    apart, below = abs(stated.num * under - over * stated.den), stated.den * under
    allowed = _DEGREES.get(stated.unit.symbol)
    if allowed is not None:
        return apart * allowed[1] <= allowed[0] * below
    alike = is_near(stated, source, share=_ONE_DIGIT) and _roughly_the_same(stated, source)
    if is_rounding(stated, source) and (_digits(stated) > 1 or alike):
        return True
    share = _CUSTOMARY if stated.zeros else _HARMLESS
    return apart * under * share[1] <= share[0] * abs(over) * below


def _roughly_the_same(stated: Figure, source: Figure) -> bool:
    """Whether a number may stand for another: half a litre for half a quart, but 0.5 L for 0.5 qt is the same number twice."""
    return not stated.equals(source) or all(one.den != 10 ** max(0, one.places) for one in (stated, source))


def _digits(stated: Figure) -> int:
    """How many digits a number has, not counting leading zeros."""
    return len(str(abs(stated.num) * 10 ** max(0, stated.places) // stated.den))
