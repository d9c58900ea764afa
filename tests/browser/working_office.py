"""An office whose days go by and whose forecasts are computed in the tests' own thread."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from office_factory import WorkshopInThisThread
from web_factory import NOW

from lastbee.office.desk import NO_PICTURES, Desk
from lastbee.office.forecast_process import plan_as_json
from lastbee.office.forecast_queue import Order
from lastbee.office.forecaster import Forecaster
from lastbee.web.app import build_app
from tests.browser.living_office import Gate, LivingOffice

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from lastbee.office.pictures import Picture
    from lastbee.record.entry import Entry
    from lastbee.record.record import Record

COLONIES = 200
"""Too few for an answer to rely on, enough for every part of one."""


class WorkingOffice(LivingOffice):
    """Serves pages by a clock that the test sets, `now`."""

    def __init__(
        self,
        folder: Path,
        entries: Sequence[Entry],
        pictures: Mapping[str, Picture] = NO_PICTURES,
        **options: Any,
    ) -> None:
        super().__init__(folder, [])
        self.now = NOW
        self.desk = Desk(self._book, self._clock)
        self.desk.take_in(entries, pictures, strict=False)
        self.gate = Gate(build_app(self.desk, clock=self._clock, **options))

    def _clock(self):
        return self.now

    def record(self, job: str) -> Record:
        """All that was written about a job."""
        return self.desk.case(job).record

    def job_titled(self, title: str) -> str:
        """Id of the only job with that title."""
        (card,) = [one for one in self.desk.cards(search=title).cards if one.title == title]
        return card.job

    def compute_all(self) -> int:
        """Compute every forecast that waits, and say how many there were."""
        forecaster = Forecaster(
            self.desk.queue, lambda: WorkshopInThisThread(plan_as_json), colonies=COLONIES
        )
        return forecaster.run_all()

    def compute(self, job: str) -> None:
        """Compute the forecast of one job, whatever else waits."""
        asked = self.desk.forecast(job).asked
        order = Order(job, asked, self.record(job).checked_job())
        self.desk.queue.answer(order, plan_as_json(order.job, COLONIES))
