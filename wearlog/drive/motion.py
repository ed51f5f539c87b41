"""How a drive moves: ratio, speeds, chordal action, articulation and sliding of its joints."""

import math
from gettext import gettext as _

from wearlog.drive.demands import demand_not_negative, demand_pitch, demand_positive, demand_teeth


def ratio(driver_teeth: int, driven_teeth: int) -> float:
    """Return by how much a stage slows down, [-].

    Parameters
    ----------
    driver_teeth : int
        Teeth of the driver, [-].
    driven_teeth : int
        Teeth of the driven sprocket or pulley, [-].

    Examples
    --------
    >>> ratio(14, 42)
    3.0
    """
    demand_teeth(driver_teeth)
    demand_teeth(driven_teeth)
    return driven_teeth / driver_teeth


def chain_speed(pitch_mm: float, teeth: int, speed_rpm: float) -> float:
    """Return the mean speed of a chain or belt, [m/s].

    Parameters
    ----------
    pitch_mm : float
        Pitch, [mm].
    teeth : int
        Teeth of the sprocket or pulley, [-].
    speed_rpm : float
        Its rotational speed, [1/min].

    References
    ----------
    FOSSEE Scilab textbook companion 764, chapter 14, example 14.1.

    Examples
    --------
    >>> round(chain_speed(19.05, 17, 1000.0), 4)
    5.3975
    """
    demand_pitch(pitch_mm)
    demand_teeth(teeth)
    return teeth * pitch_mm * speed_rpm / 60_000.0


def pull_of_power(power_kw: float, chain_speed_m_per_s: float) -> float:
    """Return the pull in the tight run at a power, [N].

    Parameters
    ----------
    power_kw : float
        Power, [kW].
    chain_speed_m_per_s : float
        Speed of the chain or belt, [m/s].

    Examples
    --------
    >>> round(31100 / pull_of_power(14.32, chain_speed(19.05, 17, 1000.0)), 3)
    11.722
    """
    demand_positive(chain_speed_m_per_s, _("chain speed"), "m/s")
    return 1000.0 * power_kw / chain_speed_m_per_s


def road_speed(speed_rpm: float, total_ratio: float, wheel_circumference_mm: float) -> float:
    """Return the road speed at a speed of the motor, [km/h].

    Parameters
    ----------
    speed_rpm : float
        Rotational speed of the motor, [1/min].
    total_ratio : float
        Product of the ratios of all stages, [-].
    wheel_circumference_mm : float
        Rolling circumference of the driven wheel, [mm].

    Examples
    --------
    >>> round(road_speed(4000.0, 9.0, 1900.0), 2)
    50.67
    """
    demand_positive(total_ratio, _("ratio"))
    demand_positive(wheel_circumference_mm, _("wheel circumference"), "mm")
    return speed_rpm / total_ratio * wheel_circumference_mm * 60e-6


def chordal_variation(teeth: int) -> float:
    """Return the speed variation of a chain by chordal action, (greatest - least) / greatest, [-].

    Parameters
    ----------
    teeth : int
        Number of teeth, [-].

    References
    ----------
    machinecalcs.com, sprocket pitch diameter explained.

    Examples
    --------
    >>> round(100 * chordal_variation(17), 1)
    1.7
    """
    demand_teeth(teeth)
    return 1.0 - math.cos(math.pi / teeth)


def articulation_angle(teeth: int) -> float:
    """Return by how much a joint turns when it runs on or off a sprocket, [rad].

    Parameters
    ----------
    teeth : int
        Number of teeth, [-].

    Examples
    --------
    >>> round(math.degrees(articulation_angle(14)), 4)
    25.7143
    """
    demand_teeth(teeth)
    return 2.0 * math.pi / teeth


def chain_turns_per_km(driven_teeth: int, links: int, wheel_circumference_mm: float) -> float:
    """Return how often the whole chain goes round on each kilometre, [1/km].

    Parameters
    ----------
    driven_teeth : int
        Teeth of the sprocket on the wheel, [-].
    links : int
        Number of links of the chain, [-].
    wheel_circumference_mm : float
        Distance covered with one turn of that sprocket, [mm]; for a primary stage the wheel's circumference
        divided by the ratio of the stages behind it.

    Examples
    --------
    >>> round(chain_turns_per_km(42, 116, 1900.0), 2)
    190.56
    """
    demand_teeth(driven_teeth)
    demand_positive(links, _("number of links"))
    demand_positive(wheel_circumference_mm, _("wheel circumference"), "mm")
    return 1e6 / wheel_circumference_mm * driven_teeth / links


def articulations_per_km(
    driven_teeth: int, links: int, wheel_circumference_mm: float, idlers: int = 0
) -> float:
    """Return how often each joint bends or straightens on a kilometre, [1/km].

    Parameters
    ----------
    driven_teeth : int
        Teeth of the sprocket on the wheel, [-].
    links : int
        Number of links of the chain, [-].
    wheel_circumference_mm : float
        Distance covered with one turn of that sprocket, [mm].
    idlers : int
        Further sprockets in the loop, [-]; each adds two.

    Examples
    --------
    >>> round(articulations_per_km(42, 116, 1900.0), 1)
    762.3
    """
    demand_not_negative(idlers, _("number of idlers"))
    return (4 + 2 * idlers) * chain_turns_per_km(driven_teeth, links, wheel_circumference_mm)


def tooth_contacts_per_km(teeth: int, driven_teeth: int, wheel_circumference_mm: float) -> float:
    """Return how often each tooth of a wheel of the stage meets the chain or belt on a kilometre, [1/km].

    Parameters
    ----------
    teeth : int
        Teeth of the wheel asked about, [-].
    driven_teeth : int
        Teeth of the driven wheel of the stage, [-].
    wheel_circumference_mm : float
        Distance covered with one turn of the driven wheel, [mm].

    Notes
    -----
    Each tooth meets the chain once a turn, so the small wheel's teeth meet it more often by the ratio.

    Examples
    --------
    >>> round(tooth_contacts_per_km(14, 42, 1900.0), 1), round(tooth_contacts_per_km(42, 42, 1900.0), 1)
    (1578.9, 526.3)
    """
    demand_positive(wheel_circumference_mm, _("wheel circumference"), "mm")
    return 1e6 / wheel_circumference_mm * ratio(teeth, driven_teeth)


def sliding_per_pass(teeth: int, pin_diameter_mm: float) -> float:
    """Return how far a pin slides in its bush when its joint runs on or off a sprocket once, [mm].

    Parameters
    ----------
    teeth : int
        Number of teeth, [-].
    pin_diameter_mm : float
        Diameter of the pins, [mm].

    Examples
    --------
    >>> round(sliding_per_pass(14, 4.51), 3)
    1.012
    """
    demand_positive(pin_diameter_mm, _("pin diameter"), "mm")
    return 0.5 * pin_diameter_mm * articulation_angle(teeth)


def sliding_per_km(
    driver_teeth: int,
    driven_teeth: int,
    links: int,
    wheel_circumference_mm: float,
    pin_diameter_mm: float,
    is_under_load_only: bool = True,
) -> float:
    """Return the distance that each pin slides in its bush on a kilometre, [m/km].

    Parameters
    ----------
    driver_teeth : int
        Teeth of the driver, [-].
    driven_teeth : int
        Teeth of the driven sprocket, [-].
    links : int
        Number of links of the chain, [-].
    wheel_circumference_mm : float
        Distance covered with one turn of the driven sprocket, [mm].
    pin_diameter_mm : float
        Diameter of the pins, [mm].
    is_under_load_only : bool
        Whether only the two articulations beside the tight run count: on to the driver, off the driven.

    Examples
    --------
    >>> round(sliding_per_km(14, 42, 116, 1900.0, 4.51), 4)
    0.2571
    """
    per_turn_mm = sliding_per_pass(driver_teeth, pin_diameter_mm)
    per_turn_mm += sliding_per_pass(driven_teeth, pin_diameter_mm)
    per_turn_mm *= 1.0 if is_under_load_only else 2.0
    return 1e-3 * per_turn_mm * chain_turns_per_km(driven_teeth, links, wheel_circumference_mm)


def elongation_of_sliding(
    wear_coefficient: float, bearing_pressure_n_per_mm2: float, sliding_m: float, pitch_mm: float
) -> float:
    """Return the elongation by Archard's law, [-].

    Parameters
    ----------
    wear_coefficient : float
        Specific wear rate, [mm3/(N m)]; none is published for chain joints, so it serves for scaling only.
    bearing_pressure_n_per_mm2 : float
        Pull over the projected area of the joint, [N/mm2].
    sliding_m : float
        Sliding distance under load, [m].
    pitch_mm : float
        Chain pitch, [mm].

    References
    ----------
    J. F. Archard, Contact and rubbing of flat surfaces, J. Appl. Phys. 24 (1953) 981, from memory.

    Examples
    --------
    >>> round(100 * elongation_of_sliding(5e-6, 10.0, 257.1, 12.7), 4)
    0.1012
    """
    demand_pitch(pitch_mm)
    return wear_coefficient * bearing_pressure_n_per_mm2 * sliding_m / pitch_mm
