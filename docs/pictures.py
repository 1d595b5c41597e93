"""The pictures of the documentation, drawn by the library from the packaged demo job.

    python docs/pictures.py FOLDER                         every picture, as SVG
    python docs/pictures.py docs/freshness.svg freshness   one of them: the README's
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from sumpwise import Circuit, Dipstick, FluidHistory, Job, Sheet, drain_refill, exchange, plan
from sumpwise.plots import plot_balance, plot_freshness, plot_level, plot_mean_age, plot_methods

SHOWN = 2.0
"""Half-width of the bands, in standard uncertainties."""

Drawing = tuple[Callable[..., str], dict[str, Any]]
"""What draws a picture for a description, and the numbers it shows."""
_demo: list[Sheet] = []


def demo() -> Sheet:
    """The sheet of the demo job, planned once."""
    if not _demo:
        _demo.append(plan(Job.demo()))
    return _demo[0]


def _band(values: list[dict[str, float]]) -> tuple[list[float], list[float]]:
    best = [(v["value"], SHOWN * v["standard_uncertainty"]) for v in values]
    return [max(0.0, b - u) for b, u in best], [min(1.0, b + u) for b, u in best]


def freshness() -> Drawing:
    """Inside and outlet against litres, as the demo's sheet gives them."""
    bursts = demo().section("steps").data["bursts"]
    inside, outlet = ([b[key] for b in bursts] for key in ("resident_fresh", "outlet_fresh"))
    numbers = {
        "poured": [round(b["poured"], 2) for b in bursts],
        "inside": [round(v["value"], 3) for v in inside],
        "outlet": [round(v["value"], 3) for v in outlet],
    }
    draw = partial(
        plot_freshness,
        [b["poured"] for b in bursts], [v["value"] for v in inside], [v["value"] for v in outlet], _band(inside), _band(outlet),
        target=0.75, title="Example wagon: after each burst through the cooler line",
    )  # fmt: skip
    return draw, numbers


def level() -> Drawing:
    """The stick of the demo against temperature, with what was read."""
    stick = Dipstick("0.42 L", "13 mm", "8.85 L", "847 kg/m³", "82-92 °C", resolution="1 mm")
    degrees = list(range(20, 105, 5))
    expected = [stick.predict("3.5 mm", "86 °C", f"{t} °C").m_as("mm") for t in degrees]
    lines = [value.nominal_value for value in expected]
    spread = [SHOWN * value.std_dev for value in expected]
    band = ([y - u for y, u in zip(lines, spread, strict=True)], [y + u for y, u in zip(lines, spread, strict=True)])
    draw = partial(plot_level, degrees, lines, (82, 92), 13, band, ([61, 86], [-2, 3.5]), title="One fill, read at any temperature")
    return draw, {"degrees": degrees, "millimetres": [round(y, 2) for y in lines]}


def balance() -> Drawing:
    """The balance of the demo's log as a waterfall of its causes, down to what nothing explains."""
    data = demo().section("balance").data
    causes = [row["cause"] for row in data["causes"]]
    litres = [row["litres"] for row in data["causes"]]
    draw = partial(
        plot_balance,
        causes, litres, data["rest"]["standard_uncertainty"], total="unexplained",
        title="Example wagon: poured less drained, before the trim",
    )  # fmt: skip
    return draw, {"causes": causes, "litres": [round(x, 3) for x in litres]}


RHYTHMS: dict[str, list[tuple[float, float]]] = {
    "nothing": [],
    "drain every second year": [(at, 0.375) for at in (0, 2, 4, 6, 8)],
    "drain every year": [(at, 0.375) for at in range(10)],
    "exchange now and at five years": [(0, 0.77), (5, 0.77)],
    "exchange now, then drains": [(0, 0.77), (2.5, 0.375), (5, 0.375), (7.5, 0.375)],
}
"""Name -> (year, share of the fill that is replaced); the demo's shares."""


def ages() -> Drawing:
    """Mean age of a nine-year-old fill over ten years, for five rhythms; a change is a drop between two equal years."""
    changes = {float(at) for rhythm in RHYTHMS.values() for at, _ in rhythm}
    years = sorted([*changes, *({0.5 * i for i in range(21)} | changes)])
    series: dict[str, list[float]] = {}
    for name, rhythm in RHYTHMS.items():
        series[name] = []
        for i, year in enumerate(years):
            just_after = i > 0 and years[i - 1] == year
            history = FluidHistory("-9 y")
            for at, share in rhythm:
                if at < year or (at == year and just_after):
                    history = history.replace(share, f"{at} y")
            series[name].append(history.mean_age(f"{year} y").m_as("year"))
    draw = partial(plot_mean_age, years, series, title="A nine-year-old fill over the next ten years")
    return draw, {name: round(values[-1], 2) for name, values in series.items()}


def methods() -> Drawing:
    """Freshness inside against litres for the ways to renew 8.85 L."""
    drains = [round(3.3 * i, 1) for i in range(1, 7)]
    litres = sorted([*({0.5 * i for i in range(41)} | {8.85, *drains}), *drains])
    wagon = Circuit(
        "3.9 L", "2.45 L", "0.62 L", "0.83 L", "1.05 L", "1.6 L", bypass=0.35, clutch_circulation=0.25, pocket_circulation=0.017
    )

    def burst_by_burst(volume: float) -> float:
        now, left = wagon, volume
        while left > 1e-9:
            step = min(1.25, left)
            now, left = now.pump(f"{step} L").pour(f"{step} L"), left - step
        return float(now.resident)

    series = {
        "machine, nothing mixed (a limit)": [min(1.0, q / 8.85) for q in litres],
        "machine, four stirred tanks": [float(exchange(f"{q} L", "8.85 L", tanks=4).resident) for q in litres],
        "machine, one stirred tank": [float(exchange(f"{q} L", "8.85 L").resident) for q in litres],
        "bursts through the cooler line": [burst_by_burst(q) for q in litres],
        "drains of 3.3 L, a drive after each": [
            drain_refill("3.3 L", "8.85 L", times=sum(d < q or (d == q and litres[i - 1] == q) for d in drains))
            for i, q in enumerate(litres)
        ],
    }
    draw = partial(plot_methods, litres, series, title="What the litres buy: a fill of 8.85 L")
    return draw, {name: round(values[-1], 3) for name, values in series.items()}


PICTURES: dict[str, Callable[[], Drawing]] = {
    "freshness": freshness, "level": level, "balance": balance, "ages": ages, "methods": methods,
}  # fmt: skip


def svg(name: str) -> str:
    """One picture as SVG, the same to the byte every time it is drawn; its description holds the numbers it shows."""
    draw, numbers = PICTURES[name]()
    return draw(description=json.dumps(numbers, ensure_ascii=False))


def write(folder: Path) -> None:
    """Every picture into a folder, replacing only what changed."""
    folder.mkdir(parents=True, exist_ok=True)
    for name in PICTURES:
        path, text = folder / f"{name}.svg", svg(name)
        if not path.exists() or path.read_text(encoding="utf-8") != text:
            path.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    target = Path(sys.argv[1])
    if len(sys.argv) > 2:
        target.write_text(svg(sys.argv[2]), encoding="utf-8")
    else:
        write(target)
