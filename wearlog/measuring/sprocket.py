"""Sprocket wear from the thickness left of its teeth."""

from gettext import gettext as _

from wearlog.drive.demands import demand_not_negative, demand_pitch, demand_positive, refusal

#: What must be left of the nominal tooth thickness, [-]: about half when driven one way, about two thirds
#: when the drive reverses or brakes. Derived from Tsubaki, Drive Chains catalogue, table 8.
SHARE_LEFT_ONE_WAY = 0.5
SHARE_LEFT_REVERSING = 0.65


def nominal_tooth_thickness(pitch_mm: float, roller_diameter_mm: float) -> float:
    """Return the thickness of a new tooth on the pitch circle, [mm].

    Parameters
    ----------
    pitch_mm : float
        Chain pitch, [mm].
    roller_diameter_mm : float
        Roller diameter of the chain, [mm].

    Raises
    ------
    WearlogError
        If the rollers leave no room for a tooth.

    Examples
    --------
    >>> round(nominal_tooth_thickness(12.7, 8.51), 2)
    4.19
    """
    demand_pitch(pitch_mm)
    demand_positive(roller_diameter_mm, _("roller diameter"), "mm")
    if roller_diameter_mm >= pitch_mm:
        raise refusal(
            _("Rollers of {roller:g} mm leave no tooth at a pitch of {pitch:g} mm.").format(
                roller=roller_diameter_mm, pitch=pitch_mm
            ),
            _("Check pitch and roller diameter of the chain."),
        )
    return pitch_mm - roller_diameter_mm


def thickness_limit(pitch_mm: float, roller_diameter_mm: float, is_reversing: bool = False) -> float:
    """Return the tooth thickness that must be left, [mm].

    Parameters
    ----------
    pitch_mm : float
        Chain pitch, [mm].
    roller_diameter_mm : float
        Roller diameter of the chain, [mm].
    is_reversing : bool
        Whether the drive also pushes the other way; braking by the motor counts.

    References
    ----------
    Share derived from Tsubaki, Drive Chains catalogue (yumpu 42826188), p. 168, table 8.

    Examples
    --------
    >>> round(thickness_limit(12.7, 8.51), 2), round(thickness_limit(12.7, 7.92, is_reversing=True), 2)
    (2.09, 3.11)
    """
    share = SHARE_LEFT_REVERSING if is_reversing else SHARE_LEFT_ONE_WAY
    return share * nominal_tooth_thickness(pitch_mm, roller_diameter_mm)


def allowance_of_thickness(thickness_mm: float, as_new_mm: float, limit_mm: float) -> float:
    """Return the share of the wear allowance that a tooth has used, [-].

    Parameters
    ----------
    thickness_mm : float
        Thickness measured at the contact line, [mm].
    as_new_mm : float
        Thickness of a new tooth, [mm].
    limit_mm : float
        Thickness that must be left, [mm].

    Raises
    ------
    WearlogError
        If the limit is not below the thickness as new.

    Examples
    --------
    >>> round(allowance_of_thickness(3.2, 4.2, 2.1), 3)
    0.476
    """
    demand_not_negative(thickness_mm, _("tooth thickness"), "mm")
    if not limit_mm < as_new_mm:
        raise refusal(
            _("A limit of {limit:g} mm is not below the {new:g} mm of a new tooth.").format(
                limit=limit_mm, new=as_new_mm
            ),
            _("Check the limit of this sprocket."),
        )
    return (as_new_mm - thickness_mm) / (as_new_mm - limit_mm)


def grades() -> tuple[str, ...]:
    """Return what the condition grades 0 to 3 of a sprocket mean.

    References
    ----------
    Common practice, no source.
    """
    return (
        _("as new"),
        _("polished"),
        _("visibly thinner teeth"),
        _("hooked or pointed teeth: change"),
    )
