"""Units as they appear in a text: which spelling begins at a place, and whether a unit of that kind is expected there."""

from __future__ import annotations

from math import gcd

from sumpwise.errors import NotationError, SumpwiseError, UnitError, shown, with_article
from sumpwise.quantities.digits import THOUSANDS
from sumpwise.quantities.numerals import DIGITS, DIVIDED, END, GROUPED, MINUS, POINT, signed, stopped, wrong
from sumpwise.quantities.units import ACCEPTED, EVERYDAY, REFUSED, SPELLINGS, SYMBOLS, Unit, key

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import TypeAlias

    from sumpwise.quantities.numerals import Number

    Kind: TypeAlias = str | tuple[str, ...] | None

_LONGEST = 40
_SEPARATORS = " -·*/–−"
_HALVED = (2, 4, 8, 16, 32, 64)  # a workshop's fractions
_DIVIDED = (3, 5, 6, 10, 100)
_ONE, _DELTA_C, _NEWTON_METRE = SYMBOLS["1"], SYMBOLS["Δ°C"], SYMBOLS["N·m"]
_HINTS = {
    ("torque", "lb"): "lbf·ft or lbf·in?", ("torque", "lbf"): "lbf·ft or lbf·in?", ("torque", "oz"): "lbf·in?",
    ("torque", "kg"): "kgf·m or kgf·cm?", ("torque", "kgf"): "kgf·m or kgf·cm?", ("torque", "N"): "N·m?",
    ("volume", "oz"): "fl oz?", ("mass", "US fl oz"): "oz?", ("force", "lb"): "lbf?", ("force", "kg"): "kgf?",
    ("interval", "°C"): "a difference is written Δ°C, °C interval or K", ("interval", "°F"): "a difference is written Δ°F or °F interval",
    ("temperature", "deg"): "°C or °F?", ("temperature", "Δ°C"): "a temperature is written °C",
    ("temperature", "Δ°F"): "a temperature is written °F",
}  # fmt: skip
WEIGHED = "weighed_fluid(mass, temperature, density_15) gives the volume of fluid that was weighed"
"""The hint for a mass where a volume is due."""


_CASED = ("st", "nm", "mo", "rad")
"""Spellings that depend on their capitals, or that mean a unit only where its kind is expected."""
_SPEEDS = ("h", "min", "s", "gal", "lit", "1", "2", "3", "4", "5", "6", "7", "8", "9")
"""What follows `per` in a rate that is no quantity of its own: 60 km per hour, 30 miles per gallon, 1 L per 10 000 km."""


def _loosened(spelling: str) -> str:
    """A spelling without capitals, periods and dashes."""
    plain = spelling.lower().replace(".", "").replace("–", "-").replace("−", "-")
    one, dash, other = plain.partition(" - ")
    if dash and len(one) > 1 < len(other):  # ft - lb, and not N - m, whose dash may be a minus
        plain = f"{one}-{other}"
    loose = key(plain.replace(" · ", "·").replace(" / ", "/"))
    return loose.replace("·per·minute", "/min").replace("·per·min", "/min").replace("·per·second", "/s").replace("·per·hour", "/h")


def _every_day() -> dict[str, Unit | None]:
    found: dict[str, Unit | None] = {}
    for spelling, unit in SPELLINGS.items():
        loose = _loosened(spelling)
        if len(loose) > 1:
            found[loose] = unit if found.get(loose, unit) is unit else None
    for symbol, spellings in EVERYDAY.items():
        found |= dict.fromkeys(spellings.split("|"), SYMBOLS[symbol])
    return {loose: unit for loose, unit in found.items() if loose not in _CASED} | {"n·m": _NEWTON_METRE}


LOOSE: dict[str, Unit | None] = _every_day()
"""Units by their everyday spellings, loosened; None if only capitals tell two units apart."""


def unit_spelled(spelled: str) -> Unit | None:
    """The unit of a spelling: exactly as in the table, or else regardless of capitals and periods."""
    unit = SPELLINGS.get(spelled) or SPELLINGS.get(key(spelled)) or SPELLINGS.get(spelled.removesuffix("."))
    if unit is not None:
        return unit
    return LOOSE.get(_loosened(spelled)) or (_NEWTON_METRE if spelled in ("NM", "N.M", "N.M.", "N.m.") else None)


def settled(s: str, number: Number, unit: Unit) -> tuple[int, int, int | None]:
    """Let the unit settle an ambiguous number; refuse the number with both readings if the unit does not."""
    num, den, places, _, doubt = number
    if not doubt:
        return num, den, places
    name = "" if unit is _ONE else f" {unit.symbol}"
    if doubt == DIVIDED:
        if unit is _ONE or _is_fraction(abs(num), den, unit):
            return num, den, places
        readings = f"the fraction {num}/{den}{name} or {num} to {den}{name}"
        raise wrong(NotationError, s, f"may be {readings}", code="text.ambiguous", hint="write a decimal number, or a span with a dash")
    usual = unit.symbol in THOUSANDS or (doubt != POINT and _grouped_by_commas(unit))
    if places is None or (doubt == POINT and not usual):
        return num, den, places
    factor = 1 if doubt == GROUPED else 1000
    if usual and doubt != POINT:
        return (num, 1, 0) if factor == den else (num * factor, den, places)
    large = f"{num * factor / den:.15g}{name}"
    if factor == 1:
        problem = "a single comma groups thousands only in km, mi, mL, cc, kg, psi, lb and ft"
        raise wrong(NotationError, s, problem, code="text.ambiguous", hint=f"write {large}")
    small = f"{num / den:.3f}{name}"
    bare = f"{num / den:.3f}".rstrip("0")
    clear = f"{bare if bare[-3:-1].find('.') >= 0 else f'{num / den:.4f}'}{name}" if doubt == POINT else small
    error = wrong(NotationError, s, f"may be {small} or {large}", code="text.ambiguous", hint=f"write {clear} or {large}")
    error.readings = (num, den, places), (num * factor // den, 1, 0), unit  # type: ignore[attr-defined]
    raise error


def _grouped_by_commas(unit: Unit) -> bool:
    """Whether a comma before three digits groups thousands in this unit: in kg, and in systems without a decimal comma."""
    return unit.symbol == "kg" or (unit.system == "US" and unit.kind != "volume")


def _is_fraction(num: int, den: int, unit: Unit) -> bool:
    """Whether num/den of a unit is one number: 5/16 in, 3/4 L and 10/11 L are one; 10/12 cm, 31/37 N·m and 13/10 mm are two."""
    if den in _HALVED and unit.system in ("US", "imperial") and unit.kind in ("length", "volume", "mass"):
        return True
    if gcd(num, den) > 1:
        return False
    usual = den in _HALVED or den in _DIVIDED
    return unit.kind == "volume" or (unit.system == "US" and num == 1) or (usual and num < den)


def hint_for(unit: Unit, kinds: tuple[str, ...]) -> str:
    """What to do with a unit of another kind than those expected, whatever the unit; empty if nothing can be said."""
    if unit.kind == "temperature" and "interval" in kinds:
        return "a temperature difference is written Δ°C or °C interval"
    return WEIGHED if unit.kind == "mass" and "volume" in kinds else ""


def due(s: str, unit: Unit, kind: Kind) -> Unit:
    """The unit, if it is of an expected kind; K is an interval where an interval is expected."""
    if kind is None or unit.kind == kind:
        return unit
    kinds = (kind,) if isinstance(kind, str) else kind
    if unit.kind in kinds or (unit.kind == "fraction" and ("number" in kinds or (unit is _ONE and "count" in kinds))):
        return unit
    if unit.symbol == "K" and "interval" in kinds:
        return _DELTA_C
    hint = ""
    for one in kinds:
        hint = hint or _HINTS.get((one, unit.symbol), "")
    hint = hint or hint_for(unit, kinds)
    wanted = " or ".join([with_article(one) for one in kinds])
    raise wrong(
        UnitError, s, f"{unit.symbol} is a unit of {unit.kind}, and {wanted} was expected", _accepted(kinds), hint,
        code="unit.kind",
    )  # fmt: skip


def bare(s: str, k: int, kind: Kind, prose: bool) -> Unit:
    """The unit one, if a bare number is allowed and nothing that looks like a unit follows."""
    kinds = (kind,) if isinstance(kind, str) else kind or ()
    if ("fraction" in kinds or "number" in kinds or "count" in kinds) and (prose or not (s[k].isalpha() or s[k] in "°%\"'/")):
        return _ONE
    raise unknown(s, k, kinds)


def unknown(s: str, k: int, kinds: tuple[str, ...]) -> SumpwiseError:
    """The error for a missing or unknown unit."""
    accepted = _accepted(kinds) or "a unit such as L, qt, °C, N·m, ft-lb, psi, mm, km, min"
    if s[k] == END:
        return wrong(UnitError, s, "has no unit", accepted, "write the unit after the number", code="unit.missing")
    j = k
    while s[j].isalnum() or s[j] in "°%_^²³\"'/·-*." or (s[j] == " " and s[j + 1].isalpha()):
        j += 1
    if not (s[k].isalpha() or s[k] in "°%\"'"):
        return stopped(s, k, "expected a unit", accepted, code="unit.missing")
    spelled = key(s[k:j])
    if spelled in REFUSED and (not kinds or "torque" in kinds):
        return wrong(UnitError, s, f"{shown(s[k:j])} {REFUSED[spelled]}", accepted, code="unit.unsupported")
    likely = SPELLINGS.get(spelled.lower()) or SPELLINGS.get(spelled.capitalize())
    hint = f"did you mean {likely.symbol}?" if likely is not None and (not kinds or likely.kind in kinds) else ""
    return wrong(UnitError, s, f"{shown(s[k:j])} is not a unit known here", accepted, hint, code="unit.unknown")


def _accepted(kinds: tuple[str, ...]) -> str:
    return "; ".join([ACCEPTED.get(one, one) for one in kinds])


def unit_at(s: str, i: int, kind: Kind, prose: bool) -> tuple[Unit | None, int]:
    """The longest spelling that starts at `i` and ends at the end of a word; None if there is none."""
    end = len(s) - 1
    unit = SPELLINGS.get(s[i:end])
    if unit is not None and not prose and unit is not _ONE:
        return unit, end
    c = s[i]
    if not (c.isalpha() or c in '°%"'):
        return None, i
    stops = []
    j, before, limit = i, "", min(end, i + _LONGEST)
    while j < limit:
        c = s[j]
        if c.isalnum() or c in "°%_^²³\"":
            if c in DIGITS and before in " -·/–−" and s[j - 2] != "*":
                break
        elif c not in " -·*/.–−":
            break
        elif before not in _SEPARATORS:
            stops.append(j)
        before = c
        j += 1
    stops.append(j)
    for e in reversed(stops):
        after = s[e]
        beside = prose and after == "/" and (s[e + 1] in DIGITS or (s[e + 1] in MINUS and s[e + 2] in DIGITS))
        if after.isalnum() or (after in "_^²³°/·*" and not beside) or (after == "-" and s[e + 1].isalpha()):
            continue
        spelled = s[i:e]
        if prose and spelled[-1] == "." and spelled not in SPELLINGS and key(spelled) not in SPELLINGS:
            continue  # the end of a sentence
        unit = unit_spelled(spelled)
        if unit is None and spelled == "nm" and kind is not None and "torque" in kind and "length" not in kind:
            unit = _NEWTON_METRE
        if unit is not None and not (prose and _is_word(s, i, e)) and not (beside and _per(s, e + 1, unit)):
            return unit, e + 3 if s.startswith("(s)", e) else e
    return None, i


def _per(s: str, i: int, unit: Unit) -> bool:
    """Whether what starts behind a stroke is of another kind, so that it is one rate: 5 L/100 km, but 34 N·m/25 lbf·ft."""
    try:
        j = signed(s, i)[3]
    except NotationError:
        return False
    other, _ = unit_at(s, j + (s[j] == " "), unit.kind, True)
    return other is not None and other.kind != unit.kind


_OF_INCHES = ("to ", "ID", "OD", "I.D", "O.D", "drive", "socket", "hose", "wide", "deep", "thick")
"""After inches: 3/8 in ID, 3/4 in drive."""


def _is_word(s: str, i: int, e: int) -> bool:
    """Whether a spelling is really a word of the running text: 5 in the pan (not 5in long), 2 a day, 60 km per hour."""
    spelled = s[i:e].lower()
    if spelled == "a" or (s.startswith(" per ", e) and s.startswith(_SPEEDS, e + 5)):
        return True
    if spelled == "in" and s[i - 1] in DIGITS:
        return False
    return (spelled == "in" or spelled.endswith(" in")) and s[e] == " " and s[e + 1].isalpha() and not s.startswith(_OF_INCHES, e + 1)
