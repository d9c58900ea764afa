"""What forbids each way, what would lift that, what a way costs, and which one is best."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from nest_factory import nests

from lastbee.colony.layout import QUEEN_DIED, Daily
from lastbee.forecast.trapout import EMPTY_BEES, TRAP_DAYS, TrapOut
from lastbee.methods import cautions, rules
from lastbee.methods.circumstances import SPRAY_DAYS, Circumstances
from lastbee.methods.compare import TIE_VISITS, Simulated, Way, compare
from lastbee.methods.loss import ASK, DAMAGE, REMAIN, Weights, loss
from lastbee.methods.outcomes import (
    Outcome,
    cut_out_outcome,
    driven_outcome,
    eradication_outcome,
    leave_outcome,
    swarm_capture_outcome,
    trap_out_outcome,
    vacuum_outcome,
)
from lastbee.methods.rules import LONGEST_WEEKS, Findings

if TYPE_CHECKING:
    from collections.abc import Callable

COLONIES = 40
WEIGHTS = Weights(bees_lost=20.0, honey_left_per_kg=1.0, week=0.5, opening=10.0, honey_limit_kg=5.0)

# Nothing in the way of anything that suits a nest with comb.
OPEN_WALL = Circumstances(
    covering="wood",
    inside_finish="plasterboard",
    cavity="stud bay",
    may_open_outside="yes",
    may_open_inside="yes",
    other_gaps_closable="yes",
    allergic_person="no",
    public_path_near="no",
    power_line_near="no",
    exposing_comb="allowed",
    entrance_height_m=1.2,
    year_built=1995,
    gone_by=None,
    sprayed_ago_days=None,
    hanging_cluster_only=False,
    flight_h=(8.0,) * 140,
)
MILD = Findings(
    honey_over_limit=0.05,
    honey_words="about 1 kg",
    limit_words="5 kg",
    empty_in_time=0.98,
    empty_by_deadline=None,
    safe_day=45,
    swarm_without_comb=0.01,
)
CLUSTER = replace(MILD, swarm_without_comb=0.9)


def trap_of(nest_size: int = COLONIES, days: int = 40, honey_g: float = 1500.0) -> TrapOut:
    """Give a trap-out of colonies that all go the same way."""
    left = np.maximum(0.0, 8000.0 * (1.0 - np.arange(TRAP_DAYS) / days))
    records = np.zeros((nest_size, TRAP_DAYS, len(Daily)), dtype=np.float32)
    records[:, :, Daily.NEST_BEES] = left
    flat = np.ones(nest_size)
    return TrapOut(
        records=records,
        expected_left=np.tile(left, (nest_size, 1)),
        honey_left_g=honey_g * flat,
        comb_left_dm2=30.0 * flat,
        dead_brood_g=20.0 * flat,
        dead_bees_g=50.0 * flat,
        joined_share=0.8 * flat,
        queen=QUEEN_DIED * flat,
        empty_day=np.full(nest_size, days),
        no_laying_day=np.full(nest_size, 10),
        no_brood_day=np.full(nest_size, 30),
        empty_by=(left <= EMPTY_BEES).astype(np.float64),
        last_bee_by=(left < 1.0).astype(np.float64),
    )


def simulated(honey_g: float = 1500.0, comb_dm2: float = 30.0) -> Simulated:
    """Give colonies that differ a little, so that losses do."""
    spread = np.linspace(0.8, 1.2, COLONIES)
    nest = nests(honey_g=honey_g * spread, comb_dm2=comb_dm2 * spread, adults=9000.0 * spread)
    trap = trap_of(honey_g=honey_g)
    return Simulated(nest, nest, trap, 0.5 * trap.honey_left_g, 4.0 * trap.honey_left_g)


def ways_of(c: Circumstances, f: Findings, weights: Weights = WEIGHTS) -> dict[str, Way]:
    """Compare all ways, by key."""
    return {w.key: w for w in compare(simulated(), c, f, weights, np.random.default_rng(1))}


# Each rule: the way, facts in its way, and the fact that lifts it with a word that the
# refusal must use of it. Trade rules are common practice, no source.
LIFTED = [
    ("trap-out", {"other_gaps_closable": "no"}, {}, "gap"),
    ("trap-out", {}, {"empty_in_time": 0.3}, "smaller colony"),
    ("trap-out", {}, {"empty_by_deadline": 0.2}, "later date"),
    ("trap-out", {"flight_h": (8.0,) * 30 + (0.5,) * 110}, {}, "spring"),
    ("trap-out", {"sprayed_ago_days": 10}, {}, "sprayed"),
    ("trap-out", {}, {"honey_over_limit": 0.4}, "open"),
    ("trap-out", {"inside_finish": "open"}, {"honey_over_limit": 0.6}, "open"),
    ("trap-out then open", {"other_gaps_closable": "no"}, {}, "gap"),
    ("trap-out then open", {"may_open_inside": "no", "may_open_outside": "no"}, {}, "open"),
    ("trap-out then open", {"sprayed_ago_days": 59}, {}, "sprayed"),
    ("cut-out outside", {"may_open_outside": "no"}, {}, "outside"),
    ("cut-out outside", {"covering": "brick", "may_open_outside": "unknown"}, {}, "builder"),
    ("cut-out inside", {"may_open_inside": "no"}, {}, "inside"),
    ("leave", {"allergic_person": "yes"}, {}, "allergic"),
    ("leave", {"gone_by": 60}, {}, "date"),
]


@pytest.mark.parametrize(("key", "facts", "findings", "word"), LIFTED)
def test_each_refusal_fires_and_its_fact_lifts_it(
    key: str, facts: dict[str, object], findings: dict[str, float], word: str
) -> None:
    """Tests every rule alone: open without the fact, refused with it, and it says which."""
    assert ways_of(OPEN_WALL, MILD)[key].refusals == ()
    refused = ways_of(
        replace(OPEN_WALL, **facts),  # type: ignore[arg-type]
        replace(MILD, **findings),  # type: ignore[arg-type]
    )[key]
    assert refused.status == "refused"
    (refusal,) = refused.refusals
    assert word in refusal.would_change
    assert refusal.reason.endswith(".")
    assert refusal.rests_on_nest == (key == "trap-out" and bool(findings.keys() - {
        "empty_by_deadline"
    }))  # fmt: skip


@pytest.mark.parametrize("key", ["repellent", "smoke", "vacuum"])
def test_bees_are_not_driven_or_sucked_off_comb(key: str) -> None:
    """Tests that only a cluster without comb lifts these (bees stay with brood: practice)."""
    assert ways_of(OPEN_WALL, MILD)[key].status == "refused"
    assert ways_of(OPEN_WALL, replace(MILD, swarm_without_comb=0.49))[key].status == "refused"
    assert ways_of(OPEN_WALL, CLUSTER)[key].refusals == ()
    (refusal,) = ways_of(OPEN_WALL, MILD)[key].refusals
    assert refusal.would_change


def test_a_swarm_is_taken_as_one_only_in_reach_and_without_comb() -> None:
    """Tests both facts that it needs."""
    outside = replace(OPEN_WALL, hanging_cluster_only=True)
    assert ways_of(outside, CLUSTER)["swarm capture"].refusals == ()
    (hidden,) = ways_of(OPEN_WALL, CLUSTER)["swarm capture"].refusals
    assert "within reach" in hidden.reason
    (comb,) = ways_of(outside, MILD)["swarm capture"].refusals
    assert "comb" in comb.reason
    assert comb.rests_on_nest
    # There is no exit to put a cone on, and nothing to open.
    for key in ("trap-out", "trap-out then open", "cut-out outside", "cut-out inside"):
        assert "in the open" in ways_of(outside, CLUSTER)[key].refusals[0].reason


def test_a_spray_is_forgotten_in_time() -> None:
    """Tests the last refused day and the first open one."""
    last, first = (
        ways_of(replace(OPEN_WALL, sprayed_ago_days=d), MILD)["trap-out"].status
        for d in (SPRAY_DAYS, SPRAY_DAYS + 1)
    )
    assert (last, first != "refused") == ("refused", True)


def test_leave_to_open_the_outside_opens_brick() -> None:
    """Tests that a yes lifts what an unknown does not."""
    brick = replace(OPEN_WALL, covering="brick")
    assert ways_of(replace(brick, may_open_outside="yes"), MILD)["cut-out outside"].refusals == ()
    assert ways_of(replace(OPEN_WALL, may_open_outside="unknown"), MILD)[
        "cut-out outside"
    ].refusals == ()  # fmt: skip


def test_honey_behind_an_unfinished_face_is_judged_less_strictly() -> None:
    """Tests that twice the firm's limit may stay where no finish can be spoiled."""
    barn = replace(OPEN_WALL, inside_finish="open")
    assert (OPEN_WALL.limit_times, barn.limit_times) == (1.0, 2.0)
    f = replace(MILD, honey_over_limit=0.4)
    assert "behind a finished surface" in ways_of(OPEN_WALL, f)["trap-out"].refusals[0].reason
    assert "in an open cavity" in ways_of(barn, f)["trap-out"].refusals[0].reason
    assert ways_of(OPEN_WALL, f)["trap-out then open"].refusals == ()


def test_several_refusals_are_all_told() -> None:
    """Tests that a client hears every reason at once."""
    c = replace(OPEN_WALL, other_gaps_closable="no", sprayed_ago_days=3)
    f = replace(MILD, empty_in_time=0.1, honey_over_limit=0.9)
    assert len(ways_of(c, f)["trap-out"].refusals) == 4
    assert f"{LONGEST_WEEKS} weeks" in " ".join(
        r.reason for r in ways_of(c, f)["trap-out"].refusals
    )


def outcome(**changed: float) -> Outcome:
    """Give one colony's outcome with nothing lost and nothing left."""
    values = {"alive": 1.0, "honey_left_kg": 0.0, "bees_left": 0.0, "weeks": 0.0,
              "visits": 0.0, "work_visits": 0.0} | changed  # fmt: skip
    opening = values.pop("opening", 0.0)
    return Outcome(**{k: np.array([v]) for k, v in values.items()}, opening=opening)


@pytest.mark.parametrize(
    ("changed", "by_hand"),
    [
        ({}, 0.0),
        ({"work_visits": 7.5}, 7.5),
        ({"alive": 0.8}, 4.0),
        ({"honey_left_kg": 3.0}, 3.0),
        ({"weeks": 6.0}, 3.0),
        ({"opening": 1.0}, 10.0),
        ({"honey_left_kg": 5.0}, 5.0),
        ({"honey_left_kg": 5.5}, 5.5 + DAMAGE),
        ({"bees_left": 200.0}, 0.0),
        ({"bees_left": 201.0}, REMAIN),
        (
            {"work_visits": 9.0, "alive": 0.75, "honey_left_kg": 8.0, "weeks": 4.0, "opening": 1.0,
             "bees_left": 900.0},
            9.0 + 5.0 + 8.0 + 2.0 + 10.0 + DAMAGE + REMAIN,
        ),
    ],
)  # fmt: skip
def test_loss_by_hand(changed: dict[str, float], by_hand: float) -> None:
    """Tests the loss with weights 20 a colony's bees, 1 a kg, 0.5 a week, 10 an opening."""
    found = loss(outcome(**changed), WEIGHTS, limit_times=1.0)
    assert found.tolist() == pytest.approx([by_hand])


def test_asking_leave_costs() -> None:
    """Tests that a way which nobody has allowed yet carries the trouble of asking."""
    asked = loss(outcome(opening=1.0), WEIGHTS, limit_times=1.0, must_ask=True)
    assert asked.tolist() == pytest.approx([10.0 + ASK])
    allowed, open_question = (
        ways_of(replace(OPEN_WALL, may_open_inside=said), MILD)["cut-out inside"].expected_loss
        for said in ("yes", "unknown")
    )
    assert open_question == pytest.approx(allowed + ASK)


def test_honey_may_be_twice_as_much_behind_nothing_that_spoils() -> None:
    """Tests the limit of 5 kg at a bare inner face: harm from above 10 kg."""
    bare = [
        float(loss(outcome(honey_left_kg=kg), WEIGHTS, limit_times=2.0)[0])
        for kg in (6.0, 10.0, 10.5)
    ]
    assert bare == pytest.approx([6.0, 10.0, 10.5 + DAMAGE])


def test_trap_out_outcome_by_hand() -> None:
    """Tests 35 days: 5 weeks, a visit a week and three more, half a day for two to set up."""
    trap = trap_of(2, days=35, honey_g=2000.0)
    plain = trap_out_outcome(trap, np.array([800.0, 800.0]), then_open=False)
    assert plain.weeks.tolist() == [6.5, 6.5]
    assert plain.visits.tolist() == [8.0, 8.0]
    assert plain.honey_left_kg.tolist() == [0.8, 0.8]
    assert plain.alive.tolist() == [0.8, 0.8]
    assert plain.opening == 0.0
    opened = trap_out_outcome(trap, np.array([800.0, 800.0]), then_open=True)
    assert opened.weeks.tolist() == [5.0, 5.0]
    assert opened.opening == 1.0
    assert (opened.honey_left_kg < 0.1).all()
    assert (opened.work_visits > plain.work_visits).all()


def test_outcomes_keep_within_what_can_be() -> None:
    """Tests shares, honey and bees of every way on very unlike nests."""
    nest = nests(
        honey_g=np.array([0.0, 100.0, 5000.0, 60_000.0]),
        comb_dm2=np.array([0.0, 1.0, 40.0, 300.0]),
        capped=np.array([0.0, 0.0, 6000.0, 20_000.0]),
        eggs=0.0, larvae=0.0, drone_brood=0.0,
        adults=np.array([900.0, 12_000.0, 9000.0, 40_000.0]),
    )  # fmt: skip
    rng = np.random.default_rng(2)
    found = [
        cut_out_outcome(nest, inside=False, rng=rng),
        cut_out_outcome(nest, inside=True, rng=rng),
        swarm_capture_outcome(nest, rng),
        driven_outcome(nest, smoke=True, rng=rng),
        driven_outcome(nest, smoke=False, rng=rng),
        vacuum_outcome(nest, rng),
        eradication_outcome(nest),
        leave_outcome(nest, 2.0 * nest.honey_g),
    ]
    for each in found:
        assert ((each.alive >= 0.0) & (each.alive <= 1.0)).all()
        assert (each.honey_left_kg >= 0.0).all()
        assert (each.honey_left_kg <= 2.0 * nest.honey_g / 1000.0).all()
        assert ((each.bees_left >= 0.0) & (each.bees_left <= nest.adults)).all()
        assert (each.work_visits >= 0.0).all()
        assert each.opening in {0.0, 1.0}
    # A nest cut out keeps a twentieth of its honey at most; one killed keeps all of it.
    assert (found[0].honey_left_kg <= 0.05 * nest.honey_g / 1000.0).all()
    assert (found[6].honey_left_kg == nest.honey_g / 1000.0).all()
    assert (found[6].alive == 0.0).all()
    # Taking the cluster of a nest with comb leaves the nest.
    assert found[2].bees_left[3] > 0.8 * nest.adults[3]
    assert found[2].bees_left[0] == 0.0


def test_bees_leave_bare_walls_and_not_brood() -> None:
    """Tests the chance that repellent works on a bare cluster and on a nest."""
    bare = nests(comb_dm2=np.zeros(2000), eggs=0.0, larvae=0.0, capped=0.0, drone_brood=0.0)
    nest = nests(comb_dm2=np.full(2000, 30.0))
    works = [
        float((driven_outcome(n, smoke=False, rng=np.random.default_rng(3)).alive > 0.0).mean())
        for n in (bare, nest)
    ]
    assert works[0] > 0.7
    assert works[1] < 0.05


def test_a_larger_nest_is_more_work_to_cut_out() -> None:
    """Tests hours growing with comb."""
    nest = nests(comb_dm2=np.array([5.0, 50.0, 150.0]))
    work = cut_out_outcome(nest, inside=False, rng=np.random.default_rng(4)).work_visits
    assert (np.diff(work) > 0.0).all()


ALL_KEYS = [
    "trap-out", "trap-out then open", "cut-out outside", "cut-out inside", "swarm capture",
    "repellent", "smoke", "vacuum", "leave", "eradication",
]  # fmt: skip

yes_no = st.sampled_from(["yes", "no", "unknown"])
circumstances = st.builds(
    Circumstances,
    covering=st.sampled_from(["wood", "brick", "stone", "vinyl", "other"]),
    inside_finish=st.sampled_from(["plasterboard", "plaster", "wood", "open", "other"]),
    cavity=st.sampled_from(["stud bay", "soffit", "other"]),
    may_open_outside=yes_no,
    may_open_inside=yes_no,
    other_gaps_closable=yes_no,
    allergic_person=yes_no,
    public_path_near=yes_no,
    power_line_near=yes_no,
    exposing_comb=st.sampled_from(["allowed", "barred", "unknown"]),
    entrance_height_m=st.none() | st.floats(0.2, 20.0),
    year_built=st.none() | st.integers(1700, 2026),
    gone_by=st.none() | st.integers(-5, 150),
    sprayed_ago_days=st.none() | st.integers(0, 200),
    hanging_cluster_only=st.booleans(),
    flight_h=st.sampled_from([(8.0,) * 140, (8.0,) * 30 + (0.0,) * 110]),
)
chance = st.floats(0.0, 1.0)
findings_ = st.builds(
    Findings,
    honey_over_limit=chance,
    honey_words=st.just("about 4 kg"),
    limit_words=st.just("5 kg"),
    empty_in_time=chance,
    empty_by_deadline=st.none() | chance,
    safe_day=st.none() | st.integers(0, TRAP_DAYS - 1),
    swarm_without_comb=chance,
)
weights_ = st.builds(
    Weights,
    bees_lost=st.floats(0.0, 100.0),
    honey_left_per_kg=st.floats(0.0, 10.0),
    week=st.floats(0.0, 5.0),
    opening=st.floats(0.0, 50.0),
    honey_limit_kg=st.floats(0.1, 30.0),
)


@given(circumstances, findings_, weights_)
def test_one_way_is_recommended_and_killing_is_the_last(
    c: Circumstances, f: Findings, weights: Weights
) -> None:
    """Tests every combination: one recommendation at most, never a refused way, never killing
    while another way is open, always cautions, always a way out of a refusal."""
    ways = ways_of(c, f, weights)
    assert list(ways) == ALL_KEYS
    open_ways = [w for w in ways.values() if not w.refusals]
    best = [w for w in ways.values() if w.status == "recommended"]
    assert len(best) == (1 if open_ways else 0)
    for way in ways.values():
        assert (way.status == "refused") == bool(way.refusals)
        assert way.cautions
        assert all(way.cautions)
        assert all(r.reason and r.would_change for r in way.refusals)
        assert way.loss_visits.shape == (COLONIES,)
        assert np.isfinite(way.loss_visits).all()
    saving = [w for w in open_ways if w.key != "eradication"]
    assert bool(ways["eradication"].refusals) == bool(saving)
    if best:
        least = min(w.expected_loss for w in open_ways)
        assert best[0].expected_loss <= least + TIE_VISITS
        assert best[0].key != "eradication" or not saving


def test_killing_is_open_only_when_nothing_else_is() -> None:
    """Tests the last resort, and that it stays a licensed applicator's."""
    c = replace(
        OPEN_WALL,
        may_open_inside="no",
        may_open_outside="no",
        other_gaps_closable="no",
        allergic_person="yes",
    )
    ways = ways_of(c, MILD)
    assert ways["eradication"].status == "recommended"
    assert "licensed" in ways["eradication"].note
    assert all(w.status == "refused" for k, w in ways.items() if k != "eradication")


@pytest.mark.parametrize(
    ("facts", "said"),
    [
        ({"allergic_person": "yes"}, "allergic"),
        ({"allergic_person": "no"}, "Stings"),
        ({"entrance_height_m": 5.0}, "ladder"),
        ({"entrance_height_m": None}, "ladder"),
        ({"power_line_near": "yes"}, "line"),
        ({"power_line_near": "unknown", "entrance_height_m": 4.0}, "line"),
        ({"year_built": 1950}, "lead"),
        ({"year_built": None}, "asbestos"),
    ],
)
def test_cautions_follow_the_facts(facts: dict[str, object], said: str) -> None:
    """Tests that a danger named in the job is named at the way; unknown counts as danger."""
    cut = ways_of(replace(OPEN_WALL, **facts), MILD)["cut-out outside"]  # type: ignore[arg-type]
    assert said in " ".join(cut.cautions)


def test_full_cautions_leave_the_last_word_to_local_codes() -> None:
    """Tests the forms said at the first step that needs them."""
    c = replace(OPEN_WALL, entrance_height_m=5.0, year_built=None)
    for said in (cautions.height(c), cautions.opening(c), cautions.chemicals()):
        assert "Local codes and licensed practice decide" in said


def test_no_danger_no_word_of_it() -> None:
    """Tests that a low exit on a new house is not wrapped in ladders and lead."""
    said = " ".join(ways_of(OPEN_WALL, MILD)["trap-out"].cautions)
    assert "ladder" not in said
    assert "lead" not in said


RULES: list[
    tuple[Callable[..., tuple[rules.Refusal, ...]], tuple[object, ...], dict[str, bool]]
] = [
    (rules.refuse_trap_out, (OPEN_WALL, MILD), {"then_open": False}),
    (rules.refuse_trap_out, (OPEN_WALL, MILD), {"then_open": True}),
    (rules.refuse_cut_out, (OPEN_WALL, MILD), {"inside": True}),
    (rules.refuse_cut_out, (OPEN_WALL, MILD), {"inside": False}),
    (rules.refuse_leaving, (OPEN_WALL,), {}),
    (rules.refuse_eradication, (0,), {}),
]


@pytest.mark.parametrize(("rule", "facts", "which"), RULES)
def test_nothing_in_the_way_nothing_refused(
    rule: Callable[..., tuple[rules.Refusal, ...]],
    facts: tuple[object, ...],
    which: dict[str, bool],
) -> None:
    """Tests that each rule is silent without cause."""
    assert rule(*facts, **which) == ()
