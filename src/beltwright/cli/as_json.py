"""Answers as JSON on the screen; their content is `paper.as_json`, which the web's answers share."""

from __future__ import annotations

from beltwright.paper.as_json import card_content, figure_content, named, printed, summary

__all__ = ["card_content", "figure_content", "named", "printed", "summary"]
