"""The cautions that stand wherever work at a drive is described."""

from gettext import gettext as _


def cautions() -> tuple[str, ...]:
    """Return the usual cautions of work at a drive, a full sentence each."""
    return (
        _("Isolate the battery or remove the key before hands go near the drive."),
        _("Never clean or measure a drive that can turn under power."),
        _("Keep fingers out of the run-on point of chain and sprocket or belt and pulley."),
        _("Support the vehicle so that it cannot fall."),
        _("Put the guards back on."),
        _("Wear eye protection when a chain is driven apart."),
        _("A failed chain can lock the wheel."),
        _("Use a torque wrench that is in calibration."),
    )


def maker_caution() -> str:
    """Return the sentence that stands wherever a limit or a torque is shown."""
    return _(
        "Values here never override the vehicle maker's manual, local roadworthiness rules "
        "or licensed practice."
    )


def caution_line() -> str:
    """Return the cautions that matter most, short enough for the foot of a list."""
    return _(
        "Battery isolated or key out before hands go near the drive; "
        "it must not be able to turn under power. "
        "Vehicle supported, guards back on. The vehicle maker's manual comes first."
    )
