// The straight line of the lesson: gun voltage against (B r) squared, as SVG.

const PLOT = { width: 560, height: 380, left: 58, right: 14, top: 34, bottom: 46 };

/** Steps of 1, 2 or 5 that cut a span into about so many. */
function niceStep(span, parts) {
  const rough = span / parts;
  const power = Math.pow(10, Math.floor(Math.log10(rough)));
  return [1, 2, 5, 10].map((digit) => digit * power).find((step) => step >= rough * 0.999);
}

/**
 * Draws sets of points and lines. `sets`: {points: [[x, y]], shape, words}; `lines`: {slope, shape, words}, y = slope x;
 * x in T^2 m^2, y in V.
 */
function drawPlot(svg, words, sets, lines) {
  for (const child of [...svg.children]) if (child.tagName !== "desc") child.remove();
  svg.setAttribute("viewBox", `0 0 ${PLOT.width} ${PLOT.height}`);
  const all = sets.flatMap((set) => set.points);
  const top = [1e-9, 100];
  for (const [x, y] of all) {
    top[0] = Math.max(top[0], x * 1.08);
    top[1] = Math.max(top[1], y * 1.12);
  }
  const [w, h] = [PLOT.width - PLOT.left - PLOT.right, PLOT.height - PLOT.top - PLOT.bottom];
  const px = (x) => PLOT.left + (x / top[0]) * w;
  const py = (y) => PLOT.top + h - (y / top[1]) * h;
  axes(svg, words, top, px, py);
  for (const { slope, shape } of lines) {
    const end = Math.min(top[0], top[1] / slope);
    draw(svg, "path", { d: `M${px(0)} ${py(0)}L${px(end)} ${py(end * slope)}`, class: shape });
  }
  for (const { points, shape } of sets) {
    for (const [x, y] of points) draw(svg, "circle", { cx: px(x), cy: py(y), r: 5, class: shape });
  }
  legend(svg, [...sets.filter((set) => set.points.length > 0), ...lines]);
}

function axes(svg, words, top, px, py) {
  const scaled = top[0] * 1e9;
  const [xStep, yStep] = [niceStep(scaled, 6), niceStep(top[1], 6)];
  const decimals = Math.max(0, -Math.floor(Math.log10(xStep)));
  for (let x = 0; x <= scaled; x += xStep) {
    const at = px(x * 1e-9);
    draw(svg, "path", { d: `M${at} ${py(0)}V${PLOT.top}`, class: "grid" });
    draw(svg, "text", { x: at, y: py(0) + 17, "text-anchor": "middle" }, fixed(words, x, decimals));
  }
  for (let y = 0; y <= top[1]; y += yStep) {
    draw(svg, "path", { d: `M${px(0)} ${py(y)}H${px(top[0])}`, class: "grid" });
    draw(svg, "text", { x: px(0) - 7, y: py(y) + 4, "text-anchor": "end" }, fixed(words, y, 0));
  }
  draw(svg, "path", { d: `M${px(0)} ${PLOT.top}V${py(0)}H${px(top[0])}`, class: "axis" });
  draw(svg, "text", { x: PLOT.left + 200, y: PLOT.height - 8, "text-anchor": "middle" }, say(words, "plot_x"));
  draw(svg, "text", { x: 6, y: PLOT.top - 16 }, say(words, "plot_y"));
}

/** What each mark means, above the plot's right half. */
function legend(svg, entries) {
  const group = draw(svg, "g", { class: "legend" });
  entries.forEach(({ shape, words: text }, i) => {
    const y = PLOT.top + 14 + 18 * i;
    const x = PLOT.left + 14;
    if (shape.startsWith("line")) draw(group, "path", { d: `M${x} ${y - 4}h26`, class: shape });
    else draw(group, "circle", { cx: x + 13, cy: y - 4, r: 5, class: shape });
    draw(group, "text", { x: x + 34, y }, text);
  });
}
