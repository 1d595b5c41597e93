"""Draws near what was seen: weighed, they answer as draws from the ranges do, and miss nothing that those would find."""

from __future__ import annotations

from math import erfc, sqrt
from operator import attrgetter

import numpy
import pytest

from sumpwise import Job, _blocks
from sumpwise.inference.aim import Aim, evenly
from sumpwise.inference.outlet import SHAKY, weighed
from sumpwise.inference.prior import below
from sumpwise.service import matching
from sumpwise.service.case import Case

SCORES = 5


def test_the_probability_below_a_score():
    scores = numpy.linspace(-9.0, 9.0, 2001)
    assert below(scores) == pytest.approx([erfc(-one / sqrt(2)) / 2 for one in scores], abs=1e-7)
    assert below(scores).min() >= 0
    assert below(scores).max() <= 1


def test_draws_are_shared_out_evenly():
    assert evenly([1, 2, 3], 1000) == [(1, 333), (2, 334), (3, 333)]
    assert evenly(range(2, 3), 7) == [(2, 7)]
    assert evenly([1, 2, 3], 1) == [(2, 1)]


@pytest.mark.parametrize("shape", [(3, 4, 5), (2, 90, 7), (2, 7, 90), (30, 30, 30), (1, 1, 500), (1, 500, 1), (200, 2, 1), (1, 10, 10)])
def test_a_product_in_pieces_is_the_product_and_no_piece_is_too_large(monkeypatch, shape):
    class Seen(numpy.ndarray):
        def __matmul__(self, other):
            sizes.append(self.shape[0] * self.shape[1] * other.shape[1])
            return numpy.asarray(self) @ numpy.asarray(other)

    sizes = []
    monkeypatch.setattr(_blocks, "UNSHARED", 100)
    rng = numpy.random.default_rng(0)
    one, other = rng.random(shape[:2]), rng.random(shape[1:])
    assert _blocks.product(one.view(Seen), other) == pytest.approx(one @ other, rel=1e-14)
    least = shape[0] * min(shape[1:])  # one step along the longer axis
    assert max(sizes) <= max(100, least)
    assert sum(sizes) == shape[0] * shape[1] * shape[2]
    several = rng.random((4, *shape[1:]))
    assert _blocks.product(one, several) == pytest.approx(one @ several, rel=1e-14)


class World:
    """What so many looks show of scores and of a number of tanks."""

    def __init__(self, shows, seen, noise=0.1, habits=(1.0,)):
        self.shows, self.seen, self.habits = shows, numpy.array(seen), habits
        self.covariance = noise**2 * numpy.eye(len(seen))

    def likely(self, scores, tanks):
        """Log-likelihood, by its definition."""
        off = [(self.seen[:, None] - shown) ** 2 / self.covariance[0, 0] / 2 for shown in self.shows(scores, tanks)]
        return numpy.logaddexp.reduce([numpy.log(habit) - one.sum(axis=0) for habit, one in zip(self.habits, off, strict=True)])

    def aim(self, scores, tanks, likely):
        return Aim(self.seen, self.covariance, self.shows(scores, tanks), scores, tanks, likely, self.habits)

    def drawn(self, plain, near, seed=0, count=SCORES):
        """Draws from the ranges, then near what was seen; and how much each of all counts."""
        rng = numpy.random.default_rng(seed)
        scores, tanks = rng.standard_normal((count, plain)), numpy.repeat([1.0, 2.0], plain // 2)
        aim = self.aim(scores, tanks, self.likely(scores, tanks))
        more, groups = aim.draw(near, 0, rng, count)
        scores = numpy.concatenate([scores, more], axis=1)
        tanks = numpy.concatenate([tanks, numpy.repeat(*numpy.array(groups).T)])
        likely = self.likely(scores, tanks) - numpy.log(plain + near * aim.density(scores, tanks))
        weights = numpy.exp(likely - likely.max())
        return aim, scores, tanks, weights / weights.sum()


def linear(scores, tanks):
    return [numpy.array([scores[0] + 0.5 * scores[3] + 0.3 * tanks, scores[1] - scores[0]])]


def test_of_what_is_linear_the_draws_are_those_that_agree():
    """Seen with noise of 0.1: the normal distribution that is left is known, and hardly a draw counts more than another."""
    world = World(linear, (0.6, -0.4))
    _, scores, tanks, weights = world.drawn(2000, 2000)
    by = numpy.array([[1, 0, 0, 0.5, 0], [-1, 1, 0, 0, 0]])
    total = 0.01 * numpy.eye(2) + by @ by.T
    found, part = {}, {}
    for number in (1.0, 2.0):
        off = world.seen - (0.3 * number, 0.0)
        found[number], part[number] = by.T @ numpy.linalg.solve(total, off), numpy.exp(-off @ numpy.linalg.solve(total, off) / 2)
    share = part[2.0] / (part[1.0] + part[2.0])
    assert weights[tanks == 2.0].sum() == pytest.approx(share, abs=0.03)
    assert scores @ weights == pytest.approx((1 - share) * found[1.0] + share * found[2.0], abs=0.08)
    assert 1 / (weights @ weights) > 1500


def bent(scores, tanks):
    return [
        numpy.array([numpy.exp(0.5 * scores[0]) + 0.2 * scores[1] * tanks, scores[1] + scores[2] * scores[0] / 2]),
        numpy.array([scores[0] ** 3 / 4, scores[1] / tanks]),
    ]


def test_the_density_is_that_of_the_draws():
    """As often as the ranges on average over them; and, the other way, its inverse over its own draws."""
    world = World(bent, (1.2, 0.3), noise=0.5, habits=(0.3, 0.7))
    aim, *_ = world.drawn(2000, 1000)
    rng = numpy.random.default_rng(3)
    ranges = aim.density(rng.standard_normal((SCORES, 100_000)), numpy.repeat([1.0, 2.0], 50_000))
    assert ranges.mean() == pytest.approx(1, abs=5 * ranges.std() / 100_000**0.5)
    scores, groups = aim.draw(100_000, 0, rng, SCORES)
    tanks = numpy.repeat(*numpy.array(groups).T).astype(float)
    near = (abs(scores) < 1).all(axis=0) / aim.density(scores, tanks)  # a region where it is never small
    assert near.mean() == pytest.approx((1 - erfc(1 / sqrt(2))) ** SCORES, abs=5 * near.std() / 100_000**0.5)
    assert near[tanks == 2.0].sum() / near.sum() == pytest.approx(0.5, abs=0.03)


def test_what_is_bent_is_answered_as_by_the_ranges():
    world = World(bent, (1.2, 0.3), noise=0.2, habits=(0.3, 0.7))
    rng = numpy.random.default_rng(5)
    scores, tanks = rng.standard_normal((SCORES, 400_000)), numpy.repeat([1.0, 2.0], 200_000)
    weights = numpy.exp(world.likely(scores, tanks))
    weights /= weights.sum()
    expected, spread = scores @ weights, numpy.sqrt(scores**2 @ weights - (scores @ weights) ** 2)
    for seed in range(5):
        _, near, _, counts = world.drawn(600, 1500, seed)
        assert abs(near @ counts - expected) == pytest.approx(0, abs=4.5 * spread.max() * (counts @ counts) ** 0.5)


def two_sided(scores, tanks):
    return [(scores[:1] ** 2 + 0.1 * scores[1]) * numpy.ones((1, 1))]


def test_neither_of_two_answers_is_missed():
    """The square of a score was seen: it may as well be negative. The picture, which is a line, knows nothing of that."""
    sides = []
    for seed in range(12):
        _, scores, _, weights = World(two_sided, (2.25,)).drawn(600, 1500, seed)
        sides.append(weights[scores[0] > 0].sum())
        assert abs(sides[-1] - 0.5) < 4.5 * 0.5 * (weights @ weights) ** 0.5
        assert 1 / (weights @ weights) > 30
    assert numpy.mean(sides) == pytest.approx(0.5, abs=0.06)


def one_sided(scores, tanks):
    return [numpy.where(scores[:1] < 1.0, scores[:1], 1.0) + 0.02 * scores[1:2]]


def test_a_wall_behind_which_nothing_more_shows():
    """From one up a score shows no more: having seen one, all beyond it are as likely as the ranges say."""
    rng = numpy.random.default_rng(1)
    scores = rng.standard_normal((SCORES, 400_000))
    world = World(one_sided, (1.0,), noise=0.05)
    weights = numpy.exp(world.likely(scores, numpy.ones(400_000)))
    expected = weights @ (scores[0] > 2.0) / weights.sum()
    found = []
    for seed in range(8):
        _, near, _, counts = world.drawn(600, 1500, seed)
        found.append(counts @ (near[0] > 2.0))
    assert numpy.mean(found) == pytest.approx(expected, abs=4.5 * numpy.std(found) / 8**0.5)


def shown_near_by(scores, tanks):
    return [numpy.array([scores[0], numpy.where(scores[0] > 1.0, scores[1:6].sum(axis=0), scores[6:40].sum(axis=0)) / 3])]


@pytest.mark.parametrize("seed", range(4))
def test_what_shows_only_near_what_was_seen_is_aimed_at(seed):
    """Five scores show where the first is above one, as it was seen to be, thirty-four where it is not: more than can be aimed at.

    A third of the sum of the five was seen. Draws from the ranges have none on average, within ten times their standard error.
    """
    _, scores, _, weights = World(shown_near_by, (2.0, 1.5)).drawn(2000, 2000, seed, count=40)
    assert scores[1:6].sum(axis=0) @ weights == pytest.approx(4.5 * 5 / (5 + 9 * 0.1**2), abs=0.1)
    assert scores[1:6, 2000:].sum(axis=0).mean() > 10 * (5 / 2000) ** 0.5


def asked(monkeypatch, matches, **changed):
    """What a sheet asks of the evidence, with other matches; None leaves one out."""
    data = Job.demo().to_dict()
    left = iter(matches)
    for entry in data["log"]:
        if "outlet_old" in entry and (match := next(left)) is None:
            del entry["outlet_old"]
        elif "outlet_old" in entry:
            entry["outlet_old"] = match
    case = Case(Job.from_dict(data))
    taken = {}
    monkeypatch.setattr(matching, "weighed", lambda *given, **options: taken.update(given=given, options=options))
    matching.evidence_of(case, case.agreement)
    history, seen, wanted = taken["given"]
    options = taken["options"] | changed
    wanted = options.pop("wanted", wanted)
    return lambda **more: weighed(history, seen, wanted, **(options | more))


SIX = ("60 %", "45 %", "35 %", "30 %", "22 %", "19 %")
CASES = {
    "as it was": (SIX, {}),
    "one match": ((None, None, None, None, None, "19 %"), {}),
    "cleaner than it should be": (("50 %", "36 %", "27 %", "20 %", "14 %", "11 %"), {}),
    "contradictions": (("60 %", "20 %", "70 %", "10 %", "60 %", "10 %"), {}),
    "a sharp eye": (SIX, {"noise": 0.03, "bias": 0.03, "step": 0.0}),
    "a target in the tail": (SIX, {"wanted": 0.81}),
}
SEEDS = 10


@pytest.mark.parametrize("case", CASES)
def test_an_answer_from_draws_near_what_was_seen_is_that_of_the_ranges(monkeypatch, case):
    """Against thirty thousand draws from the ranges; and it scatters no more than so many independent draws as it promises."""
    matches, changed = CASES[case]
    told = asked(monkeypatch, matches, **changed)
    plain = told(count=30_000, first=None, near=0)
    near = [told(seed=seed) for seed in range(SEEDS)]
    for name in ("probability", "resident.mean", "outlet.mean", "next_portion.mean"):
        read = attrgetter(name)
        found = numpy.array([read(one) for one in near])
        spread = found.std(ddof=1)
        of_plain = spread * (numpy.mean([one.effective_draws for one in near]) / plain.effective_draws) ** 0.5
        assert abs(found.mean() - read(plain)) < 4 * numpy.hypot(spread / SEEDS**0.5, of_plain)
    chance = plain.probability * (1 - plain.probability)
    assert numpy.std([one.probability for one in near], ddof=1) < 1.5 * (chance / SHAKY) ** 0.5
    assert numpy.mean([one.resident.standard for one in near]) == pytest.approx(plain.resident.standard, rel=0.04)
    assert numpy.mean([one.wider for one in near]) == pytest.approx(plain.wider, rel=0.03)
    assert min(one.effective_draws for one in near) >= SHAKY


def test_the_same_job_is_told_the_same(monkeypatch):
    told = asked(monkeypatch, SIX)
    assert told().to_dict() == told().to_dict()
    assert told().resident.mean != told(seed=1).resident.mean
