"""What to mind about a comparison with field readings."""

compare_cautions = (
    "For a qualified engineer to check; it does not replace the local codes in force, the "
    "authority or licensed practice.",
    "During a system fault test leads and far probe can rise to kilovolts: insulated leads "
    "and gloves, one person in charge with contact to all, no testing in thunder.",
    "Lifting a neutral or bond for a test may energise frames, and full system voltage can "
    "stand between its two ends; treat every buried or bonded conductor as live.",
    "Never energise an electrode for a test without an isolating, current-limited, "
    "residual-current-protected supply, barriers and a second person.",
    "A model that agrees with a resistance is not proven for touch voltage: compare profiles. "
    "A reading lower than the model often means metal that is not in the case; list it before "
    "tuning the soil.",
    "Soil dries, freezes and settles: a calibration holds for the day it was measured, and "
    "contact resistance falls as a fresh rod beds in. Judge by the worst season.",
)

# At the foot of its picture.
picture_cautions = (
    "Calibrated on readings of one day; agreement with readings does not prove a design safe. "
    "Test leads can rise to kilovolts during a system fault. For a qualified engineer to "
    "check; local codes and licensed practice decide."
)
