"""Where an uncertainty of the balance comes from, and which measurement would settle it, in words of the catalogue."""

from __future__ import annotations

from sumpwise.filling.explanation import Origin
from sumpwise.service.case import Case
from sumpwise.service.facts.buy import pack_named
from sumpwise.service.facts.fact import Amount, Value, Word
from sumpwise.service.measures import Measure


def source_named(case: Case, doubt: Origin) -> Word:
    """Name of a source of uncertainty."""
    values: dict[str, Value] = {"whose": pack_named(case, doubt.whose), "read": Amount("volume", doubt.reading, main=True)}
    return Word(f"source.{doubt.kind if doubt.role == 'reading' else doubt.role}", values)


def measured(case: Case, one: Measure) -> Word:
    """What to measure next, as an instruction."""
    return Word(f"advice.{one.id}", {"whose": pack_named(case, one.whose)})
