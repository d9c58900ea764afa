"""The next visit in words: when, at which hours, why then, what to look at, what to bring."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING

from lastbee.colony.course import Trouble
from lastbee.jobs.assemble import normals_of
from lastbee.jobs.progress import NextVisit, VisitDate
from lastbee.jobs.troubles import TOLD
from lastbee.methods import cautions
from lastbee.methods.schedule import Cause
from lastbee.planning.flying import flight_activity_at
from lastbee.words import short_day_words

if TYPE_CHECKING:
    from datetime import date

    from lastbee.jobs.assemble import Question
    from lastbee.jobs.job import Job, Site
    from lastbee.jobs.visit_looks import Tells
    from lastbee.methods.circumstances import Circumstances
    from lastbee.methods.schedule import NextVisit as Choice
    from lastbee.methods.schedule import Why

# Hours with this share of the day's best flight are good for counting: assumed.
GOOD_SHARE = 0.85
_STEP_MIN = 30
# More looks than this are not taken.
MOST_LOOKS = 4
FOLLOW_UP = "To see within a week whether what was put right holds."
ALWAYS_BRING = "watch, wire, spare cone, mesh and sealant, water"


@dataclass(frozen=True, slots=True)
class Chosen:
    """What the next visit is told from: the choice, the likeliest trouble still going on.

    `follows_up` says that it comes to see whether what was put right holds.
    """

    choice: Choice
    trouble: Trouble
    tells: Tells
    follows_up: bool


def next_visit_row(chosen: Chosen, question: Question, job: Job, c: Circumstances) -> NextVisit:
    """Tell the next visit."""
    choice = chosen.choice
    on = day_of(choice.day, question)
    told = TOLD[chosen.trouble]
    return NextVisit(
        on=on,
        hours=counting_hours(on, job.site),
        why=FOLLOW_UP if chosen.follows_up else _why_words(choice.why, on),
        alternatives=tuple(
            VisitDate(day_of(o.schedule.days[0], question), round(o.cost.total, 3))
            for o in choice.outlooks
        ),
        look_for=tuple(look.label for look in chosen.tells.in_order()[:MOST_LOOKS]),
        bring=ALWAYS_BRING if chosen.trouble == Trouble.NONE else f"{ALWAYS_BRING}; {told.bring}",
        caution=cautions.joined(
            cautions.stings(c, brief=True), cautions.height(c, brief=True),
        ),
    )  # fmt: skip


def day_of(day: int, question: Question) -> date:
    """Date of a day index."""
    return question.cone_on + timedelta(days=day - question.cone_day)


def counting_hours(on: date, site: Site) -> str:
    """The hours of a day in which bees fly best, as the normals have it."""
    normals = normals_of(site)
    clock = datetime.combine(on, time())
    moments = [clock + timedelta(minutes=_STEP_MIN * i) for i in range(24 * 60 // _STEP_MIN)]
    activity = [
        flight_activity_at(
            moment, site.time_zone, None, "sun", "calm", site.latitude_deg, site.longitude_deg,
            normals,
        ).activity
        for moment in moments
    ]  # fmt: skip
    best = max(activity)
    good = [m for m, a in zip(moments, activity, strict=True) if a >= GOOD_SHARE * best > 0.0]
    if not good:
        return "at the warmest hour of a dry day"
    until = good[-1] + timedelta(minutes=_STEP_MIN)
    return f"{good[0]:%H:%M} to {until:%H:%M}, dry, in sun, little wind"


def _why_words(why: Why, on: date) -> str:
    """What makes sooner and later dearer."""
    sooner = {
        Cause.VISITS: "Sooner would tell too little to be worth the climb",
        Cause.IDLE: "Sooner would come too early to close",
        Cause.TROUBLE: "Sooner would find less to put right",
    }
    later = {
        Cause.VISITS: "later would take more visits in all",
        Cause.IDLE: "later would leave an empty wall open and everybody waiting",
        Cause.TROUBLE: "later would let trouble run on unseen",
    }
    parts = []
    if why.sooner is not None:
        parts.append(sooner[why.sooner])
    if why.later is not None:
        said = later[why.later]
        if why.later == Cause.TROUBLE and why.trouble not in (None, Trouble.NONE):
            said += f" (above all: {TOLD[why.trouble].label.lower()})"
        parts.append(said)
    if not parts:
        return f"Of the days on which bees fly, {short_day_words(on)} costs least."
    joined = "; ".join(parts)
    return f"{joined[:1].upper()}{joined[1:]}."
