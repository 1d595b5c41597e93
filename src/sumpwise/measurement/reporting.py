"""Reporting: the budget of a result and its expanded uncertainty (GUM clauses 5 to 7, annex G)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from sumpwise import uncertainty
from sumpwise._display import Displayed
from sumpwise.errors import RangeError, UnitError, printable
from sumpwise.measurement.coverage import COVERAGE, coverage_factor, effective_dof
from sumpwise.quantities.magnitudes import NOT_A_NUMBER, real
from sumpwise.quantities.reading import the_door_to_pint

TYPE_CHECKING = False
if TYPE_CHECKING:
    from sumpwise.accepted import FractionLike, ValueLike

DOMINANT = 0.7
"""From this share of the variance, one source that is not normal decides the shape of the result."""


@dataclass(frozen=True, slots=True)
class BudgetRow:
    """One independent source in a budget.

    Attributes
    ----------
    name : str
        Name of the source.
    contribution : float or Quantity
        Sensitivity times standard uncertainty, with its sign: if two results have the same sign, the source moves both the same way.
    share : float
        Share of the variance of the result.
    shape : str
        Shape of its distribution.
    dof : float
        Its degrees of freedom.
    others : tuple
        Its contributions to the other results of the budget.
    """

    name: str
    contribution: Any
    share: float
    shape: str
    dof: float
    others: tuple[Any, ...] = ()


@dataclass(frozen=True, slots=True)
class Budget(Displayed):
    """Where the uncertainty of a result comes from, largest source first.

    Attributes
    ----------
    value, standard_uncertainty : float or Quantity
        The result.
    rows : tuple of BudgetRow
        Independent sources; a source that several inputs share is one row, so the sum already includes correlation.
    dof : float
        Effective degrees of freedom.
    correlations : tuple of float
        Correlation coefficients with the other results, in their order.
    caution : str
        Why first order is doubtful here, or an empty text.
    """

    value: Any
    standard_uncertainty: Any
    rows: tuple[BudgetRow, ...]
    dof: float
    correlations: tuple[float, ...] = ()
    caution: str = ""

    def _table(self) -> tuple[list[str], list[list[str]]]:
        return ["source", "contribution", "share", "shape", "dof", *(f"in result {i + 2}" for i in range(len(self.correlations)))], [
            [
                r.name, f"{_plain(r.contribution):+.3g}", f"{100 * r.share:.1f} %", r.shape, f"{r.dof:.4g}",
                *(f"{_plain(o):+.3g}" for o in r.others),
            ]
            for r in self.rows
        ]  # fmt: skip

    def _below(self) -> list[str]:
        unit = f" {self.standard_uncertainty.units}" if hasattr(self.standard_uncertainty, "units") else ""
        lines = [f"result {_plain(self.value):.6g}{unit}, standard uncertainty {_plain(self.standard_uncertainty):.2g}{unit}"]
        lines += [f"correlation with result {i + 2}: {r:+.3f}" for i, r in enumerate(self.correlations)]
        return [*lines, f"caution: {self.caution}"] if self.caution else lines

    def __str__(self) -> str:
        columns, rows = self._table()
        cells = [[printable(cell) for cell in row] for row in (columns, *rows)]
        widths = [max(len(row[i]) for row in cells) for i in range(len(columns))]
        lines = ["  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True)).rstrip() for row in cells]
        return "\n".join([*lines, *self._below()])

    def __repr__(self) -> str:
        return f"<Budget: {self._below()[0]}, {len(self.rows)} sources>"


def _plain(value: Any) -> float:
    return float(getattr(value, "magnitude", value))


def _split(result: Any, name: str) -> tuple[Any, Any]:
    """An uncertain magnitude, and a function that turns a plain magnitude into an answer."""
    magnitude = uncertainty.alone(getattr(result, "_magnitude", result) if hasattr(result, "_REGISTRY") else result)
    if not uncertainty.is_uncertain(magnitude):
        try:
            magnitude = real(magnitude)
            if not math.isfinite(magnitude):
                raise TypeError
        except NOT_A_NUMBER:
            refused = UnitError(
                "is not a single result", code="list.unexpected", argument=name, value=result,
                allowed="an uncertain number or a Quantity of one",
            )  # fmt: skip
            raise refused from None
    if not hasattr(result, "_REGISTRY"):
        return magnitude, lambda m, spread=False: m
    return magnitude, lambda m, spread=False: the_door_to_pint().beside(result, m, spread)


def _sources(magnitude: Any) -> dict[Any, float]:
    return {source: size for source, size in uncertainty.contributions(magnitude) if size}


def _effective(parts: dict[Any, float]) -> float:
    return effective_dof(list(parts.values()), [uncertainty.dof_of(s) for s in parts])


def budget(result: Any, *others: Any) -> Budget:
    """List where the uncertainty of a result comes from.

    Parameters
    ----------
    result : uncertain number or Quantity
        A single result.
    *others : uncertain number or Quantity
        Further results, to see what they share with the first.

    Returns
    -------
    Budget
        `.rows` sorted by share; printing it gives a table.

    Raises
    ------
    SumpwiseError
        If a result is not a single number.

    Notes
    -----
    GUM (JCGM 100:2008) clause 5.1 with independent sources, so equation 16 for correlated inputs holds by construction; the covariance of
    two results is the sum of the products of their contributions (JCGM 102:2011 clause 6.2).

    Examples
    --------
    >>> from sumpwise import budget, measured
    >>> a, b = measured(3.0, standard=0.3, name="a"), measured(4.0, standard=0.4, name="b")
    >>> [(row.name, round(row.share, 2)) for row in budget(a + b).rows]
    [('b', 0.64), ('a', 0.36)]
    """
    magnitude, answer = _split(result, "result")
    parts = _sources(magnitude)
    variance = math.fsum(c * c for c in parts.values())
    split = [_split(other, f"others[{i}]") for i, other in enumerate(others)]
    further = [_sources(m) for m, _ in split]
    keys = list(dict.fromkeys([*parts, *(s for f in further for s in f)]))
    keys.sort(key=lambda s: -abs(parts.get(s, 0.0)))
    rows = tuple(
        BudgetRow(
            _name(source), answer(parts.get(source, 0.0), True), parts.get(source, 0.0) ** 2 / variance if variance else 0.0,
            uncertainty.shape_of(source), uncertainty.dof_of(source),
            tuple(a(f.get(source, 0.0), True) for f, (_, a) in zip(further, split, strict=True)),
        )
        for source in keys
    )  # fmt: skip
    return Budget(
        answer(uncertainty.nominal(magnitude)), answer(math.sqrt(variance), True), rows, _effective(parts),
        tuple(_correlation(parts, f) for f in further), uncertainty.caution(magnitude),
    )  # fmt: skip


def _name(source: Any) -> str:
    return source.tag or f"{uncertainty.shape_of(source)} source around {source.nominal_value:.6g}"


def _correlation(a: dict[Any, float], b: dict[Any, float]) -> float:
    size = math.sqrt(math.fsum(c * c for c in a.values())) * math.sqrt(math.fsum(c * c for c in b.values()))
    return math.fsum(c * b[s] for s, c in a.items() if s in b) / size if size else 0.0


@dataclass(frozen=True, slots=True)
class ExpandedUncertainty:
    """A result with its expanded uncertainty.

    Attributes
    ----------
    value, standard_uncertainty, expanded_uncertainty : float or Quantity
        Best value, u and U = k·u.
    coverage_factor : float
        k, from Student's distribution.
    dof : float
        Effective degrees of freedom, before they are rounded down to a whole number.
    coverage : float
        Probability covered.
    caution : str
        Why the interval is doubtful, or an empty text.
    """

    value: Any
    standard_uncertainty: Any
    expanded_uncertainty: Any
    coverage_factor: float
    dof: float
    coverage: float
    caution: str = ""

    @property
    def lower(self) -> Any:
        """Lower end of the coverage interval."""
        return self.value - self.expanded_uncertainty

    @property
    def upper(self) -> Any:
        """Upper end of the coverage interval."""
        return self.value + self.expanded_uncertainty

    def __str__(self) -> str:
        unit = f" {self.value.units}" if hasattr(self.value, "units") else ""
        numbers = f"({_plain(self.value):.6g} ± {_plain(self.expanded_uncertainty):.2g})"
        text = f"{numbers}{unit}, k = {self.coverage_factor:.3g}, {100 * self.coverage:.4g} %"
        return f"{text}; caution: {self.caution}" if self.caution else text


def expanded(result: ValueLike, coverage: FractionLike = 0.95) -> ExpandedUncertainty:
    """Expanded uncertainty of a result for a coverage probability.

    Parameters
    ----------
    result : uncertain number or Quantity
        A single result.
    coverage : fraction
        Probability to cover, between 0 and 1.

    Returns
    -------
    ExpandedUncertainty
        `.expanded_uncertainty`, `.coverage_factor`, `.dof`, `.lower`, `.upper`, `.caution`.

    Raises
    ------
    SumpwiseError
        If the result is not a single number or the probability is not between 0 and 1.

    See Also
    --------
    monte_carlo : the interval without the assumption of a normal result.

    Notes
    -----
    GUM (JCGM 100:2008) clause G.4 and G.6.4: Welch-Satterthwaite, with the effective degrees of freedom rounded down to a whole number.
    The interval assumes a nearly normal result (G.2): a caution says if one source of another shape dominates it.

    Examples
    --------
    >>> from sumpwise import expanded, measured
    >>> print(expanded(measured("838 mm", standard="32 mm", dof=16.7), 0.99))
    (838 ± 93) millimeter, k = 2.92, 99 %
    """
    share = COVERAGE.value(coverage, "coverage")
    magnitude, answer = _split(result, "result")
    parts = _sources(magnitude)
    dof = _effective(parts)
    k = coverage_factor(share, whole_dof(dof))
    variance = math.fsum(c * c for c in parts.values())
    if not math.isfinite(variance):
        raise RangeError("has no finite uncertainty", code="uncertainty.not_finite", argument="result", value=result)
    caution = uncertainty.caution(magnitude)
    for source, c in parts.items():
        shape = uncertainty.shape_of(source)
        if not caution and shape != "normal" and c * c > DOMINANT * variance:
            caution = f"one {shape} source decides the shape of this result: use monte_carlo for the interval"
    u = math.sqrt(variance)
    return ExpandedUncertainty(answer(uncertainty.nominal(magnitude)), answer(u, True), answer(k * u, True), k, dof, share, caution)


def whole_dof(dof: float) -> float:
    """Degrees of freedom rounded down to a whole number (GUM G.4.1); a number below 1 stays as it is."""
    if dof == math.inf:
        return dof
    return float(math.floor(dof * (1 + 1e-9))) or dof
