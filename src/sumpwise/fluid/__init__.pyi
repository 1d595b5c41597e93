from sumpwise.fluid.ageing import mean_age_after as mean_age_after
from sumpwise.fluid.ageing import mean_age_average as mean_age_average
from sumpwise.fluid.ageing import mean_age_before as mean_age_before
from sumpwise.fluid.density import volume_at as volume_at
from sumpwise.fluid.density import volume_correction_factor as volume_correction_factor
from sumpwise.fluid.heat import heat_factor as heat_factor
from sumpwise.fluid.history import FluidHistory as FluidHistory
from sumpwise.fluid.rhythms import compare_rhythms as compare_rhythms
from sumpwise.fluid.rhythms import over_horizon as over_horizon
from sumpwise.fluid.rhythms import repeated_changes as repeated_changes
from sumpwise.fluid.viscosity import blend_viscosity as blend_viscosity
from sumpwise.fluid.viscosity import safe_to_mix as safe_to_mix
from sumpwise.fluid.viscosity import viscosity_at as viscosity_at
from sumpwise.fluid.viscosity import viscosity_index as viscosity_index
from sumpwise.fluid.water import water_density as water_density
from sumpwise.fluid.water import weighed_fluid as weighed_fluid
from sumpwise.fluid.water import weighed_water as weighed_water

__all__ = [
    "FluidHistory",
    "blend_viscosity",
    "compare_rhythms",
    "heat_factor",
    "mean_age_after",
    "mean_age_average",
    "mean_age_before",
    "over_horizon",
    "repeated_changes",
    "safe_to_mix",
    "viscosity_at",
    "viscosity_index",
    "volume_at",
    "volume_correction_factor",
    "water_density",
    "weighed_fluid",
    "weighed_water",
]
