"""Simulation-based calibration of the inspection posterior.

Draw a colony from the prior, among those that anybody would have called about; draw
readings of a few items from it; condition on them. If sampler, likelihood and draws agree
with each other, the rank of the true value among posterior draws is uniform [1]_, for
every quantity, whatever the items. It says nothing about the world: for that see
`verify.other_model`.

Ranks are taken among few draws picked from a larger cloud, because particles of one cloud
are related and a rank among all of them would not be uniform; ties (ages are whole days)
are broken at random. An inspection at which an item has nothing to tell is drawn anew,
colony and all, as it would not have been a job with that item.

References
----------
.. [1] Talts, S., Betancourt, M., Simpson, D., Vehtari, A. & Gelman, A., "Validating
   Bayesian inference algorithms with simulation-based calibration", arXiv:1804.06788,
   2018.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from lastbee.colony.founding import DIMENSIONS, Cavity, Founding
from lastbee.evidence import cues
from lastbee.evidence.comb import ClusterOnly, CombColour, CombSize
from lastbee.evidence.told import FirstSeen, SwarmSeen
from lastbee.evidence.traffic import TrafficCount
from lastbee.forecast import scores
from lastbee.forecast.posterior import condition, log_alive, simulate_nests
from lastbee.planning.sky import year_at
from verify.ages import BOX, LATITUDE_DEG, LONGITUDE_DEG, NORMALS
from verify.workers import in_processes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.evidence.item import Item
    from lastbee.evidence.nest import Nest

QUANTITIES = ("age", "adults", "honey", "comb")
DRAWS = 19
COVERED = (0.5, 0.8, 0.9)
INSPECTED = (date(2026, 6, 12), date(2026, 7, 20), date(2026, 9, 5))
CAVITIES = (Cavity(), Cavity(0.37, 0.09, None), Cavity(0.37, 0.2, 2.4))
MOST_ITEMS = 6
_BATCH = 32


@dataclass(frozen=True, slots=True)
class Calibration:
    """Ranks 0 to DRAWS, shape (cases, quantities), and whether each interval held the truth.

    `inside` has shape (cases, quantities, len(COVERED)); `keys` the items of each case.
    """

    ranks: NDArray[np.int64]
    inside: NDArray[np.bool_]
    keys: tuple[tuple[str, ...], ...]

    def p_value(self, quantity: int, bins: int = 10) -> float:
        """Chi-square p-value of uniform ranks; `bins` must divide DRAWS + 1."""
        return scores.uniformity(self.ranks[:, quantity], bins, DRAWS)

    def coverage(self) -> NDArray[np.float64]:
        """Share of cases inside each interval, shape (quantities, len(COVERED))."""
        return np.asarray(self.inside.mean(axis=0))


@cache
def sites() -> tuple[tuple[Founding, NDArray[np.float64]], ...]:
    """Calendars of three dates, each with a cavity known less or better."""
    found = []
    for day, cavity in zip(INSPECTED, CAVITIES, strict=True):
        year = year_at(LATITUDE_DEG, LONGITUDE_DEG, day, NORMALS, 3)
        found.append((Founding(year.arrivals, year.swarm_share_so_far, cavity, BOX), year.sky))
    return tuple(found)


def some_items(rng: np.random.Generator) -> tuple[Item, ...]:
    """Pick a random few of all items, unread."""
    unread = float("nan")
    activity = float(rng.choice([0.05, 0.4, 1.0]))
    items: tuple[Item, ...] = (
        TrafficCount(unread, 5.0, int(rng.integers(1, 3)), activity, 9.0),
        CombSize(unread, is_area=bool(rng.integers(2)), is_whole=bool(rng.integers(2))),
        CombColour(unread),
        FirstSeen(unread),
        SwarmSeen(unread),
        ClusterOnly(unread),
        cues.warm_area(unread),
        cues.hum_span(unread),
        cues.warm_to_hand(unread),
        cues.pollen_carried(unread, activity),
        cues.drones_flying(unread, activity),
        cues.young_bees_orienting(unread),
        cues.capped_brood_seen(unread),
        cues.capped_honey_seen(unread),
    )
    chosen = rng.choice(len(items), int(rng.integers(1, MOST_ITEMS + 1)), replace=False)
    return tuple(items[i] for i in sorted(chosen))


def imagined_inspection(
    items: tuple[Item, ...],
    founding: Founding,
    sky: NDArray[np.float64],
    rng: np.random.Generator,
) -> tuple[Nest, tuple[Item, ...]]:
    """Draw a colony that was noticed, and what `items` read at it."""
    while True:
        z = rng.standard_normal((_BATCH, DIMENSIONS))
        noise = rng.integers(0, 2**63, _BATCH, dtype=np.uint64)
        _, nest = simulate_nests(z, noise, founding, sky)
        called = rng.random(_BATCH) < np.exp(log_alive(nest))
        readings = np.stack([item.draw(nest, rng) for item in items])
        usable = np.flatnonzero(called & ~np.isnan(readings).any(axis=0))
        if len(usable):
            first = usable[:1]
            read = tuple(
                replace(item, value=float(value))  # type: ignore[type-var]
                for item, value in zip(items, readings[:, first[0]], strict=True)
            )
            return nest.take(first), read


def quantities_of(nest: Nest) -> NDArray[np.float64]:
    """What people read, in the order of QUANTITIES, shape (n, 4)."""
    return np.column_stack([nest.age_days, nest.adults, nest.honey_g, nest.comb_dm2])


def one_case(
    seed: np.random.SeedSequence, colonies: int
) -> tuple[NDArray[np.int64], NDArray[np.bool_], tuple[str, ...]]:
    """Ranks, interval hits and items of one imagined inspection."""
    rng = np.random.default_rng(seed)
    founding, sky = sites()[rng.integers(len(INSPECTED))]
    nest, items = imagined_inspection(some_items(rng), founding, sky, rng)
    posterior = condition(items, founding, sky, colonies, rng)
    truth, cloud = quantities_of(nest)[0], quantities_of(posterior.nest)
    picked = cloud[rng.choice(colonies, DRAWS, replace=False)]
    ranks = scores.ranks(picked.T, truth, rng)
    inside = scores.is_covered(scores.places(cloud.T, truth, rng)[:, None], COVERED)
    return ranks, inside, tuple(item.key for item in items)


def calibrate(cases: int, colonies: int, seed: int, processes: int = 1) -> Calibration:
    """Rank the truth in many imagined inspections.

    Parameters
    ----------
    cases
        Number of inspections.
    colonies
        Colonies in each posterior.
    seed
        Start of all random numbers; the result does not depend on `processes`.
    processes
        Processes to share the work.

    Returns
    -------
    The calibration.
    """
    tasks = [(s, colonies) for s in np.random.SeedSequence(seed).spawn(cases)]
    results = in_processes(one_case, tasks, processes)
    ranks, inside, keys = zip(*results, strict=True)
    return Calibration(np.array(ranks), np.array(inside), tuple(keys))


def report(found: Calibration) -> tuple[list[str], dict[str, float]]:
    """Print-ready lines and the figures behind them."""
    lines = [f"{len(found.ranks)} inspections", "quantity   p (uniform ranks)   50 %   80 %   90 %"]
    figures: dict[str, float] = {"sbc_cases": float(len(found.ranks))}
    for i, (name, shares) in enumerate(zip(QUANTITIES, found.coverage(), strict=True)):
        p = found.p_value(i)
        lines.append(f"{name:10s}{p:12.3f}         " + "".join(f"{s:7.3f}" for s in shares))
        figures[f"sbc_p_{name}"] = p
        for level, share in zip(COVERED, shares, strict=True):
            figures[f"sbc_coverage_{100 * level:.0f}_{name}"] = float(share)
    return lines, figures


if __name__ == "__main__":
    for line in report(calibrate(600, 600, seed=20260601, processes=2))[0]:
        print(line)
