"""Plausible wrong formulas, as data: function -> what is wrong with it -> how it is made from the right one.

A wrong formula is what someone may have believed or mistyped: no cosine, the shape of another distribution, no temperature, another
number of tanks, a limit rounded to the nearest. Each must be rejected by a check value, not by a test written for it.
"""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Any

import sumpwise
from power.making import Asked, Built, Maker, always, answer, asked, built, fixed, formula, given, method, number, size, told, without

Formulas = dict[str, dict[str, Maker | Built]]


def _litres(value: float) -> Any:
    return sumpwise.quantity(value, "L")


def _share(k: Asked) -> float:
    return size(k["drained"], "L") / size(k["capacity"], "L")


def _turns(k: Asked) -> float:
    return size(k["pumped"], "L") / size(k["capacity"], "L")


def _both(k: Asked, fresh: float) -> Any:
    return answer(resident=fresh, outlet=fresh, stirred=fresh)


def _spread(k: Asked) -> list[float]:
    return [size(drain, "L") / size(k["capacity"], "L") for drain in k["drains"]]


def _afterwards(circuit: Any, poured: Any) -> Any:
    return circuit.pour(poured) if poured else circuit


MIXING: Formulas = {
    "drain_refill": {
        "shares added up": formula(lambda times=1, **k: min(1.0, times * _share(k))),
        "an exponential for the power": formula(lambda times=1, **k: 1 - math.exp(-times * _share(k))),
        "what it started with lost": without("start"),
        "the refill taken for pure": without("purity"),
        "old for fresh": given(lambda fresh, k: 1 - fresh),
        "one drain too few": asked(times=lambda k: max(k.get("times", 1) - 1, 0)),
        "the refill poured on top before it drains": formula(lambda times=1, **k: 1 - (1 / (1 + _share(k))) ** times),
    },
    "drain_refill_series": {
        "shares added up": formula(lambda **k: min(1.0, sum(_spread(k)))),
        "the last drain only": formula(lambda **k: _spread(k)[-1]),
        "the mean share each time": formula(lambda **k: 1 - (1 - sum(_spread(k)) / len(_spread(k)) / 2) ** len(_spread(k))),
        "an exponential for the product": formula(lambda **k: 1 - math.exp(-sum(_spread(k)))),
    },
    "drains_needed": {
        "rounded down": given(lambda count, k: count - 1),
        "one more for good measure": given(lambda count, k: count + 1),
        "target over share": formula(lambda **k: math.ceil(number(k["target"]) / _share(k))),
        "a washout for drains": formula(lambda **k: math.ceil(-math.log(1 - number(k["target"])) / _share(k))),
    },
    "exchange": {
        "plug flow": formula(lambda **k: _both(k, min(1.0, _turns(k)))),
        "one tank whatever is asked": without("tanks"),
        "one tank more": asked(tanks=lambda k: k.get("tanks", 1) + 1),
        "the bypass ignored": without("bypass"),
        "the dead share ignored": without("dead"),
        "inside and outlet swapped": given(lambda a, k: answer(resident=a.outlet, outlet=a.resident)),
        "as much again for every volume": formula(lambda **k: _both(k, _turns(k) / (1 + _turns(k)))),
        "powers of a half": formula(lambda **k: _both(k, 1 - 0.5 ** _turns(k))),
    },
    "volume_needed": {
        "the share of the capacity": formula(lambda **k: _litres(number(k["target"]) * size(k["capacity"], "L"))),
        "the logarithm to ten": given(lambda volume, k: volume / math.log(10)),
        "one tank whatever is asked": without("tanks"),
        "the bypass ignored": without("bypass"),
        "the dead share ignored": without("dead"),
        "the old share for the fresh one": asked(target=lambda k: 1 - number(k["target"])),
    },
    "claim_bounds": {
        "plug flow": formula(lambda **k: _both(k, min(1.0, _turns(k)))),
        "as much again for every volume": formula(lambda **k: _both(k, _turns(k) / (1 + _turns(k)))),
        "powers of a half": formula(lambda **k: _both(k, 1 - 0.5 ** _turns(k))),
    },
    "check_claim": {
        "plug flow": given(lambda a, k: answer(stirred_volume=_litres(number(k["claimed"]) * size(k["capacity"], "L")))),
        "the logarithm to ten": given(lambda a, k: answer(stirred_volume=a.stirred_volume / math.log(10))),
    },
    "best_use": {
        "all of it in one drain": asked(drains=fixed(1)),
        "no drive between": asked(drives=fixed(0)),
    },
    "Circuit.drain": {
        "half of it": method(lambda real, self, volume: real(self, f"{size(volume, 'L') / 2} L")),
        "old fluid only": built(start=fixed(0.0), sump=lambda k: f"{size(k['sump'], 'L') * 2} L"),
    },
    "Circuit.pour": {
        "a half of it is fresh": method(lambda real, self, volume: real(self, f"{size(volume, 'L') / 2} L")),
        "twice": method(lambda real, self, volume: real(real(self, volume), volume)),
    },
    "Circuit.mix": {
        "nothing mixes": method(lambda real, self: self),
        "the cooler is as large as the sump": built(cooler=lambda k: k["sump"]),
    },
    "Circuit.pump": {
        "nothing is poured meanwhile": method(lambda real, self, volume, poured="0 L": real(self, volume)),
        "poured before it is pumped": method(lambda real, self, volume, poured=None: real(self.pour(poured) if poured else self, volume)),
        "poured after it is pumped": method(lambda real, self, volume, poured=None: _afterwards(real(self, volume), poured)),
        "one tank for the cooler": built(cooler_tanks=fixed(1)),
        "another number of tanks": built(cooler_tanks=lambda k: k.get("cooler_tanks", 4) + 1),
        "two tanks for the converter": built(converter_tanks=fixed(2)),
        "the bypass ignored": Built(without("bypass")),
    },
    "Circuit.outlet": {"inside for outlet": lambda real: property(lambda self: self.resident)},
    "Circuit.resident": {"outlet for inside": lambda real: property(lambda self: self.outlet)},
    "inside_from_outlet": {
        "the vial believed to the last per cent": asked(reading_noise=fixed(0.001), observer_bias=fixed(0.001)),
        "no observer's bias": asked(observer_bias=fixed(0.0)),
        "outlet for inside": given(lambda a, k: answer(resident=answer(mean=0.5), probability=1.0)),
    },
    "light_passed": {
        "the natural logarithm": given(lambda light, k: light ** (1 / math.log(10))),
        "no length of path": asked(path=fixed("10 mm")),
        "what is stopped for what passes": given(lambda light, k: 1 - light),
        "half the path": given(lambda light, k: light**0.5),
    },
}


def _turned(argument: str) -> Maker:
    """The ratio of the lengths upside down."""

    def make(real: Any) -> Any:
        return lambda **k: sumpwise.quantity(size(k[argument], "N·m") ** 2 / size(real(**k), "N·m"), "N·m")

    return make


def _band(low: float, high: float) -> Maker:
    """Limits moved by multiples of the tolerance."""

    def wrong(**k: Any) -> Any:
        lower, upper = size(k["lower"], "N·m") * (1 + low * k["tolerance"]), size(k["upper"], "N·m") * (1 + high * k["tolerance"])
        return answer(lower=sumpwise.quantity(lower, "N·m"), upper=sumpwise.quantity(upper, "N·m"))

    return formula(wrong)


def _angle(k: Asked) -> float:
    return size(k.get("angle", "0 deg"), "deg")


ADAPTER: dict[str, Maker | Built] = {
    "no cosine": asked(angle=lambda k: "180 deg" if _angle(k) > 90 else "0 deg"),
    "sine for cosine": asked(angle=lambda k: f"{abs(90 - _angle(k))} deg"),
    "the adapter taken off the length": asked(angle=lambda k: f"{180 - _angle(k)} deg"),
    "the adapter ignored": asked(angle=fixed("90 deg")),
}

TORQUE: Formulas = {
    "wrench_setting": {**ADAPTER, "the ratio upside down": _turned("torque")},
    "applied_torque": {**ADAPTER, "the ratio upside down": _turned("setting")},
    "setting_band": {
        "the tolerance ignored": _band(0, 0),
        "limits times one plus and minus the tolerance": _band(1, -1),
        "the tolerance the other way": _band(-1, 1),
        "twice the tolerance": _band(2, -2),
    },
    "permissible_deviation": {
        "4 % for every wrench": always(0.04),
        "6 % for every wrench": always(0.06),
        "10 N·m itself among the larger": formula(lambda wrench_maximum: 0.06 if size(wrench_maximum, "N·m") < 10 else 0.04),
    },
    "clamp_load": {
        "the nut factor taken for 0.2": asked(nut_factor=fixed(0.2)),
        "radius for diameter": given(lambda load, k: load * 2),
        "no nut factor": asked(nut_factor=fixed(1.0)),
        "inches for feet": given(lambda load, k: load / 12),
    },
}


def _renamed(old: str, new: str) -> Maker:
    """One unit taken for another, in arguments and answers."""

    def make(real: Any) -> Any:
        def wrong(value: Any, to: str) -> Any:
            right = real(value.replace(old, new), to.replace(old, new))
            return sumpwise.quantity(right.magnitude, to)

        return wrong

    return make


def _kelvin_off(real: Any) -> Any:
    """273 for 273.15."""

    def wrong(value: str, to: str) -> Any:
        right = real(value, to)
        return right - sumpwise.quantity(0.15, "Δ°C") if to == "K" else right

    return wrong


def _times(factor: float, meant: Any) -> Maker:
    """A wrong factor for the conversions that are meant."""
    return lambda real: lambda value, to: real(value, to) * (factor if meant(value, to) else 1)


def _half_up(k: Asked) -> Any:
    """A tie pushed off the tie, upwards."""
    value = str(k["value"])
    head, _, unit = value.rpartition(" ")
    return f"{head}1 {unit}" if "." in head and head.rstrip().endswith("5") else value


def _to_nearest(real: Any) -> Any:
    """Limits to the nearest of the digits that the inward ones keep."""

    def wrong(span: Any, to: str) -> Any:
        inward, exact = real(span, to), sumpwise.span(span)

        def near(limit: Any, of: Any) -> Any:
            place = Decimal(repr(float(limit.magnitude))).normalize()
            place = place if place.as_tuple().exponent < 0 else Decimal(1)  # type: ignore[operator]
            return sumpwise.quantity(float(Decimal(repr(size(of, to))).quantize(place, ROUND_HALF_EVEN)), to)

        return answer(lower=near(inward.lower, exact.lower), upper=near(inward.upper, exact.upper))

    return wrong


NUMBERS: Formulas = {
    "convert": {
        "US for imperial measure": _renamed("imp ", ""),
        "pound-force for kilogram-force": _renamed("kgf", "lbf"),
        "imperial for US fluid ounces": _times(0.96, lambda value, to: "fl oz" in value and "imp" not in value),
        "273 for 273.15": _kelvin_off,
        "a difference of temperature gets the 32": lambda real: lambda value, to: real(value.replace("Δ", ""), to.replace("Δ", "")),
        "five ninths upside down": _times(3.24, lambda value, to: "Δ°F" in value),
        "a litre of 1.000 028 dm³": _times(1.000028, lambda value, to: to.endswith("L")),
    },
    "rounded": {
        "digits cut": asked(direction=fixed("down")),
        "always up": asked(direction=fixed("up")),
        "ties away from zero": asked(value=_half_up),
        "always to three digits": asked(digits=fixed(3)),
        "nearest instead of away from the limit": without("direction"),
    },
    "rounded_inward": {
        "nearest instead of inward": _to_nearest,
        "the upper limit for the lower": given(lambda span, k: answer(lower=span.upper, upper=span.lower)),
    },
    "check_text": {
        "everything agrees": always([answer(verdict="agrees")]),
        "everything disagrees": always([answer(verdict="disagrees")]),
    },
    "tolerable_negative_error": {
        "3 % of everything": formula(lambda nominal: _litres(0.03 * size(nominal, "L"))),
        "half of it": given(lambda error, k: error / 2),
        "the band below": asked(nominal=lambda k: f"{size(k['nominal'], 'L') * 0.75} L"),
        "the percentage of a fixed band": formula(lambda nominal: _litres(0.045 * size(nominal, "L"))),
    },
}


def _root(*terms: float) -> float:
    return math.sqrt(sum(term * term for term in terms))


def _interval(half: float) -> Any:
    side = answer(upper=half, lower=-half)
    return answer(symmetric_interval=side, shortest_interval=side, standard_uncertainty=half, interval=side)


def _diagonal(k: Asked, variance: Any) -> list[list[float]]:
    """A covariance matrix without its covariances."""
    return [[variance(c) if i == j else 0.0 for j, c in enumerate(row)] for i, row in enumerate(k["covariance"])]


def _shape(old: str, new: str) -> Maker:
    return asked(shape=lambda k: new if k.get("shape", "rectangular") == old else k.get("shape", "rectangular"))


def _score(bottom: Any) -> Maker:
    def wrong(**k: Any) -> Any:
        u, v = (value for name, value in k.items() if name.startswith("u"))
        return (k["x"] - k["y"]) / bottom(u, v)

    return formula(wrong)


SHAPES: dict[str, Maker | Built] = {
    "a triangle for a rectangle": _shape("rectangular", "triangular"),
    "a rectangle for a triangle": _shape("triangular", "rectangular"),
    "a rectangle for an arcsine": _shape("arcsine", "rectangular"),
}

SCORES: dict[str, Maker | Built] = {
    "uncertainties added, not their squares": _score(lambda u, v: u + v),
    "the other one's uncertainty forgotten": _score(lambda u, v: u),
    "half the uncertainty": _score(lambda u, v: _root(u, v) / 2),
    "the variance for its root": _score(lambda u, v: u * u + v * v),
}

MEASUREMENT: Formulas = {
    "standard_uncertainty": {
        **SHAPES,
        "the half width itself": formula(lambda half_width, shape="": half_width),
        "the full width over the root of three": given(lambda u, k: u * 2),
    },
    "measured": {
        **SHAPES,
        "an expanded uncertainty that is not divided": asked(k=fixed(1)),
        "two for every coverage factor": without("k"),
    },
    "budget": {
        "endless degrees of freedom": given(lambda a, k: replace(a, dof=math.inf)),
        "the fewest degrees of freedom": given(lambda a, k: replace(a, dof=3)),
        "half the uncertainty of the source": given(lambda a, k: replace(a, standard_uncertainty=a.standard_uncertainty / 2)),
    },
    "expanded": {
        "two for every coverage factor": given(
            lambda a, k: replace(a, coverage_factor=2.0, expanded_uncertainty=2 * a.standard_uncertainty)
        ),
        "95 % whatever is asked": without("coverage"),
        "one side only": asked(coverage=lambda k: 2 * k.get("coverage", 0.95) - 1),
    },
    "coverage_factor": {
        "the normal distribution for Student's": without("dof"),
        "95 % whatever is asked": without("coverage"),
        "one side only": asked(coverage=lambda k: 2 * k.get("coverage", 0.95) - 1),
        "one degree of freedom more": asked(dof=lambda k: k.get("dof", math.inf) + 1),
    },
    "normalized_error": SCORES,
    "zeta_score": SCORES,
    "monte_carlo": {
        "a normal distribution whatever the shapes": given(lambda a, k: _interval(1.959964 * a.standard_uncertainty)),
        "99 % for 95 %": asked(coverage=fixed(0.99)),
        "90 % for 95 %": asked(coverage=fixed(0.9)),
        "the half widths added": given(lambda a, k: _interval(1.0 * len(k["inputs"]))),
    },
    "monte_carlo_adaptive": {
        "a normal distribution whatever the shapes": given(lambda a, k: _interval(2.0 * a.standard_uncertainty)),
        "99 % for 95 %": asked(coverage=fixed(0.99)),
    },
    "validate": {
        "the drawn interval for the first-order one": given(lambda a, k: answer(interval=answer(upper=3.8794))),
        "99 % for 95 %": asked(coverage=fixed(0.99)),
    },
    "best_estimate": {
        "equal weights": asked(covariance=lambda k: _diagonal(k, lambda variance: 0.04)),
        "correlation ignored": asked(covariance=lambda k: _diagonal(k, lambda variance: variance)),
        "weights by uncertainties, not their squares": asked(covariance=lambda k: _diagonal(k, math.sqrt)),
    },
    "pooled": {
        "no spread between": given(lambda told, k: told._replace(value=_weighted_mean(k), between=0.0)),
        "uncertainties ignored": asked(values=lambda k: [f"{size(value, '1')}(1)" for value in k["values"]]),
        "uncertainties doubled": asked(values=lambda k: [_doubled(value) for value in k["values"]]),
        "n for n - 1": given(lambda told, k: told._replace(
            value=told.value * math.sqrt(1 - 1 / len(k["values"])), between=told.between * math.sqrt(1 - 1 / len(k["values"])))),
        "no sum of squares": given(lambda told, k: told._replace(chi_squared=len(k["values"]) - 1)),
    },
}


def _doubled(value: str) -> Any:
    known = sumpwise.measured(value)
    return sumpwise.measured(known.nominal_value, standard=2 * known.std_dev)


def _weighted_mean(k: Asked) -> Any:
    known = [sumpwise.measured(value) for value in k["values"]]
    weights = [1 / one.std_dev**2 for one in known]
    return sum(w * one for w, one in zip(weights, known, strict=True)) / sum(weights)


def _kelvin(k: Asked, name: str) -> float:
    return size(k[name], "°C") - 15.0


def _linear(k: Asked) -> float:
    return 1 - 0.6278 / size(k["density_15"], "kg/m³") * _kelvin(k, "temperature")


def _mean(k: Asked, shape: Any, back: Any) -> Any:
    shares = [number(w) for w in k["mass_fractions"]]
    return sumpwise.quantity(back(sum(w * shape(size(v, "mm²/s")) for w, v in zip(shares, k["viscosities"], strict=True))), "mm²/s")


def _between(k: Asked, shape: Any, back: Any) -> Any:
    low, high = size(k["viscosity_40"], "mm²/s"), size(k["viscosity_100"], "mm²/s")
    part = (size(k["temperature"], "°C") - 40) / 60
    return sumpwise.quantity(back((1 - part) * shape(low) + part * shape(high)), "mm²/s")


FLUID: Formulas = {
    "volume_correction_factor": {
        "no temperature": always(1.0),
        "the first order only": formula(lambda **k: _linear(k)),
        "0.0007 per degree for every fluid": formula(lambda **k: 1 - 0.0007 * _kelvin(k, "temperature")),
        "upside down": given(lambda factor, k: 1 / factor),
        "20 °C for 15 °C": asked(temperature=lambda k: f"{size(k['temperature'], '°C') - 5} °C"),
    },
    "volume_at": {
        "no temperature": formula(lambda **k: _litres(size(k["volume"], "L"))),
        "the two temperatures swapped": asked(
            from_temperature=lambda k: k["to_temperature"], to_temperature=lambda k: k["from_temperature"]
        ),
        "0.0007 per degree for every fluid": formula(
            lambda **k: _litres(size(k["volume"], "L") * (1 + 0.0007 * (_kelvin(k, "to_temperature") - _kelvin(k, "from_temperature"))))
        ),
        "water's density": asked(density_15=fixed("1000 kg/m³")),
    },
    "viscosity_at": {
        "a straight line": formula(lambda **k: _between(k, lambda v: v, lambda v: v)),
        "a straight line of the logarithm": formula(lambda **k: _between(k, math.log, math.exp)),
        "273 for 273.15": asked(zero=fixed(273.0)),
        "one for 0.7 in the double logarithm": formula(
            lambda **k: _between(k, lambda v: math.log(math.log(v + 1.0)), lambda w: math.exp(math.exp(w)) - 1)
        ),
    },
    "viscosity_index": {
        "procedure A for every oil": given(lambda index, k: min(index, 100.0)),
        "twice too far from 100": given(lambda index, k: 100 + 2 * (index - 100)),
        "rounded down": given(lambda index, k: math.floor(index - 0.5)),
    },
    "blend_viscosity": {
        "the mean of the viscosities": formula(lambda **k: _mean(k, lambda v: v, lambda v: v)),
        "the mean of the logarithms": formula(lambda **k: _mean(k, math.log, math.exp)),
        "the mean of the reciprocals": formula(lambda **k: _mean(k, lambda v: 1 / v, lambda v: 1 / v)),
        "shares the other way round": asked(mass_fractions=lambda k: k["mass_fractions"][::-1]),
    },
    "water_density": {
        "1000 at every temperature": always(sumpwise.quantity(1000, "kg/m³")),
        "greatest at 0 °C": formula(lambda temperature: sumpwise.quantity(999.975 - 0.0055 * size(temperature, "°C") ** 2, "kg/m³")),
        "a kelvin off": asked(temperature=lambda k: f"{size(k['temperature'], '°C') * 0.97 + 0.5} °C"),
    },
    "weighed_water": {
        "a kilogram is a litre": formula(lambda **k: _litres(size(k["mass"], "kg"))),
        "no buoyancy": asked(air_density=fixed("0 kg/m³")),
        "the buoyancy of the weights forgotten": asked(weights_density=fixed("1e9 kg/m³")),
        "4 °C at every temperature": asked(temperature=fixed("4 °C")),
    },
    "weighed_fluid": {
        "a kilogram is a litre": formula(lambda **k: _litres(size(k["mass"], "kg"))),
        "no temperature": asked(temperature=fixed("15 °C")),
        "no buoyancy": asked(air_density=fixed("0 kg/m³")),
        "water's density": asked(density_15=fixed("1000 kg/m³")),
    },
    "mean_age_before": {
        "the age after the change": given(lambda age, k: age * (1 - number(k["exchanged_fraction"]))),
        "the interval itself": formula(lambda **k: sumpwise.quantity(k["interval"])),
        "half an interval more": given(lambda age, k: age + sumpwise.quantity(k["interval"]) / 2),
    },
    "mean_age_after": {
        "the age before the change": given(lambda age, k: age / (1 - number(k["exchanged_fraction"]))),
        "the share for what is left": asked(exchanged_fraction=lambda k: 1 - number(k["exchanged_fraction"])),
    },
    "mean_age_average": {
        "the age before the change": given(lambda age, k: age + sumpwise.quantity(k["interval"]) / 2),
        "the age after the change": given(lambda age, k: age - sumpwise.quantity(k["interval"]) / 2),
        "half an interval for every share": formula(lambda **k: sumpwise.quantity(k["interval"]) / 2),
    },
    "heat_factor": {
        "kelvins for degrees Fahrenheit": asked(halving=fixed("20 Δ°C")),
        "e for two": given(lambda factor, k: factor ** (1 / math.log(2))),
        "no temperature": always(1.0),
        "upside down": given(lambda factor, k: 1 / factor),
    },
    "FluidHistory.mean_age": {
        "nothing is exchanged": method(lambda real, self, at: sumpwise.quantity(at) + sumpwise.quantity("0 d")),
        "half of it": given(lambda age, k: age / 2),
    },
    "FluidHistory.average_age": {
        "the age at the end": method(lambda real, self, since, until: self.mean_age(until)),
        "twice": given(lambda age, k: age * 2),
    },
    "FluidHistory.share_older_than": {
        "younger for older": given(lambda share, k: 1 - share),
        "half of the age": given(lambda share, k: share**0.5),
    },
    "FluidHistory.changes_to_steady": {
        "the interval before the first change counted": given(lambda count, k: count + 1),
        "a looser tolerance": asked(tolerance=lambda k: 2 * k["tolerance"]),
    },
    "over_horizon": {"the age at the end": given(lambda a, k: answer(average_age=a.average_age * 2))},
    "compare_rhythms": {
        "the age at the end": given(lambda a, k: {name: answer(average_age=one.average_age * 2) for name, one in a.items()})
    },
}


def _laminar(k: Asked) -> Any:
    bore, length, head, viscosity = size(k["bore"], "m"), size(k["length"], "m"), size(k["head"], "m"), size(k["viscosity"], "m²/s")
    return sumpwise.quantity(math.pi * 9.80665 * head * bore**4 / (128 * viscosity * length) * 6e4, "L/min")


def _rise(k: Asked, ratio: Any) -> Any:
    return sumpwise.quantity(size(k["distance"], "mm") * ratio(size(k["slope"], "deg")), "mm")


FILLING: Formulas = {
    "pour_rate": {
        "laminar whatever the flow": formula(lambda **k: _laminar(k)),
        "radius for diameter": asked(bore=lambda k: f"{size(k['bore'], 'mm') / 2} mm"),
        "free fall without friction": asked(length=fixed("0.01 mm")),
        "the wall taken for smooth": without("roughness"),
        "the ends for nothing": asked(ends=fixed(0)),
        "two inlets": asked(ends=lambda k: k.get("ends", 1.0) + 1.0),
    },
    "pour_reynolds": {
        "radius for diameter": given(lambda re, k: re / 2),
        "twice the viscosity": asked(viscosity=lambda k: f"{2 * size(k['viscosity'], 'mm²/s')} mm²/s"),
    },
    "cheapest_packs": {
        "rounded down to what fits": given(lambda a, k: answer(cost=a.cost - 1, count=a.count - 1, probability_short=a.probability_short)),
        "one size only": asked(packs=lambda k: k["packs"][-1:]),
        "half the spread": given(lambda a, k: answer(cost=a.cost, count=a.count, probability_short=a.probability_short / 2)),
    },
    "cost_per_point": {
        "what it started with ignored": without("start"),
        "shares for per cent": given(lambda cost, k: cost * 100),
    },
    "cost_per_litre_year": {
        "the age without it ignored": asked(age_without=fixed("0.001 y"), age_with=lambda k: "0 y"),
        "months for years": given(lambda cost, k: cost / 12),
    },
    "longest_burst": {
        "no time to react": asked(reaction=fixed("0 s")),
        "pouring ignored": without("pour_rate"),
        "pouring taken for pumping": asked(
            pump_flow=lambda k: f"{size(k['pump_flow'], 'L/min') + size(k['pour_rate'], 'L/min')} L/min", pour_rate=fixed("0 L/min")
        ),
    },
    "burst_plan": {
        "no time to react": asked(reaction=fixed("0 s")),
        "an endless pail": asked(pail=fixed("100 L")),
        "nobody changes hands": asked(change=fixed("0 s")),
        "what is poured meanwhile lasts no longer": asked(helper=fixed(False)),
    },
    "slope_bias": {
        "the sine for the tangent": formula(lambda **k: _rise(k, lambda slope: math.sin(math.radians(slope)))),
        "degrees for radians": formula(lambda **k: _rise(k, math.tan)),
    },
    "Vessel.calibrated": {
        "no buoyancy": given(lambda vessel, k: answer(scale=vessel.scale - 0.00106)),
        "read over true": given(lambda vessel, k: answer(scale=1 / vessel.scale)),
        "4 °C at every temperature": asked(water_temperature=fixed("4 °C")),
    },
    "Vessel.volume": {
        "the scale upside down": built(scale=lambda k: 1 / k.get("scale", 1.0)),
        "the scale exact": Built(without("scale_uncertainty")),
        "the scale forgotten": Built(without("scale")),
        "the error of reading forgotten": built(reading_fraction=fixed(0.0)),
        "it does not grow": Built(without("expansion")),
    },
    "Ledger.balance": {
        "drained minus poured": told(lambda balance: -balance),
        "another fluid": built(density_15=fixed("1000 kg/m³")),
    },
    "Dipstick.error": {
        "no temperature": method(lambda real, self, reading, temperature: real(self, reading, "87 °C")),
        "the sign the other way": given(lambda error, k: -error),
        "the case does not grow": built(case_expansion=fixed(0.0)),
    },
    "Dipstick.growth": {
        "the case does not grow": built(case_expansion=fixed(0.0)),
        "the case grows in one direction": built(case_expansion=lambda k: k.get("case_expansion", 23e-6) / 3),
        "water's density": built(density_15=fixed("1000 kg/m³")),
    },
    "Dipstick.predict": {
        "it does not grow": method(lambda real, self, reading, temperature, at: sumpwise.quantity(reading)),
        "the case does not grow": built(case_expansion=fixed(0.0)),
    },
    "OverflowPlug.error": {
        "the sign the other way": given(lambda error, k: -error),
        "the case does not grow": built(case_expansion=fixed(0.0)),
        "the case grows in one direction": built(case_expansion=lambda k: k.get("case_expansion", 23e-6) / 3),
        "half of it": given(lambda error, k: error / 2),
    },
    "OverflowPlug.time_left": {
        "to the start of the window": given(lambda time, k: time / 2),
        "degrees a second": given(lambda time, k: time / 60),
    },
}

def _all_as_high(told: Any, k: Asked) -> Any:
    """Weights by the distances alone, as if every normal distribution had the same height."""
    prior = k.get("prior") or dict.fromkeys(k["measured"], 1.0)
    high = {row.name: float(prior[row.name]) * math.exp(-row.z * row.z / 2) for row in told.rows}
    return answer(verdict=told.verdict, rows=told.rows, weights={name: one / math.fsum(high.values()) for name, one in high.items()})


TOLD_IN_WORDS: Formulas = {
    "flow_regime": {"laminar however fast": always("laminar")},
    "Dipstick.check": {
        "added from a half on, as it is taken out": method(
            lambda real, self, **k: answer(instruction="leave") if real(self, **k).instruction == "add" else real(self, **k)
        ),
        "taken out from a sixth on, as it is added": method(
            lambda real, self, reading, temperature: answer(
                instruction="take out" if size(reading, "mm") > 13.3 else real(self, reading, temperature).instruction
            )
        ),
        "the lower mark for the middle": method(
            lambda real, self, reading, temperature: real(self, f"{size(reading, 'mm') + 10} mm", temperature)
        ),
    },
    "Dipstick.holds_at": {
        "at any temperature": always(True),
        "between the edges only": method(lambda real, self, temperature: 75 < size(temperature, "°C") < 85),
    },
    "book_meaning": {
        "a normal distribution for the rectangle": asked(book=fixed(sumpwise.measured("3.6 L", standard=f"{0.3 / math.sqrt(3)} L"))),
        "the half-width for a standard uncertainty": asked(book=fixed(sumpwise.measured("3.6 L", standard="0.3 L"))),
        "the start forgotten": without("start_error"),
        "the prior forgotten": without("prior"),
        "the wider as high as the narrower": given(_all_as_high),
    },
    "Ledger.total_poured": {
        "poured less drained": lambda real: property(lambda self: self.balance),
        "what was drained": lambda real: property(lambda self: self.total_drained),
        "as it was read": told(lambda total: sumpwise.quantity("6.12 L")),
    },
    "Ledger.total_drained": {
        "what was lost forgotten": told(lambda total: total - sumpwise.quantity("0.3 L")),
        "what was poured": lambda real: property(lambda self: self.total_poured),
    },
    "Ledger.off_target": {
        "the start forgotten": lambda real: property(lambda self: self.balance),
        "the start the other way": lambda real: property(lambda self: 2 * self.balance - real.fget(self)),
    },
    "Circuit.circulate": {
        "the return line open": method(lambda real, self, volume: self.pump(volume, poured=volume)),
        "all of it one mixture": method(lambda real, self, volume: self.mix()),
        "nothing moves": method(lambda real, self, volume: self),
    },
    "FluidHistory.next_due": {
        "the limit for the moment": method(lambda real, self, mean_age=None, **k: sumpwise.quantity(mean_age or "0 y")),
        "of what is half as old": method(
            lambda real, self, mean_age=None, **k: real(self, mean_age=f"{size(mean_age, 'y') / 2} y") if mean_age else real(self, **k)
        ),
    },
    "FluidHistory.heat_age": {
        "no heat": method(lambda real, self, at, temperature: answer(age=self.mean_age(at))),
        "halved every ten degrees": asked(halving=fixed("10 Δ°C")),
        "halved every twenty Fahrenheit": asked(halving=fixed("20 Δ°F")),
        "from 71 °C on": asked(reference=fixed("71 °C")),
    },
}
"""What a method says or decides, where our own equations computed a second way hold it."""

WRONG: Formulas = NUMBERS | MEASUREMENT | FLUID | MIXING | TORQUE | FILLING | TOLD_IN_WORDS
"""Every wrong formula, by function."""
