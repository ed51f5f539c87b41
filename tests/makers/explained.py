"""What a predicted date rests on, for tests that need no forecast; figures invented."""

from datetime import date

from wearlog.fleet.reading import Measurand
from wearlog.fleet.vehicle import Duty
from wearlog.workshop.explain_snapshot import (
    Aside,
    Cause,
    Contribution,
    DateWidth,
    ExplainedReading,
    Explanation,
    LimitEvidence,
    RateEvidence,
    UsageEvidence,
)


def explained() -> Explanation:
    """A chain with one reading that counts and one voided, between 1 February and 1 June 2027."""
    width = DateWidth(
        early_on=date(2027, 2, 1),
        likely_on=date(2027, 4, 1),
        late_on=date(2027, 6, 1),
        days=120.0,
        is_early_half=False,
        contributions=(
            Contribution(Cause.RATE, 90.0, 70.0, 0.6),
            Contribution(Cause.USAGE, 70.0, 95.0, 0.3),
            Contribution(Cause.READINGS, 30.0, 115.0, 0.07),
            Contribution(Cause.PROCESS, 20.0, 117.0, 0.03),
        ),
    )
    return Explanation(
        installation_id=1,
        measurand=Measurand.CHAIN_ELONGATION,
        use_unit="km",
        readings=(
            ExplainedReading(7, date(2026, 3, 1), 900.0, 0.001, None, None, 0.0004, 0.98),
            ExplainedReading(
                8, date(2026, 5, 3), 2000.0, 0.009, None, None, 0.0004, 0.0, Aside.VOIDED, "other vehicle"
            ),
        ),
        rate=RateEvidence(
            0.25,
            (0.001, 0.002, 0.004),
            (0.0015, 0.0018, 0.0022),
            (0.0016, 0.0019, 0.0023),
            True,
            31,
            12,
            -0.2,
        ),
        limit=LimitEvidence(0.01, 0.0, "workshop default", "", 21.0),
        usage=UsageEvidence(112.0, 98.0, 14, date(2026, 1, 4), date(2026, 11, 20), 180.0, (1.0,) * 12),
        duty=Duty.MIXED,
        stage_name="final drive",
        exposure=1.04,
        width=width,
    )
