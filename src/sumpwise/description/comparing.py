"""The findings about a batch of numbers, from every kind of claim."""

from __future__ import annotations

from sumpwise.description.claims import settle_units
from sumpwise.description.items import Items
from sumpwise.description.pairs import pairs
from sumpwise.description.products import multiplied
from sumpwise.description.remarks import bare_torques, shares

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

    from sumpwise.description.findings import Finding, Place
    from sumpwise.description.mention import Mention
    from sumpwise.description.normalising import Text


def compared(whole: Text, found: list[Mention], place: Place, items: Items, begin: int, end: int) -> Iterator[Finding]:
    """The findings about a batch of numbers between `begin` and `end`; numbers that are compared with another are marked."""
    yield from pairs(whole, multiplied(whole.read, settle_units(whole.read, found)), place)
    yield from bare_torques(whole.read, found, place, begin, end)
    yield from shares(whole.read, found, place)
    items.take(whole, found, place)
