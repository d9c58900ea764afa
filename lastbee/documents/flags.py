"""Placing words on poles along a line, so that none covers another and no pole runs through one.

A flag hangs at its day like a pennant on a pole: the pole runs from the line to the flag's
row, the words stand to its right or, near the end of the line or beside another upright that
would run through them, to its left.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

# Clear room kept between words, and between a pole and words it passes.
_GAP, _CLEAR = 6.0, 0.5
_ROUNDING = 1.0e-6


@dataclass(frozen=True, slots=True)
class Flag:
    """A flag where it hangs: words from `left` to `right` in `row`, 0 being next to the line."""

    pole: float
    left: float
    right: float
    row: int

    @property
    def is_left_of_pole(self) -> bool:
        """Whether the words end at the pole instead of beginning there."""
        return self.right <= self.pole + _ROUNDING


def hang(
    poles: Sequence[float],
    widths: Sequence[float],
    room: float,
    uprights: Sequence[float] = (),
) -> tuple[Flag | None, ...]:
    """Find a place for each flag.

    Parameters
    ----------
    poles
        Places of the poles along the line, in any order, each from 0 to `room`.
    widths
        Widths of the words, shape (n,), in the same unit.
    room
        Length of the line; no words reach beyond 0 or `room`.
    uprights
        Places of lines that run through every row.

    Returns
    -------
    The flags in the order of `poles`; None for words longer than the line.

    Notes
    -----
    Flags that fly right are hung from the last pole back, each in the first row that is clear;
    those further left then stand higher and pass no words. Flags that fly left are hung from the
    first pole on. Whatever would fly right across the pole of one that flies left turns too; so
    does what would fly right across an upright, unless one runs through its other side as well.
    Turning away from uprights can crowd the poles, so it is tried with and without, and with
    either side first. What leaves out fewer flags is taken, then what fewer uprights run through,
    then the lower one. In a crowd that leaves one out even so, a pole may pass behind words;
    words never meet.
    """
    tries = [
        (lefts, _hung(order, lefts, poles, widths, room))
        for minded in (uprights, ())
        for order, lefts in _orders(poles, widths, room, minded)
    ]
    lefts, best = min(tries, key=lambda tried: _drawbacks(tried[1], uprights))
    for number in range(len(poles)):
        if number not in best and widths[number] <= room:
            best[number] = _squeezed_in(poles[number], widths[number], lefts[number], best)
    return tuple(best.get(number) for number in range(len(poles)))


def _orders(
    poles: Sequence[float], widths: Sequence[float], room: float, uprights: Sequence[float]
) -> tuple[tuple[tuple[int, ...], Mapping[int, float]], ...]:
    """Two orders to hang the flags in, with where the words of each begin."""
    rightward, leftward = _sides(poles, widths, room, uprights)
    lefts = {
        number: poles[number] - (widths[number] if number in leftward else 0.0)
        for number in range(len(poles))
    }
    return ((*rightward, *leftward), lefts), ((*leftward, *rightward), lefts)


def _drawbacks(hung: Mapping[int, Flag], uprights: Sequence[float]) -> tuple[int, int, int]:
    """What speaks against a try, the gravest first; less is better."""
    crossed = sum(_is_crossed(flag.left, flag.right, uprights) for flag in hung.values())
    return -len(hung), crossed, sum(flag.row for flag in hung.values())


def _hung(
    order: Sequence[int],
    lefts: Mapping[int, float],
    poles: Sequence[float],
    widths: Sequence[float],
    room: float,
) -> dict[int, Flag]:
    """Hang flags in this order, each in the first row that is clear."""
    hung: dict[int, Flag] = {}
    for number in order:
        left, right = lefts[number], lefts[number] + widths[number]
        if left < -_ROUNDING or right > room + _ROUNDING:
            continue
        placed = tuple(hung.values())
        tried = (Flag(poles[number], left, right, row) for row in range(len(placed) + 1))
        clear = (flag for flag in tried if all(_is_clear(flag, other) for other in placed))
        if (found := next(clear, None)) is not None:
            hung[number] = found
    return hung


def _squeezed_in(pole: float, width: float, left: float, hung: Mapping[int, Flag]) -> Flag:
    """The first row in which no words are met, whatever poles pass."""
    left = max(0.0, left)
    tried = (Flag(pole, left, left + width, row) for row in range(len(hung) + 1))
    return next(
        flag
        for flag in tried
        if all(flag.row != other.row or _is_clear(flag, other) for other in hung.values())
    )


def _sides(
    poles: Sequence[float], widths: Sequence[float], room: float, uprights: Sequence[float]
) -> tuple[list[int], list[int]]:
    """Which flags fly right, from the last pole back, and which left, from the first on."""
    rightward: list[int] = []
    leftward: list[int] = []
    for number in sorted(range(len(poles)), key=lambda each: -poles[each]):
        pole, start, end = (
            poles[number],
            poles[number] - widths[number],
            poles[number] + widths[number],
        )
        turned = [poles[other] for other in leftward]
        may_turn = start >= 0.0 and not _is_crossed(start, pole, uprights)
        if end <= room and not (may_turn and _is_crossed(pole, end, (*uprights, *turned))):
            rightward.append(number)
        else:
            leftward.append(number)
    return rightward, leftward[::-1]


def _is_crossed(left: float, right: float, uprights: Sequence[float]) -> bool:
    return any(left + _CLEAR < upright < right - _CLEAR for upright in uprights)


def _is_clear(one: Flag, other: Flag) -> bool:
    if one.row == other.row:
        return one.right + _GAP <= other.left or other.right + _GAP <= one.left
    near, far = (one, other) if one.row < other.row else (other, one)
    return not _is_crossed(near.left, near.right, (far.pole,))
