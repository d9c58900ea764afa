"""Run the commands of docs/tutorial.md, and renew the output that the page shows.

    python -m docs.tutorial_output           # run all commands, write the page anew
    python -m docs.tutorial_output --check   # exit code 1 if the shown output differs

A block of commands is marked by a comment above it, and so are excerpts of its output,
which may follow at any distance:

    <!-- run: exit 0; says "Empty of bees" -->
    ```sh
    lastbee plan examples/meadowgate.toml
    ```

    <!-- shows: "Go:" to "What is in there"; "When" to "Bees in the wall" -->
    ```text
    ...
    ```

`exit` is the exit code of the last command, `says` what its output holds whatever the
number of colonies. An excerpt goes from the first line that begins with the one text up
to, and without, the next line that begins with the other. The first text "verdict" stands
for the line below the plan's head, whatever it says, and "top" for the first line of all;
of the second, "+4" takes four lines, and "" all to the end of the output.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

from docs.renewing import write_or_check

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "tutorial.md"
RUN = re.compile(
    r"<!-- run: exit (\d+)(?:; says ([^\n]*?))? -->\n```sh\n(.*?)```\n", flags=re.DOTALL
)
SHOWS = re.compile(r"<!-- shows: ([^\n]*?) -->\n```text\n(.*?)```\n", flags=re.DOTALL)
QUOTED = re.compile(r'"([^"]*)"')


@dataclass(frozen=True, slots=True)
class Run:
    """Commands of the page with what is expected of them."""

    commands: str
    exit_code: int
    says: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Excerpt:
    """Output of the last run that the page shows: ranges of lines, and the text."""

    ranges: tuple[tuple[str, str], ...]
    text: str
    start: int
    end: int


def parts_of(page: str) -> list[Run | Excerpt]:
    """The marked runs and excerpts of a page, in order."""
    found: list[tuple[int, Run | Excerpt]] = []
    for match in RUN.finditer(page):
        says = tuple(QUOTED.findall(match[2] or ""))
        found.append((match.start(), Run(match[3], int(match[1]), says)))
    for match in SHOWS.finditer(page):
        ends = QUOTED.findall(match[1])
        ranges = tuple(zip(ends[::2], ends[1::2], strict=True))
        found.append((match.start(), Excerpt(ranges, match[2], *match.span(2))))
    return [part for _, part in sorted(found, key=lambda one: one[0])]


def set_up(folder: Path, options: str = "") -> Path:
    """Lay out a folder in which the page's commands work; returns that of the programs.

    `options` are added to every `lastbee plan` and `lastbee visit`.
    """
    shutil.copytree(ROOT / "examples", folder / "examples")
    (folder / "build").mkdir()
    programs = folder / "bin"
    programs.mkdir()
    wrapper = programs / "lastbee"
    real = Path(sys.executable).with_name("lastbee")
    wrapper.write_text(
        f'#!/bin/sh\ncase "$1" in plan|visit) set -- "$@" {options};; esac\nexec "{real}" "$@"\n',
        encoding="utf-8",
    )
    wrapper.chmod(0o755)
    return programs


def output_of(run: Run, folder: Path, programs: Path) -> tuple[int, str]:
    """Exit code and output, messages included, of commands as a person would type them."""
    done = subprocess.run(  # noqa: S603 - the page's own commands
        [shutil.which("bash") or "bash", "-c", run.commands],
        cwd=folder,
        env={"PATH": f"{programs}:/usr/local/bin:/usr/bin:/bin", "LC_ALL": "C.UTF-8", "HOME": "."},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        encoding="utf-8",
        check=False,
    )
    return done.returncode, done.stdout


def lines_between(output: str, first: str, end: str) -> str:
    """Lines from the one that begins with `first` up to `end`, as the page's marks have it.

    Raises
    ------
    ValueError
        If there are no such lines.
    """
    lines = output.splitlines()
    starts = [i for i, line in enumerate(lines) if line.lstrip().startswith(first)]
    if first == "verdict":
        starts = [i + 2 for i, line in enumerate(lines) if line and not line.strip("\u2500")]
    if first == "top":
        starts = [0]
    if not starts:
        raise ValueError(f"no line of the output begins with {first!r}:\n{output}")
    if re.fullmatch(r"\+\d+", end):
        return "\n".join(lines[starts[0] : starts[0] + int(end)])
    later = range(starts[0] + 1, len(lines))
    stops = [i for i in later if end and lines[i].lstrip().startswith(end)]
    if end and not stops:
        raise ValueError(f"no later line of the output begins with {end!r}:\n{output}")
    return "\n".join(lines[starts[0] : stops[0] if stops else len(lines)]).strip("\n")


def excerpt_of(output: str, ranges: tuple[tuple[str, str], ...]) -> str:
    """The ranges of lines, with a line of dots between them."""
    return "\n  ...\n".join(lines_between(output, first, end) for first, end in ranges) + "\n"


def renewed(page: str) -> str:
    """The page with every excerpt as the commands print it now."""
    fresh, done, output = "", 0, ""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        programs = set_up(folder)
        for part in parts_of(page):
            if isinstance(part, Run):
                code, output = output_of(part, folder, programs)
                if code != part.exit_code:
                    raise SystemExit(f"exit code {code} of\n{part.commands}\n{output}")
            else:
                fresh += page[done : part.start] + excerpt_of(output, part.ranges)
                done = part.end
    return fresh + page[done:]


def main() -> int:
    """Write the page, or with --check say whether its output is up to date."""
    fresh = renewed(PAGE.read_text(encoding="utf-8"))
    return write_or_check(PAGE, fresh, "docs.tutorial_output")


if __name__ == "__main__":
    raise SystemExit(main())
