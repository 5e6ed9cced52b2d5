"""Judgement: a drive and its readings in; set-to numbers, workings, findings out. No disk, no clock, no page."""
