// The holder on the glass: to scale, film in it, lamp and calibration zone; drawn here from the shape the server sends.
const MOST_HIGH = 540;
const n = (value) => Math.round(value * 100) / 100;

export class Glass {
  constructor(place, caption) {
    Object.assign(this, { place, caption, shape: null, wide: 0 });
    new ResizeObserver(() => { if (place.clientWidth && place.clientWidth !== this.wide) this.draw(); }).observe(place);
  }

  show(shape, words) {
    this.place.setAttribute("aria-label", words);
    this.shape = shape;
    this.draw();
  }

  draw() {
    const { shape, place } = this;
    if (!shape || !shape.glass) return;
    this.wide = place.clientWidth;
    const [gx, gy, gw, gh] = shape.glass, [ox, oy, ow, oh] = shape.box;
    const x0 = Math.min(gx, ox) - 4, y0 = Math.min(gy, oy) - 4, x1 = Math.max(gx + gw, ox + ow) + 4, y1 = Math.max(gy + gh, oy + oh) + 4;
    const scale = Math.min((this.wide || 320) / (x1 - x0), MOST_HIGH / (y1 - y0));
    const at = ([x, y, w, h]) => `x="${n(x - x0)}" y="${n(y1 - y - h)}" width="${n(w)}" height="${n(h)}"`;
    const rings = (slab, dx, dy) => slab.rings.map((ring) => {
      let d = "";
      for (let i = 0; i < ring.length; i += 2) d += `${i ? "L" : "M"}${n(ring[i] + dx - x0)} ${n(y1 - ring[i + 1] - dy)}`;
      return d + "Z";
    }).join("");
    const under = [], over = [], level = shape.films.length ? shape.films[0].z : 0;
    for (const part of shape.parts) for (const [dx, dy] of part.places) for (const slab of part.slabs) (slab.z[1] <= level + 0.01 ? under : over).push(`<path class="slab" fill-rule="evenodd" d="${rings(slab, dx, dy)}"/>`);
    const size = 13 / scale;
    const films = shape.films.map((film, k) => negative(film, at, k, x0, y1));
    const tags = shape.films.length < 2 ? [] : shape.films.map(({ opening: [x, y, , h] }, k) =>
      `<text class="tag" x="${n(x - x0 + size * 0.5)}" y="${n(y1 - y - h + size * 1.2)}" font-size="${n(size)}">${k + 1}</text>`);
    place.innerHTML = `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${n(x1 - x0)} ${n(y1 - y0)}" width="${n((x1 - x0) * scale)}" height="${n((y1 - y0) * scale)}" aria-hidden="true">
      <defs><pattern id="keep" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path class="hatch" d="M0 0V5"/></pattern>
      <linearGradient id="mask" x1="0" y1="0" x2="0" y2="1"><stop class="mask-a" offset="0"/><stop class="mask-b" offset="1"/></linearGradient></defs>
      <rect class="pane" ${at(shape.glass)} rx="2"/>${under.join("")}${films.join("")}${over.join("")}
      <rect class="lamp" ${at(shape.lamp)}/>${shape.calibration ? `<rect class="keep" ${at(shape.calibration)} fill="url(#keep)"/>` : ""}${tags.join("")}</svg>`;
  }
}

// a negative of the paper mill: weir, mill and chimney, bright where the scene was dark
function negative({ film, picture }, at, k, x0, y1) {
  const [px, py, pw, ph] = picture, lying = pw > ph, left = px - x0, top = y1 - py - ph;
  const p = (points) => points.map(([u, v], i) => {
    const [a, b] = lying ? [u, v] : [u, 0.12 + 0.76 * v];
    return `${i ? "L" : "M"}${n(left + a * pw)} ${n(top + b * ph)}`;
  }).join("") + "Z";
  const s = (k % 3) * 0.06;
  const hills = p([[0, 0.46 - s], [0.2, 0.36], [0.42, 0.44 - s], [0.7, 0.3 + s], [1, 0.42], [1, 0.62], [0, 0.62]]);
  const mill = p([[0.5 - s, 0.62], [0.5 - s, 0.4], [0.6 - s, 0.33], [0.7 - s, 0.4], [0.7 - s, 0.62]]) + p([[0.74 - s, 0.62], [0.75 - s, 0.16], [0.79 - s, 0.16], [0.8 - s, 0.62]]);
  const weir = [0, 1, 2, 3].map((i) => p([[0, 0.66 + i * 0.08], [1, 0.63 + i * 0.08], [1, 0.655 + i * 0.08], [0, 0.685 + i * 0.08]])).join("");
  return `<rect class="film" ${at(film)} fill="url(#mask)"/><rect class="sky" ${at(picture)}/><path class="hills" d="${hills}"/><path class="mill" d="${mill}"/><path class="weir" d="${weir}"/>`;
}
