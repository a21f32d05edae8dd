// Which flat face is nearest to the eye in each cell of the paper: what an edge may be hidden by.

const ACROSS = 290, DOWN = 200;        // cells
const CROSSINGS = 1024;                // of the outlines of a face with a row of cells, at most
const NEAR = 0.02;                     // a face does not hide its own edges [mm]

export class Covers {
  constructor() {
    this.face = new Int32Array(ACROSS * DOWN);
    this.away = new Float32Array(ACROSS * DOWN);
    this.many = new Int32Array(DOWN);
    this.crossed = new Float32Array(DOWN * CROSSINGS);
    this.planes = [];
  }

  resize(right, up) {
    Object.assign(this, { right, up, wide: (2 * right) / ACROSS, high: (2 * up) / DOWN });
  }

  clear() {
    this.face.fill(-1);
    this.away.fill(Infinity);
    this.planes.length = 0;
  }

  // Row by row between the crossings of the outlines, holes left out, its depth a plane.
  add(face) {
    const [first] = face.seen;
    const plane = { number: face.number, a: -face.across[0] / face.across[2], b: -face.across[1] / face.across[2], c: 0 };
    plane.c = first[2] - plane.a * first[0] - plane.b * first[1];
    const index = this.planes.push(plane) - 1;
    let [low, high] = [DOWN, -1];
    this.many.fill(0);
    for (const loop of face.seen) {
      for (let i = 0, j = loop.length - 3; i < loop.length; j = i, i += 3) {
        const [x0, y0, x1, y1] = loop[i + 1] < loop[j + 1] ? [loop[i], loop[i + 1], loop[j], loop[j + 1]] : [loop[j], loop[j + 1], loop[i], loop[i + 1]];
        const from = Math.max(Math.ceil((y0 + this.up) / this.high - 0.5), 0), to = Math.min(Math.ceil((y1 + this.up) / this.high - 0.5), DOWN);
        for (let row = from; row < to; row += 1) {
          const y = (row + 0.5) * this.high - this.up;
          if (this.many[row] < CROSSINGS) this.crossed[row * CROSSINGS + this.many[row]++] = x0 + ((x1 - x0) * (y - y0)) / (y1 - y0);
        }
        if (from < to) { low = Math.min(low, from); high = Math.max(high, to - 1); }
      }
    }
    for (let row = low; row <= high; row += 1) this.fill(row, index, plane);
  }

  fill(row, index, plane) {
    const xs = this.crossed.subarray(row * CROSSINGS, row * CROSSINGS + this.many[row]).sort();
    const y = (row + 0.5) * this.high - this.up;
    for (let k = 0; k + 1 < xs.length; k += 2) {
      const from = Math.max(Math.ceil((xs[k] + this.right) / this.wide - 0.5), 0), to = Math.min(Math.ceil((xs[k + 1] + this.right) / this.wide - 0.5), ACROSS);
      let away = plane.a * ((from + 0.5) * this.wide - this.right) + plane.b * y + plane.c;
      for (let cell = row * ACROSS + from; cell < row * ACROSS + to; cell += 1) {
        if (away < this.away[cell]) { this.away[cell] = away; this.face[cell] = index; }
        away += plane.a * this.wide;
      }
    }
  }

  // Whether a point of an edge is behind the face that is nearest there; its own two faces never hide it.
  hide(x, y, z, own) {
    const column = Math.floor((x + this.right) / this.wide), row = Math.floor((y + this.up) / this.high);
    if (column < 0 || row < 0 || column >= ACROSS || row >= DOWN) return false;
    const index = this.face[row * ACROSS + column];
    if (index < 0) return false;
    const plane = this.planes[index];
    if (plane.number === own[0] || plane.number === own[1]) return false;
    return plane.a * x + plane.b * y + plane.c < z - NEAR;
  }
}
