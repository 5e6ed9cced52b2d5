"""What readings say of a drive: one list, most urgent first, with what to do, how sure, and the readings behind it.

`judge` is the way in. Every topic has a file of its own; a topic takes a `Case` (one drive, what is fitted, what was
noted) and gives findings. How urgency is decided stands in docs/method/findings.md. No disk, no clock, no page.
"""
