"""From the visits of a job to what the engine wants: items of evidence, deeds, days."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lastbee.colony.course import Deed, DeedKind
from lastbee.evidence import at_cone, cues, in_box, outside
from lastbee.forecast.runs import Seen, Watch
from lastbee.jobs.assemble import normals_of
from lastbee.planning.flying import flight_activity_at

if TYPE_CHECKING:
    from lastbee.evidence.item import Item
    from lastbee.evidence.scene import Scene
    from lastbee.jobs.assemble import Question
    from lastbee.jobs.job import Job, Site
    from lastbee.jobs.visit import BoxSeen, ConeCount, Elsewhere, Visit, WallSensed
    from lastbee.planning.flying import FlightNow


# On the cone's own day the model knows nobody on the wall yet: such readings are not weighed.
NOT_YET = ("wall cluster", "dead bees", "cone in")


def watch_of(job: Job, question: Question) -> Watch:
    """Everything that is known of a running trap-out.

    What was done at a visit counts from the next morning on; a second visit on the same
    day already sees it done.
    """
    seen: list[Seen] = []
    deeds: list[Deed] = []
    frames_given = 0.0
    for visit in job.visits:
        day = question.year.index_of(visit.at.date())
        is_second = any(deed.day == day + 1 for deed in deeds)
        flying = flight_at(visit, job.site)
        items = visit_items(visit, flying, frames_given)
        if day == question.cone_day:
            items = tuple(item for item in items if item.key not in NOT_YET)
        if any(deed.kind == DeedKind.BOX_ADDED for deed in deeds):
            items = tuple(item for item in items if item.key != "box gain")
        seen.append(Seen(day, items, day + 1 if is_second else day))
        deeds += [Deed(day + 1, DeedKind(deed.kind), deed.amount) for deed in visit.did]
        frames_given += sum(
            1.0 if d.amount is None else d.amount for d in visit.did if d.kind == "brood given"
        )
    return Watch(
        question.founding, question.year.sky, question.cone_day, question.items, tuple(seen),
        tuple(deeds),
    )  # fmt: skip


def flight_at(visit: Visit, site: Site) -> FlightNow:
    """Flight activity at the hour of a visit."""
    return flight_activity_at(
        visit.at, site.time_zone, visit.temperature_degc, visit.sky, visit.wind,
        site.latitude_deg, site.longitude_deg, normals_of(site),
    )  # fmt: skip


def visit_items(visit: Visit, flying: FlightNow, frames_given: float) -> tuple[Item[Scene], ...]:
    """Every sighting of a visit as an item of evidence; what was not looked at is absent.

    `frames_given` are frames of comb put into the box before this visit.
    """
    items: list[Item[Scene]] = []
    if visit.cone is not None:
        items += _at_cone(visit.cone, flying)
    if visit.cone_state is not None:
        items.append(at_cone.cone_state(float(at_cone.CONE_STATES.index(visit.cone_state))))
    if visit.dead_bees is not None:
        items.append(at_cone.dead_bees(float(at_cone.DEAD_BEES.index(visit.dead_bees))))
    if visit.elsewhere is not None:
        items += _elsewhere(visit.elsewhere, flying)
    if visit.cluster_dm2 is not None:
        items.append(outside.cluster_on_wall(visit.cluster_dm2))
    if visit.box is not None:
        items += _in_box(visit.box, flying, visit.temperature_degc, frames_given)
    if visit.wall is not None:
        items += _of_wall(visit.wall)
    return tuple(items)


def _at_cone(count: ConeCount, flying: FlightNow) -> list[Item[Scene]]:
    hour = (count.minutes, flying.activity, flying.flight_hours)
    found: list[Item[Scene]] = []
    if count.bees_out is not None:
        found.append(at_cone.bees_out(float(count.bees_out), *hour))
    if count.bees_back_in is not None:
        found.append(at_cone.bees_back_in(float(count.bees_back_in), *hour))
    return found


def _elsewhere(seen: Elsewhere, flying: FlightNow) -> list[Item[Scene]]:
    found: list[Item[Scene]] = []
    if seen.bees_in is not None and seen.minutes is not None:
        found.append(
            outside.going_in_elsewhere(
                float(seen.bees_in), seen.minutes, flying.activity, flying.flight_hours
            )
        )
    elif seen.is_seen is not None:
        found.append(
            outside.seen_going_in_elsewhere(
                float(seen.is_seen), flying.activity, flying.flight_hours
            )
        )
    if seen.pollen_carried is not None:
        found.append(
            outside.pollen_carried_in_elsewhere(
                float(seen.pollen_carried), flying.activity, flying.flight_hours
            )
        )
    return found


def _in_box(
    box: BoxSeen, flying: FlightNow, temperature_degc: float | None, frames_given: float
) -> list[Item[Scene]]:
    found: list[Item[Scene]] = []
    if box.frames_of_bees is not None:
        found.append(in_box.frames_of_bees(box.frames_of_bees, flying.activity))
    if box.gain_kg is not None:
        found.append(in_box.BoxGain(box.gain_kg, frames_given))
    if box.eggs_seen is not None:
        found.append(in_box.eggs_in_box(float(box.eggs_seen)))
    if box.queen_seen is not None:
        found.append(in_box.queen_in_box(float(box.queen_seen)))
    if box.is_robbed is not None:
        found.append(in_box.robbing_at_box(float(box.is_robbed), flying.activity))
    if box.hangs_out is not None:
        found.append(in_box.hanging_out_of_box(float(box.hangs_out), temperature_degc))
    return found


def _of_wall(wall: WallSensed) -> list[Item[Scene]]:
    found: list[Item[Scene]] = []
    if wall.hum_span_m is not None:
        found.append(cues.hum_span(wall.hum_span_m))
    elif wall.hum_heard is not None:
        found.append(cues.hum_heard(float(wall.hum_heard)))
    if wall.warm_area_dm2 is not None:
        found.append(cues.warm_area_or_none(wall.warm_area_dm2))
    if wall.warm_to_hand is not None:
        found.append(cues.warm_to_hand(float(wall.warm_to_hand)))
    if wall.bees_seen_inside is not None:
        found.append(cues.bees_seen_inside(float(wall.bees_seen_inside)))
    return found
