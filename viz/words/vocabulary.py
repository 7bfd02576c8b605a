"""The trade's words, as IEC standards and the United Kingdom have them and as the US has."""

# key: (earth terms, ground terms)
terms: dict[str, tuple[str, str]] = {
    "electrode": ("earth electrode", "ground electrode"),
    "rod": ("earth rod", "ground rod"),
    "a rod": ("an earth rod", "a ground rod"),
    "system": ("earthing system", "grounding system"),
    "resistance": ("resistance to earth", "ground resistance"),
    "rise": ("earth potential rise", "ground potential rise"),
    "current": ("current to earth", "grid current"),
    "earth current": ("earth current", "ground current"),
    "split": ("share of the current to earth", "current division (split) factor"),
    "remote": ("reference earth", "remote earth"),
    "permissible": ("permissible", "tolerable"),
    "body": ("body impedance", "body resistance"),
    "rock": ("chippings", "crushed rock"),
    "clearing": ("fault duration", "fault clearing time"),
    "path": ("earth-fault loop", "effective ground-fault current path"),
}
