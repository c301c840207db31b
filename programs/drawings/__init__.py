"""The desk's drawings, made on the server as SVG text: pure functions from plain values to one `<svg>`
element.

Nothing here knows a database, a template or a language: every word and every formatted number comes from the
caller, who also says in `title` what the drawing says. What comes back is escaped and may be marked safe as
it is.
"""
