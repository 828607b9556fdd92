// Moves the readings of a class by possible causes. This file does not touch the document: node can run it.

/**
 * The run as it would have been read if these causes had acted too:
 *
 * voltmeter_percent: the voltmeter reads higher by this; parallax_m: the scale stands farther behind the beam by this;
 * room_tesla: the room's field along the axis is larger by this; edge_m: the edge is read farther out by this.
 *
 * r is proportional to 1/B, so a room field b multiplies it by B/(B + s b), s being the sign of the coils' field.
 */
function moved(run, causes, data) {
  const slope = data.line.slope_tesla_per_ampere;
  const field = Math.abs(slope * run.current_ampere);
  const direction = Math.sign(slope * run.current_ampere);
  const distance = data.reading.camera_distance_m ?? USUAL_DISTANCE_M;
  const before = run.radius_place === "beam_plane" ? 1 : data.reading.magnification;
  const radius =
    ((run.radius_m + causes.edge_m) * (field / (field + direction * causes.room_tesla)) * (before + causes.parallax_m / distance)) /
    before;
  return { ...run, gun_voltage_volt: run.gun_voltage_volt * (1 + causes.voltmeter_percent / 100), radius_m: radius };
}

/** Distance from the eye to the beam if the spec states none: common practice, no source. */
const USUAL_DISTANCE_M = 0.8;

/** No cause acts. */
const NO_CAUSES = Object.freeze({ voltmeter_percent: 0, parallax_m: 0, room_tesla: 0, edge_m: 0 });
