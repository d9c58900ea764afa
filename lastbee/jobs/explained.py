"""Explanations as rows for a person: what speaks for each, what against, what settles it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from lastbee.colony.course import Trouble
from lastbee.jobs.progress import TroubleRow
from lastbee.jobs.readings import reading_words
from lastbee.jobs.troubles import TOLD, caution_of
from lastbee.words import rounded, short_day_words

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.forecast.diagnosis import Explanation, Sign
    from lastbee.jobs.job import Job
    from lastbee.jobs.visit_looks import Tells
    from lastbee.methods.circumstances import Circumstances

# Readings less telling than this are not named; nor more than so many a side.
LEAST_TIMES, MOST_SIGNS = 2.0, 3
# No reading is said to be more telling than this: models are only models.
MOST_TIMES = 50.0


def trouble_rows(
    explained: tuple[Explanation, ...],
    still: NDArray[np.float64],
    tells: Tells,
    job: Job,
    c: Circumstances,
) -> tuple[TroubleRow, ...]:
    """One row for each explanation, in the order given.

    `still` is the probability of each trouble after what was done, by `Trouble`.
    """
    return tuple(_row(e, float(still[e.trouble]), tells, job, c) for e in explained)


def _row(e: Explanation, still: float, tells: Tells, job: Job, c: Circumstances) -> TroubleRow:
    told = TOLD[e.trouble]
    look = tells.best_for(e.trouble)
    return TroubleRow(
        key=told.key,
        label=told.label,
        probability=e.probability,
        still=still,
        speaks_for=_sentences([s for s in e.signs if s.log_odds > 0.0], e.trouble, job),
        speaks_against=_sentences([s for s in e.signs if s.log_odds < 0.0], e.trouble, job),
        settled_by=f"{look.label[:1].upper()}{look.label[1:]}.",
        remedy=told.remedy,
        caution=caution_of(e.trouble, c),
    )


def _sentences(signs: list[Sign], trouble: Trouble, job: Job) -> tuple[str, ...]:
    """The most telling readings, each with how telling it is."""
    telling = [s for s in signs if abs(s.log_odds) >= np.log(LEAST_TIMES)]
    telling.sort(key=lambda s: -abs(s.log_odds))
    return tuple(_sentence(s, trouble, job) for s in telling[:MOST_SIGNS])


def _sentence(sign: Sign, trouble: Trouble, job: Job) -> str:
    times = float(np.exp(min(np.log(MOST_TIMES), abs(sign.log_odds))))
    so, not_so = ("if it runs well", "with trouble") if trouble == Trouble.NONE else (
        "with this", "without it"
    )  # fmt: skip
    likelier, than = (so, not_so) if sign.log_odds > 0.0 else (not_so, so)
    on = short_day_words(job.visits[sign.visit].at.date())
    seen = f"{sign.item.label}, {on}: {reading_words(sign.item, job.preferences.units)}"
    factor = rounded(times, 1 if times < 10.0 else 2)
    return f"{seen}; {factor:.0f} times likelier {likelier} than {than}"
