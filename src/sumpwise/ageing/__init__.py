"""How a fill ages: mean ages of steady rhythms, the history of one fill, what heat adds, rhythms compared."""

from sumpwise import _face

__getattr__, __dir__, __all__ = _face.lazy(__name__)
