#!/usr/bin/env python3
"""The same job as the `analyze` example, as a plain script over whole files: two plates in a comma-separated table.

    python3 tests/reference/analyze_script.py FILE…

Columns: time in seconds, left and right in newtons. Finds flights, takes the zero level from each, weighs the athlete on
the quiet second before the movement, integrates, cuts phases and prints the main figures, left against right. It is here
to be timed beside the Rust program and to be read; it knows no uncertainty, no other layout and no fault.
"""
import sys

import numpy as np
import pandas as pd
from scipy.integrate import cumulative_trapezoid

G = 9.80665


def runs(mask):
    """Start and end of each stretch of true values."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], mask, [False])).astype(np.int8)))
    return edges.reshape(-1, 2)


def flights(total, rate):
    """Stretches of 0.1 … 1.2 s under a twentieth of stance."""
    stance = np.median(total[total > 150.0])
    return [(a, b) for a, b in runs(total < 0.05 * stance) if 0.1 * rate <= b - a <= 1.2 * rate and a > 0 and b < len(total)]


def weigh(total, start, stop, rate):
    """The quietest second of the stance that ends before the movement; its start, end, mean and deviation."""
    window, step = int(rate), max(int(0.02 * rate), 1)
    starts = np.arange(start, stop - window, step)
    if len(starts) == 0:
        return None
    sums = np.concatenate(([0.0], np.cumsum(total[start:stop])))
    squares = np.concatenate(([0.0], np.cumsum(total[start:stop] ** 2)))
    k = starts - start
    mean = (sums[k + window] - sums[k]) / window
    variance = (squares[k + window] - squares[k]) / window - mean**2
    stand = mean > 0.5 * np.median(total[start:stop])
    best = np.argmin(np.where(stand, variance, np.inf))
    a = int(starts[best])
    return a, a + window, float(total[a : a + window].mean()), float(total[a : a + window].std(ddof=1))


def first_upward_zero(v, start, stop):
    found = np.flatnonzero((v[start : stop - 1] < 0) & (v[start + 1 : stop] >= 0))
    return start + int(found[0]) + 1 if len(found) else None


def jump(left, right, air, before, after, rate):
    """Figures of one jump; none where there is no quiet second or no countermovement before it."""
    a, b = air
    middle = slice(a + 3 * (b - a) // 10, b - 3 * (b - a) // 10)
    lo, hi = max(before, a - int(8 * rate)), min(after, b + int(6 * rate))
    left = left[lo:hi] - left[middle].mean()
    right = right[lo:hi] - right[middle].mean()
    total = left + right
    noise = total[middle.start - lo : middle.stop - lo].std(ddof=1)
    a, b = a - lo, b - lo
    weighed = weigh(total, int(0.5 * rate) if before else 0, a - int(0.3 * rate), rate)
    if weighed is None:
        return None
    quiet_from, quiet_to, weight, sd = weighed
    mass, dt = weight / G, 1.0 / rate
    threshold = max(5.0, 5.0 * noise)
    airborne = runs(total[a - int(0.05 * rate) : b + int(0.05 * rate)] < threshold)
    shift = a - int(0.05 * rate)
    take_off, touchdown = max(airborne, key=lambda r: r[1] - r[0]) + shift
    v = cumulative_trapezoid((total[quiet_from:] - weight) / mass, dx=dt, initial=0)
    v -= v[: quiet_to - quiet_from].mean()
    s = cumulative_trapezoid(v, dx=dt, initial=0)
    s -= s[: quiet_to - quiet_from].mean()
    v = np.concatenate((np.zeros(quiet_from), v))
    s = np.concatenate((np.zeros(quiet_from), s))
    down = quiet_to + int(np.argmin(v[quiet_to:take_off]))
    lowest = first_upward_zero(v, down, take_off)
    rest = first_upward_zero(v, touchdown, len(v))
    if lowest is None or rest is None:
        return None
    dip = quiet_to + int(np.argmin(total[quiet_to : down + 1]))
    inside = np.flatnonzero(total[quiet_from:dip] >= weight - max(5.0 * sd, 2.0))
    onset = quiet_from + int(inside[-1]) - int(0.03 * rate) if len(inside) else quiet_from
    power = total * v
    flight, height = (touchdown - take_off) * dt, v[take_off] ** 2 / (2 * G)
    out = {
        "start_s": lo * dt,
        "mass_kg": mass,
        "jump_height_m": height,
        "jump_height_flight_time_m": G * flight**2 / 8,
        "rise_above_standing_m": s[take_off] + height,
        "take_off_velocity_m_s": v[take_off],
        "flight_time_s": flight,
        "time_to_take_off_s": (take_off - onset) * dt,
        "reactive_strength_index_modified": height / ((take_off - onset) * dt),
        "countermovement_depth_m": -s[lowest],
        "peak_downward_velocity_m_s": -v[down],
        "unweighting_duration_s": (down - onset) * dt,
        "force_at_lowest_point_N": total[lowest],
        "braking_slope_stiffness_N_m": (total[lowest] - weight) / (s[down] - s[lowest]),
        "landing_duration_s": (rest - touchdown) * dt,
        "landing_depth_m": s[touchdown] - s[rest],
        "peak_landing_force_N": total[touchdown : rest + 1].max(),
    }
    for name, p, q in (("braking", down, lowest), ("propulsion", lowest, take_off)):
        part = slice(p, q + 1)
        out[f"{name}_duration_s"] = (q - p) * dt
        out[f"mean_{name}_force_N"] = total[part].mean()
        out[f"peak_{name}_force_N"] = total[part].max()
        out[f"mean_{name}_power_W"] = abs(power[part].mean())
        out[f"peak_{name}_power_W"] = np.abs(power[part]).max()
        out[f"{name}_work_J"] = abs(np.trapezoid(power[part], dx=dt))
        out[f"net_{name}_impulse_Ns"] = np.trapezoid(total[part] - weight, dx=dt)
    phases = {"standing": (quiet_from, quiet_to), "unweighting": (onset, down), "braking": (down, lowest)}
    phases |= {"propulsion": (lowest, take_off), "landing": (touchdown, rest)}
    for name, (p, q) in phases.items():
        sides = [float(np.trapezoid(x[p : q + 1], dx=dt)) for x in (left, right)]
        out[f"{name}_share_right_percent"] = 100 * sides[1] / sum(sides)
    return out


def main():
    for path in sys.argv[1:]:
        table = pd.read_csv(path)
        time, left, right = (table[c].to_numpy(dtype=float) for c in table.columns[:3])
        rate = (len(time) - 1) / (time[-1] - time[0])
        total = left + right
        found = flights(total, rate)
        print(f"{path}\n  {rate:.1f} Hz, {time[-1] - time[0]:.2f} s, {len(found)} flights")
        for k, air in enumerate(found):
            before = found[k - 1][1] if k else 0
            after = found[k + 1][0] if k + 1 < len(found) else len(total)
            figures = jump(left, right, air, before, after, rate)
            print(f"  trial {k + 1}" + ("" if figures else ": not read"))
            for name, value in (figures or {}).items():
                print(f"    {name:40} {value:12.4f}")


if __name__ == "__main__":
    main()
