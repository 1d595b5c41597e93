"""What a figure in a service book means: its possible meanings weighed against measurements."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sumpwise import uncertainty
from sumpwise.errors import RangeError, printable
from sumpwise.quantities.boundary import answer, argument

TYPE_CHECKING = False
if TYPE_CHECKING:
    from sumpwise.accepted import FractionLike, VolumeLike

FIGURE = argument("volume", above=0.0, scalar=True)
START = argument("volume", scalar=True)
SHARE = argument("fraction", above=0.5, below=1.0, scalar=True)
WEIGHT = argument("number", minimum=0.0, scalar=True)

FAR = 3.0
"""A meaning further off than this many standard uncertainties does not fit."""

CANNOT_TELL, NONE_FITS = "cannot tell", "none fits"


@dataclass(frozen=True, slots=True)
class Meaning:
    """One possible meaning of the figure in the book.

    Attributes
    ----------
    name : str
        Its name.
    volume : Quantity
        The volume of this meaning, measured on this unit, at the right level and the reference temperature; uncertain.
    z : float
        Book minus measured, in standard uncertainties of the difference.
    weight : float
        Probability of this meaning, provided one of those given is right.
    """

    name: str
    volume: Any
    z: float
    weight: float


@dataclass(frozen=True, slots=True)
class Meanings:
    """The possible meanings of a figure, most likely first.

    Attributes
    ----------
    verdict : str
        The name of the meaning; "cannot tell" if no weight reaches the confidence asked for, "none fits" if all are far off.
    rows : tuple of Meaning
        Each meaning with its weight.
    """

    verdict: str
    rows: tuple[Meaning, ...]

    @property
    def weights(self) -> dict[str, float]:
        """Name -> weight."""
        return {row.name: row.weight for row in self.rows}

    def __str__(self) -> str:
        lines = [f"{printable(row.name)}: {_show(row.volume)}, z = {row.z:+.1f}, weight {100 * row.weight:.0f} %" for row in self.rows]
        return "\n".join([*lines, printable(self.verdict)])

    def __repr__(self) -> str:
        weighed = ", ".join(f"{printable(row.name)} {100 * row.weight:.0f} %" for row in self.rows)
        return f"<Meanings: {printable(self.verdict)}; {weighed}>"


def _show(volume: Any) -> str:
    size = volume.magnitude
    return f"{uncertainty.nominal(size):.2f} ± {uncertainty.standard(size):.2f} {volume.units}"


def book_meaning(
    book: VolumeLike, measured: Mapping[str, VolumeLike], start_error: VolumeLike = "0 L", prior: Mapping[str, float] | None = None,
    confidence: FractionLike = 0.95,
) -> Meanings:  # fmt: skip
    """Weigh the possible meanings of a volume printed in a service book.

    Parameters
    ----------
    book : volume
        The figure with its rounding: "3.6 ± 0.05 L" if it is printed to a tenth.
    measured : mapping
        Name of a meaning ("plug only", "with pan and filter", "with cooler") -> the volume measured for it, at the reference temperature;
        `Ledger.total_drained` gives such volumes, uncertain.
    start_error : volume
        How far the level was off the target before the work, at the reference temperature: missing fluid did not come out, but is part of
        the figure.
    prior : mapping, optional
        Name -> weight before measuring; equal by default.
    confidence : fraction
        Smallest weight at which the verdict names a meaning.

    Returns
    -------
    Meanings
        `.verdict`, `.weights`, `.rows`.

    Raises
    ------
    SumpwiseError
        For fewer than two meanings, or for values without any uncertainty.

    See Also
    --------
    Ledger.total_drained : what was drained so far, at the reference temperature.

    Notes
    -----
    Bayes' rule over the meanings given. The likelihood of a meaning with measured volume v ± u is the density of the difference between
    the book and v - start_error: normal, or normal convolved with the rectangle of a printed ± a, (Φ((d + a)/u) - Φ((d - a)/u))/(2a).

    Examples
    --------
    >>> from sumpwise import book_meaning, quantity
    >>> found = book_meaning("3.6 ± 0.1 L", {"plug only": "3.24(5) L", "with pan and filter": "3.65(6) L"}, start_error="-0.17(3) L")
    >>> found.verdict
    'cannot tell'
    """
    told = isinstance(measured, Mapping)
    if not told or len(measured) < 2:
        raise RangeError(
            "takes at least two meanings" if told else "does not name its meanings", code="list.length" if told else "value.type",
            argument="measured", value=measured, allowed="{'plug only': '3.24(5) L', 'with pan and filter': '3.65(6) L'}",
        )  # fmt: skip
    threshold = uncertainty.nominal(SHARE.value(confidence, "confidence"))
    asked, missing = FIGURE.read(book, "book"), START.value(start_error, "start_error")
    figure = asked.value
    weights = dict.fromkeys(measured, 1.0) if prior is None else dict(prior)
    if set(weights) != set(measured):
        raise RangeError(
            "needs one weight for each meaning", code="list.length", argument="prior", value=prior, allowed=", ".join(measured)
        )
    priors = [WEIGHT.value(weights[name], f"prior, {name}") for name in measured]
    rows, logs = [], []
    for (name, value), weight in zip(measured.items(), priors, strict=True):
        drained = FIGURE.value(value, f"measured, {name}")
        whole = uncertainty.combine(uncertainty.nominal(drained) - uncertainty.nominal(missing), [(1.0, drained), (-1.0, missing)])
        off, density = _compared(figure, whole)
        logs.append(math.log(weight) + density if weight else -math.inf)
        rows.append((str(name), answer(whole, "volume", asked), off))
    if not any(priors):
        raise RangeError("rules out every meaning", code="evidence.contradicts", argument="prior", value=prior)
    possible = max(logs) > -math.inf
    if not possible:  # exact volumes outside what is printed: the nearest counts, as in the limit of vanishing uncertainty
        nearest = min(abs(off) for (_, _, off), weight in zip(rows, priors, strict=True) if weight)
        logs = [
            math.log(weight) if weight and abs(off) == nearest else -math.inf for (_, _, off), weight in zip(rows, priors, strict=True)
        ]
    top = max(logs)
    shares = [math.exp(one - top) for one in logs]
    total = math.fsum(shares)
    found = [Meaning(name, volume, z, share / total) for (name, volume, z), share in zip(rows, shares, strict=True)]
    found.sort(key=lambda meaning: -meaning.weight)
    verdict = found[0].name if found[0].weight >= threshold else CANNOT_TELL
    if not possible or all(abs(meaning.z) > FAR for meaning in found):
        verdict = NONE_FITS
    return Meanings(verdict, tuple(found))


def _compared(figure: Any, whole: Any) -> tuple[float, float]:
    """The distance in standard uncertainties, and the logarithm of the density of that difference."""
    difference = uncertainty.nominal(figure) - uncertainty.nominal(whole)
    printed = uncertainty.contributions(figure)
    known = uncertainty.standard(uncertainty.combine(0.0, [(1.0, figure), (-1.0, whole)]))
    if not known:
        raise RangeError(
            "two exact volumes cannot be weighed", code="uncertainty.missing", argument="book",
            hint="write the figure with its rounding: 3.6 ± 0.05 L",
        )  # fmt: skip
    u = uncertainty.standard(whole)
    shared = {source for source, _ in uncertainty.contributions(whole)}
    if len(printed) == 1 and uncertainty.shape_of(printed[0][0]) == "rectangular" and printed[0][0] not in shared:
        half = printed[0][1] * math.sqrt(3.0)
        if not u:
            return difference / known, -math.log(2 * half) if abs(difference) <= half else -math.inf
        return difference / known, _log_between((abs(difference) - half) / u, (abs(difference) + half) / u) - math.log(2 * half)
    ratio = difference / known
    return ratio, -0.5 * ratio * ratio - math.log(known * math.sqrt(2 * math.pi))


def _log_between(low: float, high: float) -> float:
    """Logarithm of the share of the normal distribution between two points, however far out in the tail."""
    if low < 1:
        return math.log(0.5 * (math.erfc(low / math.sqrt(2.0)) - math.erfc(high / math.sqrt(2.0))))
    near, far = _tail(low), _tail(high)
    # Q(x) = exp(-x²/2)·tail(x), so Q(low) - Q(high) = Q(low)·(1 - Q(high)/Q(low))
    return math.log(near) - low * low / 2 + math.log(-math.expm1(math.log(far / near) - (high - low) * (high + low) / 2))


def _tail(x: float) -> float:
    """Upper tail of the normal distribution at x >= 1, divided by exp(-x²/2); from 25 up by its asymptotic series."""
    if x < 25:
        return 0.5 * math.erfc(x / math.sqrt(2.0)) * math.exp(x * x / 2)
    inverse = 1 / (x * x)
    series = 1 - inverse * (1 - 3 * inverse * (1 - 5 * inverse * (1 - 7 * inverse)))
    return series / (x * math.sqrt(2 * math.pi))
