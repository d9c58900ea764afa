"""The commands of the firm's record: which file, what they say, how they stop."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import urllib.request
from pathlib import Path
from typing import TYPE_CHECKING

import platformdirs
import pytest
from office_factory import NOW, desk_in

from lastbee.cli import serving
from lastbee.cli.main import run
from lastbee.cli.record_file import NAMED_BY
from lastbee.cli.serving import Door, checked_certificate, open_door, qr_of
from lastbee.errors import FileProblem, InvalidInput
from lastbee.office.joining import Joining, joining_secret
from lastbee.store.book import Book

if TYPE_CHECKING:
    from collections.abc import Iterator

Capture = pytest.CaptureFixture[str]
EXAMPLE = str(Path(__file__).resolve().parents[2] / "examples" / "meadowgate_visits.toml")
ANYWHERE = "0.0.0.0"  # noqa: S104  (nothing is bound in these tests)
WAIT_S = 60.0
_PROGRAM = "from lastbee.cli.main import main; main()"


@pytest.fixture(autouse=True)
def usual_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The user's data folder, in the place of the true one."""
    folder = tmp_path / "data"
    monkeypatch.setattr(platformdirs, "user_data_path", lambda *_, **__: folder / "lastbee")
    monkeypatch.delenv(NAMED_BY, raising=False)
    return folder / "lastbee"


@pytest.fixture
def record(tmp_path: Path) -> Path:
    """The file of a firm without jobs."""
    desk_in(tmp_path).book.close()
    return tmp_path / "firm.lastbee"


# Which file


def test_the_usual_file_is_made_where_the_system_keeps_data(
    usual_folder: Path, capsys: Capture
) -> None:
    assert run(["import", EXAMPLE]) == 0
    assert (usual_folder / "firm.lastbee").is_file()
    assert capsys.readouterr().out == "8 entries added, 0 there already\n"


def test_the_environment_names_a_file_and_the_command_line_another(
    tmp_path: Path, usual_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(NAMED_BY, str(tmp_path / "by_environment"))
    assert run(["import", EXAMPLE]) == 0
    assert run(["import", EXAMPLE, "--record", str(tmp_path / "by_option")]) == 0
    assert (tmp_path / "by_environment").is_file()
    assert (tmp_path / "by_option").is_file()
    assert not usual_folder.exists()


@pytest.mark.parametrize("words", [["copy", "x.lastbee"], ["export", "x.zip"]])
def test_nothing_is_made_by_taking_out(
    words: list[str], tmp_path: Path, usual_folder: Path, capsys: Capture
) -> None:
    assert run([words[0], str(tmp_path / words[1])]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert "firm.lastbee does not exist: name the firm's record with --record" in line
    assert not usual_folder.exists()


def test_a_name_that_no_file_can_have_is_told(capsys: Capture) -> None:
    assert run(["copy", "x", "--record", "a" * 5000]) == 2
    assert len(capsys.readouterr().err.splitlines()) == 1


def test_a_file_of_something_else_is_refused(tmp_path: Path, capsys: Capture) -> None:
    other = tmp_path / "letter.txt"
    other.write_text("Dear all", encoding="utf-8")
    assert run(["serve", "--record", str(other)]) == 2
    assert "is no lastbee record" in capsys.readouterr().err
    assert other.read_text(encoding="utf-8") == "Dear all"


# Copies, out and in


def test_a_copy_is_a_record_of_its_own(record: Path, tmp_path: Path, capsys: Capture) -> None:
    run(["import", EXAMPLE, "--record", str(record)])
    assert run(["copy", str(tmp_path / "copy.lastbee"), "--record", str(record)]) == 0
    assert capsys.readouterr().out.splitlines()[-1].endswith("copy.lastbee")
    run(["import", EXAMPLE, "--record", str(tmp_path / "copy.lastbee")])
    assert capsys.readouterr().out == "0 entries added, 8 there already\n"


def test_an_archive_goes_out_and_comes_in(record: Path, tmp_path: Path, capsys: Capture) -> None:
    run(["import", EXAMPLE, "--record", str(record)])
    archive = str(tmp_path / "firm.zip")
    assert run(["export", archive, "--record", str(record)]) == 0
    assert "1 job, 9 entries and 0 pictures written to" in capsys.readouterr().out
    assert run(["import", archive, "--record", str(tmp_path / "new")]) == 0
    assert capsys.readouterr().out == "9 entries added, 0 there already\n"


def test_tables_go_out_by_the_ending_of_their_name(record: Path, tmp_path: Path) -> None:
    run(["import", EXAMPLE, "--record", str(record)])
    assert run(["export", str(tmp_path / "a.CSV"), "--record", str(record)]) == 0
    assert run(["export", str(tmp_path / "a.geojson"), "--record", str(record)]) == 0
    assert (tmp_path / "a.CSV").read_bytes().count(b"\r\n") == 1 + 4
    assert '"FeatureCollection"' in (tmp_path / "a.geojson").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["export", "firm.xls"], "end the name in .zip"),
        (["import", "firm.xls"], "name an archive"),
        (["export", "no/folder/firm.csv"], "cannot be written"),
        (["export", "no/folder/firm.zip"], "cannot be written"),
        (["import", "none.toml"], "does not exist"),
        (["import", "none.zip"], "cannot be read"),
        (["copy", "."], "is a folder"),
    ],
)
def test_what_cannot_be_carried_is_one_sentence(
    words: list[str], said: str, record: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    monkeypatch.chdir(record.parent)
    assert run([*words, "--record", str(record)]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert said in line


def test_what_waits_to_be_mended_is_told(record: Path, tmp_path: Path, capsys: Capture) -> None:
    from office_factory import visit

    from lastbee.office.desk import Desk
    from lastbee.office.exchange import write_archive

    with Book.open(tmp_path / "other", NOW) as book:
        desk = Desk(book, lambda: NOW)
        desk.take_in([visit(3)], strict=False)
        write_archive(desk, tmp_path / "other.zip")
    assert run(["import", str(tmp_path / "other.zip"), "--record", str(record)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[:2] == [
        "1 entry added, 0 there already",
        "1 entry kept, and waiting to be mended:",
    ]
    assert "set-up" in lines[2]


# The door


def test_a_port_that_is_taken_is_told(record: Path, capsys: Capture) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        for words in (["serve", "--record", str(record)], ["demo"]):
            assert run([*words, "--port", port]) == 2
            (line,) = capsys.readouterr().err.splitlines()
            assert line.startswith(f"lastbee: --port is {port}: give another port")


@pytest.mark.parametrize("host", ["192.0.2.1", "no such name", "x" * 300])
def test_an_address_of_another_computer_is_told(host: str) -> None:
    # An address kept for documentation (RFC 5737).
    with (
        pytest.raises(InvalidInput, match=r"--host is .*address of this computer"),
        open_door(host, 0),
    ):
        pass


def test_options_of_serve_are_told_all_at_once(record: Path, capsys: Capture) -> None:
    words = ["serve", "--record", str(record), "--port", "99999", "--key", "key.pem"]
    assert run(words) == 2
    lines = capsys.readouterr().err.splitlines()
    assert lines[0] == "lastbee: 2 things to mend:"
    assert "--port is '99999': give a whole number from 0 to 65,535." in lines[1]
    assert "--certificate is missing: give --certificate and --key together." in lines[2]


def test_a_certificate_that_is_none_is_told(tmp_path: Path) -> None:
    path = tmp_path / "a.pem"
    with pytest.raises(FileProblem, match="cannot be read"):
        checked_certificate(path, path)
    path.write_text("no certificate", encoding="utf-8")
    with pytest.raises(FileProblem, match=r"is no certificate that a\.pem is the key of"):
        checked_certificate(path, path)
    assert checked_certificate(None, None) is None


@pytest.fixture
def listening() -> Iterator[socket.socket]:
    """A socket of this computer alone."""
    with open_door("127.0.0.1", 0) as opened:
        yield opened


@pytest.mark.parametrize(
    ("host", "alone"),
    [
        ("127.0.0.1", True),
        ("127.8.9.10", True),
        ("localhost", True),
        ("::1", True),
        (ANYWHERE, False),
        ("::", False),
        ("192.0.2.7", False),
        ("office.example", False),
    ],
)
def test_only_addresses_of_this_computer_need_no_secret(
    host: str, alone: bool, listening: socket.socket
) -> None:
    # All addresses that begin with 127, and ::1 (RFC 1122, 3.2.1.3; RFC 4291, 2.5.3).
    door = Door(listening, host)
    assert door.is_on_this_computer is alone
    assert bool(door.names) is not alone


def test_the_address_names_what_others_can_reach(
    listening: socket.socket, monkeypatch: pytest.MonkeyPatch
) -> None:
    port = listening.getsockname()[1]
    other = "192.0.2.7"
    monkeypatch.setattr(serving, "_own_address", lambda: other)
    assert Door(listening, ANYWHERE).address == f"http://{other}:{port}/"
    assert Door(listening, "::1").address == f"http://[::1]:{port}/"
    paths = serving.Certificate(Path("a"), Path("b"))
    assert Door(listening, "office.example", paths).address == f"https://office.example:{port}/"


def test_the_qr_code_is_drawn_only_where_it_can_be(
    monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    drawn = qr_of("https://office.example/join/x")
    lines = drawn.splitlines()
    assert len({len(line) for line in lines}) == 1
    assert set(drawn) <= set("█▀▄ \n")

    class Plain:
        encoding = "ascii"

    monkeypatch.setattr(sys, "stdout", Plain())
    assert qr_of("https://office.example/join/x") == ""


# Running, as a program of its own


def started(*words: str, **more: str) -> subprocess.Popen[str]:
    """The command in a process of its own."""
    return subprocess.Popen(
        [sys.executable, "-c", _PROGRAM, *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1", **more},
    )


def address_of(program: subprocess.Popen[str]) -> str:
    """Read what it says until it names its address."""
    assert program.stdout is not None
    for line in program.stdout:
        if line.startswith("Pages"):
            return line.split()[1]
    raise AssertionError(program.communicate()[1])


@pytest.mark.skipif(sys.platform == "win32", reason="signals are Unix's")
@pytest.mark.parametrize("asked", [signal.SIGINT, signal.SIGTERM])
def test_serve_answers_and_stops_cleanly(record: Path, asked: signal.Signals) -> None:
    program = started("serve", "--record", str(record), "--port", "0")
    with urllib.request.urlopen(address_of(program), timeout=WAIT_S) as page:  # noqa: S310
        assert page.status == 200
        assert b"<html" in page.read()
    program.send_signal(asked)
    out, err = program.communicate(timeout=WAIT_S)
    assert (program.returncode, err) == (0, "")
    assert out.endswith(f"Stopped. Everything is in {record}\n")
    # The journal is brought home: one file is the whole record.
    assert [path.name for path in record.parent.glob("firm.lastbee*")] == ["firm.lastbee"]


@pytest.mark.skipif(sys.platform == "win32", reason="signals are Unix's")
def test_a_new_link_shuts_out_every_device(record: Path) -> None:
    with Book.open(record, NOW) as book:
        secret = joining_secret(book)
        Joining(book, lambda: NOW, secret).join("Lost phone")
    program = started("serve", "--record", str(record), "--port", "0", "--new-link")
    with urllib.request.urlopen(address_of(program), timeout=WAIT_S) as page:  # noqa: S310
        assert page.status == 200
    program.send_signal(signal.SIGINT)
    _, err = program.communicate(timeout=WAIT_S)
    assert (program.returncode, err) == (0, "")
    with Book.open(record, NOW) as book, book.reading() as reading:
        assert reading.devices() == ()
        assert joining_secret(book) != secret


@pytest.mark.skipif(sys.platform == "win32", reason="signals are Unix's")
def test_the_demo_leaves_nothing_behind(tmp_path: Path) -> None:
    program = started("demo", "--port", "0", TMPDIR=str(tmp_path))
    address = address_of(program)
    with urllib.request.urlopen(f"{address}jobs", timeout=WAIT_S) as page:  # noqa: S310
        assert "Toll Cottage" in page.read().decode()
    program.send_signal(signal.SIGINT)
    _, err = program.communicate(timeout=WAIT_S)
    assert (program.returncode, err) == (0, "")
    assert list(tmp_path.glob("lastbee-demo-*")) == []


def test_the_demo_tells_a_folder_that_is_not_there(tmp_path: Path, capsys: Capture) -> None:
    assert run(["demo", "--port", "0", "--folder", str(tmp_path / "none")]) == 2
    assert "there is no folder" in capsys.readouterr().err
