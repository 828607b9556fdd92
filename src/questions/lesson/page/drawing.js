// The bench to scale, as SVG: the front view along the axis, and the view from above. Lengths in mm, y up.

const SVG = "http://www.w3.org/2000/svg";

/** Makes an SVG element with attributes and, if given, appends it to a parent. */
function draw(parent, name, attributes = {}, text = null) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
  if (text !== null) element.textContent = text;
  if (parent !== null) parent.appendChild(element);
  return element;
}

/** For each view, the bench axes that run right and up. */
const VIEWS = {
  front: { right: 0, up: 1, sign: 1 },
  // Seen from above: x to the right, the class (at +z) at the bottom.
  above: { right: 0, up: 2, sign: -1 },
};

/** A point of the bench in m as a place of the drawing in mm. */
function placeIn(view, point) {
  return [point[view.right] * 1e3, -point[view.up] * view.sign * 1e3];
}

/** The path through places in mm, with two decimals. */
function pathOf(places, closed = false) {
  let text = "";
  for (let i = 0; i < places.length; i += 1) {
    text += `${i === 0 ? "M" : "L"}${places[i][0].toFixed(2)} ${places[i][1].toFixed(2)}`;
  }
  return closed ? `${text}Z` : text;
}

/** Draws the fixed parts of a view and makes its moving parts. */
function makeView(svg, name, bench, words) {
  const { data } = bench;
  const view = VIEWS[name];
  const frame = frameOf(view, data);
  svg.setAttribute("viewBox", frame.join(" "));
  const still = draw(svg, "g");
  if (name === "front") ringsOf(still, data, view);
  else sectionsOf(still, data, view);
  const [bx, by] = placeIn(view, data.tube.bulb_centre_m);
  draw(still, "circle", { cx: bx, cy: by, r: data.tube.bulb_radius_m * 1e3, class: "glass" });
  const labels = draw(svg, "g");
  const low = data.tube.bulb_radius_m * 0.74e3;
  draw(labels, "text", { x: bx - low - 4, y: by + low + 8, "text-anchor": "end" }, say(words, "bulb"));
  nameCoils(labels, name, data, view, frame, words);
  const rule = draw(svg, "g");
  const before = draw(svg, "path", { class: "before" });
  const glow = draw(svg, "path", { class: "glow" });
  const ray = draw(svg, "path", { class: "ray" });
  const gun = draw(svg, "path", { class: "gun" });
  const gunName = draw(svg, "text", { "text-anchor": "middle" }, say(words, "gun"));
  const struck = draw(svg, "circle", { class: "struck", r: 3.4 });
  const struckName = draw(svg, "text", { class: "mark" });
  return { svg, name, view, frame, rule, before, glow, ray, gun, gunName, struck, struckName, words, bench, ruled: "", unit: 1 };
}

/** Sets how many mm of the view one screen pixel is, so that letters keep their size on screen. */
function fitLetters(shown) {
  const box = shown.svg.getBoundingClientRect();
  if (box.width === 0) return;
  shown.unit = Math.max(shown.frame[2] / box.width, shown.frame[3] / box.height);
  shown.svg.style.setProperty("--unit", shown.unit.toFixed(3));
}

/** Names the coils and, in the view from above, marks where the class is. */
function nameCoils(parent, name, data, view, frame, words) {
  if (name === "front") {
    draw(parent, "text", { x: frame[0] + 3, y: frame[1] + 16 }, say(words, "coil_front"));
    return;
  }
  const places = data.windings.map((winding) => ({ winding, place: placeIn(view, winding.centre_m) }));
  places.sort((a, b) => a.place[1] - b.place[1]);
  const beside = ({ winding, place: [x, y] }, text) =>
    draw(parent, "text", { x: x - (winding.mean_radius_m - winding.depth_m) * 1e3 + 3, y: y + 4 }, text);
  beside(places[0], say(words, "coil_front"));
  if (data.axis === "horizontal") beside(places[places.length - 1], `\u25bc ${say(words, "class_here")}`);
}

/** The frame of a view: coils and bulb, with a margin. */
function frameOf(view, data) {
  let [left, right, top, bottom] = [Infinity, -Infinity, Infinity, -Infinity];
  const take = (point, reach) => {
    const [x, y] = placeIn(view, point);
    left = Math.min(left, x - reach[0]);
    right = Math.max(right, x + reach[0]);
    top = Math.min(top, y - reach[1]);
    bottom = Math.max(bottom, y + reach[1]);
  };
  take(data.tube.bulb_centre_m, [data.tube.bulb_radius_m * 1e3, data.tube.bulb_radius_m * 1e3]);
  for (const winding of data.windings) {
    const outer = winding.mean_radius_m + winding.depth_m / 2;
    const reach = [view.right, view.up].map((i) => {
      const along = Math.min(1, Math.abs(winding.axis[i]));
      return (outer * Math.sqrt(1 - along * along) + (along * winding.width_m) / 2) * 1e3;
    });
    take(winding.centre_m, reach);
  }
  const margin = 10;
  return [left - margin, top - margin, right - left + 2 * margin, bottom - top + 2 * margin];
}

/** Draws the coils as rings, seen along the axis. */
function ringsOf(parent, data, view) {
  for (const winding of data.windings) {
    const [x, y] = placeIn(view, winding.centre_m);
    const ring = (radius) =>
      `M${x - radius} ${y}a${radius} ${radius} 0 1 0 ${2 * radius} 0a${radius} ${radius} 0 1 0 ${-2 * radius} 0Z`;
    const [inner, outer] = [-0.5, 0.5].map((side) => (winding.mean_radius_m + side * winding.depth_m) * 1e3);
    draw(parent, "path", { d: ring(outer) + ring(inner), class: "coil" });
  }
}

/** Draws the coils as cut by the plane of the view, two sections each. */
function sectionsOf(parent, data, view) {
  for (const winding of data.windings) {
    const axis = winding.axis;
    // The direction in the plane of the view across the winding's axis.
    const across = [0, 0, 0];
    const flat = Math.hypot(axis[view.right], axis[view.up]);
    across[view.right] = axis[view.up] / flat;
    across[view.up] = -axis[view.right] / flat;
    for (const side of [-1, 1]) {
      const corners = [[-1, -1], [1, -1], [1, 1], [-1, 1]].map(([along, out]) => {
        const radius = side * (winding.mean_radius_m + (out * winding.depth_m) / 2);
        return placeIn(view, [0, 1, 2].map((i) => winding.centre_m[i] + across[i] * radius + (axis[i] * along * winding.width_m) / 2));
      });
      draw(parent, "path", { d: pathOf(corners, true), class: "coil cut" });
    }
  }
}

/** The gun's body behind its exit, as seen in a view. */
function gunPath(view, gun, body) {
  const [x, y] = placeIn(view, gun.exit);
  const [dx, dy] = placeIn(view, gun.direction).map((part) => part / 1e3);
  const seen = Math.hypot(dx, dy);
  const length = body.length_m * seen * 1e3;
  const radius = body.radius_m * 1e3;
  const [ux, uy] = seen > 1e-6 ? [dx / seen, dy / seen] : [0, 1];
  // Seen from its end a cylinder is a disc; a square of that size is near enough.
  const back = Math.max(length, seen > 0.3 ? 0 : 2 * radius);
  const forward = seen > 0.3 ? 0 : radius;
  const corner = (along, side) => [x + ux * along - uy * side, y + uy * along + ux * side];
  return pathOf([corner(forward, radius * 0.55), corner(forward, -radius * 0.55), corner(forward - back, -radius), corner(forward - back, radius)], true);
}

/** Moves the parts of a view to an orbit. `hidden` hides the beam; `earlier` is drawn dashed. */
function showOrbit(shown, orbit, hidden, earlier) {
  const { view, frame } = shown;
  const line = hidden ? "" : pathOf(orbit.points.map((point) => placeIn(view, point)));
  shown.glow.setAttribute("d", line);
  shown.ray.setAttribute("d", line);
  shown.before.setAttribute("d", earlier === null ? "" : pathOf(earlier.points.map((point) => placeIn(view, point))));
  shown.gun.setAttribute("d", gunPath(view, orbit.gun, shown.bench.data.gun_body));
  const [gx, gy] = placeIn(view, orbit.gun.exit);
  const seen = placeIn(view, orbit.gun.direction).map((part) => part / 1e3);
  const behind = seen.map((part) => -part * shown.bench.data.gun_body.length_m * 1e3);
  const below = behind[1] >= 0;
  shown.gunName.setAttribute("x", gx + behind[0]);
  shown.gunName.setAttribute("y", gy + behind[1] + (below ? 6 + 11 * shown.unit : -5));
  const struck = hidden ? null : orbit.strikes;
  shown.struck.setAttribute("visibility", struck === null ? "hidden" : "visible");
  shown.struckName.setAttribute("visibility", struck === null || shown.name !== "front" ? "hidden" : "visible");
  if (struck === null) return;
  const [x, y] = placeIn(view, [struck.x_m, struck.y_m, struck.z_m]);
  shown.struck.setAttribute("cx", x);
  shown.struck.setAttribute("cy", y);
  const right = x > frame[0] + frame[2] / 2;
  shown.struckName.setAttribute("x", x + (right ? -6 : 6));
  shown.struckName.setAttribute("y", Math.max(frame[1] + 14 * shown.unit, y - 6));
  shown.struckName.setAttribute("text-anchor", right ? "end" : "start");
  shown.struckName.textContent = say(shown.words, struck.what === "gun" ? "strikes_gun" : "strikes_bulb");
}

/**
 * Draws the scale as the class sees it through the bulb, from the gun to the crossing opposite it. The scale stands
 * behind the beam and so looks smaller by the magnification: a length of the beam covers more of it.
 */
function showScale(shown, orbit, magnification) {
  if (shown.name !== "front") return;
  const { bench, view, rule } = shown;
  const side = Math.sign(orbit.centre_field_tesla || 1);
  const flat = Math.hypot(orbit.gun.direction[0], orbit.gun.direction[1]);
  // Figures are far enough apart to be read at any size of the picture.
  const wide = document.documentElement.classList.contains("projector") ? 40 : 27;
  const apart = [20, 50, 100].find((step) => step > wide * shown.unit) ?? 100;
  const key = [side, magnification, apart, orbit.gun.exit.join()].join(" ");
  if (key === shown.ruled || flat < 1e-9) return;
  shown.ruled = key;
  rule.replaceChildren();
  const towards = [(-orbit.gun.direction[1] / flat) * side, (orbit.gun.direction[0] / flat) * side];
  const [x, y] = placeIn(view, orbit.gun.exit);
  const [ux, uy] = [towards[0], -towards[1]];
  // The marks are on the side away from the gun's body.
  const [nx, ny] = [orbit.gun.direction[0] / flat, -orbit.gun.direction[1] / flat];
  const length = Math.floor((2 * bench.data.tube.bulb_radius_m * 1e3 * magnification) / 10) * 10;
  let marks = "";
  const figures = draw(null, "g", { class: "figures" });
  for (let step = 0; step <= length; step += 2) {
    const at = step / magnification;
    const reach = step % 10 === 0 ? 4 : 2;
    const [px, py] = [x + ux * at, y + uy * at];
    marks += `M${px.toFixed(2)} ${py.toFixed(2)}L${(px - nx * reach).toFixed(2)} ${(py - ny * reach).toFixed(2)}`;
    if (step % apart === 0 && step > 0) {
      const off = 6 + 8 * shown.unit;
      draw(figures, "text", { x: (px - nx * off).toFixed(2), y: (py - ny * off + 4 * shown.unit).toFixed(2) }, String(step));
    }
  }
  const end = length / magnification;
  marks += `M${x.toFixed(2)} ${y.toFixed(2)}L${(x + ux * end).toFixed(2)} ${(y + uy * end).toFixed(2)}`;
  draw(rule, "path", { d: marks, class: "rule" });
  rule.appendChild(figures);
}
