"""The numbers in a text: which are said to be equal, what is claimed about mixing, and whether it is right."""

from sumpwise import _face

__getattr__, __dir__, __all__ = _face.lazy(__name__)
