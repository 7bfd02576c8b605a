"""Coverage of the error that a run states, over cases drawn at random.

References are integral equations of this package alone: tubes with true faces and flat ends
(`tubes`) and bodies of revolution in fill (`filled_rod`), in layers by numerical Hankel
integrals (`layered_ground`). They share with the finite elements what metal and soil are, as a
case file gives them, and nothing of how a field is found.
"""
