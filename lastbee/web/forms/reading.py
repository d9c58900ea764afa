"""From what was posted to the body of an entry, and back.

`tree_of_form` never fails and loses no word: what is no number, no unit and no choice goes
into the body as the text it is, and those who read bodies say what is wrong with it. What was
left empty is left out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from lastbee.web.forms.amounts import measure_of, number_of, parts_of_measure, text_of_number
from lastbee.web.forms.form import OTHER_SIDE, TICK, UNIT

if TYPE_CHECKING:
    from collections.abc import Mapping

    from lastbee.web.forms.form import Field, Form, Posted
    from lastbee.words import UnitSystem

_YES, _NO = "yes", "no"


def tree_of_form(form: Form, posted: Posted, units: UnitSystem) -> dict[str, Any]:
    """Make the body of an entry.

    Parameters
    ----------
    form
        The form that was posted.
    posted
        What came; names that the form does not know are passed over.
    units
        What a number without a unit is meant in.

    Returns
    -------
    The body, tables within tables, without what was left empty.
    """
    tree: dict[str, Any] = {}
    for field in form.fields:
        value = _value(field, posted, units)
        if value is not None:
            _put(tree, field.name, value)
    return tree


def posted_of_tree(form: Form, tree: Mapping[str, Any]) -> dict[str, list[str]]:
    """Give what a browser would post for a body: the inverse of `tree_of_form`."""
    posted: dict[str, list[str]] = {}
    for field in form.fields:
        value = value_at(tree, field.name)
        if value is not None:
            posted |= _parts(field, value)
    return posted


def value_at(tree: Any, name: str) -> Any:
    """The value at a dotted key, None where there is none."""
    for key in name.split("."):
        tree = tree.get(key) if isinstance(tree, dict) else None
    return tree


def without(form: Form, tree: Mapping[str, Any]) -> dict[str, Any]:
    """What a body holds beside the fields of a form, so that a correction can keep it."""
    return _without(tree, "", {field.name for field in form.fields})


def joined(first: Mapping[str, Any], second: Mapping[str, Any]) -> dict[str, Any]:
    """Two bodies as one; where both have a value, that of the second."""
    both = dict(first)
    for key, value in second.items():
        inner = both.get(key)
        if isinstance(inner, dict) and isinstance(value, dict):
            value = joined(inner, value)
        both[key] = value
    return both


def _without(tree: Mapping[str, Any], above: str, names: set[str]) -> dict[str, Any]:
    left: dict[str, Any] = {}
    for key, value in tree.items():
        name = f"{above}{key}"
        if name in names:
            continue
        if not isinstance(value, dict):
            left[key] = value
        elif rest := _without(value, f"{name}.", names):
            left[key] = rest
    return left


def _put(tree: dict[str, Any], name: str, value: Any) -> None:
    *tables, key = name.split(".")
    for table in tables:
        tree = tree.setdefault(table, {})
    tree[key] = value


def _text(posted: Posted, name: str) -> str:
    """What was written under a name; of several, the last that says anything."""
    said = [one.strip() for one in posted.get(name, ())]
    return next((one for one in reversed(said) if one), "")


def _value(field: Field, posted: Posted, units: UnitSystem) -> Any:
    if field.control in ("ticks", "told"):
        said = (one.strip() for one in posted.get(field.name, ()))
        return list(dict.fromkeys(one for one in said if one)) or None
    amount = _amount(field, posted, units)
    return amount if field.tick is None else _ticked(field, amount, posted)


def _amount(field: Field, posted: Posted, units: UnitSystem) -> Any:
    written = _text(posted, field.name)
    if field.control == "measure" and field.scale is not None:
        other = _text(posted, field.name + OTHER_SIDE) if field.scale.usual_area else ""
        if not written and not other:
            return None
        chosen = posted.get(field.name + UNIT)
        unit = None if chosen is None else _text(posted, field.name + UNIT)
        return measure_of(written, other, unit, field.scale, units)
    if not written:
        return None
    if field.control in ("number", "stepper"):
        return number_of(written)
    if field.control == "tick" or (field.control == "yes-no" and not field.as_words):
        return {_YES: True, _NO: False}.get(written, written)
    return written.replace("\r\n", "\n")


def _ticked(field: Field, amount: Any, posted: Posted) -> Any:
    """The amount, or what its tick says in place of one."""
    said = _text(posted, field.name + TICK)
    if not said or field.tick is None:
        return amount
    if said != _YES:
        return {_NO: False}.get(said, said) if amount is None else amount
    if amount is None:
        return field.tick.value
    # None and some at once: only the person who wrote it knows which.
    return amount if field.tick.value is True else f"{field.tick.value}, {amount}"


def _parts(field: Field, value: Any) -> dict[str, list[str]]:
    if field.control in ("ticks", "told"):
        many = value if isinstance(value, list | tuple) else [value]
        return {field.name: [str(one) for one in many]}
    if field.tick is not None and _is_ticked(field, value):
        return {field.name + TICK: [_NO if value is False else _YES]}
    if field.control == "measure" and field.scale is not None:
        return parts_of_measure(field.name, value, field.scale)
    if isinstance(value, bool):
        return {field.name: [_YES if value else _NO]}
    return {field.name: [text_of_number(value)]}


def _is_ticked(field: Field, value: Any) -> bool:
    if field.tick is None or field.tick.value is True:
        return isinstance(value, bool)
    is_zero = not isinstance(value, bool) and value == 0
    return is_zero or (isinstance(value, str) and value.strip().casefold() == field.tick.value)
