"""The look holds to what readers need: contrast by day and by night, and targets for gloves.

References: Web Content Accessibility Guidelines 2.2, W3C 2023: relative luminance and contrast
ratio as defined there; success criteria 1.4.3 (text, 4.5) and 1.4.11 (what is not text, 3).
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

CSS = Path("lastbee/web/static/lastbee.css").read_text(encoding="utf-8")
TEXT, SHAPE = 4.5, 3.0

# Foreground, background, least contrast.
PAIRS = (
    *((ink, ground, TEXT)
      for ink in ("ink", "quiet", "blue", "red", "ochre")
      for ground in ("ground", "sheet", "wash")),
    ("ink", "sand", TEXT), ("ochre", "sand", TEXT), ("quiet", "sand", TEXT), ("blue", "sand", TEXT),
    ("ink", "blush", TEXT), ("red", "blush", TEXT),
    ("ink", "mint", TEXT), ("leaf", "mint", TEXT), ("leaf", "sheet", SHAPE),
    ("ink", "press", TEXT), ("blue", "press", TEXT),
    ("on-blue", "blue", TEXT),
    ("edge", "ground", SHAPE), ("edge", "sheet", SHAPE),
)  # fmt: skip


def colours(scheme: str) -> dict[str, tuple[float, float, float]]:
    """The colour tokens of a scheme, as shares of red, green and blue."""
    day, night = re.findall(r":root \{([^}]*--ground:[^}]*)\}", CSS)[:2]
    found = dict(re.findall(r"--([a-z0-9-]+): (#[0-9a-f]{6})", day))
    if scheme == "dark":
        found |= dict(re.findall(r"--([a-z0-9-]+): (#[0-9a-f]{6})", night))
    return {
        name: tuple(int(code[at : at + 2], 16) / 255 for at in (1, 3, 5))  # type: ignore[misc]
        for name, code in found.items()
    }


def luminance(colour: tuple[float, float, float]) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in colour]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: tuple[float, float, float], other: tuple[float, float, float]) -> float:
    """Contrast ratio as WCAG 2.2 defines it."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_computed_as_published() -> None:
    # Black on white has 21:1 by definition; #767676 on white is the well-known edge of 4.5
    # (from memory).
    assert contrast((0, 0, 0), (1, 1, 1)) == pytest.approx(21.0)
    grey = 0x76 / 255
    assert contrast((grey,) * 3, (1, 1, 1)) == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(("front", "back", "least"), PAIRS)
def test_everything_can_be_read(scheme: str, front: str, back: str, least: float) -> None:
    tokens = colours(scheme)
    assert contrast(tokens[front], tokens[back]) >= least


def test_targets_are_large_enough_for_gloves() -> None:
    # 56 px: our own rule, larger than the 44 px of success criterion 2.5.5.
    assert "--target: 3.5rem" in CSS
