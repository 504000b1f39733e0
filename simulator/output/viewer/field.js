// A packed room (pack.py, blob.py) taken apart again: its table, its arrays, its temperatures.

const FORMAT = 2;

const TYPES = {
  int16: Int16Array,
  uint16: Uint16Array,
  uint32: Uint32Array,
};

/**
 * Takes a packed room apart.
 * @param {ArrayBuffer|Uint8Array} bytes what `pack` in pack.py returned
 * @returns {Promise<RoomField>}
 */
export async function unpack(bytes) {
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
  const whole = await new Response(stream).arrayBuffer();
  const length = new DataView(whole).getUint32(0, true);
  const table = JSON.parse(new TextDecoder().decode(new Uint8Array(whole, 4, length)));
  if (table.format !== FORMAT) {
    throw new Error(`a packed room of format ${table.format}; this viewer reads format ${FORMAT}`);
  }
  if (whole.byteLength - 4 - length !== table.bytes) {
    throw new Error(`a packed room of ${whole.byteLength} bytes instead of ${table.bytes}`);
  }
  return new RoomField(table, whole, 4 + length);
}

/** The same from base64 text, as it stands in a page that must need no request. */
export function unpackText(base64) {
  const text = atob(base64);
  const bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i += 1) bytes[i] = text.charCodeAt(i);
  return unpack(bytes);
}

/** One run: `table` as described in pack.py, arrays, and temperatures by frame. */
export class RoomField {
  constructor(table, buffer, start = 0) {
    this.table = table;
    this.arrays = {};
    for (const entry of table.arrays) {
      const count = entry.shape.reduce((product, side) => product * side, 1);
      this.arrays[entry.name] = entry.is_series
        ? summed(new Uint8Array(buffer, start + entry.offset, 2 * count), entry.shape[0])
        : climbed(new TYPES[entry.type](buffer, start + entry.offset, count), entry.shape);
    }
    this.cells = table.cells;
    this.frameCount = table.times.length;
    const [red, green, blue] = [0, 2, 4].map((start) => (at) =>
      parseInt(table.scale.colours.slice(6 * at + start, 6 * at + start + 2), 16));
    this.palette = Uint8Array.from({ length: 1024 }, (_, i) =>
      [red, green, blue, () => 255][i % 4](i >> 2));
  }

  /** Codes of one frame of "field" (z, y, x) or "skin" (points); 0 is unknown. */
  codes(name, frame) {
    const all = this.arrays[name];
    const size = all.length / this.frameCount;
    return all.subarray(frame * size, (frame + 1) * size);
  }

  /** Temperature of a code [°C], NaN if unknown. */
  temperature(code) {
    return code === 0 ? NaN : this.table.low + (code - 1) * this.table.step;
  }

  /** Place on the scale of colours of a code: 0 at its low end, 1 at its high end. */
  share(code) {
    const { low, high } = this.table.scale;
    return (this.table.low + (code - 1) * this.table.step - low) / (high - low);
  }

  /** The frame nearest to a time [s]. */
  frameAt(time) {
    const far = this.table.times.map((t) => Math.abs(t - time));
    return far.indexOf(Math.min(...far));
  }

  /** Temperature [°C] of the cell that holds a point [m] of the dwelling, NaN outside. */
  temperatureAt(place, frame) {
    const { origin, extent } = this.table;
    const [i, j, k] = [0, 1, 2].map((axis) =>
      Math.floor(((place[axis] - origin[axis]) / extent[axis]) * this.cells[axis]));
    const [nx, ny, nz] = this.cells;
    if (i < 0 || j < 0 || k < 0 || i >= nx || j >= ny || k >= nz) return NaN;
    return this.temperature(this.codes("field", frame)[(k * ny + j) * nx + i]);
  }

  /** Colour of a temperature [°C] on the fixed scale as [red, green, blue]. */
  colour(celsius) {
    const { low, high, unknown } = this.table.scale;
    if (Number.isNaN(celsius)) return unknown;
    const share = Math.min(Math.max((celsius - low) / (high - low), 0), 1);
    const at = 4 * Math.min(255, Math.floor(256 * share));
    return [...this.palette.subarray(at, at + 3)];
  }

  /** Points [m, from the origin] of "skin" or "body". */
  places(name) {
    return Float32Array.from(this.arrays[`${name}_places`], (mm) => 0.001 * mm);
  }
}

/** Rows from their steps; typed arrays wrap as the packed ones did. */
function climbed(values, shape) {
  const width = values.length / Math.max(shape[0], 1);
  for (let n = width; n < values.length; n += 1) values[n] += values[n - width];
  return values;
}

function summed(planes, frames) {
  const size = planes.length / (2 * frames);
  const codes = new Uint16Array(size * frames);
  for (let frame = 0; frame < frames; frame += 1) {
    const [from, to] = [2 * frame * size, frame * size];
    for (let n = 0; n < size; n += 1) {
      const change = planes[from + n] | (planes[from + size + n] << 8);
      codes[to + n] = change + (frame ? codes[to - size + n] : 0);
    }
  }
  return codes;
}
