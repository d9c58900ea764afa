"""What the keys of a job file owe each other, and the job record that they make.

`job_from` judges everything that no single key can be blamed for (a key that is missing, days
in the wrong order, a low above its high) and builds the record. It works on whatever could be
read, so that these faults are named in the same breath as those of single keys.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, tzinfo
from typing import TYPE_CHECKING, cast
from zoneinfo import ZoneInfo

from lastbee.jobs import job
from lastbee.jobs.jobfile_climate import climate_from
from lastbee.jobs.jobfile_visits import visits_from
from lastbee.jobs.jobfile_when import ask_for_time, check_count, moment_of

if TYPE_CHECKING:
    from typing import Literal

    from lastbee.jobs import jobfile_schema as tables
    from lastbee.jobs.jobfile_findings import Findings

LONGEST_MEMORY_DAYS = 40 * 366
LONGEST_AHEAD_DAYS = 366
LARGEST_AREA_DM2 = 500.0
# China keeps one clock over five zones, and summer time adds an hour: assumed enough for all.
LARGEST_CLOCK_ERROR_H = 4.0


def job_from(file: tables.JobFile, findings: Findings) -> job.Job | None:
    """Build the job record, or add to `findings` what stands against it.

    Parameters
    ----------
    file
        The tables as read; keys in `findings.wrong` count as absent.
    findings
        Collects the problems.

    Returns
    -------
    The record, or None if it cannot be built.
    """
    if file.title is None:
        findings.miss("title", 'write a name for the job, such as title = "Bees, north wall"')
    site = _site(file.site, findings)
    # Without a site days can still be judged by one another.
    zone = ZoneInfo(site.time_zone) if site is not None else UTC
    inspection = _inspection(file.inspection, zone, findings)
    if site is not None and inspection is not None:
        check_longitude("site.longitude", site.longitude_deg, inspection.at, findings)
    _check_days(file, inspection, findings)
    visits = visits_from(file, zone, inspection, findings)
    if findings.problems or file.title is None or site is None or inspection is None:
        return None
    return job.Job(
        title=file.title,
        site=site,
        inspection=inspection,
        client=file.client or "",
        prepared_by=file.prepared_by or "",
        building=_building(file.building),
        people=job.People(
            allergic_person=file.people.allergic_person or "unknown",
            public_path_near=file.people.public_path_near or "unknown",
            gone_by=file.people.gone_by,
        ),
        setup=_setup(file.setup),
        preferences=_preferences(file.preferences),
        visits=visits,
    )


def zone_of(longitude_deg: float) -> str:
    """Name the zone of whole hours nearest to the sun's time, without summer time.

    The names of these zones count hours behind UTC as positive: "Etc/GMT+5" is UTC-5.
    """
    hours = round(longitude_deg / 15.0)
    return f"Etc/GMT{-hours:+d}" if hours else "Etc/GMT"


def _site(site: tables.SiteTable, findings: Findings) -> job.Site | None:
    if site.place is None:
        findings.miss("site.place", 'write where it is, such as place = "Meadowgate"')
    if site.latitude is None:
        findings.miss("site.latitude", "write degrees north, such as latitude = 43.1")
    if site.longitude is None:
        findings.miss("site.longitude", "write degrees east, such as longitude = -72.4")
    climate = climate_from(site.climate, findings)
    if site.place is None or site.latitude is None or site.longitude is None:
        return None
    return job.Site(
        place=site.place,
        latitude_deg=site.latitude,
        longitude_deg=site.longitude,
        time_zone=site.time_zone or zone_of(site.longitude),
        climate=climate,
        exposing_comb=cast("Literal['allowed', 'barred', 'unknown']", site.exposing_comb)
        if site.exposing_comb
        else "unknown",
    )


def _inspection(
    table: tables.InspectionTable, zone: tzinfo, findings: Findings
) -> job.Inspection | None:
    at = moment_of("inspection", table.inspected_on, table.inspected_at, zone, findings)
    traffic = _traffic(table.traffic, findings)
    if table.traffic.model_fields_set:
        ask_for_time("inspection", table.inspected_on, table.inspected_at, findings)
    comb = _comb(table.comb, findings)
    if at is None:
        return None
    hand = table.warmth.hand
    return job.Inspection(
        at=at,
        temperature_degc=table.temperature,
        sky=cast("Literal['sun', 'cloud', 'rain'] | None", table.sky),
        wind=cast("Literal['calm', 'breeze', 'strong'] | None", table.wind),
        traffic=traffic,
        comb=comb,
        first_seen=table.first_seen,
        swarm_seen=table.swarm_seen,
        sprayed=table.sprayed,
        warm_area_dm2=table.warmth.thermal_area,
        warm_to_hand=None if hand is None else hand == "warm",
        hum_span_m=table.sound.hum_span,
        pollen_carried=table.seen.pollen,
        drones_flying=table.seen.drones,
        young_bees_orienting=table.seen.orientation_flights,
        capped_brood_seen=table.seen.capped_brood,
        capped_honey_seen=table.seen.capped_honey,
        hanging_cluster_only=table.hanging_cluster_only,
        notes=table.notes or "",
    )


def check_longitude(key: str, longitude_deg: float, at: datetime, findings: Findings) -> None:
    """Find a longitude whose sun cannot go with the clock: mostly a minus sign forgotten.

    Parameters
    ----------
    key
        Dotted name of the longitude.
    longitude_deg
        Degrees east. [deg]
    at
        A moment by the clock of the place, aware.
    findings
        Collects the problem.
    """
    offset = at.utcoffset() or timedelta()
    error_h = (offset.total_seconds() / 3600.0 - longitude_deg / 15.0 + 12.0) % 24.0 - 12.0
    if abs(error_h) > LARGEST_CLOCK_ERROR_H:
        findings.add(
            key,
            longitude_deg,
            f"write degrees east, west with a minus sign, that go with the time zone "
            f"{at.tzinfo}, or mend the zone",
        )


def _traffic(table: tables.TrafficTable, findings: Findings) -> job.Traffic | None:
    if not table.model_fields_set and not findings.is_wrong_in("inspection.traffic"):
        return None
    counts = {"out": table.bees_out, "in": table.bees_in}
    mend = "write the bees that flew out, came in, or both, such as out = 138"
    check_count("inspection.traffic", table.minutes, counts, mend, findings)
    if table.minutes is None:
        return None
    return job.Traffic(minutes=table.minutes, bees_out=table.bees_out, bees_in=table.bees_in)


def _comb(table: tables.CombTable, findings: Findings) -> job.CombSeen | None:
    if not table.model_fields_set:
        return None
    area_dm2 = _comb_area_dm2(table, findings)
    if table.area is not None and area_dm2 is not None:
        mend = "keep either area or the length and width of a comb"
        findings.add("inspection.comb.area", f"{table.area:.3g} dm2", mend)
    return job.CombSeen(
        extent="whole" if table.extent == "whole" else "part",
        combs=table.combs,
        area_dm2=area_dm2 if table.area is None else table.area,
        colour=table.colour,
    )


def _comb_area_dm2(table: tables.CombTable, findings: Findings) -> float | None:
    """Give combs x length x width, or None where no size is written."""
    name = "inspection.comb"
    sides = {"length": table.length, "width": table.width}
    if all(side is None for side in sides.values()):
        return None
    for key, side in sides.items():
        if side is None:
            findings.miss(f"{name}.{key}", f'write the {key} of a comb, such as {key} = "20 cm"')
    if table.combs is None:
        findings.miss(f"{name}.combs", "write how many combs of this size were seen")
    if table.length is None or table.width is None or table.combs is None:
        return None
    area_dm2 = table.combs * table.length * table.width * 100.0
    if area_dm2 > LARGEST_AREA_DM2:
        mend = (
            f"write combs of at most {LARGEST_AREA_DM2:.0f} dm2 in all, "
            f"not {table.combs} combs of {table.length:.3g} m x {table.width:.3g} m"
        )
        findings.add(f"{name}.length", f"{table.length:.3g} m", mend)
    return area_dm2


def _check_days(
    file: tables.JobFile, inspection: job.Inspection | None, findings: Findings
) -> None:
    """Find days in the wrong order."""
    if inspection is None:
        return
    day = inspection.at.date()
    oldest = day - timedelta(days=LONGEST_MEMORY_DAYS)
    told = {
        "inspection.first_seen": inspection.first_seen,
        "inspection.swarm_seen": inspection.swarm_seen,
        "inspection.sprayed": inspection.sprayed,
    }
    for key, when in told.items():
        if when is not None and when > day:
            findings.add(key, when, f"write a day that is not after the inspection on {day}")
        elif when is not None and when < oldest:
            findings.add(key, when, "write a day within forty years before the inspection")
    _check_plans(file, day, findings)
    built = file.building.year_built
    if built is not None and built > day.year:
        mend = f"write a year that is not after the inspection in {day.year}"
        findings.add("building.year_built", built, mend)


def _check_plans(file: tables.JobFile, day: date, findings: Findings) -> None:
    cone_on, gone_by = file.setup.cone_on, file.people.gone_by
    latest = day + timedelta(days=LONGEST_AHEAD_DAYS)
    if cone_on is not None and cone_on < day:
        mend = f"write a day that is not before the inspection on {day}"
        findings.add("setup.cone_on", cone_on, mend)
    elif cone_on is not None and cone_on > latest:
        findings.add("setup.cone_on", cone_on, "write a day within a year after the inspection")
    if gone_by is None:
        return
    if cone_on is not None and gone_by < cone_on:
        mend = f"write a day after the cone goes on, on {cone_on}"
        findings.add("people.gone_by", gone_by, mend)
    elif gone_by < day:
        findings.add("people.gone_by", gone_by, f"write a day after the inspection on {day}")


def _building(table: tables.BuildingTable) -> job.Building:
    return job.Building(
        cavity=table.cavity or "other",
        cavity_width_m=table.width,
        cavity_depth_m=table.depth,
        cavity_length_m=table.length,
        covering=table.covering or "other",
        inside_finish=table.inside_finish or "other",
        entrance_height_m=table.entrance_height,
        year_built=table.year_built,
        may_open_outside=table.may_open_outside or "unknown",
        may_open_inside=table.may_open_inside or "unknown",
        other_gaps_closable=table.other_gaps_closable or "unknown",
        power_line_near=table.power_line_near or "unknown",
    )


def _setup(table: tables.SetupTable) -> job.Setup:
    usual = job.Setup()
    return job.Setup(
        cone_on=table.cone_on,
        box=table.box or usual.box,
        rob_out=usual.rob_out if table.rob_out is None else table.rob_out,
    )


def _preferences(table: tables.PreferencesTable) -> job.Preferences:
    usual = job.Preferences()

    def or_usual(written: float | None, value: float) -> float:
        return value if written is None else written

    return job.Preferences(
        units=cast("Literal['metric', 'us']", table.units or usual.units),
        confidence=or_usual(table.confidence, usual.confidence),
        honey_limit_kg=or_usual(table.honey_limit, usual.honey_limit_kg),
        bees_lost_weight=or_usual(table.bees_lost_weight, usual.bees_lost_weight),
        honey_left_weight_per_kg=or_usual(
            table.honey_left_weight_per_kg, usual.honey_left_weight_per_kg
        ),
        week_weight=or_usual(table.week_weight, usual.week_weight),
        opening_weight=or_usual(table.opening_weight, usual.opening_weight),
    )
