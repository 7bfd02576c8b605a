"""A case that is edited: `document` has its steps, `journal` keeps them until they are saved."""
