#!/usr/bin/env python3
"""The mass calibration of JCGM 101:2008, 9.3, by quadrature instead of sampling (mpmath; about two minutes).

The model (9.3.1.3): a weight W of nominal 100 g against a reference weight R; the deviation of W's conventional mass
from nominal, in mg, is

    dm = (m_R + d)(1 + (a - 1.2)(1/rho_W - 1/rho_R)) - 100 000

with m_R - 100 000 mg normal (0, 0.050 mg), d normal (1.234 mg, 0.020 mg), air density a rectangular in 1.10 to
1.30 kg/m3, densities rho_W rectangular in 7000 to 9000 and rho_R in 7950 to 8050 kg/m3 (table 5).

The factor m_R + d in front of the buoyancy is 100 000 mg to 1e-5, so dm = 1.234 + N + P with N normal and
P = 1e5 (a - 1.2)(1/rho_W - 1/rho_R). For given densities P is rectangular, and N + P has a distribution function in
closed form; the mean of that over both densities is the distribution function of dm, which is symmetric.

It prints: u of dm, the half width of its 95 % interval, and u by the second-order terms of JCGM 100:2008, 5.1.2 note.
"""

from mpmath import findroot, mp, mpf, ncdf, npdf, quad, sqrt

mp.dps = 15
normal = sqrt(mpf("0.05") ** 2 + mpf("0.02") ** 2)


def mean_over_densities(value):
    """The mean of value(1/rho_W - 1/rho_R)."""

    def over_reference(weight):
        inside = [weight] if 7950 < weight < 8050 else []
        return quad(lambda reference: value(1 / weight - 1 / reference), [7950, *inside, 8050]) / 100

    return quad(over_reference, [7000, 7500, 7950, 8000, 8050, 8500, 9000]) / 2000


def below(offset, difference):
    """The probability that N + P stays below an offset for one difference of 1/rho."""
    half = abs(1e4 * difference)
    if half < 1e-8:
        return ncdf(offset / normal)

    def integral(x):
        return x * ncdf(x) + npdf(x)

    ends = (offset + half) / normal, (offset - half) / normal
    return normal * (integral(ends[0]) - integral(ends[1])) / (2 * half)


u = sqrt(normal**2 + mean_over_densities(lambda difference: (1e4 * difference) ** 2 / 3))
half = findroot(
    lambda offset: mean_over_densities(lambda difference: below(offset, difference)) - mpf("0.975"),
    (0.149, 0.151),
    solver="secant",
    tol=1e-10,
)
mixed = [1e5 / 8000**2 * 0.1 / sqrt(3) * limit / sqrt(3) for limit in (1000, 50)]
second_order = sqrt(normal**2 + mixed[0] ** 2 + mixed[1] ** 2)
print(f"u {float(u):.7f} mg")
print(f"95 % within {float(half):.7f} mg of 1.234 mg")
print(f"u by second order {float(second_order):.7f} mg, by first order {float(normal):.7f} mg")
