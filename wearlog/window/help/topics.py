"""What Help says of each page: what it is for, how to go about it, what goes wrong, its keys."""

from dataclasses import dataclass, field
from gettext import gettext as _

from wearlog.fleet.reading import Measurand


@dataclass(frozen=True, slots=True)
class PageHelp:
    """Help on one page.

    Attributes
    ----------
    purpose
        What the page is for.
    ways
        How to go about it.
    errors
        What usually goes wrong.
    keys
        Key and what it does.
    sources
        Where facts are from.
    measurands
        What is measured for this page; their ways are listed first, all others after them.
    """

    purpose: tuple[str, ...]
    ways: tuple[str, ...]
    errors: tuple[str, ...]
    keys: tuple[tuple[str, str], ...] = ()
    sources: tuple[str, ...] = ()
    measurands: tuple[Measurand, ...] = field(default=())


def page_help(name: str) -> PageHelp:
    """Return help on a page, by its name in the program.

    Examples
    --------
    >>> page_help("torque").keys[0]
    ('Ctrl+Enter', 'save')
    """
    return {**_daily(), **_planning(), **_keeping()}[name]


def _daily() -> dict[str, PageHelp]:
    save, on = (_("Ctrl+Enter"), _("save")), (_("Enter, Shift+Enter"), _("next field, field before"))
    chain = (Measurand.CHAIN_ELONGATION,)
    return {
        "trend": PageHelp(
            (
                _("Shows how worn a part is, how sure that is, and when it will be at its limit."),
                _(
                    "Each point is a reading with its uncertainty; the bands hold 50, 80 and 95 of"
                    " 100 courses."
                ),
            ),
            (
                _("Choose the part above the chart; walk through the readings with the arrow keys."),
                _(
                    "Where the path meets the limit, the mark below it is the range of distances,"
                    " above it of dates."
                ),
                _(
                    "“Why” unfolds what the estimate rests on: readings, the fleet’s share, the"
                    " source of the limit."
                ),
            ),
            (
                _("A wide band means few readings: measure again rather than guess."),
                _(
                    "A reading far off the path is questioned, not dropped: correct or void it in"
                    " the history."
                ),
            ),
            (
                (_("Left, Right"), _("reading before, next reading")),
                (_("Ctrl+0"), _("history: put a reading right")),
            ),
            (_("Uncertainty of readings: JCGM 100:2008."),),
            chain,
        ),
        "sheet": PageHelp(
            (
                _(
                    "Takes down a service: the meter, what was measured, what was done. Only what is"
                    " due is asked."
                ),
                _(
                    "Beside each field stands at once what it means: wear, change since last time,"
                    " the new date."
                ),
            ),
            (
                _("Type or scan the tag, then the meter, then the readings in the order of the hand."),
                _("Several places in one field: 257.1 257.4 256.9, or with + between them on a number pad."),
                _("Units may be typed: 10.12 in, 0.75 %. Without one, the unit in the field counts."),
                _(
                    "F2 chooses another way of measuring, F3 says why it was not measured, * that it"
                    " was cleaned."
                ),
            ),
            (
                _("The wrong vehicle: “Wrong vehicle?” takes all that was typed to another tag."),
                _("A question beside a field is a question: answer it with Alt and its number, or go on."),
                _("Counting links instead of pitches: the count stands in the small field, F4 goes there."),
            ),
            (save, on, (_("F2, F3, F4"), _("way of measuring, not measured, count of pitches"))),
            (),
            chain,
        ),
        "history": PageHelp(
            (_("Shows what happened to a vehicle, and lets any of it be put right. Nothing is deleted."),),
            (
                _(
                    "Choose a line; below it stands what can be done with it: correct, void with a"
                    " reason, move."
                ),
                _("“Who changed it” is the trail: who, when, from what to what."),
            ),
            (_("Voiding a reading that only looks odd: it may be the first sign of a fault."),),
            ((_("Enter"), _("change the line")), (_("Esc"), _("leave the form"))),
        ),
        "torque": PageHelp(
            (_("Takes down to what each fastener was tightened, in which order, and with which wrench."),),
            (
                _(
                    "Go through the list; the drawing shows the order of the bolts, crosswise where"
                    " they sit in a ring."
                ),
                _("Type one value for each bolt: 25 25 25 25."),
                _("After the re-check distance the due list asks for the fasteners again."),
            ),
            (
                _("Oil on a thread that is meant dry: the same torque pulls far harder."),
                _("A wrench past its calibration day: the page says so."),
                _("N·m and lbf·ft differ by 1.356: type the unit if it is not the one shown."),
            ),
            (save, on),
            (_("1 lbf·ft = 1.355 818 N·m: NIST SP 811, appendix B."),),
        ),
        "vehicle": PageHelp(
            (_("Says what a vehicle is: tag, meter, stages, and which parts are on it since when."),),
            (
                _("A new vehicle starts from a template: choose one, give the tag, save."),
                _("Teeth and links are counted on the part, not taken from a list."),
                _("A lay-up says from when to when it stood; its wear is not counted on over that time."),
            ),
            (
                _("A replaced meter is no new vehicle: enter it on the service sheet or in the history."),
                _("Links and pitches are the same number; a joining link counts as one."),
            ),
            (save, on, (_("Ctrl+N"), _("add a vehicle"))),
        ),
    }


def _planning() -> dict[str, PageHelp]:
    return {
        "due": PageHelp(
            (
                _("Lists what is due, by when and why, and groups it into visits."),
                _(
                    "A date of a part is the day on which the chance of being past its limit reaches"
                    " your caution level."
                ),
            ),
            (
                _("Narrow it by depot, horizon and kind; type to search."),
                _("Unfold “why” under a line; book the visit, or open its service sheet filled in."),
            ),
            (
                _(
                    "A part that was never measured is to be measured first; its date rests on the"
                    " fleet alone."
                ),
                _("The dates shift with every reading: print the wall list anew each week."),
            ),
            (
                (_("Enter"), _("service sheet of the line")),
                (_("T, Y, W"), _("trend, why, the coming weeks")),
                (_("B, D, Delete"), _("book the visit, enter it as done, call it off")),
            ),
        ),
        "plan": PageHelp(
            (_("Proposes who comes when: three ways to group the work, with what each costs and risks."),),
            (
                _("Compare the three at the top; choose one; shift a visit by a day or a week."),
                _("Booked visits stay where they are; the rest is planned around them."),
            ),
            (_("Too few places a day push visits past their dates: the count of late ones says so."),),
            (
                (_("Alt+Left, Alt+Right"), _("a day earlier, a day later")),
                (_("Alt+Page Up, Page Down"), _("a week earlier, later")),
            ),
        ),
        "parts": PageHelp(
            (_("Says what is to be ordered, when, and how many are enough with the chance you chose."),),
            (
                _(
                    "The bar is the demand expected over the weeks; filled is what is on the shelf"
                    " or on order."
                ),
                _("Receive, count, order and take off work on the chosen line."),
                _("“When to replace” compares the cost of changing early with that of a failure."),
            ),
            (
                _("Parts that are changed as a set are ordered as a set: chain and both sprockets."),
                _("A lead time that is too short makes every date too late: keep it up to date."),
            ),
            (
                (_("R, C, O, U"), _("receive, count, order, take off")),
                (_("Ctrl+Enter"), _("order all of today")),
            ),
        ),
        "setup": PageHelp(
            (
                _(
                    "Draws a stage to scale and shows what another set-up would change: ratio,"
                    " links, forces, life."
                ),
            ),
            (
                _(
                    "Change teeth, chain or belt, links or centre distance; each result stands"
                    " beside the present one."
                ),
                _("“Fit this” puts the planned parts on from a day and a meter."),
            ),
            (
                _("An odd count of links needs a cranked link: choose an even one."),
                _("A changed ratio may need approval: ask whoever licenses the vehicle."),
            ),
            ((_("Ctrl+Enter"), _("fit this")), (_("Ctrl+Up, Ctrl+Down"), _("stage before, next stage"))),
            (_("Chain length: ISO 10823:2004, here solved exactly; pitches: ISO 606:2015."),),
            (Measurand.SLACK, Measurand.ADJUSTER_POSITION),
        ),
        "record": PageHelp(
            (_("Shows how fast parts wear in this fleet, and how good earlier forecasts were."),),
            (
                _("Rates stand by part, stage, duty and lot, each with its range."),
                _(
                    "The back-test asks what would have been said then, and what came: 80 of 100"
                    " should be inside."
                ),
            ),
            (_("Few parts make a wide range: a difference inside it is no difference yet."),),
            (),
            (_("Coverage of intervals: T. Gneiting et al., J. R. Statist. Soc. B 69 (2007), 243."),),
        ),
    }


def _keeping() -> dict[str, PageHelp]:
    return {
        "settings": PageHelp(
            (
                _(
                    "Holds what the workshop agreed on: limits, intervals, instruments, caution; and"
                    " this seat’s units."
                ),
            ),
            (
                _("Each limit says where it is from; the vehicle maker’s goes before the workshop’s."),
                _("Try each gauge and caliper on a new chain once: what it reads there is taken off later."),
            ),
            (_("A limit for one vehicle that was meant for all of its class: look at what it governs."),),
            (
                (_("Insert"), _("add a line")),
                (_("Enter"), _("change the line")),
                (_("Delete"), _("take it out")),
            ),
        ),
        "import": PageHelp(
            (_("Brings in a spreadsheet of your own: all of its rows, or none with every problem listed."),),
            (
                _(
                    "Choose the sheet; look at what each column is taken for and in which unit;"
                    " change what is wrong."
                ),
                _("The same file twice adds nothing."),
            ),
            (
                _("Miles read as kilometres: the unit of a column is chosen beside it."),
                _("Dates with day and month the wrong way round: the preview shows them in words."),
            ),
            ((_("Ctrl+I"), _("choose files")),),
        ),
        "welcome": PageHelp(
            (_("Three ways to begin: add a vehicle, import a spreadsheet, or look at the sample fleet."),),
            (_("The sample fleet is a copy that is thrown away: try everything on it."),),
            (_("An empty list of vehicles may be the wrong database: File, Open database."),),
            ((_("Ctrl+N"), _("add a vehicle")), (_("Ctrl+I"), _("import"))),
        ),
    }
