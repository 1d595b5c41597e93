"""Checks the numbers in a text: pairs that are said to be equal, and claims about mixing, to the precision that their digits claim."""

from __future__ import annotations

import sys
from itertools import islice

from sumpwise._files import checked_size, content_of, text_of
from sumpwise.description.comparing import compared
from sumpwise.description.findings import Finding, Place
from sumpwise.description.items import Items
from sumpwise.description.mention import Refused
from sumpwise.description.mentions import batches
from sumpwise.description.normalising import Text
from sumpwise.description.report import CheckedText, Counts, Findings
from sumpwise.errors import FileError, NotationError, RangeError

MOST = 2000
"""After this many findings nothing more is compared."""
LARGEST = 64_000_000
"""The largest file that is read, in bytes."""


def check_text(text: str, limit: int = MOST) -> Findings:
    """Check every pair of numbers that a text says are equal, and every claim about mixing, to the precision that its digits claim.

    Parameters
    ----------
    text : str
        A description, script or page, or the captions of a video (SRT, VTT or plain), as people write and say them; any length.
    limit : int
        Number of findings after which nothing more is compared; the summary then says so.

    Returns
    -------
    Findings
        A tuple of findings in the order of the text, each with `.start`, `.end`, `.line`, `.column`, `.verdict` ("agrees", "disagrees",
        "ambiguous"), `.grade` ("wrong" or "style" if it disagrees), `.stated`, `.expected`, `.suggestion` (the phrase rewritten), `.slip`,
        `.note` and `.time` (in captions). It also has `.seen`, `.compared` and `.unread`: the numbers with units that were read, those that
        were compared with another, and those that could not be read, with the reason.

    Raises
    ------
    SumpwiseError
        If `text` is not a text, or the limit is not a whole number above zero.

    Notes
    -----
    A pair agrees if either number is the correct rounding of the other's conversion (NIST SP 811 B.7) and they are within 2 % of each
    other; the first number is the source. Spans of torque, temperature, pressure and level are limits and are rounded inward (SP 1038
    4.4.1); spans of volumes, distances and times are estimates. So many of one size (12 x 1 qt, two 5 L cans and a 1 L bottle) are compared
    as what they are together. A pair that disagrees is "wrong" if a reader would act on a wrong number, and "style" if it is off by no more
    than 2.5 % (3 °F, 5/3 °C), is the nearest number with that many digits, is rounded outward, or has two digits more than the original.
    Ambiguous are: a bare quart, gallon, pint or fluid ounce that is right only as imperial (wrong in a text that uses US measures, right in
    one that names imperial ones alone), a number that can be read two ways, torque without a unit, and hot volumes compared with cold ones.

    Examples
    --------
    >>> from sumpwise import check_text
    >>> for finding in check_text("The pan held 6.1 L (6.4 US qt). Plug: 29 N·m / 39 lbf·ft."):
    ...     print(finding.verdict, finding.stated, "->", finding.expected)
    agrees 6.4 US qt -> 6.4 US qt
    disagrees 39 lbf·ft -> 21 lbf·ft
    """
    if not isinstance(text, str):
        raise NotationError("is not a text", code="value.type", argument="text", value=text, allowed="the text of a description")
    if not isinstance(limit, int) or isinstance(limit, bool) or limit < 1:
        raise RangeError(
            "is not a valid number of findings", code="range.outside", argument="limit", value=limit, allowed="a whole number from 1"
        )
    whole = Text(text)
    place, items = Place(whole), Items()
    findings: list[Finding] = []
    counts = Counts()
    refused: list[Refused] = []
    begin = 0
    for found in batches(whole.read, refused):
        counts.seen += len(found) + sum([mention.span for mention in found])
        end = found[-1].end if found else len(whole.read)
        if len(findings) < limit:
            findings += islice(compared(whole, found, place, items, begin, end), limit - len(findings))
            counts.compared += sum([1 + mention.span for mention in found if mention.compared])
        begin = end
        counts.unread += len(refused)
        refused.clear()
    findings += islice(items.conflicts(), limit - len(findings))
    counts.complete = len(findings) < limit
    if place.us_measure or place.imperial_measure:
        which = 0 if place.us_measure else 1
        findings = [place.settled.get((one.start, one.end), (one, one))[which] if one.verdict == "ambiguous" else one for one in findings]
    return Findings(sorted(findings, key=lambda finding: (finding.start, finding.end)), text, counts)


def report_for_file(path: str, unchecked: bool = False) -> CheckedText:
    """Check a text file, or standard input for `-`, and return the report that the command line prints.

    Parameters
    ----------
    path : str
        A text file in UTF-8.
    unchecked : bool
        Whether the report lists the numbers that were not checked too.

    Returns
    -------
    CheckedText
        Prints as one line for each finding, with carets under its place, and a summary; `.to_json()`, `.disagrees`, `.findings`.

    Raises
    ------
    FileError
        If the file cannot be read, is not UTF-8 or is larger than 64 MB.
    """
    if path == "-":
        name, shown_as = "", "standard input"
        content = checked_size(_standard_input(), shown_as, LARGEST)
    else:
        name, content = content_of(path, "give the path of a text file, or - for standard input", LARGEST)
        shown_as = name
    text = text_of(content, shown_as)
    return CheckedText(text, check_text(text), name, unchecked)


def _standard_input() -> bytes:
    try:
        if sys.stdin is not None:
            return sys.stdin.buffer.read(LARGEST + 1)
        reason = "it is closed"
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
    raise FileError(f"cannot be read: {reason}", code="file.unreadable", argument="standard input", hint="give the path of a text file")
