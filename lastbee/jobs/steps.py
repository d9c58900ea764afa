"""What to do next: when, who, with what, and the caution at that very step.

Here are the steps of a trap-out and what comes before any way; `lastbee.jobs.steps_at_once`
has the ways that act within a day.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from lastbee.jobs.plan import Step
from lastbee.jobs.steps_at_once import cut_out_steps, leave_steps, one_day_steps
from lastbee.methods import cautions

if TYPE_CHECKING:
    from lastbee.jobs.plan import Look, Milestone
    from lastbee.methods.circumstances import Circumstances

# Look at every gap within 10 ft (3 m) of the exit; closed hives move at least 3 miles (5 km)
# or the foragers return: both common practice.
REACH = "10 ft (3 m)"
MOVE_AWAY = "3 miles (5 km)"
# Weekly visits begin a week after the cone; eight weeks in, a trap-out is decided anew.
FIRST_VISIT_DAYS = 7
DECIDE_ANEW_DAYS = 56


@dataclass(frozen=True, slots=True)
class Course:
    """The dates that steps hang on.

    `empty` is the milestone of emptiness, `opening` and `rob_out` those that follow it
    where they are planned, `close_on` the day on which box and exit are dealt with.
    """

    inspected_on: date
    cone_on: date
    empty: Milestone
    opening: Milestone | None
    rob_out: Milestone | None
    close_on: date | None
    box: str


def steps_for(way: str | None, c: Circumstances, course: Course) -> tuple[Step, ...]:
    """Steps of the recommended way, in order; a talk with the client where there is none."""
    if way is None:
        return (_talk(course),)
    on, inspected = course.cone_on, course.inspected_on
    before = _utility_first(c, course)
    if way.startswith("trap-out"):
        return (*before, *_trap_out(c, course))
    if way.startswith("cut-out"):
        return (*before, *cut_out_steps(c, inspected, on, inside=way.endswith("inside")))
    if way == "leave":
        return leave_steps(c, inspected)
    return one_day_steps(way, c, inspected if way == "swarm capture" else on)


def look_first(look: Look, c: Circumstances, course: Course) -> tuple[Step, ...]:
    """Where too little is known: ask, look, and plan again; nothing is booked before that."""
    return (
        Step(
            course.inspected_on, None,
            "Ask the client: when the bees came and whether a swarm was seen, whether anything was "
            "sprayed, what may be opened, who is allergic, by when they must be gone",
            "technician", "the job file",
            cautions.joined(cautions.stings(c, brief=True), "The exit is never plugged."),
        ),
        Step(
            course.inspected_on, course.cone_on,
            f"{look.label}, put both into the job file and plan again",
            "technician", "watch, torch", look.caution,
        ),
    )  # fmt: skip


def check_first(labels: tuple[str, ...], c: Circumstances, course: Course) -> tuple[Step, ...]:
    """Where sightings contradict the rest: check them, and book nothing before that."""
    what = f"Before deciding, check again what disagrees with the rest: {'; '.join(labels)}"
    return (
        Step(
            course.inspected_on, course.cone_on, f"{what}; correct the file and plan again",
            "technician", "this page, the client's own words",
            cautions.joined(cautions.stings(c), cautions.height(c)),
        ),
    )  # fmt: skip


def wait_for_spring(c: Circumstances, course: Course) -> tuple[Step, ...]:
    """Where a winter lies in the way: leave them until they fly again."""
    return (
        Step(
            course.inspected_on, None,
            "Leave them alone for the winter, tell the client why, and inspect and plan again when "
            "they fly in spring",
            "technician and client", "this page",
            cautions.joined(cautions.stings(c), "The exit is never plugged."),
        ),
    )  # fmt: skip


def _talk(course: Course) -> Step:
    return Step(
        course.inspected_on, None,
        "Tell the client plainly why nothing can be started, and which fact would change that",
        "technician", "this page",
        "Nobody plugs the exit or sprays: bees driven inside are worse than bees outside.",
    )  # fmt: skip


def _utility_first(c: Circumstances, course: Course) -> tuple[Step, ...]:
    """A line near the work is settled before the day, not on it."""
    if c.power_line_near != "yes":
        return ()
    return (
        Step(
            course.inspected_on, course.cone_on - timedelta(days=1),
            "Settle the overhead line with the utility: switched off, moved or sleeved, in writing",
            "technician and utility", "drawing with distances",
            f"Nobody works within reach of the line before that. {cautions.LOCAL}",
        ),
    )  # fmt: skip


def _trap_out(c: Circumstances, course: Course) -> tuple[Step, ...]:
    sting, up = cautions.stings(c, brief=True), cautions.height(c, brief=True)
    found = [*_set_up(c, course), *_visits(c, course)]
    empty_on = course.empty.safe or course.empty.likely
    if empty_on is None:
        found.append(
            Step(
                course.cone_on + timedelta(days=DECIDE_ANEW_DAYS), None,
                "If bees still come out, stop and decide again: open the cavity or leave them",
                "technician", "this plan and the counts", sting,
            )
        )  # fmt: skip
        return tuple(found)
    found.append(
        Step(
            empty_on, None,
            "Confirm that it is empty: no bee out in 15 minutes of good flying weather, no hum, "
            "no warmth",
            "technician", "watch, torch, thermal camera or hand", cautions.joined(sting, up),
        )
    )  # fmt: skip
    return (*found, *_finish(c, course, empty_on))


def _set_up(c: Circumstances, course: Course) -> list[Step]:
    """Close the gaps, set cone and box, look for leaks, give brood."""
    on = course.cone_on
    sting, up = cautions.stings(c, brief=True), cautions.height(c, brief=True)
    found = [
        Step(
            on, None,
            f"Before the cone, close every gap but the exit within {REACH} in every direction, "
            "round corners and over edges, and the gaps indoors",
            "technician and helper", "mesh of 1/8 in (3 mm), sealant, flashing, tape, torch",
            cautions.joined(
                cautions.stings(c), cautions.height(c), cautions.scraping(c), cautions.vents(),
                cautions.treated(c),
            ),
        ),
        Step(
            on, None,
            "On a warm flying day set the cone: base tight to the wall, tip clear of it and "
            f"pointing up, outlet about 3/8 in (9.5 mm); set the box ({course.box}) with its "
            "entrance beside the base, in shade at the hottest hour",
            "technician and helper", "cone, plate, screws, bracket or stand, box, straps",
            cautions.joined(sting, up, cautions.lifting()),
        ),
        Step(
            on + timedelta(days=1), on + timedelta(days=2),
            "Look for bees going in anywhere but the box, and close what they have found",
            "technician", "mesh, sealant, binoculars", cautions.joined(sting, up),
        ),
    ]  # fmt: skip
    if course.box == "open brood":
        found.append(
            Step(
                on + timedelta(days=2), on + timedelta(days=4),
                "Give the box its open brood with eggs, only once the cone is seen to hold",
                "technician", "a frame of eggs and larvae from a healthy colony",
                cautions.joined(sting, up),
            )
        )  # fmt: skip
    return found


def _visits(c: Circumstances, course: Course) -> list[Step]:
    """The weekly round, where the trap-out lasts long enough for one."""
    first = course.cone_on + timedelta(days=FIRST_VISIT_DAYS)
    last = course.empty.safe or course.empty.likely
    if last is not None and last <= first:
        return []
    return [
        Step(
            first, last,
            "Visit about once a week: count at the cone for five minutes in warm sun, clear dead "
            "bees from it, look for leaks, for a cluster on the wall, for robbing at the box",
            "technician", "watch, wire, spare cone, water",
            cautions.joined(cautions.stings(c, brief=True), cautions.height(c, brief=True)),
        )
    ]  # fmt: skip


def _finish(c: Circumstances, course: Course, empty_on: date) -> list[Step]:
    """Open or rob out; move the box; close for good."""
    sting, up = cautions.stings(c, brief=True), cautions.height(c, brief=True)
    found = []
    closing = course.close_on or empty_on + timedelta(days=1)
    if course.opening is not None and course.opening.likely is not None:
        found.append(
            Step(
                course.opening.likely, closing,
                "Open the cavity, take out comb and honey, scrape, wash, dry and fill it",
                "technician with a builder", "tubs with lids, scrapers, filling, tools to close",
                cautions.joined(
                    sting, cautions.height(c, brief=True, both_hands=True), cautions.opening(c),
                    cautions.dust(), cautions.overhead(c), cautions.heat(), cautions.treated(c),
                ),
            )
        )  # fmt: skip
    elif course.rob_out is not None and course.rob_out.early is not None:
        found.append(
            Step(
                course.rob_out.early, course.rob_out.safe,
                "In a dearth, take the cone off and open the exit wide, so that the box robs the "
                "old nest out; stop as soon as strange bees or wasps join",
                "technician", "tools, entrance reducer for the box",
                cautions.joined(cautions.robbing(), sting, up),
            )
        )  # fmt: skip
    return [
        *found,
        Step(
            closing, None,
            f"After dusk, all bees in: close, strap and move the box at least {MOVE_AWAY} away, to "
            "its own corner until brood and mites are checked",
            "technician and helper", "screen, straps, torch, vehicle",
            cautions.joined(sting, up, cautions.lifting()),
        ),
        Step(
            closing, closing + timedelta(days=1),
            "Close the exit for good and photograph every closed gap",
            "technician", "mesh, sealant, flashing, camera",
            cautions.joined(sting, up, cautions.scraping(c), cautions.vents()),
        ),
    ]  # fmt: skip
