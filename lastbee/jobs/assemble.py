"""From a job record to what the engine wants: calendar, items of evidence, circumstances.

This is the one place that knows both the record's words and the engine's numbers.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from lastbee.biology.comb import BEES_PER_DEEP_FRAME
from lastbee.biology.season import TROPICAL_LATITUDE_DEG
from lastbee.colony.founding import Box, Cavity, Founding
from lastbee.colony.layout import Sky
from lastbee.evidence import cues
from lastbee.evidence.comb import COLOURS, ClusterOnly, CombColour, CombSize
from lastbee.evidence.told import FirstSeen, SwarmSeen
from lastbee.evidence.traffic import TrafficCount
from lastbee.forecast.trapout import TRAP_DAYS
from lastbee.methods.circumstances import Circumstances
from lastbee.methods.loss import Weights
from lastbee.planning.climate import ClimateNormals, zonal_normals
from lastbee.planning.flying import FlightNow, flight_activity_at
from lastbee.planning.sky import WINTER_FROM_DAY, Year, year_at

if TYPE_CHECKING:
    from lastbee.evidence.item import Item
    from lastbee.evidence.nest import Nest
    from lastbee.jobs.job import Inspection, Job, Site

# Days from inspection to cone where the file does not say.
CONE_AFTER_DAYS = 3
# Days kept in hand behind the trap-out for robbing out and closing.
ROB_DAYS = 14
# Bees and queen of each box: a five-frame nucleus holds about 1,400 bees a frame
# (Simpson 1969) on three frames; a colony left with open brood raises a queen that lays
# after about 28 days. Pull on shut-out bees: common practice, no source.
BOXES = {
    "queenright nucleus": Box(3.0 * BEES_PER_DEEP_FRAME, 0.0, 1.3),
    "open brood": Box(BEES_PER_DEEP_FRAME, 28.0, 1.1),
    "lure": Box(0.0, 10_000.0, 0.7),
    "empty comb": Box(0.0, 10_000.0, 0.5),
}


@dataclass(frozen=True, slots=True)
class Question:
    """All the engine is asked about one job."""

    year: Year
    founding: Founding
    items: tuple[Item[Nest], ...]
    cone_on: date
    flying: FlightNow
    normals_assumed: bool
    is_tropical: bool

    @property
    def cone_day(self) -> int:
        """Day index of the cone's first day."""
        return self.year.index_of(self.cone_on)

    @property
    def crosses_winter(self) -> bool:
        """Whether a winter lies between the season's start and the work."""
        return max(self.year.inspection_day, self.cone_day) >= WINTER_FROM_DAY

    @property
    def season(self) -> str:
        """What the season that colonies are followed through is called."""
        return "this season" if self.year.inspection_day < WINTER_FROM_DAY else "last season"


def normals_of(site: Site) -> ClimateNormals:
    """Normals as given, or rough ones from the latitude."""
    if site.climate is None:
        return zonal_normals(site.latitude_deg)
    c = site.climate
    return ClimateNormals(c.high_degc, c.low_degc, c.wet_day_share, c.is_assumed)


def assemble(job: Job) -> Question:
    """Turn a job into a question for the engine.

    Parameters
    ----------
    job
        A checked job.

    Returns
    -------
    The question.
    """
    site, inspection = job.site, job.inspection
    inspected = inspection.at.date()
    cone_on = job.setup.cone_on or _usual_start(inspected, job.people.gone_by)
    ahead = (cone_on - inspected).days + TRAP_DAYS + ROB_DAYS + 1
    normals = normals_of(site)
    year = year_at(site.latitude_deg, site.longitude_deg, inspected, normals, ahead)
    flying = flight_activity_at(
        inspection.at, site.time_zone, inspection.temperature_degc, inspection.sky,
        inspection.wind, site.latitude_deg, site.longitude_deg, normals,
    )  # fmt: skip
    building = job.building
    cavity = Cavity(building.cavity_width_m, building.cavity_depth_m, building.cavity_length_m)
    founding = Founding(year.arrivals, year.swarm_share_so_far, cavity, BOXES[job.setup.box])
    return Question(
        year, founding, items_of(inspection, flying), cone_on, flying, normals.is_assumed,
        abs(site.latitude_deg) < TROPICAL_LATITUDE_DEG,
    )  # fmt: skip


def _usual_start(inspected: date, gone_by: date | None) -> date:
    """Three days after the inspection, or sooner where the client's date is sooner."""
    usual = inspected + timedelta(days=CONE_AFTER_DAYS)
    return usual if gone_by is None else max(inspected, min(usual, gone_by))


def items_of(seen: Inspection, flying: FlightNow) -> tuple[Item[Nest], ...]:
    """Every sighting of an inspection as an item of evidence; what was not looked at is absent."""
    items: list[Item[Nest]] = []
    if seen.traffic is not None:
        counts = [c for c in (seen.traffic.bees_out, seen.traffic.bees_in) if c is not None]
        if counts:
            items.append(
                TrafficCount(
                    float(sum(counts)), seen.traffic.minutes, len(counts),
                    flying.activity, flying.flight_hours,
                )
            )  # fmt: skip
    if seen.comb is not None:
        whole = seen.comb.extent == "whole"
        if seen.comb.area_dm2 is not None:
            items.append(CombSize(seen.comb.area_dm2, is_area=True, is_whole=whole))
        elif seen.comb.combs is not None:
            items.append(CombSize(float(seen.comb.combs), is_area=False, is_whole=whole))
        if seen.comb.colour is not None:
            items.append(CombColour(float(COLOURS.index(seen.comb.colour))))
    inspected = seen.at.date()
    if seen.first_seen is not None:
        items.append(FirstSeen(float((inspected - seen.first_seen).days)))
    if seen.swarm_seen is not None:
        items.append(SwarmSeen(float((inspected - seen.swarm_seen).days)))
    if seen.warm_area_dm2 is not None:
        items.append(cues.warm_area(seen.warm_area_dm2))
    if seen.hum_span_m is not None:
        items.append(cues.hum_span(seen.hum_span_m))
    items += _looked_for(seen, flying.activity)
    return tuple(items)


def _looked_for(seen: Inspection, activity: float) -> list[Item[Nest]]:
    """Give the yes-and-no sightings."""
    found: list[Item[Nest]] = []
    if seen.warm_to_hand is not None:
        found.append(cues.warm_to_hand(float(seen.warm_to_hand)))
    if seen.pollen_carried is not None:
        found.append(cues.pollen_carried(float(seen.pollen_carried), activity))
    if seen.drones_flying is not None:
        found.append(cues.drones_flying(float(seen.drones_flying), activity))
    if seen.young_bees_orienting is not None:
        found.append(cues.young_bees_orienting(float(seen.young_bees_orienting)))
    if seen.capped_brood_seen is not None:
        found.append(cues.capped_brood_seen(float(seen.capped_brood_seen)))
    if seen.capped_honey_seen is not None:
        found.append(cues.capped_honey_seen(float(seen.capped_honey_seen)))
    if seen.hanging_cluster_only is not None:
        found.append(ClusterOnly(float(seen.hanging_cluster_only)))
    return found


def circumstances_of(job: Job, question: Question) -> Circumstances:
    """Gather what is known around the colony; dates become offsets from the cone's first day."""
    building, people = job.building, job.people
    inspected = job.inspection.at.date()
    sprayed = job.inspection.sprayed
    from_cone = question.year.sky[question.cone_day :, Sky.FLIGHT_H]
    return Circumstances(
        covering=building.covering,
        inside_finish=building.inside_finish,
        cavity=building.cavity,
        may_open_outside=building.may_open_outside,
        may_open_inside=building.may_open_inside,
        other_gaps_closable=building.other_gaps_closable,
        allergic_person=people.allergic_person,
        public_path_near=people.public_path_near,
        power_line_near=building.power_line_near,
        exposing_comb=job.site.exposing_comb,
        entrance_height_m=building.entrance_height_m,
        year_built=building.year_built,
        gone_by=None if people.gone_by is None else (people.gone_by - question.cone_on).days,
        sprayed_ago_days=None if sprayed is None else (inspected - sprayed).days,
        hanging_cluster_only=bool(job.inspection.hanging_cluster_only),
        flight_h=tuple(float(h) for h in from_cone),
    )


def weights_of(job: Job) -> Weights:
    """How the firm weighs outcomes, in visits' worth of trouble."""
    p = job.preferences
    return Weights(
        p.bees_lost_weight, p.honey_left_weight_per_kg, p.week_weight, p.opening_weight,
        p.honey_limit_kg,
    )  # fmt: skip
