"""Tables of repair files that several tests begin from; all invented."""

from __future__ import annotations

SKIN_ON_INNER = """
[[part]]
id = "skin"
state = "replace"
[[part]]
id = "inner"
[[joint]]
id = "edge"
layers = ["skin", "inner"]
length = "600 mm"
flange = "20 mm"
remake = { count = 10, adhesive = "G1" }
"""

TIMES_AT_23 = """
[[adhesive.time]]
event = "work"
at = "23 °C"
time = "60 min"
[[adhesive.time]]
event = "handle"
at = "23 °C"
time = "4 h"
[[adhesive.time]]
event = "full"
at = "23 °C"
time = "24 h"
"""
"""Rows of a data sheet, behind the adhesive's own table."""
