"""Surfaces of the objects: what they are made from, and what is then done with them."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any

import sumpwise
from fuzz.surfaces import Case, of, options, some, surface
from fuzz.values import Draw, nonsense, number, text, value, window
from sumpwise.errors import SumpwiseError


def _chain(build: Callable[[], Any], steps: list[tuple[str, tuple[Any, ...], dict[str, Any]]]) -> Any:
    """Build, then call method after method; if a method returns a new object, go on with that. Refusals on the way are answers too."""
    state = build()
    seen = [state]
    for name, args, kwargs in steps:
        try:
            answered = getattr(state, name)
            if callable(answered):
                answered = answered(*args, **kwargs)
        except SumpwiseError as error:
            answered = str(error)
        if type(answered) is type(state):
            state = answered
        seen.append(answered)
    return seen


def _steps(draw: Draw, menu: dict[str, Callable[[Draw], tuple[tuple[Any, ...], dict[str, Any]]]], most: int) -> list[Any]:
    names = [draw.choice(list(menu)) for _ in range(draw.randrange(most))]
    return [(name, *menu[name](draw)) for name in names]


def _nothing(draw: Draw) -> tuple[tuple[Any, ...], dict[str, Any]]:
    return (), {}


def _taking(*kinds: str, **others: Callable[[Draw], Any]) -> Callable[[Draw], tuple[tuple[Any, ...], dict[str, Any]]]:
    return lambda draw: (tuple(value(draw, kind, draw.random() < 0.9) for kind in kinds), options(draw, **others))


CIRCUIT = {
    "drain": _taking("volume"),
    "pour": _taking("volume"),
    "pump": _taking("volume", poured=of("volume")),
    "circulate": _taking("volume"),
    "mix": _nothing,
    "resident": _nothing,
    "outlet": _nothing,
    "discharged": _nothing,
    "sump_volume": _nothing,
    "volume": _nothing,
    "__repr__": _nothing,
}


def small(draw: Draw, most: float) -> Any:
    return f"{draw.uniform(0, most):.2f} L" if draw.random() < 0.85 else value(draw, "volume", True)


@surface("Circuit", 3, "Circuit")
def _circuit(draw: Draw) -> Case:
    first = tuple(small(draw, 8) for _ in range(draw.randrange(3, 6)))
    tanks = draw.choice((1, 2, 4, 200, 201, 0, 2.5, nonsense(draw)))
    how = options(
        draw,
        bypass=of("fraction"),
        clutch_circulation=of("fraction"),
        start=of("fraction"),
        converter_tanks=lambda d: tanks,
        sump_floor=lambda d: small(d, 2),
    )
    return _chain, (lambda: sumpwise.Circuit(*first, **how), _steps(draw, CIRCUIT, 6)), {}


@cache
def _wagon() -> Any:
    return sumpwise.Circuit("3.9 L", "2.45 L", "0.62 L", "0.83 L", "1.05 L", "1.6 L", bypass=0.35, clutch_circulation=0.25)


@surface("best use and outlet evidence", 0.05, "best_use", "inside_from_outlet", "LooksClean")
def _evidence(draw: Draw) -> Case:
    circuit = _wagon() if draw.random() < 0.9 else nonsense(draw)
    pick = draw.random()
    if pick < 0.2:
        return (
            sumpwise.LooksClean,
            (value(draw, "fraction"),),
            options(draw, path=of("length"), threshold_path=of("length"), clean=lambda d: d.random() < 0.5),
        )
    if pick < 0.6:
        how = options(
            draw,
            drain=lambda d: small(d, 3),
            burst=lambda d: small(d, 2),
            drains=lambda d: d.randrange(3),
            bursts=lambda d: d.randrange(6),
            portion=lambda d: small(d, 2),
        )
        return sumpwise.best_use, (circuit, small(draw, 8)), {**how, "portions": draw.randrange(3)}
    seen, now = [], circuit
    for _ in range(draw.randrange(4)):
        if isinstance(now, sumpwise.Circuit):
            now = now.pump("1 L")
            seen.append((now, draw.choice((draw.random(), draw.random(), nonsense(draw)))))
            now = now.pour("1 L")
    how = options(
        draw,
        reading_noise=of("fraction"),
        observer_bias=of("fraction"),
        vial_step=of("fraction"),
        portion=lambda d: small(d, 2),
        cost_per_litre=number,
    )
    return (
        sumpwise.inside_from_outlet,
        (draw.choice((seen, seen, seen, nonsense(draw))), value(draw, "fraction", True)),
        {"now": now, **how, "draws": 1000},
    )


HISTORY = {
    "replace": _taking("fraction", "time"),
    "mean_age": _taking("time"),
    "average_age": _taking("time", "time"),
    "share_older_than": _taking("time", "time"),
    "distribution": _taking("time"),
    "next_due": _taking(mean_age=of("time"), older_than=of("time"), share=of("fraction")),
    "changes_to_steady": _taking("fraction", "time", within=of("fraction")),
    "heat_age": _taking("time", "temperature", halving=of("interval")),
    "to_dict": _nothing,
    "__repr__": _nothing,
}


@surface("FluidHistory", 2, "FluidHistory")
def _history(draw: Draw) -> Case:
    start = value(draw, draw.choice(("time", "length")), True)
    return _chain, (lambda: sumpwise.FluidHistory(start), _steps(draw, HISTORY, 6)), {}


@surface("rhythms", 1, "over_horizon", "repeated_changes", "compare_rhythms")
def _rhythms(draw: Draw) -> Case:
    if draw.random() < 0.4:
        together = {"together": draw.choice((1, 2, 0, nonsense(draw)))} if draw.random() < 0.3 else {}
        interval = f"{draw.uniform(0.2, 9):.2f} y" if draw.random() < 0.7 else value(draw, draw.choice(("time", "length")), True)
        return (
            sumpwise.repeated_changes,
            (interval, draw.choice(("0 y", value(draw, "time", True))), "12 y", value(draw, "fraction", True), value(draw, "volume", True)),
            together,
        )
    history = sumpwise.FluidHistory("-9 y") if draw.random() < 0.9 else nonsense(draw)
    changes = (
        [(f"{i} y", value(draw, "fraction", True), value(draw, "volume", True)) for i in range(draw.randrange(5))]
        if draw.random() < 0.9
        else nonsense(draw)
    )
    price = {"cost_per_litre": number(draw) if draw.random() < 0.8 else nonsense(draw)}
    ends = "0 y", draw.choice(("12 y", value(draw, "time", True)))
    if draw.random() < 0.5:
        return sumpwise.over_horizon, (history, changes, *ends), price
    rhythms = draw.choice(({"one": changes, "nothing": []}, {text(draw): changes}, nonsense(draw)))
    return sumpwise.compare_rhythms, (history, rhythms, *ends), price


def _vessel_arguments(draw: Draw) -> tuple[tuple[Any, ...], dict[str, Any]]:
    first = (
        draw.choice(("pail", text(draw))) if draw.random() < 0.95 else nonsense(draw),
        value(draw, "volume", True) if draw.random() < 0.5 else "0.25 L",
    )
    how = options(
        draw,
        scale=lambda d: d.uniform(0.9, 1.1),
        scale_uncertainty=lambda d: d.random() / 50,
        reading_fraction=of("fraction"),
        tilt=of("angle"),
        width=of("length"),
        residue=of("volume"),
        capacity=lambda d: "9 L",
        expansion=lambda d: d.random() / 1e4,
        air=of("fraction"),
        scale_dof=number,
    )
    return first, how


VESSEL = {"volume": _taking("volume", "temperature"), "to_dict": _nothing, "__repr__": _nothing}


@surface("Vessel", 2, "Vessel")
def _vessel(draw: Draw) -> Case:
    first, how = _vessel_arguments(draw)
    pick = draw.random()
    if pick < 0.15:
        return sumpwise.Vessel.sealed, first, {}
    if pick < 0.3:
        return sumpwise.Vessel.calibrated, (*first, some(draw, "volume"), some(draw, "mass"), value(draw, "temperature", True)), {}
    return _chain, (lambda: sumpwise.Vessel(*first, **how), _steps(draw, VESSEL, 4)), {}


def _in_vessel(draw: Draw) -> tuple[tuple[Any, ...], dict[str, Any]]:
    vessel: Any = draw.choice((pail(), pail(), pail(), "pail", _other_pail(), nonsense(draw)))
    reading = small(draw, 4)
    warm = f"{draw.uniform(0, 90):.0f} °C" if draw.random() < 0.85 else value(draw, "temperature", True)
    return (vessel, reading, warm), options(
        draw, cumulative=lambda d: d.random() < 0.5, thermometer=lambda d: d.choice((None, "probe", text(d)))
    )


@cache
def pail() -> Any:
    return sumpwise.Vessel("pail", "0.25 L", 0.98, 0.004, capacity="9 L")


@cache
def _other_pail() -> Any:
    return sumpwise.Vessel("pail", "0.5 L")


LEDGER = {
    "started": _taking("volume"),
    "drained": _in_vessel,
    "poured": _in_vessel,
    "emptied": lambda draw: ((draw.choice((pail(), "pail", nonsense(draw))),), {}),
    "lost": lambda draw: ((small(draw, 1), text(draw)), {}),
    "balance": _nothing,
    "running": _nothing,
    "off_target": _nothing,
    "total_drained": _nothing,
    "explain": _taking(level=of("volume")),
    "lines": _nothing,
    "to_dict": _nothing,
    "__repr__": _nothing,
    "next_pour": lambda draw: (
        (draw.choice((pail(), "pail")), "20 °C"),
        {"lower": draw.choice(("-0.3 L", small(draw, 1))), "upper": small(draw, 1), **options(draw, aim=lambda d: small(d, 0.2), k=number)},
    ),
}


@surface("Ledger", 3, "Ledger")
def _ledger(draw: Draw) -> Case:
    density = "847 kg/m³" if draw.random() < 0.8 else value(draw, "density", True)
    how = options(draw, capacity=lambda d: "8.85 L")
    return _chain, (lambda: sumpwise.Ledger(density, **how), _steps(draw, LEDGER, 10)), {}


STICK = {
    "error": _taking("length", "temperature"),
    "predict": _taking("length", "temperature", at=of("temperature")),
    "growth": _taking("temperature", "temperature"),
    "holds_at": _taking("temperature"),
    "check": _taking("length", "temperature"),
    "__repr__": _nothing,
}


@surface("level", 2, "Dipstick", "OverflowPlug")
def _level(draw: Draw) -> Case:
    fluid = (
        small(draw, 10),
        "847 kg/m³" if draw.random() < 0.8 else value(draw, "density", True),
        window(draw, "temperature") if draw.random() < 0.5 else "82–92 °C",
    )
    if draw.random() < 0.3:
        plug = {"error": _taking("temperature"), "time_left": _taking("temperature", "heating rate"), "__repr__": _nothing}
        return _chain, (lambda: sumpwise.OverflowPlug(*fluid), _steps(draw, plug, 4)), {}
    first = (small(draw, 1), value(draw, "length", True) if draw.random() < 0.4 else "13 mm")
    how = options(
        draw, case_expansion=lambda d: d.random() / 1e4, bias=of("length"), resolution=of("length"), reading_noise=of("length"),
        bulk=of("interval"), air=of("fraction"),
    )  # fmt: skip
    return _chain, (lambda: sumpwise.Dipstick(*first, *fluid, **how), _steps(draw, STICK, 4)), {}
