"""Permissible touch voltage and body current by duration: the tables of EN 50522:2010.

IEC 61936-1 prints the same curve. From memory, partly confirmed: the body current rebuilds
the touch voltage to 1 V at six durations of eight (`en_50522.rebuilt_touch_voltage`). At 0.1 s
and 0.2 s 750 mA and 600 mA rebuild to 613 V and 510 V, not 654 V and 537 V: one of each pair is
misremembered. The lower one is used everywhere; a case may give the table of its edition.
"""

# Fault duration [s], body current (curve c2 of IEC 60479-1) [A], touch voltage [V].
TOUCH_POINTS: tuple[tuple[float, float, float], ...] = (
    (0.05, 0.900, 716.0),
    (0.10, 0.750, 654.0),
    (0.20, 0.600, 537.0),
    (0.50, 0.200, 220.0),
    (1.00, 0.080, 117.0),
    (2.00, 0.060, 96.0),
    (5.00, 0.051, 86.0),
    (10.0, 0.050, 85.0),
)

LONG_TOUCH_VOLTAGE = 80.0  # V beyond 10 s, often quoted (from memory)
