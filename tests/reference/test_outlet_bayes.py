"""What the outlet says, against scipy: likelihoods, posteriors by quadrature and on a grid, and coverage in simulated services."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import multivariate_normal, norm

from sumpwise import Job
from sumpwise.inference.light import LooksClean
from sumpwise.inference.outlet import HABITS, _likelihood, _log_probability, inside_from_outlet
from sumpwise.inference.prior import Unknowns
from sumpwise.mixing.circuit import Circuit
from sumpwise.mixing.circuit.state import resident
from sumpwise.service import matching
from sumpwise.service.case import Case

FIXED = {"bypass": 0.35, "clutch_circulation": 0.25, "pocket_circulation": 0.017, "pockets": "1.05 L", "sump_floor": 0}


def wagon(**changed):
    given = {"sump": "3.73 L", "converter": "2.45 L", "cooler": "0.62 L", "clutches": "0.83 L", "pockets": "1.05 L"} | FIXED
    return Circuit(**(given | changed))


def close(estimate, expected, told):
    """Within five standard errors of a mean of so many effective draws."""
    return abs(estimate.mean - expected) < 5 * estimate.standard / told.effective_draws**0.5


@pytest.mark.parametrize(("noise", "bias", "step"), [(0.05, 0.1, 0.0), (0.03, 0.0, 0.05), (0.1, 0.4, 0.02)])
def test_matches_of_one_observer_are_a_correlated_normal_in_the_logarithm(noise, bias, step):
    rng = np.random.default_rng(5)
    matches = [0.6, 0.45, 0.3]
    outlets = [rng.uniform(0.2, 0.8, 40) for _ in matches]
    likely, _ = _likelihood(matches, np.log(outlets), noise, bias, step, rng.standard_normal(40), rng.random(40))
    covariance = np.diag([noise**2 + (step / m) ** 2 / 12 for m in matches]) + bias**2
    expected = multivariate_normal(np.log(matches), covariance).logpdf(np.log(np.array(outlets)).T)
    assert likely - likely[0] == pytest.approx(expected - expected[0], rel=1e-10, abs=1e-10)


def test_the_bias_left_by_the_matches_is_its_posterior():
    """Normal prior, normal errors: mean and variance in closed form."""
    rng = np.random.default_rng(5)
    outlets = [np.full(100_000, old) for old in (0.5, 0.4)]
    _, bent = _likelihood([0.55, 0.46], np.log(outlets), 0.05, 0.1, 0.0, rng.standard_normal(100_000), rng.random(100_000))
    variance = 1 / (1 / 0.1**2 + 2 / 0.05**2)
    mean = variance * (np.log(0.55 / 0.5) + np.log(0.46 / 0.4)) / 0.05**2
    assert bent.mean() == pytest.approx(mean, abs=5 * variance**0.5 / 100_000**0.5)
    assert bent.var() == pytest.approx(variance, rel=0.03)


def test_log_probability_against_scipy():
    z = np.linspace(-36, 8, 200)
    assert _log_probability(z) == pytest.approx(norm.logcdf(z), rel=1e-10)
    assert np.isfinite(_log_probability(np.array([-1e9, 1e9]))).all()


@pytest.mark.parametrize("clean", [True, False])
def test_a_single_look_against_scipy(clean):
    """An unbiased observer: the probit of how far the threshold lies from the outlet, in units of the noise of a look."""
    outlets = np.array([0.05, 0.1, 0.17, 0.2, 0.26])
    likely, bent = _likelihood([LooksClean(0.2, clean=clean)], np.log([outlets]), 0.5, 0.0, 0.0, np.ones(5), np.ones(5))
    z = np.log(0.2 / outlets) / 0.5
    assert likely == pytest.approx(norm.logcdf(z if clean else -z), rel=1e-10)
    assert bent == pytest.approx(0, abs=0)


def test_one_match_with_one_unknown_against_quadrature():
    """Only the fresh fraction at the start is unknown, evenly from 0.1 to 0.9; the vial matched at 50 % old."""
    circuit = wagon()
    told = inside_from_outlet([(circuit, 0.5)], 0.5, ranges=FIXED | {"start": (0.1, 0.9)}, draws=40_000, portion="1 L")

    def weight(fresh):
        return norm.pdf(np.log(0.5 / (1 - fresh)), scale=np.hypot(0.05, 0.1))

    total = quad(weight, 0.1, 0.9, points=[0.5])[0]
    mean = quad(lambda f: f * weight(f), 0.1, 0.9, points=[0.5])[0] / total
    above = quad(weight, 0.5, 0.9)[0] / total
    assert close(told.resident, mean, told)
    assert told.probability == pytest.approx(above, abs=5 * 0.5 / told.effective_draws**0.5)
    assert told.darkening.mean == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize("clean", [True, False])
@pytest.mark.parametrize("threshold", [0.20, (0.10, 0.80)])
def test_a_look_with_one_unknown_against_quadrature(threshold, clean):
    """A look through 16 mm with a threshold stated for 8 mm: of 20 %, which tells 10 % old from new, or anywhere from 10 to 80 %."""
    circuit = wagon()
    look = LooksClean(threshold, "16 mm", "8 mm", clean=clean)
    noticed = np.linspace(*threshold, 2001) / 2 if isinstance(threshold, tuple) else np.array([threshold / 2])
    told = inside_from_outlet([(circuit, look)], 0.9, ranges=FIXED | {"start": (0.5, 0.99)}, draws=40_000, portion="1 L")

    def weight(fresh):
        seen_clean = norm.cdf(np.log(noticed / (1 - fresh)) / np.hypot(0.05, 0.1)).mean()
        return seen_clean if clean else 1 - seen_clean

    total = quad(weight, 0.5, 0.99, points=[0.9])[0]
    assert close(told.resident, quad(lambda f: f * weight(f), 0.5, 0.99, points=[0.9])[0] / total, told)
    assert told.probability == pytest.approx(quad(weight, 0.9, 0.99)[0] / total, abs=5 * 0.5 / told.effective_draws**0.5)


def served(circuit, bursts=6):
    states = []
    now = circuit.drain("3.6 L").pour("3.7 L")
    for _ in range(bursts):
        burst = now.pump("1.2 L")
        states.append(burst)
        now = burst.pour("1.2 L")
    return states, now


def test_a_series_with_one_unknown_against_a_grid():
    """Only the bypass is unknown, evenly from 0 to 0.6: a grid of 2001 circuits, each weighted by scipy's density."""
    matches = [0.60, 0.45, 0.35, 0.30, 0.22, 0.19]
    states, now = served(wagon())
    fixed = {name: value for name, value in FIXED.items() if name != "bypass"} | {"bypass": (0, 0.6)}
    told = inside_from_outlet(list(zip(states, matches, strict=True)), 0.77, now=now, ranges=fixed, draws=40_000)
    grid = np.linspace(0, 0.6, 2001)
    on_grid, then = served(wagon(bypass=grid))
    logs = np.log(np.array([1 - state.outlet for state in on_grid])).T
    weights = multivariate_normal(np.log(matches), 0.05**2 * np.eye(6) + 0.1**2).pdf(logs)
    weights /= weights.sum()
    assert close(told.resident, weights @ then.resident, told)
    assert close(told.parameters["bypass"], weights @ grid, told)
    assert told.probability == pytest.approx(weights @ (then.resident >= 0.77), abs=5 * 0.5 / told.effective_draws**0.5)
    further = then.pump("1 L").pour("1 L")
    assert close(told.next_portion, 100 * (weights @ (further.resident - then.resident)), told)
    assert close(told.darkening, weights @ (on_grid[-1].outlet - then.resident), told)


def test_intervals_cover_what_was_true():
    """In simulated services, drawn from the stated ranges and noise, the middle 95 % hold the truth 95 times in 100."""
    rng = np.random.default_rng(11)
    covered, ranks, count = 0, [], 60
    for seed in range(count):
        pockets = rng.uniform(0.525, 1.575)
        truth = wagon(
            bypass=rng.uniform(0, 0.6), clutch_circulation=rng.uniform(0.05, 0.5), pocket_circulation=0.003 * (0.1 / 0.003) ** rng.random(),
            pockets=f"{pockets!r} L", converter=f"{2.45 + 1.05 - pockets!r} L",
        )  # fmt: skip
        really, after = served(truth, 4)
        states, now = served(wagon(), 4)
        bias = rng.normal(0, 0.1)
        seen = [(s, float((1 - r.outlet) * np.exp(bias + rng.normal(0, 0.1)))) for s, r in zip(states[1:], really[1:], strict=True)]
        told = inside_from_outlet(seen, 0.7, now=now, reading_noise=0.1, draws=2000, seed=seed, ranges={"sump_floor": 0})
        covered += told.resident.lower <= after.resident <= told.resident.upper
        ranks.append((after.resident - told.resident.mean) / told.resident.standard)
    assert covered >= 52  # fewer are seen once in a hundred runs when 95 % is true
    assert abs(np.mean(ranks)) < 4 / count**0.5
    assert 0.7 < np.std(ranks) < 1.35


def test_what_a_sheet_says_of_the_inside_is_true_as_often_as_it_says(monkeypatch):
    """Circuits drawn from the ranges of the demo job, vials matched by an eye as a job assumes it.

    If the truth is drawn as it is assumed, a posterior covers it as often as it says: S. R. Cook, A. Gelman and D. B. Rubin, J. Comput.
    Graph. Stat. 15 (2006) 675.
    """
    asked = {}
    monkeypatch.setattr(matching, "weighed", lambda *given, **options: asked.update(given=given, options=options))
    Case(Job.demo()).told
    monkeypatch.undo()
    (history, seen, target), options = asked["given"], asked["options"]
    rng, count = np.random.default_rng(2006), 200
    drawn = Unknowns(history, options["ranges"], lenient=True).draw(3 * count, rng)
    outlets, end = drawn.runs({place for places, _ in seen for place in places})
    shown = {place: np.broadcast_to(old, drawn.size) for place, old in outlets.items()}
    apart, covered, inside = [], 0, resident(*end)
    for one in rng.choice(drawn.size, count, replace=False):
        habit, bias, step = rng.choice(len(HABITS), p=HABITS), rng.normal(0, 0.10), options["step"]
        eye = [shown[places[habit]][one] * np.exp(bias + rng.normal(0, 0.05)) for places, _ in seen]
        matches = [(places, float(max(round(old / step) * step, step))) for old, (places, _) in zip(eye, seen, strict=True)]
        told = matching.weighed(history, matches, target, seed=one, **options).resident
        apart.append((inside[one] - told.mean) / told.standard)
        covered += told.lower <= inside[one] <= told.upper
    assert 182 <= covered <= 198  # of 200; beyond that one time in a hundred if 95 % is true
    assert abs(np.mean(apart)) < 3 / count**0.5
    assert 0.86 < np.std(apart) < 1.14  # 1 within 2.8 of its standard errors
