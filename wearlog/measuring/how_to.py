"""How each quantity is read: what is typed at a spot, how many spots, how it is done, and the cautions."""

from dataclasses import dataclass
from functools import cache
from gettext import gettext as _

from wearlog.drive.demands import refusal
from wearlog.fleet.quantity import Quantity
from wearlog.fleet.reading import Measurand, Method


@dataclass(frozen=True, slots=True, kw_only=True)
class HowTo:
    """What an entry field and a job card need to know of one way of reading.

    Attributes
    ----------
    label
        What the entry field is called.
    spot_quantity
        What kind of quantity is typed at a spot.
    default_unit
        The unit a bare number stands in.
    spots
        Suggested number of spots.
    how
        How it is done, in one line.
    cautions
        What to mind.
    second_label
        What the second number of a spot is called; empty if there is none.
    needs
        What must be known besides: any of ``"pitches"``, ``"roller diameter"``, ``"gauge"``, ``"span"``,
        ``"mass"``, ``"deflection"``, ``"definition"``.
    suggested_pitches
        Over how many pitches it is usually read; None where it does not apply.
    """

    label: str
    spot_quantity: Quantity
    default_unit: str
    spots: int
    how: str
    cautions: tuple[str, ...] = ()
    second_label: str = ""
    needs: frozenset[str] = frozenset()
    suggested_pitches: int | None = None


def general_cautions() -> tuple[str, ...]:
    """Return the cautions that stand over every measurement of a drive.

    References
    ----------
    Honda, Kawasaki, KTM owner's manuals; Renold roller chain catalogue, section 2; common practice.
    """
    return (
        _("Battery isolated or key out; the motor must not be able to start."),
        _("Vehicle supported; turn the wheel by hand, fingers away from where the chain or belt runs on."),
        _("Never measure a drive that can turn under power. Guards back on afterwards."),
        _("The vehicle maker's manual comes before any value shown here."),
    )


def how_to(measurand: Measurand, method: Method) -> HowTo:
    """Return how a measurand is read by a method.

    Parameters
    ----------
    measurand : Measurand
        What is measured.
    method : Method
        How.

    Raises
    ------
    WearlogError
        If the measurand is not read that way.

    Examples
    --------
    >>> how_to(Measurand.CHAIN_ELONGATION, Method.PIN_TO_PIN).spots
    3
    """
    found = _all().get((measurand, method))
    if found is None:
        raise refusal(
            _("{measurand} is not read by the method {method}.").format(
                measurand=_(measurand.value).capitalize(), method=_(method.value)
            ),
            _("Choose one of: {methods}.").format(
                methods=", ".join(_(m.value) for m in methods_for(measurand))
            ),
        )
    return found


def methods_for(measurand: Measurand) -> tuple[Method, ...]:
    """Return the methods by which a measurand can be read, the usual one first.

    Parameters
    ----------
    measurand : Measurand
        What is measured.
    """
    return tuple(method for known, method in _all() if known is measurand)


@cache
def _all() -> dict[tuple[Measurand, Method], HowTo]:
    return {**_chain(), **_sprocket_and_slack(), **_belt()}


def _chain() -> dict[tuple[Measurand, Method], HowTo]:
    clean = _("Clean the stretch first: packed dirt makes a chain read too low.")
    taut = _("Chain taut: pull with about 100 N, the same each time.")
    joint = _("Keep the joining link out of the stretch and look at it on its own.")
    even = _("An even number of pitches; count pins, not links.")
    length = Quantity.LENGTH
    chain = Measurand.CHAIN_ELONGATION
    common = (clean, taut, joint)
    return {
        (chain, Method.PIN_TO_PIN): HowTo(
            label=_("length, same edge of two pins"),
            spot_quantity=length,
            default_unit="mm",
            spots=3,
            how=_("Rule at zero on the edge of pin 1, read the same edge of pin 21, to half a millimetre."),
            cautions=(*common, even),
            needs=frozenset({"pitches"}),
            suggested_pitches=20,
        ),
        (chain, Method.INSIDE_AND_OUTSIDE): HowTo(
            label=_("inside"),
            second_label=_("outside"),
            spot_quantity=length,
            default_unit="mm",
            spots=3,
            how=_("Caliper between the end rollers, then over the same two; their mean counts."),
            cautions=(*common, even),
            needs=frozenset({"pitches"}),
            suggested_pitches=10,
        ),
        (chain, Method.OVER_ROLLERS): HowTo(
            label=_("length, same side of two rollers"),
            spot_quantity=length,
            default_unit="mm",
            spots=3,
            how=_("From the left side of one roller to the left side of another."),
            cautions=(*common, even),
            needs=frozenset({"pitches"}),
            suggested_pitches=20,
        ),
        (chain, Method.BETWEEN_ROLLERS): HowTo(
            label=_("length between rollers"),
            spot_quantity=length,
            default_unit="mm",
            spots=3,
            how=_("Inside jaws push two rollers apart; only good beside a reading of the same chain new."),
            cautions=(*common, _("The play of the rollers counts as wear this way.")),
            needs=frozenset({"pitches", "roller diameter"}),
            suggested_pitches=10,
        ),
        (chain, Method.GAUGE): HowTo(
            label=_("stamp"),
            spot_quantity=Quantity.ELONGATION,
            default_unit="%",
            spots=2,
            how=_("Drop the gauge in under a light pull and say of each stamp whether it goes in."),
            cautions=(*common, _("Try the gauge on a new chain once and enter what it reads too much.")),
            needs=frozenset({"gauge"}),
        ),
        (chain, Method.TAPE): HowTo(
            label=_("length, tape under load"),
            spot_quantity=length,
            default_unit="mm",
            spots=1,
            how=_("Chain off the machine under load, same edge of two pins, as long a stretch as there is."),
            cautions=(*common, even),
            needs=frozenset({"pitches"}),
            suggested_pitches=50,
        ),
        (chain, Method.WHOLE_CHAIN): HowTo(
            label=_("length of the whole chain"),
            spot_quantity=length,
            default_unit="mm",
            spots=1,
            how=_("Chain off and hanging or pulled flat; count its pitches first. A bad spot stays hidden."),
            cautions=(clean, taut),
            needs=frozenset({"pitches"}),
        ),
        (chain, Method.ELONGATION_READ): HowTo(
            label=_("elongation"),
            spot_quantity=Quantity.ELONGATION,
            default_unit="%",
            spots=3,
            how=_("The elongation as an instrument or a report gives it."),
            cautions=(clean, taut),
        ),
    }


def _sprocket_and_slack() -> dict[tuple[Measurand, Method], HowTo]:
    definition = frozenset({"definition"})
    same_way = _("Measure as the stage says: which run, which place, total or one way or gap, which stand.")
    return {
        (Measurand.SPROCKET_TOOTH_THICKNESS, Method.DIRECT): HowTo(
            label=_("tooth thickness"),
            spot_quantity=Quantity.LENGTH,
            default_unit="mm",
            spots=3,
            how=_("Caliper across a tooth where the rollers bear; three teeth, the thinnest counts."),
            cautions=(_("Both flanks: a drive that brakes wears them both."),),
        ),
        (Measurand.CHAIN_LIFT, Method.DIRECT): HowTo(
            label=_("lift-off"),
            spot_quantity=Quantity.LENGTH,
            default_unit="mm",
            spots=1,
            how=_("Pull the chain straight back at the rearmost tooth and measure the gap."),
            cautions=(_("A screening test, never the wear value."),),
        ),
        (Measurand.SLACK, Method.DIRECT): HowTo(
            label=_("slack"),
            spot_quantity=Quantity.LENGTH,
            default_unit="mm",
            spots=2,
            how=_("Turn the wheel, measure at the tightest and at the slackest spot; the tightest counts."),
            cautions=(same_way, _("Set, tighten the axle, measure again: tightening moves it.")),
            needs=definition,
        ),
        (Measurand.ADJUSTER_POSITION, Method.DIRECT): HowTo(
            label=_("adjuster position"),
            spot_quantity=Quantity.LENGTH,
            default_unit="mm",
            spots=2,
            how=_("Distance of the axle from the front end of the adjuster, left and right."),
            cautions=(_("Left and right alike, or the wheel stands askew."),),
        ),
        (Measurand.SPROCKET_CONDITION, Method.GRADE): HowTo(
            label=_("sprocket condition"),
            spot_quantity=Quantity.GRADE,
            default_unit="1",
            spots=1,
            how=_("0 as new, 1 polished, 2 visibly thinner, 3 hooked or pointed: change. The worst counts."),
        ),
    }


def _belt() -> dict[tuple[Measurand, Method], HowTo]:
    cold = _("Belt clean, dry and at room temperature; motor off.")
    turn = _("A quarter turn of the wheel between readings; the tightest counts.")
    return {
        (Measurand.BELT_TENSION, Method.SPAN_FREQUENCY): HowTo(
            label=_("span frequency"),
            spot_quantity=Quantity.FREQUENCY,
            default_unit="Hz",
            spots=4,
            how=_("Pluck the free span and read Hz, four positions of the wheel."),
            cautions=(cold, turn, _("Twice the value is an overtone: pluck again.")),
            needs=frozenset({"span", "mass"}),
        ),
        (Measurand.BELT_TENSION, Method.DEFLECTION_FORCE): HowTo(
            label=_("deflection force"),
            second_label=_("deflection"),
            spot_quantity=Quantity.FORCE,
            default_unit="N",
            spots=4,
            how=_("Push square at mid-span to the given deflection and read the force."),
            cautions=(cold, turn),
            needs=frozenset({"span", "deflection"}),
        ),
        (Measurand.BELT_TENSION, Method.DIRECT): HowTo(
            label=_("belt tension"),
            spot_quantity=Quantity.FORCE,
            default_unit="N",
            spots=1,
            how=_("The tension as a gauge made for this belt gives it; its scale belongs to the belt."),
            cautions=(cold,),
        ),
        (Measurand.BELT_CONDITION, Method.GRADE): HowTo(
            label=_("belt condition"),
            spot_quantity=Quantity.GRADE,
            default_unit="1",
            spots=1,
            how=_(
                "0 as new, 1 polished, 2 small cracks or worn faces: watch, 3 teeth or cords hurt: change."
            ),
            cautions=(_("A hard skip over a stone counts as damage. Do not crimp or twist a belt."),),
        ),
    }
