"""Drop-in gauges: what goes in and what stays out gives an interval, never a value."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from gettext import gettext as _

from wearlog.drive.demands import refusal
from wearlog.fleet.reading import Instrument, InstrumentKind, Spot
from wearlog.measuring import defaults
from wearlog.measuring.uncertainty import combined

#: A stamp's meaning is recognised within this, [-].
_SAME_STAMP = 1e-6


@dataclass(frozen=True, slots=True)
class GaugeInterval:
    """Between which elongations a chain lies.

    Attributes
    ----------
    low, high
        Ends, [-]; minus infinity if no stamp goes in, infinity if every stamp goes in.
    u_ends
        Standard uncertainty of the ends, [-].
    """

    low: float
    high: float
    u_ends: float


def interval_of_stamps(spots: Sequence[Spot], instrument: Instrument | None) -> GaugeInterval:
    """Return the interval in which the elongation lies, from stamps that go in or stay out.

    Parameters
    ----------
    spots : sequence of Spot
        `value` is the stamp's meaning as elongation, [-]; `second` is 1.0 if it goes in, 0.0 if it stays out.
        The same stamp may be tried at several places: in anywhere counts as in.
    instrument : Instrument or None
        The gauge: kind, bias found on a new chain and own uncertainty, [-].

    Raises
    ------
    WearlogError
        If a stamp has no answer, or a greater stamp goes in where a smaller one stays out.

    Notes
    -----
    A two-prong gauge pushes two rollers apart and so adds twice the play between roller and bush. What it
    adds on a new chain is its bias and is taken off both ends. On a worn chain the play has grown: the true
    elongation may be lower still, hardly ever higher, so only the lower end gives way.

    References
    ----------
    cyclechat.net 189466 and forum.cyclinguk.org 51592 for the reading that is too high; allowance derived.

    Examples
    --------
    >>> gauge = Instrument(name="drop-in", kind=InstrumentKind.GAUGE_ONE_SIDE)
    >>> half = Spot(typed="0.5", value=0.005, second=1.0)
    >>> three_quarters = Spot(typed="0.75", value=0.0075, second=0.0)
    >>> found = interval_of_stamps([half, three_quarters], gauge)
    >>> found.low, found.high
    (0.005, 0.0075)
    """
    if not spots:
        raise refusal(_("No stamp of the gauge was tried."), _("Say of each stamp whether it goes in."))
    for spot in spots:
        if spot.second not in {0.0, 1.0}:
            raise refusal(
                _("Nobody said whether the stamp {stamp} goes in.").format(
                    stamp=spot.typed or f"{spot.value:g}"
                ),
                _("Say of each stamp whether it goes in or stays out."),
            )
    goes_in = [spot.value for spot in spots if spot.second == 1.0]
    stays_out = [
        spot.value
        for spot in spots
        if spot.second == 0.0 and not any(abs(spot.value - other) < _SAME_STAMP for other in goes_in)
    ]
    low, high = max(goes_in, default=-math.inf), min(stays_out, default=math.inf)
    if low > high:
        raise refusal(
            _("The stamp for {large:g} % goes in, but the one for {small:g} % stays out.").format(
                large=100 * low, small=100 * high
            ),
            _("Try both again, or check what the stamps mean in the gauge's record."),
        )
    bias = instrument.bias if instrument else 0.0
    is_two_prong = instrument is None or instrument.kind is InstrumentKind.GAUGE_TWO_PRONG
    low -= bias + (defaults.WORN_ROLLER_PLAY if is_two_prong else 0.0)
    u_gauge = instrument.u_instrument if instrument and instrument.u_instrument > 0 else defaults.U_GAUGE
    u_play = defaults.U_ROLLER_PLAY if is_two_prong and not has_known_bias(instrument) else 0.0
    return GaugeInterval(low, high - bias, combined(u_gauge, u_play, defaults.PLACE_SCATTER))


def has_known_bias(instrument: Instrument | None) -> bool:
    """Return whether a bias was found for a gauge; exactly zero means that nobody has tried a new chain.

    Parameters
    ----------
    instrument : Instrument or None
        The gauge, bias in [-].
    """
    return instrument is not None and instrument.bias != 0.0
