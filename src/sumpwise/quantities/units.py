"""The one table of units: spelling, kind, exact factor, offset, source.

A factor converts the unit to the internal unit of its kind, as a ratio of two whole numbers, so nothing is lost before
the one division that makes a float. Sources: [SP811] NIST SP 811 (2008) App. B.8; [SP1038] NIST SP 1038 (2006);
[HB44] NIST Handbook 44 (2014) App. C; [SI] SI Brochure, 9th ed. (2019); [WMA] UK Weights and Measures Act 1985, Sch. 1.
"""

from __future__ import annotations

from sumpwise.errors import UnitError, likened

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Final

INTERNAL: Final[dict[str, str]] = {
    "volume": "L",
    "temperature": "°C",
    "interval": "Δ°C",
    "heating rate": "°C/min",
    "torque": "N·m",
    "length": "mm",
    "pressure": "kPa",
    "viscosity": "mm²/s",
    "density": "kg/m³",
    "flow": "L/min",
    "mass": "kg",
    "force": "N",
    "time": "min",
    "angle": "deg",
    "fraction": "1",
}
"""Kind of quantity -> symbol of the unit that kernels compute in."""


class Unit:
    """A unit of one kind: `internal = value * num / den + offset_num / den`.

    Attributes
    ----------
    symbol : str
        How the library prints it.
    pint : str
        The name under which a pint registry knows it.
    kind : str
        The kind of quantity, a key of `INTERNAL`.
    num, den, offset_num : int
        Exact factor and offset to the internal unit.
    system : str
        "SI", "US", "imperial" or "" (common to all); compounds keep to one system.
    source : str
        Where the factor is published.
    counterpart : str
        The symbol of the unit that the other system, metric or US, uses for the same thing; "" if there is none.
    mistaken : str
        The symbol of the unit it is often mistaken for: the measure with the same name across the Atlantic, the other pound torque.
    """

    __slots__ = (
        "counterpart", "den", "factor", "kind", "mistaken", "num", "offset", "offset_num", "pint", "source", "symbol", "system",
    )  # fmt: skip

    def __init__(
        self, symbol: str, pint: str, kind: str, num: int, den: int, offset_num: int, system: str, source: str, counterpart: str = "",
        mistaken: str = "",
    ) -> None:  # fmt: skip
        self.symbol = symbol
        self.pint = pint
        self.kind = kind
        self.num = num
        self.den = den
        self.offset_num = offset_num
        self.system = system
        self.source = source
        self.counterpart = counterpart
        self.mistaken = mistaken
        self.factor = num / den
        self.offset = offset_num / den

    def __repr__(self) -> str:
        return f"Unit({self.symbol!r}, {self.kind!r})"

    def __reduce__(self) -> tuple[object, ...]:
        if SYMBOLS.get(self.symbol) is self:
            return (by_symbol, (self.symbol,))
        return (Unit, (self.symbol, self.pint, self.kind, self.num, self.den, self.offset_num, self.system, self.source))


# Defining constants, exact: in = 25.4 mm; ft = 304.8 mm; mi = 1609.344 m; lb = 0.45359237 kg; g_n = 9.80665 m/s²;
# US gal = 231 in³; imperial gal = 4.54609 L.
_IN3 = 16_387_064, 10**9  # L
_GAL = 231 * 16_387_064, 10**9  # L
_LBF = 45_359_237 * 980_665, 10**13  # N

_ROWS: tuple[tuple[str, str, str, int, int, str, str, str, str], ...] = (
    # volume, litres
    ("L", "liter", "volume", 1, 1, "SI", "SI", "US qt", "L|liter|l|litre|litres|liters|dm^3|dm3"),
    ("dL", "deciliter", "volume", 1, 10, "SI", "SI", "US fl oz", "dL|deciliter|dl|decilitre|decilitres|deciliters"),
    ("cL", "centiliter", "volume", 1, 100, "SI", "SI", "US fl oz", "cL|centiliter|cl|centilitre|centilitres|centiliters"),
    ("mL", "milliliter", "volume", 1, 1000, "SI", "SI", "US fl oz", "mL|milliliter|ml|millilitre|millilitres|milliliters"),
    (
        "cm³", "cubic_centimeter", "volume", 1, 1000, "SI", "SI",
        "US fl oz", "cm^3|cubic_centimeter|cc|ccm|cm3|cubic·centimetres|cubic·centimeters|centimeter^3",
    ),
    ("m³", "meter ** 3", "volume", 1000, 1, "SI", "SI", "", "m^3|meter^3|m3|cubic·metres|cubic·meters"),
    ("in³", "inch ** 3", "volume", *_IN3, "US", "SP811 B.8", "mL", "in^3|inch^3|in3|cu·in|cu.·in.|cubic·inch|cubic·inches|cubic_inch"),
    (
        "ft³", "foot ** 3", "volume", _IN3[0] * 1728, _IN3[1], "US", "SP811 B.8", "",
        "ft^3|foot^3|ft3|cu·ft|cubic·foot|cubic·feet|cubic_foot",
    ),
    (
        "US gal", "gallon", "volume", *_GAL, "US", "HB44 App. C",
        "L|imp gal", "US·gal|gallon|gal|gals|gallons|US·gals|US·gallon|US·gallons|US_liquid_gallon",
    ),
    (
        "US qt", "quart", "volume", _GAL[0], _GAL[1] * 4, "US", "HB44 App. C",
        "L|imp qt", "US·qt|quart|qt|qts|quarts|US·qts|US·quart|US·quarts|liquid_quart|US_liquid_quart",
    ),
    (
        "US pt", "pint", "volume", _GAL[0], _GAL[1] * 8, "US", "HB44 App. C",
        "L|imp pt", "US·pt|pint|pt|pts|pints|US·pts|US·pint|US·pints|liquid_pint|US_pint|US_liquid_pint",
    ),
    ("US cup", "cup", "volume", _GAL[0], _GAL[1] * 16, "US", "HB44 App. C", "mL", "US·cup|cup|cups|US·cups"),
    (
        "US fl oz", "fluid_ounce", "volume", _GAL[0], _GAL[1] * 128, "US", "HB44 App. C", "mL|imp fl oz",
        "US·fl·oz|fluid_ounce|fl·oz|fl.·oz.|fl.·oz|fl.oz.|floz|fluid·ounce|fluid·ounces|US·fluid·ounce|US·fluid·ounces|US_fluid_ounce"
        "|US_liquid_ounce",
    ),
    (
        "imp gal", "imperial_gallon", "volume", 454_609, 10**5, "imperial", "WMA",
        "L|US gal", "imp·gal|imperial_gallon|imp·gals|imp·gallon|imp·gallons|imperial·gallon|imperial·gallons|imperial·gal|UK·gal|UK·gallon"
        "|UK·gallons|UK_gallon",
    ),
    (
        "imp qt", "imperial_quart", "volume", 454_609, 4 * 10**5, "imperial", "WMA",
        "L|US qt", "imp·qt|imperial_quart|imp·qts|imp·quart|imp·quarts|imperial·quart|imperial·quarts|imperial·qt|UK·qt|UK·quart|UK·quarts"
        "|UK_quart",
    ),
    (
        "imp pt", "imperial_pint", "volume", 454_609, 8 * 10**5, "imperial", "WMA", "L|US pt",
        "imp·pt|imperial_pint|imp·pts|imp·pint|imp·pints|imperial·pint|imperial·pints|imperial·pt|UK·pt|UK·pint|UK·pints|UK_pint",
    ),
    (
        "imp fl oz", "imperial_fluid_ounce", "volume", 454_609, 160 * 10**5, "imperial", "WMA", "mL|US fl oz",
        "imp·fl·oz|imperial_fluid_ounce|imp·fluid·ounce|imp·fluid·ounces|imperial·fluid·ounce|imperial·fluid·ounces|imperial·fl·oz"
        "|UK·fl·oz|UK_fluid_ounce",
    ),
    # temperature, °C
    (
        "°C", "degree_Celsius", "temperature", 1, 1, "SI", "SI",
        "°F", "°C|degree_Celsius|C|℃|°·C|deg·C|degrees·C|degrees·Celsius|Celsius|degC|celsius",
    ),
    ("K", "kelvin", "temperature", 100, 100, "SI", "SI", "°F", "K|kelvin|kelvins"),
    (
        "°F", "degree_Fahrenheit", "temperature", 5, 9, "US", "SP811 B.8",
        "°C", "°F|degree_Fahrenheit|F|℉|°·F|deg·F|degrees·F|degrees·Fahrenheit|Fahrenheit|degF|fahrenheit",
    ),
    # temperature interval, °C
    (
        "Δ°C", "delta_degree_Celsius", "interval", 1, 1, "SI", "SI",
        "Δ°F", "Δ°C|delta_degree_Celsius|ΔC|ΔK|delta·°C|°C·interval|C·interval|deg·C·interval|delta_degC|kelvin·interval|K·interval|C°",
    ),
    (
        "Δ°F", "delta_degree_Fahrenheit", "interval", 5, 9, "US", "SP811 B.8",
        "Δ°C", "Δ°F|delta_degree_Fahrenheit|ΔF|delta·°F|°F·interval|F·interval|deg·F·interval|delta_degF|F°",
    ),
    (
        "°C/min", "delta_degree_Celsius / minute", "heating rate", 1, 1, "SI", "SI",
        "", "°C/min|delta_degree_Celsius/minute|K/min|C/min|Δ°C/min|°C·per·minute",
    ),
    (
        "°F/min", "delta_degree_Fahrenheit / minute", "heating rate", 5, 9, "US", "SP811 B.8",
        "", "°F/min|delta_degree_Fahrenheit/minute|F/min|Δ°F/min|°F·per·minute",
    ),
    # torque, N·m
    (
        "N·m", "newton * meter", "torque", 1, 1, "SI", "SI",
        "lbf·ft", "N·m|newton·meter|Nm|N.m|newton·metre|newton·metres|newton·meters|newton_meter|meter·newton|m·N|kg·m^2/s^2"
        "|kilogram·meter^2/second^2",
    ),
    ("N·cm", "centimeter * newton", "torque", 1, 100, "SI", "SI", "", "N·cm|centimeter·newton|Ncm|N.cm|cm·N|newton·centimeter"),
    ("kN·m", "kilonewton * meter", "torque", 1000, 1, "SI", "SI", "", "kN·m|kilonewton·meter|kNm|meter·kilonewton"),
    (
        "lbf·ft", "foot * force_pound", "torque", _LBF[0] * 3048, _LBF[1] * 10**4, "US", "SP811 B.8",
        "N·m|lbf·in", "lbf·ft|foot·force_pound|ft·lb|ft·lbs|ft·lbf|lb·ft|lbs·ft|foot·pound|foot·pounds|pound·foot|pound·feet|pounds·feet"
        "|force_pound·foot|ft.·lb.|ft.·lb|ft.·lbs.|ft.·lbs|ft.lb|ft.lbs|lb.ft|lbs.ft|lbf.ft|foot_pound",
    ),
    (
        "lbf·in", "force_pound * inch", "torque", _LBF[0] * 254, _LBF[1] * 10**4, "US", "SP811 B.8", "N·m|lbf·ft",
        "lbf·in|force_pound·inch|in·lb|in·lbs|in·lbf|lb·in|lbs·in|inch·pound|inch·pounds|pound·inch|pound·inches|inch·force_pound"
        "|in.·lb.|in.·lb|in.·lbs.|in.·lbs|in.lb|in.lbs|lb.in|lbf.in",
    ),
    (
        "kgf·m", "force_kilogram * meter", "torque", 980_665, 10**5, "SI", "SP811 B.8",
        "N·m|kgf·cm", "kgf·m|force_kilogram·meter|kg·m|kgm|kgfm|kgf.m|kg.m|m·kgf|m·kg|mkg|mkgf|kp·m|kpm|mkp|kilogram_force·meter"
        "|meter·force_kilogram",
    ),
    (
        "kgf·cm", "centimeter * force_kilogram", "torque", 980_665, 10**7, "SI", "SP811 B.8",
        "N·m|kgf·m", "kgf·cm|centimeter·force_kilogram|kg·cm|kgcm|kgfcm|kgf.cm|kg.cm|cm·kgf|cm·kg|kp·cm|kpcm|kilogram_force·centimeter"
        "|force_kilogram·centimeter",
    ),
    # length, mm
    ("mm", "millimeter", "length", 1, 1, "SI", "SI", "in", "mm|millimeter|millimetre|millimetres|millimeters"),
    ("cm", "centimeter", "length", 10, 1, "SI", "SI", "in", "cm|centimeter|centimetre|centimetres|centimeters"),
    ("m", "meter", "length", 1000, 1, "SI", "SI", "ft", "m|meter|metre|metres|meters"),
    ("km", "kilometer", "length", 10**6, 1, "SI", "SI", "mi", "km|kilometer|kilometre|kilometres|kilometers|kms"),
    ("in", "inch", "length", 254, 10, "US", "SP811 B.8", "mm", 'in|inch|inches|"|″|in.'),
    ("ft", "foot", "length", 3048, 10, "US", "SP811 B.8", "m", "ft|foot|feet|ft."),
    ("yd", "yard", "length", 9144, 10, "US", "SP811 B.8", "m", "yd|yard|yards"),
    ("mi", "mile", "length", 1_609_344, 1, "US", "SP811 B.8", "km", "mi|mile|miles"),
    # pressure, kPa
    ("Pa", "pascal", "pressure", 1, 1000, "SI", "SI", "", "Pa|pascal|pascals"),
    ("kPa", "kilopascal", "pressure", 1, 1, "SI", "SI", "psi", "kPa|kilopascal|kilopascals"),
    ("MPa", "megapascal", "pressure", 1000, 1, "SI", "SI", "psi", "MPa|megapascal|megapascals|N/mm^2|N/mm2"),
    ("mbar", "millibar", "pressure", 1, 10, "SI", "SI", "", "mbar|millibar|millibars"),
    ("bar", "bar", "pressure", 100, 1, "SI", "SI", "psi", "bar|bars"),
    (
        "psi", "pound_force_per_square_inch", "pressure", _LBF[0] * 10**8, _LBF[1] * 64_516 * 10**3, "US", "SP811 B.8",
        "bar", "psi|pound_force_per_square_inch|lbf/in^2|lb/in^2|force_pound/inch^2|pounds·per·square·inch",
    ),
    (
        "kgf/cm²", "force_kilogram / centimeter ** 2", "pressure", 980_665, 10**4, "SI", "SP811 B.8",
        "", "kgf/cm^2|force_kilogram/centimeter^2|kg/cm^2|kgf/cm2|kg/cm2|kp/cm^2",
    ),
    # kinematic viscosity, mm²/s
    ("mm²/s", "millimeter ** 2 / second", "viscosity", 1, 1, "SI", "SI", "", "mm^2/s|millimeter^2/second|mm2/s"),
    ("cSt", "centistokes", "viscosity", 1, 1, "SI", "SP811 B.8", "", "cSt|centistokes|centistoke"),
    ("St", "stokes", "viscosity", 100, 1, "SI", "SP811 B.8", "", "St|stokes"),
    ("m²/s", "meter ** 2 / second", "viscosity", 10**6, 1, "SI", "SI", "", "m^2/s|meter^2/second|m2/s"),
    # density, kg/m³
    (
        "kg/m³", "kilogram / meter ** 3", "density", 1, 1, "SI", "SI",
        "lb/gal", "kg/m^3|kilogram/meter^3|kg/m3|kilograms·per·cubic·metre|kilograms·per·cubic·meter",
    ),
    ("kg/L", "kilogram / liter", "density", 1000, 1, "SI", "SI", "lb/gal", "kg/L|kilogram/liter|kg/l|kg/dm^3|kg/dm3"),
    (
        "g/mL", "gram / milliliter", "density", 1000, 1, "SI", "SI",
        "lb/gal", "g/mL|gram/milliliter|g/ml|g/cm^3|g/cm3|g/cc|gram/cubic_centimeter|gram/centimeter^3",
    ),
    ("g/L", "gram / liter", "density", 1, 1, "SI", "SI", "", "g/L|gram/liter|g/l"),
    (
        "lb/gal", "pound / gallon", "density", 45_359_237 * 10**4, 231 * 16_387_064, "US", "SP811 B.8",
        "kg/m³", "lb/gal|pound/gallon|lb/US·gal|lbs/gal|lbs/US·gal|pounds·per·gallon|pounds·per·US·gallon",
    ),
    (
        "lb/ft³", "pound / foot ** 3", "density", 45_359_237 * 10**4, 1728 * 16_387_064, "US", "SP811 B.8",
        "", "lb/ft^3|pound/foot^3|lb/ft3|lb/cu·ft",
    ),
    # flow, L/min
    ("L/min", "liter / minute", "flow", 1, 1, "SI", "SI", "US gal/min", "L/min|liter/minute|l/min|lpm|litres·per·minute|liters·per·minute"),
    ("L/s", "liter / second", "flow", 60, 1, "SI", "SI", "US gal/min", "L/s|liter/second|l/s|litres·per·second|liters·per·second"),
    ("L/h", "liter / hour", "flow", 1, 60, "SI", "SI", "", "L/h|liter/hour|l/h|L/hr|l/hr|litres·per·hour|liters·per·hour"),
    ("mL/min", "milliliter / minute", "flow", 1, 1000, "SI", "SI", "US gal/min", "mL/min|milliliter/minute|ml/min|cc/min"),
    ("mL/s", "milliliter / second", "flow", 60, 1000, "SI", "SI", "", "mL/s|milliliter/second|ml/s|cc/s|cm^3/s|cubic_centimeter/second"),
    ("m³/s", "meter ** 3 / second", "flow", 60_000, 1, "SI", "SI", "", "m^3/s|meter^3/second|m3/s"),
    (
        "US gal/min", "gallon / minute", "flow", *_GAL, "US", "SP811 B.8",
        "L/min|imp gal/min", "US·gal/min|gallon/minute|gpm|US·gpm|gal/min|GPM|gallons·per·minute|US·gallons·per·minute",
    ),
    (
        "US qt/min", "quart / minute", "flow", _GAL[0], _GAL[1] * 4, "US", "HB44 App. C",
        "L/min", "US·qt/min|quart/minute|qt/min|quarts·per·minute|US·quarts·per·minute",
    ),
    (
        "imp gal/min", "imperial_gallon / minute", "flow", 454_609, 10**5, "imperial", "WMA",
        "L/min|US gal/min", "imp·gal/min|imperial_gallon/minute|imp·gpm|imperial·gallons·per·minute",
    ),
    # mass, kg
    ("kg", "kilogram", "mass", 1, 1, "SI", "SI", "lb", "kg|kilogram|kilograms|kilogramme|kilogrammes|kgs"),
    ("g", "gram", "mass", 1, 1000, "SI", "SI", "oz", "g|gram|grams|gramme|grammes"),
    ("mg", "milligram", "mass", 1, 10**6, "SI", "SI", "", "mg|milligram|milligrams"),
    ("lb", "pound", "mass", 45_359_237, 10**8, "US", "SP811 B.8", "kg", "lb|pound|lbs|pounds|lbm|lb.|lbs."),
    ("oz", "ounce", "mass", 45_359_237, 16 * 10**8, "US", "SP811 B.8", "g", "oz|ounce|ounces|oz."),
    # force, N
    ("N", "newton", "force", 1, 1, "SI", "SI", "lbf", "N|newton|newtons"),
    ("kN", "kilonewton", "force", 1000, 1, "SI", "SI", "lbf", "kN|kilonewton|kilonewtons"),
    ("lbf", "force_pound", "force", *_LBF, "US", "SP811 B.8", "N", "lbf|force_pound|pound_force|pounds·force|pound·force"),
    ("kgf", "force_kilogram", "force", 980_665, 10**5, "SI", "SP811 B.8", "", "kgf|force_kilogram|kp|kilogram_force"),
    # time, min
    ("s", "second", "time", 1, 60, "", "SI", "", "s|second|sec|secs|seconds"),
    ("min", "minute", "time", 1, 1, "", "SI", "", "min|minute|mins|minutes"),
    ("h", "hour", "time", 60, 1, "", "SI", "", "h|hour|hr|hrs|hours"),
    ("d", "day", "time", 1440, 1, "", "SI", "", "d|day|days"),
    ("week", "week", "time", 7 * 1440, 1, "", "SI", "", "week|weeks|wk|wks"),
    ("month", "month", "time", 43_830, 1, "", "a twelfth of 365.25 d", "", "month|months|mo"),
    ("y", "year", "time", 525_960, 1, "", "SP811 B.8: 365.25 d", "", "y|year|yr|yrs|years|a"),
    # angle, degrees
    ("deg", "degree", "angle", 1, 1, "", "SI", "", "deg|degree|°|degrees"),
    (
        "rad", "radian", "angle", 5_729_577_951_308_232_087_679_815_481_410_517, 10**32, "", "SI: 180/pi to 34 digits", "",
        "rad|radian|radians",
    ),
    # share of one
    ("1", "dimensionless", "fraction", 1, 1, "", "SI", "", "1|dimensionless"),
    ("%", "percent", "fraction", 1, 100, "", "SI", "", "%|percent|per·cent|pct"),
    ("ppm", "ppm", "fraction", 1, 10**6, "", "SI", "", "ppm"),
)
"""Symbol, pint name, kind, factor as a ratio, system, source, counterpart|what it is mistaken for, every spelling as `key` folds it."""

_OFFSETS = {"K": -27_315, "°F": -160}
"""Numerators of the offsets, over the denominator of the row: 273.15 is 27315/100, 32 °F are 160/9 °C."""

EVERYDAY: Final[dict[str, str]] = {
    "lbf·ft": "ftlb|ftlbs|ftlbf|lbft|lbsft|lbfft|ft/lb|ft/lbs|ft/lbf|lb/ft|lbs/ft|lbf/ft|foot·lb|foot·lbs|foot·lbf|footpound|footpounds|"
    "ft·pound|ft·pounds|ft/pound|ft/pounds|"
    "foot/pound|foot/pounds|feet·pounds|feet·lbs|pound·ft|pounds·ft|pounds·foot|lb·feet|lbs·feet",
    "lbf·in": "inlb|inlbs|inlbf|lbin|lbsin|lbfin|in/lb|in/lbs|in/lbf|inch·lb|inch·lbs|inch·lbf|inchpound|inchpounds|inch/pound|inch/pounds|"
    "in·pound|in·pounds|in/pound|in/pounds|inch/lb|inch/lbs|"
    "inches·pounds|pound·in|pounds·inch",
    "N·m": "newtonmeter|newtonmeters|newtonmetre|newtonmetres|newtons·meter|newtons·meters|newtons·metre|newtons·metres",
    "kgf·m": "kgfm|kilogram·metres|kilogram·meters|kg·meters|kg·metres",
    "L": "ltr|ltrs|lt|lts|litter|litters", "mL": "mls", "cm³": "ccs", "kg": "kilo|kilos",
    "psi": "psig|lb/in2|lbs/in2|lbf/in2|lbs/in^2|pounds·per·sq·inch",
    "US qt": "us·liquid·qt|us·liquid·quart|us·liquid·quarts|liquid·quart|liquid·quarts|liquid·qt|qt·us|qts·us|quart·us|quarts·us",
    "US gal": "us·liquid·gal|us·liquid·gallon|us·liquid·gallons|liquid·gallon|liquid·gallons|gal·us|gals·us|gallon·us|gallons·us",
    "US pt": "us·liquid·pt|us·liquid·pint|us·liquid·pints|liquid·pint|liquid·pints|pt·us|pts·us|pint·us|pints·us",
    "imp qt": "qt·imp|qts·imp|quart·imp|quarts·imp|qt·imperial|qts·imperial|quart·imperial|quarts·imperial|qt·uk|qts·uk|quart·uk|quarts·uk",
    "imp gal": "gal·imp|gals·imp|gallon·imp|gallons·imp|gal·imperial|gals·imperial|gallon·imperial|gallons·imperial|gal·uk|gals·uk|"
    "gallon·uk|gallons·uk",
    "imp pt": "pt·imp|pts·imp|pint·imp|pints·imp|pt·imperial|pts·imperial|pint·imperial|pints·imperial|pt·uk|pts·uk|pint·uk|pints·uk",
    "US fl oz": "fluid·oz|fl·ozs|flozs|fl·ounce|fl·ounces|us·floz|us·fluid·oz", "imp fl oz": "imp·floz|imp·fluid·oz|imperial·floz",
    "L/min": "litres/minute|liters/minute|litre/minute|litres/min|liters/min|liter/min|litre/min|ltr/min|litres·a·minute|"
    "liters·a·minute",
    "US gal/min": "gallons/minute|gallons/min|gallon/min|gallons·a·minute",
    "US qt/min": "quarts/minute|quarts/min|quart/min|qts/min|quarts·a·minute",
    "°C": "degree·celsius|degree·c|°celsius|celcius|degrees·celcius|deg·celsius|centigrade|degrees·centigrade",
    "°F": "degree·fahrenheit|degree·f|°fahrenheit|deg·fahrenheit|farenheit|degrees·farenheit|fahrenheits",
}  # fmt: skip
"""Symbol -> its everyday spellings, loosened: without capitals and periods, `·` between words."""

ACCEPTED: Final[dict[str, str]] = {
    "volume": "L, mL, qt, gal, fl oz, imp qt, in³",
    "temperature": "°C, °F, K",
    "interval": "Δ°C, Δ°F, °C interval, K",
    "heating rate": "°C/min, °F/min",
    "torque": "N·m, lbf·ft (ft-lb), lbf·in (in-lb), kgf·m, kgf·cm",
    "length": "mm, cm, m, km, in, ft, mi",
    "pressure": "kPa, bar, psi, MPa",
    "viscosity": "mm²/s, cSt",
    "density": "kg/m³, g/mL, lb/gal",
    "flow": "L/min, L/s, gpm, qt/min",
    "mass": "kg, g, lb, oz",
    "force": "N, kN, lbf, kgf",
    "time": "s, min, h, d, month, y",
    "angle": "deg, °, rad",
    "fraction": "%, or a plain number such as 0.9",
    "number": "a plain number",
    "count": "a plain whole number",
}
"""The units accepted for each kind, as shown in messages."""

EXAMPLES: Final[dict[str, str]] = {
    "volume": "3.6 L", "temperature": "80 °C", "interval": "10 Δ°C", "heating rate": "2 °C/min", "torque": "34 N·m", "length": "300 mm",
    "pressure": "2 bar", "viscosity": "6.0 mm²/s", "density": "847 kg/m³", "flow": "3 L/min", "mass": "1 kg", "force": "10 kN",
    "time": "4 y", "angle": "45 deg",
}  # fmt: skip
"""A value of each kind, as shown in messages."""

REFUSED: Final[dict[str, str]] = dict.fromkeys(
    (
        "J", "kJ", "joule", "joules", "kilojoule", "kilojoules", "cal", "kcal", "calorie", "calories", "kilocalorie", "kilocalories",
        "BTU", "Btu", "btu", "erg", "eV", "W·s", "Ws", "watt·second", "watt·seconds", "W·h", "Wh", "watt·hour", "watt·hours", "kWh", "kW·h",
    ),
    "is energy, not torque: write N·m, lbf·ft, lbf·in, kgf·m or kgf·cm",
)  # fmt: skip
"""Spellings refused by name, with the reason."""


def key(spelling: str) -> str:
    """Fold different ways of writing a unit into one: separators between words become `·`, superscripts and `**` become `^`.

    Examples
    --------
    >>> key("ft-lbf"), key("meter ** 3 / second"), key("mm²/s")
    ('ft·lbf', 'meter^3/second', 'mm^2/s')
    """
    folded = spelling
    if "*" in folded or " /" in folded:
        for written, meant in ((" ** ", "^"), ("**", "^"), (" * ", "·"), ("*", "·"), (" / ", "/")):
            folded = folded.replace(written, meant)
    return folded.replace(" ", "·").replace("-", "·").replace("⋅", "·").replace("²", "^2").replace("³", "^3")


def _build() -> tuple[dict[str, Unit], dict[str, Unit]]:
    symbols: dict[str, Unit] = {}
    spellings: dict[str, Unit] = {}
    for symbol, pint, kind, num, den, system, source, others, written in _ROWS:
        counterpart, _, mistaken = others.partition("|")
        unit = Unit(symbol, pint, kind, num, den, _OFFSETS.get(symbol, 0), system, source, counterpart, mistaken)
        symbols[symbol] = unit
        for spelling in written.split("|"):
            spellings[spelling] = unit
    return symbols, spellings


SYMBOLS, SPELLINGS = _build()
"""Units by printed symbol, and by folded spelling (including the names of a pint registry)."""


def by_symbol(symbol: str) -> Unit:
    """The unit that prints as `symbol`."""
    return SYMBOLS[symbol]


def internal_unit(kind: str) -> Unit:
    """The unit that kernels compute in for a kind of quantity; asking for an unknown kind is a programming error."""
    try:
        return SYMBOLS[INTERNAL[kind]]
    except KeyError:
        raise UnitError(
            "is not a kind of quantity", code="value.choice", value=kind, allowed=", ".join(INTERNAL), hint=likened(kind, INTERNAL)
        ) from None
