"""How a fill ages: mean ages for a steady rhythm of changes, the history of one fill, the effect of heat, rhythms compared."""

from sumpwise import _face

__getattr__, __dir__, __all__ = _face.lazy(__name__)
