"""Calendar dates: how a job writes them, the time between them, and when an interval is over."""

from __future__ import annotations

import datetime
from calendar import monthrange
from math import ceil
from typing import Any

from sumpwise.errors import RangeError
from sumpwise.quantities.boundary import answer
from sumpwise.quantities.units import by_symbol

EXAMPLE = "2026-11-27"
DAY = 1440.0
"""Minutes of a day."""
YEAR = by_symbol("y").factor
MONTH = YEAR / 12
"""Minutes of a month, a twelfth of a year."""


def in_years(minutes: Any) -> Any:
    """Minutes as a Quantity in years."""
    return answer(minutes, "time", unit=by_symbol("y"))


def day(value: Any, argument: str = "") -> datetime.date:
    """Read a date as in ISO 8601, such as 2026-11-27.

    Raises
    ------
    RangeError
        For anything else.
    """
    if type(value) is datetime.date:
        return value
    if isinstance(value, str):
        try:
            found = datetime.date.fromisoformat(value)
        except ValueError:
            pass
        else:
            if value == found.isoformat():
                return found
    raise RangeError(
        "is not a calendar date", code="time.not_a_day", argument=argument, value=value,
        allowed=f"year, month and day such as {EXAMPLE}",
    )  # fmt: skip


def between(earlier: datetime.date, later: datetime.date) -> float:
    """Minutes from one date to another."""
    return (later - earlier).days * DAY


def age_in_years(minutes: float) -> float:
    """An age, rounded up to a hundredth of a year: so it can be read, and nothing that was done since is before it."""
    return ceil(100 * minutes / YEAR - 1e-6) / 100


def after(start: datetime.date, minutes: float, *, calendar: bool = True) -> datetime.date:
    """The date when an interval is over: whole months and years count by the calendar unless told otherwise, anything else in days.

    Raises
    ------
    RangeError
        If it is beyond the calendar.
    """
    months = round(minutes / MONTH)
    try:
        if calendar and months and abs(minutes / MONTH - months) < 1e-9 * months:
            count = start.year * 12 + start.month - 1 + months
            year, month = count // 12, count % 12 + 1
            return datetime.date(year, month, min(start.day, monthrange(year, month)[1]))
        return start + datetime.timedelta(minutes=minutes)
    except (ValueError, OverflowError, IndexError):
        raise RangeError(
            "ends beyond the calendar", code="range.outside", argument="interval", value=f"{minutes / DAY:.0f} days from {start}"
        ) from None
