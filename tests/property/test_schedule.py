"""What must hold of any schedule of visits over any prospects."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from lastbee.colony.course import Trouble
from lastbee.colony.layout import NO_CONE
from lastbee.forecast.prospects import Prospects
from lastbee.methods.loss import Weights
from lastbee.methods.schedule import Outlook, expected_cost, next_visit
from lastbee.methods.visits import Schedule

UNTIL = 50
WEIGHTS = Weights(bees_lost=20.0, week=0.5, opening=12.0)

seeds = st.integers(0, 2**32 - 1)
rhythms = st.integers(2, 25)
firsts = st.integers(1, 30)


def prospects_of(seed: int, n: int = 8) -> Prospects:
    """Any trap-outs for which trouble that ends later never empties sooner."""
    rng = np.random.default_rng(seed)
    ends = np.array([1, 4, 9, 20, UNTIL + 1])
    onset = np.where(rng.random(n) < 0.3, NO_CONE, rng.integers(-5, UNTIL, n))
    is_ill = onset[:, None] <= ends
    later = np.cumsum(np.where(is_ill, rng.exponential(4.0, (n, 5)), 0.0), axis=1)
    worse = np.cumsum(np.where(is_ill, rng.exponential(0.05, (n, 5)), 0.0), axis=1)
    empty = np.minimum(rng.integers(1, UNTIL, (n, 1)) + later, UNTIL + 1.0)
    trouble = np.where(onset == NO_CONE, 0, rng.integers(1, len(Trouble), n))
    return Prospects(0, UNTIL, ends, trouble, onset, rng.random(n), empty, empty - 2.0, 0.1 + worse)


def suited_of(seed: int) -> np.ndarray:
    return np.random.default_rng(seed).random(UNTIL + 1) < 0.8


def weighed(seed: int, first: int, rhythm: int, weights: Weights = WEIGHTS) -> Outlook:
    return expected_cost(
        Schedule((first,), rhythm), prospects_of(seed), suited_of(seed), weights, 0.9
    )


@given(seeds, firsts, rhythms)
@settings(max_examples=60, deadline=None)
def test_what_no_schedule_changes_is_the_same_for_all(seed: int, first: int, rhythm: int) -> None:
    once, other = weighed(seed, first, rhythm), weighed(seed, 7, 7)
    assert np.isclose(once.cost.unavoidable, other.cost.unavoidable)
    assert np.isclose(
        once.trouble_costs.sum(), once.cost.trouble_weeks + once.cost.trouble_bees, atol=1e-9
    )
    assert once.cost.idle >= 0.0
    assert once.days_troubled >= 0.0
    assert 0.0 <= once.unclosed <= 1.0


@given(seeds, firsts, rhythms, st.sampled_from(["bees_lost", "week", "opening"]))
@settings(max_examples=60, deadline=None)
def test_the_same_visits_never_cost_less_where_more_is_at_stake(
    seed: int, first: int, rhythm: int, weight: str
) -> None:
    dearer = replace(WEIGHTS, **{weight: 2.0 * getattr(WEIGHTS, weight)})
    before, after = weighed(seed, first, rhythm), weighed(seed, first, rhythm, dearer)
    assert after.cost.total >= before.cost.total - 1e-9
    assert np.isclose(after.cost.visits, before.cost.visits)


@given(seeds, st.floats(0.0, 1.0))
@settings(max_examples=40, deadline=None)
def test_a_surer_eye_leaves_less_trouble(seed: int, chance: float) -> None:
    prospects = prospects_of(seed)
    every = Schedule((3,), 6)
    dull, sharp = (
        expected_cost(
            every, replace(prospects, chance=c * prospects.chance), suited_of(seed), WEIGHTS, 0.9
        )
        for c in (chance, 1.0)
    )
    assert sharp.days_troubled <= dull.days_troubled + 1e-9


@given(seeds)
@settings(max_examples=40, deadline=None)
def test_no_other_date_weighed_is_clearly_cheaper(seed: int) -> None:
    suited = suited_of(seed)
    found = next_visit(prospects_of(seed), suited, WEIGHTS, 0.9)
    assert found is not None
    assert suited[found.day]
    assert found.best.cost.total <= min(o.cost.total for o in found.outlooks) + 0.5
    week = [o for o in found.outlooks if found.day <= o.schedule.days[0] <= found.day + 7]
    assert found.best.cost.total == min(o.cost.total for o in week)
    days = [o.schedule.days[0] for o in found.outlooks]
    assert days == sorted(set(days))
