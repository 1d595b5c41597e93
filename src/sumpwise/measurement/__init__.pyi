from sumpwise.measurement.agreement import normalized_error as normalized_error
from sumpwise.measurement.agreement import zeta_score as zeta_score
from sumpwise.measurement.book import book_meaning as book_meaning
from sumpwise.measurement.coverage import coverage_factor as coverage_factor
from sumpwise.measurement.joint import best_estimate as best_estimate
from sumpwise.measurement.pooling import pooled as pooled
from sumpwise.measurement.reporting import budget as budget
from sumpwise.measurement.reporting import expanded as expanded
from sumpwise.measurement.sampling import monte_carlo as monte_carlo
from sumpwise.measurement.sampling import monte_carlo_adaptive as monte_carlo_adaptive
from sumpwise.measurement.typeb import measured as measured
from sumpwise.measurement.typeb import standard_uncertainty as standard_uncertainty
from sumpwise.measurement.validation import validate as validate

__all__ = [
    "best_estimate",
    "book_meaning",
    "budget",
    "coverage_factor",
    "expanded",
    "measured",
    "monte_carlo",
    "monte_carlo_adaptive",
    "normalized_error",
    "pooled",
    "standard_uncertainty",
    "validate",
    "zeta_score",
]
