"""The published schema of the progress is true, closed, and kept to by every document."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import jsonschema
import pytest
from progress_factory import PROGRESSES, leak_progress, story_plan

from lastbee.documents.as_json import (
    plan_to_json,
    progress_schema,
    progress_schema_text,
    progress_to_json,
)

if TYPE_CHECKING:
    from lastbee.jobs.progress import Progress

SCHEMAS = Path(__file__).parents[2] / "docs" / "schema"
ADDRESS = "urn:lastbee:lastbee.progress:1"


def checker(name: str) -> jsonschema.Draft202012Validator:
    """The published schema of a document, in the hands of an independent implementation."""
    schema = json.loads((SCHEMAS / f"{name}.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(
        schema, format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER
    )


def document_of(progress: Progress) -> dict[str, Any]:
    return json.loads(progress_to_json(progress))  # type: ignore[no-any-return]


def test_published_schema_is_the_one_that_the_records_give() -> None:
    published = json.loads((SCHEMAS / "progress.schema.json").read_text(encoding="utf-8"))
    assert published == progress_schema() == json.loads(progress_schema_text()), "run `make schema`"
    assert published["$id"] == ADDRESS


@pytest.mark.parametrize("progress", PROGRESSES.values(), ids=PROGRESSES)
def test_every_progress_keeps_to_it(progress: Progress) -> None:
    checker("progress").validate(document_of(progress))


@pytest.mark.parametrize("progress", [None, *PROGRESSES.values()], ids=["none", *PROGRESSES])
def test_a_plan_with_its_progress_keeps_to_the_schema_of_the_plan(progress: Progress) -> None:
    plan = replace(story_plan(), progress=progress)
    checker("plan").validate(json.loads(plan_to_json(plan)))


@pytest.mark.parametrize(
    "wrong",
    [
        {"extra": 1},
        {"schema": "lastbee.progress/2"},
        {"kind": "fine"},
        {"as_of": "29/07/2026"},
        {"next_visit": {}},
        {"troubles": [{"key": "leak"}]},
    ],
)
def test_what_is_not_a_progress_does_not_keep_to_it(wrong: dict[str, Any]) -> None:
    assert not checker("progress").is_valid({**document_of(leak_progress()), **wrong})


@pytest.mark.parametrize("key", ["clearance", "trust", "visits", "methods"])
def test_no_key_may_be_missing(key: str) -> None:
    document = document_of(leak_progress())
    del document[key]
    assert not checker("progress").is_valid(document)


def test_a_broken_progress_breaks_the_plan() -> None:
    document = json.loads(plan_to_json(story_plan()))
    document["progress"]["schema"] = "lastbee.progress/2"
    assert not checker("plan").is_valid(document)


def test_moments_carry_their_offset() -> None:
    # RFC 3339, section 5.6, which the format "date-time" stands for, asks for an offset.
    for visit in document_of(leak_progress())["visits"]:
        assert datetime.fromisoformat(visit["at"]).utcoffset() is not None
