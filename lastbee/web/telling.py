"""What an entry says, in the words of the form that took it down."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from lastbee.documents.lines import Line
from lastbee.documents.wording import clean
from lastbee.record.entry import SETTLES, WITHDRAWN
from lastbee.triage.questions import question_of
from lastbee.web.forms.amounts import text_of_number
from lastbee.web.forms.reading import value_at, without
from lastbee.words import day_words

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from lastbee.record.entry import Entry
    from lastbee.web.forms.form import Field, Form

TITLES = {
    "call": "Call", "inspection": "Inspection", "decision": "Decision", "set-up": "Set-up",
    "visit": "Visit", "box": "Box", "close-out": "Close-out", "certificate": "Certificate",
    "callback": "Callback", "note": "Note", "photo": "Photograph", "ended": "Job ended",
}  # fmt: skip
"""What each kind of entry is called."""

# The day and the time stand above an entry, a picture and what it settles beside it.
_TOLD_ELSEWHERE = ("date", "time", "inspection.date", "inspection.time", "picture", SETTLES)


def lines_of(entry: Entry, form: Form) -> tuple[Line, ...]:
    """Tell an entry, a line for each section of its form that says anything.

    Nothing written is passed over: keys that no field of the form has are told by their names.
    """
    if entry.is_withdrawal:
        return (Line("Taken back", clean(str(entry.body[WITHDRAWN]))),)
    body = entry.body
    told = [Line(*line) for line in _sections(form, body) if line[1]]
    if answers := _answers(body):
        told.append(Line("Said of the bees", answers))
    rest = [
        (name, value)
        for name, value in _leaves(without(form, body))
        if name not in _TOLD_ELSEWHERE and question_of(name.removeprefix("answers.")) is None
    ]
    if rest:
        said = "; ".join(f"{_plain(name)}: {_value_words(value)}" for name, value in rest)
        told.append(Line("Also", clean(said)))
    return tuple(told)


def _sections(form: Form, body: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    for section in form.sections:
        said = [
            (field.label, _words(field, value))
            for whole in section.fields
            for field in whole.leaves
            if not whole.is_beside
            and field.name not in _TOLD_ELSEWHERE
            and (value := value_at(body, field.name)) is not None
        ]
        if len(said) == 1:
            yield said[0]
        elif said:
            parts = (f"{label[0].lower()}{label[1:]}: {words}" for label, words in said)
            yield section.title or form.title, "; ".join(parts)


def _answers(body: Mapping[str, Any]) -> str:
    """What a caller answered to the questions of a call."""
    given = body.get("answers")
    if not isinstance(given, dict):
        return ""
    asked = ((question_of(str(key)), str(answer)) for key, answer in given.items())
    told = (question.answer(answer) for question, answer in asked if question is not None)
    return "; ".join(answer.told for answer in told if answer is not None)


def _words(field: Field, value: Any) -> str:
    """A value as the form shows it."""
    labels = {option.value: option.label for option in field.options}
    if isinstance(value, list | tuple):
        return clean("; ".join(labels.get(str(one), str(one)) for one in value))
    if isinstance(value, str) and field.control == "day":
        return _day(value)
    return labels.get(value, _value_words(value)) if isinstance(value, str) else _value_words(value)


def _value_words(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list | tuple):
        return clean("; ".join(map(_value_words, value)))
    return clean(text_of_number(value))


def _day(written: str) -> str:
    try:
        return day_words(date.fromisoformat(written))
    except ValueError:
        return clean(written)


def _leaves(tree: Mapping[str, Any], above: str = "") -> Iterator[tuple[str, Any]]:
    for key, value in tree.items():
        if isinstance(value, dict):
            yield from _leaves(value, f"{above}{key}.")
        else:
            yield f"{above}{key}", value


def _plain(name: str) -> str:
    return name.rpartition(".")[2].replace("_", " ")
