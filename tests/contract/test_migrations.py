"""The firm's file of every format so far opens in this program with all that is in it."""

from __future__ import annotations

import hashlib
import json
import shutil
import sqlite3
from contextlib import closing
from dataclasses import asdict
from pathlib import Path
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy.exc import OperationalError
from store_factory import NOW, note

import lastbee.store
from lastbee import __version__
from lastbee.errors import FileProblem
from lastbee.store import migrating
from lastbee.store.book import Book
from lastbee.store.tables import METADATA

RECORDS = Path(__file__).resolve().parent.parent / "data" / "records"
FILES = sorted(RECORDS.glob("format-*.lastbee"))
OWN = Path(lastbee.store.__file__).parent / "migrations"

NEXT_FORMAT = """
import sqlalchemy as sa
from alembic import op

revision, down_revision = "format_{format}", "format_{before}"

def upgrade() -> None:
    op.create_table("hives", sa.Column("name", sa.Text), sqlite_strict=True)
    with op.batch_alter_table("cards", table_kwargs={{"sqlite_strict": True}}) as cards:
        cards.add_column(sa.Column("colour", sa.Text))
        cards.alter_column("title", nullable=True)
    {more}
"""


def as_json(value: object) -> Any:
    """A record as the JSON beside a stored file has it."""
    return json.loads(json.dumps(value, default=str))


def found_in(book: Book) -> dict[str, Any]:
    """All that is in a file."""
    small = {sha: digest(content) for sha, content in small_pictures(book)}
    with book.reading() as reading:
        jobs = list(reading.jobs())
        asked = [found for job in jobs if (found := reading.forecast(job))]
        return as_json(
            {
                "entries": [asdict(entry) for entry in reading.entries()],
                "cards": [asdict(found) for job in jobs if (found := reading.card(job))],
                "devices": [asdict(device) for device in reading.devices()],
                "pictures": small,
                "settings": {"joining": reading.setting("joining")},
                "plans": {found.job: found.plan_json for found in asked if found.answered},
                "waiting": [found.job for found in reading.waiting(10)],
            }
        )


def small_pictures(book: Book) -> list[tuple[str, bytes | None]]:
    """Names and small twins of the pictures, each name being the digest of its picture."""
    with book.reading() as reading:
        names = list(reading.pictures())
        assert [digest(reading.picture(name)) for name in names] == names
        return [(name, reading.picture(name, small=True)) for name in names]


def digest(content: bytes | None) -> str:
    """SHA-256 of a picture."""
    return hashlib.sha256(content or b"").hexdigest()


def told(path: Path) -> dict[str, Any]:
    """What went into a stored file."""
    return json.loads(path.with_suffix(".json").read_text("utf-8"))


def copied(path: Path, folder: Path) -> Path:
    """A copy to open: a stored file stays as it is."""
    return Path(shutil.copy(path, folder / "firm.lastbee"))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_file_of_every_format_opens_with_all_that_is_in_it(path: Path, tmp_path: Path) -> None:
    with Book.open(copied(path, tmp_path), NOW) as book:
        assert found_in(book) == told(path)
        assert book.faults() == ()
        with book.writing() as writing:
            assert writing.append(note(1))
    before = [found.name for found in tmp_path.iterdir() if "before" in found.name]
    old = path.stem != f"format-{migrating.FORMAT}"
    assert before == [f"firm.lastbee.before-{__version__}"] * old


def test_there_is_a_file_of_every_format_and_the_page_names_its_origin() -> None:
    wanted = [f"format-{number}.lastbee" for number in range(1, migrating.FORMAT + 1)]
    assert sorted(path.name for path in FILES) == sorted(wanted)
    page = (RECORDS / "PROVENANCE.md").read_text("utf-8")
    assert [name for name in wanted if f"| {name} |" not in page] == []


def test_the_newest_migration_has_the_number_of_the_format() -> None:
    config = Config()
    config.set_main_option("script_location", migrating.MIGRATIONS)
    heads = ScriptDirectory.from_config(config).get_heads()
    assert heads == [f"format_{migrating.FORMAT}"]


def test_the_migrations_lead_to_the_tables_that_the_program_uses(tmp_path: Path) -> None:
    with Book.open(tmp_path / "firm.lastbee", NOW) as book, book.reading() as reading:
        context = MigrationContext.configure(
            reading._connection, opts={"compare_type": True, "compare_server_default": True}
        )
        assert compare_metadata(context, METADATA) == []
        tables = reading._connection.exec_driver_sql("PRAGMA table_list").mappings().all()
        lax = {row["name"] for row in tables if row["type"] == "table" and not row["strict"]}
    assert {name for name in lax if not name.startswith("sqlite_")} == {"alembic_version"}


def test_a_file_is_made_whatever_the_folder_the_program_runs_in(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Book.open(Path("firm.lastbee"), NOW).close()
    assert [path.name for path in tmp_path.iterdir()] == ["firm.lastbee"]


@pytest.fixture
def next_format(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A program with one more migration; its file, to be changed by a test."""
    folder = tmp_path / "migrations"
    shutil.copytree(OWN, folder)
    monkeypatch.setattr(migrating, "MIGRATIONS", str(folder))
    monkeypatch.setattr(migrating, "FORMAT", migrating.FORMAT + 1)
    script = folder / "versions" / f"format_{migrating.FORMAT}.py"
    script.write_text(next_migration("pass"))
    return script


def next_migration(more: str) -> str:
    """The text of one more migration."""
    return NEXT_FORMAT.format(format=migrating.FORMAT, before=migrating.FORMAT - 1, more=more)


def old_file(folder: Path) -> Path:
    """A file of the format before, in a folder of its own."""
    home = folder / "home"
    home.mkdir()
    return copied(RECORDS / f"format-{migrating.FORMAT - 1}.lastbee", home)


def columns(path: Path) -> list[str]:
    """Columns of the cards."""
    with closing(sqlite3.connect(path)) as other:
        return [row[1] for row in other.execute("PRAGMA table_info(cards)")]


@pytest.mark.usefixtures("next_format")
def test_an_older_file_is_copied_and_then_brought_up_to_date(tmp_path: Path) -> None:
    path = old_file(tmp_path)
    stored = RECORDS / f"format-{migrating.FORMAT - 1}.lastbee"
    with Book.open(path, NOW) as book:
        assert found_in(book) == told(stored)
    assert "colour" in columns(path)
    copy = path.with_name(f"firm.lastbee.before-{__version__}")
    assert "colour" not in columns(copy)
    assert sorted(found.name for found in path.parent.iterdir()) == [path.name, copy.name]
    with closing(sqlite3.connect(path)) as other:
        assert other.execute("PRAGMA user_version").fetchone() == (migrating.FORMAT,)
    Book.open(path, NOW).close()
    assert len(list(path.parent.iterdir())) == 2


@pytest.mark.usefixtures("next_format")
def test_a_copy_from_an_earlier_time_is_not_overwritten(tmp_path: Path) -> None:
    path = old_file(tmp_path)
    earlier = path.with_name(f"firm.lastbee.before-{__version__}")
    earlier.write_text("an earlier copy")
    Book.open(path, NOW).close()
    assert earlier.read_text() == "an earlier copy"
    dated = path.with_name(f"{earlier.name}.20260714-070000-000000")
    assert "colour" not in columns(dated)


@pytest.mark.parametrize(
    ("more", "error"),
    [
        ("op.execute('SELECT * FROM nothing')", OperationalError),
        ("raise RuntimeError", RuntimeError),
        ("op.execute('DROP TRIGGER jobs_no_delete'); op.execute('DELETE FROM jobs')", FileProblem),
    ],
)
def test_a_migration_that_fails_leaves_the_file_as_it_was(
    next_format: Path, tmp_path: Path, more: str, error: type[Exception]
) -> None:
    path = old_file(tmp_path)
    next_format.write_text(next_migration(more))
    with pytest.raises(error):
        Book.open(path, NOW)
    assert "colour" not in columns(path)
    next_format.write_text(next_migration("pass"))
    with Book.open(path, NOW) as book:
        assert found_in(book) == told(RECORDS / f"format-{migrating.FORMAT - 1}.lastbee")


def test_an_older_program_refuses_what_a_newer_one_brought_up_to_date(
    next_format: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = old_file(tmp_path)
    Book.open(path, NOW).close()
    monkeypatch.setattr(migrating, "FORMAT", migrating.FORMAT - 1)
    with pytest.raises(FileProblem, match="newer lastbee"):
        Book.open(path, NOW)
    assert next_format.exists()
