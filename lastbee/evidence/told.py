"""What the client told: when bees were first noticed, and whether a swarm was seen.

People notice a nest some days after it starts; a few misremember altogether. A colony
older than this season may have been noticed on any day, more likely since the season began;
"first seen" speaks for it where no swarm of this season would fit. A swarm seen in an
earlier year speaks for an old nest.

Both are densities over the log of a day more than the days told, since people round two
days and two months alike. They do not all integrate to one: what is missing is the
chance that there is nothing to tell (nobody has noticed yet, no swarm was seen), which
a draw gives as NaN. So the fact of the tale speaks too: few old nests have a swarm told
of them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from lastbee.colony.founding import Hypothesis

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.evidence.nest import Nest

# Days until a nest is noticed, error of the memory, share of tales that mislead: assumed.
NOTICE_DAYS = 14.0
MEMORY_DAYS = 2.5
MISLED = 0.06
LONGEST_TALE_DAYS = 400.0
# Old nests first noticed since the season began, when traffic grows: assumed.
NOTICED_THIS_SEASON = 0.5
# A swarm seen going in dates a colony to a day or so, if it was this one; the chance that
# another swarm is told of, for a colony that came otherwise or unseen: assumed.
SWARM_DATE_DAYS = 1.0
OTHER_SWARM = 0.08
# Old nests whose own swarm somebody remembers: assumed.
OWN_OLD_SWARM = 0.15
# Years that tales of old nests span; colonies live 5-6 years (Seeley 2017).
OLD_TALE_DAYS = 1825.0
# Keeps a tale that fits nothing from ruling everything out.
LEAST_DAILY = 1e-9


@dataclass(frozen=True, slots=True)
class FirstSeen:
    """Days before the inspection on which bees were first noticed."""

    value: float
    key: str = "first seen"
    label: str = "Client first saw bees"

    @property
    def reading(self) -> str:
        """The reading in words."""
        return f"{self.value:.0f} days before the inspection"

    def log_density(self, value: float, nest: Nest) -> NDArray[np.float64]:
        """Score the delay of notice, blurred by memory, with a share of wrong tales."""
        delay = nest.age_days - value
        mass = NOTICE_DAYS + MEMORY_DAYS * np.sqrt(np.pi / 2.0)
        late = np.exp(-np.maximum(delay, 0.0) / NOTICE_DAYS)
        early = np.exp(-0.5 * (np.minimum(delay, 0.0) / MEMORY_DAYS) ** 2)
        misled = MISLED / LONGEST_TALE_DAYS if value <= LONGEST_TALE_DAYS else 0.0
        swarm = (1.0 - MISLED) * late * early / mass + misled
        is_old = nest.hypothesis == Hypothesis.ESTABLISHED
        season = np.where(value <= nest.age_days, 1.0 / np.maximum(nest.age_days, 1.0), 0.0)
        long_ago = (1.0 - NOTICED_THIS_SEASON) / OLD_TALE_DAYS if value <= OLD_TALE_DAYS else 0.0
        daily = np.where(is_old, NOTICED_THIS_SEASON * season + long_ago, swarm) + LEAST_DAILY
        return np.asarray(np.log(daily) + _log_scale(value))

    def draw(self, nest: Nest, rng: np.random.Generator) -> NDArray[np.float64]:
        """Imagine a tale about each colony; NaN where nobody has noticed it yet."""
        n = nest.size
        mass_early = MEMORY_DAYS * np.sqrt(np.pi / 2.0)
        is_early = rng.random(n) < mass_early / (NOTICE_DAYS + mass_early)
        late = nest.age_days - rng.exponential(NOTICE_DAYS, n)
        early = nest.age_days + np.abs(MEMORY_DAYS * rng.standard_normal(n))
        tale = np.where(is_early, early, late)
        is_old = nest.hypothesis == Hypothesis.ESTABLISHED
        # An old nest is followed from the season's start, so that its age is the season's.
        season = rng.uniform(0.0, 1.0, n) * np.maximum(nest.age_days, 1.0)
        tale = np.where(is_old, season, tale)
        is_any = rng.random(n) < np.where(is_old, 1.0 - NOTICED_THIS_SEASON, MISLED)
        longest = np.where(is_old, OLD_TALE_DAYS, LONGEST_TALE_DAYS)
        return _told(np.where(is_any, longest * rng.random(n), tale))


@dataclass(frozen=True, slots=True)
class SwarmSeen:
    """Days before the inspection on which a swarm was seen going in."""

    value: float
    key: str = "swarm seen"
    label: str = "A swarm was seen going in"

    @property
    def reading(self) -> str:
        """The reading in words."""
        return f"{self.value:.0f} days before the inspection"

    def log_density(self, value: float, nest: Nest) -> NDArray[np.float64]:
        """Score the arrival to a day or so, with a share of other swarms."""
        off = (nest.age_days - value) / SWARM_DATE_DAYS
        sharp = np.exp(-0.5 * off**2) / (SWARM_DATE_DAYS * np.sqrt(2.0 * np.pi))
        is_old = nest.hypothesis == Hypothesis.ESTABLISHED
        other = OTHER_SWARM / LONGEST_TALE_DAYS if value <= LONGEST_TALE_DAYS else 0.0
        is_before = (value > nest.age_days) & (value <= nest.age_days + OLD_TALE_DAYS)
        own = np.where(is_before, OWN_OLD_SWARM / OLD_TALE_DAYS, 0.0)
        daily = np.where(is_old, own, (1.0 - OTHER_SWARM) * sharp) + other + LEAST_DAILY
        return np.asarray(np.log(daily) + _log_scale(value))

    def draw(self, nest: Nest, rng: np.random.Generator) -> NDArray[np.float64]:
        """Imagine a swarm told of each colony; NaN where none would be."""
        n = nest.size
        sharp = nest.age_days + SWARM_DATE_DAYS * rng.standard_normal(n)
        before = nest.age_days + rng.uniform(0.0, OLD_TALE_DAYS, n)
        remembered = np.where(rng.random(n) < OWN_OLD_SWARM / (1.0 - OTHER_SWARM), before, np.nan)
        own = np.where(nest.hypothesis == Hypothesis.ESTABLISHED, remembered, sharp)
        is_other = rng.random(n) < OTHER_SWARM
        return _told(np.where(is_other, rng.uniform(0.0, LONGEST_TALE_DAYS, n), own))


def _log_scale(value: float) -> float:
    """Log density over log(1 + days) less that over days."""
    return float(np.log1p(max(value, 0.0)))


def _told(days: NDArray[np.float64]) -> NDArray[np.float64]:
    """Leave out what would be told only after the inspection."""
    return np.where(days >= 0.0, days, np.nan)
