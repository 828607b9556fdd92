"""The map of a thick coil pair as one would write it in a notebook, beside coilwright's; both times and both errors.

    python3 benches/notebook/compare.py

Needs numpy, scipy and mpmath, and cargo for the Rust side (built in release). One core each, the best of several runs of every slice of the same
million points, of which the loops take every tenth
(rho 0 to 0.6, |z| <= 0.5, mean radius 1, sections 0.15 x 0.15 at z = -0.5 and 0.5). The notebook sums the textbook
formula, K and E by scipy, over 6 x 6 Gauss nodes a section, broadcast over loops and points in chunks. Errors are
the largest of |difference| / |B| against the same sum in 30 digits with 10 x 10 nodes, on a sample of the points.
"""

import os

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"

import subprocess
import time

import mpmath as mp
import numpy as np
from scipy.special import ellipe, ellipk

MU_0 = 1.25663706127e-6
COLUMNS = ROWS = 1000


def loops(count):
    nodes, weights = np.polynomial.legendre.leggauss(count)
    radius, height, current = [], [], []
    for z in (-0.5, 0.5):
        for u, weight_u in zip(nodes, weights):
            for v, weight_v in zip(nodes, weights):
                radius.append(1 + 0.075 * u)
                height.append(z + 0.075 * v)
                current.append(0.25 * weight_u * weight_v)
    return np.array(radius), np.array(height), np.array(current)


def notebook(rho, z):
    a, h, i = (column[:, None] for column in loops(6))
    zeta = z - h
    alpha2 = (a - rho) ** 2 + zeta**2
    beta2 = (a + rho) ** 2 + zeta**2
    m = 4 * a * rho / beta2
    k, e = ellipk(m), ellipe(m)
    front = MU_0 * i / (2 * np.pi * np.sqrt(beta2))
    with np.errstate(divide="ignore", invalid="ignore"):
        b_rho = front * zeta / rho * ((a**2 + rho**2 + zeta**2) / alpha2 * e - k)
    b_rho = np.where(rho == 0, 0.0, b_rho)
    b_z = front * ((a**2 - rho**2 - zeta**2) / alpha2 * e + k)
    return b_rho.sum(axis=0), b_z.sum(axis=0)


def exact(rho, z, rule):
    rho, z = mp.mpf(rho), mp.mpf(z)
    total = [mp.mpf(0), mp.mpf(0)]
    for centre in (mp.mpf(-1) / 2, mp.mpf(1) / 2):
        for u, weight_u in rule:
            for v, weight_v in rule:
                a, zeta = 1 + mp.mpf("0.075") * u, z - centre - mp.mpf("0.075") * v
                alpha2, beta2 = (a - rho) ** 2 + zeta**2, (a + rho) ** 2 + zeta**2
                m = 4 * a * rho / beta2
                k, e = mp.ellipk(m), mp.ellipe(m)
                front = mp.mpf(MU_0) * weight_u * weight_v / (8 * mp.pi * mp.sqrt(beta2))
                if rho:
                    total[0] += front * zeta / rho * ((a**2 + rho**2 + zeta**2) / alpha2 * e - k)
                total[1] += front * ((a**2 - rho**2 - zeta**2) / alpha2 * e + k)
    return total


def gauss(count):
    rule = []
    for k in range(count):
        x = mp.cos(mp.pi * (k + mp.mpf(3) / 4) / (count + mp.mpf(1) / 2))
        for _ in range(10):
            before, now = mp.mpf(1), x
            for n in range(2, count + 1):
                before, now = now, ((2 * n - 1) * x * now - (n - 1) * before) / n
            slope = count * (x * now - before) / (x * x - 1)
            x -= now / slope
        rule.append((x, 2 / ((1 - x * x) * slope * slope)))
    return rule


def main():
    command = ["cargo", "run", "--release", "--quiet", "--example", "notebook_map"]
    lines = subprocess.run(command, check=True, capture_output=True, text=True).stdout.split("\n")
    nanoseconds, samples, loop_samples = {}, {}, {}
    for words in map(str.split, filter(None, lines)):
        if words[0] == "sample":
            samples[int(words[1])] = [float(word) for word in words[2:]]
        elif words[0] == "loopsample":
            loop_samples[int(words[1])] = [float(word) for word in words[2:]]
        else:
            nanoseconds[words[0]] = float(words[1])

    rho = np.tile(np.arange(COLUMNS) * (0.6 / 999), ROWS)
    z = np.repeat(-0.5 + np.arange(ROWS) * (1 / 999), COLUMNS)
    few = slice(0, len(rho), 10)
    seconds, parts = 0.0, []
    for r, h in zip(np.array_split(rho[few], 100), np.array_split(z[few], 100)):
        best = np.inf
        for _ in range(5):
            start = time.perf_counter()
            part = notebook(r, h)
            best = min(best, time.perf_counter() - start)
        seconds += best
        parts.append(part)
    nanoseconds["notebook"] = seconds * 1e9 / len(rho[few])
    notebook_field = np.concatenate([np.stack(part) for part in parts], axis=1)

    mp.mp.dps = 30
    rule = gauss(10)
    worst = dict.fromkeys(["rows", "points", "loops", "notebook"], 0.0)
    chosen = sorted(set(samples) | set(loop_samples))[::16]
    for i in chosen:
        wanted = [float(value) for value in exact(rho[i], z[i], rule)]
        size = np.hypot(*wanted)
        error = lambda b_rho, b_z: float(np.hypot(b_rho - wanted[0], b_z - wanted[1]) / size)
        if i in samples:
            values = samples[i]
            worst["rows"] = max(worst["rows"], error(*values[:2]))
            worst["points"] = max(worst["points"], error(*values[2:]))
        if i in loop_samples:
            worst["loops"] = max(worst["loops"], error(*loop_samples[i]))
        if i % 10 == 0:
            worst["notebook"] = max(worst["notebook"], error(*notebook_field[:, i // 10]))
    names = {
        "notebook": "numpy and scipy, 72 loops",
        "loops": "coilwright, the same 72 loops",
        "points": "coilwright, points in any order",
        "rows": "coilwright, map by rows",
    }
    print(f"{'':34} {'ns a point':>12} {'times faster':>13} {'largest error':>14}")
    for key, name in names.items():
        ratio = nanoseconds["notebook"] / nanoseconds[key]
        print(f"{name:34} {nanoseconds[key]:12.2f} {ratio:13.1f} {worst[key]:14.1e}")


if __name__ == "__main__":
    main()
