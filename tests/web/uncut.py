"""A repair of which nothing is cut yet, and one on which much was measured; all invented."""

from __future__ import annotations

OLD_PANEL = (
    """
format = 1
[repair]
name = "old-panel"
[[part]]
id = "outer"
name = "outer panel"
state = "replace"
"""
    + "".join(
        f'[[point]]\nid = "{name}"\nxyz = {xyz}\nu = 0\n'
        for name, xyz in {
            "B1": [2000, 700, 500],
            "B2": [4200, -500, 600],
            "B3": [2200, -300, 1700],
            "B4": [4000, 720, 1600],
        }.items()
    )
    + "".join(
        f'[[point]]\nid = "{name}"\non = "outer"\nxyz = {xyz}\nhome = "before"\ntolerance = 4\n'
        for name, xyz in {
            "P1": [2600, -850, 500],
            "P2": [4100, -850, 550],
            "P3": [3300, -800, 1500],
        }.items()
    )
)

MEASURED = OLD_PANEL + "".join(
    f'[[reading]]\nfrom = "B1"\nto = "B2"\nvalue = "{value} mm"\nwhen = "before"\nwith = "tape"\n'
    for value in (2508, 2504, 2512, 2501, 2510)
)
MEASURED += """
[[sister]]
point = "P1"
xyz = [2600, -850, 500]
vehicle = "the one in bay 2"
[[adjuster]]
name = "upside down"
part = "outer"
xyz = [2600, -850, 500]
along = [1, 0, 1]
range = ["3 mm", "-3 mm"]
"""
"""With repeats that teach the tape, a sister vehicle, and an adjuster that cannot be set."""
