"""Case files: their schema, their units, and the straight pieces of metal they describe.

`loading.load_case` is the door: text with units goes in, a frozen `case.Case` in SI
units comes out. From the outside in: `documents` reads text and remembers lines,
`references` looks at names, `schema` at keys and values, `builders`, `grids`, `layouts`
and `tables` make straight pieces, `geometry` refuses what metal cannot do, `joints`
splits pieces where they meet, `assembly` does these in turn.
"""
