"""Courses of a trap-out: a slow loop colony by colony, chances, gifts, and what the kernel takes.

How often troubles come and deeds mend is common practice, no source: the numbers themselves
are not held against anything here, but that courses are drawn as they say.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from colony_factory import mixed_case
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from scipy import stats
from scipy.special import expit, logit, ndtr

from lastbee.biology.constants import Column
from lastbee.colony.course import (
    BROOD_FRAME_CELLS,
    BROOD_PULL,
    BRUSHED_SHARE,
    COUNT_BIAS_SPREAD,
    GIVEN_QUEEN_DAYS,
    MENDS,
    NOTICED,
    ONSETS,
    PRIOR,
    QUEEN_PULL,
    RAISED_QUEEN_DAYS,
    SMALL_LEAKS_LEFT,
    SYRUP_G_PER_L,
    WORSE,
    CourseDeviate,
    Courses,
    Deed,
    DeedKind,
    Trouble,
    course_dimensions,
    draw_courses,
    put_right_chance,
)
from lastbee.colony.kernel import live
from lastbee.colony.layout import NO_CONE
from lastbee.colony.turns import TURNED, Gift

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

CASE = mixed_case(6, seed=51)
CONE = CASE.cone_day
SPAN_DAYS = 40
TROUBLES = [t for t in Trouble if t != Trouble.NONE]
# One chance in ten thousand for any of some hundred comparisons to fail by chance.
FALSE_ALARM = 1e-6
LEAK, JOIN = TURNED.index(Column.LEAK), TURNED.index(Column.JOIN)
DELAY = TURNED.index(Column.BOX_LAYING_DELAY)
SHARES = [TURNED.index(c) for c in (Column.LEAK, Column.PASSABLE, Column.LAY_COUPLING,
                                    Column.BOX_ROBBED)]  # fmt: skip


# ---- against a slow loop ----


class SlowCourse:
    """The course of one colony, day by day, as docs and docstrings tell it."""

    def __init__(self, z: Array, params: Array, trouble: Trouble, deeds: tuple[Deed, ...]) -> None:
        self.trouble, self.deeds = trouble, deeds
        self.severity = float(z[CourseDeviate.SEVERITY])
        self.drawn = [float(params[column]) for column in TURNED]
        self.onset = self.begins(float(ndtr(z[CourseDeviate.ONSET])))
        self.mended = NO_CONE
        luck = [float(ndtr(value)) for value in z[len(CourseDeviate) :]]
        for deed, u in zip(deeds, luck, strict=True):
            chance = MENDS.get(trouble, {}).get(deed.kind, 0.0)
            if self.mended == NO_CONE and deed.day > self.onset and u < chance:
                self.mended = deed.day

    def begins(self, u: float) -> int:
        if self.trouble == Trouble.NONE:
            return NO_CONE
        when = ONSETS[self.trouble]
        if u < when.at_once:
            return CONE
        rest = min((u - when.at_once) / (1.0 - when.at_once), 1.0 - 1e-9)
        return CONE + int(np.ceil(when.wait_days - when.mean_days * np.log(1.0 - rest)))

    def is_active(self, day: int) -> bool:
        return self.onset <= day < self.mended

    def rates(self, day: int) -> list[float]:
        """Rates in force on a morning."""
        rates = list(self.drawn)
        for deed in self.deeds:
            if deed.day > day:
                continue
            since = deed.day - CONE
            if deed.kind == "gap closed":
                rates[LEAK] *= SMALL_LEAKS_LEFT
            if deed.kind == "brood given":
                rates[JOIN] *= BROOD_PULL
                rates[DELAY] = min(rates[DELAY], since + RAISED_QUEEN_DAYS)
            if deed.kind == "queen given":
                rates[JOIN] *= QUEEN_PULL
                rates[DELAY] = min(rates[DELAY], since + GIVEN_QUEEN_DAYS)
        return self.worsened(rates) if self.is_active(day) else rates

    def worsened(self, rates: list[float]) -> list[float]:
        rates = list(rates)
        for column, worse in WORSE.get(self.trouble, {}).items():
            i = TURNED.index(column)
            if worse.kind == "share":
                rates[i] = float(expit(logit(worse.middle) + worse.spread * self.severity))
            elif worse.kind == "rate":
                rates[i] = worse.middle * float(np.exp(worse.spread * self.severity))
            else:
                rates[i] *= worse.middle * float(np.exp(worse.spread * self.severity))
        return rates

    def gifts(self, day: int) -> list[list[float]]:
        """What is given or taken on a morning, deed by deed, and by the trouble last."""
        found = [gift_of(deed) for deed in self.deeds if deed.day == day]
        if self.trouble == Trouble.BOX_LEFT and self.onset == day:
            left = [0.0] * len(Gift)
            left[Gift.BOX_GONE] = float(expit(logit(0.9) + 0.8 * self.severity))
            found.append(left)
        return [row for row in found if any(row)]


def gift_of(deed: Deed) -> list[float]:
    """What a deed gives, from its amount."""
    gift = [0.0] * len(Gift)
    if deed.kind == "brood given":
        gift[Gift.BOX_BROOD] = BROOD_FRAME_CELLS * (1.0 if deed.amount is None else deed.amount)
    if deed.kind == "box added":
        gift[Gift.BOX_BEES] = 0.0 if deed.amount is None else deed.amount
    if deed.kind == "fed":
        gift[Gift.BOX_HONEY] = SYRUP_G_PER_L * (1.0 if deed.amount is None else deed.amount)
    if deed.kind == "cluster brushed in":
        gift[Gift.WALL_BOXED] = BRUSHED_SHARE
    return gift


def gifts_on(courses: Courses, colony: int, day: int) -> list[list[float]]:
    turns = courses.turns
    rows = turns.gifts[colony][turns.days[colony] == day]
    return [row.tolist() for row in rows if row.any()]


@st.composite
def drawn(draw: st.DrawFn) -> tuple[Array, Trouble, tuple[Deed, ...]]:
    """Any trouble with any deeds at all, and deviates far beyond the usual."""
    kinds = st.builds(
        Deed,
        st.integers(CONE, CONE + 30),
        st.sampled_from(list(DeedKind)),
        st.none() | st.floats(0.25, 10.0),
    )
    deeds = tuple(sorted(draw(st.lists(kinds, max_size=6)), key=lambda deed: deed.day))
    shape = (len(CASE.params), course_dimensions(deeds))
    z = draw(hnp.arrays(np.float64, shape, elements=st.floats(-6.0, 6.0)))
    # Hypothesis likes zeros, with which every onset would be the same.
    z += np.random.default_rng(draw(st.integers(0, 99))).standard_normal(shape)
    return z, draw(st.sampled_from(list(Trouble))), deeds


ANY = settings(max_examples=120)


@given(drawn())
@ANY
def test_any_course_is_that_of_a_slow_loop(case: tuple[Array, Trouble, tuple[Deed, ...]]) -> None:
    """Tests rates, gifts and whether trouble is going on, on every morning of forty days."""
    z, trouble, deeds = case
    courses = draw_courses(z, CASE.params, trouble, deeds, CONE)
    slow = [SlowCourse(z[i], CASE.params[i], trouble, deeds) for i in range(len(z))]
    assert courses.onset.tolist() == [one.onset for one in slow]
    assert courses.mended.tolist() == [one.mended for one in slow]
    for day in range(CONE, CONE + SPAN_DAYS):
        now = courses.turns.in_force(CASE.params, day)[:, TURNED]
        np.testing.assert_allclose(now, [one.rates(day) for one in slow], rtol=1e-12)
        assert courses.is_active(day).tolist() == [one.is_active(day) for one in slow]
        for i, one in enumerate(slow):
            np.testing.assert_allclose(gifts_on(courses, i, day), one.gifts(day), rtol=1e-12)


@given(drawn(), st.integers(0, 12))
@ANY
def test_an_ended_course_is_that_of_a_slow_loop(
    case: tuple[Array, Trouble, tuple[Deed, ...]], later: int
) -> None:
    """Tests that up to the day all is as it was, and from it on nothing is wrong."""
    z, trouble, deeds = case
    day = max([CONE + 1, *(deed.day for deed in deeds)]) + later
    courses = draw_courses(z, CASE.params, trouble, deeds, CONE)
    ended = courses.ended(day)
    for i in range(len(z)):
        ill = SlowCourse(z[i], CASE.params[i], trouble, deeds)
        sound = SlowCourse(z[i], CASE.params[i], Trouble.NONE, deeds)
        for morning in range(CONE, day + 12):
            one = ill if morning < day else sound
            now = ended.turns.in_force(CASE.params, morning)[i, TURNED]
            np.testing.assert_allclose(now, one.rates(morning), rtol=1e-12)
            np.testing.assert_allclose(gifts_on(ended, i, morning), one.gifts(morning))
            assert ended.is_active(morning)[i] == (morning < day and ill.is_active(morning))
    assert (np.diff(ended.turns.days, axis=1) >= 0).all()
    np.testing.assert_array_equal(ended.ended(day + 3).turns.days[:, :-1], ended.turns.days)


@given(drawn())
@settings(max_examples=60)
def test_any_turns_are_in_order_and_such_as_the_kernel_takes(
    case: tuple[Array, Trouble, tuple[Deed, ...]],
) -> None:
    """Tests days, shares and rates, and that no box and no wall is ever worse than empty."""
    z, trouble, deeds = case
    courses = draw_courses(z, CASE.params, trouble, deeds, CONE)
    turns = courses.turns
    assert turns.days.shape == (len(z), len(deeds) + 1)
    assert (turns.days >= CONE).all()
    assert (np.diff(turns.days, axis=1) >= 0).all()
    assert np.isfinite(turns.rates).all()
    assert (turns.rates >= 0.0).all()
    assert (turns.rates[:, :, SHARES] <= 1.0).all()
    assert (turns.gifts >= 0.0).all()
    assert (turns.gifts[:, :, [Gift.WALL_BOXED, Gift.BOX_GONE]] <= 1.0).all()
    for biased in (courses.count_bias, courses.box_bias, courses.cluster_bias):
        assert (biased > 0.0).all()
    _, records, final = live(
        CASE.params, CASE.seeds, CASE.sky, snap_days=(CONE,), cone_day=CONE, trap_days=SPAN_DAYS,
        turns=turns,
    )  # fmt: skip
    assert np.isfinite(records).all()
    assert np.isfinite(final).all()
    # Bees shut out on a day are less those that walked back in: these may be more.
    assert (records > -1e-6).all()
    assert (final > -1e-6).all()


def test_what_does_not_fit_is_refused() -> None:
    z = np.zeros((6, course_dimensions(())))
    with pytest.raises(ValueError, match=r"z must have shape \(6, 5\)"):
        draw_courses(z[:, 1:], CASE.params, Trouble.LEAK, (), CONE)
    late, early = (Deed(CONE + day, DeedKind.FED) for day in (4, 2))
    with pytest.raises(ValueError, match="in order of day"):
        draw_courses(np.zeros((6, 7)), CASE.params, Trouble.LEAK, (late, early), CONE)
    with pytest.raises(ValueError, match="not before"):
        draw_courses(np.zeros((6, 6)), CASE.params, Trouble.LEAK, (early,), CONE + 3)


# ---- chances ----

MANY = 4000


def many(trouble: Trouble, deeds: tuple[Deed, ...] = (), **fixed: float) -> Courses:
    """Draw many courses of a trouble, some of their deviates fixed."""
    case = mixed_case(MANY, seed=52)
    z = np.random.default_rng(52).standard_normal((MANY, course_dimensions(deeds)))
    for name, value in fixed.items():
        z[:, CourseDeviate[name]] = value
    return draw_courses(z, case.params, trouble, deeds, CONE)


def test_the_prior_is_a_prior_over_every_trouble() -> None:
    assert set(PRIOR) == set(Trouble)
    assert sum(PRIOR.values()) == pytest.approx(1.0)
    assert min(PRIOR.values()) > 0.0
    assert set(ONSETS) == set(TROUBLES)
    # What nobody can mend is not said to be put right; a second colony alone changes no rate.
    assert set(WORSE) == set(TROUBLES) - {Trouble.SECOND_COLONY}
    assert {t for t in Trouble if put_right_chance(t) > 0.0} == set(MENDS) == set(NOTICED)


@pytest.mark.parametrize("trouble", TROUBLES, ids=lambda t: t.name)
def test_troubles_begin_when_they_are_said_to(trouble: Trouble) -> None:
    """Tests the share that comes with the cone, and the mean of the geometric rest: closed form."""
    when, onset = ONSETS[trouble], many(trouble).onset
    at_once = int((onset == CONE).sum())
    assert stats.binomtest(at_once, MANY, when.at_once).pvalue > FALSE_ALARM
    later = onset[onset > CONE] - CONE - when.wait_days
    assert later.min() >= 1
    chance = 1.0 - np.exp(-1.0 / when.mean_days)
    error = np.sqrt(1.0 - chance) / chance / np.sqrt(len(later))
    assert abs(later.mean() - 1.0 / chance) < 5.0 * error


def test_a_sound_course_never_begins_to_be_otherwise() -> None:
    courses = many(Trouble.NONE, (Deed(CONE + 3, DeedKind.GAP_CLOSED),))
    assert (courses.onset == NO_CONE).all()
    assert (courses.mended == NO_CONE).all()
    assert not any(courses.is_active(day).any() for day in range(CONE, CONE + 200, 20))


@pytest.mark.parametrize("kind", list(DeedKind), ids=lambda kind: kind.name)
@pytest.mark.parametrize("trouble", TROUBLES, ids=lambda t: t.name)
def test_each_deed_mends_what_it_is_said_to_and_as_often(trouble: Trouble, kind: DeedKind) -> None:
    """Tests troubles that came with the cone by a two-sided binomial; nothing else is mended."""
    courses = many(trouble, (Deed(CONE + 5, kind),), ONSET=-9.0)
    mended = courses.mended == CONE + 5
    assert (mended | (courses.mended == NO_CONE)).all()
    chance = MENDS.get(trouble, {}).get(kind, 0.0)
    assert stats.binomtest(int(mended.sum()), MANY, chance).pvalue > FALSE_ALARM
    assert (mended == ~courses.is_active(CONE + 5)).all()


def test_a_deed_mends_nothing_that_has_not_begun() -> None:
    """Tests deeds before the onset and on its day: the trouble comes all the same."""
    deeds = tuple(Deed(CONE + day, DeedKind.GAP_CLOSED) for day in range(12))
    courses = many(Trouble.LEAK, deeds)
    begun = courses.mended < NO_CONE
    assert (courses.mended[begun] > courses.onset[begun]).all()
    late = courses.onset >= CONE + 11
    assert late.any()
    assert not begun[late].any()


def test_two_tries_mend_what_one_may_miss() -> None:
    """Tests 1 - (1 - p)^2 by a binomial, and that the first that works is the one."""
    deeds = tuple(Deed(CONE + day, DeedKind.GAP_CLOSED) for day in (3, 9))
    courses = many(Trouble.LEAK, deeds, ONSET=-9.0)
    once = MENDS[Trouble.LEAK][DeedKind.GAP_CLOSED]
    first, ever = (courses.mended == CONE + 3), (courses.mended < NO_CONE)
    for seen, chance in ((first, once), (ever, 1.0 - (1.0 - once) ** 2)):
        assert stats.binomtest(int(seen.sum()), MANY, chance).pvalue > FALSE_ALARM


# ---- what is given, and how bad it is ----


@pytest.mark.parametrize(
    ("deed", "gift", "amount"),
    [
        (Deed(CONE + 2, DeedKind.BROOD_GIVEN, 2.0), Gift.BOX_BROOD, 2.0 * BROOD_FRAME_CELLS),
        (Deed(CONE + 2, DeedKind.BROOD_GIVEN), Gift.BOX_BROOD, BROOD_FRAME_CELLS),
        (Deed(CONE + 2, DeedKind.BOX_ADDED, 4200.0), Gift.BOX_BEES, 4200.0),
        (Deed(CONE + 2, DeedKind.BOX_ADDED), Gift.BOX_BEES, 0.0),
        (Deed(CONE + 2, DeedKind.FED, 0.5), Gift.BOX_HONEY, 0.5 * SYRUP_G_PER_L),
        (Deed(CONE + 2, DeedKind.BRUSHED_IN), Gift.WALL_BOXED, BRUSHED_SHARE),
    ],
)
@pytest.mark.parametrize("trouble", [Trouble.NONE, Trouble.BOX_LEFT])
def test_a_deed_gives_its_gift_once_whatever_is_wrong(
    deed: Deed, gift: Gift, amount: float, trouble: Trouble
) -> None:
    courses = many(trouble, (deed,))
    of_deed = courses.turns.gifts[courses.turns.days == deed.day]
    assert of_deed[:, gift].max() == amount
    in_all = courses.turns.gifts.sum(axis=1)
    assert in_all[:, gift] == pytest.approx(np.full(MANY, amount))
    others = [g for g in Gift if g not in (gift, Gift.BOX_GONE)]
    assert not in_all[:, others].any()


def test_a_frame_of_brood_fits_a_frame_and_a_litre_of_syrup_its_sugar() -> None:
    """Tests the gifts against a deep frame of 6,900 cells, and syrup between one part of sugar to
    one of water (615 g of sugar in a litre) and two to one (890 g), at 82 % sugar in honey: all
    common figures, from memory."""
    assert 0.2 * 6900.0 < gift_of(Deed(0, DeedKind.BROOD_GIVEN))[Gift.BOX_BROOD] < 0.8 * 6900.0
    assert 615.0 < SYRUP_G_PER_L < 890.0 / 0.82


@pytest.mark.parametrize("trouble", sorted(WORSE), ids=lambda t: t.name)
def test_worse_is_worse_on_the_whole(trouble: Trouble) -> None:
    """Tests the side on which each rate of a troubled trap-out lies, at usual severity."""
    up = {Column.LEAK, Column.BOX_ROBBED, Column.BOX_LEAVE}
    courses = many(trouble, ONSET=-9.0, SEVERITY=0.0)
    for column in WORSE[trouble]:
        i = TURNED.index(column)
        ill, sound = courses.turns.rates[:, 0, i], courses.sound[:, i]
        share = (ill > sound).mean() if column in up else (ill < sound).mean()
        assert share > 0.9


def test_small_leaks_shrink_when_a_gap_is_closed_and_nothing_was_wrong() -> None:
    deeds = tuple(Deed(CONE + day, DeedKind.GAP_CLOSED) for day in (2, 2, 9))
    courses = many(Trouble.NONE, deeds)
    drawn_leak = mixed_case(MANY, seed=52).params[:, Column.LEAK]
    assert courses.sound[:, LEAK] == pytest.approx(drawn_leak * SMALL_LEAKS_LEFT**3)


def test_biases_have_their_spread_and_strangers_are_of_a_second_colony_alone() -> None:
    """Tests the log spread of what a person sees within five standard errors."""
    courses = many(Trouble.SECOND_COLONY)
    spread = np.log(courses.count_bias).std()
    assert abs(spread - COUNT_BIAS_SPREAD) < 5.0 * COUNT_BIAS_SPREAD / np.sqrt(2.0 * MANY)
    assert 1000.0 < np.median(courses.strangers) < 2200.0
    for trouble in set(Trouble) - {Trouble.SECOND_COLONY}:
        assert not many(trouble).strangers.any()


def test_courses_taken_are_those_taken() -> None:
    """Tests repeats and order, field by field."""
    courses = many(Trouble.BOX_LEFT, (Deed(CONE + 3, DeedKind.BOX_SHADED),))
    index = np.array([5, 1, 1, 3999])
    some = courses.take(index)
    whole, part = (replace(c.turns) for c in (courses, some))
    np.testing.assert_array_equal(part.days, whole.days[index])
    np.testing.assert_array_equal(part.rates, whole.rates[index])
    np.testing.assert_array_equal(part.gifts, whole.gifts[index])
    for name in ("sound", "trouble", "onset", "mended", "strangers", "count_bias", "box_bias",
                 "cluster_bias"):  # fmt: skip
        np.testing.assert_array_equal(getattr(some, name), getattr(courses, name)[index])
