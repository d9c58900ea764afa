"""Strands of troubles: their evidence by importance sampling, and what visits can and cannot do."""

from __future__ import annotations

import functools
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import numba
import numpy as np
import pytest
from colony_factory import BOX, season
from scipy.special import logsumexp

from lastbee.colony.course import PRIOR, Deed, DeedKind, Trouble
from lastbee.colony.founding import Cavity, Founding
from lastbee.evidence import at_cone, in_box, outside
from lastbee.evidence.item import log_likelihood
from lastbee.forecast.diagnosis import active_troubles
from lastbee.forecast.posterior import condition, log_alive
from lastbee.forecast.runs import Seen, Watch
from lastbee.forecast.tracking import Tracked, track

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from lastbee.evidence.item import Item
    from lastbee.evidence.scene import Scene
    from lastbee.forecast.sampler import Cloud

    Array = NDArray[np.float64]

YEAR = season(date(2026, 6, 22), days_ahead=140)
FOUNDING = Founding(YEAR.arrivals, YEAR.swarm_share_so_far, Cavity(0.37, 0.09, 2.4), BOX)
CONE = YEAR.inspection_day + 2
COLONIES, MANY = 1100, 5000
# A good hour, and one in which nothing flies.
GOOD, COLD = (0.9, 9.0), (0.0, 0.0)
PRIOR_WEIGHTS = np.array([PRIOR[t] for t in Trouble])


@pytest.fixture(scope="module", autouse=True)
def one_thread() -> Iterator[None]:
    """Simulate small clouds without waking other cores for each."""
    threads = numba.get_num_threads()
    numba.set_num_threads(1)
    yield
    numba.set_num_threads(threads)


def seen(offset: int, *items: Item[Scene]) -> Seen:
    return Seen(CONE + offset, items, CONE + offset)


def watch(*visits: Seen, deeds: tuple[Deed, ...] = ()) -> Watch:
    return Watch(FOUNDING, YEAR.sky, CONE, (), visits, deeds)


@functools.cache
def called(colonies: int = COLONIES) -> Cloud:
    """Colonies of which nothing is known but that somebody called."""
    return condition((), FOUNDING, YEAR.sky, colonies, np.random.default_rng(70)).cloud


def tracked(of: Watch, seed: int = 71) -> Tracked:
    return track(called(), of, np.random.default_rng(seed))


def nothing(offset: int) -> Seen:
    return seen(offset)


def leak(offset: int, bees: float = 9.0) -> Seen:
    return seen(offset, outside.going_in_elsewhere(bees, 5.0, *GOOD))


# ---- the identity of the marginal likelihood ----

TWICE = watch(
    seen(6, at_cone.cone_state(1.0), in_box.frames_of_bees(2.0, 0.9)),
    seen(12, in_box.eggs_in_box(1.0), outside.going_in_elsewhere(2.0, 5.0, *GOOD)),
    deeds=(Deed(CONE + 7, DeedKind.CONE_CLEARED),),
)
DRAWS = 3000


def by_importance(trouble: Trouble, visits: int) -> tuple[float, float]:
    """Log evidence of the first visits by draws of the prior, and its standard error.

    The mean of the likelihood over the prior of colonies that somebody would call about, whose
    draws are weighed by just that: p(seen) = E[p(called) p(seen | run)] / E[p(called)].
    """
    rng = np.random.default_rng([72, trouble])
    runs = TWICE.runs(
        rng.standard_normal((DRAWS, TWICE.dimensions)),
        rng.integers(0, 2**63, DRAWS, dtype=np.uint64),
        trouble,
    )
    nest, scenes = runs.views(YEAR.sky, FOUNDING.inspection_day, CONE, TWICE.visits[:visits])
    log_l = sum(
        log_likelihood(visit.items, scene)
        for visit, scene in zip(TWICE.visits, scenes, strict=False)
    )
    log_w = log_alive(nest)
    found = float(logsumexp(log_w + log_l) - logsumexp(log_w))
    share = np.exp(log_w - logsumexp(log_w))
    error = np.sqrt((share**2 * (np.exp(log_l - found) - 1.0) ** 2).sum())
    return found, float(error)


@functools.cache
def twice() -> Tracked:
    return track(called(MANY), TWICE, np.random.default_rng(71))


@pytest.mark.parametrize("trouble", list(Trouble), ids=lambda t: t.name)
@pytest.mark.parametrize("visits", [1, 2])
def test_evidence_of_a_strand_is_that_of_importance_sampling(trouble: Trouble, visits: int) -> None:
    """Tests the mean likelihood over the prior, which is the evidence by its definition.

    Within four standard errors, those of the draws and those that the strand would have if it
    weighed its particles in one step.
    """
    strand = twice().strands[trouble]
    assert strand.trouble == trouble
    wanted, error = by_importance(trouble, visits)
    assert strand.log_evidence(visits) == pytest.approx(wanted, abs=bound(trouble, error))


def bound(trouble: Trouble, error: float) -> float:
    particles = len(twice().strands[trouble].clouds[0].z)
    return 4.0 * error * float(np.sqrt(1.0 + DRAWS / particles))


def test_the_bound_on_evidence_is_finer_than_what_it_tells_apart() -> None:
    """Tests the check itself: the evidence of a leak would not pass for that of a cluster."""
    (one, error), (other, error_too) = (
        by_importance(t, 2) for t in (Trouble.LEAK, Trouble.CLUSTER)
    )
    assert abs(one - other) > bound(Trouble.LEAK, error) + bound(Trouble.CLUSTER, error_too)


def test_weights_are_those_of_bayes() -> None:
    """Tests prior times evidence over their sum, worked out anew, after each visit."""
    for visits in range(3):
        weights = twice().weights(visits)
        assert weights.sum() == pytest.approx(1.0)
        evidence = np.exp([s.log_evidence(visits) for s in twice().strands])
        assert weights == pytest.approx(PRIOR_WEIGHTS * evidence / (PRIOR_WEIGHTS @ evidence))
    assert twice().weights(0) == pytest.approx(PRIOR_WEIGHTS)


# ---- what visits can and cannot do ----


def test_a_visit_at_which_nothing_was_looked_at_says_nothing() -> None:
    """Tests the weights to the last digit, before, between and after others."""
    found = tracked(watch(nothing(3), leak(6), nothing(9)))
    assert found.weights(1) == pytest.approx(found.weights(0), rel=1e-12)
    assert found.weights(3) == pytest.approx(found.weights(2), rel=1e-12)
    assert found.weights(2)[Trouble.LEAK] > 1.6 * found.weights(1)[Trouble.LEAK]


def test_no_bee_on_a_cold_rainy_day_says_nearly_nothing() -> None:
    """Tests counts of zero at the cone and round it when nothing flies: bees stay at home below
    about 12 degC and in rain (Burrill & Dietz 1981; Lundie 1925)."""
    silent = (at_cone.bees_out(0.0, 10.0, *COLD), outside.going_in_elsewhere(0.0, 10.0, *COLD))
    found = tracked(watch(leak(6), seen(6, *silent)))
    assert found.weights(2) == pytest.approx(found.weights(1), abs=1e-6)
    busy = (at_cone.bees_out(0.0, 10.0, *GOOD),)
    told = tracked(watch(leak(6), seen(6, *busy)))
    assert np.abs(told.weights(2) - told.weights(1)).max() > 0.02


@pytest.mark.parametrize(
    ("item", "trouble"),
    [
        (outside.going_in_elsewhere(12.0, 5.0, *GOOD), Trouble.LEAK),
        (at_cone.cone_state(2.0), Trouble.CLOGGED),
        (at_cone.bees_back_in(15.0, 5.0, *GOOD), Trouble.WALKED_BACK),
        (outside.cluster_on_wall(30.0), Trouble.CLUSTER),
        (in_box.robbing_at_box(1.0, 0.9), Trouble.ROBBED),
        (in_box.frames_of_bees(0.0, 0.9), Trouble.BOX_LEFT),
    ],
    ids=lambda value: getattr(value, "name", getattr(value, "key", "")),
)
def test_what_is_seen_of_a_trouble_raises_its_chance_most(
    item: Item[Scene], trouble: Trouble
) -> None:
    """Tests one plain sighting after ten days each: common practice, no source."""
    weights = tracked(watch(seen(10, item))).weights(1)
    assert int((weights / PRIOR_WEIGHTS).argmax()) == trouble
    assert weights[trouble] > 1.5 * PRIOR[trouble]


def shares(found: Tracked, visits: int, day: int, begun_by: int | None = None) -> Array:
    """Share of each trouble going on on a day after so many visits."""
    runs = found.runs(visits, 2000, np.random.default_rng(73), begun_by=begun_by)
    assert runs.size == 2000
    return np.bincount(active_troubles(runs, day), minlength=len(Trouble)) / runs.size


def test_troubles_to_come_are_not_going_on() -> None:
    """Tests the prior: what has begun by a day, by its own chance, and no more however asked."""
    early, late = CONE + 1, CONE + 60
    found = tracked(watch(nothing(1)))
    now, later = shares(found, 1, early), shares(found, 1, late)
    assert now[Trouble.NONE] > PRIOR[Trouble.NONE] + 0.1
    assert later[Trouble.NONE] == pytest.approx(PRIOR[Trouble.NONE], abs=0.03)
    # Those that have not begun by then never do, if so asked.
    kept = shares(found, 1, late, begun_by=early)
    assert kept == pytest.approx(shares(found, 1, early, begun_by=early), abs=1e-12)
    assert kept == pytest.approx(now, abs=1e-12)


def test_runs_left_sound_are_sound_in_every_way() -> None:
    """Tests that trap-outs whose trouble is left out live as those of the sound strand do."""
    found = tracked(watch(nothing(1)))
    left = found.runs(1, 800, np.random.default_rng(74), begun_by=CONE + 1)
    assert (left.courses.onset[left.courses.trouble != Trouble.NONE] <= CONE + 1).all()
    sound = left.take(np.flatnonzero(left.courses.trouble == Trouble.NONE))
    assert sound.size > 500
    assert not sound.courses.strangers.any()


def test_a_deed_at_a_visit_is_a_chance_and_no_certainty() -> None:
    """Tests that a leak seen and closed is likely gone, and likelier so after a quiet visit."""
    deed = (Deed(CONE + 7, DeedKind.GAP_CLOSED),)
    closed = tracked(watch(leak(6), leak(13, 0.0), deeds=deed))
    on_day, next_day, later = (
        shares(closed, visits, CONE + day)[Trouble.LEAK]
        for visits, day in ((1, 6), (1, 7), (2, 13))
    )
    assert on_day > 0.2
    # Four in five are mended (common practice, no source).
    assert 0.1 * on_day < next_day < 0.5 * on_day
    assert later < 0.7 * next_day


def test_the_first_visit_is_not_changed_by_a_second() -> None:
    """Tests the weights after the first visit with and without a later one.

    Runs of this size differ by 0.05 between seeds.
    """
    first, both = tracked(watch(leak(6))), tracked(watch(leak(6), nothing(12)))
    assert first.weights(1) == pytest.approx(both.weights(1), abs=0.12)


# ---- readings before they are absorbed ----


def test_a_reading_is_foretold_by_what_is_known_before_it() -> None:
    """Tests the first visit's readings against the mean density over the particles, anew."""
    of = watch(seen(6, at_cone.cone_state(2.0), in_box.robbing_at_box(1.0, 0.9)))
    found = tracked(of)
    for trouble in (Trouble.NONE, Trouble.CLOGGED, Trouble.ROBBED):
        cloud = found.strands[trouble].clouds[0]
        runs = of.runs(cloud.z, cloud.noise, trouble)
        if trouble != Trouble.NONE:
            runs = runs.take(np.flatnonzero(runs.courses.is_active(CONE + 6)))
        _, (scene,) = runs.views(YEAR.sky, FOUNDING.inspection_day, CONE, of.visits)
        wanted = [np.log(np.exp(i.log_density(i.value, scene)).mean()) for i in of.visits[0].items]
        assert found.strands[trouble].item_log_predictive[0] == pytest.approx(wanted)


def test_what_hardly_any_particle_suffers_foretells_nothing() -> None:
    """Tests the day of the cone, on which robbing has hardly begun anywhere."""
    found = tracked(watch(seen(0, at_cone.cone_state(0.0))))
    assert np.isnan(found.strands[Trouble.ROBBED].item_log_predictive[0]).all()
    assert np.isfinite(found.strands[Trouble.LEAK].item_log_predictive[0]).all()


# ---- how it is run ----


def test_the_same_seed_gives_the_same_strands() -> None:
    one, again, other = (tracked(watch(leak(6)), seed) for seed in (5, 5, 6))
    np.testing.assert_array_equal(one.weights(1), again.weights(1))
    for a, b in zip(one.strands, again.strands, strict=True):
        np.testing.assert_array_equal(a.clouds[-1].z, b.clouds[-1].z)
    assert (one.weights(1) != other.weights(1)).any()


def test_progress_runs_up_to_all() -> None:
    told: list[float] = []
    track(called(), watch(nothing(3)), np.random.default_rng(1), told.append)
    assert told == sorted(told)
    assert len(told) >= len(Trouble)
    assert told[-1] == pytest.approx(1.0)


def test_too_few_colonies_are_refused() -> None:
    few = called().taken(np.arange(60))
    with pytest.raises(ValueError, match="60 colonies are too few"):
        track(few, watch(nothing(3)), np.random.default_rng(1))


def test_no_strand_is_without_particles_and_the_likely_has_most() -> None:
    """Tests a plain leak: its strand is dealt more colonies than any but the sound one."""
    found = tracked(watch(leak(6), leak(9)))
    sizes = [len(strand.clouds[-1].z) for strand in found.strands]
    assert 8 <= min(sizes) < max(sizes)
    assert sum(sizes) <= COLONIES
    assert int(np.argmax(sizes)) == Trouble.LEAK == int(found.weights(2).argmax())


def test_what_the_strands_are_worth_is_what_the_likely_ones_are_worth() -> None:
    """Tests the effective number against the variance of a weighted mean, by hand."""
    strands = twice().strands
    one = replace(strands[0], clouds=(replace(strands[0].clouds[0], effective=40.0),))
    two = replace(strands[1], clouds=(replace(strands[1].clouds[0], effective=10.0),))
    pair = Tracked(watch(), (one, two))
    w = PRIOR_WEIGHTS[:2] / PRIOR_WEIGHTS[:2].sum()
    assert pair.effective() == pytest.approx(1.0 / (w[0] ** 2 / 40.0 + w[1] ** 2 / 10.0))
