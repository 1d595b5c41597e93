"""The fluid itself, and water to weigh by: how it grows, how it thins."""

from sumpwise import _face

__getattr__, __dir__, __all__ = _face.lazy(__name__)
