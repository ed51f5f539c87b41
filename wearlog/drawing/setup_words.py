"""Words for a drive stage and for what a conversion changes, the same on screen and paper."""

import math
from dataclasses import dataclass, replace
from gettext import gettext as _
from gettext import ngettext

from wearlog.drawing.number_words import rough_use_text, use_unit_text
from wearlog.drive.conversion import Compared, ComparedRow
from wearlog.drive.figures import SetupFigures
from wearlog.drive.remarks import Remark, RemarkKind
from wearlog.fleet.fitting import Position, RemovalReason
from wearlog.fleet.parts import DriveKind, PartKind, PartType, WearClass
from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.fleet.reading import Measurand
from wearlog.units import THIN_SPACE, TRUE_MINUS, show
from wearlog.workshop.compare_limits import closes
from wearlog.workshop.compare_snapshot import ComparisonSnapshot, LifeEstimate, PartLife, RunChoice
from wearlog.workshop.trend_snapshot import Basis

#: Changes smaller than this share are none, as nobody could measure them, [-].
NO_CHANGE = 5e-4
NONE = "–"

_DECIMALS = {
    Quantity.LENGTH: {"mm": 1, "cm": 2, "m": 4, "in": 2, "ft": 3},
    Quantity.FORCE: {"N": 0, "kN": 2, "daN": 1, "lbf": 0, "kgf": 1},
    Quantity.SPEED: {"km/h": 1, "mph": 1, "m/s": 1},
}


@dataclass(frozen=True, slots=True)
class TextRow:
    """One line of the comparison; a group's own line has no cells.

    Attributes
    ----------
    name
        Which figure.
    before, after, change
        In words; a dash where not known.
    is_group
        Whether it heads the lines below it.
    key
        What tells it from the others.
    """

    name: str
    before: str = ""
    after: str = ""
    change: str = ""
    is_group: bool = False
    key: str = ""


def length_text(mm: float | None, shown: ShownUnits, *, unit: bool = True) -> str:
    r"""Return a length of a drive, to a tenth of a millimetre.

    Parameters
    ----------
    mm : float or None
        The length, [mm].
    shown : ShownUnits
        The units of this seat.
    unit : bool
        Whether the unit is written.

    Examples
    --------
    >>> length_text(547.63, ShownUnits())
    '547.6\u2009mm'
    """
    return NONE if mm is None else _quantity_text(mm, Quantity.LENGTH, shown, unit=unit)


def force_text(newton: float | None, shown: ShownUnits) -> str:
    """Return a force in whole newtons, or as the seat reads it."""
    return NONE if newton is None else _quantity_text(newton, Quantity.FORCE, shown)


def _quantity_text(value: float, quantity: Quantity, shown: ShownUnits, *, unit: bool = True) -> str:
    decimals = _DECIMALS.get(quantity, {}).get(shown.unit_of(quantity))
    return show(value, quantity, shown, decimals=decimals, unit=unit)


def number_text(value: float, decimals: int, unit: str = "") -> str:
    """Return a plain number, with a unit that has no choice."""
    text = show(value, Quantity.COUNT, ShownUnits(), decimals=decimals)
    return f"{text}{THIN_SPACE}{unit}" if unit else text


# --- what is compared --------------------------------------------------------------------------------------


def groups() -> tuple[tuple[str, tuple[Compared, ...]], ...]:
    """Return the figures by group, in the order in which they are read."""
    return (
        (_("Ratio and speed"), (Compared.RATIO, Compared.OVERALL_RATIO, Compared.ROAD_SPEED)),
        (
            _("Pull"),
            (Compared.PULL, Compared.WHEEL_PULL, Compared.LOOP_SPEED),
        ),
        (
            _("Length and adjuster"),
            (
                Compared.LENGTH_CHOSEN,
                Compared.LENGTH_NEEDED,
                Compared.CENTRE_DISTANCE,
                Compared.SPAN,
                Compared.ADJUSTER_USED,
                Compared.ADJUSTER_LEFT,
            ),
        ),
        (
            _("Slack or tension"),
            (Compared.SLACK, Compared.SLACK_SHOCK, Compared.TENSION, Compared.FREQUENCY),
        ),
        (
            _("Articulation"),
            (
                Compared.ARTICULATIONS,
                Compared.SLIDING,
                Compared.DRIVER_VARIATION,
                Compared.DRIVEN_VARIATION,
                Compared.DRIVER_IN_MESH,
                Compared.DRIVEN_IN_MESH,
            ),
        ),
    )


def compared_text(what: Compared) -> str:
    """Return what a figure is called.

    Examples
    --------
    >>> compared_text(Compared.ROAD_SPEED)
    'road speed at rated rpm'
    """
    return {
        Compared.RATIO: _("ratio of this stage"),
        Compared.OVERALL_RATIO: _("ratio, motor to wheel"),
        Compared.ROAD_SPEED: _("road speed at rated rpm"),
        Compared.LOOP_SPEED: _("speed of chain or belt"),
        Compared.PULL: _("pull in chain or belt"),
        Compared.WHEEL_PULL: _("pull at the wheel"),
        Compared.LENGTH_NEEDED: _("pitches needed, exactly"),
        Compared.LENGTH_CHOSEN: _("links or belt teeth"),
        Compared.CENTRE_DISTANCE: _("centre distance, taut"),
        Compared.SPAN: _("free span"),
        Compared.ADJUSTER_USED: _("adjuster used"),
        Compared.ADJUSTER_LEFT: _("adjuster left"),
        Compared.SLACK: _("slack to set, in all"),
        Compared.SLACK_SHOCK: _("the same, rough or reversing"),
        Compared.TENSION: _("static tension to set"),
        Compared.FREQUENCY: _("span frequency to set"),
        Compared.ARTICULATIONS: _("articulations of each joint"),
        Compared.SLIDING: _("sliding of each joint under load"),
        Compared.DRIVER_VARIATION: _("speed variation, driver"),
        Compared.DRIVEN_VARIATION: _("speed variation, driven"),
        Compared.DRIVER_IN_MESH: _("teeth in mesh, driver"),
        Compared.DRIVEN_IN_MESH: _("teeth in mesh, driven"),
    }[what]


def cell_text(row: ComparedRow, value: float | None, shown: ShownUnits) -> str:
    r"""Return one figure.

    Parameters
    ----------
    row : ComparedRow
        Which figure it is.
    value : float or None
        Before or after, in the unit of the row.
    shown : ShownUnits
        The units of this seat.

    Examples
    --------
    >>> cell_text(ComparedRow(Compared.RATIO, 2.5, 3.0, "1"), 2.5, ShownUnits())
    '2.500'
    """
    if value is None:
        return NONE
    if row.quantity is Quantity.SHARE:
        return number_text(100.0 * value, 2, "%")
    if row.quantity is not None and row.quantity is not Quantity.COUNT:
        return _quantity_text(value, row.quantity, shown)
    decimals = {
        Compared.RATIO: 3,
        Compared.OVERALL_RATIO: 3,
        Compared.LENGTH_NEEDED: 2,
        Compared.DRIVER_IN_MESH: 1,
        Compared.DRIVEN_IN_MESH: 1,
        Compared.LOOP_SPEED: 1,
        Compared.SLIDING: 3,
    }.get(row.what, 0)
    return number_text(value, decimals, "" if row.unit == "1" else row.unit)


#: Figures whose change is told in their own unit; of the others the share counts.
_BY_DIFFERENCE = {
    Compared.LENGTH_NEEDED,
    Compared.LENGTH_CHOSEN,
    Compared.CENTRE_DISTANCE,
    Compared.SPAN,
    Compared.ADJUSTER_USED,
    Compared.ADJUSTER_LEFT,
    Compared.SLACK,
    Compared.SLACK_SHOCK,
    Compared.DRIVER_IN_MESH,
    Compared.DRIVEN_IN_MESH,
}


def change_text(row: ComparedRow, shown: ShownUnits) -> str:
    r"""Return by how much a figure changes: in its own unit, or as a share of what it was.

    Examples
    --------
    >>> change_text(ComparedRow(Compared.RATIO, 2.5, 3.0, "1"), ShownUnits())
    '+20.0\u2009%'
    >>> change_text(ComparedRow(Compared.RATIO, 2.5, 2.5, "1"), ShownUnits())
    'same'
    """
    change, times = row.change, row.times
    if change is None or row.before is None:
        return ""
    if abs(change) <= NO_CHANGE * max(abs(row.before), 1e-9):
        return _("same")
    if row.what in _BY_DIFFERENCE:
        text = cell_text(row, abs(change), shown)
        return signed(text, change) if any(digit in text for digit in "123456789") else _("same")
    if times is None:
        return ""
    return percent_text(times)


def percent_text(times: float) -> str:
    """Return a factor as a signed change in per cent."""
    return signed(number_text(100.0 * abs(times - 1.0), 1, "%"), times - 1.0)


def signed(text: str, value: float) -> str:
    """Return a text with the sign of a value before it."""
    return f"{TRUE_MINUS if value < 0.0 else '+'}{text}"


# --- life --------------------------------------------------------------------------------------------------


def life_name(position: Position, measurand: Measurand | None) -> str:
    """Return what a life is the life of, and up to what.

    Examples
    --------
    >>> life_name(Position.RUN, Measurand.BELT_TENSION)
    'belt, until tensioned again'
    """
    if position is not Position.RUN:
        return _("driver sprocket") if position is Position.DRIVER else _("driven sprocket")
    if measurand is Measurand.BELT_TENSION:
        return _("belt, until tensioned again")
    return _("chain, to its limit")


def life_text(life: LifeEstimate | None, shown: ShownUnits) -> str:
    """Return the likely life of a new part."""
    if life is None:
        return NONE
    return rough_use_text(life.likely, life.high - life.low, life.use_unit, shown)


def life_interval_text(life: LifeEstimate | None, shown: ShownUnits) -> str:
    """Return the ends of the life that eight in ten new parts have, without the unit."""
    if life is None:
        return NONE
    width = life.high - life.low
    low, high = (
        rough_use_text(end, width, life.use_unit, shown, unit=False) for end in (life.low, life.high)
    )
    return _("{low} to {high}").format(low=low, high=high)


def life_basis_text(life: LifeEstimate | None) -> str:
    """Return what an expected life rests on.

    Examples
    --------
    >>> life_basis_text(LifeEstimate(1.0, 2.0, 3.0, "km", 20, Basis.FLEET))
    '20 similar parts'
    """
    if life is None:
        return NONE
    if life.basis is Basis.ENGINEERING:
        return _("engineering estimate")
    n = life.similar_parts
    return ngettext("{n} similar part", "{n} similar parts", n).format(n=n)


def life_rows(compared: ComparisonSnapshot, shown: ShownUnits) -> list[TextRow]:
    """Return the expected life of new parts, before and after."""
    rows = [TextRow(_("Life of new parts at this fleet’s rates"), is_group=True, key="life")]
    if not compared.is_estimated:
        rows.append(TextRow(_("being worked out"), "…", "…", "", key="life wait"))
        return rows
    for life in compared.lives:
        rows += _rows_of_life(life, shown)
    return rows


def _rows_of_life(life: PartLife, shown: ShownUnits) -> list[TextRow]:
    before, after = life.before, life.after
    if before is not None and after is not None and life.measurand_before is not life.measurand_after:
        # What a belt and what a chain comes to cannot be told in one line.
        sides = (replace(life, after=None), replace(life, before=None))
        return [row for side in sides for row in _rows_of_life(side, shown)]
    times = None
    if before is not None and after is not None and 0.0 < before.likely < math.inf:
        times = after.likely / before.likely
    change = "" if times is None else _("same") if abs(times - 1.0) < NO_CHANGE else percent_text(times)
    measurand = life.measurand_after if before is None else life.measurand_before
    unit = use_unit_text("km" if (one := before or after) is None else one.use_unit, shown)
    key = f"{life.position.value} {measurand}"
    return [
        TextRow(
            life_name(life.position, measurand),
            life_text(before, shown),
            life_text(after, shown),
            change,
            key=f"life {key}",
        ),
        TextRow(
            _("8 in 10 of them, {unit}").format(unit=unit),
            life_interval_text(before, shown),
            life_interval_text(after, shown),
            key=f"interval {key}",
        ),
        TextRow(_("rests on"), life_basis_text(before), life_basis_text(after), key=f"basis {key}"),
    ]


def comparison_rows(compared: ComparisonSnapshot, shown: ShownUnits) -> list[TextRow]:
    """Return the whole comparison, group by group; figures that neither side has are left out."""
    known = {row.what: row for row in compared.rows}
    found: list[TextRow] = []
    for title, members in groups():
        rows = [known[what] for what in members if what in known]
        told = [row for row in rows if row.before is not None or row.after is not None]
        if told:
            found.append(TextRow(title, is_group=True, key=title))
            found += [
                TextRow(
                    compared_text(row.what),
                    cell_text(row, row.before, shown),
                    cell_text(row, row.after, shown),
                    change_text(row, shown),
                    key=row.what.value,
                )
                for row in told
            ]
    return [*found, *life_rows(compared, shown)]


# --- parts and remarks -------------------------------------------------------------------------------------


def drive_text(drive: DriveKind) -> str:
    """Return what carries the power."""
    return _("chain") if drive is DriveKind.CHAIN else _("belt")


def class_text(wear_class: WearClass) -> str:
    """Return how a kind of part is called."""
    return {
        WearClass.SEALED_MOTORCYCLE_CHAIN: _("sealed chain"),
        WearClass.OPEN_MOTORCYCLE_CHAIN: _("open chain"),
        WearClass.PRIMARY_ROLLER_CHAIN: _("roller chain"),
        WearClass.DERAILLEUR_CYCLE_CHAIN: _("derailleur chain"),
        WearClass.HUB_GEAR_CYCLE_CHAIN: _("hub-gear chain"),
        WearClass.SPROCKET: _("sprocket"),
        WearClass.TOOTHED_BELT: _("toothed belt"),
        WearClass.PULLEY: _("pulley"),
        WearClass.UNKNOWN: _("chain of unknown kind"),
    }[wear_class]


def run_text(part_type: PartType) -> str:
    """Return which chain or belt it is, whatever its length."""
    if part_type.kind is PartKind.BELT:
        width = "" if part_type.width_mm is None else _(", {mm:g} mm wide").format(mm=part_type.width_mm)
        return _("{designation} belt{width}").format(designation=part_type.designation, width=width)
    return f"{part_type.designation} {class_text(part_type.wear_class)}"


def choice_text(choice: RunChoice) -> str:
    """Return a chain or belt to choose, with where it comes from if the workshop never had one."""
    text = run_text(choice.part_type)
    return text if choice.is_own else _("{name} · from the standard").format(name=text)


def removal_text(reason: RemovalReason) -> str:
    """Return why a part came off."""
    return {
        RemovalReason.WORN: _("worn"),
        RemovalReason.EARLY: _("replaced early"),
        RemovalReason.DAMAGED: _("damaged"),
        RemovalReason.MOVED: _("moved"),
        RemovalReason.CONVERSION: _("conversion"),
        RemovalReason.OTHER: _("other"),
    }[reason]


def remarks_shown(figures: SetupFigures) -> tuple[Remark, ...]:
    """Return what is odd about a set-up; a tenth of a millimetre at the adjuster's end is not."""
    if not closes(figures):
        return figures.remarks
    return tuple(remark for remark in figures.remarks if remark.kind is not RemarkKind.DOES_NOT_CLOSE)


def closing_text(figures: SetupFigures) -> str:
    """Return which lengths close on a stage, in a few words.

    What closes between the adjuster's ends, else the whole length next to the exact one.
    """
    loop, is_chain = figures.loop, figures.setup.is_chain
    noun = _("links") if is_chain else _("belt teeth")
    if loop.closing:
        numbers = _(" or ").join(str(n) for n in loop.closing[:3])
        return _("{n} {noun} close between the adjuster’s ends").format(n=numbers, noun=noun)
    if loop.needed_exact is None:
        return ""
    exact = number_text(loop.needed_exact, 2)
    if figures.loop.adjuster is not None or figures.setup.adjuster_rear_mm is not None:
        return _("no whole length closes; it takes {exact} at the front end").format(exact=exact)
    return _("{exact} at this distance").format(exact=exact)


def adjuster_text(figures: SetupFigures, shown: ShownUnits) -> str:
    """Return where the adjuster stands with the chain or belt just taut."""
    place, setup = figures.loop.adjuster, figures.setup
    if setup.adjuster_front_mm is None or setup.adjuster_rear_mm is None:
        return ""
    travel = length_text(setup.adjuster_rear_mm - setup.adjuster_front_mm, shown)
    if place is None:
        return _("adjuster {travel}").format(travel=travel)
    if not closes(figures):
        return _("adjuster {travel}, out of its reach").format(travel=travel)
    used = length_text(max(place.from_front_mm, 0.0), shown, unit=False)
    return _("adjuster {travel}, {used} used").format(travel=travel, used=used)
