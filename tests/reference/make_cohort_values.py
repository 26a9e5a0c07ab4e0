#!/usr/bin/env python3
"""Reference values for repeatability, standing and change, made by SciPy and NumPy.

    python3 tests/reference/make_cohort_values.py           writes tests/data/cohort_values.json
    python3 tests/reference/make_cohort_values.py --check   makes them again and compares; exit 1 where one differs by > 1e-8

Data are drawn once by NumPy's seeded generator, rounded, and stored beside the answers, so that the Rust test needs no
Python. Wherever the core has a formula, another road is taken here: sums of squares by projection on design matrices,
the day's weight in them by a trace, quantiles by SciPy.
"""
import json
import math
import sys
from pathlib import Path

import numpy as np
from scipy import optimize, stats

FILE = Path(__file__).resolve().parent.parent / "data" / "cohort_values.json"
TOLERANCE = 1e-8


def distributions():
    out = []
    for df in [1, 2, 3, 7.3, 29, 120, 5000]:
        for p in [0.001, 0.025, 0.3, 0.8, 0.975]:
            out.append(["t_quantile", [p, df], stats.t.ppf(p, df)])
            out.append(["chi_square_quantile", [p, df], stats.chi2.ppf(p, df)])
        for t in [-6.0, -1.3, 0.0, 0.4, 3.0]:
            out.append(["t_cdf", [t, df], stats.t.cdf(t, df)])
            if df >= 1:
                out.append(["noncentral_t_cdf", [t, df, 1.7], stats.nct.cdf(t, df, 1.7)])
    for a, b in [(1, 3), (5, 20), (40, 2.5), (300, 7)]:
        for p in [0.025, 0.5, 0.975]:
            out.append(["f_quantile", [p, a, b], stats.f.ppf(p, a, b)])
            out.append(["beta_quantile", [p, a, b], stats.beta.ppf(p, a, b)])
    for z in [-8.0, -1.0, 0.3, 2.0]:
        out.append(["normal_cdf", [z], stats.norm.cdf(z)])
    for p in [1e-10, 0.025, 0.5, 0.975]:
        out.append(["normal_quantile", [p], stats.norm.ppf(p)])
    return out


def residual_square_sum(y, columns):
    fit, *_ = np.linalg.lstsq(columns, y, rcond=None)
    return float(((y - columns @ fit) ** 2).sum())


def indicator(labels):
    return np.array([[1.0 if a == b else 0.0 for b in sorted(set(labels))] for a in labels])


def nested():
    """An unbalanced squad: 3-day runs within ten days, 1-4 trials a day, lognormal jump heights."""
    rng = np.random.default_rng(7)
    rows = []
    for athlete in range(9):
        usual = rng.normal(math.log(0.35), 0.12)
        days = [0, 3, 7] if athlete % 3 else [0, 4]
        for day in days:
            that_day = usual + rng.normal(0, 0.04)
            for _ in range(int(rng.integers(1, 5))):
                rows.append([athlete, day, round(math.exp(that_day + rng.normal(0, 0.03)), 5)])
    y = np.log([r[2] for r in rows])
    person = indicator([r[0] for r in rows])
    day = indicator([(r[0], r[1]) for r in rows])
    within_person, within_day = residual_square_sum(y, person), residual_square_sum(y, day)
    day_df = np.linalg.matrix_rank(day) - np.linalg.matrix_rank(person)
    trial_df = len(rows) - np.linalg.matrix_rank(day)
    day_square, trial_square = (within_person - within_day) / day_df, within_day / trial_df
    hat = lambda x: x @ np.linalg.pinv(x)
    weight = float(np.trace((hat(day) - hat(person)) @ day @ day.T)) / day_df
    variance_of_day = (day_square - trial_square) / weight
    # One session of three trials: typical error with chi-square limits at Satterthwaite's degrees of freedom.
    parts = [(day_square / weight, day_df), (trial_square * (1 / 3 - 1 / weight), trial_df)]
    session = sum(p[0] for p in parts)
    session_df = session**2 / sum(p[0] ** 2 / p[1] for p in parts)
    te = math.sqrt(session)
    # Change between a day of 3 and a day of 2 trials.
    parts = [(2 * day_square / weight, day_df), (trial_square * (1 / 3 + 1 / 2 - 2 / weight), trial_df)]
    change = sum(p[0] for p in parts)
    change_df = change**2 / sum(p[0] ** 2 / p[1] for p in parts)
    # One-way correlation of day means: F from SciPy.
    means = {}
    for (a, d) in sorted({(r[0], r[1]) for r in rows}):
        means.setdefault(a, []).append(float(np.mean([v for v, r in zip(y, rows) if r[0] == a and r[1] == d])))
    ratio = stats.f_oneway(*means.values()).statistic
    counts = np.array([len(m) for m in means.values()])
    n, total = len(counts), counts.sum()
    k = (total - (counts**2).sum() / total) / (n - 1)
    icc = lambda f: (f - 1) / (f + k - 1)
    return {
        "rows": rows,
        "day_square": day_square, "trial_square": trial_square, "day_df": float(day_df), "trial_df": float(trial_df),
        "trials_a_day": weight, "day_variance": variance_of_day,
        "session_of_3": [te, te * math.sqrt(session_df / stats.chi2.ppf(0.975, session_df)), te * math.sqrt(session_df / stats.chi2.ppf(0.025, session_df))],
        "change_3_2": {"se": math.sqrt(change), "df": change_df, "half": stats.t.ppf(0.975, change_df) * math.sqrt(change),
                       "smallest": (stats.t.ppf(0.975, change_df) + stats.t.ppf(0.82, change_df)) * math.sqrt(change)},
        "icc": [icc(ratio), icc(ratio / stats.f.ppf(0.975, n - 1, total - n)), icc(ratio * stats.f.ppf(0.975, total - n, n - 1))],
    }


def standing():
    """Seventeen others with masses, one case: Crawford & Howell, Jeffreys, and the allometric line."""
    rng = np.random.default_rng(11)
    mass = np.round(rng.normal(75, 12, 17), 1)
    value = np.round(np.exp(3.9 - 0.6 * np.log(mass / 75) + rng.normal(0, 0.07, 17)), 3)
    value[3] = value[9]
    own_mass, own = 92.0, float(value[9])
    y, m = np.log(value), np.log(mass)
    n, x = len(y), math.log(own)
    z = (x - y.mean()) / y.std(ddof=1)
    t = z / math.sqrt(1 + 1 / n)
    limit = lambda p: optimize.brentq(lambda d: stats.nct.cdf(z * math.sqrt(n), n - 1, d) - p, z * math.sqrt(n) - 7, z * math.sqrt(n) + 7, xtol=1e-12) / math.sqrt(n)
    below, equal = int((value < own).sum()), int((value == own).sum())
    count = below + equal / 2
    line = stats.linregress(m, y)
    rest = y - line.intercept - line.slope * m
    s = math.sqrt((rest**2).sum() / (n - 2))
    away = math.log(own_mass) - m.mean()
    adjusted_z = (x - line.intercept - line.slope * math.log(own_mass)) / s
    adjusted_t = adjusted_z / math.sqrt(1 + 1 / n + away**2 / ((m - m.mean()) ** 2).sum())
    return {
        "mass": mass.tolist(), "value": value.tolist(), "own_mass": own_mass, "own": own,
        "z": [z, limit(0.975), limit(0.025)], "t": t, "expected_below": stats.t.cdf(t, n - 1),
        "below": below, "equal": equal,
        "percentile": [100 * count / n, 100 * stats.beta.ppf(0.025, count + 0.5, n - count + 0.5), 100 * stats.beta.ppf(0.975, count + 0.5, n - count + 0.5)],
        "r": line.rvalue, "adjusted_z": adjusted_z, "adjusted_expected_below": stats.t.cdf(adjusted_t, n - 2),
    }


def false_discovery():
    p = [0.2, 0.004, 0.9, 0.03, 0.011, 0.5, 0.0301]
    return {"p": p, "adjusted": stats.false_discovery_control(p, method="bh").tolist()}


def make():
    return {"distributions": distributions(), "nested": nested(), "standing": standing(), "false_discovery": false_discovery()}


def differences(a, b, where=""):
    if isinstance(a, dict):
        if not isinstance(b, dict) or a.keys() != b.keys():
            return [f"{where}: keys differ"]
        return [d for k in a for d in differences(a[k], b[k], f"{where}.{k}")]
    if isinstance(a, list):
        if not isinstance(b, list) or len(a) != len(b):
            return [f"{where}: lengths differ"]
        return [d for i, (x, y) in enumerate(zip(a, b)) for d in differences(x, y, f"{where}[{i}]")]
    if isinstance(a, str):
        return [] if a == b else [f"{where}: {a} against {b}"]
    return [] if abs(a - b) <= TOLERANCE * max(1.0, abs(a)) else [f"{where}: {a} against {b}"]


def main():
    made = json.loads(json.dumps(make(), default=float))
    if "--check" not in sys.argv[1:]:
        FILE.write_text(json.dumps(made, indent=None, separators=(",", ":")) + "\n")
        print(f"wrote {FILE}")
        return
    found = differences(made, json.loads(FILE.read_text()))
    print("\n".join(found) or "cohort values agree")
    sys.exit(1 if found else 0)


if __name__ == "__main__":
    main()
