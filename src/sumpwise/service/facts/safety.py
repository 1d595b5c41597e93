"""Stop signs and cautions: what no number on the sheet overrides."""

from __future__ import annotations

from sumpwise.mixing.circuit.history import PUMP
from sumpwise.service.case import Case
from sumpwise.service.facts.fact import CAUTION, STOP, Amount, Fact, Part, Series, Word, item, line
from sumpwise.service.kinds import CVT, OVERFLOW, SEALED
from sumpwise.service.schema import RED_ROWS, TOO_HOT

SIGNS = dict(zip(RED_ROWS, (
    "sign.milky", "sign.bubbles", "sign.no_flow", "sign.flakes", "sign.burnt", "sign.hot", "sign.foam", "sign.thread", "sign.bottle",
    "sign.count",
), strict=True))  # fmt: skip
"""Stop sign as a log has it -> entry of the catalogue; its meaning is the entry with `.means` behind."""
CAUTIONS = ("scald", "running", "stands", "line", "spill", "waste", "own_fluid", "hands")
COOL = Amount("temperature", 50.0)
"""Below which a plug may be opened with gloves."""


def sign(red_row: str) -> Word:
    """A stop sign in words."""
    return Word(SIGNS[red_row], {"limit": Amount("temperature", TOO_HOT)})


def caution(name: str) -> Fact:
    """One of the usual cautions."""
    return item(f"caution.{name}", CAUTION, cool=COOL) if name == "scald" else item(f"caution.{name}", CAUTION)


def stopped(case: Case) -> Part | None:
    """What has been seen that stops the work, or nothing."""
    if not case.halted:
        return None
    return Part("stopped", [_sign(red_row) for red_row in case.halted], data={"seen": list(case.halted)})


def stopping() -> Part:
    """All stop signs: named, then what each means."""
    return Part("stop", [line("stop.any", STOP, signs=Series(tuple(map(sign, RED_ROWS)))), *map(_sign, RED_ROWS)])


def _sign(red_row: str) -> Fact:
    word = SIGNS[red_row]
    return item("stop.sign", STOP, (), word, sign=sign(red_row), means=Word(f"{word}.means"))


def cautioning(case: Case) -> Part:
    """The cautions that bear on this unit and this method."""
    skipped = set()
    if not any(operation.kind == PUMP for operation in case.method.operations(case)):
        skipped.add("line")
    if case.check.key not in (OVERFLOW, SEALED):
        skipped.add("hands")
    if not case.kind.pumped:  # nothing is done with the engine running
        skipped.add("running")
    if case.kind.name != CVT:
        skipped.add("own_fluid")
    return Part("cautions", [line("caution.first", CAUTION), *(caution(name) for name in CAUTIONS if name not in skipped)])
