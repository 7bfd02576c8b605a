"""Curves, readings and rods from outside; no value here was made by this project.

"Computed independently" means image series or Hankel integrals that agreed with general
geophysics libraries, and for rods a boundary integral of the true metal surface.
"""

# Wenner, two layers: apparent resistivity over that of the first, computed independently.
# For K = 1 and a / h = 10 it is 20 ln 2.
RATIO_SPACINGS = (0.2, 0.5, 1.0, 2.0, 3.0, 5.0, 10.0)  # a / h
RATIO_CURVES = {
    -1.0: (0.99480, 0.93294, 0.68331, 0.22900, 0.06036, 0.00342, 0.00000),
    -0.9: (0.99528, 0.93901, 0.71083, 0.28805, 0.12364, 0.06101, 0.05363),
    -0.8: (0.99576, 0.94520, 0.73910, 0.35022, 0.19184, 0.12459, 0.11318),
    -0.6: (0.99676, 0.95797, 0.79814, 0.48496, 0.34518, 0.27331, 0.25439),
    -0.4: (0.99779, 0.97130, 0.86088, 0.63575, 0.52568, 0.45870, 0.43502),
    -0.2: (0.99887, 0.98527, 0.92792, 0.80594, 0.74056, 0.69413, 0.67329),
    0.2: (1.00119, 1.01562, 1.07818, 1.22428, 1.31897, 1.40901, 1.47110),
    0.4: (1.00245, 1.03232, 1.16394, 1.48823, 1.72095, 1.97748, 2.19846),
    0.6: (1.00380, 1.05042, 1.25962, 1.80722, 2.24620, 2.81303, 3.43959),
    0.8: (1.00528, 1.07047, 1.36940, 2.21029, 2.97570, 4.16143, 5.94522),
    0.9: (1.00610, 1.08156, 1.43225, 2.46273, 3.47432, 5.22493, 8.44946),
    1.0: (1.00699, 1.09388, 1.50446, 2.77992, 4.15927, 6.93147, 13.86294),
}

# Wenner curves computed independently: resistivity [Ω·m], thickness [m], values [Ω·m].
CURVE_SPACINGS = (0.5, 1.0, 2.0, 3.0, 5.0, 10.0, 20.0, 50.0)  # [m]
CURVES = (
    (
        (100.0, 500.0),
        (2.0,),
        (100.820, 105.685, 129.434, 161.502, 221.268, 318.552, 406.564, 473.978),
    ),
    (
        (300.0, 50.0),
        (1.5,),
        (295.044, 269.859, 186.577, 121.852, 69.2697, 52.3640, 50.4972, 50.0770),
    ),
    (
        (200.0, 40.0, 800.0),
        (1.0, 5.0),
        (190.757, 155.818, 89.1815, 62.7844, 59.5264, 96.0051, 171.973, 336.029),
    ),
    (
        (50.0, 250.0, 20.0),
        (1.5, 6.0),
        (50.920, 55.794, 74.390, 93.589, 118.868, 124.658, 74.024, 24.113),
    ),
)

# Wenner soundings from the literature: spacing [m], apparent resistivity [Ω·m]. Fits beside
# them were computed independently (general least squares over an image series or a Hankel
# transform): resistivity, thickness, root mean square misfit.

# Data from memory, confirmed by the published fit (ii).
ALAMO = (
    (2.5, 5.0, 7.5, 10.0, 12.5, 15.0),
    (320.0, 245.0, 182.0, 162.0, 168.0, 152.0),
)
# (i) J. L. del Alamo, IEEE Trans. Power Delivery 8(4), 1993, 1890-1899; (ii) the literature
# on genetic algorithms for the same data. Both from memory.
ALAMO_PUBLISHED = (((383.498, 147.657), (2.563,)), ((364.67, 143.56), (2.827,)))
ALAMO_FITS = {
    "absolute": ((364.68, 143.63), (2.828,)),
    "relative": ((372.73, 145.26), (2.690,)),
}
ALAMO_MISFIT = 0.036

# "Soil type 1" of IEEE Std 80-2000 clause 13.4 and annex E: readings read in an earthing design
# sheet that repeats them, the model 100 over 300 Ω·m at 20 ft from memory. The first two
# readings, 56.98 at 0.31 m and 88.15 at 0.92 m, suffer from the depth of the probes and are
# left out.
IEEE_80_TYPE_1 = (
    (1.52, 4.57, 6.10, 9.15, 15.24, 21.34, 27.44, 33.54, 39.63, 45.73),
    (95.48, 110.64, 120.71, 143.11, 182.01, 209.21, 227.60, 242.36, 251.55, 258.64),
)
IEEE_80_MODEL = ((100.0, 300.0), (6.096,))
IEEE_80_MODEL_MISFIT = 0.0172
IEEE_80_FIT = ((95.57, 295.38), (5.573,))
IEEE_80_MISFIT = 0.0063

# A worked example of Pirson's graph method: data and graph model read in a scanned course
# book. The fit is equivalent to a thin layer: only its resistivity times thickness is known.
PIRSON = (
    (1.0, 2.0, 4.0, 8.0, 16.0, 32.0),
    (11938.0, 15770.0, 17341.0, 11058.0, 5026.0, 3820.0),
)
PIRSON_GRAPH_MODEL = ((8300.0, 42003.0, 3062.0), (0.8, 3.7))
PIRSON_GRAPH_WORST = (8.0, 0.67)  # spacing, relative difference from the data
PIRSON_FIRST, PIRSON_LAST, PIRSON_PRODUCT = 9946.0, 3663.0, 7.5e4
PIRSON_MISFIT = 0.0028

# G. Kindermann, J. M. Campagnolo, "Aterramento Elétrico": from memory, not confirmed.
KINDERMANN = (
    (1.0, 2.0, 4.0, 6.0, 8.0, 16.0, 22.0, 32.0),
    (996.0, 974.0, 858.0, 696.0, 549.0, 361.0, 276.0, 230.0),
)
KINDERMANN_FITS = {
    "absolute": ((998.9, 249.2), (4.75,)),
    "relative": ((972.8, 233.9), (5.20,)),
}
KINDERMANN_MISFIT = 0.056

# Two lines of a substation manual of a utility (table B-3), read there: resistances and
# printed apparent resistivities of a site that is nearly uniform.
MANUAL_SPACINGS = (1.0, 1.5, 2.0, 3.0, 4.5, 6.0, 9.0, 13.5)
MANUAL_LINES = (
    (
        (21.1, 14.43, 10.96, 6.52, 4.55, 3.37, 2.48, 1.609),
        (132.59, 136.02, 137.75, 122.92, 128.66, 127.06, 140.26, 136.50),
    ),
    (
        (20.0, 13.96, 10.07, 7.27, 4.59, 3.4, 2.3, 1.593),
        (125.66, 131.57, 126.54, 137.04, 129.78, 128.18, 130.06, 135.12),
    ),
)

# A field of 220 Ω·m, 1.2 m, over 60 Ω·m, 5 m, over 900 Ω·m with 4 % of noise; all fits computed
# independently. Fitted to the spacings up to 4.5 m two layers look excellent.
FIELD = (
    (0.5, 1.0, 1.5, 2.0, 3.0, 4.5, 7.0, 10.0, 15.0, 20.0, 30.0),
    (215.0, 193.0, 157.0, 126.0, 97.0, 85.0, 105.0, 144.0, 187.0, 233.0, 327.0),
)
FIELD_FIT, FIELD_MISFIT = ((222.0, 55.0, 827.0), (1.20, 4.4)), 0.021
FIELD_SIGMA = {"second resistivity": 0.13, "second thickness": 0.17, "last resistivity": 0.15}
FIELD_TWO_LAYERS_MISFIT = 0.27
SHORT_FIT, SHORT_MISFIT = ((226.0, 75.0), (1.02,)), 0.016

# Vertical rods, boundary integral computed independently:
# resistivity [Ω·m], thickness [m], length [m], radius [m], resistance [Ω].
RODS = (
    ((100.0,), (), 2.4384, 0.0079375, 39.518),
    ((100.0,), (), 3.0, 0.008, 33.1936),
    ((100.0,), (), 6.096, 0.0079375, 18.2305),
    ((100.0, 500.0), (5.0,), 3.0, 0.008, 36.871),
    ((100.0, 20.0), (5.0,), 3.0, 0.008, 31.412),
    ((300.0, 50.0), (3.0,), 2.4384, 0.0079375, 108.044),
    ((50.0, 1000.0), (4.0,), 3.0, 0.008, 21.556),
    ((300.0, 50.0), (1.5,), 3.0, 0.008, 25.985),
    ((100.0, 500.0), (1.0,), 3.0, 0.008, 80.500),
    ((400.0, 100.0), (2.0,), 6.0, 0.008, 23.586),
    ((50.0, 1000.0), (1.0,), 3.0, 0.008, 59.027),
)
