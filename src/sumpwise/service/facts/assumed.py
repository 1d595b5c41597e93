"""An assumption, made because the job does not say it, as a fact."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from sumpwise.mixing.circuit.compartments import VIALS
from sumpwise.quantities.arguments import Argument
from sumpwise.service.facts.fact import INFO, NOTE, Amount, Fact, Name, Plain, Series, Share, Value, Word, Written
from sumpwise.service.keys import Default, Doubt, Key
from sumpwise.service.schema import WISH
from sumpwise.uncertainty import source

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sumpwise.inference.outlet_answer import OutletEvidence
    from sumpwise.service.asked import Assumption
    from sumpwise.service.sensitivity import Effect

LOUD = ("assumed.capacity.total",)
"""An assumption that matters this much is on a brief sheet too."""
OF = {"total": "assumed.of_total", "need": "assumed.of_need"}


def assumed(one: Assumption, effects: Sequence[Effect] = (), told: OutletEvidence | None = None) -> Fact:
    """What was assumed for one key, how well it is known, and why; if it moves or decides something, what would settle it or did."""
    values: dict[str, Value] = {"what": meant(one), "reason": Word(f"reason.{one.taken.reason}"), "matters": _matters(one, effects, told)}
    if isinstance(one.taken, Doubt):
        share, kind = isinstance(one.taken.value, float), _kind(one.key)
        doubt: Value = Written(str(one.taken.value), "interval" if kind == "temperature" else kind)
        if share:
            doubt = Share(one.taken.value, int(one.taken.value < 0.01))
        return _fact("assumed.doubt", one, values | {"doubt": doubt})
    taken = one.taken
    if not taken.shape:
        values["value"] = _shown(taken.value, one.key, taken)
    if taken.shape or taken.low != "":
        low, high = _shown(taken.low, one.key, taken), _shown(taken.high, one.key, taken)
        values |= {"low": low.values["share"] if isinstance(low, Word) and "share" in low.values else low, "high": high}
    if taken.shape:
        return _fact("assumed.between", one, values | {"shape": Word(f"shape.{taken.shape}")})
    return _fact("assumed.usually" if taken.low != "" else "assumed.key", one, values)


def meant(one: Assumption) -> Word:
    """What was assumed: the meaning of its key, and whose."""
    meaning = Word(f"meaning.{one.id.removeprefix('assumed.').removesuffix('.doubt')}")
    return Word("assumed.whose", {"what": meaning, "whose": Name(one.whose)}) if one.whose else meaning


def settled(one: Assumption) -> Word:
    """Where to find the value, or how to measure it."""
    return Word(f"find.{one.key.find}")


def moving(effects: Sequence[Effect]) -> Series:
    """Which answers an assumption moves, and by how much."""
    return Series(tuple(Word(f"effect.{one.answer}", {"size": _SIZES[one.answer](one.size)}) for one in effects))


_SIZES: dict[str, Callable[[float], Value]] = {
    "fresh": lambda size: Plain(100 * size, 1), "buy": lambda size: Amount("volume", size, main=True),
    "level": lambda size: Amount("volume", size), "air": lambda size: Plain(60 * size, int(60 * size < 0.95)),
}  # fmt: skip
"""Answer -> how the size of an effect on it is shown."""


def _matters(one: Assumption, effects: Sequence[Effect], told: OutletEvidence | None) -> Word:
    if effects and told is not None and one.key.find == VIALS:
        return Word("assumed.moves_seen", {"effects": moving(effects), "seen": _seen(one, told)})
    if effects:
        return Word("assumed.moves", {"effects": moving(effects), "find": settled(one)})
    return Word("assumed.mute_find", {"find": settled(one)}) if one.key.find not in ("", WISH, VIALS) else Word("none")


def _seen(one: Assumption, told: OutletEvidence) -> Word:
    """What the matched vials say about a value that was assumed, if they say anything about this one alone."""
    name = one.id.rpartition(".")[2]
    if name not in told.parameters:
        return Word("none")
    found, kind = told.parameters[name], _kind(one.key)
    if kind not in ("volume", "fraction"):
        return Word("assumed.seen_plain", {"value": Plain(found.mean, 2), "give": Plain(found.standard, 2)})
    value = source(found.mean, found.standard, name=name)
    return Word("assumed.seen", {"value": Amount("volume", value) if kind == "volume" else Share(value)})


def _fact(key: str, one: Assumption, values: dict[str, Value]) -> Fact:
    return Fact(key, values, one.id, NOTE if one.id in LOUD else INFO, (), "item")


def _kind(key: Key) -> str:
    """What kind of quantity a key holds, if it holds one."""
    return str(key.kind.kind) if isinstance(key.kind, Argument) else ""


def _shown(value: object, key: Key, taken: Default) -> Value:
    """A default, or an end of its range, as it is shown."""
    if taken.of and value != "":
        return Word(OF[taken.of], {"share": Share(float(str(value).partition("(")[0]))})
    if isinstance(value, bool):
        return Word("yes" if value else "no")
    kind = _kind(key)
    if isinstance(value, float):
        return Share(value) if kind == "fraction" else Plain(value, len(f"{value:g}".partition(".")[2]))
    if kind in ("volume", "temperature", "density") and "(" in str(value) and isinstance(key.kind, Argument):
        return Amount(kind, key.kind.value(value))
    if isinstance(kind, str) and kind not in ("", "fraction", "number", "count"):
        return Written(str(value), kind)
    return Name(str(value)) if kind else Word(f"choice.{value}")
