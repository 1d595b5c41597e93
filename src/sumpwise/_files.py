"""Files that are read and records that are saved: regular files only, limited in size before parsing, saved completely or not at all."""

from __future__ import annotations

import codecs
import contextlib
import os
import re
import stat
from typing import TYPE_CHECKING, Any

from sumpwise.errors import MOST_NESTED, FileError, shown

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

LARGEST = 1_000_000
"""The largest job or record, in bytes."""
DEEPEST_KEY = 8
"""The most parts of a dotted key in a TOML file: the parser's time grows with their square."""
LONGEST_NUMBER = 400
"""The most digits of a whole number in a file; more than any float needs."""

PATIENCE = 2.0
"""How long a save waits for another save in the same folder, in seconds."""
ABANDONED = 3600.0
"""A temporary file older than this, in seconds, is treated as left over if the system has no locks."""

ABSENT = ""
"""Used instead of a digest: there was no such file."""

_ENCODINGS = (  # the longer marks first
    (codecs.BOM_UTF32_LE, "UTF-32"), (codecs.BOM_UTF32_BE, "UTF-32"), (codecs.BOM_UTF16_LE, "UTF-16"), (codecs.BOM_UTF16_BE, "UTF-16"),
)  # fmt: skip
_STRING = (
    r'"""(?:[^"\\]++|\\.|"(?!""))*+(?:""")?+'
    r"|'''(?:[^']++|'(?!''))*+(?:''')?+"
    r'|"(?:[^"\\\n]++|\\.)*+"?+'
    r"|'[^'\n]*+'?+"
)
_TO_THE_DOT = rf"""(?:[^.=\n,\[\]{{}}#"']++|{_STRING})*+\."""
"""Up to the next dot of a key."""
_MARKS = re.compile(
    # what is harmless: most characters, strings, comments, short numbers, keys of few parts
    rf"(?:[^\[\]{{}}.0-9\"'#]++|{_STRING}|#[^\n]*+"
    rf"|[0-9](?:_?+[0-9]){{0,{LONGEST_NUMBER - 1}}}+(?!_?[0-9])|\.(?!(?:{_TO_THE_DOT}){{{DEEPEST_KEY - 1}}}))*+"
    rf"(?:(?P<open>[\[{{]++)|(?P<close>[\]}}]++)|(?P<dots>\.(?:{_TO_THE_DOT}){{{DEEPEST_KEY - 1}}})"
    rf"|(?P<digits>[0-9](?:_?[0-9]){{{LONGEST_NUMBER}}})|\Z)",
    re.DOTALL,
)
"""The brackets of a TOML or JSON file, and what is too long in it."""


def content_of(path: Any, hint: str, largest: int = LARGEST) -> tuple[str, bytes]:
    """Name and content of a regular file, up to so many bytes; `hint` is what to give instead, for the message.

    A link is followed; a folder, device, pipe or socket is refused without waiting for it. A `FileError` names the file and the reason.
    """
    try:
        name = os.fsdecode(path)
        # opening a named pipe without a writer would block for ever: open without blocking, then look at what it is
        number = os.open(name, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_BINARY", 0))
        with open(number, "rb") as file:
            if not stat.S_ISREG(os.fstat(number).st_mode):
                raise FileError("cannot be read: it is not a regular file", code="file.not_regular", argument=_named(path), hint=hint)
            content = file.read(largest + 1)
    except (OSError, TypeError, ValueError) as error:
        if isinstance(error, FileError):
            raise
        reason = error.strerror if isinstance(error, OSError) else "it is not a path"
        raise FileError(f"cannot be read: {reason}", code="file.unreadable", argument=_named(path), hint=hint) from None
    return name, checked_size(content, name, largest)


def _named(path: Any) -> str:
    return path if isinstance(path, str) else shown(path)


def checked_size(content: bytes, name: str, largest: int) -> bytes:
    """Refuse content that is too large."""
    if len(content) > largest:
        size = f"{largest // 1_000_000} MB" if largest >= 1_000_000 else f"{largest} bytes"
        raise FileError(
            f"is larger than {size}", code="file.too_large", argument=name, allowed=f"at most {size}", limits=(None, largest, "bytes")
        )
    return content


def text_of(content: bytes, name: str) -> str:
    """The text of a file in UTF-8, with or without a byte order mark; another encoding is refused, with its name and place."""
    for mark, encoding in _ENCODINGS:
        if content.startswith(mark):
            raise _at(f"is not UTF-8 at line 1, column 1: it is {encoding}", name, 1, 1, "save the file as UTF-8", code="file.encoding")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        column = error.start - content.rfind(b"\n", 0, error.start)
        problem = f"is not UTF-8 at line {line}, column {column}"
        raise _at(problem, name, line, column, "save the file as UTF-8", code="file.encoding") from None


def _at(problem: str, name: str, line: int, column: int, hint: str, *, code: str) -> FileError:
    """A `FileError` with its line and column."""
    error = FileError(problem, code=code, argument=name, hint=hint)
    error.line, error.column = line, column
    return error


def _place(text: str, position: int) -> tuple[int, int]:
    return text.count("\n", 0, position) + 1, position - text.rfind("\n", 0, position)


def _bounded(text: str, name: str) -> str:
    """The text of a TOML or JSON file, whose keys, numbers and nesting are bounded: a parser takes too long over them, or gives up.

    Both have the same marks; where JSON would be read otherwise, it is not JSON, as its parser then says.
    """
    depth = 0
    for mark in _MARKS.finditer(text):
        kind, end = mark.lastgroup, mark.end()
        if kind == "open":
            depth += end - mark.start(kind)
            if depth > MOST_NESTED:
                problem = f"has more than {MOST_NESTED} lists and tables inside each other"
                hint = "close each bracket before the next one opens"
                raise _said_at(problem, name, text, end - (depth - MOST_NESTED), hint, code="file.nested")
        elif kind == "close":
            depth -= end - mark.start(kind)
        elif kind == "dots":
            hint = "a job has tables and keys, such as total below [capacity]"
            raise _said_at(f"has a key of more than {DEEPEST_KEY} parts", name, text, end - 1, hint, code="file.nested")
        elif kind == "digits":
            hint = "no measured value has that many"
            raise _said_at(f"has a number of more than {LONGEST_NUMBER} digits", name, text, mark.start(kind), hint, code="file.number")
    return text


def _said_at(problem: str, name: str, text: str, position: int, hint: str, *, code: str) -> FileError:
    """The same for a position in a text, with the place in words."""
    line, column = _place(text, position)
    return _at(f"{problem} at line {line}, column {column}", name, line, column, hint, code=code)


def toml_of(content: bytes, name: str) -> dict[str, Any]:
    """The tables of a TOML file.

    Raises
    ------
    FileError
        For content that is not UTF-8 or not TOML, keys with many dotted parts, endless numbers and deep nesting, with line and column.
    """
    import tomllib

    text = _bounded(text_of(content, name), name)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        found = re.search(r"line (\d+), column (\d+)", str(error))
        line, column = (int(found[1]), int(found[2])) if found else _place(text, len(text))
        hint = 'put values in workshop notation in quotes: total = "8.85 L"'
        raise _at(f"is not TOML: {error}", name, line, column, hint, code="file.syntax") from None


def json_of(content: bytes, name: str) -> Any:
    """The content of a JSON file; repeated keys, nan and infinity are refused.

    Raises
    ------
    FileError
        With line and column for content that is not UTF-8 or not JSON, endless numbers and deep nesting.
    """
    import json

    text = _bounded(text_of(content, name), name)
    try:
        return json.loads(text, object_pairs_hook=_unique, parse_constant=_no_constant)
    except json.JSONDecodeError as error:
        other = "a record is the file that the command record writes; was a job given?"
        hint = "is the file complete?" if text.lstrip()[:1] in "{[" else other
        raise _at(f"is not JSON: {error}", name, error.lineno, error.colno, hint, code="file.syntax") from None
    except FileError as error:
        raise error.at(name) from None


def _unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise FileError("appears twice", code="key.twice", argument=key, hint="keep one of them")
        found[key] = value
    return found


def _no_constant(word: str) -> Any:
    raise FileError("is not a number", code="file.number", value=word)


def digest(content: bytes) -> str:
    """A hash that tells one content of a file from another."""
    import hashlib

    return hashlib.blake2b(content, digest_size=16).hexdigest()


def save(path: Any, content: bytes, known: Mapping[str, str] | None = None) -> str:
    """Write the whole content of a file, or nothing at all, and give the real name of the file that was written.

    A link is followed: the file it points to is replaced, the link stays. An existing file must be a regular file; its permissions and, if
    the system allows it, its owner are kept. `known` says by the real name of a file what it was when it was read: the `digest` of its
    content, or `ABSENT`. If that has changed since, or another program is saving in the same folder, nothing is written, and the error says
    so.

    Notes
    -----
    The content goes to a new file in the same folder, is flushed to the disk and then takes the name of the old one in one step. Programs
    that save in the same folder exclude each other by a lock on the folder, if the system has such locks; under the lock, temporary files
    left behind by a killed program are removed.
    """
    try:
        name = os.path.realpath(os.fsdecode(path))
        with _alone(os.path.dirname(name)):
            _check(name, (known or {}).get(name), path)
            _replace(name, content)
        return name
    except (OSError, TypeError, ValueError) as error:
        if isinstance(error, FileError):
            raise
        reason = error.strerror if isinstance(error, OSError) else "it is not a path"
        raise FileError(
            f"cannot be written: {reason}", code="file.unwritable", argument=_named(path), hint="the previous record is untouched"
        ) from None


def _check(name: str, known: str | None, path: Any) -> None:
    """Refuse a path that is not a regular file, and a file that has changed since it was read."""
    try:
        mode = os.stat(name).st_mode
    except FileNotFoundError:
        return
    if not stat.S_ISREG(mode):
        raise FileError(
            "cannot be written: it is not a regular file", code="file.not_regular", argument=_named(path), hint="give the path of a file"
        )
    if known == ABSENT:
        problem, mend = "exists already and was not overwritten", "give another name, or move the file away first"
        raise FileError(problem, code="file.exists", argument=_named(path), hint=mend)
    if known is not None:
        with open(name, "rb") as file:
            if digest(file.read()) != known:
                problem, mend = "was changed since it was read, and was not overwritten", "read it again, then make the change again"
                raise FileError(problem, code="file.changed", argument=_named(path), hint=mend)


def _replace(name: str, content: bytes) -> None:
    """Write a temporary file in the same folder, then rename it; its name is short however long the file's own is."""
    folder, base = os.path.split(name)
    mine = f".{digest(os.fsencode(base))}."
    for entry in os.scandir(folder):
        if entry.name.startswith(mine) and entry.name.endswith(".part") and (_LOCKS or _age(entry) > ABANDONED):
            with contextlib.suppress(OSError):
                os.unlink(entry.path)
    temporary = os.path.join(folder, f"{mine}{os.urandom(8).hex()}.part")
    try:
        with open(temporary, "xb") as file:
            with contextlib.suppress(FileNotFoundError):
                old = os.stat(name)
                if hasattr(os, "chown"):
                    with contextlib.suppress(PermissionError):
                        os.chown(temporary, old.st_uid, old.st_gid)
                os.chmod(temporary, stat.S_IMODE(old.st_mode))
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.replace(temporary, name)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(temporary)
        raise


def _age(entry: os.DirEntry[str]) -> float:
    import time

    with contextlib.suppress(OSError):
        return time.time() - entry.stat().st_mtime
    return 0.0


try:
    import fcntl

    _LOCKS = True
except ImportError:  # without locks the last of two saves wins, each complete
    _LOCKS = False


@contextlib.contextmanager
def _alone(folder: str) -> Iterator[None]:
    """Hold the lock of a folder."""
    if not _LOCKS:
        yield
        return
    import time

    number = os.open(folder, os.O_RDONLY | os.O_CLOEXEC)
    try:
        end = time.monotonic() + PATIENCE
        while True:
            try:
                fcntl.flock(number, fcntl.LOCK_EX | fcntl.LOCK_NB)
                break
            except BlockingIOError:
                if time.monotonic() > end:
                    problem = "cannot be written: another program is saving in this folder"
                    raise FileError(problem, code="file.busy", argument=folder, hint="try again when it is done") from None
                time.sleep(0.01)
        yield
    finally:
        os.close(number)  # which releases the lock
