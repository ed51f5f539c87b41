"""Distance under another duty: counted by how much faster or slower parts are expected to wear under it."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

from wearlog.fleet.spells import duty_on
from wearlog.fleet.vehicle import Duty
from wearlog.forecast.prior import WearPriors
from wearlog.forecast.stretches import Stretches, changed_rate
from wearlog.workshop.exposed_use import ExposedUse
from wearlog.workshop.fleet_state import FleetState
from wearlog.workshop.wear_items import WearItem


def weighed_by_duty(state: FleetState, priors: WearPriors, items: Iterable[WearItem]) -> list[WearItem]:
    """Return parts whose use under another duty than the present one counts as it wears.

    A thousand km of sand wear a chain like two thousand of road: on a vehicle that came to the road they
    count as such. What duties differ by is the engineering expectation; what the shop's own readings say of a
    duty enters through the cells.

    Parameters
    ----------
    priors
        How much faster parts are expected to wear under each duty.
    items
        Parts, or spells of belts between tensionings.
    """
    return [_weighed(state, priors, item) for item in items]


def _weighed(state: FleetState, priors: WearPriors, item: WearItem) -> WearItem:
    duties = _duties(state, item)
    now = state.vehicles[item.installation.vehicle_id].duty
    if all(duty is now for _use, duty in duties):
        return item
    shifts = [priors.duty_shift.get(duty.value, 0.0) for _use, duty in duties]
    by_duty = changed_rate([use for use, _duty in duties], shifts, priors.duty_shift.get(now.value, 0.0))
    both = Stretches(item.exposed.since, item.exposed.factors).times(by_duty)
    return replace(item, exposed=ExposedUse(both.since, both.factor))


def _duties(state: FleetState, item: WearItem) -> list[tuple[float, Duty]]:
    """Return the duties that a part was used under, each from a use on the part on, km (h)."""
    found: list[tuple[float, Duty]] = []
    for installation_id, offset in item.offsets.items():
        installation = state.installations[installation_id]
        vehicle = state.vehicles[installation.vehicle_id]
        spells = state.spells_of.get(vehicle.id, ())
        begins: list[tuple[float, date]] = [(installation.fitted_use, installation.fitted_on)]
        for spell in spells:
            is_over = installation.removed_on is not None and spell.from_on >= installation.removed_on
            total_use = state.histories[vehicle.id].use_on(spell.from_on)
            if spell.from_on > installation.fitted_on and not is_over and total_use is not None:
                begins.append((total_use, spell.from_on))
        for total_use, day in sorted(begins):
            # A belt's spell counts from its tensioning: what was before it is left out but for the duty.
            found.append((max(total_use + offset, 0.0), duty_on(spells, day, vehicle.duty)))
    if item.until_use is not None:
        end = item.until_use + min(item.offsets.values())
        found = [one for n, one in enumerate(found) if n == 0 or one[0] < end]
    return found
