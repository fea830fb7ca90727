// The holder on the glass: to scale, film in it, lamp and calibration zone; drawn here from the shape the server sends.
const MOST_HIGH = 540, LEAST_HIGH = 320, BESIDE = 450, LETTERS = 13, FOOT = 20;  // what stands over and under the picture on a first screen
const PHONE = 480, OF_PHONE = 0.36;  // of its height
const mostHigh = () => (innerWidth <= PHONE ? OF_PHONE * innerHeight : Math.max(LEAST_HIGH, Math.min(MOST_HIGH, innerHeight - BESIDE)));
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
    const scale = Math.min((this.wide || 320) / (x1 - x0), (mostHigh() - FOOT) / (y1 - y0)), foot = FOOT / scale;
    const at = ([x, y, w, h]) => `x="${n(x - x0)}" y="${n(y1 - y - h)}" width="${n(w)}" height="${n(h)}"`;
    const rings = (slab, dx, dy) => slab.rings.map((ring) => {
      let d = "";
      for (let i = 0; i < ring.length; i += 2) d += `${i ? "L" : "M"}${n(ring[i] + dx - x0)} ${n(y1 - ring[i + 1] - dy)}`;
      return d + "Z";
    }).join("");
    const under = [], over = [], level = shape.films.length ? shape.films[0].z : 0;
    for (const part of shape.parts) for (const [dx, dy] of part.places) for (const slab of part.slabs) (slab.z[1] <= level + 0.01 ? under : over).push(`<path class="slab" fill-rule="evenodd" d="${rings(slab, dx, dy)}"/>`);
    const size = LETTERS / scale, hx = n(gx - x0), hy = n(y1 - gy);
    const home = `<circle class="home" cx="${hx}" cy="${hy}" r="${n(4.5 / scale)}"/><text class="home-word" x="${hx}" y="${n(hy + size * 1.45)}" font-size="${n(size)}">home corner</text>`;
    const films = shape.films.map((film, k) => negative(film, at, k, x0, y1));
    const tags = shape.films.length < 2 ? [] : shape.films.map(({ opening: [x, y, , h] }, k) =>
      `<text class="tag" x="${n(x - x0 + size * 0.5)}" y="${n(y1 - y - h + size * 1.2)}" font-size="${n(size)}">${k + 1}</text>`);
    place.innerHTML = `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${n(x1 - x0)} ${n(y1 - y0 + foot)}" width="${n((x1 - x0) * scale)}" height="${n((y1 - y0 + foot) * scale)}" aria-hidden="true">
      <defs><pattern id="keep" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path class="hatch" d="M0 0V5"/></pattern>
      <linearGradient id="mask" x1="0" y1="0" x2="0" y2="1"><stop class="mask-a" offset="0"/><stop class="mask-b" offset="1"/></linearGradient>
      <linearGradient id="sky" x1="0" y1="0" x2="0" y2="1"><stop class="sky-a" offset="0"/><stop class="sky-b" offset="0.6"/></linearGradient></defs>
      <rect class="pane" ${at(shape.glass)} rx="2"/>${under.join("")}${films.join("")}${over.join("")}
      <rect class="lamp" ${at(shape.lamp)}/>${shape.calibration ? `<rect class="keep" ${at(shape.calibration)} fill="url(#keep)"/>` : ""}${tags.join("")}${home}</svg>`;
  }
}

// a negative of the paper mill at its weir: dense where the scene was bright, clear where it lay in shadow
function negative({ film, picture }, at, k, x0, y1) {
  const [px, py, pw, ph] = picture, lying = pw > ph, left = px - x0, top = y1 - py - ph, s = (k % 3) * 0.05;
  const place = ([u, v]) => `${n(left + u * pw)} ${n(top + (lying ? v : 0.1 + 0.8 * v) * ph)}`;
  const p = (points) => `M${points.map(place).join("L")}Z`;
  const curve = (points) => `M${place(points[0])}${points.slice(1).map((q, i) => (i % 2 ? ` ${place(q)}` : `Q${place(q)}`)).join("")}`;
  const box = (u, v, w, h) => p([[u, v], [u + w, v], [u + w, v + h], [u, v + h]]);
  const far = `${curve([[0, 0.44 - s], [0.16, 0.3 + s], [0.34, 0.4], [0.52, 0.5 - s], [0.7, 0.36], [0.86, 0.26 + s], [1, 0.38]])}L${place([1, 0.6])}L${place([0, 0.6])}Z`;
  const m = 0.46 - s, hall = p([[m, 0.6], [m, 0.41], [m + 0.09, 0.35], [m + 0.09, 0.41], [m + 0.18, 0.35], [m + 0.18, 0.41], [m + 0.27, 0.35], [m + 0.27, 0.6]]);
  const stack = p([[m + 0.31, 0.6], [m + 0.322, 0.13], [m + 0.358, 0.13], [m + 0.37, 0.6]]);
  const panes = [0, 1, 2, 3, 4].map((i) => box(m + 0.02 + i * 0.05, 0.46, 0.025, 0.06)).join("");
  const bales = [0, 1, 2].map((i) => box(0.1 + i * 0.075, 0.555 - (i % 2) * 0.03, 0.06, 0.045 + (i % 2) * 0.03)).join("");
  const smoke = curve([[m + 0.34, 0.13], [m + 0.3, 0.06], [m + 0.2, 0.09], [m + 0.1, 0.1], [m + 0.02, 0.04]]);
  const crest = `${curve([[0, 0.7], [0.5, 0.66], [1, 0.69]])}L${place([1, 0.8])}${curve([[1, 0.8], [0.5, 0.77], [0, 0.81]]).replace("M", "L")}Z`;
  const falls = [...Array(14).keys()].map((i) => `M${place([0.03 + i * 0.072, 0.7 - 0.02 * Math.sin(i / 4)])}L${place([0.02 + i * 0.074, 0.79])}`).join("");
  const ripples = [0, 1, 2, 3].map((i) => curve([[0.06 + (i % 2) * 0.2, 0.85 + i * 0.035], [0.3, 0.83 + i * 0.035], [0.5 + (i % 2) * 0.3, 0.855 + i * 0.035]])).join("");
  const wide = Math.max(0.5, Math.min(pw, ph) * 0.006);
  return `<rect class="film" ${at(film)} fill="url(#mask)"/><rect ${at(picture)} fill="url(#sky)"/><path class="hills" d="${far}"/>
    <path class="smoke" d="${smoke}" stroke-width="${n(wide * 4)}"/><path class="mill" d="${hall}${stack}"/><path class="pane-dark" d="${panes}"/><path class="bales" d="${bales}"/>
    <rect class="water" x="${n(left)}" y="${n(top + (lying ? 0.6 : 0.58) * ph)}" width="${n(pw)}" height="${n((lying ? 0.4 : 0.42) * ph)}"/>
    <path class="crest" d="${crest}"/><path class="falls" d="${falls}${ripples}" stroke-width="${n(wide)}"/>`;
}
