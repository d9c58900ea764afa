"""The glossary explains the words that job file, plan and record put before people."""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args

import pytest

from lastbee.jobs import job, standing, visit
from lastbee.record.card import Stage
from lastbee.record.entry import KINDS

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "docs" / "glossary.md").read_text(encoding="utf-8")
ROWS = [
    tuple(cell.strip() for cell in line.strip("|").split("|"))
    for line in PAGE.splitlines()
    if line.startswith("| ") and not line.startswith("| word |")
]
WORDS = [word for word, _ in ROWS]


def test_no_word_is_explained_twice_or_without_words() -> None:
    assert len(WORDS) == len(set(WORDS))
    assert all(len(meaning) > 15 for _, meaning in ROWS)


@pytest.mark.parametrize("kind", [k for k in get_args(job.CavityKind) if k != "other"])
def test_every_kind_of_cavity_is_explained(kind: str) -> None:
    assert kind in WORDS


@pytest.mark.parametrize("contents", get_args(job.BoxContents))
def test_every_kind_of_box_is_explained(contents: str) -> None:
    assert f"box: {contents}" in WORDS


def test_every_way_is_explained() -> None:
    source = (ROOT / "lastbee" / "methods" / "compare.py").read_text(encoding="utf-8")
    keys = re.findall(r"\b_Draft\(\s*\"([^\"]+)\"", source)
    explained = {"trap-out then open": "quiet opening", "leave": "leave them"}
    missing = [
        key
        for key in keys
        if explained.get(key, key.removesuffix(" inside").removesuffix(" outside")) not in WORDS
    ]
    assert len(keys) >= 10
    assert missing == []


def test_every_word_for_how_a_trap_out_stands_is_explained() -> None:
    assert ", ".join(sorted(get_args(standing.Kind))) in WORDS


@pytest.mark.parametrize("word", [*get_args(visit.ConeState)[2:], "stalled", "leak", "robbing"])
def test_words_of_visits_are_explained(word: str) -> None:
    assert word in WORDS


@pytest.mark.parametrize("stage", get_args(Stage))
def test_every_stage_of_a_job_is_explained(stage: str) -> None:
    assert f"stage: {stage}" in WORDS


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_entry_is_explained(kind: str) -> None:
    assert f"entry: {kind}" in WORDS


@pytest.mark.parametrize(
    "word",
    [
        "entry", "correction", "rival", "set aside", "card", "due", "outbox", "stale forecast",
        "close-out", "certificate", "warranty", "callback", "joining link", "urgency",
    ],
)  # fmt: skip
def test_words_of_the_record_are_explained(word: str) -> None:
    assert word in WORDS
