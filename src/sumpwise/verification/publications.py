"""Where a check value comes from: the ways of knowing one, and what a publication must state for each of them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from sumpwise.errors import FileError, expect_choice, expect_table

MEANINGS = {
    "published": "the printed row was seen in the publication itself: a law, a standard, an official manual, a paper or a book",
    "secondary": "the printed row was seen in another text: a web page, a solved exercise, the notes or tests of a program that quotes it",
    "derived": "worked out by us from a printed number or by a printed formula; the entry says how",
    "independent library": "another general-purpose program printed it",
    "own second implementation": "our own equations computed a second way (high precision, an ODE solver, quadrature): no outside value",
    "memory": "from memory, not looked up again: shown, but not evidence",
    "common practice": "common practice in the trade, without a source: shown, but not evidence",
}
"""How a value is known, best first, each explained."""

KNOWN = tuple(MEANINGS)

PRINTED = KNOWN[:2]
"""Numbers that were seen in print, in the publication itself or in another text; they are counted apart."""

OUTSIDE = KNOWN[:4]
"""The ways of knowing that come from outside this library."""

NO_OUTSIDE_VALUE = "no outside value"
"""What the docstring of a function without an outside source says."""

ONE_SOURCE = "one outside source"
"""What the docstring of a function with a single outside source says."""

_SAYS = {
    "title": "the title of the publication",
    "author": "the author, or the body that issued it",
    "edition": "the edition, revision or version",
    "year": "the year, like 1994",
    "locator": "where others can find it: document number, ISBN, DOI or address, with page or table",
    "seen": "the day the row was last seen, like 2026-11-27",
    "quotation": "a few words and figures of the row, as printed",
    "rows": "which rows were taken: the whole table, or which of it and why",
    "recipe": "how it was computed there, so that it can be repeated",
}
_PRINTED = {"title", "author", "edition", "year", "locator", "seen", "quotation", "rows"}
NEEDED = {
    "published": _PRINTED,
    "secondary": _PRINTED,
    "derived": _PRINTED,
    "independent library": {"title", "edition", "locator", "recipe"},
    "own second implementation": {"title", "edition", "recipe"},
    "memory": {"title"},
    "common practice": {"title"},
}
"""What a publication must state for each way of knowing."""

QUOTATION = 300
"""Longest quotation, in characters: a row, not a page."""

_PUBLICATION = {"title", "known"}, {"known", "note", *_SAYS}
_TEXTS = {*_SAYS, "known", "function", "part", "printed", "means", "tolerance", "where", "note", "derived", "differs"}


@dataclass(frozen=True, slots=True)
class Publication:
    """Where a check value comes from, so that others can look it up.

    Attributes
    ----------
    name : str
        Name of the file.
    title, author, edition, year : str
        Its title, and who issued it.
    locator : str
        Document number, ISBN, DOI or address, with page or table.
    seen : str
        The day the row was last seen, ISO 8601.
    quotation : str
        A few words and figures of the row, as printed.
    rows : str
        Which rows were taken.
    recipe : str
        How another program, or a second implementation, computed it.
    known : str
        How its values are known, unless an entry says otherwise.
    note : str
        A note on all of its values.
    """

    name: str
    title: str
    known: str
    author: str = ""
    edition: str = ""
    year: str = ""
    locator: str = ""
    seen: str = ""
    quotation: str = ""
    rows: str = ""
    recipe: str = ""
    note: str = ""

    @property
    def citation(self) -> str:
        """Author, title, edition and year, as one would cite it."""
        head = f"{self.author}, {self.title}" if self.author else self.title
        year = self.year if self.year not in self.edition else ""
        more = ", ".join(part for part in (self.edition, year) if part)
        return f"{head} ({more})" if more else head


def keys(value: Any, rules: tuple[set[str], set[str]], place: str) -> dict[str, Any]:
    """Check that a table has the keys it needs and no others, and that texts are texts."""
    needed, known = rules
    table = expect_table(value, place)
    for key in table:
        if key not in known:
            raise FileError(
                "is not a key of a check-value file", code="key.unknown", argument=place, value=key, allowed=", ".join(sorted(known))
            )
    for key in sorted(needed - set(table)):
        raise FileError(
            f"lacks {key!r}", code="key.missing", argument=place,
            hint=_SAYS.get(key, "nothing is assumed about a published value"),
        )  # fmt: skip
    for key in _TEXTS & set(table):
        if not isinstance(table[key], str) or not table[key].strip():
            raise FileError("must be a text, as printed", code="key.type", argument=f"{place}, {key}", value=table[key])
    return table


def way(tag: str, place: str) -> str:
    """One of the ways of knowing, or an error that lists them."""
    expect_choice(tag, KNOWN, f"{place}, known", "way of knowing a value", FileError)
    return tag


def read(table: Any, file: str) -> Publication:
    """Read the publication at the start of a file."""
    place = f"{file}, publication"
    table = keys(table, _PUBLICATION, place)
    way(table["known"], place)
    if "seen" in table:
        try:
            date.fromisoformat(table["seen"])
        except ValueError:
            raise FileError("is not a date", code="key.type", argument=f"{place}, seen", value=table["seen"], hint=_SAYS["seen"]) from None
    if len(table.get("quotation", "")) > QUOTATION:
        raise FileError(
            "is too long", code="text.too_long", argument=f"{place}, quotation", value=len(table["quotation"]),
            allowed=f"at most {QUOTATION} characters",
        )  # fmt: skip
    made = Publication(name=file.removesuffix(".toml"), **table)
    complete(made, made.known, place)
    return made


def complete(publication: Publication, known: str, place: str) -> None:
    """Refuse a way of knowing if the publication does not state what it requires."""
    for key in sorted(NEEDED[known]):
        if not getattr(publication, key):
            raise FileError(f"lacks {key!r}, which a value known as {known!r} needs", code="key.missing", argument=place, hint=_SAYS[key])
