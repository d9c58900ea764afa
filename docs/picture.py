"""Make the pictures of the README: first pages of the demo's reports, in docs/images."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from lastbee.documents.pdf import page_pictures
from lastbee.jobs.jobfile import read_job
from lastbee.jobs.planner import make_plan
from lastbee.jobs.tracker import make_progress

if TYPE_CHECKING:
    from lastbee.jobs.plan import Plan
    from lastbee.jobs.progress import Progress

ROOT = Path(__file__).resolve().parent.parent
DOTS_PER_INCH = 100.0


def keep_first_page(answer: Plan | Progress, name: str) -> None:
    """Write the first page of a report as docs/images/NAME.png."""
    picture = ROOT / "docs" / "images" / f"{name}.png"
    picture.write_bytes(page_pictures(answer, DOTS_PER_INCH)[0])
    print(f"Wrote {picture.relative_to(ROOT)}")


def main() -> None:
    """Plan the demo, follow its visits, and keep the first page of each."""
    examples = ROOT / "examples"
    keep_first_page(make_plan(read_job(examples / "meadowgate.toml")), "meadowgate")
    visited = read_job(examples / "meadowgate_visits.toml")
    keep_first_page(make_progress(visited), "meadowgate_visits")


if __name__ == "__main__":
    main()
