"""One reading, whatever its kind: from what was typed at the spots to a value with its uncertainty."""

from collections.abc import Sequence
from gettext import gettext as _

from wearlog.drive.demands import demand_not_negative, refusal
from wearlog.fleet.problem import Doubt
from wearlog.fleet.quantity import Quantity
from wearlog.fleet.reading import Instrument, Measurand, Method, Spot
from wearlog.measuring import belt, defaults, elongation, gauge, plausibility, slack
from wearlog.measuring.elongation import SpotValues
from wearlog.measuring.evaluated import Evaluated
from wearlog.measuring.uncertainty import combined, mean_of, pooled_deviation, u_of_resolution

__all__ = ["Evaluated", "evaluate"]

#: Where the least spot decides: the thinnest tooth, and the tightest place that slack is set at.
_LEAST_DECIDES = {Measurand.SPROCKET_TOOTH_THICKNESS, Measurand.SLACK}

_GRADES = {Measurand.BELT_CONDITION, Measurand.SPROCKET_CONDITION}


def evaluate(
    measurand: Measurand,
    method: Method,
    spots: Sequence[Spot],
    *,
    pitches: int | None = None,
    pitch_mm: float | None = None,
    roller_diameter_mm: float | None = None,
    instrument: Instrument | None = None,
    was_cleaned: bool | None = None,
    span_mm: float | None = None,
    u_span_mm: float | None = None,
    mass_kg_per_m: float | None = None,
    deflection_mm: float | None = None,
    temperature_degc: float | None = None,
    definition: str | None = None,
    has_zero_reading: bool = False,
) -> Evaluated:
    """Return what a reading comes to, in the canonical unit of its measurand, with its doubts.

    Parameters
    ----------
    measurand : Measurand
        What was measured.
    method : Method
        How.
    spots : sequence of Spot
        Every entry as typed: lengths [mm], frequencies [Hz], forces [N], elongations [-], grades [-]. For a
        gauge each is one stamp: `value` its meaning as elongation, [-], `second` 1.0 if in, 0.0 if out.
    pitches : int or None
        Number of pitches spanned, [-].
    pitch_mm : float or None
        Nominal chain pitch, [mm].
    roller_diameter_mm : float or None
        Roller diameter of the chain, [mm].
    instrument : Instrument or None
        What it was measured with, in the unit of what it reads.
    was_cleaned : bool or None
        Whether the stretch was cleaned before; None if nobody said.
    span_mm : float or None
        Free belt span, [mm].
    u_span_mm : float or None
        Standard uncertainty of the span, [mm].
    mass_kg_per_m : float or None
        Mass per length of the belt, [kg/m].
    deflection_mm : float or None
        Deflection of the belt at which the force was read, [mm].
    temperature_degc : float or None
        Temperature of the drive, [degC].
    definition : str or None
        What slack means on this stage; empty is refused for slack, None is not looked at.
    has_zero_reading : bool
        Whether this part was measured new the same way.

    Raises
    ------
    WearlogError
        If the input cannot be: no spot, no pitches, a missing span, a grade outside 0 to 3.

    References
    ----------
    JCGM 100:2008, clauses 4 and 5; the greatest of several places counts: Kawasaki and KTM owner's manuals.

    Examples
    --------
    >>> spots = [Spot(typed=str(mm), value=mm, resolution=0.5) for mm in (255.1, 255.6)]
    >>> found = evaluate(Measurand.CHAIN_ELONGATION, Method.PIN_TO_PIN, spots, pitches=20, pitch_mm=12.7)
    >>> round(100 * found.value, 2), round(100 * found.u_value, 2), found.governing_spot
    (0.63, 0.13, 1)
    """
    if not spots:
        raise refusal(_("No spot was entered."), _("Enter at least one value, or leave the quantity out."))
    if measurand is Measurand.SLACK and definition is not None:
        slack.demand_definition(definition)
    doubts = list(
        plausibility.care_doubts(
            measurand,
            method,
            pitches=pitches,
            was_cleaned=was_cleaned,
            instrument=instrument,
            has_zero_reading=has_zero_reading,
            temperature_degc=temperature_degc,
        )
    )
    if method is Method.GAUGE:
        return _gauge_reading(spots, instrument, doubts)
    resolution, u_instrument, bias = (
        (instrument.resolution, instrument.u_instrument, instrument.bias) if instrument else (0.0, 0.0, 0.0)
    )
    if measurand is Measurand.CHAIN_ELONGATION and method in elongation.LENGTH_METHODS:
        count, pitch = _count_and_pitch(pitches, pitch_mm)
        found = elongation.elongation_of_spots(
            method,
            spots,
            count,
            pitch,
            roller_diameter_mm=roller_diameter_mm,
            instrument_resolution_mm=resolution,
            u_instrument_mm=u_instrument,
            bias_mm=bias,
            was_cleaned=was_cleaned,
            has_zero_reading=has_zero_reading,
        )
        lengths = [elongation.length_at(spot, method, roller_diameter_mm) for spot in spots]
        added_mm = lengths[0] - spots[0].value if method is Method.BETWEEN_ROLLERS else 0.0
        doubts += plausibility.miscount_doubts(lengths, count, pitch, added_mm)
    elif measurand is Measurand.CHAIN_ELONGATION:
        found = _read_off(spots, resolution, u_instrument, bias, was_cleaned)
        doubts += _read_off_doubts(found)
    elif measurand is Measurand.BELT_TENSION and method is Method.SPAN_FREQUENCY:
        found = belt.tension_of_plucks(
            spots,
            span_mm,
            mass_kg_per_m,
            u_span_mm=u_span_mm,
            instrument_resolution_hz=resolution,
            u_instrument_hz=u_instrument,
            bias_hz=bias,
        )
        doubts += plausibility.harmonic_doubts([spot.value for spot in spots])
    elif measurand is Measurand.BELT_TENSION and method is Method.DEFLECTION_FORCE:
        found = belt.tension_of_pushes(
            spots,
            span_mm,
            deflection_mm,
            u_span_mm=u_span_mm,
            instrument_resolution_n=resolution,
            u_instrument_n=u_instrument,
            bias_n=bias,
        )
    elif measurand in _GRADES:
        found = _graded(measurand, spots)
    else:
        found = _direct(measurand, spots, resolution, u_instrument, bias)
    doubts += plausibility.spread_doubts(measurand, found.values)
    return _decided(measurand, found, doubts)


def _decided(measurand: Measurand, found: SpotValues, doubts: list[Doubt]) -> Evaluated:
    choose = min if measurand in _LEAST_DECIDES else max
    governing = choose(range(len(found.values)), key=found.values.__getitem__)
    return Evaluated(
        value=found.values[governing],
        u_value=found.u_value,
        mean=mean_of(found.values),
        spread=max(found.values) - min(found.values),
        values=found.values,
        governing_spot=governing,
        doubts=tuple(doubts),
    )


def _count_and_pitch(pitches: int | None, pitch_mm: float | None) -> tuple[int, float]:
    if pitches is None:
        raise refusal(
            _("How many pitches were measured over is not known."),
            _("Count the pins: pin 1 to pin 21 are 20 pitches."),
        )
    if pitch_mm is None:
        raise refusal(_("The pitch of this chain is not known."), _("Enter the chain type of this stage."))
    return pitches, pitch_mm


def _gauge_reading(spots: Sequence[Spot], instrument: Instrument | None, doubts: list[Doubt]) -> Evaluated:
    found = gauge.interval_of_stamps(spots, instrument)
    bias = instrument.bias if instrument else 0.0
    goes_in = [index for index, spot in enumerate(spots) if spot.second == 1.0]
    governing = max(goes_in, key=lambda index: spots[index].value, default=0)
    return Evaluated(
        low=found.low,
        high=found.high,
        u_value=found.u_ends,
        values=tuple(spot.value - bias for spot in spots),
        governing_spot=governing,
        doubts=tuple(doubts),
    )


def _read_off(
    spots: Sequence[Spot], resolution: float, u_instrument: float, bias: float, was_cleaned: bool | None
) -> SpotValues:
    values = tuple(spot.value - bias for spot in spots)
    greatest = max(range(len(values)), key=values.__getitem__)
    u_own = u_instrument if u_instrument > 0 else defaults.U_ELONGATION_READ
    places = pooled_deviation(values, defaults.PLACE_SCATTER) / len(values) ** 0.5
    dirt = defaults.U_NOT_CLEANED if was_cleaned is False else 0.0
    step = u_of_resolution(max(spots[greatest].resolution, resolution))
    return SpotValues(values, combined(u_own, step, places, dirt))


def _read_off_doubts(found: SpotValues) -> tuple[Doubt, ...]:
    greatest = max(found.values)
    if plausibility.is_plausible_elongation(greatest):
        return ()
    if greatest > 0 and plausibility.is_plausible_elongation(greatest / 100):
        return plausibility.other_unit_doubts(greatest, greatest / 100, Quantity.ELONGATION)
    return plausibility.impossible_doubts(greatest)


def _graded(measurand: Measurand, spots: Sequence[Spot]) -> SpotValues:
    for spot in spots:
        if not 0 <= spot.value <= 3:
            raise refusal(
                _("{grade} is not a condition grade.").format(grade=spot.typed or f"{spot.value:g}"),
                _("Grades go from 0 (as new) to 3 (change)."),
            )
    return SpotValues(tuple(spot.value for spot in spots), defaults.U_DIRECT[measurand])


def _direct(
    measurand: Measurand, spots: Sequence[Spot], resolution: float, u_instrument: float, bias: float
) -> SpotValues:
    """Return directly read lengths and forces.

    Places differ for good reasons (round pulleys, one worn tooth), so their scatter is no uncertainty of the
    one that decides; how well it is set and read is.
    """
    if measurand is not Measurand.ADJUSTER_POSITION:
        for spot in spots:
            demand_not_negative(
                spot.value, _(measurand.value), "N" if measurand is Measurand.BELT_TENSION else "mm"
            )
    values = tuple(spot.value - bias for spot in spots)
    choose = min if measurand in _LEAST_DECIDES else max
    governing = choose(range(len(values)), key=values.__getitem__)
    u_setting = defaults.U_DIRECT[measurand]
    if measurand is Measurand.BELT_TENSION:
        u_setting = defaults.SCATTER_FORCE * values[governing]
    step = u_of_resolution(max(spots[governing].resolution, resolution))
    return SpotValues(values, combined(u_setting, step, u_instrument))
