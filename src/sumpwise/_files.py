"""Files that people hand in and records that are kept: only regular files, bounded before they are parsed, saved whole or not at all."""

from __future__ import annotations

import codecs
import contextlib
import os
import re
import stat
from typing import TYPE_CHECKING, Any

from sumpwise.errors import FileError, shown

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

LARGEST = 1_000_000
"""Bytes a job or a record may have."""
DEEPEST_KEY = 8
"""Parts a dotted key in a TOML file may have: each of them costs the parser the whole key once more."""
LONGEST_NUMBER = 400
"""Digits a whole number in a file may have; more than any float needs."""

PATIENCE = 2.0
"""Seconds that a save waits for another one in the same folder."""
ABANDONED = 3600.0
"""Seconds after which a temporary file is taken for left over, where the system has no locks."""

ABSENT = ""
"""Instead of a digest: there was no such file."""

_ENCODINGS = (  # the longer marks first
    (codecs.BOM_UTF32_LE, "UTF-32"), (codecs.BOM_UTF32_BE, "UTF-32"), (codecs.BOM_UTF16_LE, "UTF-16"), (codecs.BOM_UTF16_BE, "UTF-16"),
)  # fmt: skip
_TOML = re.compile(
    r'"""(?:[^"\\]++|\\.|"(?!""))*+(?:""")?'
    r"|'''(?:[^']++|'(?!''))*+(?:''')?"
    r'|"(?:[^"\\\n]++|\\.)*+"?'
    r"|'[^'\n]*+'?"
    r"|#[^\n]*+"
    r"|(?P<end>[=\n,\[\]{}])"
    r"|(?P<dot>\.)"
    r"|(?P<digits>[0-9](?:_?[0-9]){400,}+)",
    re.DOTALL,
)


def content_of(path: Any, hint: str, largest: int = LARGEST) -> tuple[str, bytes]:
    """Name and content of a regular file.

    Parameters
    ----------
    path : str or path
        A link is followed; a folder, device, pipe or socket is refused without being opened for long.
    hint : str
        What to give instead, for the message.
    largest : int
        Bytes it may have.

    Raises
    ------
    FileError
        Naming the file and the reason.
    """
    try:
        name = os.fsdecode(path)
        # a named pipe without a writer would wait for ever: open without waiting, then look at what it is
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
    """Refuse content beyond the largest that is read."""
    if len(content) > largest:
        size = f"{largest // 1_000_000} MB" if largest >= 1_000_000 else f"{largest} bytes"
        raise FileError(
            f"is larger than {size}", code="file.too_large", argument=name, allowed=f"at most {size}", limits=(None, largest, "bytes")
        )
    return content


def text_of(content: bytes, name: str) -> str:
    """The text of a file in UTF-8, with or without its mark; another encoding is refused by name and place."""
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
    """A `FileError` that knows its place."""
    error = FileError(problem, code=code, argument=name, hint=hint)
    error.line, error.column = line, column
    return error


def _place(text: str, position: int) -> tuple[int, int]:
    return text.count("\n", 0, position) + 1, position - text.rfind("\n", 0, position)


def toml_of(content: bytes, name: str) -> dict[str, Any]:
    """The tables of a TOML file.

    Raises
    ------
    FileError
        For what is not UTF-8 or not TOML, for keys of many dotted parts, endless numbers and deep nesting, each with its line and column.
    """
    import tomllib

    text = text_of(content, name)
    dots = 0
    for token in _TOML.finditer(text):
        if token["end"]:
            dots = 0
        elif token["dot"]:
            dots += 1
            if dots >= DEEPEST_KEY:
                line, column = _place(text, token.start())
                problem = f"has a key of more than {DEEPEST_KEY} parts at line {line}, column {column}"
                raise _at(problem, name, line, column, "a job has tables and keys, such as total below [capacity]", code="file.nested")
        elif token["digits"]:
            line, column = _place(text, token.start())
            problem = f"has a number of more than {LONGEST_NUMBER} digits at line {line}, column {column}"
            raise _at(problem, name, line, column, "no measured value has so many", code="file.number")
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        found = re.search(r"line (\d+), column (\d+)", str(error))
        line, column = (int(found[1]), int(found[2])) if found else _place(text, len(text))
        hint = 'values in workshop notation stand in quotes: total = "8.85 L"'
        raise _at(f"is not TOML: {error}", name, line, column, hint, code="file.syntax") from None
    except RecursionError:
        raise FileError("is nested too deeply", code="file.nested", argument=name, hint="tables and lists of tables only") from None


def json_of(content: bytes, name: str) -> Any:
    """What a JSON file holds; a key that stands twice, nan, infinity and endless numbers are refused.

    Raises
    ------
    FileError
        With line and column where the reader knows them.
    """
    import json

    text = text_of(content, name)
    try:
        return json.loads(text, object_pairs_hook=_unique, parse_constant=_no_constant, parse_int=_whole)
    except json.JSONDecodeError as error:
        raise _at(f"is not JSON: {error}", name, error.lineno, error.colno, "is the file complete?", code="file.syntax") from None
    except RecursionError:
        raise FileError("is not JSON: it is nested too deeply", code="file.nested", argument=name, hint="is the file complete?") from None
    except FileError as error:
        raise error.at(name) from None


def _unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise FileError("stands twice", code="key.twice", argument=key, hint="keep one of them")
        found[key] = value
    return found


def _no_constant(word: str) -> Any:
    raise FileError("is not a number", code="file.number", value=word)


def _whole(digits: str) -> int:
    if len(digits) > LONGEST_NUMBER:
        raise FileError(
            f"holds a number of more than {LONGEST_NUMBER} digits", code="file.number", value=digits, hint="no measured value has so many"
        )
    return int(digits)


def digest(content: bytes) -> str:
    """What tells one content of a file from another."""
    import hashlib

    return hashlib.blake2b(content, digest_size=16).hexdigest()


def save(path: Any, content: bytes, known: Mapping[str, str] | None = None) -> str:
    """Write a file whole or not at all.

    Parameters
    ----------
    path : str or path
        Where it goes. A link is followed: the file it points to is replaced, the link stays. What is there already must be a regular
        file; its permissions and, where the system allows it, its owner are kept.
    content : bytes
        All of it.
    known : mapping, optional
        Real name of a file -> `digest` of what it held when it was read: if it holds something else by now, nothing is written. `ABSENT`
        says that there was no such file.

    Returns
    -------
    str
        The real name of the file that was written.

    Raises
    ------
    FileError
        When it cannot be written, when another program is saving in the same folder, or when the file was changed since it was read;
        what was there is untouched.

    Notes
    -----
    The content goes to a new file in the same folder, is flushed to the disk and takes the name of the old one in one step. Savers in one
    folder exclude each other by a lock on the folder, where the system has such locks; under it, what a killed program has left behind is
    swept away.
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
            f"cannot be written: {reason}", code="file.unwritable", argument=_named(path), hint="the record before it is untouched"
        ) from None


def _check(name: str, known: str | None, path: Any) -> None:
    """Refuse what is not a regular file, and a file that changed since it was read."""
    try:
        mode = os.stat(name).st_mode
    except FileNotFoundError:
        return
    if not stat.S_ISREG(mode):
        raise FileError(
            "cannot be written: it is not a regular file", code="file.not_regular", argument=_named(path), hint="give the path of a record"
        )
    if known == ABSENT:
        problem, mend = "is there already, so it is left as it is", "give another name, or take it away first"
        raise FileError(problem, code="file.exists", argument=_named(path), hint=mend)
    if known is not None:
        with open(name, "rb") as file:
            if digest(file.read()) != known:
                problem, mend = "was changed since it was read, so it is left as it is", "read it again, then enter the change again"
                raise FileError(problem, code="file.changed", argument=_named(path), hint=mend)


def _replace(name: str, content: bytes) -> None:
    """Write beside the file, then take its name; the temporary name is short however long the file's own is."""
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
except ImportError:  # the last of two savers wins there, each whole
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
        os.close(number)  # which lets go of the lock
