"""Numbers with units: the one table of units, workshop notation, the boundary around kernels, rounding."""

from sumpwise import _face

__getattr__, __dir__, __all__ = _face.lazy(__name__)
