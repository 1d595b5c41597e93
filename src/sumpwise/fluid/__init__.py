"""The fluid itself: how it expands and thins with heat; and water, to calibrate a vessel by weighing."""

from sumpwise import _face

__getattr__, __dir__, __all__ = _face.lazy(__name__)
