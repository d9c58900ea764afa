"""The progress of a trap-out in ready words, section by section, for terminal and paper.

Like `lastbee.documents.outline`: both layouts set these words and choose none.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from lastbee.documents.answers import Answer, answers, likely_clear_on
from lastbee.documents.causes import (
    CauseLine,
    ReasonLines,
    cause_lines,
    far_fetched,
    reason_lines,
    settling_look,
)
from lastbee.documents.days import last_day
from lastbee.documents.lines import (
    LABELS,
    MADE_BY,
    METHOD_HEADS,
    Line,
    MethodLines,
    MilestoneLine,
    StepLines,
    alarm_lines,
    caution_lines,
    method_lines,
    milestone_heads,
    milestone_line,
    quantity_lines,
    said,
    sentences,
    step_lines,
    trust_lines,
)
from lastbee.documents.wording import (
    clean,
    day_or_later,
    days,
    one_in,
    percent,
    sentence,
    with_range,
)
from lastbee.words import day_words

if TYPE_CHECKING:
    from datetime import date

    from lastbee.jobs.plan import Band, Milestone
    from lastbee.jobs.progress import (
        Clearance,
        CloseOutRow,
        NextVisit,
        Progress,
        VisitDate,
        VisitRow,
    )

# A visit this rare, given all before it, is called odd.
ODD_BELOW = 0.05
# A day that costs no more than this above the best one is as good; one that costs a whole
# visit more is too late. In visits' worth of trouble.
AS_GOOD, TOO_DEAR = 0.25, 1.0
# What to do with what is left is told when a check is likely to clear it so soon.
NEAR_DAYS = 14

PROGRESS_HEADINGS = {
    "progress": "Progress",
    "changed": "What the last visit changed",
    "now": "How it stands",
    "causes": "What may explain it",
    "visit": "Next visit",
    "steps": "What to do next",
    "clearance": "Is it empty?",
    "left": "What to do with what is left",
    "closing": "Closing list",
    "methods": "The other ways, compared anew",
    "when": "When",
    "story": "Visit by visit",
    "sure": "How sure this is",
    "cautions": "Cautions",
    "job": "The job",
}

PROGRESS_LABELS = {
    "for": "For it",
    "against": "Against it",
    "if so": "If so",
    "settled": "One look settles it",
    "before": "before",
    "after": "now",
    "why": "Why",
    "bring": "Bring",
    "look for": "Look for",
    "other days": "Other days",
    "seen": "Seen",
    "did": "Done",
    "said": "Meant",
    "forecast": "Forecast",
    "honey": "Honey left",
    "risks": "Risks",
    "left": "Leaves",
}


@dataclass(frozen=True, slots=True)
class ChangeLine:
    """One figure of the forecast, without the last visit and with it."""

    label: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class NextLines:
    """The next visit; `details` holds why, other days and what to bring."""

    when: str
    hours: str
    details: tuple[Line, ...]
    look_for: tuple[str, ...]
    caution: str


@dataclass(frozen=True, slots=True)
class CheckLines:
    """One way to make sure, its three readings in the order of `check_heads`."""

    label: str
    cells: tuple[str, str, str]
    caution: str


@dataclass(frozen=True, slots=True)
class CloseOutLines:
    """One way to deal with what is left."""

    label: str
    status: str
    prose: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class StoryLines:
    """One visit; `parts` holds what was seen, done, concluded and forecast."""

    number: int
    date: str
    hour: str
    day: str
    parts: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class ProgressOutline:
    """The whole document in words. Empty tuples and strings mean: leave the part out."""

    title: str
    as_of: str
    facts: tuple[Line, ...]
    alarm: tuple[str, ...]
    answers: tuple[Answer, ...]
    changed: tuple[str, ...]
    changes: tuple[ChangeLine, ...]
    now: tuple[Line, ...]
    causes: tuple[CauseLine, ...]
    far_fetched: str
    reasons: tuple[ReasonLines, ...]
    settled_by: str
    next_visit: NextLines | None
    steps: tuple[StepLines, ...]
    clearance: str
    check_heads: tuple[str, str, str]
    checks: tuple[CheckLines, ...]
    close_out: tuple[CloseOutLines, ...]
    closing_list: tuple[str, ...]
    method_heads: tuple[str, str, str, str]
    methods: tuple[MethodLines, ...]
    milestone_heads: tuple[str, str, str]
    milestones: tuple[MilestoneLine, ...]
    story: tuple[StoryLines, ...]
    how_sure: tuple[str, ...]
    cautions: tuple[str, ...]
    made_by: str


def progress_outline(progress: Progress) -> ProgressOutline:
    """Put the progress of a trap-out into words.

    Parameters
    ----------
    progress
        The whole answer for a running trap-out.

    Returns
    -------
    Strings free of control codes, in reading order.
    """
    horizon = last_day(progress)
    is_near = is_closing_near(progress)
    return ProgressOutline(
        title=clean(progress.title) or "One trap-out",
        as_of=_as_of(progress),
        facts=_facts(progress),
        alarm=alarm_lines(progress.trust),
        answers=answers(progress),
        changed=sentences(progress.changed),
        changes=_changes(progress, horizon),
        now=quantity_lines(progress.now),
        causes=cause_lines(progress),
        far_fetched=far_fetched(progress),
        reasons=reason_lines(progress),
        settled_by=settling_look(progress),
        next_visit=None if progress.next_visit is None else _next_visit(progress.next_visit),
        steps=tuple(step_lines(step) for step in progress.steps),
        clearance=sentence(progress.clearance.words),
        check_heads=("from", "finds nothing", "sure then"),
        checks=_checks(progress.clearance),
        close_out=tuple(_close_out(row) for row in progress.close_out) if is_near else (),
        closing_list=sentences(progress.closing_list) if is_near else (),
        method_heads=METHOD_HEADS,
        methods=tuple(method_lines(row) for row in progress.methods),
        milestone_heads=milestone_heads(progress.clearance.confidence),
        milestones=tuple(milestone_line(item, horizon) for item in progress.milestones),
        story=_story(progress, horizon),
        how_sure=trust_lines(progress.trust),
        cautions=caution_lines(progress.cautions),
        made_by=MADE_BY,
    )


def is_closing_near(progress: Progress) -> bool:
    """Say whether it is time to think of what is left and of closing the wall."""
    if progress.kind in ("empty", "failed") or progress.clearance.is_clear:
        return True
    day = likely_clear_on(progress.clearance)
    return day is not None and (day - progress.as_of).days <= NEAR_DAYS


def _as_of(progress: Progress) -> str:
    """Name the last visit, its day and how long the cone has been on."""
    number = f"Visit {len(progress.visits)}, " if progress.visits else "As of "
    day = (progress.as_of - progress.cone_on).days
    return f"{number}{day_words(progress.as_of)}, day {day} of the cone"


def _facts(progress: Progress) -> tuple[Line, ...]:
    return said(
        Line("Place", clean(progress.place)),
        Line("Client", clean(progress.client)),
        Line("Cone on", day_words(progress.cone_on)),
        Line("Last visit", day_words(progress.as_of)),
        Line("Prepared by", clean(progress.prepared_by)),
    )


def _changes(progress: Progress, horizon: date | None) -> tuple[ChangeLine, ...]:
    """The forecast without the last visit and with it."""
    if not progress.visits:
        return ()
    last = progress.visits[-1]
    day = last.at.date()
    bees = tuple(
        _bees_on(band, progress.cone_on, day) for band in (last.bees_before, last.bees_after)
    )
    dates = [(item.likely, item.safe) for item in (last.empty_before, last.empty_after)]
    likely, safe = (
        tuple(day_or_later(d, horizon) for d in pair) for pair in zip(*dates, strict=True)
    )
    found = (
        ChangeLine(f"Bees in the wall on {day_words(day)}", *bees),
        ChangeLine("Empty, likely", *likely),
        ChangeLine(f"Empty, almost sure ({percent(progress.clearance.confidence)})", *safe),
    )
    return tuple(line for line in found if line.before and line.after)


def _bees_on(band: Band, cone_on: date, day: date) -> str:
    """Bees of a daily band on a day, in words; empty outside its days."""
    number = (day - cone_on).days
    if not 0 <= number < len(band.median):
        return ""
    return with_range(band.median[number], band.low90[number], band.high90[number])


def _next_visit(visit: NextVisit) -> NextLines:
    return NextLines(
        when=day_words(visit.on),
        hours=clean(visit.hours),
        details=said(
            Line(PROGRESS_LABELS["why"], sentence(visit.why)),
            Line(PROGRESS_LABELS["other days"], " ".join(_other_days(visit))),
            Line(PROGRESS_LABELS["bring"], clean(visit.bring)),
        ),
        look_for=sentences(visit.look_for),
        caution=sentence(visit.caution),
    )


def _other_days(visit: NextVisit) -> tuple[str, ...]:
    """Which other days would do as well, and from when it is too late."""
    weighed = visit.alternatives
    place = next((n for n, other in enumerate(weighed) if other.on == visit.on), None)
    if place is None:
        return ()
    limit = weighed[place].cost + AS_GOOD
    first = last = place
    while first > 0 and weighed[first - 1].cost <= limit:
        first -= 1
    while last + 1 < len(weighed) and weighed[last + 1].cost <= limit:
        last += 1
    window = days(weighed[first].on, weighed[last].on)
    found = (f"{window} is about as good.",) if first < last else ()
    return (*found, *_too_late(weighed[last + 1 :], weighed[place].cost + TOO_DEAR))


def _too_late(later: tuple[VisitDate, ...], limit: float) -> tuple[str, ...]:
    day = next((other.on for other in later if other.cost >= limit), None)
    return () if day is None else (f"From {day_words(day)} on, a visit's worth of trouble more.",)


def _checks(clearance: Clearance) -> tuple[CheckLines, ...]:
    """The checks that can make sure within the forecast; the words tell of the others."""
    return tuple(
        CheckLines(
            label=clean(check.label),
            cells=(day_words(check.on), percent(check.chance), percent(check.confidence_then)),
            caution=sentence(check.caution),
        )
        for check in clearance.checks
        if check.on is not None
    )


def _close_out(row: CloseOutRow) -> CloseOutLines:
    is_refused = row.status == "refused"
    return CloseOutLines(
        label=clean(row.label),
        status=row.status,
        prose=said(
            Line(PROGRESS_LABELS["honey"], clean(row.honey_left.words)),
            Line(LABELS["why not"], " ".join(sentences(row.forbidden_by))),
            Line(LABELS["change back"], " ".join(sentences(row.would_change))),
            Line(
                PROGRESS_LABELS["left"], "" if is_refused else " ".join(sentences(row.consequences))
            ),
            # What is refused is not going to be done: its risks are in the JSON.
            Line(PROGRESS_LABELS["risks"], "" if is_refused else " ".join(sentences(row.risks))),
        ),
    )


def _story(progress: Progress, horizon: date | None) -> tuple[StoryLines, ...]:
    return tuple(
        _visit(number, row, progress.cone_on, horizon)
        for number, row in enumerate(progress.visits, start=1)
    )


def _visit(number: int, row: VisitRow, cone_on: date, horizon: date | None) -> StoryLines:
    day = row.at.date()
    odds = f" ({one_in(row.surprise)} by chance)" if row.surprise < ODD_BELOW else ""
    return StoryLines(
        number=number,
        date=day_words(day),
        hour=f"{row.at:%H:%M}",
        day=f"day {(day - cone_on).days}",
        parts=said(
            Line(PROGRESS_LABELS["seen"], "; ".join(map(clean, row.seen))),
            Line(PROGRESS_LABELS["did"], "; ".join(map(clean, row.did))),
            Line(PROGRESS_LABELS["said"], sentence(f"{clean(row.said).rstrip('.')}{odds}")),
            Line(PROGRESS_LABELS["forecast"], _forecast(row, cone_on, horizon)),
        ),
    )


def _forecast(row: VisitRow, cone_on: date, horizon: date | None) -> str:
    """What was forecast after a visit: bees on that day, and when it is empty."""
    bees = _bees_on(row.bees_after, cone_on, row.at.date())
    parts = (f"{bees} bees in the wall" if bees else "", _empty(row.empty_after, horizon))
    return sentence("; ".join(filter(None, parts)))


def _empty(item: Milestone, horizon: date | None) -> str:
    if item.likely is None:
        return f"empty {day_or_later(None, horizon)}"
    if item.safe is None:
        return f"empty about {day_words(item.likely)}, but it may take far longer"
    return f"empty about {day_words(item.likely)}, almost surely by {day_words(item.safe)}"
