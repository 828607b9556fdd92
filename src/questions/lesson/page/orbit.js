// The electron's path from the gun to its end, in SI units. This file does not touch the document: node can run it.
//
// With the path length s and the unit vector u along the path, dx/ds = u and du/ds = -(e/p) u x B. The field turns the
// momentum and does not change its size. The method is DOP853 (Hairer, Norsett, Wanner 1993, II.5 and II.6); its
// coefficients come with the page.

/** Local error allowed in one step: of the position in length units (see tracePath) and of the direction. */
const TOLERANCE = 1e-11;
/** Longest step, in length units. */
const LONGEST_STEP = 0.25;
/** Number of places in a step at which crossings are looked for. */
const PROBES = 8;

/** The electron after acceleration from rest by a voltage. */
function electronAfter(volt, constants) {
  const { elementary_charge_coulomb: e, electron_mass_kg: m, speed_of_light_m_per_s: c } = constants;
  const energy = e * volt;
  const rest = m * c * c;
  const momentum = Math.sqrt(energy * (energy + 2 * rest)) / c;
  const gamma = 1 + energy / rest;
  return {
    voltage_volt: volt,
    kinetic_energy_joule: energy,
    momentum_kg_m_per_s: momentum,
    speed_m_per_s: momentum / (gamma * m),
    lorentz_factor: gamma,
    rigidity_tesla_m: momentum / e,
  };
}

/** The gun of a tube, turned out of the beam plane by `tilt`, positive toward +z. */
function gunOf(tube, tilt) {
  const [dx, dy, dz] = tube.gun_direction;
  const flat = Math.hypot(dx, dy);
  if (flat <= 1e-9) return { exit: tube.gun_exit_m, direction: [dx, dy, dz] };
  const elevation = Math.asin(Math.max(-1, Math.min(1, dz))) + tilt;
  const cos = Math.cos(elevation);
  return { exit: tube.gun_exit_m, direction: [(dx / flat) * cos, (dy / flat) * cos, Math.sin(elevation)] };
}

/** The tube turned by half a turn about the line through the bulb's centre along its gun. */
function turnedHalfRound(tube) {
  const d = tube.gun_direction;
  const c = tube.bulb_centre_m;
  const from = [0, 1, 2].map((i) => tube.gun_exit_m[i] - c[i]);
  const along = 2 * (d[0] * from[0] + d[1] * from[1] + d[2] * from[2]);
  return { ...tube, gun_exit_m: [0, 1, 2].map((i) => c[i] + along * d[i] - from[i]) };
}

/** A measure of the distance to the gun's body, a cylinder behind the exit: zero on its surface, negative inside. */
function distanceToBody(gun, body, x, y, z) {
  const fx = x - gun.exit[0];
  const fy = y - gun.exit[1];
  const fz = z - gun.exit[2];
  const d = gun.direction;
  const ahead = fx * d[0] + fy * d[1] + fz * d[2];
  const aside = Math.hypot(fx - d[0] * ahead, fy - d[1] * ahead, fz - d[2] * ahead);
  return Math.max(aside - body.radius_m, ahead, -ahead - body.length_m);
}

/** One trial step from `state`, whose slope is stages[0]. Fills `end` and the other stages. */
function trialStep(tableau, slope, state, stages, length, at, end) {
  const rows = tableau.a;
  for (let stage = 1; stage <= 12; stage += 1) {
    const target = stage === 12 ? end : at;
    blend(rows[stage], stages, state, length, target);
    slope(target, stages[stage]);
  }
}

/** target = state + length * (weights . stages). */
function blend(row, stages, state, length, target) {
  for (let k = 0; k < 6; k += 1) {
    let sum = 0;
    for (let i = 0; i < row.length; i += 2) sum += row[i + 1] * stages[row[i]][k];
    target[k] = state[k] + length * sum;
  }
}

/** Estimated local error, as root mean square, divided by the allowed one. */
function errorOf(tableau, stages, state, end, length) {
  let fifth = 0;
  let third = 0;
  for (let k = 0; k < 6; k += 1) {
    const scale = TOLERANCE * (1 + Math.max(Math.abs(state[k]), Math.abs(end[k])));
    let five = 0;
    let three = 0;
    for (let i = 0; i < tableau.e5.length; i += 2) five += tableau.e5[i + 1] * stages[tableau.e5[i]][k];
    for (let i = 0; i < tableau.e3.length; i += 2) three += tableau.e3[i + 1] * stages[tableau.e3[i]][k];
    fifth += (five / scale) ** 2 / 6;
    third += (three / scale) ** 2 / 6;
  }
  if (fifth === 0 && third === 0) return 0;
  return (Math.abs(length) * fifth) / Math.sqrt(fifth + 0.01 * third);
}

/** The seventh-order interpolating polynomial of a step, as a function that fills a state. */
function denseStep(tableau, slope, stages, state, end, length) {
  const at = new Float64Array(6);
  for (let stage = 13; stage < 16; stage += 1) {
    blend(tableau.a[stage], stages, state, length, at);
    slope(at, stages[stage]);
  }
  const parts = Array.from({ length: 7 }, () => new Float64Array(6));
  for (let k = 0; k < 6; k += 1) {
    const change = end[k] - state[k];
    const first = stages[0][k] * length;
    const last = stages[12][k] * length;
    parts[0][k] = change;
    parts[1][k] = first - change;
    parts[2][k] = 2 * change - (last + first);
    tableau.d.forEach((row, j) => {
      let sum = 0;
      for (let i = 0; i < row.length; i += 2) sum += row[i + 1] * stages[row[i]][k];
      parts[3 + j][k] = sum * length;
    });
  }
  const start = Float64Array.from(state);
  return (share, out) => {
    for (let k = 0; k < 6; k += 1) {
      let sum = 0;
      for (let j = 6; j >= 0; j -= 1) sum = (sum + parts[j][k]) * (j % 2 === 0 ? share : 1 - share);
      out[k] = start[k] + sum;
    }
    return out;
  };
}

/**
 * The fraction of a step at which a function of the state is zero, found by bisection between two fractions at which it
 * has opposite signs.
 */
function rootOf(value, low, high) {
  let a = low;
  let b = high;
  let fa = value(a);
  for (let i = 0; i < 60 && b - a > 1e-14; i += 1) {
    const middle = 0.5 * (a + b);
    const f = value(middle);
    if (f === 0) return middle;
    if (f > 0 === fa > 0) {
      a = middle;
      fa = f;
    } else {
      b = middle;
    }
  }
  return 0.5 * (a + b);
}

/**
 * Follows the electron. `options`: `bulb` {centre, radius} or null, `body` of the gun or null, and `half`: whether the
 * path ends at the crossing opposite the gun.
 *
 * Returns the crossings {opposite, turn}, `halt` (gone_round, bulb, gun, length_limit), `end`, and `points` to draw,
 * each [x, y, z, path length]. Returns `null` if the path cannot be followed.
 */
function tracePath(tesla, tableau, electron, gun, options) {
  const field = new Float64Array(3);
  const [ex, ey, ez] = gun.exit;
  tesla(ex, ey, ez, field);
  const strength = Math.hypot(field[0], field[1], field[2]);
  const radius = electron.rigidity_tesla_m / strength;
  const unit = Math.min(radius, options.bulb === null ? Infinity : 2 * options.bulb.radius);
  if (!(unit > 0 && Number.isFinite(unit))) return null;
  const turning = -unit / electron.rigidity_tesla_m;
  const slope = (state, out) => {
    tesla(ex + state[0] * unit, ey + state[1] * unit, ez + state[2] * unit, field);
    const [u, v, w] = [state[3], state[4], state[5]];
    out[0] = u;
    out[1] = v;
    out[2] = w;
    out[3] = turning * (v * field[2] - w * field[1]);
    out[4] = turning * (w * field[0] - u * field[2]);
    out[5] = turning * (u * field[1] - v * field[0]);
  };
  const flat = Math.hypot(gun.direction[0], gun.direction[1]);
  const across = flat > 1e-9 ? [gun.direction[0] / flat, gun.direction[1] / flat] : [0, 0];
  const events = eventsOf(gun, options, unit, across);
  return follow(slope, tableau, gun, unit, events);
}

/** The events to watch: a function of the state, the sign that it must reach, and whether the event ends the path. */
function eventsOf(gun, options, unit, across) {
  const [ex, ey, ez] = gun.exit;
  const ahead = (s) => s[0] * across[0] + s[1] * across[1];
  const events = [
    { name: "opposite", of: ahead, to: -1, ends: options.half === true },
    { name: "turn", of: ahead, to: 1, ends: true },
  ];
  const { bulb, body } = options;
  if (bulb !== null) {
    const outside = (s) =>
      ((ex + s[0] * unit - bulb.centre[0]) ** 2 +
        (ey + s[1] * unit - bulb.centre[1]) ** 2 +
        (ez + s[2] * unit - bulb.centre[2]) ** 2) /
        (bulb.radius * bulb.radius) -
      1;
    events.push({ name: "bulb", of: outside, to: 1, ends: true });
    if (body !== null) {
      const beside = (s) => distanceToBody(gun, body, ex + s[0] * unit, ey + s[1] * unit, ez + s[2] * unit) / unit;
      events.push({ name: "gun", of: beside, to: -1, ends: false });
    }
  }
  return events;
}

/** Integrates the path step by step. */
function follow(slope, tableau, gun, unit, events) {
  const state = Float64Array.from([0, 0, 0, ...gun.direction]);
  const stages = Array.from({ length: 16 }, () => new Float64Array(6));
  const at = new Float64Array(6);
  const end = new Float64Array(6);
  const signs = events.map((event) => Math.sign(event.of(state)));
  const hits = [];
  const points = [[gun.exit[0], gun.exit[1], gun.exit[2], 0]];
  const place = (s, arc) => [gun.exit[0] + s[0] * unit, gun.exit[1] + s[1] * unit, gun.exit[2] + s[2] * unit, arc * unit];
  let arc = 0;
  let length = 0.05;
  let stopped = null;
  slope(state, stages[0]);
  for (let step = 0; step < 20000 && stopped === null && arc < 80; step += 1) {
    trialStep(tableau, slope, state, stages, length, at, end);
    const error = errorOf(tableau, stages, state, end, length);
    if (!(error <= 1)) {
      length *= Number.isFinite(error) ? Math.max(0.333, 0.9 * Math.pow(error, -0.125)) : 0.1;
      if (length < 1e-12) return null;
      continue;
    }
    const dense = denseStep(tableau, slope, stages, state, end, length);
    const found = hitsOf(events, signs, dense, { tableau, slope, stages, state, end, length });
    for (const hit of found) {
      hits.push({ name: hit.name, arc: arc + hit.share * length, state: hit.state });
      if (hit.ends) {
        stopped = hits[hits.length - 1];
        break;
      }
    }
    const last = stopped === null ? 1 : (stopped.arc - arc) / length;
    for (let i = 1; i <= PROBES; i += 1) {
      const share = i / PROBES;
      if (share < last) points.push(place(dense(share, at), arc + share * length));
    }
    if (stopped === null) {
      arc += length;
      state.set(end);
      stages[0].set(stages[12]);
      length = Math.min(LONGEST_STEP, length * Math.min(6, Math.max(0.333, 0.9 * Math.pow(Math.max(error, 1e-16), -0.125))));
    }
  }
  return ended(hits, stopped, points, place, { state, arc });
}

/** The crossings in one step, in order. Each is found on the polynomial and refined with steps of the method itself. */
function hitsOf(events, signs, dense, step) {
  const found = [];
  const at = new Float64Array(6);
  events.forEach((event, index) => {
    const value = (share) => event.of(dense(share, at));
    for (let probe = 1; probe <= PROBES; probe += 1) {
      const share = probe / PROBES;
      const reached = Math.sign(probe === PROBES ? event.of(step.end) : value(share));
      const now = reached === 0 ? -signs[index] : reached;
      if (now === event.to && signs[index] !== 0 && now !== signs[index]) {
        const rough = rootOf(value, (probe - 1) / PROBES, share);
        found.push({ ...sharpened(event, rough, dense, step), name: event.name, ends: event.ends });
      }
      signs[index] = now;
    }
  });
  return found.sort((a, b) => a.share - b.share);
}

/** Refines a crossing by Newton steps; each evaluates the event after a step of the method from the step's start. */
function sharpened(event, rough, dense, step) {
  const { tableau, slope, state, length } = step;
  const at = new Float64Array(6);
  const stages = Array.from({ length: 16 }, () => new Float64Array(6));
  stages[0].set(step.stages[0]);
  const exact = (share) => {
    const end = new Float64Array(6);
    trialStep(tableau, slope, state, stages, length * share, at, end);
    return { share, state: end, off: event.of(end) };
  };
  const rate = (event.of(dense(rough + 1e-4, at)) - event.of(dense(rough - 1e-4, at))) / 2e-4;
  let best = exact(rough);
  for (let i = 0; i < 3; i += 1) {
    const next = best.share - best.off / rate;
    if (!(Math.abs(next - rough) <= 0.01) || next === best.share) break;
    const trial = exact(next);
    if (!(Math.abs(trial.off) < Math.abs(best.off))) break;
    best = trial;
  }
  return best;
}

/** The result of a path. A beam that meets the gun's body ends there, whatever crossings were found beyond it. */
function ended(hits, stopped, points, place, here) {
  const first = (name) => hits.find((hit) => hit.name === name);
  const struck = first("gun");
  const last = struck ?? stopped ?? { name: "length_limit", ...here };
  const halt = { gun: "gun", bulb: "bulb", turn: "gone_round", opposite: "gone_round" }[last.name] ?? "length_limit";
  const opposite = first("opposite");
  const end = place(last.state, last.arc);
  const drawn = points.filter((point) => point[3] < end[3]);
  drawn.push(end);
  const turn = first("turn");
  return {
    halt,
    end,
    points: drawn,
    opposite: opposite !== undefined && opposite.arc <= last.arc ? place(opposite.state, opposite.arc) : null,
    turn: turn === undefined ? null : place(turn.state, turn.arc),
  };
}

/** Half the distance from the gun to the opposite crossing, seen along the axis. */
function readRadius(gun, opposite) {
  return opposite === null ? null : 0.5 * Math.hypot(opposite[0] - gun.exit[0], opposite[1] - gun.exit[1]);
}

/**
 * A bench that computes orbits. `data` is the record that the page carries.
 *
 * `orbit(setting)` takes gun_voltage_volt, current_ampere, gun_tilt_rad (0), with_room (true) and tube_turned (false).
 * It returns values under the names of `orbit --json`, and `points` to draw. It throws a RangeError if a setting makes
 * no beam.
 */
function makeBench(data) {
  const tesla = benchField(data.field);
  const tubes = [data.tube, turnedHalfRound(data.tube)];
  const bulb = { centre: data.tube.bulb_centre_m, radius: data.tube.bulb_radius_m };
  const body = data.gun_body;
  const roomOf = (withRoom) => (withRoom ? data.room_tesla : null);

  function orbit(setting) {
    const { gun_voltage_volt: shown, current_ampere: current } = setting;
    const tilt = setting.gun_tilt_rad ?? 0;
    const beam = shown - data.tube.gun_voltage_offset_volt;
    const right = Number.isFinite(shown) && beam > 0 && beam <= 100e3;
    if (!right || !Number.isFinite(current) || !(Math.abs(tilt) <= Math.PI / 2)) {
      throw new RangeError("this setting makes no beam");
    }
    const electron = electronAfter(beam, data.constants);
    const room = roomOf(setting.with_room ?? true);
    const gun = gunOf(tubes[setting.tube_turned === true ? 1 : 0], tilt);
    const field = (x, y, z, out) => tesla(current, room, x, y, z, out);
    const path = tracePath(field, data.tableau, electron, gun, { bulb, body, half: false });
    if (path === null) throw new RangeError("this beam cannot be followed");
    const read = readRadius(gun, path.opposite);
    const [turn, whole] = path.turn === null ? [path.opposite, false] : [path.turn, true];
    const times = whole ? 1 : 2;
    const scale = read === null ? null : read * data.reading.magnification;
    return {
      ...electron,
      gun_voltage_volt: shown,
      beam_voltage_volt: beam,
      current_ampere: current,
      gun_tilt_rad: tilt,
      centre_field_tesla: data.field_constant_tesla_per_ampere * current,
      read_radius_m: read,
      scale_radius_m: scale,
      scale_diameter_m: scale === null ? null : 2 * scale,
      pitch_m: turn === null ? null : times * (turn[2] - gun.exit[2]),
      period_s: turn === null ? null : (times * turn[3]) / electron.speed_m_per_s,
      whole_turn: whole,
      opposite_crossing_m: path.opposite === null ? null : path.opposite.slice(0, 3),
      halt: path.halt,
      strikes: strikeOf(path),
      points: path.points,
      gun,
    };
  }

  function strikeOf(path) {
    if (path.halt !== "bulb" && path.halt !== "gun") return null;
    return { what: path.halt, x_m: path.end[0], y_m: path.end[1], z_m: path.end[2] };
  }

  return { orbit, tesla, tubes, bulb, data };
}
