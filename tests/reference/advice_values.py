"""Makes tests/data/advice_values.json: Student's t and the revised standardised difference by SciPy's own functions.

The difference test's formula is Crawford & Garthwaite 2005, Neuropsychology 19:318 (equation from memory), here
solved for its probability by root finding on the critical value, not by the closed quartic that the Rust code uses.
Run: python3 tests/reference/advice_values.py [--check]
"""
import json
import sys
from pathlib import Path

from scipy import optimize, stats

OUT = Path(__file__).parent.parent / "data" / "advice_values.json"


def gap_p(x, y, r, n):
    def beyond(critical):
        spread = 2 - 2 * r + 2 * (1 - r * r) / (n - 1)
        spread += ((5 + critical**2) * (1 - r * r) + r * (1 + critical**2) * (1 - r * r)) / (2 * (n - 1) ** 2)
        return abs(x - y) / ((n + 1) / n * spread) ** 0.5 - critical

    t = optimize.brentq(beyond, 0, 1e3, xtol=1e-13)
    return t, 2 * stats.t.sf(t, n - 1)


def values():
    t_rows = [[t, df, stats.t.cdf(t, df)] for df in (1, 2, 3, 7, 14, 24, 41, 100) for t in (-4.2, -1.3, -0.2, 0.7, 2.1, 5.5)]
    gaps = []
    for x, y, r, n in [(-2.1, 0.3, 0.5, 15), (-1.0, 0.4, 0.8, 20), (0.2, 0.1, 0.3, 30), (-3.4, -0.5, 0.7, 18), (1.5, -1.5, -0.2, 40), (-4, 0, 0.0, 10)]:
        gaps.append([x, y, r, n, *gap_p(x, y, r, n)])
    return {"t_below": t_rows, "gap": gaps}


text = json.dumps(values(), indent=1) + "\n"
if "--check" in sys.argv:
    known, made = json.loads(OUT.read_text()), json.loads(text)
    for key in made:
        for a, b in zip(known[key], made[key]):
            assert all(abs(p - q) < 1e-9 for p, q in zip(a, b)), (key, a, b)
else:
    OUT.write_text(text)
