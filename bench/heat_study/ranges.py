"""What varies in the simulated heatings, over what range, and from where; none from the model."""

from __future__ import annotations

TEXT = """
bare metal takes up of the lamp
mill finish 0.10 to 0.25 or abraded 0.20 to 0.35; gives off 0.05 to 0.12 or 0.10 to 0.28
reflectances at 1 to 1.3 µm from memory; emissivities of thermal camera makers' tables

oxidised metal
0.20 to 0.40; gives off 0.20 to 0.30
the same tables

primer, e-coat
short wave 0.40 to 0.80 or medium wave 0.70 to 0.90; gives off 0.88 to 0.95
from memory

paint
lacquer 0.45 to 0.60 or by colour 0.40 to 0.90; gives off 0.87 to 0.95
lacquer on aluminium 0.50 to 0.53 at 2 to 5 µm in the same tables; spread from memory

black paint, entered as absorptivity 0.9
0.84 to 0.97; gives off 0.87 to 0.97
black paint 0.975 and 0.874, black matt lacquer 0.97 in published tables

inner face
e-coat 0.85 to 0.95 (six in ten) or metal 0.10 to 0.30
the same tables; how often: own choice

lamp
1 to 3 kW; 0.80 to 0.90 of it radiated, 0.60 to 0.90 of that forward; mains −8 to +5 %; \
cosine to the power 0.8 to 1.6; axis up to 4° off
power and 0.85 from published examples, the rest from memory

what is written of the lamp
power, size and radiated share within 15 % (45 in 100), power and size (45), nothing (10)
own choice

where it stands
300 to 700 mm, truly 6 % either way; its centre 20 mm either way
set by tape: no source

convection
McAdams' simple laws for plates of 0.3 to 1.2 m, times 0.85 to 1.2; \
on the front also a draught of up to 0.4 m/s along the plate, cubes added
McAdams 1954, Churchill 1977 and draughts, all from memory

air
12 to 28 °C, at the joint 2.5 K either way of what was read, over the day up to 1 K either way; \
walls 2 K below to 1 K above it
no source

sheets
0.8 to 1.5 mm, 3 % either way; 130 to 200 W/(m K); \
beyond the joint 80 to 400 mm of inner and 200 to 600 mm of skin
sheet alloys, rounded, from memory

adhesive
as in the study of data sheets, two to six rows; the batch differs by 5 % (lognormal)
no source

contact thermometer
off by up to 1.5 K, scatter 0.7 K, up to 5 % of the excess too low; 15 mm and 1 min off; whole °C
from memory
"""

RANGES: tuple[tuple[str, ...], ...] = tuple(
    tuple(entry.split("\n")) for entry in TEXT.strip().split("\n\n")
)
"""What, range (even unless said), from where."""
