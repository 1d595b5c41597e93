"""Output of the command line to a terminal, a pipe or a file: characters it lacks, streams that are closed or full, and Ctrl-C."""

from __future__ import annotations

import argparse
import contextlib
import os
import sys
from typing import TYPE_CHECKING, Any, NoReturn

from sumpwise.errors import SumpwiseError, printable

if TYPE_CHECKING:
    from collections.abc import Callable

AGREES, DISAGREES, UNREADABLE, ODDLY_WRITTEN, INTERRUPTED = 0, 1, 2, 3, 130
"""Exit statuses of the commands."""

PLAIN = {
    "−": "-", "–": "-", "—": "-", "±": "+/-", "×": "x", "·": "*", "∙": "*", "°": "deg ", "µ": "u", "²": "^2", "³": "^3", "½": " 1/2",
    "¼": " 1/4", "¾": " 3/4",
    "≤": "<=", "≥": ">=", "→": "->", "…": "...", "’": "'", "‘": "'", "“": '"', "”": '"', "Δ": "delta ", "√": "sqrt ",
    "\u00a0": " ", "\u2009": " ", "\u202f": " ", "ö": "oe", "ä": "ae", "ü": "ue", "ß": "ss",
}  # fmt: skip
"""Replacements for characters that a narrow encoding lacks; above all, a minus sign is never lost. Others are shown as escapes."""


def spelled(text: str, encoding: str) -> str:
    """A text that an encoding can represent: characters it lacks become plain ones or escapes, and none is lost."""

    def one(character: str) -> str:
        try:
            character.encode(encoding)
        except UnicodeEncodeError:
            return PLAIN.get(character) or character.encode("ascii", "backslashreplace").decode()
        return character

    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        return "".join(map(one, text))
    except LookupError:
        return spelled(text, "ascii")
    return text


def escaped(json: str) -> str:
    """JSON in plain ASCII if standard output lacks some of its characters."""
    if (getattr(sys.stdout, "encoding", None) or "utf-8").lower().startswith("utf"):
        return json
    from json import dumps

    return "".join(c if c.isascii() else dumps(c)[1:-1] for c in json)


def say(text: str, stream: Any) -> None:
    """Write a text and a line end to a stream, and make sure that it arrives.

    Raises
    ------
    OSError
        If the stream is closed, or its destination is full or gone.
    """
    if stream is None or stream.closed:
        raise OSError("it is closed")
    stream.write(spelled(text, getattr(stream, "encoding", None) or "utf-8") + "\n")
    stream.flush()


def complain(text: str) -> None:
    """Write a line to standard error, if it is available."""
    with contextlib.suppress(OSError, ValueError):
        say(printable(text), sys.stderr)


def delivered(text: str) -> bool:
    """Print a text and return whether that worked, which includes a reader that stopped reading; say why if it did not."""
    try:
        say(text, sys.stdout)
    except BrokenPipeError:
        _let_go(sys.stdout)
    except (OSError, ValueError) as error:
        _let_go(sys.stdout)
        complain(f"sumpwise: standard output cannot be written: {getattr(error, 'strerror', None) or error}")
        return False
    return True


STOPPED: list[int] = []
"""The signals that came from the user, who wants an end."""


def stop(number: int, frame: object) -> NoReturn:
    """Stop at Ctrl-C, and remember it: a library that is being loaded may make an error of its own of the interrupt."""
    STOPPED.append(number)
    raise KeyboardInterrupt


def run(command: Callable[[], tuple[str, int]]) -> int:
    """Run a command, which returns its output and its status; print what it says, and return how it ended.

    That is the command's own status; 2 if something cannot be read or the answer cannot be written; 130 if the user stopped it. A reader
    that stops reading (`| head`) does not change the status.
    """
    try:
        text, status = command()
        return status if delivered(text) else UNREADABLE
    except SumpwiseError as error:
        complain(f"sumpwise: {error}")
        return UNREADABLE
    except (KeyboardInterrupt, Exception) as error:
        if not (STOPPED or isinstance(error, KeyboardInterrupt)):
            raise
        _let_go(sys.stdout)
        complain("sumpwise: stopped")
        return INTERRUPTED
    finally:
        if sys.stderr is not None:
            try:
                sys.stderr.flush()
            except (OSError, ValueError):
                _let_go(sys.stderr)


def _let_go(stream: Any) -> None:
    """Redirect a stream that cannot be written to nowhere, so that Python does not fail on it again at exit."""
    with contextlib.suppress(OSError, ValueError, AttributeError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)


class Parser(argparse.ArgumentParser):
    """A parser whose errors show no control characters from the input, and whose help any terminal can display."""

    def error(self, message: str) -> NoReturn:
        """Print the error in one line and the usage, then exit."""
        complain(f"{self.prog}: {message}")
        complain(self.format_usage().strip())
        raise SystemExit(UNREADABLE)

    def print_help(self, file: Any = None) -> NoReturn:
        """Print the help and exit."""
        raise SystemExit(AGREES if delivered(self.format_help().rstrip()) else UNREADABLE)
