"""What is found about a batch of numbers, by every kind of claim that is looked for."""

from __future__ import annotations

from sumpwise.description.claims import settle_units
from sumpwise.description.items import Items
from sumpwise.description.pairs import pairs
from sumpwise.description.remarks import bare_torques, shares

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

    from sumpwise.description.findings import Finding, Place
    from sumpwise.description.mentions import Mention
    from sumpwise.description.normalising import Text


def compared(whole: Text, found: list[Mention], place: Place, items: Items, begin: int, end: int) -> Iterator[Finding]:
    """What is found about a batch of numbers, which stands from `begin` to `end`; each that is held against another is marked."""
    yield from pairs(whole, settle_units(whole.read, found), place)
    yield from bare_torques(whole.read, found, place, begin, end)
    yield from shares(whole.read, found, place)
    items.take(whole, found, place)
