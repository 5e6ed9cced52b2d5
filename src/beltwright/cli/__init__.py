"""The command line: parse what was typed, call the desk, show the answer. No formula, no rounding, no SQL.

One file per group of commands; `line` finds them and says errors, `screen` and `table` set text like a printed page.
Whatever takes time to load is imported inside the command that needs it.
"""
