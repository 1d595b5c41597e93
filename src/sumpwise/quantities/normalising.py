"""One pass over people's text before it is read: everyday characters and words become those of the notation, positions kept.

`CHARACTERS` replaces one character by one, so positions stay the same; anything longer is an edit of a `Normal`, which maps a place in
the text that is read back to the text as it was written.
"""

from __future__ import annotations

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from sumpwise.quantities.speech import Edit

# Spaces, hyphens and dashes, fraction slash, dots of a product, degree, inch, increment, litre, full-width forms.
_ONE_FOR_ONE = zip(
    "\u00a0\u2007\u2009\u202f\u3000\u2002\u2003\u2010\u2011\u2012\u2014\u2015\u2044⋅∙•‧・･º˚″∆ℓµ～〜∼’",
    "       --–––/······°°\"Δlμ~~~'",
    strict=True,
)
CHARACTERS = {ord(a): b for a, b in _ONE_FOR_ONE} | {code: chr(code - 0xFEE0) for code in range(0xFF01, 0xFF5E)}
SQUARED = {
    "℃": "°C", "℉": "°F", "㎖": "mL", "㎗": "dL", "㎘": "kL", "㎜": "mm", "㎝": "cm", "㎞": "km", "㎎": "mg", "㎏": "kg", "㏄": "cc",
    "㎪": "kPa", "㎫": "MPa", "㍴": "bar",
}  # fmt: skip
"""Signs of one character for units of several."""
_SPELLED_OUT = {ord(sign): letters for sign, letters in SQUARED.items()}
UNSEEN = "\u200b\u200c\u200d\u200e\u200f\u2060\u2066\u2067\u2068\u2069\u202a\u202b\u202c\u202d\u202e\ufeff\u00ad\ufe0e\ufe0f"
"""Invisible characters: zero-width ones, direction marks, soft hyphens, variation selectors."""
_NOTHING = dict.fromkeys(map(ord, UNSEEN))
ABOUT = ("approximately", "approx.", "approx", "about", "roughly", "around", "circa", "ca.", "some", "nearly", "~", "≈", "∼", "≅")
"""What people write before a number that is not exact."""


_PIECE = 65_536
"""How many characters are lowered at a time."""
_PARTS = 1024
_FEW = 1_000_000_000
"""Up to this many characters, places are kept in four bytes."""


class Normal:
    """A text as it is read, which knows where each of its places is in the text as it was written.

    Attributes
    ----------
    text : str
        The text as it is read.
    source : Normal or None
        What it was made from; None for the text as it was written.
    """

    __slots__ = ("_at", "_from", "source", "text")

    def __init__(self, text: str, source: Normal | None = None) -> None:
        self.text = text
        self.source = source
        self._at: Sequence[int] = [0]
        self._from: Sequence[int] = [0]  # where a stretch was copied from; of one that was put in, ~ the place of what it replaces

    def edited(self, edits: Iterable[Edit]) -> Normal:
        """The text with stretches replaced, given in order and not overlapping; the text itself if there are none."""
        from array import array

        old, at, position = self.text, 0, 0
        parts: list[str] = []
        pieces: list[str] = []  # of many parts each, which take less room than the parts
        size = "i" if len(old) < _FEW else "q"
        starts, froms = array(size, [0]), array(size, [0])
        for start, end, new in edits:
            parts.append(old[at:start])
            position += start - at
            if new:
                starts.append(position)
                froms.append(~start)
                parts.append(new)
                position += len(new)
            starts.append(position)
            froms.append(end)
            at = end
            if len(parts) >= _PARTS:
                pieces.append("".join(parts))
                parts.clear()
        if len(starts) == 1:
            return self
        made = Normal("".join([*pieces, *parts, old[at:]]), self)
        made._at, made._from = starts, froms
        return made

    def is_new(self, start: int) -> bool:
        """Whether the character at a place was put in by the last edit."""
        from bisect import bisect_right

        return self._from[bisect_right(self._at, start) - 1] < 0

    def folded(self) -> Normal:
        """The text with its characters replaced, one for one."""
        text = self.text
        if text.isascii() or not any(chr(code) in text for code in CHARACTERS):
            return self
        return Normal(text.translate(CHARACTERS), self)

    def written(self, start: int, end: int) -> tuple[int, int]:
        """The place in the text as it was written."""
        from bisect import bisect_right

        here: Normal | None = self
        while here is not None and here.source is not None:
            i = bisect_right(here._at, start) - 1
            before = start
            start = ~here._from[i] if here._from[i] < 0 else here._from[i] + start - here._at[i]
            i = bisect_right(here._at, max(end - 1, before)) - 1
            end = here._from[i + 1] if here._from[i] < 0 else here._from[i] + end - here._at[i]
            here = here.source
        return start, end


def lowered(text: str) -> str:
    """The text in lower case, character for character."""
    if len(text) <= _PIECE:
        return _lowered(text)
    return "".join([_lowered(text[i : i + _PIECE]) for i in range(0, len(text), _PIECE)])  # lower() takes twelve times a piece for a while


def _lowered(piece: str) -> str:
    low = piece.lower()
    return low if len(low) == len(piece) else "".join([c.lower() if len(c.lower()) == 1 else c for c in piece])


def without_about(text: str) -> str:
    """The text without a leading word such as "about"; the text itself if there is none.

    Examples
    --------
    >>> without_about("about 13 qt"), without_about("13 qt")
    ('13 qt', '13 qt')
    """
    low = lowered(text)
    for about in ABOUT if low.startswith(ABOUT) else ():
        if low.startswith(about) and (not about[-1].isalpha() or low[len(about) : len(about) + 1] == " "):
            return text[len(about) :].lstrip(" ")
    return text


def everyday(text: str) -> str:
    """A single quantity in everyday words, as the notation writes it; the text itself if there is nothing to change.

    Examples
    --------
    >>> everyday("about six and a half quarts"), everyday("- 10 °C"), everyday("6 quarts")
    ('6 1/2 quarts', '-10 °C', '6 quarts')
    """
    from sumpwise.quantities.speech import spoken

    plain = without_about(text.translate(_NOTHING).translate(_SPELLED_OUT).strip())
    if plain[:2] in ("- ", "− ") and plain[2:3].isdigit():
        plain = "-" + plain[2:]
    low = lowered(plain)
    for minus in ("minus ", "negative "):
        if low.startswith(minus) and plain[len(minus) : len(minus) + 1].isdigit():
            plain = "-" + plain[len(minus) :]
    return Normal(plain).edited(spoken(lowered(plain))).text
