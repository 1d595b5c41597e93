"""Plain data as it was stored, read back: what must stand where, and the place of whatever is wrong.

A reader goes down with `within`, so that whatever is raised below knows its place: the JSON pointer to it, and the same in words. What a
format is called is said once, by `reading`.
"""

from __future__ import annotations

from sumpwise.errors import FileError, SumpwiseError, expect_choice, expect_shallow, expect_table, pointer_to, with_article

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Collection
    from types import TracebackType
    from typing import Any, TypeVar

    T = TypeVar("T")


class within:  # noqa: N801
    """The place of what is read inside, where errors raised there point; or one of its `keys`, if they are about an argument of that name.

    Examples
    --------
    >>> try:
    ...     with within("lines", 2), within("reading"):
    ...         finite(True)
    ... except FileError as error:
    ...     print(error.pointer, "|", error)
    /lines/2/reading | lines 3: reading: read True: is not a finite number
    """

    __slots__ = ("_keys", "_steps")

    def __init__(self, *steps: object, keys: Collection[str] = ()) -> None:
        self._steps = steps
        self._keys = keys

    def __enter__(self) -> None:
        pass

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        if not isinstance(error, SumpwiseError):
            return
        below = getattr(error, "pointer", "") or pointer_to([error.argument] if error.argument in self._keys else [])
        error.__dict__["pointer"] = pointer_to(self._steps) + below
        words = " ".join([str(step + 1) if isinstance(step, int) else str(step) for step in self._steps])
        if words and words != error.argument and not error.argument.startswith(f"{words}: "):  # a format may be named as its key
            error.argument = f"{words}: {error.argument}" if error.argument else words


class reading(within):  # noqa: N801
    """What is read inside, as its readers call it: every error raised there is a `FileError` that begins with that name."""

    __slots__ = ("_what",)

    def __init__(self, what: str, keys: Collection[str] = ()) -> None:
        super().__init__(keys=keys)
        self._what = what

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        super().__exit__(kind, error, trace)
        if isinstance(error, SumpwiseError):
            error.argument = f"{self._what}: {error.argument}" if error.argument else self._what
            if not isinstance(error, FileError):
                told = FileError(error.problem, code=error.code)
                told.__dict__ |= error.__dict__
                raise told from None


def field(data: dict[str, Any], key: str, kind: Callable[..., T], *more: Any) -> T:
    """What stands at a key, if it is of its kind."""
    with within(key):
        return kind(data[key], *more)


def table(value: Any, what: str = "table", allowed: str = "") -> dict[str, Any]:
    """The value, if it is a table of plain data."""
    return expect_table(value, "", what, allowed)


def rows(value: Any, what: str = "list") -> list[Any]:
    """The value, if it is a list of plain data."""
    if not isinstance(value, list):
        raise FileError(f"is not {with_article(what)}", code="key.type", value=value)
    return value


def finite(value: Any) -> float:
    """The value as a float, if it is a finite number; True and False are not."""
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not abs(value) < 1e300:
        raise FileError("is not a finite number", code="number.not_finite", value=value)
    return float(value)


def text(value: Any, longest: int = 0) -> str:
    """The value, if it is a text, and no longer than `longest` characters if that is given."""
    if not isinstance(value, str):
        raise FileError("is not a text", code="key.type", value=value)
    if longest and len(value) > longest:
        raise FileError(f"has more than {longest} characters", code="key.type", value=value)
    return value


def texts(value: Any) -> list[str]:
    """The value, if it is a list of texts."""
    for i, one in enumerate(rows(value, "list of texts")):
        with within(i):
            text(one)
    return list(value)


def flag(value: Any) -> bool:
    """The value, if it is true or false."""
    if not isinstance(value, bool):
        raise FileError("is neither true nor false", code="key.type", value=value, allowed="true, false")
    return value


def one_of(value: Any, allowed: Collection[str], what: str) -> str:
    """The value, if it is one of a few words."""
    return expect_choice(value, allowed, "", what, FileError)


def known(data: Any, what: str, keys: Collection[str], optional: Collection[str] = ()) -> dict[str, Any]:
    """The value, if it is a table with these keys and no others, save the optional ones."""
    allowed = ", ".join(sorted({*keys, *optional} - {"version"}))
    for key in sorted(({*keys} ^ set(table(data, what, allowed))) - {*optional}, key=str):
        with within(key):
            problem, code = ("is missing", "key.missing") if key in keys else (f"is not a key of {with_article(what)}", "key.unknown")
            raise FileError(problem, code=code, allowed=allowed)
    return dict(data)


def stored(
    data: Any, what: str, keys: Collection[str], form: str = "", version: int = 1, optional: Collection[str] = ()
) -> dict[str, Any]:  # fmt: skip
    """The data, if they are a format of this name: a table of that form and version, with its keys and no others."""
    if not isinstance(data, dict):
        raise FileError(f"is not {with_article(what)}", code="key.type", value=data, allowed="a table from to_dict")
    expect_shallow(data, "")
    with within("format"):
        if form and data.get("format") != form:
            raise FileError(f"is not {with_article(what)}", code="file.format", value=data.get("format"), allowed=form)
    with within("version"):
        found = data.get("version")
        if found.__class__ is not int or found != version:
            readable = " or ".join(map(str, range(1, version + 1)))  # a later version reads all before it
            raise FileError("is a version this library cannot read", code="file.version", value=found, allowed=readable)
    return known(data, what, {*keys, "version"}, optional)
