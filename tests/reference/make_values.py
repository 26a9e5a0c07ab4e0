#!/usr/bin/env python3
"""Reference values for the core's numerics, made by SciPy: trapezoid sums and the zero-lag low-pass.

    python3 tests/reference/make_values.py           writes tests/data/scipy_values.json
    python3 tests/reference/make_values.py --check   makes them again and compares; exit 1 where one differs by > 1e-9

Inputs are closed forms rounded to three decimals and stored beside the outputs, so that the Rust test needs no Python.
"""
import json
import math
import sys
from pathlib import Path

import numpy as np
from scipy.integrate import cumulative_trapezoid
from scipy.signal import butter, filtfilt

FILE = Path(__file__).resolve().parent.parent / "data" / "scipy_values.json"
TOLERANCE = 1e-9


def motion():
    """Velocity and displacement of a body at rest but for its sway, then moved down and up."""
    rate = 1000.0
    t = np.arange(1600) / rate
    sway = 0.02 * np.cos(2 * np.pi * 0.8 * t)
    x = np.clip((t - 0.6) / 0.8, 0.0, 1.0)
    a = np.round(sway - 9.0 * np.sin(np.pi * x) ** 2 * np.sin(2 * np.pi * x), 3)
    half = 500  # the last half second of quiet standing carries the zero of both
    v = cumulative_trapezoid(a, dx=1 / rate, initial=0)
    v -= v[:half].mean()
    s = cumulative_trapezoid(v, dx=1 / rate, initial=0)
    s -= s[:half].mean()
    at = list(range(0, 1600, 50)) + [1599]
    return {
        "rate_hz": rate,
        "quiet_samples": half,
        "acceleration_m_s2": a.tolist(),
        "at": at,
        "velocity_m_s": v[at].tolist(),
        "displacement_m": s[at].tolist(),
    }


def low_pass(rate, cut, n):
    """Second order both ways. The cut-off is corrected where the analogue filter has it, on the tangent [Winter 2009,
    ch. 2]: the two passes together are then at -3 dB exactly at `cut`."""
    i = np.arange(n)
    t = i / rate
    x = 700 + 400 * np.sin(2 * np.pi * 1.7 * t) + 60 * np.sin(2 * np.pi * 0.21 * rate * t + 0.4)
    x += np.where((t > 0.4 * n / rate) & (t < 0.6 * n / rate), -650.0, 0.0)
    x += 5.0 * (((i * 7919) % 101) / 50.0 - 1.0)
    x = np.round(x, 3)
    correction = (math.sqrt(2) - 1) ** 0.25
    corrected = rate / math.pi * math.atan(math.tan(math.pi * cut / rate) / correction)
    b, a = butter(2, corrected, fs=rate)
    padlen = min(int(3.0 * rate / cut), n - 1)  # as in src/force/filter.rs
    y = filtfilt(b, a, x, padtype="odd", padlen=padlen)
    at = list(range(0, n, 9)) + [n - 1]
    return {"rate_hz": rate, "cut_hz": cut, "padlen": padlen, "input": x.tolist(), "at": at, "output": y[at].tolist()}


def values():
    cases = [(1000.0, 10.0, 500), (1000.0, 50.0, 400), (1000.0, 200.0, 200), (500.0, 30.0, 300), (2000.0, 50.0, 600), (240.0, 12.0, 150)]
    cases.append((100.0, 6.0, 40))  # shorter than its padding
    return {"motion": motion(), "low_pass": [low_pass(*case) for case in cases]}


def differences(old, new, where=""):
    if isinstance(new, dict):
        if not isinstance(old, dict) or old.keys() != new.keys():
            return [f"{where}: other keys"]
        return [d for k in new for d in differences(old[k], new[k], f"{where}/{k}")]
    if isinstance(new, list):
        if not isinstance(old, list) or len(old) != len(new):
            return [f"{where}: other length"]
        return [d for k, (a, b) in enumerate(zip(old, new)) for d in differences(a, b, f"{where}/{k}")]
    return [] if abs(old - new) <= TOLERANCE else [f"{where}: {old!r} committed, {new!r} now"]


def main():
    new = values()
    if "--check" not in sys.argv[1:]:
        FILE.write_text(json.dumps(new, separators=(",", ":")).replace('},{', '},\n{') + "\n")
        print(f"{FILE}: {FILE.stat().st_size} bytes")
        return 0
    found = differences(json.loads(FILE.read_text()), new)
    print("\n".join(found[:20]) or f"{FILE.name}: every value again within {TOLERANCE}")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
