"""Kinds of unit, one line each: what such a unit usually holds and drains, whether it has a pump, how its level is checked."""

from __future__ import annotations

from typing import NamedTuple

CVT = "cvt"
STICK, OVERFLOW, FILL_HOLE, SEALED = "stick", "overflow plug", "fill hole", "sealed"


class Kind(NamedTuple):
    """A kind of unit; figures are common practice without a source.

    Attributes
    ----------
    name : str
        As `vehicle.kind` in a job.
    total : tuple of str
        What such a unit usually holds: from, to.
    drains : tuple of str
        Share of the total that comes out at the plug: default, from, to.
    pumped : bool
        Whether a pump feeds a converter and a cooler.
    level_check : str
        How its level is usually checked.
    """

    name: str
    total: tuple[str, str]
    drains: tuple[str, str, str]
    pumped: bool
    level_check: str


AUTOMATIC = Kind("automatic", ("6 L", "12 L"), ("0.37(7)", "0.25", "0.50"), True, STICK)
KINDS = {
    kind.name: kind
    for kind in (
        AUTOMATIC,
        Kind(CVT, ("5 L", "10 L"), ("0.55(9)", "0.40", "0.70"), True, STICK),
        Kind("manual", ("1.5 L", "3.5 L"), ("0.95(3)", "0.90", "1.00"), False, FILL_HOLE),
        Kind("transfer case", ("0.7 L", "2 L"), ("0.95(3)", "0.90", "1.00"), False, FILL_HOLE),
        Kind("axle", ("0.7 L", "2.5 L"), ("0.95(3)", "0.90", "1.00"), False, FILL_HOLE),
    )
}
