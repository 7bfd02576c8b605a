"""The small case of the tests of commands: one rod, what is studied left to each.

`JUDGED` goes behind a study that has the touchable metal 'head'.
"""

WELL_ROD = """
ohmscape: 1
title: Rod by the well
soil: {layers: [{resistivity: 75 ohm*m}]}
electrodes:
  - name: well rod
    drive: {current: 3 A}
    parts: [{kind: rod, at: [0 m, 0 m], top_depth: 0 m, length: 1.8 m, diameter: 14 mm}]
"""

JUDGED = """\
safety:
  duration: 0.5 s
  under_feet: 100 ohm*m
  limits: [{name: 50 kg, ieee_80: {body: 50 kg}}]
  exposures:
    - {name: at the head, touch: head, limit: 50 kg}
    - {name: walking, step: anywhere, limit: 50 kg}
  step_outline: 7 V
numerics: {accuracy: coarse, second_opinion: never}
"""
