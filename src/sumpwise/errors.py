"""The errors of sumpwise: one picklable base that says what was read, what is wrong and how to mend it."""

from __future__ import annotations

SHOWN = 80
"""Characters of an offending value that a message shows."""


def shown(value: object) -> str:
    """Return `value` as a short printable text: escaped, one line, never a control character."""
    try:
        written = value if isinstance(value, str) else repr(value)
    except Exception:
        written = f"a {type(value).__name__}"
    cut = written if len(written) <= SHOWN else written[: SHOWN - 1] + "…"
    safe = "".join(c if c.isprintable() or c in " \u00a0\u2009\u202f" else c.encode("unicode_escape").decode() for c in cut)
    return f"'{safe}'" if isinstance(value, str) else safe


class SumpwiseError(ValueError):
    """Base of every error the library raises on purpose.

    Parameters
    ----------
    problem : str
        What is wrong, as a clause ("must be at most the capacity").
    argument : str
        The parameter, key or place concerned.
    value : object
        What was read. Kept as its printable form, so the error pickles whatever the value was.
    allowed : str
        What would be accepted.
    hint : str
        How to mend it.
    """

    def __init__(
        self, problem: str, *, argument: str = "", value: object = None, allowed: str = "", hint: str = ""
    ) -> None:
        self.problem = problem
        self.argument = argument
        self.value = None if value is None else shown(value)
        self.allowed = allowed
        self.hint = hint
        super().__init__(problem)

    def __str__(self) -> str:
        head = f"{self.argument}: " if self.argument else ""
        read = f"read {self.value}: " if self.value is not None else ""
        allowed = f"; accepted: {self.allowed}" if self.allowed else ""
        hint = f" ({self.hint})" if self.hint else ""
        return f"{head}{read}{self.problem}{allowed}{hint}"

    def __reduce__(self) -> tuple[object, ...]:
        return (_rebuild, (type(self), self.problem, dict(self.__dict__)))

    def at(self, argument: str) -> SumpwiseError:
        """Name the argument concerned, unless it is named already, and return the error itself."""
        self.argument = self.argument or argument
        return self


def _rebuild(kind: type[SumpwiseError], problem: str, fields: dict[str, object]) -> SumpwiseError:
    error = kind(problem)
    error.__dict__.update(fields)
    return error


class NotationError(SumpwiseError):
    """A text that is no number with a unit in workshop notation; `position` is where reading stopped."""

    position = 0


class UnitError(SumpwiseError):
    """A missing unit, an unknown unit, or a unit of another kind than is due."""


class RangeError(SumpwiseError):
    """A value that is not finite, has the wrong sign, or lies outside what the quantity or the method allows."""


class CountLostError(SumpwiseError):
    """A fluid count that can no longer steer the filling: stop and measure anew."""


class FileError(SumpwiseError):
    """A job or record that cannot be read: `argument` names the key or place."""
