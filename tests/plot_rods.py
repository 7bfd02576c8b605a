"""The small template of the tests of batches: a rod on many plots, in two seasons."""

TEMPLATE = """\
ohmscape: 1
title: A rod on many plots
soil: {layers: [{resistivity: 120 ohm*m, thickness: 2 m}, {resistivity: 70 ohm*m}]}
variants:
  - {name: dry, soil: {layers: [{resistivity: 300 ohm*m}]}}
electrodes:
  - name: plot earth
    drive: {current: 4 A}
    parts:
      - {kind: rod, name: rod, at: [0 m, 0 m], top_depth: 0 m, length: 1.5 m, diameter: 16 mm}
study:
  area: {margin: 2 m, spacing: 0.5 m}
  touch:
    - {name: post, electrode: plot earth, body: [[-0.1 m, -0.1 m], [0.1 m, -0.1 m],
       [0.1 m, 0.1 m], [-0.1 m, 0.1 m]]}
safety:
  duration: 0.4 s
  limits: [{name: adults, ieee_80: {body: 50 kg}}]
  exposures: [{name: at the post, touch: post, limit: adults}]
numerics: {accuracy: coarse, second_opinion: never}
"""
