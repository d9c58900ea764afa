"""Write the tables of constants in docs/model.md from the code that the model runs.

    python -m docs.constants_table           # write the page anew
    python -m docs.constants_table --check   # exit code 1 if the page is not up to date

Tables stand between markers in the page. `parameters` lists what differs between
simulated colonies, from `lastbee.biology.constants.PARAMETERS`; three tell of troubles and
deeds (`docs.course_tables`). `numbers` lists every other fixed number, from the source text
of the modules named below: the note of a number is the comment that stands above it, so
that page and code cannot drift apart.
"""

from __future__ import annotations

import ast
import importlib
import math
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

from docs.course_tables import mend_rows, trouble_rows, worse_rows
from docs.parameters import SYMBOLS, ends_90
from docs.renewing import with_tables, write_or_check
from lastbee.biology.constants import PARAMETERS, Column

if TYPE_CHECKING:
    from lastbee.biology.constants import Parameter

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "model.md"
MODULES = (
    "lastbee.biology.constants",
    "lastbee.biology.comb",
    "lastbee.colony.kernel",
    "lastbee.colony.brood",
    "lastbee.colony.nest",
    "lastbee.colony.trap",
    "lastbee.colony.founding",
    "lastbee.colony.robout",
    "lastbee.colony.course",
    "lastbee.planning.sky",
    "lastbee.planning.flying",
    "lastbee.biology.flight",
    "lastbee.biology.season",
    "lastbee.evidence.nest",
    "lastbee.evidence.item",
    "lastbee.evidence.counts",
    "lastbee.evidence.traffic",
    "lastbee.evidence.comb",
    "lastbee.evidence.told",
    "lastbee.evidence.cues",
    "lastbee.evidence.scene",
    "lastbee.evidence.at_cone",
    "lastbee.evidence.outside",
    "lastbee.evidence.in_box",
    "lastbee.forecast.posterior",
    "lastbee.forecast.sampler",
    "lastbee.forecast.proposals",
    "lastbee.forecast.trapout",
    "lastbee.forecast.influence",
    "lastbee.forecast.tracking",
    "lastbee.forecast.diagnosis",
    "lastbee.forecast.prospects",
    "lastbee.forecast.clearance",
    "lastbee.methods.circumstances",
    "lastbee.methods.outcomes",
    "lastbee.methods.rules",
    "lastbee.methods.loss",
    "lastbee.methods.compare",
    "lastbee.methods.looks",
    "lastbee.methods.schedule",
    "lastbee.methods.visits",
    "lastbee.methods.closeout",
    "lastbee.jobs.assemble",
    "lastbee.jobs.futures",
    "lastbee.jobs.dates",
    "lastbee.jobs.planner",
    "lastbee.jobs.trust",
    "lastbee.jobs.reasons",
    "lastbee.jobs.remains",
    "lastbee.jobs.verdict",
    "lastbee.jobs.tracker",
    "lastbee.jobs.story",
    "lastbee.jobs.standing",
    "lastbee.jobs.explained",
    "lastbee.jobs.visit_looks",
    "lastbee.jobs.comeback",
    "lastbee.jobs.running_steps",
    "lastbee.jobs.closing",
)


def shown(value: float, most_digits: int = 4) -> str:
    """A number with at most so many significant digits and no exponent."""
    if value == 0.0 or not math.isfinite(value):
        return f"{value:g}"
    if float(value).is_integer():
        return f"{value:,.0f}"
    digits = max(0, most_digits - 1 - math.floor(math.log10(abs(value))))
    text = f"{value:,.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def prior_of(p: Parameter) -> tuple[str, str]:
    """The prior of a parameter in words, and its 90 % range."""
    if p.kind in ("lognormal", "logit"):
        low, high = ends_90(p.kind, p.median, p.spread)
        law = "lognormal" if p.kind == "lognormal" else "logit-normal"
        return f"{law}, {p.spread:g}", f"{short(low)} to {short(high)}"
    if p.kind == "fixed":
        return "fixed", "none"
    return "structural", "see section 5"


def short(value: float) -> str:
    """The end of a range, to two significant digits."""
    place = 1 - math.floor(math.log10(abs(value)))
    return shown(round(value, place))


def parameter_rows() -> list[str]:
    """Rows of the table of parameters, header first."""
    rows = [
        "| symbol | name | unit | median | prior, spread | 90 % range | source |",
        "|---|---|---|---|---|---|---|",
    ]
    for column, p in zip(Column, PARAMETERS, strict=True):
        prior, spread = prior_of(p)
        median = "" if p.kind == "structural" else shown(p.median)
        cells = (f"${SYMBOLS[column]}$", p.name, p.unit, median, prior, spread, p.source)
        rows.append(f"| {' | '.join(cell.replace('|', ' ') for cell in cells)} |")
    return rows


def notes_of(source: str) -> dict[str, str]:
    """The comment above each name that a module gives a plain number, "" without one.

    A comment holds for the assignments below it up to the next comment or empty line.
    Names that only rename or compute from another module's number are left out.
    """
    assigned: dict[int, tuple[list[str], int]] = {}
    for node in ast.parse(source).body:
        if isinstance(node, ast.Assign):
            is_plain = not any(
                isinstance(part, ast.Attribute | ast.Call | ast.GeneratorExp | ast.Subscript)
                for part in ast.walk(node.value)
            )
            targets = [n.id for t in node.targets for n in ast.walk(t) if isinstance(n, ast.Name)]
            names = targets if is_plain else []
            assigned[node.lineno] = (names, node.end_lineno or node.lineno)
    notes: dict[str, str] = {}
    note: list[str] = []
    is_fresh, skip_to = False, 0
    for number, line in enumerate(source.splitlines(), start=1):
        if number <= skip_to:
            continue
        if line.startswith("#"):
            note = [*note, line[1:].strip()] if is_fresh else [line[1:].strip()]
            is_fresh = True
            continue
        is_fresh = False
        if number in assigned:
            names, skip_to = assigned[number]
            notes |= dict.fromkeys(names, " ".join(note))
        else:
            note = []
    return notes


def is_number(value: object) -> bool:
    """Whether a value is a number or a short tuple of numbers."""
    if isinstance(value, tuple):
        return 0 < len(value) <= 12 and all(is_number(one) for one in value)
    return isinstance(value, int | float) and not isinstance(value, bool) and type(value) in (
        int, float,
    )  # fmt: skip


def worded(value: object) -> str:
    """A number, or numbers one after the other."""
    if isinstance(value, tuple):
        return ", ".join(worded(one) for one in value)
    return shown(float(value))  # type: ignore[arg-type]


def number_rows() -> list[str]:
    """Rows of the table of all other numbers, header first; one row a note."""
    rows = ["| number | value | note in the code |", "|---|---|---|"]
    for module_name in MODULES:
        module = importlib.import_module(module_name)
        source = (ROOT / (module_name.replace(".", "/") + ".py")).read_text(encoding="utf-8")
        found = [
            (note, name, getattr(module, name, None))
            for name, note in notes_of(source).items()
            if name.strip("_").isupper() and is_number(getattr(module, name, None))
        ]
        if found:
            rows.append(f"| **{module_name.removeprefix('lastbee.')}** | | |")
        for note, group in groupby(found, key=lambda one: one[0]):
            members = list(group)
            names = "<br>".join(f"`{name}`" for _, name, _ in members)
            values = "<br>".join(worded(value) for _, _, value in members)
            said = note.replace("|", " ").replace("*", r"\*") or "our choice"
            rows.append(f"| {names} | {values} | {said} |")
    return rows


def page_with_tables(text: str) -> str:
    """The page with all tables as the code gives them now."""
    tables = {
        "parameters": parameter_rows(),
        "troubles": trouble_rows(),
        "rates under trouble": worse_rows(),
        "deeds": mend_rows(),
        "numbers": number_rows(),
    }
    return with_tables(text, tables)


def main() -> int:
    """Write the page, or with --check say whether it is up to date."""
    fresh = page_with_tables(PAGE.read_text(encoding="utf-8"))
    return write_or_check(PAGE, fresh, "docs.constants_table")


if __name__ == "__main__":
    raise SystemExit(main())
