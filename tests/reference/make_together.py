#!/usr/bin/env python3
"""Reference values for trials together (tests/together.rs), made by SciPy and NumPy: a line with errors in both variables
(orthogonal distance regression), the top of a parabola with its Fieller interval, and a ratio's.

    python3 tests/reference/make_together.py           writes tests/data/together_values.json
    python3 tests/reference/make_together.py --check   makes them again and compares; exit 1 where one differs by > 1e-6
"""
import json
import sys
import warnings
from pathlib import Path

import numpy as np
from scipy import odr, optimize, stats

warnings.filterwarnings("ignore", category=DeprecationWarning)
FILE = Path(__file__).resolve().parent.parent / "data" / "together_values.json"


def line(x, y, ux, uy):
    """Slope and intercept by ODR; their standard errors (not scaled by the scatter) from the curvature of the least sum of
    squares, each coefficient profiled over the true abscissae."""
    fit = odr.ODR(odr.RealData(x, y, sx=ux, sy=uy), odr.unilinear, beta0=np.polyfit(x, y, 1)).run()

    def chi(b):
        return float(np.sum((y - b[0] * x - b[1]) ** 2 / (uy**2 + b[0] ** 2 * ux**2)))

    best = optimize.minimize(chi, fit.beta, method="Nelder-Mead", options={"xatol": 1e-12, "fatol": 1e-14, "maxiter": 20000}).x
    covariance = np.asarray(fit.cov_beta)
    return {
        "slope": best[0],
        "intercept": best[1],
        "odr_slope": fit.beta[0],
        "odr_intercept": fit.beta[1],
        "se_slope": float(np.sqrt(covariance[0, 0])),
        "se_intercept": float(np.sqrt(covariance[1, 1])),
        "chi_square": chi(best),
        "t": float(stats.t.ppf(0.95, len(x) - 2)),
    }


def correlated_line(x, y, ux, uy, r):
    """The least sum of squares where the errors of a point correlate by `r`; standard errors from its curvature."""

    def chi(b):
        return float(np.sum((y - b[0] * x - b[1]) ** 2 / (uy**2 + b[0] ** 2 * ux**2 - 2 * b[0] * r * ux * uy)))

    best = optimize.minimize(chi, np.polyfit(x, y, 1), method="Nelder-Mead", options={"xatol": 1e-12, "fatol": 1e-14, "maxiter": 20000}).x
    step = 1e-4 * np.abs(best)
    hessian = np.empty((2, 2))
    for i in range(2):
        for j in range(2):
            e, f = np.eye(2)[i] * step, np.eye(2)[j] * step
            hessian[i, j] = (chi(best + e + f) - chi(best + e - f) - chi(best - e + f) + chi(best - e - f)) / (4 * step[i] * step[j])
    covariance = 2 * np.linalg.inv(hessian)
    return {
        "slope": best[0],
        "intercept": best[1],
        "se_slope": float(np.sqrt(covariance[0, 0])),
        "se_intercept": float(np.sqrt(covariance[1, 1])),
        "chi_square": chi(best),
        "t": float(stats.t.ppf(0.95, len(x) - 2)),
    }


def fieller(a, b, va, vb, cov, t):
    f = lambda r: (a - r * b) ** 2 - t**2 * (va + r * r * vb - 2 * r * cov)
    middle, reach = a / b, abs(a / b)
    return [float(optimize.brentq(f, middle - 20 * reach, middle)), float(optimize.brentq(f, middle, middle + 20 * reach))]


def parabola(x, y):
    p, cov = np.polyfit(x, y, 2, cov=True)
    t = float(stats.t.ppf(0.975, len(x) - 3))
    low, high = fieller(-p[1], 2 * p[0], cov[1, 1], 4 * cov[0, 0], -2 * cov[0, 1], t)
    return {"top": float(-p[1] / 2 / p[0]), "low": low, "high": high}


def made():
    rng = np.random.default_rng(7)
    out = {"lines": [], "parabolas": [], "ratios": []}
    for n in (4, 5, 6, 8):
        v = np.linspace(1.9, 0.8, n)
        f = 36 - 12.5 * v
        ux, uy = rng.uniform(0.01, 0.03, n), rng.uniform(0.15, 0.4, n)
        x, y = np.round(v + ux * rng.standard_normal(n), 4), np.round(f + uy * rng.standard_normal(n), 4)
        out["lines"].append({"x": x.tolist(), "y": y.tolist(), "ux": ux.tolist(), "uy": uy.tolist(), **line(x, y, ux, uy)})
    for top, n in ((0.38, 9), (0.42, 12), (0.33, 8)):
        x = np.round(np.tile([0.2, 0.3, 0.4, 0.5], 3)[:n] + rng.uniform(-0.01, 0.01, n), 4)
        y = np.round(2.1 - 9.0 * (x - top) ** 2 + 0.02 * rng.standard_normal(n), 4)
        out["parabolas"].append({"x": x.tolist(), "y": y.tolist(), **parabola(x, y)})
    for a, ua, b, ub, df in ((0.352, 0.006, 0.318, 0.005, 4), (2.4, 0.1, 1.7, 0.12, 10)):
        t = float(stats.t.ppf(0.975, df))
        low, high = fieller(a, b, ua**2, ub**2, 0.0, t)
        out["ratios"].append({"a": a, "ua": ua, "b": b, "ub": ub, "t": t, "low": low, "high": high})
    for n, r in ((5, 0.8), (6, -0.7), (8, 0.5)):
        v = np.linspace(1.9, 0.8, n)
        ux, uy = rng.uniform(0.01, 0.03, n), rng.uniform(0.15, 0.4, n)
        e = rng.standard_normal((2, n))
        x, y = np.round(v + ux * e[0], 4), np.round(36 - 12.5 * v + uy * (r * e[0] + np.sqrt(1 - r * r) * e[1]), 4)
        case = {"x": x.tolist(), "y": y.tolist(), "ux": ux.tolist(), "uy": uy.tolist(), "r": r}
        out["lines"].append({**case, **correlated_line(x, y, ux, uy, r)})
    return out


def compare(a, b, path=""):
    if isinstance(a, dict):
        return all(compare(a[k], b[k], f"{path}/{k}") for k in a)
    if isinstance(a, list):
        return len(a) == len(b) and all(compare(x, y, f"{path}/{i}") for i, (x, y) in enumerate(zip(a, b)))
    same = abs(a - b) <= 1e-6 * max(1.0, abs(a))
    if not same:
        print(path, a, b)
    return same


if __name__ == "__main__":
    values = made()
    if "--check" in sys.argv:
        sys.exit(0 if compare(values, json.loads(FILE.read_text())) else 1)
    FILE.write_text(json.dumps(values, indent=1) + "\n")
