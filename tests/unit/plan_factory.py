"""Whole plans with invented jobs, for the tests of the documents.

The figures are made up to look like a job; nothing is claimed about colonies here.
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta

from lastbee.jobs.plan import (
    SCHEMA,
    Band,
    EvidenceRow,
    Look,
    MethodRow,
    Milestone,
    Plan,
    Quantity,
    Share,
    Step,
    Trust,
    Verdict,
)

CONE_ON = date(2026, 7, 14)
DAYS = 85


def quantity(
    key: str, label: str, unit: str, median: float, low: float, high: float, words: str
) -> Quantity:
    """Make a quantity; the words are given, as the planning side gives them."""
    return Quantity(key, label, unit, median, low, high, words)


def logistic(start: float, middle: float, width: float, day: int) -> float:
    """Fall from `start` to 0 around day `middle`."""
    return start / (1.0 + math.exp((day - middle) / width))


def band(key: str, label: str, starts: tuple[float, ...], middles: tuple[float, ...]) -> Band:
    """Make a falling band from the five starts and middles, lowest first."""
    rows = [
        tuple(
            0.0 if (value := logistic(start, middle, 4.0, day)) < 0.5 else value
            for day in range(DAYS)
        )
        for start, middle in zip(starts, middles, strict=True)
    ]
    return Band(key, label, "bees", *rows)


def wall_band() -> Band:
    """Bees left in the wall."""
    return band(
        "bees_in_wall",
        "Bees left in the wall",
        (5200.0, 7300.0, 9000.0, 11200.0, 16000.0),
        (13.0, 17.0, 20.0, 23.0, 29.0),
    )


def box_band() -> Band:
    """Bees in the box beside it."""
    wall = wall_band()
    joined = [9000.0 - value for value in wall.median]
    rows = [tuple(share * bees for bees in joined) for share in (0.3, 0.55, 0.7, 0.85, 1.2)]
    return Band("bees_in_box", "Bees in the box", "bees", *rows)


def day_on(offset: int) -> date:
    """Give the date `offset` days after the cone goes on."""
    return CONE_ON + timedelta(days=offset)


def milestones() -> tuple[Milestone, ...]:
    """Dates of a job that goes as hoped."""
    return (
        Milestone("cone", "Cone on", CONE_ON, CONE_ON, CONE_ON, "On a warm, calm morning."),
        Milestone("half", "Half of the bees out", day_on(12), day_on(19), day_on(27), ""),
        Milestone(
            "brood",
            "Last brood emerged",
            day_on(24),
            day_on(31),
            day_on(40),
            "Later if the queen goes on laying after the cone is on.",
        ),
        Milestone(
            "empty",
            "Last bee out of the wall",
            day_on(29),
            day_on(38),
            day_on(52),
            "Do not close the hole before the safe day without a look inside.",
        ),
        Milestone("robbed", "Honey carried out by the box", day_on(38), day_on(47), None, ""),
        Milestone("close", "Close the cavity", day_on(40), day_on(49), day_on(63), ""),
    )


def methods() -> tuple[MethodRow, ...]:
    """Six ways of the trade on the same axes."""
    return (
        MethodRow(
            "trap-out",
            "Trap-out: cone over the exit, box beside it",
            "recommended",
            quantity("bees_alive", "Bees alive", "%", 78, 55, 90, "about 78 % (55 to 90)"),
            quantity("honey", "Honey left", "kg", 1.4, 0.4, 3.6, "about 1.4 kg (0.4 to 3.6)"),
            quantity("weeks", "Weeks", "weeks", 7, 6, 9, "about 7 (6 to 9)"),
            quantity("visits", "Visits", "visits", 6, 5, 8, "about 6 (5 to 8)"),
            "The young nest holds little comb, so that little is left behind.",
            (),
            ("a second exit that cannot be closed",),
            ("Ladder work at 4.2 m: second person at the foot, never near a power line.",),
        ),
        MethodRow(
            "trap-out then open",
            "Trap-out, then open and clean",
            "possible",
            quantity("bees_alive", "Bees alive", "%", 78, 55, 90, "about 78 % (55 to 90)"),
            quantity("honey", "Honey left", "kg", 0, 0, 0.2, "none (up to 0.2 kg)"),
            quantity("weeks", "Weeks", "weeks", 7, 6, 9, "about 7 (6 to 9)"),
            quantity("visits", "Visits", "visits", 7, 6, 9, "about 7 (6 to 9)"),
            "Cleaner, at the price of a day's opening and making good.",
            (),
            (),
            ("Before opening: old paint may hold lead and old board asbestos; have it tested.",),
        ),
        MethodRow(
            "cut-out outside",
            "Cut-out from outside",
            "refused",
            quantity("bees_alive", "Bees alive", "%", 85, 70, 93, "about 85 % (70 to 93)"),
            quantity("honey", "Honey left", "kg", 0, 0, 0.3, "none (up to 0.3 kg)"),
            quantity("weeks", "Weeks", "weeks", 1, 1, 1, "1 (1 to 1)"),
            quantity("visits", "Visits", "visits", 2, 1, 3, "about 2 (1 to 3)"),
            "",
            ("The outside may not be opened: brick that the owner wants untouched.",),
            ("leave to take out and relay a strip of brick",),
            ("Stings in numbers: full suit, clear the path, know who is allergic.",),
        ),
        MethodRow(
            "cut-out inside",
            "Cut-out from inside",
            "refused",
            quantity("bees_alive", "Bees alive", "%", 82, 66, 91, "about 82 % (66 to 91)"),
            quantity("honey", "Honey left", "kg", 0.1, 0, 0.4, "about 0.1 kg (0 to 0.4)"),
            quantity("weeks", "Weeks", "weeks", 1, 1, 1, "1 (1 to 1)"),
            quantity("visits", "Visits", "visits", 2, 1, 3, "about 2 (1 to 3)"),
            "",
            ("An allergic person lives behind that wall.",),
            ("the person stays elsewhere for two days",),
            (),
        ),
        MethodRow(
            "leave",
            "Leave the colony where it is",
            "possible",
            quantity("bees_alive", "Bees alive", "%", 60, 20, 90, "about 60 % (20 to 90)"),
            quantity("honey", "Honey left", "kg", 18, 6, 40, "about 18 kg (6 to 40)"),
            None,
            None,
            "Comb and honey grow every week; every later way becomes harder.",
            (),
            (),
            (),
        ),
        MethodRow(
            "eradication",
            "Killing, as the last resort",
            "refused",
            quantity("bees_alive", "Bees alive", "%", 0, 0, 0, "none"),
            quantity("honey", "Honey left", "kg", 3.1, 1.2, 6.8, "about 3.1 kg (1.2 to 6.8)"),
            quantity("weeks", "Weeks", "weeks", 1, 1, 2, "about 1 (1 to 2)"),
            quantity("visits", "Visits", "visits", 2, 1, 3, "about 2 (1 to 3)"),
            "",
            ("A live way is open.", "Treated comb left in a wall rots and poisons robbers."),
            (),
            ("Chemicals: licensed operators only, by the label.",),
        ),
    )


def steps() -> tuple[Step, ...]:
    """What to do, in order."""
    return (
        Step(
            day_on(-4),
            day_on(-1),
            "Find and close every other gap; puff smoke into the exit and watch where it comes out",
            "two technicians",
            "mesh of 3 mm, sealant, smoker, ladder",
            "Heights: tie the ladder, one person at its foot; stay 3 m clear of the power line.",
        ),
        Step(
            CONE_ON,
            None,
            "Fit the cone over the last exit, tip up and clear of the wall; hang the box beside it",
            "two technicians",
            "cone with a 10 mm tip, bracket, box with a queenright nucleus, straps",
            "Stings: veil and gloves on before the first screw; keep the path closed for a day.",
        ),
        Step(
            day_on(2),
            day_on(3),
            "Watch for a quarter of an hour: no bee may go in anywhere",
            "one technician",
            "folding chair, mesh, sealant",
            "Bees that lost their way are short of temper: stand to the side of the flight line.",
        ),
        Step(
            day_on(7),
            None,
            "Count bees out of the cone for five minutes; look at the tip for dead bees",
            "one technician",
            "counter, wire, notebook",
            "Ladder: three points of contact, nothing in the hands while climbing.",
        ),
        Step(
            day_on(52),
            day_on(54),
            "Take the cone off, open the hole and let the box carry the honey out",
            "two technicians",
            "veil, entrance reducer",
            "Robbing draws wasps and strange bees, and can spread disease: not within reach of"
            " other hives, never from a nest that was sprayed.",
        ),
        Step(
            day_on(63),
            None,
            "Close the cavity for good and take the box away after dusk",
            "two technicians",
            "backing board, sealant, straps, screen for the box",
            "Box on the move: strap it, air it, and carry no passenger with an allergy.",
        ),
    )


def evidence() -> tuple[EvidenceRow, ...]:
    """Sightings, two of them at odds with the rest."""
    return (
        EvidenceRow(
            "traffic", "Bees counted at the exit",
            "96 out and 88 in within 5 minutes at 24 °C, sunny",
            "adults from about 7,000 to about 9,000; range narrowed by half", 1.42, 0.8, 0.41,
            "agrees",
        ),
        EvidenceRow(
            "first_seen", "When the client first saw bees", "Sat 20 Jun 2026",
            "age from about 40 days to about 25 days", 0.88, 0.9, 0.35, "agrees",
        ),
        EvidenceRow(
            "warm_area", "Warm patch on the wall", "14 dm² on the thermal picture",
            "brood a little larger", 0.21, 3.4, 0.08, "odd",
        ),
        EvidenceRow(
            "comb_colour", "Darkest comb seen", "brown",
            "comb of an earlier colony likelier, 8 % to 22 %", 0.33, 25.0, 0.003, "contradicts",
        ),
    )  # fmt: skip


def looks() -> tuple[Look, ...]:
    """Further looks, best first."""
    return (
        Look(
            "hole",
            "Small inspection hole, 8 mm, with a camera",
            1.6,
            "shows whether the comb is old; would settle the one reading that does not fit",
            "Before drilling: no cable, pipe or old board in the way; veil on.",
        ),
        Look(
            "count",
            "A second count at noon",
            0.4,
            "narrows the number of bees by about a quarter",
            "",
        ),
    )


def go_plan() -> Plan:
    """Make a plan that can be trusted and that says go."""
    wall = wall_band()
    # A stand-in for the chance that it is empty: any rising curve will do.
    empty_by = tuple(1.0 / (1.0 + math.exp((40.0 - day) / 4.0)) for day in range(DAYS))
    return Plan(
        schema=SCHEMA,
        title="Gable wall, 3 Alder Row",
        client="M. Example",
        place="3 Alder Row, Samplewick",
        prepared_by="T. Technician",
        inspected_on=date(2026, 7, 9),
        cone_on=CONE_ON,
        box="queenright nucleus",
        confidence=0.95,
        verdict=Verdict(
            "go",
            "trap-out",
            "Trap them out: the cone goes on on Tue 14 Jul 2026, the last bee is out about"
            " Fri 21 Aug 2026, and by Fri 4 Sep 2026 at the safe end",
            0.83,
            (
                "the colony is young, 3 to 5 weeks, with little comb",
                "honey left behind stays under the 5 kg limit in 9 cases of 10",
                "every other gap can be closed",
            ),
            (
                "comb older than two months behind the wall",
                "a second exit that cannot be closed",
            ),
        ),
        contents=(
            quantity("age", "Age of the colony", "days", 25, 19, 38, "about 25 days (19 to 38)"),
            quantity(
                "adults", "Bees", "bees", 9000, 5000, 16000, "about 9,000 bees (5,000 to 16,000)"
            ),
            quantity(
                "brood", "Brood", "cells", 11000, 6000, 17000,
                "about 11,000 cells (6,000 to 17,000)",
            ),
            quantity("honey", "Honey", "kg", 2.2, 0.8, 5.1, "about 2.2 kg (0.8 to 5.1)"),
            quantity(
                "comb", "Comb, both faces", "dm2", 62, 38, 96, "about 62 dm² on 5 combs (38 to 96)"
            ),
        ),
        founding=(
            Share("swarm", "a swarm into an empty cavity", 0.74),
            Share("old_comb", "a swarm onto comb of an earlier colony", 0.22),
            Share("established", "here for more than a season", 0.04),
        ),
        milestones=milestones(),
        bands=(wall, box_band()),
        empty_by=empty_by,
        left=(
            quantity("honey", "Honey", "kg", 1.4, 0.4, 3.6, "about 1.4 kg (0.4 to 3.6)"),
            quantity("comb", "Comb", "g", 310, 180, 500, "about 310 g of wax (180 to 500)"),
            quantity("dead", "Dead bees", "g", 35, 8, 140, "about 35 g (8 to 140)"),
            quantity("brood", "Dead brood", "g", 20, 0, 160, "about 20 g (0 to 160)"),
        ),
        consequences=(
            "honey may seep and stain in hot weather; at this amount a stain is unlikely",
            "wax smells of bees for years and calls later swarms: the hole must stay closed",
            "wax moths and beetles may come; a smell for some weeks is possible",
        ),
        queen=(
            Share("box", "in the box with her bees", 0.3),
            Share("dead", "dead in the wall", 0.58),
            Share("wall", "still alive in the wall on the safe day", 0.12),
        ),
        box_colony=(
            quantity(
                "bees", "Bees in the box at the end", "bees", 7000, 3200, 12000,
                "about 7,000 bees (3,200 to 12,000)",
            ),
            quantity("frames", "Frames of bees", "frames", 4, 2, 7, "about 4 frames (2 to 7)"),
        ),
        methods=methods(),
        steps=steps(),
        evidence=evidence(),
        looks=looks(),
        how_sure=(
            "nine colonies of ten should fall inside the ranges given here",
            "no published success rate exists for trap-outs; the model was checked against"
            " published colony models and practice, not against a trial of trap-outs",
        ),
        cautions=(
            "Stings can kill a person with an allergy: know who is near and where help is.",
            "This plan is a forecast. Local codes and licensed practice decide.",
        ),
        trust=Trust(True, 20000, 3400.0, 1, ("the weather is taken from assumed normals",)),
    )  # fmt: skip


def unsure_plan() -> Plan:
    """Make a plan that must not be relied on, with readings that contradict."""
    return replace(
        go_plan(),
        verdict=Verdict(
            "unsure",
            "trap-out",
            "Not yet: what was seen fits neither a young colony nor an old one",
            0.52,
            ("the dark comb contradicts what the client tells",),
            ("a small inspection hole", "a second count on a warm day"),
        ),
        trust=Trust(
            False,
            20000,
            41.0,
            7,
            (
                "only 41 of 20,000 simulated colonies look like this one",
                "the comb colour contradicts the date on which bees were first seen",
            ),
        ),
    )


def refuse_plan() -> Plan:
    """Make a plan that refuses, with nothing dated and nothing seen."""
    never = (
        Milestone("empty", "Last bee out of the wall", day_on(60), None, None, ""),
        Milestone("close", "Close the cavity", None, None, None, ""),
    )
    flat = (12000.0,) * DAYS
    high = (31000.0,) * DAYS
    wall = Band(
        "bees_in_wall", "Bees left in the wall", "bees", flat, (17000.0,) * DAYS,
        (22000.0,) * DAYS, (26000.0,) * DAYS, high,
    )  # fmt: skip
    rows = tuple(
        replace(row, status="refused", forbidden_by=row.forbidden_by or ("Too much comb.",))
        for row in methods()
    )
    return replace(
        go_plan(),
        title="Chimney",
        client="",
        place="Samplewick",
        prepared_by="",
        verdict=Verdict(
            "refuse",
            "cut-out outside",
            "Do not trap this one out: open the chimney breast, or leave the job",
            None,
            ("tens of kilograms of honey would stay behind",),
            (),
        ),
        milestones=never,
        bands=(wall,),
        empty_by=tuple(0.002 * day for day in range(DAYS)),
        founding=(),
        queen=(),
        box_colony=(),
        consequences=("honey will ferment, run and stain ceilings",),
        methods=rows,
        steps=(),
        evidence=(),
        looks=(),
        how_sure=(),
        cautions=(),
        trust=Trust(True, 20000, 9000.0, 1, ()),
    )


def bare_plan() -> Plan:
    """Make the emptiest plan that the contract allows."""
    return replace(
        refuse_plan(),
        title="",
        place="",
        box="",
        verdict=Verdict("refuse", "", "No", None, (), ()),
        contents=(),
        milestones=(),
        bands=(),
        empty_by=(),
        left=(),
        consequences=(),
        methods=(),
    )


def hostile_plan() -> Plan:
    """Make a plan whose user text holds other alphabets, markup and control codes."""
    return replace(
        go_plan(),
        title='Größe & Œuvre #panic("x") $a_1$ *b* `c` [red]not red[/red] :bee: <b> \\ {}',
        client="Ζωή Παπαδοπούλου, Юлия, עליזה, أمينة, 田中さくら, 🐝",
        place="Line one\nline two\twith a tab \x1b[31mand a code\x1b[0m \u202eturned",
        prepared_by='#import "secret.typ" // @label ~ -- --- "quoted" it\'s',
    )


def long_plan() -> Plan:
    """Make a plan with very long titles, notes and words without a break."""
    base = go_plan()
    return replace(
        base,
        title="A very long title that goes on about the gable wall and its neighbours " * 6,
        place="W" * 300,
        client="Long name " * 30,
        steps=tuple(replace(step, caution=step.caution + " Mind it well." * 12)
                    for step in base.steps * 2),
        methods=tuple(replace(row, note=(row.note + " There is more to say here.") * 3)
                      for row in base.methods),
        evidence=tuple(replace(row, reading=row.reading + ", seen again and again" * 5)
                       for row in base.evidence * 3),
        consequences=base.consequences * 3,
    )  # fmt: skip
