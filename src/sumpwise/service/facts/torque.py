"""Each bolt with the safe setting of this wrench, including its adapter."""

from __future__ import annotations

from math import hypot, inf, sqrt
from typing import TYPE_CHECKING, Any, TypeAlias

from sumpwise.errors import RangeError
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import inside
from sumpwise.service.facts.fact import CAUTION, Amount, Fact, Name, Part, Share, Table, Value, Window, Word, Written, line, stated
from sumpwise.service.facts.phrases import chance
from sumpwise.service.facts.refusals import refused
from sumpwise.service.render.figures import plain
from sumpwise.torque import GUARANTEED, applied_torque, missed, setting_band, wrench_setting
from sumpwise.uncertainty import nominal, source

if TYPE_CHECKING:
    from sumpwise.service.case import Case


Found: TypeAlias = tuple[Value, dict[str, Any], list[Fact]]
"""The setting of the wrench, the numbers behind it, and what to say about it."""
ROUNDED = 1e-9
"""Rounding error, as a share, of a torque that was written in another unit."""
EVEN = 5e-4
"""An adapter that changes the setting by a smaller share changes nothing that a wrench shows."""


def tightening(case: Case) -> Part:
    """Torque, window and setting of every bolt."""
    part = Part("torque")
    bolts = _bolts(case)
    if not bolts:
        part.facts.append(line("torque.no_bolts"))
        return part
    part.facts.append(line("torque.makers"))
    rows: list[list[Value]] = []
    data = []
    for text, bolt, (setting, entry, facts) in bolts:
        part.facts += facts
        rows.append([Name(text["name"]), Written(text["torque"], "torque"), _limits(text), setting])
        data.append({"name": text["name"], "torque": plain(bolt["torque"], "N·m"), **entry})
    part.table = Table(tuple(f"torque.column.{name}" for name in ("bolt", "torque", "window", "setting")), rows)
    part.data = {"bolts": data, "done": not case.method.planned and case.agreement is None}
    return part


def settings(case: Case) -> list[tuple[Name, Written, Value]]:
    """Each bolt, its torque, and the setting of the wrench."""
    return [(Name(text["name"]), Written(text["torque"], "torque"), setting) for text, _, (setting, _, _) in _bolts(case)]


def _bolts(case: Case) -> list[tuple[dict[str, Any], dict[str, Any], Found]]:
    """Each bolt as written and as read, with its setting."""

    def work() -> list[tuple[dict[str, Any], dict[str, Any], Found]]:
        bolts = zip(case.job.written("bolt"), case.job.entries("bolt"), strict=True)
        return [(text, bolt, _setting(case, text["name"], bolt)) for text, bolt in bolts]

    return case.once("bolts", work)


def _limits(text: dict[str, Any]) -> Value:
    return Written(text["window"], "torque") if "window" in text else Word("torque.no_window")


def _setting(case: Case, name: str, bolt: dict[str, Any]) -> Found:
    job, nothing = case.job, {"setting": None}
    if not job.has("wrench", "maximum"):
        return Word("torque.no_wrench"), nothing, []
    wanted = nominal(bolt["torque"])
    low, high = map(nominal, bolt.get("window", (0.0, inf)))
    most = nominal(job.value("wrench", "maximum"))
    least = max(nominal(case.ask("wrench", "minimum")), GUARANTEED * most)
    lever: dict[str, Any] = {}
    aim = unadjusted = wanted
    if job.has("wrench", "length", "adapter"):
        lever = {
            "wrench_length": inside(nominal(job.value("wrench", "length")), "length"),
            "adapter_length": inside(nominal(job.value("wrench", "adapter")), "length"),
            "angle": inside(nominal(case.ask("wrench", "angle")), "angle"),
        }
        aim, unadjusted = (number_in(turn(inside(wanted, "torque"), **lever), "N·m") for turn in (wrench_setting, applied_torque))
    says: dict[str, Value] = {"bolt": Name(name), "setting": _torque(aim)}
    if lever:
        says["adapter"] = Written(job.text("wrench", "adapter"), "length")
    how = "_adapter" if lever else ""
    compared = says | {"setting": Amount("torque", aim, main=True), "least": Amount("torque", least, main=True)}
    unable = Word("torque.not_this_wrench")
    band = None
    if high < inf:
        try:
            band = setting_band(inside(low, "torque"), inside(high, "torque"), case.ask("wrench", "deviation"), **lever)
        except RangeError as error:
            return unable, nothing, [line("torque.no_band", CAUTION, bolt=Name(name), reason=refused(error))]
    if aim < least * (1 - ROUNDED):
        return unable, nothing, [line(f"torque.too_small{how}", CAUTION, **compared)]
    if aim > most:
        return unable, nothing, [line(f"torque.too_large{how}", CAUTION, most=Written(job.text("wrench", "maximum"), "torque"), **says)]
    lower, upper = map(nominal, (number_in(band.lower, "N·m"), number_in(band.upper, "N·m"))) if band else (aim, aim)
    lower, upper = max(lower, least), min(upper, most)
    entry: dict[str, Any] = {"setting": {"lower": plain(lower, "N·m"), "upper": plain(upper, "N·m")}}
    off, again = (nominal(case.ask("wrench", key)) for key in ("deviation", "repeatability"))
    applied = source(wanted, wanted * hypot(off / sqrt(3), again), name="torque at the bolt")
    entry["applied"] = plain(applied, "N·m")
    facts = []
    if lever and abs(aim / wanted - 1) < EVEN:
        facts.append(line("torque.adapter_square", bolt=Name(name), adapter=says["adapter"]))
        entry["with_adapter"] = plain(aim, "N·m")
    elif lever:
        limit = Word("torque.over" if unadjusted > high else "torque.under" if unadjusted < low else "torque.within")
        facts.append(line("torque.with_adapter", torque=_torque(wanted), unadjusted=_torque(unadjusted), limit=limit, **says))
        entry["with_adapter"] = plain(aim, "N·m")
    scale = job.text("wrench", "graduation")
    says = {"bolt": Name(name), "applied": Amount("torque", applied, main=True), "off": stated(off), "again": Share(again, 1)}
    if band:
        entry["outside_window"] = missed(low / wanted - 1, high / wanted - 1, off, again)
        facts.append(line("torque.applied", chance=chance(entry["outside_window"]), **says))
        return Window("torque", lower, upper, scale), entry, facts
    facts.append(line("torque.one_figure", **says))
    near = 0.5 * nominal(job.value("wrench", "graduation")) if scale else 0.0
    return Window("torque", aim - near, aim + near, scale) if scale else _torque(aim), entry, facts


def _torque(value: float) -> Amount:
    return Amount("torque", value)
