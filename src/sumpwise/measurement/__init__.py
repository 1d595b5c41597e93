"""How well a number is known: uncertainty from limits, budgets, sampling, agreement."""

from sumpwise import _face

__getattr__, __dir__, __all__ = _face.lazy(__name__)
