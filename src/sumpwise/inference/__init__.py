"""From what is seen to what is not: light through fluid, matches at the outlet, and priors for what is not published about a circuit."""

from sumpwise import _face

__getattr__, __dir__, __all__ = _face.lazy(__name__)
