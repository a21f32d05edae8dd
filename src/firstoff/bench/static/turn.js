// The pictorial drawing: turned with a finger, its faces touched. Parallel lines, as a draughtsman prints it.
import { Covers } from "./covers.js";

const SVG = "http://www.w3.org/2000/svg";
const COARSE = 6, FINE = 40;           // pieces of a straight edge, while it turns and when it rests

// Flat x, y, z about the middle of the part.
function about(flat, middle) {
  const out = new Float64Array(flat.length);
  for (let i = 0; i < flat.length; i += 1) out[i] = flat[i] - middle[i % 3];
  return out;
}

export class Turning {
  constructor(svg, touched) {
    Object.assign(this, { svg, touched, up: -0.6, over: 0.55, faces: [], edges: [], asked: false, rest: 0, chosen: null });
    this.covers = new Covers();
    this.shade = this.path("chosen");
    this.ink = this.path("edge");
    svg.replaceChildren(this.shade, this.ink);
    svg.addEventListener("pointerdown", (event) => this.down(event));
    svg.addEventListener("pointermove", (event) => this.move(event));
    svg.addEventListener("pointerup", (event) => this.release(event));
    svg.addEventListener("keydown", (event) => this.key(event));
  }

  open(solid) {
    const middle = solid.low.map((low, i) => (low + solid.high[i]) / 2);
    const size = Math.hypot(...solid.low.map((low, i) => solid.high[i] - low));
    this.faces = solid.faces.map((face) => ({ ...face, loops: face.loops.map((loop) => about(loop, middle)) }));
    for (const face of this.faces) face.seen = face.loops.map((loop) => new Float64Array(loop.length));
    this.edges = solid.edges.filter((edge) => !edge.smooth).map((edge) => ({ faces: edge.faces, points: about(edge.points, middle) }));
    for (const edge of this.edges) edge.seen = new Float64Array(edge.points.length);
    this.chosen = null;
    const half = size * 0.56;
    this.svg.setAttribute("viewBox", `${-half * 1.45} ${-half} ${half * 2.9} ${half * 2}`);
    this.covers.resize(half * 1.45, half);
    this.draw(FINE);
  }

  path(kind) {
    const made = document.createElementNS(SVG, "path");
    made.setAttribute("class", kind);
    made.setAttribute("fill-rule", "evenodd");
    return made;
  }

  look() {
    if (this.asked) return;
    this.asked = true;
    clearTimeout(this.rest);
    this.rest = setTimeout(() => this.draw(FINE), 150);
    requestAnimationFrame(() => { this.asked = false; this.draw(COARSE); });
  }

  // Right, upwards on paper, away from the eye.
  turned(from, to) {
    const [c, s, d, t] = [Math.cos(this.up), Math.sin(this.up), Math.cos(this.over), Math.sin(this.over)];
    for (let i = 0; i < from.length; i += 3) {
      const y = from[i] * s + from[i + 1] * c;
      to[i] = from[i] * c - from[i + 1] * s;
      to[i + 1] = y * t + from[i + 2] * d;
      to[i + 2] = y * d - from[i + 2] * t;
    }
    return to;
  }

  place(face) {
    face.loops.forEach((loop, i) => this.turned(loop, face.seen[i]));
    face.across = this.turned(face.normal, [0, 0, 0]);
    return face;
  }

  // Each edge in pieces; a piece is drawn where no flat face stands before it.
  draw(pieces) {
    this.covers.clear();
    for (const face of this.faces) {
      face.across = this.turned(face.normal, [0, 0, 0]);
      face.toUs = face.across[2] < -1e-6;
      if (face.flat && face.toUs) this.covers.add(this.place(face));
    }
    const lines = [];
    for (const edge of this.edges) this.visible(this.turned(edge.points, edge.seen), edge.faces, pieces, lines);
    this.ink.setAttribute("d", lines.join(""));
    const shown = this.chosen && (!this.chosen.flat || this.chosen.toUs) ? this.place(this.chosen).seen : [];
    this.shade.setAttribute("d", shown.map(closed).join(""));
    this.svg.dataset.drawn = String(Number(this.svg.dataset.drawn || 0) + 1);
  }

  visible(points, own, pieces, lines) {
    const many = Math.max(1, Math.ceil(pieces / (points.length / 3 - 1)));
    let drawing = false;
    for (let i = 3; i < points.length; i += 3) {
      const [x, y, z] = [points[i - 3], points[i - 2], points[i - 1]];
      const [dx, dy, dz] = [(points[i] - x) / many, (points[i + 1] - y) / many, (points[i + 2] - z) / many];
      let run = drawing ? 0 : -1;                    // piece with which a line that can be seen begins
      for (let k = 0; k <= many; k += 1) {
        const at = k + 0.5;
        const shown = k < many && !this.covers.hide(x + dx * at, y + dy * at, z + dz * at, own);
        if (shown) { run = run < 0 ? k : run; continue; }
        if (run < 0 || (k === 0 && drawing)) { run = -1; drawing = false; continue; }
        if (!(drawing && run === 0)) lines.push("M", hundredth(x + dx * run), " ", -hundredth(y + dy * run));
        lines.push("L", hundredth(x + dx * k), " ", -hundredth(y + dy * k));
        drawing = k === many;
        run = -1;
      }
    }
  }

  down(event) {
    this.svg.setPointerCapture(event.pointerId);
    this.from = { x: event.clientX, y: event.clientY, moved: 0 };
  }

  move(event) {
    if (!this.from) return;
    const [dx, dy] = [event.clientX - this.from.x, event.clientY - this.from.y];
    this.from = { x: event.clientX, y: event.clientY, moved: this.from.moved + Math.abs(dx) + Math.abs(dy) };
    this.turn(dx * 0.01, dy * 0.01);
  }

  release(event) {
    const { moved } = this.from || { moved: 99 };
    this.from = null;
    if (moved < 8) this.touch(event.clientX, event.clientY);
  }

  turn(about, over) {
    this.up += about;
    this.over = Math.min(Math.max(this.over + over, -1.5), 1.5);
    this.look();
  }

  key(event) {
    const step = { ArrowLeft: [-0.1, 0], ArrowRight: [0.1, 0], ArrowUp: [0, -0.1], ArrowDown: [0, 0.1] }[event.key];
    if (!step) return;
    event.preventDefault();
    this.turn(...step);
  }

  touch(x, y) {
    const spot = new DOMPoint(x, y).matrixTransform(this.svg.getScreenCTM().inverse());
    const [right, up] = [spot.x, -spot.y];
    const hit = this.faces.filter((face) => (!face.flat || face.toUs) && inside(this.place(face).seen, right, up))
      .map((face) => ({ face, away: depth(face, right, up) })).sort((a, b) => a.away - b.away)[0];
    if (!hit) return;
    this.chosen = hit.face;
    this.draw(FINE);
    this.touched(hit.face);
  }
}

// How far a face is from the eye at a place of the paper; of a curved one, its middle.
function depth(face, x, y) {
  const [first] = face.seen;
  if (face.flat) return first[2] - (face.across[0] * (x - first[0]) + face.across[1] * (y - first[1])) / face.across[2];
  let sum = 0, many = 0;
  for (const loop of face.seen) for (let i = 2; i < loop.length; i += 3) { sum += loop[i]; many += 1; }
  return sum / Math.max(many, 1);
}

const hundredth = (value) => Math.round(value * 100) / 100;

function closed(points) {
  const out = [];
  for (let i = 0; i < points.length; i += 3) out.push(i ? "L" : "M", hundredth(points[i]), " ", -hundredth(points[i + 1]));
  return `${out.join("")}Z`;
}

function inside(loops, x, y) {
  let odd = false;
  for (const loop of loops) {
    for (let i = 0, j = loop.length - 3; i < loop.length; j = i, i += 3) {
      const [xi, yi, xj, yj] = [loop[i], loop[i + 1], loop[j], loop[j + 1]];
      if ((yi > y) !== (yj > y) && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) odd = !odd;
    }
  }
  return odd;
}
