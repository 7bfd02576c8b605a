"""How large a case may be: numbers checked before any memory is spent on it."""

# Of a file.
LARGEST_FILE = 250_000  # bytes of a case file; longer lists belong in a table (CSV)
DEEPEST_NESTING = 20
LARGEST_TABLE = 5_000_000  # bytes of a CSV table
MOST_VALUES = 60_000  # values, lists and mappings in one case file
LARGEST_DRAWING = 40_000_000  # bytes of a drawing (DXF)
MOST_ENTITIES = 200_000  # of a drawing, its blocks taken apart
LARGEST_MAP = 20_000_000  # bytes of a map (GeoJSON, GeoPackage, shapefile)
LARGEST_PICTURE = 100_000_000  # bytes of a picture of the ground
MOST_PIXELS = 60_000_000  # of it
LARGEST_FAMILY = 20_000_000  # bytes of a table of differences, a row for each case
MOST_FAMILY_ROWS, MOST_FAMILY_COLUMNS = 50_000, 200

# Of a quantity, in SI units.
SHORTEST_LENGTH = 1e-6  # of what must have one; shorter is rounding
LARGEST_LENGTH = 100e3
DEEPEST_METAL = 1e3
WIDEST_SITE = 20e3
THINNEST, THICKEST = 0.1e-3, 5.0
LARGEST_VOLTAGE = 10e6
LARGEST_CURRENT = 1e6

# Of a case.
MOST_LAYERS = 12
MOST_READINGS = 2_000  # of a soil survey, or of meters
MOST_FITTED_LAYERS = 6  # to a survey; more are never supported
MOST_TRAVERSES = 100
MOST_SERIES = 50  # of meter readings
LARGEST_CONTRAST = 1000.0  # between the resistivities of any two layers or bodies
LARGEST_ANISOTROPY = 100.0  # between the resistivities of one layer, upright and sideways
MOST_BODIES = 50
MOST_ELECTRODES = 50
MOST_VARIANTS = 20
MOST_CONDITIONS = 60  # solved in one run: variants, and variants in others
MOST_DEVICES = 50  # that protect
MOST_CHOICES = 20  # of a design
MOST_INPUTS = 20  # that are not known
MOST_DRAWS = 100_000
MOST_OPTIONS = 100  # of one choice
MOST_RULES = 200
MOST_DESIGNS = 100_000  # that choices make
MOST_PARTS = 2_000
MOST_UNDERLAID = 20_000  # straight pieces of a drawing under the maps
MOST_SELECTED = 200  # layers, colours or blocks of a drawing for one part
MOST_DRAWN_OUTLINES = 200
MOST_LEADS = 200  # to electrodes, or between places of metal
MOST_PLACES = 200  # of metal, by name
MOST_JOINTS = 200  # of metal that are not sound
MOST_LEVELS = 20  # whose outlines are wanted, and electrodes of others
MOST_PATHS = 200  # of a fault circuit
MOST_SPANS = 10_000  # of one ladder
MOST_LIMITS = 20
MOST_SURFACES = 50  # thin layers that lie on the ground
MOST_EXPOSURES = 200
MOST_POINTS = 5_000  # of one list of points
MOST_OUTLINE_POINTS = 200
MOST_MESHES = 1_000  # along one side of a grid
MOST_PIECES = 50_000  # straight pieces of metal
MOST_PLATES = 100  # faces of plates and piles
MOST_MAP_POINTS = 10_000_000
MOST_PROFILE_POINTS = 1_000_000
MOST_ELEMENTS = 50_000_000
MOST_NEIGHBOURS = 2_000_000  # pairs of pieces in one place, about a third of all looked at
THICKEST_FILM = 0.02  # m, on a body; what is thicker is a body of its own
