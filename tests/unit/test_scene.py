"""What a visit finds, read from a snapshot of the engine."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING

import numpy as np
import pytest
from colony_factory import BOX, ESTABLISHED, steady_sky
from scene_factory import scenes

from lastbee.biology.constants import Column
from lastbee.colony.founding import DIMENSIONS, Cavity, Colonies, Deviate, Founding, draw_colonies
from lastbee.colony.kernel import live
from lastbee.colony.layout import Sky, State
from lastbee.evidence import at_cone
from lastbee.evidence.at_cone import CONE_STRAYS_PER_MINUTE
from lastbee.evidence.nest import Nest, nest_from
from lastbee.evidence.scene import LAYING_BOX_BEES, Scene, scene_from

if TYPE_CHECKING:
    from numpy.typing import NDArray

COLONIES = 40
CONE_DAY = 200


def drawn() -> Colonies:
    """Established colonies that nobody has to wait for."""
    z = np.random.default_rng(21).standard_normal((COLONIES, DIMENSIONS))
    z[:, Deviate.HYPOTHESIS] = ESTABLISHED
    return draw_colonies(z, Founding(np.ones(60), 0.5, Cavity(), BOX))


def states(colonies: Colonies, *days: int, flight_h: float = 10.0) -> NDArray[np.float64]:
    """Live them through equal days, other flight hours from the cone on; states on mornings."""
    seeds = np.arange(COLONIES, dtype=np.uint64)
    sky = steady_sky(CONE_DAY + 60)
    sky[CONE_DAY:, Sky.FLIGHT_H] = flight_h
    snapshots, _, _ = live(colonies.params, seeds, sky, snap_days=days, cone_day=CONE_DAY)
    return snapshots


def seen(snapshot: NDArray[np.float64], colonies: Colonies, day: int) -> Scene:
    """The scene with nothing the matter and a technician who sees everything."""
    no, every = np.zeros(COLONIES), np.ones(COLONIES)
    return scene_from(
        snapshot, colonies, colonies.params, day, CONE_DAY,
        strangers=no, is_robbed=no, count_bias=every, box_bias=every, cluster_bias=every, tip=no,
    )  # fmt: skip


def test_a_scene_is_the_nest_with_wall_and_box_beside_it() -> None:
    """Tests every quantity that is read as it stands."""
    colonies = drawn()
    day = CONE_DAY + 12
    snapshot = states(colonies, day)[:, 0]
    scene, nest = seen(snapshot, colonies, day), nest_from(snapshot, colonies, day)
    for field in fields(Nest):
        np.testing.assert_array_equal(getattr(scene, field.name), getattr(nest, field.name))
    assert scene.trap_days == 12.0
    for name, state in (
        ("wall", State.WALL), ("box", State.BOX), ("box_brood", State.BOX_BROOD),
        ("box_honey_g", State.BOX_HONEY),
    ):  # fmt: skip
        np.testing.assert_array_equal(getattr(scene, name), snapshot[:, state])
    for name, column in (
        ("leak", Column.LEAK), ("passable", Column.PASSABLE), ("flies_per_day", Column.FLY),
        ("walks_back_per_day", Column.REENTRY), ("wall_loss_per_day", Column.WALL_LOSS),
        ("box_start", Column.BOX_BEES), ("box_leaves_per_day", Column.BOX_LEAVE),
    ):  # fmt: skip
        np.testing.assert_array_equal(getattr(scene, name), colonies.params[:, column])


def test_rates_are_those_in_force() -> None:
    """Tests that a cone blocked since is seen blocked, whatever the colony began with."""
    colonies = drawn()
    now = colonies.params.copy()
    now[:, Column.PASSABLE] = 0.1
    no, every = np.zeros(COLONIES), np.ones(COLONIES)
    scene = scene_from(
        states(colonies, CONE_DAY + 5)[:, 0], colonies, now, CONE_DAY + 5, CONE_DAY,
        strangers=3.0 * every, is_robbed=every, count_bias=0.5 * every, box_bias=2.0 * every,
        cluster_bias=every, tip=no,
    )  # fmt: skip
    assert (scene.passable == 0.1).all()
    assert (scene.strangers.sum(), scene.is_robbed.sum()) == (3.0 * COLONIES, COLONIES)
    assert (scene.count_bias[0], scene.box_bias[0]) == (0.5, 2.0)
    assert no.sum() == 0.0


def test_the_box_stands_as_it_was_set_on_the_first_day() -> None:
    """Tests a visit on the day of the cone, whose morning knew no box yet."""
    colonies = drawn()
    scene = seen(states(colonies, CONE_DAY)[:, 0], colonies, CONE_DAY)
    np.testing.assert_array_equal(scene.box, BOX.bees)
    np.testing.assert_array_equal(scene.box_honey_g, 0.5 * BOX.bees)
    assert scene.trap_days == 0.0


@pytest.mark.parametrize(
    ("delay", "bees", "lays"),
    [(0.0, 4000.0, 1.0), (28.0, 4000.0, 0.0), (5.0, 4000.0, 1.0), (0.0, 50.0, 0.0)],
)
def test_a_box_lays_once_its_queen_does_and_it_has_bees(
    delay: float, bees: float, lays: float
) -> None:
    """Tests the delay of its queen against five days, and bees too few to rear brood."""
    colonies = drawn()
    colonies.params[:, Column.BOX_LAYING_DELAY] = delay
    snapshot = states(colonies, CONE_DAY + 5)[:, 0]
    snapshot[:, State.BOX] = bees
    assert (seen(snapshot, colonies, CONE_DAY + 5).box_lays == lays).all()
    assert 50.0 < LAYING_BOX_BEES < 4000.0


@pytest.mark.parametrize("flight_h", [10.0, 3.0])
def test_exits_of_a_day_are_the_bees_that_the_engine_shuts_out(flight_h: float) -> None:
    """Tests the count's mean, summed over the first day, against the engine's own flow.

    Counted at the morning's strength the day runs high, since foragers run low: two half-day
    steps shut out 0.81 of 0.75 on a day of ten flight hours, 0.94 of 0.225 on one of three;
    recruits and losses make up the rest.
    """
    colonies = drawn()
    colonies.params[:, Column.LEAK] = 0.0
    before, after = states(colonies, CONE_DAY, CONE_DAY + 1, flight_h=flight_h).swapaxes(0, 1)
    scene = seen(before, colonies, CONE_DAY)
    day = at_cone.bees_out(0.0, 60.0 * flight_h, 1.0, flight_h)
    counted = day.expected(scene) - day.minutes * CONE_STRAYS_PER_MINUTE
    shut_out = after[:, State.SHUT_OUT] - before[:, State.SHUT_OUT]
    is_alive = scene.foragers > 100.0
    assert is_alive.sum() > COLONIES // 2
    share = (shut_out / counted)[is_alive]
    assert 0.75 < np.median(share) < 1.0
    # A few recruit so fast, or are so few, that the day runs otherwise.
    assert np.quantile(np.abs(share - np.median(share)), 0.95) < 0.2


def test_deserters_of_a_day_are_bounded_as_in_the_engine() -> None:
    """Tests house bees bound to desert: no more than three tenths in each half day."""
    colonies = drawn()
    snapshot = states(colonies, CONE_DAY + 1)[:, 0]
    colonies.params[:, Column.DESERT_HALF] = 1e6
    colonies.params[:, Column.DESERT] = 5.0
    scene = seen(snapshot, colonies, CONE_DAY + 1)
    np.testing.assert_allclose(scene.deserts_per_day, 0.6 * snapshot[:, State.HOUSE])


def test_taking_scenes_keeps_rows_together() -> None:
    """Tests that every quantity of a trap-out moves with it, repeats allowed."""
    row = scenes(wall=np.arange(5.0), box=100.0 * np.arange(5.0), adults=10.0 * np.arange(5.0))
    taken = row.take(np.array([4, 1, 1]))
    np.testing.assert_array_equal(taken.wall, [4.0, 1.0, 1.0])
    np.testing.assert_array_equal(taken.box, 100.0 * taken.wall)
    np.testing.assert_array_equal(taken.adults, 10.0 * taken.wall)
    assert (taken.size, taken.trap_days, taken.depth_dm) == (3, row.trap_days, row.depth_dm)
    arrays = [f.name for f in fields(taken) if f.name not in {"trap_days", "depth_dm"}]
    assert {getattr(taken, key).shape for key in arrays} == {(3,)}
