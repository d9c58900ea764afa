"""The page on judging calls says what the code does."""

from __future__ import annotations

from docs.triage_tables import PAGE, page_with_tables
from lastbee.triage import insects
from lastbee.triage.shares import FLOOR, LAPSE, TOPIC_CORRELATION


def test_the_tables_are_those_of_the_code() -> None:
    text = PAGE.read_text(encoding="utf-8")
    assert page_with_tables(text) == text, "run python -m docs.triage_tables"


def test_the_numbers_in_words_are_those_of_the_code() -> None:
    text = " ".join(PAGE.read_text(encoding="utf-8").split())
    most = round(100 * (1.0 - FLOOR * (len(insects.INSECTS) - 1)))
    for said in (
        f"1 + {TOPIC_CORRELATION:g}\\,(k - 1)",
        f"{100 * LAPSE:g} answers in 100",
        f"below $f$ = {100 * FLOOR:g} in 100, so none rises above {most}",
        "from 35 degrees of latitude towards 10",
    ):
        assert said in text
