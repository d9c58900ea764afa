"""The closing certificate on paper: one calm page that the client keeps."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING

from lastbee.documents.lines import LABELS, MADE_BY, Line
from lastbee.documents.pdf import typst_options

if TYPE_CHECKING:
    from collections.abc import Mapping

TITLE = "Closing certificate"
VISIT_HEADS = ("Visit", "Out of the cone", "Going in elsewhere", "Frames in the box")
HEADINGS = {
    "done": "What was done",
    "visits": "What was counted",
    "sure": "How sure it was that the wall was empty",
    "left": "What stays in the wall",
    "closed": "What was closed, and ticked off as done",
    "warranty": "Warranty",
    "cautions": "Please note",
}

_TEMPLATES: Mapping[str, str] = {"main.typ": "certificate.typ", "style.typ": "style.typ"}
_SIZES_PT = (10.0, 9.5, 9.0, 8.5, 8.0, 7.5)


@dataclass(frozen=True, slots=True)
class Certificate:
    """Everything that a closing certificate says, in ready words.

    `visits` has the cells of each visit in the order of VISIT_HEADS; `sure` says what the
    chance was and how it was reached, or why it was closed below what the firm asks for;
    `left` what stays in the wall with its range, `meaning` what that may come to.
    """

    number: str
    issued: str
    firm: str
    firm_place: str
    facts: tuple[Line, ...]
    statement: str
    done: tuple[Line, ...]
    visits: tuple[tuple[str, str, str, str], ...]
    sure: tuple[str, ...]
    left: tuple[Line, ...]
    meaning: tuple[str, ...]
    closed: tuple[str, ...]
    warranty: str
    words: str
    signed_by: str
    cautions: tuple[str, ...]


def certificate_pdf(certificate: Certificate) -> bytes:
    """Set a certificate as PDF, at the largest text that fits one page.

    The same certificate gives the same bytes.
    """
    import typst

    content = {
        "labels": LABELS,
        "made_by": MADE_BY,
        "heading": TITLE,
        "headings": HEADINGS,
        "visit_heads": VISIT_HEADS,
        "certificate": asdict(certificate),
    }
    title = f"{TITLE} {certificate.number}"
    for size_pt in _SIZES_PT:
        options = typst_options(_TEMPLATES, title, content, size=str(size_pt))
        pages = typst.query(selector="<pages>", field="value", one=True, **options)
        if int(pages) == 1:
            break
    made: bytes = typst.compile(output=None, format="pdf", **options)
    return made
