"""Beltwright: V-belt drives for the people who keep them turning.

    mechanics   what physics and the published methods say: numbers in, numbers out, SI
    tables      the published tables, each with its source
    plant       what a plant owns and notes: drives, readings, jobs
    bench       judgement: set-to numbers, findings, workings
    desk        what a person does, one plain function each
    book        the plant's record on disk
    paper       job card, labels, drawings
    web, cli    the two faces

Importing this package loads none of them.
"""

__version__ = "0.1.0"
