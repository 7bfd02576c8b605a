"""What water and frost do to a soil: tables of handbooks, to judge a season by.

IEEE Std 142-1991 section 4.1 (from memory), printed alike in many handbooks: one loam, one top
soil. They show how far a season may reach, not what another soil does.
"""

# State of a sandy loam with 15.2 % of water; resistivity [Ω·m].
BY_TEMPERATURE: tuple[tuple[str, float], ...] = (
    ("20 °C", 72.0),
    ("10 °C", 99.0),
    ("0 °C, thawed", 138.0),
    ("0 °C, frozen", 300.0),
    ("−5 °C", 790.0),
    ("−15 °C", 3300.0),
)

# Water by weight [%]; resistivity of top soil, of sandy loam [Ω·m].
BY_WATER: tuple[tuple[float, float, float], ...] = (
    (2.5, 2500.0, 1500.0),
    (5.0, 1650.0, 430.0),
    (10.0, 530.0, 185.0),
    (15.0, 190.0, 105.0),
    (20.0, 120.0, 63.0),
    (30.0, 64.0, 42.0),
)
