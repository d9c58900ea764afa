"""Write the tables in docs/triage.md from the code that judges a call.

python -m docs.triage_tables           # write the page anew
python -m docs.triage_tables --check   # exit code 1 if the page is not up to date
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

from lastbee.triage.insects import INSECTS
from lastbee.triage.questions import question_of
from lastbee.triage.shares import TELLING, topic_weight
from lastbee.triage.table import TABLE
from lastbee.triage.telling import every_telling

PAGE = Path(__file__).resolve().parents[1] / "docs" / "triage.md"
SHORT = ("nest", "swarm", "bumble", "solitary", "wasps", "else")


def season_rows() -> list[str]:
    """Calls by month, one row an insect."""
    rows = [
        "| calls about | J | F | M | A | M | J | J | A | S | O | N | D | season from |",
        "|---|" + "---|" * 13,
    ]
    for insect in INSECTS:
        cells = (insect.name, *(f"{calls:g}" for calls in insect.calls), insect.source)
        rows.append(f"| {' | '.join(cells)} |")
    return rows


def likelihood_rows() -> list[str]:
    """Calls of a hundred that answer so, one row an answer."""
    rows = [f"| answer | {' | '.join(SHORT)} | rests on |", "|---|" + "---|" * (len(SHORT) + 1)]
    for question in TELLING:
        weight = f"counts {topic_weight(question):.2f}"
        rows.append(f"| **{question.ask}** ({weight}) {'| ' * (len(SHORT) + 1)}|")
        for row in (row for row in TABLE if row.question == question.key):
            asked = question_of(row.question)
            answer = asked.answer(row.answer) if asked is not None else None
            label = answer.label if answer is not None else row.answer
            cells = (label, *(str(calls) for calls in row.calls), row.source)
            rows.append(f"| {' | '.join(cells)} |")
    return rows


def telling_rows() -> list[str]:
    """What a caller may be told, in order."""
    rows = ["| sentence | source |", "|---|---|"]
    rows += [f"| {telling.sentence} | {telling.source} |" for telling in every_telling()]
    return rows


def page_with_tables(text: str) -> str:
    """The page with all tables as the code gives them now."""
    tables = {
        "season": season_rows(),
        "likelihoods": likelihood_rows(),
        "sentences": telling_rows(),
    }
    for name, rows in tables.items():
        body = "\n".join(rows)
        pattern = rf"(<!-- table: {name} -->\n).*?(<!-- end of table -->)"
        text, count = re.subn(
            pattern, lambda m, body=body: f"{m[1]}{body}\n{m[2]}", text, flags=re.DOTALL
        )
        if count != 1:
            raise SystemExit(f"{PAGE.name}: the markers of the table '{name}' must stand once")
    return text


def main() -> int:
    """Write the page, or with --check say whether it is up to date."""
    text = PAGE.read_text(encoding="utf-8")
    fresh = page_with_tables(text)
    if "--check" in sys.argv[1:]:
        if fresh != text:
            print("docs/triage.md is out of date: run python -m docs.triage_tables")
        return int(fresh != text)
    PAGE.write_text(fresh, encoding="utf-8")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
