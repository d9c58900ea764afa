"""When somebody stood at the wall, and for how long they counted: one rule for all tables."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, tzinfo
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from lastbee.jobs.jobfile_findings import Findings

FIRST_YEAR, LAST_YEAR = 1990, 2100


def moment_of(
    table: str, day: date | None, clock: time | None, zone: tzinfo, findings: Findings
) -> datetime | None:
    """Put day and time together in the site's zone; noon where no time is written.

    Parameters
    ----------
    table
        Dotted name of the table that holds the two.
    day
        The day, or the day with its time.
    clock
        The time, if it is written by itself.
    zone
        Zone of the site.
    findings
        Collects the problems.

    Returns
    -------
    The moment, or None without a day that can be used.
    """
    if day is None:
        findings.miss(f"{table}.date", "write the day, such as date = 2026-06-29")
        return None
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        mend = f"write a day between the years {FIRST_YEAR} and {LAST_YEAR}"
        findings.add(f"{table}.date", day, mend)
        return None
    if isinstance(day, datetime):
        if clock is not None:
            mend = "keep the time in date or in time, not in both"
            findings.add(f"{table}.time", clock, mend)
        local = day
    else:
        local = datetime.combine(day, clock or time(12))
    at = local.replace(tzinfo=zone)
    if at.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != local:
        mend = f"write a time that exists, since clocks in {zone} skip this one"
        findings.add(f"{table}.time", local.time(), mend)
    return at


def has_time(day: date | None, clock: time | None) -> bool:
    """Whether a time of day is written, by itself or with the day."""
    return clock is not None or isinstance(day, datetime)


def ask_for_time(table: str, day: date | None, clock: time | None, findings: Findings) -> None:
    """Miss the time of day where bees were counted: traffic depends on the hour."""
    if not has_time(day, clock) and not findings.is_wrong(f"{table}.date"):
        mend = 'write when the bees were counted, such as time = "14:30"'
        findings.miss(f"{table}.time", mend)


def check_count(
    table: str,
    minutes: float | None,
    bees: Mapping[str, int | None],
    mend: str,
    findings: Findings,
) -> None:
    """Miss how long was counted, or the bees: one number of them is enough.

    Parameters
    ----------
    table
        Dotted name of the table, in which something is written.
    minutes
        How long was counted.
    bees
        Bees counted by the key that holds them; the first is called missing if all are.
    mend
        What to write then.
    findings
        Collects the problems.
    """
    if minutes is None:
        findings.miss(f"{table}.minutes", "write how long was counted, such as 5")
    keys = [f"{table}.{key}" for key in bees]
    if all(count is None for count in bees.values()) and not findings.is_wrong(*keys):
        findings.miss(keys[0], mend)
