"""Buying: the cheapest packs, how short a pack may legally be, and what a quote or a claim is worth."""

from sumpwise import _face

__getattr__, __dir__, __all__ = _face.lazy(__name__)
