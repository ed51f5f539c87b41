"""The drawn steps of measuring, each with its words, and the widget that shows one."""

from collections.abc import Callable
from enum import StrEnum
from gettext import gettext as _

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from wearlog.drawing import step_chain, step_drive
from wearlog.drawing.palette import Palette, palette
from wearlog.drawing.step_pencil import HEIGHT, WIDTH, Pencil
from wearlog.fleet.reading import Measurand, Method


class Step(StrEnum):
    """What a drawing shows."""

    OVER_ROLLERS = "over rollers"
    INSIDE_AND_OUTSIDE = "inside and outside"
    BETWEEN_ROLLERS = "between rollers"
    PIN_EDGES = "pin edges"
    TAPE = "tape"
    WHOLE_CHAIN = "whole chain"
    SEVERAL_SPOTS = "several spots"
    GAUGE_TWO_PRONG = "gauge with two prongs"
    GAUGE_ONE_SIDE = "gauge on one side"
    SLACK = "slack"
    ADJUSTER = "adjuster"
    TOOTH_THICKNESS = "tooth thickness"
    CHAIN_LIFT = "chain lift"
    TOOTH_GRADES = "tooth grades"
    SPAN_FREQUENCY = "span frequency"
    DEFLECTION = "deflection"
    BELT_GRADES = "belt grades"


_PAINT: dict[Step, Callable[[Pencil], None]] = {
    Step.OVER_ROLLERS: step_chain.over_rollers,
    Step.INSIDE_AND_OUTSIDE: step_chain.inside_and_outside,
    Step.BETWEEN_ROLLERS: step_chain.between_rollers,
    Step.PIN_EDGES: step_chain.pin_edges,
    Step.TAPE: step_chain.tape_under_load,
    Step.WHOLE_CHAIN: step_chain.whole_chain,
    Step.SEVERAL_SPOTS: step_chain.several_spots,
    Step.GAUGE_TWO_PRONG: step_chain.gauge_two_prong,
    Step.GAUGE_ONE_SIDE: step_chain.gauge_one_side,
    Step.SLACK: step_drive.slack,
    Step.ADJUSTER: step_drive.adjuster,
    Step.TOOTH_THICKNESS: step_drive.tooth_thickness,
    Step.CHAIN_LIFT: step_drive.chain_lift,
    Step.TOOTH_GRADES: step_drive.tooth_grades,
    Step.SPAN_FREQUENCY: step_drive.span_frequency,
    Step.DEFLECTION: step_drive.deflection,
    Step.BELT_GRADES: step_drive.belt_grades,
}


def step_text(step: Step) -> str:
    """Return a drawing in words, for captions and screen readers."""
    return {
        Step.OVER_ROLLERS: _(
            "A caliper from the left side of one roller to the left side of another, eight pitches further:"
            " the size of the rollers does not count."
        ),
        Step.INSIDE_AND_OUTSIDE: _(
            "Two lengths over the same two rollers: between them, and over them. Their mean is the length"
            " from pin to pin."
        ),
        Step.BETWEEN_ROLLERS: _(
            "The inside jaws of a caliper push two rollers apart; their play is read as if it were wear."
        ),
        Step.PIN_EDGES: _(
            "A rule with its zero at the left edge of pin 1, read at the left edge of pin 21: 20 pitches."
        ),
        Step.TAPE: _(
            "A long stretch of chain pulled with 100 N, a tape from the edge of the first pin to the same"
            " edge of the last."
        ),
        Step.WHOLE_CHAIN: _(
            "A worn chain beside a new one of as many pitches, both pulled flat from the same line; the"
            " worn one stands out."
        ),
        Step.SEVERAL_SPOTS: _(
            "A chain on its two sprockets with three stretches marked round the loop; the longest counts."
        ),
        Step.GAUGE_TWO_PRONG: _(
            "A gauge with two prongs between two rollers; it pushes them apart and reads high by their play."
        ),
        Step.GAUGE_ONE_SIDE: _(
            "A gauge whose two points push both rollers the same way, so that play does not count."
        ),
        Step.SLACK: _(
            "The lower run of a chain moved up and down by hand at its middle, with the wheel turned to the"
            " tightest place."
        ),
        Step.ADJUSTER: _(
            "The slot of the axle on the left and on the right; the distance from the front end of the slot"
            " to the axle is the same."
        ),
        Step.TOOTH_THICKNESS: _(
            "A caliper across a tooth at the height at which the rollers bear on its flanks."
        ),
        Step.CHAIN_LIFT: _(
            "A chain pulled straight back from the rearmost tooth of the sprocket, and the gap between them."
        ),
        Step.TOOTH_GRADES: _(
            "Four teeth: 0 as new, 1 with polished flanks, 2 visibly thinner, 3 hooked like a fin."
        ),
        Step.SPAN_FREQUENCY: _(
            "The free span of a belt, plucked at its middle; a meter shows its frequency in hertz."
        ),
        Step.DEFLECTION: _(
            "A force square on the middle of the free span of a belt, and how far the span gives way."
        ),
        Step.BELT_GRADES: _(
            "Four pieces of belt: 0 as new, 1 with polished teeth, 2 with small cracks at the foot of the"
            " teeth, 3 with a tooth gone."
        ),
    }[step]


def steps_of(measurand: Measurand, method: Method) -> tuple[Step, ...]:
    """Return the drawings that show how a measurand is read by a method.

    Examples
    --------
    >>> [step.value for step in steps_of(Measurand.CHAIN_ELONGATION, Method.GAUGE)]
    ['gauge with two prongs', 'gauge on one side', 'several spots']
    """
    chain = Measurand.CHAIN_ELONGATION
    return {
        (chain, Method.PIN_TO_PIN): (Step.PIN_EDGES, Step.SEVERAL_SPOTS),
        (chain, Method.OVER_ROLLERS): (Step.OVER_ROLLERS, Step.SEVERAL_SPOTS),
        (chain, Method.INSIDE_AND_OUTSIDE): (Step.INSIDE_AND_OUTSIDE, Step.SEVERAL_SPOTS),
        (chain, Method.BETWEEN_ROLLERS): (Step.BETWEEN_ROLLERS, Step.SEVERAL_SPOTS),
        (chain, Method.GAUGE): (Step.GAUGE_TWO_PRONG, Step.GAUGE_ONE_SIDE, Step.SEVERAL_SPOTS),
        (chain, Method.TAPE): (Step.TAPE,),
        (chain, Method.WHOLE_CHAIN): (Step.WHOLE_CHAIN,),
        (chain, Method.ELONGATION_READ): (Step.SEVERAL_SPOTS,),
        (Measurand.SPROCKET_TOOTH_THICKNESS, Method.DIRECT): (Step.TOOTH_THICKNESS,),
        (Measurand.CHAIN_LIFT, Method.DIRECT): (Step.CHAIN_LIFT,),
        (Measurand.SLACK, Method.DIRECT): (Step.SLACK,),
        (Measurand.ADJUSTER_POSITION, Method.DIRECT): (Step.ADJUSTER,),
        (Measurand.SPROCKET_CONDITION, Method.GRADE): (Step.TOOTH_GRADES,),
        (Measurand.BELT_TENSION, Method.SPAN_FREQUENCY): (Step.SPAN_FREQUENCY,),
        (Measurand.BELT_TENSION, Method.DEFLECTION_FORCE): (Step.DEFLECTION,),
        (Measurand.BELT_TENSION, Method.DIRECT): (Step.DEFLECTION,),
        (Measurand.BELT_CONDITION, Method.GRADE): (Step.BELT_GRADES,),
    }.get((measurand, method), ())


def paint_step(painter: QPainter, rect: QRectF, step: Step, look: Palette, scale: float = 1.0) -> None:
    """Paint a step, as large as fits into a rectangle.

    Parameters
    ----------
    painter : QPainter
        Of a screen, a picture or a page.
    rect : QRectF
        Where to, [px].
    step : Step
        What.
    look : Palette
        Its colours.
    scale : float
        The seat's text scale, [-].
    """
    size = min(rect.width() / WIDTH, rect.height() / HEIGHT)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.translate(rect.left() + (rect.width() - size * WIDTH) / 2, rect.top())
    painter.scale(size, size)
    _PAINT[step](Pencil(painter, look, scale))
    painter.restore()


class StepPicture(QWidget):
    """A drawn step; says in words what it shows."""

    def __init__(self, step: Step, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.step = step
        self._look = palette("light")
        self._scale = 1.0
        self.setAccessibleName(_("Drawing: {what}").format(what=_(step.value)))
        self.setAccessibleDescription(step_text(step))
        self.setToolTip(step_text(step))
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def wear_colours(self, look: Palette, scale: float = 1.0) -> None:
        """Take the colours and the text size of the seat."""
        self._look, self._scale = look, scale
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        """Return the size at which labels have the size of captions."""
        return QSize(round(WIDTH * self._scale), round(HEIGHT * self._scale))

    def minimumSizeHint(self) -> QSize:
        """Return the least size at which a drawing can be read."""
        return QSize(200, round(200 * HEIGHT / WIDTH))

    def hasHeightForWidth(self) -> bool:
        """Keep the shape."""
        return True

    def heightForWidth(self, width: int) -> int:
        """Return the height of a width, [px]."""
        return round(min(width, WIDTH * self._scale) * HEIGHT / WIDTH)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the step."""
        event.accept()
        with QPainter(self) as painter:
            painter.setLayoutDirection(Qt.LayoutDirection.LeftToRight)
            width = min(float(self.width()), WIDTH * self._scale)
            paint_step(painter, QRectF(0, 0, width, float(self.height())), self.step, self._look, self._scale)
