"""The visits of a job file: what their keys owe each other, the cone's day and one another.

Inside, a key of the second visit in the file is called `visit.1.count.minutes`;
`lastbee.jobs.jobfile_names` turns that into what a person is told.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, cast

from lastbee.biology.comb import BEES_PER_DEEP_FRAME
from lastbee.jobs import visit as record
from lastbee.jobs.jobfile_text import AsSaid
from lastbee.jobs.jobfile_when import ask_for_time, check_count, has_time, moment_of

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime, tzinfo
    from typing import Literal

    from lastbee.jobs import job
    from lastbee.jobs import jobfile_visit_tables as tables
    from lastbee.jobs.jobfile_findings import Findings
    from lastbee.jobs.jobfile_schema import JobFile

LATEST_VISIT_DAYS = 112
"""Longest from the cone to a visit: some days less than a forecast follows a trap-out."""

# Deeds in the order in which a day's are told, by the key that holds them.
_DEEDS: dict[str, record.DeedKind] = {
    "closed_gap": "gap closed",
    "brushed_in": "cluster brushed in",
    "gave_brood": "brood given",
    "gave_queen": "queen given",
    "added_box": "box added",
    "moved_box_closer": "box moved closer",
    "shaded_box": "box shaded",
    "reduced_entrance": "entrance reduced",
    "fed": "fed",
}
_CONE_DEEDS: dict[str, record.DeedKind] = {
    "cleared": "cone cleared",
    "refitted": "cone refitted",
}


def visits_from(
    file: JobFile, zone: tzinfo, inspection: job.Inspection | None, findings: Findings
) -> tuple[record.Visit, ...]:
    """Build the visits, or add to `findings` what stands against them.

    Parameters
    ----------
    file
        The tables as read; keys in `findings.wrong` count as absent.
    zone
        Zone of the site.
    inspection
        The inspection, None if it cannot be used.
    findings
        Collects the problems.

    Returns
    -------
    The visits in order of time, each once, whatever their order and number in the file.
    """
    if file.visit and file.setup.cone_on is None:
        mend = (
            "write the day on which the cone really went on, since there are visits, such as "
            "cone_on = 2026-07-01"
        )
        findings.miss("setup.cone_on", mend)
    found: dict[int, record.Visit] = {}
    for place, table in enumerate(file.visit):
        name = f"visit.{place}"
        if findings.is_wrong(name):
            continue
        at = _moment(name, table, zone, findings)
        if at is not None:
            _check_moment(name, at, table, file, inspection, findings)
        visit = _visit(name, at, table, findings)
        if visit is not None:
            found[place] = visit
    return _in_order(found, findings)


def _moment(
    name: str, table: tables.VisitTable, zone: tzinfo, findings: Findings
) -> datetime | None:
    if table.count.model_fields_set or table.elsewhere.bees_in is not None:
        ask_for_time(name, table.visited_on, table.visited_at, findings)
    at = moment_of(name, table.visited_on, table.visited_at, zone, findings)
    return None if at is None else at.replace(second=0)


def _check_moment(
    name: str,
    at: datetime,
    table: tables.VisitTable,
    file: JobFile,
    inspection: job.Inspection | None,
    findings: Findings,
) -> None:
    """Find a visit before there was a cone, before the inspection, or too long after."""
    cone_on, day = file.setup.cone_on, at.date()
    if cone_on is not None and day < cone_on:
        mend = (
            f"write a day that is not before the cone went on, on {cone_on}, or mend setup.cone_on"
        )
        findings.add(f"{name}.date", day, mend)
    elif cone_on is not None and day > cone_on + timedelta(days=LATEST_VISIT_DAYS):
        mend = (
            f"write a day within {LATEST_VISIT_DAYS} days after the cone went on, on {cone_on}, "
            "or start a new job with a new inspection"
        )
        findings.add(f"{name}.date", day, mend)
    elif inspection is None:
        return
    elif cone_on is None and day < inspection.at.date():
        mend = f"write a day that is not before the inspection on {inspection.at.date()}"
        findings.add(f"{name}.date", day, mend)
    elif (
        has_time(table.visited_on, table.visited_at)
        and day == inspection.at.date()
        and at < inspection.at
    ):
        key = "date" if table.visited_at is None else "time"
        mend = f"write a time that is not before the inspection at {inspection.at:%H:%M} that day"
        findings.add(f"{name}.{key}", at.time(), mend)


def _in_order(found: dict[int, record.Visit], findings: Findings) -> tuple[record.Visit, ...]:
    """Put visits in order of time; of two that are the same, keep one."""
    first_at: dict[datetime, int] = {}
    for place, visit in found.items():
        first = first_at.setdefault(visit.at, place)
        names = (f"visit.{first}", f"visit.{place}")
        is_readable = not any(findings.is_wrong_in(name) for name in names)
        if visit != found[first] and is_readable:
            mend = (
                f"mend the day or write the time of both, since visit {first + 1} is at the same "
                "minute and says otherwise, or keep only one of the two"
            )
            findings.add(f"visit.{place}.date", AsSaid(f"{visit.at:%Y-%m-%d %H:%M}"), mend)
    return tuple(found[place] for _, place in sorted(first_at.items()))


def _visit(
    name: str, at: datetime | None, table: tables.VisitTable, findings: Findings
) -> record.Visit | None:
    cone = _count(f"{name}.count", table.count, findings)
    elsewhere = _elsewhere(f"{name}.elsewhere", table.elsewhere, findings)
    wall = _wall(f"{name}.wall", table.wall, findings)
    if at is None:
        return None
    return record.Visit(
        at=at,
        temperature_degc=table.temperature,
        sky=cast("Literal['sun', 'cloud', 'rain'] | None", table.sky),
        wind=cast("Literal['calm', 'breeze', 'strong'] | None", table.wind),
        cone=cone,
        cone_state=table.cone,
        elsewhere=elsewhere,
        cluster_dm2=table.cluster,
        dead_bees=table.dead_bees,
        box=_box(table.box),
        wall=wall,
        did=tuple(_deeds(table.did)),
        notes=table.notes or "",
    )


def _count(name: str, table: tables.CountTable, findings: Findings) -> record.ConeCount | None:
    if not table.model_fields_set and not findings.is_wrong_in(name):
        return None
    bees = {"out": table.bees_out, "back_in": table.back_in}
    mend = "write the bees that came out of the cone, such as out = 18"
    check_count(name, table.minutes, bees, mend, findings)
    if table.minutes is None:
        return None
    return record.ConeCount(table.minutes, table.bees_out, table.back_in)


def _elsewhere(
    name: str, table: tables.ElsewhereTable, findings: Findings
) -> record.Elsewhere | None:
    if not table.model_fields_set:
        return None
    if table.minutes is not None or table.bees_in is not None:
        mend = "write the bees that went in, such as in = 9"
        check_count(name, table.minutes, {"in": table.bees_in}, mend, findings)
    _check_elsewhere(name, table, findings)
    # No pollen on no bees is not a finding.
    pollen = table.pollen if table.seen or table.bees_in else None
    return record.Elsewhere(table.minutes, table.bees_in, table.seen, pollen)


def _check_elsewhere(name: str, table: tables.ElsewhereTable, findings: Findings) -> None:
    """Find sightings of which one denies the other."""
    count, seen = table.bees_in, table.seen
    if seen is False and count:
        mend = f"write true or leave it out, since {count} went in, or mend in = {count}"
        findings.add(f"{name}.seen", AsSaid("false"), mend)
    elif seen and count == 0:
        mend = "leave it out, or leave out in = 0 if bees went in at another time"
        findings.add(f"{name}.seen", AsSaid("true"), mend)
    if table.pollen is not None and seen is None and count is None:
        if not findings.is_wrong(f"{name}.in"):
            findings.miss(f"{name}.seen", "write whether any bees went in, true or false")
    elif table.pollen and not seen and not count:
        mend = "leave it out, since no bees were seen going in elsewhere"
        findings.add(f"{name}.pollen", AsSaid("true"), mend)


def _box(table: tables.BoxTable) -> record.BoxSeen | None:
    if not table.model_fields_set:
        return None
    return record.BoxSeen(
        frames_of_bees=table.frames_of_bees,
        gain_kg=table.gain,
        eggs_seen=table.eggs,
        queen_seen=table.queen,
        is_robbed=table.robbing,
        hangs_out=table.hanging_out,
    )


def _wall(name: str, table: tables.WallTable, findings: Findings) -> record.WallSensed | None:
    if not table.model_fields_set:
        return None
    if table.hum is False and table.hum_span is not None:
        mend = "write true or leave it out, since hum_span is written, or leave out hum_span"
        findings.add(f"{name}.hum", AsSaid("false"), mend)
    return record.WallSensed(
        hum_heard=table.hum,
        hum_span_m=table.hum_span,
        warm_to_hand=None if table.hand is None else table.hand == "warm",
        warm_area_dm2=table.thermal_area,
        bees_seen_inside=table.bees_inside,
    )


def _deeds(table: tables.DidTable) -> Iterable[record.Deed]:
    if table.cone is not None:
        yield record.Deed(_CONE_DEEDS[table.cone])
    for key, kind in _DEEDS.items():
        done = getattr(table, key)
        if done is True:
            yield record.Deed(kind)
        elif done is not None and done is not False:
            yield record.Deed(kind, done * BEES_PER_DEEP_FRAME if key == "added_box" else done)
