"""Causes ranked and the next check chosen, beside pgmpy on the same network in the same run.

    python benchmarks/causes.py
    python benchmarks/causes.py --troubles 40 --whole

Troubles are invented: causes drawn, their signs drawn from the network itself, sixty of the 95 signs answered. Printed
are core times: the whole ranking with words, the choice of the next check, both again where many signs are present.
Then the chances of all causes beside pgmpy's variable elimination, one query a cause, on the trade's network cut down
to what the evidence touches: all 42 causes; signs of which nothing is noted are left out, which changes no answer.
With --whole also where sixty signs are answered: pgmpy takes a minute or, on other evidence, many.
"""

from __future__ import annotations

import argparse
import itertools
import time
import warnings
from collections.abc import Callable
from typing import Any

import numpy as np

from beltwright.bench.causes.checks import next_check
from beltwright.bench.causes.evidence import Evidence, likelihoods
from beltwright.bench.causes.knowledge import Knowledge, knowledge
from beltwright.bench.causes.ranking import ranked
from beltwright.bench.causes.rates import Counts, rates
from beltwright.bench.figure import say
from beltwright.mechanics.noisy_or import posterior, signs_held


def trouble(trade: Knowledge, chance: np.random.Generator, *, answered: int, present: int) -> list[Evidence]:
    """Evidence of one invented trouble: so many signs answered, so many of them present, one of five only likely so."""
    there = {0, *chance.choice(np.arange(1, len(trade.causes)), 2, replace=False).tolist()}
    shows = 1.0 - (1.0 - trade.leak) * np.prod(1.0 - trade.strength[sorted(there)], axis=0)
    names = list(trade.signs)
    picked = chance.choice(len(names), present, replace=False, p=shows / shows.sum())
    rest = np.setdiff1d(np.arange(len(names)), picked)
    evidence = [Evidence(names[at], 0.97 if number % 5 == 4 else 1.0, 0.03 if number % 5 == 4 else 0.0, "answered",
                         say("invented")) for number, at in enumerate(picked)]
    return evidence + [Evidence(names[at], 0.0, 1.0, "answered", say("invented"))
                       for at in chance.choice(rest, answered - present, replace=False)]


def core(work: Callable[[], object], times: int = 5) -> float:
    """The least core time of a piece of work [s]."""
    taken = []
    for _ in range(times):
        start = time.process_time()
        work()
        taken.append(time.process_time() - start)
    return min(taken)


def ours(troubles: int) -> None:
    """Ranking and next check for troubles with few and with many signs present."""
    trade = knowledge()
    rated = rates(trade, plant=Counts(), drive=Counts())
    print(f"{len(trade.causes)} causes, {len(trade.signs)} signs, "
          f"{sum(len(cause.links) for cause in trade.causes.values())} links")
    for answered, present in ((20, 6), (60, 6), (60, 12), (60, 20)):
        chance = np.random.default_rng(11)
        cases = [trouble(trade, chance, answered=answered, present=present) for _ in range(troubles)]
        held = [signs_held(trade.base, trade.strength, *likelihoods(trade, case)) for case in cases]
        ranking = [core(lambda case=case: ranked(trade, case, rated)) for case in cases]  # type: ignore[misc]
        asking = [core(lambda case=case: next_check(trade, case, rated), 3) for case in cases]  # type: ignore[misc]
        print(f"{answered} signs answered, {present} of them present ({max(held)} held at once at most): ranking "
              f"{np.median(ranking) * 1e3:.1f} ms, slowest {max(ranking) * 1e3:.1f} ms; next check "
              f"{np.median(asking) * 1e3:.1f} ms, slowest {max(asking) * 1e3:.1f} ms")


def beside(present: int, absent: int) -> None:
    """The chances of all causes, by us and by pgmpy."""
    trade = knowledge()
    case = trouble(trade, np.random.default_rng(3), answered=present + absent, present=present)
    there, not_there = likelihoods(trade, case)
    network = (trade.base, trade.strength, trade.leak, there, not_there)
    mine = posterior(*network).chance
    ask = peer(trade, case)
    start = time.process_time()
    theirs = np.array(ask())
    taken = time.process_time() - start
    own = core(lambda: posterior(*network), 20)
    print(f"beside pgmpy, all {len(trade.causes)} causes, {present} signs present and {absent} absent: ours "
          f"{own * 1e3:.2f} ms, pgmpy {taken * 1e3:.0f} ms, {taken / own:.0f} times; largest difference "
          f"{np.abs(mine - theirs).max():.1e}")


def peer(trade: Knowledge, case: list[Evidence]) -> Callable[[], list[float]]:
    """The same network in pgmpy, cut down to the signs of which something is noted; asks for every cause."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from pgmpy.factors.discrete import TabularCPD
        from pgmpy.inference import VariableElimination
        from pgmpy.models import DiscreteBayesianNetwork
    causes = list(trade.causes)
    model: Any = DiscreteBayesianNetwork()
    model.add_nodes_from(causes)
    for cause, base in zip(causes, trade.base, strict=True):
        model.add_cpds(TabularCPD(cause, 2, [[1.0 - base], [base]]))
    # a sign and a cause may bear one name
    named = {each.sign: f"sign {each.sign}" for each in case}
    for each in case:
        at = trade.place[each.sign]
        of = [row for row in range(len(causes)) if trade.strength[row, at] > 0.0]
        model.add_edges_from((causes[row], named[each.sign]) for row in of)
        fails = 1.0 - trade.strength[of, at]
        missing = [(1.0 - trade.leak[at]) * float(np.prod(fails[np.array(states, dtype=bool)]))
                   for states in itertools.product((0, 1), repeat=len(of))]
        model.add_cpds(TabularCPD(named[each.sign], 2, [missing, [1.0 - chance for chance in missing]],
                                  [causes[row] for row in of], [2] * len(of)))
    hard = {named[each.sign]: int(each.there) for each in case if each.sure}
    soft = [TabularCPD(named[each.sign], 2, [[each.absent], [each.present]]) for each in case if not each.sure]
    elimination = VariableElimination(model)

    def ask() -> list[float]:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            found = [elimination.query([cause], evidence=hard, virtual_evidence=soft, show_progress=False)
                     for cause in causes]
        return [float(each.values[1]) for each in found]
    return ask


def main() -> None:
    parser = argparse.ArgumentParser(description="Causes ranked, ours beside pgmpy.")
    parser.add_argument("--troubles", type=int, default=20, help="invented troubles of each kind (20)")
    parser.add_argument("--whole", action="store_true", help="sixty signs answered beside pgmpy, too")
    given = parser.parse_args()
    ours(given.troubles)
    for present, absent in ((3, 5), (6, 10), (12, 48)) if given.whole else ((3, 5), (6, 10)):
        beside(present, absent)


if __name__ == "__main__":
    main()
