"""Make docs/images/meadowgate.png, the first page of the demo's report, for the README."""

from __future__ import annotations

from pathlib import Path

from lastbee.documents.pdf import page_pictures
from lastbee.jobs.jobfile import read_job
from lastbee.jobs.planner import make_plan

ROOT = Path(__file__).resolve().parent.parent
DOTS_PER_INCH = 100.0


def main() -> None:
    """Plan the demo and keep its first page."""
    plan = make_plan(read_job(ROOT / "examples" / "meadowgate.toml"))
    picture = ROOT / "docs" / "images" / "meadowgate.png"
    picture.write_bytes(page_pictures(plan, DOTS_PER_INCH)[0])
    print(f"Wrote {picture.relative_to(ROOT)}")


if __name__ == "__main__":
    main()
