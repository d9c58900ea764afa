"""Which sightings disagree, what each did to the answer, and what a further look is worth."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pytest
from nest_factory import nests
from scipy import stats

from lastbee.colony.founding import Box, Cavity, Founding, Hypothesis
from lastbee.evidence import cues
from lastbee.evidence.comb import CombColour, CombSize
from lastbee.evidence.item import YesNo
from lastbee.evidence.told import SwarmSeen
from lastbee.evidence.traffic import TrafficCount
from lastbee.forecast.influence import Influence, influences, information_bits, surprise
from lastbee.forecast.posterior import condition
from lastbee.methods.looks import value_of_look
from lastbee.planning.climate import ClimateNormals
from lastbee.planning.sky import year_at

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.evidence.item import Item
    from lastbee.evidence.nest import Nest

UNREAD = float("nan")
FALSE_ALARM = 1e-4
# Invented normals of a temperate inland place.
NORMALS = ClimateNormals(
    (0.0, 2.0, 7.0, 14.0, 20.0, 25.0, 27.5, 26.5, 22.0, 15.0, 8.0, 2.0),
    (-8.0, -7.0, -3.0, 3.0, 8.5, 13.5, 16.0, 15.0, 11.0, 5.0, 0.5, -5.0),
    (0.4, 0.35, 0.35, 0.3, 0.25, 0.22, 0.2, 0.2, 0.22, 0.28, 0.35, 0.4),
)


def site() -> tuple[Founding, NDArray[np.float64]]:
    """Give the calendar of an inspection on 20 July."""
    year = year_at(43.0, -75.0, date(2026, 7, 20), NORMALS, 3)
    cavity, box = Cavity(0.37, 0.14, 2.4), Box(0.0, 0.0, 1.0)
    return Founding(year.arrivals, year.swarm_share_so_far, cavity, box), year.sky


def weighed(items: tuple[Item, ...]) -> dict[str, Influence]:
    """Influence of each item on the real engine, by key."""
    founding, sky = site()
    nest = condition(items, founding, sky, 1500, np.random.default_rng(1)).nest
    told: list[float] = []
    found = influences(items, nest, founding, sky, np.random.default_rng(2), told.append)
    assert told == pytest.approx([(i + 1) / len(items) for i in range(len(items))])
    assert [i.item for i in found] == list(items)
    return {i.item.key: i for i in found}


@pytest.fixture(scope="module")
def quarrel() -> dict[str, Influence]:
    """Give a swarm told of five days ago at eight dark combs with capped brood."""
    return weighed(
        (
            SwarmSeen(5.0),
            CombSize(8.0, is_area=False, is_whole=False),
            CombColour(4.0),
            cues.capped_brood_seen(1.0),
        )
    )


@pytest.fixture(scope="module")
def harmony() -> dict[str, Influence]:
    """Give a swarm told of thirty days ago at two yellow combs with capped brood."""
    return weighed(
        (
            SwarmSeen(30.0),
            CombSize(2.0, is_area=False, is_whole=False),
            CombColour(1.0),
            cues.capped_brood_seen(1.0),
        )
    )


def test_a_planted_contradiction_is_found(quarrel: dict[str, Influence]) -> None:
    """Tests that the tale stands out: capped brood takes nine days from the egg.

    Eggs are laid at the earliest on the first day; 3 days egg and 6 days open (Winston
    1987 via Becher et al. 2014), so a nest of five days has none.
    """
    assert quarrel["swarm seen"].surprise < 0.02
    assert quarrel["swarm seen"].conflict > 3.0
    assert all(quarrel[k].surprise > 0.05 for k in quarrel if k != "swarm seen")


def test_sightings_in_harmony_do_not_surprise(harmony: dict[str, Influence]) -> None:
    """Tests that the same items in agreement are quiet, the tale the most telling."""
    assert all(i.surprise > 0.05 for i in harmony.values())
    assert all(i.conflict < 2.0 for i in harmony.values())
    tale = harmony["swarm seen"]
    assert tale.information_bits == max(i.information_bits for i in harmony.values())
    assert tale.information_bits > 1.0


def test_surprise_of_honest_readings_is_uniform() -> None:
    """Tests p-values of readings drawn from the answer itself, by Kolmogorov and Smirnov.

    A predictive p-value of a continuous reading is uniform under its own prediction.
    """
    rng = np.random.default_rng(3)
    nest = nests(
        capped=rng.lognormal(8.0, 0.8, 300), adults=rng.lognormal(9.0, 0.5, 300), comb_dm2=60.0
    )
    look = cues.warm_area(UNREAD)
    read = look.draw(nest, rng)[:80]
    found = [surprise(cues.warm_area(float(v)), nest, rng) for v in read]
    assert stats.kstest(found, "uniform").pvalue > FALSE_ALARM


@pytest.mark.parametrize("area_dm2", [0.02, 4000.0])
def test_readings_that_fit_nothing_surprise(area_dm2: float) -> None:
    """Tests both tails: surprise falls to its floor, one in the number of imagined readings."""
    nest = nests(capped=np.linspace(2000.0, 9000.0, 300))
    assert surprise(cues.warm_area(area_dm2), nest, np.random.default_rng(4)) < 0.005


def test_a_swarm_told_of_an_old_nest_surprises() -> None:
    """Tests old nests only, of which few tales are told, on one day in 400."""
    old = nests(age_days=np.full(300, 150.0), hypothesis=Hypothesis.ESTABLISHED)
    assert surprise(SwarmSeen(5.0), old, np.random.default_rng(5)) < 0.02


def test_information_of_a_shift_is_closed_form() -> None:
    """Tests half the squared shift in nats: log adults shifted by one spread, 0.72 bits.

    Relative entropy of Gaussians of one covariance (Kullback 1959): shift^2 / 2.
    """
    n, spread = 200_000, 0.3
    rng = np.random.default_rng(6)
    age, adults, honey = (rng.standard_normal(n) for _ in range(3))

    def cloud(shift: float) -> Nest:
        return nests(
            age_days=np.exp(6.0 + spread * age),
            adults=np.exp(14.0 + spread * (adults + shift)),
            honey_g=np.exp(14.0 + spread * honey),
        )

    assert information_bits(cloud(1.0), cloud(0.0)) == pytest.approx(0.5 / np.log(2.0), rel=0.01)
    assert information_bits(cloud(0.0), cloud(0.0)) == pytest.approx(0.0, abs=1e-9)


def test_information_of_narrowing_is_closed_form() -> None:
    """Tests a spread cut to a third: (1/9 - 1 + ln 9)/2 nats."""
    n = 200_000
    rng = np.random.default_rng(7)
    age, adults, honey = (rng.standard_normal(n) for _ in range(3))

    def cloud(spread: float) -> Nest:
        return nests(
            age_days=np.exp(6.0 + 0.3 * age),
            adults=np.exp(14.0 + spread * adults),
            honey_g=np.exp(14.0 + 0.3 * honey),
        )

    bits = 0.5 * (1.0 / 9.0 - 1.0 + np.log(9.0)) / np.log(2.0)
    assert information_bits(cloud(0.1), cloud(0.3)) == pytest.approx(bits, rel=0.01)


@dataclass(frozen=True, slots=True)
class _Told:
    """Cue whose answer is yes with probability 0.9 where there is brood and 0.2 where not."""

    false_yes: float = 0.2
    missed: float = 0.1

    def shows(self, nest: Nest) -> NDArray[np.float64]:
        return np.where(nest.brood_cells > 0.0, 1.0, 0.0)


def two_states() -> tuple[YesNo, Nest, NDArray[np.float64]]:
    """Give colonies half with brood and half without, and the loss of two ways for each.

    Way 1 loses 0 with brood and 10 without; way 2 loses 6 with brood and 2 without.
    """
    has_brood = np.arange(4000) % 2 == 0
    nest = nests(eggs=0.0, larvae=0.0, drone_brood=0.0, capped=np.where(has_brood, 5000.0, 0.0))
    losses = np.where(has_brood[:, None], [0.0, 6.0], [10.0, 2.0])
    return YesNo("told", "Told", UNREAD, _Told()), nest, losses


def test_two_states_by_hand() -> None:
    """Tests the expected value of sample information of a two-state problem.

    Before: way 1 loses 5, way 2 loses 4, so way 2. A yes has probability
    0.5 x 0.9 + 0.5 x 0.2 = 0.55 and leaves brood at 9/11: way 1 loses 20/11, way 2 loses
    58/11, a gain of 38/11. A no leaves brood at 1/9: way 2 still. Value 0.55 x 38/11 = 1.9,
    and 55 % of looks change the choice. (Raiffa & Schlaifer 1961, method from memory.)
    """
    item, nest, losses = two_states()
    found = [
        value_of_look("told", (item,), nest, losses, np.random.default_rng(s)) for s in range(12)
    ]
    changes = np.array([f.changes_choice for f in found])
    # Each run imagines 300 looks at a subset of colonies: sd of a share 0.029 and a little.
    assert changes.mean() == pytest.approx(0.55, abs=4.0 * 0.033 / np.sqrt(12))
    worth = np.array([f.worth_visits for f in found])
    assert worth.mean() == pytest.approx(1.9, abs=4.0 * 0.14 / np.sqrt(12))
    assert found[0].key == "told"


def test_never_worth_more_than_certainty() -> None:
    """Tests the bound by perfect information: two states known, 4 - (0 + 2)/2 = 3."""
    item, nest, losses = two_states()
    found = value_of_look("told", (item, item), nest, losses, np.random.default_rng(1))
    assert 1.9 < found.worth_visits < 3.0


def test_a_look_that_cannot_change_anything_is_worthless() -> None:
    """Tests ways that lose the same, and one way that is best for every colony."""
    item, nest, _ = two_states()
    same = np.tile(np.linspace(0.0, 9.0, nest.size)[:, None], (1, 3))
    assert value_of_look("told", (item,), nest, same, np.random.default_rng(2)).worth_visits == 0.0
    better = same - np.array([0.0, 1.0, 0.5])
    found = value_of_look("told", (item,), nest, better, np.random.default_rng(3))
    assert (found.worth_visits, found.changes_choice) == (0.0, 0.0)


def test_looks_are_never_worth_less_than_nothing() -> None:
    """Tests random losses and all usual looks: each choice after a look is the best then."""
    rng = np.random.default_rng(4)
    nest = nests(
        age_days=rng.uniform(5.0, 100.0, 400),
        foragers=rng.lognormal(7.5, 0.7, 400),
        capped=rng.lognormal(8.0, 1.0, 400),
        honey_g=rng.lognormal(8.0, 1.0, 400),
        comb_dm2=rng.lognormal(3.5, 0.6, 400),
    )
    looks: list[tuple[Item, ...]] = [
        (TrafficCount(UNREAD, 5.0, 1, 1.0, 10.0),),
        (cues.warm_area(UNREAD),),
        (cues.capped_honey_seen(UNREAD), cues.capped_brood_seen(UNREAD), CombColour(UNREAD)),
    ]
    for k in range(6):
        losses = rng.gamma(1.0, 5.0, (400, 4)) + np.outer(nest.honey_g / 1000.0, rng.random(4))
        for items in looks:
            found = value_of_look("look", items, nest, losses, np.random.default_rng(k))
            assert found.worth_visits >= 0.0
            assert 0.0 <= found.changes_choice <= 1.0
            assert (found.worth_visits == 0.0) == (found.changes_choice == 0.0)


def test_a_second_look_is_worth_more_than_the_first_alone() -> None:
    """Tests that more information never hurts on average."""
    item, nest, losses = two_states()
    one, two = (
        np.mean(
            [
                value_of_look("k", items, nest, losses, np.random.default_rng(s)).worth_visits
                for s in range(6)
            ]
        )
        for items in ((item,), (item, item))
    )
    assert two > one


def test_losses_must_belong_to_the_colonies() -> None:
    """Tests a table of the wrong length."""
    item, nest, losses = two_states()
    with pytest.raises(ValueError, match="4000 rows, got 7"):
        value_of_look("told", (item,), nest, losses[:7], np.random.default_rng(5))
