// A camera that orbits a focus, upright. Lengths in metres from the dwelling's low corner.

const LENS = (24 * Math.PI) / 180; // vertical opening; small, so that boxes look like boxes
const [LOWEST, HIGHEST] = [-0.2, 1.55]; // elevation [rad]

const minus = (a, b) => a.map((value, n) => value - b[n]);
const dot = (a, b) => a.reduce((sum, value, n) => sum + value * b[n], 0);
const cross = (a, b) => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];
const unit = (a) => a.map((value) => value / Math.hypot(...a));

export class OrbitCamera {
  constructor(position, focus, reach) {
    const offset = minus(position, focus);
    this.home = {
      focus: [...focus],
      distance: Math.hypot(...offset),
      azimuth: Math.atan2(offset[1], offset[0]),
      elevation: Math.asin(offset[2] / Math.hypot(...offset)),
    };
    this.reach = reach;
    this.reset();
  }

  reset() {
    Object.assign(this, this.home, { focus: [...this.home.focus] });
  }

  turn(azimuth, elevation) {
    this.azimuth += azimuth;
    this.elevation = Math.min(Math.max(this.elevation + elevation, LOWEST), HIGHEST);
  }

  zoom(factor) {
    const far = 8 * this.reach;
    this.distance = Math.min(Math.max(this.distance * factor, 0.15 * this.reach), far);
  }

  /** Moves the focus by shares of the picture's height. */
  pan(right, up) {
    const axes = this.axes();
    const metres = 2 * this.distance * Math.tan(LENS / 2);
    for (let n = 0; n < 3; n += 1) {
      this.focus[n] += metres * (right * axes.right[n] + up * axes.up[n]);
    }
  }

  get position() {
    const level = Math.cos(this.elevation);
    const ahead = [
      level * Math.cos(this.azimuth),
      level * Math.sin(this.azimuth),
      Math.sin(this.elevation),
    ];
    return this.focus.map((value, n) => value + this.distance * ahead[n]);
  }

  axes() {
    const ahead = unit(minus(this.focus, this.position));
    const right = unit(cross(ahead, [0, 0, 1]));
    return { ahead, right, up: cross(right, ahead) };
  }

  /** Column-major 4 x 4 matrix from metres to the clip cube. */
  matrix(aspect) {
    const { ahead, right, up } = this.axes();
    const position = this.position;
    const [near, far] = [0.02 * this.distance, this.distance + 4 * this.reach];
    // A tall, narrow picture keeps the width of a square one in view.
    const scale = Math.min(1, aspect) / Math.tan(LENS / 2);
    const [sx, sy] = [scale / aspect, scale];
    const [a, b] = [(far + near) / (far - near), (2 * far * near) / (far - near)];
    const rows = [
      [...right.map((value) => sx * value), -sx * dot(right, position)],
      [...up.map((value) => sy * value), -sy * dot(up, position)],
      [...ahead.map((value) => a * value), -a * dot(ahead, position) - b],
      [...ahead, -dot(ahead, position)],
    ];
    return Float32Array.from({ length: 16 }, (_, n) => rows[n % 4][n >> 2]);
  }

  /** Share of the picture [from its upper left corner] at which a point falls; null behind it. */
  project(point, aspect) {
    const m = this.matrix(aspect);
    const [x, y, , w] = [0, 1, 2, 3].map(
      (row) => m[row] * point[0] + m[4 + row] * point[1] + m[8 + row] * point[2] + m[12 + row],
    );
    return w > 0 ? [0.5 + (0.5 * x) / w, 0.5 - (0.5 * y) / w] : null;
  }

  /** Direction from the camera through a share of the picture. */
  ray(share, aspect) {
    const { ahead, right, up } = this.axes();
    const wide = Math.tan(LENS / 2) / Math.min(1, aspect);
    const [x, y] = [(2 * share[0] - 1) * wide * aspect, (1 - 2 * share[1]) * wide];
    return unit(ahead.map((value, n) => value + x * right[n] + y * up[n]));
  }
}
