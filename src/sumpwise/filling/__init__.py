"""Fluid in and out: vessels, the ledger, the level, pouring, bursts."""

from sumpwise import _face

__getattr__, __dir__, __all__ = _face.lazy(__name__)
