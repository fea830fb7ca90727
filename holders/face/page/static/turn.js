// All that lies in the holder drawn on a canvas from any side above the glass, in the order of loading: lowest first, walls
// that face us, then tops. The home corner of the glass is marked.
const RAISE = 3, SPREAD = 0.3, APART = 0.3, BED_MM = 2.5, ROOM = 24, FOOT = 20, LETTERS = 13;
const FILM = { top: "#c87a38", near: "#8f4f1e", far: "#7a4521", line: "#3a1e0b", picture: "#5f3216", clear: 0.92 };

export class Turn {
  constructor(canvas, sliders, real) {
    Object.assign(this, { canvas, sliders, real, shape: null });
    real.addEventListener("input", () => {
      document.getElementById("turn-caption").textContent = real.checked ? "3D view. Heights are as they are." : "3D view. Heights are drawn three times too large.";
      this.draw();
    });
    for (const slider of Object.values(sliders)) slider.addEventListener("input", () => this.draw());
    let from = null;
    canvas.addEventListener("pointerdown", (e) => { from = [e.clientX, e.clientY]; canvas.setPointerCapture(e.pointerId); });
    canvas.addEventListener("pointerup", () => { from = null; });
    canvas.addEventListener("pointermove", (e) => {
      if (!from) return;
      const round = Number(sliders.round.value) - (e.clientX - from[0]) * 0.5;
      sliders.round.value = ((round + 540) % 360) - 180;
      sliders.tilt.value = Number(sliders.tilt.value) + (e.clientY - from[1]) * 0.3;
      from = [e.clientX, e.clientY];
      this.draw();
    });
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.draw());
    new ResizeObserver(() => this.draw()).observe(canvas);
  }

  show(shape) { this.shape = shape; this.draw(); }

  // heights as they are, or three times as large
  get raise() { return this.real.checked ? 1 : RAISE; }

  // how far a piece of a frame is drawn away from the middle, once it is pulled apart
  spread(thing) {
    if (!this.shape.in_pieces || thing.kind !== "part") return [0, 0];
    const [x, y, w, d] = this.shape.box, [mx, my] = middle(thing), far = SPREAD * this.sliders.apart.value / 100;
    return [far * (mx - x - w / 2), far * (my - y - d / 2)];
  }

  draw() {
    const { canvas, shape } = this, width = canvas.clientWidth, height = canvas.clientHeight;
    if (!shape || !width) return;
    const zoom = devicePixelRatio || 1, style = getComputedStyle(canvas), pen = canvas.getContext("2d");
    canvas.width = width * zoom; canvas.height = height * zoom;
    const colour = (name) => style.getPropertyValue("--" + name).trim();
    const [x, y, w, d] = shape.box, round = this.sliders.round.value * Math.PI / 180, tilt = this.sliders.tilt.value * Math.PI / 180;
    const levels = 1 + Math.max(...shape.stack.map((one) => one.level)), gap = this.sliders.apart.value / 100 * APART * (w + d) / 2 * Math.min(1, 2 / Math.max(1, levels - 1));
    const raise = this.raise, spread = shape.in_pieces ? 1 + SPREAD * this.sliders.apart.value / 100 : 1, bed = BED_MM * raise, high = shape.high * raise + gap * (levels - 1) + bed;
    const c = Math.cos(round), s = Math.sin(round), up = Math.cos(tilt), deep = Math.sin(tilt);
    const reach = [[0, 0], [w, 0], [0, d], [w, d]].map(([a, b]) => [(a - w / 2) * c - (b - d / 2) * s, (a - w / 2) * s + (b - d / 2) * c]);
    const wide = 2 * spread * Math.max(...reach.map((p) => Math.abs(p[0]))), tall = 2 * spread * Math.max(...reach.map((p) => Math.abs(p[1]))) * deep + high * up;
    const scale = Math.min((width - ROOM) / wide, (height - ROOM - FOOT) / tall) * zoom;
    const at = (px, py, z) => {
      const a = px - x - w / 2, b = py - y - d / 2;
      return [canvas.width / 2 + (a * c - b * s) * scale, (canvas.height - FOOT * zoom) / 2 - ((a * s + b * c) * deep + (z + bed - high / 2) * up) * scale];
    };
    pen.lineWidth = 0.8 * zoom; pen.lineJoin = "round";
    const part = { near: colour("wall"), far: colour("wall-dark"), top: colour("top"), line: colour("slab-line"), clear: 1 };
    const pane = { near: colour("accent"), far: colour("accent"), top: colour("pane"), line: colour("accent"), clear: 0.55 };
    const looks = { part, feet: { ...part, top: colour("wall-dark") }, film: FILM, pane };
    const [gx, gy, gw, gh] = shape.glass, plate = { z: [-BED_MM, 0], rings: [[gx, gy, gx + gw, gy, gx + gw, gy + gh, gx, gy + gh]] };
    this.slab(pen, plate, 0, 0, 0, at, [c, s], { ...pane, top: colour("glass"), clear: 1 });
    const far = (thing) => { const [mx, my] = middle(thing); return mx * s + my * c; };
    const things = [...shape.stack].sort((a, b) => a.level - b.level || (a.kind === "part" && b.kind === "part" ? far(b) - far(a) : 0) || a.slabs[0].z[0] - b.slabs[0].z[0]);
    for (const thing of things) {
      const [sx, sy] = this.spread(thing), [dx, dy] = thing.shift, look = looks[thing.kind];
      for (const slab of thing.slabs) this.slab(pen, slab, dx + sx, dy + sy, thing.level * gap, at, [c, s], look);
      if (thing.picture) {
        const [px, py, pw, ph] = thing.picture, z = thing.level * gap + thing.slabs.at(-1).z[1] * raise;
        path(pen, [at(px, py, z), at(px + pw, py, z), at(px + pw, py + ph, z), at(px, py + ph, z)], true);
        pen.globalAlpha = look.clear; pen.fillStyle = look.picture; pen.fill(); pen.globalAlpha = 1;
      }
    }
    this.home(pen, at(gx, gy, -bed), zoom, style, colour);
  }

  // the corner of the glass from which all is counted; what stands before it does not hide it
  home(pen, [px, py], zoom, style, colour) {
    pen.font = `700 ${LETTERS * zoom}px ${style.fontFamily}`;
    const words = "home corner", wide = pen.measureText(words).width, edge = 6 * zoom;
    const tx = Math.min(this.canvas.width - wide - edge, Math.max(edge, px - wide / 2)), ty = Math.min(this.canvas.height - edge, py + (LETTERS + 7) * zoom);
    pen.lineWidth = 4 * zoom; pen.strokeStyle = colour("paper"); pen.strokeText(words, tx, ty);
    pen.fillStyle = colour("ink"); pen.fillText(words, tx, ty);
    pen.beginPath(); pen.arc(px, py, 5 * zoom, 0, 2 * Math.PI);
    pen.lineWidth = 2 * zoom; pen.fillStyle = colour("accent"); pen.fill(); pen.strokeStyle = colour("paper"); pen.stroke();
  }

  slab(pen, slab, dx, dy, lift, at, [c, s], look) {
    const z0 = lift + slab.z[0] * this.raise, z1 = lift + slab.z[1] * this.raise;
    const walls = [];
    pen.strokeStyle = look.line;
    slab.rings.forEach((ring, k) => {
      const n = ring.length / 2, sense = (area(ring) > 0 ? 1 : -1) * (k ? -1 : 1);
      for (let i = 0; i < n; i++) {
        const j = (i + 1) % n, ax = ring[2 * i] + dx, ay = ring[2 * i + 1] + dy, bx = ring[2 * j] + dx, by = ring[2 * j + 1] + dy;
        const nx = (by - ay) * sense, ny = (ax - bx) * sense;
        if (nx * s + ny * c < 0) walls.push([(ax + bx) * s + (ay + by) * c, ax, ay, bx, by, Math.abs(nx * c - ny * s) > Math.abs(nx * s + ny * c)]);
      }
    });
    walls.sort((a, b) => b[0] - a[0]);
    pen.globalAlpha = look.clear;
    for (const [, ax, ay, bx, by, side] of walls) {
      path(pen, [at(ax, ay, z0), at(bx, by, z0), at(bx, by, z1), at(ax, ay, z1)], true);
      pen.fillStyle = side ? look.far : look.near;
      pen.fill(); pen.stroke();
    }
    pen.beginPath();
    for (const ring of slab.rings) {
      const points = [];
      for (let i = 0; i < ring.length; i += 2) points.push(at(ring[i] + dx, ring[i + 1] + dy, z1));
      path(pen, points, false);
    }
    pen.fillStyle = look.top;
    pen.fill("evenodd");
    pen.globalAlpha = 1;
    pen.stroke();
  }
}

// the middle of what a thing covers on the glass
function middle(thing) {
  const ring = thing.slabs[0].rings[0], [px, py] = thing.shift;
  let lx = Infinity, hx = -Infinity, ly = Infinity, hy = -Infinity;
  for (let i = 0; i < ring.length; i += 2) { lx = Math.min(lx, ring[i]); hx = Math.max(hx, ring[i]); ly = Math.min(ly, ring[i + 1]); hy = Math.max(hy, ring[i + 1]); }
  return [(lx + hx) / 2 + px, (ly + hy) / 2 + py];
}

function path(pen, points, fresh) {
  if (fresh) pen.beginPath();
  points.forEach(([px, py], i) => (i ? pen.lineTo(px, py) : pen.moveTo(px, py)));
  pen.closePath();
}

function area(ring) {
  let sum = 0;
  for (let i = 0, n = ring.length; i < n; i += 2) { const j = (i + 2) % n; sum += ring[i] * ring[j + 1] - ring[j] * ring[i + 1]; }
  return sum;
}
