"""Torque: a wrench with an adapter, its accuracy, and the clamp load of the joint."""

from __future__ import annotations

from math import erfc, exp, floor, pi, sqrt

from sumpwise._math import cos, every, minimum, radians, where
from sumpwise.errors import RangeError
from sumpwise.quantities.boundary import argument, unit_aware
from sumpwise.quantities.expected import past
from sumpwise.quantities.spans import Span

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from sumpwise.accepted import AngleLike, FractionLike, LengthLike, NumberLike, TorqueLike

GUARANTEED = 0.2
"""Share of full scale below which the permissible deviation does not apply (ISO 6789; TM 1-1500-204-23-9, table 8-1)."""


class SettingBand(Span):
    """Lowest and highest safe setting of a wrench, and the torque from which its accuracy is specified.

    Parameters
    ----------
    lower, upper : Quantity
        The safe settings.
    least : Quantity
        A fifth of the wrench's full scale; zero if its maximum was not given.
    """

    __slots__ = ("least",)

    def __init__(self, lower: Any, upper: Any, least: Any) -> None:
        super().__init__(lower, upper)
        self.least = least

    @property
    def caution(self) -> str:
        """A caution if the band is wholly or partly below a fifth of full scale; otherwise an empty text."""
        low, high, least = (getattr(t.magnitude, "nominal_value", t.magnitude) for t in (self.lower, self.upper, self.least))
        if every(low >= least):
            return ""
        way = "set it no lower than that" if every(high >= least) else "use a smaller wrench"
        from sumpwise.quantities import _pint

        where = "" if getattr(least, "ndim", 0) else f", {least:.3g} {_pint.unit_of(self.least).symbol},"
        return f"below a fifth of full scale{where} the accuracy of the wrench is not specified: {way}"

    def __str__(self) -> str:
        return f"{super().__str__()}; caution: {self.caution}" if self.caution else super().__str__()


def _lever(wrench_length: Any, adapter_length: Any, angle: Any) -> Any:
    """True torque divided by the wrench's own reading: (L + E cos θ)/L."""
    return (wrench_length + adapter_length * cos(radians(angle))) / wrench_length


def _positive_lever(torque: Any, wrench_length: Any, adapter_length: Any, angle: Any) -> None:
    if not every(_lever(wrench_length, adapter_length, angle) > 0):
        raise RangeError(
            "the adapter points back past the handle, so the wrench cannot turn the bolt", code="wrench.points_back",
            argument="adapter_length", value=adapter_length, allowed="shorter than the wrench if it points back",
        )  # fmt: skip


@unit_aware(
    torque=argument("torque", above=0),
    wrench_length=argument("length", above=0),
    adapter_length=argument("length", minimum=0),
    angle=argument("angle", minimum=-180, maximum=180),
    returns="torque",
    check=_positive_lever,
)
def wrench_setting(torque: TorqueLike, wrench_length: LengthLike, adapter_length: LengthLike, angle: AngleLike = "0 deg") -> Any:
    """Setting of a torque wrench with an adapter, for a given torque at the bolt.

    Parameters
    ----------
    torque : torque, scalar or array
        Torque wanted at the bolt.
    wrench_length : length, scalar or array
        From the middle of the grip to the middle of the wrench's square drive.
    adapter_length : length, scalar or array
        From the middle of the square drive to the middle of the bolt.
    angle : angle, scalar or array
        Angle between adapter and wrench: 0 straight ahead (longer lever), 90 at a right angle (no change), 180 pointing back.

    Returns
    -------
    Quantity
        The setting, in the unit of `torque`.

    Raises
    ------
    SumpwiseError
        For energy units, lengths of zero, or an adapter that points back past the grip.

    Notes
    -----
    S = T·L/(L + E·cos θ). US Army TM 1-1500-204-23-9, paragraph 8-5, gives it for a straight adapter: TW = TA·L/(L + A).

    Examples
    --------
    >>> from sumpwise import wrench_setting
    >>> round(wrench_setting("34 N·m", "300 mm", "45 mm").magnitude, 2)
    29.57
    """
    return torque / _lever(wrench_length, adapter_length, angle)


@unit_aware(
    setting=argument("torque", above=0),
    wrench_length=argument("length", above=0),
    adapter_length=argument("length", minimum=0),
    angle=argument("angle", minimum=-180, maximum=180),
    returns="torque",
    check=_positive_lever,
)
def applied_torque(setting: TorqueLike, wrench_length: LengthLike, adapter_length: LengthLike, angle: AngleLike = "0 deg") -> Any:
    """Torque at the bolt when a wrench with an adapter clicks at its setting.

    Parameters
    ----------
    setting : torque, scalar or array
        Setting of the wrench.
    wrench_length : length, scalar or array
        From the middle of the grip to the middle of the square drive.
    adapter_length : length, scalar or array
        From the middle of the square drive to the middle of the bolt.
    angle : angle, scalar or array
        Angle between adapter and wrench: 0 straight ahead, 90 at a right angle, 180 pointing back.

    Returns
    -------
    Quantity
        Torque at the bolt, in the unit of `setting`.

    Raises
    ------
    SumpwiseError
        As `wrench_setting`.

    Notes
    -----
    T = S·(L + E·cos θ)/L, the inverse of `wrench_setting`; US Army TM 9-254, figure 4-5, shows it for a straight adapter.

    Examples
    --------
    >>> from sumpwise import applied_torque
    >>> round(applied_torque("34 N·m", "300 mm", "45 mm").magnitude, 1)
    39.1
    """
    return setting * _lever(wrench_length, adapter_length, angle)


def _band_exists(
    lower: Any, upper: Any, tolerance: Any, wrench_length: Any, adapter_length: Any, angle: Any, wrench_maximum: Any
) -> None:
    if not every(lower <= upper):
        raise past("lower", lower, "at most", "upper", upper, "torque", "is above the upper limit", code="range.reversed")
    if (wrench_length is None) != (adapter_length is None):
        raise RangeError(
            "is missing", code="argument.together", argument="wrench_length" if wrench_length is None else "adapter_length",
            value=None, allowed="both lengths for a wrench with an adapter, neither without",
        )  # fmt: skip
    if wrench_length is not None:
        _positive_lever(lower, wrench_length, adapter_length, angle)
    if not every(lower / (1 - tolerance) <= upper / (1 + tolerance)):
        raise RangeError(
            "a wrench with this tolerance cannot guarantee the window", code="wrench.window", argument="tolerance", value=tolerance,
            allowed=f"at most {floor(1e4 * _widest(lower, upper)) / 100:g} %", hint="use a more accurate wrench",
            limits=(0.0, _widest(lower, upper), ""),
        )  # fmt: skip
    lever = 1.0 if wrench_length is None else _lever(wrench_length, adapter_length, angle)
    least = lower / (1 - tolerance) / lever
    if wrench_maximum is not None and not every(least <= wrench_maximum):
        raise past(
            "wrench_maximum", wrench_maximum, "at least", "", least, "torque", "is less than the lowest safe setting",
            code="wrench.too_small", hint="use a larger wrench",
        )  # fmt: skip


def _widest(lower: Any, upper: Any) -> float:
    room = (upper - lower) / (upper + lower)
    return float(room if isinstance(room, float) else room.min())


@unit_aware(
    lower=argument("torque", above=0),
    upper=argument("torque", above=0),
    tolerance=argument("fraction", minimum=0, below=1),
    wrench_length=argument("length", above=0, optional=True),
    adapter_length=argument("length", minimum=0, optional=True),
    angle=argument("angle", minimum=-180, maximum=180),
    wrench_maximum=argument("torque", above=0, optional=True),
    returns=(SettingBand, "torque", "torque", "torque"),
    check=_band_exists,
)
def setting_band(
    lower: TorqueLike, upper: TorqueLike, tolerance: FractionLike, wrench_length: LengthLike | None = None,
    adapter_length: LengthLike | None = None, angle: AngleLike = "0 deg", wrench_maximum: TorqueLike | None = None,
) -> Any:  # fmt: skip
    """Settings that keep the applied torque inside its window, wherever the wrench is within its tolerance.

    Parameters
    ----------
    lower, upper : torque, scalar or array
        The torque window at the bolt.
    tolerance : fraction, scalar or array
        Permissible deviation of the wrench; see `permissible_deviation`.
    wrench_length, adapter_length : length, optional
        Both, for a wrench with an adapter; see `wrench_setting`.
    angle : angle
        Angle between adapter and wrench.
    wrench_maximum : torque, scalar or array, optional
        Full scale of the wrench. If given, the band ends there, and `.caution` says if part of it is below a fifth of full scale.

    Returns
    -------
    SettingBand
        A `Span` of the lowest and highest safe setting, in the unit of `lower`, with `.caution` (an empty text if there is none).

    Raises
    ------
    SumpwiseError
        If the band is empty: the wrench cannot guarantee the window, or does not reach it.

    Notes
    -----
    At a reading S the true torque is within S·(1 ± a), so S must be in [lower/(1 - a), upper/(1 + a)], each divided by
    (L + E·cos θ)/L if an adapter is used. This is the worst case, not a probability.

    Examples
    --------
    >>> from sumpwise import setting_band
    >>> band = setting_band("31 N·m", "37 N·m", 0.04)
    >>> round(band.lower.magnitude, 2), round(band.upper.magnitude, 2)
    (32.29, 35.58)
    >>> print(setting_band("8.5 N·m", "10.5 N·m", 0.04, wrench_maximum="110 N·m").caution)
    below a fifth of full scale, 22 N·m, the accuracy of the wrench is not specified: use a smaller wrench
    """
    lever = 1.0 if wrench_length is None else _lever(wrench_length, adapter_length, angle)
    least, highest = lower / (1 - tolerance) / lever, upper / (1 + tolerance) / lever
    if wrench_maximum is None:
        return least, highest, 0.0 * least
    return least, minimum(highest, wrench_maximum), GUARANTEED * wrench_maximum + 0.0 * least


@unit_aware(wrench_maximum=argument("torque", above=0), returns="fraction")
def permissible_deviation(wrench_maximum: TorqueLike) -> Any:
    """Permissible deviation of a setting torque tool (a click wrench) by ISO 6789, as a share of the reading.

    Parameters
    ----------
    wrench_maximum : torque, scalar or array
        The tool's largest setting.

    Returns
    -------
    float or ndarray
        0.04, or 0.06 if the maximum is 10 N·m or less; valid from 20 % of full scale up (give `setting_band` the maximum to check that).

    Notes
    -----
    ISO 6789 (2003), type II class A (setting tools with a scale): ±4 % above 10 N·m, ±6 % at or below.

    Examples
    --------
    >>> from sumpwise import permissible_deviation
    >>> permissible_deviation("110 N·m")
    0.04
    """
    return where(wrench_maximum <= 10, 0.06, 0.04)


@unit_aware(
    torque=argument("torque", above=0),
    diameter=argument("length", above=0),
    nut_factor=argument("number", above=0, maximum=1),
    returns="force",
)
def clamp_load(torque: TorqueLike, diameter: LengthLike, nut_factor: NumberLike) -> Any:
    """Clamp load of a bolted joint tightened to a torque.

    Parameters
    ----------
    torque : torque, scalar or array
        Torque applied at the bolt.
    diameter : length, scalar or array
        Nominal diameter of the bolt.
    nut_factor : float, scalar or array
        K; about 0.2 for plain dry steel, less if oiled. The load scatters as K does, by about ±25 % oiled and ±35 % dry, so give it as an
        uncertain number (`measured(0.2, limits=0.05)`).

    Returns
    -------
    Quantity
        Clamp load in newtons.

    Notes
    -----
    T = K·d·F; Shigley, Mechanical Engineering Design, the torque-coefficient form.

    Examples
    --------
    >>> from sumpwise import clamp_load
    >>> round(clamp_load("34 N·m", "14 mm", 0.2).magnitude)
    12143
    """
    return torque / (nut_factor * diameter) * 1000


def missed(low: float, high: float, off: float, again: float) -> float:
    """Chance that the torque at the bolt misses its window; both ends of that as shares by which they differ from the torque aimed at.

    The wrench is off by anything within its permissible deviation, the same at every click, and each click repeats normally around that.
    """
    return _below(low, off, again) + _below(-high, off, again)


def _below(end: float, off: float, again: float) -> float:
    """Chance that a rectangular error of half-width `off` and a normal one of standard deviation `again` are together below `end`."""
    if not again:
        return min(1.0, max(0.0, (end + off) / (2 * off))) if off else float(end > 0)
    if not off:
        return erfc(-end / again / sqrt(2)) / 2
    near, far = (end - off) / again, (end + off) / again
    return again / (2 * off) * (_summed(far) - _summed(near))


def _summed(z: float) -> float:
    """The integral of the normal distribution up to z."""
    return z * erfc(-z / sqrt(2)) / 2 + exp(-z * z / 2) / sqrt(2 * pi)
