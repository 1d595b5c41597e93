from sumpwise.inference.light import LooksClean as LooksClean
from sumpwise.inference.light import light_passed as light_passed
from sumpwise.inference.outlet import inside_from_outlet as inside_from_outlet

__all__ = [
    "LooksClean",
    "inside_from_outlet",
    "light_passed",
]
