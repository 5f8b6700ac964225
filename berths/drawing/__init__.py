"""Drawings of a boat in her berth: one place makes them for page, card and PDF.

A drawing is a function from the Scenario and the Verdict to a list of shapes in metres; `svg.to_svg` turns
the shapes into markup, `describe` says the same in sentences. Nothing here computes a length or a tension.
"""
