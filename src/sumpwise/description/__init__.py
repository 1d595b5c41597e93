"""The numbers in a text: which are said to be equal, what is said about mixing, and whether it holds."""

from sumpwise import _face

__getattr__, __dir__, __all__ = _face.lazy(__name__)
