"""The guide to the field app says what is true: its commands, addresses, buttons and pictures."""

from __future__ import annotations

import html
import re
import shlex
from pathlib import Path
from typing import TYPE_CHECKING

import click
import pytest
from starlette.testclient import TestClient
from web_factory import NOW, handful

from docs import screens
from lastbee.cli.main import command
from lastbee.cli.options import Misread
from lastbee.office.desk import Desk
from lastbee.store.book import Book
from lastbee.web.app import build_app

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).resolve().parents[2]
GUIDE = (ROOT / "docs" / "field-app.md").read_text(encoding="utf-8")
README = (ROOT / "README.md").read_text(encoding="utf-8")
SHELL = re.compile(r"^```sh\n(.*?)^```", flags=re.DOTALL | re.MULTILINE)
FENCE = re.compile(r"^```.*?^```", flags=re.DOTALL | re.MULTILINE)
CODE = re.compile(r"`([^`\n]+)`")


def commands_in(text: str) -> list[str]:
    """Every command line of lastbee, in blocks and inline; its bare name inline is no line."""
    blocks = "\n".join(SHELL.findall(text)).replace("\\\n", " ").splitlines()
    inline = [one for one in CODE.findall(FENCE.sub("", text)) if one.count(" ") > 1]
    lines = (one.partition(">")[0] for one in (*blocks, *inline))
    return [line for line in lines if re.match(r"(\.venv/bin/)?lastbee ", line)]


def read_by_click(line: str) -> click.Context:
    """What the command line makes of a line, without running it."""
    _, name, *rest = shlex.split(line, comments=True)
    group = click.Context(command, info_name="lastbee", **command.context_settings)
    return command.commands[name].make_context(name, rest, parent=group)


LINES = sorted({*commands_in(GUIDE), *commands_in(README)})


def test_the_guide_goes_through_the_commands_of_the_record() -> None:
    named = {shlex.split(line)[1] for line in LINES}
    assert {"demo", "serve", "copy", "export", "import"} <= named


@pytest.mark.parametrize("line", LINES)
def test_every_command_line_is_one(line: str) -> None:
    context = read_by_click(line)
    assert not [value for value in context.params.values() if isinstance(value, Misread)]


@pytest.mark.parametrize("line", ["lastbee serve --phone", "lastbee export", "lastbee frobnicate"])
def test_a_command_line_that_is_none_would_be_found(line: str) -> None:
    with pytest.raises((click.UsageError, KeyError)):
        read_by_click(line)


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """The app of a small firm, in this process."""
    folder = tmp_path_factory.mktemp("firm")
    with Book.open(folder / "firm.lastbee", NOW) as book:
        desk = Desk(book, lambda: NOW)
        desk.take_in(handful(), strict=False)
        with TestClient(build_app(desk, clock=lambda: NOW), "http://localhost") as opened:
            yield opened


ADDRESSES = sorted({one for one in CODE.findall(GUIDE) if re.fullmatch(r"/[\w./-]*", one)})


def test_the_guide_names_the_parts_of_the_app() -> None:
    assert {"/", "/calls", "/jobs", "/people", "/firm", "/saved"} <= set(ADDRESSES)


@pytest.mark.parametrize("address", ADDRESSES)
def test_every_address_answers(client: TestClient, address: str) -> None:
    assert client.get(address).status_code == 200


def words_of_the_app() -> str:
    """All that templates, forms and scripts hold, in one line."""
    folder = ROOT / "lastbee" / "web"
    files = [path for kind in ("html", "js", "py") for path in sorted(folder.rglob(f"*.{kind}"))]
    text = "\n".join(path.read_text(encoding="utf-8") for path in files)
    return re.sub(r"\s+", " ", html.unescape(text))


BOLD = {re.sub(r"\s+", " ", one) for one in re.findall(r"\*\*(.+?)\*\*", GUIDE, flags=re.DOTALL)}
# What is bold and ends in a full stop is no label but said with weight.
LABELS = sorted(one for one in BOLD - {"bold"} if not one.endswith("."))
MADE_BY_CODE = {"Write down the visit": "Write down the {"}


@pytest.mark.parametrize("label", LABELS)
def test_every_button_and_heading_is_called_so(label: str) -> None:
    assert MADE_BY_CODE.get(label, label) in words_of_the_app()


@pytest.mark.parametrize("text", [GUIDE, README], ids=["guide", "README"])
def test_every_picture_of_the_app_is_one_that_is_renewed(text: str) -> None:
    shown = set(re.findall(r"images/(app_\w+)\.png", text))
    assert shown
    assert shown <= {name for name, *_ in screens.SCREENS}


def test_every_picture_is_there_and_small() -> None:
    sizes = {name: (screens.IMAGES / f"{name}.png").stat().st_size for name, *_ in screens.SCREENS}
    assert max(sizes.values()) < 150_000
