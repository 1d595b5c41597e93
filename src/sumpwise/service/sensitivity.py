"""How much each assumption matters: how far it moves the answers that count, with plan and log unchanged."""

from __future__ import annotations

from collections.abc import Callable, Set
from math import hypot, sqrt
from typing import Any, NamedTuple

from sumpwise.errors import SumpwiseError
from sumpwise.service.agreement import Agreement
from sumpwise.service.asked import Assumption, Place
from sumpwise.service.case import Case
from sumpwise.service.keys import Default
from sumpwise.service.methods.bursts import Bursts
from sumpwise.service.methods.method import Method
from sumpwise.service.standing import Standing
from sumpwise.uncertainty import combine, contributions, derivatives, is_uncertain, nominal, source, standard

FRESH, BUY, LEVEL, AIR = "fresh", "buy", "level", "air"
"""The answers that count: fresh inside, litres to buy, litres off the target, minutes until the pump draws air."""
NOTICED = {FRESH: 0.01, BUY: 0.25, LEVEL: 0.05, AIR: 2 / 60}
"""The change in each that a mechanic would notice; an assumption that moves an answer by less than a tenth of it is not listed."""
TENTH = 0.1


class Effect(NamedTuple):
    """The effect of one assumption on one answer.

    Attributes
    ----------
    answer : str
        `FRESH` (a share), `BUY`, `LEVEL` (litres) or `AIR` (minutes).
    size : float
        How far one standard uncertainty of the assumed value moves the answer.
    """

    answer: str
    size: float

    @property
    def weight(self) -> float:
        """The same in units of what a mechanic would notice."""
        return self.size / NOTICED[self.answer]


class Answer(NamedTuple):
    """An answer that counts.

    Attributes
    ----------
    key : str
        One of `ANSWERS`.
    value : float or uncertain number
        By best estimates, with its uncertainty.
    parts : dict
        Source of its uncertainty -> contribution.
    asked : set of Place
        The places of the schema that it asks for and the job does not give.
    """

    key: str
    value: Any
    parts: dict[Any, float]
    asked: set[Place]


def mattering(case: Case) -> list[tuple[Assumption, list[Effect]]]:
    """The assumptions of a case with their effects, those that matter most first; one that moves no answer has no effects.

    The number of drains or bursts is held fixed. An uncertain value moves an answer by its contribution to the standard uncertainty. A
    value that is itself a standard uncertainty moves the level and the purchase by the variance that disappears if it is zero. A value
    without an uncertainty is varied over its usual range, any value equally likely: half the difference of the answers at both ends, over
    √3.
    """
    answers = [answer for key in ANSWERS if (answer := _asked(key, case)) is not None]
    rows = []
    for one in case.assumptions:
        others = Others(case)
        own = {cause for value in one.values.values() if is_uncertain(value) for cause in derivatives(value)}
        found = [Effect(answer.key, _size(answer, others, one, own)) for answer in answers]
        rows.append((one, sorted((e for e in found if e.weight >= TENTH), key=lambda e: -e.weight)))
    return sorted(rows, key=lambda row: -max((effect.weight for effect in row[1]), default=0.0))


class Others:
    """The case with something assumed differently: one for all answers that ask about it."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self._known: dict[frozenset[tuple[Place, Any]], Case] = {}

    def answer(self, key: str, values: dict[Place, Any]) -> Any:
        """An answer with these values; None if that is impossible."""
        if not values:
            return None
        what = frozenset(values.items())
        if what not in self._known:
            self._known[what] = self.case.otherwise(values)
        return _answer(key, self._known[what], self.case.method)


def _size(answer: Answer, others: Others, one: Assumption, own: Set[Any]) -> float:
    """How far an assumption moves an answer; `own` are the sources of uncertainty of the values assumed."""
    size = hypot(*[answer.parts[cause] for cause in own if cause in answer.parts])
    places = [place for place in one.values if place in answer.asked]
    if size or not places:
        return size
    key = answer.key
    if one.key.spread:
        if key == FRESH or not standard(answer.value):
            return 0.0
        found = others.case.agreement
        if key == LEVEL and one.key.makes and isinstance(found, Agreement) and found.estimates:
            left = found.certain[one.key.makes]
        else:
            other = others.answer(key, dict.fromkeys(places, 0.0))
            left = standard(answer.value if other is None else other)
        return sqrt(max(0.0, standard(answer.value) ** 2 - left**2))
    low, high, apart = _ends(others.case, one, places)
    ends = [nominal(end) for values in (low, high) if (end := others.answer(key, values)) is not None]
    if len(ends) == 2:
        return abs(ends[1] - ends[0]) / apart
    # one end is impossible: go from the middle to the other, with best estimates at both, and count it twice
    middle = others.answer(key, {place: nominal(one.values[place]) for place in places}) if ends else None
    return 0.0 if middle is None else abs(ends[0] - nominal(middle)) / apart * 2


def _ends(case: Case, one: Assumption, places: list[Place]) -> tuple[dict[Place, Any], dict[Place, Any], float]:
    """The values at both ends of the range, and how many standard uncertainties are between them; None without a range."""
    taken = one.taken
    if isinstance(taken, Default) and taken.low != "" and not taken.shape:
        low, high = (dict.fromkeys(places, case.read_default(one.key, taken._replace(value=end))) for end in (taken.low, taken.high))
        return low, high, 2 * sqrt(3.0)
    uncertain = [place for place in places if is_uncertain(one.values[place])]
    low, high = ({p: nominal(one.values[p]) + sign * standard(one.values[p]) for p in uncertain} for sign in (-1.0, 1.0))
    return low, high, 2.0


def _asked(key: str, case: Case) -> Answer | None:
    """An answer; None if there is none."""
    method = case.method
    value, asked = case.traced(lambda: _answer(key, case, method))
    return None if value is None else Answer(key, value, dict(contributions(value)), case.places(asked) & case.known.keys())


def _answer(key: str, case: Case, method: Method) -> Any:
    try:
        return ANSWERS[key](case, method)
    except SumpwiseError:
        return None


def _fresh(case: Case, method: Method) -> Any:
    """Before the work, the fresh share that the method reaches; with a log, the fresh share so far."""
    here = _standing(case)
    return method.fresh(case) if case.agreement is None else here and here.fresh_counted


def _buy(case: Case, method: Method) -> Any:
    """What the method takes, with the uncertainty of the need; once the work has begun, nothing is bought."""
    if case.agreement is not None:
        return None
    litres = method.volume(case)
    doubt = source(0.0, nominal(case.ask("shopping", "need_uncertainty", base=nominal(litres))))
    return combine(nominal(litres), [(1.0, litres), (1.0, doubt)])


def _level(case: Case, method: Method) -> Any:
    """Where the log leaves the level."""
    here = _standing(case)
    return here and here.off


def _standing(case: Case) -> Standing | None:
    """How far the work has got by the log, if it can be followed and does not contradict itself."""
    found = case.agreement
    return Standing(case, found) if isinstance(found, Agreement) and not found.conflict else None


def _air(case: Case, method: Method) -> Any:
    """How long a burst may run."""
    return case.seconds_to_air / 60 if isinstance(method, Bursts) else None


ANSWERS: dict[str, Callable[[Case, Method], Any]] = {FRESH: _fresh, BUY: _buy, LEVEL: _level, AIR: _air}
