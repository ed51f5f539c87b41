"""Groups of records, and what follows from them, made when first asked for; after a change most is kept."""

from collections.abc import Callable, Collection, Iterator, Mapping
from typing import Any, Generic, TypeVar, overload

from wearlog.store.lazily import LazyRecords
from wearlog.store.rows import R

T = TypeVar("T")


class LazyGroups(Mapping[int, tuple[R, ...]], Generic[R]):
    """Records of one kind by the number in one of their fields, in a given order within each group."""

    def __init__(
        self,
        records: LazyRecords[R],
        field: str,
        order: Callable[[R], Any],
        numbers: dict[int, tuple[int, ...]],
        made: dict[int, tuple[R, ...]],
    ) -> None:
        self._records, self._field, self._order = records, field, order
        self._numbers, self._made = numbers, made

    @classmethod
    def by(cls, records: LazyRecords[R], field: str, order: Callable[[R], Any]) -> "LazyGroups[R]":
        """Return records grouped by a field and sorted by what `order` gives."""
        groups: dict[int, list[int]] = {}
        for number, group in zip(records, records.column(field), strict=True):
            groups.setdefault(group, []).append(number)
        return cls(records, field, order, {group: tuple(some) for group, some in groups.items()}, {})

    def __getitem__(self, group: int) -> tuple[R, ...]:
        found = self._made.get(group)
        if found is None:
            records = [self._records[number] for number in self._numbers[group]]
            found = self._made[group] = tuple(sorted(records, key=self._order))
        return found

    @overload
    def get(self, key: int, /) -> tuple[R, ...] | None: ...

    @overload
    def get(self, key: int, default: tuple[R, ...] | T, /) -> tuple[R, ...] | T: ...

    def get(self, key: int, default: object = None, /) -> object:
        """Return a group, or a default; quicker than by catching an error."""
        return self[key] if key in self._numbers else default

    def __iter__(self) -> Iterator[int]:
        return iter(self._numbers)

    def __len__(self) -> int:
        return len(self._numbers)

    def __contains__(self, group: object) -> bool:
        return group in self._numbers

    def counts(self) -> Iterator[tuple[int, int]]:
        """Yield each group and how many records are in it, without making them."""
        return ((group, len(numbers)) for group, numbers in self._numbers.items())

    def changed(self, records: LazyRecords[R], numbers: Collection[int]) -> "LazyGroups[R]":
        """Return the groups after the records with some numbers came, changed or went."""
        if not numbers:
            return self
        groups, made, touched = dict(self._numbers), dict(self._made), set()
        for number in numbers:
            for one in (self._records.get(number), records.get(number)):
                if one is not None:
                    group = getattr(one, self._field)
                    made.pop(group, None)
                    touched.add(group)
                    groups[group] = tuple(other for other in groups.get(group, ()) if other != number)
            now = records.get(number)
            if now is not None:
                groups[getattr(now, self._field)] += (number,)
        for group in touched:
            if not groups[group]:
                del groups[group]
        return LazyGroups(records, self._field, self._order, groups, made)


class LazyValues(Mapping[int, T], Generic[T]):
    """One value for each of some numbers, worked out when first asked for."""

    def __init__(self, numbers: Collection[int], make: Callable[[int], T], made: dict[int, T]) -> None:
        self._numbers, self._make, self._made = numbers, make, made

    def __getitem__(self, number: int) -> T:
        if number not in self._numbers:
            raise KeyError(number)
        if number not in self._made:
            self._made[number] = self._make(number)
        return self._made[number]

    def __iter__(self) -> Iterator[int]:
        return iter(self._numbers)

    def __len__(self) -> int:
        return len(self._numbers)

    def __contains__(self, number: object) -> bool:
        return number in self._numbers

    def made_but_for(self, numbers: Collection[int]) -> dict[int, T]:
        """Return what was worked out, without that of some numbers."""
        made = dict(self._made)
        for number in numbers:
            made.pop(number, None)
        return made
