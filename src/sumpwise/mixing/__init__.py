"""How fresh the fill gets: drain and refill, continuous exchange, and a circuit of compartments."""

from sumpwise import _face

__getattr__, __dir__, __all__ = _face.lazy(__name__)
