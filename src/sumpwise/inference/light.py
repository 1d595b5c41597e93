"""What an eye sees of a mixture: light through a depth of fluid, and the look that finds nothing old any more."""

from __future__ import annotations

from sumpwise.errors import RangeError
from sumpwise.quantities.boundary import argument, unit_aware

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from sumpwise.accepted import FractionLike, LengthLike, NumberLike

SHARE = argument("fraction", above=0, maximum=1, scalar=True)
PATH = argument("length", above=0, scalar=True)


@unit_aware(
    old=argument("fraction"),
    path=argument("length", above=0),
    absorbance_10mm=argument("number", above=0),
    returns="fraction",
)
def light_passed(old: FractionLike, path: LengthLike, absorbance_10mm: NumberLike = 1.635) -> Any:
    """Share of light that a mixture lets through, against new fluid alone.

    Parameters
    ----------
    old : fraction, scalar or array
        Old fraction of the mixture.
    path : length, scalar or array
        How deep one looks: 8 mm of hose, 25 mm of vial, 100 mm of pail.
    absorbance_10mm : float
        Decadic absorbance of 10 mm of old fluid above that of new fluid. The default is illustrative: every old fluid has its own.

    Returns
    -------
    float or ndarray
        Transmittance, 0 to 1.

    Notes
    -----
    Beer–Lambert law, T = 10^(−A), absorbance proportional to concentration and path (IUPAC Gold Book, "Beer–Lambert law").
    One mixture looks clean in a smear and black in the pail.

    Examples
    --------
    >>> from sumpwise import light_passed
    >>> round(light_passed(0.10, "8 mm"), 2), round(light_passed(0.10, "25 mm"), 2)
    (0.74, 0.39)
    """
    return 10 ** (-absorbance_10mm * old * path / 10)


class LooksClean:
    """A look at the outlet that tells old from new no more, or still does: a censored observation.

    Parameters
    ----------
    threshold : fraction, or a pair of them
        Old fraction that the eye just notices at `threshold_path`; a pair is a range, any value in it as likely. Common practice
        without a source: 0.03 to 0.06 side by side with new fluid, 0.10 to 0.20 from memory.
    path, threshold_path : length
        Depth looked through, and the one that the threshold is stated for.
    clean : bool
        False for a look that still tells old fluid.

    Notes
    -----
    By Beer–Lambert what is seen is old fraction times path, so half the path hides twice the old fraction.

    Examples
    --------
    >>> from sumpwise import LooksClean
    >>> LooksClean((0.10, 0.20), "8 mm", "25 mm")
    <LooksClean: less than 31.2 % to 62.5 % old>
    """

    __slots__ = ("clean", "lower", "upper")

    def __init__(
        self, threshold: FractionLike | tuple[float, float], path: LengthLike = "8 mm", threshold_path: LengthLike = "8 mm",
        clean: bool = True,
    ) -> None:  # fmt: skip
        both = threshold if isinstance(threshold, (tuple, list)) and len(threshold) == 2 else (threshold, threshold)
        scale = PATH.value(threshold_path, "threshold_path") / PATH.value(path, "path")
        self.lower, self.upper = (SHARE.value(one, "threshold") * scale for one in both)
        if not (isinstance(self.lower, float) and isinstance(self.upper, float)):
            raise RangeError(
                "takes plain values", code="uncertainty.unexpected", argument="threshold", value=threshold,
                hint="a range for what is not known better",
            )  # fmt: skip
        if not isinstance(clean, bool):
            raise RangeError("is neither true nor false", code="value.type", argument="clean", value=clean)
        if not self.lower <= self.upper:
            raise RangeError("is not a range", code="range.reversed", argument="threshold", value=threshold, hint="the lower limit first")
        self.clean = bool(clean)

    @property
    def text(self) -> str:
        """What the look says, in words."""
        limits = f"{100 * self.lower:.1f} %" + (f" to {100 * self.upper:.1f} %" if self.upper > self.lower else "")
        return f"less than {limits} old" if self.clean else f"not less than {limits} old"

    def __repr__(self) -> str:
        return f"<LooksClean: {self.text}>"
