// The film's surface as a relief with contours, between the two planes of the focus band; height and blur at a point.
// Colours come with the film, of one scale fixed to the band: those of the job sheet's picture, alike for every holder.
import { put } from "./form.js";
const STEPS = [0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2];
const TINTS = 11, FINE = 3, MOST_HIGH = 430, LEAST_HIGH = 260, BESIDE = 520, CUT_HIGH = 140, GAP = 26, TEXT = 13;
const KEY_WIDE = 16, KEY_ROOM = 184, LINE = TEXT + 4, KEY_HALVES = 1.5, SLICES = 30, TICKS = 9, WORD_PX = 150;
const mostHigh = () => Math.max(LEAST_HIGH, Math.min(MOST_HIGH, innerHeight - BESIDE));
const n = (value) => Math.round(value * 10) / 10;
const $ = (id) => document.getElementById(id);

export class Relief {
  constructor(place) {
    Object.assign(this, { place, film: null, wide: 0, u: 0.5, v: 0.5 });
    new ResizeObserver(() => { if (place.clientWidth && place.clientWidth !== this.wide) this.draw(); }).observe(place);
    const point = (e) => {
      const map = this.place.querySelector(".map");
      if (!map) return;
      const box = map.getBoundingClientRect();
      this.probe(Math.min(1, Math.max(0, (e.clientX - box.left) / box.width)), Math.min(1, Math.max(0, (e.clientY - box.top) / box.height)));
    };
    place.addEventListener("pointermove", (e) => { if (e.target.closest(".surface")) point(e); });
    place.addEventListener("pointerdown", (e) => { if (e.target.closest(".surface")) point(e); });
    $("curl-try").addEventListener("input", () => this.tryCurl());
    for (const id of ["probe-across", "probe-down"]) $(id).addEventListener("input", () => this.probe($("probe-across").value / 100, $("probe-down").value / 100, true));
  }

  show(film, words) {
    this.place.setAttribute("aria-label", words);
    this.film = this.planned = film;
    this.draw();
  }

  // the same film with other curls, the nearest to the usual first; none: the slider goes
  curls(list, usual) {
    this.list = list;
    put($("film-curl"), "hidden", list.length < 2);
    put($("curl-read"), "hidden", list.length < 2);
    if (list.length < 2) return;
    put($("curl-try"), "max", String(list.length - 1));
    const near = list.reduce((best, one, k) => (Math.abs(one.curl - usual) < Math.abs(list[best].curl - usual) ? k : best), 0);
    put($("curl-try"), "value", String(near));
    this.sayCurl(list[near], true);
  }

  // this holder with film of another curl in it
  tryCurl() {
    const one = this.list && this.list[Number($("curl-try").value)];
    if (!one || !this.planned) return;
    const w = one.x.at(-1) - one.x[0], h = one.y.at(-1) - one.y[0];
    this.film = { ...this.planned, x: one.x, y: one.y, z: one.z, picture: [0, 0, w, h] };
    this.draw();
    this.sayCurl(one, false);
  }

  sayCurl(one, usual) {
    const share = (100 * one.share).toFixed(one.share > 0.995 || one.share < 0.005 ? 0 : 1), less = Math.round(100 * one.below);
    const curl = `${one.words}${one.curl < -0.05 ? ", hollow toward the base" : ""}`;
    const text = `${usual ? "Near what is usual: " : ""}${curl}: ${share} % of the picture in focus${one.lid_rise > 0.005 ? `; ${one.rise_name} ${one.lid_rise.toFixed(2)} mm` : ""}. ${less} of 100 films of this kind curl less.`;
    put($("curl-read"), "textContent", text[0].toUpperCase() + text.slice(1));
  }

  // height at a point of the film, 0..1 across and down
  height(u, v) {
    const { x, y } = this.film;
    return heightAt(this.film, x[0] + u * (x.at(-1) - x[0]), y[0] + v * (y.at(-1) - y[0]));
  }

  draw() {
    const { film, place } = this;
    if (!film) return;
    this.wide = place.clientWidth;
    const total = this.wide || 640, w = film.x.at(-1) - film.x[0], h = film.y.at(-1) - film.y[0];
    const beside = total > 620, room = (beside ? total * 0.6 : total) - KEY_ROOM;
    const scale = Math.min((room - 4) / w, mostHigh() / h), mw = w * scale, mh = h * scale, side = mw + KEY_ROOM;
    const all = film.z.flat(), low = Math.min(...all), high = Math.max(...all), step = STEPS.find((s) => (high - low) / s <= TINTS) || 5;
    const key = this.key(low, high, mw + 14, mh);
    const cut = beside ? { x: side + 20, y: Math.max(0, (mh - CUT_HIGH) / 2), w: Math.max(200, Math.min(total - side - 24, 460)) } : { x: 0, y: Math.max(mh, key.high) + GAP, w: total - 4 };
    Object.assign(this, { map: { w: mw, h: mh, scale }, cut, low, high });
    const width = beside ? cut.x + cut.w + 4 : total, height = beside ? Math.max(mh, key.high, cut.y + CUT_HIGH + 40) : cut.y + CUT_HIGH + 40;
    const [pl, ph, pw, phh] = film.picture;
    place.innerHTML = `<svg xmlns="http://www.w3.org/2000/svg" width="${n(width)}" height="${n(height + 4)}" viewBox="-2 -2 ${n(width)} ${n(height + 4)}" aria-hidden="true" font-size="${TEXT}">
      <defs><pattern id="soft" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path class="soft-line" d="M0 0V7"/></pattern></defs>
      <g class="surface"><rect class="ground" width="${n(mw)}" height="${n(mh)}"/>${this.tints(step)}${this.soft()}${this.contours(step)}
      <rect class="picture" x="${n(pl * scale)}" y="${n(ph * scale)}" width="${n(pw * scale)}" height="${n(phh * scale)}"/>
      <rect class="map" width="${n(mw)}" height="${n(mh)}"/></g><g class="key">${key.drawn}</g><g class="mark"></g><g class="cut"></g></svg>`;
    this.probe(this.u, this.v);
  }

  // the colours beside their heights: always as much of the scale, with the two planes between which the picture is sharp
  // and a line along what of it this film takes; soft heights are hatched
  key(low, high, x, wide) {
    const [from, to] = this.film.band, middle = (from + to) / 2, reach = KEY_HALVES * (to - from) / 2;
    const bottom = Math.min(middle - reach, low), top = Math.max(middle + reach, high);
    const head = 2 * LINE + 6, tall = Math.max(150, wide - head - LINE - 4), foot = head + tall, at = (z) => foot - tall * (z - bottom) / (top - bottom);
    const bx = x + 8, lx = bx + KEY_WIDE + 8;
    let d = `<text x="${n(x)}" y="${TEXT}">Height above</text><text x="${n(x)}" y="${TEXT + LINE}">the glass, mm</text>`;
    for (let k = 0; k < SLICES; k++) {
      const a = bottom + (top - bottom) * k / SLICES, b = bottom + (top - bottom) * (k + 1) / SLICES;
      d += `<rect class="tint" fill="${colourOf(this.film, (a + b) / 2)}" x="${n(bx)}" y="${n(at(b))}" width="${KEY_WIDE}" height="${n(at(a) - at(b) + 0.5)}"/>`;
    }
    for (const [a, b] of [[bottom, from], [to, top]]) d += `<rect fill="url(#soft)" x="${n(bx)}" y="${n(at(b))}" width="${KEY_WIDE}" height="${n(at(a) - at(b))}"/>`;
    d += `<rect class="map" x="${n(bx)}" y="${head}" width="${KEY_WIDE}" height="${n(tall)}"/><path class="taken" d="M${n(bx - 5)} ${n(at(low) + 1)}V${n(at(high) - 1)}"/>`;
    const taken = [], label = (y, words, kind) => { taken.push(y); d += `<text class="${kind}" x="${n(lx)}" y="${n(y + TEXT * 0.36)}">${words}</text>`; };
    for (const [z, words] of [[to, "sharp below"], [from, "sharp above"]]) {
      d += `<path class="plane" d="M${n(bx - 3)} ${n(at(z))}h${KEY_WIDE + 8}"/>`;
      if (!taken.some((other) => Math.abs(other - at(z)) < LINE)) label(at(z), `${words} ${z.toFixed(2)}`, "limit-word");
    }
    const step = STEPS.find((s) => (top - bottom) / s <= TICKS) || 5, digits = step < 0.01 ? 3 : 2;
    for (let z = Math.ceil(bottom / step) * step; z < top + 1e-9; z += step) {
      const y = at(z);
      if (!taken.some((other) => Math.abs(other - y) < LINE)) { label(y, z.toFixed(digits), ""); d += `<path class="tick" d="M${n(bx + KEY_WIDE)} ${n(y)}h4"/>`; }
    }
    d += `<path class="taken" d="M${n(bx - 5)} ${n(foot + LINE - 10)}v10"/><text x="${n(bx + 4)}" y="${n(foot + LINE)}">this film</text>`;
    return { drawn: d, high: foot + LINE + 6 };
  }

  // bands of one colour each, dark where the film is low: runs of cells in one path a colour
  tints(step) {
    const { x, y } = this.film, nx = (x.length - 1) * FINE, ny = (y.length - 1) * FINE, { w, h } = this.map;
    const paths = new Map(), dx = w / nx, dy = h / ny;
    for (let j = 0; j < ny; j++) {
      let from = 0, old = null;
      for (let i = 0; i <= nx; i++) {
        const now = i < nx ? Math.floor(this.height((i + 0.5) / nx, (j + 0.5) / ny) / step) : null;
        if (now === old) continue;
        if (old !== null) paths.set(old, (paths.get(old) || "") + `M${n(from * dx)} ${n(j * dy)}H${n(i * dx)}v${n(dy + 0.1)}H${n(from * dx)}Z`);
        from = i; old = now;
      }
    }
    return [...paths].map(([k, d]) => `<path class="tint" fill="${colourOf(this.film, (k + 0.5) * step)}" d="${d}"/>`).join("");
  }

  // hatched where the picture is out of the band
  soft() {
    const { x, y, band } = this.film, nx = x.length - 1, ny = y.length - 1, { w, h } = this.map;
    let d = "";
    for (let j = 0; j < ny; j++) for (let i = 0; i < nx; i++) {
      const z = this.height((i + 0.5) / nx, (j + 0.5) / ny);
      if (z < band[0] || z > band[1]) d += `M${n(i * w / nx)} ${n(j * h / ny)}h${n(w / nx)}v${n(h / ny)}h${n(-w / nx)}Z`;
    }
    return d ? `<path class="soft" fill="url(#soft)" d="${d}"/>` : "";
  }

  contours(step) {
    const { x, y, z, band } = this.film, { scale } = this.map;
    const standing = [];  // where heights are written already
    let out = "", labels = "";
    for (let level = Math.ceil(this.low / step) * step; level < this.high; level += step) {
      const { d, at } = lines(x, y, z, level, scale);
      out += `<path class="contour" d="${d}"/>`;
      if (!at || standing.some(([a, b]) => Math.abs(a - at[0]) < 40 && Math.abs(b - at[1]) < TEXT + 4)) continue;
      standing.push(at);
      labels += `<text class="height" stroke="${colourOf(this.film, level)}" x="${n(at[0])}" y="${n(at[1])}" text-anchor="middle">${level.toFixed(step < 0.01 ? 3 : 2)}</text>`;
    }
    for (const level of band) if (level > this.low && level < this.high) out += `<path class="limit" d="${lines(x, y, z, level, scale).d}"/>`;
    return out + labels;
  }

  probe(u, v, typed = false) {
    if (!this.film || !this.map) return;
    Object.assign(this, { u, v });
    if (!typed) { put($("probe-across"), "value", String(Math.round(100 * u))); put($("probe-down"), "value", String(Math.round(100 * v))); }
    const { film, map } = this, z = this.height(u, v), [low, high] = film.band, middle = (low + high) / 2, off = z - middle, share = Math.abs(off) / ((high - low) / 2);
    const x = u * map.w, y = v * map.h;
    this.place.querySelector(".mark").innerHTML = `<path class="cross" d="M0 ${n(y)}H${n(map.w)}M${n(x)} ${n(y - 9)}V${n(y + 9)}"/>`;
    this.place.querySelector(".cut").innerHTML = this.section(v, u);
    const where = Math.abs(off) < 0.005 ? "at the sharpest height" : `${Math.abs(off).toFixed(2)} mm ${off > 0 ? "above" : "below"} the sharpest height`;
    put($("film-read"), "textContent", `At the mark: ${z.toFixed(2)} mm above the glass, ${where}. ${share > 1 ? `Soft: ${share.toFixed(1)} times the blur that still counts as sharp` : `Sharp, with ${Math.round(100 * share)} % of the blur that still counts as sharp`}.${this.besides(x / map.scale + film.x[0], y / map.scale + film.y[0], z)}`);
  }

  // how far a measured film lies from where it was computed to lie, at a place of the film (mm)
  besides(a, b, z) {
    const other = this.film.beside;
    if (!other) return "";
    const off = z - heightAt(other, a, b);
    return ` Measured ${Math.abs(off).toFixed(2)} mm ${off < 0 ? "below" : "above"} what was computed.`;
  }

  // a cut through the mark: the film between the two planes
  section(v, u) {
    const { film, cut } = this, [low, high] = film.band, top = Math.max(high, this.high), bottom = Math.min(low, this.low), room = Math.max(0.02, (top - bottom) * 0.2);
    const px = (s) => cut.x + s * cut.w, py = (z) => cut.y + CUT_HIGH * (1 - (z - bottom + room) / (top - bottom + 2 * room));
    let d = "";
    for (let i = 0; i <= 80; i++) d += `${i ? "L" : "M"}${n(px(i / 80))} ${n(py(this.height(i / 80, v)))}`;
    const z = this.height(u, v), other = film.beside, b = film.y[0] + v * (film.y.at(-1) - film.y[0]);
    const computed = other ? Array.from({ length: 81 }, (_, i) => `${i ? "L" : "M"}${n(px(i / 80))} ${n(py(heightAt(other, film.x[0] + (i / 80) * (film.x.at(-1) - film.x[0]), b)))}`).join("") : "";
    // the words stand clear of the film where it leaves the band
    const beside = [...Array(41).keys()].map((i) => py(this.height(i / 40 * Math.min(1, WORD_PX / cut.w), v)));
    const over = Math.min(py(high), ...beside) - 6, under = Math.max(py(low), ...beside) + 16;
    return `<rect class="band" x="${n(cut.x)}" y="${n(py(high))}" width="${n(cut.w)}" height="${n(py(low) - py(high))}"/>
      <path class="limit" d="M${n(cut.x)} ${n(py(high))}h${n(cut.w)}M${n(cut.x)} ${n(py(low))}h${n(cut.w)}"/>
      ${other ? `<path class="profile computed" d="${computed}"/>` : ""}<path class="profile" d="${d}"/><circle class="dot" cx="${n(px(u))}" cy="${n(py(z))}" r="4.5"/>
      <text class="word" x="${n(cut.x + 4)}" y="${n(over)}">sharp below ${high.toFixed(2)} mm</text>
      <text class="word" x="${n(cut.x + 4)}" y="${n(under)}">sharp above ${low.toFixed(2)} mm</text>
      <text class="word" x="${n(cut.x + cut.w)}" y="${n(cut.y + CUT_HIGH + 34)}" text-anchor="end">cut through the mark, heights enlarged${other ? "; dashed: as computed" : ""}</text>`;
  }
}

// height of a film at a place (mm from its left and head edge)
function heightAt({ x, y, z }, a, b) {
  const [i, s] = cell(x, a), [j, t] = cell(y, b);
  return (1 - t) * ((1 - s) * z[j][i] + s * z[j][i + 1]) + t * ((1 - s) * z[j + 1][i] + s * z[j + 1][i + 1]);
}

// the colour of a height, of the scale that comes with the film
function colourOf({ scale }, z) {
  const k = Math.round((z - scale[0][0]) / (scale.at(-1)[0] - scale[0][0]) * (scale.length - 1));
  return scale[Math.min(scale.length - 1, Math.max(0, k))][1];
}

function cell(line, at) {
  let i = 0;
  while (i < line.length - 2 && line[i + 1] < at) i += 1;
  return [i, (at - line[i]) / (line[i + 1] - line[i])];
}

// one contour by marching squares; and where its height may stand: the piece nearest the upright middle, at the head
function lines(x, y, z, level, scale) {
  let d = "", at = null, best = Infinity;
  const wide = (x.at(-1) - x[0]) * scale;
  for (let j = 0; j < y.length - 1; j++) for (let i = 0; i < x.length - 1; i++) {
    const ends = [];
    const side = (xa, ya, za, xb, yb, zb) => {
      if ((za < level) === (zb < level)) return;
      const t = (level - za) / (zb - za);
      ends.push([(xa + t * (xb - xa) - x[0]) * scale, (ya + t * (yb - ya) - y[0]) * scale]);
    };
    const [a, b, c, e] = [z[j][i], z[j][i + 1], z[j + 1][i + 1], z[j + 1][i]];
    side(x[i], y[j], a, x[i + 1], y[j], b); side(x[i + 1], y[j], b, x[i + 1], y[j + 1], c);
    side(x[i + 1], y[j + 1], c, x[i], y[j + 1], e); side(x[i], y[j + 1], e, x[i], y[j], a);
    for (let k = 0; k + 1 < ends.length; k += 2) {
      d += `M${n(ends[k][0])} ${n(ends[k][1])}L${n(ends[k + 1][0])} ${n(ends[k + 1][1])}`;
      const off = Math.abs(ends[k][0] - wide / 2) + ends[k][1] * 0.2;
      if (off < best && ends[k][1] > 14) { best = off; at = [ends[k][0], ends[k][1] + 4]; }
    }
  }
  return { d, at };
}
