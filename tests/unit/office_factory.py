"""A small firm with one trap-out, and what computes forecasts in tests; nothing is random."""

from __future__ import annotations

from concurrent.futures import Executor, Future
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from lastbee.office.archive_form import line_of
from lastbee.office.desk import Desk
from lastbee.record.entry import Entry, new_id
from lastbee.store.book import Book

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

NOW = datetime(2026, 7, 14, 12, tzinfo=UTC)
CLIMATE = {
    "unit": "C",
    "high": [-1, 1, 6, 13, 20, 24, 27, 26, 22, 15, 8, 2],
    "low": [-11, -10, -5, 1, 7, 12, 15, 14, 10, 3, -2, -7],
    "wet_days": [12, 11, 12, 12, 13, 12, 11, 10, 10, 10, 12, 12],
}
FIRM = {
    "name": "Quiet Walls",
    "latitude": 43.1,
    "longitude": -72.4,
    "time_zone": "Etc/GMT+4",
    "climate": CLIMATE,
}


def id_of(name: str, at: datetime = NOW) -> str:
    """The same id for the same name."""
    return new_id(at, sha256(name.encode()).digest()[:10])


JOB = id_of("job")


def written(
    kind: str, known_as: str = "", job: str | None = JOB, hour: float = 0.0, **body: Any
) -> Entry:
    """An entry, written so many hours after noon UTC of the day."""
    at = NOW + timedelta(hours=hour)
    id_ = id_of(f"{kind} {known_as} {job}", at)
    return Entry(id_, job, kind, body, at, "phone", "M. Sedge")  # type: ignore[arg-type]


def correction(of: Entry, hour: float = 1.0, **body: Any) -> Entry:
    """An entry that stands in for another."""
    at = NOW + timedelta(hours=hour)
    id_ = id_of(f"correction of {of.id} at {hour}", at)
    return Entry(id_, of.job, of.kind, body, at, "office", "T. Wick", of.id)


def firm_entry() -> Entry:
    """The firm."""
    return written("firm", job=None, hour=-900.0, **FIRM)


def inspection(job: str = JOB, **more: Any) -> Entry:
    """An inspection that a forecast can be made from."""
    told = {"date": "2026-06-29", "time": "14:30", "traffic": {"minutes": 5, "out": 142}}
    site = {"place": "Orchard House", "latitude": 43.12, "longitude": -72.42}
    return written("inspection", job=job, hour=-360.0, inspection=told | more, site=site)


def decision(job: str = JOB) -> Entry:
    """A trap-out, decided on."""
    return written("decision", job=job, hour=-350.0, date="2026-06-30", way="trap-out")


def set_up(job: str = JOB) -> Entry:
    """Cone on."""
    return written("set-up", job=job, hour=-320.0, date="2026-07-01")


def visit(day: int, job: str = JOB, hour: float | None = None, **body: Any) -> Entry:
    """A visit on a day of July."""
    seen = {"date": f"2026-07-{day:02d}", "time": "13:30", "count": {"minutes": 5, "out": 14}}
    at = 24.0 * (day - 14) if hour is None else hour
    return written("visit", f"{day}", job, at, **(seen | body))


def trap_out(job: str = JOB) -> tuple[Entry, ...]:
    """A trap-out up to its first visit."""
    return inspection(job), decision(job), set_up(job), visit(3, job)


def desk_in(folder: Path, **more: Any) -> Desk:
    """A desk on a new file."""
    book = Book.open(folder / "firm.lastbee", NOW)
    desk = Desk(book, lambda: NOW, **more)
    desk.take_in([firm_entry()], strict=False)
    return desk


class InThisThread(Executor):
    """Does what it is given at once, by a stand-in for the computing."""

    def __init__(self, compute: Callable[..., str]) -> None:
        self.compute = compute

    def submit(self, fn: Any, /, *args: Any, **_: Any) -> Future[Any]:
        future: Future[Any] = Future()
        try:
            future.set_result(self.compute(*args))
        except Exception as error:
            future.set_exception(error)
        return future


class WorkshopInThisThread:
    """A workshop without another process."""

    def __init__(self, compute: Callable[..., str]) -> None:
        self.executor: Executor = InThisThread(compute)
        self.is_closed = False

    def heard(self) -> tuple[str, float] | None:
        """It is done before anybody can ask."""
        return None

    def close(self) -> None:
        """Note that it was closed."""
        self.is_closed = True


def desk_on(path: Path) -> Desk:
    """A desk on a file, an empty one where there is none."""
    return Desk(Book.open(path, NOW), lambda: NOW)


def all_of(desk: Desk) -> tuple[set[str], list[str]]:
    """Every entry as its line, and every picture's name."""
    with desk.book.reading() as reading:
        return {line_of(entry) for entry in reading.entries()}, list(reading.pictures())
