"""Identity of sources: across processes, garbage collection and threads, one source is one source and two are two."""

from __future__ import annotations

import copy
import gc
import multiprocessing
import os
import pickle
import threading
import weakref
from collections import namedtuple

import pytest

from sumpwise import Ledger, SumpwiseError, Vessel, budget, expanded, measured, monte_carlo, uncertainty
from sumpwise.errors import RangeError
from sumpwise.uncertainty.sources import spread

METHODS = [m for m in ("fork", "spawn", "forkserver") if m in multiprocessing.get_all_start_methods()]


def reading(litres):
    return measured(f"{litres} L", standard="0.1 L", name=f"pail of {litres}")


def several_steps(litres):
    """A worker that makes values of its own, works with them, and sends back what rests on several."""
    return 2 * reading(litres) + reading(litres)


@pytest.mark.filterwarnings("ignore:This process:DeprecationWarning")
@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("work", [reading, several_steps])
def test_workers_bring_back_their_own_values(method, work):
    here = [reading(x) for x in (1, 2, 3, 4)]
    with multiprocessing.get_context(method).Pool(4) as pool:
        back = pool.map(work, (1, 2, 3, 4), chunksize=1)
    factor = 1 if work is reading else 3
    assert [b.magnitude.nominal_value for b in back] == [factor * x for x in (1, 2, 3, 4)]
    u = 0.1 * (1 if work is reading else 5**0.5)
    assert [b.magnitude.std_dev for b in back] == pytest.approx([u] * 4)
    for i, one in enumerate(back):
        for other in (*back[:i], *here):
            assert (one - other).magnitude.std_dev == pytest.approx((one.magnitude.std_dev**2 + other.magnitude.std_dev**2) ** 0.5)
    assert expanded(sum(back[1:], start=back[0])).value.magnitude == pytest.approx(10 * factor)


def gone_and_back(value):
    return value


@pytest.mark.filterwarnings("ignore:This process:DeprecationWarning")
@pytest.mark.parametrize("method", METHODS)
def test_a_value_that_went_to_a_worker_and_back_is_the_same_value(method):
    value = reading(3)
    with multiprocessing.get_context(method).Pool(1) as pool:
        back = pool.map(gone_and_back, [value, 2 * value])
    assert (back[0] - value).magnitude.std_dev == 0.0
    assert (back[1] - 2 * value).magnitude.std_dev == 0.0


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no fork on this system")
@pytest.mark.filterwarnings("ignore:This process:DeprecationWarning")
def test_a_child_of_a_child_draws_its_own_identities():
    seen = {uncertainty.new_uid()}
    for generations in (1, 2):
        read, write = os.pipe()
        child = os.fork()
        if child == 0:  # pragma: no cover
            if generations == 2 and os.fork():
                os._exit(0)
            os.write(write, uncertainty.new_uid().encode())
            os._exit(0)
        os.waitpid(child, 0)
        os.close(write)
        uid = os.read(read, 200).decode()
        os.close(read)
        assert uid
        assert uid.partition("-")[0] not in {u.partition("-")[0] for u in seen}
        seen.add(uid)


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"value": 3.1}, "value"), ({"standard": 0.2}, "standard uncertainty"), ({"shape": "rectangular"}, "shape"),
        ({"dof": 5.0}, "degrees of freedom"),
    ],
)  # fmt: skip
def test_a_known_identity_with_another_content_is_refused(change, word):
    told = {"value": 3.0, "standard": 0.1, "shape": "normal", "dof": float("inf"), "name": "pail", "uid": f"told twice {word}"}
    value = uncertainty.source(**told)
    assert uncertainty.source(**told) is value
    with pytest.raises(RangeError, match=f"pail: .*another {word}"):
        uncertainty.source(**(told | change))
    forged = uncertainty.Source(*(told | change).values())
    with pytest.raises(SumpwiseError, match=f"another {word}"):
        pickle.loads(pickle.dumps(forged))


@pytest.mark.parametrize("collected", [False, True])
def test_what_is_shared_does_not_hang_on_who_still_holds_it(collected):
    name = f"caliper {collected}"
    first = measured("3 L", limits="0.1 L", shared=name)
    if collected:
        del first
        gc.collect()
    with pytest.raises(RangeError, match=f"{name}: read 'normal': was given before .* rectangular"):
        measured("4 L", standard="0.1 L", shared=name)
    with pytest.raises(RangeError, match="5 degrees of freedom"):
        measured("4 L", limits="0.1 L", dof=5, shared=name)
    again = measured("5 L", limits="0.3 L", shared=name)
    assert budget(again).rows[0].shape == "rectangular"
    if not collected:
        assert (again - first).magnitude.std_dev == pytest.approx(0.2 / 3**0.5)


def test_a_thermometer_whose_readings_have_two_shapes_is_one_thermometer():
    jug = Vessel("jug", "1 L", reading_fraction=0)

    def balance(*temperatures):
        ledger = Ledger("847 kg/m³")
        for warm in temperatures:
            ledger = ledger.drained(jug, "4 L", warm, thermometer="two shapes")
        return ledger.balance

    limits, certificate = "60 ± 3 °C", "60 ± 3.4641016151377544 °C (k = 2)"  # of one standard uncertainty, √3
    alike = balance(limits, limits).magnitude.std_dev
    assert alike > 0
    for both in (balance(limits, certificate), balance(certificate, limits)):
        assert both.magnitude.std_dev == pytest.approx(alike)
        assert len(budget(both).rows) == 1
        drawn = monte_carlo(lambda x: x, [both], draws=2000, seed=1)
        assert drawn.standard_uncertainty.magnitude == pytest.approx(alike, rel=0.1)


def test_a_shared_error_that_a_ledger_uses_with_another_shape_is_refused():
    jug = Vessel("jug", "1 L", reading_fraction=0)
    ledger = Ledger("847 kg/m³").drained(jug, "4 L", "60 ± 3 °C", thermometer="in use")
    with pytest.raises(RangeError, match="given before"):
        measured("80 °C", standard="1 °C", shared="thermometer in use")
    assert len(budget(ledger.balance, measured("80 °C", limits="1 °C", shared="thermometer in use")).rows) == 1
    measured("80 °C", standard="1 °C", shared="thermometer said first")
    later = Ledger("847 kg/m³").drained(jug, "4 L", "60 ± 3 °C", thermometer="said first")
    assert {row.shape for row in budget(later.balance).rows} == {"normal"}


def test_threads_that_read_one_pickle_get_one_source():
    for round_ in range(20):
        written = pickle.dumps(uncertainty.Source(3.0, 0.1, "normal", float("inf"), "pail", f"threads {round_}"))
        found, start = [], threading.Barrier(8)

        def read(written=written, found=found, start=start):
            start.wait()
            found.append(pickle.loads(written))

        threads = [threading.Thread(target=read) for _ in range(8)]
        for t in threads:
            t.start()
        for t in threads:
            t.join()
        assert len({id(f) for f in found}) == 1


def test_a_contribution_says_its_role_and_its_vessel():
    pail = Vessel("pail", "0.25 L", scale_uncertainty=0.01, tilt="1 deg", width="250 mm", residue="0.05 ± 0.02 L", expansion="0.0002(1)")
    reading = pail.volume("3 L", "60 °C")
    told = {(source.role, source.vessel) for source, _ in uncertainty.contributions(reading.magnitude)}
    assert told == {("scale", "pail"), ("tilt", "pail"), ("growth", "pail"), ("", "")}
    ledger = Ledger("847 kg/m³").drained(pail, "3 L", "60 °C")
    told = {(source.role, source.vessel) for source, _ in uncertainty.contributions(ledger.balance.magnitude)}
    assert told == {("scale", "pail"), ("tilt", "pail"), ("growth", "pail"), ("reading", "")}
    back = pickle.loads(pickle.dumps(ledger.balance.magnitude))
    assert {(source.role, source.vessel) for source, _ in uncertainty.contributions(back)} == told


def test_a_spread_whose_square_is_too_large_for_a_float_is_still_a_spread():
    Cause = namedtuple("Cause", "name std_dev")
    wide, small = Cause("wide", 1e160), Cause("small", 1.0)
    assert spread({wide: 1.0, small: 1.0}) == pytest.approx(1e160)


def test_a_source_that_nobody_holds_is_gone_at_once():
    """At once, without waiting for the garbage collector; results that rest on it keep it alive."""
    gc.disable()
    try:
        source = reading(5).magnitude
        found, twice = weakref.ref(source), 2 * source
        assert uncertainty.derivatives(twice) == {source: 2.0}
        assert uncertainty.derivatives(source) == {source: 1.0}
        del source
        assert found() is not None
        del twice
        assert found() is None
    finally:
        gc.enable()


def test_the_uncertainty_of_a_source_and_of_what_rests_on_it_stays_as_it_was():
    cause = uncertainty.source(2.0, 0.1, name="read")
    told = uncertainty.combine(5.0, [(2.0, cause)])
    assert told.std_dev == told.s == uncertainty.standard(told) == pytest.approx(0.2, rel=1e-15)
    with pytest.raises(AttributeError):
        cause.std_dev = 0.3
    for twin in (copy.copy(told), copy.deepcopy(told), pickle.loads(pickle.dumps(told))):
        assert twin.std_dev == told.std_dev
        assert uncertainty.standard(twin - told) == 0
