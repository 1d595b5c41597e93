from sumpwise.quantities.asking import convert as convert
from sumpwise.quantities.asking import quantity as quantity
from sumpwise.quantities.asking import span as span
from sumpwise.quantities.rounding import rounded as rounded
from sumpwise.quantities.rounding import rounded_inward as rounded_inward
from sumpwise.quantities.spans import Span as Span

__all__ = [
    "Span",
    "convert",
    "quantity",
    "rounded",
    "rounded_inward",
    "span",
]
