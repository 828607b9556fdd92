// e/m from the class's runs, by the estimator of `weigh`. This file does not touch the document: node can run it.
//
// The field of a run is B = k I at its current, times the ratio of its circle's effective field to the centre field.
// That ratio is found from the integrated path, room field included. e/m minimises the sum of ((radius read - radius of
// the model)/u)^2. So does the room's axial field b if there are runs in both current directions:
//
//     r = theta sqrt(2 V + V^2/(theta c)^2) / (B + s b),   theta = 1/sqrt(e/m), s the sign of the coils' field
//
// Uncertainties that all runs share (line, meters, room) are added once. The search of `weigh` for faults is not made
// here.

/** Whether the circle of a signed radius, negative for negative current, lies inside the bulb. */
function circleFits(tube, bulb, radius) {
  const d = tube.gun_direction;
  const flat = Math.hypot(d[0], d[1]);
  const towards = flat > 1e-12 ? [-d[1] / flat, d[0] / flat] : [0, 0];
  const x = tube.gun_exit_m[0] + towards[0] * radius - bulb.centre[0];
  const y = tube.gun_exit_m[1] + towards[1] * radius - bulb.centre[1];
  const z = tube.gun_exit_m[2] - bulb.centre[2];
  return Math.hypot(x, y, z) + Math.abs(radius) < bulb.radius;
}

/** Radius of the largest circle in the bulb at positive (side 1) or negative (side -1) current. */
function largestRadius(tube, bulb, side) {
  const d = tube.gun_direction;
  const flat = Math.hypot(d[0], d[1]);
  const x = tube.gun_exit_m[0] - bulb.centre[0];
  const y = tube.gun_exit_m[1] - bulb.centre[1];
  const z = tube.gun_exit_m[2] - bulb.centre[2];
  const section = Math.sqrt(Math.max(0, bulb.radius ** 2 - z ** 2));
  const along = (side * (-d[1] * x + d[0] * y)) / flat;
  return (section ** 2 - x * x - y * y) / (2 * (section + along));
}

/**
 * The effective field of a circle: the uniform field along z for which the beam has the same distance, twice `radius`,
 * from the gun to the opposite crossing as in `field`. `null` if no beam comes round.
 */
function effectiveField(field, tableau, gun, radius, guess, reach, constants) {
  const electron = electronAfter(100, constants);
  const rigidity = electron.rigidity_tesla_m * Math.hypot(gun.direction[0], gun.direction[1]);
  let effective = Math.abs(guess);
  for (let round = 0; round < 40; round += 1) {
    const scale = rigidity / (effective * radius);
    const scaled = (x, y, z, out) => {
      field(x, y, z, out);
      out[0] *= scale;
      out[1] *= scale;
      out[2] *= scale;
    };
    const path = tracePath(scaled, tableau, electron, gun, { bulb: null, body: null, half: true });
    const read = path === null ? null : readRadius(gun, path.opposite);
    if (read === null) return null;
    const excess = read / radius;
    effective /= excess;
    if (Math.abs(excess - 1) < 1e-10) return path.points.every((point) => reach(point)) ? effective : null;
  }
  return null;
}

/** Reduces runs for one bench. Circles are remembered, because integrating them takes long. */
function makeReduction(bench) {
  const { data, tesla, tubes, bulb } = bench;
  const c = data.constants.speed_of_light_m_per_s;
  const slope = Math.abs(data.line.slope_tesla_per_ampere);
  const constant = data.field_constant_tesla_per_ampere;
  const offset = data.tube.gun_voltage_offset_volt;
  const remembered = new Map();
  const centre = data.field.centre_m;
  const within = (p) =>
    Math.hypot(p[0] - centre[0], p[1] - centre[1], p[2] - centre[2]) <= data.field.reach_m;

  /**
   * A circle's ratio of effective field to centre field, with the tube's position. `null` if the beam does not come
   * round.
   */
  function circle(run, radius, roomAxial) {
    const direction = Math.sign(data.line.slope_tesla_per_ampere * run.current_ampere);
    const centreField = Math.abs(constant * run.current_ampere);
    const key = [run.current_ampere, radius, roomAxial].join(" ");
    if (!remembered.has(key)) {
      if (remembered.size > 5000) remembered.clear();
      const turned = !circleFits(tubes[0], bulb, direction * radius) && circleFits(tubes[1], bulb, direction * radius);
      const gun = gunOf(tubes[turned ? 1 : 0], 0);
      const room = [data.room_tesla?.[0] ?? 0, data.room_tesla?.[1] ?? 0, roomAxial];
      const current = (direction * centreField) / constant;
      const field = (x, y, z, out) => tesla(current, room, x, y, z, out);
      const found = effectiveField(field, data.tableau, gun, radius, centreField, within, data.constants);
      const ratio = found === null ? null : (found - direction * roomAxial) / centreField;
      remembered.set(key, ratio === null ? null : { ratio, turned, direction });
    }
    return remembered.get(key);
  }

  /** The radius of a run in the beam plane. */
  function inBeamPlane(run) {
    return run.radius_place === "beam_plane" ? run.radius_m : run.radius_m / data.reading.magnification;
  }

  /** The runs prepared for the fit; `null` in place of a run that cannot be reduced. */
  function prepared(runs, roomAxial) {
    const own = (run) => run.radius_uncertainty_m ?? data.reading.radius_uncertainty_m;
    const stated = runs.some((run) => own(run) > 0);
    const digit = (meter) => (meter?.resolution ?? 0) / Math.sqrt(12);
    return runs.map((run) => {
      const radius = inBeamPlane(run);
      const found = radius < bulb.radius ? circle(run, radius, roomAxial) : null;
      const volt = run.gun_voltage_volt - offset;
      if (found === null || !(volt > 0) || (stated && !(own(run) > 0))) return null;
      const parts = [own(run) / run.radius_m, (0.5 * digit(data.voltmeter)) / volt, digit(data.ammeter) / run.current_ampere];
      const uncertainty = stated ? radius * Math.hypot(...parts) : 1e-3;
      return { run, radius, volt, ...found, uncertainty, stated };
    });
  }

  const NOTHING = { slope: 0, gain: 0, size: 0, ampere: 0, voltGain: 0, volt: 0, radius: 0, room: 0 };

  /** The runs as points of the fit, with the shared quantities shifted by `shift`. */
  function points(list, shift) {
    return list.map((one) => {
      const current =
        Math.abs(one.run.current_ampere) * (1 + shift.gain) +
        shift.size +
        Math.sign(one.run.current_ampere) * shift.ampere;
      return {
        volt: one.run.gun_voltage_volt * (1 + shift.voltGain) + shift.volt - offset,
        field: slope * (1 + shift.slope) * current * one.ratio,
        direction: one.direction,
        radius: one.radius * (1 + shift.radius),
        uncertainty: one.uncertainty,
      };
    });
  }

  function model(point, theta, room) {
    const relativistic = point.volt / (theta * c);
    const momentum = Math.sqrt(2 * point.volt + relativistic * relativistic);
    return (theta * momentum) / (point.field + point.direction * room);
  }

  /** Fits e/m, and the room's axial field if `held` is null. `null` if the fit fails. */
  function fit(list, held) {
    const free = held === null;
    if (list.length < (free ? 2 : 1)) return null;
    const start = list.reduce((sum, p) => sum + (p.field * p.radius) / Math.sqrt(2 * p.volt), 0) / list.length;
    const weakest = Math.min(...list.map((p) => p.field));
    let [log, part] = [0, 0];
    let last = Infinity;
    let normal = [0, 0, 0];
    const at = () => [start * Math.exp(log), free ? part * weakest : held];
    for (let round = 0; round < 60 && last >= 1e-13; round += 1) {
      const [theta, room] = at();
      normal = [0, 0, 0];
      const pull = [0, 0];
      for (const p of list) {
        const radius = model(p, theta, room);
        const residual = (p.radius - radius) / p.uncertainty;
        const a = radius / p.uncertainty;
        const b = free ? (-radius * p.direction * weakest) / (p.field + p.direction * room) / p.uncertainty : 0;
        normal = [normal[0] + a * a, normal[1] + a * b, normal[2] + b * b];
        pull[0] += a * residual;
        pull[1] += b * residual;
      }
      if (!free) normal[2] = 1;
      const whole = normal[0] * normal[2] - normal[1] * normal[1];
      if (!(whole > 1e-10 * normal[0] * normal[2])) return null;
      let step = [(normal[2] * pull[0] - normal[1] * pull[1]) / whole, (normal[0] * pull[1] - normal[1] * pull[0]) / whole];
      const largest = Math.max(Math.abs(step[0]), Math.abs(step[1]));
      const share = Math.min(1, Math.LN2 / largest);
      step = step.map((value) => value * share);
      log += step[0];
      part += step[1];
      last = largest * share;
    }
    const [theta, room] = at();
    const whole = normal[0] * normal[2] - normal[1] * normal[1];
    const chargeToMass = 1 / (theta * theta);
    if (!(last < 1e-9 && Number.isFinite(chargeToMass))) return null;
    const residuals = list.map((p) => (p.radius - model(p, theta, room)) / p.uncertainty);
    return {
      chargeToMass,
      uncertainty: 2 * chargeToMass * Math.sqrt(normal[2] / whole),
      room,
      roomUncertainty: free ? Math.sqrt(normal[0] / whole) * weakest : null,
      chiSquare: residuals.reduce((sum, r) => sum + r * r, 0),
      degreesOfFreedom: list.length - (free ? 2 : 1),
      residuals,
    };
  }

  /** One standard uncertainty of each quantity that all runs share, as a shift. */
  function shared(fromRuns) {
    const rectangular = (limit) => limit / Math.sqrt(3);
    const sources = [];
    const add = (source, size, name) => {
      if (size > 0) sources.push({ source, shift: { ...NOTHING, [name]: size } });
    };
    const u = (data.line.slope_standard_uncertainty_tesla_per_ampere ?? 0) / slope;
    // A room field that the line's calibration found moves with the slope; what is left of it is a source of its own.
    const known = data.room_known;
    const withSlope = u > 0 ? (known.correlation_with_slope ?? 0) : 0;
    const moved = Math.sign(data.line.slope_tesla_per_ampere) * withSlope * known.standard_uncertainty_tesla;
    if (u > 0) sources.push({ source: "slope of the line", shift: { ...NOTHING, slope: u, room: moved } });
    if (data.ammeter !== null) {
      add("ammeter gain", rectangular(data.ammeter.gain_limit), "gain");
      const after = data.ammeter_position === "after_reversal";
      add("ammeter digits", rectangular(data.ammeter.digits_limit), after ? "ampere" : "size");
    }
    if (data.voltmeter !== null) {
      add("voltmeter gain", rectangular(data.voltmeter.gain_limit), "voltGain");
      add("voltmeter digits", rectangular(data.voltmeter.digits_limit), "volt");
    }
    add("gun voltage offset", data.tube.gun_voltage_offset_uncertainty_volt ?? 0, "volt");
    const left = Math.sqrt(1 - withSlope * withSlope) * known.standard_uncertainty_tesla;
    if (!fromRuns) add("room field along the axis", left, "room");
    return sources;
  }

  /**
   * e/m from runs, each {gun_voltage_volt, current_ampere, radius_m, radius_place, radius_uncertainty_m?}, under the
   * names of `weigh --json`. `{refused: [indices]}` if runs cannot be reduced, `null` if there are too few or the fit
   * fails.
   */
  function weigh(runs) {
    if (runs.length === 0) return null;
    const known = data.room_known;
    let list = prepared(runs, known.axial_tesla);
    const refused = () => list.map((one, i) => (one === null ? i : -1)).filter((i) => i >= 0);
    if (refused().length > 0) return { refused: refused() };
    const both = [1, -1].every((sign) => list.some((one) => one.direction === sign));
    if (both) {
      const room = fit(points(list, NOTHING), null)?.room;
      const smallest = Math.min(...points(list, NOTHING).map((p) => p.field));
      if (room !== undefined && Math.abs(room) < 0.5 * smallest) list = prepared(runs, room);
      if (refused().length > 0) return { refused: refused() };
    }
    return outcome(list, both);
  }

  /**
   * Probability of a chi-square of at least this size: 1 - P(a, x) with a half the degrees of freedom and x half of it, P by its
   * power series x^a e^-x sum of x^n / (a (a + 1) ... (a + n)) over gamma(a) (DLMF 8.7.1).
   */
  function chiSquareTail(chiSquare, freedom) {
    const [a, x] = [freedom / 2, chiSquare / 2];
    if (x > a + 40 * Math.sqrt(a) + 100) return 0;
    let lnGamma = freedom % 2 === 1 ? Math.log(Math.PI) / 2 : 0;
    for (let k = freedom % 2 === 1 ? 0.5 : 1; k < a; k += 1) lnGamma += Math.log(k);
    let [term, sum] = [1 / a, 1 / a];
    for (let n = 1; n < 10000 && term > 1e-17 * sum; n += 1) {
      term *= x / (a + n);
      sum += term;
    }
    return 1 - Math.exp(a * Math.log(x) - x - lnGamma) * sum;
  }

  function outcome(list, both) {
    const known = data.room_known;
    const held = both ? null : known.axial_tesla;
    const fitted = fit(points(list, NOTHING), held);
    if (fitted === null) return null;
    const stated = list[0].stated;
    const freedom = fitted.degreesOfFreedom;
    const ratio = freedom === 0 ? null : Math.sqrt(fitted.chiSquare / freedom);
    // Runs that scatter more than they state count by their scatter: the Birge ratio, where the scatter is no chance.
    const excess = ratio !== null && ratio > 1 && chiSquareTail(fitted.chiSquare, freedom) < 0.05;
    const scatter = stated && !excess ? 1 : ratio;
    const q = fitted.chargeToMass;
    const parts = shared(both).map(({ source, shift }) => {
      const moved = fit(points(list, shift), held === null ? null : held + shift.room);
      return { source, contribution_coulomb_per_kg: Math.abs((moved?.chargeToMass ?? NaN) - q) };
    });
    const sharedU = Math.hypot(0, ...parts.map((part) => part.contribution_coulomb_per_kg));
    const runU = scatter === null ? null : fitted.uncertainty * scatter;
    const u = runU === null ? null : Math.hypot(runU, sharedU);
    const mass = data.constants.elementary_charge_coulomb / q;
    const byHand = fit(list.map(centreFieldPoint), 0);
    return {
      number_of_runs: list.length,
      charge_to_mass_coulomb_per_kg: q,
      charge_to_mass_standard_uncertainty_coulomb_per_kg: u,
      run_standard_uncertainty_coulomb_per_kg: runU,
      shared_standard_uncertainty_coulomb_per_kg: sharedU,
      shared: parts,
      electron_mass_kg: mass,
      electron_mass_standard_uncertainty_kg: u === null ? null : (mass * u) / q,
      chi_square: stated ? fitted.chiSquare : null,
      degrees_of_freedom: freedom,
      room_source: both ? "runs" : known.source,
      room_axial_tesla: fitted.room,
      centre_field_charge_to_mass_coulomb_per_kg: byHand?.chargeToMass ?? null,
      runs: list.map((one, i) => reducedRun(one, fitted, i)),
    };
  }

  function centreFieldPoint(one) {
    const { gun_voltage_volt: volt, current_ampere: current } = one.run;
    const { direction, radius, uncertainty } = one;
    return { volt, field: slope * Math.abs(current), direction, radius, uncertainty };
  }

  function reducedRun(one, fitted, i) {
    const [point] = points([one], NOTHING);
    const field = point.field + point.direction * fitted.room;
    const rigidity = field * point.radius;
    const electric = point.volt / c;
    const naive = slope * Math.abs(one.run.current_ampere) * one.radius;
    return {
      radius_m: one.radius,
      beam_voltage_volt: point.volt,
      tube_turned: one.turned,
      effective_field_ratio: one.ratio,
      field_tesla: field,
      field_radius_squared_tesla2_m2: rigidity * rigidity,
      centre_field_radius_squared_tesla2_m2: naive * naive,
      charge_to_mass_coulomb_per_kg: (2 * point.volt) / (rigidity * rigidity - electric * electric),
      centre_field_charge_to_mass_coulomb_per_kg: (2 * one.run.gun_voltage_volt) / (naive * naive),
      residual_in_uncertainties: fitted.residuals[i],
    };
  }

  return { weigh, inBeamPlane, largest: () => [1, -1].map((side) => largestRadius(tubes[0], bulb, side)) };
}
