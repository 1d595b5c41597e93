"""How a mixture looks: light through a depth of fluid, and a look that shows no more old fluid."""

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
    """Share of light that passes through a mixture, relative to new fluid.

    Parameters
    ----------
    old : fraction, scalar or array
        Old fraction of the mixture.
    path : length, scalar or array
        Depth that one looks through: 8 mm in a hose, 25 mm in a vial, 100 mm in a pail.
    absorbance_10mm : float
        Decadic absorbance of 10 mm of old fluid above that of new fluid. The default is only an example: it differs for every old fluid.

    Returns
    -------
    float or ndarray
        Transmittance, 0 to 1.

    Notes
    -----
    Beer–Lambert law, T = 10^(−A), with absorbance proportional to concentration and path (IUPAC Gold Book, "Beer–Lambert law"). The same
    mixture looks clean in a smear and black in the pail.

    Examples
    --------
    >>> from sumpwise import light_passed
    >>> round(light_passed(0.10, "8 mm"), 2), round(light_passed(0.10, "25 mm"), 2)
    (0.74, 0.39)
    """
    return 10 ** (-absorbance_10mm * old * path / 10)


class LooksClean:
    """A look at the outlet where old fluid can no longer be told from new, or still can: a censored observation.

    Parameters
    ----------
    threshold : fraction, or a pair of them
        Old fraction that the eye just notices at `threshold_path`; a pair is a range in which any value is equally likely. Common practice
        without a source: 0.03 to 0.06 side by side with new fluid, 0.10 to 0.20 from memory.
    path, threshold_path : length
        Depth looked through, and the depth that the threshold is for.
    clean : bool
        False for a look that still shows old fluid.

    Notes
    -----
    By Beer–Lambert, what is seen depends on old fraction times path, so half the path hides twice the old fraction.

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
                "must not have an uncertainty", code="uncertainty.unexpected", argument="threshold", value=threshold,
                hint="give a range instead",
            )  # fmt: skip
        if not isinstance(clean, bool):
            raise RangeError("is neither True nor False", code="value.type", argument="clean", value=clean)
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
