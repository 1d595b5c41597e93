"""The pictures of a sheet, for people who would rather look than read: level, account of the log, fresh inside, age over the years."""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import Any

from sumpwise._chart import Axis, Chart, Picture, Rows
from sumpwise.errors import FileError, SumpwiseError, expect, shown
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import answer
from sumpwise.service.agreement import Agreement
from sumpwise.service.case import Case
from sumpwise.service.dates import YEAR, in_years
from sumpwise.service.facts.fact import Amount, Count, Name, Series, Share, Value, Word, Written, stated
from sumpwise.service.facts.phrases import entry_said, named
from sumpwise.service.job import Job
from sumpwise.service.kinds import OVERFLOW, STICK
from sumpwise.service.methods.comparison import MethodResult
from sumpwise.service.methods.registry import BY_KEY
from sumpwise.service.render.systems import Shown
from sumpwise.service.render.writer import Writer
from sumpwise.service.schema import MOVING
from sumpwise.service.standing import Standing
from sumpwise.service.words import catalogue
from sumpwise.uncertainty import nominal, standard

BAND = 2.0
"""How many standard uncertainties are drawn either way."""
COLD = 20.0
"""The level is drawn from this temperature up, in degrees Celsius, if nothing colder was read."""
FAR = 1.0
"""A fill off by more than this many volumes between the marks is not predicted on the stick."""
MOST_POINTS = 200
"""How many pours of the log are drawn: more than a picture can show separately."""
MOST_ROWS = 40
"""How many entries of the log the account shows: the last ones."""
WARMER = 15.0
"""How far above its window the picture of the overflow plug goes, in degrees Celsius."""


def draw_pictures(job: Job, units: str | None = None) -> dict[str, Picture]:
    """Draw the pictures of a job.

    Parameters
    ----------
    job : Job
        Vehicle, capacities, and the log so far.
    units : str, optional
        As for `plan`.

    Returns
    -------
    dict of str to Picture
        Name -> SVG, complete, in black and grey, with a title and a description: `fresh` (new fluid inside against what is poured, with
        target and stop), `age` (mean age over the years by each method) and, if the job has what they need, `level` (the marks with
        readings and predictions, or the temperature at which fluid reaches the overflow plug) and `account` (what went in and out as a
        running account). Bands are two standard uncertainties either way.

    Raises
    ------
    SumpwiseError
        As `plan`.

    Examples
    --------
    >>> from sumpwise import Job, draw_pictures
    >>> pictures = draw_pictures(Job.demo())
    >>> list(pictures), pictures["fresh"].startswith("<svg")
    (['fresh', 'level', 'account', 'age'], True)
    """
    expect(job, Job, "job", "what Job.from_toml or Job.from_dict gives")
    case = Case(job, units)
    writer = Writer(catalogue(), case.system)
    drawn = {name: draw(case, writer) for name, draw in PICTURES.items()}
    return {name: chart.picture() for name, chart in drawn.items() if chart is not None}


def save_pictures(job: Job, folder: str | os.PathLike[str], units: str | None = None) -> list[str]:
    """Draw the pictures of a job into a folder, one SVG file for each.

    Parameters
    ----------
    job : Job
        As for `draw_pictures`.
    folder : str or path
        Created if it is missing. Earlier pictures in it are replaced, each completely or not at all.
    units : str, optional
        As for `plan`.

    Returns
    -------
    list of str
        The files.

    Raises
    ------
    FileError
        If a file with that name exists and is not one of these pictures, or something cannot be written; nothing is then replaced.
    SumpwiseError
        As `plan`.
    """
    pictures = draw_pictures(job, units)
    try:
        os.makedirs(folder, exist_ok=True)
        paths = {os.path.join(os.fsdecode(folder), f"{name}.svg"): picture for name, picture in pictures.items()}
    except (OSError, TypeError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "it is not a path"
        raise FileError(
            f"cannot be written: {reason}", code="file.unwritable", argument=shown(folder), hint="give the path of a folder",
        ) from None  # fmt: skip
    for path, picture in paths.items():
        picture.may_stand_at(path)
    return [picture.save(path) for path, picture in paths.items()]


# -- units and words


def _unit(writer: Writer, kind: str) -> Shown:
    """The unit in which a picture shows a kind."""
    return writer.system.units(kind, 0.0)[0]


def _to(unit: Shown, value: Any) -> float:
    return (nominal(value) - unit.offset) / unit.factor


def _axis(writer: Writer, name: str, unit: Shown | None = None) -> str:
    return writer.text(Word(f"picture.axis.{name}", {"unit": Name(unit.symbol if unit else "")}))


def _chart(case: Case, writer: Writer, name: str, x: Axis, y: Axis | Rows, **says: Value) -> Chart:
    title = writer.text(Word(f"picture.{name}.title", {"job": Name(case.job.title)}))
    return Chart(name, title, writer.text(Word(f"picture.{name}.description", says)), x, y)


def _limits(value: Any) -> tuple[float, float]:
    """The limits drawn for an uncertain value."""
    return nominal(value) - BAND * standard(value), nominal(value) + BAND * standard(value)


# -- fresh inside against litres


def fresh(case: Case, writer: Writer) -> Chart | None:
    """New fluid inside as planned and by the log, with target and stop."""
    unit, gained, logged, seen = _unit(writer, "volume"), case.method.gained(case), *_logged(case)
    stop, now = gained[-1].litres, _by_vials(case)
    if not stop:
        return None
    x = Axis(_axis(writer, "poured", unit), 0.0, _to(unit, max(stop, *(litres for litres, _ in logged))))
    total = Amount("volume", stop, step=0.1, main=True)
    aim = Word("picture.aim", {"target": stated(case.target)}) if case.has("target", "fresh") else Word("none")
    chart = _chart(
        case, writer, "fresh", x, Axis(_axis(writer, "fresh"), 0.0, 100.0), method=named(case.method.key), volume=total,
        fresh=Share(gained[-1].inside), aim=aim, so_far=Word("none" if now is None else "picture.so_far", {"fresh": Share(now)}),
    )  # fmt: skip

    def placed(points: list[tuple[float, Any]]) -> list[tuple[float, float]]:
        return [(_to(unit, litres), 100 * nominal(share)) for litres, share in points]

    inside = [(gain.litres, gain.inside) for gain in gained]
    outlet = [gain.outlet for gain in gained if gain.outlet is not None]
    limits = [(at, *_limits(share)) for at, share in inside]
    chart.band([(_to(unit, at), 100 * max(0.0, low), 100 * min(1.0, high)) for at, low, high in limits])
    chart.line(placed(inside), 0, writer.text(Word("picture.inside")), marks=True)
    if outlet:
        chart.line(placed(outlet), 1, writer.text(Word("picture.outlet")), marks=True)
    if len(logged) > 1:
        chart.line(placed(logged), 2, writer.text(Word("picture.logged")), width=2.6, marks=True)
    for litres, share in placed(seen):
        chart.cross(litres, share)
    if seen:
        chart.key(writer.text(Word("picture.seen")))
    if now is not None:
        (litres, _), (low, high) = logged[-1], _limits(now)
        chart.between(_to(unit, litres), 100 * low, 100 * high, writer.text(Word("picture.with_vials", {"fresh": Share(now)})))
    if case.has("target", "fresh"):
        chart.level(100 * case.target, writer.text(Word("picture.aimed", {"share": stated(case.target)})), 4)
    chart.stop(_to(unit, stop), writer.text(Word("picture.stop", {"volume": total})), 4)
    return chart


def _by_vials(case: Case) -> Any:
    """The share of new fluid inside that the sheet tells by the amounts and the matched vials; None if it goes by the amounts alone."""
    found = case.agreement
    here = Standing(case, found) if isinstance(found, Agreement) and not found.conflict else None
    return here.fresh if here is not None and here.told is not None else None


def _logged(case: Case) -> tuple[list[tuple[float, Any]], list[tuple[float, Any]]]:
    """By the log: litres poured and fresh share inside after each pour; litres poured and the share of new fluid seen at the hose.

    Of very many pours, some.
    """
    points: list[tuple[float, Any]] = []
    seen: list[tuple[float, Any]] = []
    poured = 0.0
    try:
        for move, after in case.followed:
            if "outlet_old" in move.entry:
                seen.append((poured, 1.0 - nominal(move.entry["outlet_old"])))
            if move.litres > 0:
                poured += move.litres
                points.append((poured, after))
        every = -(-len(points) // MOST_POINTS) or 1
        some = [*points[:-1:every], *points[-1:]]
        return [(0.0, 0.0), *((poured, after.resident) for poured, after in some)], seen
    except SumpwiseError:  # the sheet says what is wrong
        return [(0.0, 0.0)], []


# -- the level


def level(case: Case, writer: Writer) -> Chart | None:
    """How the level shows at a temperature, on the stick or at the overflow plug; a fill plug needs no picture."""
    if case.check.key == OVERFLOW:
        return _at_the_plug(case, writer)
    return _on_the_stick(case, writer) if case.check.key == STICK else None


def _at_the_plug(case: Case, writer: Writer) -> Chart | None:
    """How far a correct fill is below or above the lip of the plug, and by the count this fill."""
    plug = case.overflow
    if plug is None:
        return None
    warm, unit = _unit(writer, "temperature"), writer.system.units("volume", 0.1)[0]
    low, high = (nominal(end) for end in case.job.value("level", "window"))
    start, end = min(COLD, low - WARMER), high + WARMER
    steps = [start + (end - start) * k / 24 for k in range(25)]
    above = [-number_in(plug.error(answer(t, "temperature")), "L") for t in steps]
    off = _counted(case)
    reach = [0.0, *map(nominal, above), *(nominal(a) + one for a in above for one in ([] if off is None else _limits(off)))]
    first, last = (Amount("volume", nominal(a), signed=True) for a in (above[0], above[-1]))
    cold, hot = (Amount("temperature", t) for t in (start, end))
    chart = _chart(
        case, writer, "plug", Axis(_axis(writer, "temperature", warm), _to(warm, start), _to(warm, end)),
        Axis(_axis(writer, "lip", unit), _to(unit, min(reach)), _to(unit, max(reach))),
        window=Written(case.job.text("level", "window"), "temperature"), first=first, cold=cold, last=last, hot=hot,
    )  # fmt: skip
    chart.window(_to(warm, low), _to(warm, high), writer.text(Word("picture.window")))
    chart.level(0.0, writer.text(Word("picture.lip")), 0)
    right = [(_to(warm, t), _to(unit, a)) for t, a in zip(steps, above, strict=True)]
    if off is not None:
        limits = (_limits(a + off) for a in above)
        chart.band([(x, _to(unit, least), _to(unit, most)) for (x, _), (least, most) in zip(right, limits, strict=True)])
        chart.line([(x, y + nominal(off) / unit.factor) for x, y in right], 2, writer.text(Word("picture.this_fill")))
    chart.line(right, 1, writer.text(Word("picture.right_fill")))
    chart.key(writer.text(Word("picture.runs")))
    return chart


def _counted(case: Case) -> Any:
    """Litres off the level before the work, by the count; None without a log."""
    found = case.agreement
    return Standing(case, found).off if isinstance(found, Agreement) and not found.conflict else None


def _on_the_stick(case: Case, writer: Writer) -> Chart | None:
    """Marks, target and window of the stick, what was read, and what the fill will show at other temperatures."""
    stick, job = case.stick, case.job
    if stick is None:
        return None
    warm, long = _unit(writer, "temperature"), _unit(writer, "length")
    low, high = (nominal(end) for end in job.value("level", "window"))
    between, volume = nominal(job.value("level", "marks_length")), nominal(case.ask("level", "marks_volume"))
    log = zip(job.entries("log"), job.written("log"), strict=True)
    read = [(entry, said) for entry, said in log if entry["event"] == "stick"]
    degrees = [nominal(entry["temperature"]) for entry, _ in read]
    start, end = min(COLD, low, *degrees), max([high + 5, *degrees])
    known = _off(case)
    if known is not None and abs(nominal(known)) > FAR * volume:
        known = None
    off, middle = (0.0 if known is None else known), (low + high) / 2
    at_middle = answer(between / 2 + nominal(off) * between / volume, "length")
    steps = [start + (end - start) * k / 24 for k in range(25)]
    foreseen = [number_in(stick.predict(at_middle, answer(middle, "temperature"), answer(t, "temperature")), "mm") for t in steps]
    spread = [BAND * ((standard(off) * between / volume) ** 2 + standard(mm) ** 2) ** 0.5 for mm in foreseen]
    readings = [nominal(entry["reading"]) for entry, _ in read]
    heights = [0.0, between, *readings, *(nominal(mm) + s * u for mm, u in zip(foreseen, spread, strict=True) for s in (-1, 1))]
    said = [
        Word("picture.reading", {
            "reading": Written(str(one["reading"]), "length"), "temperature": Written(one["temperature"], "temperature"),
        })
        for _, one in read
    ]  # fmt: skip
    chart = _chart(
        case, writer, "level", Axis(_axis(writer, "temperature", warm), _to(warm, start), _to(warm, end)),
        Axis(_axis(writer, "reading", long), _to(long, min(heights)), _to(long, max(heights))),
        window=Written(job.text("level", "window"), "temperature"), readings=Series(tuple(said)) if said else Word("picture.unread"),
    )  # fmt: skip
    names = [writer.text(Word(f"picture.{name}")) for name in ("window", "lower", "target", "upper")]
    chart.stick((_to(warm, low), _to(warm, high)), _to(long, between), names)
    curve = list(zip(steps, map(nominal, foreseen), spread, strict=True))
    chart.band([(_to(warm, t), _to(long, mm - u), _to(long, mm + u)) for t, mm, u in curve])
    name = "picture.right" if known is None else "picture.foreseen"
    chart.line([(_to(warm, t), _to(long, mm)) for t, mm, _ in curve], 1, writer.text(Word(name)))
    for number, (entry, _) in enumerate(read, 1):
        chart.point(_to(warm, entry["temperature"]), _to(long, entry["reading"]), str(number))
    if read:
        chart.key(writer.text(Word("picture.read")))
    return chart


def _off(case: Case) -> Any:
    """Litres off the target now; None without a stick reading."""
    found = case.agreement
    if isinstance(found, Agreement):
        here = Standing(case, found)
        return here.off if here.known and not found.conflict else None
    return case.start if found is None and any(entry["event"] == "stick" for entry in case.job.entries("log")) else None


# -- what went in and out


def account(case: Case, writer: Writer) -> Chart | None:
    """The log from the top down: the count after each entry, and what the stick says about it."""
    found = case.agreement
    if not isinstance(found, Agreement):
        return None
    unit = _unit(writer, "volume")
    moves = [move for move in found.moves if move.event in (*MOVING, "stick")][-MOST_ROWS:]
    written = case.job.written("log")
    names = [writer.text(Word("picture.row", {"number": Count(m.number), "entry": entry_said(written[m.number - 1])})) for m in moves]
    counts = [number_in(move.after.off_target, "L") if found.counted else move.balance for move in moves]
    ends = [(_to(unit, low), _to(unit, high)) for low, high in map(_limits, counts)]
    sticks = [(row, number_in(move.level, "L")) for row, move in enumerate(moves) if move.level is not None]
    half = nominal(case.ask("level", "marks_volume")) / 2 if found.counted else 0.0
    reach = [0.0, *(end for pair in ends for end in pair), *(_to(unit, end) for _, litres in sticks for end in _limits(litres))]
    last = Amount("volume", counts[-1], signed=True, main=True)
    chart = _chart(
        case, writer, "account", Axis(_axis(writer, "off" if found.counted else "balance", unit), min(reach), max(reach)), Rows(names),
        count=Count(len(moves)), off=last, of=Word("picture.off" if found.counted else "picture.since"),
    )  # fmt: skip
    if half:
        chart.window(_to(unit, -half), _to(unit, half), writer.text(Word("picture.between")))
    chart.stop(0.0, "", 2)
    for row, (low, high) in enumerate(ends):
        chart.bar(row, low, high)
    name = f"{writer.text(Word('picture.count'))}\n{writer.text(last)}"
    chart.line([(_to(unit, nominal(c)), row) for row, c in enumerate(counts)], 0, name, marks=True)
    for row, litres in sticks:
        chart.cross(_to(unit, nominal(litres)), row, BAND * standard(litres) / unit.factor)
    if sticks:
        chart.key(writer.text(Word("picture.stick")))
    return chart


# -- age over the years


def age(case: Case, writer: Writer) -> Chart:
    """Mean age of the fluid over the horizon, each method repeated at its interval."""
    methods = [one for one in case.comparison if one.why is None and not one.bound]
    years = number_in(answer(nominal(case.ask("target", "horizon")), "time"), "y")
    courses = {one.key: _course(case, one, years) for one in methods}
    most = max(age for course in courses.values() for _, age in course)
    told = tuple(
        Word("picture.ends", {"method": named(key), "age": _years(course[-1][1])}) for key, course in courses.items()
    )
    chart = _chart(
        case, writer, "age", Axis(_axis(writer, "years"), 0.0, years, ends=True), Axis(_axis(writer, "age"), 0.0, most),
        years=_years(years), ages=Series(told),
    )  # fmt: skip
    for stroke, (key, course) in enumerate(courses.items()):
        chart.line(course, stroke, writer.text(named(key)))
    return chart


def _years(years: float) -> Amount:
    return Amount("time", years * YEAR, step=0.1 * YEAR)


def _course(case: Case, one: MethodResult, years: float) -> list[tuple[float, float]]:
    """Years from now and mean age in years: just before and just after each change, and at the end; between them it grows with time."""

    def now(at: float) -> float:
        return float(number_in(history.mean_age(in_years(at * YEAR)), "y"))

    history, rhythm, at = case.history, BY_KEY[one.key].rhythm(case), 0.0
    points = [(0.0, now(0.0))]
    while rhythm is not None and at < years * (1 - 1e-12):
        points.append((at, now(at)))
        history = history.replace(nominal(one.fresh), in_years(at * YEAR))
        points.append((at, now(at)))
        at += rhythm / YEAR
    return [*points, (years, now(years))]


PICTURES: dict[str, Callable[[Case, Writer], Chart | None]] = {"fresh": fresh, "level": level, "account": account, "age": age}
"""Name -> the function that draws it; that returns None if the job has nothing to show."""
