"""When worn sprockets would spoil a new chain, and when a part must not run on."""

import math
from dataclasses import dataclass
from enum import StrEnum
from gettext import gettext as _

from wearlog.drive.demands import demand_not_negative, refusal
from wearlog.fleet.limit import Limit

#: From this share of a sprocket's allowance on it is changed with the chain. Common practice, no source.
SHARE_FOR_SET = 0.75


class AdviceKind(StrEnum):
    """What is advised."""

    INSPECT_FIRST = "inspect the sprockets first"
    REPLACE_AS_SET = "replace as a set"
    REPLACE_SPROCKET = "replace the sprocket"
    STOP_USE = "stop use"


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do about worn parts.

    Attributes
    ----------
    kind
        What is advised.
    text
        One or two full sentences.
    source
        Where the rule comes from.
    """

    kind: AdviceKind
    text: str
    source: str


def set_advice(
    sprocket_allowance_used: float | None, chain_replaced: bool, share_for_set: float = SHARE_FOR_SET
) -> Advice | None:
    """Return whether the sprockets are to be changed with the chain; None if they may stay.

    Parameters
    ----------
    sprocket_allowance_used : float or None
        Share of its wear allowance that the more worn sprocket has used, [-]; None if not inspected.
    chain_replaced : bool
        Whether a new chain is being fitted.
    share_for_set : float
        Share from which a sprocket is changed with the chain, [-].

    Raises
    ------
    WearlogError
        If the wear is not a number, or the share for a set is negative.

    References
    ----------
    Kawasaki ZX-10R service manual (front and rear sprockets with the chain); Tsubaki, Drive Chains catalogue
    (a new chain on a worn wheel wears faster).

    Examples
    --------
    >>> set_advice(0.9, chain_replaced=True).kind
    <AdviceKind.REPLACE_AS_SET: 'replace as a set'>
    >>> set_advice(0.3, chain_replaced=True) is None
    True
    """
    if sprocket_allowance_used is None:
        if not chain_replaced:
            return None
        return Advice(
            AdviceKind.INSPECT_FIRST,
            _(
                "Inspect the teeth of both sprockets and record them before the new chain goes on: on worn "
                "teeth it wears faster."
            ),
            _("Tsubaki, Drive Chains catalogue; inspect and replace if needed: Kawasaki KX250F manual"),
        )
    if not math.isfinite(sprocket_allowance_used):
        raise refusal(
            _("The wear of a sprocket must be a number; {value} was given.").format(
                value=sprocket_allowance_used
            )
        )
    demand_not_negative(share_for_set, _("share for a set"))
    used = 100.0 * sprocket_allowance_used
    if chain_replaced and sprocket_allowance_used >= min(share_for_set, 1.0):
        return Advice(
            AdviceKind.REPLACE_AS_SET,
            _(
                "A sprocket has used {used:.0f} % of its wear allowance and would spoil the new chain: "
                "change the chain and both sprockets as a set."
            ).format(used=used),
            _(
                "Kawasaki ZX-10R service manual, cyclepedia and RK: chain and both sprockets; faster wear: "
                "Tsubaki, Drive Chains catalogue"
            ),
        )
    if sprocket_allowance_used >= 1.0:
        return Advice(
            AdviceKind.REPLACE_SPROCKET,
            _(
                "A sprocket is past its limit at {used:.0f} %: change it, and the chain and the other "
                "sprocket with it. New links or a worn chain on new teeth do not last."
            ).format(used=used),
            _("RK note and Honda CBF600 manual p. 105: hooked teeth; set: Kawasaki ZX-10R service manual"),
        )
    return None


def stop_use_advice(limit: Limit, value: float) -> Advice | None:
    """Return that a part must not run on, if it is past its stop-use limit; None if it may.

    Parameters
    ----------
    limit : Limit
        The limit that counts for the part.
    value : float
        What was measured, [canonical unit of the measurand].

    Raises
    ------
    WearlogError
        If the value is not a number.

    References
    ----------
    Kawasaki ZX-10R and KX65, KTM manuals: a chain that breaks or comes off can lock the wheel.

    Examples
    --------
    >>> from wearlog.fleet.parts import WearClass
    >>> from wearlog.fleet.reading import Measurand
    >>> own = Limit(
    ...     measurand=Measurand.CHAIN_ELONGATION, wear_class=WearClass.SEALED_MOTORCYCLE_CHAIN,
    ...     service_limit=0.015, stop_use_limit=0.03, source="workshop",
    ... )
    >>> stop_use_advice(own, 0.031).kind, stop_use_advice(own, 0.02) is None
    (<AdviceKind.STOP_USE: 'stop use'>, True)
    """
    if not math.isfinite(value):
        raise refusal(_("A reading must be a number; {value} was given.").format(value=value))
    if limit.stop_use_limit is None:
        return None
    is_falling = limit.service_limit < limit.as_new
    is_past = value <= limit.stop_use_limit if is_falling else value >= limit.stop_use_limit
    if not is_past:
        return None
    return Advice(
        AdviceKind.STOP_USE,
        _("Past the stop-use limit: do not ride. A chain or belt that breaks or jumps can lock the wheel."),
        _("limit: {source}; danger: Kawasaki ZX-10R and KX65, KTM owner’s manuals").format(
            source=limit.source or _("entered without source")
        ),
    )
