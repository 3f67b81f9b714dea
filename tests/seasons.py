"""Small seasons for tests: written from scratch, each with only what the test is about."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

ROSTER = """\
athlete_id,name,sex,birth_date,groups,event,joined,left,share
A01,Ada Quillon,F,2010-03-18,sprint,100/200 m,,,full
A02,Bram Ostrander-Vale,M,2004-11-02,sprint,100/200 m,,,full
A03,Cleo Marchetti-Ruud,F,2008-07-25,sprint,100/200 m,,,full
"""

DAY = """\
date = 2026-09-15
term = "autumn 2026"

[session.track]
date = 2026-09-15
indoor = false
surface = "synthetic track"
footwear = "spikes"
timing = "gates"
beams = "double"
start = "three-point"
start_distance_m = 0.0

[session.gym]
date = 2026-09-17
indoor = true
"""

SPRINTS = """\
session,athlete_id,test,attempt,wind_mps,t10_s,t30_s,t60_s
track,A01,60 m,1,0.6,2.04,4.28,7.70
track,A01,60 m,2,0.2,2.05,4.31,7.74
track,A02,60 m,1,0.1,1.87,3.95,6.90
"""

JUMPS = """\
session,athlete_id,test,attempt,arms,flight_time_s
gym,A01,countermovement jump,1,hips,0.511
gym,A01,countermovement jump,2,hips,0.519
"""

LIFTS = """\
session,athlete_id,lift,load_kg,reps,result,maximal
gym,A02,back squat,130,1,good,
gym,A02,back squat,140,1,good,
gym,A02,back squat,147.5,1,failed,
"""

BODY = """\
session,athlete_id,body_mass_kg,height_cm
gym,A01,56.4,168.0
gym,A02,77.5,183.0
"""

DAY_FOLDER = "2026-09-autumn"

TIDY: dict[str, str] = {
    "roster.csv": ROSTER,
    f"{DAY_FOLDER}/day.toml": DAY,
    f"{DAY_FOLDER}/sprints.csv": SPRINTS,
    f"{DAY_FOLDER}/jumps.csv": JUMPS,
    f"{DAY_FOLDER}/lifts.csv": LIFTS,
    f"{DAY_FOLDER}/body.csv": BODY,
}
"""A season of one tidy day: three on the roster, two tested."""


def write(folder: Path, files: Mapping[str, str | bytes | None]) -> Path:
    """Write a season: the tidy one with ``files`` laid over it; ``None`` leaves a file out."""
    for name, content in {**TIDY, **files}.items():
        if content is None:
            continue
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content.encode() if isinstance(content, str) else content)
    return folder
