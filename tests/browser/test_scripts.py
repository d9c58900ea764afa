"""The logic of the app's scripts, tested where no browser is needed."""

from __future__ import annotations

import subprocess
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_the_scripts_do_what_their_own_tests_say(node: str) -> None:
    tests = sorted(map(str, (ROOT / "tests" / "js").glob("*.test.mjs")))
    assert tests
    run = subprocess.run(
        [node, "--test", *tests], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stdout + run.stderr
