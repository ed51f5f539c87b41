"""What a reading is worth before the workshop knows its own scatter; one standard deviation each.

No repeatability study of chain measurement was found in print. The figures follow from what instruments
and several published readings show, and are used until the workshop's own repeated readings say better.
"""

from wearlog.fleet.reading import Measurand, Method

#: How well one length is set and read, [mm]. A rule read to half a millimetre at both edges: 0.10 % over
#: 20 x 12.7 mm; a caliper inside and outside: 0.04 % over 10 x 12.7 mm; between rollers: 0.05 % of the same;
#: a tape: 0.06 % over 50 x 15.875 mm; a whole chain beside another: 1 to 2 mm at most, taken as rectangular.
U_SETTING_MM: dict[Method, float] = {
    Method.PIN_TO_PIN: 0.25,
    Method.OVER_ROLLERS: 0.25,
    Method.INSIDE_AND_OUTSIDE: 0.05,
    Method.BETWEEN_ROLLERS: 0.064,
    Method.TAPE: 0.48,
    Method.WHOLE_CHAIN: 0.87,
}

#: Between rollers the play of roller on bush adds a constant that nobody knows unless the same chain was
#: measured new: 0.1 to 0.15 %, [-]. New chains of three makes spread over 0.29 % this way (globike.net).
U_ROLLER_PLAY = 0.00125

#: How much places on one chain differ, [-]: 0.1 to 0.3 mm over five places of 11 pitches
#: (robobiking.wordpress.com, 2016-04-15), that is 0.05 to 0.1 %.
PLACE_SCATTER = 0.00075

#: A value read off some scale that is not known better, [-]; as a rule.
U_ELONGATION_READ = 0.001

#: One chain read 0.39 % dirty and at least 0.79 % clean (tobiwan.wordpress.com, 2019-04-16): up to 0.4 %
#: may be hidden, taken as rectangular, [-].
U_NOT_CLEANED = 0.00115

#: A gauge whose own uncertainty is not known, [-]. Assumption.
U_GAUGE = 0.0005

#: How far the play of worn rollers may lift a two-prong gauge's reading beyond its bias on a new chain, [-]:
#: 0.8 on the gauge against 0.36 % by length (forum.cyclinguk.org 51592), less a usual bias of 0.1 to 0.3 %.
WORN_ROLLER_PLAY = 0.002

#: Setting of direct measures, in the measurand's unit. Slack: the scatter of one person is 2 to 3 mm
#: (common practice, no source). Tooth thickness at the contact line, lift and adjuster mark: assumptions.
U_DIRECT: dict[Measurand, float] = {
    Measurand.SPROCKET_TOOTH_THICKNESS: 0.1,
    Measurand.CHAIN_LIFT: 1.0,
    Measurand.SLACK: 2.5,
    Measurand.ADJUSTER_POSITION: 0.5,
    Measurand.BELT_TENSION: 0.0,
    Measurand.BELT_CONDITION: 0.4,
    Measurand.SPROCKET_CONDITION: 0.4,
}

#: Scatter of plucked readings, [Hz], and of a spring gauge, as a share, [-]. Common practice, no source.
SCATTER_HZ = 1.0
SCATTER_FORCE = 0.05

#: Belt span, deflection, [mm], and mass per length, [-], when nobody says how well they are known:
#: a rule to 2 mm and 0.5 mm, and 5 % either way for a mass out of a table (rectangular).
U_SPAN_MM = 1.2
U_DEFLECTION_MM = 0.3
U_MASS_SHARE = 0.029
