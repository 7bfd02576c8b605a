"""The small case of the tests of commands: one rod, what is studied left to each."""

WELL_ROD = """
ohmscape: 1
title: Rod by the well
soil: {layers: [{resistivity: 75 ohm*m}]}
electrodes:
  - name: well rod
    drive: {current: 3 A}
    parts: [{kind: rod, at: [0 m, 0 m], top_depth: 0 m, length: 1.8 m, diameter: 14 mm}]
"""
