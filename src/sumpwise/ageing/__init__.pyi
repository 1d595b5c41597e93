from sumpwise.ageing.heat import heat_factor as heat_factor
from sumpwise.ageing.history import FluidHistory as FluidHistory
from sumpwise.ageing.rates import mean_age_after as mean_age_after
from sumpwise.ageing.rates import mean_age_average as mean_age_average
from sumpwise.ageing.rates import mean_age_before as mean_age_before
from sumpwise.ageing.rhythms import compare_rhythms as compare_rhythms
from sumpwise.ageing.rhythms import over_horizon as over_horizon
from sumpwise.ageing.rhythms import repeated_changes as repeated_changes

__all__ = [
    "FluidHistory",
    "compare_rhythms",
    "heat_factor",
    "mean_age_after",
    "mean_age_average",
    "mean_age_before",
    "over_horizon",
    "repeated_changes",
]
