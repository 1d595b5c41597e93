"""The check values, their sources, and the runner that recomputes them."""

from sumpwise import _face

__getattr__, __dir__, __all__ = _face.lazy(__name__)
