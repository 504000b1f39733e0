// The buffers of one run: furniture with its edges, shell, machines, floor, cold spots, jets.

/** All that is drawn of a run and does not change with the settings. */
export function bodiesOf(painter, field) {
  const { table, arrays } = field;
  const skinPlaces = field.places("skin");
  const bodyPlaces = field.places("body");
  const spotLines = [];
  const spans = {};
  for (const { id, quads } of table.spots) {
    const from = spotLines.length;
    spotLines.push(...creases(bodyPlaces, arrays.body_quads, quads));
    spans[id] = [from, spotLines.length];
  }
  const thingLines = table.things.flatMap(({ quads }) =>
    creases(skinPlaces, arrays.skin_quads, quads));
  return {
    skin: painter.body(skinPlaces, triangles(arrays.skin_quads), { hasShares: true }),
    edges: painter.body(skinPlaces, Uint32Array.from(thingLines)),
    body: painter.body(bodyPlaces, triangles(arrays.body_quads)),
    spotEdges: Object.assign(painter.body(bodyPlaces, Uint32Array.from(spotLines)), { spans }),
    floor: floorOf(painter, table),
    frame: frameOf(painter, table),
    jets: jetsOf(painter, table),
  };
}

/** First and last index of a span of quadrangles: each is two triangles. */
export function span([first, last]) {
  return { from: 6 * first, to: 6 * last };
}

/** "#rrggbb" as four numbers from 0 to 1. */
export function rgba(hex, opacity) {
  return [...[1, 3, 5].map((start) => parseInt(hex.slice(start, start + 2), 16) / 255), opacity];
}

function triangles(quads) {
  const list = new Uint32Array(1.5 * quads.length);
  for (let n = 0; n < quads.length / 4; n += 1) {
    const [a, b, c, d] = quads.subarray(4 * n, 4 * n + 4);
    list.set([a, b, c, a, c, d], 6 * n);
  }
  return list;
}

/** Edges of quadrangles at which the surface ends or bends, as pairs of points. */
function creases(places, quads, [first, last]) {
  const seen = new Map();
  const key = (n) => [0, 1, 2].map((axis) => Math.round(1000 * places[3 * n + axis])).join();
  for (let n = first; n < last; n += 1) {
    const corner = [...quads.subarray(4 * n, 4 * n + 4)];
    const normal = normalOf(places, corner);
    for (let side = 0; side < 4; side += 1) {
      const [a, b] = [corner[side], corner[(side + 1) % 4]];
      const name = [key(a), key(b)].sort().join("|");
      const other = seen.get(name);
      if (other) other.bends = Math.abs(1 - product(other.normal, normal)) > 0.1;
      else seen.set(name, { pair: [a, b], normal, bends: true });
    }
  }
  return [...seen.values()].filter((edge) => edge.bends).flatMap((edge) => edge.pair);
}

function normalOf(places, [a, b, c]) {
  const at = (n) => [places[3 * n], places[3 * n + 1], places[3 * n + 2]];
  const [p, q, r] = [at(a), at(b), at(c)];
  const [u, v] = [q.map((value, n) => value - p[n]), r.map((value, n) => value - q[n])];
  const normal = [
    u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0],
  ];
  const length = Math.hypot(...normal) || 1;
  return normal.map((value) => value / length);
}

const product = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

/** Floors of rooms and open doorways; the lowest layer of cells colours them. */
function floorOf(painter, { rooms, doorways, origin }) {
  const places = [];
  const indices = [];
  for (const { low, high } of [...rooms, ...doorways]) {
    const [x, y, z] = low.map((value, n) => value - origin[n]);
    const [across, deep] = [high[0] - origin[0], high[1] - origin[1]];
    const n = places.length / 3;
    places.push(x, y, z, across, y, z, across, deep, z, x, deep, z);
    indices.push(n, n + 1, n + 2, n, n + 2, n + 3);
  }
  return painter.body(Float32Array.from(places), Uint32Array.from(indices));
}

/** The edges of a single room, so that walls left out can be imagined. */
function frameOf(painter, { rooms, extent }) {
  const [x, y, z] = extent;
  const places = [0, 1, 2, 3, 4, 5, 6, 7].flatMap((n) => [x * (n & 1), y * ((n >> 1) & 1), z * (n >> 2)]);
  const lines = [0, 1, 2, 3, 4, 5, 6, 7].flatMap((n) =>
    [1, 2, 4].filter((bit) => !(n & bit)).flatMap((bit) => [n, n | bit]));
  return painter.body(Float32Array.from(places), Uint32Array.from(rooms.length > 1 ? [] : lines));
}

function jetsOf(painter, { jets, origin }) {
  const places = [];
  const lines = [];
  for (const path of jets) {
    path.forEach((place, n) => {
      if (n) lines.push(places.length / 3 - 1, places.length / 3);
      places.push(...place.map((value, axis) => value - origin[axis]));
    });
  }
  return painter.body(Float32Array.from(places), Uint32Array.from(lines));
}
