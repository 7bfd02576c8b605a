"""What to mind about predicted earth tests."""

earth_test_cautions = (
    "Predicted by a model, for planning a test and for explaining one: no measurement. Noise, "
    "coupling of leads laid side by side, and metal that is not in the case are not in it.",
    "For qualified people to check and to carry out; local codes and licensed practice decide.",
    "During a fault of the system test leads and far probes can rise to kilovolts: insulated "
    "leads, gloves and mats, one person in charge, contact by radio; stop in thunder.",
    "Treat every conductor as live until tested. Lifting a neutral, ground or bond to test one "
    "electrode can put full system voltage between its two ends and on frames.",
    "Look for buried services before driving probes; keep people and animals away from them.",
    "Soil dries, freezes and gets salted: a value of one day is not that of the worst season.",
    "A true resistance, measured or predicted, says little about touch and step voltages.",
)

# At the foot of their pictures.
picture_cautions = (
    "Predicted by a model: no measurement. Leads and probes can rise to kilovolts during a "
    "fault of the system; lifting a neutral or bond can put full voltage between its ends. "
    "For qualified people to check and to carry out; local codes and licensed practice decide."
)
