"""What each step of a run costs, by ``python -m benchmarks.predictions --fit``."""

# What `expected_time.time_of_yardstick` gives on the machine of the costs. [s]
yardstick = 0.0016
# Of one of each amount, named as in `expected_work` and `expected_drawing`. [s]
seconds_for: dict[str, dict[str, float]] = {
    "mesh": {
        "process": 0.554,
        "elements": 4.64e-06,
        "elements of planes": 7.93e-06,
        "wires squared": 3.01e-08,
        "wires squared, layers": 9.09e-08,
        "once": 0.0403,
    },
    "solution": {
        "case": 0.0167,
        "process": 0.404,
        "elements": 1.21e-05,
        "elements of planes": 9.96e-05,
        "elements times planes": 2.14e-06,
        "elements times more groups": 1.03e-05,
        "line elements": 0.000168,
        "heads": 0,
        "balls times elements": 6.25e-08,
        "pairs": 0,
        "pairs as wires times images": 3.31e-07,
        "pairs of balls times images": 0,
        "once": 0.0393,
    },
    "maps": {
        "points": 8.99e-06,
        "points times near": 3.75e-09,
        "heads": 0.00352,
        "tables": 0.000228,
        "once": 0.0112,
    },
    "worst places": {
        "searches": 0.0158,
        "tables": 2.29e-05,
        "near": 1.12e-05,
        "heads": 0.000224,
        "once": 0.0139,
    },
    "accuracy": {
        "searches": 0.0158,
        "tables": 0.000181,
        "near": 9.28e-06,
        "heads": 0.000514,
        "once": 0.0112,
    },
    "verdict": {
        "searches": 0.0352,
        "tables": 0.000177,
        "near": 2.23e-05,
        "heads": 0.00255,
        "reaches": 0.0822,
        "once": 0.00571,
    },
    "numbers": {
        "results": 0.0114,
        "points": 3.25e-06,
        "once": 0,
    },
    "volumes": {
        "elements": 5.43e-06,
        "tables": 0.000439,
        "near": 3.62e-06,
        "once": 0.0487,
    },
    "start": {
        "run": 0.858,
        "survey": 0.727,
    },
    "summary": {
        "run": 0.0256,
        "results": 0,
        "drawn": 0.227,
        "chapters": 0,
    },
    "files": {
        "run": 0.000766,
        "results": 0,
        "elements": 5.38e-08,
    },
    "shares of the soil": {
        "changed": 0,
        "elements": 3.31e-06,
        "pairs as wires times images": 8.85e-07,
        "balls times elements": 2.59e-07,
        "once": 0.0122,
    },
    "solved feet": {
        "feet": 0.01,
        "elements times feet": 5.0e-06,
        "once": 0.0,
    },
    "second process": {
        "run": 1.12,
        "elements": 0,
    },
    "further results": {
        "results": 0.0103,
        "elements": 5.92e-08,
    },
    "map pictures": {
        "run": 0.028,
        "pictures": 0.0481,
        "others": 0.0362,
        "points": 0,
        "pieces": 0.000303,
        "points of steps": 1.72e-06,
        "points of steps times near": 0,
        "heads": 0.00991,
    },
    "3-D view": {
        "pictures": 0.0782,
        "elements": 6.08e-07,
        "pieces": 0.000166,
    },
    "curves": {
        "profiles": 0.159,
        "sections": 0.568,
        "soundings": 0.0181,
        "deciding": 0.863,
    },
    "comparison": {
        "run": 0.152,
        "results": 0.0202,
    },
    "report pictures": {
        "run": 0.997,
        "profiles": 0.233,
        "compared": 0.135,
        "soundings": 0.244,
        "deciding": 1.14,
    },
    "maps on paper": {
        "run": 0.657,
        "plans": 0.1,
        "points": 7.69e-07,
        "points of steps": 0,
        "points of steps times near": 1.32e-09,
        "heads": 0.00468,
        "pieces": 0.000604,
    },
    "live maps": {
        "run": 0,
        "pictures": 0.0038,
        "points": 1.27e-07,
        "pieces": 3.98e-05,
    },
    "paper": {
        "run": 0.116,
        "results": 0.00319,
        "plans": 0.00486,
    },
    "page": {
        "run": 0.0166,
        "results": 0.00821,
        "points": 5.43e-08,
    },
}
# The same of memory. [byte]
bytes_for: dict[str, dict[str, float]] = {
    "computing": {
        "process": 1.76e08,
        "elements": 4.4e03,
        "elements kept": 3.33e03,
        "pairs": 47.1,
    },
    "drawing": {
        "process": 7.37e08,
        "elements": 4.07e03,
        "elements kept": 578,
        "results": 2.09e07,
        "points": 519,
    },
}
