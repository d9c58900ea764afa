"""The year at a site as the colony engine wants it: one row of drivers a day.

A season's simulation starts in late winter, before the first swarms and the first
pollen: the last such date that lies well before the inspection.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from lastbee.biology.season import (
    dearth_share,
    drone_season_share,
    forage_share,
    laying_share,
    northern_day,
)
from lastbee.colony.founding import swarm_density
from lastbee.colony.layout import Sky
from lastbee.planning.climate import daily_normals
from lastbee.planning.flying import flight_hours

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.planning.climate import ClimateNormals

# The bee year starts on 15 February in the north, on 15 August in the south; a colony
# inspected within three weeks of that is followed from the year before.
SEASON_START_NORTH = (2, 15)
SEASON_START_SOUTH = (8, 15)
LEAST_LEAD_DAYS = 20
# From this day of the bee year on (about 1 December in the north) winter has begun, which
# the model does not know.
WINTER_FROM_DAY = 289
# Brood nest temperature against which cold is counted, and the fall that counts as one.
NEST_DEGC = 34.0
FULL_COLD_FALL_DEGC = 24.0


@dataclass(frozen=True, slots=True)
class Year:
    """Daily drivers from `first` on, and the swarms of each day before the inspection.

    `sky` has shape (days, len(Sky)); `arrivals` shape (inspection_day,).
    """

    first: date
    sky: NDArray[np.float64]
    arrivals: NDArray[np.float64]
    swarm_share_so_far: float

    @property
    def inspection_day(self) -> int:
        """Day index of the inspection."""
        return len(self.arrivals)

    def index_of(self, day: date) -> int:
        """Day index of a calendar date."""
        return (day - self.first).days


def season_start(inspected: date, latitude_deg: float) -> date:
    """First day of the bee year that an inspection belongs to."""
    month, day = SEASON_START_NORTH if latitude_deg >= 0.0 else SEASON_START_SOUTH
    start = date(inspected.year, month, day)
    while (inspected - start).days < LEAST_LEAD_DAYS:
        start = date(start.year - 1, month, day)
    return start


def year_at(
    latitude_deg: float,
    longitude_deg: float,
    inspected: date,
    normals: ClimateNormals,
    days_ahead: int,
) -> Year:
    """Assemble the drivers of one site and season.

    Parameters
    ----------
    latitude_deg, longitude_deg
        Site, north and east positive, latitude -66 to 66. [deg]
    inspected
        Day of the inspection.
    normals
        Monthly normals of the site.
    days_ahead
        Days to cover after the inspection, >= 1.

    Returns
    -------
    The year, from the season's start to `days_ahead` days after the inspection.

    Raises
    ------
    ValueError
        If the place is beyond its limits.
    """
    first = season_start(inspected, latitude_deg)
    day0 = (inspected - first).days
    days = day0 + days_ahead
    daily = daily_normals(normals, first, days)
    day_of_year = np.array(
        [(first + timedelta(days=i)).timetuple().tm_yday for i in range(days)], dtype=np.float64
    )
    sky = np.zeros((days, len(Sky)))
    sky[:, Sky.FLIGHT_H] = flight_hours(latitude_deg, longitude_deg, first, days, normals)
    sky[:, Sky.WET] = daily.wet_day_share
    sky[:, Sky.LAYING] = laying_share(day_of_year, latitude_deg)
    sky[:, Sky.FORAGE] = forage_share(day_of_year, latitude_deg)
    sky[:, Sky.DEARTH] = dearth_share(day_of_year, latitude_deg)
    mean_degc = 0.5 * (daily.high_degc + daily.low_degc)
    sky[:, Sky.COLD] = np.clip((NEST_DEGC - mean_degc) / FULL_COLD_FALL_DEGC, 0.0, 1.0)
    sky[:, Sky.DRONES] = drone_season_share(day_of_year, latitude_deg)
    northern = day_of_year if latitude_deg >= 0.0 else northern_day(day_of_year)
    arrivals = swarm_density(northern[:day0], latitude_deg)
    return Year(first, sky, arrivals, float(min(1.0, arrivals.sum())))
