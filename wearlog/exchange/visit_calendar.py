"""The due list as a calendar (RFC 5545): one all-day event for each visit."""

from datetime import UTC, date, datetime, time, timedelta
from gettext import gettext as _
from itertools import groupby
from uuid import NAMESPACE_URL, uuid5

from icalendar import Calendar, Event

from wearlog import __version__
from wearlog.drawing.words import action_text, due_interval_text, reason_text
from wearlog.fleet.quantity import ShownUnits
from wearlog.wording import day_text
from wearlog.workshop.due_snapshot import DueLine, DueSnapshot


def visit_calendar(snapshot: DueSnapshot, shown: ShownUnits) -> bytes:
    """Return the visits of a due list as an iCalendar stream.

    An event keeps its UID while what is due stays the same, so that a calendar which takes the file again
    moves the event instead of doubling it. There is no METHOD: nobody is invited.

    Parameters
    ----------
    snapshot : DueSnapshot
        The due list.
    shown : ShownUnits
        The units of this seat.

    References
    ----------
    RFC 5545, 3.6.1 (event), 3.8.4.7 (UID), 3.8.7.2 (DTSTAMP); RFC 7986, 5.3 (UID as a UUID).
    """
    calendar = Calendar()
    calendar.add("prodid", f"-//wearlog//wearlog {__version__}//EN")
    calendar.add("version", "2.0")
    stamp = datetime.combine(snapshot.today, time(0), tzinfo=UTC)
    for lines in _visits(snapshot):
        calendar.add_component(_event(lines, snapshot, stamp, shown))
    return bytes(calendar.to_ical())


def _visits(snapshot: DueSnapshot) -> list[tuple[DueLine, ...]]:
    """Return the lines that come in together, a line without a visit by itself."""
    grouped = sorted((line for line in snapshot.lines if line.group), key=_visit)
    visits = [tuple(lines) for _number, lines in groupby(grouped, key=_visit)]
    visits += [(line,) for line in snapshot.lines if not line.group]
    return sorted(visits, key=lambda lines: (_day(lines), lines[0].tag))


def _visit(line: DueLine) -> tuple[int, int]:
    return line.vehicle_id, line.group


def _day(lines: tuple[DueLine, ...]) -> date:
    return lines[0].group_on or min(line.due_on for line in lines)


def _event(lines: tuple[DueLine, ...], snapshot: DueSnapshot, stamp: datetime, shown: ShownUnits) -> Event:
    first = lines[0]
    # What is overdue stands on the day of the list, where it will be seen.
    day = max(_day(lines), snapshot.today)
    actions = list(dict.fromkeys(action_text(line) for line in lines))
    event = Event()
    event.add("uid", str(uuid5(NAMESPACE_URL, f"wearlog:{first.tag}:{min(line.key for line in lines)}")))
    event.add("dtstamp", stamp)
    event.add("sequence", snapshot.data_version)
    event.add("dtstart", day)
    event.add("dtend", day + timedelta(days=1))
    event.add("summary", f"{first.tag}: {', '.join(actions)}")
    event.add("description", "\n".join(_told(line, shown) for line in lines))
    event.add("location", first.depot)
    event.add("categories", list(dict.fromkeys(_(line.action.value) for line in lines)))
    event.add("transp", "TRANSPARENT")
    return event


def _told(line: DueLine, shown: ShownUnits) -> str:
    what = ", ".join(text for text in (line.stage_name, line.part_text) if text)
    between = due_interval_text(line)
    when = _("due {day}").format(day=day_text(line.due_on)) + (f" ({between})" if between else "")
    return f"{action_text(line)}: {what}; {when}. {reason_text(line, shown)}"
