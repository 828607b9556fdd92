"""Fits the polynomials of src/numeric/elliptic_fit.rs and src/numeric/lanes_fit.rs.

Run `python3 src/numeric/fit_kernels.py` (needs mpmath) in the repository's root; it writes both files and prints the
largest relative error of each fit, double rounding of the coefficients included, exact arithmetic otherwise.

Method: Chebyshev interpolation in 60 digits of (f(x) - f(0)) / x, so that the constant term is exact, turned
into powers of x and rounded to double from the highest power down.
"""

import mpmath as mp

mp.mp.dps = 60


def chebyshev_fit(f, low, high, degree):
    """Coefficients, lowest power first, of the interpolant of f at the Chebyshev points of [low, high]."""
    count = degree + 1
    half, middle = (high - low) / 2, (high + low) / 2
    nodes = [mp.cos(mp.pi * (k + mp.mpf(1) / 2) / count) for k in range(count)]
    values = [f(middle + half * t) for t in nodes]
    series = [
        (2 if j else 1) * mp.fsum(v * mp.cos(j * mp.acos(t)) for v, t in zip(values, nodes)) / count
        for j in range(count)
    ]
    # Powers of t, then of x with t = (x - middle) / half.
    before, now = [mp.mpf(1)], [mp.mpf(0), mp.mpf(1)]
    in_t = [mp.mpf(0)] * count
    for j in range(count):
        poly = before if j == 0 else now
        for power, value in enumerate(poly):
            in_t[power] += series[j] * value
        if j:
            following = [mp.mpf(0)] + [2 * value for value in now]
            for power, value in enumerate(before):
                following[power] -= value
            before, now = now, following
    in_x = [mp.mpf(0)]
    for value in reversed(in_t):
        shifted = [mp.mpf(0)] * (len(in_x) + 1)
        for power, old in enumerate(in_x):
            shifted[power] -= old * middle / half
            shifted[power + 1] += old / half
        shifted[0] += value
        in_x = shifted
    return in_x[:count]


def fit(f, at_zero, limit, degree):
    """Doubles, constant term first, and the largest relative error on 2000 points."""
    tail = chebyshev_fit(lambda x: (f(x) - at_zero) / x, mp.mpf(0), mp.mpf(limit), degree - 1)
    coefficients = [float(at_zero)] + [float(c) for c in tail]
    worst = mp.mpf(0)
    for i in range(1, 2001):
        x = mp.mpf(limit) * i / 2000
        value = mp.polyval([mp.mpf(c) for c in reversed(coefficients)], x)
        worst = max(worst, abs(value / f(x) - 1))
    return coefficients, worst


def two_k_over_pi(m):
    return 2 * mp.ellipk(m) / mp.pi


def four_d_over_pi(m):
    return 4 * (mp.ellipk(m) - mp.ellipe(m)) / (mp.pi * m)


def atanh_over(x):
    s = mp.sqrt(x)
    return mp.atanh(s) / s


def atan_over(x):
    s = mp.sqrt(x)
    return mp.atan(s) / s


def rust_array(name, doc, coefficients):
    lines = [f"/// {doc}", f"pub(crate) const {name}: [f64; {len(coefficients)}] = ["]
    lines += [f"    {c!r}," for c in coefficients]
    return "\n".join(lines + ["];", ""])


HEADER = "//! {}\n//!\n//! Written by `src/numeric/fit_kernels.py`; constant term first. The tests of `{}` re-derive the errors.\n\n"


def main():
    text = HEADER.format("Polynomials for complete elliptic integrals of small parameter.", "elliptic.rs")
    for limit, degree in [("0.06", 8), ("0.15", 10), ("0.36", 15), ("0.60", 22)]:
        for name, what, f in [
            ("KK", "2K(m)/π", two_k_over_pi),
            ("DD", "4(K(m) − E(m))/(π m)", four_d_over_pi),
        ]:
            coefficients, worst = fit(f, mp.mpf(1), limit, degree)
            label = f"{name}_TO_{limit.replace('.', '_')}"
            error = mp.nstr(worst, 2)
            print(label, degree, error)
            text += rust_array(label, f"{what} for 0 ≤ m ≤ {limit}; relative error {error}.", coefficients) + "\n"
    with open("src/numeric/elliptic_fit.rs", "w") as file:
        file.write(text.rstrip() + "\n")

    text = HEADER.format("Polynomials for the logarithm and the arc tangent.", "lanes.rs")
    # ln(y) = 2 atanh(s), s = (y-1)/(y+1), for y within 2^±0.5861; atan on [0, tan(pi/8)].
    for label, doc, f, limit, degree in [
        ("ATANH_OVER", "atanh(√x)/√x for 0 ≤ x ≤ 0.2006²", atanh_over, mp.mpf("0.2006") ** 2, 7),
        ("ATAN_OVER", "atan(√x)/√x for 0 ≤ x ≤ (√2 − 1)²", atan_over, (mp.sqrt(2) - 1) ** 2, 11),
    ]:
        coefficients, worst = fit(f, mp.mpf(1), limit, degree)
        error = mp.nstr(worst, 2)
        print(label, degree, error)
        text += rust_array(label, f"{doc}; relative error {error}.", coefficients) + "\n"
    with open("src/numeric/lanes_fit.rs", "w") as file:
        file.write(text.rstrip() + "\n")


if __name__ == "__main__":
    main()
