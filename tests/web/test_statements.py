"""No page asks the firm's file more than a few questions, however much there is to show."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from bench.pages import addresses_of
from lastbee.office.demo_firm import demo_entries
from lastbee.office.desk import Desk

if TYPE_CHECKING:
    from collections.abc import Callable

    from starlette.testclient import TestClient

    from lastbee.store.book import Book

MOST_STATEMENTS = 9


@pytest.mark.parametrize("visits", [0, 4])
def test_every_page_of_a_working_day_asks_the_file_a_few_questions(
    book: Book, open_app: Callable[..., TestClient], visits: int
) -> None:
    desk = Desk(book, lambda: demo_entries()[-1].written_at)
    desk.take_in(demo_entries(), strict=False)
    client = open_app(filled=False)
    job = next(card.job for card in desk.cards(("trapping",)).cards if card.visits >= visits)
    asked = {}
    for address in addresses_of(job):
        with book.counting() as statements:
            status = client.get(address).status_code
        # Nothing is computed here, so no forecast can be shown in full.
        assert status == (404 if address.endswith("/forecast") else 200), address
        asked[address] = len(statements)
    assert {page: count for page, count in asked.items() if count > MOST_STATEMENTS} == {}
