"""Judgement: a drive and its readings in; set-to numbers, workings and findings out. Pure: no disk, no clock, no page."""
