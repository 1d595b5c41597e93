"""What a person could write instead of a text that was refused: each suggestion was read before it is made."""

from __future__ import annotations

import re
from difflib import get_close_matches

from sumpwise.quantities.spelling import LOOSE
from sumpwise.quantities.units import SPELLINGS

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable

    from sumpwise.errors import SumpwiseError
    from sumpwise.quantities.units import Unit

LONGEST = 60
"""The longest text, in characters, for which a mend is looked for."""
_LIKE = 0.7
_NUMBER = r"[-−–]?[0-9½⅓⅔¼¾⅛⅜⅝⅞][0-9.,/½⅓⅔¼¾⅛⅜⅝⅞ -]*"
_ROUGHLY = re.compile(rf"({_NUMBER}?) ?(?:ish\b|\+|-ish\b)(.*)|(.*?)[ ,-]*(?:approx\.?|approximately|about|roughly|or so|ish|give or take)")
_EITHER = re.compile(rf"({_NUMBER}?) ?or ({_NUMBER}.*)")
_BEHIND = re.compile(rf"([A-Za-z°µ·/-]{{1,12}})\.? ?({_NUMBER})")
_REVERSED = re.compile(r"([0-9.,]+)( ?(?:-|–|to) ?)([0-9.,]+)([^0-9/]*)")
_GROUPED = re.compile(r"([0-9]{1,3}(?:['’][0-9]{3})+)(?![0-9])(.*)")
_CLOCK = re.compile(r"([0-9]{1,3}):([0-5][0-9])")


def mend(text: str, error: SumpwiseError, kinds: tuple[str, ...], reads: Callable[[str], bool], begins: Callable[[str], int]) -> str:
    """What to write instead of a refused text, in words; empty if nothing is found that would be read.

    `kinds` are those expected; `reads` tells whether a text would be read, and `begins` how many characters of it are a quantity that could
    stand alone.
    """
    if len(text) > LONGEST:
        return ""
    clock = _CLOCK.fullmatch(text)
    if clock is not None and "time" in kinds:
        return f"write minutes and seconds with their units: {clock[1]} min {int(clock[2])} s"
    for written, lead in _rewritten(text):
        if reads(written):
            return f"{lead} {written}"
    for before, after, lead in ((" - ", "-", "if it is a mixed number, write it without spaces:"), (" oz", " fl oz", "write")):
        if before in text and reads(text.replace(before, after)):
            return f"{lead} {text.replace(before, after)}"
    if error.code == "text.rest" or (error.code == "unit.unknown" and "/" in text):
        end = begins(text if error.code == "text.rest" else text.partition("/")[0])
        rest = text[end:].lstrip()
        if end and (rest[:1] in "(=/[" or not any(map(str.isdigit, rest))):
            return f"write {text[:end]} alone"
    return _meant(text, kinds) if error.code == "unit.unknown" else ""


def _rewritten(text: str) -> list[tuple[str, str]]:
    """Other ways to write a text, each with the words before it."""
    found = []
    if one := _ROUGHLY.fullmatch(text):
        found.append((f"about {(one[1] or '').strip()}{one[2] or one[3] or ''}", "write"))
    if one := _EITHER.fullmatch(text):
        found.append((f"{one[1].strip()} to {one[2]}", "write"))
    if one := _REVERSED.fullmatch(text):
        found.append((f"{one[3]}{one[2]}{one[1]}{one[4]}", "write"))
    if one := _GROUPED.fullmatch(text):
        found.append((one[1].replace("'", "").replace("’", "") + one[2], "write"))
    if one := _BEHIND.fullmatch(text):
        found.append((f"{one[2]} {one[1]}", "write the number first:"))
    return found


def _meant(text: str, kinds: tuple[str, ...]) -> str:
    """The unit whose spelling is most like that of an unknown one, as a question."""
    spelled = text.lstrip("0123456789.,/½⅓⅔¼¾⅛⅜⅝⅞ -−").lower()
    known: dict[str, Unit] = {
        one: unit for one, unit in (*SPELLINGS.items(), *LOOSE.items())
        if unit is not None and len(one) > 2 and one[0] == spelled[:1] and abs(len(one) - len(spelled)) < 3 and unit.kind in kinds
    }  # fmt: skip
    near = get_close_matches(spelled, known, n=1, cutoff=_LIKE)
    return f"did you mean {near[0] if near[0].isalpha() else known[near[0]].symbol}?" if near else ""
