"""How short a sealed pack may legally be."""

from __future__ import annotations

from sumpwise._math import ceil, where
from sumpwise.quantities.boundary import argument, unit_aware

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from sumpwise.accepted import VolumeLike


@unit_aware(nominal=argument("volume", minimum=0.005, maximum=10.0), returns="volume")
def tolerable_negative_error(nominal: VolumeLike) -> Any:
    """How far the contents of a sealed pack may be below the printed amount.

    Parameters
    ----------
    nominal : volume, scalar or array
        Printed contents, 5 mL to 10 L.

    Returns
    -------
    Quantity
        In the unit of `nominal`.

    Raises
    ------
    SumpwiseError
        For a volume that cannot be read or is outside 5 mL to 10 L.

    Notes
    -----
    EU Directive 76/211/EEC, annex I, 2.4, contents at 20 °C: 9 % to 50 mL, 4.5 mL to 100 mL, 4.5 % to 200 mL, 9 mL to 300 mL, 3 % to
    500 mL, 15 mL to 1 L, 1.5 % to 10 L; percentages are rounded up to a tenth of a millilitre. The average of a batch must not be below the
    printed contents; about 2.5 % of the packs may be short by more than this, and none by more than twice this.

    Examples
    --------
    >>> from sumpwise import tolerable_negative_error
    >>> tolerable_negative_error("1 L").m_as("mL")
    15.0
    """
    millilitres = nominal * 1000.0
    rows = ((50.0, 0.09, 0.0), (100.0, 0.0, 4.5), (200.0, 0.045, 0.0), (300.0, 0.0, 9.0), (500.0, 0.03, 0.0), (1000.0, 0.0, 15.0))
    share, fixed = 0.015, 0.0
    for upper, a_share, a_fixed in reversed(rows):
        within = millilitres <= upper * (1 + 1e-12)
        share, fixed = where(within, a_share, share), where(within, a_fixed, fixed)
    return (fixed + ceil(share * millilitres * 10.0 - 1e-6) / 10.0) / 1000.0
