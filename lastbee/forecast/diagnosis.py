"""What is wrong, if anything: troubles compared, what speaks for each, what would settle it.

The probability of a trouble is the share of running trap-outs that it is befalling now.
What a reading says of it is a Bayes factor: how much likelier the reading is with the
trouble going on than in a sound trap-out, both as known before that visit. What would
settle it is the look whose reading tells most about it: the mutual information, in bits,
of reading and trouble, by imagined readings.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import xlogy

from lastbee.colony.course import Trouble
from lastbee.forecast.tracking import log_mean_exp

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.evidence.item import Item
    from lastbee.evidence.scene import Scene
    from lastbee.forecast.runs import Runs
    from lastbee.forecast.tracking import Tracked

    Array = NDArray[np.float64]

IMAGINED_READINGS = 200
IMAGINED_VISITS, IMAGINED_FROM = 300, 500


@dataclass(frozen=True, slots=True)
class Sign:
    """What one reading says of a trouble: `log_odds` > 0 speaks for it (natural log)."""

    visit: int
    item: Item[Scene]
    log_odds: float


@dataclass(frozen=True, slots=True)
class Explanation:
    """A trouble, the probability that it is going on, and what each reading says of it."""

    trouble: Trouble
    probability: float
    signs: tuple[Sign, ...]


def active_troubles(runs: Runs, day: int) -> NDArray[np.int64]:
    """The trouble that each trap-out suffers on a day, NONE if it runs soundly, shape (n,)."""
    courses = runs.courses
    return np.where(courses.is_active(day), courses.trouble, int(Trouble.NONE))


def explanations(tracked: Tracked, runs: Runs, day: int) -> tuple[Explanation, ...]:
    """Every trouble, the likeliest first; the sound course is among them.

    Parameters
    ----------
    tracked
        The strands, for what each reading says.
    runs
        Trap-outs drawn from the posterior after the last visit.
    day
        Day index of today.

    Returns
    -------
    One explanation for each member of `Trouble`; their probabilities sum to one.
    """
    now = active_troubles(runs, day)
    found = [
        Explanation(trouble, float((now == trouble).mean()), signs_of(tracked, trouble))
        for trouble in Trouble
    ]
    return tuple(sorted(found, key=lambda e: -e.probability))


def signs_of(tracked: Tracked, trouble: Trouble) -> tuple[Sign, ...]:
    """What every reading says of a trouble against a sound course, in order of visit.

    The sound course is held against the trouble that fits that reading best.
    """
    found = []
    for k, visit in enumerate(tracked.watch.visits):
        rows = np.array([s.item_log_predictive[k] for s in tracked.strands])
        others = np.nan_to_num(np.delete(rows, Trouble.NONE, axis=0), nan=-np.inf)
        for i, item in enumerate(visit.items):
            against = others[:, i].max() if trouble == Trouble.NONE else rows[Trouble.NONE, i]
            found.append(Sign(k, item, float(rows[trouble, i] - against)))
    return tuple(sign for sign in found if np.isfinite(sign.log_odds))


def surprise_of(tracked: Tracked, k: int, rng: np.random.Generator) -> float:
    """Probability of a visit at least as odd as visit k, given all before it.

    Readings are imagined together, each set from one trap-out, and weighed by how probable
    the trap-outs as known before that visit make the whole set.
    """
    watch, visit = tracked.watch, tracked.watch.visits[k]
    if not visit.items:
        return 1.0
    runs = tracked.runs(k, IMAGINED_FROM, rng)
    _, (scene,) = runs.views(watch.sky, watch.founding.inspection_day, watch.cone_day, (visit,))
    truths = rng.integers(0, scene.size, IMAGINED_VISITS)
    imagined = np.column_stack([item.draw(scene.take(truths), rng) for item in visit.items])
    observed = _log_predictive(visit.items, [item.value for item in visit.items], scene)
    at_most = sum(
        _log_predictive(visit.items, readings, scene, without=truth) <= observed + 1e-9
        for readings, truth in zip(imagined.tolist(), truths.tolist(), strict=True)
    )
    return (at_most + 1.0) / (IMAGINED_VISITS + 1.0)


def _log_predictive(
    items: tuple[Item[Scene], ...],
    readings: list[float],
    scene: Scene,
    without: int | None = None,
) -> float:
    """Log probability of readings over the trap-outs, but for the one that they came from."""
    together = np.zeros(scene.size)
    for item, reading in zip(items, readings, strict=True):
        together += item.log_density(reading, scene)
    return log_mean_exp(together if without is None else np.delete(together, without))


def information_bits(
    items: tuple[Item[Scene], ...],
    scene: Scene,
    is_so: NDArray[np.bool_],
    rng: np.random.Generator,
) -> Array:
    """Mutual information of a look's readings and whether things are so, in bits.

    Parameters
    ----------
    items
        What the look reads together; the readings they hold are ignored.
    scene
        What there is to look at, one a trap-out, n of them.
    is_so
        Whether each of m things is so, shape (m, n).
    rng
        Source of the imagined readings.

    Returns
    -------
    Between 0 and 1 bit each, shape (m,); 0 for what is so for all or for none.
    """
    truths = rng.integers(0, scene.size, IMAGINED_READINGS)
    readings = np.column_stack([item.draw(scene.take(truths), rng) for item in items])
    log_w = np.zeros((IMAGINED_READINGS, scene.size))
    for k, row in enumerate(readings.tolist()):
        for item, value in zip(items, row, strict=True):
            log_w[k] += item.log_density(value, scene)
    weight = np.exp(log_w - log_w.max(axis=1, keepdims=True))
    after = (weight @ is_so.T) / weight.sum(axis=1, keepdims=True)
    told = _entropy_bits(is_so.mean(axis=1)) - _entropy_bits(after).mean(axis=0)
    return np.asarray(np.maximum(0.0, told))


def _entropy_bits(p: Array) -> Array:
    """Entropy of yes-or-no with these probabilities, same shape."""
    p = np.clip(p, 0.0, 1.0)  # Sums of weights may be a rounding above one.
    return np.asarray(-(xlogy(p, p) + xlogy(1.0 - p, 1.0 - p)) / np.log(2.0))
