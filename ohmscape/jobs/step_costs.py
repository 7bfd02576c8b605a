"""What each step of a run costs, by ``python -m benchmarks.predictions --fit``."""

# What `expected_time.time_of_yardstick` gives on the machine of the costs. [s]
yardstick = 0.00163
# Of one of each amount, named as in `expected_work` and `expected_drawing`. [s]
seconds_for: dict[str, dict[str, float]] = {
    "mesh": {
        "process": 0.389,
        "elements": 5.68e-06,
        "elements of planes": 1.94e-05,
        "wires squared": 0,
        "wires squared, layers": 1.3e-07,
        "once": 0.0168,
    },
    "solution": {
        "case": 0.00726,
        "process": 0.467,
        "elements": 1.55e-05,
        "elements of planes": 5.48e-05,
        "elements times planes": 6.77e-07,
        "elements times more groups": 0,
        "line elements": 0.000236,
        "balls times elements": 1.98e-07,
        "pairs": 7.15e-07,
        "pairs as wires times images": 0,
        "pairs of balls times images": 0,
        "once": 0.0211,
    },
    "maps": {
        "points": 2.2e-05,
        "points times near": 1.96e-08,
        "tables": 0.000937,
        "once": 0,
    },
    "worst places": {
        "searches": 0.0243,
        "tables": 1.22e-05,
        "near": 2.9e-06,
        "once": 0.00678,
    },
    "accuracy": {
        "searches": 0.0143,
        "tables": 0.000974,
        "near": 8.12e-06,
        "once": 0.00265,
    },
    "start": {
        "run": 1.32,
        "survey": 0.8,
    },
    "summary": {
        "run": 0.088,
        "results": 0,
        "drawn": 0.341,
        "chapters": 0.0321,
    },
    "files": {
        "run": 0.00069,
        "results": 2.76e-05,
        "elements": 7.93e-09,
    },
    "verdict": {
        "searches": 0.0672,
        "tables": 0,
        "near": 4.7e-05,
        "reaches": 0.389,
        "once": 0.011,
    },
    "second process": {
        "run": 1.4,
        "elements": 0,
    },
    "further results": {
        "results": 0.0103,
        "elements": 1.48e-07,
    },
    "map pictures": {
        "run": 0,
        "pictures": 0,
        "others": 0.395,
        "points": 8.31e-06,
        "pieces": 0.00182,
    },
    "3-D view": {
        "pictures": 0.719,
        "elements": 0,
        "pieces": 0.000639,
    },
    "curves": {
        "run": 0,
        "results": 1.06,
        "pictures": 0.184,
    },
    "comparison": {
        "run": 0.201,
        "results": 0.0596,
    },
    "report pictures": {
        "run": 1.15,
        "results": 0.0938,
        "pictures": 0.0915,
    },
    "maps on paper": {
        "run": 1.87,
        "plans": 0,
        "points": 1.81e-05,
        "pieces": 0.00295,
    },
    "live maps": {
        "run": 0,
        "pictures": 0.0203,
        "points": 0,
        "pieces": 0.000351,
    },
    "paper": {
        "run": 0.531,
        "results": 0.0973,
        "plans": 0.0514,
    },
    "page": {
        "run": 0.02,
        "results": 0.00776,
        "points": 2.66e-08,
    },
    "numbers": {
        "results": 0,
        "points": 6.52e-06,
        "once": 0,
    },
    "volumes": {
        "elements": 5.86e-06,
        "tables": 0,
        "near": 1.99e-05,
        "once": 0.0612,
    },
}
# The same of memory. [byte]
bytes_for: dict[str, dict[str, float]] = {
    "computing": {
        "process": 1.78e08,
        "elements": 5.38e03,
        "elements kept": 0,
        "pairs": 444,
    },
    "drawing": {
        "process": 8.73e08,
        "elements": 4.64e03,
        "elements kept": 1.92e03,
        "results": 2.54e07,
        "points": 662,
    },
}
