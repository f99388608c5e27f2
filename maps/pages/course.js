// From one place to another, and how that is told: for the field form and the site map.
const WGS84_A = 6378137, WGS84_E2 = 0.00669437999014;

/** Distance [m] and true bearing [deg] by the ellipsoid's two radii of curvature at the mean latitude: within
 *  0.1 m of the geodesic over some kilometres, away from the poles. A sphere would be off by half a metre in 100 m. */
function course(from, to) {
  const rad = Math.PI / 180;
  const mid = ((from.lat + to.lat) / 2) * rad;
  const w2 = 1 - WGS84_E2 * Math.sin(mid) ** 2;
  const meridian = (WGS84_A * (1 - WGS84_E2)) / w2 ** 1.5, across = WGS84_A / Math.sqrt(w2);
  const turn = ((to.lon - from.lon + 540) % 360) - 180;
  const north = (to.lat - from.lat) * rad * meridian, east = turn * rad * across * Math.cos(mid);
  return { distance: Math.hypot(north, east), bearing: ((Math.atan2(east, north) / rad) + 360) % 360 };
}

const threeFigures = (degrees) => String(Math.round(degrees) % 360).padStart(3, "0");

/** A length in metres and feet, with the decimal mark of the reader's language. */
const bothLengths = (metres, mark, foot) => `${metres.toFixed(1).replace(".", mark)} m (${(metres / foot).toFixed(0)} ft)`;
