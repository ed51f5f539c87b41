"""Service limits: quantity x part class x drive, each with the source it comes from."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from wearlog.fleet.parts import WearClass
from wearlog.fleet.reading import Measurand


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """The service limit of a measurand, in the measurand's canonical unit.

    Allowance used is (value - as_new) / (service_limit - as_new); falling quantities have
    `service_limit` < `as_new`. `plan_share` is the share of the allowance at which to plan ahead.
    The narrowest scope that fits counts: vehicle and stage, model and stage, designation, class.
    None and empty mean "any".
    """

    measurand: Measurand
    wear_class: WearClass
    service_limit: float
    as_new: float = 0.0
    plan_share: float = 0.75
    stop_use_limit: float | None = None
    designation: str = ""
    model: str = ""
    stage_name: str = ""
    vehicle_id: int | None = None
    source: str = ""
    note: str = ""
    void_reason: str = ""
    id: int = 0
    version: int = 0

    def allowance_used(self, value: float) -> float:
        """Return the share of the wear allowance that `value` (canonical unit) has used, [-]."""
        return (value - self.as_new) / (self.service_limit - self.as_new)

    def value_at(self, allowance: float) -> float:
        """Return the value (canonical unit) at a share `allowance` of the wear allowance."""
        return self.as_new + allowance * (self.service_limit - self.as_new)


def scope_of(limit: Limit) -> int:
    """Return how narrow a limit's scope is: vehicle before model before designation before class."""
    return (
        (8 if limit.vehicle_id is not None else 0)
        + (4 if limit.model else 0)
        + (2 if limit.designation else 0)
        + (1 if limit.stage_name else 0)
    )


def limit_for(
    limits: Iterable[Limit],
    measurand: Measurand,
    wear_class: WearClass,
    designations: Collection[str] = (),
    model: str = "",
    stage_name: str = "",
    vehicle_id: int | None = None,
) -> Limit | None:
    """Return the limit that counts for a part: the narrowest scope that fits, the newest of equals.

    Parameters
    ----------
    limits
        All limits; voided ones are left out.
    measurand, wear_class
        What is limited.
    designations
        Designation of the part and of the chain or profile that it belongs to.
    model, stage_name, vehicle_id
        Where the part sits.
    """
    fitting = [
        limit
        for limit in limits
        if not limit.void_reason
        and limit.measurand is measurand
        and limit.wear_class is wear_class
        and limit.designation in {"", *designations}
        and limit.model in {"", model}
        and limit.stage_name in {"", stage_name}
        and limit.vehicle_id in {None, vehicle_id}
    ]
    return max(fitting, key=lambda limit: (scope_of(limit), limit.id), default=None)
