"""What Help says of each way of measuring: how, what goes wrong, what to mind, and where that is from."""

from dataclasses import dataclass
from gettext import gettext as _

from wearlog.drawing.step_picture import Step, steps_of
from wearlog.drawing.words import measurand_text, method_text
from wearlog.fleet.reading import Measurand, Method
from wearlog.measuring.how_to import how_to, methods_for

#: In the order of the hand on a service.
MEASURANDS = (
    Measurand.CHAIN_ELONGATION,
    Measurand.SLACK,
    Measurand.ADJUSTER_POSITION,
    Measurand.SPROCKET_TOOTH_THICKNESS,
    Measurand.SPROCKET_CONDITION,
    Measurand.CHAIN_LIFT,
    Measurand.BELT_TENSION,
    Measurand.BELT_CONDITION,
)


@dataclass(frozen=True, slots=True)
class MethodHelp:
    """How one quantity is read in one way.

    Attributes
    ----------
    measurand, method
        Which.
    title
        Both in words.
    how
        Sentences on how it is done.
    errors
        What usually goes wrong.
    cautions
        What to mind.
    steps
        The drawings.
    source
        Where the facts are from.
    """

    measurand: Measurand
    method: Method
    title: str
    how: tuple[str, ...]
    errors: tuple[str, ...]
    cautions: tuple[str, ...]
    steps: tuple[Step, ...]
    source: str

    @property
    def key(self) -> tuple[Measurand, Method]:
        """What it is found by."""
        return self.measurand, self.method


def all_methods() -> tuple[MethodHelp, ...]:
    """Return help on every way of measuring, in the order of the hand."""
    return tuple(
        method_help(measurand, method) for measurand in MEASURANDS for method in methods_for(measurand)
    )


def method_help(measurand: Measurand, method: Method) -> MethodHelp:
    """Return help on one way of measuring.

    Examples
    --------
    >>> method_help(Measurand.SLACK, Method.DIRECT).title
    'Slack'
    """
    known = how_to(measurand, method)
    what = measurand_text(measurand)
    is_only = len(methods_for(measurand)) == 1
    title = what if is_only else f"{what}: {method_text(method)}"
    more, errors, source = _more(measurand, method)
    return MethodHelp(
        measurand,
        method,
        title[:1].upper() + title[1:],
        (known.how, *more),
        errors,
        known.cautions,
        steps_of(measurand, method),
        source,
    )


_Rest = tuple[tuple[str, ...], tuple[str, ...], str]


def _more(measurand: Measurand, method: Method) -> _Rest:
    """Return what else is to be said, the usual errors, and the source."""
    if measurand is Measurand.CHAIN_ELONGATION:
        return _chain(method)
    if measurand in {Measurand.BELT_TENSION, Measurand.BELT_CONDITION}:
        return _belt(measurand, method)
    return _others(measurand)


def _chain(method: Method) -> _Rest:
    spots = _("Three places round the chain, the tightest and the slackest among them; all are kept.")
    greatest = _("The longest place counts, however good the others are.")
    count = _("One pin too many or too few shows as about 5 % at 20 pitches: count again before ordering.")
    dirt = _("A dirty stretch reads too short: grit keeps the joints from opening.")
    spread = _("Kawasaki KX250F owner’s manual (2015), p. 91: several places, tensioned with 98 N.")
    return {
        Method.PIN_TO_PIN: (
            (_("Type the places one after the other: 256.5 257 256.5."), spots, greatest),
            (
                count,
                _("Looked at askew, the rule is off by half a millimetre, 0.2 % at 20 pitches."),
                _("An old rule may itself be wrong: hold it against a good one once."),
                dirt,
            ),
            spread,
        ),
        Method.OVER_ROLLERS: (
            (
                _("Both jaws on the same side of their rollers: the size of the roller falls out."),
                spots,
                greatest,
            ),
            (
                _("One jaw on the left, the other on the right side: a whole roller too much."),
                count,
                dirt,
            ),
            _("Common practice; several places as in the Kawasaki KX250F owner’s manual (2015), p. 91."),
        ),
        Method.INSIDE_AND_OUTSIDE: (
            (
                _(
                    "Type both with a stroke between: 119.0/136.0. Roller size and wear of the"
                    " rollers fall out."
                ),
                spots,
                greatest,
            ),
            (
                _("Inside and outside taken over different rollers."),
                _("A caliper set askew reads too long outside and too short inside."),
                count,
            ),
            _("Yamaha YZ250F service manual, p. 4-64: mean of inside and outside over 15 links."),
        ),
        Method.BETWEEN_ROLLERS: (
            (
                _("Measure the same chain when it is new, with the same caliper; only the change counts."),
                spots,
            ),
            (
                _("New chains of different makes differ by 0.3 % read like this."),
                _("Worn rollers read as a worn chain."),
                dirt,
            ),
            _("Common practice; the play of the rollers is measured along, so a new reading is needed."),
        ),
        Method.GAUGE: (
            (
                _("Type what goes in and what does not: 0.5/0.75 means that 0.5 goes in and 0.75 does not."),
                _("It tells between which stamps the chain is, never a single value."),
                greatest,
            ),
            (
                _("A gauge with two prongs reads high by the play of two rollers; one on one side does not."),
                _(
                    "Stamps do not mean the same on every gauge: percent, tenths per joint, share of"
                    " the limit."
                ),
                _("Never tried on a new chain, its error is unknown."),
            ),
            _("Common practice; Rohloff and KMC describe what their stamps mean."),
        ),
        Method.TAPE: (
            (_("The longer the stretch, the less a millimetre matters: 0.13 % over 50 pitches of 5/8 in."),),
            (count, _("A slack chain reads too short: the same pull each time.")),
            _("Common practice; the share of a millimetre follows from the length."),
        ),
        Method.WHOLE_CHAIN: (
            (_("The best way without a fine instrument: both chains hang or lie flat side by side."),),
            (_("A single bad place stays hidden: look for stiff or tight joints besides."), count),
            _("Common practice."),
        ),
    }.get(method, ((greatest,), (dirt,), _("Common practice.")))


def _belt(measurand: Measurand, method: Method) -> _Rest:
    quarter = _(
        "The tension differs round the turn, as no pulley is quite round: four places, the tightest counts."
    )
    if measurand is Measurand.BELT_CONDITION:
        return (
            (_("Look at both sides and at the foot of each tooth, once round, in good light."),),
            (
                _("A belt gives little warning: a damaged place goes through it within weeks."),
                _("Bent, torn, frayed or with a tooth gone: belt and both pulleys together."),
            ),
            _("Continental, bicycle belt drive instructions; grades: common practice."),
        )
    if method is Method.SPAN_FREQUENCY:
        return (
            (
                _("Wait until the belt is still between plucks; three plucks that agree are one reading."),
                quarter,
                _("Tension follows from mass, free span and frequency: T = 4 m L² f²."),
            ),
            (
                _("An overtone: the meter shows twice the value."),
                _("The other span, the guard or a finger on the belt rings along."),
                _("A wrong length of the free span: 1 % there is 2 % in tension."),
                _("Short, thick or slack spans read too high, as the belt is stiff."),
            ),
            _("Gates design manual 507C, p. 6; Victory Hammer service manual (2007)."),
        )
    if method is Method.DEFLECTION_FORCE:
        return (
            (
                _("A straight edge over the run shows where it was; the rule reads how far it gave way."),
                _("Where the maker gives no figure: 0.4 mm for each 25 mm of free span."),
                quarter,
            ),
            (
                _("Not square to the run, or not at its middle."),
                _("On short, light drives the force is too small to be read well."),
            ),
            _(
                "SDP/SI D790, section T-3 (1/64 in for each inch of span); Victory Vision manual"
                " (2013), p. 64."
            ),
        )
    return ((quarter,), (_("The scale of one make of gauge is not that of another."),), _("Common practice."))


def _others(measurand: Measurand) -> _Rest:
    return {
        Measurand.SLACK: (
            (
                _("Turn the wheel by hand until the run is tightest, and set it there."),
                _("Type both places, the tightest first: 28 36. The tightest counts."),
            ),
            (
                _("Not at the tightest place: later the chain is too tight and hurts the bearings."),
                _("On another stand, the other run, or up only instead of up and down."),
                _("Read before the axle was tightened: tightening moves it."),
                _("A great change round the turn means stiff or unevenly worn joints."),
            ),
            _(
                "Kawasaki ZX-10R service manual; Honda and KTM owner’s manuals: tightest place,"
                " total movement."
            ),
        ),
        Measurand.ADJUSTER_POSITION: (
            (_("Both sides, each from the same edge: 22.5 22.5."),),
            (
                _("Counting marks only: too long a chain looks like a good one."),
                _("Different sides: the wheel stands askew and wears the sprocket on one side."),
            ),
            _("Common practice."),
        ),
        Measurand.SPROCKET_TOOTH_THICKNESS: (
            (_("At the height at which the rollers bear, not at the tip."),),
            (_("Measured at the tip or the foot."), _("A burr at the edge is measured along.")),
            _("Common practice; limits from the maker’s table."),
        ),
        Measurand.SPROCKET_CONDITION: (
            (_("Look along the flanks from the side, and hold a new sprocket or a rubbing beside it."),),
            (
                _("Front and rear wear at different rates: look at both."),
                _("Worn sprockets ruin a new chain."),
            ),
            _("Common practice, no source."),
        ),
        Measurand.CHAIN_LIFT: (
            (_("Half a tooth to be seen is the common rule for worn out."),),
            (_("Hard to judge without a new chain beside it."),),
            _("Common practice, no source."),
        ),
    }[measurand]
