"""A part moved to another vehicle or stage."""

from dataclasses import replace
from datetime import date
from gettext import gettext as _

from PySide6.QtWidgets import QComboBox

from wearlog.drawing.words import place_text, use_text
from wearlog.fleet.fitting import Installation, Position
from wearlog.fleet.problem import Doubt, Offer, Problem, WearlogError
from wearlog.fleet.quantity import ShownUnits
from wearlog.window.bench_keys import put_focus
from wearlog.window.fields import DateField, TagField
from wearlog.window.history.forms import HistoryForm, MeterText
from wearlog.window.history.traffic import Look
from wearlog.window.settings.form import Labelled, understood
from wearlog.workshop.history_snapshot import HistoryLine, HistorySnapshot, Place
from wearlog.workshop.move_part import MoveLook, PartMove


def place_line(place: Place) -> str:
    """Return a place of a vehicle in a line, with what sits there now."""
    where = place_text(place.stage_name, place.position)
    return _("{where} (now {part})").format(where=where, part=place.sits_there) if place.sits_there else where


class MoveForm(HistoryForm):
    """Where to, from which day, and what the meters showed."""

    def __init__(self, today: date) -> None:
        super().__init__(_("Move a part"), _("&Move it"))
        self._installation: Installation | None = None
        self._places: dict[int, list[Place]] = {}
        self._from: tuple[str, Position | None] = ("", None)
        self._today = today
        self.tag = TagField(_("To vehicle"))
        self.place = QComboBox()
        self.day = DateField(_("Day"), today)
        self.meter_from = MeterText(_("Meter here"))
        self.meter_to = MeterText(_("Meter there"))
        hint = _("Leave it empty to reckon it from the entries before and after.")
        self.add_fields(
            Labelled(_("To vehicle"), self.tag, 130, _("Its tag, typed or scanned.")),
            Labelled(_("Place"), self.place, 360),
            Labelled(_("Day"), self.day, 130),
        )
        self.add_fields(
            Labelled(_("Meter here"), self.meter_from, 150, hint),
            Labelled(_("Meter there"), self.meter_to, 150, hint),
        )
        self.add_widget(self.comes_to)
        for field in (self.day, self.meter_from, self.meter_to):
            field.understood.connect(self.typed)
        self.tag.understood.connect(self._on_tag)
        self.place.currentIndexChanged.connect(lambda _index: self.typed())

    def open_line(self, line: HistoryLine, snapshot: HistorySnapshot, shown: ShownUnits) -> None:
        """Ask where the part of a line goes; the places come a moment later."""
        record = line.record
        if not isinstance(record, Installation):
            message = "only a part is moved here"
            raise TypeError(message)
        self.shown, self.use_unit = shown, snapshot.use_unit
        self._installation = record
        self._from = (line.stage_name, line.position)
        self.title.setText(_("Move: {part} of {tag}").format(part=line.part_text, tag=snapshot.tag))
        for field in (self.meter_from, self.meter_to):
            field.set_meter_unit(snapshot.meter_unit)
            field.clear()
        self.meter_from.setEnabled(record.removed_on is None)
        self.day.set_day(self._today)
        self.show_places(())
        self.stop()

    @property
    def has_places(self) -> bool:
        """Whether it is known where the part may go."""
        return bool(self._places)

    def show_places(self, places: tuple[Place, ...]) -> None:
        """Know the places; none is chosen beforehand."""
        self._places = {}
        for place in places:
            self._places.setdefault(place.vehicle_id, []).append(place)
        self.tag.set_tags({(place.tag, place.vehicle_id) for place in places})
        self.tag.clear()
        self._on_tag()

    def _on_tag(self) -> None:
        here = self._places.get(self.tag.vehicle_id or 0, [])
        self.place.blockSignals(True)
        self.place.clear()
        self.place.addItems([place_line(place) for place in here])
        likely = [n for n, place in enumerate(here) if (place.stage_name, place.position) == self._from]
        if likely:
            self.place.setCurrentIndex(likely[0])
        self.place.setEnabled(bool(here))
        self.place.blockSignals(False)
        if here:
            self.meter_to.set_meter_unit(here[0].meter_unit)
        self.typed()

    def _chosen(self) -> Place | None:
        here = self._places.get(self.tag.vehicle_id or 0, [])
        at = self.place.currentIndex()
        return here[at] if 0 <= at < len(here) else None

    def record(self) -> PartMove:
        """Return the move.

        Raises
        ------
        WearlogError
            All that can't be understood.
        """
        problems = understood(self.day, self.meter_from, self.meter_to)
        place = self._chosen()
        if place is None:
            text = self.tag.text().strip()
            what = _("No place is chosen.")
            if text:
                what = _("There is no place for this part on “{text}”.").format(text=text)
            problems.append(Problem(what, todo=_("Type the tag of a vehicle with such a drive.")))
        if self.day.day is None and not self.day.problem:
            problems.append(Problem(_("The day is missing."), todo=_("Give the day it was moved.")))
        if self._installation is None or place is None or problems or self.day.day is None:
            raise WearlogError(*(problems or [Problem(_("No part is chosen."))]))
        return PartMove(
            installation=self._installation,
            stage_id=place.stage_id,
            position=place.position,
            on=self.day.day,
            meter_from=self.meter_from.value,
            meter_to=self.meter_to.value,
            typed_from=self.meter_from.text().strip(),
            typed_to=self.meter_to.text().strip(),
        )

    def look_text(self, look: Look) -> str:
        """Return the use that goes along, and what has to come off."""
        if not isinstance(look, MoveLook):
            return ""
        text = _("Its {use} and its readings go along.").format(
            use=use_text(look.part_use, self.use_unit, self.shown)
        )
        if look.comes_off:
            text += " " + _("The {part} has to come off there.").format(part=look.comes_off)
        return text

    def theirs_text(self, theirs: object) -> str:  # noqa: ARG002 - only that it changed matters
        """Return that the part was seen to by somebody else."""
        return _("its fitting was changed")

    def rebase(self, theirs: object) -> None:
        """Move it from where somebody else put it."""
        if isinstance(theirs, Installation):
            self._installation = theirs

    def _on_offer(self, doubt: Doubt | None, offer: Offer) -> None:
        if offer.action == "take off":
            try:
                order = replace(self.record(), takes_off=True)
            except WearlogError as error:
                self.show_error(error)
                return
            self.said.show_sentences(())
            self.insisted.emit(order)
        elif offer.action == "other place":
            self.said.show_sentences(())
            put_focus(self.tag)
        else:
            super()._on_offer(doubt, offer)
