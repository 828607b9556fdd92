// The magnetic field in the bulb. This file does not touch the document: node can run it.
//
// Each winding has a zonal series about its foot, the point of its own axis nearest to the bulb's centre:
//
//     B_along = sum b_n s_n          s_n = r^n P_n(cos angle)
//     B_across = -sum b_n/(n+1) t_n  t_n = r^(n-1) P_n'(cos angle), times the distance from the axis
//
// Lengths are in units of `scale_m`. Both families are computed upward by their recurrences.

/** Further terms are dropped once their sum is below this fraction of the field at the foot. */
const NEGLIGIBLE = 1e-12;
/** Number of steps of r squared for which the number of terms is tabulated. */
const DISTANCE_STEPS = 128;

/** One winding: its coefficients, and how many of them each distance needs. */
function coilSeries(coil) {
  const terms = Float64Array.from(coil.terms_tesla_per_ampere);
  const count = terms.length;
  const up = new Float64Array(4 * count + 4);
  for (let n = 0; n < count; n += 1) {
    const m = n + 1;
    up[4 * n] = (2 * m - 1) / m;
    up[4 * n + 1] = (m - 1) / m;
    up[4 * n + 2] = n === 0 ? 0 : (2 * m - 1) / (m - 1);
    up[4 * n + 3] = n === 0 ? 0 : m / (m - 1);
  }
  return { terms, up, foot: coil.foot_m, axis: coil.axis, scale: coil.scale_m, needed: termsNeeded(terms) };
}

/** For each step of r squared up to 1, the number of terms that matter. */
function termsNeeded(terms) {
  const least = NEGLIGIBLE * Math.abs(terms[0]);
  const needed = new Uint16Array(DISTANCE_STEPS + 1);
  for (let step = 0; step <= DISTANCE_STEPS; step += 1) {
    const r = Math.sqrt(step / DISTANCE_STEPS);
    let left = 0;
    let count = terms.length;
    while (count > 1) {
      left += Math.abs(terms[count - 1]) * Math.pow(r, count - 1) * 1.5;
      if (left > least) break;
      count -= 1;
    }
    needed[step] = count;
  }
  return needed;
}

/** Adds to `out` the field of one winding at (x, y, z), for this current. */
function addCoil(coil, current, x, y, z, out) {
  const { terms, up, foot, axis, scale } = coil;
  const u = (x - foot[0]) / scale;
  const v = (y - foot[1]) / scale;
  const w = (z - foot[2]) / scale;
  const zeta = u * axis[0] + v * axis[1] + w * axis[2];
  const r2 = u * u + v * v + w * w;
  const step = Math.min(DISTANCE_STEPS, Math.ceil(r2 * DISTANCE_STEPS));
  const count = coil.needed[step];
  let sBefore = 0;
  let s = 1;
  let tBefore = 0;
  let t = 0;
  let along = 0;
  let across = 0;
  for (let n = 0; n < count; n += 1) {
    const b = terms[n];
    along += b * s;
    across -= (b * t) / (n + 1);
    const sNext = up[4 * n] * zeta * s - up[4 * n + 1] * r2 * sBefore;
    const tNext = n === 0 ? 1 : up[4 * n + 2] * zeta * t - up[4 * n + 3] * r2 * tBefore;
    sBefore = s;
    s = sNext;
    tBefore = t;
    t = tNext;
  }
  const rest = along - zeta * across;
  out[0] += current * (u * across + axis[0] * rest);
  out[1] += current * (v * across + axis[1] * rest);
  out[2] += current * (w * across + axis[2] * rest);
}

/**
 * Returns a function that writes the field in T to `out`. Its arguments are the current in A, the room's field in T or
 * null, the point x, y, z in m, and `out`.
 *
 * Beyond `reach_m` from the bulb's centre the coils' field is that at the nearest point within. A trial step that
 * leaves the glass then still meets finite numbers.
 */
function benchField(field) {
  const coils = field.coils.map(coilSeries);
  const centre = field.centre_m;
  const reach = field.reach_m;
  return function tesla(current, room, x, y, z, out) {
    const dx = x - centre[0];
    const dy = y - centre[1];
    const dz = z - centre[2];
    const far = Math.sqrt(dx * dx + dy * dy + dz * dz);
    const shrink = far > reach ? reach / far : 1;
    out[0] = room === null ? 0 : room[0];
    out[1] = room === null ? 0 : room[1];
    out[2] = room === null ? 0 : room[2];
    if (current === 0) return out;
    for (const coil of coils) {
      addCoil(coil, current, centre[0] + dx * shrink, centre[1] + dy * shrink, centre[2] + dz * shrink, out);
    }
    return out;
  };
}
