"""The honesty study of the fit room: whether what it says holds as often as it says.

A simulator of its own makes repairs whose truth it knows; the package is only handed the repair
file and asked for its published answer.
"""
