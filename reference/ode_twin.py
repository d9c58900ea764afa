"""The colony model in continuous time: one system of differential equations a colony.

The same rates as the kernel, but nothing happens once a day: eggs, larvae, capped brood,
drone brood and young bees are chains of age classes that bees leave at a constant rate,
flows run all day, and the weather is its daily mean, in a straight line from noon to
noon. There is no cone here. Solved by SciPy for each colony alone.

Where it must differ from the kernel: time in a chain of n classes of 1/k days scatters
about its mean with standard deviation sqrt(n) / k days (k classes a day; Erlang), where
the kernel's brood takes 21 days to the day; days drawn wet or fine are replaced by their
mean; and what the kernel settles in an evening is settled continuously.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from lastbee.biology import constants as bio
from lastbee.biology.constants import Column as P
from lastbee.colony.layout import Sky, State

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

# At most this many house bees turn forager per day and bee: the kernel's 0.6 a half day.
MOST_RECRUITED_PER_DAY = 1.2


def mean_sky(sky: Array) -> Array:
    """Sky whose every day is the mean of its fine and its wet self, shape as `sky`."""
    mean = sky.copy()
    mean[:, Sky.FLIGHT_H] *= 1.0 - sky[:, Sky.WET] * (1.0 - bio.WET_DAY_FLIGHT_SHARE)
    mean[:, Sky.WET] = 0.0
    return mean


@dataclass(slots=True)
class Equations:
    """Right-hand side of one colony with parameters `p` (len(P),) under `sky`.

    `classes_a_day` is k of the module's text. The state is, in order: worker brood, drone
    brood and young bees by class, then house bees, foragers, drones, honey, pollen, comb.
    """

    p: Array
    sky: Array
    classes_a_day: int = 1

    def __post_init__(self) -> None:
        """Refuse weather that is not a mean."""
        if self.sky[:, Sky.WET].any():
            raise ValueError("the sky must be a mean one: see mean_sky")

    @property
    def sizes(self) -> tuple[int, int, int]:
        """Classes of worker brood, drone brood and young bees."""
        k = self.classes_a_day
        return bio.WORKER_DAYS * k, bio.DRONE_DAYS * k, int(self.p[P.YOUNG_DAYS]) * k

    def start(self) -> Array:
        """Return the state of the founding day."""
        workers, drones, young = self.sizes
        bees = self.p[P.START_BEES]
        at_first = np.zeros(workers + drones + young)
        share = 0.33 if young else 0.0
        at_first[workers + drones :] = share * bees / max(young, 1)
        pools = [
            (0.8 - share) * bees, 0.2 * bees, 0.0,
            self.p[P.START_HONEY], self.p[P.START_POLLEN], self.p[P.START_COMB],
        ]  # fmt: skip
        return np.concatenate([at_first, pools])

    def __call__(self, day: float, y: Array) -> Array:
        """Rates of change at a time, in days of the sky, day 0 beginning at 0."""
        p, k = self.p, self.classes_a_day
        workers, drones, young = self.sizes
        y = np.maximum(y, 0.0)
        brood, drone_brood = y[:workers], y[workers : workers + drones]
        young_bees = y[workers + drones : -6]
        house, foragers, adult_drones, honey, pollen, comb = y[-6:]
        eggs = brood[: bio.EGG_DAYS * k].sum()
        larvae = brood[bio.EGG_DAYS * k : (bio.EGG_DAYS + bio.LARVA_DAYS) * k].sum()
        cells = brood.sum() + drone_brood.sum()
        nest_bees = young_bees.sum() + house
        adults = nest_bees + foragers
        flight, laying, offered, dearth, cold, drone_season = self._weather(day)
        food = honey * honey / (honey * honey + p[P.FOOD_HALF] ** 2)
        nursed = (nest_bees + bio.FORAGER_NURSE_SHARE * foragers) * bio.BROOD_PER_NURSE
        demand = larvae * p[P.LARVA_POLLEN]
        protein = min(1.0, pollen / demand) if demand > 0.0 else 1.0

        used = cells + honey / bio.HONEY_PER_CELL_G + pollen / bio.POLLEN_PER_CELL_G
        free = comb * bio.CELLS_PER_DM2 - used
        wish = p[P.LAY_MAX] * laying * food * nest_bees / (nest_bees + p[P.CARE_HALF])
        laid = self._laid(day, min(wish, nursed / bio.WORKER_DAYS, 0.5 * free), larvae, pollen)
        drone_eggs = laid * p[P.DRONE_SHARE] * drone_season

        fed = protein * (min(1.0, nursed / cells) if cells > 0.0 else 1.0) * (honey > 0.0)
        covered = min(1.0, adults / (p[P.COVER] * cells)) if cells > 0.0 else 1.0
        brood_loss, drone_loss = self._losses(fed, 1.0 - bio.CHILL_PER_DAY * cold * (1.0 - covered))
        d_brood, born = _chain(brood, laid, brood_loss, k)
        d_drones, drones_born = _chain(drone_brood, drone_eggs, drone_loss, k)
        d_young, grown = _chain(young_bees, born, p[P.NEST_LOSS], k) if young else ((), born)

        recruits = self._recruits(house, foragers, adults, food, flight)
        at_work, offer = foragers * flight, offered * (1.0 - p[P.DEARTH] * dearth)
        income = min(self._room(used, comb, honey, adults), p[P.INCOME] * at_work * offer)
        need = p[P.ADULT_NEED] * (adults + adult_drones) + p[P.BROOD_NEED] * (larvae + eggs)
        eaten = min(need, honey + income)
        starving = bio.STARVE_PER_DAY * (1.0 - eaten / need) if need > 0.0 else 0.0
        wished = p[P.PROTEIN_RESERVE] * p[P.LARVA_POLLEN] * (larvae + 0.3 * eggs)
        found = p[P.POLLEN_INCOME] * at_work * min(1.0, offer + 0.3)
        built = self._built(comb, honey, adults, nest_bees, used, income > eaten)
        pools = [
            grown - recruits - (p[P.NEST_LOSS] + starving) * house,
            recruits - (p[P.FORAGER_LOSS] * flight + starving) * foragers,
            drones_born - bio.DRONE_LOSS_PER_DAY * adult_drones,
            income - eaten - built * p[P.WAX_HONEY],
            min(max(0.0, max(250.0, wished) - pollen), found) - min(demand, pollen),
            built,
        ]
        return np.concatenate([d_brood, d_drones, d_young, pools])

    def _weather(self, day: float) -> tuple[float, float, float, float, float, float]:
        """Flight, laying, forage, dearth, cold and drone season, joined from noon to noon."""
        at = min(max(day - 0.5, 0.0), len(self.sky) - 1.001)
        first = int(at)
        now = self.sky[first] + (at - first) * (self.sky[first + 1] - self.sky[first])
        return (
            now[Sky.FLIGHT_H] / bio.REFERENCE_FLIGHT_H, now[Sky.LAYING], now[Sky.FORAGE],
            now[Sky.DEARTH], now[Sky.COLD], now[Sky.DRONES],
        )  # fmt: skip

    def _laid(self, day: float, wish: float, larvae: float, pollen: float) -> float:
        """Eggs laid a day of those wished for, by protein, once the queen has begun."""
        if wish <= 0.0 or day - self.p[P.START_DAY] < self.p[P.LAYING_DELAY]:
            return 0.0
        to_feed = (larvae + wish) * self.p[P.LARVA_POLLEN]
        return wish * min(1.0, pollen / to_feed) if to_feed > 0.0 else wish

    def _recruits(
        self, house: float, foragers: float, adults: float, food: float, flight: float
    ) -> float:
        """House bees that turn forager in a day; below 0 foragers that turn back."""
        urge = self.p[P.RECRUIT_MIN] + self.p[P.RECRUIT_HUNGER] * (1.0 - food)
        rate = urge - self.p[P.INHIBITION] * foragers / max(adults, 1e-9)
        gate = min(1.0, flight) if rate > 0.0 else 1.0
        return float(house * min(rate, MOST_RECRUITED_PER_DAY) * gate)

    def _room(self, used: float, comb: float, honey: float, adults: float) -> float:
        """Room for honey in free cells, of which brood keeps a quarter, and in crops. [g]."""
        free = comb * bio.CELLS_PER_DM2 - used
        for_honey = 0.75 * comb * bio.CELLS_PER_DM2 - honey / bio.HONEY_PER_CELL_G
        room = min(free, for_honey) * bio.HONEY_PER_CELL_G + bio.SWARM_CROP_G * adults
        return max(0.0, room)

    def _losses(self, fed: float, warm: float) -> tuple[Array, float]:
        """Loss rates of worker brood by class, and of drone brood, from daily shares kept."""
        k = self.classes_a_day
        young = 1.0 - bio.YOUNG_LARVA_NEGLECT * (1.0 - fed)
        spared = 1.0 - bio.OLD_LARVA_NEGLECT * (1.0 - fed)
        keep = [
            1.0 - bio.EGG_LOSS_PER_DAY,
            (1.0 - bio.LARVA_LOSS_PER_DAY) * young,
            (1.0 - bio.LARVA_LOSS_PER_DAY) * spared,
            1.0 - bio.PUPA_LOSS_PER_DAY,
            (1.0 - bio.DRONE_BROOD_LOSS_PER_DAY) * spared,
        ]
        loss = -np.log(np.array(keep) * warm)
        return np.repeat(loss[:4], [3 * k, 3 * k, 3 * k, 12 * k]), float(loss[4])

    def _built(
        self, comb: float, honey: float, adults: float, nest_bees: float, used: float, gains: bool
    ) -> float:
        """Comb built a day."""
        left = self.p[P.CAVITY_COMB] - comb
        if left <= 0.0 or honey <= 0.0:
            return 0.0
        gate = 1.0
        if comb >= 0.8 * adults / bio.BEES_PER_DM2_SHEET:
            filled = used / (comb * bio.CELLS_PER_DM2)
            gate = min(1.0, max(0.0, (filled - 0.5) / 0.3)) if gains else 0.0
        wish = gate * self.p[P.BUILD] * 0.001 * nest_bees
        wish *= min(1.0, 5.0 * left / self.p[P.CAVITY_COMB])
        return float(min(wish, left, 0.3 * honey / self.p[P.WAX_HONEY]))


def _chain(classes: Array, inflow: float, loss: Array | float, per_day: int) -> tuple[Array, float]:
    """Rates of change of a chain of classes, and what leaves its end."""
    moved = per_day * classes
    rates = -moved - loss * classes
    rates[0] += inflow
    rates[1:] += moved[:-1]
    return rates, float(moved[-1])


def live_ode(
    p: Array, sky: Array, snap_day: int, *, classes_a_day: int = 1, rtol: float = 1e-3
) -> dict[State, float]:
    """Live one colony from its founding to the morning of `snap_day`.

    Parameters
    ----------
    p
        Parameters of the colony, shape (len(P),).
    sky
        Mean daily drivers (see `mean_sky`), shape (days, len(Sky)).
    snap_day
        Day index of the morning asked for.
    classes_a_day
        Age classes a day of development.
    rtol
        Relative tolerance of the solver; absolute it is a bee, a cell or a gram.

    Returns
    -------
    The pools that both models share.

    Raises
    ------
    RuntimeError
        If the solver gives up.
    """
    from scipy.integrate import solve_ivp

    equations = Equations(p, sky, classes_a_day)
    span = (float(p[P.START_DAY]), float(snap_day))
    y = equations.start()
    if span[1] > span[0]:
        solved = solve_ivp(equations, span, y, method="RK23", rtol=rtol, atol=1.0, max_step=1.0)
        if not solved.success:
            raise RuntimeError(solved.message)
        y = solved.y[:, -1]
    workers, drones, _ = equations.sizes
    capped = (bio.EGG_DAYS + bio.LARVA_DAYS) * classes_a_day
    values = {
        State.EGGS: y[: bio.EGG_DAYS * classes_a_day].sum(),
        State.LARVAE: y[bio.EGG_DAYS * classes_a_day : capped].sum(),
        State.CAPPED: y[capped:workers].sum(),
        State.DRONE_BROOD: y[workers : workers + drones].sum(),
        State.YOUNG: y[workers + drones : -6].sum(),
    }
    names = (State.HOUSE, State.FORAGERS, State.DRONES, State.HONEY, State.POLLEN, State.COMB)
    values |= dict(zip(names, y[-6:], strict=True))
    return {name: float(value) for name, value in values.items()}
