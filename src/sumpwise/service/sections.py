"""The sections of a sheet that look ahead: what to buy, the methods, the steps, torque, level."""

from __future__ import annotations

from math import ceil, floor, hypot, sqrt
from typing import Any

from sumpwise._uncertain import nominal, source, standard
from sumpwise.buying.packs import cheapest_packs
from sumpwise.buying.quotes import check_claim, cost_per_point
from sumpwise.errors import RangeError
from sumpwise.quantities import notation
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.asking import convert, quantity
from sumpwise.quantities.boundary import answer
from sumpwise.quantities.rounding import rounded, rounded_inward
from sumpwise.quantities.spans import Span
from sumpwise.service.case import Case
from sumpwise.service.cautions import CAUTIONS, FIRST, STOP_SIGNS
from sumpwise.service.figures import figure, number, percent, plain
from sumpwise.service.methods.comparison import Comparison
from sumpwise.service.methods.registry import BY_KEY
from sumpwise.service.sheet import Section
from sumpwise.torque import applied_torque, setting_band, wrench_setting

US_TORQUES = ("lbf·ft", "lbf·in")


def litres(value: Any) -> Any:
    """Internal litres as a Quantity."""
    return answer(value, "volume")


def buying(case: Case) -> Section:
    """What to buy for the chosen method, and what a smaller or larger purchase would mean."""
    job, method = case.job, case.method
    parts = method.parts(case) + [(c["name"], nominal(c["volume"])) for c in job.entries("component")]
    need = sum(v for _, v in parts)
    doubt = nominal(case.ask("shopping", "need_uncertainty", base=need))
    if not case.has("shopping", "need_uncertainty"):
        doubt = hypot(doubt, standard(method.volume(case)))
    uncertain_need = source(need, doubt, name="need") if doubt else need
    section = Section("buy", "What to buy", columns=["for", "litres", "US qt"])
    section.rows = [[name, number(v, 2), number(convert(litres(v), "US qt").magnitude, 2)] for name, v in parts]
    section.rows.append(["need", figure(uncertain_need, ""), figure(convert(litres(uncertain_need), "US qt").magnitude, "")])
    section.data = {"need": plain(uncertain_need, "L"), "parts": [{"name": n, "litres": v} for n, v in parts]}
    packs = job.entries("pack")
    if not packs:
        section.lines.append("The job lists no packs, so nothing is priced.")
        return section
    currency = case.currency
    shelf = [(litres(nominal(p["volume"])), p["price"], p.get("name") or f"{number(p['volume'], 1)} L") for p in packs]
    buy = cheapest_packs(shelf, litres(uncertain_need), risk=case.ask("shopping", "risk"), currency=currency)
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


def comparing(case: Case) -> Section:
    """The methods side by side, today; first of all why the method that the job names is not the one planned."""
    columns, rows = case.comparison.now()
    lines = [f"**Not as the job asks**: {BY_KEY[case.job.value('target', 'method')].name}: {case.refused}."] if case.refused else []
    lines += [
        _aimed(case),
        "Fresh inside is the share of new fluid in the whole fill, not what the hose shows and never the share of life left. "
        "± is one standard uncertainty, about two chances in three. Cost counts the fluid used at the price of the cheapest litre, "
        "washers and filters; what to buy comes in whole packs.",
    ]
    outside = case.comparison[case.method.key].outside_band
    if outside is not None and outside > 0.001:
        lines.append(f"Before the stick corrects it the level ends outside the marks with {_chance(outside)}.")
    return Section("methods", "Methods side by side", lines, columns, rows, case.comparison.to_dict())


def _aimed(case: Case) -> str:
    """The method planned, and whether it reaches the target; if not, what would, or the best that can be had."""
    planned = case.comparison[case.method.key]
    if planned.probability is None:
        return f"Chosen: **{planned.name}**."
    target, asked = percent(case.target), percent(case.probability)
    if planned.meets_target:
        return f"Chosen: **{planned.name}**, for a target of {target} fresh inside with a probability of at least {asked}."
    best = max(case.possible.values(), key=lambda m: nominal(m.fresh), default=planned)
    bound = "(plug flow is a bound, not a method)"
    if case.able:
        other = min(case.able, key=lambda m: (nominal(m.cost), m.key))
        way = f"{other.name} would reach it, with {percent(other.fresh)}"
    elif best.key == planned.key:
        way = f"no method here reaches it, and this is the best that can be had {bound}"
    else:
        way = f"no method here reaches it; the best that can be had is {best.name}, {percent(best.fresh)} {bound}"
    comes = f"{planned.name}, which is planned, comes to {percent(planned.fresh)} fresh inside"
    if nominal(planned.fresh) < case.target:
        return f"**The target is missed**: {comes}, not {target}; {way}."
    sure = percent(min(planned.probability, case.probability - 0.01))
    return f"**The target is not sure**: {comes}, at least {target} only with a probability of {sure}, not {asked}; {way}."


def over_years(comparison: Comparison) -> Section:
    """The methods over ten years, repeated at their rhythm."""
    columns, rows = comparison.over_years()
    lines = [
        "Mean age of the fill averaged over ten years, each method repeated at its rhythm. Unbeaten: no other is better on age, "
        "fluid and money at once. An age is never a statement about life left."
    ]
    return Section("years", "Over ten years", lines, columns, rows)


def quoted(case: Case) -> Section | None:
    """Whether a shop's quote can be true, and what it buys; nothing without one."""
    job = case.job
    if not job.has("quote", "claim", "volume"):
        return None
    check = check_claim(job.value("quote", "claim"), litres(nominal(job.value("quote", "volume"))), litres(case.total))
    claimed = percent(nominal(job.value("quote", "claim")))
    lines = [
        f"A claim of {claimed} new with {job.text('quote', 'volume')} is **{check.verdict}**: "
        f"fully stirred it makes {percent(check.stirred)}, at the very most {percent(check.plug)}."
    ]
    if check.stirred_volume is not None:
        lines.append(f"Fully stirred, {claimed} new takes {figure(number_in(check.stirred_volume, 'L'), 'L', 1)}.")
    if job.has("quote", "price"):
        each = cost_per_point(job.value("quote", "price"), check.stirred)
        lines.append(f"At the usual stirring the quote costs {figure(nominal(each), '', 1)} {case.currency} a point.")
    data = {"verdict": check.verdict, "stirred": plain(check.stirred, "1"), "plug": plain(check.plug, "1"), "tanks": check.tanks}
    return Section("quote", "The shop's quote", lines, data=data)


def timed(case: Case) -> Section | None:
    """The timetable of the bursts, alone and with a helper; where it cannot be made the steps say why."""
    plan = case.timetable if case.method is BY_KEY["bursts"] else None
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


def stepwise(case: Case) -> Section:
    """The chosen method step by step; of bursts the freshness after each."""
    section = Section("steps", f"Step by step: {case.method.name}")
    if case.method is BY_KEY["bursts"]:
        _course(case, section)
    section.lines += [f"{i}. {step}" for i, step in enumerate(case.method.steps(case), 1)]
    return section


def _course(case: Case, section: Section) -> None:
    """The freshness inside and at the outlet along the bursts, and how long one may last."""
    section.columns = ["after", "poured in all, L", "old inside", "old at the outlet", "pail, L"]
    poured = pail = 0.0
    before, data = None, []
    for one, after in case.course(case.method):
        if one.kind == "pump":
            pail += nominal(one.volume)
            before = after
        if one.kind != "pour":
            continue
        poured += nominal(one.volume)
        name = f"burst {len(section.rows)} and pour" if section.rows else "refill"
        shown = percent(1 - before.outlet) if before else "–"
        section.rows.append([name, number(poured, 2), percent(1 - after.resident), shown, number(pail, 2)])
        if before is None:
            section.data["after_refill"] = plain(after.resident, "1")
        else:
            data.append({"poured": poured, "resident_fresh": plain(after.resident, "1"), "outlet_fresh": plain(before.outlet, "1")})
    section.data["bursts"] = data
    if before:
        seen, inside = 1 - nominal(before.outlet), 1 - nominal(after.resident)
        section.lines.append(
            f"The outlet runs ahead of the inside: at the last burst the hose shows about {percent(seen)} old while "
            f"{percent(inside)} stays inside. A drive then darkens the fluid again as the pockets give up what they held."
        )
    left = case.out - nominal(case.refill)
    short = f", less the {number(left, 2)} L not poured back" if left >= 0.005 else ""
    section.lines.append(
        f"The pump draws air after about {floor(case.seconds_to_air)} s of running with nothing poured in "
        f"(reserve {number(case.reserve, 1)} L below the start level{short}; {number_in(case.reaction, 's'):g} s to react)."
    )
    if isinstance(case.timetable, str):
        section.lines.append(f"No timetable can be made: {case.timetable}.")
    if case.filler_rate is not None:
        section.lines.append(
            f"Down this filler tube the cold fluid runs at about {number(nominal(number_in(case.filler_rate, 'L/min')), 1)} L/min "
            f"(venting {case.ask('filler', 'venting'):g} of the tube's own rate)."
        )


def tightening(case: Case) -> Section:
    """Torque in both units with the safe setting of this wrench."""
    job = case.job
    section = Section("torque", "How tight", columns=["bolt", "torque", "window", "in lbf·ft", "set the wrench to"])
    bolts = job.written("bolt")
    if not bolts:
        section.lines.append("The job lists no bolts; take torques from the maker's service information.")
        return section
    data = []
    for written, bolt in zip(bolts, job.entries("bolt"), strict=True):
        inside = rounded_inward(written["window"], "lbf·ft")
        setting, entry = _setting(case, written, bolt, section.lines)
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


def _setting(case: Case, written: dict[str, Any], bolt: dict[str, Any], lines: list[str]) -> tuple[str, dict[str, Any]]:
    """What the wrench is set to, adapter included: the band as text, and the numbers behind it."""
    job = case.job
    maximum = job.value("wrench", "maximum")
    if maximum is None:
        return "no wrench in the job", {"setting": None}
    unit = notation.read_span(written["window"], "torque").upper.unit.symbol
    unit = unit if unit in US_TORQUES else "N·m"
    low, high = (answer(limit, "torque") for limit in bolt["window"])
    most, wanted = answer(nominal(maximum), "torque"), answer(nominal(bolt["torque"]), "torque")
    least = answer(max(nominal(job.value("wrench", "minimum", 0.0)), 0.2 * nominal(maximum)), "torque")
    deviation = case.ask("wrench", "deviation")
    lever: dict[str, Any] = {}
    name, aim, unadjusted = written["name"], wanted, wanted
    if job.has("wrench", "length", "adapter"):
        lever = {
            "wrench_length": answer(nominal(job.value("wrench", "length")), "length"),
            "adapter_length": answer(nominal(job.value("wrench", "adapter")), "length"),
            "angle": answer(nominal(case.ask("wrench", "angle")), "angle"),
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


def stopping() -> Section:
    """Stop signs: no number overrides them."""
    lines = [f"- **Stop: {sign}** – {meaning}." for sign, meaning in STOP_SIGNS.items()]
    return Section("stop", "Stop signs", ["Any one of these stops the work, whatever a number on this sheet says.", *lines])


def cautioning() -> Section:
    """The usual cautions."""
    return Section("cautions", "Cautions", [FIRST, *(f"- {c}" for c in CAUTIONS)])


def stopped(case: Case) -> Section | None:
    """What has been seen that stops the work, or nothing."""
    if not case.halted:
        return None
    lines = [f"- **Stop: {sign}** – {STOP_SIGNS[sign]}." for sign in case.halted]
    return Section("stopped", "STOP", lines, data={"seen": list(case.halted)})
