"""The arithmetic of drivetrain fluids: drain, refill, exchange, measure, level and torque.

The vehicle's own service information decides fluid, level procedure, torque and limits. This library computes consequences; it never
supplies a specification. Nothing is loaded until a name is touched.
"""

from sumpwise import _face

__version__ = "0.1.0"

__getattr__, __dir__, __all__ = _face.lazy("sumpwise")
