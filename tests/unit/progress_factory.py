"""Whole answers for running trap-outs with invented jobs, for the tests of the documents.

The figures are made up to look like a job; nothing is claimed about trap-outs here.
"""

from __future__ import annotations

from dataclasses import replace

import plan_factory
from progress_pieces import (
    CONE_ON,
    DAYS,
    box_band,
    clearance,
    close_out,
    closing_list,
    day_on,
    empty,
    leak_troubles,
    leak_visits,
    next_visit,
    steps,
    trouble,
    visit,
    wall_band,
)

from lastbee.jobs.plan import Milestone, Plan, Step, Trust
from lastbee.jobs.progress import SCHEMA, Clearance, Progress


def leak_progress() -> Progress:
    """Make the progress of a trap-out that leaks, after three visits."""
    visits = leak_visits()
    return Progress(
        schema=SCHEMA,
        title="Gable wall, 3 Alder Row",
        client="M. Example",
        place="3 Alder Row, Samplewick",
        prepared_by="T. Technician",
        cone_on=CONE_ON,
        as_of=day_on(15),
        kind="trouble",
        headline="Bees that leave by the cone come home by another gap, so the wall will not"
        " empty before it is closed",
        changed=(
            "A leak is now the likeliest explanation, 83 % instead of 12 %",
            "The wall will be empty about two weeks later than forecast",
        ),
        now=(
            plan_factory.quantity(
                "wall", "Bees in the wall", "bees", 8900, 6100, 14000,
                "about 8,900 bees (6,100 to 14,000)",
            ),
            plan_factory.quantity(
                "box", "Bees in the box", "bees", 1900, 1000, 3400,
                "about 1,900 bees (1,000 to 3,400)",
            ),
            plan_factory.quantity(
                "honey", "Honey in the wall", "kg", 3.1, 0.9, 7.2, "about 3.1 kg (0.9 to 7.2)"
            ),
        ),
        bands=(wall_band(16.0, 0.8), box_band(16.0)),
        empty_by=tuple(
            1.0 - plan_factory.logistic(1.0, 55.0, 4.0, day) for day in range(DAYS)
        ),
        milestones=(
            empty(46, 54, 65),
            Milestone("close", "Close for good", day_on(66), day_on(66), day_on(66), ""),
        ),
        visits=visits,
        troubles=leak_troubles(),
        next_visit=next_visit(19),
        clearance=clearance(0.0003, first=54, later=61),
        close_out=close_out(),
        closing_list=closing_list(),
        methods=(),
        steps=steps(),
        cautions=("Stings can kill a person with an allergy: know where help is.",),
        trust=Trust(True, 20000, 2100.0, 1, ()),
    )  # fmt: skip


def working_progress() -> Progress:
    """Make the progress of a trap-out that works, after one visit, with no other suspect."""
    first = leak_visits()[0]
    return replace(
        leak_progress(),
        as_of=day_on(2),
        kind="working",
        headline="Bees leave by the cone as forecast, and none get back in",
        changed=("Nothing of note: the count fits the forecast",),
        bands=(wall_band(0.0, 0.8), box_band(0.0)),
        milestones=(empty(30, 38, 49),),
        visits=(first,),
        troubles=(
            trouble("sound", 0.93, speaks_for=("162 bees out in 5 minutes",),
                    remedy="Leave it alone until the next visit."),
            trouble("leak", 0.035, speaks_against=("none was seen going in",)),
        ),
        next_visit=next_visit(9),
        clearance=clearance(0.0, first=38, later=45),
        steps=(),
    )  # fmt: skip


def empty_progress() -> Progress:
    """Make the progress of a trap-out that is over: empty, and sure enough to close."""
    done = visit(
        44, 14, ("no bee out in 15 min", "no hum", "no warmth"), (), "nobody is left",
        late_days=(2.0, -2.0),
    )  # fmt: skip
    return replace(
        working_progress(),
        as_of=day_on(44),
        kind="empty",
        headline="The wall is empty",
        changed=("The chance that it is empty rose from 71 % to 97 %",),
        visits=(*leak_visits()[:2], done),
        next_visit=None,
        clearance=clearance(0.972, first=44, later=44),
        troubles=(),
        steps=(
            Step(
                day_on(46), day_on(60), "In a dearth, open the exit and let the box rob it out",
                "technician", "tools, entrance reducer",
                "Robbing draws other colonies and wasps; not after any spray.",
            ),
        ),
    )  # fmt: skip


def failed_progress() -> Progress:
    """Make the progress of a trap-out that has failed, with the other ways compared."""
    return replace(
        leak_progress(),
        as_of=day_on(15),
        kind="failed",
        headline="It will not be empty this season: the cavity has to be opened",
        milestones=(empty(90, None, None),),
        bands=(wall_band(70.0, 1.0), box_band(70.0)),
        next_visit=None,
        clearance=clearance(0.0, first=None, later=None),
        methods=plan_factory.methods(),
        steps=(
            Step(
                day_on(18), day_on(25), "Take the cone off and open the cavity from outside",
                "two technicians with a builder", "tools, tubs with lids, scaffold",
                "Before cutting: wires, pipes and ducts first. Old paint may hold lead, old board"
                " asbestos. Local codes and licensed practice decide.",
            ),
        ),
    )  # fmt: skip


def mended_progress() -> Progress:
    """Make a progress whose leak was found and closed at the last visit."""
    base = leak_progress()
    first, second, third, *rest = base.troubles
    *earlier, last = base.visits
    return replace(
        base,
        kind="working",
        headline="The leak that held it up has most likely been closed",
        visits=(*earlier, replace(last, did=("closed a gap",))),
        troubles=(
            replace(first, still=0.12), replace(second, still=0.1), replace(third, still=0.75),
            *rest,
        ),
    )  # fmt: skip


def unsure_progress() -> Progress:
    """Make a progress that must not be relied on, with two explanations level."""
    first, second, *rest = leak_troubles()
    return replace(
        leak_progress(),
        kind="unsure",
        headline="The visits fit two explanations about as well",
        troubles=(
            replace(first, probability=0.47, still=0.47),
            replace(second, probability=0.45, still=0.45),
            *rest,
        ),
        trust=Trust(False, 20000, 35.0, 7, ("only 35 of 20,000 simulated courses fit the visits",)),
    )


def many_visits_progress() -> Progress:
    """Make the progress of a slow trap-out with twelve visits."""
    visits = tuple(
        visit(
            3 + 5 * n, 10 + n % 6, (f"{170 - 12 * n} bees out in 5 min", "cone clear"),
            ("fed",) if n % 4 == 3 else (), "a little slower than forecast",
            late_days=(1.5 * n, 1.5 * n + 1.5),
        )
        for n in range(12)
    )  # fmt: skip
    return replace(
        leak_progress(),
        as_of=day_on(58),
        kind="slow",
        headline="It empties, but three weeks later than planned",
        visits=visits,
        bands=(wall_band(18.0, 0.8), box_band(18.0)),
        milestones=(empty(54, 62, 70),),
        troubles=(
            trouble(
                "stalled", 0.58,
                speaks_for=("few fly on fine days",),
                speaks_against=("the count falls a little at each visit",),
                settled_by="feel the wall for warmth at dawn",
                remedy="Wait for better flying weather once, count again",
                caution="Stings: suit and veil.",
            ),
            trouble("sound", 0.4),
            trouble("leak", 0.02),
        ),
        next_visit=next_visit(64),
        clearance=clearance(0.21, first=65, later=72),
        steps=(),
    )  # fmt: skip


def us_progress() -> Progress:
    """Make a progress whose words are in United States units."""
    base = leak_progress()
    return replace(
        base,
        now=(
            *base.now[:2],
            plan_factory.quantity(
                "honey", "Honey in the wall", "lb", 6.8, 2.0, 16.0, "about 6.8 lb (2 to 16)"
            ),
        ),
        visits=tuple(
            replace(row, seen=(*row.seen, "86 °F, sun", "cluster of 1 sq ft on the wall"))
            for row in base.visits
        ),
    )


def bare_progress() -> Progress:
    """Make the emptiest progress that the contract allows."""
    return replace(
        leak_progress(),
        title="",
        client="",
        place="",
        prepared_by="",
        kind="slow",
        headline="",
        changed=(),
        now=(),
        bands=(),
        empty_by=(),
        milestones=(),
        visits=(),
        troubles=(),
        next_visit=None,
        clearance=Clearance(0.0, 0.95, False, "", ()),
        close_out=(),
        closing_list=(),
        steps=(),
        cautions=(),
    )


def hostile_progress() -> Progress:
    """Make a progress whose user text holds other alphabets, markup and control codes."""
    base = leak_progress()
    return replace(
        base,
        title='Größe & Œuvre #panic("x") $a_1$ *b* `c` [red]not red[/red] :bee: <b> \\ {}',
        client="Ζωή Παπαδοπούλου, Юлия, 田中さくら, 🐝",
        place="Line one\nline two\twith a tab \x1b[31mand a code\x1b[0m \u202eturned",
        prepared_by='#import "secret.typ" // @label ~ -- --- "quoted" it\'s',
        headline="[bold]Bees[/bold] #pagebreak() come home \x1b[2J",
        visits=tuple(replace(row, said="#strong[x] [dim]y[/dim] \x07") for row in base.visits),
    )


def long_progress() -> Progress:
    """Make a progress with very long sentences and words without a break."""
    base = many_visits_progress()
    return replace(
        base,
        title="A very long title that goes on about the gable wall and its neighbours " * 3,
        place="W" * 200,
        headline="Bees leave by the cone more slowly than was forecast at any visit so far, and "
        * 3,
        visits=tuple(
            replace(row, seen=(*row.seen, "Donaudampfschifffahrtsgesellschaftskapitänsmütze" * 2))
            for row in base.visits
        ),
        troubles=tuple(
            replace(row, label=f"{row.label}, a long story that has to be told in full",
                    speaks_for=row.speaks_for * 4, remedy=f"{row.remedy} with great care " * 3)
            for row in leak_troubles()
        ),
    )  # fmt: skip


def story_plan(progress: Progress | None = None) -> Plan:
    """Make the plan of the same job with its progress."""
    return replace(plan_factory.go_plan(), progress=progress or leak_progress())


PROGRESSES = {
    "leak": leak_progress(),
    "working": working_progress(),
    "empty": empty_progress(),
    "mended": mended_progress(),
    "failed": failed_progress(),
    "unsure": unsure_progress(),
    "many": many_visits_progress(),
    "us": us_progress(),
    "bare": bare_progress(),
    "hostile": hostile_progress(),
    "long": long_progress(),
}
