"""Every form by the kind of entry that it makes."""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING

from lastbee.web.forms.afterwards import callback_form, certificate_form
from lastbee.web.forms.at_the_box import box_form, set_up_form
from lastbee.web.forms.deciding import close_out_form, decision_form, ended_form
from lastbee.web.forms.inspection import inspection_form
from lastbee.web.forms.told import call_form, note_form, photo_form
from lastbee.web.forms.visit import visit_form

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from lastbee.web.forms.form import Form
    from lastbee.web.forms.situation import Situation

_FORMS: Mapping[str, Callable[[Situation], Form]] = MappingProxyType(
    {
        "call": call_form,
        "inspection": inspection_form,
        "decision": decision_form,
        "set-up": set_up_form,
        "visit": visit_form,
        "box": box_form,
        "close-out": close_out_form,
        "certificate": certificate_form,
        "callback": callback_form,
        "note": note_form,
        "photo": photo_form,
        "ended": ended_form,
    }
)

KINDS = tuple(_FORMS)
"""Kinds of entry that have a form here."""


def form_of(kind: str, situation: Situation) -> Form:
    """The form for a kind of entry.

    Raises
    ------
    KeyError
        If there is none.
    """
    return _FORMS[kind](situation)
