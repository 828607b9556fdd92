// The straight line of the lesson: gun voltage against (B r) squared, as SVG.

const MARGINS = { left: 52, right: 14, top: 34, bottom: 46 };
/** Smallest and largest width of the drawing, in px at a root letter size of 16 px. */
const WIDTH = [300, 640];

/** Size of the drawing: as wide as the page allows, with letters as large as the page's. */
function plotSize(svg) {
  const rem = parseFloat(getComputedStyle(document.documentElement).fontSize) / 16;
  const room = svg.getBoundingClientRect().width / rem;
  const width = room > 0 ? Math.max(WIDTH[0], Math.min(WIDTH[1], room)) : WIDTH[1];
  return { ...MARGINS, width, height: 0.66 * width + 20 };
}

/** The step of 1, 2 or 5 times a power of ten that cuts a span into about `parts` steps. */
function niceStep(span, parts) {
  const rough = span / parts;
  const power = Math.pow(10, Math.floor(Math.log10(rough)));
  return [1, 2, 5, 10].map((digit) => digit * power).find((step) => step >= rough * 0.999);
}

/**
 * Draws sets of points, and lines y = slope x. x is in T^2 m^2, y in V.
 *
 * `sets`: {points: [[x, y]], shape, words, line?}, where `line` is the shape of the line that belongs to the set.
 * `lines`: {slope, shape, words?}.
 */
function drawPlot(svg, words, sets, lines) {
  for (const child of [...svg.children]) if (child.tagName !== "desc") child.remove();
  const size = plotSize(svg);
  svg.setAttribute("viewBox", `0 0 ${size.width} ${size.height}`);
  const all = sets.flatMap((set) => set.points);
  const top = [1e-9, 100];
  for (const [x, y] of all) {
    top[0] = Math.max(top[0], x * 1.08);
    top[1] = Math.max(top[1], y * 1.12);
  }
  const [w, h] = [size.width - size.left - size.right, size.height - size.top - size.bottom];
  const px = (x) => size.left + (x / top[0]) * w;
  const py = (y) => size.top + h - (y / top[1]) * h;
  axes(svg, words, top, px, py, size);
  for (const { slope, shape } of lines) {
    const end = Math.min(top[0], top[1] / slope);
    draw(svg, "path", { d: `M${px(0)} ${py(0)}L${px(end)} ${py(end * slope)}`, class: shape });
  }
  for (const { points, shape } of sets) {
    for (const [x, y] of points) draw(svg, "circle", { cx: px(x), cy: py(y), r: 5, class: shape });
  }
  legend(svg, size, [...sets.filter((set) => set.points.length > 0), ...lines.filter((line) => line.words !== undefined)]);
}

function axes(svg, words, top, px, py, size) {
  const scaled = top[0] * 1e9;
  const [xStep, yStep] = [niceStep(scaled, 6), niceStep(top[1], 6)];
  const decimals = Math.max(0, -Math.floor(Math.log10(xStep)));
  for (let x = 0; x <= scaled; x += xStep) {
    const at = px(x * 1e-9);
    draw(svg, "path", { d: `M${at} ${py(0)}V${size.top}`, class: "grid" });
    draw(svg, "text", { x: at, y: py(0) + 17, "text-anchor": "middle" }, fixed(words, x, decimals));
  }
  for (let y = 0; y <= top[1]; y += yStep) {
    draw(svg, "path", { d: `M${px(0)} ${py(y)}H${px(top[0])}`, class: "grid" });
    draw(svg, "text", { x: px(0) - 7, y: py(y) + 4, "text-anchor": "end" }, fixed(words, y, 0));
  }
  draw(svg, "path", { d: `M${px(0)} ${size.top}V${py(0)}H${px(top[0])}`, class: "axis" });
  draw(svg, "text", { x: px(top[0] / 2), y: size.height - 8, "text-anchor": "middle" }, say(words, "plot_x"));
  draw(svg, "text", { x: 6, y: size.top - 16 }, say(words, "plot_y"));
}

/** Explains each mark, at the upper left of the plot. */
function legend(svg, size, entries) {
  const group = draw(svg, "g", { class: "legend" });
  entries.forEach(({ shape, line, words: text }, i) => {
    const y = size.top + 14 + 18 * i;
    const x = size.left + 14;
    if (line !== undefined) draw(group, "path", { d: `M${x} ${y - 4}h26`, class: line });
    if (shape.startsWith("line")) draw(group, "path", { d: `M${x} ${y - 4}h26`, class: shape });
    else draw(group, "circle", { cx: x + 13, cy: y - 4, r: 5, class: shape });
    draw(group, "text", { x: x + 34, y }, text);
  });
}
