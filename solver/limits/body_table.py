"""Total impedance of the body by touch voltage: the table of IEC TS 60479-1:2005.

Hand to hand, large contact areas, dry, AC 50/60 Hz, for 5, 50 and 95 % of the population.
From memory; the 50 % column is confirmed through the touch voltages of EN 50522. The 1994
edition has other values; editions are not to be mixed.
"""

SOURCE = "IEC TS 60479-1:2005, table of total body impedance, dry, large contact (from memory)"

# Touch voltage [V]; impedance that 5, 50, 95 % of the population do not exceed [Ω].
TOTAL_IMPEDANCE: tuple[tuple[float, float, float, float], ...] = (
    (25, 1750, 3250, 6100),
    (50, 1375, 2500, 4600),
    (75, 1125, 2000, 3600),
    (100, 990, 1725, 3125),
    (125, 900, 1550, 2675),
    (150, 850, 1400, 2350),
    (175, 825, 1325, 2175),
    (200, 800, 1275, 2050),
    (225, 775, 1225, 1900),
    (400, 700, 950, 1275),
    (500, 625, 850, 1150),
    (700, 575, 775, 1050),
    (1000, 575, 775, 1050),
)

# Share of the hand-to-hand impedance in a path: limbs of equal impedance (from memory).
BODY_FACTOR: dict[str, float] = {
    "left hand to both feet": 0.75,
    "right hand to both feet": 0.75,
    "both hands to both feet": 0.5,
    "hand to hand": 1.0,
    "foot to foot": 1.0,
}

# IEC 60479-1:2005 table 12 (from memory): current from left hand to feet that endangers the
# heart as much as a current in this path, as a share of the latter.
HEART_CURRENT_FACTOR: dict[str, float] = {
    "left hand to left foot": 1.0,
    "left hand to right foot": 1.0,
    "left hand to both feet": 1.0,
    "both hands to both feet": 1.0,
    "hand to hand": 0.4,
    "right hand to left foot": 0.8,
    "right hand to right foot": 0.8,
    "right hand to both feet": 0.8,
    "back to right hand": 0.3,
    "back to left hand": 0.7,
    "chest to right hand": 1.3,
    "chest to left hand": 1.5,
    "seat to hands": 0.7,
    "foot to foot": 0.04,
}
