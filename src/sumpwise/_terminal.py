"""Where the command line meets a terminal, a pipe or a file: what a stream cannot spell, streams that are closed or full, and Ctrl-C."""

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
"""What a command ends with."""

PLAIN = {
    "−": "-", "–": "-", "—": "-", "±": "+/-", "×": "x", "·": "*", "∙": "*", "°": "deg ", "µ": "u", "²": "^2", "³": "^3", "½": " 1/2",
    "¼": " 1/4", "¾": " 3/4",
    "≤": "<=", "≥": ">=", "→": "->", "…": "...", "’": "'", "‘": "'", "“": '"', "”": '"', "Δ": "delta ", "√": "sqrt ",
    "\u00a0": " ", "\u2009": " ", "\u202f": " ", "ö": "oe", "ä": "ae", "ü": "ue", "ß": "ss",
}  # fmt: skip
"""What stands for a character that a narrow encoding does not have; a minus sign above all is never lost. Others show as their escape."""


def spelled(text: str, encoding: str) -> str:
    """A text as an encoding can spell it: characters that it lacks as plain ones or as escapes, none lost."""

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
    """JSON in plain ASCII where standard output cannot spell every character."""
    if (getattr(sys.stdout, "encoding", None) or "utf-8").lower().startswith("utf"):
        return json
    from json import dumps

    return "".join(c if c.isascii() else dumps(c)[1:-1] for c in json)


def say(text: str, stream: Any) -> None:
    """Write a text and a line end to a stream, and see to it that it arrives.

    Raises
    ------
    OSError
        When the stream is closed, or what it leads to is full or gone.
    """
    if stream is None or stream.closed:
        raise OSError("it is closed")
    stream.write(spelled(text, getattr(stream, "encoding", None) or "utf-8") + "\n")
    stream.flush()


def complain(text: str) -> None:
    """Write a line to standard error, if it can be reached."""
    with contextlib.suppress(OSError, ValueError):
        say(printable(text), sys.stderr)


def delivered(text: str) -> bool:
    """Print a text; whether it arrived, which it has too when its reader has seen enough. Why it did not is said."""
    try:
        say(text, sys.stdout)
    except BrokenPipeError:
        _let_go(sys.stdout)
    except (OSError, ValueError) as error:
        _let_go(sys.stdout)
        complain(f"sumpwise: standard output cannot be written: {getattr(error, 'strerror', None) or error}")
        return False
    return True


def run(command: Callable[[], tuple[str, int]]) -> int:
    """Run a command, print what it says, and return how it ended.

    Parameters
    ----------
    command : callable
        Returns what it has to say and its status: 0 all is well, 1 something disagrees.

    Returns
    -------
    int
        The command's own status; 2 when something cannot be read or the answer cannot be written; 130 when the user stopped it. A reader
        that has seen enough (`| head`) changes nothing: the status stays the command's own.
    """
    try:
        text, status = command()
        return status if delivered(text) else UNREADABLE
    except SumpwiseError as error:
        complain(f"sumpwise: {error}")
        return UNREADABLE
    except KeyboardInterrupt:
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
    """Lead a stream that cannot be written to nowhere, so that Python does not stumble over it once more when it ends."""
    with contextlib.suppress(OSError, ValueError, AttributeError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)


class Parser(argparse.ArgumentParser):
    """A parser whose complaints repeat no control character of what was typed, and whose help any terminal can spell."""

    def error(self, message: str) -> NoReturn:
        """Complain in one line, show the usage, end."""
        complain(f"{self.prog}: {message}")
        complain(self.format_usage().strip())
        raise SystemExit(UNREADABLE)

    def print_help(self, file: Any = None) -> NoReturn:
        """Print the help and end."""
        raise SystemExit(AGREES if delivered(self.format_help().rstrip()) else UNREADABLE)
