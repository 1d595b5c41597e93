"""One thing that was taken because the job does not say it, as a fact."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sumpwise.quantities.arguments import Argument
from sumpwise.service.facts.fact import INFO, NOTE, Amount, Fact, Name, Plain, Share, Value, Word, Written
from sumpwise.service.schema import Default, Doubt, Key

if TYPE_CHECKING:
    from sumpwise.service.case import Assumption

LOUD = ("assumed.capacity.total",)
"""What matters so much that it is said on a brief sheet too."""
OF = {"total": "assumed.of_total", "need": "assumed.of_need"}


def assumed(one: Assumption) -> Fact:
    """What was taken for one key, how well it is known, and why."""
    meaning = Word(f"meaning.{one.id.removeprefix('assumed.').removesuffix('.doubt')}")
    what = Word("assumed.whose", {"what": meaning, "whose": Name(one.whose)}) if one.whose else meaning
    values: dict[str, Value] = {"what": what, "reason": Word(f"reason.{one.taken.reason}")}
    if isinstance(one.taken, Doubt):
        share = isinstance(one.taken.value, float)
        doubt: Value = Share(one.taken.value) if share else Written(str(one.taken.value), "interval")
        return _fact("assumed.doubt", one, values | {"doubt": doubt})
    low, value, high = (_shown(end, one.key, one.taken) for end in (one.taken.low, one.taken.value, one.taken.high))
    if isinstance(low, Word) and "share" in low.values:
        low = low.values["share"]
    if one.taken.shape:
        return _fact("assumed.between", one, values | {"low": low, "high": high, "shape": Word(f"shape.{one.taken.shape}")})
    if one.taken.low != "":
        return _fact("assumed.usually", one, values | {"value": value, "low": low, "high": high})
    return _fact("assumed.key", one, values | {"value": value})


def _fact(key: str, one: Assumption, values: dict[str, Value]) -> Fact:
    return Fact(key, values, one.id, NOTE if one.id in LOUD else INFO, (), "item")


def _shown(value: object, key: Key, taken: Default) -> Value:
    """A default or an end of its range as it is shown."""
    if taken.of and value != "":
        return Word(OF[taken.of], {"share": Share(float(str(value).partition("(")[0]))})
    if isinstance(value, bool):
        return Word("yes" if value else "no")
    kind = key.kind.kind if isinstance(key.kind, Argument) else ""
    if isinstance(value, float):
        return Share(value) if kind == "fraction" else Plain(value, len(f"{value:g}".partition(".")[2]))
    if kind == "volume" and "(" in str(value) and isinstance(key.kind, Argument):
        return Amount(kind, key.kind.value(value))
    if isinstance(kind, str) and kind not in ("", "fraction", "number", "count"):
        return Written(str(value), kind)
    choice = f"choice.{value}"
    return Word(choice) if choice in CHOICES else Name(str(value))


CHOICES = frozenset(f"choice.{word}" for word in ("automatic", "stick", "overflow plug", "fill hole", "sealed", "units of money"))
