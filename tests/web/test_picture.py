"""Kept photographs over HTTP."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import pytest
from PIL import Image

from lastbee.office.demo_firm_pictures import demo_pictures

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from lastbee.office.pictures import Picture


@pytest.fixture
def kept(client: TestClient) -> Picture:
    picture = demo_pictures()["knot hole"]
    client.app.state.desk.take_in([], {picture.sha256: picture}, strict=True)  # type: ignore[attr-defined]
    return picture


def test_full_and_small(client: TestClient, kept: Picture) -> None:
    full = client.get(f"/picture/{kept.sha256}.jpg")
    small = client.get(f"/picture/{kept.sha256}.jpg?small")
    assert (full.content, small.content) == (kept.jpeg, kept.small_jpeg)
    assert full.headers["content-type"] == "image/jpeg"
    assert Image.open(io.BytesIO(small.content)).width < Image.open(io.BytesIO(full.content)).width


def test_a_browser_keeps_it_and_no_one_between(client: TestClient, kept: Picture) -> None:
    """RFC 9111 5.2.2.7 (private) and RFC 8246 (immutable)."""
    told = client.get(f"/picture/{kept.sha256}.jpg").headers["cache-control"]
    assert {"private", "immutable"} <= set(told.split(", "))


@pytest.mark.parametrize("name", ["0" * 64, "nothing", "..%2Ffirm"])
def test_what_is_not_kept_is_not_there(client: TestClient, name: str) -> None:
    assert client.get(f"/picture/{name}.jpg").status_code == 404
