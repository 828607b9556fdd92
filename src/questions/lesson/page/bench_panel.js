// The panel "Bench": sliders, switches, computed values, predicting and revealing.

/** A slider with its number field. `changed` is called on every change. */
function makeControl(name, words, decimals, changed) {
  const slider = document.getElementById(`${name}-slider`);
  const field = document.getElementById(name);
  let value = Number(slider.value);
  const write = () => {
    field.value = fixed(words, value, decimals).replace("\u2212", "-");
    field.removeAttribute("aria-invalid");
  };
  const set = (next, from) => {
    value = next;
    if (from !== slider) slider.value = String(next);
    if (from !== field) write();
    changed();
  };
  slider.addEventListener("input", () => set(Number(slider.value), slider));
  field.addEventListener("input", () => {
    const next = typed(field.value);
    if (Number.isFinite(next)) {
      field.removeAttribute("aria-invalid");
      set(next, field);
    } else field.setAttribute("aria-invalid", "true");
  });
  field.addEventListener("change", write);
  write();
  return { value: () => value, set: (next) => set(next, null) };
}

/** In words, how long a current may flow. */
function allowedWords(data, words, current) {
  const size = Math.abs(current);
  const limit = data.current_limit_ampere;
  if (limit !== null && size > limit) return say(words, "beyond_supply", { limit: fixed(words, limit, 2) });
  const forEver = data.safety.reliable_continuous_current_ampere;
  if (forEver === null) return say(words, "not_known");
  if (size <= forEver) return say(words, "for_ever");
  // Takes the next larger current of the table, so that the time is never too long.
  const row = data.allowed_times.find((one) => one.current_ampere >= size);
  if (row === undefined) return say(words, "not_known");
  if (row.time_s < 120) return say(words, "seconds_at_most", { seconds: fixed(words, Math.floor(row.time_s), 0) });
  return say(words, "minutes_at_most", { minutes: fixed(words, Math.floor(row.time_s / 60), 0) });
}

/** The rows of computed values: key of the words, text, and whether the row is a detail. */
function valueRows(orbit, data, words) {
  const number = (value, factor, count, unit) => (value === null ? say(words, "not_known") : `${digits(words, value * factor, count)} ${unit}`);
  const length = (value, unit) => (value === null ? say(words, "no_circle") : `${fixed(words, value * 1e3, 2)} ${unit}`);
  return [
    ["diameter", length(orbit.scale_diameter_m, "mm"), false],
    ["radius_on_scale", length(orbit.scale_radius_m, "mm"), true],
    ["radius_in_plane", length(orbit.read_radius_m, "mm"), false],
    ["field", `${fixed(words, orbit.centre_field_tesla * 1e3, 4)} mT`, false],
    ["speed", `${digits(words, orbit.speed_m_per_s / 1e6, 4)} \u00d7 10\u2076 m/s`, false],
    ["speed_part", `${fixed(words, (100 * orbit.speed_m_per_s) / data.constants.speed_of_light_m_per_s, 3)} %`, true],
    ["energy", `${digits(words, orbit.kinetic_energy_joule * 1e17, 4)} \u00d7 10\u207b\u00b9\u2077 J = ${digits(words, orbit.beam_voltage_volt, 4)} eV`, true],
    ["momentum", `${digits(words, orbit.momentum_kg_m_per_s * 1e24, 4)} \u00d7 10\u207b\u00b2\u2074 kg m/s`, true],
    ["turn_time", number(orbit.period_s, 1e9, 4, "ns"), true],
    ["pitch", orbit.pitch_m === null ? say(words, "no_circle") : `${fixed(words, orbit.pitch_m * 1e3, 2)} mm`, true],
    ["allowed", allowedWords(data, words, orbit.current_ampere), false],
  ];
}

/** Builds the panel and draws it for the first time. */
function makeBenchPanel(bench, words) {
  const { data } = bench;
  const id = (name) => document.getElementById(name);
  const views = ["front", "above"].map((name) => makeView(id(name), name, bench, words));
  const values = id("values");
  const cells = new Map();
  let waiting = false;
  let told = 0;
  let latest = null;
  let hiddenFrom = null;

  const changed = () => {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => {
      waiting = false;
      update();
    });
  };
  const controls = {
    voltage: makeControl("gun-voltage", words, 0, changed),
    current: makeControl("coil-current", words, 2, changed),
    tilt: makeControl("gun-tilt", words, 1, changed),
  };
  for (const name of ["room", "turned", "behind"]) id(name).addEventListener("change", changed);

  function setting() {
    return {
      gun_voltage_volt: controls.voltage.value(),
      current_ampere: controls.current.value(),
      gun_tilt_rad: (controls.tilt.value() * Math.PI) / 180,
      with_room: id("room").checked,
      tube_turned: id("turned").checked,
    };
  }

  function followed() {
    try {
      return bench.orbit(setting());
    } catch (error) {
      if (error instanceof RangeError) return null;
      throw error;
    }
  }

  /** Draws one frame: the orbit in both views, and the values. */
  function update() {
    const orbit = followed();
    if (orbit === null) {
      id("said").textContent = say(words, "no_beam");
      return;
    }
    // A scale in the beam plane has no parallax.
    if (!id("behind").checked) {
      orbit.scale_radius_m = orbit.read_radius_m;
      orbit.scale_diameter_m = orbit.read_radius_m === null ? null : 2 * orbit.read_radius_m;
    }
    latest = orbit;
    const hidden = hiddenFrom !== null;
    for (const shown of views) {
      showScale(shown, orbit, id("behind").checked ? data.reading.magnification : 1);
      showOrbit(shown, orbit, hidden, hiddenFrom);
    }
    showValues(orbit, hidden);
    tell("said", hidden ? null : orbit);
    clearTimeout(told);
    told = setTimeout(() => tell("told", hidden ? null : orbit), 400);
  }

  function showValues(orbit, hidden) {
    const secret = new Set(["diameter", "radius_on_scale", "radius_in_plane", "pitch", "turn_time"]);
    for (const [name, text, isDetail] of valueRows(orbit, data, words)) {
      if (!cells.has(name)) {
        const [dt, dd] = ["dt", "dd"].map((tag) => values.appendChild(document.createElement(tag)));
        dt.textContent = say(words, name);
        if (isDetail) [dt, dd].forEach((cell) => cell.classList.add("detail"));
        cells.set(name, dd);
      }
      const cell = cells.get(name);
      const next = hidden && secret.has(name) ? "?" : text;
      if (cell.textContent !== next) cell.textContent = next;
    }
  }

  /** Writes the summary: for the eye at once, for a screen reader once the slider rests. */
  function tell(name, orbit) {
    let text = "";
    if (orbit === null) text = say(words, "hidden");
    else if (orbit.scale_diameter_m === null) text = say(words, "told_bulb");
    else text = say(words, "told_round", { diameter: fixed(words, orbit.scale_diameter_m * 1e3, 1) });
    if (id(name).textContent !== text) id(name).textContent = text;
  }

  function hide() {
    hiddenFrom = latest;
    id("guessing").hidden = false;
    id("hide").disabled = true;
    id("guess").value = "";
    id("guessed").textContent = "";
    allow();
    update();
    id("guess-kind").focus();
  }

  function allow() {
    const circle = id("guess-kind").value === "circle";
    id("guess").disabled = !circle;
    id("reveal").disabled = circle && !(typed(id("guess").value) > 0);
  }

  function reveal() {
    const guess = typed(id("guess").value);
    const strikes = id("guess-kind").value === "strikes";
    hiddenFrom = null;
    id("guessing").hidden = true;
    id("hide").disabled = false;
    update();
    const metres = latest.scale_diameter_m;
    const diameter = metres === null ? "" : fixed(words, metres * 1e3, 1);
    const key = strikes ? (metres === null ? "guessed_strikes_right" : "guessed_strikes_wrong") : metres === null ? "guessed_circle_wrong" : "guessed_circle";
    const off = metres === null ? 0 : 100 * (guess / (metres * 1e3) - 1);
    id("guessed").textContent = say(words, key, { guess: fixed(words, guess || 0, 1), diameter, off: fixed(words, off, 1) });
    id("hide").focus();
  }

  id("hide").addEventListener("click", hide);
  id("reveal").addEventListener("click", reveal);
  id("guess").addEventListener("input", allow);
  id("guess-kind").addEventListener("change", allow);
  id("setting").addEventListener("change", () => {
    const chosen = data.settings[Number(id("setting").value)];
    if (id("setting").value === "" || chosen === undefined) return;
    id("turned").checked = chosen.tube_turned;
    controls.tilt.set(0);
    controls.voltage.set(chosen.gun_voltage_volt);
    controls.current.set(chosen.current_ampere);
  });
  const fit = () => {
    views.forEach(fitLetters);
    changed();
  };
  window.addEventListener("resize", fit);
  views.forEach(fitLetters);
  update();
  return { update: fit };
}
