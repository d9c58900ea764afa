"""The commands of the tutorial work as they stand there, and its excerpts can be renewed."""

from __future__ import annotations

import re
import shutil
from typing import TYPE_CHECKING

import pytest

from docs.tutorial_output import PAGE, Excerpt, Run, lines_between, output_of, parts_of, set_up

if TYPE_CHECKING:
    from pathlib import Path

TEXT = PAGE.read_text(encoding="utf-8")
# Excerpts that start so hang on the answer, which with few colonies may be another one.
ANSWERS = ("! ", "Further looks", "A swarm was")
FEW = "--colonies 500"


@pytest.mark.skipif(shutil.which("bash") is None, reason="the commands are written for a shell")
@pytest.mark.timeout(300)
def test_every_command_works_and_says_what_the_page_says(tmp_path: Path) -> None:
    """Tests all runs in the order of the page, since later ones use the files of earlier ones."""
    programs = set_up(tmp_path, FEW)
    output = ""
    for part in parts_of(TEXT):
        if isinstance(part, Run):
            code, output = output_of(part, tmp_path, programs)
            assert code == part.exit_code, f"{part.commands}\n{output}"
            flat = re.sub(r"\s+", " ", output)
            assert [text for text in part.says if text not in flat] == [], part.commands
        else:
            for first, end in part.ranges:
                if not first.startswith(ANSWERS):
                    assert lines_between(output, first, end)


def test_every_block_of_commands_is_run_but_the_setting_up() -> None:
    blocks = re.findall(r"(?m)^```sh\n(.*?)^```", TEXT, flags=re.DOTALL)
    run = [part.commands for part in parts_of(TEXT) if isinstance(part, Run)]
    assert [block for block in blocks if block not in run] == [
        "make demo\nsource .venv/bin/activate\n"
    ]


def test_every_excerpt_begins_as_its_mark_says() -> None:
    """Tests that no excerpt was left empty or edited by hand out of its place."""
    excerpts = [part for part in parts_of(TEXT) if isinstance(part, Excerpt)]
    assert len(excerpts) == len(re.findall(r"(?m)^```text$", TEXT))
    for part in excerpts:
        start = part.ranges[0][0]
        verdicts = ("Go: ", "Go with opening: ", "Refuse: ", "Unsure: ")
        assert part.text.strip()
        if start != "top":
            assert part.text.lstrip().startswith(verdicts if start == "verdict" else start)
        assert part.text.count("\n  ...\n") == len(part.ranges) - 1


def test_a_missing_line_would_be_found() -> None:
    assert lines_between("a\nb\nc\n", "b", "") == "b\nc"
    assert lines_between("a\n  b\nc\n", "a", "b") == "a"
    assert lines_between("a\n  b\nc\n", "a", "+2") == "a\n  b"
    assert lines_between("head\n\u2500\u2500\n\nGo: yes\nx\n", "verdict", "x") == "Go: yes"
    assert lines_between("head\na\nb\n", "top", "b") == "head\na"
    for first, end in (("x", ""), ("a", "x")):
        with pytest.raises(ValueError, match="begins with 'x'"):
            lines_between("a\nb\n", first, end)
