"""Fogler, Elements of Chemical Reaction Engineering, 6th ed., example 18-5: a stirred tank with a dead volume and a bypass, measured.

The tracer data stand as defaults in a public program, the two parameters in another; the search that found them by their contents named
no repository, so that nobody else could look them up: they are not check values, and `verify` does not count them.
"""

import pytest

from sumpwise import Circuit

FEED = 2000.0
"""Concentration of the feed, mg/dm³."""

MEASURED = {4: 1000, 8: 1333, 10: 1500, 14: 1666, 16: 1750, 18: 1800}
"""Minutes -> concentration at the outlet, mg/dm³."""


@pytest.mark.parametrize("minutes", MEASURED)
def test_dead_volume_and_bypass_meet_the_measured_tracer(minutes):
    """A cubic metre at 0.1 m³/min, seven tenths of it stirred, a fifth of the flow past it; the cooler adds a tenth of a minute."""
    tank = Circuit("1000 L", "0.7 L", "0.01 L", bypass=0.2, cooler_tanks=1).drain("1000 L").pour("1000 L")
    seen = tank.pump(f"{minutes * 0.1} L").outlet * FEED
    assert seen == pytest.approx(MEASURED[minutes], abs=0.0125 * FEED), "parameters of one digit each fit the data to 1.3 % of the feed"


def test_neither_may_be_left_out():
    """Without the dead volume, or without the bypass, the model misses the same data by far more."""

    def worst(**changed):
        given = {"converter": "0.7 L", "bypass": 0.2, **changed}
        tank = Circuit("1000 L", cooler="0.01 L", cooler_tanks=1, **given).drain("1000 L").pour("1000 L")
        return max(abs(tank.pump(f"{t * 0.1} L").outlet * FEED - c) for t, c in MEASURED.items())

    assert worst() < 25 < 75 < min(worst(converter="1 L"), worst(bypass=0.0), worst(converter="1 L", bypass=0.0))
