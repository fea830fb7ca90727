// The holder's slabs drawn on a canvas from any side above the glass: lowest first, walls that face us, then tops.
const RAISE = 3, FILM = "#c06a2b", SPREAD = 0.3;

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
  spread(part) {
    if (!this.shape.in_pieces) return [0, 0];
    const [x, y, w, d] = this.shape.box, ring = part.slabs[0].rings[0], [px, py] = part.places[0];
    let lx = Infinity, hx = -Infinity, ly = Infinity, hy = -Infinity;
    for (let i = 0; i < ring.length; i += 2) { lx = Math.min(lx, ring[i]); hx = Math.max(hx, ring[i]); ly = Math.min(ly, ring[i + 1]); hy = Math.max(hy, ring[i + 1]); }
    const far = SPREAD * this.sliders.apart.value / 100;
    return [far * ((lx + hx) / 2 + px - x - w / 2), far * ((ly + hy) / 2 + py - y - d / 2)];
  }

  draw() {
    const { canvas, shape } = this, width = canvas.clientWidth, height = canvas.clientHeight;
    if (!shape || !width) return;
    const zoom = devicePixelRatio || 1, style = getComputedStyle(canvas), pen = canvas.getContext("2d");
    canvas.width = width * zoom; canvas.height = height * zoom;
    const colour = (name) => style.getPropertyValue("--" + name).trim();
    const [x, y, w, d] = shape.box, round = this.sliders.round.value * Math.PI / 180, tilt = this.sliders.tilt.value * Math.PI / 180;
    const levels = 1 + Math.max(...shape.parts.map((p) => p.level)), gap = this.sliders.apart.value / 100 * 0.3 * (w + d) / 2;
    const raise = this.raise, spread = shape.in_pieces ? 1 + SPREAD * this.sliders.apart.value / 100 : 1, high = shape.high * raise + gap * (levels - 1);
    const c = Math.cos(round), s = Math.sin(round), up = Math.cos(tilt), deep = Math.sin(tilt);
    const reach = [[0, 0], [w, 0], [0, d], [w, d]].map(([a, b]) => [(a - w / 2) * c - (b - d / 2) * s, (a - w / 2) * s + (b - d / 2) * c]);
    const wide = 2 * spread * Math.max(...reach.map((p) => Math.abs(p[0]))), tall = 2 * spread * Math.max(...reach.map((p) => Math.abs(p[1]))) * deep + high * up;
    const scale = Math.min((width - 12) / wide, (height - 12) / tall) * zoom;
    const at = (px, py, z) => {
      const a = px - x - w / 2, b = py - y - d / 2;
      return [canvas.width / 2 + (a * c - b * s) * scale, canvas.height / 2 - ((a * s + b * c) * deep + (z - high / 2) * up) * scale];
    };
    pen.lineWidth = 0.8 * zoom; pen.lineJoin = "round"; pen.strokeStyle = colour("ink");
    const faces = { near: colour("wall"), far: colour("wall-dark"), top: colour("top") };
    const sheet = ([sx, sy, sw, sh], z, fill, clear) => {
      pen.globalAlpha = clear;
      path(pen, [at(sx, sy, z), at(sx + sw, sy, z), at(sx + sw, sy + sh, z), at(sx, sy + sh, z)], true);
      pen.fillStyle = fill;
      pen.fill(); pen.globalAlpha = 1; pen.stroke();
    };
    sheet(shape.glass, 0, colour("glass"), 0.9);
    const rests = shape.films.length ? shape.films[0].z : 0;
    let film = () => {
      for (const one of shape.films) sheet(one.film, one.z * raise + gap * 0.5, FILM, 0.75);
      film = () => {};
    };
    for (const part of shape.parts) {
      if (Math.min(...part.slabs.map((slab) => slab.z[0])) > rests - 0.01) film();  // what lies on the film comes after it
      const [sx, sy] = this.spread(part);
      for (const [dx, dy] of part.places) for (const slab of part.slabs) this.slab(pen, slab, dx + sx, dy + sy, part.level * gap, at, [c, s], faces);
    }
    film();
  }

  slab(pen, slab, dx, dy, lift, at, [c, s], faces) {
    const z0 = lift + slab.z[0] * this.raise, z1 = lift + slab.z[1] * this.raise;
    const walls = [];
    slab.rings.forEach((ring, k) => {
      const n = ring.length / 2, sense = (area(ring) > 0 ? 1 : -1) * (k ? -1 : 1);
      for (let i = 0; i < n; i++) {
        const j = (i + 1) % n, ax = ring[2 * i] + dx, ay = ring[2 * i + 1] + dy, bx = ring[2 * j] + dx, by = ring[2 * j + 1] + dy;
        const nx = (by - ay) * sense, ny = (ax - bx) * sense;
        if (nx * s + ny * c < 0) walls.push([(ax + bx) * s + (ay + by) * c, ax, ay, bx, by, Math.abs(nx * c - ny * s) > Math.abs(nx * s + ny * c)]);
      }
    });
    walls.sort((a, b) => b[0] - a[0]);
    for (const [, ax, ay, bx, by, side] of walls) {
      path(pen, [at(ax, ay, z0), at(bx, by, z0), at(bx, by, z1), at(ax, ay, z1)], true);
      pen.fillStyle = side ? faces.far : faces.near;
      pen.fill(); pen.stroke();
    }
    pen.beginPath();
    for (const ring of slab.rings) {
      const points = [];
      for (let i = 0; i < ring.length; i += 2) points.push(at(ring[i] + dx, ring[i + 1] + dy, z1));
      path(pen, points, false);
    }
    pen.fillStyle = faces.top;
    pen.fill("evenodd"); pen.stroke();
  }
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
