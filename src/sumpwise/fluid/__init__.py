"""The fluid itself: how it grows, how it thins, how it ages."""

from sumpwise import _face

__getattr__, __dir__, __all__ = _face.lazy(__name__)
