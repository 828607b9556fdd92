// The panel "After the lesson": choose the runs that count, and see how a cause moves their points.

/** Builds the panel. `show` takes the class's runs. The accepted value appears nowhere before it is revealed. */
function makeAfterPanel(bench, reduction, words, isRevealed) {
  const { data } = bench;
  const id = (name) => document.getElementById(name);
  let runs = [];
  let counted = [];
  let waiting = false;
  const changed = () => {
    if (waiting || id("panel-after").hidden) return;
    waiting = true;
    requestAnimationFrame(() => {
      waiting = false;
      update();
    });
  };
  const controls = ["cause-voltmeter", "cause-parallax", "cause-room", "cause-edge"].map((name) => makeControl(name, words, 1, changed));
  id("causes-reset").addEventListener("click", () => controls.forEach((control) => control.set(0)));

  function causes() {
    const [voltmeter, parallax, room, edge] = controls.map((control) => control.value());
    return { voltmeter_percent: voltmeter, parallax_m: parallax / 1e3, room_tesla: room / 1e6, edge_m: edge / 1e3 };
  }

  function show(next) {
    // A run that stays in the list keeps its tick.
    const was = new Map(runs.map((run, i) => [run, counted[i]]));
    counted = next.map((run) => was.get(run) ?? true);
    runs = next;
    showRuns();
    changed();
  }

  function showRuns() {
    const box = id("after-runs");
    box.replaceChildren();
    if (runs.length === 0) box.textContent = say(words, "after_none");
    runs.forEach((run, i) => {
      const label = box.appendChild(document.createElement("label"));
      label.className = "switch";
      const tick = label.appendChild(document.createElement("input"));
      tick.type = "checkbox";
      tick.checked = counted[i];
      tick.setAttribute("aria-label", say(words, "run_in", { number: i + 1 }));
      tick.addEventListener("change", () => {
        counted[i] = tick.checked;
        changed();
      });
      const name = run.label === "" ? String(i + 1) : run.label;
      label.append(` ${name}: ${digits(words, run.gun_voltage_volt, 4)} V, ${fixed(words, run.current_ampere, 2)} A, ${fixed(words, run.radius_m * 1e3, 1)} mm`);
    });
  }

  function update() {
    const kept = runs.filter((_, i) => counted[i]);
    const asRead = reduction.weigh(kept);
    const now = causes();
    const shifted = reduction.weigh(kept.map((run) => moved(run, now, data)));
    const still = Object.values(now).every((value) => value === 0);
    const points = (outcome, x, y) => (outcome?.runs ?? []).map((run, i) => [run[x], y(run, i)]);
    const beam = (run) => run.beam_voltage_volt;
    const shown = kept.map((run) => moved(run, now, data).gun_voltage_volt);
    const sets = [
      { points: points(shifted, "field_radius_squared_tesla2_m2", beam), shape: "point", line: "line-class", words: say(words, "corrected") },
      { points: points(shifted, "centre_field_radius_squared_tesla2_m2", (_, i) => shown[i]), shape: "point-hand", line: "line-hand", words: say(words, "by_hand") },
    ];
    if (!still) sets.unshift({ points: points(asRead, "field_radius_squared_tesla2_m2", beam), shape: "point-before", words: say(words, "as_read") });
    const lines = [
      ["charge_to_mass_coulomb_per_kg", "line-class"],
      ["centre_field_charge_to_mass_coulomb_per_kg", "line-hand"],
    ]
      .filter(([name]) => typeof shifted?.[name] === "number")
      .map(([name, shape]) => ({ slope: slopeOf(shifted[name]), shape }));
    drawPlot(id("after-plot"), words, sets, lines);
    id("after-plot-about").textContent = say(words, "plot_about", { count: kept.length });
    showResults(asRead, shifted, kept.length);
  }

  /** Shows e/m by hand and corrected, side by side, for the runs as read and as moved by the causes. */
  function showResults(asRead, shifted, count) {
    const table = id("after-result");
    table.replaceChildren();
    table.appendChild(document.createElement("caption")).textContent = `${say(words, "after_result")}; ${say(words, "after_of", { count, all: runs.length })}`;
    const head = table.appendChild(document.createElement("thead"));
    const names = tableRow(head, [say(words, "by_hand"), say(words, "corrected")], "th");
    names.prepend(document.createElement("td"));
    const body = table.appendChild(document.createElement("tbody"));
    const keys = ["centre_field_charge_to_mass_coulomb_per_kg", "charge_to_mass_coulomb_per_kg"];
    const accepted = data.constants.accepted_charge_to_mass_coulomb_per_kg;
    for (const [key, outcome] of [["as_read", asRead], ["moved_points", shifted]]) {
      const values = keys.map((name) => outcome?.[name]);
      const known = (write) => values.map((value) => (typeof value === "number" ? write(value) : ""));
      tableRow(body, [say(words, key), ...known((value) => fixed(words, value / 1e11, 4))]);
      if (isRevealed()) tableRow(body, [`${say(words, key)}, ${say(words, "after_difference")}`, ...known((value) => `${fixed(words, 100 * (value / accepted - 1), 2)} %`)]);
    }
  }

  return { show, update: changed };
}
