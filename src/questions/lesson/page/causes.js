// What moves the readings of a class. No page, no buttons: node can run this file.

/**
 * The run as it would have been read had these causes been there as well:
 *
 * voltmeter_percent: the voltmeter shows so much more; parallax_m: the scale stands so much farther behind the beam;
 * room_tesla: the room's field along the axis is so much larger; edge_m: the edge is read so much farther out.
 *
 * r goes as 1/B, so a room field b changes it by B/(B + s b), s the direction of the coils' field.
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

/** From the eye to the beam where the spec does not say: common practice, no source. */
const USUAL_DISTANCE_M = 0.8;

/** No cause at all. */
const NO_CAUSES = Object.freeze({ voltmeter_percent: 0, parallax_m: 0, room_tesla: 0, edge_m: 0 });
