"""Service limits: quantity x part class x drive, each with the source it comes from."""

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
