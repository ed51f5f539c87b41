"""What the fleet record page shows: which kind of part, compared by what, in which words; no widgets."""

from dataclasses import dataclass, replace
from gettext import gettext as _
from gettext import ngettext

from wearlog.drawing.number_words import share_text
from wearlog.drawing.record_sentences import (
    hindsight_text,
    life_sentences,
    rate_sentences,
    reliability_sentences,
)
from wearlog.drawing.record_words import counted, factor_text, kind_text, parts_text
from wearlog.fleet.quantity import ShownUnits
from wearlog.workshop.record_snapshot import WIDTHS, Factor, KindRecord, RecordSnapshot, Reliability

#: Up to so many readings the careful look follows the quick one by itself; beyond, it is asked for.
CAREFUL_AT_ONCE = 20_000


@dataclass(frozen=True, slots=True)
class HeldRow:
    """How one kind of forecast fared: its name, how many were checked, and the share each interval held."""

    name: str
    checks: str
    shares: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RecordModel:
    """The state of the page; every change makes another one.

    Attributes
    ----------
    snapshot
        None until the first was read.
    kind_key
        The kind of part chosen; empty for all together.
    by
        What rates and lives are compared by.
    """

    shown: ShownUnits
    snapshot: RecordSnapshot | None = None
    kind_key: str = ""
    by: Factor = Factor.DUTY

    @property
    def kind(self) -> KindRecord | None:
        """The kind of part chosen; None for all together."""
        return self.snapshot.kind(self.kind_key) if self.snapshot is not None and self.kind_key else None

    @property
    def is_empty(self) -> bool:
        """Whether no part is followed yet."""
        return self.snapshot is not None and not self.snapshot.kinds

    @property
    def wants_careful_look(self) -> bool:
        """Whether forecasts are still judged with hindsight."""
        return self.snapshot is not None and not self.snapshot.is_honest and not self.is_empty

    @property
    def is_small(self) -> bool:
        """Whether the careful look is quick enough to follow by itself."""
        kinds = self.snapshot.kinds if self.snapshot is not None else ()
        return sum(kind.n_readings for kind in kinds) <= CAREFUL_AT_ONCE

    def with_snapshot(self, snapshot: RecordSnapshot) -> "RecordModel":
        """Return the page with another record; the choice stays if it is still there."""
        kept = self.kind_key if snapshot.kind(self.kind_key) is not None else ""
        return replace(self, snapshot=snapshot, kind_key=kept)

    def with_kind(self, key: str) -> "RecordModel":
        """Return the page for another kind of part; compared by what it was if it can be."""
        chosen = replace(self, kind_key=key)
        possible = [factor for factor, _name in chosen.factors()]
        return chosen if not possible or self.by in possible else replace(chosen, by=possible[0])

    def compared_by(self, by: Factor) -> "RecordModel":
        """Return the page with another comparison."""
        return replace(self, by=by)

    def in_units(self, shown: ShownUnits) -> "RecordModel":
        """Return the page in other units."""
        return replace(self, shown=shown)

    def kinds(self) -> list[tuple[str, str]]:
        """Return keys and names of what can be chosen."""
        kinds = self.snapshot.kinds if self.snapshot is not None else ()
        return [("", _("all parts")), *((kind.key, kind_text(kind)) for kind in kinds)]

    def factors(self) -> list[tuple[Factor, str]]:
        """Return by what the chosen kind can be compared."""
        kind = self.kind
        return [] if kind is None else [(by, factor_text(by)) for by in Factor if by in kind.comparisons]

    def summary(self) -> str:
        """Return what the record rests on."""
        if self.snapshot is None or self.is_empty:
            return ""
        readings, parts = (
            sum(getattr(kind, name) for kind in self.snapshot.kinds) for name in ("n_readings", "n_parts")
        )
        return _("{readings} of {parts} on {vehicles}. {hindsight}").format(
            readings=ngettext("{n} reading", "{n} readings", readings).format(n=counted(readings)),
            parts=parts_text(parts),
            vehicles=ngettext("{n} vehicle", "{n} vehicles", self.snapshot.n_vehicles).format(
                n=counted(self.snapshot.n_vehicles)
            ),
            hindsight=hindsight_text(self.snapshot),
        )

    def _judged(self) -> tuple[Reliability, Reliability] | None:
        judged = self.kind or self.snapshot
        return None if judged is None else (judged.readings, judged.distances)

    def held_rows(self) -> list[HeldRow]:
        """Return the share that each interval held, next to what it promised."""
        judged = self._judged()
        if judged is None:
            return []
        names = (_("next reading"), _("distance at the limit"))
        return [
            HeldRow(name, str(one.n_checks), tuple(share_text(one.held(width).share) for width in WIDTHS))
            for name, one in zip(names, judged, strict=True)
            if one.n_checks
        ]

    def forecast_words(self) -> list[str]:
        """Return what forecasts were worth."""
        judged = self._judged()
        return [] if judged is None else reliability_sentences(*judged)

    def rate_words(self) -> list[str]:
        """Return how fast parts wear."""
        if self.kind is not None:
            return rate_sentences(self.kind, self.by if self.factors() else None, self.shown)
        return [
            _(
                "Dots are usual parts of each kind, lines the 95 % interval of that. Choose a kind of part "
                "above to compare its stages, duties, part types, lots and lubrication."
            )
        ]

    def life_words(self) -> list[str]:
        """Return how long parts last."""
        if self.kind is not None:
            return life_sentences(self.kind, self.by if self.factors() else None, self.shown)
        kinds = self.snapshot.kinds if self.snapshot is not None else ()
        if not any(kind.survival is not None and kind.survival.n_worn for kind in kinds):
            return [_("No part has reached its limit or come off worn yet.")]
        return [
            _(
                "A part’s life ends when it reaches its limit or comes off worn. Parts that came off early "
                "or still run count as far as they got; lines are the 95 % interval."
            )
        ]
