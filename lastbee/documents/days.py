"""Which days and which bands of a forecast a document shows."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

    from lastbee.jobs.plan import Band, Milestone, Plan
    from lastbee.jobs.progress import Progress

    Forecast = Plan | Progress

# Keys by which bands and dates are found in a forecast.
WALL_BAND = "bees_in_wall"
BOX_BAND = "bees_in_box"
EMPTY = "empty"


def last_day(forecast: Forecast) -> date | None:
    """Give the last day that the forecast covers, or None where it has no days."""
    longest = max(len(forecast.empty_by), *(len(band.median) for band in forecast.bands), 0)
    return forecast.cone_on + timedelta(days=longest - 1) if longest else None


def band_of(forecast: Forecast, key: str) -> Band | None:
    """Find a band by its key; None when the forecast lacks it or it has no days."""
    return next((band for band in forecast.bands if band.key == key and band.median), None)


def milestone_of(forecast: Forecast, key: str) -> Milestone | None:
    """Find a milestone by its key, or None."""
    return next((item for item in forecast.milestones if item.key == key), None)


def days_shown(forecast: Forecast) -> int:
    """Count the days worth drawing: until the wall is empty at the high end, and a week more."""
    wall = band_of(forecast, WALL_BAND)
    if wall is None:
        return len(forecast.empty_by)
    still_in = [number for number, bees in enumerate(wall.high90) if bees >= 1.0]
    empty = milestone_of(forecast, EMPTY)
    safe = 0 if empty is None or empty.safe is None else (empty.safe - forecast.cone_on).days
    until = max(still_in[-1] if still_in else 0, safe) + 8
    return min(len(wall.median), until)
