"""A fence alone, of posts joined by a rail, as a case file."""

FENCE = """
ohmscape: 1
title: Fence
soil: {layers: [{resistivity: 100 ohm*m}]}
system: {frequency: 50 Hz}
electrodes:
  - name: fence
    drive: {current: 10 A}
    fed_at: [0 m, 0 m]
    parts:
      - kind: fence
        name: south fence
        points: [[0 m, 0 m], [20 m, 0 m], [20 m, 12 m]]
        spacing: 3 m
        footing: 0.7 m
        diameter: 48 mm
        material: zinc-coated steel rod
        rail: {height: 1.6 m, diameter: 42 mm}
"""
