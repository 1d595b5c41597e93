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

__all__ = [
    "Dipstick",
    "Ledger",
    "OverflowPlug",
    "Vessel",
    "burst_plan",
    "flow_regime",
    "longest_burst",
    "pour_rate",
    "pour_reynolds",
    "slope_bias",
]
