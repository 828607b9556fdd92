#!/usr/bin/env python3
"""What a field meter's gain does to k and B0 of a fitted line, by sampling the measurement itself (numpy; a few seconds).

Nothing of a budget is used. Each sample is one calibration of a pair whose true k and room field R are known, by meters that are
off by errors drawn from their stated limits, and one lesson with an ammeter of the same kind. The line is fitted by ordinary
least squares, and what is left between result and truth is the error whose spread is the standard uncertainty.

Calibration: 16 readings, +-0.6, +-1.2, +-1.8, +-2.4 A, the probe along +z and turned round.

    ammeter before the reversal:  |shown| = (1 + a) |I| + o      a +-0.02 %, o +-1 mA (one digit of 1 mA), rectangular
    its rounding:                 +-0.5 mA for each reading, rectangular
    field meter:                  shown = (1 + g) d (k I + R) + z + e      g +-5 %, rectangular; z cancels; e normal, 1.5 uT
    coils:                        k of the day = k (1 + w t), w = -7.072e-6 /K, t +-40 K, rectangular

Truth: k = 0.8436 mT/A, R = 45 uT. Lesson: an ammeter of its own with the same limits, the coils at t = 0.

With `combined`, k is the mean of the fitted slope and of one computed from the geometry, off by a normal error of 11.52 uT/A,
weighted by 1/u^2; B0 is the fitted one.

It prints, for k of the fit and for the combined k: u(B0), u(k), their covariance and correlation, and twice the standard
uncertainty of k I + B0 at 0.1 A and 1 A.
"""

import numpy as np

K, ROOM, SAMPLES = 0.8436e-3, 45e-6, 400_000
random = np.random.default_rng(20260301)


def within(limit, *more):
    return random.uniform(-limit, limit, (SAMPLES, *more))


currents = np.array([-2.4, -1.8, -1.2, -0.6, 0.6, 1.2, 1.8, 2.4] * 2)
probe = np.repeat([1.0, -1.0], 8)
gain, ammeter_gain, ammeter_zero = within(0.05), within(2e-4), within(1e-3)
warmth = 1 - 7.072e-6 * within(40.0)

# What is set is what the ammeter shows; the current that flows is another.
shown = np.abs(currents) + within(0.5e-3, 16)
flowing = np.sign(currents) * (shown - ammeter_zero[:, None]) / (1 + ammeter_gain[:, None])
field = (1 + gain[:, None]) * probe * (K * warmth[:, None] * flowing + ROOM) + random.normal(0, 1.5e-6, (SAMPLES, 16))

# shown = k (d I) + B0 d + zero: three unknowns, the same matrix for every sample.
matrix = np.stack([probe * currents, probe, np.ones(16)], axis=1)
slope, room, _ = np.linalg.lstsq(matrix, field.T, rcond=None)[0]

# The lesson: what its ammeter shows is x, what flows is less by its errors.
lesson_gain, lesson_zero = within(2e-4), within(1e-3)
computed = (K + random.normal(0, 11.52e-6, SAMPLES)) * warmth
weight = slope.var() ** -1 / (slope.var() ** -1 + 11.52e-6**-2)
for name, k in [("fit", slope), ("combined", weight * slope + (1 - weight) * computed)]:
    u_room, u_slope = room.std(), k.std()
    covariance = np.cov(k, room)[0, 1]
    correlation = covariance / u_room / u_slope
    told = [f"u(B0) {1e6 * u_room:.4f} uT", f"u(k) {1e6 * u_slope:.4f} uT/A"]
    told += [f"cov {covariance:.4e} T2/A", f"r {correlation:.4f}"]
    for x in (0.1, 1.0):
        true = K * (x - lesson_zero) / (1 + lesson_gain) + ROOM
        told.append(f"U({x} A) {2e6 * (k * x + room - true).std():.4f} uT")
    print(f"{name}: " + ", ".join(told))
