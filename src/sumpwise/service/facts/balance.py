"""What went in against what came out, and what the stick says about it; first, whether count and stick contradict each other."""

from __future__ import annotations

from typing import Any

from sumpwise.errors import SumpwiseError
from sumpwise.filling.explanation import (
    LEVEL,
    READINGS,
    SCALE,
    START,
    TEMPERATURE,
    TOGETHER,
)
from sumpwise.measurement.book import CANNOT_TELL, NONE_FITS, book_meaning
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import inside
from sumpwise.service.agreement import Agreement
from sumpwise.service.case import Case
from sumpwise.service.facts.causes import measured, source_named
from sumpwise.service.facts.fact import (
    CAUTION,
    INFO,
    REFERENCE,
    STOP,
    Amount,
    Count,
    Fact,
    Name,
    Part,
    Plain,
    Series,
    Share,
    Table,
    Value,
    Word,
    Written,
    item,
    line,
    lower_by,
)
from sumpwise.service.facts.phrases import chance as probability
from sumpwise.service.facts.phrases import entry_said
from sumpwise.service.facts.refusals import refused
from sumpwise.service.measures import measures
from sumpwise.service.movements import Movement
from sumpwise.service.render.figures import plain
from sumpwise.service.standing import Standing
from sumpwise.service.suspects import DOUBLED, FORGOTTEN, MISREAD, Suspect, suspects
from sumpwise.uncertainty import nominal, standard

MOST_NAMED = 4
"""How many entries the sheet names as possible causes of a conflict; its data hold all."""
NEGLIGIBLE = 0.01
"""A cause with less than this share of the variance is not named."""
MISLEADING = 0.02
"""From this many litres up, what was read is said to be misleading."""
CAUSES = {
    READINGS: "cause.readings", TEMPERATURE: "cause.temperature", SCALE: "cause.scale", TOGETHER: "cause.together", START: "cause.start",
    LEVEL: "cause.level",
}  # fmt: skip


def volume(value: Any, signed: bool = False) -> Amount:
    """A volume in litres."""
    return Amount("volume", value, signed, main=True)


def disputed(case: Case) -> Part | None:
    """A count that cannot be followed, or that the stick contradicts; None if all is well."""
    found = case.agreement
    if isinstance(found, SumpwiseError):
        number = found.argument.rpartition(" ")[2]
        if not number.isdecimal():
            raise found  # about what the whole log is read with, and no entry of it
        entry = int(number)
        written = case.job.written("log")[entry - 1]
        read = entry_said(written).values["read"]
        says = line("conflict.not_followed", STOP, (entry,), entry=Count(entry), read=read, reason=refused(found, placed=True))
        title = {"what": Word("conflict.cannot_be")}
        return Part("conflict", [says, line("conflict.nothing_rests")], data={"entries": [{"number": entry}]}, title=title)
    if found is None or not found.conflict or found.best is None:
        return None
    part = Part("conflict", title={"what": Word("conflict.disagree")})
    for move in found.readings:
        part.facts.append(_compared("conflict", found, move))
    named, here = suspects(case, found), Standing(case, found)
    chance = found.best.chance
    part.facts += [
        line("conflict.chance", STOP, chance=Word("chance.million") if chance < 1e-6 else probability(chance)) if found.far
        else line("conflict.stands_out", STOP),
        *([] if here.below_pump or here.too_full else [line("conflict.read_again", STOP)]),
        line("conflict.named") if named else _unnamed(found),
        *(_suspect(one, case.job.written("log")[one.number - 1]) for one in named[:MOST_NAMED]),
    ]
    if len(named) > MOST_NAMED:
        part.facts.append(line("conflict.more", count=Count(len(named) - MOST_NAMED)))
    part.data = {
        "chi_squared": found.best.chi_squared, "degrees_of_freedom": len(found.estimates) - 1, "chance": chance,
        "entries": [one._asdict() for one in named],
    }  # fmt: skip
    return part


def _unnamed(found: Agreement) -> Fact:
    """That no single entry explains it; and what would, if it was never entered: a pour if the stick shows more in the end."""
    more = nominal(found.estimates[-1]) - nominal(found.estimates[0])
    return line("conflict.none_named" if more > 0 else "conflict.none_named_out", amount=lower_by(abs(more)))


def _suspect(one: Suspect, written: dict[str, Any]) -> Fact:
    entry, number = entry_said(written), Count(one.number)
    if one.mistake in (DOUBLED, FORGOTTEN, MISREAD):
        return item(f"conflict.{one.mistake}", INFO, (one.number,), number=number, entry=entry)
    mistake, instead = Word(f"mistake.{one.mistake}"), Written(one.correction, "length" if written["event"] == "stick" else "volume")
    return item("conflict.instead", INFO, (one.number,), number=number, entry=entry, instead=instead, mistake=mistake)


def _where(move: Movement) -> dict[str, Value]:
    return {
        "reading": Amount("length", move.entry["reading"], signed=True),
        "temperature": Amount("temperature", nominal(move.entry["temperature"])),
    }


def _compared(section: str, found: Agreement, move: Movement) -> Fact:
    says: dict[str, Value] = {"stick": volume(number_in(move.level, "L"), signed=True), **_where(move)}
    if not found.counted:
        return item(f"{section}.stick", INFO, (move.number,), **says)
    return item(f"{section}.compared", INFO, (move.number,), count=volume(number_in(move.after.off_target, "L"), signed=True), **says)


def balancing(case: Case) -> Part | None:
    """The balance of the log; None if nothing was moved. No next pour after a stop sign or if the stick contradicts the count."""
    found = case.agreement
    if found is None:
        return None
    if isinstance(found, SumpwiseError):
        return Part("balance", [line("balance.not_followed", STOP)], data={"conflict": True})
    explained = found.explained
    ledger = found.shown.after if found.shown else found.ledger
    balance, raw, rest = number_in(ledger.balance, "L"), nominal(number_in(explained.raw, "L")), number_in(explained.rest, "L")
    says: dict[str, Value] = {"reference": REFERENCE, "raw": volume(raw, signed=True), "true": volume(balance, signed=True)}
    off = abs(nominal(balance) - raw)
    facts = [
        line("balance.raw", misleads=volume(off), **says) if off >= MISLEADING
        else line("balance.raw_fair", within=volume(MISLEADING), **says),
        *_standing(case, found),
    ]  # fmt: skip
    if not found.conflict:
        facts += [*_together(found), *_book(case, found)]
    facts += [
        item("balance.share", cause=source_named(case, row.doubt), amount=_size(row.standard_uncertainty), share=Share(row.share))
        for row in explained.portions[:4]
        if row.share >= NEGLIGIBLE
    ]
    rows: list[list[Value]] = [
        [_cause(row.cause), volume(nominal(number_in(row.value, "L")), signed=True), _size(row.standard_uncertainty)]
        for row in explained.rows
    ]
    if found.shown:
        rows.append([Word("cause.unexplained"), volume(nominal(rest), signed=True), volume(standard(rest))])
    return Part("balance", facts, Table(("balance.column.cause", "balance.column.amount", "balance.column.doubt"), rows), lambda: {
        "raw": plain(raw, "L"), "balance": plain(balance, "L"), "rest": plain(rest, "L"), "z": found.z,
        "chi_squared": None if found.best is None else found.best.chi_squared, "conflict": found.conflict,
        "off_target": {
            name: None if litres is None else plain(litres, "L")
            for name, litres in (("count", found.count), ("stick", found.stick), ("joint", found.joint))
        },
        "causes": [
            {
                "cause": row.cause, "litres": nominal(number_in(row.value, "L")),
                "standard_uncertainty": number_in(row.standard_uncertainty, "L"),
            }
            for row in explained.rows
        ],
        "ledger": found.ledger.to_dict(),
    })  # fmt: skip


def _size(contribution: Any) -> Amount:
    return volume(abs(nominal(number_in(contribution, "L"))))


def _cause(name: str) -> Value:
    return Word(CAUSES[name]) if name in CAUSES else Name(name)


def _standing(case: Case, found: Agreement) -> list[Fact]:
    """What remains unexplained at the reading that is shown; without one, where the level is by the count."""
    explained = found.explained
    if not found.shown:
        if found.count is None:
            return [line("balance.no_start", CAUTION)]
        return [line("balance.level_now", level=volume(found.count, signed=True)), *_next(case, found)]
    rest: dict[str, Value] = {"rest": volume(number_in(explained.rest, "L"), signed=True), **_where(found.shown)}
    facts = [
        line("balance.unexplained", **rest) if found.z is None else line("balance.unexplained_z", z=Plain(abs(found.z), 1), **rest),
        *_next(case, found),
    ]
    if not found.counted:
        facts.append(line("balance.taken_start", CAUTION))
    return facts


def _next(case: Case, found: Agreement) -> list[Fact]:
    """What to measure next: in a conflict, what settles it; else what shows the level best, and what checks the count if that differs."""
    possible = measures(case, found)
    if not possible:
        return []
    level, count = possible[0], min(possible, key=lambda one: one.apart)
    if found.conflict:
        return [line("balance.best_next", advice=measured(case, count), left=volume(count.apart))]
    facts = [line("balance.best_level", advice=measured(case, level), left=volume(level.leaves))]
    if found.readings and found.counted and (count.id, count.whose) != (level.id, level.whose):
        facts.append(line("balance.best_count", advice=measured(case, count), left=volume(count.apart)))
    return facts


def _together(found: Agreement) -> list[Fact]:
    """Count and stick at each reading, and all of them combined now."""
    if not found.counted:
        return []
    facts = [_compared("balance", found, move) for move in found.readings]
    if found.joint is not None:
        facts.append(item("balance.joint", joint=volume(found.joint, signed=True)))
    return facts


def _book(case: Case, found: Agreement) -> list[Fact]:
    """What the book's refill figure may mean, compared with what came out before anything went in."""
    plug, everything = found.opened
    if plug is None or everything is None or plug is everything or not case.job.has("capacity", "book_refill"):
        return []
    meanings = {"balance.plug_alone": plug.after.total_drained, "balance.plug_and_pan": everything.after.total_drained}
    told = book_meaning(inside(case.job.value("capacity", "book_refill"), "volume"), meanings, start_error=found.ledger.start or "0 L")
    weighed = tuple(
        Word("balance.meaning", {"name": Word(row.name), "amount": volume(number_in(row.volume, "L")), "weight": Share(row.weight)})
        for row in told.rows
    )
    words = {CANNOT_TELL: Word("balance.too_close"), NONE_FITS: Word("balance.none_fits")}
    verdict = words.get(told.verdict, Word("balance.it_means", {"name": Word(told.verdict)}))
    book = Written(case.job.text("capacity", "book_refill"), "volume")
    return [item("balance.book", reference=REFERENCE, book=book, weighed=Series(weighed), says=verdict)]
