"""A case that answers while it is edited: a local page, and what stands behind it.

`document` is the case with its steps back and forth, `journal` keeps them until they are saved,
`bench` works in processes of their own, which `workers` starts and ends, `session` joins these
for all tabs, `guard` and `server` let nobody else in.
"""
