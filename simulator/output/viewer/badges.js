// Where the numbers of cold spots go so that none hides another.

const GAP = 27; // [CSS pixels] between the middles of two numbers

/** The place nearest to (x, y) that keeps its distance from those taken. */
export function freePlace(x, y, taken) {
  const isFree = (px, py) => taken.every(([a, b]) => Math.hypot(a - px, b - py) >= GAP);
  for (let radius = 0; radius <= 6 * GAP; radius += 5) {
    const count = radius ? 12 : 1;
    for (let n = 0; n < count; n += 1) {
      const angle = (2 * Math.PI * n) / count;
      const [px, py] = [x + radius * Math.cos(angle), y + radius * Math.sin(angle)];
      if (isFree(px, py)) return [px, py];
    }
  }
  return [x, y];
}
