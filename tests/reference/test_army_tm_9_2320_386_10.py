"""TM 9-2320-386-10, para. 3-7c: the COLD RUN band below 160 °F (71 °C), HOT RUN from 160 to 300 °F (71 to 149 °C), no check above."""

from __future__ import annotations

import pytest

from sumpwise import convert
from sumpwise.errors import RangeError
from sumpwise.filling.level import Dipstick, Judged, Predicted, Stop

HOT = Dipstick("1 qt", "1 in", "20 qt", "870 kg/m³", "160–300 °F")
COLD = Dipstick("1 qt", "1 in", "20 qt", "870 kg/m³", "60–160 °F")


def test_the_printed_conversions():
    assert [round(convert(f"{f} °F", "°C").m) for f in (160, 300)] == [71, 149]


@pytest.mark.parametrize(("temperature", "cold", "hot"), [("155 °F", True, False), ("165 °F", False, True), ("290 °F", False, True)])
def test_each_band_holds_in_its_own_window(temperature, cold, hot):
    assert (COLD.holds_at(temperature), HOT.holds_at(temperature)) == (cold, hot)


def test_the_hot_band_read_cold_predicts_and_the_cold_band_judges():
    assert isinstance(HOT.check("0.5 in", "155 °F"), Predicted)
    assert isinstance(COLD.check("0.5 in", "155 °F"), Judged)


def test_above_the_last_mark_nothing_is_judged():
    """The manual lets it cool above 300 °F (149 °C); this library already from 120 °C on."""
    assert isinstance(HOT.check("0.5 in", "299 °F"), Stop)
    with pytest.raises(RangeError):
        HOT.check("0.5 in", "310 °F")
