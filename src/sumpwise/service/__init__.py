"""The whole job: what to buy, which method, step by step, what the log says, when to stop."""

from sumpwise import _face

__getattr__, __dir__, __all__ = _face.lazy(__name__)
