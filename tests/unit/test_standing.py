"""How a running trap-out stands: the word, the headline and what the last visit changed."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from progress_pieces import clearance, day_on, empty, visit

from lastbee.colony.course import Trouble
from lastbee.jobs.plan import Milestone
from lastbee.jobs.progress import TroubleRow, VisitRow
from lastbee.jobs.standing import (
    ENDLESS,
    ENDLESS_AFTER_DAYS,
    FAILED_AFTER_DAYS,
    NAMED_FIRST,
    SLOW_DAYS,
    Standing,
    changes,
    headline,
)
from lastbee.jobs.story import deed_words, shift_words
from lastbee.jobs.troubles import TOLD
from lastbee.jobs.visit import Deed, DeedKind
from lastbee.words import day_words

EMPTY, NOT_EMPTY = clearance(0.97, first=40, later=44), clearance(0.1, first=40, later=44)
NEVER = Milestone("empty", "Empty of bees", None, None, None, "at most 50 bees left")


def row(which: Trouble, probability: float, still: float | None = None) -> TroubleRow:
    told = TOLD[which]
    after = probability if still is None else still
    return TroubleRow(told.key, told.label, probability, after, (), (), "Look.", told.remedy, "")


def rows(**still: float) -> tuple[TroubleRow, ...]:
    """Every explanation, those named with their chance, the sound one with the rest."""
    chances = {t: still.get(t.name, 0.0) for t in Trouble if t != Trouble.NONE}
    chances[Trouble.NONE] = 1.0 - sum(chances.values())
    return tuple(row(t, p) for t, p in sorted(chances.items(), key=lambda item: -item[1]))


def last(surprise: float = 0.4, did: tuple[str, ...] = ()) -> VisitRow:
    return visit(14, 13, ("3 in 5 min",), did, "Within what was forecast.", surprise=surprise)


def standing(**changed: object) -> Standing:
    """A trap-out that works, two weeks after the cone, but for what is changed."""
    usual = Standing(
        trap_days=14,
        rows=rows(LEAK=0.05),
        last=last(),
        clearance=NOT_EMPTY,
        first_empty=empty(30, 38, 49),
        empty=empty(30, 39, 50),
        empty_if_mended=None,
        soon=0.6,
    )
    return replace(usual, **changed)


@pytest.mark.parametrize(
    ("changed", "kind"),
    [
        ({}, "working"),
        ({"empty": empty(30, 38 + SLOW_DAYS, 60)}, "working"),
        ({"empty": empty(30, 39 + SLOW_DAYS, 60)}, "slow"),
        ({"empty": NEVER}, "slow"),
        ({"first_empty": NEVER}, "working"),
        ({"rows": rows(LEAK=NAMED_FIRST)}, "trouble"),
        ({"rows": rows(LEAK=0.39)}, "working"),
        ({"rows": rows(LEAK=0.3, CLUSTER=0.25)}, "unsure"),
        ({"seen": (Trouble.CLOGGED,)}, "unsure"),
        ({"seen": (Trouble.CLOGGED,), "rows": rows(CLOGGED=0.9)}, "trouble"),
        ({"is_winter": True, "rows": rows(LEAK=0.9), "trap_days": 100, "soon": 0.0}, "unsure"),
        ({"is_winter": True, "clearance": EMPTY}, "empty"),
        ({"last": last(surprise=0.001)}, "unsure"),
        ({"last": last(surprise=0.001), "rows": rows(LEAK=0.9)}, "unsure"),
        ({"clearance": EMPTY}, "empty"),
        ({"clearance": EMPTY, "trap_days": 90, "soon": 0.1}, "empty"),
        ({"trap_days": FAILED_AFTER_DAYS, "soon": 0.49}, "failed"),
        ({"trap_days": FAILED_AFTER_DAYS - 1, "soon": 0.01}, "working"),
        ({"trap_days": FAILED_AFTER_DAYS, "soon": 0.5}, "working"),
        ({"trap_days": ENDLESS_AFTER_DAYS, "rows": rows(QUEEN_STAYS=0.4, STALLED=0.3)}, "failed"),
        ({"trap_days": ENDLESS_AFTER_DAYS - 1, "rows": rows(QUEEN_STAYS=0.9)}, "trouble"),
        ({"trap_days": ENDLESS_AFTER_DAYS, "rows": rows(LEAK=0.9)}, "trouble"),
    ],
)
def test_the_word_for_how_it_stands(changed: dict[str, object], kind: str) -> None:
    """Tests each rule at its edge; empty goes before failed, and failed before all else."""
    assert standing(**changed).kind == kind


def test_a_trap_out_that_works_says_when() -> None:
    assert headline(standing()) == (
        f"Most likely empty by {day_words(day_on(39))}, almost surely by {day_words(day_on(50))}."
    )
    assert "may take far longer" in headline(standing(empty=empty(30, 39, None)))
    assert headline(standing(empty=NEVER)).startswith("Not empty by itself within the forecast")
    # The last visit was on day 14; nobody is told that a day gone by lies ahead.
    assert "should be empty by now" in headline(standing(empty=empty(9, 14, 30)))
    assert "should be empty by now" not in headline(standing(empty=empty(9, 15, 30)))


def test_trouble_is_named_with_its_chance() -> None:
    assert headline(standing(rows=rows(LEAK=0.83, CLUSTER=0.1))) == (
        "Leak: another way in: about 8 in 10."
    )


def test_what_was_put_right_at_the_last_visit_is_told() -> None:
    """Tests a clogged cone that was refitted, and the same where nothing was done."""
    mended = (row(Trouble.CLOGGED, 0.9, 0.1), row(Trouble.NONE, 0.1, 0.9))
    done = headline(standing(rows=mended, last=last(did=("refitted the cone",))))
    assert done.startswith("Most likely empty by ")
    assert done.endswith(" Cone clogged: put right, about 9 in 10.")
    assert "put right" not in headline(standing(rows=mended))
    assert "put right" not in headline(standing(last=last(did=("fed the box",))))


def test_the_other_headlines() -> None:
    assert headline(standing(clearance=EMPTY)) == f"Empty: {EMPTY.words}"
    failed = headline(standing(trap_days=80, soon=0.03))
    assert "about 3 in 100 to be empty within 21 days" in failed
    assert failed.endswith("decide anew.")
    assert "Count again" in headline(standing(last=last(surprise=0.001)))
    assert "do not yet say what" in headline(standing(rows=rows(LEAK=0.3, CLUSTER=0.3)))
    assert headline(standing(is_winter=True)).startswith("Winter lies in the way: leave cone")
    left = headline(standing(seen=(Trouble.CLOGGED, Trouble.LEAK)))
    assert "(cone clogged; leak: another way in): look into them first." in left


def test_putting_it_right_is_told_where_trouble_is_named_and_goes_on() -> None:
    """Tests the second sentence: not for a small chance, nor where nobody will come again."""
    mended = {"empty_if_mended": empty(25, 32, 40)}
    troubled = standing(rows=rows(LEAK=0.5), **mended)
    assert changes(troubled) == (
        "Within what was forecast.",
        f"If it is put right at the next visit: most likely empty by {day_words(day_on(32))}, "
        f"almost surely by {day_words(day_on(40))} (empty about 7 days sooner than thought, "
        "15 Aug).",
    )
    for other in (
        replace(troubled, empty_if_mended=None),
        replace(troubled, rows=rows(LEAK=0.1)),
        replace(troubled, clearance=EMPTY),
        replace(troubled, trap_days=80, soon=0.1),
    ):
        assert changes(other) == ("Within what was forecast.",)


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        (38, 38, "still expected to be empty about 21 Aug"),
        (38, 39, "still expected to be empty about 22 Aug"),
        (38, 40, "empty about 2 days later than thought, 23 Aug"),
        (38, 30, "empty about 8 days sooner than thought, 13 Aug"),
        (None, None, "still not expected to empty by itself"),
        (38, None, "no longer expected to empty by itself"),
        (None, 38, "now expected to be empty about 21 Aug"),
    ],
)
def test_how_far_the_day_moved(before: int | None, after: int | None, said: str) -> None:
    days = [NEVER if day is None else empty(day - 5, day, day + 9) for day in (before, after)]
    # Days of the factory's cone, on 14 July.
    assert shift_words(*days) == said


def test_every_trouble_and_every_deed_has_its_words() -> None:
    assert set(TOLD) == set(Trouble)
    assert len({told.key for told in TOLD.values()}) == len(TOLD)
    assert set(ENDLESS) <= set(Trouble)
    for told in TOLD.values():
        assert told.remedy.endswith(".")
        assert told.label[0].isupper()
    words = [deed_words(Deed(kind)) for kind in DeedKind.__args__]  # type: ignore[attr-defined]
    assert len(set(words)) == len(words)


CHANCES = st.floats(0.0, 1.0)
DAYS = st.none() | st.integers(1, 119)


@st.composite
def any_standing(draw: st.DrawFn) -> Standing:
    weights = [draw(CHANCES) + 1e-3 for _ in Trouble]
    total = sum(weights)
    after = [draw(CHANCES) + 1e-3 for _ in Trouble]
    told = tuple(
        row(t, p / total, s / sum(after)) for t, p, s in zip(Trouble, weights, after, strict=True)
    )

    def milestone() -> Milestone:
        early = draw(DAYS)
        likely = None if early is None else draw(st.none() | st.integers(early, 119))
        safe = None if likely is None else draw(st.none() | st.integers(likely, 119))
        dates = [None if day is None else day_on(day) for day in (early, likely, safe)]
        return Milestone("empty", "Empty of bees", *dates, "")

    return standing(
        trap_days=draw(st.integers(0, 112)),
        rows=tuple(sorted(told, key=lambda r: -r.probability)),
        last=last(draw(CHANCES), draw(st.sampled_from([(), ("closed a gap",)]))),
        clearance=draw(st.sampled_from([EMPTY, NOT_EMPTY])),
        first_empty=milestone(),
        empty=milestone(),
        empty_if_mended=milestone() if draw(st.booleans()) else None,
        soon=draw(CHANCES),
    )


@given(any_standing())
def test_any_standing_is_said_in_clean_sentences(case: Standing) -> None:
    """Tests that nothing raw is printed and that kind and headline go together."""
    for said in (headline(case), *changes(case)):
        assert "  " not in said
        assert ".." not in said
        assert said[0].isupper()
        assert said.endswith((".", "done", "yet"))
        assert not re.search(r"None|nan|np\.|\d\.\d", said)
    if case.kind == "trouble":
        assert headline(case).startswith(case.worst.label)
    assert headline(case).startswith("Empty: ") == (case.kind == "empty")
    assert ("decide anew" in headline(case)) == (case.kind == "failed")
    assert len(changes(case)) == 1 + (case.kind == "trouble" and case.empty_if_mended is not None)
