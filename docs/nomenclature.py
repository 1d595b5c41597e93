"""The nomenclature page: every argument of every public name, with its symbol and unit."""

from __future__ import annotations

import inspect
from collections import defaultdict
from collections.abc import Callable, Iterator
from typing import Any

from sumpwise import _face
from sumpwise.mixing.circuit.compartments import COMPARTMENTS, Value
from sumpwise.quantities.units import INTERNAL

# argument: (symbol or "", what it is, kind or words where the function does not state the kind itself)
ARGUMENTS: dict[str, tuple[str, str, str]] = {
    "absorbance_10mm": ("A₁₀", "decadic absorbance of 10 mm of old fluid", ""),
    "adapter_length": ("E", "middle of the square drive to middle of the bolt", ""),
    "after": ("", "the sheet after the change", "Sheet"),
    "age": ("", "age from which fluid counts as old", "time"),
    "age_with": ("", "mean age with the change", ""),
    "age_without": ("", "mean age without the change", ""),
    "ages": ("", "method → mean ages, years", "plain numbers"),
    "aim": ("", "level aimed at, litres off the middle", "volume"),
    "air": ("", "air that hot fluid carries, as a share of the fill or of what a vessel reads", "fraction"),
    "air_density": ("ρₐ", "of the air around the balance", ""),
    "angle": ("θ", "between adapter and wrench, 0 in line", ""),
    "at": ("t", "moment on the axis of the history; temperature at which a level is wanted", "time, length or temperature"),
    "band": ("", "lower and upper limits of a drawn line", "plain numbers"),
    "before": ("", "the sheet it is compared with", "Sheet"),
    "bias": ("", "what the floor adds to every stick reading", "length"),
    "book": ("", "volume stated in a manual", "volume"),
    "bore": ("d", "inside diameter of the filler tube", ""),
    "bulk": ("", "how much warmer the fill is than the point where its temperature is measured", "temperature interval"),
    "burst": ("", "volume of one burst", "volume"),
    "bursts": ("", "maximum number of bursts", "count"),
    "capacity": ("V", "what the whole unit, or a vessel, holds", "volume"),
    "case_expansion": ("a", "linear expansion of the case", "per °C"),
    "causes": ("", "names of the steps of a balance", "texts"),
    "change": ("", "walking from engine to funnel or back", "time"),
    "changes": ("", "planned changes: moment, share, volume", "list"),
    "circuit": ("", "the fill in its compartments", "Circuit"),
    "claimed": ("", "claimed fresh fraction", "fraction"),
    "clean": ("", "whether no old fluid was seen", "true or false"),
    "closed_at": ("t", "temperature at which the plug was closed", "temperature"),
    "components": ("", "name, volume and specification of other units that take fluid", "list"),
    "confidence": ("", "probability from which a verdict is given", "fraction"),
    "contributions": ("", "steps of a balance, to draw", "plain numbers"),
    "cost": ("", "money, in any one currency", ""),
    "cost_per_litre": ("", "price of a litre, in any one currency", "number"),
    "covariance": ("V", "covariance of several estimates, litres squared", "plain numbers"),
    "coverage": ("p", "share that an interval covers", "fraction"),
    "cumulative": ("", "whether a reading includes what was in the vessel before", "true or false"),
    "currency": ("", "a label", "text"),
    "data": ("", "what `to_dict` gave", "dict"),
    "dead": ("d", "share of the capacity that never exchanges", ""),
    "default": ("", "answer if the job does not say", "any"),
    "date": ("", "date of a service, such as 2026-11-27", "date or str"),
    "density_15": ("ρ₁₅", "density of the fluid at 15 °C", "density"),
    "description": ("", "what a picture shows, for people who cannot see it", "text"),
    "number": ("", "which service of a record, from 1", "count"),
    "diameter": ("d", "nominal diameter of the bolt", ""),
    "digits": ("", "significant digits", "count"),
    "direction": ("", '"nearest", "down" or "up"', "text"),
    "distance": ("", "along the floor from the sump's middle to the stick; what the odometer shows", "length"),
    "dof": ("ν", "degrees of freedom", "number"),
    "drain": ("", "what one plug drain removes", "volume"),
    "drained": ("d", "what comes out at a drain", "volume"),
    "drains": ("dᵢ", "what comes out at each drain; maximum number of drains", "volumes, or a count"),
    "draws": ("", "random draws", "count"),
    "drives": ("", "maximum number of drives", "count"),
    "elapsed": ("", "time since a service", "time"),
    "emptying": ("", "time to empty the pail", "time"),
    "ends": ("", "share of the losses at the ends of a tube that is counted", "fraction"),
    "error": ("", "litres at 20 °C off the target", "volume"),
    "errors": ("", "what to do with bad rows", "text"),
    "estimates": ("yᵢ", "estimates of one volume", "volumes"),
    "exchanged_fraction": ("r", "share of the fill that each change replaces", ""),
    "expanded": ("U", "expanded uncertainty", "as the value"),
    "expansion": ("", "cubic expansion of a vessel", "per °C"),
    "fill": ("F", "all fluid in the unit at the target, at 20 °C", "volume"),
    "first": ("", "moment of the first change", "time or length"),
    "folder": ("", "folder to write files to", "path"),
    "fraction": ("r", "share replaced by a change", "fraction"),
    "fresh": ("f", "fresh fraction of the fill", "fraction"),
    "from_temperature": ("", "temperature of the measurement", "temperature"),
    "function": ("", "function to propagate through, or whose check values to list", "function or name"),
    "full": ("", "the whole sheet, not only what you need under the vehicle", "true or false"),
    "graduation": ("", "one division of a scale", "volume"),
    "half_width": ("a", "half the width between limits", "any"),
    "halving": ("h", "rise in temperature that halves the life", "interval"),
    "head": ("h", "height of the surface in the funnel above the lower end of the tube", ""),
    "heating_rate": ("", "how fast the fluid warms", "heating rate"),
    "helper": ("", "whether a helper pours while the pump runs", "true or false"),
    "history": ("", "previous changes of the fill", "FluidHistory"),
    "horizon": ("", "how far to look ahead", "time"),
    "in_pail": ("", "already in the pail", "volume"),
    "indent": ("", "spaces per level in JSON", "count"),
    "inputs": ("", "arguments of the function; contents of a job", "list or dict"),
    "inside": ("", "fresh fraction inside, to draw", "plain numbers"),
    "inside_band": ("", "its limits, to draw", "plain numbers"),
    "interval": ("τ", "from one change to the next", "time or length"),
    "job": ("", "one service of one vehicle", "Job"),
    "jobs": ("", "jobs, their data, or paths of job files", "any iterable"),
    "k": ("k", "coverage factor", "number"),
    "key": ("", "name of a value or section", "text"),
    "keys": ("", "names of values", "texts"),
    "left_over": ("", "what is left over of a purchase", "volume"),
    "length": ("L", "length of the filler tube", ""),
    "length_between_marks": ("L", "mark to mark along the stick", "length"),
    "level": ("", "litres at 20 °C off the target, by the stick", "volume"),
    "limit": ("", "number of findings after which the comparison stops", "count"),
    "limits": ("a", "half-width of limits", "as the value"),
    "litres": ("", "fresh fluid used, to draw", "plain numbers"),
    "lower": ("", "lower limit", "any"),
    "mass": ("m", "what the balance shows, tared", ""),
    "mass_fractions": ("wᵢ", "share of each fluid by mass", "fractions"),
    "masses": ("mᵢ", "water weighed at each mark", "masses"),
    "mean_age": ("", "limit of the mean age", "time or length"),
    "meanwhile": ("p", "share of a burst that is poured while the pump runs", "fraction"),
    "measured": ("", "meaning → volume measured for it", "dict"),
    "most": ("", "maximum number of draws", "count"),
    "name": ("", "its name", "text"),
    "need": ("", "how much fluid the job needs", "volume"),
    "nominal": ("", "printed contents of a sealed pack", "volume"),
    "now": ("", "the current state", "Circuit"),
    "nut_factor": ("K", "torque coefficient of a bolted joint", ""),
    "observed": ("", "temperatures and readings taken, to draw", "plain numbers"),
    "observer_bias": ("", "error common to all matches of one observer, relative", "number"),
    "old": ("", "old fraction of a mixture", ""),
    "older_than": ("", "age from which fluid counts as old", "time or length"),
    "others": ("", "further results; further arguments of the constructor", "any"),
    "outlet": ("", "fresh fraction at the outlet, to draw", "plain numbers"),
    "outlet_band": ("", "its limits, to draw", "plain numbers"),
    "own": ("", "the user's own fields", "dict"),
    "packs": ("", "size, price and name of the packs on sale", "list or dict"),
    "pail": ("", "what the pail may hold", "volume"),
    "part": ("", "which of several answers", "text"),
    "path": ("", "optical path length; path of a file", "length, or a path"),
    "portion": ("", "size of the next portion of fluid", "volume"),
    "portions": ("", "number of portions to consider", "count"),
    "pour_rate": ("", "flow down the filler tube", "flow"),
    "poured": ("", "poured while pumping; litres poured, to draw", "volume"),
    "prior": ("", "name → weight before measuring", "dict"),
    "pump_flow": ("", "flow out of the open cooler line", "flow"),
    "pumped": ("q", "volume of fresh fluid in, and of fluid out", "volume"),
    "purity": ("", "fresh fraction of the fluid poured in", "fraction"),
    "quart": ("", '"US" or "imperial"', "text"),
    "ranges": ("", "parameter → its range", "dict"),
    "reaction": ("", "time from the call until the engine has stopped", "time"),
    "reading": ("r", "what a vessel or the stick shows", "volume, or length on the stick"),
    "reading_fraction": ("", "half-width of a reading, as a share of a division", "fraction"),
    "reading_noise": ("", "standard uncertainty of one reading: of the stick, or of a match as a share of it", "length, or number"),
    "readings": ("", "what the vessel showed; stick readings, to draw", "volumes, or plain numbers"),
    "reference": ("", "temperature that volumes refer to", "temperature"),
    "refilled": ("", "what is poured back, if not as much as was drained", ""),
    "reserve": ("", "volume in the sump above the level at which the pump draws air", "volume"),
    "residue": ("", "what stays in an emptied vessel", "volume"),
    "resolution": ("", "smallest step you can read on the stick", "length"),
    "result": ("", "an uncertain result", "any"),
    "reynolds": ("Re", "Reynolds number", "number"),
    "rhythms": ("", "name → planned changes", "dict"),
    "risk": ("", "accepted probability of running short", "fraction"),
    "roughness": ("k", "roughness of the tube wall", ""),
    "scale": ("", "true volume over volume read", "number"),
    "scale_dof": ("ν", "degrees of freedom of the scale's uncertainty", "number"),
    "scale_uncertainty": ("", "standard uncertainty of the scale, absolute", "number"),
    "sections": ("", "parts of a sheet", "list"),
    "seed": ("", "seed of the random numbers", "whole number"),
    "seen": ("", "states, each with what was seen at the outlet", "list"),
    "services": ("", "services of one vehicle, in order", "sequence of services"),
    "setting": ("S", "setting of the wrench", ""),
    "shape": ("", '"rectangular", "triangular", "arcsine", "resolution" or "normal"', "text"),
    "share": ("", "largest share of the fill that may be old", "fraction"),
    "shared": ("", "instrument whose error it is", "text"),
    "since": ("", "start of the horizon", "time or length"),
    "slope": ("", "slope of the floor, down towards the side of the stick", ""),
    "sources": ("", "label → where its number comes from", "dict"),
    "span": ("", "lower and upper limit", "span"),
    "specification": ("", "specification of the fluid you have", "text"),
    "specifications": ("", "specifications on the bottles", "texts"),
    "standard": ("u", "standard uncertainty", "as the value"),
    "start": ("f₀", "fresh fraction before; when the fill was new", "fraction, time or length"),
    "start_error": ("", "litres at 20 °C off the target before the work", "volume"),
    "sump": ("S", "volume in the sump at the start", "volume"),
    "sump_floor": ("", "sump below which the pump draws air", "volume"),
    "table": ("", "name of a table of the job", "text"),
    "tanks": ("N", "equal stirred tanks in series, 1 to 200", ""),
    "target": ("f", "wanted fresh fraction", "fraction"),
    "temperature": ("t", "temperature of the fluid, or of the water weighed", "temperature"),
    "temperatures": ("", "of stick readings, to draw", "plain numbers"),
    "text": ("", "text in workshop notation", "text"),
    "thermometer": ("", "its name; readings of the same name share an error", "text"),
    "threshold": ("", "old fraction that the eye just notices", "fraction, or two"),
    "threshold_path": ("", "path length that the threshold is stated for", "length"),
    "tilt": ("φ", "how far off level a vessel may be", "angle"),
    "times": ("n", "number of equal drains", ""),
    "title": ("", "heading", "text"),
    "to": ("", "unit of the answer", "text"),
    "to_temperature": ("", "temperature at which the volume is wanted", "temperature"),
    "together": ("", "changes made one after another at each moment", "count"),
    "tolerance": ("a", "permissible deviation of the wrench", "fraction"),
    "torque": ("T", "torque at the bolt", ""),
    "total": ("", "name of the sum of a balance", "text"),
    "u_expanded_x": ("U₁", "expanded uncertainty of x", "as x"),
    "u_expanded_y": ("U₂", "expanded uncertainty of y", "as x"),
    "u_x": ("u₁", "standard uncertainty of x", "as x"),
    "u_y": ("u₂", "standard uncertainty of y", "as x"),
    "uncertainty": ("u", "standard uncertainty of the sum, to draw", "plain number"),
    "unit": ("", "unit of a plain number, or of the answer", "text"),
    "units": ("", "system of units of a sheet", "text"),
    "until": ("", "end of the horizon", "time or length"),
    "upper": ("", "upper limit", "any"),
    "upper_mark": ("", "from the lower mark, mm, to draw", "plain number"),
    "value": ("", "what to read, convert, round or state", "any"),
    "values": ("", "a job, or label → value; values measured on separate occasions", "Job, dict or list"),
    "venting": ("", "share of the head left for the fluid", ""),
    "vessel": ("", "vessel it was measured with", "Vessel"),
    "vial_step": ("", "step in old fraction between the vials of the series", "fraction"),
    "viscosities": ("νᵢ", "viscosity of each fluid at one temperature", "viscosities"),
    "viscosity": ("ν", "kinematic viscosity at the temperature of the fluid", ""),
    "viscosity_100": ("ν₁₀₀", "kinematic viscosity at 100 °C", ""),
    "viscosity_40": ("ν₄₀", "kinematic viscosity at 40 °C", ""),
    "volume": ("V", "a volume of fluid", "volume"),
    "volume_between_marks": ("V", "fluid from mark to mark, in the check window's heat", "volume"),
    "water_temperature": ("", "of the water weighed", "temperature"),
    "weighed": ("", "whether a reading is what the fluid weighed, as a volume, and not one of the vessel", "true or false"),
    "weights_density": ("", "of the balance's weights", ""),
    "what": ("", "where lost fluid went", "text"),
    "width": ("w", "inside diameter of a vessel where it is read", "length"),
    "window": ("", "temperatures in which the check holds", "span of temperatures"),
    "within": ("", "nearness to the steady state, as a share of the old age", "fraction"),
    "wrench_length": ("L", "middle of the grip to middle of the square", ""),
    "wrench_maximum": ("", "largest setting of the wrench", ""),
    "x": ("x", "first result", "any"),
    "y": ("X", "second result", "as x"),
    "years": ("", "from now, to draw", "plain numbers"),
    "zero": ("", "0 °C on the absolute scale", ""),
}
ARGUMENTS |= {
    value.name: (value.symbol, value.meaning, str(value.kind.kind))
    for compartment in COMPARTMENTS for value in compartment if isinstance(value, Value)
}  # fmt: skip


def public_calls() -> Iterator[tuple[str, Callable[..., Any]]]:
    """Every public function and the constructor and methods of every public class, with the name it is called by."""
    for name, module in _face.places().items():
        thing = _face.load(module, name)
        if inspect.isclass(thing) and not issubclass(thing, Exception):
            yield name, thing
            for method, value in vars(thing).items():
                plain = value.__func__ if isinstance(value, (classmethod, staticmethod)) else value
                if not method.startswith("_") and inspect.isfunction(plain):
                    yield f"{name}.{method}", plain
        elif callable(thing) and not inspect.isclass(thing):
            yield name, thing


def used() -> dict[str, list[tuple[str, tuple[str, ...]]]]:
    """Argument -> the calls that take it, each with the kinds its boundary states."""
    found = defaultdict(list)
    for call, function in public_calls():
        arguments = getattr(function, "arguments", {})
        for parameter in inspect.signature(function).parameters:
            if parameter not in ("self", "cls"):
                found[parameter].append((call, arguments[parameter].kinds if parameter in arguments else ()))
    return dict(sorted(found.items()))


def page() -> str:
    """The page, as reStructuredText."""
    lines = [
        "Nomenclature", "============", "",
        "Every argument of every public name. A value is given as text, Quantity, uncertain number, array or list in any unit of its kind; "
        "the unit named here is the one that kernels compute in and error messages speak of. A fraction is a plain number from 0 to 1, or "
        "a text such as ``\"90 %\"``. Fresh, never life left: a fraction says how much of the fill is new fluid.",
        "", ".. list-table::", "   :header-rows: 1", "   :widths: 8 22 30 18 22", "   :class: longtable", "",
        "   * - symbol", "     - argument", "     - what it is", "     - unit", "     - taken by",
    ]  # fmt: skip
    for name, calls in used().items():
        symbol, meaning, words = ARGUMENTS[name]
        kinds = list(dict.fromkeys(kind for _, stated in calls for kind in stated))
        shown = [_unit(kind) for kind in kinds] if kinds and not words else [_unit(words)]
        takers = ", ".join(f"``{call}``" for call, _ in calls[:4]) + (f" and {len(calls) - 4} more" if len(calls) > 4 else "")
        cells = [symbol, f"``{name}``", meaning.replace("`", "``"), ", ".join(shown), takers]
        lines.append("   * - " + "\n     - ".join(cells))
    return "\n".join(lines) + "\n"


def _unit(kind: str) -> str:
    if kind == "fraction":
        return "share of one"
    unit = INTERNAL.get(kind)
    return f"{kind}, {unit}" if unit else kind
