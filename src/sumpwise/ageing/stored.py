"""A fluid history to and from plain JSON data: inputs are stored as they were written, shared errors by their source."""

from __future__ import annotations

from math import inf

from sumpwise._stored import field, finite, known, one_of, rows, stored, table, text, within
from sumpwise.quantities.reading import Read
from sumpwise.quantities.units import INTERNAL, SYMBOLS, internal_unit

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

FORMAT, VERSION = "sumpwise fluid history", 1


def plain(written: Any, inputs: Any, moments: Any, kind: str) -> dict[str, Any]:
    """Make the data. `written` is pairs of a moment as read and a share as given, `inputs` the start and the shares as read."""
    from sumpwise import uncertainty
    from sumpwise.quantities import _pint

    causes: dict[Any, str] = {}
    for x in inputs:
        for cause in uncertainty.derivatives(x):
            causes.setdefault(cause, str(len(causes)))

    def doubtful(x: Any, factor: float = 1.0) -> dict[str, Any]:
        doubts = {causes[cause]: c / factor for cause, c in uncertainty.derivatives(x).items()}
        return {"value": uncertainty.nominal(x) / factor, "doubts": doubts}

    def moment(read: Read, internal: float) -> str:
        if isinstance(read.given, str):
            return read.given
        if read.unit is None or read.unit.symbol not in SYMBOLS:
            return f"{internal!r} {INTERNAL[kind]}"
        return f"{float(_pint.magnitude(read.given))!r} {read.unit.symbol}"

    start = inputs[0]
    if uncertainty.is_uncertain(start):
        unit = written[0][0].unit
        if unit is None or unit.symbol not in SYMBOLS:
            unit = internal_unit(kind)
        begun: Any = doubtful(start, unit.factor) | {"unit": unit.symbol}
    else:
        begun = moment(written[0][0], moments[0])
    changes = [
        {"at": moment(at, when), "fraction": doubtful(x) if uncertainty.is_uncertain(x) else given if isinstance(given, str) else float(x)}
        for (at, given), x, when in zip(written[1:], inputs[1:], moments[1:], strict=True)
    ]
    return {"format": FORMAT, "version": VERSION, "start": begun, "changes": changes, "sources": [_cause(c) for c in causes]}


def _cause(cause: Any) -> dict[str, Any]:
    """One source; a foreign uncertain variable has no shape, degrees of freedom or identity to keep."""
    from sumpwise.uncertainty import dof_of, shape_of

    dof = dof_of(cause)
    return {
        "value": cause.nominal_value,
        "standard": cause.std_dev,
        "shape": shape_of(cause),
        "dof": None if dof == inf else dof,
        "name": cause.tag or "",
        "identity": getattr(cause, "uid", ""),
    }


def restored(data: Any) -> tuple[Any, list[tuple[Any, Any]]]:
    """Read the data: the start, and (moment, share) pairs for `FluidHistory`."""
    from sumpwise.quantities import _pint

    found = stored(data, "fluid history", {"format", "start", "changes", "sources"}, FORMAT, VERSION)
    causes = {}
    for number, entry in enumerate(field(found, "sources", rows)):
        with within("sources", number):
            causes[str(number)] = _source(entry)
    start = found["start"]
    with within("start"):
        if isinstance(start, dict):
            known(start, "start", {"value", "unit", "doubts"})
            unit = field(start, "unit", one_of, SYMBOLS, "unit")
            start = _pint.build(_doubtful(start, causes), SYMBOLS[unit])
        else:
            text(start)
    changes = []
    for number, entry in enumerate(field(found, "changes", rows)):
        with within("changes", number):
            known(entry, "change", {"at", "fraction"})
            share = entry["fraction"]
            if isinstance(share, dict):
                with within("fraction"):
                    share = _doubtful(known(share, "share", {"value", "doubts"}), causes)
            changes.append((entry["at"], share))
    return start, changes


def _source(entry: Any) -> Any:
    from sumpwise import uncertainty

    known(entry, "source", {"value", "standard", "shape", "dof", "name", "identity"})
    value, standard = field(entry, "value", finite), field(entry, "standard", finite)
    dof = inf if entry["dof"] is None else field(entry, "dof", finite)
    shape = field(entry, "shape", one_of, uncertainty.SHAPES, "distribution shape")
    return uncertainty.source(value, standard, shape=shape, dof=dof, name=field(entry, "name", text), uid=field(entry, "identity", text))


def _doubtful(entry: dict[str, Any], causes: dict[str, Any]) -> Any:
    from sumpwise import uncertainty

    terms = []
    doubts = field(entry, "doubts", table)
    for index in doubts:
        with within("doubts", index):
            terms.append((finite(doubts[index]), causes[one_of(index, causes, "number of a source")]))
    return uncertainty.combine(field(entry, "value", finite), terms)
