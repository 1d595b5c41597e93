"""What if: two sheets compared, both what is written and what comes out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from sumpwise._toml import literal
from sumpwise.errors import SumpwiseError, expect
from sumpwise.quantities.boundary import Argument
from sumpwise.service.facts.fact import (
    NOTE,
    Amount,
    Count,
    Fact,
    Money,
    Name,
    Part,
    Plain,
    Series,
    Share,
    Table,
    Value,
    Window,
    Word,
    Written,
    item,
    line,
)
from sumpwise.service.facts.phrases import named
from sumpwise.service.job import Job
from sumpwise.service.keys import SpanOf
from sumpwise.service.planning import plan
from sumpwise.service.render.systems import METRIC, system_named
from sumpwise.service.render.writer import Writer
from sumpwise.service.schema import LISTS, TABLES
from sumpwise.service.sheet import Sheet
from sumpwise.service.words import catalogue
from sumpwise.uncertainty import combine, nominal, source, standard

CLEAR = 2.0
"""A difference of more than this many standard uncertainties is significant."""
TINY = 1e-9
"""A difference below this share of an answer counts as none."""
TRIFLE = 0.05
"""A difference within this many standard uncertainties is not listed."""
MOST_ENTRIES = 5
"""Up to this many added or removed entries of a list are named; of more, only the number is given."""
MOST_CAUSES = 6
"""The most changes that are tried one by one, to see what each of them does alone."""
PART = 0.2
"""A change that makes at least this share of a difference on its own is named as a cause."""
SAID = ("stopped", "conflict", "summary", "next", "cautions", "steps")
"""Sections whose sentences are compared, by their ids."""
WHY_WITHHELD = "changed.not_tried"


class Change(NamedTuple):
    """Something written differently.

    Attributes
    ----------
    place : str
        Such as "[capacity] plug_drain" or "[[log]] 3 reading".
    before, after : Value
        As written, or a word for nothing.
    what : tuple of str
        Table and key, or the list: what is tried on its own.
    """

    place: str
    before: Value
    after: Value
    what: tuple[str, ...]


class Answer(NamedTuple):
    """An answer of a sheet: its name and its value."""

    name: Value
    value: Value


ABSENT = Word("changed.absent")


def compare(before: Sheet, after: Sheet) -> Sheet:
    r"""Compare two sheets: what changed from one to the other, and why.

    Parameters
    ----------
    before, after : Sheet
        For example those of a job and of the same job with a change (`Job.with_`), or of a plan and of the half-finished log.

    Returns
    -------
    Sheet
        In the units of `after`, with these sections: `inputs`, what is written differently; `answers`, which answers changed, by how much,
        whether that is more than their uncertainty, and which change caused it; `said`, sentences that are new or gone. Each section's
        `data` has the same as numbers. If there is no difference, it has only the section `same`.

    Raises
    ------
    SumpwiseError
        For anything but two sheets.

    Notes
    -----
    A difference is more than its uncertainty if it is more than twice the larger standard uncertainty of the two answers; one of less than
    a twentieth of that uncertainty is left out. An uncertainty that both sheets share, such as that of the total, is included although it
    may cancel: a difference within its uncertainty can still be real, but nobody would notice it. Causes are found by trying each change
    alone, up to six of them; a change is named if it makes at least a fifth of the difference. Changes that only work together are
    reported as such.

    Examples
    --------
    >>> from sumpwise import Job, compare, plan
    >>> job = Job.demo().with_(log=None)
    >>> told = compare(plan(job), plan(job.with_(exchange={"bursts": 8})))
    >>> print(told.section("inputs").to_markdown())
    ## What is written differently
    <BLANKLINE>
    | where               | before | after |
    |:--------------------|-------:|------:|
    | \[exchange\] bursts |      6 |     8 |
    >>> for row in told.section("answers").rows[:2]:
    ...     print(row[:5])
    ['need of new fluid', '12.37 ± 0.45 L', '14.87 ± 0.45 L', '+2.50 ± 0.45 L', 'yes']
    ['packs to buy', '2 × can + 4 × bottle', '3 × can + 1 × bottle', '', '']
    """
    expect(before, Sheet, "before", "a sheet from plan()")
    expect(after, Sheet, "after", "a sheet from plan()")
    writer = Writer(catalogue(), _system(after))
    changes = list(_changes(before.inputs or {}, after.inputs or {}))
    first, second = answers(before), answers(after)
    moved = [key for key in first | second if _moved(first.get(key), second.get(key))]
    causes = _causes(before, after, changes, moved)
    parts = [_written(before, after, changes), _answered(first, second, moved, causes), _said(before, after)]
    told = [part for part in parts if part is not None] or [Part("same", [line("changed.nothing")])]
    title = before.title if before.title == after.title else f"{before.title} → {after.title}"
    return Sheet(title, [writer.section(part) for part in told], after.units)


def _system(sheet: Sheet) -> Any:
    """The units of a sheet; metric if they depend on a job that the sheet does not contain."""
    try:
        return system_named(sheet.units, Job.from_dict(sheet.inputs or {}))
    except SumpwiseError:
        return system_named(METRIC, None)


# -- what is written


def _changes(before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[Change]:
    for table, keys in TABLES.items():
        old, new = before.get(table, {}), after.get(table, {})
        for key in keys:
            if old.get(key) != new.get(key):
                kind = keys[key].kind
                yield Change(f"[{table}] {key}", _shown(old.get(key), kind), _shown(new.get(key), kind), (table, key))
    for name in LISTS:
        yield from _listed(name, before.get(name, []), after.get(name, []))


def _listed(name: str, old: list[dict[str, Any]], new: list[dict[str, Any]]) -> Iterator[Change]:
    """Entries of a list by their names, else by their places."""
    if old == new:
        return
    keyed = [{entry.get("name", i): (i, entry) for i, entry in enumerate(entries, 1)} for entries in (old, new)]
    ours, theirs = keyed if all(len(table) == len(entries) for table, entries in zip(keyed, (old, new), strict=True)) else (
        dict(enumerate(enumerate(old, 1))), dict(enumerate(enumerate(new, 1)))
    )  # fmt: skip
    lone = [key for key in (*ours, *theirs) if (key in ours) != (key in theirs)]
    if len(lone) > MOST_ENTRIES:
        before, after = (Word("changed.entries", {"count": Count(len(one))}) for one in (old, new))
        yield Change(f"[[{name}]]", before, after, (name,))
    for key in dict.fromkeys([*ours, *theirs]):
        number = (theirs.get(key) or ours[key])[0]
        if key in lone:
            if len(lone) <= MOST_ENTRIES:
                yield Change(f"[[{name}]] {number}", _entry(ours.get(key)), _entry(theirs.get(key)), (name,))
            continue
        entry, other = ours[key][1], theirs[key][1]
        for field in dict.fromkeys([*entry, *other]):
            if entry.get(field) != other.get(field):
                kind = LISTS[name][field].kind if field in LISTS[name] else None
                yield Change(f"[[{name}]] {number} {field}", _shown(entry.get(field), kind), _shown(other.get(field), kind), (name,))


def _entry(found: tuple[int, dict[str, Any]] | None) -> Value:
    """An entry that was added or removed, as it is written."""
    return ABSENT if found is None else Name(", ".join(value if isinstance(value, str) else literal(value) for value in found[1].values()))


def _shown(raw: Any, kind: Any) -> Value:
    """What is written, in the reader's units if it is a quantity."""
    if raw is None:
        return ABSENT
    if isinstance(raw, str):
        one = kind.kind if isinstance(kind, SpanOf) else kind
        spoken = one.kinds[0] if isinstance(one, Argument) and one.needs_unit else ""
        return Written(raw, "distance" if spoken == "length" and raw.endswith(("km", "mi")) else spoken) if spoken else Name(raw)
    return Name(literal(raw))


def _written(before: Sheet, after: Sheet, changes: list[Change]) -> Part | None:
    if before.inputs is None or after.inputs is None:
        return Part("inputs", [line("changed.unknown", NOTE)], data={"inputs": None})
    if not changes:
        return None
    rows = [[Name(one.place), one.before, one.after] for one in changes]
    columns = ("inputs.column.where", "inputs.column.before", "inputs.column.after")
    data = [{"place": one.place, "before": _raw(one.before), "after": _raw(one.after)} for one in changes]
    return Part("inputs", table=Table(columns, rows), data={"inputs": data})


def _raw(value: Value) -> Any:
    return value.text if isinstance(value, (Name, Written)) else None if value == ABSENT else value.values["count"].value  # type: ignore[union-attr]


# -- what came out


def answers(sheet: Sheet) -> dict[str, Answer]:
    """The answers of a sheet by a stable name, in the order they are read."""
    data = {section.key: section.data for section in sheet.sections}
    found: dict[str, Answer] = {}

    def told(key: str, value: Value | None, **names: Value) -> None:
        if value is not None:
            whose = [one.text for one in names.values() if isinstance(one, Name)]
            found[".".join([key, *whose])] = Answer(Word(f"answer.{key}", names), value)

    buy = data.get("buy", {})
    told("need", _amount(buy.get("need"), "volume"))
    if buy.get("packs"):
        told("packs", Name(" + ".join(f"{count} × {name}" for name, count in buy["packs"].items())))
        told("cost", Money(buy["cost"], buy["currency"]))
    planned = data.get("methods", {}).get("planned")
    for method in data.get("methods", {}).get("methods", []):
        if method["key"] == planned:
            told("method", named(planned))
            told("fresh", _share(method["fresh"]))
            told("count", Count(method["count"]))
            told("volume", _amount(method["volume"], "volume"))
            told("hours", Amount("hours", 60.0 * method["hours"]))
            told("mean_age", _plain(method["mean_age"], "years", 525_960.0))
    timetable = data.get("timetable", {})
    for key in ("alone_minutes", "helped_minutes"):
        if key in timetable:
            told(key, Amount("time", timetable[key], step=0.04))
    for bolt in data.get("torque", {}).get("bolts", []):
        setting = bolt["setting"]
        shown = ABSENT if setting is None else Window("torque", setting["lower"]["value"], setting["upper"]["value"])
        told("setting", shown, bolt=Name(bolt["name"]))
    now, outlet, balance = data.get("now", {}), data.get("outlet", {}), data.get("balance", {})
    told("fresh_now", _share(now.get("fresh")))
    told("off_now", _amount(now.get("off_target"), "volume", signed=True))
    if outlet.get("resident"):
        told("sure", Share(outlet["probability"]))
    told("joint", _amount((balance.get("off_target") or {}).get("joint"), "volume", signed=True))
    pour = data.get("next", {}).get("pour")
    told("pour", _amount(pour, "volume"))
    return found


def _uncertain(value: float, u: float) -> Any:
    return source(value, u, name="answer")


def _amount(told: Mapping[str, Any] | None, kind: str, signed: bool = False) -> Value | None:
    return None if told is None else Amount(kind, _uncertain(told["value"], told["standard_uncertainty"]), signed=signed, main=True)


def _plain(told: Mapping[str, Any] | None, kind: str, factor: float) -> Value | None:
    return None if told is None else Amount(kind, _uncertain(told["value"] * factor, told["standard_uncertainty"] * factor))


def _share(told: Mapping[str, Any] | None) -> Value | None:
    return None if told is None else Share(_uncertain(told["value"], told["standard_uncertainty"]))


def _number(answer: Answer | None) -> Any:
    """The number of an answer; None if it is not a number."""
    value = None if answer is None else answer.value
    return value.value if isinstance(value, (Amount, Share, Money, Count)) else None


def _moved(old: Answer | None, new: Answer | None) -> bool:
    one, other = _number(old), _number(new)
    if one is None or other is None:
        return old is None or new is None or old.value != new.value
    return abs(_change(old, new)) > max(TINY * (abs(nominal(one)) + abs(nominal(other))), TRIFLE * _doubt(old, new))


def _change(old: Answer | None, new: Answer | None) -> float:
    """By how much a number changed; 0 if it is not a number."""
    one, other = _number(old), _number(new)
    return 0.0 if one is None or other is None else nominal(other) - nominal(one)


def _doubt(old: Answer | None, new: Answer | None) -> float:
    numbers = [number for number in (_number(old), _number(new)) if number is not None]
    return max((standard(number) for number in numbers), default=0.0)


def _by(old: Answer | None, new: Answer | None) -> Value:
    """The difference itself, with the larger uncertainty of the two."""
    if _number(old) is None or _number(new) is None or new is None:
        return Name("")
    size, value = _uncertain(_change(old, new), _doubt(old, new)), new.value
    if isinstance(value, Amount):
        return Amount(value.kind, size, signed=True, main=value.main, step=value.step)
    if isinstance(value, Share):
        return Word("changed.points", {"points": Plain(combine(100 * nominal(size), []), 1, signed=True)})
    if isinstance(value, Money):
        return Word("changed.money", {"sign": Name("+" if nominal(size) > 0 else "−"), "money": Money(abs(nominal(size)), value.currency)})
    return Plain(nominal(size), 0, signed=True)


def _verdict(old: Answer | None, new: Answer | None) -> str:
    u = _doubt(old, new)
    if _number(old) is None or _number(new) is None or not u:
        return ""
    return "changed.clear" if abs(_change(old, new)) > CLEAR * u else "changed.within"


def _answered(
    first: dict[str, Answer], second: dict[str, Answer], moved: list[str], causes: dict[str, list[str]] | None
) -> Part | None:  # fmt: skip
    if not moved:
        return None
    rows: list[list[Value]] = []
    data = []
    for key in moved:
        old, new = first.get(key), second.get(key)
        verdict = _verdict(old, new)
        why = None if causes is None else causes[key]
        rows.append([
            (new or old).name, ABSENT if old is None else old.value, ABSENT if new is None else new.value, _by(old, new),  # type: ignore[union-attr]
            Word(verdict) if verdict else Name(""), _because(why),
        ])  # fmt: skip
        data.append({
            "answer": key, "change": _change(old, new) if _number(old) is not None and _number(new) is not None else None,
            "standard_uncertainty": _doubt(old, new), "significant": None if not verdict else verdict == "changed.clear", "because": why,
        })  # fmt: skip
    heads = ("answer", "before", "after", "by", "clear", "because")
    return Part("answers", table=Table(tuple(f"answers.column.{head}" for head in heads), rows), data={"answers": data})


def _because(why: list[str] | None) -> Value:
    if why is None:
        return Word(WHY_WITHHELD)
    return Series(tuple(Name(place) for place in why)) if why else Word("changed.together")


def _causes(before: Sheet, after: Sheet, changes: list[Change], moved: list[str]) -> dict[str, list[str]] | None:
    """For each answer that changed, which changes would do it alone; None if that cannot be tried."""
    first, second = answers(before), answers(after)
    groups: dict[tuple[str, ...], str] = {}
    for one in changes:
        groups.setdefault(one.what, one.place if len(one.what) > 1 else f"[[{one.what[0]}]]")
    if len(groups) == 1:
        return {key: list(groups.values()) for key in moved}
    if before.inputs is None or after.inputs is None or not groups or len(groups) > MOST_CAUSES:
        return None
    alone = {place: _tried(before, after, what) for what, place in groups.items()}
    return {
        key: [place for place, told in alone.items() if _makes(first.get(key), second.get(key), told.get(key))] for key in moved
    }  # fmt: skip


def _tried(before: Sheet, after: Sheet, what: tuple[str, ...]) -> dict[str, Answer]:
    """The answers with one change alone; none if that does not make a valid job."""
    old, new = before.inputs or {}, after.inputs or {}
    if len(what) == 1:
        changed = {what[0]: new.get(what[0], [])}
    else:
        table, key = what
        changed = {table: {**old.get(table, {}), key: new.get(table, {}).get(key)}}
        if changed[table][key] is None:
            del changed[table][key]
    try:
        return answers(plan(Job.from_dict({**old, **changed}), before.units))
    except SumpwiseError:
        return {}


def _makes(old: Answer | None, new: Answer | None, told: Answer | None) -> bool:
    """Whether a change alone makes a good part of a difference; if it is not a number, whether it makes all of it."""
    whole = _change(old, new)
    if not whole:
        return told is not None and new is not None and told.value == new.value
    return _change(old, told) / whole >= PART


# -- what is said


def _said(before: Sheet, after: Sheet) -> Part | None:
    facts: list[Fact] = []
    data: dict[str, list[str]] = {"new": [], "gone": []}
    for key in SAID:
        old, new = (_sentences(sheet, key) for sheet in (before, after))
        for sentences, others, word in ((new, old, "new"), (old, new, "gone")):
            for id_, texts in sentences.items():
                for text in texts[len(others.get(id_, [])) :]:
                    facts.append(item(f"changed.{word}", text=Name(text)))
                    data[word].append(id_)
    return Part("said", facts, data=data) if facts else None


def _sentences(sheet: Sheet, key: str) -> dict[str, list[str]]:
    """Sentences of a section by their ids."""
    found: dict[str, list[str]] = {}
    for section in sheet.sections:
        if section.key == key:
            for fact in section.facts:
                found.setdefault(str(fact["id"]), []).append(str(fact["text"]))
    return found
