"""The documents say what is true: links, options, help texts, exit codes, targets."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import click
import pytest

from lastbee.cli import edge
from lastbee.cli.main import command

ROOT = Path(__file__).resolve().parents[2]
COMMAND_LINE = ROOT / "docs" / "command-line.md"
HELP_BLOCK = re.compile(
    r"<!-- help: (?P<path>[a-z ]+) -->\n```text\n(?P<text>.*?)```\n<!-- end of help -->",
    flags=re.DOTALL,
)
FENCE = re.compile(r"^```.*?^```", flags=re.DOTALL | re.MULTILINE)
# [words](target), with an optional title; pictures are links too.
LINK = re.compile(r"\[[^\]]*\]\(\s*<?([^)\s>]+)>?(?:\s+\"[^\"]*\")?\s*\)")


def documents() -> list[Path]:
    """Every Markdown document that a reader may open."""
    return sorted([*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md")])


def anchors_of(document: Path) -> set[str]:
    """The anchors that the headings of a document get on the usual hosts of repositories."""
    prose = FENCE.sub("", document.read_text(encoding="utf-8"))
    anchors: set[str] = set()
    for heading in re.findall(r"^#{1,6} +(.+?) *#*$", prose, flags=re.MULTILINE):
        plain = re.sub(r"\[([^\]]*)\]\([^)]*\)", r"\1", heading).lower()
        anchor = re.sub(r"[^\w\- ]", "", plain).replace(" ", "-")
        repeats = sum(1 for known in anchors if re.fullmatch(rf"{re.escape(anchor)}(-\d+)?", known))
        anchors.add(f"{anchor}-{repeats}" if repeats else anchor)
    return anchors


def broken_links(document: Path) -> list[str]:
    """The relative links of a document whose file or heading does not exist."""
    prose = FENCE.sub("", document.read_text(encoding="utf-8"))
    broken = []
    for target in LINK.findall(prose):
        if re.match(r"[a-z][a-z0-9+.-]*:", target):
            continue
        name, _, anchor = target.partition("#")
        goal = (document.parent / name) if name else document
        is_broken = not goal.exists()
        if anchor and goal.suffix == ".md" and not is_broken:
            is_broken = anchor not in anchors_of(goal)
        if is_broken:
            broken.append(target)
    return broken


@pytest.mark.parametrize("document", documents(), ids=lambda path: str(path.relative_to(ROOT)))
def test_every_relative_link_leads_somewhere(document: Path) -> None:
    assert broken_links(document) == []


def test_a_link_that_leads_nowhere_would_be_found(tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    page.write_text(
        "# One heading\n[a](#one-heading) [b](#no-heading) [c](gone.md) [d](page.md#gone)\n"
        "[e](https://example.org/x) ![f](gone.png)\n```\n[g](inside-code.md)\n```\n",
        encoding="utf-8",
    )
    assert broken_links(page) == ["#no-heading", "gone.md", "page.md#gone", "gone.png"]


def commands() -> dict[str, click.Command]:
    """Every command by its words."""
    below = {f"lastbee {name}": each for name, each in command.commands.items()}
    return {"lastbee": command} | below


def context_of(path: str) -> click.Context:
    """The context in which a command prints its help."""
    group = click.Context(command, info_name="lastbee", **command.context_settings)
    if path == "lastbee":
        return group
    return click.Context(commands()[path], info_name=path.split()[-1], parent=group)


def true_help(path: str) -> str:
    """The help text of a command, as it prints it."""
    return commands()[path].get_help(context_of(path)) + "\n"


@pytest.mark.parametrize("path", sorted(commands()))
def test_the_help_in_the_document_is_the_true_one(path: str) -> None:
    pasted = {
        block["path"]: block["text"]
        for block in HELP_BLOCK.finditer(COMMAND_LINE.read_text(encoding="utf-8"))
    }
    assert pasted.get(path) == true_help(path)


@pytest.mark.parametrize("path", sorted(commands()))
def test_every_option_is_explained_outside_the_help(path: str) -> None:
    prose = HELP_BLOCK.sub("", COMMAND_LINE.read_text(encoding="utf-8"))
    missing = [
        spelling
        for parameter in commands()[path].get_params(context_of(path))
        if isinstance(parameter, click.Option)
        for spelling in parameter.opts
        if not re.search(rf"`{re.escape(spelling)}[` ]", prose)
    ]
    assert missing == []


def test_every_exit_code_is_documented() -> None:
    text = COMMAND_LINE.read_text(encoding="utf-8")
    documented = {int(code) for code in re.findall(r"^\| (\d+) \|", text, flags=re.MULTILINE)}
    assert documented == {
        0,
        edge.EXIT_BUG,
        edge.EXIT_BROKEN_PIPE,
        edge.EXIT_INTERRUPTED,
        edge.EXIT_USAGE,
        *(row.exit_code for row in edge.ROWS.values()),
    }


def code_of(document: Path) -> str:
    """All that stands as code in a document, inline or in blocks."""
    text = document.read_text(encoding="utf-8")
    blocks = FENCE.findall(text)
    return "\n".join([*blocks, *re.findall(r"`([^`\n]+)`", FENCE.sub("", text))])


@pytest.mark.parametrize("document", documents(), ids=lambda path: str(path.relative_to(ROOT)))
def test_every_make_target_that_is_named_exists(document: Path) -> None:
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    targets = set(re.findall(r"^([a-z][a-z-]*):", makefile, flags=re.MULTILINE))
    named = set(re.findall(r"\bmake ([a-z][a-z-]*)", code_of(document)))
    assert named <= targets


def test_the_readme_names_the_front_door() -> None:
    code = code_of(ROOT / "README.md")
    assert "make setup" in code or "make demo" in code
    assert "lastbee plan" in code


def published_files() -> list[Path]:
    """The files that are, or would be, part of the repository."""
    listing = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    if listing.returncode == 0 and listing.stdout:
        return [ROOT / name for name in listing.stdout.split("\0") if name]
    kept_out = re.compile(r"(^|/)(\.git|\.venv|build|dist|__pycache__|\.\w+_cache|\.hypothesis)/")
    return [
        path
        for path in ROOT.rglob("*")
        if path.is_file() and not kept_out.search(path.relative_to(ROOT).as_posix())
    ]


def traces_of_a_machine(text: str) -> list[str]:
    """Absolute paths of some machine, and hosts of package indexes, in `text`.

    The address by which every machine calls itself says nothing of this one.
    """
    # Put together from parts, so that this file does not find itself.
    folders = "|".join(["work", "tmp", "root", "home", "Users", "opt", "mnt"])
    hosts = "|".join(["py" r"pi\.org", "python" r"hosted\.org"])
    options = "|".join(["index-url", "find-links", "trusted-host"])
    patterns = [
        r"(?<![\w.})])/(?:" + folders + r")/[\w.]+",
        hosts,
        "--(?:extra-)?(?:" + options + ")",
        r"\b(?!127\.0\.0\.1\b)(?:\d{1,3}\.){3}\d{1,3}[:/]",
    ]
    return [found for pattern in patterns for found in re.findall(pattern, text)]


def test_no_file_carries_traces_of_a_machine() -> None:
    found = {}
    for path in published_files():
        if not path.is_file():
            continue
        try:
            text = path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue
        if traces := traces_of_a_machine(text):
            found[str(path.relative_to(ROOT))] = sorted(set(traces))
    assert found == {}


@pytest.mark.parametrize(
    "text",
    [
        "read " + "/" + "home/someone/job.toml",
        "https://" + ".".join(["files", "python" + "hosted", "org"]) + "/packages",
        "--extra-" + "index-url",
    ],
)
def test_traces_of_a_machine_would_be_found(text: str) -> None:
    assert traces_of_a_machine(text) != []


@pytest.mark.parametrize("name", ["requirements.lock", "requirements-dev.lock"])
def test_a_lock_file_names_versions_and_hashes_alone(name: str) -> None:
    pin = r"[a-z0-9][a-z0-9-]*==[\w.+]+( ; [^\\]+)? \\"
    digest = r" {4}--hash=sha256:[0-9a-f]{64}( \\)?"
    lines = (ROOT / name).read_text(encoding="utf-8").splitlines()
    assert [line for line in lines if not re.fullmatch(f"{pin}|{digest}", line)] == []
    assert any(line.startswith("numpy==") for line in lines)
