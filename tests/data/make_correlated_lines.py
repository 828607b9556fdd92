"""Writes correlated_lines.csv: lines through points with full covariance matrices (the model of ISO/TS 28037:2010, clauses 8
to 10), minimised over the abscissas, too, by Gauss-Newton steps of 50 digits. Nothing of the program's method is used: it
builds no covariance matrix and eliminates the abscissas.

The points are those of ISO/TS 28037:2010, 7.4; the covariances are our own.
"""
import mpmath as mp

mp.mp.dps = 50
X = ["1.2", "1.9", "2.9", "4.0", "4.7", "5.9"]
Y = ["3.4", "4.4", "7.2", "8.5", "10.8", "13.5"]
UX = ["0.2"] * 6
UY = ["0.2", "0.2", "0.2", "0.4", "0.4", "0.4"]
HALVES_Y = [["0.3", "0.3", "0.3", "0", "0", "0"], ["0", "0", "0", "0.5", "0.5", "0.5"]]
ALL_X = [["0.15"] * 6]
ODD_X = [["0.25", "0", "0.25", "0", "0.25", "0"]]
CASES = {
    # name: own u of x, own u of y, correlation of both, shared errors of x, shared errors of y
    "clause 8": (UX, UY, "0.45", [], []),
    "clause 9": (["0"] * 6, UY, "0", [], HALVES_Y),
    "clause 10": (UX, UY, "0", ALL_X, HALVES_Y),
    "clause 10, own errors correlated": (UX, UY, "-0.3", ODD_X, HALVES_Y),
}


def covariance(own_x, own_y, correlation, shared_x, shared_y):
    n = len(X)
    matrix = mp.zeros(2 * n)
    for i in range(n):
        matrix[i, i] = mp.mpf(own_x[i]) ** 2 + (mp.mpf("1e-40") if own_x[i] == "0" else 0)
        matrix[n + i, n + i] = mp.mpf(own_y[i]) ** 2
        both = mp.mpf(correlation) * mp.mpf(own_x[i]) * mp.mpf(own_y[i])
        matrix[i, n + i] = matrix[n + i, i] = both
    for start, groups in [(0, shared_x), (n, shared_y)]:
        for effect in groups:
            for i in range(n):
                for j in range(n):
                    matrix[start + i, start + j] += mp.mpf(effect[i]) * mp.mpf(effect[j])
    return matrix


def fitted(matrix):
    n = len(X)
    measured = mp.matrix([mp.mpf(v) for v in X + Y])
    weight = matrix ** -1
    unknowns = mp.matrix([mp.mpf(v) for v in X] + [mp.mpf(0), mp.mpf(2)])
    for _ in range(200):
        a, b = unknowns[n], unknowns[n + 1]
        residual = mp.matrix(2 * n, 1)
        jacobian = mp.zeros(2 * n, n + 2)
        for i in range(n):
            residual[i] = measured[i] - unknowns[i]
            residual[n + i] = measured[n + i] - a - b * unknowns[i]
            jacobian[i, i] = 1
            jacobian[n + i, i] = b
            jacobian[n + i, n] = 1
            jacobian[n + i, n + 1] = unknowns[i]
        normal = jacobian.T * weight * jacobian
        step = mp.lu_solve(normal, jacobian.T * weight * residual)
        unknowns += step
        if max(abs(v) for v in step) < mp.mpf("1e-35"):
            break
    inverse = normal ** -1
    chi_square = (residual.T * weight * residual)[0]
    return (unknowns[n], unknowns[n + 1], mp.sqrt(inverse[n, n]), mp.sqrt(inverse[n + 1, n + 1]),
            inverse[n, n + 1], chi_square)


with open("correlated_lines.csv", "w") as out:
    out.write("# made by make_correlated_lines.py; source of the points: see there\n")
    out.write("case,a,b,u_a,u_b,cov,chi_square\n")
    for name, case in CASES.items():
        numbers = [mp.nstr(v, 18, strip_zeros=False, min_fixed=-30, max_fixed=30) for v in fitted(covariance(*case))]
        out.write('"%s",%s\n' % (name, ",".join(numbers)))
