from sumpwise.mixing.batch import drain_refill as drain_refill
from sumpwise.mixing.batch import drain_refill_series as drain_refill_series
from sumpwise.mixing.batch import drains_needed as drains_needed
from sumpwise.mixing.best_order import best_use as best_use
from sumpwise.mixing.circuit import Circuit as Circuit
from sumpwise.mixing.continuous import exchange as exchange
from sumpwise.mixing.continuous import volume_needed as volume_needed
from sumpwise.mixing.light import LooksClean as LooksClean
from sumpwise.mixing.light import light_passed as light_passed
from sumpwise.mixing.outlet_evidence import inside_from_outlet as inside_from_outlet

__all__ = [
    "Circuit",
    "LooksClean",
    "best_use",
    "drain_refill",
    "drain_refill_series",
    "drains_needed",
    "exchange",
    "inside_from_outlet",
    "light_passed",
    "volume_needed",
]
