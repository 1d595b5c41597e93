"""How fresh the fill gets: drain and refill in batches, continuous exchange, and the circuit of compartments."""

from sumpwise import _face

TYPE_CHECKING = False
if TYPE_CHECKING:
    from sumpwise.mixing.batch import drain_refill as drain_refill
    from sumpwise.mixing.batch import drain_refill_series as drain_refill_series
    from sumpwise.mixing.batch import drains_needed as drains_needed
    from sumpwise.mixing.continuous import exchange as exchange
    from sumpwise.mixing.continuous import volume_needed as volume_needed

__getattr__, __dir__, __all__ = _face.lazy(__name__)
