"""The page on outside checks shows our values as they are and names tests that exist."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from docs.outside_checks import (
    BIOLOGY,
    LONG,
    PUBLISHED,
    Check,
    page_with_simulations,
    page_with_tables,
)
from lastbee.jobs import trust
from lastbee.jobs.troubles import TROUBLE_OF_KEY

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "docs" / "how-we-know.md").read_text(encoding="utf-8")
CHECKS = (*PUBLISHED, *BIOLOGY)


def test_the_tables_are_those_of_the_code() -> None:
    """Tests the page against the generator; `python -m docs.outside_checks` mends it."""
    assert page_with_tables(PAGE) == PAGE


def test_the_tables_of_the_simulations_are_those_of_the_engine() -> None:
    """Tests engine, ages and trade; what the long checks print waits for `--long`."""
    assert page_with_simulations(PAGE) == PAGE


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.what)
def test_the_test_named_beside_a_check_exists_and_knows_the_source(check: Check) -> None:
    file, _, name = check.test.partition("::")
    text = (ROOT / file).read_text(encoding="utf-8")
    names = {n.name for n in ast.walk(ast.parse(text)) if isinstance(n, ast.FunctionDef)}
    assert name in names
    digits = f"{check.theirs:g}"
    spellings = {digits, f"{check.theirs:_}", f"{check.theirs:,}", f"{check.theirs:,.0f}"}
    assert any(spelling in text for spelling in spellings), digits


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.what)
def test_our_value_is_near_theirs(check: Check) -> None:
    """Tests to a tenth that the row compares like with like; the test it names is sharper."""
    assert check.ours() == pytest.approx(check.theirs, rel=0.1)


@pytest.mark.parametrize("folder", ["reference", "statistical"])
def test_every_file_of_outside_checks_is_on_the_page(folder: str) -> None:
    files = sorted((ROOT / "tests" / folder).glob("test_*.py"))
    missing = [path.name for path in files if f"(../tests/{folder}/{path.name})" not in PAGE]
    assert missing == []


def test_every_long_check_is_on_the_page() -> None:
    """Tests the modules of verify/ that print something of their own."""
    modules = [
        path.stem
        for path in sorted((ROOT / "verify").glob("*.py"))
        if "__main__" in path.read_text(encoding="utf-8") and path.stem != "run"
    ]
    assert modules
    assert [name for name in modules if f"verify.{name}" not in PAGE] == []


def test_what_was_not_checked_comes_first_and_is_plain() -> None:
    headings = re.findall(r"(?m)^## (.*)$", PAGE)
    assert headings[0] == "What has not been checked"
    assert "No forecast has been held against a closed job." in PAGE


def test_how_thin_a_cloud_may_be_is_told() -> None:
    prose = re.sub(r"\s+", " ", PAGE)
    assert f"not to be relied on below {trust.LEAST_EFFECTIVE:g}; after visits" in prose
    assert f"share the colonies, below {trust.LEAST_EFFECTIVE_TRACKED:g}." in prose


def shown_by(command: str) -> str:
    """What the page shows of a command's output."""
    (output,) = re.findall(
        rf"<!-- output: python -m {command} -->\n```text\n(.*?)```", PAGE, flags=re.DOTALL
    )
    return str(output)


@pytest.mark.parametrize("name", LONG)
def test_every_long_check_has_its_place_and_its_command(name: str) -> None:
    assert shown_by(f"verify.{name}") is not None
    assert f"```sh\npython -m verify.{name}\n```" in PAGE


def owned_up_to(opening: str) -> set[str]:
    """What stands in code in the items of the page that open so."""
    found: set[str] = set()
    for item in re.findall(rf"(?ms)^- \*\*{opening}.*?(?=^- |\n\n)", PAGE):
        found |= set(re.findall(r"`(\w+)`", item))
    return found


def test_troubles_that_are_hardly_told_are_owned_up_to() -> None:
    """Tests the words against the table: first after two visits in less than half of the jobs."""
    rows = re.findall(r"(?m)^(\w+) +\d+ +[\d.]+ +([\d.]+|nan) ", shown_by("verify.other_running"))
    shares = {key: float(share) for key, share in rows if key in TROUBLE_OF_KEY}
    assert len(shares) == len(TROUBLE_OF_KEY)
    hard = {key for key, share in shares.items() if share < 0.5}
    assert hard == owned_up_to("(?:Hardly told|Told late)")


def test_ranges_that_are_too_narrow_are_owned_up_to() -> None:
    """Tests the words against the table: what holds less than 85 of 100 where it says 90."""
    rows = re.findall(
        r"(?m)^(clear_day|bees_inside|honey_left) +[\d.]+ +[\d.]+ +([\d.]+)$",
        shown_by("verify.other_running"),
    )
    assert len(rows) == 3
    assert {key for key, share in rows if float(share) < 0.85} == owned_up_to("Ranges are")


def test_forecasts_that_are_called_closer_are_closer() -> None:
    """Tests the words against the scores shown, in the order in which the line has them."""
    (line,) = re.findall(r"(?m)^CRPS .*$", shown_by("verify.other_running"))
    ours, trade, before = (float(score) for score in re.findall(r"\d+\.\d+", line))
    assert "Forecasts after two visits are closer than both rules of thumb" in PAGE
    assert ours < min(trade, before)
