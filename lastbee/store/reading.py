"""What can be asked of the firm's file: all of it as it was when the first question was put."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from sqlalchemy import func, select

from lastbee.store.rows import card_from, device_from, entry_from, forecast_from
from lastbee.store.search import matching
from lastbee.store.tables import (
    HAS_QUESTIONS,
    cards,
    devices,
    entries,
    forecasts,
    jobs,
    pictures,
    plans,
    settings,
)

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator
    from datetime import date

    from sqlalchemy import ColumnElement, Connection, Select

    from lastbee.record.card import Card, Stage
    from lastbee.record.entry import Entry
    from lastbee.record.forecast import Forecast
    from lastbee.store.device import Device

# As many rows at a time as memory need hold.
_IN_PARTS = {"yield_per": 500}

_FORECASTS = select(forecasts, plans.c.answered, plans.c.answered_at, plans.c.plan_json).join_from(
    forecasts, plans, forecasts.c.job == plans.c.job, isouter=True
)


class Reading:
    """Questions to the file. What comes as an iterator must be read before the reading ends."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection

    def entries(self) -> Iterator[Entry]:
        """Every entry of the firm and its jobs, in the order in which they came in."""
        return self._entries(select(entries).order_by(entries.c.received))

    def entries_of(self, *of_jobs: str) -> tuple[Entry, ...]:
        """Entries of some jobs, in the order in which they came in; none for an unknown one."""
        asked = select(entries).where(entries.c.job.in_(of_jobs)).order_by(entries.c.received)
        return tuple(self._entries(asked))

    def firm_entries(self) -> tuple[Entry, ...]:
        """Entries that concern the whole firm, in the order in which they came in."""
        asked = select(entries).where(entries.c.job.is_(None)).order_by(entries.c.received)
        return tuple(self._entries(asked))

    def entry(self, id_: str) -> Entry | None:
        """The entry with that id."""
        return next(self._entries(select(entries).where(entries.c.id == id_)), None)

    def count_entries(self) -> int:
        """How many entries there are."""
        return self._number(select(func.count()).select_from(entries))

    def jobs(self) -> Iterator[str]:
        """Ids of all jobs, by their numbers."""
        asked = select(jobs.c.job).order_by(jobs.c.number)
        return iter(self._connection.scalars(asked, execution_options=_IN_PARTS))

    def number_of(self, job: str) -> int | None:
        """The number that a job got with its first entry."""
        return self._connection.scalar(select(jobs.c.number).where(jobs.c.job == job))

    def card(self, job: str) -> Card | None:
        """The card of a job."""
        return next(iter(self._cards(select(cards).where(cards.c.job == job))), None)

    def cards(
        self, stages: Collection[Stage] = (), search: str = "", limit: int = 50, offset: int = 0
    ) -> tuple[Card, ...]:
        """Cards of a list, the one that was touched last first.

        Parameters
        ----------
        stages
            Stages to show; empty for all.
        search
            Words that must occur, see `lastbee.store.search`; empty for all.
        limit, offset
            How many to give at most, and how many to leave out before them.
        """
        asked = select(cards).where(*_chosen(stages, search))
        asked = asked.order_by(cards.c.touched_at.desc(), cards.c.number.desc())
        return self._cards(asked.limit(limit).offset(offset))

    def count_cards(self, stages: Collection[Stage] = (), search: str = "") -> int:
        """How many cards `cards` would give without limit and offset."""
        asked = select(func.count()).select_from(cards).where(*_chosen(stages, search))
        return self._number(asked)

    def stage_counts(self) -> dict[Stage, int]:
        """How many jobs there are at each stage that any is at."""
        asked = select(cards.c.stage, func.count()).group_by(cards.c.stage)
        return {row[0]: row[1] for row in self._connection.execute(asked)}

    def due(self, until: date, limit: int = 50) -> tuple[Card, ...]:
        """Cards with something due on or before `until`, most urgent first.

        The order is urgency plus days overdue (days still to go count against it), then the
        older job first. It does not depend on what day it is.
        """
        asked = select(cards).where(cards.c.due_rank.is_not(None), cards.c.due_on <= until)
        return self._cards(asked.order_by(cards.c.due_rank.desc(), cards.c.number).limit(limit))

    def questions(self, limit: int = 50) -> tuple[Card, ...]:
        """Cards of jobs with entries that wait to be mended, the one touched last first."""
        asked = select(cards).where(HAS_QUESTIONS)
        asked = asked.order_by(cards.c.touched_at.desc(), cards.c.number.desc())
        return self._cards(asked.limit(limit))

    def forecast(self, job: str) -> Forecast | None:
        """The forecast of a job; None where none was ever asked for."""
        return next(iter(self.forecasts(job)), None)

    def forecasts(self, *of_jobs: str) -> tuple[Forecast, ...]:
        """The forecasts of some jobs, where any was ever asked for."""
        return self._forecasts(_FORECASTS.where(forecasts.c.job.in_(of_jobs)))

    def waiting(self, limit: int = 1) -> tuple[Forecast, ...]:
        """Forecasts that wait to be computed: most urgent first, then the older job."""
        asked = _FORECASTS.where(forecasts.c.state == "waiting")
        return self._forecasts(
            asked.order_by(forecasts.c.urgency.desc(), forecasts.c.job).limit(limit)
        )

    def picture(self, sha: str, small: bool = False) -> bytes | None:
        """A picture as JPEG, or its small twin; None where it is not kept."""
        column = pictures.c.small if small else pictures.c.jpeg
        return self._connection.scalar(select(column).where(pictures.c.sha == sha))

    def pictures(self) -> Iterator[str]:
        """Names (SHA-256 in hexadecimal digits) of all pictures, sorted."""
        asked = select(pictures.c.sha).order_by(pictures.c.sha)
        return iter(self._connection.scalars(asked, execution_options=_IN_PARTS))

    def has_picture(self, sha: str) -> bool:
        """Whether a picture is kept."""
        asked = select(pictures.c.sha).where(pictures.c.sha == sha)
        return self._connection.scalar(asked) is not None

    def devices(self) -> tuple[Device, ...]:
        """All devices that joined, the first first."""
        asked = select(devices).order_by(devices.c.joined_at, devices.c.id)
        return tuple(device_from(row) for row in self._connection.execute(asked).mappings())

    def device(self, id_: str) -> Device | None:
        """The device with that id, if it joined."""
        asked = select(devices).where(devices.c.id == id_)
        row = self._connection.execute(asked).mappings().first()
        return None if row is None else device_from(row)

    def setting(self, name: str) -> str | None:
        """A setting of this file; None where it was never set."""
        return self._connection.scalar(select(settings.c.value).where(settings.c.name == name))

    def _entries(self, asked: Select[*tuple[object, ...]]) -> Iterator[Entry]:
        """Put a question whose answer is entries."""
        rows = self._connection.execute(asked, execution_options=_IN_PARTS).mappings()
        return (entry_from(row) for row in rows)

    def _cards(self, asked: Select[*tuple[object, ...]]) -> tuple[Card, ...]:
        """Put a question whose answer is cards."""
        return tuple(card_from(row) for row in self._connection.execute(asked).mappings())

    def _forecasts(self, asked: Select[*tuple[object, ...]]) -> tuple[Forecast, ...]:
        """Put a question whose answer is forecasts."""
        return tuple(forecast_from(row) for row in self._connection.execute(asked).mappings())

    def _number(self, asked: Select[int]) -> int:
        """Put a question whose answer is a number."""
        return cast("int", self._connection.scalar(asked))


def _chosen(stages: Collection[Stage], search: str) -> list[ColumnElement[bool]]:
    """Give the conditions that narrow cards down to stages and words."""
    chosen: list[ColumnElement[bool]] = []
    if stages:
        chosen.append(cards.c.stage.in_(tuple(stages)))
    if search.strip():
        chosen.append(matching(search))
    return chosen
