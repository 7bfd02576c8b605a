"""What each step of a run costs, by ``python -m benchmarks.predictions --fit``."""

# What `expected_time.time_of_yardstick` gives on the machine of the costs. [s]
yardstick = 0.00156
# Of one of each amount, named as in `expected_work` and `expected_drawing`. [s]
seconds_for: dict[str, dict[str, float]] = {
    "mesh": {
        "process": 0.596,
        "elements": 4.74e-06,
        "elements of planes": 7.31e-06,
        "wires squared": 1.09e-07,
        "wires squared, layers": 0,
        "once": 0.03,
    },
    "solution": {
        "case": 0,
        "process": 0.571,
        "elements": 1.63e-05,
        "elements of planes": 8.97e-05,
        "elements times planes": 3.47e-07,
        "elements times more groups": 0,
        "line elements": 0.000143,
        "balls times elements": 1.27e-07,
        "pairs": 0,
        "pairs as wires times images": 3.48e-07,
        "pairs of balls times images": 0,
        "once": 0.0269,
    },
    "maps": {
        "points": 1.16e-05,
        "points times near": 1.21e-09,
        "tables": 0.00132,
        "once": 0,
    },
    "worst places": {
        "searches": 0.0204,
        "tables": 1.9e-05,
        "near": 0,
        "once": 0.0296,
    },
    "accuracy": {
        "searches": 0.00607,
        "tables": 0.00109,
        "near": 0,
        "once": 0.0147,
    },
    "verdict": {
        "searches": 0.0299,
        "tables": 0,
        "near": 0.000465,
        "reaches": 0.193,
        "once": 0.00398,
    },
    "numbers": {
        "results": 0.00373,
        "points": 3.86e-06,
        "once": 0,
    },
    "volumes": {
        "elements": 4.71e-06,
        "tables": 0.000885,
        "near": 1.14e-05,
        "once": 0.0445,
    },
    "start": {
        "run": 1.05,
        "survey": 0,
    },
    "summary": {
        "run": 0.0557,
        "results": 0,
        "drawn": 0.357,
        "chapters": 0,
    },
    "files": {
        "run": 0.000943,
        "results": 0.000379,
        "elements": 1.17e-08,
    },
    "second process": {
        "run": 1.48,
        "elements": 0,
    },
    "further results": {
        "results": 0.0125,
        "elements": 4.28e-08,
    },
    "map pictures": {
        "run": 0.32,
        "pictures": 0,
        "others": 0.338,
        "points": 3.59e-06,
        "pieces": 0.000691,
    },
    "3-D view": {
        "pictures": 0.124,
        "elements": 0,
        "pieces": 0,
    },
    "curves": {
        "run": 0,
        "results": 0.372,
        "pictures": 0.224,
    },
    "comparison": {
        "run": 0.217,
        "results": 0.00689,
    },
    "report pictures": {
        "run": 1.22,
        "results": 0,
        "pictures": 0.0399,
    },
    "maps on paper": {
        "run": 0.058,
        "plans": 0.269,
        "points": 5.39e-06,
        "pieces": 0.00106,
    },
    "live maps": {
        "run": 0,
        "pictures": 0.0255,
        "points": 1.73e-07,
        "pieces": 0,
    },
    "paper": {
        "run": 0.128,
        "results": 0.00591,
        "plans": 0.00291,
    },
    "page": {
        "run": 0.0309,
        "results": 0,
        "points": 7.08e-08,
    },
}
# The same of memory. [byte]
bytes_for: dict[str, dict[str, float]] = {
    "computing": {
        "process": 1.78e08,
        "elements": 4.09e03,
        "elements kept": 0,
        "pairs": 55.8,
    },
    "drawing": {
        "process": 4.52e08,
        "elements": 3.27e03,
        "elements kept": 2.12e03,
        "results": 1.81e08,
        "points": 0,
    },
}
