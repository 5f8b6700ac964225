"""Levels from pyTMD for `pytmd_levels.json`: an independent program behind the tests of tide prediction.

pyTMD is no dependency of this project. To make the file anew, in an environment of its own:

    pip install pyTMD==3.0.9 PyYAML
    python -m tests.berths.data.freeze_pytmd

pyTMD knows no constituents of the Norwegian service's own kind, so Bergen is not among the stations.
"""

import json
from pathlib import Path

import numpy as np

from tests.berths.stations import STATIONS

HERE = Path(__file__).parent
SPELLING = {"LAM2": "lambda2", "RHO": "rho1"}
# f and u as Schureman has them, M1 without the perigee in its angle, the sun's perigee moving
OPTIONS = {"corrections": "FES", "M1": "Doodson", "climate_solar_perigee": True}


def main():
    from pyTMD import __version__  # noqa: PLC0415 - here, so that the tests need no pyTMD to pass by this file
    from pyTMD.constituents import arguments  # noqa: PLC0415

    times = np.datetime64("2020-01-07T05:11", "s") + np.arange(24) * np.timedelta64(232 * 86400 + 27_437, "s")
    days = (times - np.datetime64("1858-11-17", "s")) / np.timedelta64(86400, "s")  # modified Julian
    levels = {}
    for row in STATIONS.values():
        if row["id"].startswith("kartverket/"):
            continue
        names, amplitude, phase = zip(*row["constituents"], strict=True)
        known = [SPELLING.get(name, name.lower()) for name in names]
        u, f, angle = arguments(days, known, **OPTIONS)
        waves = np.array(amplitude) * f * np.cos(np.radians(angle - np.array(phase)) + u)
        levels[row["id"]] = [round(float(z), 4) for z in row["msl_above_datum"] + waves.sum(axis=1)]
    made = {
        "about": f"Levels from pyTMD {__version__} with {OPTIONS}, metres above each station's chart datum, "
        "from the constants of the stations that the site ships, whose attribution (berths/data/README.md) "
        "holds here too. Made by freeze_pytmd.py.",
        "times": [f"{t}" for t in times],
        "levels": levels,
    }
    lines = ",\n".join(f"{json.dumps(key)}: {json.dumps(value)}" for key, value in made.items())
    (HERE / "pytmd_levels.json").write_text(f"{{\n{lines}\n}}\n", encoding="utf-8")


if __name__ == "__main__":
    main()
