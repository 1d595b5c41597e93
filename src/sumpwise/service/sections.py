"""The sections of a sheet that look ahead: what to buy, the methods, the steps, torque, level."""

from __future__ import annotations

from math import ceil, floor, hypot, sqrt
from typing import Any

from sumpwise._uncertain import nominal, source, standard
from sumpwise.buying.packs import cheapest_packs
from sumpwise.buying.quotes import check_claim, cost_per_point
from sumpwise.errors import RangeError, SumpwiseError
from sumpwise.filling.bursts import burst_plan
from sumpwise.filling.pouring import pour_rate
from sumpwise.fluid.viscosity import viscosity_at
from sumpwise.quantities import notation
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.asking import convert, quantity
from sumpwise.quantities.boundary import answer
from sumpwise.quantities.rounding import rounded, rounded_inward
from sumpwise.quantities.spans import Span
from sumpwise.service.cautions import CAUTIONS, FIRST, STOP_SIGNS
from sumpwise.service.figures import figure, number, percent, plain
from sumpwise.service.job import Job
from sumpwise.service.methods import NAMES, Comparison, MethodResult
from sumpwise.service.sheet import Section
from sumpwise.service.vehicle import (
    FLOW,
    REACTION,
    circuit_of,
    currency_of,
    drained_and_refilled,
    reserve_of,
    run_of_bursts,
    seconds_to_air,
    total_of,
)
from sumpwise.torque import applied_torque, permissible_deviation, setting_band, wrench_setting

US_TORQUES = ("lbf·ft", "lbf·in")
NEED_DOUBT = 0.03
"""Relative standard uncertainty of a need when the job states none."""


def litres(value: Any) -> Any:
    """Internal litres as a Quantity."""
    return answer(value, "volume")


def chosen(job: Job, comparison: Comparison) -> str:
    """Key of the method to plan: the one the job names if it can be done, else the cheapest that meets the target, else the best."""
    possible = _possible(comparison)
    named, target = str(job.value("target", "method")), nominal(job.value("target", "fresh", 0.0))
    if named in possible or not possible:
        return named if possible else "nothing"
    able = [m for m in possible.values() if nominal(m.fresh) >= target]
    best = min(able, key=lambda m: (nominal(m.cost), m.key)) if able else max(possible.values(), key=lambda m: (nominal(m.fresh), m.key))
    return best.key


def _possible(comparison: Comparison) -> dict[str, MethodResult]:
    """The methods that can be planned, by key."""
    return {m.key: m for m in comparison.methods if not m.impossible and m.key not in ("nothing", "machine plug")}


def buying(job: Job, comparison: Comparison, key: str) -> Section:
    """What to buy for the chosen method, and what a smaller or larger purchase would mean."""
    method = comparison[key]
    parts = [(f"{method.name}", nominal(method.volume.magnitude))]
    if key == "bursts":
        count, burst = job.value("exchange", "bursts"), nominal(job.value("exchange", "burst"))
        refill = nominal(job.value("exchange", "refill", 0.0)) or parts[0][1] - count * burst - nominal(job.value("exchange", "trim", 0.0))
        parts = [("refill after plug, pan and filter", refill), (f"{count} bursts of {number(burst, 2)} L", count * burst)]
        if job.has("exchange", "trim"):
            parts.append(("trim", nominal(job.value("exchange", "trim"))))
    parts += [(c["name"], nominal(c["volume"])) for c in job.entries("component")]
    need = sum(v for _, v in parts)
    stated = job.value("shopping", "need_uncertainty")
    doubt = hypot(NEED_DOUBT * need, standard(method.volume.magnitude)) if stated is None else nominal(stated)
    uncertain_need = source(need, doubt, name="need") if doubt else need
    section = Section("buy", "What to buy", columns=["for", "litres", "US qt"])
    section.rows = [[name, number(v, 2), number(convert(litres(v), "US qt").magnitude, 2)] for name, v in parts]
    section.rows.append(["need", figure(uncertain_need, ""), figure(convert(litres(uncertain_need), "US qt").magnitude, "")])
    section.data = {"need": plain(uncertain_need, "L"), "parts": [{"name": n, "litres": v} for n, v in parts]}
    packs = job.entries("pack")
    if not packs:
        section.lines.append("The job lists no packs, so nothing is priced.")
        return section
    currency = currency_of(job)
    shelf = [(litres(nominal(p["volume"])), p["price"], p.get("name") or f"{number(p['volume'], 1)} L") for p in packs]
    risk = job.value("shopping", "risk", 0.05)
    buy = cheapest_packs(shelf, litres(uncertain_need), risk=risk, currency=currency)
    listed = " + ".join(f"{n} × {name}" for name, n in buy.packs.items())
    section.lines.append(
        f"Buy **{listed}**: {number(nominal(buy.volume.magnitude), 1)} L for **{buy.cost:.2f} {currency}**. "
        f"It runs short with {_chance(buy.probability_short)}; {figure(buy.left_over.magnitude, 'L', 1)} is left over."
    )
    bare = cheapest_packs(shelf, litres(need))
    if bare.cost < buy.cost:
        short = _short(nominal(bare.volume.magnitude), need, doubt)
        section.lines.append(
            f"{bare}, {number(nominal(bare.volume.magnitude), 1)} L, would do on average but runs short with {_chance(short)}."
        )
    if buy.next_up is not None and buy.price_per_extra_litre is not None:
        section.lines.append(
            f"The next size up is {buy.next_up}: {number(nominal(buy.next_up.volume.magnitude), 1)} L, "
            f"{buy.price_per_extra_litre:.2f} {currency} for each litre more."
        )
    section.data |= {
        "packs": buy.packs, "cost": buy.cost, "currency": currency, "volume": plain(nominal(buy.volume.magnitude), "L"),
        "probability_short": buy.probability_short, "left_over": plain(buy.left_over.magnitude, "L"),
    }  # fmt: skip
    return section


def _short(have: float, need: float, doubt: float) -> float:
    from math import erfc

    return 0.5 * erfc((have - need) / doubt / sqrt(2)) if doubt else float(have < need)


def _chance(p: float) -> str:
    return "a chance under 0.1 %" if p < 0.001 else f"a chance of {percent(p, 1)}"


def comparing(job: Job, comparison: Comparison, key: str) -> Section:
    """The methods side by side, today; first of all why the method that the job names is not the one planned."""
    columns, rows = comparison.now()
    target, named = job.value("target", "fresh"), job.value("target", "method", key)
    why = next((m.impossible for m in comparison.methods if m.key == named), "the job states no burst and bursts under [exchange]")
    lines = [f"**Not as the job asks**: {NAMES[named]}: {why}."] if named != key else []
    lines += [
        _aimed(comparison, key, target),
        "Fresh inside is the share of new fluid in the whole fill, not what the hose shows and never the share of life left. "
        "± is one standard uncertainty, about two chances in three. Cost counts the fluid used at the price of the cheapest litre, "
        "washers and filters; what to buy comes in whole packs.",
    ]
    outside = comparison[key].outside_band
    if outside is not None and outside > 0.001:
        lines.append(f"Before the stick corrects it the level ends outside the marks with {_chance(outside)}.")
    return Section("methods", "Methods side by side", lines, columns, rows, comparison.to_dict())


def _aimed(comparison: Comparison, key: str, target: Any) -> str:
    """The method planned, and whether it reaches the target; if not, what would, or the best that can be had."""
    planned = comparison[key]
    if target is None:
        return f"Chosen: **{NAMES[key]}**."
    wanted = nominal(target)
    if nominal(planned.fresh) >= wanted:
        return f"Chosen: **{NAMES[key]}**, for a target of {percent(target)} fresh inside."
    others = _possible(comparison).values()
    able = [m for m in others if nominal(m.fresh) >= wanted]
    best = max(others, key=lambda m: nominal(m.fresh), default=planned)
    bound = "(plug flow is a bound, not a method)"
    if able:
        other = min(able, key=lambda m: (nominal(m.cost), m.key))
        way = f"{other.name} would reach it, with {percent(other.fresh)}"
    elif best.key == key:
        way = f"no method here reaches it, and this is the best that can be had {bound}"
    else:
        way = f"no method here reaches it; the best that can be had is {best.name}, {percent(best.fresh)} {bound}"
    return (
        f"**The target is missed**: {NAMES[key]}, which is planned, comes to {percent(planned.fresh)} fresh inside, "
        f"not {percent(target)}; {way}."
    )


def over_years(comparison: Comparison) -> Section:
    """The methods over ten years, repeated at their rhythm."""
    columns, rows = comparison.over_years()
    lines = [
        "Mean age of the fill averaged over ten years, each method repeated at its rhythm. Unbeaten: no other is better on age, "
        "fluid and money at once. An age is never a statement about life left."
    ]
    return Section("years", "Over ten years", lines, columns, rows)


def quoted(job: Job) -> Section | None:
    """Whether a shop's quote can be true, and what it buys; nothing without one."""
    if not job.has("quote", "claim", "volume"):
        return None
    total, _ = total_of(job)
    check = check_claim(job.value("quote", "claim"), litres(nominal(job.value("quote", "volume"))), litres(total))
    claimed = percent(nominal(job.value("quote", "claim")))
    lines = [
        f"A claim of {claimed} new with {job.text('quote', 'volume')} is **{check.verdict}**: "
        f"fully stirred it makes {percent(check.stirred)}, at the very most {percent(check.plug)}."
    ]
    if check.stirred_volume is not None:
        lines.append(f"Fully stirred, {claimed} new takes {figure(number_in(check.stirred_volume, 'L'), 'L', 1)}.")
    if job.has("quote", "price"):
        each = cost_per_point(job.value("quote", "price"), check.stirred)
        currency = currency_of(job)
        lines.append(f"At the usual stirring the quote costs {figure(nominal(each), '', 1)} {currency} a point.")
    data = {"verdict": check.verdict, "stirred": plain(check.stirred, "1"), "plug": plain(check.plug, "1"), "tanks": check.tanks}
    return Section("quote", "The shop's quote", lines, data=data)


def timed(job: Job) -> Section | None:
    """The timetable of the bursts, alone and with a helper; where it cannot be made the steps say why."""
    plan = _burst_plan(job)
    if plan is None or isinstance(plan, str):
        return None
    helped = plan.helped
    rows = [
        [_clock(s.start), s.action, number(number_in(s.volume, "L"), 2) if s.action != "change" else "", number(number_in(s.pail, "L"), 2)]
        for s in plan.alone.steps
        if s.action != "change"
    ]
    lines = [
        f"Alone, {_clock(plan.alone.total)} in all, half a minute each way between engine and funnel. "
        f"With a helper who pours while the pump runs, {_clock(helped.total)}: "
        f"bursts at {', '.join(_clock(s.start) for s in helped.steps if s.action == 'burst')}. "
        "Times are minutes and seconds from the first start."
    ]
    alone, both = number_in(plan.alone.total, "min"), number_in(helped.total, "min")
    data = {"alone_minutes": alone, "helped_minutes": both, "bursts": plan.alone.bursts}
    return Section("timetable", "Timetable of the bursts", lines, ["start", "what", "litres", "in the pail"], rows, data)


def _clock(time: Any) -> str:
    seconds = round(number_in(time, "s"))
    return f"{seconds // 60}:{seconds % 60:02d}"


def stepwise(job: Job, key: str) -> Section:
    """The chosen method step by step, with the freshness after every burst."""
    section = Section("steps", f"Step by step: {NAMES[key]}")
    plug = job.value("capacity", "plug_drain")
    tight = "torque (below)" if job.entries("bolt") else "torque by the maker's service information"
    steps = ["Read the level the way the maker says and write it down with the temperature; look at the fluid for the stop signs below."]
    if key in ("drain", "drains", "yearly", "drain and machine"):
        times = 3 if key == "drains" else 1
        steps += [
            f"Drain the plug into the pail, expect {figure(plug, 'L')}; read the pail and the temperature of what is in it.",
            f"Fit the plug with a new washer at its {tight}, pour back as much as came out, compared at 20 °C.",
            "Start, move through the gears, drive until warm, check the level in its window."
            + (" Three times in all." if times == 3 else ""),
        ]
    if key in ("machine stirred", "drain and machine"):
        steps.append("Have the exchange done; ask how many litres it pushes, and check the level yourself in the maker's window.")
    if key == "bursts":
        _burst_steps(job, steps, section, tight)
    section.lines = section.lines + [f"{i}. {step}" for i, step in enumerate(steps, 1)]
    return section


def _burst_steps(job: Job, steps: list[str], section: Section, tight: str) -> None:
    plug, pan = job.value("capacity", "plug_drain"), job.value("capacity", "pan_and_filter", 0.0)
    refill = job.value("exchange", "refill", plug + pan)
    burst, flow = job.value("exchange", "burst"), job.value("exchange", "flow", FLOW)
    circuit, _ = circuit_of(job, total_of(job)[0])
    bursts, first = run_of_bursts(job, circuit)
    steps += [
        f"Drain the plug into the pail, expect {figure(plug, 'L')}; pan and filter bring about {figure(pan, 'L')} more. "
        "Read, write down, empty the pail.",
        f"New filter, clean pan and magnet; bolts and plug at their {tight}.",
        f"Pour {figure(refill, 'L')} with the engine off.",
        f"Open the return line into the pail. Run the engine for one burst of {figure(nominal(burst), 'L')}, "
        f"about {floor(nominal(burst) / nominal(flow) * 60 + 1e-9)} s at {number(flow, 2)} L/min, stop, pour back what came out. "
        f"{len(bursts)} times.",
        "Line back on, through the gears, a drive, then the level in its window; add in steps of at most a third of the band.",
    ]
    section.columns = ["after", "poured in all, L", "old inside", "old at the outlet", "pail, L"]
    poured, pail = nominal(refill), 0.0
    section.rows = [["refill", number(poured, 2), percent(1 - first.resident), "–", number(pail, 2)]]
    data = []
    for i, (pumped, after) in enumerate(bursts, 1):
        poured, pail = poured + nominal(burst), pail + nominal(burst)
        section.rows.append(
            [f"burst {i} and pour", number(poured, 2), percent(1 - after.resident), percent(1 - pumped.outlet), number(pail, 2)]
        )
        data.append({"poured": poured, "resident_fresh": plain(after.resident, "1"), "outlet_fresh": plain(pumped.outlet, "1")})
    section.data = {"bursts": data, "after_refill": plain(first.resident, "1")}
    if bursts:
        shown, inside = 1 - nominal(bursts[-1][0].outlet), 1 - nominal(bursts[-1][1].resident)
        section.lines.append(
            f"The outlet runs ahead of the inside: at the last burst the hose shows about {percent(shown)} old while "
            f"{percent(inside)} stays inside. A drive then darkens the fluid again as the pockets give up what they held."
        )
    out, refilled = drained_and_refilled(job)
    short = f", less the {number(out - refilled, 2)} L not poured back" if out - refilled >= 0.005 else ""
    section.lines.append(
        f"The pump draws air after about {floor(seconds_to_air(job, circuit))} s of running with nothing poured in "
        f"(reserve {number(reserve_of(job, circuit), 1)} L below the start level{short}; 2 s to react)."
    )
    timetable = _burst_plan(job)
    if isinstance(timetable, str):
        section.lines.append(f"No timetable can be made: {timetable}.")
    rate = _filler_rate(job)
    if rate is not None:
        section.lines.append(
            f"Down this filler tube the cold fluid runs at about {number(nominal(number_in(rate, 'L/min')), 1)} L/min "
            f"(venting {job.value('filler', 'venting', 0.7):g} of the tube's own rate)."
        )


def _filler_rate(job: Job) -> Any:
    """How fast cold fluid runs down the filler tube, or nothing."""
    if not (job.has("filler", "bore", "length", "head") and job.has("fluid", "viscosity_40", "viscosity_100")):
        return None
    thick = viscosity_at(
        answer(nominal(job.value("fluid", "temperature")), "temperature"), answer(nominal(job.value("fluid", "viscosity_40")), "viscosity"),
        answer(nominal(job.value("fluid", "viscosity_100")), "viscosity"),
    )  # fmt: skip
    bore, length, head = (answer(nominal(job.value("filler", k)), "length") for k in ("bore", "length", "head"))
    return pour_rate(bore, length, head, thick, venting=job.value("filler", "venting", 0.7))


def _burst_plan(job: Job) -> Any:
    """The timetable of the job's bursts, why it cannot be made, or nothing where there are no bursts."""
    if not job.value("exchange", "bursts"):
        return None
    rate = _filler_rate(job)
    if rate is None:
        return "the job states no filler tube (bore, length, head) or no viscosities of the fluid"
    burst = nominal(job.value("exchange", "burst"))
    pail = next((nominal(v["holds"]) for v in job.entries("vessel") if "holds" in v), 9.0)
    out, refill = drained_and_refilled(job)
    circuit, _ = circuit_of(job, total_of(job)[0])
    try:
        return burst_plan(
            litres(job.value("exchange", "bursts") * burst), answer(nominal(job.value("exchange", "flow", FLOW)), "flow"), rate,
            litres(reserve_of(job, circuit) + refill - out), litres(pail), burst=litres(burst), reaction=REACTION,
        )  # fmt: skip
    except SumpwiseError as error:
        return str(error)


def tightening(job: Job) -> Section:
    """Torque in both units with the safe setting of this wrench."""
    section = Section("torque", "How tight", columns=["bolt", "torque", "window", "in lbf·ft", "set the wrench to"])
    bolts = job.written("bolt")
    if not bolts:
        section.lines.append("The job lists no bolts; take torques from the maker's service information.")
        return section
    data = []
    for written, bolt in zip(bolts, job.entries("bolt"), strict=True):
        inside = rounded_inward(written["window"], "lbf·ft")
        setting, entry = _setting(job, written, bolt, section.lines)
        section.rows.append(
            [written["name"], written["torque"], written["window"], f"{rounded(written['torque'], 'lbf·ft').text} ({inside.text})", setting]
        )
        data.append({"name": written["name"], "torque": plain(bolt["torque"], "N·m"), **entry})
    section.lines.insert(
        0,
        "lbf·ft is pound-force feet. Torques are the maker's, copied from the job; the setting keeps every true torque inside the window.",
    )
    section.data = {"bolts": data}
    return section


def _setting(job: Job, written: dict[str, Any], bolt: dict[str, Any], lines: list[str]) -> tuple[str, dict[str, Any]]:
    """What the wrench is set to, adapter included: the band as text, and the numbers behind it."""
    maximum = job.value("wrench", "maximum")
    if maximum is None:
        return "no wrench in the job", {"setting": None}
    unit = notation.read_span(written["window"], "torque").upper.unit.symbol
    unit = unit if unit in US_TORQUES else "N·m"
    low, high = (answer(limit, "torque") for limit in bolt["window"])
    most, wanted = answer(nominal(maximum), "torque"), answer(nominal(bolt["torque"]), "torque")
    least = answer(max(nominal(job.value("wrench", "minimum", 0.0)), 0.2 * nominal(maximum)), "torque")
    deviation = job.value("wrench", "deviation", permissible_deviation(most))
    lever: dict[str, Any] = {}
    name, aim, unadjusted = written["name"], wanted, wanted
    if job.has("wrench", "length", "adapter"):
        lever = {
            "wrench_length": answer(nominal(job.value("wrench", "length")), "length"),
            "adapter_length": answer(nominal(job.value("wrench", "adapter")), "length"),
            "angle": answer(nominal(job.value("wrench", "angle", 0.0)), "angle"),
        }
        aim, unadjusted = wrench_setting(wanted, **lever), applied_torque(wanted, **lever)
        name += f" with the {number(job.value('wrench', 'adapter'), 0)} mm adapter, set to {_shown(aim, unit)}"
    try:
        band = setting_band(low, high, deviation, **lever)
    except RangeError as error:
        lines.append(f"{written['name']}: {error.problem}; {error.hint}.")
        return "not with this wrench", {"setting": None}
    if aim < least:
        lines.append(
            f"{name}: below {_shown(least, unit)}, a fifth of full scale or the wrench's own minimum, "
            "this wrench guarantees nothing: use another."
        )
        return "not with this wrench", {"setting": None}
    if aim > most:
        lines.append(f"{name}: above the full scale of this wrench, {job.text('wrench', 'maximum')}.")
        return "not with this wrench", {"setting": None}
    band = Span(max(band.lower, least), min(band.upper, most))
    entry = {"setting": {"lower": plain(number_in(band.lower, "N·m"), "N·m"), "upper": plain(number_in(band.upper, "N·m"), "N·m")}}
    if lever:
        over = ", over the limit" if unadjusted > high else ", under the limit" if unadjusted < low else ""
        lines.append(
            f"{name}: {_shown(wanted, unit)} at the bolt, and the band below is for this adapter too; "
            f"an unadjusted setting would apply {_shown(unadjusted, unit)}{over}."
        )
        entry["with_adapter"] = plain(number_in(aim, "N·m"), "N·m")
    return _inward(band, unit), entry


def _shown(torque: Any, unit: str) -> str:
    """A torque in N·m, or in the US unit that the maker's window is written in with N·m behind it."""
    metric = f"{number(number_in(torque, 'N·m'), 1)} N·m"
    return metric if unit not in US_TORQUES else f"{number(convert(torque, unit).magnitude, 1)} {unit} ({metric})"


def _inward(band: Span, unit: str) -> str:
    """A band moved inward to tenths, which is what a wrench's scale shows; in a US unit with N·m behind it."""
    low, high = (nominal(convert(end, unit).magnitude) for end in (band.lower, band.upper))
    tenths = Span(*(quantity(f"{n / 10:.1f} {unit}") for n in (ceil(low * 10 - 1e-9), floor(high * 10 + 1e-9))))
    text = rounded_inward(tenths, unit).text
    return text if unit not in US_TORQUES else f"{text} ({_inward(band, 'N·m')})"


def stopping(job: Job) -> Section:
    """Stop signs: no number overrides them."""
    lines = [f"- **Stop: {sign}** – {meaning}." for sign, meaning in STOP_SIGNS.items()]
    return Section("stop", "Stop signs", ["Any one of these stops the work, whatever a number on this sheet says.", *lines])


def cautioning() -> Section:
    """The usual cautions."""
    return Section("cautions", "Cautions", [FIRST, *(f"- {c}" for c in CAUTIONS)])


def stopped(job: Job) -> Section | None:
    """What has been seen that stops the work, or nothing."""
    seen = [entry["seen"] for entry in job.entries("log") if "seen" in entry]
    hot = any(nominal(entry["temperature"]) >= 120 for entry in job.entries("log") if "temperature" in entry)
    if hot:
        seen.append("fluid at 120 °C or more")
    if not seen:
        return None
    lines = [f"- **Stop: {sign}** – {STOP_SIGNS[sign]}." for sign in dict.fromkeys(seen)]
    return Section("stopped", "STOP", lines, data={"seen": list(dict.fromkeys(seen))})
