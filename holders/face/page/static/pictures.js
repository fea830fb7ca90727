// The usual films and the three ways of making as pictures to press; the lists beside them have all there are.
import { make } from "./form.js";
const USUAL = [["35mm-strip", "35 mm"], ["roll-6x9", "6x9"], ["4x5", "4x5"], ["5x7", "5x7"], ["8x10", "8x10"]];
export const WAYS = [["print", "Printer"], ["laser", "Laser"], ["knife", "Knife"]];
const SHAPES = {
  print: "M6 34h36M6 29h36M6 24h36M6 19h22M24 4v8l-3 4h6l-3-4M16 4h16",
  laser: "M4 36h40M24 4v26M20 4h8M24 30l-6 6M24 30l6 6M24 30v6",
  knife: "M4 36h40M14 30 34 6l6 5-18 22-8 3zM30 11l6 5",
};
const SVG = "http://www.w3.org/2000/svg";
const draw = (tag, attributes, ...inside) => {
  const made = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  made.append(...inside);
  return made;
};

// what each way of making takes, as the server computed it. `about`: another card would propose a holder of its own, and
// these are of the one that stands here, made that way
export function showEfforts(form, routes, about = false) {
  form.effortsOf = form.state.get("film.format");
  const own = form.state.get("route");
  for (const [key, words] of Object.entries(routes)) effort(form, key, about && key !== own ? (words ? `about ${words}` : "…") : words);
}

// of the very holder that the card would propose
export function showProposed(form, route, words) { effort(form, route, words); }

function effort(form, route, words) {
  const place = form.efforts[route];
  place.classList.remove("old");
  place.textContent = (words || "not possible").replace(/(\d) (?=[a-z])/g, "$1\u00a0");  // no line ends between a number and its unit
}

// those of the holder before are marked as such; of another film they are not shown, and of none there is nothing to wait for
export function staleEfforts(form) {
  const some = form.missing().length ? "" : "…", other = !some || form.effortsOf !== form.state.get("film.format");
  if (other) form.effortsOf = undefined;
  for (const place of Object.values(form.efforts)) {
    if (other) place.textContent = some;
    place.classList.toggle("old", !other && /\d/.test(place.textContent));
  }
}

export function pictures(form) {
  form.efforts = {};
  const films = USUAL.filter(([key]) => form.rows.formats.has(key)).map(([key, words]) => press(form, "film.format", key, words));
  const ways = WAYS.map(([key, words]) => press(form, "route", key, words));
  for (const [key, button] of ways) button.prepend(draw("svg", { viewBox: "0 0 48 40", "aria-hidden": "true" }, draw("path", { d: SHAPES[key] })));
  row(form, "film.format", "Usual films", films);
  row(form, "route", "Ways of making", ways);
  for (const [key, button] of ways) button.append(form.efforts[key] = make("small", {}, "…"));
  form.pictured = () => {
    for (const [path, list] of [["film.format", films], ["route", ways]]) for (const [key, button] of list) button.setAttribute("aria-pressed", String(form.state.get(path) === key));
    const bed = form.rows.beds.get(form.state.get("bed.name")) || [...form.rows.beds.values()][0];
    for (const [key, button] of films) silhouette(button, form.rows.formats.get(key), bed);
  };
}

function press(form, path, key, words) {
  const button = make("button", { type: "button", class: "picture", "aria-pressed": "false" }, make("span", {}, words));
  button.addEventListener("click", () => {
    if (form.state.get(path) === key) return;
    form.state.set(path, key);
    form.follow(path);
    form.changed(path, true);
    form.show();
  });
  return [key, button];
}

function row(form, path, words, list) {
  const { box } = form.fields.get(path);
  box.prepend(make("div", { class: "pictures", role: "group", "aria-label": words }, ...list.map(([, button]) => button)));
}

// a film on the glass of the chosen flatbed, to scale
function silhouette(button, film, bed) {
  const gw = bed.glass_width_mm, gh = bed.glass_length_mm, lies = film.cut_width_mm > gw && film.cut_height_mm < gw;
  let [w, h] = [film.cut_width_mm, film.cut_height_mm];
  if (lies || (w > h && h <= gw)) [w, h] = [h, w];
  const old = button.querySelector("svg"), made = draw("svg", { viewBox: `-4 -4 ${gw + 8} ${gh + 8}`, "aria-hidden": "true", class: "silhouette" },
    draw("rect", { class: "pane", width: gw, height: gh, rx: 4 }), draw("rect", { class: "film", x: (gw - w) / 2, y: (gh - h) / 2, width: w, height: h }));
  if (old) old.replaceWith(made); else button.prepend(made);
}
