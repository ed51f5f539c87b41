"""A plan of visits as a calendar (RFC 5545): one all-day event for each visit."""

from collections.abc import Mapping
from datetime import UTC, date, datetime, time, timedelta
from gettext import gettext as _
from uuid import NAMESPACE_URL, uuid5

from icalendar import Calendar, Event

from wearlog import __version__
from wearlog.drawing.plan_words import early_or_late_text, stop_text, time_text, work_text
from wearlog.fleet.quantity import ShownUnits
from wearlog.workshop.plan_snapshot import PlannedStop, VisitPlan


def plan_calendar(
    plan: VisitPlan, shown: ShownUnits, numbers: Mapping[tuple[int, date], str] | None = None
) -> bytes:
    """Return the visits of a plan as an iCalendar stream.

    An event keeps its UID while its visit has the same number, or the same first job, so that a calendar
    which takes the file again moves the event. There is no METHOD: nobody is invited.

    Parameters
    ----------
    plan : VisitPlan
        The plan.
    shown : ShownUnits
        The units of this seat.
    numbers : mapping of (int, date) to str, optional
        Numbers of the job cards, by vehicle and day.

    References
    ----------
    RFC 5545, 3.6.1 (event), 3.8.4.7 (UID), 3.8.7.2 (DTSTAMP); RFC 7986, 5.3 (UID as a UUID).
    """
    calendar = Calendar()
    calendar.add("prodid", f"-//wearlog//wearlog {__version__}//EN")
    calendar.add("version", "2.0")
    stamp = datetime.combine(plan.today, time(0), tzinfo=UTC)
    for stop in plan.stops:
        number = (numbers or {}).get((stop.vehicle_id, stop.on), "")
        calendar.add_component(_event(stop, plan, stamp, shown, number))
    return bytes(calendar.to_ical())


def _event(stop: PlannedStop, plan: VisitPlan, stamp: datetime, shown: ShownUnits, number: str) -> Event:
    name = number or f"{stop.tag}:{min(work.line.key for work in stop.works)}"
    lines = [f"{work_text(work)}: {early_or_late_text(work, stop.on, shown)}" for work in stop.works]
    head = _("{time} in the bay").format(time=time_text(stop.minutes))
    if number:
        head = _("Job card {number}, {time} in the bay").format(number=number, time=time_text(stop.minutes))
    event = Event()
    event.add("uid", str(uuid5(NAMESPACE_URL, f"wearlog:visit:{name}")))
    event.add("dtstamp", stamp)
    event.add("sequence", plan.data_version)
    event.add("dtstart", stop.on)
    event.add("dtend", stop.on + timedelta(days=1))
    event.add("summary", f"{stop.tag}: {stop_text(stop)}")
    event.add("description", "\n".join([head, *lines]))
    event.add("location", stop.depot)
    event.add("transp", "TRANSPARENT")
    return event
