"""A day inside the wall, in the other model: brood, stores, queen, growing old.

Worker brood lies in 21 whole-numbered cohorts and drone brood in 24. Young larvae are
eaten after some days without income, as each colony's habit has it (Schmickl &
Crailsheim 2001; Riessberger & Crailsheim 1997 on nurses that slacken at once). A queen goes
on for a few days of her own number when income stops, then cuts her laying by a share of
her own. A bee's body ages faster when she meets few foragers (Huang & Robinson 1992, from
memory); she takes to the field at a bodily age of her own. A court, a dozen bees or so,
keeps to the queen. All figures without a source are assumed.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from verify.other_bees import Place, Throw

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from verify.other_bees import Some
    from verify.other_colony import Queen
    from verify.other_trapout import Trapout

    Cells = NDArray[np.int64]

CELLS_PER_DM2 = 790.0
HONEY_CELL_G, POLLEN_CELL_G = 0.4, 0.2
ADULT_G, LARVA_G, LARVA_POLLEN_G, WARM_CELL_G = 0.0095, 0.011, 0.022, 0.003
# Egg, larva and capped cells that live through a day: Schmickl & Crailsheim 2007, p. 230.
WORKER_KEPT = np.repeat([0.97, 0.99, 0.999], [3, 6, 12])
DRONE_KEPT = np.repeat([0.936, 0.956, 0.995], [3, 7, 14])  # Fukuda & Ohtani 1977
MEETS_FORAGERS = 0.27
YOUNGEST_FORAGER_DAYS = 6.0


@dataclass(frozen=True, slots=True)
class Habits:
    """What one colony does in its own way; `leaves` says whether its queen goes at the end."""

    patience_days: float
    answers: float
    eats_young: float
    court: int
    deserts_below: float
    keenness: float
    restless: float
    first_flights: float
    leaves: bool


@dataclass(slots=True)
class Inside:
    """Brood, stores and queen in the wall."""

    queen: Queen
    honey_g: float
    pollen_g: float
    comb_dm2: float
    brood: Cells
    drone_brood: Cells
    queen_fate: str = "in the nest"
    income_g: float = 0.0
    days_without: int = 0
    laid: int = 0
    births: list[int] = field(default_factory=list)

    @property
    def cells(self) -> int:
        """Cells with brood."""
        return int(self.brood.sum() + self.drone_brood.sum())


def draw_habits(rng: np.random.Generator, queen: Queen) -> Habits:
    """Draw one colony's ways."""
    return Habits(
        patience_days=rng.uniform(0.5, 6.0),
        answers=queen.answers_income,
        eats_young=rng.uniform(0.2, 0.7),
        court=int(rng.lognormal(np.log(10.0), 0.7)),
        deserts_below=rng.lognormal(np.log(600.0), 0.5),
        keenness=rng.normal(0.0, 0.08),
        restless=rng.uniform(0.04, 0.2),
        first_flights=rng.uniform(0.04, 0.12),
        leaves=bool(rng.random() < 0.4),
    )


def live_day(t: Trapout) -> None:
    """One day inside: feed and age the brood, lay, be born, eat, grow old, follow the queen."""
    rows = t.bees.at(Place.NEST)
    workers = rows[~t.bees.drone[rows]]
    need = ADULT_G * len(rows) + LARVA_G * float(t.inside.brood[3:9].sum())
    t.inside.days_without = 0 if t.inside.income_g > 0.4 * need else t.inside.days_without + 1
    t.inside.income_g = 0.0
    nurses = int(np.count_nonzero(t.bees.body[workers] < t.bees.onset[workers]))
    rng = t.dice.of(Throw.BORN, t.day)
    _rear(t, len(workers), nurses, rng)
    _lay(t, len(workers), nurses, rng)
    _eat(t, rows)
    workers = workers[t.bees.place[workers] == int(Place.NEST)]
    _choose_court(t, workers)
    _grow_old(t, workers)
    _end_of_queen(t, len(workers))


def _rear(t: Trapout, workers: int, nurses: int, rng: np.random.Generator) -> None:
    """Feed, warm and age the brood; let bees emerge."""
    inside = t.inside
    larvae = float(inside.brood[3:9].sum())
    fed = min(1.0, inside.pollen_g / max(LARVA_POLLEN_G * larvae, 1e-9))
    inside.pollen_g = max(0.0, inside.pollen_g - LARVA_POLLEN_G * larvae)
    nursed = min(1.0, 3.0 * (nurses + 0.2 * (workers - nurses)) / max(inside.cells, 1))
    kept = WORKER_KEPT.copy()
    eaten = t.habits.eats_young if inside.days_without > t.habits.patience_days else 0.0
    kept[3:6] *= (1.0 - eaten) * (0.5 + 0.5 * fed) * (0.4 + 0.6 * nursed)
    kept[6:9] *= (0.85 + 0.15 * fed) * (0.8 + 0.2 * nursed)
    if inside.honey_g <= 0.0:
        kept[3:9] *= 0.5
    cover = min(1.0, 5.0 * workers / max(inside.cells, 1))
    chill = np.clip((16.0 - t.night_degc(t.day)) / 10.0, 0.0, 1.0)
    # Too few bees cannot keep a patch of comb warm, however small.
    lost = (0.1 + 0.4 * chill) * (1.0 - cover) + (0.15 + 0.25 * chill if workers < 200 else 0.0)
    kept *= 1.0 - lost
    aged = rng.binomial(inside.brood, kept)
    drones = rng.binomial(inside.drone_brood, DRONE_KEPT * (1.0 - lost))
    inside.brood = np.concatenate([[0], aged[:-1]])
    inside.drone_brood = np.concatenate([[0], drones[:-1]])
    inside.births.append(int(aged[-1] + drones[-1]))
    t.be_born(int(aged[-1]), int(drones[-1]), Place.NEST)


def _lay(t: Trapout, workers: int, nurses: int, rng: np.random.Generator) -> None:
    """Lay as season, room and warmth let her, and as she answers to days without income."""
    inside, queen, day = t.inside, t.inside.queen, t.day_of_year
    inside.laid = 0
    stays = t.fault.key == "queen_stays" and t.fault.is_on(t.day)
    if inside.queen_fate != "in the nest" or workers < (40 if stays else 150):
        return
    used = inside.cells + inside.honey_g / HONEY_CELL_G + inside.pollen_g / POLLEN_CELL_G
    free = 0.6 * max(0.0, inside.comb_dm2 * CELLS_PER_DM2 - used)
    warmed = max(0.0, min(1.7 * workers, 2.6 * nurses) - inside.cells)
    eggs = min(queen.most_eggs * queen.season(day % 365), free, warmed / 6.0)
    if inside.honey_g < 300.0:
        eggs *= inside.honey_g / 300.0
    if inside.days_without > t.habits.patience_days:
        eggs *= 1.0 - (0.3 if stays else 1.0) * t.habits.answers
    if inside.pollen_g <= 0.0:
        eggs *= 0.3
    inside.laid = int(rng.poisson(max(0.0, eggs)))
    inside.brood[0] = inside.laid


def _eat(t: Trapout, rows: Some) -> None:
    """Eat from the store; where it is short some go hungry and starve on an empty crop."""
    inside = t.inside
    inside.honey_g -= LARVA_G * float(inside.brood[3:9].sum()) + WARM_CELL_G * inside.cells
    need = ADULT_G * len(rows)
    short = min(1.0, max(0.0, 1.0 - inside.honey_g / max(need, 1e-9)))
    inside.honey_g = max(0.0, inside.honey_g - need)
    crop = np.maximum(t.bees.crop_mg[rows], 6.0)
    if short > 0.0:
        hungry = t.dice.each(t.bees.name[rows], t.day, Throw.UNFED) < short
        crop[hungry] = t.bees.crop_mg[rows[hungry]] - 8.0
        t.die(rows[hungry & (crop < -8.0)])
    t.bees.crop_mg[rows] = crop


def _choose_court(t: Trapout, workers: Some) -> None:
    """Let the youngest of the nest keep to the queen, as many as are her court."""
    bees = t.bees
    bees.court[workers] = False
    size = t.habits.court
    if t.fault.key == "queen_stays" and t.fault.is_on(t.day):
        size += int(250.0 * 10.0**t.fault.severity)
    if t.inside.queen_fate != "in the nest" or size == 0 or t.inside.honey_g <= 0.0:
        return
    youngest = workers[np.argsort(-bees.born[workers], kind="stable")[:size]]
    bees.court[youngest] = True


def _grow_old(t: Trapout, workers: Some) -> None:
    """Age by what a bee meets, and die of age."""
    bees = t.bees
    foragers = bees.body[workers] >= bees.onset[workers]
    # A forager who sits at home holds back others less than one who comes and goes.
    weight = np.where(bees.idle[workers] > 1, 0.4, 1.0) * foragers
    met = float(weight.mean()) / MEETS_FORAGERS if len(workers) else 0.0
    pace = 0.45 + 1.75 * max(0.0, 1.0 - met)
    if t.inside.honey_g < 400.0:
        pace *= 1.3
    if t.fault.key == "stalled" and t.fault.is_on(t.day):
        pace *= 0.5 - 0.35 * t.fault.severity
    bees.body[workers] += np.where(bees.court[workers], 0.15, np.where(foragers, 0.0, pace))
    age = t.day - bees.born[workers]
    chance = 0.0012 * np.exp(np.minimum(age, 120.0) / 20.0)
    chance = np.where(bees.court[workers], 0.35 * chance, chance)
    dead = workers[t.dice.each(bees.name[workers], t.day, Throw.OLD_AGE) < chance]
    t.corpses = len(dead)
    t.die(dead)


def _end_of_queen(t: Trapout, workers: int) -> None:
    """Left with a handful she goes with them, or stays and dies."""
    inside = t.inside
    if inside.queen_fate != "in the nest":
        return
    stays = t.fault.key == "queen_stays" and t.fault.is_on(t.day)
    few = max(60.0, 2.5 * t.habits.court)
    if t.habits.leaves and not stays and workers < few and t.flight_h(t.day) > 3.0:
        inside.queen_fate = "left"
        t.bees.court[:] = False
    elif workers < 8:
        inside.queen_fate = "died"
