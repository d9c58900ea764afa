"""Forms of what comes once the wall is closed: the certificate, and calls under its warranty."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lastbee.methods import cautions
from lastbee.web.forms.form import Field, Form, Option, Section, options
from lastbee.web.forms.photo_fields import photos_beside
from lastbee.web.forms.weather_fields import day_and_time

if TYPE_CHECKING:
    from lastbee.office.certifying import ToSign
    from lastbee.web.forms.situation import Situation

_CAUSES = ("leak", "new swarm", "bees left behind", "honey or smell", "not ours", "unknown")


def certificate_form(situation: Situation) -> Form:
    """The closing certificate; what the forecast knows of the wall today is kept with it."""
    return Form(
        kind="certificate",
        title="Certificate",
        lead="It says that the wall is closed, what stays in it and how long the firm answers "
        "for it.",
        sections=(
            Section(
                "The certificate",
                (
                    Field("signed_by", "Signed by", "person", is_needed=True),
                    Field("date", "Day", "day", is_needed=True),
                    Field("warranty_until", "Warranty until", "day"),
                    Field("words", "To add", "long-text"),
                ),
            ),
            _said(situation.to_sign, situation.warning),
        ),
        submit="Issue the certificate",
    )


def _said(known: ToSign, warning: str) -> Section:
    """What it says of the wall, as far as only a forecast knows."""
    honey = (known.honey_forecast,) if known.honey_forecast else ()
    told = (
        ("statement", "What was achieved", (known.statement,) if known.statement else ()),
        ("sure", "How sure it was that the wall was empty", known.sure),
        ("honey_forecast", "Honey that stays in the wall", honey),
        ("meaning", "What that may come to", known.meaning),
    )
    return Section(
        "It says" if known.sure else "",
        tuple(
            Field(name, label, "told", tuple(Option(words, words) for words in said))
            for name, label, said in told
        ),
        lead=warning if known.sure else "",
    )


def callback_form(situation: Situation) -> Form:
    """A call under the warranty."""
    return Form(
        kind="callback",
        title="Callback",
        sections=(
            Section(
                "What is reported",
                (
                    Field("what", "What the client reports", "long-text", is_needed=True),
                    *day_and_time(of="the call"),
                    Field(
                        "cause", "It was", "choice",
                        options(*_CAUSES, unknown="nobody knows"), blank="not looked",
                    ),
                    Field("mended", "Put right", "yes-no", blank="not yet", as_words=True),
                    Field("notes", "Anything else", "long-text"),
                ),
                caution=cautions.stings(situation.circumstances, brief=True),
            ),
            photos_beside(),
        ),
        submit="Keep this callback",
    )  # fmt: skip
