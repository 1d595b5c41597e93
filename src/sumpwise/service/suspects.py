"""Which single entry of the log, if corrected, would make count and stick agree again."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise
from math import copysign, inf
from typing import TYPE_CHECKING, Any, NamedTuple

from sumpwise.errors import SumpwiseError
from sumpwise.measurement.joint import beyond
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import argument, inside
from sumpwise.service.movements import Movement
from sumpwise.service.schema import MOVING
from sumpwise.uncertainty import nominal

if TYPE_CHECKING:
    from sumpwise.service.agreement import Agreement
    from sumpwise.service.case import Case
    from sumpwise.service.equipped import Equipped

DIGIT, DIVISION, SIGN, SWAPPED, POINT, DOUBLED, FORGOTTEN = "digit", "division", "sign", "swapped", "point", "doubled", "forgotten"
MISREAD = "misread"
COMMON = {DIGIT: 0.0, DIVISION: 0.0, SIGN: -0.5, SWAPPED: -1.0, POINT: -1.0, DOUBLED: -0.5, FORGOTTEN: -1.0, MISREAD: -2.0}
"""Logarithm of how common each mistake is compared with a wrong digit: a judgement, used only for ranking."""
USUAL = 0.4
"""How far off the target a pour usually leaves the level, and how much bursts usually differ, in litres: people pour back what came out."""
TRIED = 40
"""How many corrections are entered in the log and counted again, most likely first."""
HOPELESS = 1e-4
"""A correction is not tried if it leaves count and stick so far apart, to first order, that the chance is below this: a hundredth of
that of a conflict."""
WIDE = 4.0
"""No stick is read farther from its lower mark than so many times the length between its marks."""
NUMBER = re.compile(r"\d+(?:[.,]\d+)?")
LEADING = re.compile(r"^0+(?=\d)")


class Suspect(NamedTuple):
    """An entry that would explain a conflict.

    Attributes
    ----------
    number : int
        Its position in the log.
    event, what, written : str
        The entry: the event, what was lost (if it is a loss), and what was read.
    correction : str
        What it would have to be; empty if it was entered twice, if one like it was left out after it, or if it says nothing.
    mistake : str
        "digit", "division", "sign", "swapped" (two digits), "point", "doubled", "forgotten", or "misread" (all others agree without it).
    """

    number: int
    event: str
    what: str
    written: str
    correction: str
    mistake: str


class _Try(NamedTuple):
    score: float
    number: int
    mistake: str
    key: str
    text: str
    apart: float
    """Chi-squared of count and stick if the entry is corrected, to first order."""


def standing_out(case: Equipped, found: Agreement) -> float:
    """How much better the likeliest single mistake explains the log than no mistake: the natural logarithm of the ratio of likelihoods."""
    scale = _Scale(case, found)
    as_written = scale.judged(found.moves[0], DIGIT, "", "", 0.0 * scale.of_a_reading(found.moves[0]))
    return max((one.score for one in _tries(case, found, scale)), default=as_written.score) - as_written.score


def suspects(case: Case, found: Agreement) -> list[Suspect]:
    """For each entry, the most likely correction of that entry alone that removes the conflict; the most likely entry first."""
    written = case.job.written("log")
    kept: list[Suspect] = []
    told: set[tuple[int, bool]] = set()
    scale = _Scale(case, found)
    tries = [one for one in sorted([*_tries(case, found, scale), *scale.misread()], reverse=True) if one.score > float("-inf")]
    for one in tries[:TRIED]:
        place = (one.number, one.mistake == FORGOTTEN)
        if place in told or beyond(max(one.apart, 0.0), len(found.estimates) - 1) < HOPELESS:
            continue
        log = _corrected(written, one)
        try:
            again = case.with_(log=log).agreement
        except SumpwiseError:
            continue
        if again is not None and not isinstance(again, SumpwiseError) and not again.conflict:
            told.add(place)
            entry = written[one.number - 1]
            what, said = str(entry.get("what", "")), str(entry[one.key])
            kept.append(Suspect(one.number, entry["event"], what, said, one.text, one.mistake))
    return kept


def _corrected(written: list[dict[str, Any]], one: _Try) -> list[dict[str, Any]]:
    place = one.number - 1
    if one.mistake in (DOUBLED, MISREAD):
        return [*written[:place], *written[place + 1 :]]
    if one.mistake == FORGOTTEN:
        return [*written[: place + 1], written[place], *written[place + 1 :]]
    return [*written[:place], written[place] | {one.key: one.text}, *written[place + 1 :]]


def _tries(case: Equipped, found: Agreement, scale: _Scale) -> Iterator[_Try]:
    """Every mistake that a single entry may contain, with how likely it is to first order."""
    stick, vessels = case.stick, case.vessels
    before: Movement | None = None
    for move, entry in zip(found.moves, case.job.written("log"), strict=True):
        if move.event in MOVING:
            key, position = "volume" if move.event == "lost" else "reading", len(move.before)
            litres, read = scale.values[position][0], nominal(move.entry[key])
            effect = scale.of_a_line(position)
            kind = "mass" if id(move.entry) in case.weighed else "volume"
            scaled = "vessel" in move.entry and kind == "volume"
            step = number_in(vessels[move.entry["vessel"]].graduation, "L") if scaled else 0.0
            slope = litres / read if read else 0.0
            if not move.entry.get("cumulative"):
                if before is not None and _alike(before, move):
                    yield scale.judged(move, DOUBLED, key, "", -litres * effect)
                yield scale.judged(move, FORGOTTEN, key, "", litres * effect)
        elif stick is not None and move.event == "stick":
            kind, key, read, step = "length", "reading", nominal(move.entry["reading"]), nominal(case.ask("level", "resolution"))
            warm = inside(nominal(move.entry["temperature"]), "temperature")
            between = nominal(case.job.value("level", "marks_length"))
            closer = read - copysign(between, read - 0.5 * between)  # which the stick shows too
            here, there = (nominal(number_in(stick.error(inside(mm, "length"), warm), "L")) for mm in (read, closer))
            slope, effect = (here - there) / (read - closer), scale.of_a_reading(move)
        else:
            continue
        before = move
        far = WIDE * nominal(case.job.value("level", "marks_length", 0.0)) if kind == "length" else inf
        for mistake, text, value in _misread(entry[key], kind, read, step):
            if abs(value) > max(far, abs(read)):
                continue
            yield scale.judged(move, mistake, key, text, (value - read) * slope * effect)


def _alike(one: Movement, other: Movement) -> bool:
    """Whether two entries say the same."""
    words = all(one.entry.get(key) == other.entry.get(key) for key in ("event", "vessel", "what"))
    return words and all(nominal(one.entry.get(key, 0.0)) == nominal(other.entry.get(key, 0.0)) for key in ("reading", "volume"))


class _Scale:
    """The effect of changing one entry on stick minus count and on the level after each pour, drain and burst, and how likely that is."""

    def __init__(self, case: Equipped, found: Agreement) -> None:
        import numpy

        self.numpy = numpy
        self.values = found.ledger.counting()
        self.found = found
        self.lengths = [len(move.after) for move in found.readings]
        pours = [move for move in found.moves if move.event == "poured"]
        bursts = [move for move in found.moves if move.by_the_line]
        start = nominal(number_in(found.ledger.start, "L")) if found.counted else 0.0
        usual = [(move, 0.0) for move in pours]
        plug, _ = found.opened
        if plug and case.has("capacity", "plug_drain"):
            usual.append((plug, -nominal(case.ask("capacity", "plug_drain"))))
        self.expected = len(usual)
        usual += [(move, 0.0) for move in bursts]
        self.steps = [len(move.after) for move, _ in usual]
        self.levels = numpy.array([start + nominal(move.balance) - level for move, level in usual])
        parts = found.resting.parts
        apart = parts[1:] - parts[0]
        best = numpy.array([nominal(one) for one in found.estimates])
        self.closures = best[1:] - best[0]
        self.inverse = numpy.linalg.pinv(apart @ apart.T)

    def of_a_line(self, position: int) -> Any:
        """How many litres each estimate of the level now, and each level considered, moves if one line has one litre more."""
        end = self.values[position][1]

        def counts(length: int) -> float:
            return float(position < length and (end is None or end >= length))

        seen = [-counts(length) for length in self.lengths]
        return self.numpy.array([*([0.0] if self.found.counted else []), *seen, *map(counts, self.steps)])

    def of_a_reading(self, move: Movement) -> Any:
        """The same if a stick reading shows one litre more."""
        first = float(move.level is None)
        counted = [first] if self.found.counted else []
        return self.numpy.array([*counted, *(float(one is move) for one in self.found.readings), *(first for _ in self.steps)])

    def judged(self, move: Movement, mistake: str, key: str, text: str, shift: Any) -> _Try:
        """How likely a mistake is.

        This depends on how common it is, how well the readings then agree, how close pours then end to the target, the first drain to the
        expected plug drain, and the bursts to each other.
        """
        count = len(self.closures) + 1
        off = self.closures + shift[1:count] - shift[0]
        return self._try(move, mistake, key, text, float(off @ self.inverse @ off), self.levels + shift[count:])

    def misread(self) -> Iterator[_Try]:
        """How likely it is that a reading of the stick, not the first and not the only other one, says nothing."""
        numpy, first = self.numpy, int(self.found.counted)
        best, parts = numpy.array([nominal(one) for one in self.found.estimates]), self.found.resting.parts
        for row, move in enumerate(self.found.readings, first):
            left, others = numpy.delete(best, row), numpy.delete(parts, row, axis=0)
            if len(left) > 1:
                off, apart = left[1:] - left[0], others[1:] - others[0]
                yield self._try(move, MISREAD, "reading", "", float(off @ numpy.linalg.pinv(apart @ apart.T) @ off), self.levels)

    def _try(self, move: Movement, mistake: str, key: str, text: str, apart: float, levels: Any) -> _Try:
        full, deep = levels[: self.expected], levels[self.expected :]
        unusual = float(full @ full) + (float(((deep - deep.mean()) ** 2).sum()) if len(deep) else 0.0)
        return _Try(COMMON[mistake] - apart / 2 - unusual / (2 * USUAL**2), move.number, mistake, key, text, apart)


def _misread(raw: Any, kind: str, read: float, step: float) -> Iterator[tuple[str, str, float]]:
    """Other ways a reading might have been written: the mistake, the text, and the value; that of a weight is in proportion."""
    text = raw if isinstance(raw, str) else ""
    found = NUMBER.search(text)
    if found is None:
        return
    argued = argument(kind, scalar=True)
    number, head, tail = found.group(), text[: found.start()], text[found.end() :]
    options: dict[str, str] = {}
    for i, old in enumerate(number):
        if old.isdigit():
            options |= {number[:i] + new + number[i + 1 :]: DIGIT for new in "0123456789"}
    digits = [i for i, one in enumerate(number) if one.isdigit()]
    for i, j in pairwise(digits):
        options.setdefault(number[:i] + number[j] + number[i + 1 : j] + number[i] + number[j + 1 :], SWAPPED)
    written = {f"{head}{LEADING.sub('', one)}{tail}": mistake for one, mistake in options.items() if one != number}
    whole, _, rest = number.partition(".")
    for moved in (f"{whole[:-1] or '0'}.{whole[-1]}{rest}", f"{whole}{rest[:1] or '0'}.{rest[1:]}".rstrip(".")):
        written.setdefault(f"{head}{LEADING.sub('', moved)}{tail}", POINT)
    if kind == "length":
        written.setdefault(text.lstrip("-−+ ") if text[:1] in "-−" else f"-{text.lstrip('+ ')}", SIGN)
    for one, mistake in written.items():
        try:
            value = nominal(argued.value(one))
            yield mistake, *_unsigned(one, read * value / nominal(argued.value(raw)) if kind == "mass" else value)
        except SumpwiseError:
            continue
    if step and read:
        plain = float(number.replace(",", "."))
        for sign in (1, -1):
            beside = plain * (1 + sign * step / read)
            places = len(number.partition(".")[2])
            yield DIVISION, *_unsigned(f"{head}{beside:.{places}f}{tail}", read + sign * step)


def _unsigned(text: str, value: float) -> tuple[str, float]:
    """A reading and its value; nothing has no sign."""
    return text if abs(value) > 1e-9 else text.lstrip("-−+ "), value
