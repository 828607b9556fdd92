// The panel "Class": its runs are entered, questioned, plotted, kept in the browser, saved and loaded.

/** A run is questioned if its circle differs from the bench's own by more than this fraction. */
const QUESTIONED_FROM = 0.15;
/** A circle within this fraction of half or twice the bench's own counts as a mix-up of radius and diameter. */
const MIX_UP_WITHIN = 0.15;

/** What is doubtful about a run on this bench, as keys of the words with their figures. */
function questionsOf(run, bench, words) {
  const { data } = bench;
  const asked = [];
  const range = data.tube.gun_voltage_volt;
  if (range !== null && (run.gun_voltage_volt < range[0] || run.gun_voltage_volt > range[1])) {
    asked.push(["question_voltage", { low: fixed(words, range[0], 0), high: fixed(words, range[1], 0) }]);
  }
  const limit = data.current_limit_ampere;
  if (limit !== null && Math.abs(run.current_ampere) > limit) {
    asked.push(["question_supply", { limit: fixed(words, limit, 2) }]);
  }
  const magnification = run.radius_place === "beam_plane" ? 1 : data.reading.magnification;
  const largest = Math.max(...[1, -1].map((side) => largestRadius(bench.tubes[0], bench.bulb, side)));
  if (run.radius_m > largest * magnification) {
    asked.push(["question_bulb", { diameter: fixed(words, 2e3 * largest * magnification, 1) }]);
  }
  const made = circleMade(run, bench);
  if (made === null) asked.push(["question_strikes", {}]);
  else {
    const ratio = run.radius_m / (made * magnification);
    if (Math.abs(ratio / 2 - 1) < MIX_UP_WITHIN) asked.push(["question_double", {}]);
    else if (Math.abs(ratio * 2 - 1) < MIX_UP_WITHIN) asked.push(["question_half", {}]);
    else if (Math.abs(ratio - 1) > QUESTIONED_FROM) {
      asked.push(["question_off", { percent: fixed(words, 100 * QUESTIONED_FROM, 0) }]);
    }
  }
  return asked;
}

/** The size of a run as it was entered: a diameter or a radius. */
function asTyped(words, run) {
  const double = run.typed_as === "diameter";
  return `${say(words, double ? "is_diameter" : "is_radius")} ${fixed(words, (double ? 2 : 1) * run.radius_m * 1e3, 2)}`;
}

/** The radius in the beam plane at a run's settings; `null` if the beam comes round in neither position of the tube. */
function circleMade(run, bench) {
  for (const tube_turned of [false, true]) {
    try {
      const made = bench.orbit({ ...run, gun_tilt_rad: 0, tube_turned }).read_radius_m;
      if (made !== null) return made;
    } catch (error) {
      if (!(error instanceof RangeError)) throw error;
    }
  }
  return null;
}

/** Keeps the runs in the browser's storage. `failed` is called if the browser does not allow that. */
function makeStore(key, failed) {
  return {
    read() {
      try {
        const kept = JSON.parse(localStorage.getItem(key) ?? "[]");
        return Array.isArray(kept) ? kept.filter(isRun) : [];
      } catch {
        failed();
        return [];
      }
    },
    write(runs) {
      try {
        localStorage.setItem(key, JSON.stringify(runs));
      } catch {
        failed();
      }
    },
    forget() {
      try {
        localStorage.removeItem(key);
      } catch {
        failed();
      }
    },
  };
}

function isRun(run) {
  const positive = (value) => Number.isFinite(value) && value > 0;
  return (
    run !== null && typeof run === "object" && typeof run.label === "string" && positive(run.gun_voltage_volt) &&
    Number.isFinite(run.current_ampere) && run.current_ampere !== 0 && positive(run.radius_m)
  );
}

/** The slope of V against (B r) squared for this e/m: V = (e/m)/2 (B r)^2 without relativity. */
function slopeOf(chargeToMass) {
  return chargeToMass / 2;
}

/** Adds a row of texts to a table. A cell may also be an element. */
function tableRow(parent, cells, tag = "td") {
  const row = parent.appendChild(document.createElement("tr"));
  for (const cell of cells) {
    const element = row.appendChild(document.createElement(tag));
    if (tag === "th") element.scope = "col";
    if (typeof cell === "string") element.textContent = cell;
    else element.append(cell);
  }
  return row;
}

/** Builds the panel. `changed` is called with every new list of runs. */
function makeClassPanel(bench, reduction, words, changed) {
  const { data } = bench;
  const id = (name) => document.getElementById(name);
  const store = makeStore(`coilwright lesson ${data.provenance.spec_digest}`, () => told("not_kept"));
  let runs = store.read();
  const earlier = [];
  let doubtful = null;
  let sure = false;
  let revealed = false;

  function told(key, parts) {
    id("class-said").textContent = say(words, key, parts);
  }

  /** Takes a new list of runs. The old one is kept for undo. */
  function take(next) {
    earlier.push(runs);
    runs = next;
    store.write(runs);
    show();
  }

  function entered() {
    const typed_as = id("entry-kind").value === "diameter" ? "diameter" : "radius";
    const half = typed_as === "diameter" ? 2 : 1;
    return {
      label: id("entry-group").value.trim(),
      gun_voltage_volt: typed(id("entry-voltage").value),
      current_ampere: typed(id("entry-current").value),
      radius_m: scaled(typed(id("entry-size").value), 1e-3) / half,
      radius_place: "scale",
      typed_as,
    };
  }

  function submit(event) {
    event.preventDefault();
    const run = entered();
    if (!isRun(run)) {
      ask([["question_number", {}]], null);
      return;
    }
    const asked = questionsOf(run, bench, words);
    if (asked.length > 0) ask(asked, run);
    else add(run);
  }

  /** Shows what is doubtful about a run. The user may keep it all the same. */
  function ask(asked, run) {
    doubtful = run;
    const box = id("question");
    box.replaceChildren();
    const heading = box.appendChild(document.createElement("strong"));
    heading.textContent = say(words, "question_heading");
    for (const [key, parts] of asked) box.appendChild(document.createElement("p")).textContent = say(words, key, parts);
    const row = box.appendChild(document.createElement("div"));
    row.className = "row";
    const button = (key, act) => {
      const element = row.appendChild(document.createElement("button"));
      element.type = "button";
      element.textContent = say(words, key);
      element.addEventListener("click", act);
      return element;
    };
    const correct = button("correct_it", () => {
      settle();
      id("entry-size").focus();
    });
    if (run !== null) button("keep_anyway", () => add(doubtful));
    box.hidden = false;
    correct.focus();
  }

  function settle() {
    doubtful = null;
    id("question").hidden = true;
  }

  function add(run) {
    settle();
    // A table states an uncertainty for every run or for none.
    const stated = runs.length > 0 && runs.every((one) => one.radius_uncertainty_m !== undefined);
    const own = stated ? { radius_uncertainty_m: runs[runs.length - 1].radius_uncertainty_m } : {};
    take([...runs, { ...run, ...own }]);
    told("added", { number: runs.length });
    id("entry-size").value = "";
    id("entry-size").focus();
  }

  function undo() {
    if (earlier.length === 0) return;
    runs = earlier.pop();
    store.write(runs);
    show();
  }

  function clear() {
    if (!sure) {
      sure = true;
      id("clear").textContent = say(words, "clear_sure");
      return;
    }
    settle();
    take([]);
    store.forget();
    forgetClear();
  }

  function forgetClear() {
    sure = false;
    id("clear").textContent = say(words, "clear");
  }

  function save() {
    const about = `${data.provenance.spec_title}, ${data.provenance.spec_digest}`;
    const blob = new Blob([writeRuns(runs, about)], { type: "text/csv" });
    const link = document.createElement("a");
    link.href = URL.createObjectURL(blob);
    link.download = "runs.csv";
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
  }

  async function load() {
    const [file] = id("import").files;
    if (file === undefined) return;
    try {
      const read = parseRuns(await file.text());
      take(read);
      told("imported", { count: read.length });
    } catch (error) {
      const reason = error instanceof RunsRefused ? say(words, error.key, error.parts) : error.message;
      told("import_failed", { reason });
    }
    id("import").value = "";
  }

  /** Shows everything that follows from the runs. */
  function show() {
    const outcome = reduction.weigh(runs);
    const reduced = outcome !== null && outcome.runs !== undefined ? outcome.runs : [];
    showTable(reduced);
    showResult(outcome);
    const points = reduced.map((run) => [run.field_radius_squared_tesla2_m2, run.beam_voltage_volt]);
    const lines = outcome?.charge_to_mass_coulomb_per_kg === undefined ? [] : [{ slope: slopeOf(outcome.charge_to_mass_coulomb_per_kg), shape: "line-class", words: say(words, "plot_line") }];
    if (revealed) {
      lines.push({ slope: slopeOf(data.constants.accepted_charge_to_mass_coulomb_per_kg), shape: "line-accepted", words: say(words, "accepted_line") });
    }
    drawPlot(id("class-plot"), words, [{ points, shape: "point", words: say(words, "plot_points") }], lines);
    id("class-plot-about").textContent = say(words, "plot_about", { count: reduced.length });
    id("undo").disabled = earlier.length === 0;
    id("export").disabled = runs.length === 0;
    id("clear").disabled = runs.length === 0;
    changed(runs);
  }

  function showTable(reduced) {
    const table = id("runs");
    table.replaceChildren();
    table.appendChild(document.createElement("caption")).textContent = say(words, runs.length === 0 ? "no_runs" : "runs_caption");
    if (runs.length === 0) return;
    const names = ["column_group", "column_voltage", "column_current", "column_size", "column_field_radius", "column_own", "column_remove"];
    tableRow(table.appendChild(document.createElement("thead")), names.map((name) => say(words, name)), "th");
    const body = table.appendChild(document.createElement("tbody"));
    runs.forEach((run, i) => {
      const one = reduced[i];
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = "\u00d7";
      button.setAttribute("aria-label", say(words, "remove", { number: i + 1 }));
      button.addEventListener("click", () => take(runs.filter((_, j) => j !== i)));
      tableRow(body, [
        run.label === "" ? String(i + 1) : run.label,
        digits(words, run.gun_voltage_volt, 4),
        fixed(words, run.current_ampere, 3),
        asTyped(words, run),
        one === undefined ? "" : fixed(words, one.field_radius_squared_tesla2_m2 * 1e9, 3),
        one === undefined ? "" : fixed(words, one.charge_to_mass_coulomb_per_kg / 1e11, 3),
        button,
      ]);
    });
  }

  function showResult(outcome) {
    const box = id("result");
    box.replaceChildren();
    const line = (text, shape = "") => {
      const p = box.appendChild(document.createElement("p"));
      p.textContent = text;
      p.className = shape;
    };
    const heading = box.appendChild(document.createElement("h3"));
    heading.textContent = say(words, "result_heading");
    if (outcome === null) {
      line(say(words, "no_runs"));
      return;
    }
    if (outcome.refused !== undefined) {
      line(say(words, "result_refused", { numbers: outcome.refused.map((i) => i + 1).join(", ") }));
      return;
    }
    const q = outcome.charge_to_mass_coulomb_per_kg;
    const u = outcome.charge_to_mass_standard_uncertainty_coulomb_per_kg;
    if (u === null) line(say(words, "result_without_uncertainty", { value: fixed(words, q / 1e11, 3) }), "result");
    else {
      line(say(words, "result_charge_to_mass", withUncertainty(words, q / 1e11, u / 1e11)), "result");
      const [m, um] = [outcome.electron_mass_kg * 1e31, outcome.electron_mass_standard_uncertainty_kg * 1e31];
      line(say(words, "result_mass", withUncertainty(words, m, um)), "result");
    }
    line(say(words, "result_from", { count: outcome.number_of_runs }), "small detail");
    if (outcome.room_source === "runs") line(say(words, "result_room", { field: fixed(words, outcome.room_axial_tesla * 1e6, 1) }), "detail");
    showAccepted(box, line, outcome);
  }

  function showAccepted(box, line, outcome) {
    const accepted = data.constants.accepted_charge_to_mass_coulomb_per_kg;
    if (revealed) {
      const u = outcome.charge_to_mass_standard_uncertainty_coulomb_per_kg;
      const off = outcome.charge_to_mass_coulomb_per_kg - accepted;
      line(say(words, "accepted", {
        value: fixed(words, accepted / 1e11, 4),
        mass: fixed(words, data.constants.electron_mass_kg * 1e31, 4),
        off: fixed(words, (100 * off) / accepted, 2),
        sigmas: u === null ? "?" : fixed(words, Math.abs(off / u), 1),
      }));
    }
    const button = box.appendChild(document.createElement("button"));
    button.type = "button";
    button.id = "accepted";
    button.textContent = say(words, revealed ? "hide_accepted" : "reveal_accepted");
    button.addEventListener("click", () => {
      revealed = !revealed;
      show();
      id("accepted").focus();
    });
  }

  id("entry").addEventListener("submit", submit);
  id("undo").addEventListener("click", undo);
  id("clear").addEventListener("click", clear);
  id("clear").addEventListener("blur", forgetClear);
  id("export").addEventListener("click", save);
  id("import").addEventListener("change", load);
  show();
  return { show, runs: () => runs, result: () => reduction.weigh(runs), isRevealed: () => revealed };
}
