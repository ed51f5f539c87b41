"""Sentences about when to replace chains: where the long-run cost is least, and how sure that is."""

from gettext import gettext as _

from wearlog.drawing.number_words import share_text
from wearlog.drawing.parts_words import money_text
from wearlog.workshop.policy_snapshot import PolicyOf

#: A cost within this share of the least is as good as the least, [-].
AS_GOOD = 0.03


def distance_text(use_unit: str) -> str:
    """Return the distance that costs are counted for.

    Examples
    --------
    >>> distance_text("h")
    '100 h'
    """
    return "100 h" if use_unit == "h" else "1000 km"


def flat_range(policy: PolicyOf) -> tuple[float, float]:
    """Return from which to which share the cost is as good as the least."""
    least = min(policy.cost)
    good = [
        share
        for share, cost in zip(policy.shares, policy.cost, strict=True)
        if cost <= (1.0 + AS_GOOD) * least
    ]
    return good[0], good[-1]


def best_text(policy: PolicyOf) -> str:
    """Return where the cost is least, and between which shares it makes hardly a difference."""
    low, high = flat_range(policy)
    return _(
        "Cheapest in the long run at {best} of the allowance (8 in 10: {low} to {high}): {money} for "
        "{distance}. Between {flat_low} and {flat_high} it makes less than {good} of difference."
    ).format(
        best=share_text(policy.best),
        low=share_text(policy.best_low),
        high=share_text(policy.best_high),
        money=money_text(min(policy.cost)),
        distance=distance_text(policy.use_unit),
        flat_low=share_text(low),
        flat_high=share_text(high),
        good=share_text(AS_GOOD),
    )


def limit_text(policy: PolicyOf) -> str:
    """Return what replacing at the limit costs, and what going beyond it means; the limit always stands."""
    at_limit = _("At the limit it costs {money}, at {early} {early_money}, at {late} {late_money}.").format(
        money=money_text(policy.cost_at(1.0)),
        early=share_text(0.8),
        early_money=money_text(policy.cost_at(0.8)),
        late=share_text(1.3),
        late_money=money_text(policy.cost_at(1.3)),
    )
    if policy.best > 1.0:
        return (
            at_limit
            + " "
            + _(
                "The least lies beyond the limit; the limit stands all the same, it is there for safety and "
                "not for cost."
            )
        )
    return at_limit


def basis_text(policy: PolicyOf) -> str:
    """Return what the curve rests on."""
    return _(
        "{chains} run now; rates from the readings of {read} chains. A chain {chain}, its sprockets "
        "{sprockets}, fitting {fitting}; looked at every {check:.1f} × {distance}. How much faster sprockets "
        "wear under a stretched chain is an assumption: twice as fast at the limit, within a factor of two."
    ).format(
        chains=policy.chains,
        read=policy.read_parts,
        chain=money_text(policy.chain_price),
        sprockets=money_text(policy.sprocket_price),
        fitting=money_text(policy.fitting_cost),
        check=policy.check_every,
        distance=distance_text(policy.use_unit),
    )
