"""Vessels: what a reading on a pail, a jug or a sealed pack means in litres, and how well it is known."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from sumpwise import _jsonschema as schema
from sumpwise import uncertainty
from sumpwise._stored import field, finite, flag, reading, stored, text
from sumpwise.buying.shortfall import tolerable_negative_error
from sumpwise.errors import FileError, RangeError
from sumpwise.fluid.density import ONE_TEMPERATURE, REFERENCE
from sumpwise.measurement.coverage import degrees_of_freedom
from sumpwise.quantities.boundary import answer, argument
from sumpwise.quantities.reading import Read
from sumpwise.quantities.units import SYMBOLS, Unit, internal_unit

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Sequence

    from sumpwise.accepted import AngleLike, FractionLike, LengthLike, MassLike, NumberLike, TemperatureLike, VolumeLike

VOLUME = argument("volume", minimum=0.0, scalar=True)
_GRADUATION = argument("volume", above=0.0, scalar=True, exact="see reading_fraction")
_CAPACITY = argument("volume", minimum=0.0, scalar=True, optional=True, exact="give the most it surely holds")
_DOUBT = argument("number", minimum=0.0)

SHORT = 1.96
"""Standard deviations that a legal shortfall stands for: about 2.5 % of the packs of a batch may be short by more."""

_NUMBERS = {
    "scale": argument("number", above=0.01, below=100.0, scalar=True, exact="see scale_uncertainty"),
    "scale_uncertainty": argument("number", minimum=0.0, below=100.0, scalar=True, exact="give the number alone"),
    "reading_fraction": argument("number", minimum=0.0, below=100.0, scalar=True, exact="give the number alone"),
    "tilt": argument("angle", minimum=0.0, below=45.0, scalar=True, exact="give the most it may be off level"),
    "width": argument("length", above=0.0, scalar=True, optional=True, exact="give the best value alone"),
    "expansion": argument("fraction", minimum=0.0, below=0.01, scalar=True),
    "air": argument("fraction", minimum=0.0, maximum=0.5, scalar=True),
}

_KEYS = {
    "name", "graduation", "unit", "scale", "scale_uncertainty", "reading_fraction", "tilt", "width", "residue", "residue_uncertainty",
    "capacity", "expansion", "scale_dof", "sealed",
}  # fmt: skip
"""Keys of a stored vessel."""
_SELDOM = ("expansion_uncertainty", "air", "air_uncertainty")
"""Keys that are stored only if they are not zero."""
_MAY_LACK = ("width", "capacity", "scale_dof")
"""Keys that may be null."""

SCALE, TILT, RESIDUE, GROWTH, AIR = "scale", "tilt", "residue", "growth", "air"
"""Roles of the errors that all readings on one vessel share."""


class Noise(NamedTuple):
    """The uncertainty of one reading alone: standard uncertainty in litres, shape of its distribution, name in a budget."""

    size: float
    shape: str
    name: str


class Contents(NamedTuple):
    """What a reading means.

    Attributes
    ----------
    litres : float
        At the temperature of the fluid.
    each : float
        Litres for each litre read.
    scale, growth : float
        The parts of that due to the scale (and to air in what was caught), and to the vessel's own expansion.
    residue : float
        Litres in the reading that were in the vessel before.
    shared : list of (float, uncertain number)
        Slope and error around zero of every error that readings on one vessel share.
    own : list of Noise
        Uncertainties of this reading alone.
    """

    litres: float
    each: float
    scale: float
    growth: float
    residue: float
    shared: list[tuple[float, Any]]
    own: list[Noise]


class Vessel:
    """A vessel with a scale.

    Parameters
    ----------
    name : str
        The name identifies the vessel: readings under the same name share the error of its scale, everywhere.
    graduation : volume
        One division of its scale; answers are given in its unit.
    scale : float
        True volume over volume read, at 20 °C.
    scale_uncertainty : float
        Standard uncertainty of `scale`, absolute; shared by all readings.
    reading_fraction : float
        Half-width of the uncertainty of a reading, as a share of a division; rectangular, new for every reading.
    tilt : angle
        How far it may be off level, in an unknown direction; the surface is read at the wall. The vessel stays in one spot, so all its
        readings share this error, fill after fill; moved to another spot it counts as another vessel. Needs `width`.
    width : length, optional
        Inside diameter where it is read.
    residue : volume
        What stays in it when it is emptied, the same for all fills; may have an uncertainty.
    capacity : volume, optional
        The most it holds; a higher reading is refused.
    expansion : float
        Its own cubic expansion per °C; the scale is true at 20 °C. Zero ignores it. May have an uncertainty, shared by all readings.
    scale_dof : float
        Degrees of freedom of `scale_uncertainty`.
    air : fraction
        Air in the fluid that it catches, as a share of the reading; fluid poured from it has none. May have an uncertainty, shared by all
        readings.

    Raises
    ------
    SumpwiseError
        For an argument that cannot be read or is out of range.

    See Also
    --------
    Ledger : sums readings of several vessels.

    Notes
    -----
    True volume = scale · reading · (1 + expansion · (t - 20 °C)), less the share of air if fluid was drained into it. In a cylinder of
    diameter w that is off level by φ, the surface at the wall is off by up to (w/2)·tan φ in height, depending on the side: an arcsine
    distribution (GUM 4.3, JCGM 101 6.4.6).

    Examples
    --------
    A pail that reads 1.9 % high:

    >>> from sumpwise import Vessel
    >>> pail = Vessel("pail", "0.25 L", scale=1 / 1.019, scale_uncertainty=0.004)
    >>> print(f"{pail.volume('3.35 L').magnitude:.3f}")
    3.288+/-0.038
    """

    __slots__ = (
        "_capacity", "_graduation", "_noise", "_registry", "_residue", "_shared", "_tilt", "_unit", "_width", "air", "air_uncertainty",
        "expansion", "expansion_uncertainty", "name", "reading_fraction", "residue_uncertainty", "scale", "scale_dof", "scale_uncertainty",
        "sealed_pack",
    )  # fmt: skip

    def __init__(
        self, name: str, graduation: VolumeLike, scale: NumberLike = 1.0, scale_uncertainty: NumberLike = 0.0,
        reading_fraction: FractionLike = 0.25, *, tilt: AngleLike = "0 deg", width: LengthLike | None = None, residue: VolumeLike = "0 L",
        capacity: VolumeLike | None = None, expansion: NumberLike = 0.0, scale_dof: float = math.inf, air: FractionLike = 0.0,
    ) -> None:  # fmt: skip
        if not isinstance(name, str) or not name.strip():
            raise RangeError("needs a name: readings under one name share a scale", code="argument.missing", argument="name", value=name)
        self.name = name
        step = _GRADUATION.read(graduation, "graduation")
        self._graduation, self._unit, self._registry = step.value, step.unit or internal_unit("volume"), step.registry
        self.scale = _NUMBERS["scale"].value(scale, "scale")
        self.scale_uncertainty = _NUMBERS["scale_uncertainty"].value(scale_uncertainty, "scale_uncertainty")
        self.reading_fraction = _NUMBERS["reading_fraction"].value(reading_fraction, "reading_fraction")
        self._tilt = _NUMBERS["tilt"].value(tilt, "tilt")
        self._width = _NUMBERS["width"].value(width, "width")
        left = VOLUME.value(residue, "residue")
        self._residue, self.residue_uncertainty = uncertainty.nominal(left), uncertainty.standard(left)
        self._capacity = _CAPACITY.value(capacity, "capacity")
        grows = _NUMBERS["expansion"].value(expansion, "expansion")
        self.expansion, self.expansion_uncertainty = uncertainty.nominal(grows), uncertainty.standard(grows)
        froth = _NUMBERS["air"].value(air, "air")
        self.air, self.air_uncertainty = uncertainty.nominal(froth), uncertainty.standard(froth)
        self.scale_dof = degrees_of_freedom(scale_dof, "scale_dof")
        if self._tilt and self._width is None:
            raise RangeError(
                "needs the inside width of the vessel", code="argument.together", argument="tilt", value=tilt, hint="width='28 cm'"
            )
        self.sealed_pack = False
        self._shared: tuple[tuple[tuple[str, float], ...], list[tuple[str, Any]]] = (), []
        self._noise = (self.reading_fraction * self._graduation / math.sqrt(3.0), "rectangular")

    # -- other ways to make one

    @classmethod
    def calibrated(
        cls, name: str, graduation: VolumeLike, readings: Sequence[VolumeLike], masses: Sequence[MassLike],
        water_temperature: TemperatureLike, reading_fraction: FractionLike = 0.25, **others: Any,
    ) -> Vessel:  # fmt: skip
        """Make a vessel whose scale was found by weighing water at some marks.

        Parameters
        ----------
        name : str
            As for `Vessel`.
        graduation : volume
            As for `Vessel`.
        readings : list of volumes
            Readings of the vessel.
        masses : list of masses
            What the scales showed for the water alone, in air; may have uncertainties.
        water_temperature : temperature
            Temperature of the water, 0 to 40 °C; may have an uncertainty.
        reading_fraction : float
            As for `Vessel`.
        **others : object
            `tilt`, `width`, `residue`, `capacity`, `expansion`, `air`.

        Returns
        -------
        Vessel
            With `scale`, `scale_uncertainty` and `scale_dof`.

        Raises
        ------
        SumpwiseError
            Unless there are as many masses as readings, and all are greater than zero.

        Notes
        -----
        Volumes are from `weighed_water` (Tanaka et al. 2001, corrected for buoyancy in air of 1.2 kg/m³). The error is in the readings, so
        they are fitted to the volumes by least squares through the origin: 1/scale = Σ r·V / Σ V². The uncertainty comes from the scatter
        of the readings, or from their reading fraction if that is larger; those of masses and water temperature are propagated.

        Examples
        --------
        >>> from sumpwise import Vessel
        >>> pail = Vessel.calibrated("pail", "0.25 L", ["2 L", "4 L", "8 L"], ["1.955 kg", "3.920 kg", "7.830 kg"], "17 °C")
        >>> print(f"{pail.scale:.4f} ± {pail.scale_uncertainty:.4f}")
        0.9812 ± 0.0039
        """
        from sumpwise.filling.weighing import weighed_scale

        step = uncertainty.nominal(VOLUME.value(graduation, "graduation"))
        grain = _NUMBERS["reading_fraction"].value(reading_fraction, "reading_fraction") * step / math.sqrt(3.0)
        found = weighed_scale(readings, masses, water_temperature, grain)
        grows = uncertainty.nominal(_NUMBERS["expansion"].value(others.get("expansion", 0.0), "expansion"))
        growth = 1.0 + grows * (found.temperature - REFERENCE)
        return cls(
            name, graduation, found.scale / growth, found.standard_uncertainty / growth, reading_fraction, scale_dof=found.dof, **others
        )

    @classmethod
    def sealed(cls, name: str, nominal: VolumeLike) -> Vessel:
        """Make a sealed pack that is poured out whole: its reading is the printed contents, at 20 °C.

        Parameters
        ----------
        name : str
            As for `Vessel`.
        nominal : volume
            Printed contents, 5 mL to 10 L.

        Returns
        -------
        Vessel
            Every pack of that name has its own contents, normally distributed with a standard deviation of tolerable negative error / 1.96.

        Raises
        ------
        SumpwiseError
            For contents that cannot be read or that the directive does not cover.

        Notes
        -----
        EU Directive 76/211/EEC: a batch contains on average at least the printed contents, and about 2.5 % of the packs may be short by
        more than the tolerable negative error.

        Examples
        --------
        >>> from sumpwise import Vessel
        >>> print(f"{Vessel.sealed('1 L bottle', '1 L').volume('1 L').m_as('mL'):.1f}")
        1000.0+/-7.7
        """
        tolerable_negative_error(nominal)  # refuses what the directive does not cover
        pack = cls(name, nominal, capacity=nominal)
        pack._seal()
        return pack

    def _seal(self) -> None:
        self.sealed_pack = True
        self._noise = (tolerable_negative_error.kernel(self._graduation) / SHORT, "normal")

    # -- what a reading means

    def volume(self, reading: VolumeLike, temperature: TemperatureLike = "20 °C") -> Any:
        """The true volume behind one reading, at the temperature of the fluid.

        Parameters
        ----------
        reading : volume
            As read; a reading with an uncertainty of its own gets no reading noise on top.
        temperature : temperature
            Temperature of fluid and vessel.

        Returns
        -------
        Quantity
            In the unit of `reading`, uncertain: the error of reading is new each time, those of scale and tilt are shared under the
            vessel's name.

        Raises
        ------
        SumpwiseError
            For a reading that cannot be read or is more than the vessel holds.
        """
        read = self._read(reading, "reading")
        warm = uncertainty.nominal(ONE_TEMPERATURE.value(temperature, "temperature"))
        meaning = self._meaning(read.value, warm, "reading")
        terms = [(meaning.each, read.value), *meaning.shared]
        terms += [(meaning.each, uncertainty.source(0.0, noise.size, shape=noise.shape, name=noise.name)) for noise in meaning.own]
        return answer(uncertainty.combine(meaning.litres, terms), "volume", read)

    def _read(self, reading: Any, name: str) -> Read:
        """Read a reading; refuse one above what the vessel holds."""
        read = VOLUME.read(reading, name)
        if self._capacity is not None and uncertainty.nominal(read.value) > self._capacity * (1 + 1e-12):
            most = self._shown(self._capacity)
            raise RangeError(
                f"is more than the {self.name} holds", code="vessel.overfull", argument=name, value=reading, allowed=f"up to {most}",
                limits=(0.0, self._capacity, "L"), hint="if it took several fillings, enter each by itself",
            )  # fmt: skip
        return read

    def _poured_at(self, warm: Any) -> Any:
        """The temperature that a volume poured from it is of, with fluid of this temperature in it: a sealed pack is printed at 20 °C."""
        return REFERENCE if self.sealed_pack else warm

    def _meaning(self, read: Any, warm: float, what: str, *, caught: bool = False, wet: bool = False) -> Contents:
        """What a reading in litres means at a temperature; `caught`: fluid was drained into the vessel, `wet`: it held a residue before.

        A reading with an uncertainty of its own gets no reading noise on top.
        """
        plain = uncertainty.nominal(read)
        fluid = 1.0 - self.air if caught else 1.0
        growth, left = 1.0 + self.expansion * (warm - REFERENCE), self._residue if wet else 0.0
        each = self.scale * growth * fluid
        left = min(left, each * plain)
        slopes = {
            SCALE: each * plain / self.scale,
            TILT: each,
            GROWTH: each * plain / growth * (warm - REFERENCE),
            RESIDUE: -1.0 if left else 0.0,
            AIR: -each * plain / fluid if caught else 0.0,
        }
        shared = [(slopes[role], error) for role, error in self._errors() if slopes[role]]
        noise = Noise(*self._noise, f"{self.name}, {what} {self._shown(plain)}")
        own = [noise] if noise.size and not uncertainty.is_uncertain(read) else []
        return Contents(each * plain - left, each, self.scale * fluid, growth, left, shared, own)

    def _errors(self) -> list[tuple[str, Any]]:
        """The errors that all its readings share: role and error around zero, always the same source for the same name."""
        sizes = (
            (SCALE, self.scale_uncertainty), (TILT, self._tilted()), (GROWTH, self.expansion_uncertainty),
            (RESIDUE, self.residue_uncertainty), (AIR, self.air_uncertainty),
        )  # fmt: skip
        if self._shared[0] != sizes:
            self._shared = sizes, [(role, self._error(role, size)) for role, size in sizes if size]
        return self._shared[1]

    def _error(self, role: str, standard: float) -> Any:
        dof = self.scale_dof if role == SCALE else math.inf
        uid = repr(("vessel", role, self.name, standard, dof, self.scale if role == SCALE else None))
        return uncertainty.source(
            0.0, standard, shape="arcsine" if role == TILT else "normal", dof=dof,
            name=f"{self.name}, {'film left in it' if role == RESIDUE else role}", uid=uid, role=role, vessel=self.name,
        )  # fmt: skip

    def _tilted(self) -> float:
        """Standard uncertainty, in litres, of a surface read at the wall of a vessel that is off level."""
        if not self._tilt or self._width is None:
            return 0.0
        height = self._width / 2 * math.tan(math.radians(self._tilt))
        return float(height * math.pi * self._width**2 / 4e6 / math.sqrt(2.0))

    def _answer(self, litres: Any) -> Any:
        """A volume in the unit and registry of the graduation."""
        return answer(litres, "volume", unit=self._unit, registry=self._registry)

    def _shown(self, litres: float) -> str:
        """A volume as text in the unit of the graduation."""
        return f"{litres / self._unit.factor:.4g} {self._unit.symbol}"

    # -- its properties

    @property
    def graduation(self) -> Any:
        """One division of its scale: a Quantity."""
        return self._answer(self._graduation)

    @property
    def capacity(self) -> Any:
        """The most it holds, a Quantity in the unit of the graduation, or None."""
        return None if self._capacity is None else self._answer(self._capacity)

    @property
    def residue(self) -> Any:
        """What stays in it when it is emptied, a Quantity in the unit of the graduation, uncertain if it was given so."""
        left = uncertainty.combine(self._residue, [(1.0, self._error(RESIDUE, self.residue_uncertainty))])
        return self._answer(left)

    @property
    def tilt(self) -> Any:
        """How far it may be off level: a Quantity."""
        return answer(self._tilt, "angle", registry=self._registry)

    @property
    def width(self) -> Any:
        """Its inside diameter where it is read, a Quantity, or None."""
        return None if self._width is None else answer(self._width, "length", registry=self._registry)

    # -- records

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Vessel) and self.to_dict() == other.to_dict()

    def __hash__(self) -> int:
        return hash((self.name, self._graduation, self.scale, self.scale_uncertainty))

    def __repr__(self) -> str:
        known = f" ± {self.scale_uncertainty:.2g}" if self.scale_uncertainty else ""
        return f"Vessel({self.name!r}, {self._graduation / self._unit.factor:g} {self._unit.symbol}, scale {self.scale:.6g}{known})"

    def to_dict(self) -> dict[str, Any]:
        """Give the vessel as plain data with a version: litres, millimetres, degrees."""
        return {
            "version": 1, "name": self.name, "graduation": self._graduation, "unit": self._unit.symbol, "scale": self.scale,
            "scale_uncertainty": self.scale_uncertainty, "reading_fraction": self.reading_fraction, "tilt": self._tilt,
            "width": self._width, "residue": self._residue, "residue_uncertainty": self.residue_uncertainty,
            "capacity": self._capacity, "expansion": self.expansion, "scale_dof": None if self.scale_dof == math.inf else self.scale_dof,
            "sealed": self.sealed_pack, **{key: getattr(self, key) for key in _SELDOM if getattr(self, key)},
        }  # fmt: skip

    @classmethod
    def from_dict(cls, data: dict[str, Any]) -> Vessel:
        """Build a vessel from the data of `to_dict`.

        Parameters
        ----------
        data : dict
            As returned by `to_dict`, possibly after a round trip through JSON.

        Returns
        -------
        Vessel
        """
        if isinstance(data, dict):
            data = {**dict.fromkeys(_SELDOM, 0.0), **data}
        with reading("vessel", keys={*_KEYS, *_SELDOM}):
            stored(data, "vessel", {*_KEYS, *_SELDOM})
            for key in data:
                if key not in ("version", "name", "unit", "sealed") and not (key in _MAY_LACK and data[key] is None):
                    field(data, key, finite)
            unit, sealed = field(data, "unit", volume_unit), field(data, "sealed", flag)
            vessel = cls(
                field(data, "name", text), f"{data['graduation']!r} L", data["scale"], data["scale_uncertainty"], data["reading_fraction"],
                tilt=f"{data['tilt']!r} deg", width=None if data["width"] is None else f"{data['width']!r} mm",
                capacity=None if data["capacity"] is None else f"{data['capacity']!r} L", residue=f"{data['residue']!r} L",
                expansion=data["expansion"], scale_dof=data["scale_dof"] or math.inf, air=data["air"],
            )  # fmt: skip
            vessel._unit = unit
            for key in ("residue_uncertainty", "expansion_uncertainty", "air_uncertainty"):
                setattr(vessel, key, _DOUBT.value(data[key], key))
        if sealed:
            vessel._seal()
        return vessel

    def __reduce__(self) -> tuple[object, ...]:
        return (Vessel.from_dict, (self.to_dict(),))


def json_schema() -> dict[str, Any]:
    """A vessel as JSON Schema."""
    numbers = [key for key in sorted({*_KEYS, *_SELDOM}) if key not in ("version", "name", "unit", "sealed")]
    keys = {"version": {"const": 1}, "name": schema.TEXT, "unit": schema.TEXT, "sealed": schema.FLAG}
    keys |= {key: schema.or_null(schema.NUMBER) if key in _MAY_LACK else schema.NUMBER for key in numbers}
    return schema.table(keys, optional=_SELDOM)


def volume_unit(symbol: Any) -> Unit:
    """The unit of volume named in stored data."""
    unit = SYMBOLS.get(symbol) if isinstance(symbol, str) else None
    if unit is None or unit.kind != "volume":
        raise FileError("is not a unit of volume", code="unit.kind", value=symbol, allowed="a symbol such as 'L' or 'US qt'")
    return unit
