"""The errors of sumpwise: one picklable base class that says what was read, what is wrong and how to fix it."""

from __future__ import annotations

SHOWN = 80
"""How many characters of a bad value a message shows."""

PART = 400
"""The longest each part of a message may be, in characters."""

SPACES = " \u00a0\u2007\u2009\u202f"
"""Spaces that are kept as they are."""


TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable
    from typing import Any

    Limits = tuple[float | None, float | None, str]


def printable(text: str) -> str:
    """The text on one line, safe for a terminal: unprintable characters are escaped, line ends become spaces."""
    return text if text.isprintable() else text.replace("\n", " ").translate(_ESCAPES)


class _Escapes(dict[int, str]):
    """What a character is shown as: itself if it is printable, else its escape; common characters are cached."""

    def __missing__(self, code: int) -> str:
        c = chr(code)
        seen = c if c.isprintable() or c in SPACES else c.encode("unicode_escape").decode()
        if code < _COMMON:
            self[code] = seen
        return seen


_COMMON = 0x3000
_ESCAPES = _Escapes()


def shown(value: object) -> str:
    """Return `value` as a short printable text on one line, without control characters."""
    try:
        written = str.__str__(value)[: SHOWN + 1] if isinstance(value, str) else _begun(value)
    except Exception:
        written = f"a {type(value).__name__}"
    cut = written if len(written) <= SHOWN else written[: SHOWN - 1] + "…"
    safe = cut if cut.isprintable() else cut.translate(_ESCAPES)
    return f"'{safe}'" if isinstance(value, str) else safe


def _begun(value: Any, depth: int = 0) -> str:
    """How a value begins when it is written out: of much no more than can be shown, however much there is."""
    kind = value.__class__
    if kind is str or kind is bytes:
        return repr(value[: SHOWN + 1])
    if kind not in BRACKETS:
        return str(value) if hasattr(value, "_REGISTRY") else repr(value)  # a Quantity as it is read aloud
    if not value or depth > DEEPEST:
        return "…" if value else repr(value)
    opening, closing = BRACKETS[kind]
    parts: list[str] = []
    length = 0
    for one in value.items() if kind is dict else value:
        part = ": ".join(_begun(half, depth + 1) for half in one) if kind is dict else _begun(one, depth + 1)
        parts.append(part)
        length += len(part) + 2
        if length > SHOWN:
            break
    return opening + ", ".join(parts) + ("," if kind is tuple and len(parts) == 1 else "") + closing


BRACKETS: dict[type, tuple[str, str]] = {
    list: ("[", "]"), tuple: ("(", ")"), dict: ("{", "}"), set: ("{", "}"), frozenset: ("frozenset({", "})"),
}  # fmt: skip
DEEPEST = 10
"""Levels of brackets that are written out."""


class SumpwiseError(ValueError):
    """Base of every error the library raises on purpose.

    Parameters
    ----------
    problem : str
        What is wrong, as a clause ("must be at most the capacity").
    code : str
        What kind of problem it is: one of `sumpwise.codes.CODES`, the same in every version.
    argument : str
        The parameter, key or place concerned.
    value : object
        What was read. Only its printable form is kept, so the error can be pickled whatever the value was.
    allowed : str
        What would be accepted.
    hint : str
        How to fix it.
    limits : tuple of (float or None, float or None, str), optional
        The lowest and highest values accepted (None for no limit) and their unit ("" for a plain number).
    """

    def __init__(
        self, problem: str, *, code: str, argument: str = "", value: object = None, allowed: str = "", hint: str = "",
        limits: Limits | None = None,
    ) -> None:  # fmt: skip
        self.problem = problem
        self.code = code
        self.argument = argument
        self.value = None if value is None else shown(value)
        self.allowed = allowed
        self.hint = hint
        self.limits = limits
        super().__init__(problem)

    def __str__(self) -> str:
        head = f"{_part(self.argument)}: " if self.argument else ""
        read = f"read {self.value}: " if self.value is not None else ""
        allowed = f"; accepted: {_part(self.allowed)}" if self.allowed else ""
        hint = f" ({_part(self.hint)})" if self.hint else ""
        return f"{head}{read}{_part(self.problem)}{allowed}{hint}"

    def to_dict(self) -> dict[str, Any]:
        """Give the error as plain JSON data: its kind, its fields, and the limits as numbers with their unit.

        Returns
        -------
        dict
            `error`, `code`, `problem`, `argument`, `value`, `allowed`, `hint`, `limits` (`low`, `high` and `unit`, or None); a file error
            also has `pointer`, `line` and `column`.
        """
        told: dict[str, Any] = {"error": type(self).__name__}
        told |= {key: getattr(self, key) for key in ("code", "problem", "argument", "value", "allowed", "hint")}
        told["limits"] = None if self.limits is None else dict(zip(("low", "high", "unit"), self.limits, strict=True))
        return told | {key: getattr(self, key) for key in ("pointer", "line", "column") if hasattr(self, key)}

    @staticmethod
    def json_schema() -> dict[str, Any]:
        """Describe what `to_dict` returns, as JSON Schema (2020-12).

        Returns
        -------
        dict
            Plain data.
        """
        from sumpwise import _jsonschema as schema
        from sumpwise.codes import CODES

        low_high = schema.or_null(schema.NUMBER)
        limits = schema.table({"low": low_high, "high": low_high, "unit": schema.TEXT})
        kinds = [SumpwiseError.__name__, *(kind.__name__ for kind in SumpwiseError.__subclasses__() if kind.__module__ == __name__)]
        place = {"pointer": schema.TEXT, "line": {"type": "integer", "minimum": 0}, "column": {"type": "integer", "minimum": 0}}
        return schema.root("sumpwise error", "An error as plain data.", schema.table({
            "error": {"enum": kinds}, "code": {"enum": list(CODES)}, "problem": schema.TEXT, "argument": schema.TEXT,
            "value": schema.or_null(schema.TEXT), "allowed": schema.TEXT, "hint": schema.TEXT, "limits": schema.or_null(limits), **place,
        }, optional=place))  # fmt: skip

    def __reduce__(self) -> tuple[object, ...]:
        return (_rebuild, (type(self), self.problem, dict(self.__dict__)))

    def at(self, argument: str) -> SumpwiseError:
        """Set the argument concerned, unless it is set already, and return the error itself, without its way through the reader."""
        self.argument = self.argument or argument
        return self.with_traceback(None)


def _part(text: str) -> str:
    """A part of a message: printable, and cut if it is too long to read."""
    safe = printable(text)
    return safe if len(safe) <= PART else safe[: PART - 1] + "…"


def _rebuild(kind: type[SumpwiseError], problem: str, fields: dict[str, object]) -> SumpwiseError:
    error = kind(problem, code="")
    error.__dict__.update(fields)
    return error


class NotationError(SumpwiseError):
    """The text is not a number with a unit in workshop notation; `position` is where reading stopped."""

    position = 0


class UnitError(SumpwiseError):
    """The unit is missing, unknown, or of a different kind from the one expected."""


class RangeError(SumpwiseError):
    """The value is not finite, has the wrong sign, or is outside what the quantity or the method allows."""

    bound: tuple[str, str, str] = ("", "", "")
    """The word of a limit that another argument sets, that argument, and the kind of both, until the limit is told as it was given."""


class CountLostError(SumpwiseError):
    """The fluid count can no longer be trusted to guide the filling: stop and measure again."""


class FileError(SumpwiseError):
    """The file cannot be read or written.

    `argument` names the file, key or place; `line` and `column` count from 1 and are 0 if unknown. For a job, and for
    anything that `from_dict` reads, `pointer` is the JSON pointer to the place.
    """

    line = 0
    column = 0
    pointer = ""


LONGEST_LIKENED = 60
"""The longest word, in characters, for which it is guessed what was meant."""
LIKE, FEW, LIKE_OF_FEW = 0.75, 4, 0.66
"""How alike two words must be: one letter in four may differ; of few letters one in three."""


def likened(written: object, words: Iterable[str]) -> str:
    """The one of a few words that a misspelled one is most like, as a question; empty if it is like none of them."""
    if not isinstance(written, str) or len(written) > LONGEST_LIKENED:
        return ""
    from difflib import get_close_matches

    known, plain = {word.lower(): word for word in words}, written.strip().lower()
    near = get_close_matches(plain, known, n=1, cutoff=LIKE if len(plain) > FEW else LIKE_OF_FEW)
    return f"did you mean {known[near[0]]!r}?" if near else ""


def with_article(noun: str) -> str:
    """The noun with its article: "a volume", "an angle"."""
    return f"an {noun}" if noun[0] in "aeioAEIO" else f"a {noun}"


def expect(value: Any, kind: type, argument: str, allowed: str = "") -> None:
    """Refuse an argument that is not of the type expected."""
    if not isinstance(value, kind):
        raise RangeError(f"is not {with_article(kind.__name__)}", code="value.type", argument=argument, value=value, allowed=allowed)


def expect_choice(value: Any, words: Iterable[str], argument: str, what: str, kind: type[SumpwiseError] | None = None) -> str:
    """The value, if it is one of a few words; else an error, with the one that was meant if it is only misspelled."""
    if not isinstance(value, str) or value not in words:
        known, problem = ", ".join(words), f"is not {with_article(what)}"
        raise (kind or RangeError)(problem, code="value.choice", argument=argument, value=value, allowed=known, hint=likened(value, words))
    word: str = value
    return word


def unlisted(value: Any) -> bool:
    """Whether something with elements is not a list of values: a text, raw memory, a mapping, or a set."""
    held = getattr(value, "_magnitude", value)
    if hasattr(held, "__array__"):
        return False
    return isinstance(held, (str, bytes, bytearray, memoryview, set, frozenset)) or hasattr(held, "keys")


def listed(values: Any, argument: str, allowed: str = "a list", what: str = "list") -> list[Any]:
    """The elements of a list, or of anything else that yields them in order; never the keys of a mapping."""
    try:
        if not unlisted(values):
            return list(values)
    except TypeError:
        pass
    raise RangeError(f"is not {with_article(what)}", code="list.type", argument=argument, value=values, allowed=allowed)


MOST_TOGETHER = 500
"""The most elements of a list that make one value together: with their uncertainties, its time grows with their square or cube."""


def expect_few(values: list[Any], argument: str, what: str) -> None:
    """Refuse a longer list than `MOST_TOGETHER`, before any of it is read."""
    if len(values) > MOST_TOGETHER:
        raise RangeError(
            f"has more than {MOST_TOGETHER} {what}", code="limit.entries", argument=argument, value=values,
            limits=(0, MOST_TOGETHER, ""), hint="combine some of them first",
        )  # fmt: skip


MOST_NESTED = 100
"""The most lists and tables inside each other in a file or in plain data; what is read goes down no more than a few."""


def expect_shallow(data: Any, argument: str) -> None:
    """Refuse plain data with too many lists and tables inside each other, or one that holds itself, before anything goes down into it."""
    level: Iterable[Any] = [[data]]
    for _ in range(MOST_NESTED + 1):
        inside = (one.values() if isinstance(one, dict) else one for one in level)
        # each once: one that holds itself twice would double
        level = {id(one): one for some in inside for one in some if isinstance(one, (dict, list, tuple))}.values()
        if not level:
            return
    problem, hint = f"has more than {MOST_NESTED} lists and tables inside each other", "a value is a text or a number"
    raise FileError(problem, code="file.nested", argument=argument, hint=hint)


def expect_table(value: Any, place: str, what: str = "table", allowed: str = "") -> dict[str, Any]:
    """The value, if it is a table of plain data."""
    if not isinstance(value, dict):
        raise FileError(f"is not {with_article(what)}", code="key.type", argument=place, value=value, allowed=allowed)
    return value


def pointer_to(steps: Iterable[object]) -> str:
    """The JSON pointer (RFC 6901) of a place."""
    return "".join(["/" + str(step).replace("~", "~0").replace("/", "~1") for step in steps])
