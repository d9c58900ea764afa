"""The course of a trap-out: which trouble befalls it, when, and what deeds mend it.

Each explanation of how a trap-out runs is one `Trouble`; all share the colony's own
parameters and differ in what happens to cone, nest or box from an onset on. A deed (a gap
closed, a cone refitted, a queen given) may end the trouble, with a chance to fail, and
gives what it gives whatever the trouble. `draw_courses` turns standard normal deviates
into `Turns` for the kernel, so that the prior over courses is N(0, I) like that over
colonies.

One trouble at a time: a second one at once is not modelled. No published figures exist
for how often troubles come, how bad they are, or how often a deed mends them: each number
here is common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from enum import IntEnum, StrEnum
from typing import TYPE_CHECKING, Literal

import numpy as np
from scipy.special import expit, logit, ndtr

from lastbee.biology.constants import Column
from lastbee.colony.layout import NO_CONE
from lastbee.colony.turns import TURNED, Gift, Turns

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Days = NDArray[np.int64]


class Trouble(IntEnum):
    """How a trap-out may run."""

    NONE = 0
    LEAK = 1
    CLOGGED = 2
    WALKED_BACK = 3
    CLUSTER = 4
    ROBBED = 5
    BOX_LEFT = 6
    QUEEN_STAYS = 7
    SECOND_COLONY = 8
    STALLED = 9


class DeedKind(StrEnum):
    """What a technician may do at a visit that changes the course."""

    CONE_CLEARED = "cone cleared"
    CONE_REFITTED = "cone refitted"
    GAP_CLOSED = "gap closed"
    BRUSHED_IN = "cluster brushed in"
    BROOD_GIVEN = "brood given"
    QUEEN_GIVEN = "queen given"
    BOX_ADDED = "box added"
    BOX_CLOSER = "box moved closer"
    BOX_SHADED = "box shaded"
    ENTRANCE_REDUCED = "entrance reduced"
    FED = "fed"


@dataclass(frozen=True, slots=True)
class Deed:
    """A deed on a day index; `amount` is frames of brood, bees of an added box, litres of syrup."""

    day: int
    kind: DeedKind
    amount: float | None = None


class CourseDeviate(IntEnum):
    """Deviates of a course; one for each deed follows them."""

    ONSET = 0
    SEVERITY = 1
    COUNT_BIAS = 2
    BOX_BIAS = 3
    CLUSTER_BIAS = 4


@dataclass(frozen=True, slots=True)
class Onset:
    """When a trouble begins: on the cone's day, by `at_once` of chance, or later.

    Later onsets lie `wait_days` after the cone and then come at random, `mean_days` on
    average.
    """

    at_once: float
    wait_days: float
    mean_days: float


@dataclass(frozen=True, slots=True)
class Worse:
    """A rate under trouble: `middle` at severity 0, spread on the scale of its kind.

    A "share" lies in 0 to 1 whatever the sound rate was, a "rate" is per day, "times"
    multiplies the sound rate.
    """

    kind: Literal["share", "rate", "times"]
    middle: float
    spread: float

    def rate(self, sound: Array, severity: Array) -> Array:
        """Rate of each colony, shape (n,)."""
        if self.kind == "share":
            return np.asarray(expit(logit(self.middle) + self.spread * severity))
        factor = self.middle * np.exp(self.spread * severity)
        return np.asarray(factor if self.kind == "rate" else sound * factor)


# How often each course is taken over a whole trap-out. A missed or forced second gap is
# the normal event, not the exception, and the cone next.
PRIOR: dict[Trouble, float] = {
    Trouble.NONE: 0.47,
    Trouble.LEAK: 0.16,
    Trouble.CLOGGED: 0.06,
    Trouble.WALKED_BACK: 0.05,
    Trouble.CLUSTER: 0.06,
    Trouble.ROBBED: 0.04,
    Trouble.BOX_LEFT: 0.04,
    Trouble.QUEEN_STAYS: 0.05,
    Trouble.SECOND_COLONY: 0.03,
    Trouble.STALLED: 0.04,
}
ONSETS: dict[Trouble, Onset] = {
    Trouble.LEAK: Onset(0.7, 1.0, 10.0),
    Trouble.CLOGGED: Onset(0.1, 1.0, 12.0),
    Trouble.WALKED_BACK: Onset(0.4, 1.0, 8.0),
    Trouble.CLUSTER: Onset(0.8, 1.0, 8.0),
    Trouble.ROBBED: Onset(0.05, 3.0, 12.0),
    Trouble.BOX_LEFT: Onset(0.05, 3.0, 10.0),
    Trouble.QUEEN_STAYS: Onset(0.2, 7.0, 8.0),
    Trouble.SECOND_COLONY: Onset(0.5, 1.0, 20.0),
    Trouble.STALLED: Onset(0.8, 5.0, 10.0),
}
# What each trouble does to the rates.
WORSE: dict[Trouble, dict[Column, Worse]] = {
    Trouble.LEAK: {Column.LEAK: Worse("share", 0.6, 1.4)},
    Trouble.CLOGGED: {Column.PASSABLE: Worse("share", 0.15, 1.5)},
    # Bees that know the tip go home by it, like others by a gap.
    Trouble.WALKED_BACK: {Column.LEAK: Worse("share", 0.6, 1.4)},
    Trouble.CLUSTER: {Column.JOIN: Worse("times", 0.05, 0.7)},
    Trouble.ROBBED: {
        Column.BOX_ROBBED: Worse("share", 0.35, 0.8),
        Column.BOX_LEAVE: Worse("rate", 0.06, 0.6),
        Column.JOIN: Worse("times", 0.5, -0.3),
    },
    Trouble.BOX_LEFT: {
        Column.JOIN: Worse("times", 0.15, -0.6),
        Column.BOX_LEAVE: Worse("rate", 0.3, 0.5),
    },
    # Nurses stay with a queen who goes on laying, and few take to the field.
    Trouble.QUEEN_STAYS: {
        Column.DESERT: Worse("times", 0.05, 0.5),
        Column.LAY_COUPLING: Worse("share", 0.15, 0.8),
        Column.RECRUIT_MIN: Worse("times", 0.2, 0.4),
        Column.RECRUIT_HUNGER: Worse("times", 0.2, 0.4),
    },
    # With stores at hand there is no haste to fly.
    Trouble.STALLED: {
        Column.FLY: Worse("times", 0.3, 0.3),
        Column.RECRUIT_MIN: Worse("times", 0.12, 0.5),
        Column.RECRUIT_HUNGER: Worse("times", 0.12, 0.5),
    },
}
# Which deeds end which trouble, and how often they do.
MENDS: dict[Trouble, dict[DeedKind, float]] = {
    Trouble.LEAK: {DeedKind.GAP_CLOSED: 0.8},
    Trouble.CLOGGED: {DeedKind.CONE_CLEARED: 0.95, DeedKind.CONE_REFITTED: 0.95},
    Trouble.WALKED_BACK: {DeedKind.CONE_REFITTED: 0.8, DeedKind.CONE_CLEARED: 0.2},
    Trouble.CLUSTER: {
        DeedKind.BRUSHED_IN: 0.6,
        DeedKind.BROOD_GIVEN: 0.6,
        DeedKind.QUEEN_GIVEN: 0.6,
        DeedKind.BOX_CLOSER: 0.5,
        DeedKind.BOX_ADDED: 0.3,
    },
    Trouble.ROBBED: {DeedKind.ENTRANCE_REDUCED: 0.7},
    Trouble.BOX_LEFT: {
        DeedKind.BOX_SHADED: 0.6,
        DeedKind.BROOD_GIVEN: 0.6,
        DeedKind.QUEEN_GIVEN: 0.6,
        DeedKind.BOX_ADDED: 0.6,
    },
}
# How often a technician who comes by sees what is wrong; what shows only in how many bees
# there are is not seen at the wall.
NOTICED: dict[Trouble, float] = {
    Trouble.LEAK: 0.7,
    Trouble.CLOGGED: 0.9,
    Trouble.WALKED_BACK: 0.7,
    Trouble.CLUSTER: 0.95,
    Trouble.ROBBED: 0.8,
    Trouble.BOX_LEFT: 0.95,
}
# Foragers of a second colony at the wall, median and log spread; share of its bees that
# leave a box at once.
STRANGERS, STRANGERS_SPREAD = 1500.0, 0.7
BOX_GONE = Worse("share", 0.9, 0.8)
# A frame of open brood, cells; a litre of syrup, g of honey's worth.
BROOD_FRAME_CELLS = 3000.0
SYRUP_G_PER_L = 700.0
BRUSHED_SHARE = 0.85
# A box pulls harder with brood, and with a queen; a colony left with eggs has a laying
# queen after about four weeks, an introduced one lays within days.
BROOD_PULL, QUEEN_PULL = 1.6, 1.3
RAISED_QUEEN_DAYS, GIVEN_QUEEN_DAYS = 28.0, 4.0
# A gap that is closed was one of several small ones, even in a trap-out that runs well.
SMALL_LEAKS_LEFT = 0.5
# The same person sees the same share of the bees at every visit: log spreads.
COUNT_BIAS_SPREAD, BOX_BIAS_SPREAD = 0.3, 0.2
# Bees hang in one layer here and in three there, at the same wall each time: log spread.
CLUSTER_BIAS_SPREAD = 0.6
_AT = {column: i for i, column in enumerate(TURNED)}


@dataclass(frozen=True, slots=True)
class Courses:
    """Courses of n colonies.

    `sound` (n, len(TURNED)) are the rates after all deeds without any trouble; `trouble`
    (n,), the day indices of its `onset` and of its mending, both (n,) and NO_CONE where it
    never comes; `strangers` (n,) foragers of a second colony; `count_bias` and `box_bias`
    (n,) the shares of bees seen, `cluster_bias` (n,) how widely a cluster spreads.
    """

    turns: Turns
    sound: Array
    trouble: Days
    onset: Days
    mended: Days
    strangers: Array
    count_bias: Array
    box_bias: Array
    cluster_bias: Array

    def is_active(self, day: int) -> NDArray[np.bool_]:
        """Whether the trouble is going on that day, shape (n,)."""
        return self.is_seen(day, day)

    def is_seen(self, day: int, rates_day: int) -> NDArray[np.bool_]:
        """Whether a visit of a day finds the trouble going on, shape (n,).

        `rates_day` is later where a visit of the same day has done something before.
        """
        return (self.onset <= day) & (rates_day < self.mended)

    def take(self, index: NDArray[np.intp]) -> Courses:
        """Return the courses at `index`, repeats allowed."""
        turns = Turns(self.turns.days[index], self.turns.rates[index], self.turns.gifts[index])
        rest = {f.name: getattr(self, f.name)[index] for f in fields(self) if f.name != "turns"}
        return Courses(turns=turns, **rest)

    def ended(self, day: int) -> Courses:
        """Courses whose trouble is over, or never comes, from the morning of `day` on.

        No deed may come after `day`: what is planned from then on is only trouble.
        """
        is_open = self.is_active(day - 1)
        days, rates, gifts = self.turns.days, self.turns.rates, self.turns.gifts
        # A trouble's turn stands last among those of its day, and last of all if it is to come.
        is_late = self.onset >= day
        place = (days <= self.onset[:, None]).sum(axis=1) - 1
        dropped = is_late[:, None] & (np.arange(days.shape[1]) == place[:, None])
        turns = Turns(
            np.column_stack([np.where(dropped, NO_CONE, days), np.where(is_open, day, NO_CONE)]),
            np.concatenate([rates, self.sound[:, None]], axis=1),
            np.concatenate([gifts, np.zeros_like(gifts[:, :1])], axis=1),
        )
        return replace(
            self,
            turns=turns,
            onset=np.where(self.onset < day, self.onset, NO_CONE),
            mended=np.where(is_open, day, self.mended),
        )


def put_right_chance(trouble: Trouble) -> float:
    """Chance that a visit ends a trouble: it is noticed, and the likeliest deed mends it."""
    return NOTICED.get(trouble, 0.0) * max(MENDS.get(trouble, {}).values(), default=0.0)


def course_dimensions(deeds: tuple[Deed, ...]) -> int:
    """Number of deviates that a course with these deeds takes."""
    return len(CourseDeviate) + len(deeds)


def draw_courses(
    z: Array, params: Array, trouble: Trouble, deeds: tuple[Deed, ...], cone_day: int
) -> Courses:
    """Turn standard normal deviates into courses of one trouble.

    Parameters
    ----------
    z
        Deviates, shape (n, course_dimensions(deeds)).
    params
        Parameters of the colonies, shape (n, len(Column)).
    trouble
        The trouble that befalls them.
    deeds
        What is done, in order of day, none before the cone.
    cone_day
        Day index of the cone's first day.

    Returns
    -------
    The courses.

    Raises
    ------
    ValueError
        If `z` has another shape, or deeds are out of order.
    """
    if z.shape != (len(params), course_dimensions(deeds)):
        raise ValueError(f"z must have shape {(len(params), course_dimensions(deeds))}")
    days = [deed.day for deed in deeds]
    if days != sorted(days) or (days and days[0] < cone_day):
        raise ValueError(f"deeds must come in order of day and not before {cone_day}")
    severity = z[:, CourseDeviate.SEVERITY]
    onset = _onset(trouble, ndtr(z[:, CourseDeviate.ONSET]), cone_day)
    mended = _mended(trouble, ndtr(z[:, len(CourseDeviate) :]), deeds, onset)
    is_strange = trouble == Trouble.SECOND_COLONY
    return Courses(
        _turns(trouble, severity, params, deeds, onset, mended, cone_day),
        _sound_after(deeds, params, cone_day),
        np.full(len(z), int(trouble)),
        onset,
        mended,
        STRANGERS * np.exp(STRANGERS_SPREAD * severity) if is_strange else np.zeros(len(z)),
        np.exp(COUNT_BIAS_SPREAD * z[:, CourseDeviate.COUNT_BIAS]),
        np.exp(BOX_BIAS_SPREAD * z[:, CourseDeviate.BOX_BIAS]),
        np.exp(CLUSTER_BIAS_SPREAD * z[:, CourseDeviate.CLUSTER_BIAS]),
    )


def _onset(trouble: Trouble, u: Array, cone_day: int) -> Days:
    """Day index on which the trouble begins."""
    if trouble == Trouble.NONE:
        return np.full(len(u), NO_CONE)
    when = ONSETS[trouble]
    later = np.clip((u - when.at_once) / (1.0 - when.at_once), 0.0, 1.0 - 1e-9)
    wait = when.wait_days - when.mean_days * np.log1p(-later)
    return cone_day + np.where(u < when.at_once, 0, np.ceil(wait)).astype(np.int64)


def _mended(trouble: Trouble, u: Array, deeds: tuple[Deed, ...], onset: Days) -> Days:
    """Day index from which the trouble is over: the first deed after its onset that mends it."""
    over = np.full(len(onset), NO_CONE)
    for i, deed in reversed(list(enumerate(deeds))):
        chance = MENDS.get(trouble, {}).get(deed.kind, 0.0)
        over = np.where((onset < deed.day) & (u[:, i] < chance), deed.day, over)
    return over


def _sound_after(deeds: tuple[Deed, ...], params: Array, cone_day: int) -> Array:
    """Rates of a trap-out without trouble after all deeds."""
    sound = params[:, TURNED]
    for deed in deeds:
        sound = _after(deed, sound, cone_day)
    return sound


def _turns(
    trouble: Trouble,
    severity: Array,
    params: Array,
    deeds: tuple[Deed, ...],
    onset: Days,
    mended: Days,
    cone_day: int,
) -> Turns:
    """One turn for each deed and one for the onset, put in order of day."""
    n, m = len(params), len(deeds)
    days = np.full((n, m + 1), NO_CONE)
    rates, gifts = np.zeros((n, m + 1, len(TURNED))), np.zeros((n, m + 1, len(Gift)))
    sound = params[:, TURNED]
    at_onset = _troubled(trouble, severity, sound)
    for i, deed in enumerate(deeds):
        sound = _after(deed, sound, cone_day)
        ill = _troubled(trouble, severity, sound)
        is_ill = (onset < deed.day) & (deed.day < mended)
        days[:, i] = deed.day
        rates[:, i] = np.where(is_ill[:, None], ill, sound)
        gifts[:, i] = _given(deed)
        at_onset = np.where((onset >= deed.day)[:, None], ill, at_onset)
    days[:, m], rates[:, m] = onset, at_onset
    if trouble == Trouble.BOX_LEFT:
        gifts[:, m, Gift.BOX_GONE] = BOX_GONE.rate(severity, severity)
    order = np.argsort(days, axis=1, kind="stable")
    return Turns(
        np.take_along_axis(days, order, axis=1),
        np.take_along_axis(rates, order[:, :, None], axis=1),
        np.take_along_axis(gifts, order[:, :, None], axis=1),
    )


def _after(deed: Deed, sound: Array, cone_day: int) -> Array:
    """Rates of a trap-out without trouble after a deed."""
    rates = sound.copy()
    since = float(deed.day - cone_day)
    delay = _AT[Column.BOX_LAYING_DELAY]
    if deed.kind == DeedKind.GAP_CLOSED:
        rates[:, _AT[Column.LEAK]] *= SMALL_LEAKS_LEFT
    elif deed.kind == DeedKind.BROOD_GIVEN:
        rates[:, _AT[Column.JOIN]] *= BROOD_PULL
        rates[:, delay] = np.minimum(rates[:, delay], since + RAISED_QUEEN_DAYS)
    elif deed.kind == DeedKind.QUEEN_GIVEN:
        rates[:, _AT[Column.JOIN]] *= QUEEN_PULL
        rates[:, delay] = np.minimum(rates[:, delay], since + GIVEN_QUEEN_DAYS)
    return rates


def _given(deed: Deed) -> Array:
    """What a deed gives once."""
    gifts = np.zeros(len(Gift))
    if deed.kind == DeedKind.BROOD_GIVEN:
        frames = 1.0 if deed.amount is None else deed.amount
        gifts[Gift.BOX_BROOD] = BROOD_FRAME_CELLS * frames
    elif deed.kind == DeedKind.BOX_ADDED:
        gifts[Gift.BOX_BEES] = deed.amount or 0.0
    elif deed.kind == DeedKind.FED:
        gifts[Gift.BOX_HONEY] = SYRUP_G_PER_L * (1.0 if deed.amount is None else deed.amount)
    elif deed.kind == DeedKind.BRUSHED_IN:
        gifts[Gift.WALL_BOXED] = BRUSHED_SHARE
    return gifts


def _troubled(trouble: Trouble, severity: Array, sound: Array) -> Array:
    """Rates while the trouble lasts, from those of a trap-out without."""
    rates = sound.copy()
    for column, worse in WORSE.get(trouble, {}).items():
        rates[:, _AT[column]] = worse.rate(sound[:, _AT[column]], severity)
    return rates
