"""The cause engine against brute force, against a general library, and against what must hold of any such network."""

from __future__ import annotations

import itertools
import math
import warnings
from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from beltwright.errors import Infeasible, OutOfRange
from beltwright.mechanics import noisy_or
from beltwright.mechanics.noisy_or import (
    MOST_HELD,
    Array,
    feasible,
    information_gain,
    likelihood_ratio,
    posterior,
    signs_held,
)


class Network(NamedTuple):
    prior: Array
    strength: Array
    leak: Array
    present: Array
    absent: Array

    def seen(self, sign: int, present: float, absent: float) -> Network:
        """With something else noted of one sign."""
        there, not_there = self.present.copy(), self.absent.copy()
        there[sign], not_there[sign] = present, absent
        return self._replace(present=there, absent=not_there)


_CHANCE = st.floats(0.02, 0.98)
_NOTED = st.one_of(st.just((1.0, 1.0)), st.just((1.0, 0.0)), st.just((0.0, 1.0)), st.tuples(_CHANCE, _CHANCE))


@st.composite
def networks(draw: st.DrawFn, causes: int = 6, signs: int = 7) -> Network:
    n, m = draw(st.integers(1, causes)), draw(st.integers(1, signs))
    strength = draw(st.lists(st.lists(st.one_of(st.just(0.0), _CHANCE, st.just(1.0)), min_size=m, max_size=m),
                             min_size=n, max_size=n))
    noted = draw(st.lists(_NOTED, min_size=m, max_size=m))
    priors = draw(st.lists(st.floats(0.001, 0.999), min_size=n, max_size=n))
    leaks = draw(st.lists(st.floats(0.001, 0.3), min_size=m, max_size=m))
    return Network(np.array(priors), np.array(strength), np.array(leaks), np.array([each[0] for each in noted]),
                   np.array([each[1] for each in noted]))


def brute_force(network: Network) -> tuple[list[float], float]:
    """Every set of causes, one by one, sign by sign."""
    causes = range(len(network.prior))
    whole, having = 0.0, [0.0] * len(network.prior)
    for there in itertools.product((False, True), repeat=len(network.prior)):
        chance = math.prod(network.prior[at] if there[at] else 1.0 - network.prior[at] for at in causes)
        for sign in range(len(network.leak)):
            missing = (1.0 - network.leak[sign]) * math.prod(
                1.0 - network.strength[at, sign] for at in causes if there[at])
            chance *= network.present[sign] * (1.0 - missing) + network.absent[sign] * missing
        whole += chance
        having = [sum_ + chance * on for sum_, on in zip(having, there, strict=True)]
    return [each / whole for each in having], math.log(whole)


# strengths of 1 and a sign noted absent may leave nothing possible
def possible(network: Network) -> bool:
    with np.errstate(divide="ignore", invalid="ignore"):
        try:
            posterior(*network)
        except Infeasible:
            return False
    return True


@given(networks())
def test_every_set_of_causes_added_up_gives_the_same(network: Network) -> None:
    assume(possible(network))
    found = posterior(*network)
    chances, log = brute_force(network)
    assert found.chance == pytest.approx(chances, rel=1e-9, abs=1e-12)
    assert found.log_likelihood == pytest.approx(log, rel=1e-9, abs=1e-9)


@given(networks(causes=5, signs=7), st.integers(0, 2))
def test_taking_causes_both_ways_gives_the_same(network: Network, many: int) -> None:
    """However few signs held it is thought worth for; with that limit as it is, small networks would never do it."""
    assume(possible(network))
    silent = [sign for sign in range(len(network.leak)) if network.present[sign] == network.absent[sign]]
    plain, told = posterior(*network), information_gain(*network, silent)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(noisy_or, "_MANY_HELD", many)
        ways, told_so = posterior(*network), information_gain(*network, silent)
    assert ways.chance == pytest.approx(plain.chance, rel=1e-9, abs=1e-12)
    assert ways.log_likelihood == pytest.approx(plain.log_likelihood, rel=1e-9, abs=1e-9)
    assert told_so.gain == pytest.approx(told.gain, abs=1e-9)
    assert told_so.if_absent == pytest.approx(told.if_absent, rel=1e-9, abs=1e-12)


def test_a_cause_that_ties_all_signs_together_is_taken_both_ways() -> None:
    """One cause brings all thirty signs, thirty others one each: tied by the one, they come apart without it."""
    signs = 30
    strength = np.vstack([np.full(signs, 0.4), np.eye(signs) * 0.8])
    prior = np.full(signs + 1, 0.05)
    network = (prior, strength, np.full(signs, 0.01), np.ones(signs), np.zeros(signs))
    assert signs_held(prior, strength, *network[3:]) <= 2
    # by hand: given the one, signs are independent of each other
    each = {there: [0.95 * (1.0 - 0.99 * (1.0 - 0.4 * there)), 0.05 * (1.0 - 0.99 * (1.0 - 0.4 * there) * 0.2)]
            for there in (0, 1)}
    odds = 0.05 / 0.95 * (sum(each[1]) / sum(each[0]))**signs
    found = posterior(*network).chance
    assert found[0] == pytest.approx(odds / (1.0 + odds), rel=1e-9)
    assert found[1:] == pytest.approx(np.full(signs, (odds * each[1][1] / sum(each[1]) + each[0][1] / sum(each[0])) / (
        1.0 + odds)), rel=1e-9)


@given(networks(causes=4, signs=6))
def test_each_answer_leads_where_asking_it_would(network: Network) -> None:
    assume(possible(network))
    silent = [sign for sign in range(len(network.leak)) if network.present[sign] == network.absent[sign]]
    told = information_gain(*network, silent)
    for at, sign in enumerate(silent):
        yes, no = network.seen(sign, 1.0, 0.0), network.seen(sign, 0.0, 1.0)
        share = network.present[sign]
        assert told.likely[at] == pytest.approx(
            math.exp(posterior(*yes).log_likelihood - posterior(*network).log_likelihood) * share, abs=1e-9)
        assert told.if_present[at] == pytest.approx(brute_force(yes)[0], rel=1e-6, abs=1e-6)
        if told.likely[at] < 1.0 - 1e-12:
            assert told.if_absent[at] == pytest.approx(brute_force(no)[0], rel=1e-9, abs=1e-12)


@given(networks(), st.randoms(use_true_random=False))
def test_the_order_of_causes_and_signs_changes_nothing(network: Network, chance: Any) -> None:
    assume(possible(network))
    rows, columns = (chance.sample(range(size), size) for size in network.strength.shape)
    turned = Network(network.prior[rows], network.strength[np.ix_(rows, columns)], network.leak[columns],
                     network.present[columns], network.absent[columns])
    assert posterior(*turned).chance == pytest.approx(posterior(*network).chance[rows], rel=1e-9, abs=1e-12)


@given(networks(), _CHANCE, _CHANCE)
def test_evidence_comes_in_any_steps(network: Network, first: float, second: float) -> None:
    """Noting a sign twice over is noting the product of both once: what came first does not matter."""
    assume(possible(network))
    sign = 0
    before = network.seen(sign, first, second)
    both = network.seen(sign, first * network.present[sign], second * network.absent[sign])
    assume(possible(both))
    silent = network.seen(sign, 1.0, 1.0)
    step = math.exp(posterior(*both).log_likelihood - posterior(*before).log_likelihood)
    other = math.exp(posterior(*both).log_likelihood - posterior(*silent).log_likelihood)
    assert step == pytest.approx(other / math.exp(
        posterior(*before).log_likelihood - posterior(*silent).log_likelihood), rel=1e-9)


@given(networks())
def test_a_missing_sign_lowers_its_causes_where_nothing_is_to_be_explained(network: Network) -> None:
    none = network._replace(present=np.zeros_like(network.present), absent=np.ones_like(network.absent))
    first = none.seen(0, 1.0, 1.0)
    assume(possible(none))
    assert np.all(posterior(*none).chance <= posterior(*first).chance + 1e-12)


@given(networks())
def test_a_missing_sign_that_nothing_else_brings_never_raises_its_cause(network: Network) -> None:
    """Whatever else is noted."""
    alone = network.strength.copy()
    alone[1:, 0] = 0.0
    silent = network._replace(strength=alone).seen(0, 1.0, 1.0)
    missing = silent.seen(0, 0.0, 1.0)
    assume(possible(silent) and possible(missing))
    assert posterior(*missing).chance[0] <= posterior(*silent).chance[0] + 1e-9


def test_a_missing_sign_may_raise_a_cause_by_clearing_another() -> None:
    """Two causes explain what was seen; a sign that the first would surely bring is missing: the second it is, though
    it brings that sign now and then, too. So it must be, and no engine may do otherwise."""
    network = Network(np.array([0.3, 0.3]), np.array([[0.9, 0.9], [0.9, 0.05]]), np.array([0.01, 0.01]),
                      np.array([1.0, 1.0]), np.array([0.0, 1.0]))
    missing = network.seen(1, 0.0, 1.0)
    assert posterior(*missing).chance[1] > posterior(*network).chance[1]
    assert posterior(*missing).chance[0] < posterior(*network).chance[0]


@given(networks())
def test_by_itself_a_missing_sign_never_speaks_for_a_cause_nor_one_there_against(network: Network) -> None:
    with_leak = network._replace(strength=np.minimum(network.strength, 0.98))
    times = likelihood_ratio(*with_leak)
    more = with_leak.present > with_leak.absent
    assert np.all(times[:, more] >= 1.0 - 1e-12)
    assert np.all(times[:, ~more] <= 1.0 + 1e-12)
    assert np.all(times[with_leak.strength == 0.0] == pytest.approx(1.0))


@given(networks())
def test_what_a_check_tells_is_never_less_than_nothing_and_evens_out(network: Network) -> None:
    assume(possible(network))
    silent = [sign for sign in range(len(network.leak)) if network.present[sign] == network.absent[sign]]
    told = information_gain(*network, silent)
    now = posterior(*network).chance
    assert np.all(told.gain >= 0.0)
    assert np.all(told.gain <= len(now))
    # before the answer is known, the chances after it are on average those of now
    likely = told.likely[:, None]
    assert likely * told.if_present + (1.0 - likely) * told.if_absent == pytest.approx(
        np.broadcast_to(now, told.if_present.shape), abs=1e-9)
    nothing = [at for at, sign in enumerate(silent) if not network.strength[:, sign].any()]
    assert told.gain[nothing] == pytest.approx(0.0, abs=1e-9)


def test_a_check_that_settles_everything_is_worth_all_there_is_to_know() -> None:
    told = information_gain([0.5], [[1.0, 0.0]], [0.0, 0.5], [1.0, 1.0], [1.0, 1.0], [0, 1])
    assert told.gain == pytest.approx([1.0, 0.0])


def test_rare_patterns_keep_their_digits() -> None:
    """Thirty signs, each brought by one cause of its own, seen together: chance below 1e-60, every digit kept."""
    causes = 30
    strength = np.eye(causes) * 0.8
    network = (np.full(causes, 0.01), strength, np.full(causes, 1e-3), np.ones(causes), np.zeros(causes))
    found = posterior(*network)
    alone = 1.0 - (1.0 - 1e-3) * 0.2
    expected = 0.01 * alone / (0.01 * alone + 0.99 * 1e-3)
    assert found.chance == pytest.approx(np.full(causes, expected), rel=1e-12)
    assert found.log_likelihood == pytest.approx(causes * math.log(0.01 * alone + 0.99 * 1e-3), rel=1e-12)
    assert found.log_likelihood < -100.0


def test_absent_signs_cost_nothing_and_too_many_in_doubt_are_refused() -> None:
    causes, signs = 40, 60
    everything = np.full((causes, signs), 0.3)
    prior, leak = np.full(causes, 0.02), np.full(signs, 0.01)
    missing = (np.zeros(signs), np.ones(signs))
    assert signs_held(prior, everything, *missing) == 0
    posterior(prior, everything, leak, *missing)
    doubt = (np.where(np.arange(signs) <= MOST_HELD, 0.9, 0.0), np.where(np.arange(signs) <= MOST_HELD, 0.1, 1.0))
    assert not feasible(prior, everything, *doubt)
    with pytest.raises(OutOfRange, match=f"{MOST_HELD + 1} signs .* {MOST_HELD} are the most"):
        posterior(prior, everything, leak, *doubt)
    with pytest.raises(OutOfRange, match="the most"):
        information_gain(prior, everything, leak, *doubt, candidates=[])


def test_a_good_order_holds_few() -> None:
    """A chain, each cause tied to the next by one sign, is taken link by link."""
    causes = 40
    strength = np.zeros((causes, causes - 1))
    for at in range(causes - 1):
        strength[at, at] = strength[at + 1, at] = 0.5
    assert signs_held(np.full(causes, 0.1), strength, np.ones(causes - 1), np.zeros(causes - 1)) <= 2


@pytest.mark.parametrize(("network", "says"), [
    (([0.5, 1.2], [[0.5], [0.5]], [0.1], [1.0], [0.0]), "prior"),
    (([0.5], [[-0.1]], [0.1], [1.0], [0.0]), "strength"),
    (([0.5], [[0.5]], [float("nan")], [1.0], [0.0]), "leak"),
    (([0.5], [[0.5]], [0.1], [1.0, 1.0], [0.0]), "present: 2 numbers"),
])
def test_what_is_no_chance_is_refused(network: tuple[Any, ...], says: str) -> None:
    with pytest.raises(OutOfRange, match=says):
        posterior(*network)


def test_what_cannot_be_is_said() -> None:
    with pytest.raises(Infeasible, match="cannot all be"):
        posterior([0.5], [[0.0]], [0.0], [1.0], [0.0])
    with pytest.raises(OutOfRange, match="cannot be asked again"):
        information_gain([0.5], [[0.5]], [0.1], [1.0], [0.0], [0])


# --- a general library -----------------------------------------------------------------------------------------------

@pytest.fixture(scope="module")
def general() -> Callable[[Network], list[float]]:
    """The chances of all causes by pgmpy's variable elimination."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")   # it deprecates parts of itself when it is imported
        from pgmpy.factors.discrete import TabularCPD
        from pgmpy.inference import VariableElimination
        from pgmpy.models import DiscreteBayesianNetwork

    def chances(network: Network) -> list[float]:
        model: Any = DiscreteBayesianNetwork()
        causes, signs = network.strength.shape
        model.add_nodes_from([f"c{at}" for at in range(causes)] + [f"s{at}" for at in range(signs)])
        for at, base in enumerate(network.prior):
            model.add_cpds(TabularCPD(f"c{at}", 2, [[1.0 - base], [base]]))
        for sign in range(signs):
            of = np.flatnonzero(network.strength[:, sign])
            model.add_edges_from((f"c{at}", f"s{sign}") for at in of)
            missing = [(1.0 - network.leak[sign]) * math.prod(
                1.0 - network.strength[at, sign] for at, on in zip(of, states, strict=True) if on)
                for states in itertools.product((0, 1), repeat=len(of))]
            model.add_cpds(TabularCPD(f"s{sign}", 2, [missing, [1.0 - each for each in missing]],
                                      [f"c{at}" for at in of], [2] * len(of)))
        virtual = [TabularCPD(f"s{at}", 2, [[network.absent[at]], [network.present[at]]]) for at in range(signs)]
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            asked = VariableElimination(model)
            return [float(asked.query([f"c{at}"], virtual_evidence=virtual, show_progress=False).values[1])
                    for at in range(causes)]
    return chances


@pytest.mark.parametrize("seed", range(6))
def test_a_general_library_says_the_same(general: Callable[[Network], list[float]], seed: int) -> None:
    chance = np.random.default_rng(seed)
    causes, signs = 5 + seed, 8 + seed
    noted = chance.uniform(0.02, 0.98, (2, signs))
    noted[:, :2] = [[1.0, 0.0], [0.0, 1.0]]
    network = Network(chance.uniform(0.02, 0.95, causes),
                      chance.uniform(0.1, 0.95, (causes, signs)) * (chance.random((causes, signs)) < 0.4),
                      chance.uniform(0.01, 0.1, signs), *noted)
    assert posterior(*network).chance == pytest.approx(general(network), rel=1e-9)
