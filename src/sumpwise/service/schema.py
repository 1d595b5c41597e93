"""The one table of what a job may say: key -> kind, meaning, and the default with its reason.

Reading, the page of keys, JSON Schema and the assumptions of a sheet all come from here; there are no defaults anywhere else.
"""

from __future__ import annotations

from typing import Any

from sumpwise.mixing.circuit.compartments import COMPARTMENTS, FLOWS, TANKS_ON_THE_WAY, UNIFORM, VIALS, Value
from sumpwise.quantities.boundary import Argument, argument
from sumpwise.service import rules
from sumpwise.service.checks import CHECKS
from sumpwise.service.keys import COMMON, DATE, FLAG, MONEY, TEXT, UNPUBLISHED, UNSAID, Choice, Default, Doubt, Key, SpanOf
from sumpwise.service.kinds import AUTOMATIC, KINDS
from sumpwise.service.methods.method import MOST
from sumpwise.service.methods.registry import METHODS

WISH = "say in the job what you want"
DATA_SHEET = "look in the data sheet of the fluid, which its maker publishes"
CLOCK = "time it once"
BILL = "look at the bill"
WEIGH = "weigh water in it"

VOLUME = argument("volume", minimum=0, scalar=True)
POSITIVE = argument("volume", above=0, scalar=True)
LENGTH = argument("length", above=0, scalar=True)
ANY_LENGTH = argument("length", scalar=True)
NO_LENGTH = argument("length", minimum=0, scalar=True)
SLIGHT = argument("length", minimum=0, maximum=1000, scalar=True)
TEMPERATURE = argument("temperature", scalar=True)
TIME = argument("time", minimum=0, scalar=True)
SHARE = argument("fraction", scalar=True)
PART = argument("fraction", above=0, maximum=1, scalar=True)
TORQUE = argument("torque", above=0, scalar=True)
COUNT = argument("count", maximum=MOST, scalar=True)
INTERVAL = argument("interval", minimum=0, maximum=50, scalar=True)
WARMING = argument("heating rate", above=0, maximum=30, scalar=True)
AIR = argument("fraction", minimum=0, maximum=0.5, scalar=True)

MINUTES_A_DAY = 1440.0
AS_WRITTEN, METRIC, US, IMPERIAL, BOTH = SYSTEMS = "as written", "metric", "US", "imperial", "both"

BUBBLES = "bubbles in the hose"
TOO_HOT = 120.0
"""From this temperature up, in degrees Celsius, the fluid itself is a stop sign."""
HOT = f"fluid at {TOO_HOT:g} °C or more"
RED_ROWS = (
    "pink or milky fluid", BUBBLES, "no flow when hot", "flakes or chunks", "burnt smell with slip", HOT, "foam on the stick",
    "plug torque does not build", "rounded plug", "wrong bottle", "lost count",
)  # fmt: skip
"""Signs that stop the work, whatever any number says."""
ALSO = {
    "pink or milky fluid": "coolant water strawberry cloudy emulsion", "bubbles in the hose": "air", "no flow when hot": "dry",
    "flakes or chunks": "metal chips pieces glitter shavings magnet", "burnt smell with slip": "slips slipping burned smells",
    "foam on the stick": "foamy froth", "plug torque does not build": "stripped strips thread spins turns",
    "rounded plug": "round rounds head hex socket", "wrong bottle": "fluid oil other type mixed", "lost count": "miscounted",
    "stick": "dipstick", "drained": "pumped burst", "poured": "filled refilled added topped", "lost": "spill spilled leak leaked",
    "drive": "drove driven road",
}
"""Stop sign, or another choice -> words that people use for it."""
ANYWHERE = "fluid hose line plug stick"
"""Words that say where a sign was seen, not which: a rounded plug is none that does not build torque."""
ABOUT, ABOUT_DEGREES = 0.1, 5.0
"""What "about" means, either way: a tenth of the value; for a temperature, this many degrees Celsius."""
READ = ("drained", "poured")
"""Events that are read on a vessel."""
MOVING = (*READ, "lost")
"""Events that change how much is in the unit."""
EVENTS = ("stick", *READ, "emptied", "lost", "drive", "seen")
MOST_TANKS = argument("count", minimum=1, maximum=20, scalar=True)
"""A job gives at most so many tanks to a compartment: more would say nothing more, and take long."""


def _unpublished(value: Value, kind: Argument | None = None) -> Key:
    """The key of a value that a circuit is built from, with the range that is taken for it."""
    low, high = value.range or ("", "")
    return Key(kind or value.kind.single(), value.meaning, Default("", UNPUBLISHED, low, high, value.shape, value.of), find=value.find)


TABLES: dict[str, dict[str, Key]] = {
    "vehicle": {
        "name": Key(TEXT, "name of the vehicle or the unit", required=True),
        "kind": Key(Choice((*KINDS,)), "kind of unit", Default(AUTOMATIC.name, UNSAID),
                    find="look in the maker's service information"),
        "date": Key(DATE, "day of the work; ages and the odometer reading are of that day"),
        "age": Key(TIME, "age of the vehicle", Default("0 y", "no age was written"), find="look in the vehicle's papers"),
        "fluid_age": Key(TIME, "age of the fluid", rules.fluid_age,
                         find="look in the service record; without one, it is as old as the vehicle"),
        "distance": Key(argument("length", minimum=0, scalar=True), "what the odometer shows"),
        "interval_time": Key(argument("time", minimum=MINUTES_A_DAY, scalar=True), "interval between services", Default("4 y", COMMON),
                             find="look in the maintenance schedule"),
        "interval_distance": Key(argument("length", minimum=0, scalar=True), "distance between services"),
        "level_check": Key(Choice((*CHECKS,)), "how the level is checked", rules.level_check,
                           find="look for a dipstick; without one, the maker's service information says what there is"),
        "cooler_line": Key(FLAG, "whether there is a cooler line to open", rules.cooler_line,
                           find="look for two lines from the unit to a cooler"),
        "cooler_thermostat": Key(FLAG, "whether a thermostat shuts the cooler line until the fluid is hot", Default(False, UNSAID),
                                 find="look in the maker's service information for a thermostat in the cooler line"),
    },
    "capacity": {
        "total": Key(POSITIVE, "the whole dry fill, with converter and cooler if it has them", rules.total, Doubt(0.02, "none was written"),
                     find="look in the maker's service information for the dry fill; a service fill, or drain and refill, is less"),
        "total_scope": Key(TEXT, "what the book's total includes"),
        "book_refill": Key(POSITIVE, "the book's drain and refill"),
        "book_refill_scope": Key(TEXT, "what the book's drain and refill includes"),
        "plug_drain": Key(POSITIVE, "what comes out at the drain plug", rules.plug_drain, rules.plug_doubt,
                          find="drain once, warm and level, into a vessel that was weighed with water"),
        "pan_and_filter": Key(VOLUME, "what pan and filter bring in addition", rules.pan_and_filter,
                              Doubt(0.25, "from 0.2 to 0.8 L, depending on the vehicle and on how long you wait"),
                              find="catch what comes out with pan and filter, and read it"),
        "unmeasured": Key(VOLUME, "unmeasured fluid that stays in rags, filter and hose, standard uncertainty", Default("0.05 L", COMMON),
                          find="weigh rags and filter before and after", spread=True),
        "too_much": Key(VOLUME, "how much more may be in than before the work, wherever the level was then",
                        Default("0.4 L", "about the volume between two marks, common practice"),
                        find="check the level before the work"),
        "mid_level_below_total": Key(argument("volume", scalar=True), "how far the middle of the marks is below the total"),
    },
    "fluid": {
        "name": Key(TEXT, "what the maker specifies"),
        "density_15": Key(
            argument("density", minimum=800.9, maximum=1163.5, scalar=True), "density of the fluid, by its data sheet",
            Default("850(6) kg/m³", "common for drivetrain fluids, no source"),
            find=DATA_SHEET,
        ),
        "viscosity_40": Key(argument("viscosity", above=0, scalar=True), "viscosity of the fluid at 40 °C",
                            find=DATA_SHEET),
        "viscosity_100": Key(argument("viscosity", above=0, scalar=True), "viscosity of the fluid at 100 °C",
                             find=DATA_SHEET),
        "temperature": Key(TEMPERATURE, "temperature of the new fluid in the bottle", Default("20(3) °C", UNSAID),
                           find="hold a thermometer to the bottle"),
        "drained": Key(TEMPERATURE, "temperature of the drained fluid when it is read",
                       Default("45 °C", "warm enough to run, cool enough to touch"),
                       find="put a thermometer in the drained fluid"),
    },
    "wrench": {
        "minimum": Key(TORQUE, "smallest setting of the wrench", rules.least_setting, find="look at the scale of the wrench"),
        "maximum": Key(TORQUE, "largest setting of the wrench", required=True),
        "graduation": Key(TORQUE, "one division of its scale"),
        "deviation": Key(argument("fraction", minimum=0, maximum=0.5, scalar=True), "permissible deviation of the wrench", rules.deviation,
                         find="look in the certificate of the wrench"),
        "repeatability": Key(argument("fraction", minimum=0, maximum=0.5, scalar=True), "how well its click repeats, standard uncertainty",
                             Default("1 %", "pull, grip and speed, on top of the deviation that ISO 6789 permits"),
                             find="let it click ten times on a tester", spread=True),
        "length": Key(LENGTH, "from the middle of the grip to the square drive"),
        "adapter": Key(NO_LENGTH, "from the square drive to the middle of the bolt"),
        "angle": Key(
            argument("angle", minimum=-180, maximum=180, scalar=True), "angle between adapter and wrench", Default("0 deg", "in line"),
            find="look along the wrench and the adapter",
        ),
    },
    "level": {
        "marks_volume": Key(POSITIVE, "fluid between the marks", doubt=Doubt(0.05, "sump walls as cast"),
                            find="pour a known amount between two readings of the stick at the same temperature"),
        "marks_length": Key(LENGTH, "length between the marks", find="hold a ruler against the stick"),
        "window": Key(SpanOf(TEMPERATURE), "temperature window in which the level is checked", required=True,
                      find="look in the maker's service information for the temperature of the level check"),
        "resolution": Key(LENGTH, "smallest step you can read on the stick", Default("1 mm", UNSAID),
                          find="look at the scale of the stick"),
        "reading": Key(SLIGHT, "how well a reading of the stick repeats, standard uncertainty",
                       Default("1.5 mm", "fluid creeps up a stick, and the eye is not level with it"),
                       find="wipe and read the stick five times", spread=True, makes="stick, reading"),
        "floor": Key(SLIGHT, "what a floor that is not level may add to all readings of the stick, standard uncertainty",
                     Default("1.7 mm", "a floor that slopes by one in a hundred, the stick to one side of the sump"),
                     find="turn the vehicle around on the spot and read again", spread=True, makes="floor off level"),
        "before": Key(VOLUME, "how far off target the level may be before anyone has read it, standard uncertainty",
                      Default("0.15 L", "some units seep, and nobody knows who filled it"),
                      find="check the level before the work", spread=True),
        "bulk": Key(INTERVAL, "how much warmer or cooler the whole fill may be than the measured temperature, standard uncertainty",
                    Default("3 Δ°C", "converter, cooler and case are not as warm as the sump"),
                    find="drive longer before you read the stick", spread=True, makes="fill warmer than what is measured"),
        "idling": Key(INTERVAL, "how much the warm-up of the whole fill may differ between stick readings, standard uncertainty",
                      Default("1.5 Δ°C", "one reading comes sooner after the drive than another"),
                      find="let it idle for the same time before each reading of the stick", spread=True,
                      makes="idling before the stick was read"),
        "air": Key(AIR, "air in the hot fill beyond what the marks allow for, standard uncertainty",
                   Default("0.2 %", "more or less foam than on the maker's test bench"),
                   find="read the stick again when the foam has gone", spread=True, makes="air in the hot fill"),
        "warming": Key(WARMING, "how fast the fluid warms at idle",
                       Default("2 °C/min", COMMON, "1 °C/min", "3 °C/min", "uniform"), find="time it over ten degrees at idle"),
    },
    "filler": {
        "bore": Key(LENGTH, "bore of the filler tube"),
        "length": Key(LENGTH, "length of the filler tube"),
        "head": Key(LENGTH, "height from the level in the funnel down to the end of the tube"),
        "rate": Key(argument("flow", above=0, scalar=True), "how fast cold fluid runs down the filler tube; else from its dimensions",
                    Default("1 L/min", COMMON, "0.5 L/min", "1.5 L/min"), find=f"{CLOCK}: how long a bottle takes to go down the funnel"),
        "venting": Key(PART, "share of its flow that a tube keeps when air has to come out of it", Default("70 %", COMMON, "50 %", "90 %"),
                       find="time one pour down the tube"),
    },
    "exchange": {
        "refill": Key(VOLUME, "what is poured back before the first burst; by default, as much as came out", Default(1, "", of="drain")),
        "burst": Key(POSITIVE, "volume of one burst; by default, what the pump can take before it draws air"),
        "bursts": Key(COUNT, "how many bursts; by default, as many as the target takes"),
        "drains": Key(argument("count", minimum=1, maximum=MOST, scalar=True), "how many drains; by default, as many as the target takes",
                      Default("3", "an example: there is no target"), find=WISH),
        "trim": Key(VOLUME, "what is kept back for the final trim of the level", Default("0 L", "")),
        "flow": Key(argument("flow", above=0, scalar=True), "flow out of the open cooler line",
                    Default("3.5 L/min", COMMON, "1.5 L/min", "8 L/min"),
                    find="time the first burst and read the pail"),
        "drive_flow": Key(argument("flow", above=0, scalar=True), "flow of the pump during a drive",
                          Default("", COMMON, "4 L/min", "9 L/min", UNIFORM)),
        "reserve": Key(POSITIVE, "what the sump can give from the start level until the pump draws air",
                       Default("1.4 L", COMMON, "0.8 L", "2 L"),
                       find="the maker may say how high the intake is in the sump; never try it out"),
        "helper": Key(FLAG, "whether a helper pours while the pump runs", Default(False, "alone: nothing was written"), find=WISH),
        "reaction": Key(TIME, "time from the call until the engine has stopped", Default("2 s", COMMON, "1 s", "4 s"),
                        find="have someone time you at the key"),
        "change": Key(TIME, "time from the engine to the funnel or back", Default("30 s", COMMON, "15 s", "60 s"), find=CLOCK),
        "emptying": Key(TIME, "time to empty the pail", Default("180 s", COMMON, "60 s", "300 s"), find=CLOCK),
    },
    "circuit": {
        "sump": Key(POSITIVE, "what the sump holds before the work"),
        **{one.volume.name: _unpublished(one.volume) for one in COMPARTMENTS},
        **{name: _unpublished(flow) for name, flow in FLOWS.items()},
        "drawn_first": Key(SHARE, "share of a pour that the pump draws in before it has mixed",
                           Default("", UNPUBLISHED, "0 %", "40 %", UNIFORM),
                           find=VIALS),
        "drain_back": Key(VOLUME, "what drains back out of the converter while the engine is off before the first burst",
                          Default("", UNPUBLISHED, "0 L", "0.5 L", UNIFORM),
                          find=VIALS),
        "bypass_drift": Key(argument("number", minimum=-1, maximum=1, scalar=True),
                            "how much the bypass grows from the first burst to the last, as the fluid warms",
                            Default("", UNPUBLISHED, "-0.1", "0.1", UNIFORM),
                            find=VIALS),
        **{tanks.name: _unpublished(tanks, MOST_TANKS) for tanks in TANKS_ON_THE_WAY if tanks.range},
        "sump_floor": Key(VOLUME, "what is left in the sump when the pump draws air"),
        "left": Key(VOLUME, "what stays in the sump after plug, pan and filter",
                    rules.left,
                    find="measure what is left in the sump when the pan is off"),
    },
    "shopping": {
        "currency": Key(TEXT, "currency of the prices", Default("units of money", UNSAID), find="give it in the job"),
        "need_uncertainty": Key(VOLUME, "standard uncertainty of the need, on top of that of the drains",
                                Default("0.02", "spills, fluid that stays in bottles, and what runs over", of="need"),
                                find="measure what drains before you buy", spread=True),
        "risk": Key(argument("fraction", above=0, below=0.5, scalar=True), "accepted chance of running short",
                    Default("5 %", UNSAID),
                    find=WISH),
    },
    "target": {
        "fresh": Key(argument("fraction", above=0, below=1, scalar=True), "share of new fluid wanted inside", Default("90 %", UNSAID),
                     find=WISH),
        "probability": Key(argument("fraction", minimum=0.5, below=1, scalar=True), "how sure you want to be of the target",
                           Default("90 %", UNSAID),
                           find=WISH),
        "worth": Key(SHARE, "what one more drain or burst must add to the fresh share if the target is out of reach",
                     Default("1 %", UNSAID),
                     find=WISH),
        "method": Key(Choice(tuple(method.key for method in METHODS if method.planned)),
                      "the method wanted; by default, the cheapest that meets the target; "
                      "without a target, the one whose number is stated under exchange"),
        "vial_step": Key(SHARE, "step in old fraction between the vials of the series", Default("5 %", UNSAID),
                         find=WISH),
        "portion": Key(POSITIVE, "size of the next portions of fluid to consider; by default, the smallest pack", rules.portion, find=WISH),
        "horizon": Key(argument("time", above=0, scalar=True), "how many years the methods are compared over", Default("10 y", UNSAID),
                       find=WISH),
    },
    "hours": {
        "drain": Key(TIME, "hands-on time for one drain and refill", Default("1 h", COMMON, "0.5 h", "2 h"), find=CLOCK),
        "bursts": Key(TIME, "hands-on time for pan, filter and all bursts", Default("3 h", COMMON, "2 h", "5 h"), find=CLOCK),
        "machine": Key(TIME, "your own time for a machine exchange", Default("1 h", COMMON, "0.5 h", "2 h"), find=CLOCK),
    },
    "report": {
        "units": Key(Choice(SYSTEMS), "units of the sheet", Default(AS_WRITTEN, "")),
    },
    "quote": {
        "price": Key(MONEY, "what the shop charges"),
        "volume": Key(POSITIVE, "how much fluid the exchange machine pumps", Default("1.30(15)", COMMON, of="total"),
                      find="ask the shop how much its machine pumps"),
        "claim": Key(SHARE, "share of new fluid that the shop claims"),
    },
    "costs": {
        "washer": Key(MONEY, "price of a plug washer", Default(0.0, "no price was written"), find=BILL),
        "filter": Key(MONEY, "price of a filter", Default(0.0, "no price was written"), find=BILL),
        "hour": Key(MONEY, "what an hour of your own work is worth; added to the cost of a method"),
    },
}  # fmt: skip
"""Table -> key -> its description."""

LISTS: dict[str, dict[str, Key]] = {
    "history": {
        "ago": Key(TIME, "how long before the work"),
        "date": Key(DATE, "or the day when it was done, if the day of the work is given"),
        "share": Key(SHARE, "share of the fill that was replaced", required=True),
        "note": Key(TEXT, "anything"),
    },
    "component": {
        "name": Key(TEXT, "another unit that is filled", required=True),
        "fluid": Key(TEXT, "what it is filled with, if that is a different fluid"),
        "volume": Key(POSITIVE, "what it takes", required=True),
    },
    "vessel": {
        "name": Key(TEXT, "its name", required=True),
        "graduation": Key(POSITIVE, "one division of its scale", Default("0.25 L", "none was written"), find="look at its scale"),
        "holds": Key(POSITIVE, "what it holds", Default("9 L", COMMON), find="fill it once from bottles"),
        "reads_high": Key(
            argument("fraction", above=-0.5, below=0.5, scalar=True), "how much more it shows than it contains",
            Default("0 %", ""),
            find=WEIGH,
        ),
        "scale_uncertainty": Key(
            argument("fraction", minimum=0, below=0.5, scalar=True), "standard uncertainty of the scale", rules.scale,
            find=WEIGH, spread=True,
        ),
        "reading": Key(VOLUME, "how well its scale is read, standard uncertainty", rules.read_to, find="use one with finer marks",
                       spread=True),
        "material_growth": Key(
            argument("fraction", minimum=0, below=0.01, scalar=True), "expansion of its volume with heat, per kelvin",
            Default("0.030(17) %", "anything from steel, which hardly expands, to polyethylene, 0.06 %"),
            find="find out what it is made of, or read it cool",
        ),
        "tilt": Key(argument("angle", minimum=0, below=45, scalar=True), "how far off level it may be", rules.tilt,
                    find="put a spirit level on it"),
        "film": Key(VOLUME, "what stays in it when it is emptied", rules.film, find="weigh it clean, and again after emptying"),
        "air": Key(AIR, "air in the fluid that it catches", rules.froth, find="let the foam settle before you read it"),
    },
    "bolt": {
        "name": Key(TEXT, "which bolt", required=True),
        "torque": Key(TORQUE, "the maker's torque; if there is only a window, its middle", required=True),
        "window": Key(SpanOf(argument("torque", scalar=True)), "the maker's limits; leave them out if the book has a single figure"),
    },
    "pack": {
        "name": Key(TEXT, "its name"),
        "for": Key(TEXT, "the component or the fluid it is for, if not the main one"),
        "volume": Key(POSITIVE, "its contents", required=True),
        "price": Key(MONEY, "what it costs", required=True),
    },
    "log": {
        "event": Key(Choice(EVENTS), "what happened", required=True),
        "vessel": Key(TEXT, "in which vessel; this may be a pack, by its name or size"),
        "reading": Key(VOLUME, "what the vessel or the stick showed"),
        "temperature": Key(
            TEMPERATURE, "temperature of the fluid when it was read", rules.warm, Doubt("1 Δ°C", "a garage thermometer"),
            find="put a thermometer in the fluid you read",
        ),
        "cumulative": Key(FLAG, "whether the reading includes what was in the vessel before", Default(False, "")),
        "thermometer": Key(TEXT, "which thermometer"),
        "volume": Key(VOLUME, "how much"),
        "what": Key(TEXT, "what was lost, or where it came out: pan, plug, burst or overflow"),
        "note": Key(TEXT, "anything"),
        "outlet_old": Key(PART, "old fraction of the vial that matched"),
        "duration": Key(TIME, "how long the engine ran", doubt=Doubt("1 s", "from the call until the engine reacts, at both ends"),
                        find="have someone only watch the clock"),
        "seen": Key(Choice(RED_ROWS), "a stop sign"),
        "settled": Key(TEXT, "how the cause of the stop sign, or of the heat, was found and dealt with; until then the sheet stops"),
        "when": Key(Choice(("start", "middle", "end")), "when in the burst the vial was filled"),
    },
}  # fmt: skip
"""List of tables -> key -> its description."""

NEEDED_TABLES = ("vehicle",)
EVENT_NEEDS = {
    "stick": ("reading", "temperature"), "drained": ("vessel", "reading"), "poured": ("vessel", "reading"),
    "emptied": ("vessel",), "lost": ("volume", "what"), "seen": ("seen",), "drive": (),
}  # fmt: skip


ON_A_STICK = LISTS["log"]["reading"]._replace(kind=ANY_LENGTH)
"""A reading of the stick, as a key of an entry."""


def keys_of(key: str, entry: Any) -> dict[str, Key]:
    """The keys of a list entry; a stick is read in millimetres, a vessel in litres."""
    if key == "log" and isinstance(entry, dict) and entry.get("event") == "stick":
        return LISTS[key] | {"reading": ON_A_STICK}
    return LISTS[key]
