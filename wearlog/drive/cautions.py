"""What to mind when a stage is changed: clearance, guard, alignment, rollers, approval, noise."""

from collections.abc import Collection, Iterator
from gettext import gettext as _

from wearlog.drive.demands import refusal
from wearlog.drive.remarks import Remark, RemarkKind, remarks_on
from wearlog.drive.setup import DriveSetup, Wheel, wheel_pitch_diameter

#: A change of road speed at rated motor speed by more than this deserves a word, [-]. Common practice.
NOTABLE_SPEED_CHANGE = 0.02


def demand_wheels_can_be_kept(before: DriveSetup, after: DriveSetup, kept: Collection[Wheel]) -> None:
    """Refuse to keep a wheel that the new chain or belt cannot run on.

    Parameters
    ----------
    before, after : DriveSetup
        The stage as it is and as it is planned.
    kept : collection of Wheel
        Which wheels stay on.

    Raises
    ------
    WearlogError
        If a wheel kept would change its kind, its pitch or its teeth.
    """
    for wheel in kept:
        if before.drive is not after.drive:
            raise refusal(
                _(
                    "A chain cannot run on a pulley, nor a belt on a sprocket: the {wheel} cannot stay."
                ).format(wheel=_name(wheel)),
                _("Plan new wheels at both ends."),
            )
        if before.pitch_mm != after.pitch_mm:
            raise refusal(
                _("The {wheel} is cut for {old:g} mm pitch; {new:g} mm cannot run on it.").format(
                    wheel=_name(wheel), old=before.pitch_mm, new=after.pitch_mm
                ),
                _("Plan a new wheel, or keep the pitch."),
            )
        if before.teeth(wheel) != after.teeth(wheel):
            raise refusal(
                _("The {wheel} is to stay, but has {old} teeth, not {new}.").format(
                    wheel=_name(wheel), old=before.teeth(wheel), new=after.teeth(wheel)
                ),
                _("Plan a new wheel, or keep its number of teeth."),
            )


def cautions_on(before: DriveSetup, after: DriveSetup, kept: Collection[Wheel] = ()) -> tuple[Remark, ...]:
    """Return what to mind when a stage is changed, each with where the rule comes from.

    Parameters
    ----------
    before, after : DriveSetup
        The stage as it is and as it is planned.
    kept : collection of Wheel
        Which wheels stay on.

    Raises
    ------
    WearlogError
        If a wheel kept cannot run with the new chain or belt, or one of the two cannot be built.

    Examples
    --------
    >>> from wearlog.fleet.parts import DriveKind
    >>> was = DriveSetup(drive=DriveKind.CHAIN, pitch_mm=12.7, driver_teeth=14, driven_teeth=42, links=116)
    >>> plan = DriveSetup(drive=DriveKind.CHAIN, pitch_mm=12.7, driver_teeth=13, driven_teeth=42, links=115)
    >>> [caution.kind.value for caution in cautions_on(was, plan, kept=[Wheel.DRIVEN])]
    ['cranked link', 'old wheels', 'alignment', 'approval', 'speed', 'isolation']
    """
    demand_wheels_can_be_kept(before, after, kept)
    decisive = {RemarkKind.DOES_NOT_CLOSE, RemarkKind.CENTRE_DIFFERS, RemarkKind.CRANKED_LINK}
    return (
        *(remark for remark in remarks_on(after) if remark.kind in decisive),
        *_on_wheels_kept(before, after, kept),
        *_on_room(before, after),
        *_on_kind(before, after),
        *_on_approval(before, after),
        *_on_work(),
    )


def _name(wheel: Wheel) -> str:
    return _("driver") if wheel is Wheel.DRIVER else _("driven wheel")


def _on_wheels_kept(before: DriveSetup, after: DriveSetup, kept: Collection[Wheel]) -> Iterator[Remark]:
    if not kept:
        return
    old, new = before.roller_diameter_mm, after.roller_diameter_mm
    if after.is_chain and old is not None and new is not None and old != new:
        yield Remark(
            RemarkKind.ROLLERS,
            _(
                "The wheel that stays is cut for rollers of {old:g} mm; for {new:g} mm its root circle is "
                "off by {off:.2f} mm."
            ).format(old=old, new=new, off=abs(new - old)),
            _("simsonforum.net, thread 76294: worked root circles; ISO 606 A and B series differ in rollers"),
        )
    if after.is_chain:
        yield Remark(
            RemarkKind.OLD_WHEELS,
            _("A new chain wears faster on a worn wheel. Inspect the wheel that stays, record its teeth."),
            _("Tsubaki, Drive Chains catalogue; Kawasaki ZX-10R service manual: chain and both as a set"),
        )
    else:
        yield Remark(
            RemarkKind.OLD_WHEELS,
            _("A worn pulley wears out a new belt. Inspect the pulley that stays; never remachine one."),
            _("ContiTech, troubleshooting, pp. 51-52"),
        )


def _on_room(before: DriveSetup, after: DriveSetup) -> Iterator[Remark]:
    for wheel in Wheel:
        old_mm, new_mm = wheel_pitch_diameter(before, wheel), wheel_pitch_diameter(after, wheel)
        if new_mm > old_mm + 0.05:
            yield Remark(
                RemarkKind.CLEARANCE,
                _(
                    "The pitch circle of the {wheel} grows from {old:.1f} to {new:.1f} mm: check the room to "
                    "case, swing arm and guard through the whole travel."
                ).format(wheel=_name(wheel), old=old_mm, new=new_mm),
                _("common practice, no source"),
            )
    if before.drive is not after.drive:
        yield Remark(
            RemarkKind.CLEARANCE,
            _("Chain and belt differ in width and height: turn the drive by hand, check the room all round."),
            _("common practice, no source"),
        )
        yield Remark(
            RemarkKind.GUARD,
            _("The guard was made for the other kind: see that it covers the run-in points, and refit it."),
            _(
                "Renold Roller Chain Catalogue, section 2 p. 79: guards; ISO 4210 asks one of cycles, from "
                "memory"
            ),
        )


def _on_kind(before: DriveSetup, after: DriveSetup) -> Iterator[Remark]:
    changes = before.drive is not after.drive
    if changes or before.driver_teeth != after.driver_teeth or before.driven_teeth != after.driven_teeth:
        yield Remark(
            RemarkKind.ALIGNMENT,
            _("Align the wheels anew: run out of line, the edges of a belt and the plates of a chain wear.")
            if after.is_chain
            else _("Align the pulleys anew: a belt out of line wears at its edge and its flange."),
            _("common practice, no source")
            if after.is_chain
            else _("ContiTech, troubleshooting, pp. 51-52: edge wear"),
        )
    if changes and after.is_chain:
        yield Remark(
            RemarkKind.NOISE,
            _("A chain is louder than the belt it replaces, and louder the fewer teeth it runs on."),
            _("common practice, no source"),
        )
        yield Remark(
            RemarkKind.LUBRICATION,
            _("A chain must be lubricated; keep the lubricant off tyre and brake disc."),
            _("KTM owner's manuals: loss of grip"),
        )
    if changes and not after.is_chain:
        yield Remark(
            RemarkKind.HANDLING,
            _("Do not crimp, twist or sharply bend the belt: its cords break. Keep lubricant off it."),
            _("Gates, belt failure guide; Victory 2000 owner's manual: oil-swollen cover"),
        )


def _on_approval(before: DriveSetup, after: DriveSetup) -> Iterator[Remark]:
    old, new = before.ratio * before.ratio_behind, after.ratio * after.ratio_behind
    changed = abs(old / new - 1.0)
    if before.drive is not after.drive or changed > 1e-9:
        yield Remark(
            RemarkKind.APPROVAL,
            _(
                "A changed ratio or kind of drive may need approval or void it, for noise and speed too: ask "
                "for the local rules before it is fitted."
            ),
            _("local road-traffic rules; common practice, no source"),
        )
    if changed > NOTABLE_SPEED_CHANGE:
        yield Remark(
            RemarkKind.SPEED,
            _(
                "At the same motor speed the road speed changes by {change:+.1f} %: a speedometer driven by "
                "motor or gearing is off by as much."
            ).format(change=100.0 * (old / new - 1.0)),
            _("ratio of the two set-ups"),
        )


def _on_work() -> Iterator[Remark]:
    yield Remark(
        RemarkKind.ISOLATION,
        _(
            "Key off, battery connector out, wheel off the ground and machine secured before the drive is "
            "opened; turn it by hand only."
        ),
        _("Renold Roller Chain Catalogue, section 2 p. 79: isolate first; rest: common practice, no source"),
    )
