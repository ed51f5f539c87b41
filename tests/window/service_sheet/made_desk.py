"""A desk that remembers, for tests of the page alone: it answers with the builders' sheets and previews."""

from dataclasses import dataclass, field, replace
from itertools import count

from tests.makers.sheet_preview import preview_of
from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.window.service_sheet.desk import Opened
from wearlog.workshop.changes import Changes
from wearlog.workshop.sheet import SheetDraft, SheetPreview, SheetSnapshot


@dataclass
class MadeDesk:
    """Keeps drafts as text, as the store does, and remembers what was saved."""

    sheets: dict[int, SheetSnapshot]
    kept: dict[int, str] = field(default_factory=dict)
    saved: list[SheetDraft] = field(default_factory=list)
    refusal: WearlogError | None = None
    numbers: count = field(default_factory=lambda: count(1))

    def tags(self) -> tuple[tuple[str, int], ...]:
        return tuple((sheet.tag, vehicle_id) for vehicle_id, sheet in self.sheets.items())

    def vehicle_tagged(self, tag: str) -> int:
        for vehicle_id, sheet in self.sheets.items():
            if sheet.tag.casefold() == tag.casefold():
                return vehicle_id
        raise WearlogError(Problem(f"There is no vehicle with the tag {tag}.", kind=ProblemKind.NOT_FOUND))

    def open_named(self, name: str) -> Opened:
        return self.open(self.vehicle_tagged(name))

    def open(self, vehicle_id: int, planned_number: str = "") -> Opened:
        text = self.kept.get(vehicle_id)
        sheet = replace(self.sheets[vehicle_id], planned_number=planned_number)
        return Opened(sheet, None if text is None else SheetDraft.from_text(text))

    def keep(self, draft: SheetDraft) -> None:
        if draft.is_empty:
            self.kept.pop(draft.vehicle_id, None)
        else:
            self.kept[draft.vehicle_id] = draft.to_text()

    def drop(self, vehicle_id: int) -> None:
        self.kept.pop(vehicle_id, None)

    def preview(self, draft: SheetDraft) -> SheetPreview:
        return preview_of(self.sheets[draft.vehicle_id], draft)

    def save(self, draft: SheetDraft) -> Changes:
        if self.refusal is not None:
            raise self.refusal
        self.saved.append(draft)
        self.drop(draft.vehicle_id)
        tag = self.sheets[draft.vehicle_id].tag
        return Changes(
            f"Service of {tag} saved", f"change {next(self.numbers)}", frozenset({draft.vehicle_id})
        )
