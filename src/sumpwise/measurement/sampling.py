"""Propagation of distributions by a Monte Carlo method (JCGM 101:2008)."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy

from sumpwise._display import Displayed
from sumpwise.errors import RangeError
from sumpwise.measurement._model import Model
from sumpwise.measurement.coverage import COVERAGE
from sumpwise.quantities.boundary import argument
from sumpwise.quantities.spans import Span
from sumpwise.uncertainty import dof_of, shape_of

TYPE_CHECKING = False
if TYPE_CHECKING:
    from sumpwise.accepted import FractionLike

CHUNK = 1 << 15
"""Draws handled at once: a few arrays of this length stay in a processor's cache."""

ROUND = 10_000
"""Draws in one round of the adaptive procedure (JCGM 101 clause 7.9.4 b)."""

DRAWS = argument("count", minimum=100, maximum=10**9, scalar=True)


@dataclass(frozen=True, slots=True)
class MonteCarlo(Displayed):
    """What the draws say about the answer.

    Attributes
    ----------
    mean, standard_uncertainty : float or Quantity
        Average and standard deviation of the draws.
    symmetric_interval, shortest_interval : Span
        The coverage interval that leaves equal shares below and above, and the shortest one.
    coverage : float
        The probability they cover.
    draws : int
        How many draws were used.
    refused : int
        How many were left out because they are outside the function's own limits.
    stable : bool or None
        Whether the digits asked for are stable; None if none were asked for.
    """

    mean: Any
    standard_uncertainty: Any
    symmetric_interval: Span
    shortest_interval: Span
    coverage: float
    draws: int
    refused: int = 0
    stable: bool | None = None

    def _table(self) -> tuple[list[str], list[list[str]]]:
        rows = [["mean", f"{self.mean:.6g}"], ["standard uncertainty", f"{self.standard_uncertainty:.2g}"]]
        for name, ends in (("symmetric interval", self.symmetric_interval), ("shortest interval", self.shortest_interval)):
            rows.append([f"{name}, {100 * self.coverage:.4g} %", f"{ends.lower:.6g} to {ends.upper:.6g}"])
        return ["of the draws", "value"], rows

    def _below(self) -> list[str]:
        left_out = f", {self.refused} left out as impossible" if self.refused else ""
        return [f"{self.draws} draws{left_out}"]

    def __str__(self) -> str:
        ends = self.symmetric_interval
        within = f"{100 * self.coverage:.4g} % within {ends.lower:.6g} to {ends.upper:.6g}"
        return f"{self.mean:.6g}, u = {self.standard_uncertainty:.2g}, {within} ({self.draws} draws)"


def monte_carlo(
    function: Callable[..., Any] | str, inputs: Any, draws: int = 10**6, coverage: FractionLike = 0.95, seed: Any = None, *, part: str = ""
) -> MonteCarlo:
    """Propagate the distributions of the inputs through a function by random sampling.

    Parameters
    ----------
    function : callable or str
        Takes the inputs as arrays (Quantities of arrays if an input has a unit) and works element by element. For a public function of the
        library its kernel is used, and impossible draws, outside its own limits (more drained than there is), are left out. A model from a
        file is given by name: "sum", "product", or the name of a public function.
    inputs : sequence or mapping
        Its arguments, by position or by name: uncertain numbers, Quantities, texts; plain values stay as they are. Each source is drawn
        once, from its own distribution, however many inputs share it.
    draws : int
        Number of draws, at least 100.
    coverage : fraction
        Probability that the intervals cover.
    seed : int or numpy Generator, optional
        To repeat the same draws; no global state is touched.
    part : str
        Which answer to use, if the function has several ("resident").

    Returns
    -------
    MonteCarlo
        `.mean`, `.standard_uncertainty`, `.symmetric_interval`, `.shortest_interval`.

    Raises
    ------
    SumpwiseError
        If the function does not give a finite number for every draw.

    See Also
    --------
    monte_carlo_adaptive : draws until the digits asked for are stable.
    validate : whether the first-order result can be trusted.

    Notes
    -----
    JCGM 101:2008 clauses 6.4 and 7. A normal source with ν degrees of freedom is drawn from Student's distribution scaled by its
    standard uncertainty (6.4.9); limits with ν degrees of freedom, so with a relative uncertainty of 1/√(2ν) (GUM G.4.2), are inexact
    limits (6.4.3). It takes little more than 8 bytes of memory a draw.

    Examples
    --------
    >>> from sumpwise import drain_refill, monte_carlo
    >>> result = monte_carlo(drain_refill, ["3.3 ± 0.1 L", "8.85 L"], draws=10_000, seed=1)
    >>> print(f"{result.mean:.3f} ± {result.standard_uncertainty:.3f}")
    0.373 ± 0.007
    """
    count = DRAWS.value(draws, "draws")
    share = COVERAGE.value(coverage, "coverage")
    model = Model(function, inputs, part)
    values = numpy.empty(count)
    refused = _fill(values, model, _generator(seed))
    return _summary(values, model, share, refused)


def monte_carlo_adaptive(
    function: Callable[..., Any] | str, inputs: Any, digits: int = 2, coverage: FractionLike = 0.95, seed: Any = None, *,
    most: int = 10**7, part: str = "",
) -> MonteCarlo:  # fmt: skip
    """Draw until the digits asked for are stable.

    Parameters
    ----------
    function, inputs : callable, sequence or mapping
        As for `monte_carlo`.
    digits : int
        How many significant digits of the standard uncertainty must be stable, 1 to 4.
    coverage, seed : fraction, int
        As for `monte_carlo`.
    most : int
        Number of draws after which it stops, with `.stable` false.
    part : str
        As for `monte_carlo`.

    Returns
    -------
    MonteCarlo
        Result of all the draws; `.stable` says whether the digits are stable.

    Raises
    ------
    SumpwiseError
        As `monte_carlo`.

    Notes
    -----
    JCGM 101:2008 clause 7.9.4: rounds of 10⁴ draws (more for a coverage close to one) until twice the standard deviation of the averages
    of the estimate, of the standard uncertainty and of both ends of the symmetric interval is below the numerical tolerance (7.9.2).

    Examples
    --------
    >>> from sumpwise import measured, monte_carlo_adaptive
    >>> monte_carlo_adaptive(lambda x: x, [measured(1, standard=0.1)], digits=1, seed=1).stable
    True
    """
    return until_stable(Model(function, inputs, part), digits, COVERAGE.value(coverage, "coverage"), seed, most, 1.0)


def until_stable(model: Model, digits: int, coverage: float, seed: Any, most: int, strictness: float) -> MonteCarlo:
    """Draw until the digits asked for are stable; `strictness` divides the tolerance that counts as stable."""
    if digits not in (1, 2, 3, 4):
        raise RangeError("must be 1, 2, 3 or 4", code="range.outside", argument="digits", value=digits)
    limit = DRAWS.value(most, "most")
    size = max(ROUND, math.ceil(round(100 / (1 - coverage), 6)))
    if limit < 2 * size:
        raise RangeError("leaves no room for two rounds", code="range.outside", argument="most", value=most, allowed=f"at least {2 * size}")
    rng = _generator(seed)
    values = numpy.empty(limit // size * size)
    rounds = numpy.empty((limit // size, 4))
    done = refused = 0
    stable = False
    while not stable and done < len(rounds):
        part = values[done * size : (done + 1) * size]
        refused += _fill(part, model, rng)
        part.sort()
        rounds[done] = (*_moments(part), *_symmetric(part, coverage))
        done += 1
        if done > 1:
            seen = rounds[:done]
            tolerance = numerical_tolerance(_pooled(seen[:, 0], seen[:, 1], size), digits) / strictness
            stable = bool((2 * seen.std(axis=0, ddof=1) / math.sqrt(done) <= tolerance).all())
    return _summary(values[: done * size], model, coverage, refused, stable)


def _pooled(means: Any, deviations: Any, size: int) -> float:
    """Standard deviation of all draws, from those of rounds of one size."""
    total = (size - 1) * (deviations**2).sum() + size * len(means) * means.var()
    return math.sqrt(total / (len(means) * size - 1))


def numerical_tolerance(standard: float, digits: int) -> float:
    """Half a unit of the last of this many significant digits of a standard uncertainty (JCGM 101 clause 7.9.2)."""
    if standard == 0:
        return 0.0
    return 0.5 * 10.0 ** (int(f"{standard:.{digits - 1}e}".partition("e")[2]) - digits + 1)


def _fill(out: Any, model: Model, rng: Any) -> int:
    """Fill `out` with draws of the model's answer, and return how many draws were refused on the way."""
    z = [numpy.empty(min(CHUNK, out.size)) for _ in model.sources]
    filled = refused = 0
    while filled < out.size:
        size = min(CHUNK, out.size - filled)
        parts = [buffer[:size] for buffer in z]
        for source, part in zip(model.sources, parts, strict=True):
            draw_into(part, shape_of(source), dof_of(source), rng)
        got = model.evaluate(parts, size)
        out[filled : filled + got.size] = got
        filled += got.size
        refused += size - got.size
        if refused > 100 * (filled + CHUNK):
            raise RangeError(
                "hardly any draw is within the function's own limits", code="answer.none", argument="inputs", hint="check the best values"
            )
    return refused


def _generator(seed: Any) -> Any:
    """A separate random generator, so that no other state is touched."""
    if seed is None or isinstance(seed, numpy.random.Generator):
        return numpy.random.default_rng(seed)
    number = argument("count", scalar=True).value(seed, "seed")
    return numpy.random.default_rng(number)


def draw_into(z: Any, shape: str, dof: float, rng: Any) -> None:
    """Draw a source in units of its standard uncertainty around its best value (JCGM 101 clause 6.4)."""
    if shape == "normal":
        if dof == math.inf:
            rng.standard_normal(out=z)
        else:
            z[:] = rng.standard_t(dof, z.size)
        return
    rng.random(out=z)
    if shape == "rectangular":
        z -= 0.5
        z *= 2 * math.sqrt(3.0)
    elif shape == "triangular":
        z -= rng.random(z.size)
        z *= math.sqrt(6.0)
    else:
        z *= 2 * math.pi
        numpy.sin(z, out=z)
        z *= math.sqrt(2.0)
    if dof < math.inf:
        z *= 1 + (2 * rng.random(z.size) - 1) / math.sqrt(2 * dof)


def _moments(values: Any) -> tuple[float, float]:
    """Average and standard deviation (JCGM 101 clause 7.6), without a second array of the same length."""
    mean = float(values.mean())
    squares = 0.0
    for start in range(0, values.size, CHUNK):
        off = values[start : start + CHUNK] - mean
        squares += float((off * off).sum())  # no dot product: its threads would cost more than they save
    return mean, math.sqrt(squares / (values.size - 1))


def _covered(size: int, coverage: float) -> int:
    return max(1, min(size - 1, math.floor(coverage * size + 0.5)))


def _symmetric(ordered: Any, coverage: float) -> tuple[float, float]:
    """Probabilistically symmetric coverage interval (JCGM 101 clause 7.7.2)."""
    inside = _covered(ordered.size, coverage)
    first = (ordered.size - inside + 1) // 2 - 1
    return float(ordered[first]), float(ordered[first + inside])


def _shortest(ordered: Any, coverage: float) -> tuple[float, float]:
    """Shortest coverage interval (JCGM 101 clause 7.7.3)."""
    inside = _covered(ordered.size, coverage)
    first = int(numpy.argmin(ordered[inside:] - ordered[:-inside]))
    return float(ordered[first]), float(ordered[first + inside])


def _summary(values: Any, model: Model, coverage: float, refused: int, stable: bool | None = None) -> MonteCarlo:
    values.sort()
    if not (math.isfinite(values[0]) and math.isfinite(values[-1])):
        bad = int(values.size - numpy.isfinite(values).sum())
        raise RangeError(
            f"{bad} of {values.size} draws have no finite answer", code="answer.none", argument="function",
            hint="it must work over the whole range of the inputs",
        )  # fmt: skip
    mean, standard = _moments(values)
    symmetric, shortest = ([model.answer(v) for v in pick(values, coverage)] for pick in (_symmetric, _shortest))
    return MonteCarlo(
        model.answer(mean), model.answer(standard, spread=True), Span(*symmetric), Span(*shortest), coverage, values.size, refused, stable
    )
