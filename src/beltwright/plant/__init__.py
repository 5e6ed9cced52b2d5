"""What a plant owns and notes: frozen records, no SQL, no HTML, no formulas.

Numbers are SI. A record that a person typed keeps, beside them, what was typed (`typed`, by field name).
"""
