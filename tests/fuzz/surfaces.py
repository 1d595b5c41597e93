"""The surfaces: how a case of each is drawn. Everything the face offers is here, and everything that reads a file or plain data."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any

import sumpwise
from fuzz.values import ALL_UNITS, KINDS, Draw, Hostile, nonsense, number, numeral, text, value, window

Case = tuple[Callable[..., Any], tuple[Any, ...], dict[str, Any]]
Maker = Callable[[Draw], Case]

SURFACES: dict[str, tuple[float, Maker]] = {}
"""Name -> the share of cases it gets, and what draws one."""

COVERED: set[str] = set()
"""Public names that some surface calls."""


def surface(name: str, share: float, *covers: str) -> Callable[[Maker], Maker]:
    """Enter a maker of cases."""

    def enter(maker: Maker) -> Maker:
        SURFACES[name] = (share, maker)
        COVERED.update(covers)
        return maker

    return enter


# -- texts


@surface("quantity", 24, "quantity")
def _quantity(draw: Draw) -> Case:
    given = text(draw) if draw.random() < 0.9 else nonsense(draw)
    units = () if draw.random() < 0.8 else (draw.choice([*ALL_UNITS, *KINDS, "", "1", text(draw), None, 3]),)
    return sumpwise.quantity, (given, *units), {}


@surface("span", 8, "span", "Span")
def _span(draw: Draw) -> Case:
    if draw.random() < 0.5:
        return sumpwise.span, (window(draw, draw.choice(KINDS)),), {}
    return sumpwise.span, (text(draw) if draw.random() < 0.9 else nonsense(draw),), {}


@surface("check_text", 5, "check_text")
def _check_text(draw: Draw) -> Case:
    words = (
        "Fill with",
        "torque",
        "drain",
        "about",
        "(",
        ")",
        "/",
        "=",
        ",",
        ".\n",
        "three drains leave",
        "% fresh",
        "old",
        "cold",
        "hot",
        "\n\n",
        "- ",
        "| ",
    )
    parts = [
        draw.choice((text, numeral, lambda d: d.choice(words), lambda d: d.choice(words), lambda d: d.choice(ALL_UNITS)))(draw)
        for _ in range(draw.randrange(14))
    ]
    given: Any = " ".join(parts)[:2000]
    if draw.random() < 0.02:
        given = draw.choice((given[:40] * 200, nonsense(draw)))
    return sumpwise.check_text, (given,), {}


@surface("convert", 4, "convert")
def _convert(draw: Draw) -> Case:
    kind = draw.choice(KINDS)
    return sumpwise.convert, (value(draw, kind), draw.choice([draw.choice(ALL_UNITS), text(draw), nonsense(draw)])), {}


@surface("rounded", 4, "rounded", "rounded_inward")
def _rounded(draw: Draw) -> Case:
    kind = draw.choice(KINDS)
    to = draw.choice(ALL_UNITS) if draw.random() < 0.9 else nonsense(draw)
    if draw.random() < 0.4:
        return sumpwise.rounded_inward, (window(draw, kind), to), {}
    how = {"digits": draw.choice((None, 0, 1, 3, 15, 400, -1, nonsense(draw)))} if draw.random() < 0.5 else {}
    if draw.random() < 0.3:
        how["direction"] = draw.choice(("nearest", "up", "down", "sideways", nonsense(draw)))
    return sumpwise.rounded, (value(draw, kind) if draw.random() < 0.6 else text(draw), to), how


# -- functions whose arguments say what they are


def _called(function: Any, draw: Draw) -> Case:
    specs = function.arguments
    given = {}
    for name, spec in specs.items():
        if name in _required(function) or draw.random() < 0.4:
            given[name] = value(draw, draw.choice(spec.kinds), spec.scalar)
    if draw.random() < 0.02:
        given.pop(draw.choice(list(given)))
    if draw.random() < 0.01:
        given["furlongs"] = 1
    cut = draw.randrange(len(given) + 1)
    first = list(specs)[:cut]
    if all(name in given for name in first):
        return function, tuple(given.pop(name) for name in first), given
    return function, (), given


@cache
def _required(function: Any) -> frozenset[str]:
    import inspect

    return frozenset(p.name for p in inspect.signature(function).parameters.values() if p.default is p.empty)


def _enter_described() -> None:
    names = [name for name in sumpwise.__all__ if isinstance(getattr(getattr(sumpwise, name), "arguments", None), dict)]
    for name in names:
        function = getattr(sumpwise, name)
        surface(name, 30 / len(names), name)(lambda draw, function=function: _called(function, draw))


_enter_described()


# -- functions with arguments of their own


def some(draw: Draw, kind: str, most: int = 5) -> Any:
    return [value(draw, kind, True) for _ in range(draw.randrange(most))] if draw.random() < 0.9 else value(draw, kind)


def options(draw: Draw, **choices: Callable[[Draw], Any]) -> dict[str, Any]:
    return {name: choose(draw) if draw.random() < 0.93 else nonsense(draw) for name, choose in choices.items() if draw.random() < 0.5}


def of(*kinds: str) -> Callable[[Draw], Any]:
    return lambda draw: value(draw, draw.choice(kinds), True)


def _any(draw: Draw) -> Any:
    return value(draw, draw.choice((*KINDS, "number")))


@surface("measurement", 6, "measured", "standard_uncertainty", "budget", "expanded", "normalized_error", "zeta_score", "coverage_factor")
def _measurement(draw: Draw) -> Case:
    pick = draw.randrange(7)
    kind = draw.choice((*KINDS, "number"))
    shape = (
        {"shape": draw.choice(("rectangular", "triangular", "normal", "arcsine", "square", nonsense(draw)))} if draw.random() < 0.3 else {}
    )
    if pick == 0:
        doubt = options(
            draw, limits=lambda d: (value(d, kind, True), value(d, kind, True)), standard=of(kind), expanded=of(kind), k=number, dof=number
        )
        return sumpwise.measured, (value(draw, kind),), {**doubt, **shape}
    if pick == 1:
        return sumpwise.standard_uncertainty, (value(draw, kind),), shape
    if pick == 2:
        return sumpwise.budget, tuple(_any(draw) for _ in range(draw.randrange(1, 4))), {}
    if pick == 3:
        return sumpwise.expanded, (_any(draw), *([value(draw, "fraction")] if draw.random() < 0.5 else [])), {}
    if pick in (4, 5):
        kind = draw.choice(("volume", "number"))
        return (sumpwise.normalized_error, sumpwise.zeta_score)[pick - 4], tuple(value(draw, kind) for _ in range(4)), {}
    return sumpwise.coverage_factor, (value(draw, "fraction"), abs(number(draw)) if draw.random() < 0.9 else nonsense(draw)), {}


@surface("sampling", 0.3, "monte_carlo", "monte_carlo_adaptive", "validate")
def _sampling(draw: Draw) -> Case:
    name = draw.choice(
        ("drain_refill", "exchange", "sum", "product", "clamp_load", "wrench_setting", "viscosity_at", "nothing", nonsense(draw))
    )
    if callable(name):  # errors of the caller's own function are the caller's
        name = "sum"
    specs = getattr(getattr(sumpwise, name, None), "arguments", {}) if isinstance(name, str) and name.isidentifier() else {}
    inputs: Any = {key: value(draw, draw.choice(spec.kinds), True) for key, spec in specs.items() if draw.random() < 0.7} or some(
        draw, "volume"
    )
    how = options(draw, coverage=of("fraction"), seed=lambda d: d.randrange(9), part=lambda d: d.choice(("", "resident", "x")))
    if draw.random() < 0.7:
        return sumpwise.monte_carlo, (name, inputs), {"draws": draw.choice((100, 1000, 99, nonsense(draw))), **how}
    call = sumpwise.monte_carlo_adaptive if draw.random() < 0.5 else sumpwise.validate
    return call, (name, inputs), {"digits": draw.choice((1, 2, 0, 9)), "most": draw.choice((10_000, 20_000, 0)), **how}


@surface("series and blends", 2, "drain_refill_series", "blend_viscosity", "safe_to_mix", "flow_regime", "best_estimate", "pooled")
def _series(draw: Draw) -> Case:
    pick = draw.randrange(6)
    if pick == 0:
        return (
            sumpwise.drain_refill_series,
            (some(draw, "volume"), value(draw, "volume", True)),
            options(draw, start=of("fraction"), purity=of("fraction")),
        )
    if pick == 1:
        shares = draw.choice(([0.5, 0.5], [1 / 3] * 3, [1.0], some(draw, "fraction")))
        return (
            sumpwise.blend_viscosity,
            (shares, [value(draw, "viscosity", True) for _ in range(len(shares) if isinstance(shares, list) else 2)]),
            {},
        )
    if pick == 2:
        return sumpwise.safe_to_mix, tuple(nonsense(draw) for _ in range(draw.randrange(4))), {}
    if pick == 3:
        return sumpwise.flow_regime, (number(draw) if draw.random() < 0.5 else nonsense(draw),), {}
    size = draw.randrange(1, 4)
    if pick == 4:
        kind = draw.choice(("volume", "flow", "temperature", "fraction"))
        return sumpwise.pooled, ([value(draw, kind, True) for _ in range(size)] if draw.random() < 0.9 else nonsense(draw),), {}
    matrix = (
        {"covariance": [[number(draw) if i == j or draw.random() < 0.2 else 0.0 for i in range(size)] for j in range(size)]}
        if draw.random() < 0.4
        else {}
    )
    return sumpwise.best_estimate, ([value(draw, "volume", True) for _ in range(size)],), matrix


@surface("packs and quotes", 3, "cheapest_packs", "give_leftovers", "book_meaning", "check_claim", "burst_plan")
def _packs(draw: Draw) -> Case:
    pick = draw.randrange(5)
    if pick == 0:
        shelf = [(value(draw, "volume", True), draw.choice((9.9, 46.5, "12.50", 0, -1, number(draw)))) for _ in range(draw.randrange(5))]
        return (
            sumpwise.cheapest_packs,
            (shelf if draw.random() < 0.9 else nonsense(draw), value(draw, "volume")),
            options(draw, risk=of("fraction"), currency=text),
        )
    if pick == 1:
        parts = [(text(draw), value(draw, "volume", True), draw.choice(("X", "Y", text(draw)))) for _ in range(draw.randrange(4))]
        return (
            sumpwise.give_leftovers,
            (
                value(draw, "volume"),
                draw.choice((parts, dict.fromkeys(("a", "b"), "1 L"), nonsense(draw))),
                draw.choice(("X", nonsense(draw))),
            ),
            {},
        )
    if pick == 2:
        meanings = {text(draw): value(draw, "volume", True) for _ in range(draw.randrange(4))}
        prior = {"prior": dict.fromkeys(meanings, number(draw))} if draw.random() < 0.3 else {}
        return (
            sumpwise.book_meaning,
            (value(draw, "volume", True), meanings),
            {**prior, **options(draw, start_error=of("volume"), confidence=of("fraction"))},
        )
    if pick == 3:
        return (
            sumpwise.check_claim,
            (value(draw, "fraction"), value(draw, "volume"), value(draw, "volume")),
            options(draw, drained=of("volume"), start=of("fraction")),
        )
    first = (
        value(draw, "volume", True),
        value(draw, "flow", True),
        value(draw, "flow", True),
        value(draw, "volume", True),
        value(draw, "volume", True),
    )
    times = dict.fromkeys(("reaction", "change", "emptying"), of("time"))
    return sumpwise.burst_plan, first, options(draw, burst=of("volume"), in_pail=of("volume"), **times)


def shown_call(case: Case) -> str:
    """The call of a case, for a report."""
    function, args, kwargs = case

    def shown(x: Any) -> str:
        try:
            return ascii(x)[:300]
        except Exception:
            return "Hostile()" if isinstance(x, Hostile) else f"<{type(x).__name__}>"

    return (
        f"{getattr(function, '__qualname__', function)}({', '.join([*map(shown, args), *(f'{k}={shown(v)}' for k, v in kwargs.items())])})"
    )
