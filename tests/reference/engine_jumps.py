#!/usr/bin/env python3
"""Jumps, drops, landings and hops by a general-purpose rigid-body physics engine (MuJoCo, Apache-2.0, from the package
registry), for tests/engine.rs. Made on demand, not in every run:

    python3 -m venv /tmp/engine && /tmp/engine/bin/pip install mujoco numpy scipy pandas
    /tmp/engine/bin/python tests/reference/engine_jumps.py            writes tests/data/engine/*.csv and truth.json
    python3 tests/reference/engine_jumps.py --plain                   the plain script's readings alone, of the same files

An invented body of seven segments (trunk on a vertical guide, two thighs, shanks and feet) stands on two plates. Its
controller knows nothing of our definitions: a spring-and-damper on the height of the trunk, a push of wished leg force,
joints that keep their shape. Force is the engine's own contact force, summed per plate; truth is the engine's own state:
mass from the model, height of the centre of mass over time, contact or none. Jump height is apex less take-off, not a
velocity squared. To the forces are added, seeded: noise, a zero error, tenths of a newton — as plates have.

truth.json also holds what a plain NumPy/SciPy reading of the same files finds (`analyze_script.py` for jumps from
standing; for drops the textbook backward integration from the last second), to be printed beside ours.
"""
import json
import sys
from pathlib import Path

try:
    import mujoco
except ImportError:  # `--plain` reads the committed files again and needs no engine
    mujoco = None
import numpy as np
import pandas as pd
from scipy.integrate import cumulative_trapezoid

sys.path.insert(0, str(Path(__file__).resolve().parent))
import analyze_script as plain  # noqa: E402

OUT = Path(__file__).resolve().parent.parent / "data" / "engine"
G, DT = 9.80665, 0.00005
L = 0.43  # thigh and shank
FOOT = 0.06  # height of the ankle
BENT = 0.62  # of thigh and shank from upright when standing: as far below straight as a person on flat feet below tiptoe

LEG = """
<body name="thigh_{s}" pos="0 {y} 0"><joint name="hip_{s}" axis="0 1 0" damping="1"/>
 <geom type="capsule" fromto="0 0 0 0 0 -{L}" size=".06" mass="{thigh}"/>
 <body pos="0 0 -{L}"><joint name="knee_{s}" axis="0 1 0" damping="1"/>
  <geom type="capsule" fromto="0 0 0 0 0 -{L}" size=".045" mass="{shank}"/>
  <body pos="0 0 -{L}"><joint name="ankle_{s}" axis="0 1 0" damping="1"/>
   <geom type="box" pos=".04 0 -.03" size=".13 .045 .02" mass="{foot}"/>
  <geom type="sphere" pos="-.06 .03 -.03" size=".03" mass="0" contype="1"/><geom type="sphere" pos="-.06 -.03 -.03" size=".03" mass="0" contype="1"/>
  <geom type="sphere" pos=".14 .03 -.03" size=".03" mass="0" contype="1"/><geom type="sphere" pos=".14 -.03 -.03" size=".03" mass="0" contype="1"/>
  </body></body></body>
"""
MODEL = """
<mujoco><compiler angle="radian"/>
<option timestep="{dt}" gravity="0 0 -{g}" integrator="implicitfast" cone="elliptic"/>
<default><geom contype="0" conaffinity="0" friction="1 .01 .001" solref=".01 1" solimp=".95 .99 .001"/></default>
<worldbody>
 <geom name="plate_left" type="box" pos="0 .2 -.05" size=".4 .19 .05" conaffinity="1"/>
 <geom name="plate_right" type="box" pos="0 -.2 -.05" size=".4 .19 .05" conaffinity="1"/>
 <body name="trunk" pos="0 0 0"><joint name="guide" type="slide" axis="0 0 1"/>
  <geom type="capsule" fromto="0 0 0 0 0 .55" size=".12" mass="{trunk}"/>{legs}</body>
</worldbody></mujoco>
"""


class Body:
    """The model, its state and the controller's tools."""

    def __init__(self, mass):
        part = {"thigh": 0.1 * mass, "shank": 0.0465 * mass, "foot": 0.0145 * mass}
        legs = "".join(LEG.format(s=s, y=y, L=L, **part) for s, y in (("l", 0.15), ("r", -0.15)))
        text = MODEL.format(dt=DT, g=G, trunk=0.678 * mass, legs=legs)
        self.m = mujoco.MjModel.from_xml_string(text)
        self.d = mujoco.MjData(self.m)
        self.mass = float(self.m.body_subtreemass[1])
        joint = lambda n: self.m.joint(n).qposadr[0]
        self.hip, self.knee, self.ankle = ([joint(f"{j}_{s}") for s in "lr"] for j in ("hip", "knee", "ankle"))
        self.plates = [self.m.geom(n).id for n in ("plate_left", "plate_right")]
        self.stand = FOOT + 2 * L * np.cos(BENT)
        self.straight = FOOT + 2 * L * np.cos(0.1)
        self.pose(BENT, 0.0)

    def pose(self, angle, above):
        """Sets the pose at rest, feet `above` the plates."""
        self.d.qpos[:], self.d.qvel[:] = 0, 0
        self.d.qpos[0] = FOOT + 2 * L * np.cos(angle) + above
        for s in (0, 1):
            self.d.qpos[self.hip[s]], self.d.qpos[self.knee[s]], self.d.qpos[self.ankle[s]] = -angle, 2 * angle, -angle
        mujoco.mj_forward(self.m, self.d)

    def forces(self):
        """Vertical contact force on the left and right plate."""
        out, wrench = [0.0, 0.0], np.zeros(6)
        for k in range(self.d.ncon):
            c = self.d.contact[k]
            for side, plate in enumerate(self.plates):
                if plate in (c.geom1, c.geom2):
                    mujoco.mj_contactForce(self.m, self.d, k, wrench)
                    # The first axis of the contact's frame is its normal; only the vertical part counts.
                    up = c.frame.reshape(3, 3).T @ wrench[:3]
                    out[side] += abs(up[2])
        return out

    def com(self):
        mujoco.mj_subtreeVel(self.m, self.d)
        return self.d.subtree_com[1][2], self.d.subtree_linvel[1][2]

    def drive(self, leg_force, angle, share):
        """Knees bear a wished vertical force between trunk and foot; hips and ankles keep the leg's shape."""
        d = self.d
        for s, part in ((0, 1 - share), (1, share)):
            q, w = d.qpos, d.qvel
            knee, bend = q[self.knee[s]], w[self.knee[s]]
            half = max(0.5 * knee, 0.02)
            d.qfrc_applied[self.knee[s]] = -part * leg_force * L * np.sin(half) if leg_force is not None else 60 * (2 * angle - knee) - 4 * bend
            d.qfrc_applied[self.knee[s]] += 400 * max(0.0, 0.04 - knee) - (8 * bend if knee < 0.04 else 0)
            pull = 700 if leg_force is not None else 60
            d.qfrc_applied[self.hip[s]] = pull * (-0.5 * knee - q[self.hip[s]]) - 14 * (w[self.hip[s]] + 0.5 * bend)
            lift = 350 if leg_force is not None else 25
            d.qfrc_applied[self.ankle[s]] = lift * (-0.5 * knee - q[self.ankle[s]]) - 6 * (w[self.ankle[s]] + 0.5 * bend)


def smooth(x):
    x = min(max(x, 0.0), 1.0)
    return x * x * x * (10 - 15 * x + 6 * x * x)


def simulate(seed, mass, kind, rate, bounces=0, box=0.0, depth=0.28, down=0.5, push=2.4, share=0.5, stiff=14000.0, quiet=1.8, after=1.6, air_angle=0.40):
    """Runs one scene; contact force at `rate`, the centre of mass at every step of the engine."""
    rng = np.random.default_rng(seed)
    body, weight = Body(mass), None
    weight = body.mass * G
    drop = kind.startswith("drop")
    if drop:
        body.pose(air_angle, box)
    phase, since, t, done_at, left = ("held" if drop else "stand"), 0.0, 0.0, None, bounces
    every = round(1 / (rate * DT))
    log, com = [], []
    breath = rng.uniform(0, 6.28, 2)
    low_z = met = lost = 0.0
    for k in range(int(14 / DT)):
        t = k * DT
        mujoco.mj_step1(body.m, body.d)
        z, v = body.d.qpos[0], body.d.qvel[0]
        # A foot may chatter for a step or two; only four milliseconds without contact are a take-off.
        lost = 0.0 if body.d.ncon > 0 else lost + DT
        touch = lost < 0.004
        sway = 0.0012 * np.sin(2 * np.pi * 0.31 * t + breath[0]) + 0.0003 * np.sin(2 * np.pi * 1.2 * t + breath[1])
        height = lambda target, k_, d_: max(0.0, weight * 0.971 + k_ * (target - z) - d_ * v)
        force, angle = None, air_angle
        if phase == "stand":
            force = height(body.stand + sway, 16000, 1400)
            if t > quiet:
                phase, since = ("sink" if kind == "squat" else "dip"), t
        elif phase == "sink":
            x = smooth((t - since) / 1.3)
            force = height(body.stand + sway - depth * x, 16000, 1400)
            if t - since > 3.2:
                phase, since = "push", t
        elif phase == "dip":
            # Let go, catch late: braking is the spring's own.
            fall = smooth((t - since) / (0.5 * down))
            soft = smooth((t - since) / 0.15)
            target = body.stand + sway - depth * smooth((t - since) / down)
            force = height(target, 16000 - 7000 * soft, 1400 - 750 * soft) * (1 - 0.15 * fall)
            if v > 0 and t - since > 0.6 * down:
                phase, since, low_z = "push", t, z
        elif phase == "push":
            rise = smooth((t - since) / 0.09)
            away = smooth((body.straight - z) / 0.09)  # eases off as the legs straighten
            start = 1.0 if kind == "squat" else 1.9
            force = weight * (start + (push - start) * rise) * away
            if not touch:
                phase, since = "air", t
        elif phase == "held":
            body.pose(air_angle, box)
            force = 0.0
            if t > 1.2:
                phase, since = "air", t
        elif phase == "air":
            if touch and t - since > 0.05:
                phase, since, met = ("bounce" if left > 0 else "land"), t, z
                left -= 1
        elif phase == "bounce":
            # A stiff spring that gives back more than it took.
            k_ = stiff * (1.0 if v < 0 else push)
            force = max(0.0, k_ * (met + 0.01 - z)) * smooth((t - since) / 0.003)
            if not touch and t - since > 0.05:
                phase, since = "air", t
        elif phase == "land":
            force = max(0.0, weight * 0.971 * smooth((t - since) / 0.1) + 2600 * (body.stand - z) - 620 * v)
            if t - since > 0.9:
                phase, since, done_at = "stand again", t, t
                low_z = z
        elif phase == "stand again":
            force = height(low_z + (body.stand - low_z) * smooth((t - since) / 0.5) + sway * smooth((t - since - 0.5) / 0.5), 12000, 1600)
        body.drive(force, angle, share)
        mujoco.mj_step2(body.m, body.d)
        if phase == "held":
            body.pose(air_angle, box)
        f = body.forces() if phase != "held" else [0.0, 0.0]
        com.append((t, *body.com(), f[0] + f[1]))
        log.append(f)
        if done_at is not None and t > done_at + after:
            break
    # A plate's own low-pass: each sample is the mean over its interval, centred.
    force, half = np.array(log), every // 2
    sums = np.vstack((np.zeros((1, 2)), np.cumsum(force, axis=0)))
    at = np.arange(every, len(force) - every, every)
    sampled = (sums[at + half + 1 - (every % 2 == 0)] - sums[at - half]) / every
    com = np.array(com)
    com[:, 0] -= at[0] * DT  # time runs from the file's first sample
    return body.mass, np.column_stack(((at - at[0]) * DT, sampled)), com


def truth_of(kind, mass, com):
    """What happened, from the engine's state alone."""
    t, z, v, f = com.T
    on = f > 0
    edges = plain.runs(~on)
    # Chatter of a landing foot lasts milliseconds; a flight is longer.
    air = [(a, b) for a, b in edges if (b - a) * DT > 0.08 and b < len(t)]
    out = {"kind": kind, "mass_kg": mass, "flights": []}
    for a, b in air:
        apex = z[a:b].max()
        out["flights"].append({"take_off_s": t[a], "touchdown_s": t[b], "height_m": apex - z[a], "fall_m": apex - z[b], "take_off_m_s": v[a]})
    if kind in ("countermovement", "squat"):
        a, b = air[0]
        start = np.flatnonzero(t > 1.5)[0]
        stand = z[start - round(0.5 / DT) : start].mean()
        down = start + int(np.argmin(v[start:a]))
        lowest = start + int(np.argmin(z[start:a]))
        out |= {"take_off_displacement_m": z[a] - stand}
        if kind == "countermovement":
            out |= {"peak_downward_velocity_s": t[down], "lowest_point_s": t[lowest], "depth_m": stand - z[lowest]}
            out |= {"peak_downward_velocity_m_s": -v[down]}
            power = f[lowest:a] * v[lowest:a]
            out |= {"peak_propulsion_power_w": power.max(), "mean_propulsion_force_n": f[lowest:a].mean()}
    if kind.startswith("drop"):
        out |= {"drop_m": v[air[0][1]] ** 2 / (2 * G)}
    return out


def plain_reading(kind, path):
    """What a plain script finds in the file."""
    table = pd.read_csv(path)
    time, left, right = (table[c].to_numpy(dtype=float) for c in table.columns[:3])
    rate = (len(time) - 1) / (time[-1] - time[0])
    total = left + right
    if kind in ("countermovement", "squat", "hops"):
        air = plain.flights(total, rate)
        found = plain.jump(left, right, air[0], 0, air[1][0] if len(air) > 1 else len(total), rate) if kind != "squat" else None
        if found is None:
            # A squat jump: weight from the quietest second, summed up from there.
            a, b = air[0]
            middle = slice(a + 3 * (b - a) // 10, b - 3 * (b - a) // 10)
            f = total - total[middle].mean()
            q, r, weight, _ = plain.weigh(f, 0, int(1.9 * rate), rate)
            v = cumulative_trapezoid((f[q:] - weight) / (weight / G), dx=1 / rate, initial=0)
            v -= v[: r - q].mean()
            low = np.flatnonzero(f[a - 100 : b] < 20)[0] + a - 100
            up = b - 50 + np.flatnonzero(f[b - 50 : b + 100] > 20)[0]
            flight = (up - low) / rate
            found = {"jump_height_m": v[low - q] ** 2 / (2 * G), "jump_height_flight_time_m": G * flight**2 / 8, "mass_kg": weight / G}
            found |= {"take_off_s": low / rate}
        keep = ("mass_kg", "jump_height_m", "jump_height_flight_time_m", "countermovement_depth_m", "braking_duration_s", "propulsion_duration_s")
        out = {k: found[k] for k in keep if k in found}
        if kind == "hops":
            # Each contact from the end of one flight to the beginning of the next.
            out["contacts_s"] = [(next_[0] - before[1]) / rate for before, next_ in zip(air, air[1:])]
            out["flights_s"] = [(b - a) / rate for a, b in air[1:]]
        return out
    # Drops: weight from the last second, summed up backwards from the end; threshold 20 N.
    empty = total[: int(0.9 * rate)].mean()
    f = total - empty
    weight = f[-int(rate) :].mean()
    m = weight / G
    on = plain.runs(f > 20)
    on = [(a, b) for a, b in on if b - a > 0.05 * rate]
    v = -cumulative_trapezoid(((f - weight) / m)[::-1], dx=1 / rate, initial=0)[::-1]
    out = {"mass_kg": m, "drop_m": v[on[0][0]] ** 2 / (2 * G)}
    if kind == "drop jump":
        a, b = on[0]
        out |= {"contact_s": (b - a) / rate, "jump_height_m": v[b] ** 2 / (2 * G), "jump_height_flight_time_m": G * ((on[1][0] - b) / rate) ** 2 / 8}
    return out


SCENES = [
    ("countermovement-1", dict(kind="countermovement", mass=68.0, rate=1000, push=2.3)),
    ("countermovement-2", dict(kind="countermovement", mass=91.0, rate=1000, push=2.1, depth=0.34, down=0.6, share=0.52)),
    ("countermovement-3", dict(kind="countermovement", mass=55.0, rate=500, push=2.6, depth=0.24, down=0.45)),
    ("countermovement-4", dict(kind="countermovement", mass=78.0, rate=500, push=2.0, depth=0.30, down=0.55, share=0.46)),
    ("countermovement-5", dict(kind="countermovement", mass=104.0, rate=1000, push=1.9, depth=0.26, down=0.5)),
    ("squat-1", dict(kind="squat", mass=72.0, rate=500, push=2.1, depth=0.30)),
    ("squat-2", dict(kind="squat", mass=60.0, rate=500, push=2.4, depth=0.26)),
    ("drop-jump-1", dict(kind="drop jump", after=2.8, mass=70.0, rate=1000, box=0.30, bounces=1, push=1.15)),
    ("drop-jump-2", dict(kind="drop jump", after=2.8, mass=83.0, rate=1000, box=0.40, bounces=1, push=1.0, stiff=19000.0)),
    ("drop-jump-3", dict(kind="drop jump", after=2.8, mass=58.0, rate=500, box=0.20, bounces=1, push=1.3, stiff=11000.0)),
    ("drop-landing-1", dict(kind="drop landing", after=2.8, mass=75.0, rate=500, box=0.35)),
    ("drop-landing-2", dict(kind="drop landing", after=2.8, mass=64.0, rate=500, box=0.25)),
    ("hops-1", dict(kind="hops", mass=66.0, rate=500, bounces=6, push=1.25, stiff=15000.0)),
    ("hops-2", dict(kind="hops", mass=80.0, rate=500, bounces=5, push=1.2, stiff=16000.0)),
]


def main():
    OUT.mkdir(parents=True, exist_ok=True)
    truth = {}
    wanted = sys.argv[1:]
    if wanted == ["--plain"]:
        truth = json.loads((OUT / "truth.json").read_text())
        for name, found in truth.items():
            found["plain"] = plain_reading(found["kind"], OUT / f"{name}.csv")
        rounded = json.loads(json.dumps(truth), parse_float=lambda x: round(float(x), 6))
        (OUT / "truth.json").write_text(json.dumps(rounded, indent=1) + "\n")
        return
    for seed, (name, scene) in enumerate(SCENES):
        if wanted and name not in wanted:
            continue
        mass, log, com = simulate(seed, **scene)
        rng = np.random.default_rng(1000 + seed)
        zero = rng.uniform(-4, 4, 2)
        force = log[:, 1:] + zero + rng.normal(0, 0.8, (len(log), 2))
        path = OUT / f"{name}.csv"
        with path.open("w") as file:
            file.write("time_s,left_force_N,right_force_N\n")
            for t, (l, r) in zip(log[:, 0], force):
                file.write(f"{t:.3f},{l:.1f},{r:.1f}\n")
        found = truth_of(scene["kind"], mass, com)
        found["plain"] = plain_reading(scene["kind"], path)
        truth[name] = found
        print(name, path.stat().st_size, json.dumps(found))
    rounded = json.loads(json.dumps(truth), parse_float=lambda x: round(float(x), 6))
    if not wanted:
        (OUT / "truth.json").write_text(json.dumps(rounded, indent=1) + "\n")


if __name__ == "__main__":
    main()
