"""Numbers as a workshop writes them: decimal, grouped, with an exponent, fractions and mixed numbers.

A scanner is given a position in a text that ends with `END`, which is part of no number; it only moves forward and returns where it
stopped. Values are ratios of whole numbers, so nothing is rounded here.
"""

from __future__ import annotations

from sumpwise.errors import NotationError, RangeError, SumpwiseError, shown

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import TypeAlias

    Number: TypeAlias = tuple[int, int, int | None, int, int]
    """Numerator; denominator; decimal places written (None for a fraction); next position; doubt about a comma.

    Doubt is 0 for none, or one of `COMMA`, `POINT`, `GROUPED` and `DIVIDED`."""

COMMA, POINT, GROUPED, DIVIDED = 1000, 1001, 1, 2
"""What is ambiguous about a number on its own: one comma before three digits ("1,500": a thousand times larger if it groups); one point
before three digits ("1.500"); a comma that groups, with a decimal point after it ("1,500.5"); a slash ("10/12": a fraction or two
numbers)."""
END = "\n"
DIGITS = "0123456789"
MINUS = "-−"
VULGAR = {
    "½": (1, 2), "⅓": (1, 3), "⅔": (2, 3), "¼": (1, 4), "¾": (3, 4), "⅕": (1, 5), "⅖": (2, 5), "⅗": (3, 5), "⅘": (4, 5),
    "⅙": (1, 6), "⅚": (5, 6), "⅛": (1, 8), "⅜": (3, 8), "⅝": (5, 8), "⅞": (7, 8),
}  # fmt: skip
FIRST = frozenset((*DIGITS, *VULGAR, "."))
"""Characters that a number without a sign may begin with."""
_EXPONENT = 330


def signed(s: str, i: int) -> Number:
    """A number with a minus (hyphen or U+2212), a plus or no sign, which touches its first digit."""
    c = s[i]
    if (c in MINUS or c == "–") and s[i + 1] in FIRST:
        num, den, places, j, doubt = unsigned(s, i + 1)
        return -num, den, places, j, doubt
    return unsigned(s, i + 1 if c == "+" and s[i + 1] in FIRST else i)


def unsigned(s: str, i: int) -> Number:
    """A number without a sign.

    Examples
    --------
    >>> unsigned("5 1/2 qt" + END, 0), unsigned("56 000 km" + END, 0), unsigned("1,500 L" + END, 0)
    ((11, 2, None, 5, 0), (56000, 1, 0, 6, 0), (1500, 1000, 3, 5, 1000))
    """
    j = i
    while s[j] in DIGITS:
        j += 1
    digits, c, grouped, doubt, places = s[i:j], s[j], "", 0, 0
    if i == j and not (c == "." and s[j + 1] in DIGITS):
        if c in VULGAR:
            return (*VULGAR[c], None, j + 1, 0)
        raise stopped(s, i, "expected a number", "a number such as 2.9, 5 1/2 or 56 000", code="number.missing")
    groupable = j - i <= 3 and s[i] != "0"
    if groupable and (c == " " or c == ",") and _three(s, j + 1):
        k = j + 4
        while s[k] == c and _three(s, k + 1):
            k += 4
        point = s[k] == "." and s[k + 1] in DIGITS
        if c == " " and s[k] == "/":
            raise stopped(
                s, j, "may be a mixed number or grouped digits", "a mixed number with a short fraction: 5 1/2", code="text.ambiguous"
            )
        if c == " " or k > j + 4 or point:
            doubt = GROUPED if c == "," and k == j + 4 else 0
            grouped, digits = c, s[i:k].replace(c, "")
            j, c = k, s[k]
    if (c == "." or (c == "," and grouped != ",")) and s[j + 1] in DIGITS:
        k = j + 1
        while s[k] in DIGITS:
            k += 1
        decimals = s[j + 1 : k]
        if k - j == 4:
            if c == "," and groupable and not grouped:
                doubt = COMMA
            else:
                decimals, k = _decimal_groups(s, k, decimals)
                if len(decimals) == 3 and groupable and not grouped and j > i:
                    doubt = POINT
        places, digits, j = len(decimals), digits + decimals, k
    elif c in " -/" or c in VULGAR:
        fraction = _fraction(s, digits, j, grouped)
        if fraction is not None:
            return fraction
    num = int(digits)
    if (s[j] == "e" or s[j] == "E") and (s[j + 1] in DIGITS or (s[j + 1] in "+-−" and s[j + 2] in DIGITS)):
        return _power(s, num, places, j, 0 if doubt == POINT else doubt)
    return num, 10**places, places, j, doubt


def _power(s: str, num: int, places: int, j: int, doubt: int) -> Number:
    """The exponent at `j`, bounded before any power of ten is built."""
    k = j + 1 if s[j + 1] in DIGITS else j + 2
    j = k
    while s[j] in DIGITS:
        j += 1
    if j - k > 4 or int(s[k:j]) > _EXPONENT:
        raise wrong(RangeError, s, "the exponent is too large", f"exponents up to {_EXPONENT}", code="number.too_large")
    places += int(s[k:j]) if s[k - 1] in MINUS else -int(s[k:j])
    num, den = (num, 10**places) if places >= 0 else (num * 10**-places, 1)
    check_size(s, num, den)
    return num, den, places, j, doubt


def _three(s: str, i: int) -> bool:
    return s[i] in DIGITS and s[i + 1] in DIGITS and s[i + 2] in DIGITS and s[i + 3] not in DIGITS


def _decimal_groups(s: str, k: int, decimals: str) -> tuple[str, int]:
    """Groups of three after the decimal mark, the last one to three digits long: 3.785 411 784 (NIST SP 811, 10.5.3)."""
    while s[k] == " " and s[k + 1] in DIGITS:
        m = k + 1
        while s[m] in DIGITS:
            m += 1
        if m - k > 4:
            break
        decimals += s[k + 1 : m]
        short, k = m - k < 4, m
        if short:
            break
    return decimals, k


def _fraction(s: str, digits: str, j: int, grouped: str) -> Number | None:
    """The fraction or mixed number that the digits before `j` begin, or None if they begin neither."""
    c = s[j]
    start = j + 5 if s.startswith(" and ", j) else j + 3 if s.startswith(" & ", j) else j + 1
    m = j if c in VULGAR else start
    if s[m] in VULGAR and c != "/":
        num, den = VULGAR[s[m]]
        return int(digits) * den + num, den, None, m + 1, 0
    m = start
    while s[m] in DIGITS:
        m += 1
    if c == "/":
        if m == j + 1 or grouped or not int(s[j + 1 : m]):
            raise stopped(s, j, "expected a fraction of whole numbers, without grouping and not over zero", "5/16", code="text.fraction")
        return int(digits), int(s[j + 1 : m]), None, m, DIVIDED
    if m == start or s[m] != "/" or s[m + 1] not in DIGITS or (c == "-" and not int(digits)):
        return None
    k = m + 1
    while s[k] in DIGITS:
        k += 1
    num, den = int(s[start:m]), int(s[m + 1 : k])
    if num >= den:
        raise stopped(
            s, j, "a mixed number has a fraction below one", "5 1/2, 5-1/2; a span as 1/2-3/4 in or 1 to 5/4 in", code="text.fraction"
        )
    return int(digits) * den + num, den, None, k, 0


def pointed(number: Number, other: Number) -> Number:
    """The number, with its point read as a decimal point if the number beside it certainly has one."""
    certain = other[2] and not other[4]
    return (*number[:4], 0) if number[4] == POINT and certain else number


def last_digits(s: str, j: int, number: Number) -> tuple[int, int, Number]:
    """The standard uncertainty in the last digits, in the bracket at `j`, as in 4.50(8); the position after it; the number, now decimal."""
    k = j + 1
    while s[k] in DIGITS:
        k += 1
    if s[k] != ")" or number[2] is None or "e" in s[:j].lower():
        raise stopped(
            s, j, "digits in brackets are the uncertainty of a plain decimal number", "4.50(8)", code="text.uncertainty"
        )
    return int(s[j + 1 : k]), k + 1, (*number[:4], 0) if number[4] == POINT else number


def check_size(s: str, num: int, den: int) -> None:
    """Refuse a number that a float cannot hold."""
    try:
        if num == 0 or num / den:
            return
    except OverflowError:
        pass
    raise wrong(RangeError, s, "is too large or too small", "magnitudes from 1e-300 to 1e300", code="number.too_large")


def wrong(error: type[SumpwiseError], s: str, problem: str, allowed: str = "", hint: str = "", *, code: str) -> SumpwiseError:
    """An error about the whole text."""
    return error(problem, code=code, value=s[:-1], allowed=allowed, hint=hint)


def stopped(s: str, at: int, problem: str, allowed: str, *, code: str) -> NotationError:
    """An error about the place where reading stopped."""
    rest = s[at:-1]
    error = NotationError(f"{problem}, at {shown(rest) if rest else 'its end'}", code=code, value=s[:-1], allowed=allowed)
    error.position = at
    return error
