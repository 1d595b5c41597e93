"""What a doubt of the balance rests on, and which measurement would settle it, in words of the catalogue."""

from __future__ import annotations

from sumpwise.filling.explanation import Doubt
from sumpwise.service.case import Case
from sumpwise.service.facts.buy import pack_named
from sumpwise.service.facts.fact import Amount, Value, Word


def source_named(case: Case, doubt: Doubt) -> Word:
    """What a source of doubt is."""
    return Word(f"source.{_kind(doubt)}", _values(case, doubt))


def advised(case: Case, doubt: Doubt | None) -> Word:
    """What to measure next."""
    return Word("advice.nothing") if doubt is None else Word(f"advice.{_kind(doubt)}", _values(case, doubt))


def _kind(doubt: Doubt) -> str:
    return doubt.kind if doubt.role == "reading" else doubt.role


def _values(case: Case, doubt: Doubt) -> dict[str, Value]:
    return {"whose": pack_named(case, doubt.whose), "read": Amount("volume", doubt.reading, main=True)}
