#!/usr/bin/env python3
"""The benchmark's peer: standing and change of every figure by a plain pandas script, as one would write it.

    python3 tests/reference/standing_script.py FILE ATHLETE

FILE: CSV with columns figure, athlete, day, value, mass. Prints the milliseconds of each after the file is read:
the best of three. The columns are read as numbers and categories beforehand, which
is to the script's advantage.
"""
import sys
import time

import numpy as np
import pandas as pd
from scipy import stats


def standing(rows, athlete):
    out = {}
    for figure, own in rows.groupby("figure", observed=True):
        daily = np.log(own["value"]).groupby([own["athlete"], own["day"]]).mean().reset_index()
        latest = daily.sort_values("day").groupby("athlete").tail(1).set_index("athlete")["value"]
        x, others = latest[athlete], latest.drop(athlete)
        n = len(others)
        t = (x - others.mean()) / (others.std() * np.sqrt(1 + 1 / n))
        below = (others < x).sum() + (others == x).sum() / 2
        out[figure] = (t, stats.t.cdf(t, n - 1), stats.beta.ppf([0.025, 0.975], below + 0.5, n - below + 0.5))
    return out


def change(rows, athlete):
    out = {}
    for figure, own in rows.groupby("figure", observed=True):
        y = np.log(own["value"])
        day = y.groupby([own["athlete"], own["day"]])
        trial_square = ((y - day.transform("mean")) ** 2).sum() / (len(y) - day.ngroups)
        daily = day.mean().reset_index()
        daily["run"] = daily["day"] // 10
        run = daily.groupby(["athlete", "run"])["value"]
        repeats = run.transform("size") > 1
        day_square = ((daily["value"] - run.transform("mean")) ** 2)[repeats].sum() / (repeats.sum() - run.ngroups)
        mine = daily[daily["athlete"] == athlete].sort_values("day")["value"].to_numpy()
        half = stats.t.ppf(0.975, repeats.sum() - run.ngroups) * np.sqrt(2 * day_square)
        out[figure] = (mine[-1] - mine[0], half, trial_square)
    return out


def best(function, *arguments):
    times = []
    for _ in range(3):
        start = time.perf_counter()
        function(*arguments)
        times.append(time.perf_counter() - start)
    return 1000 * min(times)


def main():
    rows = pd.read_csv(sys.argv[1], dtype={"figure": "category"})
    athlete = int(sys.argv[2])
    print(f"{best(standing, rows, athlete):.1f} {best(change, rows, athlete):.1f}")


if __name__ == "__main__":
    main()
