"""Writers of the firm's file are killed while they write; nothing acknowledged may be lost.

A writer keeps entries with their card and now and then a picture, one transaction each, and
says the id of an entry once the store has acknowledged it. It is killed (SIGKILL) after some
of them, at any instant of a later write; every fourth one while it makes the file. Then the
file is opened by another process, as after any crash, and must have every acknowledged entry
as it was written, no transaction in part, and pass SQLite's integrity check.

A killed process shows that the journal is replayed; that it had reached the disk before the
acknowledgement, as a power cut would show, rests on ``synchronous = FULL``, which
tests/unit/test_store_open.py checks.

    python -m verify.kills          # 500 of them
"""

from __future__ import annotations

import hashlib
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from lastbee.record.card import Card
from lastbee.record.entry import Entry, new_id
from lastbee.store.book import Book

HERE = Path(__file__).resolve().parent.parent
START = datetime(2026, 7, 14, 7, 0, tzinfo=UTC)
JOB = new_id(START, bytes(10))
DEAD = "dead"
FRESH_FILE_EVERY = 4
MOST_ACKNOWLEDGED = 12
# Longer than a write takes, and than a file takes to be made.
LONGEST_WRITE_S, LONGEST_MAKING_S = 0.004, 0.25


@dataclass(slots=True)
class Kills:
    """What came of it.

    `acknowledged` entries; `lost` or altered ones of them; `torn` transactions found in part;
    `faults` in the words of SQLite.
    """

    count: int
    acknowledged: int = 0
    lost: int = 0
    torn: int = 0
    faults: list[str] = field(default_factory=list)


def kill_writers(count: int, seed: int = 20260714) -> Kills:
    """Kill `count` writers one after another, and look at the file after each.

    Needs a system with `fork`.
    """
    rng = random.Random(seed)  # noqa: S311
    found = Kills(count)
    with tempfile.TemporaryDirectory() as folder, _nest() as nest:
        for number in range(count):
            path = Path(folder, f"firm-{number // FRESH_FILE_EVERY}.lastbee")
            ids = _killed(nest, path, number, rng)
            found.acknowledged += len(ids)
            _look(path, number, ids, found)
    return found


def report(found: Kills) -> tuple[list[str], dict[str, float]]:
    """Give what came of it as lines to print, and as figures."""
    lines = [
        f"{found.count} writers killed, {found.acknowledged} entries acknowledged: "
        f"{found.lost} lost, {found.torn} transactions in part, {len(found.faults)} faults",
        *found.faults,
    ]
    wrong = found.lost + found.torn + len(found.faults)
    figures = {"kills": found.count, "kills_acknowledged": found.acknowledged}
    return lines, figures | {"kills_wrong": wrong}


def entry_of(writer: int, number: int) -> Entry:
    """The entry that a writer writes as its `number`-th."""
    rng = random.Random(f"{writer}-{number}")  # noqa: S311
    at = START + timedelta(seconds=writer, milliseconds=number)
    body = {"date": "2026-07-14", "text": "bees at the cone " * rng.randint(1, 200)}
    return Entry(new_id(at, rng.randbytes(10)), JOB, "note", body, at, f"phone {writer}")


def write(path: Path, writer: int) -> None:
    """Write until killed."""
    number = 0
    with Book.open(path, START) as book:
        while True:
            entry = entry_of(writer, number)
            with book.writing() as writing:
                writing.append(entry)
                # In step with the entries, so that a transaction in part would show.
                writing.keep_card(_card(writing.count_entries()))
                if number % 4 == 0:
                    picture = entry.id.encode() * 500
                    writing.keep_picture(hashlib.sha256(picture).hexdigest(), picture, b"small")
            os.write(1, f"{number} {entry.id}\n".encode())
            number += 1


def hatch() -> None:
    """Start a writer for every line of the standard input, and say when it is dead.

    A process that is ready and only forks starts writers a hundred times as fast.
    """
    for line in sys.stdin:
        writer, _, path = line.rstrip("\n").partition(" ")
        child = os.fork()
        if child == 0:
            write(Path(path), int(writer))
        os.write(1, f"{child}\n".encode())
        os.waitpid(child, 0)
        os.write(1, f"{DEAD}\n".encode())


def _nest() -> subprocess.Popen[str]:
    """Start the process that starts writers."""
    command = [sys.executable, "-c", "from verify.kills import hatch; hatch()"]
    return subprocess.Popen(
        command, cwd=HERE, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )


def _killed(
    nest: subprocess.Popen[str], path: Path, number: int, rng: random.Random
) -> dict[int, str]:
    """Let one writer write and kill it; give the ids that it acknowledged, by their numbers."""
    if nest.stdin is None or nest.stdout is None:
        raise ValueError("nest has no pipes")
    nest.stdin.write(f"{number} {path}\n")
    nest.stdin.flush()
    child = 0
    said: list[str] = []
    for_making = number % FRESH_FILE_EVERY == 0
    wanted = 0 if for_making else rng.randint(0, MOST_ACKNOWLEDGED)
    while not child or len(said) < wanted:
        line = nest.stdout.readline().strip()
        if line == DEAD or not line:
            raise RuntimeError(f"writer {number} died of itself")
        if " " in line:
            said.append(line)
        else:
            child = int(line)
    # The instant is what is being tried out: it may fall anywhere in a write.
    time.sleep(rng.uniform(0.0, LONGEST_MAKING_S if for_making else LONGEST_WRITE_S))
    os.kill(child, signal.SIGKILL)
    said += iter(lambda: (nest.stdout.readline() if nest.stdout else "").strip() or DEAD, DEAD)
    return {int(order): id_ for order, _, id_ in (line.partition(" ") for line in said)}


def _look(path: Path, writer: int, ids: dict[int, str], found: Kills) -> None:
    """Open the file as after a crash, and compare it with what was acknowledged."""
    with Book.open(path, START) as book:
        found.faults += book.faults()
        with book.reading() as reading:
            for number, id_ in ids.items():
                entry = entry_of(writer, number)
                found.lost += entry.id != id_ or reading.entry(id_) != entry
            card = reading.card(JOB)
            found.torn += reading.count_entries() != (card.visits if card else 0)


def _card(entries: int) -> Card:
    """A card that says how many entries there are."""
    return Card(
        JOB, "trapping", "", "", "", "", None, None, "", "", None, entries, START, START, 0, 0
    )


def main() -> int:
    """Kill 500 writers and tell of it; the exit code is 1 if anything is wrong."""
    lines, figures = report(kill_writers(500))
    print(*lines, sep="\n")
    return 1 if figures["kills_wrong"] else 0


if __name__ == "__main__":
    sys.exit(main())
