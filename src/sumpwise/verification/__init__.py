"""The check values, where they come from, and their runner."""

from sumpwise import _face

__getattr__, __dir__, __all__ = _face.lazy(__name__)
