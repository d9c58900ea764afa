"""The desk: everything that a page, a phone or a command asks of the firm's record.

A use case is one method and one transaction. What comes in is kept as it is; cards and
questions for the forecaster are worked out anew in the same breath, so that no list ever
lags behind what was written.
"""

from __future__ import annotations

import json
import os
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Self

from lastbee.office.case import Case, Plans
from lastbee.office.forecast_queue import RENEWED, ForecastQueue
from lastbee.office.renewal import day_at, knows_all, renew
from lastbee.office.weather import weather_near
from lastbee.record.card import OPEN_STAGES
from lastbee.record.entry import derived_id, new_id
from lastbee.record.firm import firm_of
from lastbee.record.forecast import Forecast
from lastbee.record.record import record_of
from lastbee.record.rules import not_yet, problems_of
from lastbee.record.tables import faults_of_body

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from datetime import date, datetime

    from lastbee.errors import Problem
    from lastbee.jobs.plan import Plan
    from lastbee.office.pictures import Picture
    from lastbee.office.weather import Weather
    from lastbee.record.card import Card, Stage
    from lastbee.record.entry import Entry
    from lastbee.record.firm import Firm
    from lastbee.record.record import Record
    from lastbee.store.book import Book
    from lastbee.store.reading import Reading
    from lastbee.store.writing import Writing

ID_BYTES = 10
CARDS_ON_A_PAGE = 50
MOST_OPEN = 1_000
NO_PICTURES: Mapping[str, Picture] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Receipt:
    """What became of entries that were handed in.

    Attributes
    ----------
    kept
        Ids of those that are new and now kept.
    was_there
        Ids of those that were kept before; handing in twice is no error.
    problems
        What is to be mended, over all entries; the field is the dotted key within the body.
    by_entry
        The same by the id of the entry.
    """

    kept: tuple[str, ...] = ()
    was_there: tuple[str, ...] = ()
    by_entry: Mapping[str, tuple[Problem, ...]] = field(default_factory=dict)

    @classmethod
    def of(
        cls,
        entries: Iterable[Entry],
        new: Iterable[Entry],
        by_entry: Mapping[str, tuple[Problem, ...]],
    ) -> Self:
        """Say what became of entries, of which those that are `new` were not there."""
        kept = dict.fromkeys(entry.id for entry in new)
        was_there = dict.fromkeys(entry.id for entry in entries if entry.id not in kept)
        return cls(tuple(kept), tuple(was_there), by_entry)

    @property
    def problems(self) -> tuple[Problem, ...]:
        """What is to be mended, over all entries."""
        return tuple(problem for problems in self.by_entry.values() for problem in problems)


@dataclass(frozen=True, slots=True)
class Listing:
    """One page of a list of jobs; `count` is that of all pages, `page` begins at 1."""

    cards: tuple[Card, ...]
    count: int
    page: int
    size: int

    @property
    def pages(self) -> int:
        """How many pages there are, at least one."""
        return max(1, -(-self.count // self.size))


@dataclass(frozen=True, slots=True)
class Today:
    """What the day asks for: `due` most urgent first, `questions` what waits to be mended."""

    day: date
    due: tuple[Card, ...]
    questions: tuple[Card, ...]


class Desk:
    """The use cases of the record; safe to use from several threads.

    Parameters
    ----------
    book
        The firm's file.
    clock
        Gives the moment, aware.
    randomness
        Gives so many random bytes.
    heard
        Called after something new was kept, so that a forecaster can be woken.
    """

    def __init__(
        self,
        book: Book,
        clock: Callable[[], datetime],
        *,
        randomness: Callable[[int], bytes] = os.urandom,
        heard: Callable[[], None] = lambda: None,
    ) -> None:
        self._book = book
        self._clock = clock
        self._randomness = randomness
        self._plans = Plans()
        self.heard = heard

    @property
    def book(self) -> Book:
        """The firm's file."""
        return self._book

    @property
    def queue(self) -> ForecastQueue:
        """The forecasts that wait to be computed."""
        return ForecastQueue(self._book, self._plans, self._clock)

    def now(self) -> datetime:
        """The moment, aware."""
        return self._clock()

    def day(self, firm: Firm | None = None) -> date:
        """The day at the firm."""
        return day_at(firm or self.firm(), self._clock())

    def new_id(self) -> str:
        """An id for a new job or entry."""
        return new_id(self._clock(), self._randomness(ID_BYTES))

    # What comes in

    def take_in(
        self,
        entries: Sequence[Entry],
        pictures: Mapping[str, Picture] = NO_PICTURES,
        *,
        strict: bool,
    ) -> Receipt:
        """Keep entries and their pictures.

        Parameters
        ----------
        entries
            In the order in which they were written.
        pictures
            Pictures by the SHA-256 of their full size.
        strict
            Whether a single problem keeps everything out, as on a form that can be mended at
            once. Otherwise all is kept, and the receipt says what waits to be mended.
        """
        with self._book.writing() as writing:
            firm = firm_of(writing.firm_entries())
            new = _new_ones(writing, entries)
            if strict and (faults := self._faults(writing, new, firm)):
                return Receipt(by_entry=faults)
            for sha, picture in pictures.items():
                writing.keep_picture(sha, picture.jpeg, picture.small_jpeg)
            for entry in new:
                writing.append(entry)
            records = self._renew_all(writing, new)
            receipt = Receipt.of(entries, new, _set_aside(writing, entries, records))
        if receipt.kept:
            self.heard()
        return receipt

    def bring_in(self, entries: Sequence[Entry], pictures: Mapping[str, Picture]) -> Receipt:
        """Keep what another record holds, without keeping others from writing meanwhile.

        Entries are kept all or none, after the pictures that they name. Cards follow one job at
        a time.
        """
        self._keep_pictures(pictures)
        with self._book.writing() as writing:
            new = _new_ones(writing, entries)
            for entry in new:
                writing.append(entry)
            # Should this program be cut off now, the next one does the rest.
            writing.keep_setting(RENEWED, "")
        self.queue.renew_jobs(dict.fromkeys(entry.job for entry in new if entry.job is not None))
        with self._book.reading() as reading:
            receipt = Receipt.of(entries, new, _set_aside(reading, entries, {}))
        if receipt.kept:
            self.heard()
        return receipt

    def _keep_pictures(self, pictures: Mapping[str, Picture]) -> None:
        """Keep each picture as soon as it is made, which takes a while."""
        for sha in pictures:
            with self._book.reading() as reading:
                is_kept = reading.has_picture(sha)
            if not is_kept:
                picture = pictures[sha]
                with self._book.writing() as writing:
                    writing.keep_picture(sha, picture.jpeg, picture.small_jpeg)

    def ask_again(self, job: str) -> None:
        """Have the forecast of a job computed once more, as after one that failed."""
        self.queue.ask_again(job)
        self.heard()

    # What is asked

    def case(self, job: str) -> Case:
        """All of one job.

        Raises
        ------
        LookupError
            If no entry belongs to a job with this id.
        """
        (case,) = self.cases(job)
        return case

    def cases(self, *jobs: str) -> tuple[Case, ...]:
        """All of some jobs, in the order in which they are named; see `case`."""
        with self._book.reading() as reading:
            told: dict[str, list[Entry]] = {job: [] for job in jobs}
            for entry in reading.entries_of(*told):
                told[str(entry.job)].append(entry)
            forecasts = {forecast.job: forecast for forecast in reading.forecasts(*told)}
            firm = firm_of(reading.firm_entries())
        today = self.day(firm)
        cases = []
        for job in jobs:
            if not told[job]:
                raise LookupError(f"no entry belongs to a job {job!r}")
            forecast = forecasts.get(job) or Forecast(job)
            plan = self._plans.plan_of(forecast)
            cases.append(Case(record_of(job, told[job], firm), forecast, plan, firm, today))
        return tuple(cases)

    def firm(self) -> Firm:
        """The firm, its people and its kit."""
        with self._book.reading() as reading:
            return firm_of(reading.firm_entries())

    def today(self, until: date | None = None, limit: int = CARDS_ON_A_PAGE) -> Today:
        """What is due by a day, the present one if none is named."""
        day = self.day()
        with self._book.reading() as reading:
            return Today(day, reading.due(until or day, limit), reading.questions(limit))

    def stage_counts(self) -> dict[Stage, int]:
        """How many jobs there are in each stage that any is in."""
        with self._book.reading() as reading:
            return reading.stage_counts()

    def cards(
        self,
        stages: Sequence[Stage] = (),
        search: str = "",
        *,
        page: int = 1,
        size: int = CARDS_ON_A_PAGE,
    ) -> Listing:
        """One page of the list of jobs in some stages (all if none is named)."""
        with self._book.reading() as reading:
            count = reading.count_cards(stages=stages, search=search)
            page = min(max(1, page), max(1, -(-count // size)))
            cards = reading.cards(
                stages=stages, search=search, limit=size, offset=(page - 1) * size
            )
        return Listing(cards, count, page, size)

    def forecast(self, job: str) -> Forecast:
        """How the forecast of a job stands; state "none" where there is no such job."""
        with self._book.reading() as reading:
            return reading.forecast(job) or Forecast(job)

    def entry(self, entry: str) -> Entry | None:
        """One entry by its id."""
        with self._book.reading() as reading:
            return reading.entry(entry)

    def picture(self, sha: str, *, small: bool = False) -> bytes | None:
        """A kept picture as JPEG, None if there is none."""
        with self._book.reading() as reading:
            return reading.picture(sha, small=small)

    def weather_at(self, job: str, at: datetime) -> Weather | None:
        """Weather that the crew wrote down near a job and near a moment, None without any."""
        with self._book.reading() as reading:
            firm = firm_of(reading.firm_entries())
            return weather_near(reading, job, at, firm)

    # Within

    def _renew_all(self, writing: Writing, new: Sequence[Entry]) -> dict[str, Record]:
        """Renew the jobs that entries belong to, and where the firm changed those that are open.

        The others follow in the background, see `ForecastQueue.renew_day`.
        """
        firm = firm_of(writing.firm_entries())
        jobs = {entry.job for entry in new if entry.job is not None}
        if any(entry.kind == "firm" for entry in new):
            jobs |= {card.job for card in writing.cards(OPEN_STAGES, limit=MOST_OPEN)}
        today = self.day(firm)
        return {job: renew(writing, job, firm, today, self._plans) for job in sorted(jobs)}

    def _faults(
        self, reading: Reading, new: Iterable[Entry], firm: Firm
    ) -> dict[str, tuple[Problem, ...]]:
        """What stands against each entry, given all those before it."""
        faults: dict[str, tuple[Problem, ...]] = {}
        told: dict[str, list[Entry]] = {}
        for entry in new:
            if entry.job is None:
                problems = faults_of_body(entry.kind, entry.body)
            else:
                if entry.job not in told:
                    told[entry.job] = list(reading.entries_of(entry.job))
                record = record_of(entry.job, told[entry.job], firm)
                last = reading.forecast(entry.job)
                plan = self._plans.plan_of(last)
                knows = plan is not None and knows_all(last, record)
                progress = plan.progress if plan is not None and knows else None
                problems = problems_of(record, entry, progress, _refused(plan))
                problems = problems or not_yet(entry, self._clock())
                told[entry.job].append(entry)
            if problems:
                faults[entry.id] = problems
        return faults


def _set_aside(
    reading: Reading, entries: Sequence[Entry], known: Mapping[str, Record]
) -> dict[str, tuple[Problem, ...]]:
    """The problems of those entries that cannot be used as they stand."""
    firm = firm_of(reading.firm_entries())
    found = {e.id: faults_of_body(e.kind, e.body) for e in entries if e.job is None}
    for job in dict.fromkeys(entry.job for entry in entries if entry.job is not None):
        record = known.get(job) or record_of(job, reading.entries_of(job), firm)
        found |= {told.entry.id: told.problems for told in record.set_aside}
    return {entry.id: found[entry.id] for entry in entries if found.get(entry.id)}


def _new_ones(reading: Reading, entries: Iterable[Entry]) -> tuple[Entry, ...]:
    """Those that are not kept yet, each once."""
    by_id: dict[str, Entry] = {}
    for entry in entries:
        by_id.setdefault(entry.id, entry)
    given = (_other_words(entry, reading.entry(entry.id)) for entry in by_id.values())
    return tuple(entry for entry in given if reading.entry(entry.id) is None)


def _other_words(entry: Entry, kept: Entry | None) -> Entry:
    """The entry; one whose id is taken by other words becomes a correction of those.

    Somebody went back to a form that was kept, changed a field and kept it once more.
    """
    if kept is None or (kept.job, kept.kind, kept.body) == (entry.job, entry.kind, entry.body):
        return entry
    is_same_thing = (kept.job, kept.kind) == (entry.job, entry.kind)
    again = derived_id(entry.id, json.dumps([entry.job, entry.kind, entry.body], sort_keys=True))
    return replace(entry, id=again, replaces=kept.id if is_same_thing else entry.replaces)


def _refused(plan: Plan | None) -> frozenset[str]:
    """Keys of the ways that a plan refuses."""
    methods = () if plan is None else plan.methods
    return frozenset(row.key for row in methods if row.status == "refused")
