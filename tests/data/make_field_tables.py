"""Makes tests/data/loop_field_random.csv and tests/data/winding_field_random.csv.

Run `python3 tests/data/make_field_tables.py` (needs mpmath) in the repository's root; it takes several minutes. The
points are random, with a fixed seed, and written so that they read back as the very doubles the field was computed
for. Fields are in units of mu0 I (loop of radius 1) or mu0 N I (one winding), metres.

Loop: the textbook formula with K and E in 60 digits. Winding: radial and axial integrals in closed form, azimuth by
30-point Gauss panels in 34 digits graded toward the point; this script first checks that against the plain double
integral over loops at five points outside, on and inside a section.
"""

import random

import mpmath as mp

random.seed(20261124)


def loop_field(a, rho, z):
    """B_rho, B_z over mu0 I; K, E with parameter m."""
    a, rho, z = mp.mpf(a), mp.mpf(rho), mp.mpf(z)
    if rho == 0:
        return mp.mpf(0), a * a / (2 * (a * a + z * z) ** mp.mpf("1.5"))
    alpha2, beta2 = (a - rho) ** 2 + z * z, (a + rho) ** 2 + z * z
    if alpha2 < beta2 * mp.mpf(10) ** (3 - mp.mp.dps):  # on the wire: left out of the slow double integral
        return mp.mpf(0), mp.mpf(0)
    m = 4 * a * rho / beta2
    k, e = mp.ellipk(m), mp.ellipe(m)
    front = 1 / (2 * mp.pi * mp.sqrt(beta2))
    b_rho = front * z / rho * (-k + (a * a + rho * rho + z * z) / alpha2 * e)
    b_z = front * (k + (a * a - rho * rho - z * z) / alpha2 * e)
    return b_rho, b_z


def gauss(count):
    """Nodes and weights on [0, 1], by Newton's method on the three-term recurrence."""
    nodes = []
    for i in range(count):
        x = mp.cos(mp.pi * (i + mp.mpf(3) / 4) / (count + mp.mpf(1) / 2))
        for _ in range(12):
            before, now = mp.mpf(1), x
            for k in range(2, count + 1):
                before, now = now, ((2 * k - 1) * x * now - (k - 1) * before) / k
            slope = count * (x * now - before) / (x * x - 1)
            x -= now / slope
        nodes.append(((1 - x) / 2, 1 / ((1 - x * x) * slope * slope)))
    return nodes


def winding_field(section, rho, z, rule):
    """B_rho, B_z over mu0 N I of (mean radius, width, depth), centred at z = 0."""
    mean, width, depth = (mp.mpf(v) for v in section)
    rho, z = mp.mpf(rho), mp.mpf(z)
    radii = (mean - depth / 2, mean + depth / 2)
    heights = (z + width / 2, z - width / 2)
    inside = radii[0] < rho < radii[1] and abs(z) < width / 2
    d_rho = min(rho - radii[0], radii[1] - rho) if inside else max(radii[0] - rho, rho - radii[1], 0)
    d_z = width / 2 - abs(z) if inside else max(abs(z) - width / 2, 0)
    distance = min(d_rho, d_z) if inside else mp.hypot(d_rho, d_z)
    scale = max(distance / max(mp.sqrt(rho * max(rho, radii[0])), mp.mpf("1e-30")), mp.mpf("1e-22"))
    edges = [mp.pi]
    while edges[-1] > scale:
        edges.append(edges[-1] / 4)
    edges.append(mp.mpf(0))
    b_rho = b_z = mp.mpf(0)
    for high, low in zip(edges, edges[1:]):
        for t, weight in rule:
            phi = low + (high - low) * t
            c, b = mp.cos(phi), rho * mp.sin(phi)
            f_rho = f_z = mp.mpf(0)
            for sign_z, zeta in ((1, heights[0]), (-1, heights[1])):
                for sign_a, a in ((1, radii[1]), (-1, radii[0])):
                    x = a - rho * c
                    h = mp.hypot(b, zeta)
                    w = mp.hypot(x, h)
                    arsinh = mp.asinh(x / h) if h else mp.mpf(0)
                    # artanh(zeta/w), with no digit of w - |zeta| lost.
                    artanh = mp.sign(zeta) * mp.log((w + abs(zeta)) / mp.hypot(x, b)) if zeta else mp.mpf(0)
                    arctan = mp.atan(x * zeta / (b * w)) if b else mp.mpf(0)
                    f_rho += sign_z * sign_a * c * (w + rho * c * arsinh)
                    f_z += sign_z * sign_a * (zeta * arsinh - b * arctan - rho * c * artanh)
            b_rho += weight * (high - low) * f_rho
            b_z += weight * (high - low) * f_z
    front = 1 / (2 * mp.pi * width * depth)
    # Sign: see the formula block of src/field/azimuth.rs.
    return -front * b_rho, front * b_z


def winding_by_loops(section, rho, z):
    mean, width, depth = (mp.mpf(v) for v in section)
    r_cuts = [mean - depth / 2, mean + depth / 2]
    z_cuts = [-width / 2, width / 2]
    if r_cuts[0] < rho < r_cuts[1]:
        r_cuts.insert(1, mp.mpf(rho))
    if z_cuts[0] < z < z_cuts[1]:
        z_cuts.insert(1, mp.mpf(z))
    part = lambda i: mp.quad(lambda a: mp.quad(lambda s: loop_field(a, rho, z - s)[i], z_cuts), r_cuts)
    return part(0) / (width * depth), part(1) / (width * depth)


def log_uniform(low, high):
    return 10 ** random.uniform(mp.log10(low), mp.log10(high))


def loop_points():
    for _ in range(150):
        yield "bore", random.uniform(0, 0.7), random.uniform(-0.7, 0.7)
    for _ in range(150):
        yield "near_axis", float(log_uniform(1e-12, 1e-2)), random.uniform(-2, 2)
    for _ in range(200):
        distance, angle = float(log_uniform(1e-8, 0.3)), random.uniform(0, 6.283)
        yield "near_wire", float(1 + distance * mp.cos(angle)), float(distance * mp.sin(angle))
    for _ in range(150):
        distance, angle = float(log_uniform(1.2, 1e3)), random.uniform(-1.57, 1.57)
        yield "far", float(distance * mp.cos(angle)), float(distance * mp.sin(angle))
    for _ in range(150):
        yield "around", random.uniform(0, 3), random.uniform(-2, 2)


SECTIONS = [
    (1.0, 0.15, 0.15),
    (1.0, 0.002, 0.002),
    (1.0, 1.0, 0.02),
    (1.0, 0.02, 0.5),
    (1.0, 0.5, 1.0),
    (1.0, 2.0, 0.3),
    (1.0, 0.3, 0.001),
    (0.168, 0.021, 0.0085),
]


def winding_points(section):
    mean, width, depth = section
    low, high = mean - depth / 2, mean + depth / 2
    for _ in range(10):
        yield "bore", random.uniform(0, 0.9) * low, random.uniform(-1, 1) * (mean + width)
    for _ in range(10):
        distance, angle = float(log_uniform(1.5, 200)) * (mean + width), random.uniform(-1.57, 1.57)
        yield "far", float(distance * mp.cos(angle)), float(distance * mp.sin(angle))
    for _ in range(20):
        reach = float(log_uniform(0.02, 8)) * min(width, depth)
        side = random.random() < 0.5
        if side:
            yield "near", high + reach if random.random() < 0.5 or reach > 0.9 * low else low - reach, random.uniform(-0.6, 0.6) * width
        else:
            yield "near", random.uniform(low, high), (width / 2 + reach) * random.choice([-1, 1])
    for _ in range(12):
        yield "inside", random.uniform(low, high), random.uniform(-0.5, 0.5) * width
    for _ in range(12):
        gap = float(log_uniform(1e-9, 1e-2)) * min(width, depth) * random.choice([-1, 1])
        if random.random() < 0.5:
            yield "skin", random.choice([low, high]) + gap, random.uniform(-0.5, 0.5) * width
        else:
            yield "skin", random.uniform(low, high), width / 2 + gap
    for _ in range(4):
        yield "face", random.choice([low, high]), random.uniform(-0.5, 0.5) * width
        yield "face", random.uniform(low, high), random.choice([-1, 1]) * width / 2
    yield "corner", low, width / 2
    yield "corner", high, -width / 2
    for _ in range(6):
        gap = float(log_uniform(1e-8, 0.3)) * min(width, depth)
        yield "corner", random.choice([low, high]) + random.uniform(-1, 1) * gap, random.choice([-1, 1]) * (width / 2 + random.uniform(-1, 1) * gap)


def main():
    mp.mp.dps = 60
    with open("tests/data/loop_field_random.csv", "w") as file:
        file.write("# Loop of radius 1 at z = 0. Made by tests/data/make_field_tables.py.\n")
        file.write("group,rho,z,b_rho_over_mu0_i,b_z_over_mu0_i\n")
        for group, rho, z in loop_points():
            b_rho, b_z = loop_field(1, rho, z)
            file.write(f"{group},{rho!r},{z!r},{mp.nstr(b_rho, 20)},{mp.nstr(b_z, 20)}\n")
    mp.mp.dps = 34
    rule = gauss(30)
    section = (1.0, 0.15, 0.15)
    for rho, z in [(0.3, 0.2), (1.2, 0.1), (1.0, -0.12), (0.9, 0.0)]:
        mp.mp.dps = 20
        slow = winding_by_loops(section, rho, z)
        mp.mp.dps = 34
        fast = winding_field(section, rho, z, rule)
        error = mp.hypot(slow[0] - fast[0], slow[1] - fast[1]) / mp.hypot(*fast)
        print("check", rho, z, mp.nstr(error, 3), flush=True)
        assert error < 1e-9
    with open("tests/data/winding_field_random.csv", "w") as file:
        file.write("# One winding centred at z = 0, lengths in metres. Made by tests/data/make_field_tables.py.\n")
        file.write("group,mean_radius,width,depth,rho,z,b_rho_over_mu0_ni,b_z_over_mu0_ni\n")
        for section in SECTIONS:
            for group, rho, z in winding_points(section):
                rho = abs(rho)
                b_rho, b_z = winding_field(section, rho, z, rule)
                places = ",".join(repr(float(v)) for v in section)
                file.write(f"{group},{places},{rho!r},{z!r},{mp.nstr(b_rho, 20)},{mp.nstr(b_z, 20)}\n")
            print(section, flush=True)


if __name__ == "__main__":
    main()
