"""The log, entry by entry: what was read, its volume at one temperature, and how much more or less is in than before the work."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sumpwise.service.case import Case
from sumpwise.service.facts.buy import pack_named
from sumpwise.service.facts.fact import REFERENCE, Amount, Count, Name, Part, Table, Value, Word, Written, line
from sumpwise.service.facts.safety import sign_of
from sumpwise.service.movements import Movement
from sumpwise.service.render.figures import plain
from sumpwise.uncertainty import nominal

COLUMNS = ("entry", "event", "of", "read", "at", "moved", "against", "note")


def accounting(case: Case) -> Part | None:
    """The table of the log; None if nothing was moved or the log cannot be followed."""
    if not case.moves:
        return None
    moves = case.moves
    rows = [_row(case, move, written) for move, written in zip(moves, case.job.written("log"), strict=True)]
    table = Table(tuple(f"log.column.{name}" for name in COLUMNS), rows)
    return Part("log", [line("log.meaning", reference=REFERENCE)], table, lambda: {
        "entries": [
            {"number": move.number, "moved": plain(move.moved, "L"), "balance": plain(move.balance, "L")} for move in moves if move.litres
        ],
    })  # fmt: skip


def _row(case: Case, move: Movement, written: Mapping[str, Any]) -> list[Value]:
    dash = Word("dash")
    of, at = move.entry.get("vessel", move.entry.get("what")), move.entry.get("temperature")
    litres = [Amount("volume", one, True, main=True) for one in (move.moved, move.balance)] if move.litres else [dash, dash]
    return [
        Count(move.number), Word(f"event.{move.event}"), dash if of is None else pack_named(case, of),
        _read(case, move, written), dash if at is None else Amount("temperature", nominal(at)), *litres, Name(str(written.get("note", ""))),
    ]  # fmt: skip


def _read(case: Case, move: Movement, written: Mapping[str, Any]) -> Value:
    """The reading or volume as the log has it; the stop sign that was seen; or a dash."""
    if "seen" in written:
        return sign_of(case, written["seen"])
    text = written.get("reading", written.get("volume"))
    return Word("dash") if text is None else Written(str(text), "length" if move.event == "stick" else "volume")
