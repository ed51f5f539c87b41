"""Replaces the rows of a model, touching only those that differ: choice and place in the list stay."""

from bisect import bisect_left
from collections.abc import Callable, Hashable, Sequence
from typing import TypeVar

from PySide6.QtCore import QAbstractItemModel, QModelIndex

T = TypeVar("T")

#: Up to so many separate places are changed one by one; beyond, the list is laid out anew at once.
MOST_PLACES = 40


def take_rows(
    model: QAbstractItemModel,
    shown: list[T],
    wanted: Sequence[T],
    key: Callable[[T], Hashable],
    columns: int = 1,
) -> None:
    """Turn the rows shown into the rows wanted, and let Qt know which came, went and changed.

    Parameters
    ----------
    model
        The model whose rows these are.
    shown
        Its rows; changed in place.
    wanted
        What they are to be.
    key
        What tells one row from the others and stays when the row changes.
    columns
        How many columns the model has.
    """
    old_keys, new_keys = [key(row) for row in shown], [key(row) for row in wanted]
    if old_keys != new_keys:
        staying = _staying(old_keys, new_keys)
        gone = runs([n for n, old in enumerate(old_keys) if old not in staying])
        come = runs([n for n, new in enumerate(new_keys) if new not in staying])
        if len(gone) + len(come) > MOST_PLACES:
            model.beginResetModel()
            shown[:] = wanted
            model.endResetModel()
            return
        for first, last in reversed(gone):
            model.beginRemoveRows(QModelIndex(), first, last)
            del shown[first : last + 1]
            model.endRemoveRows()
        for first, last in come:
            model.beginInsertRows(QModelIndex(), first, last)
            shown[first:first] = wanted[first : last + 1]
            model.endInsertRows()
    differing = [n for n, (old, new) in enumerate(zip(shown, wanted, strict=True)) if old != new]
    shown[:] = wanted
    for first, last in runs(differing):
        model.dataChanged.emit(model.index(first, 0), model.index(last, columns - 1))


def runs(numbers: Sequence[int]) -> list[tuple[int, int]]:
    """Return first and last of every run of consecutive numbers.

    Examples
    --------
    >>> runs([1, 2, 3, 7, 9, 10])
    [(1, 3), (7, 7), (9, 10)]
    """
    found: list[tuple[int, int]] = []
    for number in numbers:
        if found and found[-1][1] == number - 1:
            found[-1] = (found[-1][0], number)
        else:
            found.append((number, number))
    return found


def _staying(old_keys: Sequence[Hashable], new_keys: Sequence[Hashable]) -> set[Hashable]:
    """Return as many keys as can stay where they are while the others move: a longest rising sequence."""
    place = {new: n for n, new in enumerate(new_keys)}
    common = [old for old in old_keys if old in place]
    ends: list[int] = []
    end_at: list[int] = []
    before: list[int] = []
    for n, known in enumerate(common):
        at = bisect_left(ends, place[known])
        before.append(end_at[at - 1] if at else -1)
        ends[at : at + 1] = [place[known]]
        end_at[at : at + 1] = [n]
    staying: set[Hashable] = set()
    n = end_at[-1] if end_at else -1
    while n >= 0:
        staying.add(common[n])
        n = before[n]
    return staying
