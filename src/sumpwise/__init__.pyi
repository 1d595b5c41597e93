from sumpwise.ageing.heat import heat_factor as heat_factor
from sumpwise.ageing.history import FluidHistory as FluidHistory
from sumpwise.ageing.rates import mean_age_after as mean_age_after
from sumpwise.ageing.rates import mean_age_average as mean_age_average
from sumpwise.ageing.rates import mean_age_before as mean_age_before
from sumpwise.ageing.rhythms import compare_rhythms as compare_rhythms
from sumpwise.ageing.rhythms import over_horizon as over_horizon
from sumpwise.ageing.rhythms import repeated_changes as repeated_changes
from sumpwise.buying.packs import cheapest_packs as cheapest_packs
from sumpwise.buying.packs import give_leftovers as give_leftovers
from sumpwise.buying.quotes import check_claim as check_claim
from sumpwise.buying.quotes import claim_bounds as claim_bounds
from sumpwise.buying.quotes import cost_per_litre_year as cost_per_litre_year
from sumpwise.buying.quotes import cost_per_point as cost_per_point
from sumpwise.buying.shortfall import tolerable_negative_error as tolerable_negative_error
from sumpwise.description.checking import check_text as check_text
from sumpwise.errors import CountLostError as CountLostError
from sumpwise.errors import FileError as FileError
from sumpwise.errors import NotationError as NotationError
from sumpwise.errors import RangeError as RangeError
from sumpwise.errors import SumpwiseError as SumpwiseError
from sumpwise.errors import UnitError as UnitError
from sumpwise.filling.bursts import burst_plan as burst_plan
from sumpwise.filling.bursts import longest_burst as longest_burst
from sumpwise.filling.ledger import Ledger as Ledger
from sumpwise.filling.level import Dipstick as Dipstick
from sumpwise.filling.level import slope_bias as slope_bias
from sumpwise.filling.overflow import OverflowPlug as OverflowPlug
from sumpwise.filling.pouring import flow_regime as flow_regime
from sumpwise.filling.pouring import pour_rate as pour_rate
from sumpwise.filling.pouring import pour_reynolds as pour_reynolds
from sumpwise.filling.vessel import Vessel as Vessel
from sumpwise.fluid.density import volume_at as volume_at
from sumpwise.fluid.density import volume_correction_factor as volume_correction_factor
from sumpwise.fluid.viscosity import blend_viscosity as blend_viscosity
from sumpwise.fluid.viscosity import safe_to_mix as safe_to_mix
from sumpwise.fluid.viscosity import viscosity_at as viscosity_at
from sumpwise.fluid.viscosity import viscosity_index as viscosity_index
from sumpwise.fluid.water import water_density as water_density
from sumpwise.fluid.water import weighed_fluid as weighed_fluid
from sumpwise.fluid.water import weighed_water as weighed_water
from sumpwise.inference.light import LooksClean as LooksClean
from sumpwise.inference.light import light_passed as light_passed
from sumpwise.inference.outlet import inside_from_outlet as inside_from_outlet
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
from sumpwise.mixing.batch import drain_refill as drain_refill
from sumpwise.mixing.batch import drain_refill_series as drain_refill_series
from sumpwise.mixing.batch import drains_needed as drains_needed
from sumpwise.mixing.best_order import best_use as best_use
from sumpwise.mixing.circuit.model import Circuit as Circuit
from sumpwise.mixing.continuous import exchange as exchange
from sumpwise.mixing.continuous import volume_needed as volume_needed
from sumpwise.plots import plot_balance as plot_balance
from sumpwise.plots import plot_freshness as plot_freshness
from sumpwise.plots import plot_level as plot_level
from sumpwise.plots import plot_mean_age as plot_mean_age
from sumpwise.plots import plot_methods as plot_methods
from sumpwise.quantities.asking import convert as convert
from sumpwise.quantities.asking import quantity as quantity
from sumpwise.quantities.asking import span as span
from sumpwise.quantities.rounding import rounded as rounded
from sumpwise.quantities.rounding import rounded_inward as rounded_inward
from sumpwise.quantities.spans import Span as Span
from sumpwise.service.cards import number_card as number_card
from sumpwise.service.differing import compare as compare
from sumpwise.service.drawing import draw_pictures as draw_pictures
from sumpwise.service.drawing import save_pictures as save_pictures
from sumpwise.service.job import Job as Job
from sumpwise.service.many import plan_many as plan_many
from sumpwise.service.planning import compare_methods as compare_methods
from sumpwise.service.planning import plan as plan
from sumpwise.service.record import ServiceRecord as ServiceRecord
from sumpwise.service.sheet import Sheet as Sheet
from sumpwise.torque import applied_torque as applied_torque
from sumpwise.torque import clamp_load as clamp_load
from sumpwise.torque import permissible_deviation as permissible_deviation
from sumpwise.torque import setting_band as setting_band
from sumpwise.torque import wrench_setting as wrench_setting
from sumpwise.verification.entries import evidence as evidence
from sumpwise.verification.runner import verify as verify

__version__: str

__all__ = [
    "Circuit",
    "CountLostError",
    "Dipstick",
    "FileError",
    "FluidHistory",
    "Job",
    "Ledger",
    "LooksClean",
    "NotationError",
    "OverflowPlug",
    "RangeError",
    "ServiceRecord",
    "Sheet",
    "Span",
    "SumpwiseError",
    "UnitError",
    "Vessel",
    "applied_torque",
    "best_estimate",
    "best_use",
    "blend_viscosity",
    "book_meaning",
    "budget",
    "burst_plan",
    "cheapest_packs",
    "check_claim",
    "check_text",
    "claim_bounds",
    "clamp_load",
    "compare",
    "compare_methods",
    "compare_rhythms",
    "convert",
    "cost_per_litre_year",
    "cost_per_point",
    "coverage_factor",
    "drain_refill",
    "drain_refill_series",
    "drains_needed",
    "draw_pictures",
    "evidence",
    "exchange",
    "expanded",
    "flow_regime",
    "give_leftovers",
    "heat_factor",
    "inside_from_outlet",
    "light_passed",
    "longest_burst",
    "mean_age_after",
    "mean_age_average",
    "mean_age_before",
    "measured",
    "monte_carlo",
    "monte_carlo_adaptive",
    "normalized_error",
    "number_card",
    "over_horizon",
    "permissible_deviation",
    "plan",
    "plan_many",
    "plot_balance",
    "plot_freshness",
    "plot_level",
    "plot_mean_age",
    "plot_methods",
    "pooled",
    "pour_rate",
    "pour_reynolds",
    "quantity",
    "repeated_changes",
    "rounded",
    "rounded_inward",
    "safe_to_mix",
    "save_pictures",
    "setting_band",
    "slope_bias",
    "span",
    "standard_uncertainty",
    "tolerable_negative_error",
    "validate",
    "verify",
    "viscosity_at",
    "viscosity_index",
    "volume_at",
    "volume_correction_factor",
    "volume_needed",
    "water_density",
    "weighed_fluid",
    "weighed_water",
    "wrench_setting",
    "zeta_score",
]
