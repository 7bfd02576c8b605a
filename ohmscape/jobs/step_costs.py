"""What each step of a run costs, by ``python benchmarks/predictions.py --fit``."""

# What `expected_time.time_of_yardstick` gives on the machine of the costs. [s]
yardstick = 0.00195
# Of one of each amount, named as in `expected_work`. [s]
seconds_for: dict[str, dict[str, float]] = {
    "start": {
        "run": 1.38,
        "survey": 0.908,
    },
    "maps": {
        "points": 2.34e-05,
        "points times near": 5.54e-07,
        "tables": 0.000229,
        "once": 0.0827,
    },
    "worst places": {
        "searches": 0.0438,
        "tables": 0,
        "near": 8.09e-06,
        "once": 0.0144,
    },
    "accuracy": {
        "searches": 0.0351,
        "tables": 0.00057,
        "near": 0,
        "once": 0.00614,
    },
    "verdict": {
        "searches": 0.121,
        "tables": 0,
        "near": 0,
        "once": 0.00343,
    },
    "numbers": {
        "results": 0.0216,
        "points": 5.41e-06,
        "once": 0,
    },
    "volumes": {
        "elements": 8.74e-06,
        "tables": 0.000474,
        "near": 1.55e-05,
        "once": 0.056,
    },
    "mesh": {
        "process": 0.48,
        "elements": 8.33e-06,
        "wires squared": 6.82e-08,
        "wires squared, layers": 8.55e-08,
        "once": 0.00938,
    },
    "solution": {
        "case": 0.00293,
        "process": 0.581,
        "elements": 2.44e-05,
        "elements times planes": 0,
        "elements times more groups": 2.39e-05,
        "line elements": 0,
        "pairs": 0,
        "pairs as wires times images": 4.34e-06,
        "pairs of balls times images": 2.61e-08,
        "once": 0.0173,
    },
    "plans": {
        "pictures": 0.542,
        "points": 2.64e-05,
        "once": 0.927,
    },
    "curves": {
        "pictures": 0.435,
        "once": 0.0633,
    },
    "scene": {
        "pictures": 0.762,
        "elements": 1.36e-05,
        "once": 0.00148,
    },
    "comparison": {
        "once": 0.164,
        "variants": 0.145,
    },
    "report": {
        "once": 4.19,
        "results": 0.255,
        "plans": 0,
    },
}
# The same of memory. [byte]
bytes_for: dict[str, dict[str, float]] = {
    "computing": {
        "process": 2.17e08,
        "elements": 3.33e03,
        "elements kept": 3.2e03,
        "pairs": 235,
        "pairs as wires": 354,
        "wires squared": 87,
    },
    "drawing": {
        "process": 8.53e08,
        "elements": 2.45e03,
        "elements kept": 5.73e03,
        "points": 0,
    },
}
