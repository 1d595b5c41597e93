"""Phrases that several sections share: the name of a method, a probability, an entry of the log."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sumpwise.service.facts.fact import Name, Share, Value, Word, Written, stated

SELDOM = 0.005


def named(key: str) -> Word:
    """Name of a method."""
    return Word(f"method.{key}")


def chance(p: float) -> Value:
    """A probability; a very small one as "under" a limit."""
    return Word("chance.under") if p < 0.001 else Share(p, 1)


def likely(p: float, asked: float) -> Value:
    """A probability beside the one asked for, as finely: never rounded up to it if it is smaller, nor to certainty or impossibility."""
    places = stated(asked).places
    digit = 10.0 ** -(places + 2)
    shown = p if p >= asked else min(p, asked - digit)
    if shown < SELDOM:
        return Word("likely.hardly")
    if not places and shown > 1 - SELDOM:
        return Word("likely.surely")
    share = Share(min(shown, 1 - digit) if places else shown, places)
    return share if p >= asked else Word("likely.only", {"probability": share})


def wished(target: float, probability: float, asked: float) -> dict[str, Value]:
    """A target, how probable it is that it is met, and the probability asked for."""
    return {"target": stated(target), "probability": likely(probability, asked), "asked": stated(asked)}


def entry_said(entry: Mapping[str, Any]) -> Word:
    """An entry of a log as it was written: the event, and the amount or reading it gives."""
    text, kind = str(entry.get("reading", entry.get("volume", ""))), "length" if entry["event"] == "stick" else "volume"
    says: dict[str, Value] = {"event": Word(f"event.{entry['event']}"), "read": Written(text, kind)}
    if "what" not in entry:
        return Word("conflict.entry", says)
    return Word("conflict.entry_of", says | {"what": Name(str(entry["what"]))})
