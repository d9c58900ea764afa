"""Trap-outs of swarms of known age: the table that the trade can hold us to.

Trade checks, common practice, no source: two to four weeks old in season, cleared in four
to six weeks; past about a month unreliable because of what is stored; at four months tens
of kilograms stay behind.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from lastbee.colony.founding import DIMENSIONS, Box, Cavity, Deviate, Founding, draw_colonies
from lastbee.colony.kernel import live
from lastbee.evidence.nest import Nest, nest_from
from lastbee.forecast.posterior import log_alive
from lastbee.forecast.sampler import Cloud, systematic_ancestors
from lastbee.forecast.trapout import TRAP_DAYS, TrapOut, first_reached, trap_out
from lastbee.planning.climate import ClimateNormals
from lastbee.planning.sky import Year, year_at

WEEKS = (1, 2, 3, 4, 6, 10, 17)
ARRIVED = date(2026, 5, 20)
LATITUDE_DEG, LONGITUDE_DEG = 43.0, -75.0
# Invented normals of a temperate inland place.
NORMALS = ClimateNormals(
    high_degc=(0.0, 2.0, 7.0, 14.0, 20.0, 25.0, 27.5, 26.5, 22.0, 15.0, 8.0, 2.0),
    low_degc=(-8.0, -7.0, -3.0, 3.0, 8.5, 13.5, 16.0, 15.0, 11.0, 5.0, 0.5, -5.0),
    wet_day_share=(0.4, 0.35, 0.35, 0.3, 0.25, 0.22, 0.2, 0.2, 0.22, 0.28, 0.35, 0.4),
)
BOX = Box(4200.0, 0.0, 1.3)


@dataclass(frozen=True, slots=True)
class Aged:
    """A trap-out begun on swarms of one age."""

    weeks: int
    nest: Nest
    trap: TrapOut

    @property
    def median_clearance_days(self) -> float:
        """Day by which half of the colonies are empty."""
        day = first_reached(self.trap.empty_by, 0.5)
        return float("nan") if day is None else float(day)


def aged_trap_out(weeks: int, colonies: int, seed: int, arrived: date = ARRIVED) -> Aged:
    """Trap out `colonies` swarms that arrived `weeks` weeks before the cone goes on."""
    inspected = arrived + timedelta(weeks=weeks)
    year = year_at(LATITUDE_DEG, LONGITUDE_DEG, inspected, NORMALS, TRAP_DAYS + 2)
    founding = _on(year, arrived)
    rng = np.random.default_rng(seed)
    z = rng.standard_normal((colonies, DIMENSIONS))
    z[:, Deviate.HYPOTHESIS] = -8.0  # a new swarm on bare comb
    noise = rng.integers(0, 2**63, colonies, dtype=np.uint64)
    drawn = draw_colonies(z, founding)
    mornings, _, _ = live(drawn.params, noise, year.sky, snap_days=(year.inspection_day,))
    snapshot = mornings[:, 0]
    weight = np.exp(log_alive(nest_from(snapshot, drawn, year.inspection_day)))
    kept = systematic_ancestors(weight / weight.sum(), colonies, rng)
    cloud = Cloud(z[kept], noise[kept], np.zeros(colonies), 0.0, float(colonies), 1.0, 0)
    nest = nest_from(snapshot[kept], draw_colonies(z[kept], founding), year.inspection_day)
    trap = trap_out(cloud, founding, year.sky, year.inspection_day)
    return Aged(weeks, nest, trap)


def _on(year: Year, arrived: date) -> Founding:
    arrivals = np.zeros(year.inspection_day)
    arrivals[year.index_of(arrived)] = 1.0
    return Founding(arrivals, 1.0, Cavity(0.37, 0.09, 2.4), BOX)


def table(colonies: int = 4000, seed: int = 1) -> tuple[list[str], dict[str, float]]:
    """Print-ready lines and the figures behind them."""
    lines = [
        "weeks  adults at cone        honey at cone kg   empty, half by day  "
        "90 % by day  honey left kg        P(more than 5 kg)"
    ]
    figures: dict[str, float] = {}
    for weeks in WEEKS:
        aged = aged_trap_out(weeks, colonies, seed)
        adults = np.quantile(aged.nest.adults, (0.05, 0.5, 0.95))
        stored = np.quantile(aged.nest.honey_g / 1000.0, (0.05, 0.5, 0.95))
        left = np.quantile(aged.trap.honey_left_g / 1000.0, (0.05, 0.5, 0.95))
        ninety = first_reached(aged.trap.empty_by, 0.9)
        over = float((aged.trap.honey_left_g > 5000.0).mean())
        lines.append(
            f"{weeks:5d}  {adults[1]:7.0f} ({adults[0]:.0f}-{adults[2]:.0f})".ljust(29)
            + f"{stored[1]:5.1f} ({stored[0]:.1f}-{stored[2]:.1f})".ljust(19)
            + f"{aged.median_clearance_days:12.0f}        {ninety!s:>6}       "
            + f"{left[1]:5.1f} ({left[0]:.1f}-{left[2]:.1f})".ljust(21)
            + f"{over:8.2f}"
        )
        figures[f"clearance_median_days_{weeks}_weeks"] = aged.median_clearance_days
        figures[f"honey_left_median_kg_{weeks}_weeks"] = float(left[1])
        figures[f"honey_over_5_kg_{weeks}_weeks"] = over
    return lines, figures


if __name__ == "__main__":
    for line in table()[0]:
        print(line)
