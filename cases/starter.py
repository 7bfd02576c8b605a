"""Text of a first case file, commented, to be changed line by line."""

STARTER = """\
# yaml-language-server: $schema=ohmscape-schema.json
# Editors that know this line complete and check while you type, once you have run
# `ohmscape schema > ohmscape-schema.json` beside this file.
#
# A case of ohmscape. Change it line by line; `check` says what it makes of it.
# Every dimensional value is text with a unit, SI or US: 3 m, 8 ft, 5/8 in, 4/0 AWG,
# 120 ohm*m, 95 ohm*ft, 400 A, 11 kV, 15 deg. Write decimal points, not commas.
#
# Never energise an electrode to try this out or to test it without an isolating,
# current-limited, residual-current-protected supply, barriers beyond the step-voltage
# radius and a second person, nor with animals or bare feet in the area.
ohmscape: 1
title: My first electrode
units: SI                       # of printed output: SI or US
# north: 15 deg                 # true north, clockwise from the y axis, where it is known

soil:
  layers:                       # from the surface down; the last one has no thickness
    - resistivity: 200 ohm*m    # measure it: nothing matters more
      thickness: 2 m
    - resistivity: 70 ohm*m

electrodes:                     # one entry for each potential
  - name: main electrode
    drive:
      current: 100 A            # into the soil; or `voltage: 230 V`, or `floating: true`
    parts:
      # Other kinds: rod, conductor, loop, grid, star, rod table, conductor table.
      - kind: ring
        name: ring
        centre: [0 m, 0 m]
        ring_radius: 3 m
        depth: 0.6 m
        diameter: 8 mm          # or `strip: [30 mm, 3 mm]`, or `stranded: {...}`
      - kind: rods
        name: rods
        along: {part: ring, count: 4}
        length: 2.5 m
        diameter: 16 mm

study:
  area:
    margin: 10 m                # strip around the metal that is mapped
  profiles:
    - name: outwards
      start: [0 m, 0 m]
      end: [15 m, 0 m]
  pace: 1 m                     # for step voltage
  reach: 1 m                    # for touch voltage
  touch:
    - name: cabinet             # metal above ground that a person can touch
      electrode: main electrode
      body: [[-1 m, -1 m], [1 m, -1 m], [1 m, 1 m], [-1 m, 1 m]]
"""


def starter_case() -> str:
    """Text of a commented case file that loads as it stands."""
    return STARTER
