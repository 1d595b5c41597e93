"""Numbers with units: the one table of units, workshop notation, the boundary around kernels, rounding."""

from sumpwise import _face

TYPE_CHECKING = False
if TYPE_CHECKING:
    from sumpwise.quantities.asking import convert as convert
    from sumpwise.quantities.asking import quantity as quantity
    from sumpwise.quantities.asking import span as span
    from sumpwise.quantities.spans import Span as Span

__getattr__, __dir__, __all__ = _face.lazy(__name__)
