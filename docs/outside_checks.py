"""Work out our side of the outside checks, and write the tables in docs/how-we-know.md.

    python -m docs.outside_checks           # write the page anew
    python -m docs.outside_checks --check   # exit code 1 if the page is not up to date
    python -m docs.outside_checks --print   # print the tables and write nothing

Each row of a table is one check that a test makes too: what is compared, whose figure it
is, their value as they print it, and the function of ours that must meet it; `status` says
how well the figure itself is known. What the engine gives, by the tests' own code and by
`python -m verify.ages`, is put in and checked as well: its chance draws have fixed seeds.
`--long` adds what the long checks print, to writing or checking; all of them take an hour
or two, and some can be named: `--long running other_running`.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from docs.constants_table import shown
from docs.renewing import filled, with_tables, write_or_check
from lastbee.biology import constants, flight, season
from reference import comb, published

if TYPE_CHECKING:
    from collections.abc import Callable

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "how-we-know.md"
# How well a figure is known, as the page explains it.
PRINTED = "printed"
WORKED = "worked from the printed equations"
SECOND_HAND = "second-hand"
MEMORY = "from memory"
PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Check:
    """One comparison; `ours` gives our value when called."""

    what: str
    source: str
    theirs: float
    unit: str
    tolerance: str
    ours: Callable[[], float]
    test: str
    status: str = SECOND_HAND


def _survival(loss_days: tuple[tuple[float, int], ...]) -> float:
    share = 1.0
    for loss, days in loss_days:
        share *= (1.0 - loss) ** days
    return share


def _worker_survival() -> float:
    return 100.0 * _survival(
        (
            (constants.EGG_LOSS_PER_DAY, constants.EGG_DAYS),
            (constants.LARVA_LOSS_PER_DAY, constants.LARVA_DAYS),
            (constants.PUPA_LOSS_PER_DAY, constants.CAPPED_DAYS),
        )
    )


def _rest_2011() -> float:
    rest = published.rest_2011(0.24)
    return rest.hive_bees + rest.foragers if rest is not None else 0.0


def _rest_2013() -> float:
    rest = published.fed_rest_2013(0.154)
    return rest.hive_bees if rest is not None else 0.0


def _settled_food_2013() -> float:
    rest = published.rest_2013(0.43)
    return rest.food_g if rest is not None else 0.0


def _warmest_hour() -> float:
    hours = np.arange(0.0, 24.0, 0.01)
    return float(hours[np.argmax(flight.diel_temperature_degc(hours, 10.0, 24.0, 12.0))])


_YEAR = np.arange(1, 366)
K11 = "Khoury et al. 2011"
K13 = "Khoury et al. 2013"
TEST_K11 = "tests/reference/test_khoury_2011.py"
TEST_K13 = "tests/reference/test_khoury_2013.py"
TEST_COMB = "tests/reference/test_comb.py"
TEST_DEVELOPMENT = "tests/reference/test_development.py"
TEST_SEASON = "tests/reference/test_season.py"
TEST_FLIGHT = "tests/reference/test_flight.py"

PUBLISHED = (
    Check("critical forager loss", K11, 0.35520, "1/day", "5 figures",
          published.critical_loss_2011, f"{TEST_K11}::test_critical_loss", WORKED),
    Check("bees at rest, loss 0.24 a day", K11, 8458, "bees", "half a bee",
          _rest_2011, f"{TEST_K11}::test_rest_meets_the_table", WORKED),
    Check("age at first foraging, loss 0.24 a day", K11, 13.56, "days", "0.005",
          lambda: published.age_at_onset_days_2011(0.24),
          f"{TEST_K11}::test_rest_meets_the_table", WORKED),
    Check("hive bees at rest, fed, loss 0.154 a day", K13, 31797, "bees", "half a bee",
          _rest_2013, f"{TEST_K13}::test_fed_rest_meets_the_table", WORKED),
    Check("food at rest, loss 0.43 a day", K13, 975, "g", "0.2 %",
          _settled_food_2013, f"{TEST_K13}::test_settled_stores_meet_the_table", WORKED),
    Check("loss at which stores settle", K13, 0.40103, "1/day", "5 figures",
          lambda: published.regime_edges_2013().stores_settle,
          f"{TEST_K13}::test_regime_edges", WORKED),
    Check("loss at which the colony dies", K13, 0.46241, "1/day", "5 figures",
          lambda: published.regime_edges_2013().colony_dies,
          f"{TEST_K13}::test_regime_edges", WORKED),
    Check("least intake to live, loss 0.154 a day", "a thesis of 2026 on that model", 0.415,
          "share", "3 figures", lambda: published.survival_intake_2013(0.154)[0],
          f"{TEST_K13}::test_intake_thresholds", SECOND_HAND),
)  # fmt: skip
BIOLOGY = (
    Check("egg to adult, worker", "Winston 1987 via Becher et al. 2014", 21, "days", "exact",
          lambda: constants.WORKER_DAYS, f"{TEST_DEVELOPMENT}::test_worker_development_days"),
    Check("egg to adult, drone", "Fukuda & Ohtani 1977 via Becher et al. 2014", 24, "days",
          "exact", lambda: constants.DRONE_DAYS,
          f"{TEST_DEVELOPMENT}::test_drone_development_days"),
    Check("workers from 100 eggs", "Fukuda & Sakagami 1968", 85.1, "bees", "1",
          _worker_survival, f"{TEST_DEVELOPMENT}::test_worker_survival_agrees_with_counts"),
    Check("drones from 100 eggs", "Fukuda & Ohtani 1977", 56, "bees", "0.5",
          lambda: 100.0 * (1.0 - constants.DRONE_BROOD_LOSS_PER_DAY) ** constants.DRONE_DAYS,
          f"{TEST_DEVELOPMENT}::test_drone_survival_agrees_with_counts"),
    Check("honey in a swarm bee's crop", "Mitchell 1970", 0.042, "g", "0.001",
          lambda: 1.0 / comb.SWARM_BEES_PER_KG * 1000.0 - 1.0 / comb.UNFED_BEES_PER_KG * 1000.0,
          f"{TEST_DEVELOPMENT}::test_honey_in_a_swarm_bee"),
    Check("cells in a dm2, both faces, 5.37 mm", "Betts 1938", 800, "cells", "1 %",
          lambda: float(comb.cells_per_dm2(5.37)), f"{TEST_COMB}::test_cells_of_three_races",
          PRINTED),
    Check("cells in a mean natural nest", "Seeley & Morse 1976", 100_000, "cells", "1 %",
          lambda: 117.0 * float(comb.cells_per_dm2(5.2)),
          f"{TEST_COMB}::test_mean_natural_nest", MEMORY),
    Check("honey in a deep frame", "a frame holds 6 lb", 2.7, "kg", "0.05",
          lambda: float(comb.honey_capacity_g_per_dm2(25.0)) * comb.DEEP_FRAME_DM2 / 1000.0,
          f"{TEST_COMB}::test_honey_by_thickness", PRACTICE),
    Check("wax of 35,000 cells", "a pound of wax", 453.6, "g", "10 %",
          lambda: float(comb.new_wax_g(35_000.0 / float(comb.cells_per_dm2(5.2)))),
          f"{TEST_COMB}::test_new_wax_by_another_count", PRACTICE),
    Check("bees on ten deep frames, one layer", "Kauffeld via Burgett & Burikam 1985", 19_000,
          "bees", "0.5 %", lambda: float(comb.bees_on_comb(177.0)),
          f"{TEST_COMB}::test_bees_on_ten_deep_frames", PRINTED),
    Check("day of most laying", "Schmickl & Crailsheim 2007", 149, "day of year", "exact",
          lambda: float(_YEAR[np.argmax(season.laying_share(_YEAR))]),
          f"{TEST_SEASON}::test_curves_peak_on_the_published_days"),
    Check("eggs on day 105, at most 1,600", "Schmickl & Crailsheim 2007", 1184, "eggs",
          "half an egg", lambda: 1600.0 * float(season.laying_share(105)),
          f"{TEST_SEASON}::test_curve_gives_printed_eggs", WORKED),
    Check("flight at 16 °C", "Burrill & Dietz 1981, middle of 12 to 20 °C", 0.5, "share", "exact",
          lambda: float(flight.temperature_factor(16.0)),
          f"{TEST_FLIGHT}::test_flight_rises_from_12_to_20_degrees"),
    Check("warmest hour of the day", "Parton & Logan 1981", 13.86, "h", "0.011",
          _warmest_hour, f"{TEST_FLIGHT}::test_warmest_and_coldest_hours_are_parton_and_logans"),
)  # fmt: skip
TABLES = {"published models": PUBLISHED, "biology": BIOLOGY}
# Modules of verify/ whose output the page shows and `--long` renews.
LONG = ("kills", "calibration", "other_model", "running", "other_running", "visits_saving")


def rows_of(checks: tuple[Check, ...]) -> list[str]:
    """Rows of one table, header first."""
    rows = [
        "| what | source | theirs | ours | held to | figure | test |",
        "|---|---|---|---|---|---|---|",
    ]
    for check in checks:
        file, _, name = check.test.partition("::")
        rows.append(
            f"| {check.what} | {check.source} | {said(check.theirs)} {check.unit} "
            f"| {said(check.ours())} | {check.tolerance} | {check.status} "
            f"| [{name}](../{file}) |"
        )
    return rows


def said(value: float) -> str:
    """A value to five significant digits."""
    return f"{value:,.0f}" if abs(value) >= 1000.0 else shown(float(f"{value:.5g}"), 5)


def page_with_tables(text: str) -> str:
    """The page with the tables of checks as the code gives them now."""
    return with_tables(text, {name: rows_of(checks) for name, checks in TABLES.items()})


def trade_rows(figures: dict[str, float]) -> list[str]:
    """Rules of thumb of the trade beside the simulated swarms of known age."""
    cleared = [figures[f"clearance_median_days_{weeks}_weeks"] for weeks in (2, 3, 4)]
    stored = [figures[f"honey_over_5_kg_{weeks}_weeks"] for weeks in (3, 4, 6, 10)]
    late = figures["honey_left_median_kg_17_weeks"]
    grows = all(a < b for a, b in pairwise(stored))
    return [
        "| the trade says | we get | held? |",
        "|---|---|---|",
        "| two to four weeks old in season: cleared in four to six weeks (28 to 42 days) "
        f"| half are cleared by day {', '.join(f'{days:.0f}' for days in cleared)} at 2, 3, 4 "
        f"weeks | {_held_to_weeks(cleared)} |",
        "| past about a month it turns unreliable, for what is stored | chance of more than 5 kg "
        f"left: {', '.join(f'{share:.2f}' for share in stored)} at 3, 4, 6, 10 weeks "
        f"| {'in direction; a slope, not a step' if grows else 'no'} |",
        "| at four months tens of kilograms stay behind "
        f"| half leave more than {late:.0f} kg at 17 weeks, the range is above "
        f"| {'yes' if late >= 20.0 else 'only for the upper part of the range'} |",
    ]


def _held_to_weeks(cleared: list[float]) -> str:
    """Whether swarms of 2, 3 and 4 weeks are cleared in four to six, each said apart."""
    held = ["sooner" if days < 28.0 else "later" if days > 42.0 else "yes" for days in cleared]
    if len(set(held)) == 1:
        return held[0] if held[0] == "yes" else f"no, {held[0]}"
    return "; ".join(f"{how} at {weeks}" for weeks, how in zip((2, 3, 4), held, strict=True))


def engine_rows() -> list[str]:
    """What the engine gives where papers say what must come out, by the tests' own code."""
    sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "unit")]
    from lastbee.colony.layout import State
    from tests.reference import test_kernel_limits as limits

    rest = published.fed_rest_2013(0.154, limits.with_brood_loss())
    fed = limits.settle(limits.khoury_parameters(0.154, 5.0, 6_000.0, 1e6), 3000)
    typical, many = limits.first_season(1, 0.0), limits.first_season(300, 1.0)
    adults = limits.adults_of(typical)[:, 0]
    low = int(np.argmin(adults[:60]))
    thrives = limits.adults_of(many)[60] > 3000.0
    drawn = many[:, thrives, State.COMB]
    july, autumn = (limits.established(limits.date(2026, *day)) for day in ((7, 15), (9, 30)))
    lives = limits.adults_of(autumn) > 800.0
    sound = limits.adults_of(limits.established(limits.date(2026, 5, 1))) > 3000.0
    late = limits.adults_of(limits.established(limits.date(2026, 9, 15)))[sound] > 800.0
    eaten_kg = np.median(autumn[lives, State.HONEY_EATEN]) / 1000.0
    ninety = np.median(np.argmax(drawn >= 0.9 * drawn[-1], axis=0))
    fastest = np.diff(typical[:, :, State.COMB], axis=0).max()
    settled = 0.0 if rest is None else rest.hive_bees
    return [
        "| what | source | theirs | ours | held to | figure |",
        "|---|---|---|---|---|---|",
        f"| hive bees settled, fed, loss 0.154 a day, with the engine's loss of brood "
        f"| {K13} | {settled:,.0f} bees | {fed[State.HOUSE]:,.0f} | 1e-6 | {WORKED} |",
        f"| day on which a typical swarm is smallest | three weeks of brood, and a wait "
        f"| 21 or later | {low} | 20 to 32 | {PRACTICE} |",
        f"| share of the swarm left on that day | {PRACTICE} | about half "
        f"| {adults[low] / adults[0]:.2f} | 0.30 to 0.65 | {PRACTICE} |",
        f"| comb drawn on the best day of a typical swarm | Jardine 1840, a record | 4.7 dm2 "
        f"| {fastest:.1f} | under 4.7 | {PRINTED} |",
        f"| day by which nine tenths of the first season's comb stand | Lee & Winston 1985 | 44 "
        f"| {ninety:.0f} | 30 to 70 | {SECOND_HAND} |",
        f"| adults of an established colony in July | Page & Peng 2001, colonies at large "
        f"| 20,000 to 40,000 | {np.median(limits.adults_of(july)[lives]):,.0f} "
        f"| 10,000 to 40,000 | {PRINTED} |",
        f"| its comb | Seeley & Morse 1976 | 117 dm2 | {np.median(july[lives, State.COMB]):.0f} "
        f"| a factor of 2 | {MEMORY} |",
        f"| honey it eats in a summer | Seeley 2019 | 35 kg | {eaten_kg:.0f} | 40 % "
        f"| {SECOND_HAND} |",
        f"| sound May colonies alive in mid-September | Seeley 2017 | 97 % "
        f"| {100.0 * late.mean():.1f} | over 91 % | {PRINTED} |",
    ]


def page_with_long_outputs(text: str, names: tuple[str, ...]) -> str:
    """The page with what the long checks of these names print."""
    for name in names:
        command = f"python -m verify.{name}"
        done = subprocess.run(  # noqa: S603 - our own modules
            [sys.executable, *command.split()[1:]],
            cwd=ROOT, stdout=subprocess.PIPE, text=True, check=True,
        )  # fmt: skip
        place = rf"(<!-- output: {command} -->\n```text\n).*?(```)"
        text = filled(text, place, _of_all_jobs(done.stdout.splitlines()))
    return text


def _of_all_jobs(lines: list[str]) -> list[str]:
    """Leave out the tables of a part of the jobs."""
    kept, is_kept = [], True
    for line in lines:
        if line.endswith(" jobs"):
            is_kept = ", all: " in line
        if is_kept:
            kept.append(line)
    return kept


def page_with_simulations(text: str) -> str:
    """The page with what the engine gives, and simulated swarms of known age."""
    from verify.ages import table

    lines, figures = table()
    for place, body in (
        (r"(<!-- output: python -m verify.ages -->\n```text\n).*?(```)", lines),
        (r"(<!-- engine rows -->\n).*?(<!-- end of engine rows -->)", engine_rows()),
        (r"(<!-- trade rows -->\n).*?(<!-- end of trade rows -->)", trade_rows(figures)),
    ):
        text = filled(text, place, body)
    return text


def main() -> int:
    """Write, check or print the tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--check", action="store_true", help="write nothing, exit 1 if out of date")
    parser.add_argument("--print", action="store_true", help="print the tables, write nothing")
    parser.add_argument("--long", nargs="*", choices=LONG, metavar="NAME", help="long checks too")
    asked = parser.parse_args()
    if asked.print:
        for name, checks in TABLES.items():
            print("\n".join([name, "", *rows_of(checks), ""]))
        return 0
    text = PAGE.read_text(encoding="utf-8")
    fresh = page_with_simulations(page_with_tables(text))
    if asked.long is not None:
        fresh = page_with_long_outputs(fresh, tuple(asked.long) or LONG)
    return write_or_check(PAGE, fresh, "docs.outside_checks", only_check=asked.check)


if __name__ == "__main__":
    raise SystemExit(main())
