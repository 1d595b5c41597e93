"""What is seen tells of what is not: light through fluid, matches at the outlet, and all that is not published about a circuit."""

from sumpwise import _face

__getattr__, __dir__, __all__ = _face.lazy(__name__)
