// The pictorial drawing: turned with a finger, its faces touched. Parallel lines, as a draughtsman prints it.

const SVG = "http://www.w3.org/2000/svg";

const turnAbout = ([x, y, z], up, over) => {
  const [x1, y1] = [x * Math.cos(up) - y * Math.sin(up), x * Math.sin(up) + y * Math.cos(up)];
  return [x1, y1 * Math.sin(over) + z * Math.cos(over), y1 * Math.cos(over) - z * Math.sin(over)];
};                                              // right, upwards on paper, away from the eye
const triples = (flat, middle) => {
  const out = [];
  for (let i = 0; i < flat.length; i += 3) out.push([flat[i] - middle[0], flat[i + 1] - middle[1], flat[i + 2] - middle[2]]);
  return out;
};

const COARSE = 6, FINE = 40;           // pieces of a straight edge, while it turns and when it rests
const NEAR = 0.02;                     // a face does not hide its own edges [mm]

export class Turning {
  constructor(svg, touched) {
    Object.assign(this, { svg, touched, up: -0.6, over: 0.55, faces: [], edges: [], asked: false, rest: 0, chosen: null });
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
    this.faces = solid.faces.map((face) => ({ ...face, loops: face.loops.map((loop) => triples(loop, middle)) }));
    this.edges = solid.edges.filter((edge) => !edge.smooth).map((edge) => ({ ...edge, points: triples(edge.points, middle) }));
    this.chosen = null;
    const half = size * 0.56;
    this.svg.setAttribute("viewBox", `${-half * 1.45} ${-half} ${half * 2.9} ${half * 2}`);
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

  // Each edge in pieces; a piece is drawn where no flat face stands before it.
  draw(pieces) {
    const seen = (points) => points.map((point) => turnAbout(point, this.up, this.over));
    for (const face of this.faces) place(face, seen, turnAbout(face.normal, this.up, this.over));
    const covers = this.faces.filter((face) => face.flat && face.toUs);
    const lines = [];
    for (const edge of this.edges) visible(seen(edge.points), pieces, covers, lines);
    this.ink.setAttribute("d", lines.join(""));
    this.shade.setAttribute("d", this.chosen && (!this.chosen.flat || this.chosen.toUs) ? this.chosen.seen.map(closed).join("") : "");
    this.svg.dataset.drawn = String(Number(this.svg.dataset.drawn || 0) + 1);
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
    const hit = this.faces.filter((face) => (!face.flat || face.toUs) && inside(face.seen, right, up))
      .map((face) => ({ face, away: depth(face, right, up) })).sort((a, b) => a.away - b.away)[0];
    if (!hit) return;
    this.chosen = hit.face;
    this.draw(FINE);
    this.touched(hit.face);
  }
}

// Where a face lies on paper: its box, whether it looks at us, and how far it is.
function place(face, seen, normal) {
  face.seen = face.loops.map(seen);
  face.across = normal;
  face.toUs = normal[2] < -1e-6;
  const all = face.seen.flat();
  face.box = [0, 1].flatMap((i) => [Math.min(...all.map((p) => p[i])), Math.max(...all.map((p) => p[i]))]);
  face.middle = all.reduce((sum, point) => sum + point[2], 0) / Math.max(all.length, 1);
}

function depth(face, x, y) {
  if (!face.flat) return face.middle;
  const [at, n] = [face.seen[0][0], face.across];
  return at[2] - (n[0] * (x - at[0]) + n[1] * (y - at[1])) / n[2];
}

const hidden = (covers, [x, y, z]) => covers.some((face) => x > face.box[0] && x < face.box[1]
  && y > face.box[2] && y < face.box[3] && depth(face, x, y) < z - NEAR && inside(face.seen, x, y));

function visible(points, pieces, covers, lines) {
  const many = Math.max(1, Math.ceil(pieces / (points.length - 1)));
  let drawing = false;
  for (let i = 1; i < points.length; i += 1) {
    for (let k = 0; k < many; k += 1) {
      const at = (share) => points[i - 1].map((from, axis) => from + (points[i][axis] - from) * share);
      if (hidden(covers, at((k + 0.5) / many))) { drawing = false; continue; }
      if (!drawing) lines.push(`M${written(at(k / many))}`);
      lines.push(`L${written(at((k + 1) / many))}`);
      drawing = true;
    }
  }
}

const written = (point) => `${point[0].toFixed(2)} ${(-point[1]).toFixed(2)}`;
const closed = (points) => `M${points.map(written).join("L")}Z`;

function inside(loops, x, y) {
  let odd = false;
  for (const loop of loops) {
    for (let i = 0, j = loop.length - 1; i < loop.length; j = i, i += 1) {
      const [xi, yi] = loop[i], [xj, yj] = loop[j];
      if ((yi > y) !== (yj > y) && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) odd = !odd;
    }
  }
  return odd;
}
