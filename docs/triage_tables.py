"""Write the tables in docs/triage.md from the code that judges a call.

python -m docs.triage_tables           # write the page anew
python -m docs.triage_tables --check   # exit code 1 if the page is not up to date
"""

from __future__ import annotations

from pathlib import Path

from docs.renewing import with_tables, write_or_check
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
    return with_tables(text, tables)


def main() -> int:
    """Write the page, or with --check say whether it is up to date."""
    fresh = page_with_tables(PAGE.read_text(encoding="utf-8"))
    return write_or_check(PAGE, fresh, "docs.triage_tables")


if __name__ == "__main__":
    raise SystemExit(main())
