from sumpwise.mixing.batch import drain_refill as drain_refill
from sumpwise.mixing.batch import drain_refill_series as drain_refill_series
from sumpwise.mixing.batch import drains_needed as drains_needed
from sumpwise.mixing.best_order import best_use as best_use
from sumpwise.mixing.circuit.model import Circuit as Circuit
from sumpwise.mixing.continuous import exchange as exchange
from sumpwise.mixing.continuous import volume_needed as volume_needed

__all__ = [
    "Circuit",
    "best_use",
    "drain_refill",
    "drain_refill_series",
    "drains_needed",
    "exchange",
    "volume_needed",
]
