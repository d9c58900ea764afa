"""The page on outside checks shows our values as they are and names tests that exist."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from docs.outside_checks import (
    BIOLOGY,
    PUBLISHED,
    Check,
    page_with_simulations,
    page_with_tables,
)

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
