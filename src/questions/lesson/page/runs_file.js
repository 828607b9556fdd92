// The class's runs as the CSV that `weigh` reads. This file does not touch the document: node can run it.

/** For each known heading, the quantity and the factor of its unit. */
const HEADINGS = (() => {
  const units = {
    gun_voltage: { V: 1, volt: 1, kV: 1e3, mV: 1e-3 },
    current: { A: 1, ampere: 1, mA: 1e-3 },
    radius: { mm: 1e-3, cm: 1e-2, m: 1 },
    diameter: { mm: 1e-3, cm: 1e-2, m: 1 },
    radius_in_beam_plane: { mm: 1e-3, cm: 1e-2, m: 1 },
  };
  const all = { label: ["label", 1] };
  for (const [name, factors] of Object.entries(units)) {
    for (const [unit, factor] of Object.entries(factors)) {
      all[`${name}_${unit}`] = [name, factor];
      if (name !== "gun_voltage" && name !== "current") all[`${name}_uncertainty_${unit}`] = [`${name}_uncertainty`, factor];
    }
  }
  return all;
})();

/** Cuts a line into cells. Quotation marks enclose separators; a doubled one stands for itself. */
function cellsOf(line, separator) {
  const cells = [];
  let cell = "";
  let quoted = false;
  for (let i = 0; i < line.length; i += 1) {
    const c = line[i];
    if (c === '"' && quoted && line[i + 1] === '"') {
      cell += c;
      i += 1;
    } else if (c === '"') quoted = !quoted;
    else if (c === separator && !quoted) {
      cells.push(cell.trim());
      cell = "";
    } else cell += c;
  }
  cells.push(cell.trim());
  return cells;
}

/** A table that cannot be read as runs: what is wrong, as a key of the words with its figures. */
class RunsRefused extends Error {
  constructor(key, parts) {
    super(key);
    this.key = key;
    this.parts = parts;
  }
}

/** The runs of a CSV. Throws RunsRefused. */
function parseRuns(text) {
  const refuse = (key, parts = {}) => {
    throw new RunsRefused(key, parts);
  };
  const lines = text.replace(/^\ufeff/, "").split(/\r\n|\n|\r/);
  let heading = null;
  let separator = ",";
  const runs = [];
  lines.forEach((line, index) => {
    if (line.trim() === "" || /^"?#/.test(line) || /^sep=/.test(line)) return;
    if (heading === null) {
      separator = [";", "\t", ","].find((mark) => line.includes(mark)) ?? ",";
      heading = cellsOf(line, separator).map((name) => name.trim());
      while (heading.length > 0 && heading[heading.length - 1] === "") heading.pop();
      const strange = heading.find((name) => !(name in HEADINGS));
      if (strange !== undefined) refuse("import_unknown", { name: strange });
      const has = (name) => heading.some((one) => HEADINGS[one][0] === name);
      const sizes = ["radius", "diameter", "radius_in_beam_plane"].filter(has);
      if (!has("gun_voltage") || !has("current") || sizes.length !== 1) refuse("import_headings");
      return;
    }
    const run = runOf(heading, cellsOf(line, separator));
    if (run === null) refuse("import_number", { line: index + 1 });
    if (run !== undefined) runs.push(run);
  });
  if (heading === null) refuse("import_headings");
  const stated = runs.filter((run) => run.radius_uncertainty_m !== undefined).length;
  if (stated !== 0 && stated !== runs.length) refuse("import_uncertainty");
  return runs;
}

/** One run. `undefined` for an empty row, `null` if a number is missing or wrong. */
function runOf(heading, cells) {
  if (cells.every((cell) => cell === "")) return undefined;
  const found = {};
  for (let i = 0; i < heading.length; i += 1) {
    const [name, factor] = HEADINGS[heading[i]];
    const cell = cells[i] ?? "";
    if (name === "label") found.label = cell.replace(/^'(?=[=+\-@])/, "");
    else if (cell !== "") found[name] = scaled(typed(cell), factor);
  }
  const kind = ["radius", "diameter", "radius_in_beam_plane"].find((name) => name in found);
  const half = kind === "diameter" ? 2 : 1;
  const run = {
    label: found.label ?? "",
    gun_voltage_volt: found.gun_voltage,
    current_ampere: found.current,
    radius_m: kind === undefined ? NaN : found[kind] / half,
    radius_place: kind === "radius_in_beam_plane" ? "beam_plane" : "scale",
  };
  if (half === 2) run.typed_as = "diameter";
  const uncertainty = found[`${kind}_uncertainty`];
  if (uncertainty !== undefined) run.radius_uncertainty_m = uncertainty / half;
  const right = run.gun_voltage_volt > 0 && Number.isFinite(run.current_ampere) && run.current_ampere !== 0;
  return right && run.radius_m > 0 ? run : null;
}

/** `value` times a power of ten, rounded as if the decimal had been written that way. */
function scaled(value, factor) {
  return factor < 1 ? value / Math.round(1 / factor) : value * factor;
}

/** A text as a cell that no spreadsheet program takes for a formula. */
function textCell(text) {
  const safe = /^[=+\-@\t\r]/.test(text) ? `'${text}` : text;
  return /[",\n\r]/.test(safe) ? `"${safe.replace(/"/g, '""')}"` : safe;
}

/**
 * The runs as a CSV. All sizes are written as radii: in the beam plane if all runs were read there, else on the scale.
 */
function writeRuns(runs, about) {
  const inPlane = runs.length > 0 && runs.every((run) => run.radius_place === "beam_plane");
  const name = inPlane ? "radius_in_beam_plane" : "radius";
  const uncertain = runs.some((run) => run.radius_uncertainty_m !== undefined);
  const heading = ["gun_voltage_V", "current_A", `${name}_mm`, ...(uncertain ? [`${name}_uncertainty_mm`] : []), "label"];
  const rows = runs.map((run) => [
    run.gun_voltage_volt,
    run.current_ampere,
    millimetres(run.radius_m),
    ...(uncertain ? [millimetres(run.radius_uncertainty_m ?? 0)] : []),
    textCell(run.label),
  ]);
  const comment = `# ${about.replace(/[\r\n]/g, " ").replace(/([,;]\s*)(?=[=+\-@])/g, "$1'")}`;
  return [comment, heading.join(","), ...rows.map((row) => row.join(","))].join("\n") + "\n";
}

/** A length in mm as a decimal that reads back as the same length. */
function millimetres(metres) {
  return Number((metres * 1e3).toPrecision(15));
}
