"""What each step of a run costs, by ``python -m benchmarks.predictions --fit``."""

# What `expected_time.time_of_yardstick` gives on the machine of the costs. [s]
yardstick = 0.00157
# Of one of each amount, named as in `expected_work` and `expected_drawing`. [s]
seconds_for: dict[str, dict[str, float]] = {
    "mesh": {
        "process": 0.274,
        "elements": 4.73e-06,
        "elements of planes": 9.19e-06,
        "wires squared": 7.55e-08,
        "wires squared, layers": 6.48e-08,
        "once": 0.0196,
    },
    "solution": {
        "case": 0.0131,
        "process": 0.325,
        "elements": 1.39e-05,
        "elements of planes": 7.06e-05,
        "elements times planes": 2.63e-06,
        "elements times more groups": 2.11e-05,
        "line elements": 0.000149,
        "heads": 0.00235,
        "balls times elements": 5.22e-08,
        "pairs": 0,
        "pairs as wires times images": 3.02e-07,
        "pairs of balls times images": 6.8e-09,
        "once": 0.0128,
    },
    "maps": {
        "points": 9.2e-06,
        "points times near": 3.47e-09,
        "heads": 0.00716,
        "tables": 0.000298,
        "once": 0.00554,
    },
    "worst places": {
        "searches": 0.0187,
        "tables": 4.59e-05,
        "near": 1.33e-05,
        "heads": 0.000663,
        "once": 0.0167,
    },
    "accuracy": {
        "searches": 0.00685,
        "tables": 0.000192,
        "near": 7.68e-06,
        "heads": 0.000364,
        "once": 0.00792,
    },
    "verdict": {
        "searches": 0.0381,
        "tables": 0.00034,
        "near": 0.000129,
        "heads": 0,
        "reaches": 0.103,
        "once": 0.00418,
    },
    "numbers": {
        "results": 0.0143,
        "points": 3.17e-06,
        "once": 0,
    },
    "volumes": {
        "elements": 4.58e-06,
        "tables": 0.000335,
        "near": 1.15e-05,
        "once": 0.046,
    },
    "start": {
        "run": 0.856,
        "survey": 0.754,
    },
    "summary": {
        "run": 0.0526,
        "results": 0.00193,
        "drawn": 0.168,
        "chapters": 0.0304,
    },
    "files": {
        "run": 0.00123,
        "results": 0,
        "elements": 2.17e-08,
    },
    "shares of the soil": {
        "changed": 0,
        "elements": 3.6e-06,
        "pairs as wires times images": 9.58e-07,
        "balls times elements": 2.3e-07,
        "once": 0,
    },
    "second process": {
        "run": 1.21,
        "elements": 1.15e-06,
    },
    "further results": {
        "results": 0.00995,
        "elements": 4.27e-07,
    },
    "map pictures": {
        "run": 0,
        "pictures": 0.117,
        "others": 0.179,
        "points": 0,
        "pieces": 0.000839,
        "points of steps": 0,
        "points of steps times near": 0,
        "heads": 0.0227,
    },
    "3-D view": {
        "pictures": 0.166,
        "elements": 0,
        "pieces": 0.00156,
    },
    "curves": {
        "profiles": 0.171,
        "sections": 0.687,
        "soundings": 1.32,
        "deciding": 0.848,
    },
    "comparison": {
        "run": 0.245,
        "results": 0.00453,
    },
    "report pictures": {
        "run": 1.34,
        "profiles": 0.229,
        "compared": 0,
        "soundings": 0.761,
        "deciding": 1.47,
    },
    "maps on paper": {
        "run": 0.8,
        "plans": 0.173,
        "points": 0,
        "points of steps": 0,
        "points of steps times near": 0,
        "heads": 0.0378,
        "pieces": 0.00107,
    },
    "live maps": {
        "run": 0.0387,
        "pictures": 0.00897,
        "points": 1.19e-06,
        "pieces": 0.000206,
    },
    "paper": {
        "run": 0.0275,
        "results": 0.029,
        "plans": 0.0125,
    },
    "page": {
        "run": 0.0384,
        "results": 0,
        "points": 4.52e-08,
    },
}
# The same of memory. [byte]
bytes_for: dict[str, dict[str, float]] = {
    "computing": {
        "process": 1.7e08,
        "elements": 4.1e03,
        "elements kept": 3.26e03,
        "pairs": 516,
    },
    "drawing": {
        "process": 1.01e09,
        "elements": 0,
        "elements kept": 5.03e03,
        "results": 3.77e06,
        "points": 354,
    },
}
