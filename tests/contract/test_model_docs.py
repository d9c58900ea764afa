"""The page on the model says what the code does: tables, processes, items, numbers in words."""

from __future__ import annotations

import ast
import math
import re
from pathlib import Path

import numpy as np
import pytest
from scipy import special, stats

from docs.constants_table import page_with_tables, prior_of
from docs.parameters import SYMBOLS, ends_90
from lastbee.biology import constants as bio
from lastbee.biology import flight, season
from lastbee.biology.constants import PARAMETERS, Column, Parameter
from lastbee.colony import brood, course, founding, kernel, nest, robout, trap
from lastbee.colony.course import DeedKind, Trouble
from lastbee.evidence import at_cone, comb, counts, cues, in_box, outside, told, traffic
from lastbee.evidence.item import Positive, YesNo
from lastbee.forecast import (
    clearance,
    diagnosis,
    influence,
    posterior,
    proposals,
    prospects,
    sampler,
    tracking,
    trapout,
)
from lastbee.jobs import (
    assemble,
    comeback,
    explained,
    reasons,
    running_steps,
    standing,
    story,
    tracker,
    trust,
    verdict,
    visit_looks,
)
from lastbee.methods import closeout, compare, loss, outcomes, rules, schedule, visits
from lastbee.planning import sky

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "docs" / "model.md").read_text(encoding="utf-8")
# Line breaks of the page mean nothing.
PROSE = re.sub(r"\s+", " ", PAGE)


def test_the_tables_are_those_of_the_code() -> None:
    """Tests the page against the generator; `python -m docs.constants_table` mends it."""
    assert page_with_tables(PAGE) == PAGE


def processes_of(module: str) -> list[str]:
    """Names of the compiled functions at the top of a module."""
    tree = ast.parse((ROOT / module).read_text(encoding="utf-8"))
    return [n.name for n in tree.body if isinstance(n, ast.FunctionDef) and n.decorator_list]


ENGINE = [
    name for part in ("kernel", "brood", "nest", "trap")
    for name in processes_of(f"lastbee/colony/{part}.py")
]  # fmt: skip


@pytest.mark.parametrize(
    "name", [name for name in ENGINE if name not in ("_copy_out", "_so_many_threads")]
)
def test_every_function_of_the_engine_is_described(name: str) -> None:
    """Tests all but copying out and waking threads, which hold no biology."""
    assert f"`{name}`" in PAGE


def test_every_process_has_its_heading_in_the_order_of_the_day() -> None:
    tree = ast.parse((ROOT / "lastbee/colony/kernel.py").read_text(encoding="utf-8"))
    day = next(n for n in tree.body if isinstance(n, ast.FunctionDef) and n.name == "_live_day")
    calls = [n for n in ast.walk(day) if isinstance(n, ast.Call) and isinstance(n.func, ast.Name)]
    processes = [n.func.id for n in sorted(calls, key=lambda n: n.lineno)]  # type: ignore[attr-defined]
    assert {"lay", "forage", "build"} <= set(processes)
    headings = [
        name for line in re.findall(r"(?m)^### .*$", PAGE) for name in re.findall(r"`(\w+)`", line)
    ]
    assert [name for name in headings if name in processes] == processes


def test_every_parameter_has_a_symbol_of_its_own_that_the_equations_use() -> None:
    assert set(SYMBOLS) == set(Column)
    assert len(set(SYMBOLS.values())) == len(SYMBOLS)
    equations = PAGE[: PAGE.index("<!-- table: parameters -->")]
    unused = [
        column.name
        for column, symbol in SYMBOLS.items()
        if PARAMETERS[column].kind != "structural" and symbol not in equations
    ]
    assert unused == []


def test_ranges_are_those_of_the_priors() -> None:
    """Tests the 5 % and 95 % points worked by hand: 1.645 deviations either side."""
    wide = Parameter("x", "1", 2000.0, "lognormal", 0.15, "")
    assert prior_of(wide) == ("lognormal, 0.15", "1,600 to 2,600")
    assert 2000.0 * math.exp(-1.645 * 0.15) == pytest.approx(1563, abs=1)
    share = Parameter("x", "1", 0.5, "logit", 1.0, "")
    # 1 / (1 + exp(1.645)) = 0.162
    assert prior_of(share) == ("logit-normal, 1", "0.16 to 0.84")


def test_ends_of_a_range_are_those_of_scipy() -> None:
    """Tests both laws against SciPy's normal quantiles, put through exponential and logistic."""
    z = stats.norm.ppf([0.05, 0.95])
    assert ends_90("lognormal", 3.0, 0.7) == pytest.approx(tuple(3.0 * np.exp(0.7 * z)))
    share = special.expit(special.logit(0.15) + 1.5 * z)
    assert ends_90("logit", 0.15, 1.5) == pytest.approx(tuple(share))


@pytest.mark.parametrize("deviate", list(course.CourseDeviate), ids=lambda d: d.name)
def test_every_deviate_of_a_course_is_described(deviate: course.CourseDeviate) -> None:
    assert f"| `{deviate.name}` |" in PAGE


def rows_that_name(text: str, table: str) -> list[str]:
    """Rows of a generated table of the page that hold a text."""
    start = PAGE.index(f"<!-- table: {table} -->")
    rows = PAGE[start : PAGE.index("<!-- end of table -->", start)].splitlines()
    return [row for row in rows if text in row]


@pytest.mark.parametrize("trouble", list(Trouble), ids=lambda t: t.name)
def test_every_trouble_has_its_rows(trouble: Trouble) -> None:
    """Tests the tables against the counts in the code; an effect without a row must be in words."""
    assert len(rows_that_name(f"`{trouble.name}`", "troubles")) == 1
    rates = course.WORSE.get(trouble, {})
    assert len(rows_that_name(f"| `{trouble.name}` |", "rates under trouble")) == len(rates)
    assert rates or trouble in (Trouble.NONE, Trouble.SECOND_COLONY)
    ends = course.MENDS.get(trouble, {})
    assert len(rows_that_name(f"`{trouble.name}` ", "deeds")) == len(ends)


@pytest.mark.parametrize("deed", list(DeedKind), ids=lambda d: d.value)
def test_every_deed_has_its_row(deed: DeedKind) -> None:
    assert len(rows_that_name(f"| {deed.value} |", "deeds")) == 1


def test_how_much_trouble_there_is_is_told() -> None:
    """Tests "a little more than half", and "about half from the first day" by hand."""
    ill = {t: share for t, share in course.PRIOR.items() if t != Trouble.NONE}
    assert sum(course.PRIOR.values()) == pytest.approx(1.0)
    assert 0.5 < sum(ill.values()) < 0.56
    at_once = sum(share * course.ONSETS[t].at_once for t, share in ill.items())
    assert at_once / sum(ill.values()) == pytest.approx(0.5, abs=0.06)
    assert "A little more than half of all trap-outs are taken to meet trouble" in PROSE


@pytest.mark.parametrize("deviate", list(founding.Deviate), ids=lambda d: d.name)
def test_every_deviate_of_the_founding_is_described(deviate: founding.Deviate) -> None:
    assert f"| `{deviate.name}` |" in PAGE


@pytest.mark.parametrize(
    "module",
    ["traffic", "comb", "told", "cues", "at_cone", "outside", "in_box"],
    ids=lambda name: f"evidence.{name}",
)
def test_every_item_of_evidence_is_described(module: str) -> None:
    tree = ast.parse((ROOT / f"lastbee/evidence/{module}.py").read_text(encoding="utf-8"))
    public = [
        node.name
        for node in tree.body
        if isinstance(node, ast.ClassDef | ast.FunctionDef) and not node.name.startswith("_")
    ]
    assert public
    assert [name for name in public if f"`{name}`" not in PAGE] == []


def test_every_way_is_described() -> None:
    source = (ROOT / "lastbee/methods/compare.py").read_text(encoding="utf-8")
    keys = re.findall(r"\b_Draft\(\s*\"([^\"]+)\"", source)
    assert len(keys) >= 10
    assert [key for key in keys if f"`{key}`" not in PAGE] == []


def even_chance(item: YesNo) -> float:
    """The amount at which a look is as likely to say yes as no, in the middle of its bounds."""
    return float(item.cue.half)  # type: ignore[attr-defined]


# What the page says in words, with the numbers put in from the code. A sentence that is
# reworded is reworded here as well; a number that changes must be retold.
SENTENCES = [
    f"reference day of {bio.REFERENCE_FLIGHT_H:g} flight hours",
    f"{bio.WET_DAY_FLIGHT_SHARE:g} & u < P_{{wet}}",
    f"temperature (0 at {flight.COLD_STOP_DEGC:g} °C, 1 from {flight.FULL_FLIGHT_DEGC:g} °C",
    f"falling from {flight.HEAT_DECLINE_DEGC:g} °C to 0 at {flight.HEAT_STOP_DEGC:g} °C",
    f"light (full from {flight.FULL_LIGHT_W_M2:g} W/m2",
    f"falling from {flight.WIND_DECLINE_M_S:g} to {flight.WIND_STOP_M_S:g} m/s",
    f"lives the same year {season.HALF_YEAR_DAYS:g} days later",
    f"0 at {sky.NEST_DEGC:g} °C to 1 at {sky.NEST_DEGC - sky.FULL_COLD_FALL_DEGC:g} °C",
    f"within {sky.LEAST_LEAD_DAYS} days of that",
    f"nurses $n = N_h + {bio.FORAGER_NURSE_SHARE:g} F$",
    f"at most $3 n/{bio.WORKER_DAYS}$",
    f"{bio.CELLS_PER_DM2:g} A - B - f/{bio.HONEY_PER_CELL_G:g} - p/{bio.POLLEN_PER_CELL_G:g}$",
    f"1 - {bio.CHILL_PER_DAY:g} k (1 - \\text{{covered}})",
    f"| egg | 0 to 2 | ${1.0 - bio.EGG_LOSS_PER_DAY:g} \\text{{warm}}$ |",
    f"${1.0 - bio.LARVA_LOSS_PER_DAY:g} \\text{{warm}} (1 - {bio.YOUNG_LARVA_NEGLECT:g} (1",
    f"${1.0 - bio.LARVA_LOSS_PER_DAY:g} \\text{{warm}} (1 - {bio.OLD_LARVA_NEGLECT:g} (1",
    f"| capped | 9 to 20 | ${1.0 - bio.PUPA_LOSS_PER_DAY:g} \\text{{warm}}$ |",
    f"${1.0 - bio.DRONE_BROOD_LOSS_PER_DAY:g} \\text{{warm}} (1 - {bio.OLD_LARVA_NEGLECT:g} (1",
    f"Drones die at {bio.DRONE_LOSS_PER_DAY:g} a day",
    f"and {1000.0 * bio.SWARM_CROP_G:g} mg in the crop of each adult",
    f"\\text{{recruits}} = \\min(R \\Delta, {nest.MOST_RECRUITED:g}) H",
    f"\\min({nest.MOST_OUT:g}, \\psi \\varphi \\Delta)",
    f"\\min\\Big({nest.MOST_DESERTING:g}, u_0 \\frac{{K}}{{K + N}}",
    f"\\min(1, y + {nest.LEAST_POLLEN_OFFER:g}) g",
    f"an egg counting for {nest.EGG_POLLEN_SHARE:g} of a larva",
    f"smaller than {nest.ROOMY:g} of what the adults would cover",
    f"as the comb in use rises from {100.0 * nest.FILLED_FROM:.0f} to "
    f"{100.0 * (nest.FILLED_FROM + nest.FILLED_SPAN):.0f} %",
    f"\\min\\Big(1, {nest.CAVITY_SLOWS:g} \\frac{{A_{{\\max}} - A}}",
    f"no more than {nest.MOST_HONEY_TO_WAX:g} of the honey pays for",
    f"$r_j \\big(1 + X/(X + {trap.BOX_PULLS_HALF_BEES:g})\\big)$",
    f"$\\mu + {trap.BOX_FORAGES:g} m \\varphi$ a day",
    f"one that stays dies with fewer than {trap.QUEEN_DIES_BEES:g}.",
    f"no more than {trap.BOX_CELLS_A_BEE:g} cells to tend",
    f"${bio.STARVE_PER_DAY:g} x$ of house bees and foragers die",
    f"would cover at {bio.BEES_PER_DM2_SHEET:g} bees a dm2",
    f"With fewer than {bio.QUEEN_DECIDES_BEES:g} adults left",
    f"What share leaves is a prior, {founding.QUEEN_LEAVES_SHARE:g}.",
    "youngest foraging age, {} to {} days".format(*founding.YOUNGEST_FORAGING_AGES_DAYS),
    f"about {founding.SWARM_BEES:,.0f} | none",
    f"about {founding.OLD_COMB_DM2:g} dm2 | the same and what was left",
    f"about {founding.OLD_STORES_G / 1000.0:g} kg |",
    f"| start of the bee year | about {founding.WINTERED_BEES:,.0f} "
    f"| about {founding.WINTERED_COMB_DM2:g} dm2 "
    f"| about {founding.WINTERED_HONEY_G / 1000.0:g} kg |",
    f"{100.0 * founding.ESTABLISHED_SHARE:g} % of all colonies are established",
    f"standard deviation of {founding.SWARM_SPREAD_DAYS:g} days",
    f"{founding.SWARM_EARLIER_DAYS_PER_DEG:g} days earlier for each degree",
    f"{100.0 * founding.FILL_MEDIAN:g} % of the room used",
    f"{founding.NEST_COMB_DM2:g} dm2, the mean natural nest",
    f"$1 - e^{{-(N/{posterior.CALLED_BEES:g})^2}}$",
    f"+ {traffic.STRAYS_PER_MINUTE:g} \\Big)",
    f"$1/\\kappa = 1/{counts.CLUMPING:g} + ({counts.ACTIVITY_ERROR:g}/a)^2$",
    f"spread {100.0 * comb.AREA_SPREAD:g} % for an area",
    f"{100.0 * comb.COUNT_SPREAD:g} % for a number of combs",
    f"${comb.NEST_COMBS:g} (A/{founding.NEST_COMB_DM2:g})^{{{comb.COMBS_POWER:g}}}$ combs",
    f"a spread of {comb.COLOUR_SPREAD:g} of a step",
    f"a chance of {100.0 * comb.COLOUR_LAPSE:g} % that it says nothing",
    f"count as {comb.OLD_COMB_AGE_DAYS:g} days old",
    f"e^{{-(A/{comb.NO_COMB_DM2:g})^2}}",
    f"exponential delay of {told.NOTICE_DAYS:g} days",
    f"errs by some {told.MEMORY_DAYS:g} days, and {100.0 * told.MISLED:g} % of tales",
    f"on some day of the past {('four', 'five', 'six')[round(told.OLD_TALE_DAYS / 365) - 4]} years",
    f"{100.0 * told.OTHER_SWARM:g} % of swarms told of were others",
    f"**Warm patch** (`warm_area`). Lognormal, spread {cues.warm_area(1.0).spread:g}",
    f"**Hum** (`hum_span`). Lognormal, spread {cues.hum_span(1.0).spread:g}",
    f"`warm_to_hand` | cells of brood | {even_chance(cues.warm_to_hand(1.0)):,.0f} |",
    f"`pollen_carried` | larvae | {even_chance(cues.pollen_carried(1.0, 1.0)):,.0f} |",
    f"`drones_flying` | drones | {even_chance(cues.drones_flying(1.0, 1.0)):,.0f} |",
    f"`capped_brood_seen` | cells of capped brood "
    f"| {even_chance(cues.capped_brood_seen(1.0)):,.0f} |",
    f"`capped_honey_seen` | grams of honey | {even_chance(cues.capped_honey_seen(1.0)):,.0f} |",
    f"\\frac{{\\ell t F}}{{60 h}} \\Big) + {at_cone.CONE_STRAYS_PER_MINUTE:g} \\\\",
    f"\\frac{{r_b S + \\ell_t t F}}{{60 h}} + {at_cone.TIP_STRAYS_PER_MINUTE:g} \\\\",
    f"\\frac{{((\\ell - \\ell_t) F + F_2) t}}{{60 h}} + {outside.CRACK_STRAYS_PER_MINUTE:g} \\end",
    f"\\text{{deserting}}}}{{60 \\cdot {bio.REFERENCE_FLIGHT_H:g}}}",
    f"but {100.0 * traffic.MISTAKEN:g} % of counts of bees leaving, and "
    f"{100.0 * outside.MISPLACED:g} % of the others, are taken to be of something else, some "
    f"{traffic.MISTAKEN_PER_MINUTE:g} a minute",
    f"| one or more in {outside.WATCH_MINUTES:g} minutes, by",
    f"| {in_box.CROWDED_BOX:,.0f} bees in the box, or a fifth of that where they are leaving it",
    f"0.25 from {in_box.HOT_DEGC:g} °C, 0.9 to {in_box.COOL_DEGC:g} °C |",
    f"`hum_heard` | {even_chance(cues.hum_heard(1.0)):,.0f} adults |",
    f"`bees_seen_inside` | {even_chance(cues.bees_seen_inside(1.0)):,.0f} adults |",
    f"(`cluster_on_wall`, spread {outside.cluster_on_wall(1.0).measured.spread:g}) is expected "
    f"from about {outside.STRAGGLERS:g} bees; {outside.CLUSTER_BEES_PER_L:,.0f} bees a litre",
    f"(`frames_of_bees`, spread {in_box.FRAMES_SPREAD:g})",
    f"that forages {100.0 * in_box.OUT_AT_FULL_FLIGHT:g} % are out in full flight",
    f"is expected from {cues.WARM_SPOT_DM2:g} dm2 of warm comb",
    f"none up to {at_cone.FEW_DEAD:g} and many from {at_cone.MANY_DEAD:g} on: a third of two days' "
    f"dead of the wall, {at_cone.DEAD_IN_CONE:g} in a blocked cone, "
    f"{at_cone.DEAD_BY_FIGHTING:g} by fighting",
    f"{100.0 * at_cone.CONE_LAPSE:g} and {100.0 * at_cone.DEAD_LAPSE:g} % of words say nothing",
    f"at {in_box.BEE_G:g} g a bee and a cell, with {in_box.FRAME_KG:g} kg for each frame",
    f"with {in_box.GAIN_TAILS:g} degrees of freedom and an error of {in_box.GAIN_ERROR_KG:g} kg "
    f"and {100.0 * in_box.GAIN_ERROR_SHARE:g} % of the gain",
    f"from {100.0 * proposals.LEAST_CHANGED:.0f} to "
    f"{100.0 * proposals.MOST_CHANGED:.0f} %. Each half",
    f"does not arrive at 1 in {sampler.MOST_STAGES} stages",
    f"sampled again without it, with {influence.COLONIES_PER_ITEM:,} colonies",
    f"from {influence.IMAGINED_READINGS} imagined readings",
    f"under {reasons.HARDLY_BITS:g} bits the plan says",
    f"| contradicts | conflict of {reasons.CONTRADICTS_TIMES:g} or more, and surprise under "
    f"{reasons.CONTRADICTS_BELOW:g} |",
    f"| odd | conflict of {reasons.ODD_TIMES:g} or more, or surprise under "
    f"{reasons.ODD_ANYWHERE:g} |",
    f"followed for {trapout.TRAP_DAYS} days from the cone",
    f"\\sum_{{j=0}}^{{{trapout.EMPTY_BEES}}}",
    f"means at most {trapout.EMPTY_BEES} living bees",
    f"Why {trapout.EMPTY_BEES} is in",
    f"fewer than {trapout.EMPTY_BEES / 2.0:g} cells are left for good",
    f"dead capped cells at {trapout.DEAD_CELL_G:g} g and bees that died inside at "
    f"{trapout.DEAD_BEE_G:g} g",
    f"{robout.ROBBED_G_PER_ROBBER_DAY:g} g a robber and reference day",
    f"It never takes the last {100.0 * robout.UNREACHED_SHARE:g} %",
    f"allows {assemble.ROB_DAYS} days from the day after the safe date",
    f"+ {loss.ASK:g} [\\text{{leave not known}}]",
    f"+ {loss.DAMAGE:g} [\\text{{honey}} > \\text{{limit}}]",
    f"+ {loss.REMAIN:g} [\\text{{left}} > {loss.REMAINING_BEES:g}]",
    "| `cut-out outside` | {:.0f} to {:.0f} %".format(*(100 * x for x in outcomes.CUT_OUT_ALIVE)),
    "| {:.0f} to {:.0f} % reached".format(*(100 * x for x in outcomes.VACUUM_REACH)),
    f"ways within {compare.TIE_VISITS:g} visit of it count as tied",
    f"if there is under {outcomes.SWARM_COMB_DM2:g} dm2 of comb",
    f"stays, before any rob-out, is {100.0 * rules.TOO_LIKELY:g} % or more.",
    f"under {('zero', 'one', 'two', 'three')[int(rules.LEAST_FLIGHT_H)]} flight hours a day",
    f"moved the answer by less than {trust.LITTLE_KNOWN_BITS:g} bits",
    f"worth fewer than {trust.LEAST_EFFECTIVE:g} independent colonies",
    f"moved in fewer than {100.0 * trust.LEAST_ACCEPTANCE:g} % of its tries",
    f"none out of the cone in {clearance.CONE_MINUTES:g} minutes, none going in elsewhere in "
    f"{clearance.WALL_MINUTES:g}",
    f"on two days, {clearance.APART_DAYS} days apart",
    f"$1 - e^{{-h/{clearance.BEST_HOUR_H:g}}}$",
    f"{closeout.SMELL:g} visits more where over {closeout.SMELLING_G:g} g of dead brood",
    f"| `open and clean` | {100.0 * outcomes.OPENING_HONEY_MISSED:g} % "
    f"| {1.0 + 2.0 * outcomes.QUIET_OPENING_H:g} |",
    f"| {closeout.ROB_VISITS:g} | the wait for a dearth, and {closeout.ROB_DAYS // 7} |",
    f"box of under {closeout.STRONG_FRAMES:g} frames of bees",
    f"no dearth begins within {closeout.LONGEST_WAIT_DAYS} days",
    f"at the median dearth, is at most {closeout.DEARTH_FORAGE:g},",
    f"or within {rules.GO_ON_WEEKS} weeks from today",
    f"technician sees at this wall, log spread {course.COUNT_BIAS_SPREAD:g} |",
    f"the same of the bees in the box, log spread {course.BOX_BIAS_SPREAD:g} |",
    f"spreads over this wall, log spread {course.CLUSTER_BIAS_SPREAD:g} |",
    f"| cluster brushed in | {100.0 * course.BRUSHED_SHARE:g} % of the bees on the wall",
    f"| brood given | {course.BROOD_FRAME_CELLS:,.0f} cells of open brood a frame, "
    f"{course.BROOD_PULL:g} times the pull, a laying queen within {course.RAISED_QUEEN_DAYS:g} "
    "days",
    f"| queen given | {course.QUEEN_PULL:g} times the pull, a laying queen within "
    f"{course.GIVEN_QUEEN_DAYS:g} days",
    f"| fed | {course.SYRUP_G_PER_L:g} g of honey's worth a litre |",
    f"{100.0 * tracking.PILOT_SHARE:g} % of them go ahead",
    f"dealt out afresh, {100.0 * tracking.EVEN_SHARE:g} % evenly and the rest by what those found",
    f"{tracking.PASSING.a_stage} moves a stage, {tracking.PASSING.at_the_end} at the end of a "
    f"visit that others follow and {tracking.LAST.at_the_end} at the last",
    f"{tracker.RUNS:,} for the answer, {tracker.SCHEDULED_RUNS} for schedules, "
    f"{tracker.LOOKED_AT} for looks and checks, {story.STORY_RUNS} for each forecast",
    f"below {trust.LEAST_EFFECTIVE_TRACKED:g} the answer asks not to be relied on",
    f"less than {explained.LEAST_TIMES:g} times likelier one way or the other are not named, nor "
    f"more than {explained.MOST_SIGNS} a side, and none is said to be more than "
    f"{explained.MOST_TIMES:g} times likelier",
    f"{diagnosis.IMAGINED_VISITS} whole visits are imagined from {diagnosis.IMAGINED_FROM} "
    "trap-outs",
    f"A visit below {story.UNUSUAL:g} is called unusual. One below {trust.UNLIKE_ANYTHING:g} is",
    f"from {diagnosis.IMAGINED_READINGS} imagined readings, at a good hour "
    f"({visit_looks.GOOD_ACTIVITY:g} of full flight)",
    f"where no look tells {visit_looks.LEAST_BITS:g}, the one",
    f"moves by less than {story.MOVED_DAYS} days has not moved",
    f"| failed | from {standing.FAILED_AFTER_DAYS} days on: less than an even chance to be empty "
    f"within {standing.WORTH_WAITING_DAYS} more; from {standing.ENDLESS_AFTER_DAYS} days on: "
    f"{100.0 * standing.ENDLESS_SURE:g} % for trouble",
    f"| trouble | one trouble at {100.0 * standing.NAMED_FIRST:g} % or more",
    f"| unsure | all troubles together at {100.0 * standing.TROUBLED:g} % or more",
    f"| slow | likely empty more than {standing.SLOW_DAYS} days later",
    f"among the steps from {100.0 * running_steps.LIKELY_ENOUGH:g} % on",
    f"below {100.0 * standing.NAMED_FIRST:g} % the step is the look",
    f"It looks empty from {prospects.NEARLY_EMPTY_BEES} bees and brood on",
    f"$1 - e^{{-\\Delta/{visits.SAME_REASONS_DAYS:g}}}$",
    f"at {comeback.GOOD_SHARE:g} or more of that day's best",
    f"within {tracker.LATELY_DAYS} days with a chance of {tracker.MENDED:g} or more, or trouble is "
    f"going on with a chance of {tracker.TROUBLED:g}, only those of the next "
    f"{tracker.SOON_DAYS} days",
]


def plain(text: str) -> str:
    """The text without the spacing commands of formulas and with single spaces."""
    return re.sub(r"\s+", " ", re.sub(r"\\[,;]", " ", text.replace("\\!", "")))


@pytest.mark.parametrize("sentence", SENTENCES, ids=range(len(SENTENCES)))
def test_numbers_in_words_are_those_of_the_code(sentence: str) -> None:
    assert plain(sentence) in plain(PAGE)


def test_numbers_that_are_spelled_out_are_those_of_the_code() -> None:
    """Tests the figures that the page writes as words."""
    assert brood.FOUND_FREE_CELLS == 0.5
    assert "at most half of the free cells" in PROSE
    assert nest.SUBSTEPS == 2
    assert "Two explicit half-day steps" in PROSE
    assert nest.MEMORY_DAYS == 3.0
    assert "r + \\tfrac{1}{3}\\Big(" in PROSE
    assert nest.CARRIED_TO_BOX == 0.5
    assert "of which half is taken to reach the box" in PROSE
    assert (kernel.YOUNG_AT_START, kernel.FORAGERS_AT_START) == (0.33, 0.2)
    assert "A third of the bees are spread evenly" in PROSE
    assert "a fifth forage" in PROSE
    assert trap.BOX_HONEY_A_BEE_G == 0.5
    assert "half a gram of honey a bee" in PROSE
    assert trap.BOX_NEGLECT == 0.5
    assert "of what is more, half dies each day" in PROSE
    assert (sampler.Moves().a_stage, sampler.Moves().at_the_end) == (3, 6)
    assert "three moves a stage and six at the last" in PROSE
    assert sampler.LEAST_ESS_SHARE == 0.5
    assert "at half of the particles" in PROSE
    assert sampler.FAMILY_STAGES == 12
    assert "common ancestor twelve resamplings back" in PROSE
    assert sampler.NOISE_RENEWED == 0.25
    assert "one in four does so in a new stream of weather" in PROSE
    assert tracking.PASSING.a_stage == tracking.LAST.a_stage
    assert len(Trouble) == 10
    assert "There are ten explanations: the sound course, and nine *troubles*." in PROSE
    assert course.SMALL_LEAKS_LEFT == 0.5
    assert "half of the leak of the sound course goes" in PROSE
    assert running_steps.MOST_REMEDIES == 2
    assert "at most two of them" in PROSE
    assert (schedule.LATEST_DAYS, schedule.TIE_VISITS) == (28, 0.5)
    assert "Every day of the next four weeks" in PROSE
    assert "within half a visit of the least cost" in PROSE
    assert standing.FAILED_BELOW == 0.5
    assert set(standing.ENDLESS) == {Trouble.QUEEN_STAYS, Trouble.STALLED}
    assert "(a queen who stays, a stalled colony)" in PROSE
    assert rules.LONGEST_WEEKS == 10
    assert "to be empty within ten weeks" in PROSE
    assert verdict.PLAN_WEEKS == 8
    assert "being empty within eight weeks" in PROSE
    assert founding.AFTERSWARM_SHARE == 0.3
    assert "Three swarms in ten are led by a virgin" in PROSE
    assert founding.LATE_SWARM_SHARE == 0.1
    assert "a tenth of all swarms in late summer" in PROSE
    assert founding.OLD_COMB_SHARE_OF_SWARMS == 0.25
    assert "a quarter of swarms move into old comb" in PROSE
    assert robout.ROBBING_SHARE == 0.25
    assert "a quarter of the box robs" in PROSE
    assert trapout.NO_LAYING_EGGS == 5.0
    assert "fewer than five eggs a day" in PROSE
    assert (sky.SEASON_START_NORTH, sky.SEASON_START_SOUTH) == ((2, 15), (8, 15))
    assert "15 February in the north, 15 August in the south" in PROSE


def test_the_bounds_of_yes_and_no_at_a_visit_are_told() -> None:
    """Tests each row's false yes and miss, flight and heat at their best."""
    items = {
        "seen_going_in_elsewhere": outside.seen_going_in_elsewhere(1.0, 1.0, 10.0),
        "pollen_carried_in_elsewhere": outside.pollen_carried_in_elsewhere(1.0, 1.0, 10.0),
        "eggs_in_box": in_box.eggs_in_box(1.0),
        "queen_in_box": in_box.queen_in_box(1.0),
        "robbing_at_box": in_box.robbing_at_box(1.0, 1.0),
        "hanging_out_of_box": in_box.hanging_out_of_box(1.0, in_box.HOT_DEGC),
        "hum_heard": cues.hum_heard(1.0),
        "bees_seen_inside": cues.bees_seen_inside(1.0),
    }
    for name, item in items.items():
        (row,) = re.findall(rf"(?m)^\| [^|]* \| `{name}` \|.*$", PAGE)
        false_yes, missed = (cell.split()[0] for cell in row.split("|")[4:6])
        assert (float(false_yes), float(missed)) == pytest.approx(
            (item.cue.false_yes, item.cue.missed)
        )
    assert in_box.LEAVING_LIKE == 5.0
    assert outside.POLLEN_SHARE == 0.25
    assert (at_cone.DEAD_FOUND, at_cone.DEAD_LIE_DAYS) == (0.33, 2.0)
    assert at_cone.TIP_MISREAD == outside.MISPLACED


def test_the_pull_of_each_box_is_told() -> None:
    pulls = {name: box.pull for name, box in assemble.BOXES.items()}
    said = (
        f"{pulls['queenright nucleus']:g} for a nucleus with a queen, {pulls['open brood']:g} for "
        f"open brood, {pulls['lure']:g} for a lure, {pulls['empty comb']:g} for empty comb"
    )
    assert said in PROSE
    assert assemble.BOXES["open brood"].laying_delay_days == 28.0
    assert "after 28 days from open brood" in PROSE


def test_the_effect_of_the_flying_share_is_told() -> None:
    """Tests 1 - (1 - psi/2)^2 by hand: 0.75 in two half-day steps shuts out 61 %."""
    psi = PARAMETERS[Column.FLY].median
    shut_out = 1.0 - (1.0 - psi / 2.0) ** 2
    assert f"$\\psi = {psi:g}$ shuts out {100.0 * shut_out:.0f} % of the foragers" in PROSE


def test_sizes_are_items_with_a_floor() -> None:
    """Tests that the items told of as lognormal are of the kind that is."""
    assert isinstance(cues.warm_area(1.0), Positive)
    assert isinstance(cues.hum_span(1.0), Positive)
