"""How long new parts last on a set-up at this fleet's rates, and what must be renewed with them."""

import math
from dataclasses import replace
from gettext import gettext as _

from wearlog.drive.exposure import relative_exposure, wheel_exposure_of
from wearlog.drive.governing import LimitKind, governing_limit
from wearlog.drive.replacing import SHARE_FOR_SET, Advice, set_advice
from wearlog.drive.setup import DriveSetup, Wheel
from wearlog.fleet.fitting import Position
from wearlog.fleet.limit import Limit, limit_for
from wearlog.fleet.parts import DriveKind, PartKind, PartType
from wearlog.fleet.progress import Progress
from wearlog.fleet.reading import Measurand
from wearlog.fleet.vehicle import Stage, Vehicle
from wearlog.forecast.crossing import crossing_quantiles
from wearlog.forecast.law import RatePrior, WearLaw
from wearlog.forecast.posterior import part_posterior
from wearlog.forecast.prior import FamilyPrior
from wearlog.forecast.readings import one_part
from wearlog.workshop.bench import Bench
from wearlog.workshop.compare_limits import limit_of_type
from wearlog.workshop.compare_part_types import wheel_type
from wearlog.workshop.compare_snapshot import ComparisonSnapshot, LifeEstimate, PartLife, StageSetup
from wearlog.workshop.fleet_state import WEAR_MEASURAND, FleetState, fleet_state
from wearlog.workshop.learn import Family, Learned, learned, wear_priors
from wearlog.workshop.outlook import outlooks
from wearlog.workshop.trend_snapshot import MEDIAN, Basis
from wearlog.workshop.wear_items import USE_SCALE

#: Chances of having reached the limit by the distances that are told.
LIFE_LEVELS = (0.1, 0.5, 0.9)


def part_lives(
    bench: Bench, one: StageSetup, compared: ComparisonSnapshot, progress: Progress | None = None
) -> tuple[PartLife, ...]:
    """Return how long new parts last on the stage as it is and as it is planned.

    Chains and sprockets are told up to their limit; belts up to the next tensioning, as that is what readings
    of belts teach. Parts whose wear is not followed are left out.
    """
    fleet = _Fleet(fleet_state(bench), learned(bench, progress), one.stage)
    run = one.part(Position.RUN)
    before = None if run is None else run.part_type
    found = [
        _run_life(fleet, before, compared),
        *(_wheel_life(fleet, Position(wheel.value), before, compared) for wheel in Wheel),
    ]
    return tuple(life for life in found if life.before is not None or life.after is not None)


def renewal_advice(
    bench: Bench, one: StageSetup, compared: ComparisonSnapshot, progress: Progress | None = None
) -> Advice | None:
    """Return whether a wheel that stays would spoil the new chain; None if there is nothing to say."""
    if not compared.after.is_chain or not compared.stays or not compared.fitted:
        return None
    known = outlooks(bench, progress)
    used: list[float] = []
    is_all_read = True
    for wheel in compared.stays:
        part = one.part(Position(wheel.value))
        key = (0 if part is None else part.installation.id, Measurand.SPROCKET_TOOTH_THICKNESS)
        outlook = known.get(key)
        if outlook is None or not outlook.readings:
            is_all_read = False
        else:
            used.append(float(outlook.allowance[MEDIAN]))
    most = max(used, default=None)
    if not is_all_read and (most is None or most < SHARE_FOR_SET):
        most = None
    return set_advice(most, chain_replaced=Position.RUN in compared.fitted)


class _Fleet:
    """What the fleet says about parts on one stage."""

    def __init__(self, state: FleetState, lessons: Learned, stage: Stage) -> None:
        self.state = state
        self.families = lessons.families
        self.setups = lessons.setups
        self.stage = stage
        self.vehicle: Vehicle = state.vehicles[stage.vehicle_id]
        self.use_unit = self.vehicle.meter_unit.use_unit

    def limit(self, measurand: Measurand, part_type: PartType) -> Limit | None:
        """Return the limit agreed on for a type of part on the stage."""
        limits = self.state.limits_of.get(measurand, ())
        return limit_of_type(limits, self.vehicle, self.stage, measurand, part_type)

    def estimate(
        self, position: Position, part_type: PartType, setup: DriveSetup, chain: PartType | None = None
    ) -> LifeEstimate | None:
        """Return the life of a new part on a set-up; None if it has no limit to reach."""
        measurand = WEAR_MEASURAND.get(part_type.kind)
        limit = None if measurand is None else self.limit(measurand, part_type)
        if measurand is None or limit is None:
            return None
        reference = limit
        if measurand is Measurand.CHAIN_ELONGATION:
            every = self.state.limits_of.get(measurand, ())
            reference = limit_for(every, measurand, part_type.wear_class) or limit
            limit = _governed(limit, setup)
        span = reference.service_limit - reference.as_new
        own = (limit.service_limit - limit.as_new) / span
        family = self.families.get((measurand, part_type.wear_class))
        belief, law, similar = self._belief(family, position, part_type, span, chain)
        posterior = part_posterior(one_part([], 0.05, y=[]), belief, law, own)
        reach = crossing_quantiles(posterior, LIFE_LEVELS)[0] * USE_SCALE[self.use_unit]
        exposure, note = 1.0, ""
        if measurand is Measurand.CHAIN_ELONGATION:
            exposure, note = self._exposure(family, setup)
        low, likely, high = (float(end) / exposure for end in reach)
        return LifeEstimate(
            low=low,
            likely=likely,
            high=high,
            use_unit=self.use_unit,
            similar_parts=similar,
            basis=Basis.FLEET if similar else Basis.ENGINEERING,
            exposure=exposure,
            note=note,
        )

    def _belief(
        self,
        family: Family | None,
        position: Position,
        part_type: PartType,
        span: float,
        chain: PartType | None,
    ) -> tuple[RatePrior, WearLaw, int]:
        """Return what is believed of the rate of a new part, its law, and from how many parts."""
        priors = wear_priors()
        duty = self.vehicle.duty.value
        if family is None:
            prior = self._engineering(part_type, span, chain)
            spread = math.sqrt(prior.family_sd**2 + prior.cell_sd**2 + prior.tau**2)
            return RatePrior.of(priors.cell_mean(prior, duty), spread), prior.law(), 0
        place = "" if position is Position.RUN else position.value
        name = f"{self.stage.name}|{place}|{duty}|{self.use_unit}"
        cell = family.cells.index(name) if name in family.cells else None
        mean = None if cell is not None else priors.cell_mean(family.fit.prior, duty)
        belief = family.fit.new_part_prior(cell, self.vehicle.id, mean)
        return belief, family.fit.law, family.fit.similar_parts(cell) or family.fit.similar_parts()

    def _engineering(self, part_type: PartType, span: float, chain: PartType | None) -> FamilyPrior:
        """Return what is believed of a class that this fleet has none of."""
        priors = wear_priors()
        if part_type.kind is PartKind.CHAIN:
            return priors.family_prior(part_type.wear_class.value, limit_percent=100.0 * span)
        if chain is None:
            return priors.family_prior(part_type.wear_class.value)
        limit = self.limit(Measurand.CHAIN_ELONGATION, chain)
        percent = None if limit is None else 100.0 * limit.service_limit
        its = priors.family_prior(chain.wear_class.value, limit_percent=percent)
        return priors.family_prior(part_type.wear_class.value, chain=its)

    def _exposure(self, family: Family | None, setup: DriveSetup) -> tuple[float, str]:
        """Return the wear on a set-up against the one that the fleet's rates are counted on, and why."""
        chains = None if family is None else self.setups.get(family.key)
        usual = None if chains is None else chains.usual_setup(setup.pitch_mm)
        if usual is None:
            note = _("No chain of this pitch has run in this fleet: the set-up is taken as usual.")
            return 1.0, note
        exposure = relative_exposure(_geometry(setup), _geometry(usual))
        note = _(
            "Counted from {driver}:{driven} teeth, which most of them ran on: this set-up wears {times:.2f} "
            "times as fast."
        ).format(driver=usual.driver_teeth, driven=usual.driven_teeth, times=exposure)
        return exposure, note


def _run_life(fleet: _Fleet, before: PartType | None, compared: ComparisonSnapshot) -> PartLife:
    after = compared.draft.run
    return PartLife(
        Position.RUN,
        None if before is None else fleet.estimate(Position.RUN, before, compared.before),
        None if after is None else fleet.estimate(Position.RUN, after, compared.after),
        None if before is None else WEAR_MEASURAND.get(before.kind),
        None if after is None else WEAR_MEASURAND.get(after.kind),
    )


def _wheel_life(
    fleet: _Fleet, position: Position, chain: PartType | None, compared: ComparisonSnapshot
) -> PartLife:
    """Return the life of a new sprocket; from that before by Archard's law where chain follows chain."""
    planned = compared.draft.run
    before = after = None
    if chain is not None and compared.before.is_chain:
        before = fleet.estimate(position, wheel_type(chain, None), compared.before, chain)
    if planned is not None and compared.after.is_chain:
        after = fleet.estimate(position, wheel_type(planned, None), compared.after, planned)
    if before is not None and after is not None:
        wheel = Wheel(position.value)
        exposure = wheel_exposure_of(compared.after, wheel, compared.before).ratio
        after = replace(
            after,
            low=after.low / exposure,
            likely=after.likely / exposure,
            high=after.high / exposure,
            exposure=exposure,
        )
    tooth = Measurand.SPROCKET_TOOTH_THICKNESS
    return PartLife(
        position, before, after, None if before is None else tooth, None if after is None else tooth
    )


def _governed(limit: Limit, setup: DriveSetup) -> Limit:
    """Return the limit, or the one that the larger sprocket sets if that comes first."""
    teeth = max(setup.driver_teeth, setup.driven_teeth)
    reached = governing_limit(limit, large_sprocket_teeth=teeth).governing
    if reached is None or reached.kind is LimitKind.CLASS:
        return limit
    return replace(limit, service_limit=reached.elongation)


def _geometry(setup: DriveSetup) -> DriveSetup:
    """Return what is known of nearly every set-up: products of exposures need the same for all."""
    return DriveSetup(
        drive=DriveKind.CHAIN,
        pitch_mm=setup.pitch_mm,
        driver_teeth=setup.driver_teeth,
        driven_teeth=setup.driven_teeth,
        links=setup.links,
    )
