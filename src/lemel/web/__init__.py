"""The pages: the drawer, the furnace, the mill, the books; for a desk and for a phone.

Comes in: a browser's request and the open `Book`. Goes out: HTML, SVG, PDF. May ask: `book`, `plan`,
`cards`, `sketch`, `words` and below; never `api`, which says the same things to programs.
"""
