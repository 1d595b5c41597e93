"""Checks the numbers in a text: what is said to be equal, and what is said about mixing, against the precision its digits claim."""

from __future__ import annotations

import sys

from sumpwise._files import checked_size, content_of, text_of
from sumpwise.description.claims import settle_units
from sumpwise.description.findings import Findings, Place, Report
from sumpwise.description.items import Items
from sumpwise.description.mentions import mentions
from sumpwise.description.normalising import Text
from sumpwise.description.pairs import pairs
from sumpwise.description.remarks import bare_torques, shares
from sumpwise.errors import FileError, NotationError

LARGEST = 64_000_000
"""Bytes of the largest file that is read."""


def check_text(text: str) -> Findings:
    """Check every pair of numbers that a text says are equal, and every claim of mixing, against the precision its digits claim.

    Parameters
    ----------
    text : str
        A description, script or page as people write it; any length.

    Returns
    -------
    Findings
        A tuple of findings in the order of the text, each with `.start`, `.end`, `.line`, `.column`, `.verdict` ("agrees", "disagrees",
        "ambiguous"), `.stated`, `.expected`, `.suggestion` (the phrase rewritten), `.slip` and `.note`.

    Raises
    ------
    SumpwiseError
        When `text` is no text.

    Notes
    -----
    A pair agrees when either number is the correct rounding of the other's conversion (NIST SP 811 B.7), unless only the second way holds
    and a known slip reproduces the stated number. The number named first is the source. Spans of torque, temperature, pressure and level
    are limits and go inward (SP 1038 4.4.1); spans of volumes, distances and times are estimates. Two digits more than the original
    carries, a bare quart that fits as imperial alone, torque without a unit and hot beside cold volumes are ambiguous.

    Examples
    --------
    >>> from sumpwise import check_text
    >>> for finding in check_text("The pan held 6.1 L (6.4 US qt). Plug: 29 N·m / 39 lbf·ft."):
    ...     print(finding.verdict, finding.stated, "->", finding.expected)
    agrees 6.4 US qt -> 6.4 US qt
    disagrees 39 lbf·ft -> 21 lbf·ft
    """
    if not isinstance(text, str):
        raise NotationError("is no text", argument="text", value=text, allowed="the text of a description")
    whole = Text(text)
    read = whole.read
    found = list(mentions(read))
    place = Place(whole)
    findings = [*pairs(whole, settle_units(read, found), place), *bare_torques(read, found, place), *shares(read, found, place)]
    findings += Items().conflicts(whole, found, place)
    if place.us_measure:
        findings = [place.firmer.get((one.start, one.end), one) if one.verdict == "ambiguous" else one for one in findings]
    return Findings(sorted(findings, key=lambda finding: (finding.start, finding.end)), text)


def report_for_file(path: str) -> Report:
    """Check a text file, or standard input for `-`, and return the report that the command line prints.

    Parameters
    ----------
    path : str
        A text file in UTF-8.

    Returns
    -------
    Report
        Prints as one line a finding with a caret under its place and a summary; `.to_json()`, `.disagrees`, `.findings`.

    Raises
    ------
    FileError
        When the file cannot be read, is no UTF-8 or is larger than 64 MB.
    """
    if path == "-":
        name, shown_as = "", "standard input"
        content = checked_size(_standard_input(), shown_as, LARGEST)
    else:
        name, content = content_of(path, "give the path of a text file, or - for standard input", LARGEST)
        shown_as = name
    text = text_of(content, shown_as)
    return Report(text, check_text(text), name)


def _standard_input() -> bytes:
    try:
        if sys.stdin is not None:
            return sys.stdin.buffer.read(LARGEST + 1)
        reason = "it is closed"
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
    raise FileError(f"cannot be read: {reason}", argument="standard input", hint="give the path of a text file")
