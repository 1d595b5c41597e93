"""Where every public name is defined: room -> module -> names. Packages load a module when one of its names is first used."""

from __future__ import annotations

import sys

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any

ROOMS: dict[str, dict[str, tuple[str, ...]]] = {
    "errors": {"": ("SumpwiseError", "NotationError", "UnitError", "RangeError", "CountLostError", "FileError")},
    "quantities": {
        "asking": ("quantity", "span", "convert"),
        "spans": ("Span",),
        "rounding": ("rounded", "rounded_inward"),
    },
    "measurement": {
        "typeb": ("measured", "standard_uncertainty"),
        "reporting": ("budget", "expanded"),
        "sampling": ("monte_carlo", "monte_carlo_adaptive"),
        "validation": ("validate",),
        "agreement": ("normalized_error", "zeta_score"),
        "coverage": ("coverage_factor",),
        "joint": ("best_estimate",),
        "pooling": ("pooled",),
        "book": ("book_meaning",),
    },
    "mixing": {
        "batch": ("drain_refill", "drain_refill_series", "drains_needed"),
        "circuit.model": ("Circuit",),
        "best_order": ("best_use",),
        "continuous": ("exchange", "volume_needed"),
    },
    "inference": {
        "light": ("light_passed", "LooksClean"),
        "outlet": ("inside_from_outlet",),
    },
    "fluid": {
        "density": ("volume_correction_factor", "volume_at"),
        "water": ("water_density", "weighed_water", "weighed_fluid"),
        "viscosity": ("viscosity_at", "viscosity_index", "blend_viscosity", "safe_to_mix"),
    },
    "ageing": {
        "rates": ("mean_age_before", "mean_age_after", "mean_age_average"),
        "history": ("FluidHistory",),
        "heat": ("heat_factor",),
        "rhythms": ("over_horizon", "repeated_changes", "compare_rhythms"),
    },
    "filling": {
        "vessel": ("Vessel",),
        "ledger": ("Ledger",),
        "level": ("Dipstick", "slope_bias"),
        "overflow": ("OverflowPlug",),
        "pouring": ("pour_rate", "pour_reynolds", "flow_regime"),
        "bursts": ("longest_burst", "burst_plan"),
    },
    "buying": {
        "packs": ("cheapest_packs", "give_leftovers"),
        "shortfall": ("tolerable_negative_error",),
        "quotes": ("cost_per_point", "cost_per_litre_year", "claim_bounds", "check_claim"),
    },
    "torque": {"": ("wrench_setting", "applied_torque", "setting_band", "permissible_deviation", "clamp_load")},
    "description": {"checking": ("check_text",)},
    "service": {
        "job": ("Job",),
        "planning": ("plan", "compare_methods"),
        "many": ("plan_many",),
        "sheet": ("Sheet",),
        "differing": ("compare",),
        "record": ("ServiceRecord",),
        "cards": ("number_card",),
        "drawing": ("draw_pictures", "save_pictures"),
    },
    "plots": {"": ("plot_freshness", "plot_level", "plot_balance", "plot_mean_age", "plot_methods")},
    "verification": {"runner": ("verify",), "entries": ("evidence",)},
}

LARGER = {"mixing": "inference", "fluid": "ageing", "filling": "buying"}
"""Room -> the room that was split off from it, whose names it still exports."""


def places(room: str = "") -> dict[str, str]:
    """Public name -> module, for one room or for all."""
    return {
        name: f"sumpwise.{one}.{module}" if module else f"sumpwise.{one}"
        for one, modules in ROOMS.items()
        if room in ("", one)
        for module, names in modules.items()
        for name in names
    }


def load(module: str, name: str) -> Any:
    """Import a module and return one of its names."""
    __import__(module)
    return getattr(sys.modules[module], name)


def lazy(package: str) -> tuple[Callable[[str], Any], Callable[[], list[str]], list[str]]:
    """`__getattr__`, `__dir__` and `__all__` for a room (PEP 562)."""
    room = package.partition(".")[2]
    known = places(room)
    kept = places(LARGER[room]) if room in LARGER else {}

    def fetch(name: str) -> Any:
        module = known.get(name) or kept.get(name)
        if module is None:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        value = load(module, name)
        setattr(sys.modules[package], name, value)
        return value

    return fetch, lambda: sorted({*vars(sys.modules[package]), *known}), list(known)
