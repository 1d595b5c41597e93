from sumpwise.fluid.density import volume_at as volume_at
from sumpwise.fluid.density import volume_correction_factor as volume_correction_factor
from sumpwise.fluid.viscosity import blend_viscosity as blend_viscosity
from sumpwise.fluid.viscosity import safe_to_mix as safe_to_mix
from sumpwise.fluid.viscosity import viscosity_at as viscosity_at
from sumpwise.fluid.viscosity import viscosity_index as viscosity_index
from sumpwise.fluid.water import water_density as water_density
from sumpwise.fluid.water import weighed_fluid as weighed_fluid
from sumpwise.fluid.water import weighed_water as weighed_water

__all__ = [
    "blend_viscosity",
    "safe_to_mix",
    "viscosity_at",
    "viscosity_index",
    "volume_at",
    "volume_correction_factor",
    "water_density",
    "weighed_fluid",
    "weighed_water",
]
