"""Check values as data: the TOML files in this folder, one for each publication, read into entries.

The loader is strict: it refuses a misspelt key, a missing source or an unknown way of knowing, and names the file and the check.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache
from importlib import resources
from typing import Any

from sumpwise.errors import FileError, RangeError, SumpwiseError, expect_table, likened
from sumpwise.quantities import notation
from sumpwise.quantities.units import Unit, by_symbol
from sumpwise.verification import publications
from sumpwise.verification.publications import NO_OUTSIDE_VALUE, ONE_SOURCE, OUTSIDE, PRINTED, Publication

_CHECK = (
    {"function", "printed", "where"},
    {"function", "arguments", "of", "after", "part", "printed", "means", "tolerance", "where", "known", "note", "derived", "differs"},
)


@dataclass(frozen=True, slots=True)
class Printed:
    """A printed value, exactly: the number, the place of its last digit and its unit; or a text that must match as it is."""

    text: str
    value: Fraction | None = None
    places: int | None = 0
    unit: Unit = field(default_factory=lambda: by_symbol("1"))


@dataclass(frozen=True, slots=True)
class Entry:
    """One published check value and the call that must reproduce it.

    Attributes
    ----------
    function : str
        The public name, or "Class.method".
    arguments : dict
        Keyword arguments of the call.
    printed : str
        The value as the source prints it.
    tolerance : float
        How far the computed value may be from the printed one, in the printed unit: half a unit of the last printed digit unless the file
        says otherwise; zero for a count or a text.
    source : str
        Author, title and edition of the publication, and the place in it.
    known : str
        One of "published", "secondary", "derived", "independent library", "own second implementation", "memory", "common practice".
    note : str
        A pitfall, a rounding that the source made on the way, or why the tolerance is wider than the printed digit.
    derived : str
        How the value was worked out from the printed one, if it was.
    differs : str
        Why source and library differ; empty if they should agree.
    means : str
        The printed value in the function's own terms, if the source states it differently (minutes at one litre a minute).
    of, after : dict, tuple
        For a method: the constructor's arguments, and the calls made before this one.
    part : str
        The attribute of the answer that was printed.
    cited : Publication
        The publication: locator, day seen, quotation.
    """

    function: str
    arguments: Mapping[str, Any]
    printed: str
    known: str
    cited: Publication
    target: Printed
    allowed: Fraction
    note: str = ""
    means: str = ""
    of: Mapping[str, Any] | None = None
    after: tuple[tuple[str, Mapping[str, Any]], ...] = ()
    part: str = ""
    where: str = ""
    derived: str = ""
    differs: str = ""

    @property
    def publication(self) -> str:
        """Name of the publication's file."""
        return self.cited.name

    @property
    def title(self) -> str:
        """Author, title and edition of the publication."""
        return self.cited.citation

    @property
    def source(self) -> str:
        """Author, title and edition of the publication, and the place in it."""
        return f"{self.title}, {self.where}"

    @property
    def evaluation(self) -> tuple[str, ...]:
        """What is evaluated: two checks of the same evaluation are one piece of evidence. A conversion is its two units, either way."""
        if self.function == "convert":
            units = (_read(str(self.arguments[name])) or _read(f"1 {self.arguments[name]}") for name in ("value", "to"))
            return ("convert", *sorted(reading.unit.symbol if reading else "" for reading in units))
        return (self.call,)

    @property
    def tolerance(self) -> float:
        """How far the computed value may be from the printed one, in the printed unit."""
        return float(self.allowed)

    def __repr__(self) -> str:
        return f"<Entry: {self.call} = {self.printed}, {self.known}: {self.source}>"

    @property
    def call(self) -> str:
        """The call as a user would type it."""
        name, _, method = self.function.partition(".")
        calls = [(method, self.arguments)] if method else []
        text = name if method and self.of is None else _typed(name, self.of if method else self.arguments)
        for method, arguments in (*self.after, *calls):
            text += "." + _typed(method, arguments)
        return f"{text}.{self.part}" if self.part else text


def nested(value: Any) -> tuple[str, dict[str, Any]] | None:
    """Name and arguments of an argument that is itself a call: a table with one key, a public name, that holds its arguments."""
    import sumpwise

    if isinstance(value, dict) and len(value) == 1:
        ((name, arguments),) = value.items()
        if name in sumpwise.__all__ and isinstance(arguments, dict):
            return name, arguments
    return None


def _typed(name: str, arguments: Mapping[str, Any] | None) -> str:
    return f"{name}({', '.join(f'{key}={_value(value)}' for key, value in (arguments or {}).items())})"


def _value(value: Any) -> str:
    call = nested(value)
    if call:
        return _typed(*call)
    if isinstance(value, dict):
        return f"{{{', '.join(f'{_value(k)}: {_value(v)}' for k, v in value.items())}}}"
    if isinstance(value, list):
        return f"[{', '.join(_value(v) for v in value)}]"
    return f'"{value}"' if isinstance(value, str) else repr(value)


def _read(text: str) -> notation.Reading | None:
    for kind in (None, "number"):
        try:
            return notation.read(text, kind)
        except SumpwiseError:
            continue
    return None


def _printed(text: str, stated: str, part: str, place: str) -> tuple[Printed, Fraction]:
    """The printed value, and how far the computed one may be from it."""
    reading = None if part.rpartition(".")[2] == "text" else _read(text)
    if stated and (reading is None or _read(stated) is None):
        raise FileError(
            "must be a number in the printed unit, for a printed number", code="key.type", argument=f"{place}, tolerance", value=stated
        )
    if reading is None:
        return Printed(text), Fraction(0)
    if reading.exact_spread:
        raise FileError(
            "carries its own uncertainty", code="uncertainty.unexpected", argument=f"{place}, printed", value=text,
            hint='split it into two checks, with part = "nominal" and part = "standard"',
        )  # fmt: skip
    if reading.places is None and not stated:
        raise FileError(
            "has no last digit to set the tolerance by", code="digits.unknown", argument=f"{place}, printed", value=text,
            hint="state a tolerance",
        )  # fmt: skip
    allowed = Fraction(stated.replace(" ", "")) if stated else Fraction(1, 2) / Fraction(10) ** (reading.places or 0)
    return Printed(text, Fraction(reading.num, reading.den), reading.places, reading.unit), allowed


def _after(calls: Any, place: str) -> tuple[tuple[str, Mapping[str, Any]], ...]:
    if not isinstance(calls, list) or not all(isinstance(c, dict) and len(c) == 1 for c in calls):
        raise FileError("must be a list of calls like { drain = { volume = \"1 L\" } }", code="key.type", argument=place, value=calls)
    return tuple((name, expect_table(arguments, place, "table of arguments")) for call in calls for name, arguments in call.items())


_GROUP = re.compile(r"(?<=\d)(?:[ \u00a0\u202f](?=\d)|(?<!\b0),(?=\d{3}(?!\d)))")
_FIGURE = re.compile(r"[-−]?(?:\d+(?:[.,]\d+)?|[.,]\d+)(?:/\d+)?")


def _figure(text: str) -> tuple[Fraction | None, str]:
    """The first number in a printed text and what follows it; `1,215` is one thousand two hundred and fifteen."""
    text = _GROUP.sub("", text)
    found = _FIGURE.search(text)
    if not found:
        return None, ""
    over, _, under = found[0].replace("−", "-").replace(",", ".").partition("/")
    return Fraction(over) / Fraction(under or 1) if Fraction(under or 1) else None, text[found.end() :].strip()


def _same(printed: str, means: str) -> bool:
    """Whether a printed text and its restatement are the same number: the same figure, or the same quantity in another unit."""
    (one, words), (other, unit) = _figure(printed), _figure(means)
    if one == other or one is None or other is None:
        return one == other
    here, there = _read(f"1 {words}"), _read(f"1 {unit}")
    return bool(here and there and Fraction(here.unit.num, here.unit.den) * one == Fraction(there.unit.num, there.unit.den) * other)


def _entry(check: Any, number: int, publication: Publication, file: str) -> Entry:
    place = f"{file}, check {number}"
    check = publications.keys(check, _CHECK, place)
    means, derived, note = check.get("means", ""), check.get("derived", ""), check.get("note", "")
    target, allowed = _printed(means or check["printed"], check.get("tolerance", ""), check.get("part", ""), place)
    if means and not derived and not _same(check["printed"], means):
        raise FileError(
            "is not the printed number", code="check.value", argument=f"{place}, means", value=means,
            hint="say how it was worked out in `derived`",
        )  # fmt: skip
    half = None if target.value is None or target.places is None else Fraction(1, 2) / Fraction(10) ** target.places
    general = publication.note if "tolerance" in publication.note else ""
    if half is not None and allowed > half and not (note or general or check.get("differs")):
        raise FileError(
            "is wider than the printed digit", code="check.value", argument=f"{place}, tolerance", value=check["tolerance"],
            hint="say why in `note`, or for the whole publication in a note on its tolerance",
        )  # fmt: skip
    known = publications.way(check.get("known", publication.known), place)
    known = "derived" if derived and known in PRINTED else known
    if known == "derived" and not derived:
        raise FileError(
            "must say how it was worked out", code="key.missing", argument=f"{place}, derived",
            hint='derived = "one less the printed share"',
        )  # fmt: skip
    publications.complete(publication, known, place)
    return Entry(
        function=check["function"],
        arguments=expect_table(check.get("arguments", {}), f"{place}, arguments", "table of arguments"),
        printed=check["printed"],
        known=known,
        cited=publication,
        target=target,
        allowed=allowed,
        note=note or publication.note,
        means=means,
        of=expect_table(check["of"], f"{place}, of", "table of arguments") if "of" in check else None,
        after=_after(check.get("after", []), f"{place}, after"),
        part=check.get("part", ""),
        where=check["where"],
        derived=derived,
        differs=check.get("differs", ""),
    )


def parse(text: str, file: str) -> tuple[Entry, ...]:
    """Read the check values of one publication from TOML; `FileError` names the file and the check."""
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise FileError(str(error), code="file.syntax", argument=file, hint="the file is not TOML") from None
    data = publications.keys(data, ({"publication", "check"}, {"publication", "check"}), file)
    publication = publications.read(data["publication"], file)
    if not isinstance(data["check"], list):
        raise FileError("must be a list of tables: [[check]]", code="key.type", argument=f"{file}, check")
    return tuple(_entry(check, number, publication, file) for number, check in enumerate(data["check"], 1))


@cache
def load() -> tuple[Entry, ...]:
    """Load every check value that comes with the library, file by file."""
    files = sorted((f for f in resources.files("sumpwise.verification").iterdir() if f.name.endswith(".toml")), key=lambda f: f.name)
    return tuple(entry for file in files for entry in parse(file.read_text(encoding="utf-8"), file.name))


def evidence(function: Callable[..., Any] | type | str) -> tuple[Entry, ...]:
    """List the check values of a function.

    Parameters
    ----------
    function : callable, class or str
        A public function or class of the library, or its name; a class stands for all its methods.

    Returns
    -------
    tuple of Entry
        Each with `.function`, `.arguments`, `.printed`, `.tolerance`, `.source` and `.known`.

    Raises
    ------
    RangeError
        If the library has no such public name.

    Examples
    --------
    >>> from sumpwise import drain_refill, evidence
    >>> evidence(drain_refill)[0].known in ("published", "secondary")
    True
    """
    import sumpwise

    name = function if isinstance(function, str) else getattr(function, "__qualname__", getattr(function, "__name__", ""))
    if not name or not hasattr(sumpwise, name.partition(".")[0]) or name.startswith("_"):
        raise RangeError(
            "is not a public function of sumpwise", code="name.unknown", argument="function", value=function,
            hint=likened(name, dir(sumpwise)) or "see dir(sumpwise)",
        )
    return tuple(e for e in load() if e.function == name or e.function.startswith(f"{name}."))


def outside_sources(function: str) -> tuple[str, ...]:
    """The outside publications that a function, or "Class.method", is checked against, without rows that differ.

    A method is checked by a value if it is one of the calls that lead to it, or the attribute that was printed.
    """
    return tuple(dict.fromkeys(e.publication for e in load() if e.known in OUTSIDE and not e.differs and function in exercised(e)))


def exercised(entry: Entry) -> set[str]:
    """The function an entry calls; for a method, every call that leads to it and the attribute that was printed."""
    name, _, method = entry.function.partition(".")
    if not method:
        return {entry.function}
    return {f"{name}.{one}" for one in (method, *(step for step, _ in entry.after), *([entry.part.split(".")[0]] if entry.part else ()))}


def label_of(sources: tuple[str, ...]) -> str:
    """What a docstring must say if the function is checked by fewer than two outside sources."""
    return (NO_OUTSIDE_VALUE, ONE_SOURCE)[len(sources)] if len(sources) < 2 else ""
