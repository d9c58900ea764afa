"""What is inside, what stays behind and what is in the box, as quantities with ranges."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from lastbee.biology.comb import BEES_PER_DEEP_FRAME
from lastbee.colony.founding import Hypothesis
from lastbee.colony.layout import Daily
from lastbee.jobs.plan import Quantity, Share
from lastbee.words import Unit, comb_unit, count_unit, mass_unit, range_words

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.evidence.nest import Nest
    from lastbee.forecast.trapout import TrapOut
    from lastbee.words import UnitSystem

POINTS = (0.05, 0.5, 0.95)
WEEK = Unit("weeks", 7.0, 0.5)
FRAME = Unit("frames", 1.0, 0.5)


def quantity(key: str, label: str, values: NDArray[np.floating], unit: Unit) -> Quantity:
    """Summarise draws of one number, given in the unit's base."""
    low, median, high = (float(v) for v in np.quantile(values, POINTS))
    words = range_words(low, median, high, unit)
    return Quantity(
        key, label, unit.sign, median / unit.size, low / unit.size, high / unit.size, words
    )


def contents(nest: Nest, system: UnitSystem, season: str) -> tuple[Quantity, ...]:
    """What is in the wall on the day of the inspection; `season` names the one followed."""
    this_season = nest.hypothesis != Hypothesis.ESTABLISHED
    found = []
    if this_season.mean() >= 0.5:
        label = "Time in the wall" + ("" if this_season.all() else f", if it came {season}")
        found.append(quantity("age", label, nest.age_days[this_season], WEEK))
    found += [
        quantity("adults", "Adult bees", nest.adults, count_unit("bees", 50.0)),
        quantity("foragers", "of these foragers", nest.foragers, count_unit("bees", 50.0)),
        quantity(
            "open_brood", "Eggs and open brood", nest.eggs + nest.larvae, count_unit("cells", 50.0)
        ),
        quantity("capped", "Capped brood", nest.capped, count_unit("cells", 50.0)),
        quantity("drones", "Drones", nest.drones, count_unit("bees", 10.0)),
        quantity("honey", "Honey", nest.honey_g / 1000.0, mass_unit(system)),
        quantity("pollen", "Pollen", nest.pollen_g / 1000.0, mass_unit(system)),
        quantity("comb", "Comb", nest.comb_dm2, comb_unit(system)),
    ]
    return tuple(found)


def founding_shares(nest: Nest, season: str) -> tuple[Share, ...]:
    """How it came to be there; `season` is what the season followed is called."""
    labels = (
        ("new swarm", f"a swarm of {season} on bare boards"),
        ("old comb", f"a swarm of {season} in comb left by an earlier colony"),
        ("established", f"a colony older than {season}"),
    )
    counts = np.bincount(nest.hypothesis, minlength=len(labels)) / nest.size
    return tuple(
        Share(key, label, float(p)) for (key, label), p in zip(labels, counts, strict=True)
    )


def left_behind(
    trap: TrapOut, honey_after_rob_g: NDArray[np.float64] | None, system: UnitSystem
) -> tuple[Quantity, ...]:
    """What stays in the cavity when the bees are out."""
    mass = mass_unit(system)
    small = mass_unit(system) if system == "us" else Unit("g", 0.001, 10.0)
    found = [
        quantity("honey", "Honey when the bees are out", trap.honey_left_g / 1000.0, mass),
    ]
    if honey_after_rob_g is not None:
        found.append(
            quantity("honey_robbed", "Honey after a rob-out", honey_after_rob_g / 1000.0, mass)
        )
    found += [
        quantity("comb", "Comb", trap.comb_left_dm2, comb_unit(system)),
        quantity("dead_brood", "Dead brood in the comb", trap.dead_brood_g / 1000.0, small),
        quantity("dead_bees", "Dead bees", trap.dead_bees_g / 1000.0, small),
    ]
    return tuple(found)


def left_by(honey: Quantity) -> tuple[Quantity, ...]:
    """What a way that acts at once leaves: its honey, told for the page."""
    return (replace(honey, key="honey", label="Honey left in the cavity"),)


def queen_shares(trap: TrapOut) -> tuple[Share, ...]:
    """Where the queen is in the end."""
    left, died, still = trap.queen_shares()
    return (
        Share("left", "left with the last bees, mostly into the box", left),
        Share("died", "stayed and died in the nest", died),
        Share("inside", "still inside when the forecast ends", still),
    )


def box_colony(trap: TrapOut, day: int) -> tuple[Quantity, ...]:
    """Strength of the box on the day it is moved, an offset from the cone's first day."""
    bees = trap.records[:, day, Daily.BOX].astype(np.float64)
    return (
        quantity("box_bees", "Bees in the box, its own included", bees, count_unit("bees", 50.0)),
        quantity("box_frames", "Frames covered with bees", bees / BEES_PER_DEEP_FRAME, FRAME),
        quantity(
            "joined", "Bees that reach the box",
            100.0 * trap.joined_share, Unit("%", 1.0, 1.0),
        ),
    )  # fmt: skip
