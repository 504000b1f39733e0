// Where the field passes a temperature, as triangles: one point in each cube of eight cell centres
// that the surface crosses, at the mean of its crossings; neighbours are joined across each edge.

const CORNERS = [0, 1, 2, 3, 4, 5, 6, 7].map((n) => [n & 1, (n >> 1) & 1, n >> 2]);
const EDGES = [];
for (let a = 0; a < 8; a += 1) {
  for (const bit of [1, 2, 4]) if (!(a & bit)) EDGES.push([a, a | bit]);
}

/**
 * Surface at a temperature.
 * @param {RoomField} field
 * @param {number} frame
 * @param {number} level [°C]
 * @returns {{places: Float32Array, triangles: Uint32Array}} points [m, from the origin]
 */
export function isosurface(field, frame, level) {
  const [nx, ny, nz] = field.cells;
  const { extent, low, step } = field.table;
  const cell = [0, 1, 2].map((axis) => extent[axis] / field.cells[axis]);
  const codes = field.codes("field", frame);
  const goal = (level - low) / step + 1;
  const at = (i, j, k) => (k * ny + j) * nx + i;
  const number = new Int32Array(nx * ny * nz).fill(-1);
  const places = [];
  const value = new Float64Array(8);
  for (let k = 0; k + 1 < nz; k += 1) {
    for (let j = 0; j + 1 < ny; j += 1) {
      for (let i = 0; i + 1 < nx; i += 1) {
        let warm = 0;
        let known = true;
        for (let n = 0; n < 8; n += 1) {
          const code = codes[at(i + CORNERS[n][0], j + CORNERS[n][1], k + CORNERS[n][2])];
          if (code === 0) known = false;
          value[n] = code - goal;
          if (value[n] >= 0) warm += 1;
        }
        if (!known || warm === 0 || warm === 8) continue;
        const sum = [0, 0, 0];
        let crossings = 0;
        for (const [a, b] of EDGES) {
          if ((value[a] >= 0) === (value[b] >= 0)) continue;
          const share = value[a] / (value[a] - value[b]);
          for (let axis = 0; axis < 3; axis += 1) {
            const from = CORNERS[a][axis];
            sum[axis] += from + share * (CORNERS[b][axis] - from);
          }
          crossings += 1;
        }
        number[at(i, j, k)] = places.length / 3;
        const base = [i, j, k];
        for (let axis = 0; axis < 3; axis += 1) {
          places.push((base[axis] + 0.5 + sum[axis] / crossings) * cell[axis]);
        }
      }
    }
  }
  return {
    places: Float32Array.from(places),
    triangles: joined(field.cells, codes, goal, number),
  };
}

/** Two triangles across every edge between neighbouring cells that the surface crosses. */
function joined([nx, ny, nz], codes, goal, number) {
  const stride = [1, nx, nx * ny];
  const size = [nx, ny, nz];
  const triangles = [];
  for (let axis = 0; axis < 3; axis += 1) {
    const [u, v] = [(axis + 1) % 3, (axis + 2) % 3];
    const at = [0, 0, 0];
    for (at[2] = 0; at[2] < nz; at[2] += 1) {
      for (at[1] = 0; at[1] < ny; at[1] += 1) {
        for (at[0] = 0; at[0] < nx; at[0] += 1) {
          if (at[axis] + 1 >= size[axis] || at[u] === 0 || at[v] === 0) continue;
          const here = at[0] + nx * (at[1] + ny * at[2]);
          const isWarm = codes[here] >= goal;
          if (isWarm === codes[here + stride[axis]] >= goal) continue;
          const ring = [
            number[here - stride[u] - stride[v]],
            number[here - stride[v]],
            number[here],
            number[here - stride[u]],
          ];
          if (ring.includes(-1)) continue;
          const [a, b, c, d] = isWarm ? ring : ring.reverse();
          triangles.push(a, b, c, a, c, d);
        }
      }
    }
  }
  return Uint32Array.from(triangles);
}
