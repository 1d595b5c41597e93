"""Stop signs and cautions, which no number on the sheet overrides. Each is given if it applies to the unit and to the work."""

from __future__ import annotations

from collections.abc import Callable

from sumpwise.mixing.circuit.history import PUMP
from sumpwise.service.case import Case
from sumpwise.service.facts.fact import CAUTION, STOP, Amount, Fact, Part, Series, Value, Word, item, line
from sumpwise.service.kinds import CVT, FILL_HOLE, OVERFLOW, SEALED, STICK
from sumpwise.service.schema import RED_ROWS, TOO_HOT

Bears = Callable[[Case], bool]


def _always(case: Case) -> bool:
    return True


def _pumped(case: Case) -> bool:
    return case.kind.pumped


def _opened(case: Case) -> bool:
    """Whether anything is opened, by the plan or by the log."""
    return case.method.planned or case.agreement is not None


def _by_line(case: Case) -> bool:
    """Whether the pump runs with the cooler line open."""
    return any(one.kind == PUMP for one in case.method.operations(case)) or any(move.by_the_line for move in case.moves)


def _checked(*ways: str) -> Bears:
    return lambda case: case.check.key in ways


SIGNS: dict[str, tuple[tuple[str, Bears], ...]] = dict(zip(RED_ROWS, (
    (("sign.milky", _pumped), ("sign.water", _always)),
    (("sign.bubbles", _by_line),),
    (("sign.no_flow", _by_line),),
    (("sign.flakes", _always),),
    (("sign.burnt", _pumped),),
    (("sign.hot", _always),),
    (("sign.foam", _checked(STICK)), ("sign.foam_plug", _checked(OVERFLOW))),
    (("sign.thread", _opened),),
    (("sign.rounded", _opened),),
    (("sign.bottle", _opened),),
    (("sign.count", _by_line), ("sign.count_poured", lambda case: _opened(case) and case.check.key != FILL_HOLE)),
), strict=True))  # fmt: skip
"""Stop sign as in a log -> entries of the catalogue, of which the first that applies is used; its meaning is the entry with `.means`."""
CAUTIONS: dict[str, Bears] = {
    "scald": _opened, "running": lambda case: _pumped(case) and _opened(case), "stands": _opened, "line": _by_line, "spill": _opened,
    "waste": _opened, "own_fluid": lambda case: case.kind.name == CVT, "hands": _checked(OVERFLOW, SEALED),
}  # fmt: skip
COOL = Amount("temperature", 50.0)
"""Below this temperature a plug may be opened with gloves."""


def signs(case: Case | None = None) -> list[Word]:
    """The stop signs in words: those that apply to a case, or all."""
    found = (_sign(row) if case is None else _bearing(case, row) for row in RED_ROWS)
    return [sign for sign in found if sign is not None]


def _sign(row: str, word: str = "") -> Word:
    return Word(word or SIGNS[row][0][0], {"limit": Amount("temperature", TOO_HOT)})


def _bearing(case: Case, row: str) -> Word | None:
    return next((_sign(row, word) for word, bears in SIGNS[row] if bears(case)), None)


def cautions(case: Case | None = None) -> list[Fact]:
    """The usual cautions: those that apply to a case, or all."""
    which = "any" if case is None else case.check.key
    says: dict[str, dict[str, Value]] = {"scald": {"cool": COOL}, "hands": {"what": Word(f"caution.hands {which}")}}
    return [item(f"caution.{name}", CAUTION, **says.get(name, {})) for name, bears in CAUTIONS.items() if case is None or bears(case)]


def stopped(case: Case) -> Part | None:
    """The stop signs that were seen, or None."""
    if not case.halted:
        return None
    return Part("stopped", [_said(sign_of(case, row)) for row in case.halted], data={"seen": list(case.halted)})


def sign_of(case: Case, row: str) -> Word:
    """A stop sign that was seen, in the words for this unit."""
    return _bearing(case, row) or _sign(row)


def stopping(case: Case) -> Part:
    """The stop signs: a list of names, then what each means."""
    bearing = signs(case)
    return Part("stop", [line("stop.any", STOP, signs=Series(tuple(bearing))), *map(_said, bearing)])


def _said(sign: Word) -> Fact:
    return item("stop.sign", STOP, (), sign.id, sign=sign, means=Word(f"{sign.id}.means"))


def cautioning(case: Case) -> Part:
    """The cautions that apply to this unit and this method."""
    return Part("cautions", [line("caution.first", CAUTION), *cautions(case)])
