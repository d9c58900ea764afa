"""What to do with what is left, whether it is empty in words, and the closing list."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from colony_factory import season, steady_sky
from hypothesis import given
from hypothesis import strategies as st
from test_methods import OPEN_WALL, WEIGHTS, circumstances, trap_of, weights_

from lastbee.colony.layout import Daily, Sky
from lastbee.forecast.clearance import CHECKS, WATCH, CheckAhead, Outlook
from lastbee.jobs import closing, remains
from lastbee.jobs.closing import checks_here, clearance, close_out_rows, closing_list
from lastbee.methods import closeout
from lastbee.methods.closeout import (
    CLOSE,
    OPEN,
    ROB_OUT,
    SMELL,
    STRONG_FRAMES,
    Left,
    bars_to_robbing,
    close_outs,
    dearth_from,
    honey_after_robbing,
    left_by,
)
from lastbee.methods.loss import ASK, DAMAGE

if TYPE_CHECKING:
    from lastbee.methods.circumstances import Circumstances
    from lastbee.methods.compare import Way
    from lastbee.methods.loss import Weights

COUNT = 20
YEAR = season(date(2026, 6, 25), days_ahead=200)
# Full flight and no flower open: nothing keeps bees from robbing.
DEARTH = steady_sky(60)
DEARTH[:, [Sky.FORAGE, Sky.DEARTH]] = 0.0


def what_is_left(
    honey_kg: float = 2.0, frames: float = 9.0, dead_brood_g: float = 0.0, **given: object
) -> Left:
    """Give trap-outs that all left the same."""
    ones = np.ones(COUNT)
    values = {
        "honey_g": 1000.0 * honey_kg * ones, "comb_dm2": 30.0 * ones,
        "dead_brood_g": dead_brood_g * ones, "box_bees": 1400.0 * frames * ones,
        "is_robbed": 0.0 * ones,
    }  # fmt: skip
    return Left(**(values | given))  # type: ignore[arg-type]


def ways_of(
    left: Left,
    c: Circumstances = OPEN_WALL,
    days: np.ndarray = DEARTH,
    weights: Weights = WEIGHTS,
) -> dict[str, Way]:
    return {w.key: w for w in close_outs(left, days, c, weights, "metric")}


def test_little_honey_is_closed_over_and_much_is_robbed_out_or_taken_out() -> None:
    """Tests the choice: extension guidance robs out only with a strong colony and in a dearth
    (University of Delaware), and opens where that cannot be."""
    choice = {
        name: next(w.key for w in ways.values() if w.status == "recommended")
        for name, ways in (
            ("little", ways_of(what_is_left(0.5))),
            ("much", ways_of(what_is_left(9.0))),
            ("much, weak box", ways_of(what_is_left(9.0, frames=2.0))),
            ("much, in a flow", ways_of(what_is_left(9.0), days=steady_sky(60))),
        )
    }
    assert choice == {
        "little": CLOSE, "much": ROB_OUT, "much, weak box": OPEN, "much, in a flow": OPEN,
    }  # fmt: skip


# Each rule: the way, what is in its way, and a word that the fact which lifts it must use.
# Trade rules are common practice, no source, unless named.
REFUSED: list[tuple[str, dict[str, object], dict[str, object], np.ndarray, str]] = [
    (ROB_OUT, {"exposing_comb": "barred"}, {}, DEARTH, "law"),
    (ROB_OUT, {"exposing_comb": "unknown"}, {}, DEARTH, "inspector"),
    (ROB_OUT, {"sprayed_ago_days": 20}, {}, DEARTH, "sprayed"),
    # No honey flow may be in progress (University of Delaware extension guidance).
    (ROB_OUT, {}, {}, steady_sky(60), "dearth"),
    (ROB_OUT, {}, {"box_bees": np.full(COUNT, 4000.0)}, DEARTH, "frames"),
    (ROB_OUT, {}, {"is_robbed": np.ones(COUNT)}, DEARTH, "held its own"),
    (ROB_OUT, {}, {"box_is_sick": "yes"}, DEARTH, "foulbrood"),
    (ROB_OUT, {"cavity": "chimney"}, {}, DEARTH, "sweep"),
    (ROB_OUT, {}, {"honey_g": np.full(COUNT, 300_000.0)}, DEARTH, "open"),
    (OPEN, {"may_open_inside": "no", "may_open_outside": "no"}, {}, DEARTH, "Permission"),
    (CLOSE, {"cavity": "chimney"}, {}, DEARTH, "sweep"),
    (CLOSE, {}, {"honey_g": np.full(COUNT, 6000.0)}, DEARTH, "open"),
]


@pytest.mark.parametrize(("key", "facts", "left", "days", "word"), REFUSED)
def test_each_refusal_fires_alone_and_says_what_lifts_it(
    key: str, facts: dict[str, object], left: dict[str, object], days: np.ndarray, word: str
) -> None:
    assert ways_of(what_is_left())[key].refusals == ()
    way = ways_of(what_is_left(**left), replace(OPEN_WALL, **facts), days)[key]  # type: ignore[arg-type]
    assert way.status == "refused"
    (refusal,) = way.refusals
    assert word in refusal.would_change
    assert refusal.reason.endswith(".")


def test_twice_the_honey_may_stay_where_nothing_can_be_spoiled() -> None:
    """Tests 6 kg against the limit of 5: too much behind plasterboard, not in an open barn."""
    barn = replace(OPEN_WALL, inside_finish="open")
    assert ways_of(what_is_left(6.0))[CLOSE].refusals
    assert ways_of(what_is_left(6.0), barn)[CLOSE].refusals == ()
    # A chance of one in five is not yet too likely, of one in four it is.
    for heavy, is_refused in ((4, False), (5, True)):
        honey = np.where(np.arange(COUNT) < heavy, 6000.0, 100.0)
        assert bool(ways_of(what_is_left(honey_g=honey))[CLOSE].refusals) == is_refused


def test_losses_by_hand() -> None:
    """Tests weights of 1 a kg, 0.5 a week, 10 an opening: nobody lives inside, so bees cost
    nothing. Opening: a visit and two hours for two people, 0.4 weeks, 3 % of the honey."""
    ways = ways_of(what_is_left(6.0, dead_brood_g=200.0))
    assert ways[CLOSE].expected_loss == pytest.approx(6.0 + DAMAGE + SMELL)
    assert ways[OPEN].expected_loss == pytest.approx(5.0 + 0.18 + 0.5 * 0.4 + 10.0)
    # Three visits over two weeks; four hundredths of the honey are never licked up.
    assert ways[ROB_OUT].expected_loss == pytest.approx(3.0 + 0.24 + 1.0 + SMELL)
    asked = replace(OPEN_WALL, may_open_inside="unknown", may_open_outside="no")
    opening = ways_of(what_is_left(6.0), asked)[OPEN]
    assert opening.expected_loss == pytest.approx(ways[OPEN].expected_loss + ASK)


def test_dead_brood_smells_from_a_thousand_cells_on_behind_a_finish() -> None:
    """Tests 0.14 g a dead cell, as the forecast weighs it: 1000 cells, and one more."""
    few, more = (ways_of(what_is_left(dead_brood_g=0.14 * n))[CLOSE] for n in (1000, 1001))
    assert more.expected_loss == pytest.approx(few.expected_loss + SMELL)
    barn = replace(OPEN_WALL, inside_finish="open")
    bare = ways_of(what_is_left(dead_brood_g=500.0), barn)[CLOSE]
    assert bare.expected_loss == pytest.approx(few.expected_loss)


def test_robbing_by_hand() -> None:
    """Tests two days in which a quarter of 8,000 bees carry 0.48 g each, forage and rain aside."""
    days = DEARTH[:2].copy()
    honey, box = np.array([5000.0]), np.array([8000.0])
    assert honey_after_robbing(honey, box, days) == pytest.approx(5000.0 - 2 * 960.0)
    # Half the best forage halves the interest; days all wet leave 15 % of the flight.
    days[:, Sky.FORAGE] = 0.5
    assert honey_after_robbing(honey, box, days) == pytest.approx(5000.0 - 960.0)
    days[:, Sky.FORAGE], days[:, Sky.WET] = 0.0, 1.0
    assert honey_after_robbing(honey, box, days) == pytest.approx(5000.0 - 0.15 * 2 * 960.0)


@pytest.mark.parametrize(
    ("on", "wait"),
    [(date(2026, 5, 25), None), (date(2026, 6, 15), None), (date(2026, 7, 28), 0)],
)
def test_the_dearth_comes_in_late_summer(on: date, wait: int | None) -> None:
    """Tests the calendar at 43 degrees north: main flow in May and June, dearth in late July and
    August (common practice, no source)."""
    year = season(date(2026, 5, 1), days_ahead=200)
    assert dearth_from(year.sky[year.index_of(on) :]) == wait


def test_a_dearth_that_is_near_is_waited_for_and_said() -> None:
    """Tests ten days of flow before it: the wait counts as weeks."""
    days = DEARTH.copy()
    days[:10, Sky.FORAGE] = 1.0
    assert dearth_from(days) == 10
    way = ways_of(what_is_left(), days=days)[ROB_OUT]
    assert way.refusals == ()
    assert "10 days" in way.note
    assert way.outcome.weeks.tolist() == pytest.approx([24.0 / 7.0] * COUNT)
    days[:23, Sky.FORAGE] = 1.0
    assert dearth_from(days) is None
    # A dearth without flight empties nothing.
    cold = DEARTH.copy()
    cold[:, Sky.FLIGHT_H] = 1.0
    assert dearth_from(cold) is None
    assert dearth_from(DEARTH[:6]) is None


def test_what_a_trap_out_leaves_is_read_off_its_forecast() -> None:
    trap = trap_of(4, honey_g=1500.0)
    trap.records[:, 50, Daily.BOX] = 7000.0
    left = left_by(trap, 50, np.zeros(4))
    assert left.honey_g.tolist() == [1500.0] * 4
    assert left.box_bees.tolist() == [7000.0] * 4
    assert left.box_is_sick == "unknown"
    assert any("looked over" in said for said in ways_of(what_is_left())[ROB_OUT].cautions)
    healthy = ways_of(what_is_left(box_is_sick="no"))[ROB_OUT].cautions
    assert not any("looked over" in said for said in healthy)


@given(
    circumstances, weights_, st.floats(0.0, 40.0), st.floats(0.0, 20.0), st.floats(0.0, 1.0),
    st.sampled_from(["yes", "no", "unknown"]), st.floats(0.0, 1.0),
)  # fmt: skip
def test_one_is_recommended_and_robbing_is_never_let_loose(
    c: Circumstances, weights: Weights, kilos: float, frames: float, robbed: float, sick: str,
    forage: float,
) -> None:  # fmt: skip
    """Tests every combination: one recommendation unless all are refused; no robbing after a
    spray, against the law, with it unasked, or with a sick, weak or robbed box."""
    days = steady_sky(60)
    days[:, Sky.FORAGE] = forage
    left = what_is_left(kilos, frames, is_robbed=np.full(COUNT, robbed), box_is_sick=sick)
    ways = ways_of(left, c, days, weights)
    assert list(ways) == [ROB_OUT, OPEN, CLOSE]
    best = [w for w in ways.values() if w.status == "recommended"]
    assert len(best) == (1 if any(not w.refusals for w in ways.values()) else 0)
    for way in ways.values():
        assert (way.status == "refused") == bool(way.refusals)
        assert np.isfinite(way.loss_visits).all()
        assert (
            (way.outcome.honey_left_kg >= 0.0) & (way.outcome.honey_left_kg <= kilos + 1e-9)
        ).all()
    if not ways[ROB_OUT].refusals:
        assert (c.exposing_comb, c.is_treated) == ("allowed", False)
        assert (sick != "yes", robbed < 0.25, frames >= STRONG_FRAMES) == (True, True, True)
        assert forage <= closeout.DEARTH_FORAGE
    said = " ".join(ways[ROB_OUT].cautions)
    assert all(word in said for word in ("wasps", "foulbrood", "Stings"))


def test_the_plan_and_the_close_out_know_the_same_bars() -> None:
    """Tests that the law and a spray bar robbing, and that nobody having asked is told apart."""
    assert bars_to_robbing(OPEN_WALL) == ()
    assert bars_to_robbing(replace(OPEN_WALL, exposing_comb="unknown")) == ()
    both = replace(OPEN_WALL, exposing_comb="barred", sprayed_ago_days=3)
    assert len(bars_to_robbing(both)) == 2


# Words.
ON = date(2026, 8, 20)


def rows_of(
    left: Left, c: Circumstances = OPEN_WALL, system: str = "metric", on: date = ON
) -> dict[str, closing.CloseOutRow]:
    days = YEAR.sky[YEAR.index_of(on) :]
    ways = close_outs(left, days, c, WEIGHTS, system)  # type: ignore[arg-type]
    rows = close_out_rows(ways, left, days, on, 43.0, c, system)  # type: ignore[arg-type]
    order = ["recommended", "possible", "refused"]
    assert [r.status for r in rows] == sorted((r.status for r in rows), key=order.index)
    return {row.key: row for row in rows}


def test_rows_say_what_stays_and_what_it_does() -> None:
    """Tests wall, season, brood and the next swarm in a summer row, each by a word of its own."""
    row = rows_of(what_is_left(3.0, dead_brood_g=300.0))[CLOSE]
    said = " ".join(row.consequences)
    for word in ("ferments", "plasterboard", "35 °C", "300 g", "moths", "beetles", "Swarms"):
        assert word in said
    assert row.honey_left.words == "3 kg"
    assert rows_of(what_is_left(3.0))[OPEN].consequences[-1].startswith("What little is missed")
    # Nothing much left, nothing much said of honey.
    assert "ferments" not in " ".join(rows_of(what_is_left(0.1))[CLOSE].consequences)


def test_rows_are_in_the_units_of_the_reader() -> None:
    """Tests that a row in one system holds no unit of the other, and masses agree (0.4536 kg)."""
    left = what_is_left(3.0, dead_brood_g=300.0)
    us, metric = (rows_of(left, system=s)[CLOSE] for s in ("us", "metric"))
    assert us.honey_left.median == pytest.approx(3.0 / 0.45359237)
    said = " ".join((us.honey_left.words, *us.consequences))
    assert "°C" not in said
    assert " kg" not in said
    assert " lb" in said
    assert "°F" not in " ".join(metric.consequences)


@pytest.mark.parametrize(
    ("facts", "word"),
    [
        ({"covering": "brick"}, "weep holes"),
        ({"covering": "stone"}, "stone"),
        ({"inside_finish": "plaster"}, "plaster"),
        ({"inside_finish": "open"}, "wiped"),
        ({"inside_finish": "wood"}, "boards"),
        ({"cavity": "chimney"}, "hearth"),
    ],
)
def test_each_wall_has_its_own_consequence(facts: dict[str, object], word: str) -> None:
    row = rows_of(what_is_left(3.0), replace(OPEN_WALL, **facts))[CLOSE]  # type: ignore[arg-type]
    assert word in " ".join(row.consequences)


def test_cold_keeps_comb_firm_until_next_year() -> None:
    """Tests a row of late October: no heat ahead, mice about."""
    said = " ".join(rows_of(what_is_left(3.0), on=date(2026, 10, 28))[CLOSE].consequences)
    assert "°C" not in said
    assert "Cold keeps comb" in said
    assert "Mice" in said


@pytest.mark.parametrize(
    ("on", "latitude", "earliest", "latest"),
    [
        # Swarms fly from April to July in the north (extension guidance): none in autumn.
        (date(2026, 10, 1), 43.0, date(2027, 4, 1), date(2027, 5, 15)),
        (date(2026, 6, 1), 43.0, date(2026, 6, 1), date(2026, 6, 1)),
        # Half a year apart in the south: October and November.
        (date(2026, 6, 1), -38.0, date(2026, 9, 1), date(2026, 11, 1)),
    ],
)
def test_the_next_swarms_come_in_their_season(
    on: date, latitude: float, earliest: date, latest: date
) -> None:
    assert earliest <= remains.next_swarms(on, latitude) <= latest


def first_word_at(lines: tuple[str, ...], word: str) -> int:
    return next(i for i, line in enumerate(lines) if word in line)


@pytest.mark.parametrize(
    ("way", "order"),
    [
        (ROB_OUT, ("exit wide", "After dusk", "Close the exit:", "temporary", "vents", "Photograph",
                   "told", "in writing", "warranty")),
        (OPEN, ("After dusk", "cone off", "Open the cavity", "Close the exit:", "temporary",
                "vents", "Photograph", "told", "warranty")),
        (CLOSE, ("After dusk", "cone off", "Close the exit:", "temporary", "vents", "Photograph",
                 "told", "in writing", "warranty")),
    ],
)  # fmt: skip
def test_the_closing_list_keeps_its_order(way: str, order: tuple[str, ...]) -> None:
    """Tests each way's list: one thing a line, a waiver exactly where comb stays."""
    lines = closing_list(OPEN_WALL, way)
    assert [first_word_at(lines, word) for word in order] == list(range(len(lines)))


def test_the_closing_list_has_the_figures_of_the_trade() -> None:
    """Tests 3 miles for the box, which is common practice, and mesh under 1/8 in (extension)."""
    said = " ".join(closing_list(OPEN_WALL, CLOSE))
    assert "3 miles (5 km)" in said
    assert "1/8 in (3 mm) or finer" in said
    assert "never seal one" in said


def test_each_step_carries_its_own_caution() -> None:
    """Tests heights, lines, old paint, asbestos and stings at the lines where they can hurt."""
    c = replace(OPEN_WALL, entrance_height_m=5.0, year_built=1950, power_line_near="yes")
    lines = closing_list(c, OPEN)
    box, off, cavity, exit_ = lines[:4]
    assert all(word in box for word in ("Stings", "Height", "rope"))
    assert "Overhead lines" in off
    assert all(word in cavity for word in ("lead", "asbestos", "respirator", "scaffold"))
    assert "scraping" in exit_
    assert "Local codes" in exit_


def test_a_flue_is_left_to_the_sweep() -> None:
    """Tests that a chimney is never closed while anything may burn below (combustion air)."""
    lines = closing_list(replace(OPEN_WALL, cavity="chimney"), OPEN)
    assert "never filled" in lines[first_word_at(lines, "Open the cavity")]
    assert "never the flue" in lines[first_word_at(lines, "Close the exit:")]
    assert "no hollow" not in " ".join(lines)
    vents = lines[first_word_at(lines, "vents")]
    assert "sweep" in vents
    assert "combustion air" in vents
    assert "sweep" not in " ".join(closing_list(OPEN_WALL, OPEN))
    flue = rows_of(what_is_left(3.0), replace(OPEN_WALL, cavity="chimney"))
    assert "fill" not in " ".join(flue[OPEN].consequences)


@pytest.mark.parametrize("cavity", ["soffit", "roof void"])
def test_what_must_stay_aired_is_not_filled(cavity: str) -> None:
    (line,) = [x for x in closing_list(replace(OPEN_WALL, cavity=cavity), OPEN) if "aired" in x]
    assert "no hollow" not in line


def test_nothing_is_closed_while_every_way_is_refused() -> None:
    (only,) = closing_list(OPEN_WALL, None)
    assert only.startswith("Close nothing yet")


def test_nothing_is_drilled_where_nobody_has_allowed_it() -> None:
    closed = replace(OPEN_WALL, may_open_inside="unknown", may_open_outside="no")
    assert [c.key for c in checks_here(closed)] == ["watch", "listen", "watch twice"]
    assert checks_here(OPEN_WALL) == CHECKS


def told_clearance(
    probability: float, day: int | None, second_colony: float = 0.0, *, looked: bool = True
) -> closing.Clearance:
    ahead = CheckAhead(WATCH, day, 0.7, 0.96)
    look = Outlook(range(180, 240), np.zeros(60), (ahead,))
    return clearance(
        look, probability, 0.95, YEAR.first, OPEN_WALL, second_colony, was_looked_for=looked
    )


def test_clearance_is_told_with_its_chance_and_its_date() -> None:
    """Tests the three answers, and the date of the check counted from the year's first day."""
    soon = told_clearance(0.4, 200)
    assert not soon.is_clear
    assert soon.checks[0].on == YEAR.first + timedelta(days=200)
    assert "about 4 in 10" in soon.words
    assert "watch the cone for 15 minutes" in soon.words
    assert "about 7 in 10" in soon.words
    never = told_clearance(0.02, None)
    assert never.checks[0].on is None
    assert "No check can make sure" in never.words
    sure = told_clearance(0.97, 200)
    assert sure.is_clear
    assert sure.words.endswith("enough to close.")
    assert not told_clearance(0.97, 200, looked=False).is_clear
    assert "second colony" in told_clearance(0.97, 200, second_colony=0.5).words
    assert "second colony" not in sure.words
