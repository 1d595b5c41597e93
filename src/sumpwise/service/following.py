"""The job to start from at the next service: what the record knows about the vehicle, in place of guesses."""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Sequence
from math import floor, log10
from typing import TYPE_CHECKING, Any, NamedTuple

from sumpwise.errors import SumpwiseError
from sumpwise.quantities import notation
from sumpwise.quantities.units import SYMBOLS, Unit, by_symbol, internal_unit
from sumpwise.service.case import Case
from sumpwise.service.dates import YEAR, after, age_in_years, between
from sumpwise.service.job import Job
from sumpwise.service.learning import AT_LEAST, Known, bounded
from sumpwise.service.render.figures import number
from sumpwise.uncertainty import nominal, standard

if TYPE_CHECKING:
    from sumpwise.service.served import Service

LEARNED = (("capacity", "plug_drain"), ("capacity", "pan_and_filter"), ("exchange", "flow"), ("exchange", "reserve"))
"""Keys of a job that can be learned from a log, under their own names."""
LIKE = {"volume": "volume", "flow": "volume"}
"""Kind of a learned value -> the kind whose unit in the job it follows."""
FLOWS = {"US": "US qt/min", "imperial": "imp gal/min", "SI": "L/min", "": "L/min"}
"""System of the unit of a volume -> unit of a flow."""
NOTE = "from the service record"
ALIKE = 0.1
"""How far, as a share of the time, an entry "ago" may miss a recorded service: people write round numbers."""

Remarks = dict[tuple[str | int, ...], str]


class Renewal(NamedTuple):
    """A share of the fill that was replaced: minutes before the last service, and the entry for the next job."""

    ago: float
    share: Any
    entry: dict[str, Any]
    date: datetime.date | None


def changes(services: Sequence[Service]) -> list[Renewal]:
    """What the fill has been through, oldest first: the services of a record, and what their jobs say was done in between.

    What a job says about the time before the previous service is already in the record, and so is an entry that matches that service to
    within a tenth of the time.
    """
    found: list[Renewal] = []
    last, before = services[-1], None
    for service in services:
        case, since = Case(service.job), _since(service, last)
        gap = None if before is None else between(before.day, service.day)
        for entry, written in zip(service.job.entries("history"), service.job.written("history"), strict=True):
            ago = case.ago(entry)
            if gap is None or ago < gap * (1.0 if "date" in entry else 1.0 - ALIKE):
                found.append(Renewal(ago + since, entry["share"], dict(written), entry.get("date")))
        date = service.date
        entry = {} if date is None else {"date": date.isoformat()}
        found.append(Renewal(since, service.fresh, entry | {"share": _share(service.fresh), "note": NOTE}, date))
        before = service
    return sorted(found, key=lambda change: -change.ago)


def _since(service: Service, last: Service) -> float:
    """Minutes from one service to the last."""
    return 0.0 if service is last else between(service.day, last.day)


def first_age(services: Sequence[Service]) -> Any:
    """Minutes from when the fill was all new to the last service, according to the first service that knew."""
    return Case(services[0].job).ask("vehicle", "fluid_age") + _since(services[0], services[-1])


def due(services: Sequence[Service]) -> dict[str, str]:
    """When the interval is over: on what date, or how long after the service if its date is not known; and at what distance."""
    service = services[-1]
    job, found = service.job, {}
    if job.has("vehicle", "interval_time"):
        if service.date is None:
            found["time"] = f"{job.text('vehicle', 'interval_time')} from the service"
        else:
            found["date"] = after(service.date, nominal(job.value("vehicle", "interval_time"))).isoformat()
    if job.has("vehicle", "interval_distance", "distance"):
        at = nominal(job.value("vehicle", "distance")) + nominal(job.value("vehicle", "interval_distance"))
        found["distance"] = distance_in(at, unit_of(job.text("vehicle", "distance"), "length", job))
    return found


def distance_in(internal: float, unit: Unit) -> str:
    """An odometer reading, as a whole number with grouped digits."""
    return f"{internal / unit.factor:,.0f} {unit.symbol}".replace(",", " ")


def unit_of(text: str, kind: str, job: Job) -> Unit:
    """The unit that a value is written in, else the one that the job uses most for that kind, else the internal one."""
    for read in (notation.read, notation.read_span):
        try:
            found = read(text, kind)
        except SumpwiseError:
            continue
        unit: Unit = found.unit if isinstance(found, notation.Reading) else found.lower.unit
        return unit
    used = Counter(unit.symbol for unit in job.units if unit.kind == LIKE.get(kind, kind))
    if not used:
        return internal_unit(kind)
    commonest = by_symbol(max(used, key=lambda symbol: used[symbol]))
    return by_symbol(FLOWS[commonest.system]) if kind == "flow" else commonest


def following(
    services: Sequence[Service], learned: dict[str, Known], elapsed: float, date: datetime.date | None, distance: float | None
) -> tuple[dict[str, Any], Remarks]:
    """The inputs of the next job, without a log, and a comment for each value learned from the record.

    `elapsed` are the minutes since the last service; date and distance, in millimetres, are those of the next one, and left out if not
    known.
    """
    last = services[-1].job
    inputs, remarks = last.to_dict(), Remarks()
    inputs.pop("log", None)
    vehicle = inputs["vehicle"]
    vehicle.pop("date", None)
    vehicle.pop("distance", None)
    if date is not None:
        vehicle["date"] = date.isoformat()
    if distance is not None:
        vehicle["distance"] = distance_in(distance, unit_of(last.text("vehicle", "distance"), "length", last))
    for key in ("age", "fluid_age"):
        for service in services:
            if service.job.has("vehicle", key):
                vehicle[key] = _years(_rounded_up(service.job.value("vehicle", key) + _since(service, services[-1]) + elapsed))
                break
    inputs["history"] = [_entry(change, elapsed, date) for change in changes(services)]
    for table, key in LEARNED:
        if key in learned:
            _write(inputs, remarks, table, key, learned[key], last)
    if AT_LEAST in learned and "reserve" not in learned:
        least = bounded(learned[AT_LEAST])
        if nominal(Case(last).ask("exchange", "reserve")) < least:
            known = learned[AT_LEAST] | {"value": least, "standard_uncertainty": 0.0}
            _write(inputs, remarks, "exchange", "reserve", known, last)
    for i, vessel in enumerate(inputs.get("vessel", [])):
        weighings = [service.learned.get(f"{vessel['name']} scale") for service in services]
        if len({(one["value"], one["standard_uncertainty"]) for one in weighings if one}) > 1:
            known = learned[f"{vessel['name']} scale"]
            vessel["reads_high"] = f"{number(100 * (1 / known['value'] - 1), 2)} %"
            vessel["scale_uncertainty"] = f"{number(100 * known['standard_uncertainty'], 2)} %"
            remarks["vessel", i] = f"scale {known['from']}"
    return inputs, remarks


def _entry(change: Renewal, elapsed: float, date: datetime.date | None) -> dict[str, Any]:
    """An entry of the next job's history: by its date, or by how long ago it will be then."""
    if date is not None and change.date is not None:
        return change.entry
    kept = {key: value for key, value in change.entry.items() if key not in ("ago", "date")}
    return {"ago": _years(_rounded_up(change.ago + elapsed))} | kept


def _write(inputs: dict[str, Any], remarks: Remarks, table: str, key: str, known: Known, job: Job) -> None:
    """Write a learned value in the unit of the job, with twice its standard uncertainty."""
    value, spread, unit = as_written(key, known, job)
    doubt = f" ± {number(2 * spread, 3)} {unit} (k = 2)" if spread else ""
    inputs.setdefault(table, {})[key] = f"{number(value, 3)} {unit}{doubt}"
    remarks[table, key] = known["from"]


def as_written(name: str, known: Known, job: Job) -> tuple[float, float, str]:
    """Value, standard uncertainty and unit of a learned value, in the unit that the job uses for it or for similar values."""
    kind = SYMBOLS[known["unit"]].kind if known["unit"] in SYMBOLS else ""
    if kind not in LIKE:
        return known["value"], known["standard_uncertainty"], known["unit"]
    text = next((job.text(table, key) for table, key in LEARNED if key == name), "")
    unit = unit_of(text, kind, job)
    return known["value"] / unit.factor, known["standard_uncertainty"] / unit.factor, unit.symbol


def _rounded_up(minutes: Any) -> Any:
    """An age to a hundredth of a year, never less, so that what was done when the vehicle was new is not before it."""
    return minutes + age_in_years(nominal(minutes)) * YEAR - nominal(minutes)


def _years(minutes: Any) -> str:
    years, u = nominal(minutes) / YEAR, standard(minutes) / YEAR
    return f"{years:.6g} y" + (f" ± {2 * u:.3g} y (k = 2)" if u else "")


def _share(fresh: Any) -> str:
    u = standard(fresh)
    if not u:
        return f"{nominal(fresh):.6g}"
    places = min(max(1 - floor(log10(u)), 1), 12)
    return f"{nominal(fresh):.{places}f}({round(u * 10**places)})"
